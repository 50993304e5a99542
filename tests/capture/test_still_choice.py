"""Light, near copies, and films of odd make: what stills are chosen among."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from shutline.capture import frames, measure
from shutline.capture.alike import distance_bits, fingerprint
from shutline.capture.limits import limits
from shutline.capture.stills import ChosenStill, Moment, choose_stills

MakeFilm = Callable[..., Path]


def view(seed: int) -> np.ndarray:
    """A soft picture of 320 x 180: another seed is another place."""
    coarse = Image.fromarray(np.random.default_rng(seed).integers(30, 225, (12, 20, 3), dtype=np.uint8))
    return np.asarray(coarse.resize((320, 180), Image.Resampling.BICUBIC))


def lit(picture: np.ndarray, level: float) -> np.ndarray:
    """The picture under more or less light, levels of 0 to 255 added or taken."""
    return np.clip(picture.astype(float) * (0.05 if level else 1.0) + level, 0, 255).astype(np.uint8)


def pixels(still: ChosenStill | None) -> np.ndarray:
    assert still is not None
    return np.asarray(Image.open(io.BytesIO(still.jpeg)).convert("L"))


def slugs(problems) -> list[str]:
    return [problem.slug for problem in problems]


@given(st.integers(0, 10_000), st.floats(0.6, 4.0), st.floats(1.3, 3.0))
def test_sharpness_falls_with_blur(seed: int, sigma: float, more: float) -> None:
    picture = np.random.default_rng(seed).integers(0, 255, (90, 160), dtype=np.uint8)
    less, most = (cv2.GaussianBlur(picture, (0, 0), sigma * times) for times in (1.0, more))
    assert measure.sharpness(picture) > measure.sharpness(less) > measure.sharpness(most)


@given(st.integers(0, 10_000), st.floats(0.6, 1.0), st.integers(0, 40))
def test_light_and_noise_change_few_bits_of_a_fingerprint(seed: int, gain: float, lift: int) -> None:
    grey = np.asarray(Image.fromarray(view(seed)).convert("L"))
    noise = np.random.default_rng(seed).normal(0, 3, grey.shape)
    changed = np.clip(grey * gain + lift + noise, 0, 255).astype(np.uint8)
    assert distance_bits(fingerprint(grey), fingerprint(changed)) < limits().stills.copy_below_bits


def test_other_views_change_half_of_the_bits() -> None:
    prints = [fingerprint(np.asarray(Image.fromarray(view(seed)).convert("L"))) for seed in range(40)]
    apart = [distance_bits(a, b) for at, a in enumerate(prints) for b in prints[at + 1 :]]
    assert np.mean(apart) == pytest.approx(32, abs=2)
    assert min(apart) >= limits().stills.copy_below_bits


def test_a_still_shows_another_view_than_the_one_before_of_the_same_part(make_film: MakeFilm) -> None:
    # The first view is the sharper, and would be taken for the second words too.
    duller = (view(2) * 0.75 + 32).astype(np.uint8)
    path = make_film("views.mp4", sound=None, frames=150, picture=lambda n: view(1) if n < 90 else duller)
    words = [(0.5, 1.5), (2.4, 3.6)]
    apart, _ = choose_stills(path, [Moment(*one, part="bonnet") for one in words])
    alone, _ = choose_stills(path, [Moment(*one) for one in words])
    assert alone[1] is not None
    assert alone[1].at_s < 3.0
    assert apart[1] is not None
    assert apart[1].at_s >= 3.0
    assert apart[1].copy_bits is not None
    assert apart[1].copy_bits >= limits().stills.copy_below_bits


def test_where_there_is_no_other_view_one_picture_shows_both(make_film: MakeFilm) -> None:
    path = make_film("one_view.mp4", sound=None, frames=150, picture=lambda _: view(3))
    words = [(0.5, 1.5), (3.0, 4.0)]
    (one, other), _ = choose_stills(path, [Moment(*at, part="sill near") for at in words])
    assert one is not None
    assert other is not None
    assert one.jpeg == other.jpeg
    assert one.at_s == other.at_s
    assert other.copy_bits == 0


def test_of_other_parts_each_has_its_own_still(make_film: MakeFilm) -> None:
    path = make_film("two_parts.mp4", sound=None, frames=150, picture=lambda _: view(3))
    (one, other), _ = choose_stills(path, [Moment(0.5, 1.5, part="sill"), Moment(3.0, 4.0, part="door")])
    assert one is not None
    assert other is not None
    assert other.at_s > one.at_s + 1


@pytest.mark.parametrize("level", [2.0, 245.0])
def test_a_frame_in_good_light_goes_before_a_dark_or_bright_one(make_film: MakeFilm, level: float) -> None:
    path = make_film(f"light{level}.mp4", sound=None, frames=90, picture=lambda n: lit(view(4), level if n < 60 else 0))
    (still,), problems = choose_stills(path, [Moment(0.8, 2.6)])
    assert still is not None
    assert round(still.at_s * 30) >= 60
    assert problems == ()


@pytest.mark.parametrize(("level", "slug"), [(2.0, "still-dark"), (240.0, "still-blown-out")])
def test_where_all_is_dark_or_blown_out_it_is_told(make_film: MakeFilm, level: float, slug: str) -> None:
    path = make_film(f"all{level}.mp4", sound=None, frames=60, picture=lambda _: lit(view(4), level))
    (still,), problems = choose_stills(path, [Moment(0.5, 1.5)])
    assert still is not None
    assert slugs(problems) == [slug]
    assert "0.5 s" in problems[0].found


def test_exposure_is_one_in_the_middle_and_nought_at_the_ends() -> None:
    seen = [measure.FrameMeasure(0.0, 1.0, 1.0, 1.0, lightness) for lightness in (2, 13.5, 24, 128, 225, 238.5, 253)]
    assert [round(one.exposure, 2) for one in seen] == [0.0, 0.5, 1.0, 1.0, 1.0, 0.5, 0.0]


def _coded(path: Path, codec: str, pictures: list[np.ndarray], *, form: str = "yuv420p", **options: str) -> Path:
    with av.open(str(path), "w") as out:
        stream = out.add_stream(codec, rate=25, options=options)
        stream.width, stream.height, stream.pix_fmt, stream.gop_size = 320, 180, form, 12
        for number, picture in enumerate(pictures):
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            frame.pts = number
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    return path


def _moving(number: int) -> np.ndarray:
    picture = view(6).copy()
    at = 20 + number * 5 % 260
    picture[40:140, at : at + 24] = 245
    return picture


def _combed(number: int) -> np.ndarray:
    both = _moving(2 * number).copy()
    both[1::2] = _moving(2 * number + 1)[1::2]
    return both


def _combs(grey: np.ndarray) -> float:
    """How much each line differs from the middle of its neighbours."""
    lines = grey.astype(float)
    return float(np.mean(np.abs(lines[1:-1] - (lines[:-2] + lines[2:]) / 2)))


@pytest.mark.parametrize(
    ("name", "codec", "flags"),
    [("i.mp4", "libx264", "+ildct+ilme"), ("i.mpg", "mpeg2video", "+ildct+ilme")],
)
def test_an_interlaced_film_gives_stills_without_combs_and_says_so(
    tmp_path: Path, name: str, codec: str, flags: str
) -> None:
    path = _coded(tmp_path / name, codec, [_combed(n) for n in range(50)], flags=flags, qmax="6")
    (still,), problems = choose_stills(path, [Moment(0.6, 1.4)])
    assert slugs(problems) == ["interlaced"]
    assert still is not None
    assert (still.width, still.height) == (320, 180)
    number = round(still.at_s * 25)
    combed = np.asarray(Image.fromarray(_combed(number)).convert("L"))
    plain = np.asarray(Image.fromarray(_moving(2 * number)).convert("L"))
    assert _combs(combed) > 2 * _combs(plain)
    assert _combs(pixels(still)) < 1.3 * _combs(plain) + 0.5


def test_the_lines_between_half_pictures_are_no_sharpness(tmp_path: Path) -> None:
    combed, plain = (
        _coded(tmp_path / f"{name}.mkv", "libx264", [draw(n) for n in range(12)], crf="10", **flags)
        for name, draw, flags in (("c", _combed, {"flags": "+ildct+ilme"}), ("p", lambda n: _moving(2 * n), {}))
    )
    values = []
    for path in (combed, plain):
        with av.open(str(path)) as film:
            values.append(measure.sharpness(measure.greys(list(film.decode(video=0))[6])[0]))
    assert values[0] == pytest.approx(values[1], rel=0.25)


def test_ten_bit_film_gives_stills(tmp_path: Path) -> None:
    path = _coded(tmp_path / "ten.mp4", "libx264", [_moving(0)] * 50, form="yuv420p10le")
    (still,), problems = choose_stills(path, [Moment(0.6, 1.4)])
    assert problems == ()
    # BT.601 or BT.709 in and out, compressed twice: a few levels.
    assert np.mean(np.abs(pixels(still) - np.asarray(Image.fromarray(_moving(0)).convert("L")).astype(int))) < 4


def test_a_film_with_one_key_frame_in_three_minutes_is_decoded_once(
    make_film: MakeFilm, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = make_film("sparse.mp4", sound=None, frames=1800, rate=10, gop=100_000, options={"sc_threshold": "0"})
    decoded: list[float] = []
    decode = frames.Film.decode

    def counting(self, run, **options):
        for frame in decode(self, run, **options):
            decoded.append(frame.at_s)
            yield frame

    monkeypatch.setattr(frames.Film, "decode", counting)
    moments = [Moment(at, at + 1.0, part="roof") for at in np.arange(25.0, 178.0, 6.0)]
    stills, problems = choose_stills(path, moments)
    assert all(still is not None for still in stills)
    assert problems == ()
    assert len(decoded) < 1.2 * 1800


def test_a_film_cut_in_the_middle_of_a_run_gives_the_frames_before_the_cut(make_film: MakeFilm, tmp_path: Path) -> None:
    whole = make_film(
        "midgop.mp4", sound=None, frames=240, gop=60, container_options={"movflags": "faststart"}
    ).read_bytes()
    path = tmp_path / "midgop.mp4"
    path.write_bytes(whole[: int(len(whole) * 0.62)])
    stills, problems = choose_stills(path, [Moment(1.0, 1.5), Moment(4.2, 4.6), Moment(7.4, 7.8)])
    assert stills[0] is not None
    assert stills[1] is not None
    assert stills[2] is None
    assert "no-still" in slugs(problems)
