"""Clips and copies of films, read back by decoding and by MediaInfo, which shares no code with what wrote them."""

from __future__ import annotations

import re
import struct
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest
from pymediainfo import MediaInfo

from shutline.capture.bare_packets import without_notes
from shutline.capture.cutting import Line, Watch, copy_film, cut_clip
from shutline.car.errors import BadInputError, StoppedError, UserError

MakeFilm = Callable[..., Path]

BITS = 9
RATE = 30


def numbered(number: int) -> np.ndarray:
    """A grey picture of 320 x 180 with the number as dark and light squares along the top."""
    picture = np.full((180, 320, 3), 120, np.uint8)
    for bit in range(BITS):
        picture[:32, bit * 32 : bit * 32 + 32] = 230 if number >> bit & 1 else 20
    return picture


def number_in(grey: np.ndarray) -> int:
    return sum(1 << bit for bit in range(BITS) if grey[10:22, bit * 32 + 10 : bit * 32 + 22].mean() > 125)


def frames_of(path: Path) -> list[tuple[float, int]]:
    """Time and number of each frame, as FFmpeg decodes the file."""
    with av.open(str(path)) as film:
        return [
            (float(frame.pts * frame.time_base), number_in(frame.to_ndarray(format="gray")))
            for frame in film.decode(video=0)
        ]


def sound_of(path: Path, rate_hz: int = 48_000) -> np.ndarray:
    resampler = av.AudioResampler(format="flt", layout="mono", rate=rate_hz)
    with av.open(str(path)) as film:
        return np.concatenate([b.to_ndarray()[0] for f in film.decode(audio=0) for b in resampler.resample(f)])


def slugs(cut) -> list[str]:
    return [problem.slug for problem in cut.problems]


@pytest.mark.parametrize("name", ["e.mp4", "e.mkv"])
@pytest.mark.parametrize(("start_s", "end_s"), [(1.5, 4.25), (0.0, 1.0), (3.017, 3.35), (6.5, 99.0)])
def test_an_exact_clip_begins_and_ends_within_a_frame(
    make_film: MakeFilm, tmp_path: Path, name: str, start_s: float, end_s: float
) -> None:
    path = make_film(name, frames=240, gop=75, picture=numbered, options={"bf": "2"})
    out = tmp_path / "clip.mp4"
    cut = cut_clip(path, out, start_s, end_s, exact=True)
    found = frames_of(out)
    first, last = found[0][1] / RATE, (found[-1][1] + 1) / RATE
    assert found[0][0] == 0
    assert abs(first - start_s) <= 1 / RATE + 0.001
    assert abs(last - min(end_s, 8.0)) <= 1 / RATE + 0.001
    assert [number for _, number in found] == list(range(found[0][1], found[-1][1] + 1))
    assert cut.start_s == pytest.approx(first, abs=0.002)
    assert cut.end_s == pytest.approx(last, abs=0.002)
    assert cut.exact


@pytest.mark.parametrize("exact", [True, False])
def test_what_is_heard_stays_with_what_is_seen(
    make_film: MakeFilm, onsets_s: Callable[..., list[float]], tmp_path: Path, exact: bool
) -> None:
    path = make_film(f"heard{exact}.mp4", frames=240, picture=numbered)
    out = tmp_path / "clip.mp4"
    cut = cut_clip(path, out, 2.4, 5.6, exact=exact)
    # A click stands at each full second of the film.
    heard = [at + cut.start_s for at in onsets_s(sound_of(out), 48_000) if at + cut.start_s > 2.4]
    assert heard == pytest.approx([3.0, 4.0, 5.0], abs=0.03)


@pytest.mark.parametrize(
    ("name", "codec", "options"),
    [
        ("k.mp4", "libx264", {"bf": "2"}),
        ("k.mov", "libx265", {}),
        ("k.webm", "libvpx-vp9", {}),
        ("k.mkv", "libx264", {"bf": "0"}),
        ("open.mp4", "libx264", {"x264-params": "open-gop=1:bframes=3", "sc_threshold": "0"}),
    ],
)
def test_a_copied_clip_begins_at_the_key_frame_before_and_says_how_early(
    make_film: MakeFilm, tmp_path: Path, name: str, codec: str, options: dict[str, str]
) -> None:
    path = make_film(name, codec=codec, sound=None, frames=240, gop=45, picture=numbered, options=options)
    out = tmp_path / "clip.mp4"
    cut = cut_clip(path, out, 4.0, 5.5)
    found = frames_of(out)
    # Key frames stand at most each 45 frames, so that one stands within them before the moment asked for.
    assert 4.0 - 45 / RATE - 0.01 <= found[0][1] / RATE <= 4.0
    assert cut.early_s == pytest.approx(4.0 - found[0][1] / RATE, abs=0.01)
    assert found[0][0] == pytest.approx(0, abs=0.002)
    numbers = [number for _, number in found]
    assert numbers == list(range(numbers[0], numbers[-1] + 1))
    # A few frames past the end may be needed by those before it.
    assert 5.5 - 1 / RATE - 0.01 <= (numbers[-1] + 1) / RATE <= 5.5 + 9 / RATE
    assert cut.end_s == pytest.approx((numbers[-1] + 1) / RATE, abs=0.04)
    assert not cut.exact


def test_copying_changes_no_byte_of_a_picture(make_film: MakeFilm, tmp_path: Path) -> None:
    path = make_film("bytes.mp4", sound=None, frames=90, gop=30, picture=numbered)
    out = tmp_path / "clip.mp4"
    cut_clip(path, out, 1.0, 2.0)
    with av.open(str(path)) as whole, av.open(str(out)) as clip:
        there = {bytes(packet) for packet in whole.demux(video=0) if packet.size}
        cut = [bytes(packet) for packet in clip.demux(video=0) if packet.size]
    assert len(cut) >= 30
    assert set(cut) <= there


def test_a_film_without_key_frames_for_minutes_says_that_its_clip_begins_early(
    make_film: MakeFilm, tmp_path: Path
) -> None:
    path = make_film(
        "sparse_clip.mp4", sound=None, frames=480, rate=4, gop=100_000, picture=numbered, options={"sc_threshold": "0"}
    )
    out = tmp_path / "clip.mp4"
    cut = cut_clip(path, out, 100.0, 102.0)
    assert slugs(cut) == ["clip-begins-early"]
    assert cut.early_s == pytest.approx(100.0, abs=0.3)
    exact = cut_clip(path, out, 100.0, 102.0, exact=True)
    assert exact.problems == ()
    assert [number for _, number in frames_of(out)] == list(range(400, 408))


def test_a_variable_rate_keeps_its_times(make_film: MakeFilm, tmp_path: Path) -> None:
    times = np.cumsum([0, *np.tile([33, 33, 50, 100, 33], 30)]).tolist()
    path = make_film("vfrc.mov", sound=None, frames=len(times), times_ms=times, picture=numbered)
    for exact in (True, False):
        out = tmp_path / f"clip{exact}.mp4"
        cut = cut_clip(path, out, 2.0, 4.0, exact=exact)
        for at_s, number in frames_of(out):
            assert at_s + cut.start_s == pytest.approx(times[number] / 1000, abs=0.002)


@pytest.mark.parametrize("exact", [True, False])
@pytest.mark.parametrize("rotation", [90, 180, 270])
def test_a_turned_film_stays_upright(make_film: MakeFilm, tmp_path: Path, rotation: int, exact: bool) -> None:
    lying = np.zeros((180, 320, 3), np.uint8)
    lying[:90, :160, 0] = lying[:90, 160:, 1] = lying[90:, :160, 2] = 220
    path = make_film(f"turn{rotation}.mov", sound=None, frames=20, rotation_deg=rotation, picture=lambda _: lying)
    out = tmp_path / "clip.mp4"
    cut_clip(path, out, 0.1, 0.5, exact=exact)
    told = next(track for track in MediaInfo.parse(out).tracks if track.track_type == "Video")
    upright = (180, 320) if rotation in {90, 270} else (320, 180)
    if exact:
        assert (told.width, told.height, float(told.rotation or 0)) == (*upright, 0.0)
        with av.open(str(out)) as film:
            picture = next(film.decode(video=0)).to_ndarray(format="rgb24").astype(int)
        assert np.mean(np.abs(picture - np.rot90(lying, -rotation // 90))) < 8
    else:
        assert float(told.rotation) == rotation


@pytest.mark.parametrize(("codec", "name"), [("mpeg2video", "old.mkv"), ("ffv1", "raw.mkv")])
def test_a_picture_that_no_mp4_holds_is_coded_anew_and_told(
    make_film: MakeFilm, tmp_path: Path, codec: str, name: str
) -> None:
    path = make_film(name, codec=codec, frames=90, picture=numbered, sound="pcm_s16le")
    out = tmp_path / "clip.mp4"
    cut = cut_clip(path, out, 1.0, 2.0)
    assert slugs(cut) == ["clip-coded-anew"]
    assert [number for _, number in frames_of(out)] == list(range(30, 60))


def test_sound_that_no_mp4_holds_is_coded_anew_beside_a_copied_picture(
    make_film: MakeFilm, onsets_s: Callable[..., list[float]], tmp_path: Path
) -> None:
    path = make_film("pcm.mov", frames=150, picture=numbered, sound="pcm_s16le")
    out = tmp_path / "clip.mp4"
    cut = cut_clip(path, out, 1.5, 3.5)
    kinds = {track.track_type: track.format for track in MediaInfo.parse(out).tracks}
    assert (kinds["Video"], kinds["Audio"]) == ("AVC", "AAC")
    assert [at + cut.start_s for at in onsets_s(sound_of(out), 48_000)] == pytest.approx([2.0, 3.0], abs=0.03)


@pytest.mark.parametrize("exact", [True, False])
def test_a_silent_film_and_a_sound_alone_are_cut_too(make_film: MakeFilm, tmp_path: Path, exact: bool) -> None:
    out = tmp_path / "clip.mp4"
    cut_clip(make_film("dumb.mp4", sound=None, frames=60, picture=numbered), out, 0.5, 1.5, exact=exact)
    assert {track.track_type for track in MediaInfo.parse(out).tracks} == {"General", "Video"}
    cut = cut_clip(make_film("voice.m4a", codec=None, sound_s=4.0), out, 0.5, 2.5, exact=exact)
    assert {track.track_type for track in MediaInfo.parse(out).tracks} == {"General", "Audio"}
    assert (cut.start_s, cut.end_s) == pytest.approx((0.5, 2.5), abs=0.05)


def test_a_film_cut_off_in_mid_run_gives_a_clip_of_what_is_there(make_film: MakeFilm, tmp_path: Path) -> None:
    whole = make_film(
        "cutoff.mp4", sound=None, frames=240, gop=60, picture=numbered, container_options={"movflags": "faststart"}
    ).read_bytes()
    path, out = tmp_path / "cutoff.mp4", tmp_path / "clip.mp4"
    path.write_bytes(whole[: int(len(whole) * 0.62)])
    for exact in (True, False):
        cut = cut_clip(path, out, 2.5, 7.5, exact=exact)
        numbers = [number for _, number in frames_of(out)]
        assert numbers[-1] < 200
        assert cut.end_s < 7.0
        assert len(numbers) > 30
    with pytest.raises(BadInputError) as caught:
        cut_clip(path, out, 7.4, 7.8, exact=True)
    assert caught.value.problem.slug == "clip-empty"


def test_a_film_without_its_table_is_refused(make_film: MakeFilm, tmp_path: Path) -> None:
    whole = make_film("tableless.mp4", frames=60).read_bytes()
    path = tmp_path / "tableless.mp4"
    path.write_bytes(whole[: whole.rindex(b"moov") - 4])
    with pytest.raises(BadInputError):
        cut_clip(path, tmp_path / "clip.mp4", 0.5, 1.0)


def test_ten_bit_and_interlaced_films_are_coded_as_plain_ones(tmp_path: Path) -> None:
    for form, options in (("yuv420p10le", {}), ("yuv420p", {"flags": "+ildct+ilme"})):
        path, out = tmp_path / f"{form}.mp4", tmp_path / "clip.mp4"
        with av.open(str(path), "w") as made:
            stream = made.add_stream("libx264", rate=RATE, options=options)
            stream.width, stream.height, stream.pix_fmt = 320, 180, form
            for number in range(60):
                frame = av.VideoFrame.from_ndarray(numbered(number), format="rgb24")
                frame.pts = number
                made.mux(stream.encode(frame))
            made.mux(stream.encode(None))
        cut_clip(path, out, 0.5, 1.5, exact=True)
        told = next(track for track in MediaInfo.parse(out).tracks if track.track_type == "Video")
        assert (told.bit_depth, told.scan_type) == (8, "Progressive")
        assert [number for _, number in frames_of(out)] == list(range(15, 45))


def test_a_cover_reaches_every_frame_and_nothing_is_copied(make_film: MakeFilm, tmp_path: Path) -> None:
    path = make_film("covered.mp4", frames=90, picture=numbered)
    told: list[float] = []

    def cover(pixels: np.ndarray, at_s: float) -> np.ndarray:
        told.append(at_s)
        covered = pixels.copy()
        covered[100:160, 200:300] = 0
        return covered

    for write in (
        lambda out: cut_clip(path, out, 1.0, 2.0, cover=cover),
        lambda out: copy_film(path, out, cover=cover),
    ):
        told.clear()
        out = tmp_path / "covered.mp4"
        assert write(out).exact
        with av.open(str(out)) as film:
            greys = [frame.to_ndarray(format="gray") for frame in film.decode(video=0)]
        assert len(greys) == len(told)
        assert all(grey[110:150, 210:290].mean() < 25 for grey in greys)
        assert all(grey[110:150, 20:180].mean() > 100 for grey in greys)


def test_a_stop_ends_the_work(make_film: MakeFilm, tmp_path: Path) -> None:
    path = make_film("stopclip.mp4", frames=60)
    for exact in (True, False):
        with pytest.raises(StoppedError):
            cut_clip(path, tmp_path / "c.mp4", 0.0, 1.5, exact=exact, watch=Watch(should_stop=lambda: True))


@pytest.mark.parametrize(("start_s", "end_s"), [(2.0, 1.0), (-1.0, 2.0), (1.0, 1.0), (float("nan"), 2.0)])
def test_times_that_make_no_clip_are_refused(make_film: MakeFilm, tmp_path: Path, start_s: float, end_s: float) -> None:
    with pytest.raises(UserError) as caught:
        cut_clip(make_film("times.mp4", frames=60), tmp_path / "c.mp4", start_s, end_s)
    assert caught.value.problem.slug == "clip-times"


# Chapters and captions ------------------------------------------------------------------------------------------------

CHAPTERS = (
    Line(0, 2500, "Front \N{EN DASH} and “bonnet”"),
    Line(2500, 5040, "Nearside front wing"),
    Line(5040, 8000, "Rear"),
)
CAPTIONS = (
    Line(400, 1900, "She\N{RIGHT SINGLE QUOTATION MARK}s a tidy one,\nall things considered"),
    Line(1900, 2600, "née dent"),
    Line(6000, 7750, "That\N{RIGHT SINGLE QUOTATION MARK}s it"),
)


def copied(make_film: MakeFilm, tmp_path: Path, name: str = "whole.mp4") -> tuple[Path, Path]:
    path, out = make_film(name, frames=240, picture=numbered), tmp_path / "copy.mp4"
    copy_film(path, out, chapters=CHAPTERS, captions=CAPTIONS)
    return path, out


def test_chapters_are_read_back_by_mediainfo(make_film: MakeFilm, tmp_path: Path) -> None:
    _, out = copied(make_film, tmp_path)
    menus = [track.to_data() for track in MediaInfo.parse(out).tracks if track.track_type == "Menu"]
    found = {key: value for menu in menus for key, value in menu.items() if re.fullmatch(r"\d\d_\d\d_\d{5}", key)}
    wanted = {f"00_00_{one.start_ms:05d}": one.text for one in CHAPTERS}
    assert found == wanted


def test_captions_are_read_back_by_mediainfo(make_film: MakeFilm, tmp_path: Path) -> None:
    """Times from MediaInfo's own reading of the tables; the texts from where it says that they lie."""
    _, out = copied(make_film, tmp_path)
    told = next(track for track in MediaInfo.parse(out).tracks if track.track_type == "Text")
    assert (told.format, told.codec_id, told.language) == ("Timed Text", "tx3g", "en")
    assert _captions(out) == [(one.start_ms, one.end_ms, one.text) for one in CAPTIONS]


def _captions(path: Path) -> list[tuple[int, int, str]]:
    trace = str(MediaInfo.parse(path, output="", mediainfo_options={"Details": "1", "ParseSpeed": "1"}))
    table = trace[trace.index("tx3g") :]
    lasts_ms = [int(value) for value in re.findall(r"Sample Duration: +(\d+)", table[: table.index("Sample To Chunk")])]
    data = path.read_bytes()

    def entries(name: str, skip: int) -> list[int]:
        match = re.search(rf"([0-9A-F]+) +{name} \((\d+) bytes\)", table)
        assert match is not None
        at, size = int(match[1], 16), int(match[2])
        return [value for (value,) in struct.iter_unpack(">I", data[at + skip : at + size])]

    sizes, offsets, runs = entries("Sample Size", 20), entries("Chunk offset", 16), entries("Sample To Chunk", 16)
    per_chunk = dict(zip(runs[::3], runs[1::3], strict=True))
    found, at_ms, number, count = [], 0, 0, 1
    for chunk, offset in enumerate(offsets, 1):
        at, count = offset, per_chunk.get(chunk, count)
        for _ in range(count):
            length = int.from_bytes(data[at : at + 2], "big")
            if length:
                text = data[at + 2 : at + 2 + length].decode()
                found.append((at_ms, at_ms + lasts_ms[number], text))
            at, at_ms, number = at + sizes[number], at_ms + lasts_ms[number], number + 1
    return found


def test_a_copy_has_every_frame_and_its_index_first_and_the_film_is_as_it_was(
    make_film: MakeFilm, tmp_path: Path
) -> None:
    before = make_film("whole.mp4", frames=240, picture=numbered).read_bytes()
    path, out = copied(make_film, tmp_path)
    assert path.read_bytes() == before
    assert [number for _, number in frames_of(out)] == list(range(240))
    data = out.read_bytes()
    assert 0 <= data.find(b"moov") < data.find(b"mdat")


def test_a_copy_of_a_sound_has_chapters_and_captions_too(make_film: MakeFilm, tmp_path: Path) -> None:
    out = tmp_path / "copy.mp4"
    copy_film(make_film("talk.m4a", codec=None, sound_s=8.0), out, chapters=CHAPTERS, captions=CAPTIONS)
    assert _captions(out) == [(one.start_ms, one.end_ms, one.text) for one in CAPTIONS]


# What a film tells of place, device and time --------------------------------------------------------------------------

PRIVATE = {
    "location": "+51.5100-000.1250/",
    "location-eng": "+51.5100-000.1250/",
    "com.apple.quicktime.location.ISO6709": "+51.5100-000.1250/",
    "com.apple.quicktime.make": "Oakfield",
    "com.apple.quicktime.model": "Lens Two",
    "make": "Oakfield",
    "creation_time": "2026-03-14T09:30:00.000000Z",
    "comment": "ZZSECRETZZ",
    "title": "ZZSECRETZZ",
}


@pytest.mark.parametrize("name", ["private.mp4", "private.mov", "private.mkv"])
@pytest.mark.parametrize("exact", [True, False])
def test_nothing_of_place_device_and_time_goes_out(make_film: MakeFilm, tmp_path: Path, name: str, exact: bool) -> None:
    options = {"movflags": "use_metadata_tags"} if name.endswith("mp4") else {}
    path = make_film(name, frames=60, metadata=PRIVATE, container_options=options, options={"x264-params": ""})
    assert b"51.51" in path.read_bytes()
    for write in (lambda out: cut_clip(path, out, 0.5, 1.5, exact=exact), lambda out: copy_film(path, out)):
        out = tmp_path / "out.mp4"
        write(out)
        data = out.read_bytes()
        for word in (b"51.51", b"Oakfield", b"Lens Two", b"ZZSECRETZZ", b"2026-03-14", b"Lavf"):
            assert word not in data, word
        for track in MediaInfo.parse(out).tracks:
            told = track.to_data()
            assert not {"encoded_date", "tagged_date", "comment", "title", "performer", "writing_application"} & set(
                told
            )
            assert not [key for key in told if "location" in key or "apple" in key or "recorded" in key]


def test_what_is_asked_for_is_told(make_film: MakeFilm, tmp_path: Path) -> None:
    out = tmp_path / "out.mp4"
    tells = {"creation_time": "2026-03-14T09:30:00Z", "location": "+51.5100-000.1250/"}
    cut_clip(make_film("told.mp4", frames=60), out, 0.5, 1.5, tells=tells)
    assert b"+51.5100-000.1250/" in out.read_bytes()
    general = MediaInfo.parse(out).tracks[0].to_data()
    assert "2026-03-14" in str(general)


def _note(codec: str, payload: int, text: bytes) -> bytes:
    body = bytes([payload, len(text)]) + text + b"\x80"
    head = b"\x06" if codec == "h264" else b"\x4e\x01"
    return head + body


@pytest.mark.parametrize("codec", ["h264", "hevc"])
@pytest.mark.parametrize("form", ["lengths", "starts"])
def test_a_cameras_notes_between_the_pictures_are_left_out(codec: str, form: str) -> None:
    picture = (b"\x65" if codec == "h264" else b"\x26\x01") + bytes(range(1, 60))
    recovery = _note(codec, 6, b"\x01\x02")
    units = [_note(codec, 5, bytes(16) + b"ZZGPSZZ"), recovery, _note(codec, 4, b"ZZTIMEZZ"), picture]
    kept = [recovery, picture]
    if form == "lengths":
        extradata = b"\x01" + bytes(3) + b"\xff" if codec == "h264" else b"\x01" + bytes(20) + b"\xff"
        pack = lambda many: b"".join(len(one).to_bytes(4, "big") + one for one in many)  # noqa: E731
    else:
        extradata = b"\x00\x00\x00\x01\x67"
        pack = lambda many: b"".join(b"\x00\x00\x00\x01" + one for one in many)  # noqa: E731
    assert without_notes(pack(units), codec, extradata) == pack(kept)
    assert without_notes(pack(kept), codec, extradata) == pack(kept)
    assert without_notes(b"\x00\x00\x00\xff\x06", codec, extradata) == b"\x00\x00\x00\xff\x06"


def test_the_notes_of_a_real_coder_go_and_the_pictures_stay(make_film: MakeFilm, tmp_path: Path) -> None:
    # x264 writes what it was set to into its first picture, as a note of user data.
    path = make_film("x264note.mp4", sound=None, frames=60, picture=numbered)
    assert b"x264" in path.read_bytes()
    out = tmp_path / "clip.mp4"
    copy_film(path, out)
    assert b"x264" not in out.read_bytes()
    assert [number for _, number in frames_of(out)] == list(range(60))


def test_the_clip_of_a_clip_is_the_same(make_film: MakeFilm, tmp_path: Path) -> None:
    first, second = tmp_path / "one.mp4", tmp_path / "two.mp4"
    cut_clip(make_film("again.mp4", frames=120, gop=30, picture=numbered), first, 1.0, 3.0)
    cut_clip(first, second, 0.0, 99.0)
    assert frames_of(first) == frames_of(second)
