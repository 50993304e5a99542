"""Which part a candidate is about, and in which sense: the options, each with named features."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.ground import Ground, shape
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions

_BACK = 9
_BACK_TOKENS, _BACK_STOPS = 110, 6
_AHEAD_TOKENS = 12
_SHAPED = 5
"""How far back and ahead a part may stand: mentions, tokens, full stops; and up to where the words between count."""


@dataclass(slots=True)
class Option:
    """A part and a sense that a candidate may be about; `mention` is -1 where no part word stands for it."""

    mention: int
    part: str
    sense: str
    features: list[str]


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

    def __init__(self, candidate: Candidate, at: Ground) -> None:
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
                f"w:{mention.row}:k{min(rank, 2)}",
            ]
            if gap <= _SHAPED:
                base.append("b:" + shape(norm, marks, mention.end, first))
            elif not stops:
                base.append("bf:" + norm[mention.end])
            if rank == 0:
                nearest = mention.row if mention.kind == "noun" else "back"
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
        senses = self.candidate.senses
        offered = {option.part for option in self.out}
        for part in self.candidate.implied:
            if part not in offered:
                self.out += [
                    Option(-1, part, sense, ["implied", "imp:" + self.row, *self._sensed(part, sense)])
                    for sense in senses
                ]
        offered = {option.part for option in self.out}
        for part in self.table.unnamed_region.get(self.around, ()):
            if part not in offered:
                offered.add(part)
                self.out += [
                    Option(
                        -1,
                        part,
                        sense,
                        ["ur", f"ur:{part}", f"ur:{part}:{self.row}", *self._sensed(part, sense), f"s{i}"],
                    )
                    for i, sense in enumerate(senses)
                ]
        for i, sense in enumerate(senses):
            for part in self.table.unnamed_condition.get(sense, ()):
                if part not in offered:
                    offered.add(part)
                    features = ["uc", f"uc:{part}", f"uc:{part}:{self.row}", f"uc:{part}:{self.around}", f"s{i}"]
                    self.out.append(Option(-1, part, sense, [*features, *self._sensed(part, sense)]))

    def _sensed(self, part: str, sense: str) -> tuple[str, str]:
        return f"pc:{part}:{sense}", f"rs:{self.phrase}:{sense}"

    def _add(self, index: int, mention: Mention, base: list[str], rank: int) -> None:
        at, row, phrase = self.at, self.row, self.phrase
        senses = self.candidate.senses
        for which, part in enumerate(mention.parts):
            group = self.table.group[part]
            region = self.table.region.get(part, "")
            shared = [
                *base,
                f"p:{part}",
                f"pr:{part}:{row}",
                f"gr:{region}:{row}",
                f"pp:{part}:{phrase}",
                f"ag:{self.around}:{region}",
                f"ag{self.around == region:d}k{min(rank, 3)}",
            ]
            if len(mention.parts) > 1:
                shared += [
                    f"m:{mention.row}:{part}",
                    f"me:{part}:{at.end_at[index]}",
                    f"mr:{part}:{at.region_at[index]}",
                    f"mp:{part}:{mention.position}",
                    f"m{which}",
                ]
            for number, sense in enumerate(senses):
                if (part, sense) in self.seen:
                    continue
                self.seen.add((part, sense))
                features = [*shared, f"pc:{part}:{sense}", f"gc:{group}:{sense}", f"rc:{region}:{sense}"]
                if len(senses) > 1:
                    features += [
                        f"s{number}:{self.candidate.kind}",
                        f"rs:{phrase}:{sense}",
                        f"rws:{row}:{sense}",
                        f"sg:{phrase}:{sense}:{group}",
                    ]
                self.out.append(Option(index, part, sense, features))


def options(candidate: Candidate, at: Ground) -> list[Option]:
    """List the parts and senses a candidate may be about, each with its features."""
    lister = _Lister(candidate, at)
    if candidate.kind == "bare":
        return [Option(lister.position, candidate.implied[0], "present", ["bare"])]
    lister.behind()
    lister.ahead()
    lister.unnamed()
    return lister.out
