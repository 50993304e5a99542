"""Our own draft, held against its own car file by the check of written text: what it claims is backed."""

from __future__ import annotations

import json
from collections import Counter
from importlib.resources import files
from pathlib import Path

import pytest

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import (
    Drive,
    Fact,
    Finding,
    Footing,
    FootingKind,
    Found,
    Position,
    Remedy,
    Severity,
    Side,
    State,
)
from shutline.claims.check import Claim, check
from shutline.claims.record import record_of
from shutline.claims.verdict import Doubt, Verdict
from shutline.survey import coverage
from shutline.survey.odds import at_odds
from shutline.words import write_draft

NARRATIONS = sorted((Path(__file__).parents[2] / "training/narrations").glob("g-0[1-8]-*.txt"))
MADE_AT = "2026-11-26T08:00:00+00:00"


def kept_finding(number: int, cells: list[str], quote: str) -> KeptFinding:
    part, side, position, condition, found, severity, remedy = (cell if cell != "-" else "" for cell in cells)
    finding = Finding(
        part,
        condition,
        Found(found),
        side=Side(side) if side else None,
        position=Position(position) if position else None,
        severity=Severity(severity) if severity else None,
        remedy=Remedy(remedy) if remedy else None,
        footings=(Footing(FootingKind.SAID, "r1", float(number), float(number) + 2, quote),),
        state=State.STANDS,
    )
    return KeptFinding(f"f{number}", finding)


def kept_fact(number: int, name: str, value: str, unit: str | None) -> KeptFact:
    plain: int | str | bool = int(value) if value.isdecimal() else value
    if value in {"true", "True"}:
        plain = True
    footing = Footing(FootingKind.SAID, "r1", float(number), float(number) + 2, "")
    return KeptFact(f"a{number}", Fact(name, plain, unit, footings=(footing,), state=State.STANDS))


def car_of(drive: str, findings: list[KeptFinding], facts: list[KeptFact]) -> CarFile:
    told = {kept.fact.name: kept.fact.value for kept in facts}
    doors = told.get("doors")
    return CarFile(
        "curlew",
        "Averley Curlew",
        Drive(drive),
        MADE_AT,
        body=str(told["body"]) if "body" in told else None,
        doors=doors if isinstance(doors, int) else None,
        findings=tuple(findings),
        facts=tuple(facts),
    )


def demo() -> CarFile:
    """The car of the demo film, as it was written."""
    truth = json.loads((files("shutline.usecases") / "demo_recording/demo_truth.json").read_text(encoding="utf-8"))
    names = ("part", "side", "position", "condition", "found", "severity", "remedy")
    findings = [
        kept_finding(number, [one[name] or "-" for name in names], one["quote"])
        for number, one in enumerate(truth["observations"])
    ]
    facts = [
        kept_fact(number, one["name"], str(one["value"]), one.get("unit")) for number, one in enumerate(truth["facts"])
    ]
    return car_of(truth["drive"], findings, facts)


def narrated(path: Path) -> CarFile:
    """A car as its labels have it: see training/README.md for their form."""
    lines = path.read_text(encoding="utf-8").splitlines()
    drive = next(line.removeprefix("# drive:").strip() for line in lines if line.startswith("# drive:"))
    findings, facts = [], []
    for number, line in enumerate(line for line in lines if line.startswith("> ")):
        cells, _, quote = line.removeprefix("> ").partition(" | ")
        words = cells.split()
        if words[0] == "fact":
            unit = words[-1] if words[1] == "odometer" and words[-1] in {"mi", "km"} else None
            value = " ".join(words[2 : -1 if unit else None])
            facts.append(kept_fact(number, words[1], value, unit))
        elif len(words) == 7:
            findings.append(kept_finding(number, words, quote.partition(" | ")[0]))
    return car_of(drive, findings, facts)


def claims_of(car: CarFile) -> list[Claim]:
    found = coverage(car)
    draft = write_draft(car, found=found, odds=at_odds(car))
    text = "\n\n".join((draft.title.text, *(paragraph.text for paragraph in draft.paragraphs)))
    return list(check(text, record_of(car), looked_at=found).claims)


def left_open(claim: Claim) -> bool:
    """A doubt that the file has and the draft tells as a doubt: the check calls it unbacked, for it was left open."""
    return claim.judged.doubt is Doubt.UNSURE and claim.saying.found is Found.UNSURE


CARS = {"demo": demo, **{path.stem: (lambda path=path: narrated(path)) for path in NARRATIONS}}


@pytest.mark.parametrize("name", CARS)
def test_nothing_that_our_draft_says_is_at_odds_with_its_own_car_file(name: str) -> None:
    claims = claims_of(CARS[name]())
    wrong = [
        (one.saying.quote, one.saying.spot, one.saying.condition) for one in claims if one.verdict is Verdict.AT_ODDS
    ]
    assert len(claims) > 15
    assert wrong == []


def test_of_what_our_drafts_say_the_check_backs_nearly_all() -> None:
    # Not all: what the text says of the file itself is taken for the car now and then.
    claims = [one for name in CARS for one in claims_of(CARS[name]()) if not left_open(one)]
    counts = Counter(one.verdict for one in claims)
    assert counts[Verdict.BACKED] / len(claims) > 0.99, counts


@pytest.mark.parametrize("name", CARS)
def test_no_place_of_a_template_is_left_open(name: str) -> None:
    car = CARS[name]()
    draft = write_draft(car, found=coverage(car), odds=at_odds(car))
    assert [one.text for part in draft.paragraphs for one in part.sentences if "{" in one.text or "}" in one.text] == []
