"""A small copy of a film that is made part by part, so that one which was stopped goes on where it was."""

from __future__ import annotations

import json
import math
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

    `byte_size` is that of its file: one that a power cut left short is made anew.
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
    """Make one part; what tells of it is written last, so that half a part is none."""
    first_s, where = ahead.frame.at_s, files.shown_name(path)
    until_s = first_s + limits().clips.piece_s
    aside = there.with_suffix(".making")
    with FilmWriter(aside, light=light) as out:
        pixels = even(upright(ahead.frame.image, longest_side_px=light.longest_side_px))
        shape = pixels.shape if shape is None else shape
        film = out.picture(shape[1], shape[0])
        here: _Ahead | None = ahead
        while here is not None and here.frame.at_s < until_s:
            frame, last_s, gap_s = here.frame, here.frame.at_s, here.gap_s
            pixels = fitted(even(upright(frame.image, longest_side_px=light.longest_side_px)), shape)
            film.put(pixels if cover is None else cover(pixels, frame.at_s), frame.at_s - first_s)
            watch.at(0 if math.isinf(length_s) else frame.at_s / max(length_s, 1e-6), where)
            here = _ahead(here.rest)
        film.end(last_s - first_s)
    aside.replace(there.with_suffix(".mp4"))
    size = there.with_suffix(".mp4").stat().st_size
    part = _Part(first_s, last_s, gap_s, shape[1], shape[0], size)
    told = there.with_suffix(".told")
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
        return part if there.with_suffix(".mp4").stat().st_size == part.byte_size else None
    except (OSError, ValueError, KeyError):
        return None


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
