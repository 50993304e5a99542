"""What is at odds is shown and decided, by use case and by command; every answer is kept, and shown again on change."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found, Severity, Side, State
from shutline.car.odds import OddsAnswer
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.look import find_car
from shutline.usecases.odds import OddsCase, odds
from shutline.usecases.odds_deciding import decide_odds
from shutline.usecases.odds_stale import OddsStaleError
from shutline.usecases.review import strike, undo

CAR = "ostrel-pavane"

WORDS = """WEBVTT

00:00:01.000 --> 00:00:04.000
There are no dents in the nearside front wing.

00:01:30.000 --> 00:01:34.000
There's a dent in the nearside front wing.
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("odds")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car=CAR, title="Ostrel Pavane", by="Ida")
    return folder / "store"


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def test_a_case_is_decided_the_loser_struck_and_all_of_it_kept(store: Store) -> None:
    (case,) = odds(store, "ostrel").open
    assert case.words == ("nearside front wing: no dent", "nearside front wing: dent")
    lost = case.odds.told[0].id
    after = decide_odds(
        store, CAR, case.odds.id[:6], holds="2", reason="looked again", mark=case.odds.mark, author="Ida"
    )
    assert (after.open, after.settled) == ((), ())
    (past,) = after.past
    (decision,) = past.decisions
    assert (past.told, past.holds, past.back) == (case.words, 2, True)
    assert (decision.answer, decision.author, decision.reason) == (OddsAnswer.ONE, "Ida", "looked again")
    assert (decision.holds, decision.struck) == (case.odds.told[1].id, (lost,))
    assert decision.told == case.words
    assert store.finding(lost).finding.state is State.STRUCK
    assert store.finding(case.odds.told[1].id).finding.state is State.STANDS
    # What was struck is back: the case is open again, with the answer beside it.
    undo(store, CAR, [lost], author="Ben")
    (again,) = odds(store, CAR).open
    assert again.changed
    assert again.decisions == (decision,)


def test_both_hold_until_something_that_was_said_changes(store: Store) -> None:
    (case,) = odds(store, CAR).open
    after = decide_odds(store, CAR, case.odds.id, holds="all", reason="the dent is new", author="Ida")
    assert after.open == ()
    assert [one.odds.id for one in after.settled] == [case.odds.id]
    assert {store.finding(told.id).finding.state for told in case.odds.told} == {State.HEARD}
    kept = store.finding(case.odds.told[1].id)
    store.change_finding(kept.id, action="amend", author="Ben", expected_version=kept.version, severity=Severity.SLIGHT)
    (again,) = odds(store, CAR).open
    assert again.changed
    assert [one.reason for one in again.decisions] == ["the dent is new"]


def test_an_answer_is_taken_back_by_a_new_one(store: Store) -> None:
    (case,) = odds(store, CAR).open
    decide_odds(store, CAR, case.odds.id, holds="all", reason="both", author="Ida")
    (again,) = decide_odds(store, CAR, case.odds.id, holds="open", reason="not sure after all", author="Ben").open
    assert not again.changed
    assert [(one.author, one.answer) for one in again.decisions] == [("Ida", OddsAnswer.ALL), ("Ben", OddsAnswer.OPEN)]


def test_none_holds_strikes_all_of_them(store: Store) -> None:
    (case,) = odds(store, CAR).open
    after = decide_odds(store, CAR, case.odds.id, holds="none", reason="another car", author="Ida")
    assert after.open == ()
    assert {store.finding(told.id).finding.state for told in case.odds.told} == {State.STRUCK}


def test_of_a_fact_with_several_values_all_that_say_the_others_are_struck(store: Store) -> None:
    for number, value in enumerate((1966, 1968, 1968)):
        footing = Footing(FootingKind.WRITTEN, f"paper {number}", quote=str(value))
        store.add_fact(CAR, Fact("year", value, footings=(footing,)), author="Ida", token=str(number))
    case = next(one for one in odds(store, CAR).open if one.odds.rule == "year")
    assert case.words == ("year: 1966", "year: 1968")
    decide_odds(store, CAR, case.odds.id, holds="1", reason="the plate says so", author="Ida")
    stands = [kept.fact.value for kept in find_car(store, CAR).facts if kept.fact.state is not State.STRUCK]
    assert stands == [1966]


@pytest.mark.parametrize(
    ("case", "holds", "reason", "slug"),
    [
        ("", "3", "because", "odds-answer"),
        ("", "0", "because", "odds-answer"),
        ("", "both", "because", "odds-answer"),
        ("", "1", "  ", "odds-answer"),
        ("", "1", "x" * 501, "odds-answer"),
        ("ffffffffffffffffff", "1", "because", "odds-unknown"),
    ],
)
def test_what_cannot_be_an_answer_is_refused_and_nothing_done(
    store: Store, case: str, holds: str, reason: str, slug: str
) -> None:
    present = odds(store, CAR).open[0].odds.id
    with pytest.raises((UserError, NotFoundError)) as refused:
        decide_odds(store, CAR, case or present, holds=holds, reason=reason, author="Ida")
    assert refused.value.problem.slug == slug
    assert store.odds_decisions(CAR) == ()


def test_an_answer_to_what_has_changed_is_refused(store: Store) -> None:
    (case,) = odds(store, CAR).open
    with pytest.raises(OddsStaleError) as refused:
        decide_odds(store, CAR, case.odds.id, holds="1", reason="because", mark="0" * 16, author="Ida")
    assert refused.value.problem.slug == "odds-changed"
    assert refused.value.said["wanted"] == "nearside front wing: no dent stands, because because"
    assert store.odds_decisions(CAR) == ()


def test_an_answer_that_somebody_else_has_given_meanwhile_is_refused_with_both(store: Store) -> None:
    (case,) = odds(store, CAR).open
    mine = {"mark": case.odds.mark, "answers": 0}
    decide_odds(store, CAR, case.odds.id, holds="2", reason="there is one", author="Ben", **mine)
    with pytest.raises(OddsStaleError) as refused:
        decide_odds(store, CAR, case.odds.id, holds="1", reason="there is none", author="Ida", **mine)
    assert "number 2 stands, because there is one (Ben)" in refused.value.said["present"]
    assert "no dent stands, because there is none" in refused.value.said["wanted"]
    assert len(store.odds_decisions(CAR)) == 1


def test_what_was_struck_meanwhile_is_at_odds_no_more_and_the_answer_is_refused(store: Store) -> None:
    (case,) = odds(store, CAR).open
    strike(store, CAR, [case.odds.told[0].id], author="Ben")
    with pytest.raises(OddsStaleError) as refused:
        decide_odds(store, CAR, case.odds.id, holds="1", reason="x", mark=case.odds.mark, answers=0, author="Ida")
    assert refused.value.present is None


def test_an_answer_is_taken_back_with_all_that_it_did(store: Store) -> None:
    (case,) = odds(store, CAR).open
    decide_odds(store, CAR, case.odds.id, holds="2", reason="there is one", author="Ida")
    (again,) = decide_odds(store, CAR, case.odds.id, holds="open", author="Ben").open
    assert [one.author for one in again.decisions] == ["Ida", "Ben"]
    assert not again.changed
    assert {store.finding(told.id).finding.state for told in case.odds.told} == {State.HEARD}
    with pytest.raises(UserError, match="no answer that could be taken back"):
        decide_odds(store, CAR, case.odds.id, holds="open", author="Ben")


def test_what_somebody_decided_since_stays_when_an_answer_is_taken_back(store: Store) -> None:
    (case,) = odds(store, CAR).open
    decide_odds(store, CAR, case.odds.id, holds="2", reason="there is one", author="Ida")
    stands = store.finding(case.odds.told[1].id)
    store.change_finding(
        stands.id, action="amend", author="Ben", expected_version=stands.version, severity=Severity.SLIGHT
    )
    decide_odds(store, CAR, case.odds.id, holds="open", author="Ida")
    assert store.finding(stands.id).finding.severity is Severity.SLIGHT
    assert store.finding(case.odds.told[0].id).finding.state is State.HEARD


def test_a_mark_that_was_spelled_out_becomes_a_fact_when_it_is_decided_about(store: Store, tmp_path: Path) -> None:
    words = tmp_path / "mark.vtt"
    words.write_text(
        "WEBVTT\n\n00:00:01.000 --> 00:00:05.000\nThe registration is O G Y four one two H.\n", encoding="utf-8"
    )
    add(store, [words], car=CAR, by="Ida")
    seen = Footing(FootingKind.SEEN, "picture", quote="OGY412K")
    store.add_fact(CAR, Fact("registration_mark", "OGY412K", footings=(seen,)), author="Ida", token=seen.quote)

    def case() -> OddsCase:
        return next(one for one in odds(store, CAR).open if one.odds.rule == "registration_mark")

    assert case().words == ("registration mark: OGY412K", "registration mark: OGY412H")
    after = decide_odds(store, CAR, case().odds.id, holds="1", reason="the plate says so", author="Ida")
    assert [one.odds.rule for one in after.open] == ["denied"]
    values = {kept.fact.value: kept.fact.state for kept in find_car(store, CAR).facts}
    assert (values["OGY412K"], values["OGY412H"]) == (State.STANDS, State.STRUCK)
    (past,) = after.past
    decide_odds(store, CAR, past.id, holds="open", author="Ida")
    assert case().odds.id == past.id


def test_each_side_has_its_words_its_moment_and_where_to_look(store: Store) -> None:
    (case,) = odds(store, CAR).open
    assert (case.about, case.sort) == ("Nearside front wing", "Said one way, and said the other")
    first, second = case.sides
    (look,) = first.looks
    assert (look.name, look.recording, look.start_s) == ("walk.vtt", 1, 1.0)
    assert look.words is not None
    assert "no dents" in look.words.said
    assert second.state is State.HEARD


def _denied_everywhere(store: Store) -> tuple[str, list[str]]:
    """Add two dents that were seen, and a paper that denies all; give its id, and those of the three dents."""
    for part in ("front_wing", "rear_wing"):
        dent = Finding(part, "dent", Found.YES, Side.OFF, footings=(Footing(FootingKind.SEEN, f"picture of {part}"),))
        store.add_finding(CAR, dent, author="Ida", token=part)
    none = Finding("bodywork", "dent", Found.NO, footings=(Footing(FootingKind.WRITTEN, "paper"),))
    store.add_finding(CAR, none, author="Ida", token=none.part)
    kept = [one for one in find_car(store, CAR).findings if one.finding.condition == "dent"]
    whole = next(one.id for one in kept if one.finding.part == "bodywork")
    return whole, [one.id for one in kept if one.finding.found is Found.YES]


def _general(store: Store) -> OddsCase:
    return next(case for case in odds(store, CAR).open if case.odds.general)


def test_a_general_denial_is_one_case_with_all_that_speaks_against_it(store: Store) -> None:
    whole, dents = _denied_everywhere(store)
    case = _general(store)
    assert [told.id for told in case.odds.told] == [whole, *dents]
    assert case.words == (
        "bodywork as a whole: no dent",
        "nearside front wing: dent; offside front wing: dent; offside rear wing: dent",
    )
    assert case.about == "Bodywork as a whole: no dent"
    assert case.sort == "Written of all of it, and said and seen otherwise of three"
    first, second = case.sides
    assert first.looks[0].kind is FootingKind.WRITTEN
    assert [one.looks[0].start_s for one in second.each] == [90.0, None, None]


def test_of_a_general_denial_all_that_speaks_against_it_holds_or_falls_together(store: Store) -> None:
    whole, dents = _denied_everywhere(store)
    case = _general(store)

    def states() -> list[State]:
        return [store.finding(one).finding.state for one in (whole, *dents)]

    before = states()
    shown = decide_odds(store, CAR, case.odds.id, holds="2", reason="looked again", author="Ben")
    assert states() == [State.STRUCK, *[State.STANDS] * 3]
    past = next(one for one in shown.past if one.id == case.odds.id)
    assert (past.told, past.holds, past.back) == (case.words, 2, True)
    decide_odds(store, CAR, case.odds.id, holds="open", author="Ben")
    assert states() == before
    shown = decide_odds(store, CAR, case.odds.id, holds="1", reason="it was dirt", author="Ben")
    assert states() == [State.STANDS, *[State.STRUCK] * 3]
    assert next(one for one in shown.past if one.id == case.odds.id).holds == 1
    with pytest.raises(NotFoundError):
        decide_odds(store, CAR, case.odds.id, holds="3", reason="because", author="Ben")


def test_what_more_speaks_against_a_general_denial_opens_its_case_again(store: Store) -> None:
    _denied_everywhere(store)
    case = _general(store)
    decide_odds(store, CAR, case.odds.id, holds="all", reason="they are small", author="Ben")
    assert case.odds.id in {one.odds.id for one in odds(store, CAR).settled}
    dent = Finding("bonnet", "dent", Found.YES, footings=(Footing(FootingKind.SEEN, "picture"),))
    store.add_finding(CAR, dent, author="Ida", token=dent.part)
    again = _general(store)
    assert (again.odds.id, again.changed, again.decisions[0].reason) == (case.odds.id, True, "they are small")
    assert len(again.odds.sides[1]) == 4


def test_two_that_somebody_decided_about_stay_a_case_of_their_own(store: Store) -> None:
    (case,) = odds(store, CAR).open
    decide_odds(store, CAR, case.odds.id, holds="all", reason="the dent is new", author="Ida")
    shown = Finding("front_wing", "dent", Found.YES, Side.NEAR, footings=(Footing(FootingKind.SEEN, "picture"),))
    store.add_finding(CAR, shown, author="Ida", token=shown.part)
    found = odds(store, CAR)
    assert [one.odds.id for one in found.settled] == [case.odds.id]
    (other,) = found.open
    assert other.odds.kinds == (FootingKind.SAID, FootingKind.SEEN)


def test_a_remark_that_is_a_side_of_several_cases_names_the_others(store: Store) -> None:
    _denied_everywhere(store)
    # The dent that was said is denied for its own wing, and for the whole of the bodywork too.
    assert [len(case.also) for case in odds(store, CAR).open] == [1, 1]


def test_a_picture_that_shows_otherwise_is_at_odds_with_what_was_said(store: Store) -> None:
    (case,) = odds(store, CAR).open
    strike(store, CAR, [case.odds.told[1].id], author="Ida")
    shown = Finding("front_wing", "dent", Found.YES, Side.NEAR, footings=(Footing(FootingKind.SEEN, "picture"),))
    store.add_finding(CAR, shown, author="Ida", token=shown.part)
    assert [case.odds.kinds for case in odds(store, CAR).open] == [(FootingKind.SAID, FootingKind.SEEN)]


def test_answers_stay_with_a_car_that_is_joined(store: Store, tmp_path: Path) -> None:
    words = tmp_path / "other.vtt"
    words.write_text("WEBVTT\n\n00:00:01.000 --> 00:00:03.000\nThe bonnet is straight.\n", encoding="utf-8")
    add(store, [words], car="other", by="Ida")
    (case,) = odds(store, CAR).open
    decide_odds(store, CAR, case.odds.id, holds="all", reason="both", author="Ida")
    store.join_cars("other", CAR, author="Ida")
    assert [one.odds.id for one in odds(store, "other").settled] == [case.odds.id]
    assert len(store.odds_decisions("other")) == 1


def test_the_command_shows_and_decides(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    folder = ["--store", str(store.folder)]
    assert main(["odds", CAR, "--json", *folder]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["open"][0]["words"][0] == "nearside front wing: no dent"
    case = told["open"][0]["odds"]["id"]
    assert main(["odds", CAR, *folder]) == 0
    out = capsys.readouterr().out
    assert case in out
    assert "0:01" in out
    assert "1:30" in out
    assert main(["odds", CAR, case, "--holds", "2", "--because", "seen", "--by", "Ida", *folder]) == 0
    assert "number 2 stands, because seen" in capsys.readouterr().out
    assert main(["odds", CAR, case, "--holds", "2", *folder]) == 2
