"""A draft tells all faults that stand and nothing struck, heard only or private; each sentence stands on something."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile, Change, KeptFact, KeptFinding
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
from shutline.car.going_out import PrivateKind
from shutline.car.vocabulary import vocabulary
from shutline.publish.private import private_of
from shutline.survey import Cover, coverage
from shutline.survey.odds import at_odds
from shutline.words import (
    Draft,
    House,
    Length,
    as_html,
    as_markdown,
    as_text,
    linked_data,
    shipped_wording,
    write_draft,
)
from shutline.words.checks import forbidden_in
from shutline.words.choice import is_good
from shutline.words.facts import _HISTORY, _OPENING
from shutline.words.model import FootedOn

PARTS = vocabulary().parts
CONDITIONS = vocabulary().conditions
APOSTROPHE = "\N{RIGHT SINGLE QUOTATION MARK}"
MADE_AT = "2026-11-26T08:00:00+00:00"


def said(start_s: float, quote: str = "") -> tuple[Footing, ...]:
    return (Footing(FootingKind.SAID, "r1", start_s, start_s + 3, quote),)


def finding(part: str, condition: str, found: str = "yes", **more: object) -> Finding:
    values = {"side": None, "position": None, "severity": None, "remedy": None, "quote": "", "at": 10.0, **more}
    return Finding(
        part,
        condition,
        Found(found),
        side=Side(values["side"]) if values["side"] else None,
        position=Position(values["position"]) if values["position"] else None,
        severity=Severity(values["severity"]) if values["severity"] else None,
        remedy=Remedy(values["remedy"]) if values["remedy"] else None,
        footings=said(float(str(values["at"])), str(values["quote"])),
        state=State.STANDS,
    )


def fact(name: str, value: float | str | bool, unit: str | None = None, **more: object) -> Fact:
    return Fact(name, value, unit, footings=said(3.0), state=State.STANDS, **more)  # type: ignore[arg-type]


def car_of(*findings: Finding, facts: tuple[Fact, ...] = (), **more: object) -> CarFile:
    kept = tuple(KeptFinding(f"f{number}", one) for number, one in enumerate(findings))
    told = tuple(KeptFact(f"a{number}", one) for number, one in enumerate(facts))
    values: dict[str, object] = {"title": "Averley Curlew", "drive": Drive.RHD, **more}
    return CarFile("curlew", created_at=MADE_AT, findings=kept, facts=told, **values)  # type: ignore[arg-type]


def drafted(car: CarFile, length: Length = Length.FULL, **more: object) -> Draft:
    return write_draft(car, length=length, found=coverage(car), odds=at_odds(car), **more)  # type: ignore[arg-type]


def told(draft: Draft, section: str) -> str:
    return " ".join(paragraph.text for paragraph in draft.paragraphs if paragraph.section == section)


@st.composite
def findings(draw: st.DrawFn) -> Finding:
    """Any finding that a store may hold, in places that do not fit the part too."""
    condition = draw(st.sampled_from(sorted(CONDITIONS)))
    quotes = [
        "",
        "a bit of surface rust, few stone chips, kerbed",
        "the clock doesn't work, oil on the bolster, a weep",
        "the driver's seat, the jack and the wheel brace",
    ]
    return Finding(
        draw(st.sampled_from(sorted(PARTS))),
        condition,
        draw(st.sampled_from(Found)),
        side=draw(st.none() | st.sampled_from(Side)),
        position=draw(st.none() | st.sampled_from(Position)),
        severity=draw(st.none() | st.sampled_from(Severity)),
        remedy=draw(st.none() | st.sampled_from(Remedy)),
        footings=said(draw(st.floats(0, 500)), draw(st.sampled_from(quotes))),
        state=draw(st.sampled_from((State.STANDS, State.STANDS, State.STANDS, State.HEARD, State.STRUCK))),
    )


@st.composite
def crowded(draw: st.DrawFn) -> Finding:
    """A finding of a few parts only, so that the same place is spoken of often."""
    parts = ("sill", "front_wing", "seat", "bumper", "instruments", "bodywork", "wheel", "engine", "tool_kit", "carpet")
    return replace(draw(findings()), part=draw(st.sampled_from(parts)))


def inside(*told_of: Finding, **more: object) -> str:
    return told(drafted(car_of(*told_of, **more)), "inside").replace(APOSTROPHE, "'")


def test_the_drivers_seat_is_a_front_one_whatever_was_spoken_of_before() -> None:
    behind = {"side": "off", "position": "rear"}
    for quote, words in (
        ("the driver's seat has a tear", "The driver's seat is torn."),
        (f"the driver{APOSTROPHE}s seat has a tear", "The driver's seat is torn."),
        ("the rear driver's seat has a tear", "The offside rear seat is torn."),
        ("the seat behind the driver's seat has a tear", "The offside rear seat is torn."),
        ("the driver's side of it has a tear", "The offside rear seat is torn."),
        ("", "The offside rear seat is torn."),
    ):
        assert inside(finding("seat", "tear", quote=quote, **behind)) == words
    belt = finding("seat_belt", "wear", quote="the passenger's seat belt is frayed", side="near", position="rear")
    assert "passenger's seat belt" in inside(belt)
    torn = finding("seat", "tear", quote="the driver's seat has a tear", **behind)
    assert "passenger's seat" in inside(torn, drive=Drive.LHD)


def test_an_end_that_a_person_amended_is_told_as_it_was_amended() -> None:
    torn = finding("seat", "tear", quote="the driver's seat has a tear", side="off", position="rear")
    car = car_of(torn)
    for action, words in (("drawn", "driver"), ("amended", "offside rear"), ("entered", "offside rear")):
        change = Change(MADE_AT, "Ida", action, {}, {"position": "rear"})
        kept = (replace(car.findings[0], changes=(change,)),)
        assert words in told(drafted(replace(car, findings=kept)), "inside")


def test_a_piece_that_was_named_is_told_and_no_more() -> None:
    for part, quote, words in (
        ("tool_kit", "the jack's there,", "The jack is there."),
        ("tool_kit", "Wheelbrace is there", "The wheel brace is there."),
        ("tool_kit", "the jack and brace are there", "The jack and the wheel brace are there."),
        ("tool_kit", "the jack handle is there", "The jack handle is there."),
        ("tool_kit", "the tool kit's there with the jack", "The tool kit is there."),
        ("tool_kit", "the jack is missing but the brace is there", "The tool kit is there."),
        ("tool_kit", "they are there", "The tool kit is there."),
        ("handbook", "the workshop manual is there", "The workshop manual "),
        ("handbook", "the handbook's there", "The handbook "),
    ):
        draft = drafted(car_of(finding(part, "present", quote=quote)))
        assert any(words in paragraph.text for paragraph in draft.paragraphs), (quote, draft)
    missing = finding("tool_kit", "missing", quote="the jack is missing")
    assert inside(missing) == "The tool kit has something missing."
    both = replace(
        finding("tool_kit", "present", quote="the jack's there"),
        footings=(*said(10.0, "the jack's there"), *said(20.0, "all the tools are there")),
    )
    assert inside(both) == "The tool kit is there."


files = st.builds(
    lambda told, drive, doors, withdrawn: replace(
        car_of(*told, drive=drive, doors=doors),
        findings=tuple(
            KeptFinding(f"f{number}", one, withdrawn=withdrawn and number % 7 == 3) for number, one in enumerate(told)
        ),
    ),
    st.lists(findings(), max_size=30) | st.lists(crowded(), max_size=20),
    st.sampled_from(Drive),
    st.sampled_from((None, 2, 3, 4, 5)),
    st.booleans(),
)


@given(files)
@settings(deadline=None, max_examples=60)
def test_a_full_draft_names_every_fault_and_doubt_that_stands_and_nothing_that_does_not(car: CarFile) -> None:
    draft = drafted(car)

    stands = {k.id: k.finding for k in car.findings if k.finding.state is State.STANDS and not k.withdrawn}
    footed = {one.id for s in draft.sentences for one in s.stands_on if one.on is FootedOn.FINDING}
    assert footed <= set(stands)
    bad = {name for name, one in stands.items() if not is_good(one)}
    assert set(draft.faults) == bad
    named = {name for s in draft.sentences for name in s.faults}
    assert named >= bad
    state = ("history", "outside", "inside", "underneath", "mechanical")
    for name in bad:
        nouns = shipped_wording().nouns[stands[name].part]
        texts = [s.text for p in draft.paragraphs if p.section in state for s in p.sentences if name in s.faults]
        assert texts, (name, stands[name])
        if not any(sub in texts[0] for sub in ("clock", "tappets", "radiator")):
            lower = texts[0].lower()
            assert nouns.one.lower() in lower or (nouns.many and nouns.many.lower() in lower), (texts, stands[name])
        if stands[name].found is Found.UNSURE:
            assert " may " in texts[0], texts


@given(files)
@settings(deadline=None, max_examples=40)
def test_every_sentence_stands_on_something_and_is_one(car: CarFile) -> None:
    for length in Length:
        draft = drafted(car, length)
        for sentence in (draft.title, *draft.sentences):
            assert sentence.stands_on, sentence
            assert not re.search(r"[{}<>]|  | a a | the the |\bof of\b|\bNone\b", sentence.text), sentence.text
            assert sentence.text[0].isupper() or sentence.text[0].isdigit()
            assert forbidden_in(sentence.text) is None, sentence.text
        for sentence in draft.sentences:
            assert sentence.text.endswith("."), sentence.text
            assert not re.search(r"\.[^ ]|\.\.|,\.|;\.", sentence.text), sentence.text


@given(files)
@settings(deadline=None, max_examples=20)
def test_the_same_car_file_gives_the_same_words(car: CarFile) -> None:
    assert drafted(car) == drafted(car)
    assert drafted(car, Length.SHORT) == drafted(car, Length.SHORT)


@given(files)
@settings(deadline=None, max_examples=30)
def test_what_is_to_be_done_is_told_of_every_fault_of_which_it_was_said(car: CarFile) -> None:
    draft = drafted(car)
    doing = {name for p in draft.paragraphs if p.section == "doing" for s in p.sentences for name in s.faults}
    wanted = {k.id for k in car.findings if k.id in draft.faults and k.finding.remedy is not None}
    assert doing == wanted


@given(files)
@settings(deadline=None, max_examples=30)
def test_a_short_draft_names_every_severe_fault_and_counts_the_rest(car: CarFile) -> None:
    draft = drafted(car, Length.SHORT)
    severe = {k.id for k in car.findings if k.id in draft.faults and k.finding.severity is Severity.SEVERE}
    assert {name for s in draft.sentences for name in s.faults} >= severe
    footed = {one.id for s in draft.sentences for one in s.stands_on}
    assert footed >= set(draft.faults)


def test_private_values_that_were_planted_appear_nowhere() -> None:
    planted = ("Augusta Harbottle", "3 Mill Lane", "ZE9 4XQ", "4,200", "4200", "Q 417 PLA", "Harbottle")
    car = car_of(
        finding(
            "sill", "rust", side="near", quote="Mrs Augusta Harbottle of 3 Mill Lane ZE9 4XQ let it rust, paid 4,200"
        ),
        finding("papers", "present", quote="receipt for 4200 pounds, Q 417 PLA"),
        facts=(
            fact("keeper_name", "Augusta Harbottle"),
            fact("purchase_price", 4200),
            fact("filmed_at", "3 Mill Lane"),
            fact("registration_mark", "Q 417 PLA"),
            fact("colour", "green, as Augusta Harbottle liked it"),
            fact("origin", "3 Mill Lane"),
            fact("year", 1969),
        ),
        title="Augusta Harbottle's Averley Curlew",
    )
    private = private_of([(PrivateKind.KEEPER, "Augusta Harbottle"), (PrivateKind.PLACE, "Mill Lane")])
    for length in Length:
        draft = drafted(car, length, private=private)
        out = (
            as_text(draft, footings=True),
            as_html(draft, footings=True),
            as_markdown(draft, footings=True),
            str(linked_data(car, draft, private=private)),
        )
        assert "Averley Curlew" in out[0]
        for text in out:
            assert [value for value in planted if value.lower() in text.lower()] == []


def test_what_a_private_name_leaves_of_a_title_reads_on() -> None:
    private = private_of([(PrivateKind.KEEPER, "Augusta Harbottle")])
    car = car_of(finding("sill", "rust", side="near"), title="Averley Curlew, ex Augusta Harbottle")
    assert drafted(car, private=private).title.text == "Averley Curlew"


def test_good_news_is_left_out_where_a_fault_contradicts_it_and_the_draft_says_so() -> None:
    car = car_of(
        finding("bodywork", "sound"),
        finding("bodywork", "rust", "no"),
        finding("arch", "rust", side="off", position="rear"),
    )
    draft = drafted(car)
    assert "bodywork" not in draft.sentences[0].text
    assert {one.id for one in draft.untold} == {"f0", "f1"}


def test_both_sides_are_told_together_and_then_apart() -> None:
    car = car_of(
        finding("sill", "sound", side="near"),
        finding("sill", "sound", side="off"),
        finding(
            "sill", "rust", side="near", position="front", severity="slight", quote="bit of surface rust at the front"
        ),
    )
    assert told(drafted(car), "outside") == (
        "Both sills are sound, but the nearside one has slight surface rust at the front."
    )


def short_of(*findings: Finding) -> list[str]:
    return [one.text for one in drafted(car_of(*findings), Length.SHORT).sentences]


@pytest.mark.parametrize("sound", [("both",), ("near", "off")])
def test_short_draft_says_sound_of_the_good_one_alone(sound: tuple[str, ...]) -> None:
    good = [finding("sill", "sound", side=side) for side in sound]
    told = short_of(*good, finding("sill", "rust", side="near", position="rear"))
    assert "The offside sill is sound." in told
    assert not any("oth sills" in text for text in told)


def test_a_grave_fault_of_one_leaves_only_the_other_sound() -> None:
    car = car_of(finding("sill", "sound", side="both"), finding("sill", "rust", side="near", severity="severe"))
    assert told(drafted(car), "outside") == "The offside sill is sound, but the nearside one has bad rust."


def test_both_are_not_sound_where_another_sentence_tells_a_fault_of_one() -> None:
    car = car_of(
        finding("front_wing", "sound", side="both"),
        finding("front_wing", "dent", side="near"),
        finding("front_wing", "dent", side="off"),
        finding("front_wing", "rust", side="near"),
    )
    draft = drafted(car)
    assert told(draft, "outside") == "Both front wings have a dent, and there is rust on the nearside one."
    assert [one.id for one in draft.untold] == ["f0"]


def test_one_fault_of_four_leaves_the_three_others_sound_in_a_short_draft() -> None:
    told = short_of(
        finding("tyre", "sound", side="both", position="both"), finding("tyre", "crack", side="near", position="rear")
    )
    assert any("front tyres are in good order" in text and "offside rear one" in text for text in told)
    assert not any("four tyres" in text for text in told)


def test_what_says_nothing_against_the_good_news_takes_nothing_from_it() -> None:
    told = short_of(finding("sill", "renewed", side="both"), finding("sill", "rust", side="near"))
    assert "Both sills have been renewed." in told


def test_a_side_is_not_sound_beside_a_fault_of_both_nor_the_whole_beside_one_of_a_side() -> None:
    near = finding("arch", "sound", side="near", position="rear")
    both = finding("arch", "rust", side="both", position="rear", severity="slight")
    each = [replace(both, side=side) for side in (Side.NEAR, Side.OFF)]
    for length in (Length.FULL, Length.SHORT):
        assert "sound" not in drafted(car_of(near, both), length).paragraphs[1].text
        assert "sound" not in drafted(car_of(near, *each), length).paragraphs[1].text
    seats = (finding("seat", "sound", position="rear"), finding("seat", "tear", side="off", position="rear"))
    text = told(drafted(car_of(*seats)), "inside")
    assert text == "The offside rear seat is torn."


def test_denials_of_both_are_told_of_either() -> None:
    car = car_of(finding("front_wing", "rust", "no", side="both"), finding("front_wing", "dent", "no", side="both"))
    assert told(drafted(car), "outside") == "There is no rust or dents on either front wing."


def test_a_doubt_keeps_its_hedge() -> None:
    car = car_of(finding("door", "repaint", "unsure", side="off"))
    assert told(drafted(car), "outside") == "The offside door may have been painted."


def test_the_seat_behind_the_wheel_is_on_the_side_of_the_wheel() -> None:
    seat = finding("seat", "tear", side="off", position="front")
    assert f"driver{APOSTROPHE}s seat" in told(drafted(car_of(seat)), "inside")
    assert f"passenger{APOSTROPHE}s seat" in told(drafted(car_of(seat, drive=Drive.LHD)), "inside")


def test_a_fault_of_an_untold_side_is_told_of_at_least_one_and_good_news_is_not_told() -> None:
    car = car_of(finding("sill", "rust"), finding("sill", "sound"))
    assert told(drafted(car), "outside") == "At least one of the sills has rust."


@pytest.mark.parametrize("row", sorted(shipped_wording().sayings))
def test_how_bad_it_is_can_be_told_from_the_words(row: str) -> None:
    saying = shipped_wording().sayings[row]
    if not CONDITIONS[saying.condition].defect or saying.condition in {"missing", "nonoriginal"}:
        return
    slight, plain, severe = (saying.cells[name][0] for name in ("slight", "yes", "severe"))
    assert len({slight, plain, severe}) == 3


def test_facts_are_told_and_two_values_that_do_not_agree_are_both() -> None:
    car = car_of(
        facts=(
            fact("year", 1969), fact("doors", 4), fact("body", "saloon"), fact("colour", "dove grey"),
            fact("engine_cc", 1300), fact("gearbox", "manual"), fact("gears", 4), fact("mot_until", "2026-05-09"),
            fact("keepers", 3), fact("keepers", 5), fact("odometer", 58206, "mi"),
        ),
    )  # fmt: skip
    draft = drafted(car)
    assert draft.title.text == "1969 Averley Curlew"
    assert told(draft, "opening") == (
        "The 1969 Averley Curlew is a four-door saloon, finished in dove grey. It has a 1,300 cc engine and a "
        "four-speed manual gearbox. The recorded mileage is 58,206 miles."
    )
    assert "The MOT runs to 9 May 2026." in told(draft, "history")
    assert "the number of keepers (three and five)" in told(draft, "history")


def heard(name: str, value: float | str | bool, unit: str | None = None, **more: object) -> Fact:
    return replace(fact(name, value, unit), **{"state": State.HEARD, **more})  # type: ignore[arg-type]


def test_facts_that_were_only_heard_are_told_as_said() -> None:
    draft = drafted(
        car_of(
            facts=(
                heard("year", 1969), heard("doors", 4), heard("body", "saloon"), fact("colour", "dove grey"),
                heard("engine_cc", 1300), heard("odometer", 58206, "mi"), heard("keepers", 2), fact("keys", 1),
                heard("mot_until", "2026-05-09"), heard("tax_exempt", value=True), heard("drive", "lhd"),
            ),
        ),
    )  # fmt: skip
    assert draft.title.text == "Averley Curlew"
    assert told(draft, "opening") == (
        "The Averley Curlew is finished in dove grey. Said of the car, and not confirmed since: the year 1969; a "
        "saloon body; four doors; a 1,300 cc engine; left-hand drive; and 58,206 miles."
    )
    assert told(draft, "history") == (
        "One key comes with it. Said of the car, and not confirmed since: two keepers, an MOT to 9 May 2026 and "
        "exemption from vehicle tax."
    )
    assert len(draft.as_said) == 9
    assert not draft.untold


@pytest.mark.parametrize("name", sorted({*_OPENING, *_HISTORY}))
def test_each_fact_has_words_for_what_was_only_heard(name: str) -> None:
    values: dict[str, float | str | bool] = {
        "body": "saloon",
        "colour": "red",
        "power_source": "electric",
        "gearbox": "manual",
        "drive": "rhd",
        "origin": "Cornwall",
        "first_registered": "1969-05",
        "last_service": "2025-04",
        "mot_until": "2026-05-09",
        "tax_exempt": False,
    }
    draft = drafted(car_of(facts=(heard(name, values.get(name, 3)),)))
    (sentence,) = [one.text for one in draft.sentences if one.stands_on and one.stands_on[0].id == "a0"]
    assert sentence.startswith("Said of the car, and not confirmed since: ")


def test_a_fact_that_a_paper_bears_out_is_told_plainly_with_its_paper() -> None:
    paper = Footing(FootingKind.WRITTEN, "paper-1", None, None, "")
    spoken = heard("keepers", 2)
    draft = drafted(car_of(facts=(spoken, replace(spoken, footings=(paper,)))))
    (keepers,) = [one for one in draft.sentences if "keepers" in one.text and "record it" not in one.text][:1]
    assert keepers.text == "Two keepers are on record."
    assert [one.source for one in keepers.stands_on] == ["paper-1"]


def test_a_line_and_data_for_programs_leave_out_what_was_only_heard() -> None:
    car = car_of(facts=(heard("keepers", 2), heard("odometer", 58206, "mi"), fact("colour", "dove grey")))
    assert drafted(car, Length.LINE).title.text == "Averley Curlew, dove grey; no MOT on record."
    data = linked_data(car, drafted(car))["@graph"][0]
    assert data["color"] == "dove grey"
    assert not {"numberOfPreviousOwners", "mileageFromOdometer"} & set(data)


def test_what_was_not_looked_at_stands_on_the_checks_of_the_guide() -> None:
    draft = drafted(car_of(finding("sill", "sound", side="both")))
    paragraph = next(p for p in draft.paragraphs if p.section == "unseen")
    keys = {one.asked.key for one in coverage(car_of(finding("sill", "sound", side="both"))).checks}
    checks = {one.id for s in paragraph.sentences for one in s.stands_on if one.on is FootedOn.CHECK}
    assert checks
    assert checks <= keys
    assert "sills" not in paragraph.text


def unseen_keys(draft: Draft) -> list[str]:
    sentences = [one for part in draft.paragraphs if part.section == "unseen" for one in part.sentences]
    return [one.id for sentence in sentences for one in sentence.stands_on if one.on is FootedOn.CHECK]


def test_what_was_not_looked_at_and_safety_depends_on_is_named_first_and_to_the_last() -> None:
    car = car_of(finding("sill", "sound", side="both"))
    draft = drafted(car)
    grave = {one.asked.key for one in coverage(car).of(Cover.NOT_MENTIONED) if one.asked.check.safety}
    first = next(part for part in draft.paragraphs if part.section == "unseen").sentences[0]
    assert {one.id for one in first.stands_on} >= grave
    for words in ("the brakes", "the steering", "the tyres", "the headlights", "the front seat belts", "the jacking"):
        assert words in first.text
    assert first.text.endswith(", which are a matter of safety.")
    # All else that is silent is named or counted behind it.
    assert {one.asked.key for one in coverage(car).of(Cover.NOT_MENTIONED)} == set(unseen_keys(draft))


def test_what_safety_depends_on_and_was_only_touched_is_named() -> None:
    car = car_of(finding("car", "sound"), finding("brakes", "renewed"))
    touched = [one for one in coverage(car).of(Cover.IN_PASSING) if one.asked.check.safety]
    assert touched
    passing = next(one for one in drafted(car).sentences if one.text.startswith("Only in passing"))
    assert {one.id for one in passing.stands_on} == {one.asked.key for one in touched}


def test_a_short_draft_counts_what_safety_depends_on_and_was_not_looked_at() -> None:
    car = car_of(finding("sill", "sound", side="both"))
    (gap,) = [part.text for part in drafted(car, Length.SHORT).paragraphs if part.section == "unseen"]
    assert re.match(r"Of \d+ parts that are a matter of safety nothing was said, or only in passing; the full", gap)


def test_what_was_heard_and_is_not_told_is_counted_and_what_safety_depends_on_named() -> None:
    alone = replace(finding("brakes", "noise"), state=State.HEARD)
    car = car_of(alone, replace(finding("sill", "rust", side="near"), state=State.HEARD))
    text = told(drafted(car), "unseen")
    assert "Not told here, because nobody has confirmed what was heard, are two statements about the state" in text
    assert "nois" not in text
    assert "rust" not in text
    one = car_of(replace(finding("sill", "rust", side="near"), state=State.HEARD))
    assert "is one statement about the state of the car." in told(drafted(one), "unseen")


GRAVE = (
    finding("sill", "perforation", side="near"),
    finding("brakes", "fault"),
    finding("steering", "loose", severity="severe"),
)
SLIGHT = (finding("headlight", "dirt", side="near"), finding("seat_belt", "wear", severity="slight"))


@pytest.mark.parametrize("length", [Length.LINE, Length.SHORT])
def test_what_weighs_most_is_named_in_a_line_and_in_a_short_draft(length: Length) -> None:
    many = tuple(finding("bonnet", one) for one in ("dent", "scratch", "chip", "fade", "stain", "repaint", "filler"))
    more = tuple(finding("roof", one, severity="moderate") for one in ("dent", "scratch", "chip", "fade", "rust"))
    draft = drafted(car_of(*many, *more, *SLIGHT, *GRAVE), length)
    text = " ".join((draft.title.text, *(one.text for one in draft.sentences)))
    for words in ("the nearside sill is rusted through", "the brakes do not work", "the steering has a lot of play"):
        assert words in text.lower()
    if length is Length.LINE:
        assert "17 faults and doubts, all named in the full description." in text
        assert "dirt" not in text
        assert "belt" not in text


def test_a_line_names_four_grave_faults_and_counts_the_others() -> None:
    parts = ("brakes", "steering", "suspension", "handbrake", "wiring", "fuel_tank")
    draft = drafted(car_of(*(finding(part, "fault") for part in parts)), Length.LINE)
    assert "; two more as grave; six faults and doubts, all named" in draft.title.text
    assert len(re.findall("brakes|steering|suspension|handbrake|wiring|fuel tank", draft.title.text)) == 4


def test_that_no_mot_is_on_record_or_that_it_is_over_is_told_at_every_length() -> None:
    assert "The file records no MOT." in told(drafted(car_of(), Length.SHORT), "opening")
    over = car_of(facts=(fact("mot_until", "2026-05-09"),))
    spoken = car_of(facts=(heard("mot_until", "2026-05"),))
    after, before = date(2026, 6, 1), date(2026, 5, 9)
    for length in Length:
        words = as_text(drafted(over, length, today=after))
        assert "MOT ran to 9 May 2026 and is over" in words
        assert "is over" not in as_text(drafted(over, length, today=before))
        assert "is over" not in as_text(drafted(over, length))
    assert "an MOT to May 2026 that is over" in as_text(drafted(spoken, Length.SHORT, today=after))
    assert "an MOT to May 2026." in as_text(drafted(spoken, Length.SHORT, today=date(2026, 5, 31)))


def test_the_house_signs_and_closes_in_its_own_words() -> None:
    house = House("Halloran & Pike", "01632 960 123", "Ida Quill", ("Viewing by arrangement.",))
    draft = drafted(car_of(), house=house)
    see = "To see the car, or to ask anything about it, ring Halloran & Pike on 01632 960 123. Viewing by arrangement."
    assert told(draft, "see") == see
    assert told(draft, "sign") == "Ida Quill"
