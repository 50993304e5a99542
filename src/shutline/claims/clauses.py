"""One written sentence cut into clauses, and in each the parts that a condition is said of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from shutline.car.vocabulary import vocabulary
from shutline.claims.relations import relations
from shutline.claims.written_data import SmallWords, small_words
from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.mentions import Mention
from shutline.remarks.tokens import FULL_STOP, Text

_PREMODIFIED = 3
"""Tokens that may stand between a condition and the part right after it: 'new mohair soft top'."""
_IS = frozenset({"is", "'s", "are", "'re", "was", "were"})
_ANYWHERE = frozenset({"anywhere", "everywhere", "nowhere"})
_WHICH = "which"
_OTHER_WITHIN = 3
"""Words at the start of a piece among which 'the other' is looked for."""
OWNED_BY = frozenset({"of", "on", "in", "to", "at", "from", "for"})
"""Between a part and the one it belongs to or lies on: 'the handle of the driver's door'."""
_NESTED = 4
"""Tokens between a part and the one it belongs to: 'handle of the driver's door'."""


@dataclass(frozen=True, slots=True)
class Clause:
    """The tokens `first` up to and without `end`, with the numbers of its parts and of its conditions."""

    first: int
    end: int
    parts: tuple[int, ...]
    conditions: tuple[int, ...]


class Cutter:
    """Cuts one sentence, given the part words and the conditions in it, both in the order of the words.

    `same_again` are the tokens that say of a part what was said of the one before: 'and so is the air cleaner'.
    """

    def __init__(
        self,
        text: Text,
        parts: Sequence[Mention],
        conditions: Sequence[Candidate],
        *,
        same_again: Sequence[int] = (),
    ) -> None:
        self.same_again = same_again
        self.text, self.parts, self.conditions = text, parts, conditions
        self.norm, self.mark = text.norm, text.mark
        self.small: SmallWords = small_words()
        self.verbs = grammar().auxiliaries

    def clauses(self) -> list[Clause]:
        """Cut where both sides say something of their own; a list of parts or of conditions stays together."""
        return [self._without_places(clause) for clause in self._cut()]

    def _without_places(self, clause: Clause) -> Clause:
        """Leave out a part that only tells where or what the other is: 'under the lid, …', 'is a new panel'."""
        kept = list(clause.parts)
        if len(kept) > 1 and self._leads_in(clause, self.parts[kept[0]]):
            del kept[0]
        for one, two in list(pairwise(kept)):
            first, second = self.parts[one], self.parts[two]
            is_one = any(self.norm[at] in _IS for at in range(first.end, second.first))
            joined = any(self.mark[at] or self.norm[at] in self.small.joins for at in range(first.end, second.first))
            if is_one and not joined and second.parts[0] in relations().whole and second.lead not in self.small.towards:
                kept.remove(two)
        return replace(clause, parts=tuple(kept))

    def _leads_in(self, clause: Clause, mention: Mention) -> bool:
        said_before = any(self.conditions[n].first < mention.first for n in clause.conditions)
        begins = {mention.lead, self.norm[mention.first]}
        return not said_before and bool(begins & self.small.placing)

    def _cut(self) -> list[Clause]:
        edges = [0, *self._edges(), len(self.norm)]
        out: list[Clause] = []
        current: Clause | None = None
        for piece in self._with_what_follows([self._clause(*pair) for pair in pairwise(edges)]):
            if current is None:
                current = piece
            elif self._apart(current, piece):
                out.append(current)
                current = piece
            else:
                current = self._clause(current.first, piece.end)
        if current is not None:
            out.append(current)
        return out

    def _with_what_follows(self, pieces: list[Clause]) -> list[Clause]:
        """Put the first conditions of a list to the last, where its part is named: 'no rips or tears in the seats'."""
        out: list[Clause] = []
        for piece in pieces:
            held = out[-1] if out else None
            listed = (
                held is not None
                and held.conditions
                and not held.parts
                and piece.conditions
                and (piece.parts or self.norm[piece.first] in ("or", "nor"))
                and self.norm[piece.first] in ("or", "nor", "and")
                and self.mark[piece.first] < FULL_STOP
                and self.norm[held.first] not in self.verbs
                and self._part_follows(piece)
            )
            if held is not None and listed:
                out[-1] = self._clause(held.first, piece.end)
            else:
                out.append(piece)
        return out

    def _part_follows(self, piece: Clause) -> bool:
        """Tell whether the part stands behind the condition and a small word: 'tears in the seats'."""
        if not piece.parts or not piece.conditions:
            return not piece.parts
        first, end = self.conditions[piece.conditions[-1]].end, self.parts[piece.parts[0]].first
        return first <= end and any(word in self.small.towards for word in self.norm[first:end])

    def _edges(self) -> list[int]:
        small = self.small
        inside = {at for c in self.conditions for at in range(c.first + 1, c.end)}
        inside |= {at for p in self.parts for at in range(p.first + 1, p.end)}
        return [
            at
            for at in range(1, len(self.norm))
            if at not in inside
            and (self.mark[at] or self.norm[at] in small.breaks or self.norm[at] in small.joins)
            and self.norm[at - 1 : at + 1] != ["anything", "but"]
        ]

    def _clause(self, first: int, end: int) -> Clause:
        return Clause(
            first,
            end,
            tuple(n for n, p in enumerate(self.parts) if first <= p.first < end),
            tuple(n for n, c in enumerate(self.conditions) if first <= c.first < end),
        )

    def _apart(self, before: Clause, after: Clause) -> bool:
        """Tell whether the second piece begins a clause of its own."""
        word = self.norm[after.first]
        if self.mark[after.first] >= FULL_STOP or word in self.small.breaks:
            return True
        begins = after.first + (word in self.small.joins)
        if self._of_all(after) or self._of_other(after) or (self._only_denies(before) and self._praises(after)):
            return True
        if before.conditions and after.conditions and not after.parts and self._has_own_subject(after, begins):
            return True
        opened = begins < after.end and self.norm[begins] in self.small.openers
        if opened and (before.conditions or self._says(before)):
            return True
        if not after.parts and begins < after.end and self.norm[begins] in self.verbs and self._has_object(before):
            return True
        return (self._whole(before) or self._stands_alone(before)) and self._whole(after)

    def _has_own_subject(self, clause: Clause, begins: int) -> bool:
        """Tell whether a piece without a part names what it tells of: '…, and the fan runs on every speed'."""
        first = self.conditions[clause.conditions[0]].first
        return (
            begins + 1 < first
            and self.norm[begins] in ("the", "its")
            and self.norm[begins + 1] not in self.small.all_at_end
        )

    def _of_all(self, clause: Clause) -> bool:
        """Tell whether a piece behind a mark speaks of the whole car: 'solid sills, no rust anywhere'."""
        return (
            bool(self.mark[clause.first])
            and bool(clause.conditions)
            and not clause.parts
            and any(word in _ANYWHERE for word in self.norm[clause.first : clause.end])
        )

    def _of_other(self, clause: Clause) -> bool:
        """Tell whether a piece behind a mark speaks of the other one: 'its counterpart at the rear is unmarked'.

        So does one behind 'and' that names the other end: '… and the rears are silent'.
        """
        if not clause.conditions or clause.parts:
            return False
        words = self.norm[clause.first : clause.first + _OTHER_WITHIN]
        if self.mark[clause.first]:
            return bool(self.small.other_one.intersection(words))
        return (
            words[0] in self.small.joins and words[1:2] == ["the"] and not self.small.all_at_end.isdisjoint(words[2:])
        )

    def _only_denies(self, clause: Clause) -> bool:
        """Tell whether a piece rules something out and names no part: 'no rust'."""
        return bool(clause.conditions) and not clause.parts and self.norm[clause.first] in self.small.denying

    def _praises(self, clause: Clause) -> bool:
        """Tell whether a piece behind a mark says something of its own of a part, and goes on with no list."""
        if not self.mark[clause.first] or not clause.parts or not clause.conditions:
            return False
        determined = self.norm[clause.first] in grammar().determiners - self.small.denying
        return determined or not vocabulary().is_defect(self.conditions[clause.conditions[0]].senses[0])

    def _has_object(self, clause: Clause) -> bool:
        """Tell whether its part stands behind its verb, and its subject before it: '…, settles to a good idle'."""
        if not clause.parts or not clause.conditions:
            return False
        return self.parts[clause.parts[0]].first > self.conditions[clause.conditions[0]].first

    def _whole(self, clause: Clause) -> bool:
        return bool(clause.parts) and bool(clause.conditions or self._says(clause) or self._same_again(clause))

    def _stands_alone(self, clause: Clause) -> bool:
        """Tell whether a condition needs no part named: 'it starts on the button', '…, which is dirty, …'."""
        return not clause.parts and (
            any(self.conditions[n].implied for n in clause.conditions)
            or (bool(clause.conditions) and self.norm[clause.first] in (*self.small.pronouns, _WHICH))
        )

    def _same_again(self, clause: Clause) -> bool:
        return any(clause.first <= at < clause.end for at in self.same_again)

    def _says(self, clause: Clause) -> bool:
        """Tell whether a verb stands behind the last part."""
        last = self.parts[clause.parts[-1]].end if clause.parts else clause.first
        return any(self.norm[at] in self.verbs for at in range(last, clause.end))

    def said_of(self, clause: Clause, condition: Candidate) -> tuple[tuple[int, ...], bool]:
        """Give the numbers of the parts in the clause that a condition is said of, and whether it stands right before.

        Empty where the clause names none.
        """
        if not clause.parts:
            return (), False
        ahead = next((n for n in clause.parts if self.parts[n].first >= condition.end), None)
        behind = [n for n in clause.parts if self.parts[n].end <= condition.first]
        if ahead is not None and self._modifies(condition.end, self.parts[ahead].first):
            return self._listed(clause, ahead, forwards=True), True
        if behind:
            return self._listed(clause, behind[-1], forwards=False), False
        if ahead is not None and self._points_back(condition):
            return (), False
        if ahead is not None and self._near_enough(condition, self.parts[ahead].first):
            return self._listed(clause, ahead, forwards=True), False
        inside = [n for n in clause.parts if self.parts[n].first < condition.end]
        return tuple(inside[:1]), False

    def _points_back(self, condition: Candidate) -> bool:
        """Tell whether it is said of what was spoken of before: 'not a tear in it'."""
        behind = self.norm[condition.end : condition.end + 2]
        return len(behind) == 2 and behind[0] in self.small.towards and behind[1] in ("it", "them")

    def _near_enough(self, condition: Candidate, first: int) -> bool:
        """Tell whether praise stands near the part that follows; a fault may be told at length: 'rust along the …'."""
        return first - condition.end <= _NESTED or vocabulary().is_defect(condition.senses[0])

    def _modifies(self, first: int, end: int) -> bool:
        between = self.norm[first:end]
        marked = any(self.mark[at] for at in range(first, end + 1))
        small = self.small
        return (
            not marked
            and len(between) <= _PREMODIFIED
            and not any(word in small.function or word in small.towards or word in small.joins for word in between)
        )

    def _listed(self, clause: Clause, number: int, *, forwards: bool) -> tuple[int, ...]:
        """Give the parts that stand in one list with a part: 'bonnet, boot lid and doors'."""
        taken = [number]
        rest = [n for n in clause.parts if (n > number if forwards else n < number)]
        for other in rest if forwards else reversed(rest):
            one, two = (taken[-1], other) if forwards else (other, taken[-1])
            if not self._listing(self.parts[one].end, self.parts[two].first):
                break
            taken.append(other)
        return tuple(sorted(taken))

    def _listing(self, first: int, end: int) -> bool:
        """Tell whether only a list goes on between two parts."""
        if any(first <= c.first < end for c in self.conditions):
            return False
        between = self.norm[first:end]
        joined = any(self.mark[at] for at in range(first, end + 1)) or any(w in ("and", "or", "nor") for w in between)
        small = self.small
        return joined and not any(w in small.function or (w in small.towards and w != "of") for w in between)


def without_owners(text: Text, parts: Sequence[Mention], conditions: Sequence[Candidate]) -> list[Mention]:
    """Leave out the part that another belongs to or lies on, and give its side: 'the handle on the driver's door'."""
    small = small_words()
    out: list[Mention] = []
    for mention in parts:
        if out:
            held = out[-1]
            between = text.norm[held.end : mention.first]
            plain = not any(text.mark[at] for at in range(held.end, mention.first + 1))
            owned = (
                plain
                and 0 < len(between) <= _NESTED
                and between[0] in OWNED_BY
                and not any(word in small.function for word in between)
                and not any(held.end <= c.first < mention.first for c in conditions)
            )
            beside = plain and not between
            if beside and (held.parts[0] in relations().whole or held.parts[0] == "wood_trim"):
                # 'Chrome bumpers' are bumpers.
                out[-1] = replace(mention, first=held.first, side=mention.side or held.side, lead=held.lead)
                continue
            if owned and held.parts[0] in relations().whole and mention.parts[0] not in relations().whole:
                # 'The chrome on the back bumper' is the bumper.
                out[-1] = replace(mention, first=held.first, lead=held.lead)
                continue
            if beside and _is_compound(held, mention):
                # 'The bonnet badge' is a badge.
                out[-1] = replace(
                    mention,
                    first=held.first,
                    lead=held.lead,
                    side=mention.side or held.side,
                    position=mention.position or held.position,
                )
                continue
            if beside:
                held.end = mention.end
            if owned or beside:
                held.side = held.side or mention.side
                held.position = held.position or mention.position
                held.plural = held.plural or mention.plural
                if owned and len(held.parts) > 1 and mention.parts[0] in held.parts:
                    held.parts = mention.parts
                continue
        out.append(mention)
    return out


def _is_compound(held: Mention, mention: Mention) -> bool:
    """Tell whether two names side by side are one thing, which the last of them names."""
    return (
        held.kind == mention.kind == "noun"
        and mention.parts[0] not in relations().whole
        and not held.plural
        and held.parts[0] != mention.parts[0]
    )
