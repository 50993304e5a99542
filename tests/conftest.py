from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import settings

MakeFilm = Callable[..., Path]

# A busy machine is no reason to fail; what is slow is measured in bench/. Two runs of the same tree try the same cases;
# `--hypothesis-profile searching` tries others each time, and what it finds is kept beside its test as an example.
settings.register_profile("patient", deadline=None, derandomize=True)
settings.register_profile("searching", deadline=None, max_examples=1000)
settings.load_profile("patient")

# Encoders that write to the terminal, or are slow, unless told otherwise.
_QUIET = {"libx265": {"x265-params": "log-level=none", "preset": "ultrafast"}, "libvpx-vp9": {"cpu-used": "8"}}


def pytest_runtest_teardown() -> None:
    """Give the processor back: libsvtav1, run as root, makes the process a real-time one, and browsers after it too."""
    if hasattr(os, "sched_setscheduler") and os.sched_getscheduler(0) != os.SCHED_OTHER:
        os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))


@pytest.fixture(scope="session")
def make_film(tmp_path_factory: pytest.TempPathFactory) -> MakeFilm:
    """Make a tiny film: a bright bar that walks to the right over texture, and clicks each second."""
    folder = tmp_path_factory.mktemp("films")

    def make(
        name: str,
        *,
        codec: str | None = "libx264",
        sound: str | None = "aac",
        sound_tracks: int = 1,
        frames: int = 60,
        rate: int = 30,
        size: tuple[int, int] = (320, 180),
        rotation_deg: int = 0,
        times_ms: list[int] | None = None,
        sound_start_s: float = 0.0,
        sound_s: float | None = None,
        options: dict[str, str] | None = None,
        container_options: dict[str, str] | None = None,
        metadata: dict[str, str] | None = None,
        picture: Callable[[int], np.ndarray] | None = None,
        signal: Callable[[int, np.ndarray], np.ndarray] | None = None,
        sound_rate_hz: int = 48_000,
        default_track: int | None = None,
        colour: dict[str, int] | None = None,
        gop: int = 15,
    ) -> Path:
        path = folder / name
        with av.open(str(path), "w", options=container_options or {}) as out:
            out.metadata.update(metadata or {})
            film = None
            tick = Fraction(1, rate) if times_ms is None else Fraction(1, 1000)
            if codec is not None:
                film = out.add_stream(codec, rate=rate, options=_QUIET.get(codec, {}) | (options or {}))
                film.width, film.height, film.pix_fmt = *size, "yuv420p"
                film.gop_size = gop
                film.time_base = film.codec_context.time_base = tick
                for key, value in (colour or {}).items():
                    setattr(film.codec_context, key, value)
                if rotation_deg:
                    film.set_display_rotation(-rotation_deg)
            count = sound_tracks if sound else 0
            tracks = [out.add_stream(sound, rate=sound_rate_hz, layout="mono") for _ in range(count)]
            if default_track is not None:
                for at, track in enumerate(tracks):
                    track.disposition = av.stream.Disposition.default if at == default_track else 0
            if film is not None:
                for number in range(frames):
                    frame = av.VideoFrame.from_ndarray((picture or bar)(number), format="rgb24")
                    frame.pts, frame.time_base = (number if times_ms is None else times_ms[number]), tick
                    out.mux(film.encode(frame))
                out.mux(film.encode(None))
            length_s = frames / rate if sound_s is None else sound_s
            for at, track in enumerate(tracks):
                samples = (signal or clicks)(at, np.arange(round(length_s * sound_rate_hz)) / sound_rate_hz)
                _write_sound(out, track, samples.astype(np.float32), sound_rate_hz, sound_start_s)
        return path

    return make


@pytest.fixture(scope="session")
def onsets_s() -> Callable[..., list[float]]:
    """Where a loud sound begins, seconds."""

    def find(samples: np.ndarray, rate_hz: int = 16_000) -> list[float]:
        found: list[float] = []
        last = -rate_hz
        for at in np.flatnonzero(np.abs(samples) > 0.2):
            if at - last > 0.3 * rate_hz:
                found.append(at / rate_hz)
            last = at
        return found

    return find


def _write_sound(out, track, samples: np.ndarray, rate_hz: int, start_s: float) -> None:
    form = track.codec_context.codec.audio_formats[0].name
    resampler = av.AudioResampler(format=form, layout="mono", rate=rate_hz)
    for at in range(0, len(samples), 1024):
        frame = av.AudioFrame.from_ndarray(samples[None, at : at + 1024], format="flt", layout="mono")
        frame.sample_rate, frame.pts = rate_hz, at + round(start_s * rate_hz)
        for ready in resampler.resample(frame):
            out.mux(track.encode(ready))
    out.mux(track.encode(None))


def bar(number: int) -> np.ndarray:
    """A fixed texture of 320 x 180 with a bright bar whose place tells the number."""
    random = np.random.default_rng(5)
    coarse = random.integers(40, 160, (23, 40, 3), dtype=np.uint8)
    picture = coarse.repeat(8, 0).repeat(8, 1)[:180].copy()
    at = number * 4 % 304
    picture[:, at : at + 16] = 250
    return picture


def clicks(track: int, t: np.ndarray) -> np.ndarray:
    """A short tone at each full second but the first."""
    return 0.8 * np.sin(2 * np.pi * 1000 * t) * ((t % 1.0 < 0.02) & (t >= 0.5))


@pytest.fixture(scope="session", autouse=True)
def _nothing_of_ones_own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the words and settings of whoever runs the tests out of them.

    What is taken from the film itself costs seconds a film: tests of it ask for it.
    """
    settings_of_tests = tmp_path_factory.mktemp("settings")
    (settings_of_tests / "evidence.toml").write_text("figures = false\nengine = false\n", encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SHUTLINE_WORDS", str(tmp_path_factory.mktemp("words")))
        patch.setenv("SHUTLINE_SETTINGS", str(settings_of_tests / "settings.toml"))
        yield
