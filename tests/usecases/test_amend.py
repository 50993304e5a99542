"""What a person changes or enters is kept with what stood before, and nothing of another person is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import FootingKind, Found, Remedy, Severity, Side, State
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.amend import amend, enter
from shutline.usecases.history import history
from shutline.usecases.queue import queue, show_entry
from shutline.usecases.review import Decision, confirm, decide, strike, undo
from shutline.usecases.spoken import find_words, sentence_at
from shutline.usecases.stills import choose_still

ONCE = "the same message"
WORDS = """WEBVTT

00:00:00.500 --> 00:00:03.000
The nearside sill is rotten. The bonnet is straight.

00:00:03.500 --> 00:00:07.000
She's showing forty-one thousand two hundred miles. The book says fifty-two thousand miles on the clock.
"""


@pytest.fixture(scope="module")
def folder(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("amend")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(store, [make_film("amend.mp4", frames=80, rate=10, sound=None, gop=10)], car="blue", transcript=words)
    return folder / "store"


@pytest.fixture
def store(folder: Path, tmp_path: Path) -> Iterator[Store]:
    import shutil

    shutil.copytree(folder, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def id_of(store: Store, part: str) -> str:
    return next(kept.id for kept in store.car_file("blue").findings if kept.finding.part == part)


def test_what_is_amended_stands_and_what_it_was_is_kept(store: Store) -> None:
    fields = {"part": "front wing", "side": "off", "severity": "slight", "remedy": "repair", "words": "a bit scabby"}
    (kept,) = amend(store, "blue", id_of(store, "sill"), fields, author="Ada").findings

    finding = kept.finding
    assert (finding.part, finding.side, finding.severity, finding.remedy) == (
        "front_wing", Side.OFF, Severity.SLIGHT, Remedy.REPAIR,
    )  # fmt: skip
    assert finding.state is State.STANDS
    assert finding.sureness is None
    assert finding.footings[0].quote == "a bit scabby"
    last = kept.changes[-1]
    assert (last.author, last.action, last.before["part"], last.after["part"]) == (
        "Ada", "amended", "sill", "front_wing",
    )  # fmt: skip
    (back,) = undo(store, "blue", [kept.id], author="Ada").findings
    assert (back.finding.part, back.finding.state) == ("sill", State.HEARD)
    assert "rotten" in back.finding.footings[0].quote


@pytest.mark.parametrize(
    ("fields", "slug"),
    [
        ({"part": "flux capacitor"}, "amend-value"),
        ({"side": "port"}, "amend-value"),
        ({"found": ""}, "amend-value"),
        ({"colour": "blue"}, "amend-field"),
        ({}, "amend-field"),
        ({"words": "x" * 2_001}, "amend-value"),
        ({"condition": "sound", "found": "no"}, "good-not-found"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changes(store: Store, fields: dict[str, str], slug: str) -> None:
    id_ = id_of(store, "sill")
    before = store.finding(id_)
    with pytest.raises(UserError) as refused:
        amend(store, "blue", id_, fields, author="Ada")
    assert refused.value.problem.slug == slug
    assert store.finding(id_) == before


def test_a_side_is_taken_away_by_saying_nothing(store: Store) -> None:
    (kept,) = amend(store, "blue", id_of(store, "sill"), {"side": ""}, author="Ada").findings
    assert kept.finding.side is None


def test_a_change_to_an_older_version_is_refused_with_both(store: Store) -> None:
    id_ = id_of(store, "sill")
    seen = store.finding(id_).version
    amend(store, "blue", id_, {"severity": "slight"}, version=seen, author="Ada")
    with pytest.raises(StaleError) as stale:
        amend(store, "blue", id_, {"severity": "severe"}, version=seen, author="Per")
    assert stale.value.present.finding.severity is Severity.SLIGHT
    assert stale.value.wanted.severity is Severity.SEVERE
    assert stale.value.wanted.state is State.STANDS
    with pytest.raises(StaleError) as stale:
        decide(store, "blue", [Decision(id_, "strike", seen)], author="Per")
    assert stale.value.wanted.state is State.STRUCK
    assert store.finding(id_).changes[-1].author == "Ada"


def test_one_stale_decision_among_several_leaves_all_as_they_were(store: Store) -> None:
    sill, bonnet = id_of(store, "sill"), id_of(store, "bonnet")
    with pytest.raises(StaleError):
        decide(store, "blue", [Decision(bonnet, "confirm", 1), Decision(sill, "confirm", 7)], author="Ada")
    assert store.finding(bonnet).finding.state is State.HEARD


def test_facts_at_odds_come_first_and_one_is_chosen(store: Store) -> None:
    found = queue(store, "blue")
    first = found.entries[0]
    assert (first.kind, first.id, first.at_odds, first.open) == ("fact", "odometer", True, True)
    assert sorted(kept.fact.value for kept in first.facts) == [41200, 52000]
    right, wrong = sorted(first.facts, key=lambda kept: int(kept.fact.value))
    decide(store, "blue", [Decision(right.id, "confirm", 1), Decision(wrong.id, "strike", 1)], author="Ada")
    after = show_entry(store, "blue", "odometer").entry
    assert (after.open, after.at_odds, after.state) == (False, False, State.STANDS)


def test_a_fact_is_amended_in_its_own_kind(store: Store) -> None:
    fact = next(kept for kept in store.car_file("blue").facts if kept.fact.value == 41200)
    (kept,) = amend(store, "blue", fact.id, {"value": "41,206", "unit": "km"}, author="Ada").facts
    assert (kept.fact.value, kept.fact.unit, kept.fact.state) == (41206, "km", State.STANDS)
    for fields in ({"value": "many"}, {"unit": "yards"}, {"value": "-3"}, {"part": "sill"}):
        with pytest.raises(UserError):
            amend(store, "blue", fact.id, fields, author="Ada")


def test_the_doubtful_come_first_and_the_decided_last(store: Store) -> None:
    confirm(store, "blue", [id_of(store, "bonnet")], author="Ada")
    found = queue(store, "blue")
    open_ones = [entry for entry in found.entries if entry.open and not entry.at_odds]
    assert [entry.sureness for entry in open_ones] == sorted(entry.sureness for entry in open_ones)
    assert found.left == sum(entry.open for entry in found.entries)
    assert [entry.open for entry in found.entries] == sorted((e.open for e in found.entries), reverse=True)
    filmed = [e.moment.start_s for e in queue(store, "blue", order="film").entries if e.open]
    assert filmed == sorted(filmed)
    with pytest.raises(UserError, match="order"):
        queue(store, "blue", order="colour")
    with pytest.raises(NotFoundError):
        show_entry(store, "blue", "nothing")


def test_an_entry_comes_with_the_words_around_it(store: Store) -> None:
    shown = show_entry(store, "blue", id_of(store, "bonnet"))
    assert shown.words is not None
    whole = " ".join(f"{shown.words.before} {shown.words.said} {shown.words.after}".split())
    assert "bonnet is straight" in shown.words.said
    assert whole.startswith("The nearside sill is rotten.")
    assert "She's showing" in shown.words.after


def test_what_was_missed_is_entered_once_with_its_moment_words_and_still(store: Store) -> None:
    fields = {"part": "bonnet", "condition": "dent", "severity": "slight", "words": "bonnet is straight"}
    (kept,) = enter(store, "blue", fields, at_s=2.05, token=ONCE, author="Ada").findings
    again = enter(store, "blue", fields, at_s=2.05, token=ONCE, author="Ada")
    assert [one.id for one in again.findings] == [kept.id]
    finding = kept.finding
    assert (finding.state, finding.found, finding.sureness) == (State.STANDS, Found.YES, None)
    seen, said = finding.footings
    assert (seen.kind, seen.start_s) == (FootingKind.SEEN, 2.05)
    assert said.kind is FootingKind.SAID
    assert 1.0 < said.start_s < said.end_s <= 3.0
    assert [round(still.at_s, 2) for still in kept.stills] == [2.0]
    assert (store.derived / kept.stills[0].sha256[:2] / kept.stills[0].sha256[2:4] / kept.stills[0].sha256).is_file()
    (struck,) = undo(store, "blue", [kept.id], author="Ada").findings
    assert struck.finding.state is State.STRUCK


@pytest.mark.parametrize("at_s", [-1.0, 99.0, float("nan")])
def test_a_moment_that_the_film_does_not_have_is_refused(store: Store, at_s: float) -> None:
    fields = {"part": "bonnet", "condition": "dent"}
    with pytest.raises(UserError, match="moment of the recording"):
        enter(store, "blue", fields, at_s=at_s, author="Ada")
    with pytest.raises(UserError, match="moment of the recording"):
        choose_still(store, "blue", id_of(store, "sill"), at_s, author="Ada")


def test_another_still_is_chosen_and_taken_back(store: Store) -> None:
    id_ = id_of(store, "sill")
    before = store.finding(id_).stills
    (kept,) = choose_still(store, "blue", id_, 5.33, author="Ada").findings
    assert [round(still.at_s, 2) for still in kept.stills] == [5.3]
    assert kept.changes[-1].action == "still chosen"
    assert kept.finding.state is State.HEARD
    (back,) = undo(store, "blue", [id_], author="Ada").findings
    assert back.stills == before


def test_the_history_says_who_did_what_the_latest_first(store: Store) -> None:
    sill = id_of(store, "sill")
    assert history(store, "blue").lines == ()
    strike(store, "blue", [sill], author="Ada")
    undo(store, "blue", [sill], author="Per")
    lines = history(store, "blue").lines
    assert [(line.change.author, line.change.action) for line in lines] == [("Per", "undone"), ("Ada", "struck")]
    assert [line.change.action for line in history(store, "blue", [sill[:6]]).lines] == ["undone", "struck", "drawn"]
    assert len(history(store, "blue", program=True).lines) > len(lines)


def test_words_are_found_where_they_were_said_capitals_and_marks_aside(store: Store) -> None:
    film = store.car_file("blue").recordings[0]
    found = find_words(film, "THE BONNET is straight", 4.0)
    assert found is not None
    assert found.text == "The bonnet is straight."
    assert find_words(film, "the boot lid", 4.0) is None
    assert find_words(film, "?!", 4.0) is None
    assert sentence_at(film, 4.0).text == "She's showing forty-one thousand two hundred miles."
    assert sentence_at(film, 0.1).text == ""
