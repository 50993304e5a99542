"""Facts that are numbers: doors, seats, gears, keys, keepers, engine, mileage, year."""

from __future__ import annotations

from shutline.remarks.fact_look import Look
from shutline.remarks.numbers import Number
from shutline.remarks.tokens import FULL_STOP

_CENTURY = 1900


class NumberFacts(Look):
    """Asks each number what it may be."""

    def number(self, n: Number) -> None:
        """Note what a number tells."""
        after, before = self.after(n.end, 4), self.before(n.first, 8)
        if n.value == int(n.value) and n.manner != "ordinal":
            self._count(n, after, before)
            self._keys(n, after, before)
        self._keepers(n, after, before)
        self._engine(n, after, before)
        self._odometer(n, after, before)
        self._year(n, after, before)

    def _count(self, n: Number, after: list[str], before: list[str]) -> None:
        value, near, one = int(n.value), after[0] if after else "", (n.first, n.end + 1)
        if near == "door" and 2 <= value <= 6:
            self.add("doors", value, one, "number-door")
        elif near in ("seat", "seater") and 1 < value < 20 and "heated" not in before[:2]:
            self.add("seats", value, one, "number-seats")
        elif near == "speed" and 2 < value < 11 and not self._of_something_else(n):
            self.add("gears", value, one, "number-speed")
        elif (near == "gear" or after[:2] == ["forward", "gear"]) and 2 < value < 8:
            self.add("gears", value, one, "number-gears")
        elif after[:3] in (["on", "the", "column"], ["on", "the", "floor"]) and 2 < value < 7:
            self.add("gears", value, (n.first, n.end + 3), "number-on-the-column")
        elif before[:1] == ["gearbox"] and 2 < value < 9 and n.manner == "cardinal":
            self.add("gears", value, (n.first, n.end), "gearbox-number")

    def _of_something_else(self, n: Number) -> bool:
        around = set(self.after(n.end + 1, 2)) | set(self.before(n.first, 4))
        return bool(around & {"wiper", "wipers", "fan", "heater", "blower"})

    def _keys(self, n: Number, after: list[str], before: list[str]) -> None:
        if not 0 < n.value < 10:
            return
        near = after[:1] == ["key"] or after[:2] in (["original", "key"], ["working", "key"])
        if near or (after[:2] == ["set", "of"] and "key" in after):
            self.add("keys", int(n.value), (n.first, n.end + 1), "number-keys")
        elif ("keys" in before[:4] or "key" in before[:1]) and n.manner == "cardinal" and after[:1] != ["of"]:
            self.add("keys", int(n.value), (n.first, n.end), "keys-number")
        else:
            return
        for later in self.numbers:
            near = n.end < later.first <= n.end + 9 and later.manner == "cardinal" and 0 < later.value < 10
            # Said again after 'no': 'two, no, three'.
            if near and "no" in self.norm[n.end : later.first]:
                self.add("keys", int(later.value), (later.first, later.end), "keys-mended")

    def _keepers(self, n: Number, after: list[str], before: list[str]) -> None:
        if n.value != int(n.value) or not 0 < n.value < 30:
            return
        value, one = int(n.value), (n.first, n.end + 1)
        who = {"owner", "keeper"}
        if n.manner == "ordinal":
            if who & set(after[:2]) or after[:1] == ["lot"]:
                self.add("keepers", value, one, "ordinal-keeper")
        elif who & set(after[:3]) and (after[0] in who or after[0] in self.cues["keeper_kinds"]):
            self.add("keepers", value, one, "number-keepers")
        elif after[:1] == ["name"] and (
            {"book", "log", "document"} & set(before) or after[1:3] in (["in", "it"], ["in", "the"])
        ):
            self.add("keepers", value, one, "number-names")
        elif before[:2] in (["number", "keeper"], ["number", "owner"]):
            self.add("keepers", value, (n.first, n.end), "keeper-number")
        elif after[:2] == ["of", "us"] and ({"make", "makes", "owned"} & set(before) or "altogether" in after):
            self.add("keepers", value, (n.first, n.end + 2), "number-of-us")
        elif before[:1] in (["keepers"], ["owners"]) and n.manner == "cardinal":
            self.add("keepers", value, (n.first, n.end), "keepers-number")

    def _engine(self, n: Number, after: list[str], before: list[str]) -> None:
        value, near = n.value, after[0] if after else ""
        rule = ""
        litres = False
        if near in ("cc", "cubic") or after[:2] == ["c", "c"]:
            rule = "number-cc" if 90 < value < 9000 else ""
        elif near in ("litre", "liter"):
            litres = True
            rule = "number-litre" if 0.5 < value < 9 and "fuel" not in before[:3] else ""
        elif (n.manner == "point" and self.norm[n.end - 1] != "half") or (
            n.manner == "figures" and value != int(value)
        ):
            litres = True
            rule = "number-point" if 0.7 < value < 8 else ""
        elif n.manner in ("paired", "cardinal") and 500 < value < 8000 and self._engine_named(after):
            rule = "number-engine"
        elif self._in_hundreds(n, after, before):
            rule = "the-hundreds"
        elif n.manner == "paired" and 700 < value < _CENTURY and before[:1] == ["the"]:
            rule = "the-paired"
        if rule:
            end = n.end + 1 if rule in ("number-cc", "number-litre") else n.end
            self.add("engine_cc", round(value * 1000) if litres else int(value), (n.first, end), rule)

    def _engine_named(self, after: list[str]) -> bool:
        return after[:1] == ["engine"] or after[:3] == ["to", "be", "exact"]

    def _in_hundreds(self, n: Number, after: list[str], before: list[str]) -> bool:
        """Tell whether a number like 'sixteen hundred' may be an engine's size."""
        return (
            n.manner == "cardinal"
            and 700 <= n.value <= 7000
            and n.value % 100 == 0
            and n.value % 1000 != 0
            and self.norm[n.end - 1] == "hundred"
            and not self._money(n, after)
            and "mile" not in after
            and not set(before[:2]) & {"about", "another", "every", "for", "over"}
        )

    def _money(self, n: Number, after: list[str]) -> bool:
        written = self.text.words[self.text.word[n.first]]
        return bool(set(after[:2]) & {"pound", "quid", "euro", "grand"}) or "£" in written

    def _odometer(self, n: Number, after: list[str], before: list[str]) -> None:
        value, cues = n.value, self.cues
        if value != int(value) or value < 900 or n.manner in ("ordinal", "point") or self._money(n, after):
            return
        if (after and after[0] in cues["not_odometer_after"]) or set(before[:2]) & cues["not_odometer_before"]:
            return
        miles = bool(after) and (
            after[0] in cues["odometer_after"]
            or (
                after[0] in ("genuine", "odd", "warranted", "recorded")
                and after[1:2]
                and after[1] in cues["odometer_after"]
            )
        )
        around = self.after(n.end, 8)
        told = bool(set(before[:7]) & cues["odometer_before"])
        on_clock = bool({"clock", "dial", "speedo"} & set(around[:4])) or "odometer" in around
        big = value >= 9000 and n.manner != "paired"
        if miles and not told and (value < 3000 or (value < 20000 and set(after[1:3]) & {"ago", "since", "on"})):
            return
        exact = value % 1000 != 0 and n.manner in ("cardinal", "figures")
        if not (miles or (big and (told or on_clock or exact))):
            return
        sentence = self.before(n.first, 14) + self.after(n.end, 14)
        unit = "km" if any(w.startswith(("kilomet", "km", "klick")) for w in sentence) else "mi"
        strength = "miles" if miles else "told" if told or on_clock else "bare"
        self.add("odometer", int(value), (n.first, n.end), "odometer-" + strength, unit=unit)

    def _year(self, n: Number, after: list[str], before: list[str]) -> None:
        value = int(n.value)
        full = n.manner in ("paired", "figures") and _CENTURY <= value <= 2030
        if not full:
            led = before[:1] in (["a"], ["an"]) or after[:2] == ["on", "a"]
            short = 20 <= value <= 99 and n.manner in ("cardinal", "figures") and led
            if not short and not (30 <= value <= 99 and n.manner == "cardinal" and self._stands_alone(n)):
                return
            value += _CENTURY
        if after and (after[0] in self.cues["not_year_after"] or (full and after[0] in ("injection", "engine"))):
            return
        if "registered" in before[:6] or (before and before[0] in self.cues["year_not_before"]):
            return
        rule = "year" if n.first < self.size // 2 and value < 2012 else "year-late"
        led = bool(before) and before[0] in ("in", "back", "around", "circa")
        if led and not set(before[1:4]) & {"built", "made", "registered", "new"}:
            rule = "year-in"
        self.add("year", value, (n.first, n.end), rule)

    def _stands_alone(self, n: Number) -> bool:
        """Tell whether a number is a sentence of its own near the start: 'Sixty-seven.'."""
        ends = n.end < self.size and self.mark[n.end] > 0
        return self.mark[n.first] >= FULL_STOP and ends and n.first < self.size // 4
