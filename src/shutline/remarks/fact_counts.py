"""Facts that are counted: doors, seats, gears, keys, keepers."""

from __future__ import annotations

from shutline.remarks.fact_look import NO_END, Look
from shutline.remarks.numbers import Number


class CountFacts(Look):
    """Asks each small whole number what it counts."""

    def count(self, n: Number, after: list[str], before: list[str]) -> None:
        """Note what a whole number below thirty counts."""
        if n.manner == "ordinal":
            self._nth_keeper(n, after, before)
            return
        if n.manner not in ("cardinal", "figures"):
            return
        self._doors(n, after, before)
        self._seats(n, after, before)
        self._gears(n, after, before)
        self._keys(n, after, before)
        self._keepers(n, after, before)

    def _doors(self, n: Number, after: list[str], before: list[str]) -> None:
        value = int(n.value)
        if not 1 <= value <= 6:
            return
        near = self._past(after, "small_kinds")
        if before[:1] == ["the"] and before[1:2] in (["on"], ["of"], ["off"], ["round"]):
            return
        if near[:1] == ["door"] and near[1:2] not in (["up"], ["down"], ["along"], ["away"]):
            led = self.norm[n.end] == "doors" and bool(
                set(before[:1]) & {"the", "both", "all", "other", "these", "those"}
            )
            rule = "the-doors" if led else "number-door" if value > 1 else "one-door"
            self.add("doors", value, (n.first, n.end + 1), rule)
        elif before[:1] == ["doors"] and self.ends(n.end):
            self.add("doors", value, (n.first - 1, n.end), "doors-number")

    def _seats(self, n: Number, after: list[str], before: list[str]) -> None:
        value = int(n.value)
        if not 1 < value < 20:
            return
        near = self._past(after, "small_kinds")
        if near[:1] in (["seat"], ["seater"]):
            part = near[1:3] in (["in", "the"], ["at", "the"]) or bool(set(near[1:2]) & self.cues["not_all_seats"])
            led = set(before[:2]) & {"the", "heated", "other", "t'other", "both"}
            self.add("seats", value, (n.first, n.end + 1), "part-of-seats" if part or led else "number-seats")
        elif after[:2] == ["plus", "two"] and value == 2:
            self.add("seats", 4, (n.first, n.end + 2), "two-plus-two")
        elif before[:2] in (["for", "seats"], ["for", "room"]) and self.ends(n.end):
            self.add("seats", value, (n.first, n.end), "seats-number")
        elif self.cues["seating"] & set(before[:1]) and near[:1] not in (["of"], ["for"], ["in"]):
            if before[1:2] == ["occasional"]:
                return
            self.add("seats", value, (n.first - 1, n.end), "seats-number")

    def _gears(self, n: Number, after: list[str], before: list[str]) -> None:
        value = int(n.value)
        if not 2 < value < 11:
            return
        near = self._past(after, "small_kinds")
        of_other = self.cues["not_gears"] & {*after[:4], *before[:4]}
        if near[:1] in (["speed"], ["ratio"]) and not of_other:
            self.add("gears", value, (n.first, n.end + 1), "number-speed")
        elif near[:1] == ["gear"] and value < 8:
            self.add("gears", value, (n.first, n.end + 1), "number-gears")
        elif after[:3] in (["on", "the", w] for w in ("column", "floor", "tree", "gearbox")) and value < 7:
            self.add("gears", value, (n.first, n.end + 3), "number-on-the-column")
        elif after[:3] == ["and", "a", "reverse"] or after[:2] == ["and", "reverse"]:
            self.add("gears", value, (n.first, n.end + 2), "number-and-reverse")
        elif before[:1] in (["gears"], ["speeds"]) and self.ends(n.end) and value < 8:
            self.add("gears", value, (n.first - 1, n.end), "gears-number")
        elif before[:1] == ["gearbox"] and n.manner == "cardinal" and value < 8:
            self.add("gears", value, (n.first, n.end), "gearbox-number")
        elif before[:2] in (["all", "through"], ["the", "through"]) and value < 7:
            self.add("gears", value, (n.first, n.end), "through-all")

    def _keys(self, n: Number, after: list[str], before: list[str]) -> None:
        value = int(n.value)
        if not 0 < value < 10:
            return
        near = self._past(after, "key_kinds")
        if near[:1] == ["key"]:
            if near[1:2] == ["worth"]:
                return
            led = set(before[:1]) & {"the", "that"} and not set(before[1:2]) & {"only", "just"}
            rule = "keys-in-all" if before[:1] == ["so"] else "the-key" if led else "number-keys"
            self.add("keys", value, (n.first, n.end + 1), rule)
        elif after[:2] in (["set", "of"], ["pair", "of"]) and "key" in after:
            self.add("keys", value, (n.first, n.end + 1), "number-keys")
        elif after[:2] in (["of", "them"], ["of", "'em"], ["of", "em"], ["of", "those"]) and self._keys_near(n.first):
            self.add("keys", value, (n.first, n.end + 2), "keys-of-them")
        elif before[:1] in (["keys"], ["key"]) and after[:1] not in (["of"], ["owner"], ["keeper"]):
            self.add("keys", value, (n.first - 1, n.end), "keys-number")
        elif ("keys" in before[1:3] and self.ends(n.end) and self.ends(n.first)) or (
            before[:2] == ["'s", "there"] and {"keys", "key"} & set(before[2:4]) and self.ends(n.end)
        ):
            self.add("keys", value, (n.first, n.end), "keys-then-number")
        elif before[:2] == ["the", "just"] and value == 1 and self._keys_near(n.first):
            self.add("keys", value, (n.first, n.end), "keys-of-them")

    def _keys_near(self, at: int) -> bool:
        return bool({"key", "keys"} & set(self.before(at, 12)))

    def _keepers(self, n: Number, after: list[str], before: list[str]) -> None:
        value, span = int(n.value), (n.first, n.end + 1)
        if not 0 < value < 30:
            return
        near = self._past(after, "keeper_kinds")
        head = set(near[:1])
        if head & {"owner", "keeper", "custodian"}:
            more = bool(set(near[1:3]) & {"before", "afore"} or set(after[:1]) & {"previous", "former"})
            self.add("keepers", value, span, "number-keepers-before" if more else "number-keepers")
        elif head == {"name"} and self.cues["keeper_paper"] & {*self.before(n.first, 12, cross=NO_END), *near}:
            self.add("keepers", value, span, "number-names")
        elif after[:1] == ["family"] and value < 4:
            self.add("keepers", value, span, "number-families")
        elif before[:1] == ["number"] and self.cues["keeper_now"] & set(before[1:4]) and self._keeping(n.first):
            self.add("keepers", value, (n.first - 1, n.end), "keeper-number")
        elif after[:2] == ["of", "us"] and self._keeping(n.first):
            led = set(before[:1]) & {"so", "'s", "been", "makes", "were", "with", "that"}
            self.add("keepers", value, (n.first, n.end + 2), "of-us-in-all" if led else "number-of-us")
        elif {"keepers", "owners"} & set(before[1:8]) and self.stand(n.first, n.end) == "listed":
            self.add("keepers", value, (n.first, n.end), "keepers-then-number")
        elif head & {"folk", "people"} and {"had", "owned"} & set(after[1:4]):
            self.add("keepers", value, span, "number-keepers")
        elif (
            after[:1] in (["on"], ["in"]) and after[1:2] == ["the"] and set(after[2:4]) & {"logbook", "log", "document"}
        ):
            self.add("keepers", value, (n.first, n.end), "number-on-paper")
        elif before[:1] in (["keepers"], ["owners"]) and (self.ends(n.end) or self.mark[n.first]):
            self.add("keepers", value, (n.first - 1, n.end), "keepers-number")
        elif self._totals(before, after) and self._sum_ends(n.end) and self._keeping(n.first):
            self.add("keepers", value, (n.first, n.end), "keepers-in-all")

    def _totals(self, before: list[str], after: list[str]) -> bool:
        """Tell whether a number is a sum: 'so that's three', 'call it four', 'I make that five'."""
        led = set(before[:1])
        return (
            bool(led & {"so", "makes"})
            or before[:2] in (["'s", "that"], ["it", "call"], ["that", "make"], ["that", "makes"], ["your", "'s"])
            or before[:2] in (["be", "'d"], ["is", "that"], ["them", "call"])
            or after[:2] in (["with", "me"], ["counting", "me"], ["including", "me"], ["with", "us"])
        )

    def _sum_ends(self, at: int) -> bool:
        if self.bare:
            return at >= self.size or not {self.stem[at]} & (
                self.cues["units"] | {"key", "of", "door", "stamp", "seat"}
            )
        return self.ends(at) or self.stem[at] in self.cues["after_sum"]

    def _keeping(self, at: int) -> bool:
        return bool(self.cues["keeping"] & set(self.before(at, 26, cross=NO_END)))

    def _nth_keeper(self, n: Number, after: list[str], before: list[str]) -> None:
        value, near = int(n.value), self._past(after, "keeper_kinds")
        said_of = bool(set(before[:3]) & self.cues["keeper_now"])
        named = bool(set(near[:1]) & {"owner", "keeper", "custodian", "name", "lot"}) or (
            near[:1]
            and near[0] in ("man", "woman", "one", "person")
            and self._keeping(n.first)
            and (said_of or near[0] != "one")
        )
        if value == 1 and not said_of:
            return
        if named or near[:2] in (["to", "own"], ["to", "have"]):
            self.add("keepers", value, (n.first, n.end + 1), "nth-keeper-now" if said_of else "nth-keeper")
        elif (
            said_of and value > 1 and (self._sum_ends(n.end) or near[:1] in (["on"], ["in"])) and self._keeping(n.first)
        ):
            self.add("keepers", value, (n.first, n.end), "i-am-the-nth")

    def both_keys(self, at: int) -> None:
        """Note 'both keys', 'a pair of keys', 'keys, a pair'."""
        word, after = self.norm[at], self.after(at + 1, 3)
        if word == "both" and (after[:1] == ["key"] or after == ["set", "of", "key"] or after[1:2] == ["key"]):
            self.add("keys", 2, (at, at + 2), "both-keys")
        elif word == "both" and self.leads(at) == "keys":
            self.add("keys", 2, (at - 1, at + 1), "both-keys")
        elif word in ("couple", "single"):
            if after[:2] == ["of", "key"] or (word == "single" and after[:1] == ["key"]):
                self.add("keys", 2 if word == "couple" else 1, (at, at + 2), "couple-of-keys")
        elif word == "spare":
            self._spare_key(at)
        elif word == "pair" and (after[:2] == ["of", "key"] or "keys" in self.before(at, 2)):
            self.add("keys", 2, (at, at + 1), "both-keys")

    def _spare_key(self, at: int) -> None:
        """Note 'a key and a spare', 'spare key and main one'."""
        before = [w for w in self.before(at, 5) if w not in ("a", "the", "one", "its")]
        after = self.after(at + 1, 4)
        if before[:2] in (["and", "key"], ["plus", "key"]) or (
            after[:2] == ["key", "and"] and {"main", "one"} & set(after)
        ):
            self.add("keys", 2, (at, at + 1), "key-and-spare")

    def from_new(self, at: int) -> None:
        """Note a sole keeper: 'I've had it from new', 'the same owner since new'."""
        before = self.before(at, 6)
        if before[:1] not in (["from"], ["since"]):
            return
        had = before[1:2] and before[1] in ("it", "her", "him", "she") and before[2:3] in (["had"], ["owned"])
        if had or before[1:3] in (["owner", "same"], ["family", "same"], ["keeper", "same"]):
            self.add("keepers", 1, (at - 1, at + 1), "had-from-new")

    def _past(self, after: list[str], kind: str) -> list[str]:
        """Give the stems after words of a kind: 'previous lady' before 'owner'."""
        kinds = self.cues[kind]
        at = 0
        while at < 2 and at < len(after) and after[at] in kinds:
            at += 1
        return after[at:]
