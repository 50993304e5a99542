"""Time the note of an engine on a minute of made sound, with and without the voice detector.

    python bench/engine_note.py [--rounds 5]

Target: a minute of sound in under two seconds of one processor. What is given is the processor's time, the middle of
the rounds, for the clock also counts what else the machine does.
"""

from __future__ import annotations

import argparse
import importlib.util
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np

from shutline.gauge.engine import SOUND_HZ, note_engine, speech_spans

ROOT = Path(__file__).resolve().parents[1]
LENGTH_S = 60


def made_engine() -> ModuleType:
    """Load the maker of engines that the tests use."""
    spec = importlib.util.spec_from_file_location("made_engine", ROOT / "tests" / "gauge" / "engine" / "made_engine.py")
    if spec is None or spec.loader is None:
        raise FileNotFoundError("tests/gauge/engine/made_engine.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["made_engine"] = module
    spec.loader.exec_module(module)
    return module


def timed(work: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Give the processor's and the clock's seconds of a work, the middle of the rounds."""
    processor, clock = [], []
    for _ in range(rounds):
        began = time.process_time(), time.perf_counter()
        work()
        processor.append(time.process_time() - began[0])
        clock.append(time.perf_counter() - began[1])
    return statistics.median(processor), statistics.median(clock)


def main() -> int:
    """Time it and say whether the target is met."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    made = made_engine()
    one = made.make(made.Plan(cylinders=4, seed=1, quiet_s=6.0, run_s=55))
    sound = np.asarray(made.at_db(one, made.hiss(one.sound.size, 1), 15)[: LENGTH_S * SOUND_HZ], np.float32)
    note = timed(lambda: note_engine(sound, cylinders=4), rounds)
    voice = timed(lambda: speech_spans(sound), rounds)
    print(f"{LENGTH_S} s of sound, {rounds} rounds (processor / clock, seconds)")
    print(f"note:            {note[0]:.2f} / {note[1]:.2f}  = {note[0] / LENGTH_S:.3f} of its length")
    print(f"voice detector:  {voice[0]:.2f} / {voice[1]:.2f}  only where the words came from a file")
    both = note[0] + voice[0]
    print(f"both:            {both:.2f} s of processor")
    met = both < 2.0
    print(f"both under 2 s: {'yes' if met else 'no'}")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
