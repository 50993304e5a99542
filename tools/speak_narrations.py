#!/usr/bin/env python3
"""Speak labelled narrations with neural voices and noise under them, to measure what the recogniser costs the reader.

    tools/speak_narrations.py GOLD_DIR NAME... --weights FILE --voices FOLDER --out FOLDER [--noise-db 20]

Needs the voice of `tools/demo/README.md`, in the environment described there (with `numpy` and `av`). Writes
NAME.ogg, 16 kHz mono, Opus, as `../shared/recordings` holds; a recording that lies there already is left alone.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

VOICES = ("bm_george", "bf_emma", "bm_lewis", "bm_fable")
PAUSE_S = 0.45
RATE_HZ = 16_000
LOWEST_HZ, HIGHEST_HZ = 100.0, 4_000.0
"""The band of the noise."""

Sound = NDArray[np.float64]


def resampled(samples: Sound, rate_hz: int) -> Sound:
    """Bring samples to 16 kHz by cutting the spectrum."""
    size = round(len(samples) * RATE_HZ / rate_hz)
    spectrum = np.fft.rfft(samples)
    out: Sound = np.fft.irfft(spectrum[: size // 2 + 1], size) * (size / len(samples))
    return out


def noise(size: int, seed: int) -> Sound:
    """Make noise of spread one in a band."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(size))
    pitch = np.fft.rfftfreq(size, 1 / RATE_HZ)
    spectrum[(pitch < LOWEST_HZ) | (pitch > HIGHEST_HZ)] = 0
    out: Sound = np.fft.irfft(spectrum, size)
    return out / float(out.std())


def write_ogg(path: Path, samples: Sound) -> None:
    """Write mono samples in [-1, 1] as Opus."""
    import av

    whole = (np.clip(samples, -1, 1) * 32767).astype("<i2")
    with av.open(str(path), "w", format="ogg") as out:
        stream = out.add_stream("libopus", rate=48_000, layout="mono")
        resampler = av.AudioResampler("s16", "mono", 48_000)
        for first in range(0, len(whole), RATE_HZ):
            frame = av.AudioFrame.from_ndarray(whole[None, first : first + RATE_HZ], format="s16", layout="mono")
            frame.sample_rate = RATE_HZ
            for piece in resampler.resample(frame):
                out.mux(stream.encode(piece))
        for piece in resampler.resample(None):
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))


def spoken(entry: dict[str, Any], presenter: Any, voice: str) -> Sound:
    """Speak the segments one after another, with a pause between them."""
    pieces: list[Sound] = []
    for number, segment in enumerate(entry["segments"]):
        samples, rate_hz = presenter.create(segment["text"], voice=voice, speed=1.05, lang="en-gb")
        pieces += [resampled(np.asarray(samples, dtype=np.float64), rate_hz), np.zeros(round(PAUSE_S * RATE_HZ))]
        print(f"{voice}: {number + 1} of {len(entry['segments'])} segments", flush=True)
    return np.concatenate(pieces)


def main() -> None:
    """Speak the narrations that are named."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path)
    parser.add_argument("names", nargs="+")
    parser.add_argument("--weights", type=Path, required=True)
    parser.add_argument("--voices", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--noise-db", type=float, default=20.0)
    given = parser.parse_args()
    from kokoro_onnx import Kokoro

    given.out.mkdir(parents=True, exist_ok=True)
    packed = given.out / "voices.npz"
    styles = {name: np.fromfile(given.voices / f"{name}.bin", dtype=np.float32).reshape(-1, 1, 256) for name in VOICES}
    np.savez(packed, allow_pickle=False, **styles)
    presenter = Kokoro(str(given.weights), str(packed))
    for number, name in enumerate(given.names):
        path = given.out / f"{name}.ogg"
        if path.exists():
            continue
        entry = json.loads((given.gold / f"{name}.json").read_text(encoding="utf-8"))
        voice = spoken(entry, presenter, VOICES[number % len(VOICES)])
        loud = float(np.sqrt(np.mean(voice[np.abs(voice) > 0.01] ** 2)))
        mixed = voice + noise(len(voice), number) * loud * 10 ** (-given.noise_db / 20)
        write_ogg(path, mixed * (0.5 / float(np.abs(mixed).max())))
        print(f"{path.name}: {len(voice) / RATE_HZ:.0f} s")


if __name__ == "__main__":
    main()
