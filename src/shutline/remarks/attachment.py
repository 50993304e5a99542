"""Which part a candidate is about, and in which sense: the options, each with named features."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.ground import Ground, shape
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions
from shutline.remarks.weights import Chooser, score

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


class _Lister:
    """Gathers the options of one candidate."""

    def __init__(self, candidate: Candidate, at: Ground, weights: Chooser | None) -> None:
        self.weights = weights
        self.candidate = candidate
        self.at = at
        self.table = regions()
        self.leads = grammar().leads
        self.position = bisect_left(at.firsts, candidate.first)
        self.row = candidate.rows[0]
        self.phrase = " ".join(at.text.stem[candidate.first : candidate.end])
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
            lead = mention.lead if mention.lead in self.leads else ""
            base = [
                f"k{min(rank, 4)}",
                f"k{min(rank, 4)}s{min(stops, 2)}",
                "d" + _bucket(gap),
                f"x{min(stops, 3)}{min(commas, 2)}",
                "lead" + lead,
                f"lead{lead}k{min(rank, 2)}",
                f"h{mention.head:d}l{mention.label:d}{mention.kind}",
                f"h{mention.head:d}s{min(stops, 2)}k{min(rank, 2)}",
                f"w:{mention.name}:k{min(rank, 2)}",
            ]
            if gap <= _SHAPED:
                base.append("b:" + shape(norm, marks, mention.end, first))
            elif not stops:
                base.append("bf:" + norm[mention.end])
            if rank == 0:
                nearest = mention.name
            else:
                base += [f"over:{nearest}", f"over:{nearest}:{lead}", f"over:{nearest}:s{min(stops, 1)}"]
            if mention.head and not topic:
                topic = True
                base += [f"topic{min(rank, 3)}", f"topic{min(rank, 3)}s{min(stops, 2)}"]
            self._add(index, mention, base, rank)

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
            commas = min(at.commas[until] - at.commas[min(end, until)], 2)
            gap = max(0, mention.first - end)
            lead = mention.lead if mention.lead in self.leads else ("-" if gap == 0 else "?")
            head = "" if end >= len(norm) else norm[end]
            base = [
                f"a{index - self.position}",
                "ad" + _bucket(gap),
                f"ax{commas}",
                "alead" + lead,
                f"alead{lead}{min(commas, 1)}",
                "ah" + head if head in self.leads else "ah?",
                f"arow{self.row}{min(commas, 1)}",
            ]
            if 0 < gap <= _SHAPED:
                base.append("ab:" + shape(norm, at.text.mark, end, mention.first))
            self._add(index, mention, base, 9)

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
        if self.weights is None:
            self.out.append(Option(-1, part, sense, features))
        else:
            self.out.append(Option(-1, part, sense, [], score(self.weights, features)))

    def _add(self, index: int, mention: Mention, base: list[str], rank: int) -> None:
        weights = self.weights
        senses = self.candidate.senses
        so_far = 0.0 if weights is None else score(weights, base)
        for which, part in enumerate(mention.parts):
            here = self._placed(index, mention, part, which, rank)
            by_part = (
                0.0 if weights is None else so_far + score(weights, here) + score(weights, self._part_features(part))
            )
            for number, sense in enumerate(senses):
                if (part, sense) in self.seen:
                    continue
                self.seen.add((part, sense))
                if weights is None:
                    features = [*base, *here, *self._part_features(part), *self._sense_features(part, sense, number)]
                    self.out.append(Option(index, part, sense, features))
                else:
                    total = by_part + score(weights, self._sense_features(part, sense, number))
                    self.out.append(Option(index, part, sense, [], total))

    def _placed(self, index: int, mention: Mention, part: str, which: int, rank: int) -> list[str]:
        """Features of a part at a mention that hang on where it was said."""
        at = self.at
        region = self.table.region.get(part, "")
        out = [f"ag:{self.around}:{region}", f"ag{self.around == region:d}k{min(rank, 3)}"]
        if len(mention.parts) > 1:
            out += [
                f"m:{mention.name}:{part}",
                f"me:{part}:{at.end_at[index]}",
                f"mr:{part}:{at.region_at[index]}",
                f"mp:{part}:{mention.position}",
                f"m{which}",
            ]
        return out

    def _part_features(self, part: str) -> list[str]:
        """Features of a part and the words, wherever it was said."""
        row = self.row
        return [
            f"p:{part}",
            f"pr:{part}:{row}",
            f"gr:{self.table.region.get(part, '')}:{row}",
            f"pp:{part}:{self.phrase}",
        ]

    def _sense_features(self, part: str, sense: str, number: int) -> list[str]:
        """Features of a part, a sense and the words."""
        group, region = self.table.group[part], self.table.region.get(part, "")
        out = [f"pc:{part}:{sense}", f"gc:{group}:{sense}", f"rc:{region}:{sense}"]
        if len(self.candidate.senses) > 1:
            out += [
                f"s{number}:{self.candidate.kind}",
                f"rs:{self.phrase}:{sense}",
                f"rws:{self.row}:{sense}",
                f"sg:{self.phrase}:{sense}:{group}",
            ]
        return out


def options(candidate: Candidate, at: Ground, *, weights: Chooser | None = None) -> list[Option]:
    """List the parts and senses a candidate may be about.

    They carry features to learn from, or scores when `weights` are given.
    """
    lister = _Lister(candidate, at, weights)
    if candidate.kind == "bare":
        return [Option(lister.position, candidate.implied[0], "present", ["bare"])]
    lister.behind()
    lister.ahead()
    lister.unnamed()
    return lister.out
