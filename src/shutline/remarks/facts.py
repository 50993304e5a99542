"""Facts of the whole car: mileage, year, engine, keepers and the like, from the words beside a number or name."""

from __future__ import annotations

from shutline.remarks.fact_dates import DateFacts
from shutline.remarks.fact_look import FoundFact
from shutline.remarks.fact_numbers import NumberFacts
from shutline.remarks.fact_words import WordFacts
from shutline.remarks.tokens import Text

_ORDER: dict[str, tuple[str, ...]] = {
    "odometer": ("odometer-miles", "odometer-told", "odometer-bare"),
    "engine_cc": ("number-cc", "number-engine", "number-litre", "number-point", "the-paired", "the-hundreds"),
    "colour": ("colour-said", "colour-alone"),
    "year": ("year", "year-late", "year-in"),
    "body": ("body-word", "body-late"),
    "keys": ("keys-mended",),
    "keepers": ("number-keepers", "keeper-number"),
}
"""Rules that draw the same fact, the better told first; rules not named come after."""

_ALIKE = frozenset({"odometer-told"})
"""Rules as good as the one before them: the first said counts."""


class _Reader(NumberFacts, WordFacts, DateFacts):
    """All the ways to a fact over one text."""

    def run(self) -> list[FoundFact]:
        """Gather every fact, then keep of each name the best told, earliest."""
        for number in self.numbers:
            self.number(number)
        for at in range(self.size):
            self.word(at)
            self.date(at)
        best: dict[str, FoundFact] = {}
        for fact in sorted(self.out, key=lambda f: (_rank(f), f.first)):
            best.setdefault(fact.name, fact)
        if "first_registered" not in best:
            self._registered_year(best)
        return sorted(best.values(), key=lambda f: (f.first, f.name))

    def _registered_year(self, best: dict[str, FoundFact]) -> None:
        for n in self.numbers:
            told = n.manner in ("paired", "figures") and 1900 <= n.value <= 2030
            if told and "registered" in self.before(n.first, 5):
                best["first_registered"] = FoundFact(
                    "first_registered", str(int(n.value)), None, n.first, n.end, "registered-year"
                )
                return


def _rank(fact: FoundFact) -> int:
    order = _ORDER.get(fact.name, ())
    if fact.rule not in order:
        return len(order)
    rank = order.index(fact.rule)
    return rank - 1 if fact.rule in _ALIKE else rank


def facts(text: Text) -> list[FoundFact]:
    """Find the facts told in the tokens, one of each name, in the order they were said."""
    return _Reader(text).run()
