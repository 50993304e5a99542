"""Facts that are large numbers: engine, mileage, year."""

from __future__ import annotations

from shutline.remarks.fact_counts import CountFacts
from shutline.remarks.fact_data import fact_data
from shutline.remarks.fact_look import NO_END
from shutline.remarks.numbers import Number
from shutline.remarks.tokens import COMMA

_CENTURY = 1900
_SIGN_REACH = 14
"""How far before a number 'chassis number' or 'my mobile' is looked for, words."""


class NumberFacts(CountFacts):
    """Asks each number what it may be."""

    def number(self, n: Number) -> None:
        """Note what a number tells."""
        after, before = self.after(n.end, 5), self.before(n.first, 8)
        whole = n.value == int(n.value)
        if whole and n.value < 30:
            self.count(n, after, before)
        if n.manner == "ordinal":
            return
        self._engine(n, after, before)
        if whole and n.value >= 20:
            self._year(n, after, before)
            self._odometer(n, after, before)

    def _engine(self, n: Number, after: list[str], before: list[str]) -> None:
        value, near = n.value, after[0] if after else ""
        # In America the size of an engine is told in cubic inches: 'a two-thirty cubic'.
        if near == "cubic" and value < 600 and not (after[1:] and after[1].startswith("cent")):
            return
        if near in ("cc", "cubic") or after[:2] == ["c", "c"]:
            first, value = n.first, int(value)
            hundreds = next(
                (o for o in self.ending.get(n.first, ()) if 0 < o.value < 10 and not self.mark[n.first]), None
            )
            if hundreds is not None and 10 <= value < 100:
                first, value = hundreds.first, int(hundreds.value) * 100 + value
            if 90 < value < 9000:
                self.add("engine_cc", value, (first, n.end + 1), "number-cc")
            return
        if near in ("litre", "liter"):
            half = 0.5 if after[1:4] == ["and", "a", "half"] else 0.0
            if 0.5 < value < 9 and not self.cues["not_engine_litres"] & {
                *before[:3],
                *(() if self.ends(n.end + 1) else after[1:3]),
            }:
                self.add("engine_cc", round((value + half) * 1000), (n.first, n.end + 1), "number-litre")
            return
        if self._money(n, after) or set(after[:2]) & self.cues["units"]:
            return
        named = bool(self.cues["engine_after"] & set(after[:2]))
        if n.manner in ("point", "part", "short") or (n.manner == "figures" and value != int(value)):
            self._in_litres(n, before, named=named)
        elif 500 < value < 8000 and value == int(value) and n.manner != "short":
            self._in_cubic(n, after, before, named=named)

    def _in_litres(self, n: Number, before: list[str], *, named: bool) -> None:
        if not 0.7 < n.value < 8:
            return
        if n.manner in ("part", "short"):
            stand = self.stand(n.first, n.end) if n.manner == "short" else ""
            rule = f"{n.manner}-named" if named else f"short-{stand}" if stand else ""
        else:
            led = before[:1] in (["the"], ["a"])
            rule = "point-named" if named else "the-point" if led else "number-point"
        if rule and before[:1] != ["no"]:
            self.add("engine_cc", round(n.value * 1000), (n.first, n.end), rule)

    def _in_cubic(self, n: Number, after: list[str], before: list[str], *, named: bool) -> None:
        hundreds = self.norm[n.end - 1].startswith(("hunder", "hundred")) and n.value % 1000 != 0
        full = n.manner in ("paired", "figures", "digits") and _CENTURY <= n.value <= 2030
        rule = ""
        if full and not hundreds:
            rule = self._not_a_year(n, after, before)
        elif named and n.manner != "figures":
            rule = "cubic-named"
        elif not set(before[:2]) & {"about", "another", "every", "for", "over", "at", "on"}:
            rule = self._in_hundreds(n, before) if hundreds else self._in_figures(n, before)
        if rule:
            self.add("engine_cc", int(n.value), (n.first, n.end), rule)

    def _not_a_year(self, n: Number, after: list[str], before: list[str]) -> str:
        """Tell why a number that looks like a year is a size: 'the engine's nineteen seventy-five'."""
        of_engine = self.cues["engine_before"] & set(before[:4]) and not set(before[:2]) & {"in", "since"}
        if after[:1] == ["engine"] or of_engine:
            return "year-like-engine"
        said = not self.ends(n.end) and self.cues["says"] & set(after[:4])
        return "said-exactly" if said and self._litres_just_told(n.first) else ""

    def _in_hundreds(self, n: Number, before: list[str]) -> str:
        if self.follows(n.end - 1) in fact_data()["bodies"] and not self.ends(n.end):
            return "hundreds-body"
        stand = self.stand(n.first, n.end)
        if before[:1] in (["the"], ["a"]):
            return f"{before[0]}-hundreds"
        return f"hundreds-{stand}" if stand else "hundreds"

    def _in_figures(self, n: Number, before: list[str]) -> str:
        stand = self.stand(n.first, n.end)
        rule = ""
        if self._litres_just_told(n.first):
            rule = "said-exactly"
        elif self.cues["engine_before"] & set(before[:6]) and not set(before[:1]) & {"in", "at", "to", "since", "of"}:
            rule = "engine-before"
        elif before[:1] == ["the"] and n.manner == "paired":
            rule = "the-paired"
        elif n.manner in ("paired", "cardinal", "digits") and stand and n.value < 7500:
            rule = f"{n.manner}-{stand}"
        return rule

    def _litres_just_told(self, at: int) -> bool:
        """Tell whether a size in litres or a round one was just told: 'two litre, well, nineteen seventy'."""
        return any(
            f.name == "engine_cc"
            and at - 8 <= f.end <= at
            and f.rule in ("number-litre", "hundreds", "hundreds-listed")
            for f in self.out[-4:]
        )

    def _money(self, n: Number, after: list[str]) -> bool:
        return bool(set(after[:2]) & self.cues["money"]) or "£" in self.text.words[self.text.word[n.first]]

    def _odometer(self, n: Number, after: list[str], before: list[str]) -> None:
        value, end, cues = n.value, n.end, self.cues
        small = self.by_first.get(n.end)
        # 'thirty-four, six hundred and twelve' and 'one two one, four four zero' leave the thousand out.
        if 10 <= value < 1000 and small is not None and small.end - small.first > 1 and 100 <= small.value < 1000:
            if small.manner == n.manner == "digits" or (n.manner == "cardinal" == small.manner and value < 500):
                value, end = value * 1000 + small.value, small.end
                self._distance(n, int(value), end, halved=True)
            return
        if value < 900 or n.manner in ("point", "short", "part") or self._money(n, after):
            return
        if (set(after[:1]) | set(after[1:2] if after[:1] == ["odd"] else ())) & cues["not_odometer_after"]:
            return
        if set(before[:2]) & cues["not_odometer_before"] or set(before[:5]) & cues["price"]:
            return
        if value >= fact_data()["limits"]["odometer_below"] or self._of_a_sign(n, after):
            return
        if value % 1000 == 0 and set(after[:1]) & cues["odometer_after"]:
            more = self._rest(n.end + 1)
            if more is not None:
                value, end = value + more.value, more.end
        self._distance(n, int(value), end, halved=False)

    def _of_a_sign(self, n: Number, after: list[str]) -> bool:
        """Tell whether a number is part of a chassis or a telephone number: 'my mobile is 07700 900123'."""
        if set(after[:1]) & self.cues["odometer_after"]:
            return False
        led = f" {' '.join(reversed(self.before(n.first, _SIGN_REACH)))} "
        return self._telephone(n) or any(f" {words} " in led for words in self.cues["sign_before"])

    def _telephone(self, n: Number) -> bool:
        """Tell whether a number stands in a run of figures that begins with 0 and is as long as a telephone number."""
        first, end = n.first, n.end
        while first > 0 and not self.mark[first] and self.norm[first - 1].isdecimal():
            first -= 1
        while end < self.size and not self.mark[end] and self.norm[end].isdecimal():
            end += 1
        run = "".join(self.norm[first:end])
        return run[0] == "0" and len(run) >= fact_data()["limits"]["telephone_figures"]

    def _rest(self, at: int) -> Number | None:
        """Find the hundreds said after the word miles: 'ninety-three thousand miles and two hundred'."""
        if at < self.size and self.norm[at] == "and":
            at += 1
        more = self.by_first.get(at)
        if more is None or not 100 <= more.value < 1000 or more.manner != "cardinal":
            return None
        return more if self.mark[at] <= COMMA and self.ends(more.end) else None

    def _distance(self, n: Number, value: int, end: int, *, halved: bool) -> None:
        cues, after, before = self.cues, self.after(end, 8), self.before(n.first, 8)
        miles = bool(cues["odometer_after"] & set(after[:1])) or (
            bool(cues["mile_kinds"] & set(after[:1])) and bool(cues["odometer_after"] & set(after[1:3]))
        )
        miles = miles or (end > n.end and not halved)
        told = bool(set(before[:6]) & cues["odometer_before"])
        on_clock = bool({"clock", "dial", "speedo", "odometer", "drum"} & set(after[:5]))
        told = told or before[:2] in (["on", "'s"], ["on", "it"], ["on", "she"])
        past = bool(set(before[:5]) & cues["then_done"] or set(after[:4]) & {"ago", "since", "when", "later"})
        past = past or ("on" in after[:4] and not on_clock)
        if value < 3000 and not (miles and (told or on_clock)):
            return
        big = value >= 9000 and n.manner != "paired"
        exact = value % 1000 != 0
        if miles:
            rule = (
                "miles-at"
                if set(before[:1]) & {"at", "every"} and not on_clock
                else "miles-past"
                if past and not on_clock
                else "miles-told"
                if told or on_clock
                else "miles"
            )
        elif told or on_clock:
            rule = "reads" if big or (n.manner in ("cardinal", "digits", "figures") and value % 100) else ""
        else:
            stand = self.stand(n.first, end)
            rule = ("exact" if exact else "round") + (f"-{stand}" if stand else "") if big else ""
        if rule and past and not miles:
            rule = "reads-past"
        if not rule:
            return
        around = {*self.before(n.first, 14, cross=NO_END), *self.after(end, 14)}
        unit = "km" if any(w.startswith(("kilomet", "km", "klick")) for w in around) else "mi"
        self.add("odometer", value, (n.first, end), ("halved-" if halved else "") + rule, unit=unit)

    def _year(self, n: Number, after: list[str], before: list[str]) -> None:
        value, cues = int(n.value), self.cues
        full = (n.manner in ("paired", "figures") and _CENTURY <= value <= 2030) or (
            n.manner == "cardinal" and 2000 < value <= 2030
        )
        if not full and not (20 <= value <= 99 and n.manner in ("cardinal", "figures")):
            return
        near = set() if self.ends(n.end) else set(after[:1])
        plate = not full and after[:2] in (["on", "a"], ["on", "an"])
        if near & cues["units" if full or plate else "not_year_after"] or self._money(n, after) or near & cues["money"]:
            return
        if full and (near & {"injection", "engine", "cc"} or self._is_engine(n)):
            return
        if self._in_date(before):
            return
        if self.mark[n.first]:
            before = ["", *before]
        if set(before[:1]) & cues["year_not_before"] or (set(before[1:3]) & cues["year_done"]):
            return
        value += 0 if full else _CENTURY
        rule = self._year_rule(n, after, before, full=full)
        if rule:
            self.add("year", value, (n.first, n.end), rule)

    def _in_date(self, before: list[str]) -> bool:
        """Tell whether a month was said right before: the number is the year of some day."""
        at = 0
        while at < 3 and at < len(before) and before[at] in self.cues["before_year"]:
            at += 1
        return before[at : at + 1] != [] and before[at] in fact_data()["months"]

    def _is_engine(self, n: Number) -> bool:
        return bool(self.out) and self.out[-1].name == "engine_cc" and self.out[-1].first == n.first

    def _year_rule(self, n: Number, after: list[str], before: list[str], *, full: bool) -> str:
        """Name the rule by which a number is the year of the car; empty when it is none."""
        length, lead = "year" if full else "short-year", before[0] if before else ""
        rule = self._year_told(after, before, full=full)
        if rule:
            return f"{length}-{rule}"
        if lead in ("a", "an"):
            # 'the A41' is a road.
            if self.text.word[n.first] == self.text.word[n.first - 1]:
                return ""
            return f"a-{length}" if full or self.ends(n.end) or self.bare else ""
        if lead in ("in", "back", "around", "circa", "late", "early", "since"):
            return f"{length}-in" if full else f"{length}-late" if lead in ("late", "early") else ""
        stand = self.stand(n.first, n.end)
        return f"{length}-{stand}" if stand else length if full else ""

    def _year_told(self, after: list[str], before: list[str], *, full: bool) -> str:
        """Look for words that say what a year is of: 'built', 'registered', 'on an F plate', 'of', 'delivered in'."""
        rule, lead = "", before[0] if before else ""
        made = set(before[:3]) & self.cues["made"] or set(after[:1]) & {"build", "built", "model", "car"}
        if made or lead == "year" or after[:3] in (["it", "was", "built"], ["it", "was", "made"]):
            rule = "made"
        elif "registered" in before[:6] and not set(before[:3]) & {"so", "'s"}:
            rule = "registered"
        elif (
            lead in ("reg", "reg'd") or "reg" in before[1:4] or (not full and after[:2] in (["on", "a"], ["on", "an"]))
        ):
            rule = "plate"
        elif lead in ("of", "from"):
            rule = lead
        elif lead == "in" and before[1:2] in (["delivered"], ["new"], ["sold"]):
            rule = "delivered"
        return rule
