"""Speaks the lines of the script with a neural voice, once, into a folder of takes.

Needs `kokoro-onnx` and the voice's weights (see README.md); nothing else of the demo film does.
"""

from __future__ import annotations

import hashlib
import json
import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from demo.script import Line, Script


def take_name(script: Script, line: Line) -> str:
    """Name the take of a line by what it depends on: voice, speed and words."""
    what = json.dumps([script.voice["name"], script.voice["speed"], script.voice["language"], line.spoken])
    return hashlib.sha256(what.encode()).hexdigest()[:16] + ".wav"


def speak(script: Script, weights: Path, voices: Path, takes: Path) -> int:
    """Speak every line that has no take yet; give the number spoken.

    Parameters
    ----------
    script : Script
        What to say.
    weights : Path
        The joined model file.
    voices : Path
        Folder with ``<voice>.bin``, float32 of shape (-1, 1, 256).
    takes : Path
        Folder the takes are written to: 24 kHz mono, 16 bit.
    """
    from kokoro_onnx import Kokoro

    takes.mkdir(parents=True, exist_ok=True)
    name = script.voice["name"]
    style = np.fromfile(voices / f"{name}.bin", dtype=np.float32).reshape(-1, 1, 256)
    packed = takes / "voice.npz"
    np.savez(packed, allow_pickle=False, **{name: style})
    presenter = Kokoro(str(weights), str(packed))
    spoken = 0
    for stretch in script.stretches:
        for line in stretch.lines:
            path = takes / take_name(script, line)
            if path.exists():
                continue
            samples, rate_hz = presenter.create(
                line.spoken, voice=name, speed=script.voice["speed"], lang=script.voice["language"]
            )
            write_wav(path, np.asarray(samples, dtype=np.float64), rate_hz)
            spoken += 1
    return spoken


def write_wav(path: Path, samples: NDArray[np.float64], rate_hz: int) -> None:
    """Write mono samples in [-1, 1] as 16 bit."""
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate_hz)
        out.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())


def read_wav(path: Path) -> tuple[NDArray[np.float64], int]:
    """Read mono 16-bit samples as floats in [-1, 1], with their rate."""
    with wave.open(str(path), "rb") as source:
        raw = np.frombuffer(source.readframes(source.getnframes()), dtype="<i2")
        return raw.astype(np.float64) / 32768.0, source.getframerate()
