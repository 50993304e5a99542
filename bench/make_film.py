"""Make a seeded film like a walk round: 1080p H.264 with pans, shake, blur, sensor noise and a voice-like sound.

    python bench/make_film.py OUT.mp4 [--minutes 8] [--seed 1] [--preset superfast]

The frame's number stands in the picture as 16 dark and light squares, so that a still can be checked to be the frame it
says it is. Beside the film, ``OUT.mp4.json`` tells for each second how fast the camera moved.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import asdict, dataclass
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import numpy.typing as npt

WIDTH, HEIGHT, RATE = 1920, 1080, 30
SOUND_RATE_HZ = 48_000
SQUARE = 24
BITS = 16
Plane = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Made:
    """What was made: `speed_px` is how far the camera moves between frames, one figure for each frame."""

    path: str
    length_s: float
    frames: int
    took_s: float
    speed_px: tuple[float, ...]


def make_film(
    path: Path,
    *,
    length_s: float = 480.0,
    seed: int = 1,
    preset: str = "superfast",
    key_s: float = 1.5,
    crf: int = 21,
) -> Made:
    """Make the film and give what is known of it; the same arguments give the same picture and sound."""
    began = time.perf_counter()
    random = np.random.default_rng(seed)
    frames = round(length_s * RATE)
    x, y, speed = _walk(random, frames)
    scene = _Scene(random)
    with av.open(str(path), "w", options={"movflags": "faststart"}) as out:
        film = out.add_stream("libx264", rate=RATE, options={"preset": preset, "crf": str(crf), "bf": "0"})
        film.width, film.height, film.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        film.gop_size = round(key_s * RATE)
        film.codec_context.thread_count = 0
        sound = out.add_stream("aac", rate=SOUND_RATE_HZ, layout="mono")
        blocks = _voice(random, length_s)
        for number in range(frames):
            frame = av.VideoFrame.from_ndarray(scene.frame(number, x[number], y[number], speed[number]), "yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, RATE)
            out.mux(film.encode(frame))
            while blocks.at_s < (number + 1) / RATE and (heard := blocks.take()) is not None:
                out.mux(sound.encode(heard))
        out.mux(film.encode(None))
        out.mux(sound.encode(None))
    made = Made(str(path), length_s, frames, time.perf_counter() - began, tuple(float(v) for v in speed))
    path.with_name(path.name + ".json").write_text(json.dumps(asdict(made)), encoding="utf-8")
    return made


def number_in(picture: npt.NDArray[np.uint8]) -> int:
    """Read the frame's number out of an upright picture of any size, grey or colour."""
    grey = picture if picture.ndim == 2 else picture.mean(axis=2)
    scale = grey.shape[1] / WIDTH
    row = round(SQUARE * scale * 0.5)
    return sum((1 << bit) for bit in range(BITS) if grey[row, round((bit + 0.5) * SQUARE * scale)] > 128)


def _walk(random: np.random.Generator, frames: int) -> tuple[Plane, Plane, Plane]:
    """Give the camera's place for each frame: still for some seconds, then a pan, at times fast; always a shake."""
    speed = np.zeros(frames)
    at = 0
    while at < frames:
        pause = int(random.uniform(1.5, 5) * RATE)
        move = int(random.uniform(1, 4) * RATE)
        fastest = random.choice([4.0, 10.0, 24.0, 60.0])
        bump = np.sin(np.linspace(0, np.pi, move)) ** 2 * fastest * random.choice([-1, 1])
        end = min(frames, at + pause + move)
        speed[min(at + pause, end) : end] = bump[: max(0, end - at - pause)]
        at = end
    shake = np.cumsum(random.normal(0, 1.2, (2, frames)), axis=1)
    shake -= cv2.blur(shake, (41, 1))
    place = np.cumsum(speed) + shake[0]
    return place, shake[1], np.abs(np.gradient(place))


class _Scene:
    """A wide painted panorama in YUV 4:2:0, in several degrees of blur, and tiles of sensor noise."""

    def __init__(self, random: np.random.Generator) -> None:
        wide, high = WIDTH * 5, HEIGHT + 128
        base = np.zeros((high, wide, 3), np.float32)
        for cell in (256, 96, 32, 10, 4):
            coarse = random.normal(0, 1, (high // cell + 2, wide // cell + 2, 3)).astype(np.float32)
            base += cv2.resize(coarse, (wide, high), interpolation=cv2.INTER_CUBIC) * (8 if cell < 20 else 16)
        picture = np.clip(base + 120, 0, 255).astype(np.uint8)
        for _ in range(260):
            corner = (int(random.integers(0, wide)), int(random.integers(0, high)))
            reach = (int(random.integers(40, 500)), int(random.integers(40, 400)))
            colour = tuple(int(v) for v in random.integers(20, 235, 3))
            far = (corner[0] + reach[0], corner[1] + reach[1])
            cv2.rectangle(picture, corner, far, colour, int(random.choice([2, 3, 6])), cv2.LINE_AA)
            cv2.ellipse(picture, corner, reach, 0, 0, 360, colour, 2, cv2.LINE_AA)
        self._levels = tuple(self._planes(picture, width) for width in (1, 5, 13, 31, 61))
        self._noise = tuple(random.integers(0, 7, (HEIGHT, WIDTH), dtype=np.uint8) for _ in range(5))
        self._wide, self._spare = wide, high - HEIGHT
        self._out = np.empty((HEIGHT * 3 // 2, WIDTH), np.uint8)

    @staticmethod
    def _planes(picture: Plane, width: int) -> tuple[Plane, Plane, Plane]:
        blurred = cv2.blur(picture, (width, 1)) if width > 1 else picture
        ycrcb = cv2.cvtColor(blurred, cv2.COLOR_RGB2YCrCb)
        small = cv2.resize(ycrcb, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        luma = (ycrcb[:, :, 0].astype(np.uint16) * 219 // 255 + 16).astype(np.uint8)
        return luma, np.ascontiguousarray(small[:, :, 2]), np.ascontiguousarray(small[:, :, 1])

    def frame(self, number: int, x: float, y: float, speed: float) -> Plane:
        # Half the frame's time the shutter is open: the blur is half as long as the way.
        luma, blue, red = self._levels[int(np.searchsorted((3.0, 12.0, 30.0, 60.0), speed / 2 * 2))]
        left = int(abs(_fold(x, self._wide - WIDTH))) // 2 * 2
        top = int(np.clip(y + self._spare / 2, 0, self._spare)) // 2 * 2
        out = self._out
        view = luma[top : top + HEIGHT, left : left + WIDTH]
        cv2.add(view, self._noise[number % 5], dst=out[:HEIGHT])
        half = (HEIGHT // 2, WIDTH // 2)
        for at, plane in ((HEIGHT, blue), (HEIGHT + HEIGHT // 4, red)):
            part = plane[top // 2 : top // 2 + half[0], left // 2 : left // 2 + half[1]]
            out[at : at + HEIGHT // 4].reshape(half)[:] = part
        for bit in range(BITS):
            out[:SQUARE, bit * SQUARE : (bit + 1) * SQUARE] = 235 if number >> bit & 1 else 16
        return out


def _fold(x: float, span: float) -> float:
    """Walk to and fro over the panorama."""
    x = x % (2 * span)
    return x if x < span else 2 * span - x


class _voice:  # noqa: N801 - reads as a function where it is used
    """Sound like speech: a buzz through two moving resonances, in syllables; twenty seconds over and over."""

    def __init__(self, random: np.random.Generator, length_s: float) -> None:
        count = 20 * SOUND_RATE_HZ
        t = np.arange(count) / SOUND_RATE_HZ
        pitch = 120 + 15 * np.sin(2 * np.pi * 0.4 * t)
        phase = 2 * np.pi * np.cumsum(pitch) / SOUND_RATE_HZ
        buzz = sum(np.sin(k * phase) / k * (1 + (k % 5 == 3)) for k in range(1, 24))
        syllables = np.clip(np.sin(2 * np.pi * 4.2 * t + 1.5 * np.sin(2 * np.pi * 0.7 * t)), 0, None)
        talking = np.repeat(random.random(20) < 0.8, SOUND_RATE_HZ)
        self._sound = (0.2 * buzz * syllables * talking + random.normal(0, 0.003, count)).astype(np.float32)
        self._left = round(length_s * SOUND_RATE_HZ)
        self._at = 0

    @property
    def at_s(self) -> float:
        return self._at / SOUND_RATE_HZ

    def take(self) -> av.AudioFrame | None:
        count = min(1024, self._left - self._at)
        if count <= 0:
            return None
        picked = np.take(self._sound, np.arange(self._at, self._at + count), mode="wrap")
        frame = av.AudioFrame.from_ndarray(picked[None], format="fltp", layout="mono")
        frame.sample_rate, frame.pts = SOUND_RATE_HZ, self._at
        self._at += count
        return frame


def main(arguments: list[str]) -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=8.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--preset", default="superfast")
    given = parser.parse_args(arguments)
    made = make_film(given.out, length_s=given.minutes * 60, seed=given.seed, preset=given.preset)
    size = given.out.stat().st_size
    print(
        f"{made.path}: {made.frames} frames, {size / 1e6:.0f} MB, {size * 8 / made.length_s / 1e6:.1f} Mb/s, "
        f"{made.took_s:.1f} s"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
