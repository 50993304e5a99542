"""What a denial is of that names its place right after: 'no rust anywhere on this car'."""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING

from shutline.remarks.grammar import grammar

if TYPE_CHECKING:
    from shutline.remarks.analysis import Analysis

_REACH = 8
"""Tokens between what is denied and the place, at most."""


def named_after(analysis: Analysis, end: int) -> int | None:
    """Give the mention of the part that a denial is of because it is named right after; None where none is.

    That is so after 'anywhere', whatever part it is, and of the whole car without it: 'there is no rust anywhere in
    the boot', 'not a dent on this car'; but not 'there is no tear in it anywhere', nor 'no rust, and the car is dry'.

    Parameters
    ----------
    analysis : Analysis
        With the words and the parts named.
    end : int
        The token after what is denied.
    """
    words, named = grammar(), analysis.named
    norm = analysis.text.norm
    stop = min(analysis.cues.clause_end[end - 1], end + _REACH)
    index = bisect_left(named, end, key=lambda mention: mention.first)
    if index >= len(named) or named[index].first >= stop or named[index].kind == "back":
        return None
    first = named[index].first
    between = norm[end:first]
    if not words.between.issuperset(between):
        return None
    if words.anywhere.intersection(between) or (between and named[index].parts[0] in words.alone):
        return index
    return None
