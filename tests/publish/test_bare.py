"""What a picture tells beside what it shows, read back by ExifRead, which shares no code with what wrote it."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import av
import exifread
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo

from shutline.capture.pictures import unpack
from shutline.capture.probe import probe
from shutline.car.errors import BadInputError
from shutline.car.recordings import PrivateDetails
from shutline.publish.bare import Tells, bare_picture

MakeFilm = Callable[..., Path]

WHERE = PrivateDetails(latitude_deg=51.51, longitude_deg=-0.125, device="Oakfield Lens Two")
# Words planted wherever a file can hold any; none may be left.
PLANTED = (b"ZZMAKE", b"ZZMODEL", b"ZZXMP", b"ZZIPTC", b"ZZTEXT", b"ZZNOTE", b"2026:03:14", b"ZZPROFILE")
XMP = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'><r>ZZXMP 51.5100 2026:03:14</r></x:xmpmeta>"


def scene(width: int = 300, height: int = 200) -> Image.Image:
    """Red above left, green above right, blue below left."""
    picture = Image.new("RGB", (width, height), "black")
    for colour, corner in (("red", (0, 0)), ("lime", (width // 2, 0)), ("blue", (0, height // 2))):
        picture.paste(Image.new("RGB", (width // 2, height // 2), colour), corner)
    return picture


def telling(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x0110], exif[0x0132] = orientation, "ZZMAKE", "ZZMODEL", "2026:03:14 09:30:00"
    exif.get_ifd(0x8769).update({0x9003: "2026:03:14 09:30:00", 0x927C: b"ZZNOTE"})
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 36.0), 3: "W", 4: (0.0, 7.0, 30.0)})
    return exif


def planted(form: str) -> bytes:
    """A picture with Exif, XMP, IPTC and texts in it, as far as its form can hold them."""
    out = io.BytesIO()
    if form == "PNG":
        texts = PngInfo()
        texts.add_text("Author", "ZZTEXT")
        texts.add_text("Place", "ZZTEXT", zip=True)
        texts.add_itxt("XML:com.adobe.xmp", XMP.decode())
        scene().save(out, "PNG", exif=telling(), pnginfo=texts)
    elif form == "WEBP":
        scene().save(out, "WEBP", exif=telling(), xmp=XMP, lossless=True)
    elif form == "TIFF":
        scene().save(out, "TIFF", exif=telling(), tiffinfo={700: XMP, 270: "ZZTEXT"})
    else:
        scene().save(out, form, exif=telling(), comment=b"ZZTEXT", quality=95, xmp=XMP)
        # IPTC as an image resource 0x0404 of application segment 13 (IPTC-NAA IIM 4.2): by-line and city.
        records = b"".join(b"\x1c\x02" + bytes([tag]) + struct.pack(">H", 6) + b"ZZIPTC" for tag in (80, 90))
        resource = b"8BIM\x04\x04\0\0" + struct.pack(">I", len(records)) + records + b"\0" * (len(records) % 2)
        segment = b"Photoshop 3.0\0" + resource
        data = out.getvalue()
        out = io.BytesIO(data[:2] + b"\xff\xed" + struct.pack(">H", len(segment) + 2) + segment + data[2:])
    return out.getvalue()


def bare(data: bytes, **more: object) -> bytes:
    made = bare_picture(data, longest_side_px=1600, quality=90, **more)  # type: ignore[arg-type]
    assert made is not None
    return made.jpeg


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_nothing_that_a_picture_tells_goes_out(form: str) -> None:
    data = planted(form)
    assert any(word in data for word in PLANTED)
    made = bare(data)
    assert exifread.process_file(io.BytesIO(made), details=True) == {}
    assert not [word for word in PLANTED if word in made]
    with Image.open(io.BytesIO(made)) as picture:
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert np.mean(np.abs(np.asarray(picture, int) - np.asarray(scene(), int))) < 3


def test_what_is_asked_for_goes_out_and_no_more() -> None:
    more = {"private": WHERE, "taken_at": "2026-03-14T09:30:00+01:00"}
    time = exifread.process_file(io.BytesIO(bare(planted("JPEG"), tells=Tells(time=True), **more)))
    assert {key: str(tag) for key, tag in time.items() if "DateTime" in key or "OffsetTime" in key} == {
        "EXIF DateTimeOriginal": "2026:03:14 09:30:00",
        "EXIF OffsetTimeOriginal": "+01:00",
    }
    assert not [key for key in time if "GPS" in key or "Make" in key]
    place = exifread.process_file(io.BytesIO(bare(planted("JPEG"), tells=Tells(place=True), **more)))
    assert exifread.utils.get_gps_coords(place) == pytest.approx((51.51, -0.125), abs=1e-5)
    assert not [key for key in place if "DateTime" in key or "Make" in key]
    device = exifread.process_file(io.BytesIO(bare(planted("JPEG"), tells=Tells(device=True), **more)))
    assert str(device["Image Make"]) == "Oakfield Lens Two"
    assert not [key for key in device if "DateTime" in key or "GPS" in key]


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_stands_upright_whichever_way_it_was_held(form: str, orientation: int) -> None:
    # How the eight orientations lie: Exif 2.32, table 6; the file holds the scene turned back.
    back = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }
    lying = scene() if orientation == 1 else scene().transpose(back[orientation])
    out = io.BytesIO()
    lying.save(out, form, exif=telling(orientation), **({"quality": 95} if form == "JPEG" else {"lossless": True}))
    pixels = unpack(io.BytesIO(out.getvalue()))
    assert pixels is not None
    assert pixels.shape == (200, 300, 3)
    assert np.mean(np.abs(pixels.astype(int) - np.asarray(scene(), int))) < 3


def heic(film: Path, *, turns: int = 0, exif: bytes = b"") -> bytes:
    """A HEIC of one HEVC key frame, turned by quarters against the clock (ISO/IEC 23008-12, 6.5.10), with Exif."""
    with av.open(str(film)) as source:
        stream = source.streams.video[0]
        hvcc = stream.codec_context.extradata
        coded = bytes(next(packet for packet in source.demux(stream) if packet.is_keyframe))

    def box(kind: bytes, *parts: bytes, full: bytes = b"") -> bytes:
        body = full + b"".join(parts)
        return struct.pack(">I", len(body) + 8) + kind + body

    zero = bytes(4)
    told = bytes(4) + exif
    items = [box(b"infe", struct.pack(">HH", 1, 0), b"hvc1\0", full=b"\x02\0\0\0")]
    items += [box(b"infe", struct.pack(">HH", 2, 0), b"Exif\0", full=b"\x02\0\0\1")] if exif else []
    size = box(b"ispe", struct.pack(">II", 320, 180), full=zero)
    properties = box(b"ipco", box(b"hvcC", hvcc), size, box(b"irot", bytes([turns])))
    links = box(b"ipma", struct.pack(">IHBBBB", 1, 1, 3, 0x81, 0x02, 0x83), full=zero)

    def meta(offset: int) -> bytes:
        places = struct.pack(">HHHII", 1, 0, 1, offset, len(coded))
        places += struct.pack(">HHHII", 2, 0, 1, offset + len(coded), len(told)) if exif else b""
        return box(
            b"meta",
            box(b"hdlr", zero, b"pict", bytes(12), b"\0", full=zero),
            box(b"pitm", struct.pack(">H", 1), full=zero),
            box(b"iloc", struct.pack(">BBH", 0x44, 0, len(items)), places, full=zero),
            box(b"iinf", struct.pack(">H", len(items)), *items, full=zero),
            box(b"iref", box(b"cdsc", struct.pack(">HHH", 2, 1, 1)), full=zero) if exif else b"",
            box(b"iprp", properties, links),
            full=zero,
        )

    front = box(b"ftyp", b"heic", zero, b"mif1heic")
    return front + meta(len(front) + len(meta(0)) + 8) + box(b"mdat", coded, told)


@pytest.mark.parametrize(("turns", "orientation"), [(0, 1), (3, 6), (1, 8), (2, 3)])
def test_a_heic_is_turned_once_and_tells_nothing(
    make_film: MakeFilm, tmp_path: Path, turns: int, orientation: int
) -> None:
    lying = np.asarray(scene(320, 180))
    film = make_film("turnheic.mov", codec="libx265", sound=None, frames=3, picture=lambda _: lying)
    data = heic(film, turns=turns, exif=telling(orientation).tobytes())
    path = tmp_path / "picture.heic"
    path.write_bytes(data)
    upright = np.rot90(lying, turns)
    seen, private, _ = probe(path)
    assert seen.picture_size == (upright.shape[1], upright.shape[0])
    assert private.device == "ZZMAKE ZZMODEL"
    assert seen.recorded_at == "2026-03-14T09:30:00"
    made = bare(data)
    assert not [word for word in PLANTED if word in made]
    assert exifread.process_file(io.BytesIO(made)) == {}
    with Image.open(io.BytesIO(made)) as picture:
        assert np.mean(np.abs(np.asarray(picture, int) - upright)) < 8


def test_colours_of_a_wide_profile_become_srgb() -> None:
    # sRGB with red and green changed over stands for any profile that is not sRGB.
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    wide = Image.new("RGB", (40, 30), (200, 40, 40))
    out = io.BytesIO()
    wide.save(out, "JPEG", quality=95, icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    with Image.open(io.BytesIO(bare(out.getvalue()))) as picture:
        assert "icc_profile" not in picture.info
        assert np.asarray(picture)[10, 10] == pytest.approx([200, 40, 40], abs=4)
    # A profile that does not fit the picture is left aside.
    out = io.BytesIO()
    wide.save(out, "JPEG", quality=95, icc_profile=profile)
    with Image.open(io.BytesIO(bare(out.getvalue()))) as picture:
        assert np.asarray(picture)[10, 10] == pytest.approx([200, 40, 40], abs=4)


@pytest.mark.parametrize("mode", ["L", "1", "P", "RGBA", "LA", "CMYK", "I;16"])
def test_pictures_of_any_make_up_become_plain_ones(mode: str) -> None:
    grey = Image.new("L", (40, 30), 180)
    if mode == "I;16":
        picture = Image.fromarray(np.full((30, 40), 180 * 257, np.uint16))
    elif mode in {"RGBA", "LA"}:
        picture = grey.convert(mode)
        picture.putalpha(255)
    else:
        picture = (grey.point(lambda _: 255) if mode == "1" else grey).convert(mode)
    out = io.BytesIO()
    picture.save(out, "TIFF" if mode == "CMYK" else "PNG")
    pixels = unpack(io.BytesIO(out.getvalue()))
    assert pixels is not None
    assert pixels[10, 10] == pytest.approx([255 if mode == "1" else 180] * 3, abs=2)


def test_of_a_picture_cut_off_what_is_there_goes_out() -> None:
    out = io.BytesIO()
    Image.fromarray(np.random.default_rng(4).integers(0, 255, (200, 300, 3), dtype=np.uint8)).save(out, "JPEG")
    pixels = unpack(io.BytesIO(out.getvalue()[: len(out.getvalue()) // 2]))
    assert pixels is not None
    assert pixels.shape == (200, 300, 3)
    assert pixels[:60].std() > 30


def test_a_small_copy_of_a_large_picture_is_as_large_as_asked() -> None:
    out = io.BytesIO()
    scene(3000, 2000).save(out, "JPEG")
    made = bare_picture(out.getvalue(), longest_side_px=600, quality=80)
    assert made is not None
    assert (made.width, made.height) == (600, 400)


def test_a_cover_is_laid_on_the_picture_as_it_goes_out() -> None:
    def cover(pixels: np.ndarray) -> np.ndarray:
        covered = pixels.copy()
        covered[:, : covered.shape[1] // 2] = 128
        return covered

    with Image.open(io.BytesIO(bare(planted("JPEG"), cover=cover))) as picture:
        pixels = np.asarray(picture, int)
    assert pixels[20, 20] == pytest.approx([128] * 3, abs=3)
    assert pixels[20, 280] == pytest.approx([0, 255, 0], abs=12)


def _png(*chunks: tuple[bytes, bytes], size: tuple[int, int] = (10, 10)) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = zlib.compress((b"\0" + b"\x80" * 30) * 10)
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", *size, 8, 2, 0, 0, 0))
    body = b"".join(chunk(*one) for one in chunks)
    return b"\x89PNG\r\n\x1a\n" + head + body + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


BOMB = zlib.compress(bytes(100_000_000), 9)


@pytest.mark.parametrize(
    "data",
    [
        _png((b"zTXt", b"Comment\0\0" + BOMB)),
        _png((b"iTXt", b"XML:com.adobe.xmp\0\1\0\0\0" + BOMB)),
        _png((b"iCCP", b"x\0\0" + BOMB)),
        _png((b"eXIf", b"MM\0*" + b"\xff" * 400)),
        _png((b"eXIf", b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\xff\xff\xff\xff\0\0\0\0")),
        _png((b"tEXt", b"A" * 5_000_000)),
    ],
    ids=["text bomb", "xmp bomb", "profile bomb", "exif of nonsense", "exif of four thousand million", "long text"],
)
def test_hostile_metadata_ends_in_a_picture_or_a_plain_error(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "hostile.png"
    path.write_bytes(data)
    refused = None
    try:
        size = probe(path)[0].picture_size
    except BadInputError as error:
        refused, size = error.problem.slug, None
    assert refused == "picture-unreadable" or size == (10, 10)
    made = bare_picture(data, longest_side_px=100, quality=80)
    assert made is None or len(made.jpeg) < 5_000


@given(st.integers(0, 2**32 - 1))
def test_flipped_bits_end_in_a_picture_or_in_none(seed: int) -> None:
    random = np.random.default_rng(seed)
    data = bytearray(planted("JPEG"))
    for at in random.integers(0, len(data), 40):
        data[at] ^= 1 << int(random.integers(8))
    made = bare_picture(bytes(data), longest_side_px=300, quality=80)
    assert made is None or made.jpeg.startswith(b"\xff\xd8")


@pytest.mark.parametrize("size", [(20_000, 15_000), (1, 300_000_000)])
def test_a_picture_of_three_hundred_megapixels_is_not_unpacked(tmp_path: Path, size: tuple[int, int]) -> None:
    data = _png(size=size)
    path = tmp_path / "large.png"
    path.write_bytes(data)
    with pytest.raises(BadInputError) as caught:
        probe(path)
    assert caught.value.problem.slug in {"picture-too-large", "picture-unreadable"}
    assert bare_picture(data, longest_side_px=100, quality=80) is None


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff", b"GIF89a"])
def test_what_is_no_picture_gives_none(data: bytes) -> None:
    assert bare_picture(data, longest_side_px=100, quality=80) is None


def test_the_ending_of_a_name_does_not_decide(tmp_path: Path) -> None:
    path = tmp_path / "picture.png"
    scene().save(path, "JPEG")
    assert probe(path)[0].container == "jpeg"
