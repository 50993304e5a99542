"""Read words that were spoken at one place of the car, chosen before speaking.

The reader knows no such thing as a chosen place: it hears a walk. So it is given the words three times, each time with
a place named before them, once the chosen one and twice another. What moves along with that name says no place of its
own, and lies at the chosen one; what stays lies where the words themselves put it ('and the door next to it').
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.plan import spoken_name
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.usecases.read import read_words

if TYPE_CHECKING:
    from shutline.car.findings import Drive, Finding
    from shutline.car.notes import Note
    from shutline.car.speech import Stretch
    from shutline.remarks import Reading

_ELSEWHERE = (("headlight", "Nearside headlight."), ("rear_wing", "Offside rear wing."), ("sill", "Nearside sill."))
"""Places named in the other readings; two of them are not of the chosen part."""


def read_at(
    stretches: Sequence[Stretch], at: Note | None, *, drive: Drive | None, usual: Drive, recording: str
) -> tuple[Reading, Drive]:
    """Read the words of a recording, at the place it was made at where it was made at one; otherwise as `read_words`.

    Parameters
    ----------
    stretches : sequence of Stretch
        The words.
    at : Note or None
        The note that the recording is, with its place.
    drive, usual, recording
        As for `read_words`.
    """
    reading, settled = read_words(stretches, drive=drive, usual=usual, recording=recording)
    if at is None or not stretches:
        return reading, settled
    name = spoken_name(at.part, at.side, at.position)
    others = [words for part, words in _ELSEWHERE if part != at.part][:2]
    here, *elsewhere = (
        _named(words, stretches, drive=settled, recording=recording)
        for words in (f"{name[:1].upper()}{name[1:]}.", *others)
    )
    found = {_what(finding): finding for finding in here}
    # Where the chosen name itself is misread, what moves between the two others is still known to have no place.
    first, second = ({_what(finding): finding for finding in findings} for findings in elsewhere)
    found |= {
        what: first[what] for what in first if what not in found and what in second and _moved(what, first, second)
    }
    findings = tuple(
        _placed(finding, at, name) if _moved(what, first, second) else finding for what, finding in found.items()
    )
    return replace(reading, findings=tuple(sorted(findings, key=lambda finding: finding.start_s or 0.0))), settled


def _named(words: str, stretches: Sequence[Stretch], *, drive: Drive, recording: str) -> tuple[Finding, ...]:
    """Read the words with a place named before them."""
    start_s = min(stretch.start_s for stretch in stretches)
    said = stretch_of(words, start_s, start_s, origin=StretchOrigin.TRANSCRIPT)
    return read_words([said, *stretches], drive=drive, recording=recording)[0].findings


_What = tuple[object, ...]


def _what(finding: Finding) -> _What:
    """Give what a finding says, but for its place."""
    footing = finding.footings[0]
    return finding.condition, finding.found, footing.start_s, footing.quote


def _moved(what: _What, first: dict[_What, Finding], second: dict[_What, Finding]) -> bool:
    """Tell whether what was said has no part of its own: it lies elsewhere when another place is named before it."""
    parts = {found[what].part for found in (first, second) if what in found}
    return len(parts) != 1 or not (what in first and what in second)


_OF_PLACE = ("The part ", "The side ", "The end ")
"""How the reader begins its reasons for a place."""


def _placed(finding: Finding, at: Note, name: str) -> Finding:
    why = tuple(reason for reason in finding.why if not reason.startswith(_OF_PLACE))
    return replace(
        finding,
        part=at.part,
        side=at.side,
        position=at.position,
        why=(*why, f"The words name no part; {name} was chosen before they were spoken."),
    )
