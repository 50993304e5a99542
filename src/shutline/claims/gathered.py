"""What stands in one written sentence before it is cut: the conditions its phrases tell, and the parts it names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shutline.car.findings import Drive
from shutline.car.vocabulary import vocabulary
from shutline.claims.clauses import without_owners
from shutline.claims.lines import Sentence
from shutline.claims.relations import relations
from shutline.claims.stated import letters_of
from shutline.claims.written_data import OWN, WrittenWords, small_words, without_small_words
from shutline.claims.written_facts import LEAST
from shutline.remarks.analysis import OPPOSITES, Analysis, analyse
from shutline.remarks.candidates import Candidate
from shutline.remarks.context import Context
from shutline.remarks.facts import candidates
from shutline.remarks.grammar import grammar
from shutline.remarks.mentions import Mention
from shutline.remarks.phrases import find
from shutline.remarks.regions import regions

WHOLE = "car"
_COUNTED = frozenset({"doors", "seats", "gears", "keys", "engine_cc", "body", "keepers", "odometer", "drive"})
"""Facts that name a part only to count it: 'three doors', 'both keys'."""
_OWN_BONUS = 4.0
"""Log-odds that a phrase for written text has over one of speech, which the network has learnt on."""
_OWN_LEAST = -2.5
"""Log-odds that such a phrase has at least: enough beside its part, too little where the part is carried over."""
_ONES = frozenset({"one", "ones", "pair", "two"})
"""Words that stand for a part behind its side or end: 'the rear pair'."""
_BEHIND = {"behind": "rear", "aft": "rear", "forward": "front"}
"""Words that alone at the beginning tell the end that a sentence speaks of: 'Behind, the floors are solid'."""
_ENDS = {"front": "front", "rear": "rear", "back": "rear"}
_BEFORE = 5
"""The most words from an end to the part it is the end of: 'the front ends of both chassis legs'."""
_LATER_SENSE = 0.3
"""Log-odds that each sense stands behind the one before it in its row."""


def analysed(sentence: Sentence, drive: Drive, words: WrittenWords) -> Analysis:
    """Look a sentence up, with the longer part phrase where a small word before it would cut it short."""
    stretches = [sentence.stretch()]
    analysis = analyse(stretches, drive=drive, lexicon=words.lexicon)
    if _cuts_a_part_short(analysis, words):
        return analyse(stretches, drive=drive, lexicon=without_small_words(words))
    return analysis


def named_parts(sentence: Sentence, drive: Drive, words: WrittenWords) -> Iterator[tuple[int, int, str]]:
    """Give the parts that a sentence names: first letter and end in the whole text, and which it is likeliest to be."""
    analysis = analysed(replace(sentence, first=0), drive, words)
    text, idle = analysis.text, small_words().no_parts
    for mention in analysis.named:
        is_part = mention.kind == "noun" and mention.parts[0] != WHOLE
        if not is_part or idle.issuperset(text.norm[mention.first : mention.end]):
            continue
        first, end = letters_of(text, mention.first, mention.end)
        yield sentence.first + first, sentence.first + end, mention.parts[0]


def _cuts_a_part_short(analysis: Analysis, words: WrittenWords) -> bool:
    """Tell whether a part phrase that begins with a small word hides a longer one: 'the boot' in 'the boot lid'."""
    text, parts = analysis.text, analysis.matches["parts"]
    small = small_words().leading
    led = [match for match in parts if text.norm[match.first] in small]
    if not led:
        return False
    plain = find(text, words.parts)["parts"]
    return any(one.first < other.first < one.end < other.end for one in led for other in plain)


def _are_right(mention: Mention) -> bool:
    """Tell whether 'the right' ones of a part are those that belong on it: 'the right alloys'."""
    return mention.plural and mention.parts[0] in relations().right_ones


@dataclass(slots=True)
class Told:
    """A condition taken from a candidate: the token that tells it best, and the network's log-odds."""

    candidate: Candidate
    sense: str
    at: int
    odds: float


class Gathered:
    """The words of one sentence looked up: their analysis, and what the network makes of them."""

    def __init__(self, analysis: Analysis, context: Context, *, asked: bool, heading: bool = False) -> None:
        self.analysis, self.context, self.asked, self.heading = analysis, context, asked, heading

    def told_here(self) -> list[Told]:
        """Take of each candidate the sense that the network finds likeliest; rows for written text come first."""
        out = []
        function = small_words().function
        named = {(m.first, m.end) for m in self.analysis.named if m.kind == "noun" and m.lead not in function}
        for found in self.analysis.found:
            if found.kind != "word" or self._is_cue(found):
                continue
            if (found.first, found.end) in named and not any(row.startswith(OWN) for row in found.rows):
                # 'The leaves' of a spring, and not what lies in a gutter.
                continue
            own = [row for row in found.rows if row.startswith(OWN)]
            candidate = self._ruled_out(self._trimmed(self._of_rows(found, own) if own else found))
            senses = candidate.senses
            best = max(
                ((*self._best(candidate, sense), -number) for number, sense in enumerate(senses)),
                key=lambda row: (row[1] + (2.0 if own else _LATER_SENSE) * row[2], row[2]),
            )
            odds = max(best[1] + _OWN_BONUS, _OWN_LEAST) if own else best[1]
            out.append(Told(candidate, senses[-best[2]], best[0], odds))
        starts = {one.candidate.first for one in out}
        return [
            one
            for one in out
            if not self._only_leads(one.candidate, starts)
            and not self._only_colours(one, starts)
            and not self._is_no_more(one, out)
        ]

    def _ruled_out(self, candidate: Candidate) -> Candidate:
        """Take in a word beside a defect that rules it out: 'chip free', 'filler-free', 'none cracked'."""
        norm, end = self.analysis.text.norm, candidate.end
        word, after = (*norm[end : end + 2], "", "")[:2]
        if candidate.first and norm[candidate.first - 1] == "none" and vocabulary().is_defect(candidate.senses[0]):
            return replace(candidate, first=candidate.first - 1, no=frozenset(candidate.senses))
        if word == "free" and after not in ("of", "from") and vocabulary().is_defect(candidate.senses[0]):
            # 'Not smoke free' rules nothing out.
            return replace(candidate, end=end + 1, no=frozenset() if candidate.no else frozenset(candidate.senses))
        if norm[candidate.first : end] == ["even"] and small_words().gap_words.intersection(norm):
            # Of gaps, and no praise of the panel: 'the gaps of the bonnet are not even'.
            return replace(candidate, senses=("gap",), no=frozenset({"gap"}))
        return candidate

    def _only_colours(self, one: Told, starts: set[int]) -> bool:
        """Tell whether a word only says how: 'beautifully restored'; or states nothing: 'wears its first coat'."""
        norm, candidate = self.analysis.text.norm, one.candidate
        word = norm[candidate.first]
        if word == "works" and candidate.first and norm[candidate.first - 1] == "the":
            return True
        if self._unsaid(candidate.first) or self._names_a_side(candidate):
            return True
        alone = candidate.end - candidate.first == 1
        if word == "wears":
            return candidate.end < len(norm) and norm[candidate.end] in grammar().determiners
        return alone and word.endswith("ly") and candidate.end in starts

    def _names_a_side(self, candidate: Candidate) -> bool:
        """Tell whether 'the right' is a side: 'the right sill has no rust'."""
        norm = self.analysis.text.norm
        if norm[candidate.end - 1] != "right":
            return False
        before = norm[candidate.first - 1] if candidate.first else ""
        if before in small_words().at_a_side or small_words().side_follows.intersection(norm[candidate.end :][:1]):
            # 'The mirror on the right', 'the right-hand wing'.
            return True
        return any(m.first == candidate.end and m.side == "off" and not _are_right(m) for m in self.analysis.named)

    def _unsaid(self, first: int) -> bool:
        """Tell whether a word states nothing where it stands: the spot of 'not a spot of rust'."""
        norm = self.analysis.text.norm
        return any(
            tuple(norm[max(0, first + at) : first + at + len(phrase)]) == phrase for phrase, at in small_words().unsaid
        )

    def _is_no_more(self, one: Told, told: Sequence[Told]) -> bool:
        """Tell whether 'present' is said of a defect: 'no filler is present'."""
        if one.sense != "present":
            return False
        norm, mark = self.analysis.text.norm, self.analysis.text.mark
        for other in told:
            first, end = other.candidate.end, one.candidate.first
            if vocabulary().is_defect(other.sense) and first <= end and not any(mark[first : end + 1]):
                return all(word in small_words().function or word == "to" for word in norm[first:end])
        return False

    def _only_leads(self, candidate: Candidate, starts: set[int]) -> bool:
        """Tell whether small words only lead on to what is said next: the 'does not' of 'does not blow'."""
        words = self.analysis.text.norm[candidate.first : candidate.end]
        return candidate.end in starts and all(
            word in small_words().function or word in ("there", "no", "any") for word in words
        )

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
        """Tell whether the words only deny what follows: 'free of', the even of 'not even scratched'."""
        return not self._says_even(candidate) and any(
            match.first <= candidate.first and candidate.end <= match.end and match.rows[0].kind == "deny"
            for match in self.analysis.matches["cues"]
        )

    def _says_even(self, candidate: Candidate) -> bool:
        """Tell whether 'even' says how something is: 'the gaps are not even', where nothing follows."""
        text, end = self.analysis.text, candidate.end
        return text.norm[candidate.first : end] == ["even"] and (end == len(text.norm) or bool(text.mark[end]))

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
        for mention in sorted([*self.analysis.named, *self._ends_alone()], key=lambda one: one.first):
            inside = [c for c in said if c.first <= mention.first and mention.end <= c.end]
            # 'Steering is light', and not a lamp.
            if any(c.end - c.first > 1 or mention.lead in small_words().function for c in inside):
                continue
            if mention.lead in ("like", "as", "than"):
                continue
            words = self.analysis.text.norm[mention.first : mention.end]
            if small_words().no_parts.issuperset(words) or self._unsaid(mention.first):
                continue
            if any(fact.first < mention.end and mention.first < fact.end for fact in counted):
                continue
            if mention.end - mention.first == 1 and (self._is_stuff(mention, said) or self._is_slight(mention, said)):
                continue
            if mention.row == "parts.written_door":
                # 'Both doors shut properly': a verb, and no door shut.
                kept.append(replace(mention, end=mention.end - 1))
                continue
            if mention.kind == "back" and not self._stands_for_part(mention):
                if kept and self._says_both(mention, kept[-1]):
                    kept[-1].side = kept[-1].side or "both"
                continue
            if mention.kind == "back" and kept and self._tells_where(mention, kept[-1]):
                kept[-1].side = kept[-1].side or mention.side
                kept[-1].position = kept[-1].position or mention.position
                continue
            if mention.parts == (WHOLE,) and mention.kind == "noun" and mention.lead in small_words().towards:
                continue
            kept.append(replace(mention))
        self._placed(kept)
        return without_owners(self.analysis.text, kept, [one.candidate for one in told])

    def _ends_alone(self) -> Iterator[Mention]:
        """Give the ends that stand for a part as what a clause is of: 'the rear is pitted'."""
        norm, mark = self.analysis.text.norm, self.analysis.text.mark
        small = small_words()
        for at in range(len(norm) - 2):
            opens = at == 0 or mark[at] or norm[at - 1] in small.joins | small.breaks
            if not opens or norm[at] != "the" or norm[at + 1] not in _ENDS or norm[at + 2] not in small.finite:
                continue
            if any(mark[at + 1 : at + 3]) or any(m.first <= at + 1 < m.end for m in self.analysis.named):
                continue
            parts = next((m.parts for m in reversed(self.analysis.named) if m.end <= at), (WHOLE,))
            yield Mention(
                first=at + 1,
                end=at + 2,
                parts=parts,
                side="",
                position=_ENDS[norm[at + 1]],
                kind="back",
                row="",
                lead="",
                plural=False,
                head=at == 0,
                label=False,
            )

    def _placed(self, kept: Sequence[Mention]) -> None:
        """Give each part the ends that words behind it name; 'the right alloys' are on no side."""
        for mention in kept:
            if _are_right(mention) and self.analysis.text.norm[max(0, mention.first - 1)] == "right":
                mention.side = ""
            mention.position = mention.position or self._ends_behind(mention, kept) or self._end_before(mention)

    def _end_before(self, part: Mention) -> str:
        """Give the end that words before a part name: 'behind, the floors …', 'the front ends of both chassis legs'."""
        norm, mark = self.analysis.text.norm, self.analysis.text.mark
        if regions().end.get(part.parts[0]) is not None:
            return ""
        if norm[0] in _BEHIND and part.first > 1 and mark[1] and not any(mark[2 : part.first + 1]):
            return _BEHIND[norm[0]]
        if part.end - part.first > 1 and part.parts[0] in regions().ended and norm[part.first] in _ENDS:
            # 'Rips in the back seat': 'in the back' is no place of its own there.
            return _ENDS[norm[part.first]]
        for at in range(max(0, part.first - _BEFORE), part.first - 2):
            ends = norm[at] in _ENDS and norm[at + 1] in small_words().end_of and norm[at + 2] == "of"
            if ends and not any(mark[at + 1 : part.first + 1]):
                return _ENDS[norm[at]]
        return ""

    def _says_both(self, mention: Mention, part: Mention) -> bool:
        """Tell whether words behind a part only say that both sides of it are meant: 'chassis sound both sides'."""
        text = self.analysis.text
        words = text.norm[mention.first : mention.end]
        after = text.norm[mention.end] if mention.end < len(text.norm) else ""
        between = range(part.end, mention.first + 1)
        apart = any(text.mark[at] for at in between) or any(text.norm[at] in small_words().joins for at in between)
        return (
            mention.side == "both"
            and words[-1] in ("sides", "side")
            and after not in grammar().auxiliaries
            and not apart
        )

    def _ends_behind(self, part: Mention, kept: Sequence[Mention]) -> str:
        """Give both ends where words behind a part name them: 'bumpers rechromed front and rear'."""
        text = self.analysis.text
        stop = min([m.first for m in kept if m.first > part.first], default=len(text.norm))
        for at in range(part.end, stop - 2):
            if text.mark[at]:
                break
            if (
                " ".join(text.norm[at : at + 3]) in small_words().both_ends
                and not text.mark[at + 1]
                and not text.mark[at + 2]
            ):
                return "both"
        return ""

    def named_inside(self, candidate: Candidate) -> Mention | None:
        """Give a part that is named in the phrase itself: 'jumps out of gear'."""
        for mention in self.analysis.named:
            if (
                mention.kind == "noun"
                and candidate.first <= mention.first
                and mention.end <= candidate.end
                and not small_words().no_parts.issuperset(self.analysis.text.norm[mention.first : mention.end])
            ):
                return mention
        return None

    def _is_stuff(self, mention: Mention, said: Sequence[Candidate]) -> bool:
        """Tell whether a word only names what has perished: 'the cooling system has perished rubber'."""
        norm = self.analysis.text.norm
        if norm[mention.first] != "rubber" or not any(m.first < mention.first for m in self.analysis.named):
            return False
        return any(c.end == mention.first and c.senses[0] == "perished" for c in said)

    def _is_slight(self, mention: Mention, said: Sequence[Candidate]) -> bool:
        """Tell whether 'light' only says how much there is of a defect: 'light surface rust'."""
        norm = self.analysis.text.norm
        verb = small_words().finite.intersection(norm[mention.end :][:1])
        if norm[mention.first] != "light" or verb or any(self.analysis.text.mark[mention.end :][:1]):
            return False
        return any(
            mention.end <= c.first <= mention.end + 1 and vocabulary().is_defect(c.senses[0]) and not c.no for c in said
        )

    def _tells_where(self, mention: Mention, part: Mention) -> bool:
        """Tell whether a side or an end only says where the part before it lies: 'new discs fitted at the front'."""
        text = self.analysis.text
        after = text.norm[mention.end] if mention.end < len(text.norm) else ""
        if (mention.lead not in ("on", "at", "to") and mention.side != "both") or after in ("one", "ones"):
            return False
        first, end = part.end, mention.first
        apart = any(text.mark[first : end + 1]) or any(w in small_words().breaks for w in text.norm[first:end])
        return not apart and not (part.side and mention.side) and not (part.position and mention.position)

    def _stands_for_part(self, mention: Mention) -> bool:
        """Tell whether a side or an end stands for the part spoken of last: 'the rear one'."""
        norm = self.analysis.text.norm
        after = norm[mention.end] if mention.end < len(norm) else ""
        led = mention.first > 0 and norm[mention.first - 1] == "the"
        return (
            after in _ONES
            or (mention.head and (mention.label or (self.heading and mention.end >= len(norm))))
            or (led and after not in small_words().piece_follows)
            or (mention.head and mention.side != "" and any(c.first == mention.end for c in self.analysis.found))
        )
