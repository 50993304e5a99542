"""Facts of the whole car: mileage, year, engine, keepers and the like, each from the words beside a number or a name."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Any

from shutline.remarks.numbers import Number, numbers
from shutline.remarks.tokens import FULL_STOP, Text

_CENTURY = 1900
_NOW = 2040


@dataclass(frozen=True, slots=True)
class FoundFact:
    """A fact in the tokens `first` up to and without `end`; `rule` names what drew it."""

    name: str
    value: int | str | bool
    unit: str | None
    first: int
    end: int
    rule: str


@cache
def _data() -> dict[str, Any]:
    return loads(files("shutline.remarks").joinpath("data/facts.toml").read_text(encoding="utf-8"))


@cache
def _sets() -> dict[str, frozenset[str]]:
    return {name: frozenset(words) for name, words in _data()["cues"].items()}


class _Reader:
    """Looks at one text; keeps what it needs at hand."""

    def __init__(self, text: Text) -> None:
        self.text = text
        self.norm, self.stem, self.mark = text.norm, text.stem, text.mark
        self.size = len(text.norm)
        self.numbers = numbers(text)
        self.by_first = {n.first: n for n in self.numbers}
        self.sets = _sets()
        self.out: list[FoundFact] = []

    def word(self, at: int) -> str:
        return self.stem[at] if 0 <= at < self.size else ""

    def before(self, at: int, reach: int, *, cross: int = FULL_STOP) -> list[str]:
        """Give the words before a token, nearest first, within the sentence."""
        words = []
        while at > 0 and reach and self.mark[at] < cross:
            at -= 1
            reach -= 1
            words.append(self.norm[at])
        return words

    def after(self, at: int, reach: int, *, cross: int = FULL_STOP) -> list[str]:
        words = []
        while at < self.size and reach and self.mark[at] < cross:
            words.append(self.stem[at])
            at += 1
            reach -= 1
        return words

    def add(self, name: str, value: int | str | bool, first: int, end: int, rule: str, unit: str | None = None) -> None:
        self.out.append(FoundFact(name, value, unit, first, end, rule))

    def run(self) -> list[FoundFact]:
        for number in self.numbers:
            self.number(number)
        self.words()
        return self.settle()

    # numbers

    def number(self, n: Number) -> None:
        v = n.value
        after = self.after(n.end, 4)
        before = self.before(n.first, 8)
        near = after[0] if after else ""
        whole = v == int(v)
        if near in ("door",) and whole and 2 <= v <= 6 and n.manner in ("cardinal", "figures"):
            self.add("doors", int(v), n.first, n.end + 1, "number-door")
        elif near == "seat" and whole and 1 < v < 20 and n.manner != "ordinal" and "heated" not in before[:2]:
            self.add("seats", int(v), n.first, n.end + 1, "number-seats")
        elif near == "seater" and whole:
            self.add("seats", int(v), n.first, n.end + 1, "number-seater")
        elif near == "speed" and whole and 2 < v < 11 and not self._other_speed(n):
            self.add("gears", int(v), n.first, n.end + 1, "number-speed")
        elif (near == "gear" or after[:2] == ["forward", "gear"]) and whole and 2 < v < 8:
            self.add("gears", int(v), n.first, n.end + 1, "number-gears")
        elif after[:3] == ["on", "the", "column"] or after[:3] == ["on", "the", "floor"]:
            if whole and 2 < v < 7:
                self.add("gears", int(v), n.first, n.end + 3, "number-on-the-column")
        elif before[:1] == ["gearbox"] and whole and 2 < v < 9 and n.manner == "cardinal":
            self.add("gears", int(v), n.first, n.end, "gearbox-number")
        self._keys(n, near, before)
        self._keepers(n, after, before)
        self._engine(n, after, before)
        self._odometer(n, after, before)
        self._year(n, after, before)

    def _other_speed(self, n: Number) -> bool:
        return bool(set(self.after(n.end + 1, 2)) & {"wiper", "fan", "heater", "blower"}) or bool(
            set(self.before(n.first, 4)) & {"wiper", "wipers", "fan", "heater", "blower"}
        )

    def _keys(self, n: Number, near: str, before: list[str]) -> None:
        v = n.value
        if n.manner == "ordinal" or v != int(v) or not 0 < v < 10:
            return
        after = self.after(n.end, 4)
        if (
            near == "key"
            or after[:2] in (["set", "of"],)
            and "key" in after
            or after[:2] == ["original", "key"]
            or after[:2] == ["working", "key"]
        ):
            self.add("keys", int(v), n.first, n.end + 1, "number-keys")
        elif (
            before
            and ("key" in before[0] or "keys" in before[:4])
            and n.manner == "cardinal"
            and not after[:1] == ["of"]
        ):
            self.add("keys", int(v), n.first, n.end, "keys-number")

    def _mended(self, name: str, n: Number) -> None:
        """Look for a number that corrects this one: 'two, no, three'."""
        for later in self.numbers:
            if (
                n.end < later.first <= n.end + 9
                and later.manner == "cardinal"
                and "no" in self.norm[n.end : later.first]
            ):
                self.add(name, int(later.value), later.first, later.end, f"{name}-mended")

    def _keepers(self, n: Number, after: list[str], before: list[str]) -> None:
        v = n.value
        if v != int(v) or not 0 < v < 30:
            return
        words = [w for w in after[:3]]
        who = ("owner", "keeper")
        if n.manner == "ordinal":
            if any(w in who for w in words[:2]) or words[:1] == ["lot"]:
                self.add("keepers", int(v), n.first, n.end + 1, "ordinal-keeper")
        elif any(w in who for w in words[:3]) and (
            words[0] in who
            or words[0]
            in ("previous", "former", "registered", "careful", "recorded", "local", "private", "lady", "family")
        ):
            self.add("keepers", int(v), n.first, n.end + 1, "number-keepers")
        elif words[:1] == ["name"] and (
            "book" in before
            or "log" in before
            or "document" in before
            or words[1:3] == ["in", "it"]
            or words[1:3] == ["in", "the"]
        ):
            self.add("keepers", int(v), n.first, n.end + 1, "number-names")
        elif before[:2] == ["number", "keeper"] or before[:2] == ["number", "owner"]:
            self.add("keepers", int(v), n.first, n.end, "keeper-number")
        elif words[:2] == ["of", "us"] and (
            "make" in before or "makes" in before or "owned" in before or "altogether" in after
        ):
            self.add("keepers", int(v), n.first, n.end + 2, "number-of-us")
        elif before[:1] in (["keepers"], ["owners"]) and n.manner == "cardinal":
            self.add("keepers", int(v), n.first, n.end, "keepers-number")

    def _engine(self, n: Number, after: list[str], before: list[str]) -> None:
        v = n.value
        words = after[:3]
        if words[:1] in (["cc"], ["cubic"], ["cee"]) or words[:2] == ["c", "c"]:
            if 90 < v < 9000:
                self.add("engine_cc", int(v), n.first, n.end + 1, "number-cc")
        elif words[:1] in (["litre"], ["liter"]) or words[:2] in (["point", "litre"],):
            if 0.5 < v < 9 and "fuel" not in before[:3]:
                self.add("engine_cc", round(v * 1000), n.first, n.end + 1, "number-litre")
        elif n.manner == "point" and 0.7 < v < 8 and self.norm[n.end - 1] != "half":
            self.add("engine_cc", round(v * 1000), n.first, n.end, "number-point")
        elif n.manner == "figures" and 0.7 < v < 8 and v != int(v):
            self.add("engine_cc", round(v * 1000), n.first, n.end, "figures-point")
        elif (
            n.manner == "cardinal"
            and v == int(v)
            and 700 <= v <= 7000
            and v % 100 == 0
            and self.norm[n.end - 1] == "hundred"
            and v % 1000
        ):
            if (
                not self._money(n, after)
                and "mile" not in words
                and not set(before[:2]) & {"about", "another", "every", "for", "over"}
            ):
                self.add("engine_cc", int(v), n.first, n.end, "the-hundreds")
        elif (
            n.manner in ("paired", "cardinal")
            and 500 < v < 8000
            and (after[:1] == ["engine"] or after[:3] == ["to", "be", "exact"])
        ):
            self.add("engine_cc", int(v), n.first, n.end, "number-engine")
        elif n.manner == "paired" and 700 < v < 1900 and before[:1] == ["the"]:
            self.add("engine_cc", int(v), n.first, n.end, "the-paired")

    def _money(self, n: Number, after: list[str]) -> bool:
        return (
            bool(set(after[:2]) & {"pound", "quid", "euro", "grand"}) or "£" in self.text.words[self.text.word[n.first]]
        )

    def _odometer(self, n: Number, after: list[str], before: list[str]) -> None:
        v = n.value
        if v != int(v) or v < 900 or n.manner in ("ordinal", "point") or self._money(n, after):
            return
        s = self.sets
        if after and after[0] in s["not_odometer_after"]:
            return
        if set(before[:2]) & {"every", "per", "next", "another", "last", "lot"}:
            return
        miles = bool(after) and (
            after[0] in s["odometer_after"]
            or (
                len(after) > 1
                and after[1] in s["odometer_after"]
                and after[0] in ("genuine", "odd", "warranted", "recorded")
            )
        )
        told = [w for w in before[:7] if w in s["odometer_before"]]
        around = self.after(n.end, 8)
        on_clock = "clock" in around[:4] or "dial" in around[:4] or "odometer" in around or "speedo" in around[:4]
        big = v >= 9000 and n.manner != "paired"
        if miles and v < 3000 and not told:
            return
        if miles and set(after[1:3]) & {"ago", "since", "on"} and not told and v < 20000:
            return
        if not (
            miles or (told and big) or (on_clock and big) or (big and v % 1000 and n.manner in ("cardinal", "figures"))
        ):
            return
        sentence = self.before(n.first, 14) + self.after(n.end, 14)
        unit = "km" if any(w.startswith(("kilomet", "km", "klick")) for w in sentence) else "mi"
        strength = "miles" if miles else "told" if told or on_clock else "bare"
        self.add("odometer", int(v), n.first, n.end, "odometer-" + strength, unit)

    def _year(self, n: Number, after: list[str], before: list[str]) -> None:
        v = int(n.value)
        full = n.manner in ("paired", "figures") and 1900 <= v <= 2030
        short = (
            n.manner in ("cardinal", "figures")
            and 20 <= v <= 99
            and (before[:1] in (["a"], ["an"]) or after[:2] == ["on", "a"])
        )
        if not full and not short:
            if not (n.manner == "cardinal" and 30 <= v <= 99):
                return
            first = self.sentence_opener(n)
            if not first:
                return
            short = True
        if after[:1] in (
            ["cc"],
            ["mile"],
            ["mil"],
            ["percent"],
            ["per"],
            ["year"],
            ["quid"],
            ["pound"],
            ["micron"],
            ["minute"],
        ):
            return
        value = v if full else _CENTURY + v
        if full and after[:1] in (["injection"], ["engine"]):
            return
        if set(before[:6]) & {"registered"}:
            return
        if before and before[0] in self.sets["year_not_before"]:
            return
        if (
            before[:2]
            and before[0] in ("in", "back", "around", "circa")
            and not set(before[1:4]) & {"built", "made", "registered", "new"}
        ):
            rule = "year-in"
        else:
            rule = ("year" if full else "year-short") if n.first < self.size // 2 and value < 2012 else "year-late"
        self.add("year", value, n.first, n.end, rule)

    def sentence_opener(self, n: Number) -> bool:
        return (
            self.mark[n.first] >= FULL_STOP and n.end < self.size and self.mark[n.end] > 0 and n.first < self.size // 4
        )

    # words

    def words(self) -> None:
        norm, stem = self.norm, self.stem
        data = _data()
        bodies: dict[str, str] = data["bodies"]
        bases = frozenset(data["colours"]["bases"])
        shades = frozenset(data["colours"]["before"])
        drop = frozenset(data["colours"]["drop_before"])
        follow = frozenset(data["colours"]["after"])
        countries = frozenset(data["countries"]["names"])
        months = data["months"]
        for at in range(self.size):
            word, single = norm[at], stem[at]
            pair = f"{single} {stem[at + 1]}" if at + 1 < self.size else ""
            if (pair in bodies or (single in bodies and word == single)) and not self._other_car(at):
                end = at + (2 if pair in bodies else 1)
                early = at < self.size // 3
                self.add(
                    "body", bodies[pair if pair in bodies else single], at, end, "body-word" if early else "body-late"
                )
            if word in bases and word not in (
                "rust",
                "stone",
                "sand",
                "mint",
                "biscuit",
                "cherry",
                "plum",
                "amber",
                "copper",
                "lime",
            ):
                self._colour(at, shades, drop, follow)
            if word in countries or (f"{word} {norm[at + 1]}" if at + 1 < self.size else "") in countries:
                self._origin(at)
            if word in months:
                self._date(at, months[word])
            if word == "manual" and stem[at + 1 : at + 2] not in (["for"], ["choke"], ["gearbox's"]):
                if (
                    not set(self.before(at, 3))
                    & {"workshop", "owner", "owners", "'s", "handbook", "haynes", "service", "the"}
                    or word == "manual"
                    and stem[at + 1 : at + 2] in (["box"], ["gearbox"], ["transmission"])
                ):
                    self.add("gearbox", "manual", at, at + 1, "gearbox-word")
            if word in ("automatic", "auto") and stem[at + 1 : at + 2] not in (
                ["choke"],
                ["electric"],
                ["wiper"],
                ["aerial"],
                ["car"],
            ):
                self.add("gearbox", "automatic", at, at + 1, "gearbox-word")
            if (
                word in ("petrol", "diesel")
                and stem[at + 1 : at + 2]
                not in (
                    ["tank"],
                    ["cap"],
                    ["flap"],
                    ["pipe"],
                    ["gauge"],
                    ["pump"],
                    ["line"],
                    ["station"],
                    ["smell"],
                    ["filler"],
                    ["soot"],
                    ["tap"],
                    ["can"],
                    ["leak"],
                    ["in"],
                    ["on"],
                    ["lid"],
                    ["hose"],
                    ["blue"],
                )
                and not set(self.before(at, 2)) & {"of", "smell", "no", "leaking"}
            ):
                self.add("power_source", word, at, at + 1, "power-word")
            if word == "electric" and (
                stem[at + 1 : at + 2] in (["drive"], ["motor"], ["car"], ["conversion"])
                or set(self.before(at, 3)) & {"converted", "fully", "all", "is", "'s"}
                and stem[at + 1 : at + 2] not in (["window"], ["fan"], ["aerial"], ["shock"])
            ):
                self.add("power_source", "electric", at, at + 1, "power-word")
            if word == "drive" and at > 1 and norm[at - 1] == "hand" and norm[at - 2] in ("left", "right"):
                self.add("drive", "lhd" if norm[at - 2] == "left" else "rhd", at - 2, at + 1, "hand-drive")
            if word == "hooker" and norm[at - 1] == "left":
                self.add("drive", "lhd", at - 1, at + 1, "hand-drive")
            if single == "wheel" and " on the left" in " " + " ".join(self.after(at + 1, 6)):
                self.add("drive", "lhd", at, at + 1, "wheel-on-the-left")
            self._tax(at)

    def _other_car(self, at: int) -> bool:
        """Tell whether a body word speaks of another vehicle: 'off a van', 'a bread van'."""
        before = self.before(at, 3)
        return bool(set(before) & {"off", "bread", "delivery", "another", "breakdown", "transit", "removal"}) or before[
            :2
        ] == ["a", "from"]

    def _tax(self, at: int) -> None:
        norm = self.norm
        word = norm[at]
        if word == "exempt" and (set(self.before(at, 5)) | set(self.after(at + 1, 6))) & {"tax", "ved"}:
            self.add("tax_exempt", not ({"n't", "not"} & set(self.before(at, 4))), at, at + 1, "tax-exempt")
        elif word == "tax" and at > 0:
            before = self.before(at, 4)
            if (
                before[:2] == ["road", "no"]
                or before[:1] == ["no"]
                or before[:1] == ["free"]
                or norm[at + 1 : at + 2] == ["free"]
                or norm[at + 1 : at + 2] == ["exempt"]
                or self.after(at + 1, 3)[:2] in (["is", "nothing"], ["'s", "nothing"], ["is", "free"], ["'s", "free"])
            ):
                self.add("tax_exempt", True, at, at + 1, "no-tax")
        elif word == "historic" and set(self.after(at + 1, 4)) & {"tax", "class", "vehicle"}:
            self.add("tax_exempt", True, at, at + 1, "historic")

    def _colour(self, at: int, shades: frozenset[str], drop: frozenset[str], follow: frozenset[str]) -> None:
        norm = self.norm
        first, end = at, at + 1
        while first > 0 and not self.mark[first] and norm[first - 1] in shades:
            first -= 1
        while end < self.size and not self.mark[end] and norm[end] in follow:
            end += 1
        while (
            end + 1 < self.size
            and not self.mark[end]
            and norm[end] in ("over", "and")
            and norm[end + 1] in frozenset(_data()["colours"]["bases"])
        ):
            end += 2
        while first < at and norm[first] in drop:
            first += 1
        value = " ".join(norm[first:end])
        before = self.before(first, 4)
        after = self.after(end, 3)
        strong = bool(
            set(before[:3]) & {"colour", "color", "painted", "it", "she", "he", "'s", "in", "finished", "is", "called"}
        ) or (self.mark[first] >= FULL_STOP)
        thing = after[:1] and after[0] not in (
            "with",
            "and",
            "but",
            "all",
            "it",
            "she",
            "obviously",
            "over",
            "so",
            "two",
            "four",
            "saloon",
            "coupe",
            "estate",
            "by",
            "of",
            "naturally",
            "when",
        )
        isolated = end >= self.size or self.mark[end] > 0
        rule = "colour-" + ("said" if strong and (isolated or not thing) else "alone" if isolated else "of-thing")
        if rule == "colour-of-thing":
            return
        self.add("colour", value, first, end, rule)

    def _origin(self, at: int) -> None:
        end = at + 1
        norm = self.norm
        countries = frozenset(_data()["countries"]["names"])
        if norm[at] not in countries:
            end = at + 2
        before = self.before(at, 7)
        if (
            before[:1] in (["from"], ["of"], ["in"])
            or before[:2] == ["the", "from"]
            or norm[at + 1 : at + 2] == ["import"]
        ):
            words = set(before)
            car = words & {
                "import",
                "imported",
                "brought",
                "came",
                "come",
                "shipped",
                "supplied",
                "sold",
                "originally",
                "delivered",
                "registered",
                "car",
                "lived",
                "came",
                "started",
                "arrived",
                "coming",
                "in",
            }
            ours = norm[at + 1 : at + 2] == ["import"]
            name = " ".join(w.capitalize() if w != "the" else w for w in norm[at:end])
            if ours or car - {"in"} or (before[:1] == ["from"] and at < self.size // 4):
                self.add("origin", name, at, end, "from-country")

    def _date(self, at: int, month: int) -> None:
        """Read day, month and year round a month word and tie it to test, service or registration."""
        norm = self.norm
        if norm[at] == "may" and not (
            self.mark[at]
            or norm[at - 1 : at]
            and (
                norm[at - 1]
                in ("of", "in", "to", "till", "until", "last", "since", "next", "this", "that", "was", "it")
                or norm[at - 1].isdigit()
            )
        ):
            year_follows = self.by_first.get(at + 1)
            if year_follows is None or year_follows.value < 1900:
                return
        first, end = at, at + 1
        day = None
        back = at - 1
        if back >= 0 and norm[back] == "of":
            back -= 1
        if back >= 0 and norm[back] == "the" and back + 1 < at:
            back -= 1
        for n in self.numbers:
            if n.end == back + 1 and (n.manner == "ordinal" or n.manner == "figures") and 0 < n.value < 32:
                day, first = int(n.value), n.first
        year = None
        follow = self.by_first.get(at + 1) or (
            self.by_first.get(at + 2) if norm[at + 1 : at + 2] in (["of"], ["the"], ["in"]) else None
        )
        if follow is not None and follow.manner == "ordinal" and day is None and 0 < follow.value < 32:
            day, end = int(follow.value), follow.end
            follow = self.by_first.get(end)
        if follow is not None and follow.manner != "ordinal":
            v = int(follow.value)
            if 1900 <= v <= 2099:
                year = v
            elif 0 <= v <= 99 and follow.manner in ("cardinal", "figures"):
                year = 2000 + v if v < 40 else 1900 + v
            if year is not None:
                end = follow.end
                if year > 2029 and "registered" in self.before(first, 14):
                    year -= 100
        if year is None:
            return
        value = f"{year:04d}-{month:02d}" + (f"-{day:02d}" if day is not None else "")
        before = self.before(first, 14, cross=9)
        sentence = self.before(first, 14)
        after = self.after(end, 6)
        if (
            "registered" in sentence
            or "registered" in after
            or ("road" in sentence and "on" in sentence and year < 2005)
        ):
            self.add("first_registered", value, first, end, "registered-date")
        elif {"service", "serviced", "stamp", "stamped"} & (set(sentence) | set(after[:4])) and not {
            "mot",
            "test",
        } & set(sentence[:6]):
            self.add("last_service", value, first, end, "service-date")
        elif {"mot", "test", "ticket", "mot'd", "tested", "one", "it"} & set(sentence) and {
            "until",
            "till",
            "to",
            "while",
            "runs",
            "up",
            "expires",
            "through",
            "good",
            "due",
            "in",
            "is",
            "out",
            "than",
        } & set(sentence[:5]):
            if {"mot", "test", "ticket", "mot'd", "tested"} & set(before):
                self.add("mot_until", value, first, end, "test-date")
        elif {"service", "serviced"} & set(before[:12]):
            self.add("last_service", value, first, end, "service-date-near")
        elif {"mot", "test", "ticket"} & set(before):
            self.add("mot_until", value, first, end, "test-date-near")

    # choosing

    def settle(self) -> list[FoundFact]:
        """Keep, of each name, what was said best and first; two different strong values are both kept."""
        kept: list[FoundFact] = []
        by_name: dict[str, list[FoundFact]] = {}
        for fact in sorted(self.out, key=lambda f: f.first):
            by_name.setdefault(fact.name, []).append(fact)
        for name, facts in by_name.items():
            order = _STRENGTH.get(name, {})
            best = min(facts, key=lambda f: (order.get(f.rule, 5), f.first))
            kept.append(best)
        if not any(f.name == "first_registered" for f in kept):
            for n in self.numbers:
                if (
                    n.manner in ("paired", "figures")
                    and 1900 <= n.value <= 2030
                    and "registered" in self.before(n.first, 5)
                ):
                    kept.append(
                        FoundFact("first_registered", str(int(n.value)), None, n.first, n.end, "registered-year")
                    )
                    break
        return sorted(kept, key=lambda f: (f.first, f.name))


_STRENGTH: dict[str, dict[str, int]] = {
    "odometer": {"odometer-miles": 1, "odometer-told": 1, "odometer-bare": 3},
    "engine_cc": {
        "number-cc": 0,
        "number-litre": 1,
        "number-point": 2,
        "figures-point": 2,
        "the-paired": 3,
        "the-hundreds": 3,
    },
    "keys": {"keys-mended": 0, "number-keys": 1, "keys-number": 1},
    "colour": {"colour-said": 0, "colour-alone": 1},
    "year": {"year": 0, "year-short": 0, "year-late": 2, "year-in": 3},
    "body": {"body-word": 0, "body-late": 1},
    "keepers": {"ordinal-keeper": 1, "number-keepers": 0, "number-names": 1, "keeper-number": 0},
}


def facts(text: Text) -> list[FoundFact]:
    """Find the facts told in the tokens, in the order they were said."""
    return _Reader(text).run()


def sentence_of(text: Text, first: int, end: int) -> tuple[int, int]:
    """Give the first and last token of the sentence round some tokens."""
    while first > 0 and text.mark[first] < FULL_STOP:
        first -= 1
    last = bisect_left(range(len(text.mark)), end)
    while last < len(text.mark) and text.mark[last] < FULL_STOP:
        last += 1
    return first, max(first, last - 1)
