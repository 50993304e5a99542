"""What a service answered, held to the form that was asked for and to the words."""

from __future__ import annotations

from collections import Counter
from typing import Final

import msgspec

from shutline.car.findings import Found, Position, Remedy, Severity, Side
from shutline.car.second import PieceAnswer, Proposal, Reason, SetAside
from shutline.car.vocabulary import vocabulary
from shutline.second.pieces import Piece, Quotes, folded
from shutline.second.settings import Limits, settings

# What reading hostile JSON can raise: not JSON or not the form, not UTF-8, nested too deep.
_BROKEN: Final = (msgspec.MsgspecError, ValueError, RecursionError)
_FENCE: Final = "```"


class _Message(msgspec.Struct):
    content: str | None = None


class _Choice(msgspec.Struct):
    message: _Message


class _Completion(msgspec.Struct):
    choices: list[_Choice]


class _Answer(msgspec.Struct, forbid_unknown_fields=True):
    statements: list[msgspec.Raw]


class _Statement(msgspec.Struct, forbid_unknown_fields=True):
    line: int
    quote: str
    part: str
    condition: str
    found: Found
    side: Side | None
    position: Position | None
    severity: Severity | None
    remedy: Remedy | None


def read_answer(data: bytes, piece: Piece, *, limits: Limits | None = None) -> PieceAnswer | None:
    """Read the body of an answer.

    Parameters
    ----------
    data : bytes
        What the service sent: a completion whose first choice holds the answer's JSON as its content, bare, between
        fences, or with words around it.
    piece : Piece
        What it was asked about.
    limits : Limits, optional
        How much is taken; the shipped settings when left out.

    Returns
    -------
    PieceAnswer or None
        The statements that may be compared, and how many were set aside and why. None where there is no answer in the
        form at all. No bytes make it raise.
    """
    limits = limits or settings().limits
    try:
        completion = msgspec.json.decode(data, type=_Completion)
    except _BROKEN:
        return None
    content = completion.choices[0].message.content if completion.choices else None
    raws = None if content is None else _statements(content)
    return None if raws is None else _held(raws, piece, limits)


def _statements(content: str) -> list[msgspec.Raw] | None:
    """Find the JSON in the content: as it is, between the last fences, or from the first brace to the last."""
    fenced = content.split(_FENCE)[1::2]
    # Behind the opening fence stands the name of the language.
    last = fenced[-1].partition("\n")[2] if fenced else ""
    for text in (content, last, content[content.find("{") : content.rfind("}") + 1]):
        try:
            return msgspec.json.decode(text.encode("utf-8", "surrogatepass"), type=_Answer).statements
        except _BROKEN:
            continue
    return None


def _held(raws: list[msgspec.Raw], piece: Piece, limits: Limits) -> PieceAnswer:
    aside: Counter[Reason] = Counter()
    quotes = Quotes(piece)
    kept: dict[Proposal, None] = {}
    if len(raws) > limits.statements:
        aside[Reason.TOO_MANY] = len(raws) - limits.statements
    for raw in raws[: limits.statements]:
        held = _proposal(raw, piece, quotes, limits)
        if isinstance(held, Reason):
            aside[held] += 1
        elif held in kept:
            aside[Reason.REPEATED] += 1
        elif piece.core_first <= held.first < piece.core_end:
            kept[held] = None
    counts = tuple(SetAside(reason, aside[reason]) for reason in Reason if aside[reason])
    return PieceAnswer(tuple(sorted(kept, key=_order)), counts)


def _proposal(raw: msgspec.Raw, piece: Piece, quotes: Quotes, limits: Limits) -> Proposal | Reason:
    try:
        said = msgspec.json.decode(raw, type=_Statement)
    except _BROKEN:
        return Reason.NOT_THE_FORM
    if not 1 <= said.line <= len(piece.lines):
        return Reason.UNKNOWN_LINE
    reason = _misfit(said)
    if reason is not None:
        return reason
    # Three times over: marks and spaces come on top of the letters that are counted.
    if len(said.quote) > 3 * limits.longest_quote:
        return Reason.NOT_SAID
    letters = len(folded(said.quote))
    found = quotes.find(said.quote, line=said.line - 1)
    if found is None or not limits.shortest_quote <= letters <= limits.longest_quote:
        return Reason.NOT_SAID
    return Proposal(
        part=said.part,
        condition=said.condition,
        found=said.found,
        first=found[0],
        last=found[1],
        side=said.side,
        position=said.position,
        severity=said.severity,
        remedy=said.remedy,
    )


def _misfit(said: _Statement) -> Reason | None:
    words = vocabulary()
    if said.part not in words.parts:
        return Reason.UNKNOWN_PART
    condition = words.conditions.get(said.condition)
    if condition is None:
        return Reason.UNKNOWN_CONDITION
    if not condition.defect and said.found is not Found.YES:
        return Reason.GOOD_NOT_FOUND
    return None


def _order(proposal: Proposal) -> tuple[object, ...]:
    return (
        *(proposal.first, proposal.last, proposal.part, proposal.condition, proposal.found.value),
        *(str(value) for value in (proposal.side, proposal.position, proposal.severity, proposal.remedy)),
    )
