"""Statements that name their place right after: 'no rust anywhere on this car', 'there is a dent in the bonnet'."""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING

from shutline.car.vocabulary import vocabulary
from shutline.remarks.grammar import grammar

if TYPE_CHECKING:
    from shutline.remarks.analysis import Analysis
    from shutline.remarks.candidates import Candidate
    from shutline.remarks.decisions import Decision

_REACH = 8
"""Tokens between what is denied and the place, at most."""


def meant(analysis: Analysis, candidate: Candidate, told: tuple[str, str]) -> tuple[int, str] | None:
    """Give the mention, and the part, that a statement is of by a place named right after it; None where none is so.

    `told` is the condition, a defect, and what was found: only a denial is of all that 'anywhere' names.
    """
    placed = placed_after(analysis, candidate.first, candidate.end)
    if placed is not None or told[1] != "no":
        return placed
    index = named_after(analysis, candidate.end)
    return None if index is None else (index, analysis.named[index].parts[0])


def place_as_said(analysis: Analysis, decision: Decision) -> None:
    """Let the side and end that are said with the place count; of a whole no others, wherever the walk has got to."""
    mention = analysis.named[decision.option.mention]
    part = vocabulary().parts[decision.option.part]
    # 'Either door on this side' are two doors of one side.
    alone = mention.end == analysis.cues.clause_end[mention.end - 1]
    side = mention.side if mention.side in ("near", "off") or (mention.side == "both" and alone) else ""
    whole = part.id in grammar().wholes
    if whole or side:
        decision.side = side
    if whole or (part.ended and mention.position):
        decision.position = mention.position


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


def placed_after(analysis: Analysis, first: int, end: int) -> tuple[int, str] | None:
    """Give the mention, and the part, that a whole sentence puts something in; None where it is no such sentence.

    'There's a dent in the offside rear door' is of that door; but 'there's a hairline in the paint on the scuttle' and
    'there's a scratch by the lamp' say more than that, and 'no cracks in either lens' leaves open which lens.

    Parameters
    ----------
    analysis : Analysis
        With the words and the parts named.
    first, end : int
        The tokens of what is there or is not.
    """
    words, named, norm = grammar(), analysis.named, analysis.text.norm
    start, stop = analysis.cues.clause[first], analysis.cues.clause_end[end - 1]
    index = bisect_left(named, end, key=lambda mention: mention.first)
    # What opens no sentence goes on with what was spoken of: 'it's been blown over, there's overspray on the lamp'.
    if norm[start] != "there" or start != analysis.cues.start[first] or index >= len(named) or named[index].end > stop:
        return None
    mention = named[index]
    between, behind = norm[end : mention.first], norm[mention.end : stop]
    if mention.kind == "back" or not between or between[0] not in words.within:
        return None
    # 'The nearside rear door' has a side, so it is no tailgate.
    sided = mention.side in ("near", "off", "both")
    parts = [part for part in mention.parts if not sided or len(mention.parts) == 1 or vocabulary().parts[part].sided]
    if len(parts) != 1:
        return None
    if not words.placed.issuperset(between[1:]) or not (words.placed | words.after).issuperset(behind):
        return None
    return index, parts[0]
