"""Look inside a film or a sound: length, tracks, rotation, when and where; and whether all of it is there."""

from __future__ import annotations

import itertools
import re
import statistics
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.capture import files, media, place, whole
from shutline.capture.limits import limits
from shutline.car.errors import BadInputError, Problem
from shutline.car.recordings import Kind, PrivateDetails, Probe, Track

if TYPE_CHECKING:
    from av import AudioStream, VideoStream
    from av.container import InputContainer
    from av.stream import Stream

_SOUND_ENDINGS = frozenset({".m4a", ".m4b", ".mka", ".weba", ".oga", ".opus"})
_PLACES = ("com.apple.quicktime.location.iso6709", "location", "location-eng")
_MAKERS = ("com.apple.quicktime.make", "com.android.manufacturer", "make")
_MODELS = ("com.apple.quicktime.model", "com.android.model", "model")
_MOMENTS = ("com.apple.quicktime.creationdate", "creation_time", "date_recorded", "date")
_CLOCK = re.compile(r"\d{2}:\d{2}:\d{2}\Z")
_CONTAINERS = {"mov,mp4,m4a,3gp,3g2,mj2": "mp4", "matroska,webm": "matroska"}


def probe_recording(path: Path) -> tuple[Probe, PrivateDetails, tuple[Problem, ...]]:
    """Look inside a film or a sound; see `probe.probe`."""
    with files.opened(path) as file:
        wholeness = whole.look(file)
        head = file.read(64)
    if wholeness.index_missing:
        raise BadInputError(_nothing_left(path, wholeness))
    with media.opened(path) as container:
        films = media.picture_streams(container)
        sounds = media.sound_streams(container)
        if not films and not sounds:
            raise BadInputError(media.not_a_recording(path, "a file without picture or sound that can be read"))
        first = _first_packets(container, (*films, *sounds))
        if not first.decoded:
            raise BadInputError(
                _nothing_left(path, wholeness)
                if wholeness.cut_off
                else media.not_a_recording(path, "a file in which no picture and no sound can be read")
            )
        tags = _tags(container)
        tracks = tuple(_track(stream, first) for stream in container.streams)
        film = next((track for track in tracks if films and track.index == films[0].index), None)
        length_s, problems = _length(path, container, wholeness)
        kind = Kind.FILM if films else Kind.SOUND
        seen = Probe(
            kind=kind,
            container=_container_name(container, head),
            length_s=length_s,
            picture_size=_upright_size(film) if film else None,
            tracks=tracks,
            recorded_at=_recorded_at(tags),
        )
    problems += _missing_tracks(path, seen, head)
    return seen, _private(tags), problems


class _First:
    """What the first packets show: rotation by stream, gaps between frames, whether anything could be decoded."""

    def __init__(self) -> None:
        self.rotation_deg: dict[int, int] = {}
        self.times: dict[int, list[Fraction]] = {}
        self.sound_decoded = False

    @property
    def decoded(self) -> bool:
        return self.sound_decoded or bool(self.rotation_deg)


def _first_packets(container: InputContainer, streams: tuple[Stream, ...]) -> _First:
    import av

    first = _First()
    pixels = limits().film.max_megapixels * 1e6
    counts = dict.fromkeys((stream.index for stream in streams), 0)
    for packet in media.packets(container, *streams):
        stream = packet.stream
        counts[stream.index] += 1
        if packet.pts is not None and packet.time_base:
            first.times.setdefault(stream.index, []).append(packet.pts * packet.time_base)
        try:
            if stream.type == "audio" and not first.sound_decoded:
                first.sound_decoded = any(packet.decode())
            elif stream.type == "video" and stream.index not in first.rotation_deg:
                video: VideoStream = stream  # type: ignore[assignment]
                if video.codec_context.width * video.codec_context.height > pixels:
                    first.rotation_deg[stream.index] = 0
                    continue
                for frame in packet.decode():
                    # PyAV counts turns against the clock; the record with it.
                    first.rotation_deg[stream.index] = -round(frame.rotation / 90) * 90 % 360  # type: ignore[union-attr]
                    break
        except av.FFmpegError:
            continue
        if min(counts.values()) >= limits().film.probe_packets:
            break
        if max(counts.values()) >= 8 * limits().film.probe_packets and first.decoded:
            break
    for film in media.picture_streams(container):
        if film.index not in first.rotation_deg:
            _drain_first(film, first)
    return first


def _drain_first(stream: VideoStream, first: _First) -> None:
    """Ask a decoder for a frame it still holds, as it does of a film of very few frames."""
    import av

    try:
        frames = stream.codec_context.decode(None)
    except av.FFmpegError:
        return
    for frame in frames[:1]:
        first.rotation_deg[stream.index] = -round(frame.rotation / 90) * 90 % 360


def _track(stream: Stream, first: _First) -> Track:
    language = stream.language
    if not media.is_readable(stream):
        return Track(stream.index, stream.type, "unknown", language=language)
    codec = stream.codec_context.codec.canonical_name
    track = Track(
        index=stream.index,
        kind=stream.type if stream.type in {"video", "audio", "subtitle"} and not media.is_cover(stream) else "data",
        codec=codec,
        language=None if language in {None, "", "und"} else language,
    )
    if track.kind == "video":
        video: VideoStream = stream  # type: ignore[assignment]
        return replace(
            track,
            width=video.codec_context.width,
            height=video.codec_context.height,
            rotation_deg=first.rotation_deg.get(stream.index),
            frame_rate=float(video.average_rate) if video.average_rate else None,
            variable_rate=_is_variable(first.times.get(stream.index, ()), stream.time_base),
        )
    if track.kind == "audio":
        audio: AudioStream = stream  # type: ignore[assignment]
        return replace(
            track, sample_rate_hz=audio.codec_context.sample_rate, channels=audio.codec_context.layout.nb_channels
        )
    return track


def _is_variable(times: Iterable[Fraction], tick: Fraction | None) -> bool | None:
    ordered = sorted(times)
    # The last few may wait for frames that belong before them and were not read.
    gaps = [float(later - earlier) for earlier, later in itertools.pairwise(ordered[:-8])]
    if len(gaps) < 8:
        return None
    middle = statistics.median(gaps)
    slack = max(limits().film.variable_rate_share * middle, 1.5 * float(tick or 0))
    return any(abs(gap - middle) > slack for gap in gaps)


def _upright_size(track: Track) -> tuple[int, int] | None:
    if not track.width or not track.height:
        return None
    return (track.height, track.width) if track.rotation_deg in {90, 270} else (track.width, track.height)


def _length(
    path: Path, container: InputContainer, wholeness: whole.Wholeness
) -> tuple[float | None, tuple[Problem, ...]]:
    promised = media.promised_s(container)
    found = _reach(container, wholeness, promised)
    if found is None:
        return promised, ()
    missing = promised is not None and found < promised - limits().film.cut_tolerance_s
    if not missing and not wholeness.cut_off:
        # The header knows the last frame's own duration; the last packet does not always.
        return (found if promised is None else promised), ()
    told = f"{promised:.1f} s promised, {found:.1f} s there"
    if not missing and wholeness.promised_bytes is not None:
        told = f"{wholeness.promised_bytes} bytes promised, {wholeness.byte_size} there ({found:.1f} s)"
    elif not missing:
        told = f"{found:.1f} s, and no mark that it ends there"
    return found, (
        Problem(
            slug="cut-off",
            where=files.shown_name(path),
            found=told,
            allowed="what is there is used; what came after it is not known",
            advice="Copy it from the camera again, or film the rest.",
        ),
    )


def _reach(container: InputContainer, wholeness: whole.Wholeness, promised: float | None) -> float | None:
    """Give the time, seconds from the start, to which packets can be read; None when the header may be trusted."""
    streams: tuple[Stream, ...] = (*media.picture_streams(container), *media.sound_streams(container))
    zero = media.zero_s(container)
    indexed = container.format.name.startswith("mov") and not wholeness.in_pieces
    if indexed:
        if not wholeness.cut_off:
            return None
        return max((_indexed_end(stream, wholeness.byte_size, zero) for stream in streams), default=0.0)
    if container.format.name.startswith("matroska") and promised is not None and not wholeness.cut_off:
        return None
    container.seek(0)
    ends = (
        (packet.pts + (packet.duration or 0)) * packet.time_base - zero
        for packet in media.packets(container, *streams)
        if packet.pts is not None and packet.time_base
    )
    return float(max(ends, default=0))


def _indexed_end(stream: Stream, byte_size: int, zero: Fraction) -> float:
    entries = stream.index_entries
    for at in range(len(entries) - 1, -1, -1):
        entry = entries[at]
        if entry.pos + entry.size <= byte_size and stream.time_base:
            step = entries[at + 1].timestamp - entry.timestamp if at + 1 < len(entries) else 0
            return float((entry.timestamp + step) * stream.time_base - zero)
    return 0.0


def _missing_tracks(path: Path, seen: Probe, head: bytes) -> tuple[Problem, ...]:
    where = files.shown_name(path)
    kinds = {track.kind for track in seen.tracks}
    problems = []
    if seen.kind is Kind.FILM and "audio" not in kinds:
        problems.append(media.no_sound_track(path))
    named_as_sound = path.suffix.lower() in _SOUND_ENDINGS or head[8:12] == b"M4A "
    if seen.kind is Kind.SOUND and seen.container in {"mp4", "mov", "matroska", "webm"} and not named_as_sound:
        problems.append(
            Problem(
                slug="no-picture-track",
                where=where,
                found="a film without a picture track",
                allowed="what was said is read; no stills can be taken",
                advice="Add pictures, or film again with the picture on.",
            )
        )
    return tuple(problems)


def _nothing_left(path: Path, wholeness: whole.Wholeness) -> Problem:
    promised = f" of {wholeness.promised_bytes}" if wholeness.promised_bytes and wholeness.cut_off else ""
    return Problem(
        slug="cut-off",
        where=files.shown_name(path),
        found=f"{wholeness.byte_size}{promised} bytes, without the table that says where picture and sound lie",
        allowed="a recording with its table; without it nothing in the file can be found",
        advice="Copy it from the camera again; if it stopped while filming, let the camera's own repair mend it.",
    )


def _container_name(container: InputContainer, head: bytes) -> str:
    name = container.format.name
    if name.startswith("mov"):
        return "mov" if head[8:12] == b"qt  " or head[4:8] != b"ftyp" else "mp4"
    if name.startswith("matroska"):
        return "webm" if b"webm" in head else "matroska"
    return name.split(",")[0]


def _tags(container: InputContainer) -> dict[str, str]:
    tags: dict[str, str] = {}
    for source in (container.metadata, *(stream.metadata for stream in container.streams)):
        for key, value in source.items():
            tags.setdefault(key.lower(), value)
    return tags


def _recorded_at(tags: dict[str, str]) -> str | None:
    day, clock = tags.get("date", ""), tags.get("creation_time", "")
    # Broadcast WAV keeps the day and the clock apart (EBU Tech 3285, OriginationDate and OriginationTime).
    if _CLOCK.match(clock):
        return place.read_moment(f"{day}T{clock}")
    moments = (place.read_moment(tags[key]) for key in _MOMENTS if len(tags.get(key, "")) >= 10)
    return next((moment for moment in moments if moment is not None), None)


def _private(tags: dict[str, str]) -> PrivateDetails:
    points = (place.read_point(tags[key]) for key in _PLACES if key in tags)
    point = next((point for point in points if point is not None), None)
    names = [next((tags[key].strip() for key in keys if tags.get(key, "").strip()), "") for keys in (_MAKERS, _MODELS)]
    return PrivateDetails(
        latitude_deg=point[0] if point else None,
        longitude_deg=point[1] if point else None,
        device=" ".join(name for name in names if name) or None,
    )
