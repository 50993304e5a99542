"""Cut a clip out of a film, or copy all of it with chapters and captions; the film itself is only ever read."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from shutline.capture import files, media
from shutline.capture.cut_coded import coded_again
from shutline.capture.cut_copied import copied
from shutline.capture.cut_parts import coded_in_parts
from shutline.capture.cut_shared import (
    Cover,
    Cut,
    Lines,
    Watch,
    codec_of,
    coded_anew,
    early,
    empty,
    no_times,
    refuse_large,
)
from shutline.capture.film_writer import COPIED_PICTURE, Line
from shutline.capture.limits import limits
from shutline.car.errors import BadInputError, Problem, UserError

__all__ = ["Cover", "Cut", "Line", "Watch", "copy_film", "cut_clip", "light_film"]


def cut_clip(
    path: Path,
    out_path: Path,
    start_s: float,
    end_s: float,
    *,
    exact: bool = False,
    cover: Cover | None = None,
    tells: Mapping[str, str] | None = None,
    watch: Watch | None = None,
) -> Cut:
    """Write a part of a recording as an MP4.

    Parameters
    ----------
    path : Path
        A film or a sound.
    out_path : Path
        Where it is written; what stands there is replaced. After an error it may be half there.
    start_s, end_s : float
        Seconds from the start of the recording, ``0 <= start_s < end_s``; what lies past the end is not there.
    exact : bool
        Code the picture anew, so that it begins and ends within a frame of what was asked for. Otherwise it is copied
        as it is, and begins at the key frame before `start_s`.
    cover : Cover, optional
        Covers each frame; the picture is then coded anew.
    tells : mapping, optional
        Tags to write into it; nothing of the recording's own is taken over.
    watch : Watch, optional
        Progress and stop.

    Returns
    -------
    Cut
        With the problems `clip-begins-early` and `clip-coded-anew`.

    Raises
    ------
    BadInputError
        The file is no recording, its frames are larger than is unpacked, nothing of it could be read there
        (``clip-empty``), or it cannot be written as an MP4 (``clip-not-made``).
    UserError
        The times are none (``clip-times``).
    StoppedError
        `watch` said so.
    """
    where = files.shown_name(path)
    if not (math.isfinite(start_s) and math.isfinite(end_s) and 0 <= start_s < end_s):
        raise UserError(no_times(where, start_s, end_s))
    watch = watch or Watch()
    problems: tuple[Problem, ...] = ()
    lines: Lines = ((), ())
    with _coder_told(where), media.opened(path) as container:
        films, sounds = media.picture_streams(container), media.sound_streams(container)
        refuse_large(where, films)
        if films and not exact and cover is None and codec_of(films[0]) not in COPIED_PICTURE:
            problems = (coded_anew(where, codec_of(films[0])),)
        if films and (exact or cover is not None or problems):
            made = coded_again(
                path, out_path, container, start_s, end_s, cover=cover, tells=tells, lines=lines, watch=watch
            )
        else:
            made = copied(path, out_path, container, start_s, end_s, tells=tells, lines=lines, watch=watch)
    if not films and not sounds:
        raise BadInputError(empty(where, start_s, end_s))
    if made.early_s >= limits().clips.told_early_s:
        problems += (early(where, made),)
    return replace(made, problems=(*made.problems, *problems))


def copy_film(
    path: Path,
    out_path: Path,
    *,
    chapters: Sequence[Line] = (),
    captions: Sequence[Line] = (),
    cover: Cover | None = None,
    tells: Mapping[str, str] | None = None,
    watch: Watch | None = None,
) -> Cut:
    """Write all of a recording as an MP4 with chapters and captions in it; as `cut_clip` otherwise.

    Picture and sound are copied as they are, unless they cannot stand in an MP4 or `cover` is given. Times of
    `chapters` and `captions` are from the start of the recording.
    """
    watch = watch or Watch()
    where = files.shown_name(path)
    problems: tuple[Problem, ...] = ()
    lines: Lines = (chapters, captions)
    with _coder_told(where), media.opened(path) as container:
        films = media.picture_streams(container)
        refuse_large(where, films)
        if films and cover is None and codec_of(films[0]) not in COPIED_PICTURE:
            problems = (coded_anew(where, codec_of(films[0])),)
        if films and (cover is not None or problems):
            made = coded_again(
                path, out_path, container, 0.0, math.inf, cover=cover, tells=tells, lines=lines, watch=watch
            )
        else:
            made = copied(path, out_path, container, 0.0, math.inf, tells=tells, lines=lines, watch=watch)
    return replace(made, problems=(*made.problems, *problems))


def light_film(
    path: Path,
    out_path: Path,
    *,
    chapters: Sequence[Line] = (),
    cover: Cover | None = None,
    muted: Sequence[tuple[float, float]] = (),
    parts: Path | None = None,
    watch: Watch | None = None,
) -> Cut:
    """Write a small copy of a film for a telephone, with nothing in it but what is seen and heard.

    Parameters
    ----------
    path, out_path, chapters, cover, watch
        As for `copy_film`.
    muted : sequence of tuple
        From and until when it is silent, seconds of the recording.
    parts : Path, optional
        A folder for this film with these covers alone. What is made of the picture is kept there, and taken up where
        the work was stopped; whoever gives it takes it away.

    Raises
    ------
    BadInputError, StoppedError
        As for `cut_clip`; also where there is no picture in it (``clip-empty``).
    """
    where = files.shown_name(path)
    with _coder_told(where), media.opened(path) as container:
        films = media.picture_streams(container)
        refuse_large(where, films)
        if not films:
            raise BadInputError(empty(where, 0.0, math.inf))
        if parts is not None:
            return coded_in_parts(
                path,
                out_path,
                container,
                parts,
                cover=cover,
                lines=(chapters, ()),
                watch=watch or Watch(),
                light=limits().light,
                muted=muted,
            )
        return coded_again(
            path,
            out_path,
            container,
            0.0,
            math.inf,
            cover=cover,
            tells=None,
            lines=(chapters, ()),
            watch=watch or Watch(),
            light=limits().light,
            muted=muted,
        )


@contextlib.contextmanager
def _coder_told(where: str) -> Iterator[None]:
    """Say in words what FFmpeg cannot write; what the disk refuses goes on as it is."""
    import av

    try:
        yield
    except av.FFmpegError as trouble:
        if isinstance(trouble, OSError):
            raise
        raise BadInputError(
            Problem(
                slug="clip-not-made",
                where=where,
                found=f"picture or sound that could not be written ({trouble.strerror})",
                allowed="a recording whose clock and coding hold together",
                advice="Have it cut exactly, which codes the picture anew; or copy it from the camera again.",
            )
        ) from trouble
