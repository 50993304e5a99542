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
    out = list(rows)
    for row in rows:
        saying, found = row
        if _only_tells_where(row, out):
            out.remove(row)
            continue
        if found.verdict is not Verdict.UNBACKED or saying.fact is not None:
            continue
        if found.doubt is Doubt.NOT_NAMED:
            _take_in_a_name(out, row, text)
        elif _names_no_part(saying):
            _leave_to_a_fact(out, row, text)
    return out


def _take_in_a_name(out: list[Row], row: Row, text: str) -> None:
    """Let a claim have the words before it that nothing reads and that only name what it is of.

    'Keys, two'; 'nearside front wing, no filler'.
    """
    saying = row[0]
    said = saying.quote.casefold().split()
    for number, (told, found) in enumerate(out):
        counts = told.fact is not None and len(said) <= _NAME
        names = told.fact is None and _only_names(said, told)
        if (counts or names) and saying.end <= told.first and text[saying.end : told.first] in _BETWEEN:
            out[number] = (_from(told, saying.first, told.end, text), found)
            out.remove(row)
            return


def _only_names(said: Sequence[str], told: Saying) -> bool:
    """Tell whether words are no more than the name of what is told, with its place; 'right alloys' are praised."""
    small = small_words()
    spot = told.spot
    if spot is None or (spot.part in relations().right_ones and spot.side not in (Side.NEAR, Side.OFF)):
        return False
    return bool(told.named.intersection(said)) and (small.placing_names | told.named).issuperset(said)


def _only_tells_where(row: Row, out: Sequence[Row]) -> bool:
    """Tell whether words only say where what stands before them is: the boot of 'its tool roll is in the boot'."""
    saying = row[0]
    said = saying.quote.casefold().split()
    if saying.condition != "present" or len(said) > _PLACED_NAME or said[0] not in small_words().placing:
        return False
    return any(0 <= saying.first - one.end <= _LINK for one, _ in out if one is not saying)


def _leave_to_a_fact(out: list[Row], row: Row, text: str) -> None:
    """Leave out what is read of a part that no word names, where a fact stands in its words."""
    saying = row[0]
    inside = [
        n for n, (one, _) in enumerate(out) if one is not saying and saying.first <= one.first and one.end <= saying.end
    ]
    if not inside or any(out[number][0].fact is None for number in inside):
        return
    if len(inside) == 1:
        fact, found = out[inside[0]]
        out[inside[0]] = (_from(fact, saying.first, saying.end, text), found)
    out.remove(row)


def _from(saying: Saying, first: int, end: int, text: str) -> Saying:
    return replace(saying, first=first, end=end, quote=text[first:end])


def _names_no_part(saying: Saying) -> bool:
    """Tell whether its part is only carried over from what was spoken of before."""
    said = frozenset(saying.quote.casefold().replace("\u2019", "'").split())
    return saying.spot is not None and not saying.named & said and small_words().pronouns.isdisjoint(saying.named)
