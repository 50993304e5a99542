"""Time the whole main job on an 8-minute 1080p film with continuous talk: recording in, report out.

    python bench/main_job.py [--film FILM.mp4] [--talk SOUND...] [--keep DIR]

The film is made by `make_film.py` unless one is given; the talk comes from the spoken narrations beside the project
(``../shared/recordings``), one after the other until the film is full. Each step runs as its own command, so that its
peak memory can be read: first the words and the stills, then what the film itself tells (figures, engine), then the
report. Targets: at most a quarter of the film's length, under 1.5 GB; ``--help`` under 0.3 s.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import av

sys.path.insert(0, str(Path(__file__).parent))

from make_film import make_film

ROOT = Path(__file__).resolve().parents[1]
RECORDINGS = ROOT.parent / "shared/recordings"


def with_talk(film: Path, talk: Sequence[Path], out: Path) -> float:
    """Copy the picture of a film and put talk under it until it is full; gives its length in seconds."""
    with av.open(str(film)) as picture, av.open(str(out), "w", options={"movflags": "faststart"}) as made:
        source = picture.streams.video[0]
        length_s = float(source.duration * source.time_base) if source.duration and source.time_base else 0.0
        copy = made.add_stream_from_template(source)
        voice = made.add_stream("aac", rate=48_000)
        for packet in picture.demux(source):
            if packet.dts is not None:
                packet.stream = copy
                made.mux(packet)
        resampler = av.AudioResampler(format="fltp", layout="mono", rate=48_000)
        samples, number = 0, 0
        while samples < length_s * 48_000:
            with av.open(str(talk[number % len(talk)])) as spoken:
                for frame in spoken.decode(audio=0):
                    for piece in resampler.resample(frame):
                        piece.pts = samples
                        samples += piece.samples
                        made.mux(voice.encode(piece))
                    if samples >= length_s * 48_000:
                        break
            number += 1
        made.mux(voice.encode(None))
    return length_s


def run(*words: str) -> tuple[float, float, float]:
    """Run one command of ours; gives seconds by the clock and of the processors, and peak memory in MB."""
    began = time.perf_counter()
    command = subprocess.Popen(
        [sys.executable, "-m", "shutline", *words], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    _, status, used = os.wait4(command.pid, 0)
    took_s = time.perf_counter() - began
    if status:
        raise RuntimeError(f"shutline {' '.join(words)} ended with {os.waitstatus_to_exitcode(status)}")
    memory_mb = used.ru_maxrss / (1024.0 if sys.platform != "darwin" else 1024.0**2)
    return took_s, used.ru_utime + used.ru_stime, memory_mb


def main() -> int:
    """Time everything and print it."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--film", type=Path)
    parser.add_argument("--talk", type=Path, nargs="*")
    parser.add_argument("--keep", type=Path)
    options = parser.parse_args()
    talk = options.talk or sorted(RECORDINGS.glob("*.ogg"))
    if not talk:
        print("no talk: give --talk, or put ../shared/recordings beside the project", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as temporary:
        folder = options.keep or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        picture = options.film or folder / "picture.mp4"
        if not picture.is_file():
            make_film(picture)
        film = folder / "walk.mp4"
        length_s = with_talk(picture, talk, film)
        store = str(folder / "store")
        steps = {
            "words": run("add", str(film), "--car", "bench", "--store", store, "--no-figures", "--no-engine"),
            "film": run("add", str(film), "--car", "bench", "--store", store, "--figures", "--engine"),
            "report": run("report", "bench", "--store", store, "--out", str(folder / "out")),
        }
        again_s, *_ = run("add", str(film), "--car", "bench", "--store", store)
        help_s = statistics.median(run("--help")[0] for _ in range(9))
        car = json.loads((folder / "out/car-file.json").read_text(encoding="utf-8"))
    total_s, spent_s = (sum(step[at] for step in steps.values()) for at in (0, 1))
    print(f"film {length_s:.0f} s, {film.name}; {len(car['findings'])} findings, load {os.getloadavg()[0]:.1f}")
    print("        clock    processor  peak memory")
    for name, (took_s, used_s, memory_mb) in steps.items():
        print(f"{name:8}{took_s:6.1f} s  {used_s:6.1f} s  {memory_mb:6.0f} MB")
    print(f"whole   {total_s:6.1f} s  = {total_s / length_s:.3f} of the film's length (target 0.25)")
    print(
        f"        {spent_s:6.1f} s of processor, {spent_s / length_s / 2:.3f} of it on two that have nothing else to do"
    )
    print(f"again   {again_s:6.1f} s  (all done already)")
    print(f"--help  {help_s:6.2f} s  (target 0.3)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
