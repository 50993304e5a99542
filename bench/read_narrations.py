#!/usr/bin/env python3
"""Read narrations through the public API and write what was found in the form that the scorer takes.

    bench/read_narrations.py GOLD_DIR OUT_DIR

Of each narration only `segments` and `drive` are looked at.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from shutline.car.findings import Drive, Finding
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks import Reading, read


def read_segments(segments: list[dict[str, Any]], drive: str) -> Reading:
    """Read the segments of one narration."""
    stretches = [stretch_of(s["text"], s["start"], s["end"], origin=StretchOrigin.TRANSCRIPT) for s in segments]
    return read(stretches, drive=Drive(drive))


def observation(finding: Finding, segments: list[dict[str, Any]]) -> dict[str, Any]:
    """Write one finding as an observation; its times are those of the segments its words stand in."""
    footing = finding.footings[0]
    start, end = footing.start_s or 0.0, footing.end_s or 0.0
    inside = [s for s in segments if s["start"] < end - 1e-6 and s["end"] > start + 1e-6] or segments[-1:]
    return {
        "t0": inside[0]["start"],
        "t1": inside[-1]["end"],
        "quote": footing.quote,
        "part": finding.part,
        "side": finding.side and finding.side.value,
        "position": finding.position and finding.position.value,
        "condition": finding.condition,
        "found": finding.found.value,
        "severity": finding.severity and finding.severity.value,
        "remedy": finding.remedy and finding.remedy.value,
        "sureness": finding.sureness,
    }


def written(reading: Reading, segments: list[dict[str, Any]]) -> dict[str, Any]:
    """Write a reading in the form of a labelled narration."""
    facts = []
    for fact in reading.facts:
        entry: dict[str, Any] = {"name": fact.name, "value": fact.value, "quote": fact.footings[0].quote}
        if fact.unit is not None:
            entry["unit"] = fact.unit
        facts.append(entry)
    return {"observations": [observation(f, segments) for f in reading.findings], "facts": facts}


def main() -> None:
    """Read a folder of narrations into another."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path)
    parser.add_argument("out", type=Path)
    given = parser.parse_args()
    for path in sorted(p for p in given.gold.rglob("*.json") if "." not in p.stem):
        entry = json.loads(path.read_text(encoding="utf-8"))
        segments, drive = entry["segments"], entry["drive"]
        target = given.out / path.relative_to(given.gold)
        target.parent.mkdir(parents=True, exist_ok=True)
        plain = written(read_segments(segments, drive), segments)
        target.write_text(json.dumps(plain, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
