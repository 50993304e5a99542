"""Read one written sentence: what it states of which part, with no walk to go by.

The phrases, the cues and their reach, and the network are those of the reader of remarks. What differs is how a
statement finds its part: in writing it stands in the same clause, or the sentence goes on about what was spoken of
last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from shutline.car.findings import Drive, Found, Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.claims.clauses import Clause, Cutter
from shutline.claims.gathered import WHOLE, Gathered, Told, analysed
from shutline.claims.lines import Sentence
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying, Spot
from shutline.claims.written_data import OWN, WrittenWords, shipped_words, small_words
from shutline.remarks.analysis import OPPOSITES, Analysis
from shutline.remarks.candidates import Candidate
from shutline.remarks.context import FOUND, Context, shipped_network, understand
from shutline.remarks.grammar import grammar
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions
from shutline.remarks.scope import Standing

_WITH_IT = frozenset({"handbook", "service_history", "registration_document", "tool_kit", "spare_wheel", "wheel_trim"})
"""What is only named because it goes with the car: 'the tools in their tray'."""
_SURE = 0.8
"""The chance from which a part that no word names is taken from the network."""
_MANY = 6
"""The most words of a line that only names a thing: 'its spare wheel and jack'."""


@dataclass(frozen=True, slots=True)
class Topic:
    """What was spoken of last, for 'it' and for what names nothing; the parts of one list together."""

    spots: tuple[Spot, ...] = ()


@dataclass(frozen=True, slots=True)
class SentenceRead:
    """What one sentence states, places of letters counted from its start, and what it leaves as the topic."""

    sayings: tuple[Saying, ...]
    topic: Topic


@lru_cache(maxsize=4096)
def read_sentence(
    sentence: Sentence, topic: Topic, *, drive: Drive, words: WrittenWords | None = None, asked: bool = False
) -> SentenceRead:
    """Read one sentence that stands alone or goes on about a topic.

    The sentence must begin at letter 0; the same words in another place of a text are then read once. `asked` reads a
    question: what is asked for is read as if it were stated, and a part that is named with nothing said of it is asked
    after as such.
    """
    return _SentenceReader(sentence, topic, drive, words or shipped_words(), asked=asked).run()


class _SentenceReader:
    def __init__(self, sentence: Sentence, topic: Topic, drive: Drive, words: WrittenWords, *, asked: bool) -> None:
        self.sentence, self.topic, self.asked = sentence, topic, asked
        self.analysis: Analysis = analysed(sentence, drive, words)
        self.text = self.analysis.text
        self.small = small_words()
        # The network has learnt that a question states nothing, so it says little of what is asked.
        self.least = self.small.least_asked if asked else self.small.least
        context = understand(self.analysis, shipped_network())
        self.context: Context | None = context
        self.out: list[Saying] = []
        self.out_of: list[int] = []

    def run(self) -> SentenceRead:
        """Read clause by clause."""
        if self.context is None:
            return SentenceRead((), self.topic)
        gathered = Gathered(self.analysis, self.context, asked=self.asked)
        told = gathered.told_here()
        self.said = [one.candidate for one in told]
        parts = gathered.parts_named(told)
        self.same_again = [c.first for c in self.analysis.found if c.kind == "same"]
        self.parts = parts
        cutter = Cutter(self.text, parts, [one.candidate for one in told], same_again=self.same_again)
        topic = self.topic
        self.subject = Topic()
        for clause in cutter.clauses():
            topic = self._clause(clause, cutter, told, topic)
            self.subject = self.subject if self.subject.spots else topic
        return SentenceRead(tuple(self._without_doubles()), topic)

    # -- a clause -----------------------------------------------------------------------------------------------

    def _clause(self, clause: Clause, cutter: Cutter, told: Sequence[Told], topic: Topic) -> Topic:
        spots = {n: self._spot(cutter.parts[n], topic) for n in clause.parts}
        taken: set[int] = set()
        for number in clause.conditions:
            one = told[number]
            numbers, before = cutter.said_of(clause, one.candidate)
            if numbers:
                least = self.least["premodifier" if before else "beside"]
                if one.odds < least or self._elsewhere(one) or self._wished(one, clause):
                    continue
                taken.update(numbers)
                meant = [self._as_implied(one, spots[n]) for n in numbers]
                self._say(one, meant, clause, [cutter.parts[n] for n in numbers])
            else:
                self._unnamed(one, clause, topic)
        for number in clause.parts:
            if number not in taken and not any(spots[number].part == spots[n].part for n in taken):
                self._silent(clause, cutter.parts[number], spots[number])
        if clause.parts:
            return Topic(tuple(spots[n] for n in clause.parts))
        return topic

    @staticmethod
    def _as_implied(one: Told, spot: Spot) -> Spot:
        """Give the part meant where the engine or the whole is named: 'the engine starts first time'."""
        implied = one.candidate.implied
        own = one.candidate.rows[0].startswith(OWN)
        if (
            implied
            and (own or spot.part in ("engine", "starting", "idle") or spot.part in relations().whole)
            and implied[0] != spot.part
        ):
            return Spot(implied[0])
        return spot

    def _wished(self, one: Told, clause: Clause) -> bool:
        """Tell whether something good is only wished for: 'it could do with a new exhaust'."""
        if vocabulary().is_defect(one.sense):
            return False
        return any(word in self.small.wishes for word in self.text.norm[clause.first : one.candidate.first])

    def _elsewhere(self, one: Told) -> bool:
        """Tell whether it is said of such cars, of wishes or of somebody's word, not of this car."""
        if self.asked:
            return False
        standing = self.analysis.cues.reach.over(one.candidate.first, one.candidate.end)
        return bool(standing.kinds & self.small.elsewhere_kinds)

    def _unnamed(self, one: Told, clause: Clause, topic: Topic) -> None:
        """Settle a condition in a clause that names no part: what it implies, the topic, or the whole car."""
        if self._elsewhere(one):
            return
        norm = self.text.norm[clause.first : clause.end]
        least = self.least
        if one.candidate.implied:
            if one.odds >= least["beside"]:
                self._say(one, [Spot(one.candidate.implied[0])], clause, [])
            return
        inner = self._named_inside(one.candidate)
        if inner:
            if one.odds >= least["beside"]:
                self._say(one, [Spot(inner)], clause, [])
            return
        wide = any(word in self.small.everywhere for word in norm)
        opening = next((word for word in norm if word not in self.small.joins | self.small.breaks), "")
        if opening in grammar().auxiliaries and self.subject.spots and clause.first > 0:
            topic = self.subject
        points_back = opening in self.small.pronouns
        goes_on = clause.first > 0 and opening not in self.small.openers
        if wide and not (points_back and topic.spots):
            if one.odds >= least["whole"]:
                self._say(one, [Spot(WHOLE)], clause, [])
            return
        if topic.spots and (points_back or goes_on):
            if one.odds >= least["carried"]:
                self._say(one, list(topic.spots), clause, [])
            return
        if one.odds >= least["carried"]:
            part = WHOLE if self.asked else self._likeliest_part(one)
            if part:
                self._say(one, [Spot(part)], clause, [])

    def _named_inside(self, candidate: Candidate) -> str:
        """Give a part that is named in the phrase itself: 'jumps out of gear'."""
        for mention in self.analysis.named:
            if mention.kind == "noun" and candidate.first <= mention.first and mention.end <= candidate.end:
                return mention.parts[0]
        return ""

    def _likeliest_part(self, one: Told) -> str:
        """Give the part that the network finds meant, or nothing where it is not sure."""
        assert self.context is not None  # noqa: S101 - `run` has looked
        network = self.context.network
        chances = self.context.part_chances(np.array([one.at]), np.array([network.conditions[one.sense]]))[0]
        best = int(chances.argmax())
        return network.part_names[best] if float(chances[best]) >= _SURE else ""

    def _silent(self, clause: Clause, mention: Mention, spot: Spot) -> None:
        """Settle a part of which no phrase says anything: as before, by the network, or as named in a list."""
        if self.out and any(clause.first <= at < clause.end for at in self.same_again):
            last = self.out[-1]
            self._add(spot, last.condition, last.found, clause, [mention], first=mention.first, end=mention.end)
            return
        condition, at, odds = self._told_by_all(clause, spot.part)
        if condition and odds >= self.least["alone"]:
            found = self._found_by_network(at, condition)
            if not vocabulary().is_defect(condition):
                found = Found.YES
            self._add(spot, condition, found, clause, [mention], first=at, end=at + 1)
            return
        lonely = not clause.conditions and self._only_names(clause)
        wanted = self.asked and any(word in self.small.having for word in self.text.norm[: mention.first])
        named = not self.asked and spot.part in _WITH_IT
        if (self.sentence.item and lonely) or wanted or named:
            denied = self.analysis.cues.reach.over(mention.first, mention.end).denied
            self._add(
                spot,
                "missing" if denied else "present",
                Found.YES,
                clause,
                [mention],
                first=mention.first,
                end=mention.end,
            )

    def _only_names(self, clause: Clause) -> bool:
        norm = self.text.norm[clause.first : clause.end]
        return len(norm) <= _MANY and not any(word in self.small.function for word in norm)

    def _told_by_all(self, clause: Clause, part: str) -> tuple[str, int, float]:
        """Give the condition that the network finds told of a part in a clause, its token and log-odds."""
        context = self.context
        assert context is not None  # noqa: S101 - `run` has looked
        told = context.told[clause.first : clause.end]
        row, column = np.unravel_index(int(told.argmax()), told.shape)
        at = clause.first + int(row)
        network = context.network
        chances = context.part_chances(np.array([at]), np.array([int(column)]))[0]
        meant = float(chances[network.parts[part]]) >= 0.3
        return (network.condition_names[int(column)] if meant else "", at, float(told[row, column]))

    def _found_by_network(self, at: int, condition: str) -> Found:
        context = self.context
        assert context is not None  # noqa: S101 - `run` has looked
        chances = context.found_chances(np.array([at]), np.array([context.network.conditions[condition]]))[0]
        return Found(FOUND[int(chances.argmax())])

    # -- putting it down ----------------------------------------------------------------------------------------

    def _spot(self, mention: Mention, topic: Topic) -> Spot:
        where = regions()
        parts = mention.parts
        if mention.kind == "back" and parts == (WHOLE,) and topic.spots:
            parts = (topic.spots[-1].part,)
        part, *others = self._likeliest_first(mention, parts)
        small = self.small
        norm = self.text.norm
        near = {mention.lead, *norm[max(0, mention.first - 3) : mention.first], *norm[mention.end : mention.end + 4]}
        each = part in where.sided and (
            mention.side == "both"
            or (mention.plural and mention.side not in ("near", "off"))
            or bool(near & {"either"})
        )
        each = (
            each or (part in where.ended and mention.position == "both") or (mention.plural and bool(near & small.each))
        )
        side = Side(mention.side) if mention.side in ("near", "off", "both") else None
        if side is None and each and part in where.sided:
            side = Side.BOTH
        position = None
        if mention.position in ("front", "rear", "both") and part not in where.end:
            position = Position(mention.position)
        return Spot(part, side, position, each, tuple(others))

    def _denied_at_once(self, standing: Standing, candidate: Candidate) -> bool:
        """Tell whether a good condition itself is denied, and not a list before it: 'no leaks, good pressure'."""
        norm, mark = self.text.norm, self.text.mark
        return any(
            scope.kind == "deny"
            and (
                scope.first >= candidate.first
                or not any(mark[at] or norm[at] in self.small.joins for at in range(scope.end, candidate.first + 1))
            )
            for scope in standing.by
        )

    def _likeliest_first(self, mention: Mention, parts: tuple[str, ...]) -> list[str]:
        """Order the parts that a word may stand for by what the network takes it to name."""
        context = self.context
        if len(parts) < 2 or context is None:
            return list(parts)
        numbers = context.network.parts
        chances = context.named[mention.first : mention.end].max(axis=0)
        plain = float(chances[numbers[parts[0]]])
        best = max(parts, key=lambda part: float(chances[numbers[part]]))
        if float(chances[numbers[best]]) > 0.8 and plain < 0.1:
            return [best, *(part for part in parts if part != best)]
        return list(parts)

    def _say(self, one: Told, spots: Sequence[Spot], clause: Clause, mentions: Sequence[Mention]) -> None:
        candidate, sense = one.candidate, one.sense
        standing = self.analysis.cues.reach.over(candidate.first, candidate.end)
        defect = vocabulary().is_defect(sense)
        denied = standing.denied if defect else self._denied_at_once(standing, candidate)
        rules_out = sense in candidate.no
        if defect:
            condition, found = sense, Found.NO if denied != rules_out else Found.YES
        else:
            condition, found = (OPPOSITES[sense] if denied else sense), Found.YES
        if "doubt" in standing.kinds and not self.asked:
            found = Found.UNSURE
        for spot in spots:
            self._add(spot, condition, found, clause, mentions, first=candidate.first, end=candidate.end)

    def _add(
        self,
        spot: Spot,
        condition: str,
        found: Found,
        clause: Clause,
        mentions: Sequence[Mention],
        *,
        first: int,
        end: int,
    ) -> None:
        where = regions()
        if condition == "original" and where.group.get(spot.part) == "papers":
            condition = "present"
        if (spot.part, condition) == (WHOLE, "sound") and not self.asked:
            # 'A lovely car' praises, and states nothing that could be looked at.
            return
        if condition == "leak" and spot.part in relations().water_gets_in:
            condition = "damp"
        begin, finish = self._span(clause, mentions, first, end)
        text = self.text
        start = int(text.starts[text.word[begin]])
        stop = int(text.ends[text.word[finish - 1]])
        quote = self.sentence.text[start:stop].rstrip(" .,;:!?")
        self.out_of.append(mentions[0].first if mentions else -1)
        self.out.append(
            Saying(
                start,
                start + len(quote),
                quote,
                spot,
                condition,
                found,
                words=frozenset(text.stem[begin:finish]),
            )
        )

    def _span(self, clause: Clause, mentions: Sequence[Mention], first: int, end: int) -> tuple[int, int]:
        """Give the tokens to quote: the clause, or what is said of one part where it says more than one thing."""
        begin = min([clause.first, *(m.first for m in mentions)])
        finish = max([clause.end, *(m.end for m in mentions)])
        if len(clause.parts) + len(clause.conditions) > 2 and len(mentions) == 1:
            begin, finish = self._own_words(clause, mentions[0], first, end)
        while begin < first and self.text.norm[begin] in self.small.joins | self.small.breaks:
            begin += 1
        return begin, finish

    def _own_words(self, clause: Clause, mention: Mention, first: int, end: int) -> tuple[int, int]:
        """Give the tokens from a part to what is said of it; without the part where another statement lies between."""
        norm, mark = self.text.norm, self.text.mark
        lead = grammar().determiners | self.small.each | {"no", "not", "without"}
        stops = self.small.joins | self.small.breaks
        others = [c for c in self.said if clause.first <= c.first < clause.end and c.first != first]
        if any(mention.end <= c.first < first for c in others):
            begin = max([c.end for c in others if c.end <= first], default=first)
            finish = end
        elif any(end <= m.first < mention.first for m in self.parts):
            begin, finish = mention.first, mention.end
            while begin > clause.first and not mark[begin] and norm[begin - 1] in lead:
                begin -= 1
        else:
            begin, finish = min(first, mention.first), max(end, mention.end)
            while begin > clause.first and not mark[begin] and norm[begin - 1] in lead:
                begin -= 1
            denying = [s.first for s in self.analysis.cues.reach.over(first, end).by if s.kind == "deny"]
            begin = min([begin, *(at for at in denying if clause.first <= at < begin)])
        while finish < clause.end and not mark[finish] and norm[finish] not in stops:
            finish += 1
        return begin, finish

    def _without_doubles(self) -> list[Saying]:
        """Keep one saying of a kind; that a thing is there goes without saying where its state is told."""
        kept: list[tuple[Saying, int]] = []
        for saying, mention in zip(self.out, self.out_of, strict=True):
            if any(saying.same_claim(other) and (of == mention or saying.first < other.end) for other, of in kept):
                continue
            others = [o for o in self.out if o.spot == saying.spot and o is not saying]
            if saying.condition == "present" and any(o.condition != "present" for o in others):
                continue
            kept.append((saying, mention))
        return [saying for saying, _ in kept]
