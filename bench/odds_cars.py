"""Car files of labelled narrations: of the labels, the reader left out, or of what the reader makes of the words."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Recording
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Position, Remedy, Severity, Side
from shutline.car.recordings import Kind, Original, Probe
from shutline.car.speech import Stretch, StretchOrigin, Word, stretch_of
from shutline.remarks import read
from shutline.survey.tables import words_of

RECORDING = "walk"


def narrations(folder: Path, without: tuple[str, ...] = ()) -> dict[str, dict[str, Any]]:
    """Read the labelled narrations of a folder by name, without those named and their descriptions and questions."""
    found = {}
    for path in sorted(folder.glob("*.json")):
        if "." not in path.stem and path.stem not in without:
            found[path.stem] = json.loads(path.read_text(encoding="utf-8"))
    return found


def stretches_of(narration: dict[str, Any]) -> tuple[Stretch, ...]:
    """Give the segments of a narration as stretches, their words with shared out times."""
    return tuple(
        stretch_of(one["text"], one["start"], one["end"], origin=StretchOrigin.TRANSCRIPT)
        for one in narration["segments"]
    )


def labelled_car(narration: dict[str, Any], stretches: tuple[Stretch, ...]) -> CarFile:
    """Make a car file of the labels alone."""
    words = [word for stretch in stretches for word in stretch.words]
    findings = tuple(
        KeptFinding(f"f{number}", _finding(one, words)) for number, one in enumerate(narration["observations"])
    )
    facts = tuple(
        KeptFact(f"k{number}", Fact(one["name"], one["value"], one.get("unit"), (_said(one, words),)))
        for number, one in enumerate(narration["facts"])
    )
    return _car(narration, stretches, findings, facts)


def read_car(narration: dict[str, Any], stretches: tuple[Stretch, ...]) -> CarFile:
    """Make a car file of what the reader makes of the words."""
    reading = read(stretches, drive=Drive(narration["drive"]), recording=RECORDING)
    findings = tuple(KeptFinding(f"f{number}", one) for number, one in enumerate(reading.findings))
    facts = tuple(KeptFact(f"k{number}", one) for number, one in enumerate(reading.facts))
    return _car(narration, stretches, findings, facts)


def _car(
    narration: dict[str, Any],
    stretches: tuple[Stretch, ...],
    findings: tuple[KeptFinding, ...],
    facts: tuple[KeptFact, ...],
) -> CarFile:
    original = Original("0" * 64, "walk.vtt", 1, Kind.TRANSCRIPT)
    recording = Recording(RECORDING, original, Probe(Kind.TRANSCRIPT, "vtt"), stretches, complete=True)
    findings = tuple(sorted(findings, key=lambda kept: kept.finding.start_s or 0.0))
    return CarFile(
        "car",
        "Car",
        Drive(narration["drive"]),
        "2026-01-01T00:00:00Z",
        recordings=(recording,),
        findings=findings,
        facts=facts,
    )


def _finding(label: dict[str, Any], words: list[Word]) -> Finding:
    return Finding(
        part=label["part"],
        condition=label["condition"],
        found=Found(label["found"]),
        side=Side(label["side"]) if label["side"] else None,
        position=Position(label["position"]) if label["position"] else None,
        severity=Severity(label["severity"]) if label["severity"] else None,
        remedy=Remedy(label["remedy"]) if label["remedy"] else None,
        footings=(_said(label, words),),
    )


def _said(label: dict[str, Any], words: list[Word]) -> Footing:
    """Find the words of a label among those spoken, for their times."""
    asked = words_of(label["quote"])
    spoken = [(token, word) for word in words for token in words_of(word.text)]
    for at in range(len(spoken) - len(asked) + 1):
        start_s, end_s = spoken[at][1].start_s, spoken[at + len(asked) - 1][1].end_s if asked else 0.0
        inside = "t0" not in label or label["t0"] - 0.01 <= start_s <= label["t1"]
        if asked and inside and tuple(token for token, _ in spoken[at : at + len(asked)]) == asked:
            return Footing(FootingKind.SAID, RECORDING, start_s, end_s, label["quote"])
    return Footing(FootingKind.SAID, RECORDING, label.get("t0", 0.0), label.get("t1", 0.0), label["quote"])
