"""What a person entered for a moment is told as that: nobody need say it there, and no picture need show it."""

from __future__ import annotations

from dataclasses import replace

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Drive, Finding, Footing, FootingKind, Found, Remedy, Side, State
from shutline.car.recordings import Still
from shutline.publish.bare import BarePicture
from shutline.publish.chapters import chapters
from shutline.publish.handover import build_handover
from shutline.publish.report import ReportModel, build_report
from shutline.publish.report.model import Entry

MADE_AT = "2026-11-27T10:00:00+00:00"
FRAME = Still(80.0, "ab" * 32, 640, 360, 1.0, 1.0)
PICTURE = BarePicture(b"jpeg", 640, 360)
SEEN = Footing(FootingKind.SEEN, "r1", 80.0, 80.0)
WROTE = Footing(FootingKind.SAID, "r1", 80.0, 80.0, "The lever comes right up")
HEARD = Footing(FootingKind.SAID, "r1", 79.0, 81.5, "rust along here")
ENTERED = Finding("handbrake", "fault", Found.YES, footings=(SEEN, WROTE), state=State.STANDS, remedy=Remedy.ADJUST)
SAID = Finding("sill", "rust", Found.YES, Side.NEAR, footings=(HEARD,), state=State.STANDS)


def report(*findings: Finding) -> ReportModel:
    kept = tuple(KeptFinding(f"f{number}", one, (FRAME,)) for number, one in enumerate(findings))
    car = CarFile("merlin", "1968 Calder Merlin 1300", Drive.RHD, MADE_AT, findings=kept)
    return build_report(car, stills={FRAME.sha256: PICTURE}, pictures={"p1": PICTURE}, made_at=MADE_AT)


def entry(model: ReportModel, place: str) -> Entry:
    return next(one for one in model.entries if one.place == place)


def test_what_a_person_entered_is_not_told_as_said_or_seen() -> None:
    model = report(ENTERED, SAID)
    told = entry(model, "handbrake")
    (stand,) = told.stands_on
    assert stand.words.startswith("Entered by a person, for the moment 1:20, in these words: ")
    assert "The lever comes right up" in stand.words
    assert stand.quote == ""
    assert told.detail == "Wants adjusting"
    sheet = build_handover(model, heard=(), number="a" * 64, fingerprint="b" * 64)
    assert stand.words in {one.stands_on for one in sheet.faults}
    bare = entry(report(replace(ENTERED, footings=(SEEN,))), "handbrake")
    assert [one.words for one in bare.stands_on] == ["Entered by a person, for the moment 1:20"]


def test_words_that_are_heard_in_the_film_are_told_as_said_also_where_a_person_entered_them() -> None:
    told = entry(report(replace(ENTERED, footings=(SEEN, HEARD))), "handbrake")
    assert [(one.words, one.quote) for one in told.stands_on] == [
        ("Entered by a person, for the moment 1:20", ""),
        ("Said at 1:19", "rust along here"),
    ]


def test_a_picture_of_another_finding_is_not_offered_beside_what_was_entered() -> None:
    for good in (SAID, replace(SAID, condition="sound"), replace(SAID, part="headlining", condition="tear")):
        model = report(ENTERED, good)
        told, other = entry(model, "handbrake"), next(one for one in model.entries if one.place != "handbrake")
        assert (told.pictures, told.note, told.see) == ((), "", 0)
        assert len(other.pictures) == 1
    alone = entry(report(ENTERED), "handbrake")
    assert [one.alt for one in alone.pictures] == [
        "Frame of the film at 1:20, the moment that a person entered this for: handbrake: fault"
    ]


def test_a_picture_that_a_person_tied_to_it_is_told_as_seen() -> None:
    tied = Footing(FootingKind.SEEN, "p1")
    told = entry(report(replace(ENTERED, footings=(SEEN, WROTE, tied)), SAID), "handbrake")
    assert [one.words for one in told.stands_on][1:] == ["Seen"]
    assert len(told.pictures) == 1


def test_what_was_entered_makes_no_chapter() -> None:
    kept = [KeptFinding("f1", replace(SAID, footings=(replace(HEARD, start_s=10.0, end_s=12.0),)))]
    told = chapters((), length_s=200.0, findings=kept)
    assert chapters((), length_s=200.0, findings=[*kept, KeptFinding("f2", ENTERED)]) == told
