from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from shutline.capture.probe import probe
from shutline.car.errors import BadInputError
from shutline.car.recordings import Kind

MakeFilm = Callable[..., Path]

SOUNDS = [
    ("a.wav", "pcm_s16le", "wav", "pcm_s16le"),
    ("a.mp3", "libmp3lame", "mp3", "mp3"),
    ("a.m4a", "aac", "mp4", "aac"),
    ("a.flac", "flac", "flac", "flac"),
    ("a.ogg", "libopus", "ogg", "opus"),
]
FILMS = [
    ("a.mp4", "libx264", "aac", "mp4", "h264"),
    ("a.mov", "libx265", "aac", "mov", "hevc"),
    ("a.webm", "libvpx-vp9", "libopus", "webm", "vp9"),
    ("a.mkv", "libx264", "libopus", "matroska", "h264"),
    ("av1.mp4", "libsvtav1", "aac", "mp4", "av1"),
]


def _slugs(problems) -> list[str]:
    return [problem.slug for problem in problems]


def _cut(path: Path, folder: Path, share: float) -> Path:
    data = path.read_bytes()
    cut = folder / f"cut-{path.name}"
    cut.write_bytes(data[: int(len(data) * share)])
    return cut


@pytest.mark.parametrize("row", FILMS)
def test_each_kind_of_film_is_known(make_film: MakeFilm, row: tuple[str, ...]) -> None:
    name, encoder, sound, container, codec = row
    seen, private, problems = probe(make_film(name, codec=encoder, sound=sound, frames=40))
    assert (seen.kind, seen.container, problems) == (Kind.FILM, container, ())
    assert seen.length_s == pytest.approx(40 / 30, abs=0.08)
    assert seen.picture_size == (320, 180)
    film, track = seen.tracks
    assert (film.codec, film.rotation_deg, film.variable_rate) == (codec, 0, False)
    assert film.frame_rate == pytest.approx(30, abs=0.1)
    assert (track.kind, track.sample_rate_hz, track.channels) == ("audio", 48_000, 1)
    assert private.latitude_deg is None


@pytest.mark.parametrize(("name", "encoder", "container", "codec"), SOUNDS)
def test_each_kind_of_sound_is_known(make_film: MakeFilm, name, encoder, container, codec) -> None:
    seen, _, problems = probe(make_film(name, codec=None, sound=encoder, sound_s=3.0))
    assert (seen.kind, seen.container, problems) == (Kind.SOUND, container, ())
    assert seen.length_s == pytest.approx(3.0, abs=0.05)
    assert [track.codec for track in seen.tracks] == [codec]


@pytest.mark.parametrize(("rotation", "size"), [(90, (180, 320)), (180, (320, 180)), (270, (180, 320))])
def test_a_turned_film_has_its_upright_size(make_film: MakeFilm, rotation: int, size: tuple[int, int]) -> None:
    seen, _, _ = probe(make_film(f"turned{rotation}.mov", rotation_deg=rotation, frames=20))
    assert seen.tracks[0].rotation_deg == rotation
    assert seen.picture_size == size


def test_a_variable_rate_is_seen(make_film: MakeFilm) -> None:
    times = np.cumsum(np.tile([33, 33, 50, 100, 33], 10)).tolist()
    seen, _, _ = probe(make_film("vfr.mp4", frames=50, times_ms=times, sound=None))
    assert seen.tracks[0].variable_rate is True


def test_milliseconds_of_matroska_are_no_variable_rate(make_film: MakeFilm) -> None:
    seen, _, _ = probe(make_film("steady.mkv", frames=50))
    assert seen.tracks[0].variable_rate is False


def test_two_sound_tracks_are_both_listed(make_film: MakeFilm) -> None:
    seen, _, _ = probe(make_film("two.mkv", sound_tracks=2))
    assert [track.kind for track in seen.tracks] == ["video", "audio", "audio"]


def test_a_film_without_sound_says_so(make_film: MakeFilm) -> None:
    seen, _, problems = probe(make_film("silent.mp4", sound=None))
    assert seen.kind is Kind.FILM
    assert _slugs(problems) == ["no-sound-track"]
    assert problems[0].sentence().startswith("silent.mp4: no sound track; nothing that was said can be read.")


def test_a_film_without_picture_is_a_sound_and_says_so(make_film: MakeFilm) -> None:
    seen, _, problems = probe(make_film("blind.mp4", codec=None, sound_s=2.0))
    assert seen.kind is Kind.SOUND
    assert _slugs(problems) == ["no-picture-track"]


def test_a_cover_picture_does_not_make_a_film(tmp_path: Path, make_film: MakeFilm) -> None:
    mp3 = make_film("plain.mp3", codec=None, sound="libmp3lame", sound_s=2.0).read_bytes()
    picture = tmp_path / "cover.png"
    Image.new("RGB", (40, 40), "red").save(picture)
    # ID3v2.4, clauses 3.1 and 4.14: an APIC frame in UTF-8, all in front of the sound.
    body = b"\x03image/png\x00\x03\x00" + picture.read_bytes()
    sizes = [bytes((n >> 21 & 127, n >> 14 & 127, n >> 7 & 127, n & 127)) for n in (len(body), len(body) + 10)]
    tag = b"ID3\x04\x00\x00" + sizes[1] + b"APIC" + sizes[0] + b"\x00\x00" + body
    path = tmp_path / "cover.mp3"
    path.write_bytes(tag + mp3)
    seen, _, problems = probe(path)
    assert (seen.kind, problems) == (Kind.SOUND, ())
    assert [track.kind for track in seen.tracks] == ["audio", "data"]
    assert seen.picture_size is None


def test_place_time_and_device_are_read_and_kept_apart(make_film: MakeFilm) -> None:
    path = make_film(
        "placed.mov",
        frames=20,
        container_options={"movflags": "use_metadata_tags"},
        metadata={
            "com.apple.quicktime.location.ISO6709": "+51.5100-000.1250+011.0/",
            "com.apple.quicktime.creationdate": "2026-03-14T09:30:00+0100",
            "com.apple.quicktime.make": "Oakfield",
            "com.apple.quicktime.model": "Lens Two",
        },
    )
    seen, private, _ = probe(path)
    assert (private.latitude_deg, private.longitude_deg) == pytest.approx((51.51, -0.125))
    assert private.device == "Oakfield Lens Two"
    assert seen.recorded_at == "2026-03-14T09:30:00+01:00"
    assert "51.5" not in repr(seen)


def test_the_creation_time_of_an_mp4_is_read(make_film: MakeFilm) -> None:
    seen, _, _ = probe(make_film("timed.mp4", frames=20, metadata={"creation_time": "2026-03-14T09:30:00.000000Z"}))
    assert seen.recorded_at == "2026-03-14T09:30:00+00:00"


def test_a_film_written_in_pieces_tells_its_length(make_film: MakeFilm) -> None:
    path = make_film("pieces.mp4", frames=90, container_options={"movflags": "frag_keyframe+empty_moov"})
    seen, _, problems = probe(path)
    assert seen.length_s == pytest.approx(3.0, abs=0.1)
    assert problems == ()


def test_a_recording_broken_off_while_live_tells_its_length(make_film: MakeFilm) -> None:
    path = make_film("live.mkv", frames=90, container_options={"live": "1"})
    seen, _, problems = probe(path)
    assert seen.length_s == pytest.approx(3.0, abs=0.1)
    assert problems == ()


@pytest.mark.parametrize(
    ("name", "arguments"),
    [
        ("front.mp4", {"container_options": {"movflags": "faststart"}}),
        ("cut.mkv", {}),
        ("piecewise.mp4", {"container_options": {"movflags": "frag_keyframe+empty_moov"}}),
        ("cut.wav", {"codec": None, "sound": "pcm_s16le"}),
        ("cut.mp3", {"codec": None, "sound": "libmp3lame"}),
        ("cut.flac", {"codec": None, "sound": "flac"}),
        ("cut.ogg", {"codec": None, "sound": "libopus"}),
    ],
)
def test_a_recording_cut_in_the_middle_is_used_as_far_as_it_goes(
    make_film: MakeFilm, tmp_path: Path, name: str, arguments: dict
) -> None:
    noise = np.random.default_rng(1).normal(0, 0.1, 480_000)
    whole = make_film(name, frames=300, signal=lambda _, t: noise[: len(t)], **arguments)
    assert probe(whole)[2] == ()
    seen, _, problems = probe(_cut(whole, tmp_path, 0.6))
    assert "cut-off" in _slugs(problems)
    assert 3.0 < seen.length_s < 8.5


def test_a_film_whose_table_is_cut_off_is_refused_plainly(make_film: MakeFilm, tmp_path: Path) -> None:
    with pytest.raises(BadInputError) as caught:
        probe(_cut(make_film("behind.mp4", frames=90), tmp_path, 0.9))
    assert caught.value.problem.slug == "cut-off"
    assert "camera" in caught.value.problem.advice


def test_two_thousand_flipped_bits_do_not_stop_the_probe(make_film: MakeFilm, tmp_path: Path) -> None:
    data = bytearray(make_film("flip.mp4", frames=120, container_options={"movflags": "faststart"}).read_bytes())
    random = np.random.default_rng(3)
    start = data.index(b"mdat") + 8
    for at in random.integers(start, len(data), 2000):
        data[at] ^= 1 << int(random.integers(8))
    path = tmp_path / "flipped.mp4"
    path.write_bytes(data)
    seen, _, _ = probe(path)
    assert seen.kind is Kind.FILM
    assert seen.length_s == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize("seed", range(12))
def test_flips_anywhere_end_in_a_result_or_a_plain_error(make_film: MakeFilm, tmp_path: Path, seed: int) -> None:
    data = bytearray(make_film("small.mp4", frames=20).read_bytes())
    random = np.random.default_rng(seed)
    for at in random.integers(0, len(data), 200):
        data[at] ^= 1 << int(random.integers(8))
    path = tmp_path / "flipped.mp4"
    path.write_bytes(data)
    try:
        kind = probe(path)[0].kind
    except BadInputError:
        kind = None
    assert kind in {Kind.FILM, Kind.SOUND, None}


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "walk.mp4"
    path.touch()
    with pytest.raises(BadInputError) as caught:
        probe(path)
    assert caught.value.problem.slug == "empty-file"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("words.mp4", b"The near side sill is sound.\nNo times here.\n"),
        ("random.mp4", np.random.default_rng(2).bytes(50_000)),
        ("archive.mp4", b"PK\x03\x04" + bytes(400)),
        ("noughts.wav", bytes(10_000)),
        ("page.html", b"<!doctype html><title>x</title>"),
        ("settings.json", b'{"name": "x", "rows": [1, 2]}'),
    ],
)
def test_what_is_no_recording_is_refused_whatever_its_name(tmp_path: Path, name: str, data: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(BadInputError) as caught:
        probe(path)
    assert caught.value.problem.slug == "not-a-recording"
    assert caught.value.problem.where == name


def test_a_playlist_does_not_open_what_it_names(tmp_path: Path, make_film: MakeFilm) -> None:
    film = make_film("named.mp4")
    lists = {
        "list.m3u8": f"#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:2,\n{film}\n#EXT-X-ENDLIST\n",
        "list.mp4": f"ffconcat version 1.0\nfile '{film}'\n",
        "list.sdp": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=audio 49170 RTP/AVP 0\n",
    }
    for name, text in lists.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        with pytest.raises(BadInputError):
            probe(tmp_path / name)


def test_the_name_does_not_decide(make_film: MakeFilm, tmp_path: Path) -> None:
    path = tmp_path / "walk.txt"
    path.write_bytes(make_film("a.mp4").read_bytes())
    assert probe(path)[0].kind is Kind.FILM


@pytest.mark.parametrize(
    ("name", "text", "form"),
    [
        ("a.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nSound.\n", "webvtt"),
        ("b.txt", "\ufeffWEBVTT - title\n\n00:01.000 --> 00:02.000\nSound.\n", "webvtt"),
        ("a.srt", "1\r\n00:00:01,000 --> 00:00:02,000\r\nSound.\r\n", "subrip"),
        ("a.json", json.dumps({"segments": [{"start": 0, "end": 1, "text": "Sound."}]}), "json"),
        ("b.json", json.dumps([{"start_s": 0, "end_s": 1, "text": "Sound."}]), "json"),
        ("big.json", json.dumps({"x": "y" * 300_000, "segments": []}), "json"),
        ("broken.json", '{"segments": [{"start": 0, "text": "So', "json"),
        ("a.txt", "[0:05] The sill is sound.\n[1:10] Next.\n", "text"),
        ("b.txt", "0:05 The sill is sound.\n", "text"),
        ("c.txt", "1:00:05 The sill.\n1:00:09 Next.\n", "text"),
        ("broken.vtt", "no cue at all\n", "webvtt"),
    ],
)
def test_each_form_of_transcript_is_known(tmp_path: Path, name: str, text: str, form: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8", newline="")
    seen, _, problems = probe(path)
    assert (seen.kind, seen.container, problems) == (Kind.TRANSCRIPT, form, ())


def test_a_transcript_in_utf_16_or_windows_letters_is_known(tmp_path: Path) -> None:
    for encoding in ("utf-16", "cp1252"):
        path = tmp_path / f"{encoding}.srt"
        path.write_bytes("1\n00:00:01,000 --> 00:00:02,000\nCafé noir: sound\n".encode(encoding))
        assert probe(path)[0].container == "subrip"


def test_deep_nesting_ends_in_a_plain_error(tmp_path: Path) -> None:
    path = tmp_path / "deep.json"
    path.write_text("[" * 200_000, encoding="utf-8")
    with pytest.raises(BadInputError):
        probe(path)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "TIFF", "GIF", "BMP", "AVIF"])
def test_each_form_of_picture_is_known(tmp_path: Path, form: str) -> None:
    path = tmp_path / "picture"
    Image.new("RGB", (60, 40), "navy").save(path, form)
    seen, _, problems = probe(path)
    assert (seen.kind, seen.container, seen.picture_size, problems) == (Kind.PICTURE, form.lower(), (60, 40), ())


def test_place_time_and_way_up_of_a_picture_are_read(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F], exif[0x0110] = "Oakfield", "Lens Two"
    exif.get_ifd(0x8769).update({0x9003: "2026:03:14 09:30:00", 0x9011: "+01:00"})
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 36.0), 3: "W", 4: (0.0, 7.0, 30.0)})
    path = tmp_path / "picture.jpg"
    Image.new("RGB", (60, 40)).save(path, exif=exif)
    seen, private, _ = probe(path)
    assert seen.picture_size == (40, 60)
    assert seen.recorded_at == "2026-03-14T09:30:00+01:00"
    assert (private.latitude_deg, private.longitude_deg) == pytest.approx((51.51, -0.125))
    assert private.device == "Oakfield Lens Two"
    assert "51.5" not in repr(seen)


def _hevc(make_film: MakeFilm) -> Path:
    return make_film("frames.mov", codec="libx265", sound=None, frames=20)


def _heic(film: Path, folder: Path, *, claimed: tuple[int, int] = (320, 180)) -> Path:
    """Write a HEIC as a phone does: one HEVC key frame as an item (ISO/IEC 23008-12 clause 6, 14496-12 clause 8.11)."""
    with av.open(str(film)) as source:
        stream = source.streams.video[0]
        hvcc = stream.codec_context.extradata
        coded = bytes(next(packet for packet in source.demux(stream) if packet.is_keyframe))

    def box(kind: bytes, *parts: bytes, full: bytes = b"") -> bytes:
        body = full + b"".join(parts)
        return struct.pack(">I", len(body) + 8) + kind + body

    zero = bytes(4)
    infe = box(b"infe", struct.pack(">HH", 1, 0), b"hvc1\0", full=b"\x02\0\0\0")
    properties = box(b"ipco", box(b"hvcC", hvcc), box(b"ispe", struct.pack(">II", *claimed), full=zero))
    links = box(b"ipma", struct.pack(">IHBBB", 1, 1, 2, 0x81, 0x02), full=zero)

    def meta(offset: int) -> bytes:
        place = struct.pack(">BBHHHHII", 0x44, 0, 1, 1, 0, 1, offset, len(coded))
        return box(
            b"meta",
            box(b"hdlr", zero, b"pict", bytes(12), b"\0", full=zero),
            box(b"pitm", struct.pack(">H", 1), full=zero),
            box(b"iloc", place, full=zero),
            box(b"iinf", struct.pack(">H", 1), infe, full=zero),
            box(b"iprp", properties, links),
            full=zero,
        )

    front = box(b"ftyp", b"heic", zero, b"mif1heic")
    path = folder / "picture.heic"
    path.write_bytes(front + meta(len(front) + len(meta(0)) + 8) + box(b"mdat", coded))
    return path


def test_a_heic_picture_is_known(make_film: MakeFilm, tmp_path: Path) -> None:
    seen, _, problems = probe(_heic(_hevc(make_film), tmp_path))
    assert (seen.kind, seen.container, seen.picture_size, problems) == (Kind.PICTURE, "heif", (320, 180), ())


def test_a_heic_bomb_is_refused(make_film: MakeFilm, tmp_path: Path) -> None:
    with pytest.raises(BadInputError) as caught:
        probe(_heic(_hevc(make_film), tmp_path, claimed=(60_000, 60_000)))
    assert caught.value.problem.slug in {"picture-too-large", "picture-unreadable"}


def test_a_heic_that_is_cut_off_is_told(make_film: MakeFilm, tmp_path: Path) -> None:
    data = _heic(_hevc(make_film), tmp_path).read_bytes()
    path = tmp_path / "cut.heic"
    path.write_bytes(data[:-20])
    with pytest.raises(BadInputError) as caught:
        probe(path)
    assert caught.value.problem.slug == "picture-unreadable"


def test_a_moving_picture_file_says_how_many_it_holds(tmp_path: Path) -> None:
    path = tmp_path / "moving.gif"
    frames = [Image.new("RGB", (20, 20), colour) for colour in ("red", "green", "blue")]
    frames[0].save(path, save_all=True, append_images=frames[1:])
    _, _, problems = probe(path)
    assert _slugs(problems) == ["several-pictures"]
    assert problems[0].found.startswith("3 ")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "TIFF"])
def test_a_picture_that_is_cut_off_is_kept_and_told(tmp_path: Path, form: str) -> None:
    noise = np.random.default_rng(4).integers(0, 255, (200, 300, 3), dtype=np.uint8)
    path = tmp_path / "whole"
    Image.fromarray(noise).save(path, form)
    seen, _, problems = probe(_cut(path, tmp_path, 0.5))
    assert _slugs(problems) == ["picture-cut-off"]
    assert seen.picture_size == (300, 200)


def test_a_picture_that_lost_its_header_is_refused(tmp_path: Path) -> None:
    # WebP is read whole before anything is told of it.
    noise = np.random.default_rng(4).integers(0, 255, (200, 300, 3), dtype=np.uint8)
    path = tmp_path / "whole"
    Image.fromarray(noise).save(path, "WEBP")
    with pytest.raises(BadInputError) as caught:
        probe(_cut(path, tmp_path, 0.5))
    assert caught.value.problem.slug == "picture-unreadable"


def _png_claiming(width: int, height: int) -> bytes:
    """A PNG of a few bytes whose header claims any size (W3C PNG, clause 11.2.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("size", [(60_000, 60_000), (12_000, 11_000)])
def test_a_picture_bomb_is_refused_from_its_header(tmp_path: Path, size: tuple[int, int]) -> None:
    path = tmp_path / "bomb.png"
    path.write_bytes(_png_claiming(*size))
    with pytest.raises(BadInputError) as caught:
        probe(path)
    assert caught.value.problem.slug == "picture-too-large"


def test_a_large_picture_within_the_limit_is_read(tmp_path: Path) -> None:
    path = tmp_path / "large.png"
    Image.new("L", (10_000, 9_500)).save(path, compress_level=1)
    assert probe(path)[0].picture_size == (10_000, 9_500)


@pytest.mark.parametrize("head", [b"\xff\xd8\xff\xe0nonsense", b"\x89PNG\r\n\x1a\nnonsense", b"GIF89a"])
def test_what_only_begins_like_a_picture_is_refused(tmp_path: Path, head: bytes) -> None:
    path = tmp_path / "picture.jpg"
    path.write_bytes(head)
    with pytest.raises(BadInputError) as caught:
        probe(path)
    assert caught.value.problem.slug == "picture-unreadable"
