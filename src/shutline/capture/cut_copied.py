"""Write a stretch of a recording with its packets as they are."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.capture import files, media
from shutline.capture.cut_shared import NEARLY_S, Cut, Lines, Watch, codec_of, empty, seek
from shutline.capture.film_writer import COPIED_SOUND, FilmWriter
from shutline.capture.resampled import Resampled
from shutline.car.errors import BadInputError

if TYPE_CHECKING:
    from av import Packet
    from av.container import InputContainer
    from av.stream import Stream

# Packets come in another order than the frames in them are shown.
_REORDER_S = 1.0


def copied(
    path: Path,
    out_path: Path,
    container: InputContainer,
    start_s: float,
    end_s: float,
    *,
    tells: Mapping[str, str] | None,
    lines: Lines,
    watch: Watch,
) -> Cut:
    """Write a stretch with its packets as they are; sound that an MP4 does not hold is coded anew."""
    where = files.shown_name(path)
    films, sounds = media.picture_streams(container)[:1], media.sound_streams(container)
    copied = [stream for stream in sounds if codec_of(stream) in COPIED_SOUND]
    coded = [] if copied else list(sounds[:1])
    zero = media.zero_s(container)
    begin_s = _key_before(container, films[0], start_s, zero) if films and start_s > 0 else start_s
    if begin_s is None:
        raise BadInputError(empty(where, start_s, end_s))
    length_s = min(end_s, media.promised_s(container) or end_s)
    with FilmWriter(out_path, tells=tells, chapters=lines[0]) as out:
        tracks = {stream.index: out.copied(stream) for stream in (*films, *copied)}
        anew = {stream.index: out.sound(min(2, stream.codec_context.layout.nb_channels)) for stream in coded}
        out.captions(lines[1])
        resamplers = {index: Resampled(track, begin_s, end_s) for index, track in anew.items()}
        gates = {stream.index: _Gate(stream, begin_s, end_s, zero) for stream in (*films, *copied)}
        seek(container, begin_s, zero)
        for packet in media.packets(container, *films, *copied, *coded):
            index = packet.stream.index
            if index in resamplers:
                resamplers[index].take(packet, zero)
                continue
            gate = gates[index]
            for ready in gate.take(packet):
                tracks[index].put(ready, zero + Fraction(begin_s))
            watch.at(0 if math.isinf(length_s) else (gate.reached_s - begin_s) / max(length_s - begin_s, 1e-6), where)
            if all(one.done for one in gates.values()):
                break
        for one in resamplers.values():
            one.end()
        out.caption_until()
        ends = [gate.end_s for gate in gates.values() if gate.end_s is not None]
        ends += [one.reached_s for one in resamplers.values() if one.reached_s]
    if not ends:
        raise BadInputError(empty(where, start_s, end_s))
    shown = next((gates[film.index].end_s for film in films), None) or max(ends)
    return Cut(
        start_s=begin_s,
        end_s=shown,
        early_s=start_s - begin_s,
        late_s=0.0 if math.isinf(end_s) else max(0.0, shown - end_s),
        exact=False,
    )


class _Gate:
    """Lets through what a stretch needs of one track: from a key frame on, with what the last frame hangs on."""

    def __init__(self, stream: Stream, begin_s: float, end_s: float, zero: Fraction) -> None:
        self._picture = stream.type == "video"
        self._begin_s, self._end_s, self._zero = begin_s, end_s, zero
        self._open = False
        self._held: list[Packet[Stream]] = []
        self._last_s = 0.0
        self.done = False
        self.reached_s = begin_s
        self.end_s: float | None = None

    def take(self, packet: Packet[Stream]) -> Iterator[Packet[Stream]]:
        at = packet.pts if packet.pts is not None else packet.dts
        if at is None or self.done:
            return
        tick = packet.time_base
        at_s = float(at * tick - self._zero)
        lasts_s = float((packet.duration or 0) * tick)
        coded_s = float(packet.dts * tick - self._zero) if packet.dts is not None else at_s
        self.reached_s = max(self.reached_s, coded_s)
        if coded_s > self._end_s + (_REORDER_S if self._picture else 0):
            self.done = True
            return
        if not self._open:
            key = not self._picture or packet.is_keyframe
            self._open = key and at_s >= self._begin_s - max(NEARLY_S, 0 if self._picture else lasts_s)
            if not self._open:
                return
        if self._picture and at_s < self._begin_s - NEARLY_S:
            # It belongs to the run before and cannot be shown without it.
            return
        self._held.append(packet)
        # A frame past the end that others hang on is shown too, and then all frames before it.
        if at_s < max(self._end_s - NEARLY_S, self._last_s):
            for one in self._held:
                shown_s = float((one.pts if one.pts is not None else one.dts or 0) * tick - self._zero)
                self._last_s = max(self._last_s, shown_s)
                self.end_s = max(self.end_s or 0.0, shown_s + float((one.duration or 0) * tick))
                yield one
            self._held = []


def _key_before(container: InputContainer, stream: Stream, start_s: float, zero: Fraction) -> float | None:
    """Give the time of the last key frame not later than a moment, or of the first of the film where there is none."""
    found: float | None = None
    for earlier_s in (0.0, 12.0, start_s):
        seek(container, max(0.0, start_s - earlier_s), zero)
        found = None
        for packet in media.packets(container, stream):
            at = packet.pts if packet.pts is not None else packet.dts
            if at is None:
                continue
            at_s = float(at * packet.time_base - zero)
            if packet.is_keyframe and (found is None or at_s <= start_s + NEARLY_S):
                found = at_s
            if at_s > start_s + _REORDER_S:
                break
        if found is not None and found <= start_s + NEARLY_S:
            return found
    return found
