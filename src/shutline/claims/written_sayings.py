"""What one written sentence states, put down saying by saying: the condition meant, how it is found, and its words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.claims.clauses import Clause
from shutline.claims.gathered import WHOLE, Told
from shutline.claims.lines import Sentence
from shutline.claims.quoting import Quoting
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying, Spot
from shutline.claims.senses import (
    begins_anew,
    denied_at_once,
    denied_behind,
    denied_twice,
    denies_itself,
    goes_on_with_a_verb,
    of_stuff,
    praised_as_flat,
    ruled_out_behind,
)
from shutline.claims.written_data import small_words
from shutline.remarks.analysis import OPPOSITES, Analysis
from shutline.remarks.candidates import Candidate
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions


class PutDown:
    """The sayings of one sentence, in the order in which they were settled.

    `out_of` are the first tokens of the words that name the part of each, -1 where none do.
    """

    def __init__(
        self,
        sentence: Sentence,
        analysis: Analysis,
        parts: Sequence[Mention],
        said: Sequence[Candidate],
        *,
        asked: bool,
    ) -> None:
        self.sentence, self.analysis, self.text = sentence, analysis, analysis.text
        self.said, self.asked, self.small = said, asked, small_words()
        self.quoting = Quoting(analysis, parts, said)
        self.out: list[Saying] = []
        self.out_of: list[int] = []

    def name(self, mention: Mention) -> frozenset[str]:
        """Give the words that name a part; none where words only point back to one."""
        return frozenset(self.text.norm[mention.first : mention.end]) if mention.kind == "noun" else frozenset()

    def _is_wide(self, clause: Clause) -> bool:
        """Tell whether a clause speaks of everything: 'all the lamps work'."""
        return any(word in self.small.everywhere for word in self.text.norm[clause.first : clause.end])

    def say(
        self,
        one: Told,
        spots: Sequence[Spot],
        clause: Clause,
        mentions: Sequence[Mention],
        named: Sequence[frozenset[str]] = (),
    ) -> None:
        """Put down that a condition is told of some places, as its words and the cues around it have it.

        `mentions` are the words that name the places, and `named` those that named them before, where none do here.
        """
        candidate, sense = one.candidate, one.sense
        standing = self.analysis.cues.reach.over(candidate.first, candidate.end)
        defect = vocabulary().is_defect(sense)
        rules_out = sense in candidate.no
        denied = standing.denied if defect and not rules_out else denied_at_once(self.text, standing, candidate)
        denied = denied or (not defect and denied_behind(self.text, candidate))
        denied = denied or (not rules_out and self._none_of(mentions, candidate))
        denied = denied or (
            defect and not rules_out and ruled_out_behind(self.text, candidate.end, self._others_said(candidate))
        )
        if denied and rules_out and denies_itself(standing, candidate):
            denied = False
        if denied and defect and not rules_out:
            denied = not denied_twice(self.text, standing) and not goes_on_with_a_verb(self.text, standing, candidate)
        if denied and mentions and begins_anew(self.text, standing, clause.first, mentions[0].first, candidate):
            denied = False
        if defect:
            condition, found = sense, Found.NO if denied != rules_out else Found.YES
        else:
            # What was not repaired is as it was made.
            opposite = "original" if sense == "renewed" and not self.asked else OPPOSITES[sense]
            condition, found = (opposite if denied else sense), Found.YES
        if "doubt" in standing.kinds and defect and not self.asked and found is Found.YES:
            found = Found.UNSURE
        nearest = 0 if mentions and mentions[0].first >= candidate.end else len(mentions) - 1
        wide = self._is_wide(clause)
        for number, spot in enumerate(spots):
            if spot.part == WHOLE and condition == "works" and "sound" in candidate.senses and not (wide or self.asked):
                # 'A stunning example' praises, in whichever sense of the word.
                continue
            praise = not self.asked and praised_as_flat(self.text, candidate, spot.part)
            self.add(
                spot,
                "sound" if praise else condition,
                Found.YES if praise and found is Found.NO else found,
                clause,
                mentions[number : number + 1],
                first=candidate.first,
                end=candidate.end,
                named=named[number] if number < len(named) else frozenset(),
                listed="" if len(mentions) < 2 else "nearest" if number == nearest else "other",
            )

    def _none_of(self, mentions: Sequence[Mention], candidate: Candidate) -> bool:
        """Tell whether none of the parts is meant: 'no spare wheel is present', 'neither of the rear lights works'."""
        norm, mark = self.text.norm, self.text.mark
        return any(
            mention.end <= candidate.first
            # 'Neither sill has been filled, and both are solid.'
            and not any(mark[at] or norm[at] in self.small.joins for at in range(mention.end, candidate.first))
            and (
                mention.lead in ("no", "neither")
                or norm[mention.first] in ("no", "neither")
                or norm[max(0, mention.first - 1) : mention.first] == ["neither"]
                or norm[max(0, mention.first - 3) : mention.first] in (["neither", "of", "the"], ["none", "of", "the"])
            )
            for mention in mentions
        )

    def _others_said(self, candidate: Candidate) -> set[int]:
        return {at for other in self.said if other is not candidate for at in range(other.first, other.end)}

    def add(
        self,
        spot: Spot,
        condition: str,
        found: Found,
        clause: Clause,
        mentions: Sequence[Mention],
        *,
        first: int,
        end: int,
        named: frozenset[str] = frozenset(),
        listed: str = "",
        again: frozenset[str] = frozenset(),
    ) -> None:
        """Put down a condition of a place as it was found; what only praises the whole car is none.

        `first` and `end` are the tokens that tell it; `listed` is 'nearest' or 'other' for one part of a list; `again`
        are words that told the same before: the paint of 'the bonnet has its first paint, as have both wings'.
        """
        where = regions()
        if where.group.get(spot.part) == "papers" and (
            (condition in ("original", "works") and spot.part != "keys")
            or (condition == "sound" and mentions and first < mentions[0].first)
        ):
            condition = "present"
        wide = self._is_wide(clause)
        idle = condition == "sound" or (condition == "present" and not wide)
        if spot.part == WHOLE and idle and not self.asked:
            # 'A lovely car' praises, and states nothing that could be looked at.
            return
        condition = of_stuff(condition, spot.part, self.text.norm[first:end])
        shown = relations().shown_by.get(condition, {}).get(spot.part, "")
        if shown:
            spot = replace(spot, part=shown, others=())
        if condition == "leak" and spot.part in relations().water_gets_in:
            condition = "damp"
        begin, finish = self.quoting.span(clause, mentions, first, end, listed)
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
                words=again.union(text.stem[begin:finish], text.stem[max(clause.first, first - 1) : end]),
                named=self.name(mentions[0]) if mentions else named,
            )
        )

    def without_doubles(self) -> list[Saying]:
        """Give one saying of a kind; that a thing is there goes without saying where its state is told."""
        kept: list[tuple[Saying, int]] = []
        for saying, mention in zip(self.out, self.out_of, strict=True):
            if any(saying.same_claim(other) and (of == mention or saying.first < other.end) for other, of in kept):
                continue
            others = [o for o in self.out if o.spot == saying.spot and o is not saying]
            if saying.condition == "present" and any(o.condition != "present" for o in others):
                continue
            kept.append((saying, mention))
        return [saying for saying, _ in kept]
