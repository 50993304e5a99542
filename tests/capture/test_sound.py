from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from shutline.capture.sound import read_sound, sound_blocks
from shutline.capture.timeline import Timeline
from shutline.capture.track import speech_likeness
from shutline.car.errors import BadInputError, StoppedError

MakeFilm = Callable[..., Path]
Onsets = Callable[..., list[float]]


def _slugs(problems) -> list[str]:
    return [problem.slug for problem in problems]


def _like_speech(t: np.ndarray) -> np.ndarray:
    """A buzz in syllables, four a second, with pauses."""
    buzz = sum(np.sin(2 * np.pi * 140 * k * t) / k for k in range(1, 22))
    return 0.15 * buzz * np.clip(np.sin(2 * np.pi * 4 * t), 0, None) * (np.sin(2 * np.pi * 0.4 * t) > -0.6)


def _hum(t: np.ndarray) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * 50 * t) + 0.1 * np.sin(2 * np.pi * 150 * t)


@pytest.mark.parametrize(
    ("name", "arguments"),
    [
        ("t.wav", {"codec": None, "sound": "pcm_s16le"}),
        ("t.mp3", {"codec": None, "sound": "libmp3lame"}),
        ("t44.mp3", {"codec": None, "sound": "libmp3lame", "sound_rate_hz": 44_100}),
        ("t.m4a", {"codec": None, "sound": "aac"}),
        ("t.flac", {"codec": None, "sound": "flac"}),
        ("t.ogg", {"codec": None, "sound": "libopus"}),
        ("t.mp4", {"sound": "aac"}),
        ("t.mkv", {"sound": "libopus"}),
        ("t.webm", {"codec": "libvpx-vp9", "sound": "libopus"}),
    ],
)
def test_what_is_heard_at_a_second_is_read_at_that_second(
    make_film: MakeFilm, onsets_s: Onsets, name: str, arguments: dict
) -> None:
    samples, problems = read_sound(make_film(name, frames=150, sound_s=5.0, **arguments))
    assert problems == ()
    assert samples.dtype == np.float32
    assert samples.ndim == 1
    assert onsets_s(samples) == pytest.approx([1, 2, 3, 4], abs=0.004)
    assert len(samples) / 16_000 == pytest.approx(5.0, abs=0.08)


@pytest.mark.parametrize(("name", "sound"), [("late.mp4", "aac"), ("late.mkv", "libopus")])
def test_a_track_that_starts_late_stays_late(make_film: MakeFilm, onsets_s: Onsets, name: str, sound: str) -> None:
    samples, problems = read_sound(make_film(name, sound=sound, frames=120, sound_s=3.0, sound_start_s=2.0))
    assert problems == ()
    assert onsets_s(samples) == pytest.approx([3, 4], abs=0.004)
    assert np.all(samples[: int(1.9 * 16_000)] == 0)


def test_another_rate_keeps_the_times(make_film: MakeFilm, onsets_s: Onsets) -> None:
    samples, _ = read_sound(make_film("rate.m4a", codec=None, sound_s=5.0), rate_hz=8_000)
    assert onsets_s(samples, 8_000) == pytest.approx([1, 2, 3, 4], abs=0.004)


def test_blocks_joined_are_the_whole(make_film: MakeFilm) -> None:
    path = make_film("blocks.m4a", codec=None, sound_s=5.0)
    whole, _ = read_sound(path)
    told: list[float] = []
    blocks = list(sound_blocks(path, block_s=0.7, on_progress=told.append))
    assert np.array_equal(np.concatenate([block.samples for block in blocks]), whole)
    assert [block.start_s for block in blocks] == pytest.approx([0.7 * at for at in range(len(blocks))])
    assert {len(block.samples) for block in blocks[:-1]} == {11_200}
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_blocks_can_be_read_again(make_film: MakeFilm) -> None:
    blocks = sound_blocks(make_film("again.m4a", codec=None, sound_s=2.0))
    assert [len(block.samples) for block in blocks] == [len(block.samples) for block in blocks]


def test_a_film_without_sound_gives_no_samples_and_says_so(make_film: MakeFilm) -> None:
    samples, problems = read_sound(make_film("mute.mp4", sound=None))
    assert len(samples) == 0
    assert _slugs(problems) == ["no-sound-track"]


def test_silence_from_end_to_end_is_told(make_film: MakeFilm) -> None:
    path = make_film("quiet.wav", codec=None, sound="pcm_s16le", sound_s=2.0, signal=lambda _, t: np.zeros(len(t)))
    samples, problems = read_sound(path)
    assert len(samples) == 32_000
    assert _slugs(problems) == ["no-sound"]


def test_a_faint_voice_is_not_silence(make_film: MakeFilm) -> None:
    path = make_film(
        "faint.wav", codec=None, sound="pcm_s16le", sound_s=2.0, signal=lambda _, t: 0.003 * _like_speech(t)
    )
    assert read_sound(path)[1] == ()


@pytest.mark.parametrize("speaker", [0, 1])
def test_of_several_tracks_the_one_with_speech_is_taken_and_told(make_film: MakeFilm, speaker: int) -> None:
    path = make_film(
        f"speaker{speaker}.mkv",
        sound="flac",
        sound_tracks=2,
        sound_s=8.0,
        frames=240,
        signal=lambda at, t: _like_speech(t) if at == speaker else _hum(t),
        default_track=None,
    )
    samples, problems = read_sound(path)
    assert _slugs(problems) == ["several-sound-tracks"]
    assert f"track {speaker + 1} was taken" in problems[0].found
    expected = read_sound(path, track=speaker + 1)[0]
    assert np.array_equal(samples, expected)


def test_the_one_default_track_goes_before_a_likelier_one(make_film: MakeFilm) -> None:
    path = make_film(
        "default.mkv",
        sound="flac",
        sound_tracks=2,
        sound_s=8.0,
        signal=lambda at, t: _like_speech(t) if at == 0 else _hum(t),
        default_track=1,
    )
    assert "track 2 was taken, the file's default" in read_sound(path)[1][0].found


def test_a_silent_default_track_is_passed_over(make_film: MakeFilm) -> None:
    path = make_film(
        "silentdefault.mkv",
        sound="flac",
        sound_tracks=2,
        sound_s=8.0,
        signal=lambda at, t: _like_speech(t) if at == 0 else np.zeros(len(t)),
        default_track=1,
    )
    assert "track 1 was taken" in read_sound(path)[1][0].found


def test_a_track_that_is_not_there_is_refused_with_those_that_are(make_film: MakeFilm) -> None:
    with pytest.raises(BadInputError) as caught:
        read_sound(make_film("one.mp4"), track=7)
    assert caught.value.problem.slug == "no-such-track"
    assert caught.value.problem.allowed == "one of 1"


def test_speech_is_likelier_than_hum_hiss_and_engine() -> None:
    t = np.arange(8 * 16_000) / 16_000
    random = np.random.default_rng(1)
    speech = speech_likeness(_like_speech(t).astype(np.float32))
    for other in (_hum(t), random.normal(0, 0.2, len(t)), 0.4 * np.sign(np.sin(2 * np.pi * 27 * t)), np.zeros(len(t))):
        assert speech_likeness(other.astype(np.float32)) < speech / 2
    noisy = _like_speech(t) + random.normal(0, 0.02, len(t))
    assert speech_likeness(noisy.astype(np.float32)) > speech / 2


def test_a_hole_in_the_middle_is_silent_and_what_follows_keeps_its_time(
    make_film: MakeFilm, onsets_s: Onsets, tmp_path: Path
) -> None:
    whole = make_film("hole.mp4", codec=None, sound_s=12.0, signal=lambda _, t: _ticking(t))
    data = bytearray(whole.read_bytes())
    start = data.index(b"mdat") + 4
    span = len(data) - start
    data[start + int(span * 0.4) : start + int(span * 0.5)] = bytes(int(span * 0.5) - int(span * 0.4))
    path = tmp_path / "hole.mp4"
    path.write_bytes(data)
    samples, problems = read_sound(path)
    assert "sound-gap" in _slugs(problems)
    found = [at for at in onsets_s(samples) if at > 8.5]
    assert found == pytest.approx([9, 10, 11], abs=0.035)


def _ticking(t: np.ndarray) -> np.ndarray:
    tone = 0.8 * np.sin(2 * np.pi * 1000 * t) * ((t % 1.0 < 0.02) & (t >= 0.5))
    return tone + 0.02 * np.random.default_rng(2).normal(size=len(t))


def test_a_file_cut_in_the_middle_yields_what_is_there(make_film: MakeFilm, onsets_s: Onsets, tmp_path: Path) -> None:
    for name, arguments in (
        ("c.mp4", {"container_options": {"movflags": "faststart"}}),
        ("c.mkv", {}),
        ("c.wav", {"codec": None, "sound": "pcm_s16le"}),
        ("c.flac", {"codec": None, "sound": "flac"}),
    ):
        data = make_film(name, frames=300, sound_s=10.0, signal=lambda _, t: _ticking(t), **arguments).read_bytes()
        path = tmp_path / name
        path.write_bytes(data[: int(len(data) * 0.7)])
        samples, _ = read_sound(path)
        assert 3 < len(samples) / 16_000 < 9.5, name
        found = onsets_s(samples)
        assert found == pytest.approx(list(range(1, len(found) + 1)), abs=0.035), name
        assert len(found) >= 3, name


def test_two_thousand_flipped_bits_keep_the_times(make_film: MakeFilm, onsets_s: Onsets, tmp_path: Path) -> None:
    random = np.random.default_rng(9)
    noise = random.integers(0, 255, (2, 180, 320, 3), dtype=np.uint8)
    path = make_film(
        "flips.mp4", rate=10, frames=300, picture=lambda number: noise[number % 2], signal=lambda _, t: _ticking(t)
    )
    data = bytearray(path.read_bytes())
    start = data.index(b"mdat") + 4
    for at in random.integers(start, data.rindex(b"moov"), 2000):
        data[at] ^= 1 << int(random.integers(8))
    flipped = tmp_path / "flips.mp4"
    flipped.write_bytes(data)
    samples, _ = read_sound(flipped)
    assert len(samples) / 16_000 == pytest.approx(30, abs=0.2)
    found = np.array(onsets_s(samples))
    right = [second for second in range(1, 30) if np.min(np.abs(found - second)) < 0.035]
    assert len(right) >= 24


def test_a_stop_ends_the_reading(make_film: MakeFilm) -> None:
    with pytest.raises(StoppedError):
        read_sound(make_film("stop.m4a", codec=None, sound_s=5.0), should_stop=lambda: True)


def test_a_block_of_nothing_is_refused(make_film: MakeFilm) -> None:
    with pytest.raises(ValueError, match="at least one sample"):
        sound_blocks(make_film("zero.m4a", codec=None), block_s=0.0)


def test_long_sound_is_held_once_and_never_at_its_own_rate(make_film: MakeFilm) -> None:
    # Four minutes are 15 MB at 16 kHz and would be 46 MB at 48 kHz.
    path = make_film("long.flac", codec=None, sound="flac", sound_s=240.0, signal=lambda _, t: np.round(0.3 * (t % 1)))
    tracemalloc.start()
    samples, _ = read_sound(path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(samples) == pytest.approx(240 * 16_000, abs=200)
    assert peak < 2 * samples.nbytes


class TestTimeline:
    @staticmethod
    def _joined(timeline: Timeline) -> np.ndarray:
        return np.concatenate([*timeline.full_blocks(), *timeline.rest()])

    def test_a_jump_beyond_the_promised_end_is_not_believed(self) -> None:
        timeline = Timeline(rate_hz=100, block_samples=50, promised_s=10.0)
        timeline.start_run(0.0)
        timeline.add(np.ones(100, np.float32))
        timeline.start_run(1e9)
        timeline.add(np.ones(100, np.float32))
        assert len(self._joined(timeline)) == 200
        assert [p.slug for p in timeline.problems("x")] == ["sound-clock"]

    def test_a_clock_that_starts_anew_goes_on_where_it_was(self) -> None:
        timeline = Timeline(rate_hz=100, block_samples=50, promised_s=10.0)
        timeline.start_run(0.0)
        timeline.add(np.ones(300, np.float32))
        timeline.start_run(0.0)
        timeline.add(np.full(100, 2, np.float32))
        joined = self._joined(timeline)
        assert len(joined) == 400
        assert np.all(joined[300:] == 2)

    def test_what_overlaps_is_kept_once(self) -> None:
        timeline = Timeline(rate_hz=100, block_samples=50, promised_s=10.0)
        timeline.start_run(0.0)
        timeline.add(np.ones(100, np.float32))
        timeline.start_run(0.5)
        timeline.add(np.full(100, 2, np.float32))
        joined = self._joined(timeline)
        assert len(joined) == 150
        assert np.all(joined[:100] == 1)
        assert timeline.problems("x") == ()

    def test_a_gap_is_silent_and_told(self) -> None:
        timeline = Timeline(rate_hz=100, block_samples=50, promised_s=10.0)
        timeline.start_run(0.0)
        timeline.add(np.ones(100, np.float32))
        timeline.start_run(2.0)
        timeline.add(np.ones(100, np.float32))
        joined = self._joined(timeline)
        assert len(joined) == 300
        assert np.all(joined[100:200] == 0)
        assert "1.0 to 2.0 s" in timeline.problems("x")[0].found
