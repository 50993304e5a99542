"""Which letters of a written sentence are quoted for one statement of it."""

from __future__ import annotations

from collections.abc import Sequence

from shutline.claims.clauses import Clause
from shutline.claims.written_data import small_words
from shutline.remarks.analysis import Analysis
from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.mentions import Mention


class Quoting:
    """Finds the tokens of each statement, given all parts and all conditions of its sentence."""

    def __init__(self, analysis: Analysis, parts: Sequence[Mention], said: Sequence[Candidate]) -> None:
        self.text, self.reach = analysis.text, analysis.cues.reach
        self.parts, self.said, self.small = parts, said, small_words()

    def span(self, clause: Clause, mentions: Sequence[Mention], first: int, end: int, listed: str) -> tuple[int, int]:
        """Give the tokens to quote: the clause, or what is said of one part where it says more than one thing.

        Of a list the part beside what is said of all has that with it, and each other one its name.
        """
        if listed == "other":
            return self._named_alone(clause, mentions[0])
        if listed:
            return self._own_words(clause, mentions[0], first, end)
        begin = min([clause.first, *(m.first for m in mentions)])
        finish = max([clause.end, *(m.end for m in mentions)])
        if not mentions and len(clause.conditions) > 1:
            return self._own_piece(clause, first, end)
        if self._piece_of_its_own(clause, mentions, first):
            return self._own_piece(clause, first, end)
        if len(clause.parts) + len(clause.conditions) > 2 and len(mentions) == 1:
            begin, finish = self._own_words(clause, mentions[0], first, end)
        while begin < first and self.text.norm[begin] in self.small.joins | self.small.breaks:
            begin += 1
        return begin, finish

    def _piece_of_its_own(self, clause: Clause, mentions: Sequence[Mention], first: int) -> bool:
        """Tell whether more was said of a part, and then a mark, before this: 'four proper alloys, no dents'."""
        if len(mentions) != 1 or mentions[0].end > first:
            return False
        part, mark, norm = mentions[0], self.text.mark, self.text.norm
        edges = [at for at in range(part.end, first + 1) if mark[at] or norm[at] in self.small.joins]
        if not edges:
            return False
        lead = self._leads() | self.small.joins
        others = [
            at for at in range(clause.first, edges[0]) if not part.first <= at < part.end and norm[at] not in lead
        ]
        return bool(others)

    def _own_words(self, clause: Clause, mention: Mention, first: int, end: int) -> tuple[int, int]:
        """Give the tokens from a part to what is said of it; without the part where another statement lies between."""
        norm, mark = self.text.norm, self.text.mark
        lead = self._leads()
        stops = self.small.joins | self.small.breaks
        others = [c for c in self.said if clause.first <= c.first < clause.end and c.first != first]
        if any(mention.end <= c.first < first for c in others):
            begin = max([c.end for c in others if c.end <= first], default=first)
            finish = end
        elif any(end <= m.first < mention.first for m in self.parts):
            begin, finish = self._named_alone(clause, mention)
        else:
            begin, finish = min(first, mention.first), max(end, mention.end)
            while begin > clause.first and not mark[begin] and norm[begin - 1] in lead:
                begin -= 1
            denying = [s.first for s in self.reach.over(first, end).by if s.kind == "deny"]
            begin = min([begin, *(at for at in denying if clause.first <= at < begin)])
        while finish < clause.end and not mark[finish] and norm[finish] not in stops:
            finish += 1
        return begin, finish

    def _own_piece(self, clause: Clause, first: int, end: int) -> tuple[int, int]:
        """Give the tokens between the marks and joining words round a statement that names no part."""
        norm, mark, stops = self.text.norm, self.text.mark, self.small.joins | self.small.breaks
        begin, finish = first, end
        while begin > clause.first and not mark[begin] and norm[begin - 1] not in stops:
            begin -= 1
        while finish < clause.end and not mark[finish] and norm[finish] not in stops:
            finish += 1
        return begin, finish

    def _leads(self) -> frozenset[str]:
        return grammar().determiners | self.small.each | {"no", "not", "without"}

    def _named_alone(self, clause: Clause, mention: Mention) -> tuple[int, int]:
        """Give the tokens that name a part, with the side or end before it."""
        begin = mention.first
        while begin > clause.first and not self.text.mark[begin] and self.text.norm[begin - 1] in self._leads():
            begin -= 1
        return begin, mention.end
