"""What was said and what was read off a picture stand side by side in the report: equal, or at odds with both shown."""

from shutline.car.carfile import CarFile, KeptFact
from shutline.car.findings import Drive, Fact, Footing, FootingKind, State
from shutline.publish.report.facts import facts


def _car(*kept: Fact) -> CarFile:
    numbered = tuple(KeptFact(f"{number:016x}", fact) for number, fact in enumerate(kept))
    return CarFile("blue", "Ostrel Pavane", Drive.RHD, "2026-03-01T09:00:00Z", facts=numbered)


def _said(value: int) -> Fact:
    return Fact("odometer", value, "mi", (Footing(FootingKind.SAID, "r1", 12.0, 14.0, "fifty-eight two oh six"),))


def _seen(name: str, value: int | str, unit: str | None = None) -> Fact:
    footing = Footing(FootingKind.SEEN, "p1", None, None, str(value), ("figure 1",))
    return Fact(name, value, unit, (footing,), state=State.STANDS)


def test_a_mileage_that_was_said_and_seen_alike_is_one_value_on_two_footings() -> None:
    (line,), problems = facts(_car(_said(58_206), _seen("odometer", 58_206, "mi")), {"r1": 1})
    assert problems == ()
    assert [value.words for value in line.values] == ["58,206 miles"]
    assert [stand.words for stand in line.values[0].stands_on] == ["Said at 0:12", "Seen"]
    assert line.odds == ""


def test_a_mileage_that_was_said_and_seen_otherwise_is_at_odds_with_both_shown() -> None:
    (line,), _ = facts(_car(_said(85_206), _seen("odometer", 58_206, "mi")), {"r1": 1})
    assert [value.words for value in line.values] == ["85,206 miles", "58,206 miles"]
    assert "At odds" in line.odds


def test_mark_and_chassis_number_have_a_place_in_the_report() -> None:
    lines, problems = facts(_car(_seen("registration_mark", "FGY412H"), _seen("chassis_number", "HB5/63027")), {})
    assert problems == ()
    assert [(line.label, line.values[0].words) for line in lines] == [
        ("Registration mark", "FGY412H"),
        ("Chassis number", "HB5/63027"),
    ]
