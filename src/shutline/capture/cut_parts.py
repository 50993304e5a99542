"""A small copy of a film that is made part by part, so that one which was stopped goes on where it was."""

from __future__ import annotations

import json
import math
import secrets
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.capture import files, media
from shutline.capture.cut_coded import even, fitted, frames_of, hear_until, sound_packets
from shutline.capture.cut_shared import NEARLY_S, Cover, Cut, Lines, Watch, empty
from shutline.capture.film_writer import FilmWriter
from shutline.capture.jpeg import upright
from shutline.capture.limits import LightLimits, limits
from shutline.capture.resampled import Resampled
from shutline.car.errors import BadInputError

if TYPE_CHECKING:
    from av.container import InputContainer

    from shutline.capture.frames import Frame

_WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class _Part:
    """A part that is made: its first and last frame and the time before the last, seconds; its picture in pixels.

    `byte_size` is that of its file. A file that is not as it is told here is made anew.
    """

    first_s: float
    last_s: float
    gap_s: float
    width: int
    height: int
    byte_size: int


def coded_in_parts(
    path: Path,
    out_path: Path,
    container: InputContainer,
    folder: Path,
    *,
    cover: Cover | None,
    lines: Lines,
    watch: Watch,
    light: LightLimits,
    muted: Sequence[tuple[float, float]] = (),
) -> Cut:
    """Write a small copy as `coded_again` does, its picture in parts that are kept in `folder` until it is whole.

    Parts that lie there are taken as they are: the folder must be of this film and of these settings and covers alone.
    """
    folder.mkdir(parents=True, exist_ok=True)
    parts = _kept(folder)
    if not _is_whole(folder, parts):
        frames = _thinned(path, parts[-1] if parts else None, light)
        length_s = media.promised_s(container) or math.inf
        if parts:
            watch.goes_on(_share(parts[-1].last_s, length_s))
        waiting: _Ahead | None = _ahead(frames)
        while waiting is not None:
            shape = (parts[0].height, parts[0].width, 3) if parts else None
            part, waiting = _make(
                folder / f"{len(parts)}",
                waiting,
                shape,
                path=path,
                length_s=length_s,
                cover=cover,
                light=light,
                watch=watch,
            )
            parts.append(part)
        if not parts:
            raise BadInputError(empty(files.shown_name(path), 0.0, math.inf))
        (folder / _WHOLE).write_text(f"{len(parts)}", encoding="utf-8")
    _join(folder, parts, out_path, container, lines=lines, light=light, muted=muted, watch=watch)
    return Cut(start_s=0.0, end_s=parts[-1].last_s + parts[-1].gap_s, early_s=0.0, late_s=0.0, exact=True)


@dataclass(frozen=True, slots=True)
class _Ahead:
    """A frame that is to be written next, the time since the one before it, and what comes behind it."""

    frame: Frame
    gap_s: float
    rest: Iterator[tuple[Frame, float]]


def _ahead(frames: Iterator[tuple[Frame, float]]) -> _Ahead | None:
    found = next(frames, None)
    return None if found is None else _Ahead(*found, frames)


def _thinned(path: Path, after: _Part | None, light: LightLimits) -> Iterator[tuple[Frame, float]]:
    """Give the frames that are written, each with the time since the one before, from where some parts end."""
    # A little less than the time between two frames, so that those of a film of that very rate all stay.
    least_gap_s = 0.9 / light.frames_per_s
    last_s, gap_s = (None, 0.0) if after is None else (after.last_s, after.gap_s)
    for frame in frames_of(path, 0.0 if last_s is None else last_s + 2 * NEARLY_S, math.inf):
        if last_s is not None:
            if frame.at_s - last_s < least_gap_s:
                continue
            gap_s = frame.at_s - last_s
        last_s = frame.at_s
        yield frame, gap_s


def _share(at_s: float, length_s: float) -> float:
    return 0.0 if math.isinf(length_s) else at_s / max(length_s, 1e-6)


def _make(
    there: Path,
    ahead: _Ahead,
    shape: tuple[int, ...] | None,
    *,
    path: Path,
    length_s: float,
    cover: Cover | None,
    light: LightLimits,
    watch: Watch,
) -> tuple[_Part, _Ahead | None]:
    """Make one part; what tells of it is written last, so that half a part is none.

    Until it is whole it lies under a name that no other run has: two that wrote one file would spoil it.
    """
    first_s, where = ahead.frame.at_s, files.shown_name(path)
    until_s = first_s + limits().clips.piece_s
    own = secrets.token_hex(4)
    aside = there.with_suffix(f".{own}.making")
    with FilmWriter(aside, light=light) as out:
        pixels = even(upright(ahead.frame.image, longest_side_px=light.longest_side_px))
        shape = pixels.shape if shape is None else shape
        film = out.picture(shape[1], shape[0])
        here: _Ahead | None = ahead
        while here is not None and here.frame.at_s < until_s:
            frame, last_s, gap_s = here.frame, here.frame.at_s, here.gap_s
            pixels = fitted(even(upright(frame.image, longest_side_px=light.longest_side_px)), shape)
            film.put(pixels if cover is None else cover(pixels, frame.at_s), frame.at_s - first_s)
            watch.at(_share(frame.at_s, length_s), where)
            here = _ahead(here.rest)
        film.end(last_s - first_s)
    size = aside.stat().st_size
    aside.replace(there.with_suffix(".mp4"))
    part = _Part(first_s, last_s, gap_s, shape[1], shape[0], size)
    told = there.with_suffix(f".{own}.told")
    told.write_text(json.dumps(asdict(part)), encoding="utf-8")
    told.replace(there.with_suffix(".json"))
    return part, here


def _kept(folder: Path) -> list[_Part]:
    """Give the parts that lie there, in order, up to the first that is not whole."""
    parts: list[_Part] = []
    while (part := _part_at(folder / f"{len(parts)}")) is not None:
        parts.append(part)
    return parts


def _part_at(there: Path) -> _Part | None:
    try:
        told: Mapping[str, float] = json.loads(there.with_suffix(".json").read_text(encoding="utf-8"))
        sizes = (int(told[name]) for name in ("width", "height", "byte_size"))
        part = _Part(told["first_s"], told["last_s"], told["gap_s"], *sizes)
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return part if _is_as_told(there.with_suffix(".mp4"), part) else None


def _is_as_told(path: Path, part: _Part) -> bool:
    """Tell whether a part's file can be opened and has the picture that is told of it, as large and as long."""
    import av

    try:
        if path.stat().st_size != part.byte_size:
            return False
        with media.opened(path) as made:
            films = media.picture_streams(made)
            if [(film.codec_context.width, film.codec_context.height) for film in films] != [(part.width, part.height)]:
                return False
            times = [packet.pts * packet.time_base for packet in media.packets(made, *films) if packet.pts is not None]
    except (OSError, BadInputError, av.FFmpegError):
        return False
    return bool(times) and abs(float(max(times)) - (part.last_s - part.first_s)) < 2 * NEARLY_S


def _is_whole(folder: Path, parts: Sequence[_Part]) -> bool:
    """Tell whether the parts are all that there are of the film."""
    try:
        return (folder / _WHOLE).read_text(encoding="utf-8") == f"{len(parts)}"
    except OSError:
        return False


def _join(
    folder: Path,
    parts: Sequence[_Part],
    out_path: Path,
    container: InputContainer,
    *,
    lines: Lines,
    light: LightLimits,
    muted: Sequence[tuple[float, float]],
    watch: Watch,
) -> None:
    """Put the parts together, with the sound, which is coded at a stretch."""
    sounds, zero = media.sound_streams(container)[:1], media.zero_s(container)
    with FilmWriter(out_path, chapters=lines[0], light=light) as out:
        with media.opened(folder / "0.mp4") as first:
            film = out.joined(media.picture_streams(first)[0])
        track = out.sound(1) if sounds else None
        out.captions(lines[1])
        voice = Resampled(track, 0.0, math.inf, muted=muted) if track is not None else None
        heard = sound_packets(container, sounds, 0.0, zero)
        for number, part in enumerate(parts):
            with media.opened(folder / f"{number}.mp4") as made:
                for packet in media.packets(made, media.picture_streams(made)[0]):
                    if voice is not None and packet.pts is not None:
                        hear_until(voice, heard, part.first_s + float(packet.pts * packet.time_base), zero)
                    film.put(packet, Fraction(part.first_s))
                    watch.at(1.0, files.shown_name(out_path))
        if voice is not None:
            hear_until(voice, heard, math.inf, zero)
            voice.end()
        out.caption_until()
