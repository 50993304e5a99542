"""Hear the spoken narrations, write what was heard as transcripts, and say how well and how quickly.

Usage: python bench/hear_recordings.py OUT_DIR [--recordings DIR] [--narrations DIR] [--model DIR] [--threads N]
       [--no-terms] [--no-company]

Looks for the recordings (NAME.ogg) in ../shared/recordings and for the narrations that were spoken (NAME.json) in
../shared/eval/dev. For each it writes OUT_DIR/NAME.json with segments and words, and prints the word error rate against
the narration's text, trade words heard, wall and processor time, and the peak memory of the process.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import av
import numpy as np

from shutline.car.speech import Stretch
from shutline.remarks.company import shipped_company
from shutline.speech.accurate import accurate
from shutline.speech.bundled import bundled
from shutline.speech.heard import SAMPLES_PER_S, Sound
from shutline.speech.recognise import recognise
from shutline.speech.terms import trade_terms
from word_errors import plain_words, word_errors

SHARED = Path(__file__).parents[1].parent / "shared"


def read_sound(path: Path) -> Sound:
    """Decode a recording to 16 kHz, one channel."""
    blocks: list[Sound] = []
    resampler = av.AudioResampler(format="flt", layout="mono", rate=SAMPLES_PER_S)
    with av.open(str(path)) as file:
        for frame in file.decode(audio=0):
            blocks.extend(part.to_ndarray()[0] for part in resampler.resample(frame))
        blocks.extend(part.to_ndarray()[0] for part in resampler.resample(None))
    return np.concatenate(blocks)


def as_transcript(stretches: Sequence[Stretch]) -> dict[str, object]:
    """Give stretches the form that `shutline read` takes."""
    return {
        "segments": [
            {
                "start": round(stretch.start_s, 3),
                "end": round(stretch.end_s, 3),
                "text": stretch.text,
                "words": [
                    {"word": w.text, "start": w.start_s, "end": w.end_s, "probability": w.sureness}
                    for w in stretch.words
                ],
            }
            for stretch in stretches
        ]
    }


def peak_mb() -> float | None:
    """Give the most memory this process has held; None where the system does not tell."""
    try:
        import resource
    except ImportError:
        return None
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1 << 20) if sys.platform == "darwin" else most / (1 << 10)


def main() -> int:
    """Hear them all; 1 where there are none."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("out", type=Path)
    parser.add_argument("--recordings", type=Path, default=SHARED / "recordings")
    parser.add_argument("--narrations", type=Path, default=SHARED / "eval" / "dev")
    parser.add_argument("--model", type=Path, help="folder of a more accurate model")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--no-terms", action="store_true")
    parser.add_argument("--no-company", action="store_true", help="without the counts of talk at cars")
    asked = parser.parse_args()
    paths = sorted(asked.recordings.glob("*.ogg")) if asked.recordings.is_dir() else []
    if not paths:
        print(f"{asked.recordings}: no .ogg recordings; nothing was heard.")
        return 1
    asked.out.mkdir(parents=True, exist_ok=True)
    company = None if asked.no_company else shipped_company()
    recogniser = accurate(asked.model) if asked.model else bundled(company=company)
    terms = () if asked.no_terms else trade_terms()
    trade = {word for term in trade_terms() for word in plain_words(term) if len(word) > 3}
    print(recogniser.id)
    for path in paths:
        sound = read_sound(path)
        wall, work = time.perf_counter(), time.process_time()
        stretches, problems = recognise(
            sound, recogniser=recogniser, terms=terms, threads=asked.threads, where=path.name
        )
        wall, work = time.perf_counter() - wall, time.process_time() - work
        text = json.dumps(as_transcript(stretches), ensure_ascii=False, indent=1)
        (asked.out / f"{path.stem}.json").write_text(text, encoding="utf-8")
        length = len(sound) / SAMPLES_PER_S
        timings = Counter(word.timing.value for stretch in stretches for word in stretch.words)
        print(
            f"{path.name}: {length:.0f} s of sound, {wall:.1f} s wall ({wall / length:.3f}), {work:.1f} s of processor"
        )
        print(f"  words {dict(timings)}, problems {[problem.slug for problem in problems]}")
        narration = asked.narrations / f"{path.stem}.json"
        if narration.is_file():
            segments = json.loads(narration.read_text(encoding="utf-8"))["segments"]
            said = plain_words(" ".join(segment["text"] for segment in segments))
            heard = plain_words(" ".join(stretch.text for stretch in stretches))
            errors = word_errors(said, heard)
            wanted, got = (Counter(word for word in words if word in trade) for words in (said, heard))
            print(
                f"  word errors {errors.rate:.1%} of {errors.said} (changed {errors.changed}, "
                f"left out {errors.left_out}, put in {errors.put_in}); trade words "
                f"{(wanted & got).total()} of {wanted.total()}, {(got - wanted).total()} heard that were not said"
            )
    peak = peak_mb()
    print(f"peak memory {peak:.0f} MB" if peak is not None else "peak memory: not told by this system")
    return 0


if __name__ == "__main__":
    sys.exit(main())
