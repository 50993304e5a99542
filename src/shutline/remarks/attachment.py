"""Which part a candidate is about, and in which sense: the options, each with named features."""

# The tuple that names a circumstance is what a function of features is called with.
# ruff: noqa: FBT001, PLR0917

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import Any

from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.ground import Ground, shape
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions
from shutline.remarks.weights import Features, Sums, score

_BACK = 7
_BACK_TOKENS, _BACK_STOPS = 110, 6
_AHEAD_TOKENS = 12
_SHAPED = 5
"""How far back and ahead a part may stand: mentions, tokens, full stops; and up to where the words between count."""


@dataclass(slots=True)
class Option:
    """A part and a sense that a candidate may be about; `mention` is -1 where no part word stands for it.

    Either `features` are listed, to learn from, or their weights are added up in `score`, to choose by.
    """

    mention: int
    part: str
    sense: str
    features: list[str]
    score: float = 0.0


def _bucket(distance: int) -> str:
    if distance <= 3:
        return str(distance)
    if distance <= 5:
        return "5"
    if distance <= 8:
        return "8"
    if distance <= 14:
        return "14"
    return "25" if distance <= 25 else "99"


def behind_features(
    rank: int,
    stops: int,
    commas: int,
    distance: str,
    lead: str,
    head: bool,
    label: bool,
    kind: str,
    name: str,
    between: str,
    nearest: str,
    topic: bool,
) -> list[str]:
    """Features of a part named before: how far back, over what, and how it was named."""
    near, few = min(rank, 2), min(stops, 2)
    out = [
        f"k{rank}",
        f"k{rank}s{few}",
        "d" + distance,
        f"x{stops}{commas}",
        "lead" + lead,
        f"lead{lead}k{near}",
        f"h{head:d}l{label:d}{kind}",
        f"h{head:d}s{few}k{near}",
        f"w:{name}:k{near}",
    ]
    if between:
        out.append(between)
    if rank:
        out += [f"over:{nearest}", f"over:{nearest}:{lead}", f"over:{nearest}:s{min(stops, 1)}"]
    if topic:
        back = min(rank, 3)
        out += [f"topic{back}", f"topic{back}s{few}"]
    return out


def ahead_features(rank: int, commas: int, distance: str, lead: str, word: str, row: str, between: str) -> list[str]:
    """Features of a part named after, in the same sentence."""
    out = [
        f"a{rank}",
        "ad" + distance,
        f"ax{commas}",
        "alead" + lead,
        f"alead{lead}{min(commas, 1)}",
        "ah" + word,
        f"arow{row}{min(commas, 1)}",
    ]
    if between:
        out.append(between)
    return out


def placed_features(
    around: str, rank: int, part: str, mention: tuple[str, str, int] | None, end: str, said: str
) -> list[str]:
    """Features of a part that hang on where it was said; `mention` is its name, end and place among several parts."""
    region = regions().region.get(part, "")
    out = [f"ag:{around}:{region}", f"ag{around == region:d}k{rank}"]
    if mention is not None:
        name, position, which = mention
        out += [f"m:{name}:{part}", f"me:{part}:{end}", f"mr:{part}:{said}", f"mp:{part}:{position}", f"m{which}"]
    return out


def part_features(part: str, row: str, phrase: str) -> list[str]:
    """Features of a part and the words, wherever it was said."""
    region = regions().region.get(part, "")
    return [f"p:{part}", f"pr:{part}:{row}", f"gr:{region}:{row}", f"pp:{part}:{phrase}"]


def sense_features(part: str, sense: str, number: int, several: str, row: str, phrase: str) -> list[str]:
    """Features of a part, a sense and the words; `several` is the kind of words that have more than one sense."""
    table = regions()
    group, region = table.group[part], table.region.get(part, "")
    out = [f"pc:{part}:{sense}", f"gc:{group}:{sense}", f"rc:{region}:{sense}"]
    if several:
        out += [f"s{number}:{several}", f"rs:{phrase}:{sense}", f"rws:{row}:{sense}", f"sg:{phrase}:{sense}:{group}"]
    return out


class _Lister:
    """Gathers the options of one candidate."""

    def __init__(self, candidate: Candidate, at: Ground, sums: Sums | None) -> None:
        self.sums = sums
        if sums is not None:
            self.kept = (sums.kept(placed_features), sums.kept(part_features), sums.kept(sense_features))
        self.candidate = candidate
        self.at = at
        self.table = regions()
        self.leads = grammar().leads
        self.position = bisect_left(at.firsts, candidate.first)
        self.row = candidate.rows[0]
        self.phrase = " ".join(at.text.stem[candidate.first : candidate.end])
        self.several = candidate.kind if len(candidate.senses) > 1 else ""
        self.around = at.region_at[self.position] if self.position < len(at.region_at) else at.last_region
        self.out: list[Option] = []
        self.seen: set[tuple[str, str]] = set()

    def behind(self) -> None:
        """Offer the parts named before, nearest first."""
        at, first = self.at, self.candidate.first
        norm, marks = at.text.norm, at.text.mark
        nearest, topic = "", False
        indices = range(self.position - 1, max(-1, self.position - 1 - _BACK), -1)
        for rank, index in enumerate(indices):
            mention = at.named[index]
            until = min(mention.end, first + 1)
            gap = max(0, first - mention.end)
            stops = at.stops[first + 1] - at.stops[until]
            commas = at.commas[first + 1] - at.commas[until]
            if stops > _BACK_STOPS or gap > _BACK_TOKENS:
                break
            between = ""
            if gap <= _SHAPED:
                between = "b:" + shape(norm, marks, mention.end, first)
            elif not stops:
                between = "bf:" + norm[mention.end]
            if rank == 0:
                nearest = mention.name
            first_head = mention.head and not topic
            topic = topic or mention.head
            key = (
                min(rank, 4),
                min(stops, 3),
                min(commas, 2),
                _bucket(gap),
                mention.lead if mention.lead in self.leads else "",
                mention.head,
                mention.label,
                mention.kind,
                mention.name,
                between,
                nearest if rank else "",
                first_head,
            )
            self._add(index, mention, behind_features, key, rank)

    def ahead(self) -> None:
        """Offer the next two parts of the same sentence."""
        at, end = self.at, self.candidate.end
        norm = at.text.norm
        self.seen = set()
        for index in range(self.position, min(len(at.named), self.position + 2)):
            mention = at.named[index]
            if mention.first >= end + _AHEAD_TOKENS:
                break
            until = min(max(mention.first, end) + 1, len(norm))
            if at.stops[until] - at.stops[min(end, until)]:
                break
            gap = max(0, mention.first - end)
            word = "" if end >= len(norm) else norm[end]
            key = (
                index - self.position,
                min(at.commas[until] - at.commas[min(end, until)], 2),
                _bucket(gap),
                mention.lead if mention.lead in self.leads else ("-" if gap == 0 else "?"),
                word if word in self.leads else "?",
                self.row,
                "ab:" + shape(norm, at.text.mark, end, mention.first) if 0 < gap <= _SHAPED else "",
            )
            self._add(index, mention, ahead_features, key, 9)

    def unnamed(self) -> None:
        """Offer what is meant when nothing is named: by the words themselves, by the region, by the condition."""
        senses, row = self.candidate.senses, self.row
        offered = {option.part for option in self.out}
        for part in self.candidate.implied:
            if part not in offered:
                for sense in senses:
                    self._offer(part, sense, ["implied", "imp:" + row])
        offered = {option.part for option in self.out}
        for part in self.table.unnamed_region.get(self.around, ()):
            if part not in offered:
                offered.add(part)
                for i, sense in enumerate(senses):
                    self._offer(part, sense, ["ur", f"ur:{part}", f"ur:{part}:{row}", f"s{i}"])
        for i, sense in enumerate(senses):
            for part in self.table.unnamed_condition.get(sense, ()):
                if part not in offered:
                    offered.add(part)
                    self._offer(
                        part, sense, ["uc", f"uc:{part}", f"uc:{part}:{row}", f"uc:{part}:{self.around}", f"s{i}"]
                    )

    def _offer(self, part: str, sense: str, features: list[str]) -> None:
        features += [f"pc:{part}:{sense}", f"rs:{self.phrase}:{sense}"]
        if self.sums is None:
            self.out.append(Option(-1, part, sense, features))
        else:
            self.out.append(Option(-1, part, sense, [], score(self.sums.chooser, features)))

    def _add(self, index: int, mention: Mention, base: Features, key: tuple[Any, ...], rank: int) -> None:
        if self.sums is None:
            self._list(index, mention, base(*key), rank)
        else:
            self._weigh(index, mention, base, key, rank)

    def _list(self, index: int, mention: Mention, base: list[str], rank: int) -> None:
        for part, placed in self._placed(index, mention, rank):
            for number, sense in enumerate(self.candidate.senses):
                if (part, sense) not in self.seen:
                    self.seen.add((part, sense))
                    features = [
                        *base,
                        *placed_features(*placed),
                        *part_features(part, self.row, self.phrase),
                        *sense_features(*self._sensed(part, sense, number)),
                    ]
                    self.out.append(Option(index, part, sense, features))

    def _weigh(self, index: int, mention: Mention, base: Features, key: tuple[Any, ...], rank: int) -> None:
        sums, seen, out = self.sums, self.seen, self.out
        if sums is None:
            raise TypeError("options are weighed by sums")
        so_far = sums.kept(base).get(key)
        if so_far is None:
            so_far = sums.of(base, key)
        placed_kept, part_kept, sense_kept = self.kept
        for part, placed in self._placed(index, mention, rank):
            by_place = placed_kept.get(placed)
            if by_place is None:
                by_place = sums.of(placed_features, placed)
            part_key = (part, self.row, self.phrase)
            by_part = part_kept.get(part_key)
            if by_part is None:
                by_part = sums.of(part_features, part_key)
            for number, sense in enumerate(self.candidate.senses):
                if (part, sense) in seen:
                    continue
                seen.add((part, sense))
                sense_key = self._sensed(part, sense, number)
                by_sense = sense_kept.get(sense_key)
                if by_sense is None:
                    by_sense = sums.of(sense_features, sense_key)
                out.append(Option(index, part, sense, [], so_far + by_place + by_part + by_sense))

    def _placed(self, index: int, mention: Mention, rank: int) -> list[tuple[str, tuple[Any, ...]]]:
        """Give each part of a mention with what `placed_features` is called with."""
        near = min(3, rank)
        if len(mention.parts) == 1:
            part = mention.parts[0]
            return [(part, (self.around, near, part, None, "", ""))]
        end, said = self.at.end_at[index], self.at.region_at[index]
        return [
            (part, (self.around, near, part, (mention.name, mention.position, which), end, said))
            for which, part in enumerate(mention.parts)
        ]

    def _sensed(self, part: str, sense: str, number: int) -> tuple[str, str, int, str, str, str]:
        """Give what `sense_features` is called with; words of one sense need not be told apart."""
        if self.several:
            return (part, sense, number, self.several, self.row, self.phrase)
        return (part, sense, 0, "", "", "")


def options(candidate: Candidate, at: Ground, *, sums: Sums | None = None) -> list[Option]:
    """List the parts and senses a candidate may be about.

    They carry features to learn from, or scores when `sums` are given.
    """
    lister = _Lister(candidate, at, sums)
    if candidate.kind == "bare":
        return [Option(lister.position, candidate.implied[0], "present", ["bare"])]
    lister.behind()
    lister.ahead()
    lister.unnamed()
    return lister.out
