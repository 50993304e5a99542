"""Where the walk is: by what was read in the words, and by what a person let stand."""

from __future__ import annotations

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Drive, Finding, Footing, FootingKind, Found, Side, State
from shutline.car.places import Visit
from shutline.usecases.part_times import confirmed_walk


def finding(part: str, start_s: float, end_s: float, *, state: State = State.STANDS, source: str = "r1") -> Finding:
    said = (Footing(FootingKind.SAID, source, start_s, end_s, "so"),)
    return Finding(part, "dent", Found.YES, Side.OFF, footings=said, state=state)


def test_the_thread_follows_what_a_person_let_stand() -> None:
    findings = (
        finding("rear_wing", 126.8, 128.0),
        finding("rear_wing", 121.3, 126.0),
        finding("sill", 90.0, 91.0),
        finding("headlight", 100.0, 101.0, state=State.HEARD),
        finding("door", 100.0, 101.0, state=State.STRUCK),
        finding("roof", 5.0, 6.0, source="r2"),
    )
    entered = (Footing(FootingKind.SEEN, "r1", 80.0, 80.0), Footing(FootingKind.SAID, "r1", 80.0, 80.0, "so"))
    findings = (*findings, Finding("handbrake", "fault", Found.YES, footings=entered, state=State.STANDS))
    kept = tuple(KeptFinding(f"f{number}", one) for number, one in enumerate(findings))
    car = CarFile("merlin", "Merlin", Drive.RHD, "", findings=kept)
    assert confirmed_walk(car, "r1") == (
        Visit(90.0, 91.0, "sill", Side.OFF, None),
        Visit(121.3, 128.0, "rear_wing", Side.OFF, None),
    )
    assert confirmed_walk(car, "r3") == ()
