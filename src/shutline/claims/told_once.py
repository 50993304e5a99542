"""Which claims of a text are one that was read twice: by the fact it tells, and as words around it.

'Just the one owner from new' counts keepers, and says nothing of what was spoken of last; of 'keys, two pieces' the
keys are what is counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shutline.car.findings import Side
from shutline.claims.judged import Doubt, Judged, Verdict
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying
from shutline.claims.written_data import small_words

_NAME = 2
"""The most words that only name what is counted behind them."""
_PLACED_NAME = 4
"""The same where they name a part and its place: 'the nearside front wing'."""
_LINK = len(" is still ")
_BETWEEN = frozenset({"", " ", ", ", ": "})

Row = tuple[Saying, Judged]


def told_once(rows: Sequence[Row], text: str) -> list[Row]:
    """Take claims that are one as one.

    Parameters
    ----------
    rows : sequence of (Saying, Judged)
        The claims in the order of the words, each with its verdict.
    text : str
        The whole text.

    Returns
    -------
    list of (Saying, Judged)
        In the same order; one that takes in another has the letters of both.
    """
    merged = _Merging(rows, text)
    for number in range(len(rows)):
        merged.look_at(number)
    return [row for row in merged.rows if row is not None]


class _Merging:
    """The claims of a text, some of which are taken in by others and then None."""

    def __init__(self, rows: Sequence[Row], text: str) -> None:
        self.rows: list[Row | None] = list(rows)
        self.text = text

    def look_at(self, number: int) -> None:
        """Leave a claim out, or let another have its words, where it is none of its own."""
        row = self.rows[number]
        if row is None:
            return
        saying, found = row
        if self._only_tells_where(number, saying):
            self.rows[number] = None
        elif found.verdict is not Verdict.UNBACKED or saying.fact is not None:
            return
        elif found.doubt is Doubt.NOT_NAMED:
            self._take_in_a_name(number, saying)
        elif _names_no_part(saying):
            self._leave_to_a_fact(number, saying)

    def _take_in_a_name(self, number: int, saying: Saying) -> None:
        """Let a claim have the words before it that nothing reads and that only name what it is of.

        'Keys, two'; 'nearside front wing, no filler'.
        """
        said = saying.quote.casefold().split()
        for at in range(number + 1, len(self.rows)):
            row = self.rows[at]
            if row is None or row[0].first < saying.end:
                continue
            told, found = row
            if self.text[saying.end : told.first] not in _BETWEEN:
                return
            if len(said) <= _NAME if told.fact is not None else _only_names(said, told):
                self.rows[at] = (self._from(told, saying.first, told.end), found)
                self.rows[number] = None
            return

    def _only_tells_where(self, number: int, saying: Saying) -> bool:
        """Tell whether words only say where what stands before them is: the boot of 'its tool roll is in the boot'."""
        said = saying.quote.casefold().split()
        if saying.condition != "present" or len(said) > _PLACED_NAME or said[0] not in small_words().placing:
            return False
        return any(row is not None and 0 <= saying.first - row[0].end <= _LINK for row in self.rows[:number])

    def _leave_to_a_fact(self, number: int, saying: Saying) -> None:
        """Leave out what is read of a part that no word names, where facts, and nothing else, stand in its words."""
        inside = [
            at
            for at, row in enumerate(self.rows)
            if row is not None and at != number and saying.first <= row[0].first and row[0].end <= saying.end
        ]
        told = [row for row in (self.rows[at] for at in inside) if row is not None]
        if not told or any(one.fact is None for one, _ in told):
            return
        if len(told) == 1:
            fact, found = told[0]
            self.rows[inside[0]] = (self._from(fact, saying.first, saying.end), found)
        self.rows[number] = None

    def _from(self, saying: Saying, first: int, end: int) -> Saying:
        return replace(saying, first=first, end=end, quote=self.text[first:end])


def _only_names(said: Sequence[str], told: Saying) -> bool:
    """Tell whether words are no more than the name of what is told, with its place; 'right alloys' are praised."""
    small = small_words()
    spot = told.spot
    if spot is None or (spot.part in relations().right_ones and spot.side not in (Side.NEAR, Side.OFF)):
        return False
    return bool(told.named.intersection(said)) and (small.placing_names | told.named).issuperset(said)


def _names_no_part(saying: Saying) -> bool:
    """Tell whether its part is only carried over from what was spoken of before."""
    said = frozenset(saying.quote.casefold().replace("\u2019", "'").split())
    return saying.spot is not None and not saying.named & said and small_words().pronouns.isdisjoint(saying.named)
