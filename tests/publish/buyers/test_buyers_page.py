"""What stands is on the page, what was struck is not, and what is private is nowhere in its files."""

from __future__ import annotations

import hashlib
import html
import io
import re
from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from shutline.car.carfile import CarFile, Change, KeptFact, KeptFinding, Recording
from shutline.car.errors import Problem
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
    State,
)
from shutline.car.going_out import PrivateKind
from shutline.car.notes import Note, NoteKind
from shutline.car.places import Visit
from shutline.car.recordings import Kind, Original, Probe, Still
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.car.vocabulary import vocabulary
from shutline.publish.buyers import Answer, BuyersPage, build_page, film_of, page_files, public_car, public_coverage
from shutline.publish.buyers.public import heard_only, silence_car, with_heard_facts
from shutline.publish.private import Private, private_of
from shutline.publish.report import House, build_report
from shutline.publish.report.model import Tone
from shutline.survey import coverage

MADE_AT = "2026-11-25T10:00:00+00:00"
PLANTED = {
    PrivateKind.KEEPER: "Augusta Harbottle",
    PrivateKind.ADDRESS: "3 Mill Lane, Nether Ostrel",
    PrivateKind.PLACE: "Quillover airfield",
    PrivateKind.PRICE: "£4,275",
}
PRIVATE = private_of([*PLANTED.items(), (PrivateKind.OTHER, "Tobias Plantagenet")], signs=["KLM 427F"])
NEEDLES = (
    *("Harbottle", "Mill Lane", "Quillover", "4,275", "4275", "four thousand two hundred and seventy-five"),
    *("Plantagenet", "KLM 427F", "KLM427F", "PLANTED"),
)
SAID = (
    "Here we are at Quillover airfield with her. She belonged to Augusta Harbottle of 3 Mill Lane, Nether Ostrel. "
    "I paid four thousand two hundred and seventy-five for it. On the plate it says KLM 427F. There's rust on the sill."
)


def page_of(
    car: CarFile, private: Private = PRIVATE, stills: Mapping[str, bytes] | None = None, **more: object
) -> BuyersPage:
    left_out = ("registration_mark", "chassis_number")
    public = public_car(car, private, without_facts=left_out)
    report = build_report(
        with_heard_facts(public, car, private, without_facts=left_out),
        visits=[Visit(1.0, 5.0, "sill", Side.NEAR, None)],
        stills=stills,
        made_at=MADE_AT,
        house=House("Halloran & Pike", ("2 Tannery Row",)),
        survey=public_coverage(coverage(car), private),
        silence_of=silence_car(car, private),
        waiting=heard_only(car),
    )
    films = [
        film_of(
            public,
            one,
            number=number,
            visits=(),
            byte_size=4_200_000,
            picture_size=(640, 360),
            poster=b"jpeg",
            masks=("Nothing is covered in the film.",),
            muted=True,
        )
        for number, one in enumerate(public.recordings, 1)
    ]
    return build_page(public, report, whole=car, films=films, private=private, **more)  # type: ignore[arg-type]


def words_of(files: Mapping[str, bytes]) -> str:
    return "\n".join(data.decode() for name, data in files.items() if name.endswith((".html", ".vtt")))


def car_of(*findings: Finding, **more: object) -> CarFile:
    kept = tuple(
        KeptFinding(
            f"f{number}",
            one,
            changes=(Change(MADE_AT, "Tobias Plantagenet", "confirm", {}, {"quote": "PLANTED"}),),
        )
        for number, one in enumerate(findings)
    )
    recording = Recording(
        "r1",
        Original("ab" * 32, "PLANTED walk at Quillover.mp4", 61_234_567, Kind.FILM),
        Probe(Kind.FILM, "mp4", 120.0, recorded_at="2026-11-20T09:00:00"),
        (stretch_of(SAID, 1, 60, origin=StretchOrigin.TRANSCRIPT),),
        complete=True,
    )
    return CarFile(
        "planted-merlin",
        "1968 Calder Merlin, ex Augusta Harbottle",
        Drive.RHD,
        MADE_AT,
        "saloon",
        4,
        (recording,),
        findings=kept,
        **more,  # type: ignore[arg-type]
    )


def said(quote: str, start_s: float = 4.0) -> tuple[Footing, ...]:
    return (Footing(FootingKind.SAID, "r1", start_s, start_s + 2, quote, ("PLANTED-rule",)),)


@st.composite
def cars(draw: st.DrawFn) -> CarFile:
    vocab = vocabulary()
    parts, conditions = sorted(vocab.parts), sorted(vocab.conditions)
    findings = []
    for number in range(draw(st.integers(0, 14))):
        part = vocab.parts[draw(st.sampled_from(parts))]
        condition = vocab.conditions[draw(st.sampled_from(conditions))]
        found = draw(st.sampled_from(Found)) if condition.defect else Found.YES
        findings.append(
            Finding(
                part.id,
                condition.id,
                found,
                side=draw(st.sampled_from([Side.NEAR, Side.OFF, Side.BOTH, None])) if part.sided else None,
                position=draw(st.sampled_from([*Position, None])) if part.ended else None,
                severity=draw(st.sampled_from([None, *Severity])),
                footings=said(f"word-number-{number}x", draw(st.floats(0, 100))),
                state=draw(st.sampled_from(State)),
            )
        )
    car = car_of(*findings)
    withdrawn = draw(st.sets(st.integers(0, 14), max_size=3))
    kept = tuple(replace(one, withdrawn=number in withdrawn) for number, one in enumerate(car.findings))
    return replace(car, findings=kept)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(car=cars())
def test_every_finding_that_stands_is_on_the_page_and_none_that_does_not(car: CarFile) -> None:
    page = page_of(car)
    words = words_of(page_files(page))
    shown = {entry.id for entry in page.report.entries}
    for number, kept in enumerate(car.findings):
        stands = kept.finding.state is State.STANDS and not kept.withdrawn
        assert (kept.id in shown) == stands
        assert (f"word-number-{number}x" in words) == stands
    entries = page.report.entries
    assert len(re.findall(r'id="finding-\d+"', words)) == len(entries)
    # Each fault that stands is told in the summary too, by its own words.
    faults = [entry for entry in entries if entry.tone is Tone.FAULT]
    told = {item.number for sentence in page.report.summary if sentence.listed for item in sentence.items}
    assert {entry.number for entry in faults} <= told
    assert [needle for needle in NEEDLES if needle.lower() in words.lower()] == []


def test_nothing_planted_is_in_any_file() -> None:
    quote = "PLANTED-NOT that was Augusta Harbottle's, paid £4,275 at Quillover airfield, mark KLM 427F"
    stands = Finding(
        "sill",
        "rust",
        Found.YES,
        Side.NEAR,
        footings=said(quote.removeprefix("PLANTED-NOT ")),
        why=("PLANTED why",),
        state=State.STANDS,
    )
    facts = (
        Fact("year", 1968, footings=said("she's a sixty-eight, ask Augusta Harbottle"), state=State.STANDS),
        Fact("registration_mark", "KLM 427F", footings=said("kay ell em"), state=State.STANDS),
        Fact("colour", "blue, as Augusta Harbottle wanted it", footings=said("blue"), state=State.STANDS),
        Fact("odometer", 58206, "mi", said("PLANTED heard only")),
    )
    omitted = {"check": "gearbox", "side": None, "position": None, "reason": "Augusta Harbottle would not have it"}
    car = replace(
        car_of(stands, replace(stands, condition="dent", state=State.HEARD, footings=said("PLANTED heard"))),
        facts=tuple(
            KeptFact(f"x{number}", fact, changes=(Change(MADE_AT, "Tobias Plantagenet", "enter", {}, {}),))
            for number, fact in enumerate(facts)
        ),
        problems=(Problem("x", "PLANTED.mp4", "PLANTED", "PLANTED", "PLANTED"),),
        changes=(Change(MADE_AT, "Tobias Plantagenet", "leave out", {}, omitted),),
        notes=(
            Note(
                "n", "sill", Side.NEAR, None, NoteKind.TYPED, "", "PLANTED note", MADE_AT, MADE_AT, "Tobias Plantagenet"
            ),
        ),
    )
    page = page_of(
        car,
        answers=[Answer("Who had it, Augusta Harbottle?", "Not recorded.", ("said by Augusta Harbottle",), "r1", 4.0)],
        description=[("Outside", "A blue Merlin that Augusta Harbottle kept.")],
    )
    files = page_files(page)
    whole = words_of(files)
    assert [needle for needle in NEEDLES if needle.lower() in whole.lower()] == []
    assert "planted" not in " ".join(files).lower()
    assert "rust" in whole.lower()
    # Cut into captions, and still all there.
    said_ = " ".join(line.words for film in page.films for line in film.lines)
    assert said_.endswith("On the plate it says […] There's rust on the sill.")


def test_what_was_heard_is_told_by_its_place_alone() -> None:
    heard = Finding("bonnet", "dent", Found.YES, footings=said("a great dent-word in it", 30.0))
    page = page_of(car_of(heard))
    assert [(one.name, [moment.words for moment in one.moments]) for one in page.heard] == [
        ("Bonnet", ["Watch from 0:30"])
    ]
    words = words_of(page_files(page))
    assert "dent-word" not in words
    assert "bonnet" not in [line.name for line in page.report.silent]


def test_facts_that_were_heard_stand_under_the_car_as_heard_and_are_counted_with_what_is_not_confirmed() -> None:
    stands = Finding("sill", "rust", Found.YES, Side.NEAR, footings=said("rust"), state=State.STANDS)
    facts = (
        Fact("odometer", 63418, "mi", said("the mileage-words of it", 30.0)),
        Fact("keepers", 3, footings=said("three", 40.0)),
        Fact("year", 1969, footings=said("sixty nine"), state=State.STANDS),
        Fact("registration_mark", "KLM 427F", footings=said("kay ell em")),
    )
    car = replace(car_of(stands), facts=tuple(KeptFact(f"x{number}", fact) for number, fact in enumerate(facts)))
    page = page_of(car, description=[("", "It has 63,418 miles and three keepers.")])
    assert {
        line.label: [(value.words, value.state, value.confirmed) for value in line.values] for line in page.report.facts
    } == {
        "Year": [("1969", "Confirmed by a person", True)],
        "Odometer": [("63,418 miles", "Heard, not yet confirmed", False)],
        "Keepers": [("three", "Heard, not yet confirmed", False)],
    }
    whole = words_of(page_files(page))
    assert "No fact about the car as a whole was told" not in whole
    assert whole.count('<p class="state">Heard, not yet confirmed</p>') == 2
    assert (
        "Two facts about the car as a whole were heard, and nobody has confirmed them: Odometer and Keepers." in whole
    )
    assert "What these words say of the car as a whole may rest on what was heard" in whole
    assert "mileage-words" not in whole
    assert "Every statement in this report has been confirmed" not in page.report.heard


def test_nothing_told_of_the_car_as_a_whole_is_said_only_where_nothing_was() -> None:
    stands = Finding("sill", "rust", Found.YES, Side.NEAR, footings=said("rust"), state=State.STANDS)
    page = page_of(car_of(stands), description=[("", "A car.")])
    assert "No fact about the car as a whole was told" in words_of(page_files(page))
    assert page.report.heard_facts == ""
    assert page.report.heard == "Every statement in this report has been confirmed or entered by a person."


def test_what_was_heard_is_told_even_where_something_else_stands_of_its_place() -> None:
    stands = Finding("door", "filler", Found.NO, Side.OFF, footings=said("no filler"), state=State.STANDS)
    doubt = Finding("door", "repaint", Found.UNSURE, Side.OFF, footings=said("might have had paint", 30.0))
    page = page_of(car_of(stands, doubt))
    assert [(one.name, [moment.words for moment in one.moments]) for one in page.heard] == [
        ("Offside door", ["Watch from 0:30"])
    ]
    assert [(one.name, one.why) for one in page.report.waiting] == [("offside door", "said at 0:30")]


def test_nothing_says_that_all_is_confirmed_where_something_is_only_heard() -> None:
    stands = Finding("bonnet", "chip", Found.YES, footings=said("chips"), state=State.STANDS)
    page = page_of(
        car_of(stands, Finding("spare_wheel", "present", Found.YES, footings=said("the jack's there", 30.0)))
    )
    assert page.report.heard.startswith("One statement was heard of the place below")
    assert "One more was heard and is not confirmed" in " ".join(one.text for one in page.report.summary)
    assert (
        page_of(car_of(stands)).report.heard
        == "Every statement in this report has been confirmed or entered by a person."
    )


def test_a_page_of_a_car_that_was_only_heard_does_not_say_that_nothing_was_found() -> None:
    heard = [Finding("bonnet", "dent", Found.YES, footings=said("dent", at)) for at in (30.0, 40.0)]
    told = " ".join(one.text for one in page_of(car_of(*heard)).report.summary)
    assert "Two statements about the state of the car were heard, and nobody has confirmed any of them." in told
    assert "Nothing was found" not in told


def test_a_public_car_file_is_made_field_by_field() -> None:
    # A field that comes to the car file later must be thought about before it goes out.
    known = {
        *("name", "title", "drive", "created_at", "body", "doors", "recordings", "pictures", "findings", "facts"),
        # Readings go out as sentences of what stands alone (`usecases.measured_report`), and by no other way.
        *("problems", "version", "changes", "second_readings", "notes", "figures", "engine_notes", "readings"),
        # Tests and what was entered of keepers, countries and dates go out as sentences without marks and names
        # (`usecases.history_report`), and by no other way.
        *("tests", "past"),
        # Papers go out by kind, with what was taken off them (`usecases.papers_report`), and as pictures that
        # somebody looked at (`usecases.papers_out`).
        "papers",
    }
    assert set(CarFile.__dataclass_fields__) <= known


@pytest.mark.parametrize("name", ["index.html", "page.css", "page.js"])
def test_nothing_outside_is_asked_for(name: str) -> None:
    files = page_files(page_of(car_of()))
    text = files[name].decode()
    asked = re.findall(
        r"(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}[^\s\"')]*", re.sub(r"^\s*//.*$", "", text, flags=re.MULTILINE)
    )
    assert [one for one in asked if "www.w3.org" not in one] == []
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', html.unescape(files["index.html"].decode()))
    assert policy is not None
    assert "default-src 'none'" in policy[1]
    assert not re.search(r"unsafe|https?:|\*", policy[1])


def test_no_script_and_no_style_stands_in_the_page_itself() -> None:
    page = page_files(page_of(car_of()))["index.html"].decode()
    assert re.findall(r"<script(?![^>]* src=)", page) == []
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=|javascript:", page) == []


def test_what_was_said_is_never_taken_for_markup() -> None:
    stands = Finding(
        "bonnet", "chip", Found.YES, footings=said("<script>alert(1)</script> & \"'><img src=x>"), state=State.STANDS
    )
    car = replace(car_of(stands), title="<b>Merlin</b>")
    page = page_files(page_of(car, private_of([])))["index.html"].decode()
    assert "<script>alert" not in page
    assert "<b>Merlin" not in page
    assert "&lt;script&gt;" in page


def test_the_script_is_written_for_old_browsers() -> None:
    script = page_files(page_of(car_of()))["page.js"].decode()
    assert not re.search(r"=>|`|\b(?:let|const|class|async|await|import)\b|\?\.", script)


def test_a_fact_that_was_not_drawn_is_not_called_untold() -> None:
    page = page_of(car_of(Finding("bonnet", "dent", Found.YES, footings=said("dent"))))
    assert "MOT test" in [line.name for line in page.report.unknown_facts]
    words = words_of(page_files(page))
    assert "Nobody told" not in words
    assert "The program drew nothing on these" in words


def test_a_picture_leads_to_itself_and_to_where_it_stands() -> None:
    out = io.BytesIO()
    Image.new("RGB", (640, 360), (90, 90, 90)).save(out, "JPEG")
    still = Still(1.0, hashlib.sha256(out.getvalue()).hexdigest(), 640, 360, 1.0, 1.0)
    good = Finding("bumper", "sound", Found.YES, None, Position.FRONT, footings=said("fine"), state=State.STANDS)
    bad = Finding("bumper", "pitting", Found.YES, None, Position.FRONT, footings=said("pitted"), state=State.STANDS)
    car = car_of(good, bad)
    car = replace(car, findings=tuple(replace(one, stills=(still,)) for one in car.findings))
    page = page_of(car, stills={still.sha256: out.getvalue()})
    (fault,) = [one for one in page.report.entries if one.tone is Tone.FAULT]
    html_ = page_files(page)["index.html"].decode()
    (picture,) = fault.pictures
    assert f'<a class="larger" href="pictures/{picture.key}.jpg">' in html_
    assert f'<a href="#{fault.anchor}">Picture beside {fault.number}.</a>' in html_


def test_faults_and_doubts_stand_open_and_what_is_good_is_folded_by_part() -> None:
    found = [
        Finding("bonnet", "dent", Found.YES, footings=said("dent"), state=State.STANDS),
        Finding("bonnet", "sound", Found.YES, footings=said("straight"), state=State.STANDS),
        Finding("bonnet", "rust", Found.NO, footings=said("no rust"), state=State.STANDS),
        Finding("roof", "rust", Found.UNSURE, footings=said("may be rust"), state=State.STANDS),
        Finding("boot_lid", "sound", Found.YES, footings=said("sound"), state=State.STANDS),
    ]
    page = page_of(car_of(*found))
    text = page_files(page)["index.html"].decode()
    folded = re.findall(r'<details class="good">(.*?)</details>', text, re.DOTALL)
    inside = "".join(folded)
    for entry in page.report.entries:
        assert text.count(f'id="{entry.anchor}"') == 1
        assert (f'id="{entry.anchor}"' in inside) is (entry.tone in (Tone.GOOD, Tone.RULED_OUT))
    titles = {
        one.title for one in page.report.sections if any(not each.comes_first for g in one.places for each in g.entries)
    }
    assert len(folded) == len(titles) > 1
    assert any("2 things good, or faults said not to be there" in one for one in folded)
    assert any("One thing good, or a fault said not to be there" in one for one in folded)


def test_what_is_on_the_page_is_listed_first_and_faults_come_before_what_is_offered() -> None:
    stands = Finding("bonnet", "dent", Found.YES, footings=said("dent"), state=State.STANDS)
    page = page_of(car_of(stands), description=[("", "A car to be proud of.")])
    text = page_files(page)["index.html"].decode()
    order = [text.index(mark) for mark in ("<nav ", 'id="film"', 'id="summary"', 'id="offered"', 'id="findings"')]
    assert order == sorted(order)


def test_a_number_of_the_drawing_is_there_once_more_for_a_thumb_and_its_disc_is_printed() -> None:
    stands = Finding("bonnet", "dent", Found.YES, footings=said("dent"), state=State.STANDS)
    files = page_files(page_of(car_of(stands)))
    by_part = files["index.html"].decode().split('<dl class="by-part">')[1].split("</dl>")[0]
    assert '<a class="mark fault" href="#finding-1" aria-label="1, bonnet">1</a>' in by_part
    # On a phone it is the fault's picture that keeps its size.
    assert '<article id="finding-1" class="entry fault"' in files["index.html"].decode()
    assert re.search(r"^\.mark \{[^}]* print-color-adjust: exact;", files["page.css"].decode(), re.MULTILINE)
