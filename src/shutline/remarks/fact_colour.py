"""The colour of the car, told from the colours of its parts."""

from __future__ import annotations

from functools import cache

from shutline.remarks.fact_data import fact_data
from shutline.remarks.fact_look import Look
from shutline.remarks.tokens import COMMA, FULL_STOP, structure_words


@cache
def _sets() -> dict[str, frozenset[str]]:
    colours = fact_data()["colours"]
    return {name: frozenset(words) for name, words in colours.items()}


@cache
def colour_words() -> frozenset[str]:
    """Give every word that may begin a look for a colour."""
    sets = _sets()
    return sets["bases"] | sets["ambiguous"]


class ColourFacts(Look):
    """Asks each colour word whether it is said of the whole car."""

    def colour(self, at: int) -> None:
        """Note a colour with the words that shade it: 'metallic blue', 'black over garnet'."""
        norm, mark, sets = self.norm, self.mark, _sets()
        if self.out and self.out[-1].name == "colour" and at < self.out[-1].end:
            return
        first, end = self._shades(at), at + 1
        while end < self.size and not mark[end] and norm[end] in sets["after"]:
            end += 1
        second = self._second(end)
        while second > end:
            end = second
            second = self._second(end)
        end = self._wings(end)
        pair = any(w in ("and", "over", "with") for w in norm[at:end])
        begin = first
        if pair and norm[first : first + 2] == ["two", "tone"]:
            first += 2
        while first < at and norm[first] in ("lovely", "nice", "soft", "warm"):
            first += 1
        if all(word in sets["drop_before"] for word in norm[first:at]):
            first = at
        rule = self._rule(begin, end)
        if not rule or (norm[at] in sets["ambiguous"] and first == at and not rule.startswith("colour-named")):
            return
        if set(self.before(begin, 3)) & self.cues["turned"]:
            rule = "colour-turned"
        elif self.cues["inside"] & set(self.before(begin, 6, cross=COMMA)):
            rule = "colour-inside"
        elif end < self.size and norm[end] in ("now", "again") and rule.endswith("-is"):
            rule = "colour-now"
        elif self.leads(begin) == "was" and rule in ("colour-named", "colour-she-is", "colour-it-is"):
            rule = "colour-was"
        value = self._written(first, end)
        if value in self.cues["fault_colours"] and rule != "colour-plainly":
            rule += "-plain"
        self.add("colour", value, (first, end), rule)

    def _shades(self, at: int) -> int:
        """Go back over the words that shade a colour: 'dark', 'metallic', 'harvest'."""
        shades = _sets()["before"]
        while at > 0 and not self.mark[at] and self.norm[at - 1] in shades:
            at -= 1
        return at

    def _second(self, end: int) -> int:
        """Go over a second colour: 'over sage', 'below and black above', 'and dark blue'."""
        norm, sets = self.norm, _sets()
        at = end
        if at < self.size and norm[at] in ("below", "above", "underneath") and not self.mark[at]:
            at += 1
        if at + 1 >= self.size or self.mark[at] or norm[at] not in ("over", "and", "on", "above"):
            return end
        at += 1
        for _ in range(3):
            if at >= self.size or self.mark[at]:
                return end
            if norm[at] in sets["bases"] or norm[at] in sets["ambiguous"]:
                return at + 1 + (at + 1 < self.size and norm[at + 1] in ("below", "above") and not self.mark[at + 1])
            if norm[at] not in sets["before"]:
                return end
            at += 1
        return end

    def _wings(self, end: int) -> int:
        """Go over wings of another colour: 'with black wings'."""
        at = end
        if at + 2 < self.size and self.norm[at] == "with" and self.norm[at + 2] in ("wings", "roof", "top"):
            return at + 3 if self.norm[at + 1] in _sets()["bases"] else end
        return end

    def _rule(self, first: int, end: int) -> str:
        """Name the rule by which the colour in the tokens is one of the car; empty when it is none."""
        before, after = self.before(first, 5), self.after(end, 2)
        follow = after[0] if after else ""
        isolated = self.ends(end) or follow in structure_words() or self.bare
        return (
            self._named(first, end, before, isolated=isolated)
            or self._of_it(first, end, before, isolated=isolated)
            or self._listed(first, end, before, isolated=isolated)
        )

    def _named(self, first: int, end: int, before: list[str], *, isolated: bool) -> str:
        """Look for words that say a colour is told: 'the colour is', 'finished in', 'they called it'."""
        rule = ""
        if {"finished", "enamel"} & set(before[:4]) or self._of_the_car(self.before(first, 7)):
            rule = "colour-named"
        elif isolated and self.after(end, 2) in (["they", "called"], ["they", "call"]):
            rule = "colour-they-called"
        elif self._called(before):
            rule = "colour-named-called"
        elif before[:1] == ["says"] and set(before[1:4]) & self.cues["papers"]:
            rule = "colour-on-paper"
        elif isolated:
            rule = self._painted(first)
        return rule

    def _called(self, before: list[str]) -> bool:
        """Tell whether a name follows: 'they called it', 'what he calls'; not 'it's called, they rust'."""
        lead = before[1:2] if before[:1] in (["it"], ["her"], ["the"], ["a"], ["that"]) else before[:1]
        return lead in (["called"], ["call"], ["calls"]) and "i" not in before[:3]

    def _of_it(self, first: int, end: int, before: list[str], *, isolated: bool) -> str:
        """Look for what the colour is said of: 'she's red', 'a red saloon', 'the same red'."""
        rule, lead = "", before[0] if before else ""
        article = lead in ("a", "the", "this") and not set(before[1:2]) & {"off", "from", "of", "like"}
        if article and self._is_kind(end):
            rule = "colour-of-the-car"
        elif {"painted", "finished"} & set(before[:3]) and {"she", "it", "he"} & set(before):
            rule = "colour-she-painted"
        elif lead in ("same", "original", "wrong", "factory", "match", "right") and isolated:
            rule = "colour-the-same"
        elif lead in ("'s", "is", "was", "been") and isolated:
            rule = self._subject_is(first, before)
        return rule

    def _subject_is(self, first: int, before: list[str]) -> str:
        if {"called", "call"} & set(self.before(first, 12)):
            return "colour-plainly"
        who = before[1] if len(before) > 1 else ""
        if before[0] == "been" or who in ("has", "'s"):
            who = before[2] if len(before) > 2 else ""
        kind = "she" if who in ("she", "he") else "it" if who in ("it", "that", "this", "which") else "thing"
        return f"colour-{kind}-is"

    def _listed(self, first: int, end: int, before: list[str], *, isolated: bool) -> str:
        """Look at how a colour stands by itself: 'in red', 'red' between commas, 'Red.'."""
        if isolated and (before[:1] in (["in"], ["that"], ["of"]) or before[:2] == ["the", "in"]):
            return "colour-in"
        if self.bare:
            return "colour-bare"
        if isolated and self.ends(first):
            return "colour-alone" if first and self.mark[first] > COMMA and self.ends(end) else "colour-listed"
        return "colour-loose" if self.ends(end) else ""

    def _painted(self, first: int) -> str:
        """Tell how paint was named before a colour: 'Paint, deep green', 'the whole car was repainted, black'."""
        words = self.before(first, 12)
        if "whole" in words and self.cues["painted"] & set(words):
            return "colour-painted-whole"
        for back, word in enumerate(words[:6]):
            if word in ("paint", "paintwork", "coachwork") and self.mark[first - back - 1] >= FULL_STOP:
                return "colour-paint"
        return ""

    def _of_the_car(self, before: list[str]) -> bool:
        """Tell whether 'colour' was said of the car: not 'a different colour' nor 'the colour of rust'."""
        for at in range(min(5, len(before))):
            if before[at] in ("colour", "color"):
                led = set(before[at + 1 : at + 3]) & self.cues["not_the_colour"]
                return not led and not (at and before[at - 1] in ("of", "in", "match", "matches", "change", "that"))
        return False

    def _is_kind(self, at: int) -> bool:
        """Tell whether the kind of car follows: 'saloon', 'four-door saloon'."""
        after = self.after(at, 3)
        kinds = {"saloon", "coupe", "estate", "hatchback", "pickup", "convertible", "roadster"}
        return bool(after) and (after[0] in kinds or "door" in after[1:2])

    def colour_name(self, at: int) -> None:
        """Note a colour by a name no list has: 'the colour they called sable'."""
        norm = self.norm
        end = at + 1
        while end < self.size and end < at + 7 and norm[end] in self.cues["colour_naming"]:
            end += 1
        first = end
        known = colour_words() | _sets()["before"]
        while end < self.size and end < first + 3 and (end == first or not self.ends(end)):
            if norm[end] in known:
                return
            end += 1
        if end == first or first == at + 1 or not self.ends(end):
            return
        if norm[at] == "colour" and norm[first] not in self.cues["not_a_name"]:
            self.add("colour", self._written(first, end), (first, end), "colour-unlisted")

    def _written(self, first: int, end: int) -> str:
        """Join the words as they were written: with a hyphen where one stood between them."""
        out = self.norm[first]
        word = self.text.word
        for at in range(first + 1, end):
            if self.norm[at] in ("below", "above", "underneath"):
                continue
            joined = word[at] == word[at - 1] and "-" in self.text.words[word[at]]
            out += ("-" if joined else " ") + self.norm[at]
        return out
