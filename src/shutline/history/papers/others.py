"""Which papers are of another car: they carry its mark or its chassis number, and none of ours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shutline.car.papers import PaperTold, Proposal, ReadKind
from shutline.history.papers.identity import misread_for

_FORMER = "former mark"


def of_another_car(told: Mapping[str, PaperTold], marks: Sequence[str], chassis: Sequence[str]) -> dict[str, str]:
    """Tell which papers are of another car.

    Parameters
    ----------
    told : mapping of str to PaperTold
        What each paper tells, by how it is called.
    marks, chassis : sequence of str
        All marks and chassis numbers of the car, earlier marks too; spaces and capitals do not count.

    Returns
    -------
    dict
        For each paper of another car a sentence that says why. A paper that carries one of ours, likely misreadings
        included, is ours whatever else it names; so is one that carries a former mark alone, or none at all. Where
        no mark of the car is known, a mark says nothing, and so with chassis numbers.
    """
    ours = {ReadKind.MARK: _plain(marks), ReadKind.CHASSIS: _plain(chassis)}
    words = {ReadKind.MARK: "the mark", ReadKind.CHASSIS: "the chassis number"}
    found: dict[str, str] = {}
    for name, paper in told.items():
        signs = [one for one in paper.proposals if one.kind in ours and ours[one.kind] and one.role != _FORMER]
        if not signs or any(_is_ours(one, ours[one.kind]) for one in signs):
            continue
        first = max(signs, key=lambda one: (bool(one.role), one.kind is ReadKind.MARK))
        same = " or ".join(ours[first.kind])
        found[name] = f"It carries {words[first.kind]} {first.values[0].text}; the car's is {same}."
    return found


def _is_ours(one: Proposal, ours: Sequence[str]) -> bool:
    texts = [_squeezed(value.text) for value in one.values]
    return any(misread_for(text, own) for text in texts for own in map(_squeezed, ours))


def _plain(signs: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys("".join(one.split()).upper() for one in signs if one.strip()))


def _squeezed(text: str) -> str:
    return "".join(sign for sign in text.upper() if sign.isalnum())
