#!/usr/bin/env python3
"""Read narrations through the public API and write what was found in the form that the scorer takes.

    bench/read_narrations.py GOLD_DIR OUT_DIR [--labelled]

Of each narration only `segments` and `drive` are looked at; of a description beside it only `text`, of questions only
`question`. They are held against what was read of the narration; with `--labelled` against its labels instead, which
tells the mistakes of the check from those of the reader.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from shutline.car.findings import (
    Drive,
    Fact,
    Finding,
    Footing,
    FootingKind,
    Found,
    Position,
    Severity,
    Side,
)
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.claims.answers import SILENT, Answer, Kind, answer
from shutline.claims.check import check
from shutline.claims.record import Record, record
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


def record_read(reading: Reading, drive: str) -> Record:
    """Lay out what was read, as a car file would have it."""
    return record(
        ((str(number), finding) for number, finding in enumerate(reading.findings)),
        ((str(number), fact) for number, fact in enumerate(reading.facts)),
        drive=Drive(drive),
    )


def record_labelled(entry: dict[str, Any]) -> Record:
    """Lay out the labels of a narration; a fact is told in the segment that its quote stands in."""

    def said(row: dict[str, Any]) -> Footing:
        start = row.get("t0")
        if start is None:
            start = next((s["start"] for s in entry["segments"] if row["quote"] in s["text"]), None)
        return Footing(FootingKind.SAID, "", start, row.get("t1", start), row["quote"])

    return record(
        (
            (
                str(number),
                Finding(
                    row["part"],
                    row["condition"],
                    Found(row["found"]),
                    Side(row["side"]) if row["side"] else None,
                    Position(row["position"]) if row["position"] else None,
                    Severity(row["severity"]) if row["severity"] else None,
                    footings=(said(row),),
                ),
            )
            for number, row in enumerate(entry["observations"])
        ),
        (
            (str(number), Fact(row["name"], row["value"], row.get("unit"), (said(row),)))
            for number, row in enumerate(entry["facts"])
        ),
        drive=Drive(entry["drive"]),
    )


def checked(text: str, on: Record) -> dict[str, Any]:
    """Check a description, in the form of a labelled one."""
    claims = [
        {"quote": claim.saying.quote, "verdict": claim.verdict.value.replace(" ", "_")}
        for claim in check(text, on).claims
    ]
    return {"text": text, "claims": claims}


def answered(question: str, on: Record, segments: list[dict[str, Any]]) -> dict[str, Any]:
    """Answer a question, in the form of a labelled one; what tells how a part is has no form there."""
    given: Answer = answer(question, on)
    kind = "not_recorded" if given.kind in SILENT or given.kind is Kind.TOLD else given.kind.value
    start = given.start_s
    inside = [s["start"] for s in segments if start is not None and s["start"] <= start + 1e-6]
    value = given.value if given.kind is Kind.VALUE else None
    return {"question": question, "answer": kind, "value": value, "t0": inside[-1] if inside else None}


def beside(path: Path, target: Path, on: Record, segments: list[dict[str, Any]]) -> None:
    """Check the description and answer the questions that lie beside a narration, where there are any."""
    description, questions = (path.with_suffix(f".{kind}.json") for kind in ("description", "questions"))
    if description.is_file():
        text = json.loads(description.read_text(encoding="utf-8"))["text"]
        _write(target.with_suffix(".description.json"), checked(text, on))
    if questions.is_file():
        asked = [row["question"] for row in json.loads(questions.read_text(encoding="utf-8"))]
        _write(target.with_suffix(".questions.json"), [answered(question, on, segments) for question in asked])


def _write(path: Path, plain: object) -> None:
    path.write_text(json.dumps(plain, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


def main() -> None:
    """Read a folder of narrations into another."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--labelled", action="store_true", help="hold texts and questions against the labels")
    given = parser.parse_args()
    for path in sorted(p for p in given.gold.rglob("*.json") if "." not in p.stem):
        entry = json.loads(path.read_text(encoding="utf-8"))
        segments, drive = entry["segments"], entry["drive"]
        target = given.out / path.relative_to(given.gold)
        target.parent.mkdir(parents=True, exist_ok=True)
        reading = read_segments(segments, drive)
        _write(target, written(reading, segments))
        on = record_labelled(entry) if given.labelled else record_read(reading, drive)
        beside(path, target, on, segments)


if __name__ == "__main__":
    main()
