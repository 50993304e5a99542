"""Write a stretch of a film with its picture coded anew."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from shutline.capture import files, frames, media
from shutline.capture.cut_shared import NEARLY_S, Cover, Cut, Lines, Watch, empty, seek
from shutline.capture.film_writer import FilmWriter
from shutline.capture.jpeg import upright
from shutline.capture.limits import LightLimits, limits
from shutline.capture.resampled import Resampled
from shutline.car.errors import BadInputError

if TYPE_CHECKING:
    from av import Packet
    from av.container import InputContainer
    from av.stream import Stream


def coded_again(
    path: Path,
    out_path: Path,
    container: InputContainer,
    start_s: float,
    end_s: float,
    *,
    cover: Cover | None,
    tells: Mapping[str, str] | None,
    lines: Lines,
    watch: Watch,
    light: LightLimits | None = None,
    muted: Sequence[tuple[float, float]] = (),
) -> Cut:
    """Write a stretch with its picture coded anew, frame by frame, upright, in BT.709 of eight bits.

    With `light` it is small, with fewer frames and one channel; `muted` are stretches without sound, seconds.
    """
    where = files.shown_name(path)
    sounds = media.sound_streams(container)[:1]
    zero = media.zero_s(container)
    length_s = min(end_s, media.promised_s(container) or end_s)
    pictures = frames_of(path, start_s, end_s)
    first = next(pictures, None)
    if first is None:
        raise BadInputError(empty(where, start_s, end_s))
    begin_s = first.at_s if start_s > 0 else 0.0
    last_s, gap_s = first.at_s, 0.0
    longest_side_px = limits().clips.longest_side_px if light is None else light.longest_side_px
    # A little less than the time between two frames, so that those of a film of that very rate all stay.
    least_gap_s = 0.0 if light is None else 0.9 / light.frames_per_s
    with FilmWriter(out_path, tells=tells, chapters=lines[0], light=light) as out:
        pixels = even(upright(first.image, longest_side_px=longest_side_px))
        film = out.picture(pixels.shape[1], pixels.shape[0])
        channels = min(2 if light is None else 1, sounds[0].codec_context.layout.nb_channels) if sounds else 0
        track = out.sound(channels) if sounds else None
        out.captions(lines[1])
        voice = Resampled(track, begin_s, end_s, muted=muted) if track is not None else None
        heard = sound_packets(container, sounds, begin_s, zero)
        frame: frames.Frame | None = first
        while frame is not None:
            if frame is not first:
                if frame.at_s - last_s < least_gap_s:
                    frame = next(pictures, None)
                    continue
                gap_s, last_s = frame.at_s - last_s, frame.at_s
                pixels = fitted(upright(frame.image, longest_side_px=longest_side_px), pixels.shape)
            if voice is not None:
                hear_until(voice, heard, frame.at_s, zero)
            film.put(pixels if cover is None else cover(pixels, frame.at_s), max(0.0, frame.at_s - begin_s))
            watch.at(0 if math.isinf(length_s) else (frame.at_s - begin_s) / max(length_s - begin_s, 1e-6), where)
            frame = next(pictures, None)
        film.end(last_s - begin_s)
        if voice is not None:
            hear_until(voice, heard, end_s, zero)
            voice.end()
        out.caption_until()
    shown_s = last_s + gap_s
    return Cut(
        start_s=begin_s,
        end_s=shown_s,
        early_s=start_s - begin_s,
        late_s=0.0 if math.isinf(end_s) else shown_s - end_s,
        exact=True,
    )


def frames_of(path: Path, start_s: float, end_s: float) -> Iterator[frames.Frame]:
    """Decode the frames of a stretch, run by run; what cannot be decoded is left out."""
    at_s = start_s
    with frames.open_film(path) as film:
        if film is None:
            return
        while at_s < end_s:
            until_s = min(end_s, at_s + limits().clips.piece_s)
            runs = film.runs(at_s, until_s)
            last_s = at_s
            for run in runs:
                if run.key_s >= until_s - NEARLY_S:
                    continue
                for frame in film.decode(run):
                    if at_s - NEARLY_S <= frame.at_s < end_s - NEARLY_S:
                        yield frame
                        last_s = max(last_s, frame.at_s + 2 * NEARLY_S)
            if not runs or (last_s == at_s and until_s >= (film.length_s or until_s)):
                return
            at_s = max(last_s, until_s if last_s == at_s else last_s)


def sound_packets(
    container: InputContainer, sounds: Sequence[Stream], begin_s: float, zero: Fraction
) -> Iterator[Packet[Stream]]:
    """Give the packets of a sound from a moment on."""
    if sounds:
        seek(container, max(0.0, begin_s - 0.5), zero)
        yield from media.packets(container, *sounds)


def hear_until(voice: Resampled, packets: Iterator[Packet[Stream]], at_s: float, zero: Fraction) -> None:
    """Hand on the sound up to a moment."""
    for packet in packets:
        voice.take(packet, zero)
        if packet.pts is not None and float(packet.pts * packet.time_base - zero) > at_s:
            return


def even(pixels: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    """Cut a picture to an even width and height."""
    return pixels[: max(2, pixels.shape[0] // 2 * 2), : max(2, pixels.shape[1] // 2 * 2)]


def fitted(pixels: npt.NDArray[np.uint8], shape: tuple[int, ...]) -> npt.NDArray[np.uint8]:
    """Bring a frame to the size of the first, which a film may leave in its middle."""
    import cv2

    if pixels.shape[0] - shape[0] in {0, 1} and pixels.shape[1] - shape[1] in {0, 1}:
        return pixels[: shape[0], : shape[1]]
    return np.asarray(cv2.resize(pixels, (shape[1], shape[0]), interpolation=cv2.INTER_AREA), np.uint8)
