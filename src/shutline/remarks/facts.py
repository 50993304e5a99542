"""Facts of the whole car: mileage, year, engine, keepers and the like, from the words beside a number or name."""

from __future__ import annotations

from dataclasses import replace

from shutline.remarks.fact_choice import choose, weigh
from shutline.remarks.fact_dates import DateFacts
from shutline.remarks.fact_look import FoundFact
from shutline.remarks.fact_numbers import NumberFacts
from shutline.remarks.fact_words import WordFacts, hooks
from shutline.remarks.tokens import Text

_SUMS = frozenset({"i-am-the-nth", "nth-keeper-now", "keepers-in-all", "of-us-in-all", "keys-in-all"})
_SUM_REACH = 30
_CONVERTED = frozenset({"converted-to-electric", "electric-motor", "she-is-electric", "electric-gear"})


class _Reader(NumberFacts, WordFacts, DateFacts):
    """All the ways to a fact over one text."""

    def run(self) -> list[FoundFact]:
        """Gather everything that may be a fact, in no order."""
        for number in self.numbers:
            self.number(number)
            self.year_only(number)
        searches = {
            "body": self.body,
            "colour": self.colour,
            "colour_name": self.colour_name,
            "drive": self.drive,
            "gearbox": self.gearbox,
            "keys": self.both_keys,
            "imported": self.imported,
            "from_new": self.from_new,
            "litre": self.litre,
            "month": self.month,
            "native": self.native,
            "origin": self.origin,
            "power": self.power,
            "tax": self.tax,
        }
        starts = hooks()
        for at, word in enumerate(self.norm):
            if word in starts:
                for kind in starts[word]:
                    searches[kind](at)
        return self._plainest(self._plain_colours(self._without_parts_of_sums()))

    def _plainest(self, found: list[FoundFact]) -> list[FoundFact]:
        """Leave out what a converted car used to burn, and the estate body of a four-by-four."""
        electric = any(f.name == "power_source" and f.rule in _CONVERTED for f in found)
        high = [f.first for f in found if f.name == "body" and f.value == "4x4"]
        return [
            f
            for f in found
            if not (electric and f.name == "power_source" and f.value in ("petrol", "diesel"))
            and not (f.name == "body" and f.value == "estate" and any(abs(f.first - at) < _SUM_REACH for at in high))
        ]

    def _plain_colours(self, found: list[FoundFact]) -> list[FoundFact]:
        """Leave out a maker's name for a colour that is put plainly next: 'they called it Harvest, it's mustard'."""
        plain = [f.first for f in found if f.rule.startswith("colour-plainly")]
        if not plain:
            return found
        return [
            f for f in found if not f.rule.startswith("colour-named") or not any(0 < at - f.first <= 14 for at in plain)
        ]

    def _without_parts_of_sums(self) -> list[FoundFact]:
        """Leave out what a sum said soon after counts in: 'two owners before me, so I'm the third'."""
        sums = [(f.name, f.first) for f in self.out if f.rule in _SUMS]
        if not sums:
            return self.out
        return [
            f
            for f in self.out
            if f.rule in _SUMS or not any(f.name == name and 0 < at - f.first <= _SUM_REACH for name, at in sums)
        ]


def _dated(found: list[FoundFact], kept: list[FoundFact]) -> list[FoundFact]:
    """Give a month of registration the year of the car: 'nineteen thirty-six, registered in the March of that year'."""
    if any(f.name == "first_registered" and str(f.value)[:1] != "-" for f in found):
        return [f for f in found if str(f.value)[:1] != "-"]
    year = next((f.value for f in kept if f.name == "year"), None)
    return [
        replace(f, value=f"{year}{f.value}") if isinstance(f.value, str) and f.value[:1] == "-" else f
        for f in found
        if year is not None or str(f.value)[:1] != "-"
    ]


def candidates(text: Text) -> list[FoundFact]:
    """Find all that may be facts, with the sureness of each, in the order they were said."""
    return _candidates(_Reader(text))


def _candidates(reader: _Reader) -> list[FoundFact]:
    weighed = weigh(reader.run())
    if any(str(f.value)[:1] == "-" for f in weighed):
        years = [f for f in weighed if f.name == "year"]
        weighed = _dated(weighed, choose(years, reader.text, reader.numbers) if years else [])
    return weighed


def facts(text: Text) -> list[FoundFact]:
    """Find the facts told in the tokens, in the order they were said: one of each name, two where they are at odds."""
    reader = _Reader(text)
    return choose(_candidates(reader), text, reader.numbers)
