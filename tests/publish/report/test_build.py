from __future__ import annotations

import hashlib
import io
from dataclasses import fields, is_dataclass, replace
from typing import TYPE_CHECKING, Any

import pytest
from PIL import Image

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.errors import UserError
from shutline.car.findings import Drive, Finding, Footing, FootingKind, Found, Remedy, Side, State
from shutline.car.recordings import Still
from shutline.publish.report import House, ReportModel, build_report
from shutline.publish.report.model import Tone
from shutline.publish.report.times import day, moment, ranges, size

if TYPE_CHECKING:
    from tests.publish.conftest import Sample  # pragma: no cover

MADE_AT = "2026-11-25T10:00:00+00:00"
SAID = (Footing(FootingKind.SAID, "r", 61.0, 64.0, "words"),)


def build(sample: Sample, **more: Any) -> ReportModel:
    return build_report(sample.car, visits=sample.visits, stills=sample.stills, made_at=MADE_AT, **more)


def car_of(*findings: Finding) -> CarFile:
    kept = tuple(KeptFinding(f"f{n}", finding) for n, finding in enumerate(findings))
    return CarFile("car", "Car", Drive.RHD, MADE_AT, findings=kept)


def every_text(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, tuple):
        return [text for item in value for text in every_text(item)]
    if is_dataclass(value):
        return [text for field in fields(value) for text in every_text(getattr(value, field.name))]
    return []


def test_every_finding_that_goes_out_is_in_the_model_once(sample: Sample) -> None:
    model = build(sample)
    assert sorted(entry.id for entry in model.entries) == sorted(kept.id for kept in sample.car.going_out())
    assert [entry.number for entry in model.entries] == list(range(1, len(model.entries) + 1))


def test_nothing_struck_withdrawn_or_private_enters_the_model(sample: Sample) -> None:
    texts = "\n".join(every_text(build(sample)))
    for planted in ("PLANTED-STRUCK", "PLANTED-WITHDRAWN", "PLANTED-HOME", "PLANTED-KEEPER", "three keepers"):
        assert planted not in texts


def test_a_fact_without_a_place_in_the_report_is_named_but_not_told(sample: Sample) -> None:
    assert any("keeper_name" in problem for problem in build(sample).problems)


def test_two_values_of_one_fact_are_both_shown_as_at_odds(sample: Sample) -> None:
    line = next(line for line in build(sample).facts if line.label == "Odometer")
    assert [value.words for value in line.values] == ["58,206 miles", "58,602 miles"]
    assert line.odds.startswith("At odds")


def test_a_heard_finding_never_reads_as_confirmed(sample: Sample) -> None:
    states = {kept.id: kept.finding.state for kept in sample.car.findings}
    for entry in build(sample).entries:
        assert entry.confirmed is (states[entry.id] is State.STANDS)
        assert ("not yet confirmed" in entry.state) is (states[entry.id] is State.HEARD)


def test_doubt_of_the_program_is_told(sample: Sample) -> None:
    brakes = next(entry for entry in build(sample).entries if entry.place == "brakes")
    assert "unsure that it took these words rightly" in brakes.state


def test_an_unsure_finding_reads_as_unsure(sample: Sample) -> None:
    entry = next(entry for entry in build(sample).entries if entry.place == "offside sill")
    assert entry.tone is Tone.UNSURE
    assert entry.words.startswith("Perhaps")
    assert "unsure" in entry.state


def test_every_sentence_about_the_car_names_the_findings_it_stands_on(sample: Sample) -> None:
    model = build(sample)
    numbers = {entry.number for entry in model.entries}
    by_number = {entry.number: entry for entry in model.entries}
    told: set[int] = set()
    for sentence in model.summary[1:-1]:
        assert sentence.numbers
        assert set(sentence.numbers) <= numbers
        assert {item.number for item in sentence.items} <= set(sentence.numbers)
        assert all(item.at_place == by_number[item.number].at_place for item in sentence.items)
        told |= {item.number for item in sentence.items}
    assert told == numbers, "a summary this short names every finding"


def test_no_fault_is_left_for_later_in_the_summary() -> None:
    faults = [
        Finding("sill", "rust", Found.YES, Side.NEAR, footings=(replace(SAID[0], quote=str(n)),)) for n in range(40)
    ]
    model = build_report(car_of(*faults), made_at=MADE_AT)
    assert max(len(sentence.items) for sentence in model.summary) == 40


def test_silence_stands_in_the_summary_and_in_its_own_list(sample: Sample) -> None:
    model = build(sample)
    assert "no good news" in model.summary[-1].text
    assert any(line.name == "steering" for line in model.silent)
    assert not any("sill" in line.name for line in model.silent)


def test_cautions_are_called_by_the_parts_spoken_of(sample: Sample) -> None:
    titles = {caution.title for caution in build(sample).cautions}
    assert {"On the road", "Before the first drive", "Exhaust fumes", "Getting under it"} <= titles
    assert "High voltage" not in titles
    bare = build_report(car_of(), made_at=MADE_AT)
    assert [caution.title for caution in bare.cautions] == ["On the road"]


def test_a_remedy_is_said_where_somebody_said_it() -> None:
    said = Finding("sill", "rust", Found.YES, Side.NEAR, remedy=Remedy.TREAT, footings=SAID)
    entered = replace(said, footings=(Footing(FootingKind.SEEN),), state=State.STANDS)
    details = {e.stands_on[0].words: e.detail for e in build_report(car_of(said, entered), made_at=MADE_AT).entries}
    assert details == {"Said at 1:01": "Said to want treating", "Seen": "Wants treating"}


def test_a_still_is_shown_once_small_and_bare(sample: Sample) -> None:
    model = build(sample)
    pictures = [picture for entry in model.entries for picture in entry.pictures]
    assert len(pictures) == len(model.entries)
    for one in pictures:
        assert b"PLANTED" not in one.data
        assert dict(Image.open(io.BytesIO(one.data)).getexif()) == {}
    kept = sample.car.findings[0]
    twice = replace(sample.car, findings=(kept, replace(kept, id="again", finding=replace(kept.finding, part="roof"))))
    first, second = build_report(twice, stills=sample.stills, made_at=MADE_AT).entries
    assert len(first.pictures) == 1
    assert second.pictures == ()
    assert (second.note, second.see) == ("Picture beside 1.", 1)


def test_a_picture_of_a_fault_and_of_something_good_stands_with_the_fault(sample: Sample) -> None:
    fault = sample.car.findings[0]
    said = (Footing(FootingKind.SAID, "r1", 1.0, 2.0, "straight"),)
    good = replace(fault, id="good", finding=Finding("bonnet", "sound", Found.YES, footings=said))
    both = replace(sample.car, findings=(good, fault))
    by_id = {one.id: one for one in build_report(both, stills=sample.stills, made_at=MADE_AT).entries}
    assert by_id["good"].number < by_id[fault.id].number
    assert len(by_id[fault.id].pictures) == 1
    assert (by_id["good"].pictures, by_id["good"].see) == ((), by_id[fault.id].number)


def test_a_large_still_is_made_smaller() -> None:
    out = io.BytesIO()
    Image.new("RGB", (3840, 2160), (90, 90, 90)).save(out, "JPEG")
    still = Still(1.0, hashlib.sha256(out.getvalue()).hexdigest(), 3840, 2160, 1.0, 1.0)
    car = car_of(Finding("roof", "dent", Found.YES, footings=SAID))
    car = replace(car, findings=(replace(car.findings[0], stills=(still,)),))
    (entry,) = build_report(car, stills={still.sha256: out.getvalue()}, made_at=MADE_AT).entries
    assert (entry.pictures[0].width, entry.pictures[0].height) == (960, 540)


@pytest.mark.parametrize("data", [None, b"", b"no picture", b"\xff\xd8\xff\xe0half"])
def test_a_still_that_is_gone_or_broken_is_said_to_be_missing(sample: Sample, data: bytes | None) -> None:
    stills = {} if data is None else dict.fromkeys(sample.stills, data)
    model = build_report(sample.car, stills=stills, made_at=MADE_AT)
    assert all(entry.note == "The picture of this moment is not at hand." for entry in model.entries)
    assert any(problem.startswith("Stills at") for problem in model.problems)


def test_a_body_that_cannot_be_drawn_is_drawn_as_a_saloon_and_said(sample: Sample) -> None:
    model = build_report(replace(sample.car, body="hovercraft"), made_at=MADE_AT)
    assert model.figure is not None
    assert any("hovercraft" in problem for problem in model.problems)


def test_an_empty_car_file_makes_a_report_that_says_so() -> None:
    model = build_report(car_of(), made_at=MADE_AT)
    texts = " ".join(sentence.text for sentence in model.summary)
    assert "nothing for the car, and nothing against it" in texts
    assert model.facts == ()
    assert len(model.unknown_facts) >= 8


def test_a_time_that_is_none_is_the_callers_mistake() -> None:
    with pytest.raises(UserError, match="made_at"):
        build_report(car_of(), made_at="yesterday")


def test_the_house_is_named_when_there_is_one(sample: Sample) -> None:
    assert build(sample, house=House("Halloran & Pike", ("Little Wending",))).house == House(
        "Halloran & Pike", ("Little Wending",)
    )


def test_moments_days_sizes_and_ranges_are_written_as_people_do() -> None:
    assert [moment(s) for s in (0, 59.99, 60, 3600, float("nan"), -4)] == [
        "0:00",
        "0:59",
        "1:00",
        "1:00:00",
        "0:00",
        "0:00",
    ]
    assert [day(t) for t in ("2026-03", "2026-13", "2026-00", "2026", "2026-02-30", "x" * 12)] == [
        *("March 2026", "2026-13", "2026-00", "2026", "2026-02-30", "x" * 12)
    ]
    assert size(1_500_000_000) == "1.5 GB"
    assert ranges([3, 1, 2, 7, 9, 10]) == "1\N{EN DASH}3, 7, 9, 10"


def test_a_recording_not_read_to_its_end_is_said_before_anything_else(sample: Sample) -> None:
    (recording,) = sample.car.recordings
    car = replace(sample.car, recordings=(replace(recording, complete=False),))

    model = build(replace(sample, car=car))

    assert "has not been read to its end" in model.summary[1].text


def test_a_recording_without_words_is_said_before_anything_else(sample: Sample) -> None:
    (recording,) = sample.car.recordings
    car = replace(sample.car, recordings=(replace(recording, stretches=()),))

    model = build(replace(sample, car=car))

    assert "no words could be made out" in model.summary[1].text
