"""Read the words of a transcript to findings and facts, keeping nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Drive, Fact, Finding
from shutline.car.recordings import Kind
from shutline.car.speech import Stretch
from shutline.usecases.own_words import own_words

if TYPE_CHECKING:
    from shutline.car.places import Visit
    from shutline.remarks import Reading


@dataclass(frozen=True, slots=True)
class ReadTranscript:
    """What was read: how the wheel was taken to stand, findings and facts in the order they were said, and problems."""

    drive: Drive
    findings: tuple[Finding, ...]
    facts: tuple[Fact, ...]
    problems: tuple[Problem, ...]


def read_transcript(path: Path, *, drive: Drive | None = None) -> ReadTranscript:
    """Read a transcript file.

    Parameters
    ----------
    path : Path
        WebVTT, SubRip, JSON with segments, or text with times.
    drive : Drive, optional
        Where the wheel is. Left out, it is taken from the words, else right-hand drive.

    Raises
    ------
    UserError
        The file is not there, or no timed words can be found in it.
    """
    from shutline.capture.files import opened
    from shutline.speech.transcripts import parse_transcript

    check_transcript(path)
    with opened(path) as file:
        parsed = parse_transcript(file.read(), name=path.name)
    reading, drive = read_words(parsed.stretches, drive=drive)
    return ReadTranscript(drive, reading.findings, reading.facts, (*parsed.problems, *reading.problems))


def check_transcript(path: Path) -> None:
    """Make sure that a file is a transcript before its words are read.

    Raises
    ------
    UserError
        It is something else.
    """
    from shutline.capture.probe import probe

    found = probe(path)[0]
    if found.kind is not Kind.TRANSCRIPT:
        raise UserError(
            Problem(
                slug="not-a-transcript",
                where=path.name,
                found=f"a {found.kind} ({found.container})",
                allowed="WebVTT, SubRip, JSON with segments, or text with times",
                advice="Give the file with the words; a film or a sound is brought in with `shutline add`.",
            )
        )


def read_words(
    stretches: Sequence[Stretch], *, drive: Drive | None, usual: Drive = Drive.RHD, recording: str = ""
) -> tuple[Reading, Drive]:
    """Read stretches, taking the drive from the words themselves where nobody gave it, else `usual`.

    'Driver's side' changes sides with the wheel: where the words say that it is not on the usual side, they are read
    a second time with that known. The user's own words are read with (`own_words`).
    """
    from shutline import remarks

    lexicon = own_words().lexicon
    reading = remarks.read(stretches, drive=drive or usual, recording=recording, lexicon=lexicon)
    if drive is not None:
        return reading, drive
    said = {str(fact.value) for fact in reading.facts if fact.name == "drive"}
    if len(said) == 1 and said != {usual.value}:
        other = Drive(said.pop())
        return remarks.read(stretches, drive=other, recording=recording, lexicon=lexicon), other
    return reading, usual


def walk_of(stretches: Sequence[Stretch], *, drive: Drive) -> tuple[Visit, ...]:
    """Tell where the speaker was at each moment."""
    from shutline import remarks

    return remarks.walked(stretches, drive=drive, lexicon=own_words().lexicon)
