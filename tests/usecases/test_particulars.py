"""A car renamed and drawn by hand, two that are one, one set aside: by use case and command, with a way back."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from shutline.capture.originals import original_path
from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Drive
from shutline.cli import main
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.look import find_car
from shutline.usecases.particulars import bring_back, coming, join, particulars, separate, set_aside, settle
from shutline.usecases.yard import yard

CAR, OTHER = "ostrel-pavane", "blue-again"

WORDS = """WEBVTT

00:00:00.500 --> 00:00:03.000
It's a four-door saloon. The nearside sill is rotten. The bonnet is straight.
"""
MORE = """WEBVTT

00:00:00.500 --> 00:00:03.000
The boot lid has a dent in it.
"""


@pytest.fixture(scope="module")
def twice(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a car, and the same car delivered again with the same film and another; copied for each test."""
    folder = tmp_path_factory.mktemp("twice")
    words, more = folder / "walk.vtt", folder / "more.vtt"
    words.write_text(WORDS, encoding="utf-8")
    more.write_text(MORE, encoding="utf-8")
    walk = make_film("walk.mp4", frames=40, rate=10, sound=None, gop=10)
    second = make_film("more.mp4", frames=30, rate=10, sound=None, gop=10)
    with Store.open(folder / "store") as opened:
        add(opened, [walk], car=CAR, title="Ostrel Pavane", transcript=words, by="Ida")
        add(opened, [walk], car=OTHER, transcript=words, by="Ida")
        add(opened, [second], car=OTHER, transcript=more, by="Ida")
    return folder / "store"


@pytest.fixture
def store(twice: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(twice, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def test_a_car_is_called_and_drawn_as_a_person_says_and_what_it_was_is_kept(store: Store) -> None:
    before = particulars(store, "ostrel")
    # The words chose, as no person had.
    assert (before.car.body, before.car.doors, before.told.get("body")) == ("saloon", 4, ("saloon",))
    fields = {"title": "  Ostrel   Pavane, <blue> ", "body": "estate", "doors": "5", "drive": "lhd"}
    after = settle(store, CAR, fields, version=before.car.version, author="Ida")
    car = find_car(store, CAR)
    assert (car.title, car.body, car.doors, car.drive) == ("Ostrel Pavane, <blue>", "estate", 5, Drive.LHD)
    change = after.changes[-1]
    assert (change.author, change.before["title"], change.before["body"]) == ("Ida", "Ostrel Pavane", "saloon")
    with pytest.raises(StaleError):
        settle(store, CAR, {"title": "late"}, version=before.car.version, author="Ben")
    back = settle(store, CAR, {"body": "", "doors": ""}, author="Ida").car
    assert (back.body, back.doors) == (None, None)


def test_words_that_are_read_again_leave_alone_what_a_person_settled(
    store: Store, make_film: Callable[..., Path], tmp_path: Path
) -> None:
    settle(store, CAR, {"body": "", "doors": "", "drive": "lhd"}, author="Ida")
    words = tmp_path / "other.vtt"
    words.write_text(WORDS.replace("The bonnet is", "It's right-hand drive. The bonnet is"), encoding="utf-8")
    add(store, [make_film("walk.mp4", frames=40, rate=10, sound=None, gop=10)], car=CAR, transcript=words, by="Ben")
    car = find_car(store, CAR)
    assert (car.body, car.doors, car.drive) == (None, None, Drive.LHD)


@pytest.mark.parametrize(
    ("fields", "slug"),
    [
        ({"title": "  "}, "car-title"),
        ({"title": "x" * 201}, "car-title"),
        ({"title": "a\x1b[2J"}, "car-title"),
        ({"body": "spaceship"}, "unknown-body"),
        ({"body": "saloon", "doors": "5"}, "unknown-door-count"),
        ({"doors": "many"}, "car-detail"),
        ({"drive": "middle"}, "car-detail"),
        ({"name": "x"}, "car-detail"),
        ({}, "car-detail"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changed(store: Store, fields: dict[str, str], slug: str) -> None:
    before = particulars(store, CAR)
    with pytest.raises(UserError) as caught:
        settle(store, CAR, fields, author="Ida")
    assert caught.value.problem.slug == slug
    assert particulars(store, CAR) == before


def test_the_same_car_delivered_twice_is_one_and_is_two_again(store: Store) -> None:
    before = [find_car(store, name) for name in (CAR, OTHER)]
    told = coming(store, CAR, OTHER)
    assert told.same == ("walk.mp4",)
    assert (told.other.recordings, told.after.recordings) == (2, 2)
    assert [find_car(store, name) for name in (CAR, OTHER)] == before

    after = join(store, CAR, OTHER, author="Ida", version=told.car.version)
    assert (after.car.findings_heard, after.car.recordings) == (told.after.findings_heard, 2)
    (under,) = after.joined
    assert (under.name, under.author) == (OTHER, "Ida")
    file = find_car(store, OTHER)
    assert file == find_car(store, CAR)
    places = [(one.finding.part, one.finding.condition) for one in file.findings]
    assert len(places) == len(set(places)) == len(before[0].findings) + 1
    assert [one.car.name for one in yard(store).cars] == [CAR]

    apart = separate(store, CAR, "blue", author="Ida")
    assert apart.car.name == OTHER
    for name, was in zip((CAR, OTHER), before, strict=True):
        now = find_car(store, name)
        assert [(one.id, one.finding) for one in now.findings] == [(one.id, one.finding) for one in was.findings]
        assert (now.recordings, now.facts[0].fact) == (was.recordings, was.facts[0].fact)
    with pytest.raises(NotFoundError) as caught:
        separate(store, CAR, OTHER, author="Ida")
    assert caught.value.problem.slug == "not-joined"


def test_the_same_film_again_goes_to_the_car_that_stayed(store: Store) -> None:
    more = find_car(store, OTHER).recordings[1].original
    join(store, CAR, OTHER, author="Ida")
    again = add(store, [original_path(store.originals, more.sha256)], by="Ida")
    assert (again.items[0].car, again.items[0].new) == (CAR, False)
    assert [item.slug for item in again.items[0].problems if item.slug == "in-another-car"] == []


def test_what_is_added_to_a_car_that_is_out_of_sight_is_added_to_it(store: Store, tmp_path: Path) -> None:
    words = tmp_path / "note.txt"
    words.write_text("0:02 The grille is missing.\n", encoding="utf-8")
    set_aside(store, CAR, author="Ida")
    assert add(store, [words], car=CAR, by="Ida").items[0].car == CAR
    join(store, CAR, OTHER, author="Ida")
    words.write_text("0:02 The rear bumper is missing.\n", encoding="utf-8")
    assert add(store, [words], car=OTHER, by="Ida").items[0].car == CAR
    parts = {one.finding.part for one in find_car(store, CAR).findings}
    assert {"grille", "bumper"} <= parts


def test_a_car_set_aside_is_shown_only_when_asked_for(store: Store) -> None:
    assert set_aside(store, CAR, author="Ida").car.set_aside
    assert [one.car.name for one in yard(store).cars] == [OTHER]
    assert (yard(store).set_aside, yard(store, "pavane").count) == (1, 0)
    assert [one.car.name for one in yard(store, "pavane", aside=True).cars] == [CAR]
    assert find_car(store, CAR).findings
    assert not bring_back(store, CAR, author="Ida").car.set_aside
    assert yard(store).count == 2


def test_by_commands(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    folder = str(store.folder)

    def run(*asked: str, code: int = 0) -> str:
        assert main([*asked, "--store", folder]) == code
        shown = capsys.readouterr()
        return shown.out + shown.err

    assert "told of its body: saloon" in run("particulars", CAR)
    said = run("particulars", CAR, "--title", "The blue one", "--body", "saloon", "--doors", "4", "--by", "Ida")
    assert "ostrel-pavane: The blue one" in said
    assert "drawn as saloon, 4 doors, rhd" in said
    assert "Ida: amended (title 'Ostrel Pavane' to 'The blue one')" in said
    assert "saloon, coupe" in run("particulars", CAR, "--body", "spaceship", code=2)

    dry = run("join", CAR, OTHER, "--dry-run")
    assert "both have walk.mp4" in dry
    assert "shutline separate ostrel-pavane blue-again" in dry
    assert "under it: blue-again" in run("join", CAR, OTHER, "--by", "Ida")
    # Whose the name is now stands beside the JSON, and not in it.
    assert main(["particulars", OTHER, "--json", "--store", folder]) == 0
    shown = capsys.readouterr()
    assert json.loads(shown.out)["joined"][0]["name"] == OTHER
    assert "blue-again was joined with ostrel-pavane" in shown.err
    assert "already" in run("join", CAR, OTHER, code=2)
    assert "blue-again: blue-again" in run("separate", CAR, OTHER)

    assert "set aside" in run("set-aside", CAR)
    listed = run("list")
    assert CAR not in listed
    assert "1 set aside: --aside" in listed
    assert CAR in run("list", "--aside")
    run("bring-back", CAR)
    assert CAR in run("list")
