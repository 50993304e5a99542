"""Read one written sentence: what it states of which part, with no walk to go by.

The phrases, the cues and their reach, and the network are those of the reader of remarks. What differs is how a
statement finds its part: in writing it stands in the same clause, or the sentence goes on about what was spoken of
last.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from shutline.car.findings import Drive, Found
from shutline.car.vocabulary import vocabulary
from shutline.claims.clauses import OWNED_BY, Clause, Cutter
from shutline.claims.gathered import WHOLE, Gathered, Told, analysed
from shutline.claims.lines import Sentence
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying, Spot, Topic
from shutline.claims.written_data import OWN, WrittenWords, shipped_words, small_words
from shutline.claims.written_sayings import PutDown
from shutline.claims.written_spots import Spots, elsewhere
from shutline.remarks.analysis import Analysis
from shutline.remarks.context import FOUND, Context, shipped_network, understand
from shutline.remarks.grammar import grammar
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions

_WITH_IT = frozenset({"handbook", "service_history", "registration_document", "tool_kit", "spare_wheel", "wheel_trim"})
"""What is only named because it goes with the car: 'the tools in their tray'."""
_OF_ALL = frozenset({"engine", "starting", "idle", "motor"})
"""Parts that stand for the whole car where another is implied: 'the engine starts first time'."""
_OF_PAPERS = frozenset({"present", "missing", "dirt", "stain", "tear", "fault"})
"""What may be told of papers and keys that were spoken of before."""
_SURE = 0.8
"""The chance from which a part that no word names is taken from the network."""
_YEAR = re.compile(r"(?:19|20)\d\d")
_WEARING = frozenset({"engine_bay", "underneath", "wheels"})
"""Groups of parts that are renewed as they wear."""
_TURN = 6
"""The most words that say the same of the other end or side: 'has the rear'."""
_OWNED_WITHIN = 3
"""The most words between a part and what it belongs to: 'belts for the front seats'."""
_MANY = 6
"""The most words of a line that only names a thing: 'its spare wheel and jack'."""


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

    def run(self) -> SentenceRead:
        """Read clause by clause."""
        if self.context is None:
            return SentenceRead((), self.topic)
        gathered = self.gathered = Gathered(self.analysis, self.context, asked=self.asked, heading=self.sentence.label)
        self.spots = Spots(self.analysis, self.context, WHOLE)
        told = gathered.told_here()
        parts = gathered.parts_named(told)
        self.same_again = [c.first for c in self.analysis.found if c.kind == "same"]
        self.same_again += self._again_at_end()
        self.parts = parts
        self.down = PutDown(self.sentence, self.analysis, parts, [one.candidate for one in told], asked=self.asked)
        cutter = Cutter(self.text, parts, [one.candidate for one in told], same_again=self.same_again)
        topic = self.topic
        self.subject = Topic()
        for clause in cutter.clauses():
            topic = self._clause(clause, cutter, told, topic)
            if not self.subject.spots or self._has_subject(clause):
                self.subject = topic
        over = relations().headings_of.get(" ".join(self.text.norm), "") if self.sentence.label else ""
        self._turned()
        if over:
            return SentenceRead((), Topic((Spot(over),), (frozenset(self.text.norm),), headed=True))
        listed = self._listed_under()
        if listed:
            return SentenceRead((), Topic(listed=listed))
        if self.topic.listed and not self.sentence.label:
            # The list goes on: 'Missing: the jack; one badge.'
            topic = replace(topic, listed=self.topic.listed)
        return SentenceRead(tuple(self.down.without_doubles()), topic)

    def _listed_under(self) -> str:
        """Give what a heading says of all that is listed under it: 'Missing:'."""
        if not self.sentence.label:
            return ""
        words = " ".join(self.text.norm).strip()
        return relations().headings.get(words, "")

    def _again_at_end(self) -> list[int]:
        """Give where a clause ends in 'neither' or 'too', or begins with 'as has': '…, as has the rear bumper'."""
        norm, mark = self.text.norm, [*self.text.mark, 1]
        last = [at for at in range(len(norm)) if at + 1 == len(norm) or mark[at + 1]]
        again = self.small.again
        out = [at for at in last if norm[at] in again or " ".join(norm[max(0, at - 1) : at + 1]) in again]
        turns = ("as", "so", "neither", "nor")
        verbs = grammar().auxiliaries
        self.turns = [at for at in range(1, len(norm) - 1) if norm[at] in turns and norm[at + 1] in verbs]
        return out + self.turns

    # -- a clause -----------------------------------------------------------------------------------------------

    def _clause(self, clause: Clause, cutter: Cutter, told: Sequence[Told], topic: Topic) -> Topic:
        spots = {n: self.spots.spot(cutter.parts[n], topic) for n in clause.parts}
        # 'The offside front wing wears its first paint': that of the wing.
        owners = {
            number: held
            for held, number in pairwise(clause.parts)
            if self.spots.is_of_its(cutter.parts[number], spots[held].part, clause.first)
        }
        spots |= {number: spots[held] for number, held in owners.items()}
        taken: set[int] = set()
        for number in clause.conditions:
            one = told[number]
            numbers, before = cutter.said_of(clause, one.candidate)
            numbers = tuple(dict.fromkeys(owners.get(n, n) for n in numbers))
            inner = self._owned_by(one, cutter.parts[numbers[0]]) if numbers and not before else None
            if inner is not None and one.odds >= self.least["beside"]:
                taken.update(numbers)
                self.down.say(one, [self.spots.spot(inner, topic)], clause, [inner])
            elif numbers and self._goes_past(one, cutter.parts[numbers[-1]], clause):
                self.down.say(one, [Spot(one.candidate.implied[0])], clause, [])
            elif numbers:
                least = self.least["premodifier" if before else "beside"]
                if one.odds < least or self._elsewhere(one) or self._wished(one, clause):
                    continue
                taken.update(numbers)
                meant = [self._as_implied(one, spots[n]) for n in numbers]
                self.down.say(one, meant, clause, [cutter.parts[n] for n in numbers])
            else:
                self._unnamed(one, clause, topic)
        for number in clause.parts:
            if number not in taken and not any(spots[number].part == spots[n].part for n in taken):
                self._silent(clause, cutter.parts[number], spots[number])
        if clause.parts:
            named = tuple(self.down.name(cutter.parts[n]) for n in clause.parts)
            return Topic(tuple(spots[n] for n in clause.parts), named, headed=self.sentence.label)
        return topic

    def _owned_by(self, one: Told, mention: Mention) -> Mention | None:
        """Give the part in the very words that tell of it, where the one named behind only owns it.

        So in 'new belts for the front seats', which tells nothing of the seats.
        """
        inner, end = self.gathered.named_inside(one.candidate), one.candidate.end
        if inner is None or inner.end != end or mention.first <= end or inner.parts[0] in mention.parts:
            return None
        behind = self.text.norm[end : mention.first]
        plain = behind[0] in OWNED_BY and not any(self.text.mark[end : mention.first + 1])
        if not plain or len(behind) > _OWNED_WITHIN:
            return None
        return replace(
            inner,
            end=mention.end,
            side=inner.side or mention.side,
            position=inner.position or mention.position,
            plural=inner.plural or mention.plural,
        )

    def _turned(self) -> None:
        """Say of the other end or side what was said of one: 'the front bumper has been rechromed, as has the rear'."""
        mark = [*self.text.mark, 1]
        for at in self.turns:
            end = next(stop for stop in range(at + 1, len(mark)) if mark[stop])
            before = [n for n, said in enumerate(self.down.out) if said.spot is not None and not self.parts_in(at, end)]
            words = self.text.norm[at + 1 : end]
            if not before or len(words) > _TURN:
                continue
            said = self.down.out[before[-1]]
            assert said.spot is not None  # noqa: S101 - chosen so
            spot = elsewhere(said.spot, words)
            if spot != said.spot:
                led = at - (self.text.norm[at - 1] in self.small.joins)
                first = int(self.text.starts[self.text.word[led]])
                stop = int(self.text.ends[self.text.word[end - 1]])
                quote = self.sentence.text[first:stop].rstrip(" .,;:!?")
                shorter = self.sentence.text[said.first : min(said.end, first)].rstrip(" .,;:!?")
                self.down.out[before[-1]] = replace(said, end=said.first + len(shorter), quote=shorter)
                self.down.out_of.append(-1)
                self.down.out.append(replace(said, first=first, end=first + len(quote), quote=quote, spot=spot))

    def parts_in(self, first: int, end: int) -> bool:
        """Tell whether a part is named among some tokens."""
        return any(first <= part.first < end for part in self.parts)

    def _has_subject(self, clause: Clause) -> bool:
        """Tell whether a clause begins with what it is about: 'the axle is good', and not 'settles to a good idle'."""
        if not clause.parts:
            return False
        first = self.parts[clause.parts[0]].first
        return first == clause.first or self.text.norm[first - 1] in grammar().determiners or not clause.conditions

    def _goes_past(self, one: Told, part: Mention, clause: Clause) -> bool:
        """Tell whether another predicate has begun since the part: '… shows good oil pressure and emits no smoke'."""
        implied = one.candidate.implied
        if not implied or implied[0] in part.parts or part.end > one.candidate.first or one.odds < self.least["beside"]:
            return False
        first, end = part.end, one.candidate.first
        between = any(word in ("and", "but") for word in self.text.norm[first:end]) or any(
            self.text.mark[first : end + 1]
        )
        return between and part.first > clause.first

    @staticmethod
    def _as_implied(one: Told, spot: Spot) -> Spot:
        """Give the part meant where the engine or the whole is named: 'the engine starts first time'."""
        implied = one.candidate.implied
        if implied == (WHOLE,) and spot.part in ("engine", "motor"):
            return spot
        if implied and implied[0] != spot.part and (spot.part in _OF_ALL or spot.part in relations().whole):
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
        # 'Nothing leaks' is of no engine alone.
        if one.candidate.implied and not (norm[:1] == ["nothing"] and self._is_defect(one)):
            if one.odds >= least["beside"]:
                self.down.say(one, [Spot(one.candidate.implied[0])], clause, [])
            return
        inner = self.gathered.named_inside(one.candidate)
        if inner is not None:
            if one.odds >= least["beside"]:
                self.down.say(one, [self.spots.spot(inner, topic)], clause, [inner])
            return
        everywhere = {word for word in norm if word in self.small.everywhere}
        of_all = any(row.removeprefix(OWN) in self.small.of_all for row in one.candidate.rows)
        opening = next((word for word in norm if word not in self.small.joins | self.small.breaks), "")
        topic = self._topic_of(one, clause, self._meant(clause, topic, opening), opening)
        inside = any(
            norm[at] in self.small.pronouns | {"there"} and norm[at - 1] in self.small.towards
            for at in range(1, len(norm))
        )
        points_back = opening in self.small.pronouns or inside
        goes_on = (clause.first > 0 or self.sentence.runs_on) and opening not in self.small.openers
        wide = bool(everywhere - {"free", "never"} if goes_on and topic.spots else everywhere)
        # Of what a heading named: 'Grille: nothing missing'.
        headed = topic.headed and everywhere <= self.small.of_each
        if (wide and not ((points_back or headed) and topic.spots)) or (
            of_all and not (points_back or goes_on or topic.headed)
        ):
            if one.odds >= least["whole"]:
                self.down.say(one, [Spot(WHOLE)], clause, [])
            return
        # 'The door opens as it should, but is rusted through.'
        verb = goes_on and opening in grammar().auxiliaries and bool(self.subject.spots)
        if topic.spots and (points_back or goes_on or topic.headed):
            if one.odds >= least["beside" if points_back or topic.headed or verb else "carried"]:
                self.down.say(one, list(topic.spots), clause, [], topic.named)
            return
        if one.odds >= least["carried"]:
            part = WHOLE if self.asked else self._meant_of_all(one, clause, topic)
            if part:
                self.down.say(one, [Spot(part)], clause, [])

    def _topic_of(self, one: Told, clause: Clause, topic: Topic, opening: str) -> Topic:
        """Give what a clause may go on about; none where its words can only be of the car."""
        norm = self.text.norm[clause.first : clause.end]
        if self._is_of_no_papers(one, topic):
            # 'The papers come with it. It is rust free.'
            return Topic((Spot(WHOLE),), headed=True) if opening in self.small.pronouns else Topic()
        if one.sense == "repaint" and "it" in norm and self._is_of_none_painted(topic):
            # 'The carburettor is clean. It was never repainted.'
            return Topic((Spot(WHOLE),), headed=True)
        return Topic() if self._is_of_car(norm, opening) or self._is_of_one(norm, topic) else topic

    def _is_of_one(self, norm: Sequence[str], topic: Topic) -> bool:
        """Tell whether 'it' cannot be the several that were spoken of last: 'It has no rust' behind 'Solid sills'."""
        one = "it" in norm and not self.small.of_before.intersection(norm)
        return one and bool(topic.spots) and not topic.headed and all(spot.each for spot in topic.spots)

    def _is_of_car(self, norm: Sequence[str], opening: str) -> bool:
        """Tell whether words speak of the car whatever was spoken of last: 'she is dry', 'everything on it works'."""
        if opening in self.small.of_each:
            return bool(self.small.pronouns.intersection(norm))
        behind = any(
            norm[at] in self.small.car_words and norm[at - 1] in self.small.towards for at in range(1, len(norm))
        )
        return behind or (opening in self.small.car_words and not self.small.of_before.union({"it"}).intersection(norm))

    @staticmethod
    def _is_of_no_papers(one: Told, topic: Topic) -> bool:
        """Tell whether what is told could not be told of the papers that were spoken of last."""
        papers = bool(topic.spots) and all(regions().group.get(spot.part) == "papers" for spot in topic.spots)
        return papers and one.sense not in _OF_PAPERS

    @staticmethod
    def _is_of_none_painted(topic: Topic) -> bool:
        """Tell whether what was spoken of last is nothing that is painted as a car is."""
        unpainted = relations().unpainted
        return bool(topic.spots) and all(regions().group.get(spot.part) in unpainted for spot in topic.spots)

    def _meant_of_all(self, one: Told, clause: Clause, topic: Topic) -> str:
        """Give the part of which words that name none speak: what they rule out with nothing before it, of all."""
        likeliest, whole = self._likeliest_part(one), relations().whole
        if not self._rules_out(one):
            return likeliest
        spoken_of = {spot.part for spot in topic.spots}
        bare = self.text.norm[clause.first] in self.small.denying
        wide = bare and likeliest in whole and not (spoken_of & (whole[likeliest] | {likeliest}))
        return WHOLE if wide or not likeliest else likeliest

    def _meant(self, clause: Clause, topic: Topic, opening: str) -> Topic:
        """Give what a clause without a part goes on about: the subject, the former or the latter, or the other one."""
        norm = self.text.norm[clause.first : clause.end]
        if len(topic.spots) > 1 and ("former" in norm or "latter" in norm):
            at = 0 if "former" in norm else -1
            topic = replace(topic, spots=(topic.spots[at],), named=topic.named[at:][:1])
        if opening in grammar().auxiliaries and self.subject.spots and clause.first > 0:
            topic = self.subject
        if len(topic.spots) == 1:
            topic = replace(topic, spots=(elsewhere(topic.spots[0], norm),))
        return topic

    @staticmethod
    def _is_defect(one: Told) -> bool:
        return vocabulary().is_defect(one.sense)

    def _rules_out(self, one: Told) -> bool:
        """Tell whether a defect is denied, in words that name nothing: 'No dents, no rips'."""
        if not vocabulary().is_defect(one.sense):
            return False
        standing = self.analysis.cues.reach.over(one.candidate.first, one.candidate.end)
        return standing.denied != (one.sense in one.candidate.no)

    def _likeliest_part(self, one: Told) -> str:
        """Give the part that the network finds meant, or nothing where it is not sure."""
        assert self.context is not None  # noqa: S101 - `run` has looked
        network = self.context.network
        chances = self.context.part_chances(np.array([one.at]), np.array([network.conditions[one.sense]]))[0]
        best = int(chances.argmax())
        return network.part_names[best] if float(chances[best]) >= _SURE else ""

    def _silent(self, clause: Clause, mention: Mention, spot: Spot) -> None:
        """Settle a part of which no phrase says anything: as before, by the network, or as named in a list."""
        if self.down.out and any(clause.first <= at < clause.end for at in self.same_again):
            last = self.down.out[-1]
            listed = "other" if len(clause.parts) > 1 else ""
            first, end = mention.first, mention.end
            again = last.words - last.named
            self.down.add(
                spot, last.condition, last.found, clause, [mention], first=first, end=end, listed=listed, again=again
            )
            return
        if self.sentence.label:
            return
        if self.topic.listed and not clause.conditions:
            self.down.add(
                spot,
                self.topic.listed,
                Found.YES,
                clause,
                [mention],
                first=mention.first,
                end=mention.end,
                listed="other" if len(clause.parts) > 1 else "",
            )
            return
        condition, at, odds = self._told_by_all(clause, spot.part)
        wished = any(word in self.small.wishes for word in self.text.norm[clause.first : clause.end])
        if (
            condition
            and odds >= self.least["alone"]
            and (self.asked or not wished or vocabulary().is_defect(condition))
        ):
            found = self._found_by_network(at, condition)
            if not vocabulary().is_defect(condition):
                found = Found.YES
            others = "other" if condition == "present" and len(clause.parts) > 1 else ""
            first, end = (mention.first, mention.end) if others else (at, at + 1)
            self.down.add(spot, condition, found, clause, [mention], first=first, end=end, listed=others)
            return
        if not clause.conditions and self._is_dated(spot.part, mention):
            first, end = mention.first, mention.end + 1
            self.down.add(spot, "renewed", Found.YES, clause, [mention], first=first, end=end)
            return
        lonely = not clause.conditions and self._only_names(clause)
        wanted = self.asked and any(word in self.small.having for word in self.text.norm[: mention.first])
        named = not self.asked and (
            self._goes_with_it(spot.part, mention)
            or (mention.lead == "no" and not clause.conditions)
            or ((mention.lead in ("all", "every") or mention.side == "both") and lonely)
        )
        if (self.sentence.item and lonely) or wanted or named:
            norm, end, mark = self.text.norm, mention.end, [*self.text.mark, 1]
            denied = self.analysis.cues.reach.over(mention.first, end).denied or (
                norm[end : end + 1] in (["no"], ["none"], ["not"]) and not mark[end] and bool(mark[end + 1])
            )
            self.down.add(
                spot,
                "missing" if denied else "present",
                Found.YES,
                clause,
                [mention],
                first=mention.first,
                end=mention.end,
                listed="other" if len(clause.parts) > 1 else "",
            )

    def _is_dated(self, part: str, mention: Mention) -> bool:
        """Tell whether only a year stands behind a part that wears out: 'battery 2022'."""
        norm, mark, end = self.text.norm, [*self.text.mark, 1], mention.end
        if self.asked or end >= len(norm) or mark[end] or not mark[end + 1]:
            return False
        return bool(_YEAR.fullmatch(norm[end])) and regions().group.get(part) in _WEARING

    def _goes_with_it(self, part: str, mention: Mention) -> bool:
        named = self.small.papers.intersection(self.text.norm[mention.first : mention.end])
        return part in _WITH_IT or (part == "papers" and bool(named))

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
