"""Originals, what a look inside them shows, and the stills taken from them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What sort of original a file is."""

    FILM = "film"
    SOUND = "sound"
    TRANSCRIPT = "transcript"
    PICTURE = "picture"
    PAPER = "paper"


@dataclass(frozen=True, slots=True)
class Track:
    """One stream of a film or sound file.

    `kind` is ``video``, ``audio``, ``subtitle`` or ``data``. Fields that do not apply, or that the file does not tell,
    are None. `rotation_deg` is how far the picture must be turned clockwise to stand upright: 0, 90, 180 or 270.
    """

    index: int
    kind: str
    codec: str
    language: str | None = None
    width: int | None = None
    height: int | None = None
    rotation_deg: int | None = None
    frame_rate: float | None = None
    variable_rate: bool | None = None
    sample_rate_hz: int | None = None
    channels: int | None = None


@dataclass(frozen=True, slots=True)
class Probe:
    """What a look inside an original shows, without the private part.

    `length_s` is None where the file does not tell and it could not be found; `picture_size` is upright width and
    height in pixels. `recorded_at` is ISO 8601 as the file has it, with its offset where it has one.
    """

    kind: Kind
    container: str
    length_s: float | None = None
    picture_size: tuple[int, int] | None = None
    tracks: tuple[Track, ...] = ()
    recorded_at: str | None = None


@dataclass(frozen=True, slots=True)
class PrivateDetails:
    """What a file tells of place and device: kept, never published unless asked for.

    `latitude_deg` and `longitude_deg` are WGS 84.
    """

    latitude_deg: float | None = None
    longitude_deg: float | None = None
    device: str | None = None


@dataclass(frozen=True, slots=True)
class Original:
    """A file as it came in: named by its SHA-256, never changed."""

    sha256: str
    name: str
    byte_size: int
    kind: Kind
    linked: bool = False
    """True when the bytes stay where they were and only the way to them is kept."""


@dataclass(frozen=True, slots=True)
class Still:
    """One frame of a film kept as a picture.

    `at_s` is the frame's own time. `sharpness` and `steadiness` are the measures it was chosen by, comparable within
    one film only. `sha256` names the JPEG; `width` and `height` are pixels, upright.
    """

    at_s: float
    sha256: str
    width: int
    height: int
    sharpness: float
    steadiness: float
