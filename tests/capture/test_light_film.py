"""The small copy of a film: read back by decoding, and by MediaInfo, which shares no code with what wrote it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from pymediainfo import MediaInfo

from shutline.capture.cutting import Line, Watch, light_film
from shutline.capture.film_writer import FilmWriter
from shutline.capture.limits import limits
from shutline.car.errors import BadInputError, StoppedError

MakeFilm = Callable[..., Path]


def tone(_: int, at_s: np.ndarray) -> np.ndarray:
    return 0.3 * np.sin(2 * np.pi * 440 * at_s)


def sound_of(path: Path) -> np.ndarray:
    resampler = av.AudioResampler(format="flt", layout="mono", rate=48_000)
    with av.open(str(path)) as film:
        return np.concatenate([b.to_ndarray()[0] for f in film.decode(audio=0) for b in resampler.resample(f)])


def test_it_is_small_slow_enough_and_plays_on_old_telephones(make_film: MakeFilm, tmp_path: Path) -> None:
    path = make_film("big.mp4", frames=120, rate=60, size=(1920, 1080), rotation_deg=90, metadata={"artist": "PLANTED"})
    out = tmp_path / "small.mp4"
    light_film(path, out, chapters=[Line(0, 1000, "Front"), Line(1000, 2000, "Nearside")])
    told = MediaInfo.parse(out)
    (video,) = told.video_tracks
    assert (video.width, video.height) == (360, 640)
    assert video.format == "AVC"
    assert video.format_profile.startswith("Main")
    assert video.chroma_subsampling == "4:2:0"
    with av.open(str(out)) as film:
        times = [float(frame.pts * frame.time_base) for frame in film.decode(video=0)]
        assert [chapter["metadata"]["title"] for chapter in film.chapters()] == ["Front", "Nearside"]
    assert 1.9 < times[-1] < 2.0
    assert min(np.diff(times)) > 0.9 / 25
    assert b"PLANTED" not in out.read_bytes()
    (sound,) = told.audio_tracks
    assert sound.channel_s == 1


@pytest.mark.parametrize("rate", [24, 25])
def test_no_frame_of_a_slow_film_is_left_out(make_film: MakeFilm, tmp_path: Path, rate: int) -> None:
    path = make_film(f"slow{rate}.mp4", frames=2 * rate, rate=rate)
    out = tmp_path / "small.mp4"
    light_film(path, out)
    with av.open(str(out)) as film:
        assert sum(1 for _ in film.decode(video=0)) == 2 * rate


def test_it_is_silent_where_it_is_told_to_be_and_nowhere_else(make_film: MakeFilm, tmp_path: Path) -> None:
    path = make_film("tone.mp4", frames=120, rate=30, signal=tone)
    out = tmp_path / "small.mp4"
    light_film(path, out, muted=[(1.0, 1.75), (3.5, 99.0)])
    heard = sound_of(out)
    loud = [np.abs(heard[int(at * 48_000) : int((at + 0.1) * 48_000)]).max() for at in np.arange(0, 3.8, 0.1)]
    for at, peak in zip(np.arange(0, 3.8, 0.1), loud, strict=True):
        # An AAC frame lasts 21 ms, and spreads what is in it.
        if 1.05 < at < 1.6 or at > 3.55:
            assert peak < 0.002, at
        elif at < 0.85 or 1.85 < at < 3.35:
            assert peak > 0.2, at


def test_what_is_covered_is_covered_in_every_frame(make_film: MakeFilm, tmp_path: Path) -> None:
    path = make_film("covered.mp4", frames=30, rate=30)

    def cover(picture: np.ndarray, at_s: float) -> np.ndarray:
        covered = picture.copy()
        covered[:60] = (10, 10, 10)
        return covered

    out = tmp_path / "small.mp4"
    light_film(path, out, cover=cover)
    with av.open(str(out)) as film:
        for frame in film.decode(video=0):
            assert frame.to_ndarray(format="gray")[:55].max() < 40


def test_the_original_stays_as_it_is(make_film: MakeFilm, tmp_path: Path) -> None:
    path = make_film("same.mp4", frames=30)
    before = path.read_bytes()
    light_film(path, tmp_path / "small.mp4")
    assert path.read_bytes() == before


def test_a_sound_has_no_small_film(make_film: MakeFilm, tmp_path: Path) -> None:
    with pytest.raises(BadInputError) as refused:
        light_film(make_film("only.m4a", codec=None), tmp_path / "small.mp4")
    assert refused.value.problem.slug == "clip-empty"


def pictures_of(path: Path) -> list[tuple[int, float]]:
    with av.open(str(path)) as film:
        return [
            (round(f.pts * f.time_base * 1000), float(f.to_ndarray(format="gray").mean())) for f in film.decode(video=0)
        ]


def test_one_that_was_stopped_goes_on_with_the_parts_that_are_made(
    make_film: MakeFilm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = limits()
    monkeypatch.setattr(
        "shutline.capture.cut_parts.limits", lambda: replace(known, clips=replace(known.clips, piece_s=1.0))
    )
    path = make_film("walk.mp4", frames=300, rate=60, signal=tone)
    light_film(path, tmp_path / "at-once.mp4", muted=[(1.0, 1.75)])
    covered: list[float] = []

    def cover(pixels: np.ndarray, at_s: float) -> np.ndarray:
        covered.append(at_s)
        return pixels

    def asked() -> bool:
        return bool(covered) and 2.5 < covered[-1] < 2.6

    out, parts = tmp_path / "small.mp4", tmp_path / "parts"
    with pytest.raises(StoppedError):
        light_film(path, out, cover=cover, muted=[(1.0, 1.75)], parts=parts, watch=Watch(should_stop=asked))
    assert sorted(one.name for one in parts.glob("*.mp4")) == ["0.mp4", "1.mp4"]
    covered.clear()
    done: list[float] = []
    watch = Watch(on_progress=done.append)
    made = light_film(path, out, cover=cover, muted=[(1.0, 1.75)], parts=parts, watch=watch)
    assert 1.9 < covered[0] < 2.1
    assert done[0] > 0.35
    assert done == sorted(done)
    assert 4.9 < made.end_s < 5.1
    whole, joined = pictures_of(tmp_path / "at-once.mp4"), pictures_of(out)
    assert [at for at, _ in joined] == pytest.approx([at for at, _ in whole], abs=1)
    assert [light for _, light in joined] == pytest.approx([light for _, light in whole], abs=3)
    assert np.array_equal(sound_of(out), sound_of(tmp_path / "at-once.mp4"))

    # A part that a power cut left short is made anew, with all behind it.
    (parts / "2.mp4").write_bytes(b"")
    (parts / "3.json").write_bytes(b"")
    covered.clear()
    light_film(path, out, cover=cover, parts=parts)
    assert 1.9 < covered[0] < 2.1
    assert pictures_of(out) == joined


def no_picture(part: Path) -> None:
    """Put a film without picture in place of a part, as large as that."""
    size = part.stat().st_size
    with av.open(str(part), "w", format="mp4") as out:
        stream = out.add_stream("aac", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
        frame.sample_rate = 48_000
        out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    with_tail(part, size)


def shorter(part: Path) -> None:
    """Put the first frames of a part in its place, as large as that."""
    size = part.stat().st_size
    cut = part.with_name("cut.mp4")
    with av.open(str(part)) as film, av.open(str(cut), "w", format="mp4") as out:
        stream = out.add_stream_from_template(film.streams.video[0])
        for packet in list(film.demux(video=0))[:5]:
            if packet.dts is not None:
                packet.stream = stream
                out.mux(packet)
    cut.replace(part)
    with_tail(part, size)


def zeros(part: Path) -> None:
    """Put nothing but zeros in place of a part, as a power cut may leave it."""
    part.write_bytes(bytes(part.stat().st_size))


def with_tail(part: Path, size: int) -> None:
    """Bring a file to a size by a box that players leave out (ISO/IEC 14496-12, free)."""
    left = size - part.stat().st_size
    assert left >= 8
    with part.open("ab") as file:
        file.write(left.to_bytes(4, "big") + b"free" + bytes(left - 8))


@pytest.mark.parametrize("spoil", [no_picture, shorter, zeros])
def test_a_part_that_is_not_as_it_was_told_to_be_is_made_anew(
    make_film: MakeFilm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, spoil: Callable[[Path], None]
) -> None:
    known = limits()
    monkeypatch.setattr(
        "shutline.capture.cut_parts.limits", lambda: replace(known, clips=replace(known.clips, piece_s=1.0))
    )
    path, out, parts = make_film("walk.mp4", frames=180, rate=60), tmp_path / "small.mp4", tmp_path / "parts"
    light_film(path, out, parts=parts)
    whole = pictures_of(out)
    size = (parts / "1.mp4").stat().st_size
    spoil(parts / "1.mp4")
    assert (parts / "1.mp4").stat().st_size == size
    told: list[float] = []
    light_film(path, out, parts=parts, watch=Watch(on_going_on=told.append))
    assert pictures_of(out) == whole
    assert told == [pytest.approx(1 / 3, abs=0.05)]


def test_a_part_under_way_has_a_name_of_its_own(
    make_film: MakeFilm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names: list[str] = []

    class Noted(FilmWriter):
        def __init__(self, path: Path, **more: Any) -> None:
            names.append(path.name)
            super().__init__(path, **more)

    monkeypatch.setattr("shutline.capture.cut_parts.FilmWriter", Noted)
    path, parts = make_film("walk.mp4", frames=60, rate=60), tmp_path / "parts"
    for _ in range(2):
        light_film(path, tmp_path / "small.mp4", parts=parts)
        assert sorted(one.name for one in parts.iterdir()) == ["0.json", "0.mp4", "whole"]
        (parts / "0.json").unlink()
    assert len({name for name in names if name.endswith(".making")}) == 2
