"""What stands in one written sentence before it is cut: the conditions its phrases tell, and the parts it names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shutline.car.findings import Drive
from shutline.claims.clauses import without_owners
from shutline.claims.lines import Sentence
from shutline.claims.written_data import OWN, WrittenWords, small_words
from shutline.claims.written_facts import LEAST
from shutline.remarks.analysis import OPPOSITES, Analysis, analyse
from shutline.remarks.candidates import Candidate
from shutline.remarks.context import Context
from shutline.remarks.facts import candidates
from shutline.remarks.grammar import grammar
from shutline.remarks.mentions import Mention
from shutline.remarks.phrases import find

WHOLE = "car"
_COUNTED = frozenset({"doors", "seats", "gears", "keys", "engine_cc", "body", "keepers", "odometer", "drive"})
"""Facts that name a part only to count it: 'three doors', 'both keys'."""
_OWN_BONUS = 4.0
"""Log-odds that a phrase for written text has over one of speech, which the network has learnt on."""
_OWN_LEAST = -2.5
"""Log-odds that such a phrase has at least: enough beside its part, too little where the part is carried over."""
_LATER_SENSE = 0.3
"""Log-odds that each sense stands behind the one before it in its row."""


def analysed(sentence: Sentence, drive: Drive, words: WrittenWords) -> Analysis:
    """Look a sentence up, with the longer part phrase where a small word before it would cut it short."""
    stretches = [sentence.stretch()]
    analysis = analyse(stretches, drive=drive, lexicon=words.lexicon)
    if _cuts_a_part_short(analysis, words):
        return analyse(stretches, drive=drive, lexicon=words.plain)
    return analysis


def _cuts_a_part_short(analysis: Analysis, words: WrittenWords) -> bool:
    """Tell whether a part phrase that begins with a small word hides a longer one: 'the boot' in 'the boot lid'."""
    text, parts = analysis.text, analysis.matches["parts"]
    small = small_words().leading
    led = [match for match in parts if text.norm[match.first] in small]
    if not led:
        return False
    plain = find(text, words.plain)["parts"]
    return any(one.first < other.first < one.end < other.end for one in led for other in plain)


@dataclass(slots=True)
class Told:
    """A condition taken from a candidate: the token that tells it best, and the network's log-odds."""

    candidate: Candidate
    sense: str
    at: int
    odds: float


class Gathered:
    """The words of one sentence looked up: their analysis, and what the network makes of them."""

    def __init__(self, analysis: Analysis, context: Context, *, asked: bool) -> None:
        self.analysis, self.context, self.asked = analysis, context, asked

    def told_here(self) -> list[Told]:
        """Take of each candidate the sense that the network finds likeliest; rows for written text come first."""
        out = []
        for found in self.analysis.found:
            if found.kind != "word" or self._is_cue(found):
                continue
            own = [row for row in found.rows if row.startswith(OWN)]
            candidate = self._trimmed(self._of_rows(found, own) if own else found)
            senses = candidate.senses
            best = max(
                ((*self._best(candidate, sense), -number) for number, sense in enumerate(senses)),
                key=lambda row: (row[1] + (2.0 if own else _LATER_SENSE) * row[2], row[2]),
            )
            odds = max(best[1] + _OWN_BONUS, _OWN_LEAST) if own else best[1]
            out.append(Told(candidate, senses[-best[2]], best[0], odds))
        starts = {one.candidate.first for one in out}
        return [one for one in out if not self._only_leads(one.candidate, starts)]

    def _only_leads(self, candidate: Candidate, starts: set[int]) -> bool:
        """Tell whether small words only lead on to what is said next: the 'does not' of 'does not blow'."""
        words = self.analysis.text.norm[candidate.first : candidate.end]
        return candidate.end in starts and all(word in small_words().function for word in words)

    def _trimmed(self, candidate: Candidate) -> Candidate:
        """Leave out a joining word at the end of a phrase: in writing it may begin a clause of its own."""
        first, end = candidate.first, candidate.end
        loose = small_words().joins | small_words().towards | grammar().determiners
        while end - first > 1 and self.analysis.text.norm[end - 1] in loose:
            end -= 1
        while end - first > 1 and self.analysis.text.norm[first] in ("and", "but"):
            first += 1
        return (
            candidate if (first, end) == (candidate.first, candidate.end) else replace(candidate, first=first, end=end)
        )

    def _is_cue(self, candidate: Candidate) -> bool:
        """Tell whether the words only deny what follows: 'free of'."""
        return any(
            match.first <= candidate.first and candidate.end <= match.end and match.rows[0].kind == "deny"
            for match in self.analysis.matches["cues"]
        )

    def _of_rows(self, candidate: Candidate, own: Sequence[str]) -> Candidate:
        match = next(m for m in self.analysis.matches["conditions"] if m.first == candidate.first)
        rows = [row for row in match.rows if row.id in own]
        return replace(
            candidate,
            senses=tuple(dict.fromkeys(s for row in rows for s in row.senses)),
            no=frozenset(s for row in rows if row.found == "no" for s in row.senses),
            implied=tuple(part for row in rows for part in row.implied),
            rows=tuple(row.id for row in rows),
        )

    def _best(self, candidate: Candidate, sense: str) -> tuple[int, float]:
        at, odds = self.context.best(candidate.first, candidate.end, sense)
        turned = OPPOSITES.get(sense)
        if turned:
            at_turned, odds_turned = self.context.best(candidate.first, candidate.end, turned)
            if odds_turned > odds:
                return at_turned, odds_turned
        return at, odds

    def parts_named(self, told: Sequence[Told]) -> list[Mention]:
        """Give the parts that the sentence names, without those that only tell where another lies."""
        said = [one.candidate for one in told]
        counted = [
            fact
            for fact in candidates(self.analysis.text)
            if fact.name in _COUNTED and fact.sureness >= LEAST and not self.asked
        ]
        kept: list[Mention] = []
        for mention in self.analysis.named:
            inside = [c for c in said if c.first <= mention.first and mention.end <= c.end]
            # 'Steering is light', and not a lamp.
            if any(c.end - c.first > 1 or mention.lead in small_words().function for c in inside):
                continue
            if mention.lead in ("like", "as", "than"):
                continue
            if any(fact.first < mention.end and mention.first < fact.end for fact in counted):
                continue
            if mention.kind == "back" and not self._stands_for_part(mention):
                continue
            if mention.parts == (WHOLE,) and mention.kind == "noun" and mention.lead in small_words().towards:
                continue
            kept.append(replace(mention))
        return without_owners(self.analysis.text, kept, [one.candidate for one in told])

    def _stands_for_part(self, mention: Mention) -> bool:
        """Tell whether a side or an end stands for the part spoken of last: 'the rear one'."""
        norm = self.analysis.text.norm
        after = norm[mention.end] if mention.end < len(norm) else ""
        led = mention.first > 0 and norm[mention.first - 1] == "the"
        return (
            after in ("one", "ones")
            or (mention.label and mention.head)
            or (led and after not in ("side", "hand", "end", "of"))
        )
