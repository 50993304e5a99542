"""Small pictures: upright, bare, made once, and the picture they are of untouched."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from shutline.capture.small import LONGEST_SIDE_PX, kept_small, small_picture

_ORIENTATION, _MAKE = 0x0112, 0x010F
SHA = "ab" * 32


def picture(path: Path, *, size: tuple[int, int] = (1600, 1200), turned: int = 1, kind: str = "JPEG") -> Path:
    """A picture that is red on its left as it is stored, with tags."""
    pixels = np.zeros((size[1], size[0], 3), np.uint8)
    pixels[:, : size[0] // 2, 0] = 220
    image = Image.fromarray(pixels)
    exif = image.getexif()
    exif[_ORIENTATION], exif[_MAKE] = turned, "Lumen & Vale"
    image.save(path, kind, exif=exif)
    return path


def opened(data: bytes | None) -> Image.Image:
    assert data is not None
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_a_large_picture_becomes_small_and_says_nothing_else(tmp_path: Path, kind: str) -> None:
    small = opened(small_picture(picture(tmp_path / "one", kind=kind)))
    assert (small.format, small.size) == ("JPEG", (LONGEST_SIDE_PX, LONGEST_SIDE_PX * 3 // 4))
    assert dict(small.getexif()) == {}
    assert small.getpixel((40, 40))[0] > 180 > small.getpixel((600, 40))[0]  # type: ignore[index]


def test_a_picture_that_lies_is_turned_upright(tmp_path: Path) -> None:
    """Exif 2.32, orientation 6: row 0 is the right side, column 0 the top; what is stored left is seen on top."""
    small = opened(small_picture(picture(tmp_path / "one.jpg", turned=6)))
    assert small.size == (LONGEST_SIDE_PX * 3 // 4, LONGEST_SIDE_PX)
    assert small.getpixel((240, 20))[0] > 180 > small.getpixel((240, 620))[0]  # type: ignore[index]


def test_a_little_picture_is_made_no_larger(tmp_path: Path) -> None:
    assert opened(small_picture(picture(tmp_path / "one.png", size=(120, 80), kind="PNG"))).size == (120, 80)


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff\xe0 a JPEG that ends", b"GIF89a"])
def test_what_is_no_picture_gives_none(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "odd").write_bytes(data)
    assert small_picture(tmp_path / "odd") is None
    assert kept_small(tmp_path / "odd", tmp_path, SHA) is None
    assert not (tmp_path / "small").exists()


def test_a_picture_with_too_many_pixels_gives_none(tmp_path: Path) -> None:
    """A PNG that claims 40,000 by 40,000 pixels in its header; PNG, third edition, 11.2.1."""
    path = picture(tmp_path / "one.png", size=(8, 8), kind="PNG")
    data = bytearray(path.read_bytes())
    data[16:24] = (40_000).to_bytes(4, "big") * 2
    path.write_bytes(data)
    assert small_picture(path) is None


def test_it_is_made_once_and_the_picture_stays_as_it_is(tmp_path: Path) -> None:
    source = picture(tmp_path / "one.jpg")
    before = hashlib.sha256(source.read_bytes()).hexdigest()
    first = kept_small(source, tmp_path / "derived", SHA)
    assert first is not None
    made = first.stat().st_mtime_ns
    assert kept_small(source, tmp_path / "derived", SHA) == first
    assert first.stat().st_mtime_ns == made
    assert hashlib.sha256(source.read_bytes()).hexdigest() == before
    assert [path.name for path in first.parent.iterdir()] == [first.name]
