"""Look inside a file that somebody supplied and say what it is, by its content first and its name last."""

from __future__ import annotations

import os
from pathlib import Path

from shutline.capture import files, media
from shutline.capture.limits import limits
from shutline.capture.probe_picture import is_picture, probe_picture
from shutline.capture.probe_recording import probe_recording
from shutline.capture.probe_transcript import as_text, transcript_form
from shutline.car.errors import BadInputError, Problem
from shutline.car.recordings import Kind, PrivateDetails, Probe

_TRANSCRIPT_ENDINGS = {".vtt": "webvtt", ".srt": "subrip"}


def probe(path: Path) -> tuple[Probe, PrivateDetails, tuple[Problem, ...]]:
    """Say what a file is, without changing it and without unpacking more than its beginning.

    Parameters
    ----------
    path : Path
        A film, a sound, a picture or a timed transcript.

    Returns
    -------
    Probe
        Kind, container, length in seconds, tracks, upright size in pixels, when it was recorded. For a file that is
        cut off, the length that can be read.
    PrivateDetails
        Where and with what it was recorded: never to be published unless asked for.
    tuple of Problem
        `cut-off`, `no-sound-track`, `no-picture-track`, `several-pictures`, `picture-cut-off`.

    Raises
    ------
    BadInputError
        Nothing can be taken from it: `empty-file`, `not-a-recording`, `cut-off`, `picture-too-large`,
        `picture-unreadable`; or it is no plain file (see `files.opened`).
    """
    with files.opened(path) as file:
        size = os.fstat(file.fileno()).st_size
        head = file.read(limits().transcript.sniff_bytes)
    if not head:
        raise BadInputError(
            Problem(
                slug="empty-file",
                where=files.shown_name(path),
                found="no bytes at all",
                allowed="a recording, a picture or a transcript",
                advice="Copy it from the camera again.",
            )
        )
    if is_picture(head[:32]):
        return probe_picture(path)
    text = as_text(head, whole=len(head) == size)
    if text is not None:
        return _probe_text(path, text, size)
    return probe_recording(path)


def _probe_text(path: Path, text: str, size: int) -> tuple[Probe, PrivateDetails, tuple[Problem, ...]]:
    whole = size <= limits().transcript.sniff_bytes
    if not whole and text.lstrip()[:1] in {"{", "["} and size <= limits().transcript.max_json_bytes:
        # Where a JSON text holds its segments shows only when all of it is read.
        with files.opened(path) as file:
            full = as_text(file.read(), whole=True)
        text, whole = (text, False) if full is None else (full, True)
    form = transcript_form(text, whole=whole) or _TRANSCRIPT_ENDINGS.get(path.suffix.lower())
    if form is None:
        raise BadInputError(media.not_a_recording(path, "a text in which nothing says when it was spoken"))
    return Probe(kind=Kind.TRANSCRIPT, container=form), PrivateDetails(), ()
