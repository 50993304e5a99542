"""Facts that are words: body, colour, gearbox, power source, drive, origin, tax."""

from __future__ import annotations

from functools import cache

from shutline.remarks.fact_look import Look, fact_data
from shutline.remarks.tokens import FULL_STOP


@cache
def _sets() -> dict[str, frozenset[str]]:
    colours, countries = fact_data()["colours"], fact_data()["countries"]
    return {
        "bases": frozenset(colours["bases"]),
        "shades": frozenset(colours["before"]),
        "dropped": frozenset(colours["drop_before"]),
        "finishes": frozenset(colours["after"]),
        "countries": frozenset(countries["names"]),
    }


class WordFacts(Look):
    """Asks each word what it may tell of the whole car."""

    def word(self, at: int) -> None:
        """Note what the word at a token tells."""
        word = self.norm[at]
        sets = _sets()
        pair = f"{word} {self.norm[at + 1]}" if at + 1 < self.size else ""
        self._body(at)
        if word in sets["bases"] and word not in self.cues["not_colours"]:
            self._colour(at)
        if word in sets["countries"] or pair in sets["countries"]:
            self._origin(at, at + 1 if word in sets["countries"] else at + 2)
        if word in ("manual", "automatic", "auto"):
            self._gearbox(at)
        elif word in ("petrol", "diesel", "electric"):
            self._power(at)
        elif word in ("drive", "hooker", "wheel"):
            self._drive(at)
        elif word in ("exempt", "tax", "historic"):
            self._tax(at)

    def _body(self, at: int) -> None:
        bodies: dict[str, str] = fact_data()["bodies"]
        single, follows = self.stem[at], self.follows(at)
        pair = f"{single} {follows}"
        name = pair if pair in bodies else single
        if name not in bodies or (name == single and (self.norm[at] != single or single == "truck")):
            return
        before = self.before(at, 3)
        if self.cues["other_vehicle"] & set(before) or before[:2] == ["a", "from"]:
            return
        end = at + (2 if name == pair else 1)
        self.add("body", bodies[name], (at, end), "body-word" if at < self.size // 3 else "body-late")

    def _gearbox(self, at: int) -> None:
        word, follows = self.norm[at], self.follows(at)
        if word == "manual":
            led = self.cues["not_manual_before"] & set(self.before(at, 3))
            if follows in self.cues["manual_follows"] or (not led and follows not in ("for", "choke")):
                self.add("gearbox", "manual", (at, at + 1), "gearbox-word")
        elif follows not in self.cues["not_automatic_follows"]:
            self.add("gearbox", "automatic", (at, at + 1), "gearbox-word")

    def _power(self, at: int) -> None:
        word, follows, cues = self.norm[at], self.follows(at), self.cues
        if word == "electric":
            led = cues["electric_before"] & set(self.before(at, 3))
            fits = follows in cues["electric_follows"] or (led and follows not in cues["not_electric_follows"])
        else:
            fits = follows not in cues["not_fuel_follows"] and not cues["not_fuel_before"] & set(self.before(at, 2))
        if fits:
            self.add("power_source", word, (at, at + 1), "power-word")

    def _drive(self, at: int) -> None:
        norm, word = self.norm, self.norm[at]
        if word == "drive" and at > 1 and norm[at - 1] == "hand" and norm[at - 2] in ("left", "right"):
            self.add("drive", "lhd" if norm[at - 2] == "left" else "rhd", (at - 2, at + 1), "hand-drive")
        elif word == "hooker" and at and norm[at - 1] == "left":
            self.add("drive", "lhd", (at - 1, at + 1), "hand-drive")
        elif word == "wheel" and " on the left" in " " + " ".join(self.after(at + 1, 6)):
            self.add("drive", "lhd", (at, at + 1), "wheel-on-the-left")

    def _tax(self, at: int) -> None:
        word, before, after = self.norm[at], self.before(at, 5), self.after(at + 1, 6)
        fits = False
        if word == "exempt":
            fits = bool({"tax", "ved"} & {*before, *after})
        elif word == "tax":
            led = before[:2] == ["road", "no"] or before[:1] in (["no"], ["free"])
            fits = led or self.follows(at) in ("free", "exempt") or after[1:2] in (["nothing"], ["free"])
        elif word == "historic":
            fits = bool({"tax", "class", "vehicle"} & set(after[:4]))
        if fits:
            denied = word == "exempt" and {"n't", "not"} & set(before[:4])
            self.add("tax_exempt", not denied, (at, at + 1), "tax")

    def _colour(self, at: int) -> None:
        norm, mark, sets = self.norm, self.mark, _sets()
        first, end = at, at + 1
        while first > 0 and not mark[first] and norm[first - 1] in sets["shades"]:
            first -= 1
        while end < self.size and not mark[end] and norm[end] in sets["finishes"]:
            end += 1
        while end + 1 < self.size and not mark[end] and norm[end] in ("over", "and") and norm[end + 1] in sets["bases"]:
            end += 2
        while first < at and norm[first] in sets["dropped"]:
            first += 1
        led = bool(self.cues["colour_leads"] & set(self.before(first, 3))) or mark[first] >= FULL_STOP
        isolated = end >= self.size or mark[end] > 0
        after = self.after(end, 1)
        of_thing = bool(after) and after[0] not in self.cues["colour_follows"]
        if led and (isolated or not of_thing):
            self.add("colour", " ".join(norm[first:end]), (first, end), "colour-said")
        elif isolated:
            self.add("colour", " ".join(norm[first:end]), (first, end), "colour-alone")

    def _origin(self, at: int, end: int) -> None:
        before = self.before(at, 7)
        ours = self.follows(end - 1) == "import"
        if not ours and before[:1] not in (["from"], ["of"], ["in"]) and before[:2] != ["the", "from"]:
            return
        if ours or self.cues["came_from"] & set(before) or (before[:1] == ["from"] and at < self.size // 4):
            name = " ".join(w if w == "the" else w.capitalize() for w in self.norm[at:end])
            self.add("origin", name, (at, end), "from-country")
