"""Look inside a picture: upright size, when and where it was taken; and whether all of it is there."""

from __future__ import annotations

import contextlib
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from shutline.capture import files, place
from shutline.capture.limits import limits
from shutline.car.errors import BadInputError, Problem
from shutline.car.recordings import Kind, PrivateDetails, Probe

if TYPE_CHECKING:
    from PIL import Image

_HEIF_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"})
_AVIF_BRANDS = frozenset({b"avif", b"avis"})
_FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP", "AVIF", "MPO")
# Tags of Exif 2.32.
_ORIENTATION, _MAKE, _MODEL, _CHANGED, _EXIF, _GPS = 0x0112, 0x010F, 0x0110, 0x0132, 0x8769, 0x8825
_TAKEN, _TAKEN_OFFSET = 0x9003, 0x9011
_GPS_LATITUDE_REF, _GPS_LATITUDE, _GPS_LONGITUDE_REF, _GPS_LONGITUDE = 1, 2, 3, 4
_LYING = frozenset({5, 6, 7, 8})


def is_picture(head: bytes) -> bool:
    """Tell from its first 32 bytes whether a file is a picture of a kind that is taken in."""
    return (
        head.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"GIF87a", b"GIF89a", b"II*\x00", b"MM\x00*"))
        or (head[:4] == b"RIFF" and head[8:12] == b"WEBP")
        or (head[:2] == b"BM" and len(head) >= 18 and head[6:10] == bytes(4) and 12 <= head[14] <= 124)
        or (head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS | _AVIF_BRANDS)
    )


def probe_picture(path: Path) -> tuple[Probe, PrivateDetails, tuple[Problem, ...]]:
    """Look inside a picture; see `probe.probe`."""
    problems: list[Problem] = []
    with files.opened(path) as file, quiet():
        try:
            picture = open_picture(file)
        except Exception as trouble:
            if _is_bomb(trouble):
                raise BadInputError(_too_large(path, "more than the reader of pictures allows")) from trouble
            raise BadInputError(_unreadable(path)) from trouble
        with picture:
            width, height = picture.size
            if width * height > limits().picture.max_megapixels * 1e6:
                raise BadInputError(_too_large(path, f"{width} x {height} pixels"))
            exif = _exif(picture)
            frames = _frame_count(picture)
            if frames > 1:
                problems.append(_several(path, frames))
            if not _decodes(picture):
                problems.append(_cut_off(path))
            # What turns a HEIF stands in its own boxes and is done; its Exif says it again (ISO/IEC 23008-12, 6.5.10).
            lying = picture.format != "HEIF" and exif.get(_ORIENTATION) in _LYING
            seen = Probe(
                kind=Kind.PICTURE,
                container=(picture.format or "unknown").lower(),
                picture_size=(height, width) if lying else (width, height),
                recorded_at=_taken_at(exif),
            )
            private = _private(exif)
    return seen, private, tuple(problems)


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Keep Pillow's remarks on damaged tags and large pictures from the user: both are judged here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def open_picture(file: BinaryIO) -> Image.Image:
    """Open a picture of a kind that is taken in; its header is read, and of HEIF all, where its size is allowed."""
    from PIL import Image

    head = file.read(12)
    file.seek(0)
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS:
        return _open_heif(file)
    return Image.open(file, formats=_FORMATS)


def _open_heif(file: BinaryIO) -> Image.Image:
    """Read the header of a HEIF picture and decode it only when its size is allowed."""
    import pi_heif
    from PIL import Image

    heif = pi_heif.open_heif(file, convert_hdr_to_8bit=True)
    width, height = heif.size
    if width * height > limits().picture.max_megapixels * 1e6:
        raise Image.DecompressionBombError
    picture: Image.Image = heif.to_pillow()
    picture.format = "HEIF"
    if heif.info.get("exif"):
        picture.info["exif"] = heif.info["exif"]
    return picture


def _is_bomb(trouble: Exception) -> bool:
    from PIL import Image

    return isinstance(trouble, Image.DecompressionBombError)


def _frame_count(picture: Image.Image) -> int:
    if picture.format == "MPO":
        # A phone's JPEG with a depth map or a small copy behind it shows one picture.
        return 1
    try:
        return int(getattr(picture, "n_frames", 1))
    except (OSError, EOFError, ValueError, SyntaxError):
        return 1


def _decodes(picture: Image.Image) -> bool:
    from PIL import Image

    try:
        # A JPEG is read to its end all the same, at an eighth of its size.
        picture.draft("RGB", (max(1, picture.width // 8), max(1, picture.height // 8)))
        picture.load()
    except Image.DecompressionBombError:
        raise
    except (OSError, EOFError, ValueError, SyntaxError, IndexError, TypeError, OverflowError):
        return False
    return True


def _exif(picture: Image.Image) -> dict[int, Any]:
    """Give the tags of the picture, of its Exif part and of its place, the last two under their pointers' tags."""
    tags: dict[int, Any] = {}
    try:
        exif = picture.getexif()
        tags.update(exif)
        tags[_EXIF] = dict(exif.get_ifd(_EXIF))
        tags[_GPS] = dict(exif.get_ifd(_GPS))
    except Exception:  # noqa: BLE001 - Pillow lets any error of a damaged tag through; the picture itself may be good
        tags.setdefault(_EXIF, {})
        tags.setdefault(_GPS, {})
    return tags


def _taken_at(exif: dict[int, Any]) -> str | None:
    inner = exif[_EXIF] if isinstance(exif.get(_EXIF), dict) else {}
    taken = place.read_moment(f"{inner.get(_TAKEN, '')}")
    if taken is not None:
        return place.read_moment(f"{taken}{inner.get(_TAKEN_OFFSET, '')}") or taken
    return place.read_moment(f"{exif.get(_CHANGED, '')}")


def _private(exif: dict[int, Any]) -> PrivateDetails:
    gps = exif[_GPS] if isinstance(exif.get(_GPS), dict) else {}
    point = None
    # Damaged tags hold texts, too few figures, or fractions over nought.
    with contextlib.suppress(KeyError, TypeError, ValueError, ZeroDivisionError, AttributeError):
        point = place.on_globe(
            place.degrees_of(gps[_GPS_LATITUDE], gps[_GPS_LATITUDE_REF]),
            place.degrees_of(gps[_GPS_LONGITUDE], gps[_GPS_LONGITUDE_REF]),
        )
    names = (f"{exif.get(tag, '')}".strip().strip("\x00") for tag in (_MAKE, _MODEL))
    return PrivateDetails(
        latitude_deg=point[0] if point else None,
        longitude_deg=point[1] if point else None,
        device=" ".join(name for name in names if name) or None,
    )


def _too_large(path: Path, found: str) -> Problem:
    return Problem(
        slug="picture-too-large",
        where=files.shown_name(path),
        found=found,
        allowed=f"pictures of at most {limits().picture.max_megapixels:g} million pixels",
        advice="Make it smaller with the program it comes from; it was not unpacked.",
    )


def _unreadable(path: Path) -> Problem:
    return Problem(
        slug="picture-unreadable",
        where=files.shown_name(path),
        found="it begins like a picture, and its header cannot be read",
        allowed="JPEG, PNG, WebP, HEIF, AVIF, TIFF, GIF or BMP",
        advice="Open it to see that it is whole, or copy it from the camera again.",
    )


def _several(path: Path, frames: int) -> Problem:
    return Problem(
        slug="several-pictures",
        where=files.shown_name(path),
        found=f"{frames} pictures in one file",
        allowed="the first is used",
        advice="Save the others as files of their own if they are wanted.",
    )


def _cut_off(path: Path) -> Problem:
    return Problem(
        slug="picture-cut-off",
        where=files.shown_name(path),
        found="a part of the picture is missing or damaged",
        allowed="it is kept as it came; the missing part shows nothing",
        advice="Copy it from the camera again.",
    )
