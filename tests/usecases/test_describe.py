"""A description out of the store: by command and by use case, in each length and form, in the house's own words."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from shutline.car.errors import BadInputError, NotFoundError, UserError
from shutline.car.going_out import PrivateKind
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.describe import FORMS, LENGTHS, describe, write_description
from shutline.usecases.description_settings import (
    DescriptionDetails,
    check_wording,
    description_back,
    description_shown,
    keep_description,
    keep_wording,
    own_wording,
    wording_back,
)
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.house_lines import of_this_car
from shutline.usecases.kept_files import ChangedMeanwhileError
from shutline.usecases.review import confirm, strike

WALK = """WEBVTT

00:00:01.000 --> 00:00:08.000
It's a nineteen sixty-nine four-door saloon, in dove grey. Nearside sill is solid, the offside sill has a bit of rust.

00:00:08.500 --> 00:00:16.000
The bonnet is straight, no dents. The heater doesn't work. Driver's seat is torn.
"""


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    for name in ("SHUTLINE_WORDS", "SHUTLINE_GUIDES", "SHUTLINE_WORDING"):
        monkeypatch.delenv(name, raising=False)
    return tmp_path / "own"


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("told")
    walk = folder / "walk.vtt"
    walk.write_text(WALK, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [walk], car="grey", title="Averley Curlew")
    return folder / "store"


@pytest.fixture
def folder(told: Path, tmp_path: Path) -> Path:
    shutil.copytree(told, tmp_path / "store")
    return tmp_path / "store"


@pytest.fixture
def store(folder: Path) -> Iterator[Store]:
    with Store.open(folder) as opened:
        yield opened


@pytest.fixture
def standing(store: Store) -> Store:
    """The same store with everything let stand."""
    car = store.car_file("grey")
    confirm(store, "grey", [one.id for one in (*car.findings, *car.facts)], author="Ida Quill")
    return store


def test_what_was_only_heard_is_not_told_and_that_is_said(store: Store) -> None:
    made = describe(store, "grey")
    assert "sill" not in " ".join(p.text for p in made.draft.paragraphs if p.section == "outside")
    assert [one.slug for one in made.problems] == ["heard-not-told", "heard-told-as-said"]
    assert set(made.draft.as_said) == {kept.id for kept in store.car_file("grey").facts}
    assert made.draft.waiting == len(store.car_file("grey").findings)


def test_what_stands_is_told_with_the_moment_it_was_said(standing: Store) -> None:
    made = describe(standing, "grey")
    assert not made.problems
    outside = next(p for p in made.draft.paragraphs if p.section == "outside")
    assert "but the offside one has some rust." in outside.text
    rust = next(s for s in outside.sentences if "rust" in s.text)
    assert {round(one.at_s or 0) for one in rust.stands_on} <= set(range(9))
    assert all(one.source == standing.car_file("grey").recordings[0].id for one in rust.stands_on)
    assert made.text.startswith("1969 Averley Curlew\n")


def test_what_is_struck_is_told_no_longer(standing: Store) -> None:
    torn = next(k for k in standing.car_file("grey").findings if k.finding.condition == "tear")
    assert "torn" in describe(standing, "grey").text
    strike(standing, "grey", [torn.id], author="Ida Quill")
    assert "torn" not in describe(standing, "grey").text


def test_private_words_go_out_nowhere(standing: Store) -> None:
    standing.add_private("grey", PrivateKind.KEEPER, "Curlew", author="Ida Quill")
    for form in FORMS:
        assert "curlew" not in describe(standing, "grey", form=form, footings=True).text.lower()


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("length", LENGTHS)
def test_the_command_tells_what_the_use_case_does(
    folder: Path, standing: Store, length: str, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    made = describe(standing, "grey", length=length, form=form)
    asked = ["describe", "grey", "--length", length, "--form", form, "--store", str(folder)]
    assert main([*asked, "--json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert shown["text"] == made.text
    assert [s["text"] for p in shown["draft"]["paragraphs"] for s in p["sentences"]] == [
        s.text for s in made.draft.sentences
    ]
    assert main(asked) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert printed == " ".join(made.text.split())


def test_footings_are_listed_and_what_was_left_out_with_why(
    folder: Path, standing: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert standing.car_file("grey")
    assert main(["describe", "grey", "--footings", "--pictures", "--store", str(folder)]) == 0
    shown = capsys.readouterr().out
    assert "What each sentence stands on" in shown
    assert re.search(r"said at 0:0\d, finding [0-9a-f]+", shown)
    assert "No picture shows anything that is told." in shown


def test_it_is_written_to_a_file_whole(standing: Store, tmp_path: Path) -> None:
    made, written = write_description(standing, "grey", tmp_path / "out" / "grey.html", form="html")
    assert Path(written.path).read_text(encoding="utf-8") == made.text


def test_another_length_or_form_is_refused_with_those_there_are(store: Store) -> None:
    with pytest.raises(UserError, match="line, short, full") as refused:
        describe(store, "grey", length="long")
    assert refused.value.problem.slug == "description-asked"
    with pytest.raises(UserError, match="json-ld"):
        describe(store, "grey", form="pdf")


def test_the_house_speaks_in_its_own_voice_and_closes_with_its_own_lines(standing: Store) -> None:
    keep_house(HouseDetails("Halloran & Pike", telephone="01632 960 123", sign="Ida Quill"), author="Ida Quill")
    keep_description(
        DescriptionDetails("we", ("Viewing by arrangement.",), headings=False), author="Ida Quill", expected=None
    )
    made = describe(standing, "grey")
    assert "We offer the 1969 Averley Curlew, a four-door saloon, finished in dove grey." in made.text
    assert made.text.endswith("ring Halloran & Pike on 01632 960 123. Viewing by arrangement.\n\nIda Quill\n")
    assert "\nOutside\n" not in made.text


def test_settings_have_a_way_back_and_refuse_a_late_change() -> None:
    first = keep_description(DescriptionDetails("we"), author="Ida Quill")
    second = keep_description(DescriptionDetails("plain", ("Ring first.",)), author="Ida Quill", expected=first.mark)
    with pytest.raises(ChangedMeanwhileError):
        keep_description(DescriptionDetails(), author="Ida Quill", expected=first.mark)
    former = next(state for state in second.states if state.mark == first.mark)
    assert description_back(former.id, author="Ida Quill").details == DescriptionDetails("we")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('voice = "loud"', "loud"),
        ("tone = 3", "entry that there is not"),
        ('closing = ["An immaculate car."]', "immaculate"),
        ("closing = [3]", "no text"),
        ("headings = ", "TOML"),
    ],
)
def test_settings_that_are_wrong_are_refused(own: Path, text: str, found: str) -> None:
    own.mkdir(parents=True, exist_ok=True)
    (own / "description.toml").write_text(text, encoding="utf-8")
    assert found in description_shown().problems[0].sentence()


TEMPLATES = '[patterns]\nfault = ["Mind that {subject} {fault}."]\n'


def test_the_houses_own_sentences_are_laid_over_ours(standing: Store) -> None:
    kept = keep_wording("templates.toml", TEMPLATES, author="Ida Quill")
    assert not kept.problems
    assert "Mind that the heater does not work" in describe(standing, "grey").text
    keep_wording("templates.toml", "", author="Ida Quill")
    assert "Mind that" not in describe(standing, "grey").text
    back = wording_back("templates.toml", kept.states[0].id, author="Ida Quill")
    assert back.text == TEMPLATES


@pytest.mark.parametrize(
    ("name", "text", "where", "found"),
    [
        ("templates.toml", "[patterns]\n\nfault = ['{subject}.']\n", "templates.toml, line 3", "without {fault}"),
        ("templates.toml", "[patterns]\nbad = ['x']\n", "templates.toml, line 2", "an entry 'patterns.bad'"),
        ("templates.toml", "[patterns]\nfault = ['{subject} {fault} {price}.']\n", "line 2", "a place {price}"),
        ("templates.toml", "[opening]\nodometer = ['An immaculate {odometer}.']\n", "line 2", "immaculate"),
        ("templates.toml", "[patterns]\nfault = \n", "line 2", "TOML"),
        ("nouns.csv", "id,one\nsill,sill\n", "nouns.csv, line 1", "columns"),
        ("never.csv", "x", "never.csv", "no such file"),
    ],
)
def test_own_sentences_that_are_wrong_are_refused_with_file_and_line(
    name: str, text: str, where: str, found: str
) -> None:
    with pytest.raises((BadInputError, NotFoundError)) as refused:
        keep_wording(name, text, author="Ida Quill")
    assert where in refused.value.problem.where
    assert found in refused.value.problem.found


def test_a_row_of_the_house_takes_the_place_of_ours(own: Path, standing: Store) -> None:
    row = "heating,fault,heater,{be} out of order,{be} a little out of order,{be} out of order,{do} nothing,"
    heading = "id,condition,parts,yes,slight,moderate,severe,no,unsure,there,weight,source"
    text = f"{heading}\n{row}{{have}} no fault,,,5,ours\n"
    assert check_wording("conditions.csv", text) == ()
    (own / "wording").mkdir(parents=True)
    (own / "wording" / "conditions.csv").write_text(text, encoding="utf-8")
    assert own_wording().sayings["heating"].weight == 5
    assert "The heater is out of order." in describe(standing, "grey").text


def test_a_file_of_another_name_is_refused(own: Path, standing: Store) -> None:
    (own / "wording").mkdir(parents=True)
    (own / "wording" / "sentences.toml").write_text("", encoding="utf-8")
    with pytest.raises(BadInputError, match=r"sentences\.toml"):
        describe(standing, "grey")


LINES = ("Every car of ours is solid underneath.", "All our cars have a heater that works.", "Viewing by arrangement.")


def test_a_line_of_the_house_is_held_against_the_car(standing: Store) -> None:
    keep_description(DescriptionDetails(closing=LINES), author="Ida Quill")
    for length in ("short", "full"):
        made = describe(standing, "grey", length=length)
        assert [(one.slug, one.where) for one in made.problems] == [
            ("house-line-unbacked", f"a line of the house's own, «{LINES[0]}»"),
            ("house-line-at-odds", f"a line of the house's own, «{LINES[1]}»"),
        ]
    assert not describe(standing, "grey", length="line").problems


def test_a_line_that_the_car_bears_out_is_left_alone(standing: Store) -> None:
    keep_description(DescriptionDetails(closing=("It has four doors.", "Yours, Ida Quill")), author="Ida Quill")
    assert not describe(standing, "grey").problems


def test_a_sentence_of_the_house_s_own_wording_is_held_against_the_car(standing: Store) -> None:
    text = '[opening]\ncar = ["The {title} is {a_kind}<, finished in {colour}>, and its heater works."]\n'
    keep_wording("templates.toml", text, author="Ida Quill")
    (one,) = describe(standing, "grey").problems
    assert one.slug == "house-line-at-odds"
    assert "heater works" in one.where


def test_words_of_every_car_are_of_this_one() -> None:
    assert of_this_car("All our cars are dry, and every car we sell has two keys.") == "It is dry, and it has two keys."
    assert of_this_car("No rust on any of our cars.") == "No rust on it."
    assert of_this_car("Our carsick dog stays at home.") == "Our carsick dog stays at home."
    assert of_this_car("viewing by arrangement") == "viewing by arrangement"
