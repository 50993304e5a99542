from __future__ import annotations

import io
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from shutline.capture import frames, measure
from shutline.capture.jpeg import upright
from shutline.capture.stills import ChosenStill, Moment, choose_stills, worth_of
from shutline.car.errors import BadInputError, StoppedError

MakeFilm = Callable[..., Path]

SIZE = (320, 180)
BITS = 10


def _slugs(problems) -> list[str]:
    return [problem.slug for problem in problems]


def _scene() -> np.ndarray:
    random = np.random.default_rng(7)
    wide = random.integers(40, 200, (23, 400, 3), dtype=np.uint8)
    return wide.repeat(8, 0).repeat(8, 1)[:180]


SCENE = _scene()


def _numbered(picture: np.ndarray, number: int) -> np.ndarray:
    """Write the frame's number as dark and light squares of 16 pixels along the top."""
    picture = picture.copy()
    for bit in range(BITS):
        picture[:16, bit * 16 : bit * 16 + 16] = 240 if number >> bit & 1 else 10
    return picture


def _number(picture: np.ndarray) -> int:
    return sum(1 << bit for bit in range(BITS) if picture[8, bit * 16 + 8].mean() > 128)


def _picture(still: ChosenStill) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(still.jpeg)))


def _pan(fast: Callable[[int], bool], step: int = 24) -> Callable[[int], np.ndarray]:
    """A view that stands still, and where `fast` says so moves by `step` pixels a frame and is smeared by as much."""

    def draw(number: int) -> np.ndarray:
        way = sum(step for before in range(number) if fast(before))
        left = way % 2800
        view = SCENE[:, left : left + 320]
        if fast(number):
            view = np.mean([SCENE[:, left + k : left + k + 320] for k in range(0, step, 2)], axis=0).astype(np.uint8)
        return _numbered(view, number)

    return draw


@pytest.mark.parametrize(
    ("name", "codec", "options"),
    [
        ("s.mp4", "libx264", {"bf": "2"}),
        ("s.mov", "libx265", {}),
        ("s.webm", "libvpx-vp9", {}),
        ("sav1.mp4", "libsvtav1", {"preset": "10", "svtav1-params": "keyint=15"}),
        ("s.mkv", "libx264", {"bf": "0"}),
    ],
)
def test_a_still_is_the_frame_it_says_it_is(make_film: MakeFilm, name: str, codec: str, options: dict) -> None:
    path = make_film(name, codec=codec, sound=None, frames=90, options=options, picture=_pan(lambda _: False))
    moments = [Moment(0.2, 0.6), Moment(1.0, 1.5), Moment(2.0, 2.9)]
    stills, problems = choose_stills(path, moments)
    assert problems == ()
    for moment, still in zip(moments, stills, strict=True):
        assert still is not None
        assert _number(_picture(still)) == round(still.at_s * 30)
        assert moment.start_s - 0.5 <= still.at_s <= moment.end_s + 1.5
        assert (still.width, still.height) == SIZE


def test_a_variable_rate_keeps_the_frames_own_times(make_film: MakeFilm) -> None:
    times = np.cumsum([0, *np.tile([33, 33, 50, 100, 33], 18)]).tolist()
    path = make_film(
        "vfrs.mov", sound=None, frames=len(times), times_ms=times, picture=_pan(lambda _: False), options={"bf": "2"}
    )
    stills, _ = choose_stills(path, [Moment(at, at + 0.5) for at in (0.0, 1.2, 2.7)])
    for still in stills:
        assert still is not None
        assert still.at_s == pytest.approx(times[_number(_picture(still))] / 1000, abs=1e-6)


def test_the_steady_sharp_part_is_found_beside_a_fast_pan(make_film: MakeFilm) -> None:
    # The camera stands only from frame 66 to 80, while the words run from 1.5 s to 3 s; key frames fall into the pan.
    path = make_film("pan.mp4", sound=None, frames=150, gop=50, picture=_pan(lambda n: not 66 <= n < 80))
    (still,), _ = choose_stills(path, [Moment(1.5, 3.0)])
    assert still is not None
    assert 66 <= round(still.at_s * 30) <= 80
    assert still.steadiness > 0.5


def test_a_black_frame_is_not_chosen(make_film: MakeFilm) -> None:
    def draw(number: int) -> np.ndarray:
        return np.zeros((180, 320, 3), np.uint8) if number < 45 else _numbered(SCENE[:, :320], number)

    (still,), _ = choose_stills(make_film("black.mp4", sound=None, frames=90, picture=draw), [Moment(0.8, 2.0)])
    assert still is not None
    assert round(still.at_s * 30) >= 45


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_a_still_stands_upright(make_film: MakeFilm, rotation: int) -> None:
    # Red above left, green above right, blue below left when seen as it lies in the file.
    lying = np.zeros((180, 320, 3), np.uint8)
    lying[:90, :160, 0] = lying[:90, 160:, 1] = lying[90:, :160, 2] = 250
    path = make_film(f"up{rotation}.mov", sound=None, frames=20, rotation_deg=rotation, picture=lambda _: lying)
    (still,), _ = choose_stills(path, [Moment(0.1, 0.3)])
    assert still is not None
    # Turned clockwise by the reference library as the record says.
    expected = np.asarray(Image.fromarray(lying).rotate(-rotation, expand=True)).astype(int)
    assert _picture(still).shape == expected.shape
    assert np.mean(np.abs(_picture(still) - expected)) < 12


def test_turning_agrees_with_ffmpegs_own_filter(make_film: MakeFilm) -> None:
    for rotation, transpose in ((90, "transpose=clock"), (270, "transpose=cclock"), (180, "hflip,vflip")):
        path = make_film(f"filter{rotation}.mov", sound=None, frames=3, rotation_deg=rotation)
        with av.open(str(path)) as container:
            frame = next(container.decode(video=0))
            graph = av.filter.Graph()
            last = graph.add_buffer(template=container.streams.video[0])
            for step in transpose.split(","):
                name, _, argument = step.partition("=")
                after = graph.add(name, argument) if argument else graph.add(name)
                last.link_to(after)
                last = after
            sink = graph.add("buffersink")
            last.link_to(sink)
            graph.configure()
            graph.push(frame)
            turned = graph.pull().to_ndarray(format="rgb24").astype(int)
        assert upright(frame).shape == turned.shape
        assert np.mean(np.abs(upright(frame) - turned)) < 1.5


def test_a_still_holds_no_metadata_and_at_most_1600_pixels(make_film: MakeFilm) -> None:
    path = make_film(
        "wide.mp4",
        sound=None,
        frames=12,
        size=(1920, 1080),
        metadata={"location": "+51.5100-000.1250/"},
        picture=lambda _: np.kron(SCENE[::8, :320], np.ones((48, 6, 1), np.uint8))[:1080, :1920],
    )
    (still,), _ = choose_stills(path, [Moment(0.0, 0.3)])
    assert still is not None
    with Image.open(io.BytesIO(still.jpeg)) as picture:
        assert picture.size == (still.width, still.height) == (1600, 900)
        assert dict(picture.getexif()) == {}
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"51.51" not in still.jpeg


def test_unmarked_high_definition_is_read_as_bt_709() -> None:
    # Full red in BT.709 limited range: Y 63, Cb 102, Cr 240 (ITU-R BT.709-6, items 3.2 to 3.5).
    frame = av.VideoFrame(1280, 720, "yuv420p")
    for plane, value in zip(frame.planes, (63, 102, 240), strict=True):
        plane.update(bytes([value]) * plane.buffer_size)
    assert upright(frame)[100, 100] == pytest.approx([255, 0, 0], abs=4)


@pytest.mark.parametrize(
    ("curve", "signal", "expected"),
    # ITU-R BT.2408-7, table 1 (from memory): 18 % grey lies at 38 % of HLG, which is 118 in sRGB; 26 cd/m² at 38 % of
    # PQ, which against white of 203 cd/m² is 100; white at 75 % of HLG and 58 % of PQ.
    [(18, 0.38, 118), (18, 0.75, 255), (16, 0.38, 100), (16, 0.58, 255), (18, 0.0, 0), (16, 0.0, 0), (18, 1.0, 255)],
)
def test_film_of_high_range_keeps_grey_grey_and_white_white(curve: int, signal: float, expected: int) -> None:
    frame = av.VideoFrame(64, 64, "yuv420p10le")
    frame.colorspace, frame.color_primaries, frame.color_trc, frame.color_range = 9, 9, curve, 1
    for plane, value in zip(frame.planes, (round(64 + 876 * signal), 512, 512), strict=True):
        plane.update(np.full(plane.buffer_size // 2, value, "<u2").tobytes())
    assert upright(frame)[32, 32] == pytest.approx([expected] * 3, abs=4)


def test_wide_pixels_are_made_square() -> None:
    assert upright(av.VideoFrame(720, 576, "yuv420p"), pixel_shape=Fraction(16, 11)).shape == (576, 1047, 3)


def test_moments_keep_their_order_and_may_overlap(make_film: MakeFilm) -> None:
    path = make_film("order.mp4", sound=None, frames=240, picture=_pan(lambda _: False))
    moments = [Moment(6.0, 6.5), Moment(0.5, 1.0), Moment(6.1, 7.0), Moment(0.5, 1.0)]
    told: list[float] = []
    stills, _ = choose_stills(path, moments, on_progress=told.append)
    assert all(still is not None for still in stills)
    assert [round(still.at_s) > 4 for still in stills if still] == [True, False, True, False]
    assert stills[1] == stills[3]
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_the_same_film_gives_the_same_stills(make_film: MakeFilm) -> None:
    path = make_film("same.mp4", sound=None, frames=240, picture=_pan(lambda n: n % 40 > 25))
    moments = [Moment(at, at + 0.8) for at in np.arange(0.0, 7.0, 0.6)]
    assert choose_stills(path, moments) == choose_stills(path, moments)


def test_each_stretch_is_decoded_once_and_the_film_never_whole(
    make_film: MakeFilm, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = make_film("sparing.mp4", sound=None, frames=900, gop=30, picture=_pan(lambda n: n % 40 > 25))
    decoded: list[float] = []
    decode = frames.Film.decode

    def counting(self, run, **options):
        for frame in decode(self, run, **options):
            decoded.append(frame.at_s)
            yield frame

    monkeypatch.setattr(frames.Film, "decode", counting)
    moments = [Moment(at + 0.1 * k, at + 0.5) for at in (3.0, 12.0, 21.0) for k in range(4)]
    stills, _ = choose_stills(path, moments)
    assert all(still is not None for still in stills)
    assert len(decoded) < 900 / 4
    assert max(decoded.count(at) for at in decoded) <= 2


def test_words_at_the_very_end_and_beyond_get_what_is_there(make_film: MakeFilm) -> None:
    path = make_film("end.mp4", sound=None, frames=60, picture=_pan(lambda _: False))
    stills, problems = choose_stills(path, [Moment(1.8, 2.2), Moment(50.0, 51.0)])
    assert stills[0] is not None
    assert stills[1] is None
    assert _slugs(problems) == ["no-still"]
    assert "50.0 s" in problems[0].found


def test_a_recording_without_picture_gives_none_and_says_so_once(make_film: MakeFilm) -> None:
    stills, problems = choose_stills(make_film("sound.m4a", codec=None, sound_s=2.0), [Moment(0, 1), Moment(1, 2)])
    assert stills == (None, None)
    assert _slugs(problems) == ["no-picture-track"]


def test_no_moments_give_no_stills(make_film: MakeFilm) -> None:
    assert choose_stills(make_film("none.mp4", frames=20), []) == ((), ())


def test_a_film_cut_in_the_middle_gives_stills_from_what_is_there(make_film: MakeFilm, tmp_path: Path) -> None:
    for name, arguments in (("tc.mp4", {"container_options": {"movflags": "faststart"}}), ("tc.mkv", {})):
        whole = make_film(name, frames=240, sound=None, picture=_pan(lambda _: False), **arguments)
        data = whole.read_bytes()
        path = tmp_path / name
        path.write_bytes(data[: int(len(data) * 0.6)])
        stills, problems = choose_stills(path, [Moment(1.0, 1.5), Moment(7.0, 7.5)])
        assert stills[0] is not None, name
        assert _number(_picture(stills[0])) == round(stills[0].at_s * 30), name
        assert stills[1] is None, name
        assert "no-still" in _slugs(problems), name


def test_two_thousand_flipped_bits_leave_stills_and_no_crash(make_film: MakeFilm, tmp_path: Path) -> None:
    data = bytearray(make_film("flipped.mp4", frames=240, sound=None, picture=_pan(lambda _: False, 4)).read_bytes())
    random = np.random.default_rng(11)
    for at in random.integers(data.index(b"mdat") + 4, data.rindex(b"moov"), 2000):
        data[at] ^= 1 << int(random.integers(8))
    path = tmp_path / "flipped.mp4"
    path.write_bytes(data)
    stills, problems = choose_stills(path, [Moment(at, at + 1.0) for at in range(7)])
    assert len(stills) == 7
    assert set(_slugs(problems)) <= {"no-still", "picture-gap"}


def test_a_stop_ends_the_work(make_film: MakeFilm) -> None:
    with pytest.raises(StoppedError):
        choose_stills(make_film("stopped.mp4", frames=60), [Moment(0, 1)], should_stop=lambda: True)


def test_what_is_no_film_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "walk.mp4"
    path.write_bytes(b"no film at all")
    with pytest.raises(BadInputError):
        choose_stills(path, [Moment(0, 1)])


@pytest.mark.parametrize(("start_s", "end_s"), [(2.0, 1.0), (float("nan"), 1.0), (0.0, float("inf"))])
def test_a_moment_that_cannot_be_is_refused(start_s: float, end_s: float) -> None:
    with pytest.raises(ValueError, match="moment"):
        Moment(start_s, end_s)


def test_a_long_remark_is_searched_near_its_beginning(make_film: MakeFilm) -> None:
    path = make_film("remark.mp4", sound=None, frames=600, picture=_pan(lambda _: False))
    (still,), _ = choose_stills(path, [Moment(2.0, 18.0)])
    assert still is not None
    assert 1.5 <= still.at_s <= 5.5


class TestMeasure:
    @staticmethod
    def _grey(left: int = 0) -> np.ndarray:
        # Smooth texture: every part of a real picture is a little soft.
        random = np.random.default_rng(3)
        coarse = Image.fromarray(random.integers(0, 255, (20, 80), dtype=np.uint8))
        wide = np.asarray(coarse.resize((960, 240), Image.Resampling.BICUBIC))
        return np.ascontiguousarray(wide[:135, left : left + 240])

    def test_blur_makes_a_picture_less_sharp(self) -> None:
        sharp = SCENE[:, :320].mean(axis=2).astype(np.uint8)
        widths = (1, 3, 7, 15)
        blurred = [np.mean([np.roll(sharp, k, axis=1) for k in range(n)], axis=0).astype(np.uint8) for n in widths]
        values = [measure.sharpness(picture) for picture in blurred]
        assert values == sorted(values, reverse=True)
        assert values[-1] < 0.8 * values[0]

    def test_a_gradient_of_one_level_a_pixel_has_sharpness_one(self) -> None:
        ramp = np.tile(np.arange(200, dtype=np.uint8), (100, 1))
        # The mirrored border of the Sobel filter has no gradient: two columns of two hundred.
        assert measure.sharpness(ramp) == pytest.approx(np.sqrt(198 / 200), abs=0.001)

    @pytest.mark.parametrize("way_px", [1, 4, 12, 40])
    def test_the_way_of_a_pan_is_measured(self, way_px: int) -> None:
        moved = measure.speed_widths(self._grey(), self._grey(way_px)) * 240
        assert 0.5 * way_px <= moved <= 1.6 * way_px

    def test_a_picture_that_stands_is_steady_in_spite_of_noise(self) -> None:
        random = np.random.default_rng(5)
        still = self._grey().astype(float)
        one, two = (np.clip(still + random.normal(0, 1, still.shape), 0, 255).astype(np.uint8) for _ in range(2))
        assert measure.steadiness(measure.speed_widths(one, two), 1 / 30) > 0.7

    def test_steadiness_is_one_half_at_the_set_speed(self) -> None:
        assert measure.steadiness(0.0, 1 / 30) == 1.0
        assert measure.steadiness(0.15 / 30, 1 / 30) == pytest.approx(0.5)

    def test_exposure_counts_what_is_neither_black_nor_white(self) -> None:
        half = np.full((10, 10), 128, np.uint8)
        half[:5] = 255
        assert measure.exposed_share(half) == 0.5

    def test_ten_bit_frames_are_measured_like_eight_bit_ones(self) -> None:
        frame = av.VideoFrame.from_ndarray(SCENE[:, :320].copy(), format="rgb24")
        eight, ten = frame.reformat(format="yuv420p"), frame.reformat(format="yuv420p10le")
        values = [measure.sharpness(measure.greys(one)[0]) for one in (eight, ten)]
        assert values[1] == pytest.approx(values[0], rel=0.25)

    def test_within_the_words_goes_before_beside_them(self) -> None:
        moment = Moment(10.0, 12.0)
        inside, edge = (measure.FrameMeasure(at_s, 5.0, 0.9, 1.0) for at_s in (11.0, 13.5))
        assert worth_of(inside, moment) > worth_of(edge, moment)
