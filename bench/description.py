#!/usr/bin/env python3
"""Draft descriptions of narrated cars: how long, how readable, how much of each is read back and backed.

    bench/description.py FOLDER [NAME...] [--text]

Of each narration `segments`, `drive` and `title` are looked at; all that is read of it is let stand. Readability is
counted by the package `readability`; the check is ours, and so is the reader that reads the draft back.
"""

from __future__ import annotations

import argparse
import json
import re
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import Drive, State
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.claims.check import check
from shutline.claims.judged import Doubt, Verdict
from shutline.claims.record import record_of
from shutline.remarks import read
from shutline.survey import coverage
from shutline.survey.odds import at_odds
from shutline.words import Draft, Length, as_text, write_draft

_STATE = ("history", "outside", "inside", "underneath", "mechanical")
MADE_AT = "2026-11-26T08:00:00+00:00"


def car_of(path: Path) -> CarFile:
    """Read a narration, and let all of it stand."""
    entry = json.loads(path.read_text(encoding="utf-8"))
    stretches = [
        stretch_of(s["text"], s["start"], s["end"], origin=StretchOrigin.TRANSCRIPT) for s in entry["segments"]
    ]
    reading = read(stretches, drive=Drive(entry["drive"]), recording="r1")
    told = {fact.name: fact.value for fact in reading.facts}
    doors = told.get("doors")
    return CarFile(
        path.stem,
        str(entry["title"]),
        Drive(entry["drive"]),
        MADE_AT,
        body=str(told["body"]) if "body" in told else None,
        doors=doors if isinstance(doors, int) else None,
        findings=tuple(
            KeptFinding(f"f{n}", replace(one, state=State.STANDS)) for n, one in enumerate(reading.findings)
        ),
        facts=tuple(KeptFact(f"a{n}", replace(one, state=State.STANDS)) for n, one in enumerate(reading.facts)),
    )


def read_back(car: CarFile, draft: Draft) -> tuple[int, int]:
    """Count the findings that the draft tells of the state, and those that our reader finds again in its words."""
    findings = {kept.id: kept.finding for kept in car.findings}
    told = again = 0
    for paragraph in (one for one in draft.paragraphs if one.section in _STATE):
        stretches = [
            stretch_of(s.text, 10.0 * n, 10.0 * n + 10, origin=StretchOrigin.TRANSCRIPT)
            for n, s in enumerate(paragraph.sentences)
        ]
        reading = read(stretches, drive=car.drive)
        for n, sentence in enumerate(paragraph.sentences):
            found = {
                (f.part, f.condition, f.found)
                for f in reading.findings
                if (f.footings[0].start_s or 0.0) < 10 * n + 10 and (f.footings[0].end_s or 0.0) > 10 * n
            }
            for name in {one.id for one in sentence.stands_on if one.id in findings}:
                told += 1
                again += (findings[name].part, findings[name].condition, findings[name].found) in found
    return told, again


def readability_of(draft: Draft) -> dict[str, float]:
    """Give Flesch's reading ease, the grades of Kincaid and of Coleman and Liau, and words a sentence."""
    import readability

    lines = [re.sub(r"([.,;:()])", r" \1", sentence.text) for sentence in draft.sentences]
    measured: Any = readability.getmeasures(lines, lang="en")
    grades, info = measured["readability grades"], measured["sentence info"]
    return {
        "ease": grades["FleschReadingEase"],
        "kincaid": grades["Kincaid"],
        "coleman-liau": grades["Coleman-Liau"],
        "words a sentence": info["words_per_sentence"],
    }


def main() -> None:
    """Draft and measure."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--text", action="store_true")
    given = parser.parse_args()
    paths = sorted(
        p for p in given.folder.glob("*.json") if "." not in p.stem and (not given.names or p.stem in given.names)
    )
    verdicts: Counter[str] = Counter()
    sums: Counter[str] = Counter()
    for path in paths:
        car = car_of(path)
        found, odds = coverage(car), at_odds(car)
        begin = time.process_time()
        draft = write_draft(car, found=found, odds=odds)
        took_s = time.process_time() - begin
        named = {name for sentence in draft.sentences for name in sentence.faults}
        if named != set(draft.faults):
            print(f"{path.stem}: {len(set(draft.faults) - named)} faults not named")
        told, again = read_back(car, draft)
        text = as_text(draft)
        claims = check(text, record_of(car), looked_at=found).claims
        counts = Counter("left open" if c.judged.doubt is Doubt.UNSURE else c.verdict.value for c in claims)
        verdicts += counts
        short = write_draft(car, found=found, odds=odds, length=Length.SHORT)
        words = len(text.split())
        ease = readability_of(draft)
        sums.update({"words": words, "faults": len(named), "told": told, "again": again, "cars": 1, "took": took_s})
        sums.update({"short": sum(len(s.text.split()) for s in short.sentences), **ease})
        print(
            f"{path.stem:36} {words:4} words  {len(named):3} faults named  read back {again}/{told}  "
            f"{dict(counts)}  ease {ease['ease']:.0f}  grade {ease['kincaid']:.1f}"
        )
        if given.text:
            print(text)
    cars = max(1, sums["cars"])
    claimed = sum(count for name, count in verdicts.items() if name != "left open")
    print(
        f"{cars} cars: {sums['words'] / cars:.0f} words, short {sums['short'] / cars:.0f}; "
        f"{sums['faults']} faults named; a draft takes {sums['took'] / cars * 1000:.0f} ms"
    )
    print(f"read back {sums['again'] / max(1, sums['told']):.3f} of {sums['told']}; {dict(verdicts)}")
    print(f"backed {verdicts[Verdict.BACKED.value] / max(1, claimed):.3f} of {claimed}")
    for name in ("ease", "kincaid", "coleman-liau", "words a sentence"):
        print(f"{name}: {sums[name] / cars:.1f}")


if __name__ == "__main__":
    main()
