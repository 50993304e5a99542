"""What written sentences and typed questions are read as; our own sentences, as sellers and strangers write them."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.findings import Drive, Found
from shutline.claims.advert_forms import advert_forms
from shutline.claims.claimed import LONGEST, claimed
from shutline.claims.lines import sentences
from shutline.claims.questions import asked, mended
from shutline.claims.spelling import distance, meant
from shutline.claims.written_data import written_rows
from shutline.remarks import row_fits

HERE = Path(__file__).parent


def _rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _fits(wanted: str, read: tuple[str, str | None, str | None, str, str]) -> bool:
    head, condition, found = wanted.split()
    part, _, place = head.partition(":")
    return (read[0], read[3], read[4]) == (part, condition, found) and (not place or place in read[1:3])


def _read(sentence: str) -> set[tuple[str, str | None, str | None, str, str]]:
    return {
        (
            s.spot.part,
            s.spot.side and s.spot.side.value,
            s.spot.position and s.spot.position.value,
            s.condition,
            s.found,
        )
        for s in claimed(sentence)
        if s.spot is not None
    }


@pytest.mark.parametrize("row", _rows("sentences.csv"), ids=lambda row: row["sentence"][:50])
def test_each_sentence_claims_what_it_says_and_no_more(row: dict[str, str]) -> None:
    wanted = [claim.strip() for claim in row["claims"].split(";") if claim.strip()]
    read = _read(row["sentence"])
    missing = [claim for claim in wanted if not any(_fits(claim, one) for one in read)]
    more = [one for one in read if not any(_fits(claim, one) for claim in wanted)]
    assert not more
    assert not missing


@pytest.mark.parametrize("row", _rows("questions.csv"), ids=lambda row: row["question"][:50])
def test_each_question_asks_what_it_asks(row: dict[str, str]) -> None:
    what, wanted = asked(row["question"]), row["asks"].strip()
    read = {
        (s.spot.part, s.spot.side and s.spot.side.value, None, s.condition, s.found.value)
        for s in what.sayings
        if s.spot is not None
    }
    if wanted.startswith("fact "):
        assert what.fact == wanted.removeprefix("fact ")
    elif wanted.startswith("open "):
        assert what.open
        assert wanted.removeprefix("open ") in {spot.part for spot in what.spots}
    elif not wanted:
        assert not what.fact
        assert not read
    elif " " not in wanted:
        assert wanted in {one[3] for one in read}
    else:
        assert not what.fact
        for claim in wanted.split(";"):
            assert any(_fits(claim, one) for one in read)


@pytest.mark.parametrize("row", written_rows(), ids=lambda row: row.id)
def test_each_row_fits_its_example_and_not_its_counter_example(row) -> None:
    assert row_fits(row, row.example)
    assert not row_fits(row, row.counter_example)


@pytest.mark.parametrize("form", advert_forms(), ids=lambda form: form.id)
def test_each_form_of_an_advertisement_fits_its_example_and_not_its_counter_example(form) -> None:
    found = form.pattern.search(form.example)
    assert found is not None
    assert form.value(found.group(1)) is not None
    assert form.pattern.search(form.counter_example) is None
    assert form.fact in {s.fact.name for s in claimed(form.example) if s.fact is not None}


@pytest.mark.parametrize(
    "text",
    [
        "Call Dave on 01632 960123 any time.", "Tel. 01632 960471. Ring 07700 900 123.", "Phone 960123.",
        "Mobile (01632) 960 444 or +44 1632 960555.",
    ],
)  # fmt: skip
def test_a_telephone_number_is_no_mileage(text: str) -> None:
    # Numbers that Ofcom keeps for drama: 01632 960000 to 960999 and 07700 900000 to 900999, from memory.
    assert claimed(text) == ()
    assert [s.fact.value for s in claimed(text + " 48,200 miles.") if s.fact] == [48200]


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("1994 Tarrow Electric van.", "power_source", "electric"), ("Orlo Spider, 1971.", "body", "convertible"),
        ("Mileage: 63,812. Owners: 3. Keys: 2", "keys", 2), ("86 Garrow est, 2.0 petrol, 5 spd.", "engine_cc", 2000),
        ("86 Garrow est, 2.0 petrol, 5 spd.", "year", 1986), ("86 Garrow est, 2.0 petrol, 5 spd.", "gears", 5),
        ("Torvane Merrow 1964, 1300, 4-speed.", "engine_cc", 1300),
    ],
)  # fmt: skip
def test_a_fact_is_read_in_the_short_forms_of_advertisements(text: str, name: str, value: object) -> None:
    assert value in [s.fact.value for s in claimed(text) if s.fact is not None and s.fact.name == name]


def test_a_heading_tells_what_is_spoken_of() -> None:
    assert _read("Underneath: solid, no rust.") == {
        ("underside", None, None, "sound", "yes"),
        ("underside", None, None, "rust", "no"),
    }


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        # Scope of denial in writing, in the manner of NegEx: what a cue reaches, and where it ends.
        ("No rust, dent or chip on the roof.", {("roof", c, "no") for c in ("rust", "dent", "chip")}),
        ("No rust on the doors but a dent in the roof.", {("door", "rust", "no"), ("roof", "dent", "yes")}),
        ("The bonnet has no rust and the boot lid is dented.", {("bonnet", "rust", "no"), ("boot_lid", "dent", "yes")}),
        ("The doors are free of rust and filler.", {("door", "rust", "no"), ("door", "filler", "no")}),
        ("The roof is not dented.", {("roof", "dent", "no")}),
        ("The sills are solid and have never been welded.", {("sill", "sound", "yes"), ("sill", "original", "yes")}),
        ("The exhaust does not blow and is not rusty.", {("exhaust", "noise", "no"), ("exhaust", "rust", "no")}),
        ("Neither the engine nor the gearbox leaks.", {("engine", "leak", "no"), ("gearbox", "leak", "no")}),
        ("The clock does not work.", {("instruments", "fault", "yes")}),
        ("The radio is not original.", {("stereo", "nonoriginal", "yes")}),
    ],
)  # fmt: skip
def test_a_denial_reaches_what_it_denies(text: str, parts: set[tuple[str, str, str]]) -> None:
    assert {(s.spot.part, s.condition, s.found.value) for s in claimed(text) if s.spot is not None} == parts


def test_a_description_of_a_left_hand_drive_car_has_its_driver_on_the_left() -> None:
    (saying,) = claimed("The driver's door is dented.", drive=Drive.LHD)
    assert saying.spot is not None
    assert saying.spot.side == "near"
    assert saying.found is Found.YES


def test_sentences_keep_the_place_of_their_letters() -> None:
    text = "One. Two, e.g. three!\n - four\n\n\tFive? Six: 1.5 litres. J. Smith."
    for sentence in sentences(text):
        assert text[sentence.first : sentence.first + len(sentence.text)] == sentence.text
    assert [s.text for s in sentences(text)] == [
        "One.",
        "Two, e.g. three!",
        "four",
        "Five?",
        "Six: 1.5 litres.",
        "J. Smith.",
    ]


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_and_each_quote_stands_where_it_says(text: str) -> None:
    for saying in claimed(text):
        assert text[saying.first : saying.end] == saying.quote
    asked(text)


def test_a_text_that_is_too_long_is_read_as_far_as_it_goes() -> None:
    assert claimed("x " * LONGEST + "The sills are solid.") == ()


@pytest.mark.parametrize(("one", "two", "steps"), [
    # Distances of optimal string alignment counted by hand.
    ("kitten", "sitting", 3), ("ca", "ac", 1), ("abc", "abc", 0), ("brake", "break", 2), ("", "ab", 2),
])  # fmt: skip
def test_distance_counts_letters_as_by_hand(one: str, two: str, steps: int) -> None:
    assert distance(one, two, most=5) == steps
    assert distance(two, one, most=5) == steps
    assert distance(one, two, most=0) == min(steps, 1)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("exaust", "exhaust"), ("gearbx", "gearbox"), ("windsceen", "windscreen"), ("speedometr", "speedometer"),
        ("headlinning", "headlining"), ("wife", "wife"), ("mate", "mate"), ("zzzzzz", "zzzzzz"), ("sil", "sil"),
    ],
)  # fmt: skip
def test_a_misspelt_word_is_read_as_meant_and_others_are_left(typed: str, read: str) -> None:
    assert meant(typed) == read


def test_typed_short_forms_are_put_right() -> None:
    assert mended("Its the n/s wing thats rusty, isnt it") == "it's the nearside wing that's rusty, isn't it"


@pytest.mark.parametrize(
    "between", [" " * 19_000, "." * 19_000, "- " * 9_000, "\n" * 19_000, "'" * 19_000, "* " * 9_000]
)
def test_long_runs_of_blanks_and_marks_are_read_over(between: str) -> None:
    # Once a run of blanks was looked at from each of its letters: a text of nothing else took minutes.
    told = claimed(f"The sills are solid. {between} The boot is dry.")
    assert "sill" in {saying.spot.part for saying in told if saying.spot is not None}
