"""What was put right is told as work that was done: not as a fault that stands, and as nothing beyond what was done."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Drive, Finding, Footing, FootingKind, Found, Position, Remedy, Side, State
from shutline.car.prep_done import RENEWS, PutRight
from shutline.car.vocabulary import vocabulary
from shutline.claims.check import check
from shutline.claims.record import record_of
from shutline.claims.verdict import Verdict
from shutline.cli import main
from shutline.history.timeline import EventKind
from shutline.prep.tables import prep_tables
from shutline.store import Store
from shutline.survey import coverage
from shutline.usecases.add import add
from shutline.usecases.answering import ask
from shutline.usecases.car_history import car_history
from shutline.usecases.car_view import view_car
from shutline.usecases.claim_check import check_words
from shutline.usecases.describe import describe
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_done import DoneAsked, take_back_tick, tick_off
from shutline.usecases.review import confirm, strike
from shutline.words import write_draft

CAR = "ostrel-pavane"
IDA = "Ida Quill"
DAY = date(2026, 11, 20)
WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
The nearside sill has a hole in it, about the size of a penny.

00:00:07.000 --> 00:00:12.000
The bonnet is a bit faded, that wants a polish.

00:00:14.000 --> 00:00:18.000
The boot lid has a dent in it.
"""
SILL, BONNET = "weld_patch@sill.near", "panel_polish@bonnet"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    (folder / "walk.vtt").write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [folder / "walk.vtt"], car=CAR, title="Ostrel Pavane", by="Ida")
        confirm(opened, CAR, [one.id for one in opened.car_file(CAR).findings], author=IDA)
    return folder / "store"


@pytest.fixture
def store(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def said(store: Store) -> str:
    return describe(store, CAR).text


def test_the_description_tells_the_work_and_not_the_fault(store: Store) -> None:
    before = said(store)
    assert "rusted through" in before
    assert "faded" in before
    lines = [tick_off(store, CAR, DoneAsked(task, on=DAY), author=IDA) for task in (SILL, BONNET)]
    after = said(store)
    assert "rusted through" not in after
    assert "faded" not in after
    assert "The nearside sill has been repaired" in after
    assert "What has been put right" in after
    assert "The bonnet has been polished." in after
    # The fault that was not worked on stands, and nobody praises what was.
    assert "dent" in after
    assert "in good order" not in after
    for line in lines:
        take_back_tick(store, CAR, line.id, author=IDA)
    assert said(store) == before


def test_the_car_tells_it_apart_from_what_stands(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    before = view_car(store, CAR)
    assert before.put_right == ()
    tick_off(store, CAR, DoneAsked(BONNET, on=DAY), author=IDA)
    seen = view_car(store, CAR)
    (line,) = seen.put_right
    assert (line.name, line.breadth) == ("bonnet", "faded, moderate, to polish")
    assert line.why.endswith("polished since, 20 November 2026")
    assert seen.found.count == before.found.count - 1
    # That the bonnet was looked at stays so.
    assert (seen.silent, seen.asked, seen.still_to_show) == (before.silent, before.asked, before.still_to_show)
    assert main(["show", CAR, "--store", str(store.folder)]) == 0
    assert "polished since, 2026-11-20" in " ".join(capsys.readouterr().out.split())


def test_what_was_struck_goes_out_nowhere_even_when_its_task_is_ticked_off(store: Store) -> None:
    line = tick_off(store, CAR, DoneAsked(BONNET, on=DAY), author=IDA)
    (fade,) = line.findings
    strike(store, CAR, [fade], author=IDA)
    assert "polished" not in said(store)
    assert store.car_file(CAR).put_right() == ()


def test_answers_tell_what_was_wrong_and_that_it_was_put_right(store: Store) -> None:
    def reply(question: str) -> tuple[str, str]:
        replied = ask(store, CAR, question, keep=False)
        return replied.kind, replied.reply

    assert reply("Is the bonnet faded?")[0] == "yes"
    for task in (SILL, BONNET):
        tick_off(store, CAR, DoneAsked(task, on=DAY), author=IDA)
    kind, words = reply("Is the bonnet faded?")
    assert kind == "told"
    assert "polished since)" in words
    kind, words = reply("How is the bonnet?")
    assert (kind, "put right since" in words) == ("told", True)
    assert reply("Has the bonnet been polished?")[0] == "yes"
    assert reply("Has the nearside sill been repaired?")[0] == "yes"
    # That one fault is gone is no word about others, nor about the whole.
    for question in ("Is the bonnet in good order?", "Is the bonnet scratched?", "Has the bonnet been replaced?"):
        assert reply(question)[0].startswith("not"), question


def test_a_text_that_still_tells_the_fault_hears_that_it_was_put_right(store: Store) -> None:
    def claim(text: str) -> tuple[str, str]:
        (line,) = check_words(store, CAR, text).claims
        return line.verdict, line.why

    assert claim("The bonnet is faded.")[0] == "backed"
    tick_off(store, CAR, DoneAsked(BONNET, on=DAY), author=IDA)
    assert claim("The bonnet is faded.") == ("unbacked", "It was so, and was put right since.")
    assert claim("The bonnet is not faded.")[1] != "It was so, and was put right since."
    assert claim("The bonnet is scratched.")[1] != "It was so, and was put right since."


def test_the_history_has_the_work_on_its_day(store: Store) -> None:
    def work(store: Store) -> list[tuple[date, str]]:
        return [
            (one.day, one.words)
            for one in car_history(store, CAR, day=date(2026, 11, 26)).events
            if one.kind is EventKind.WORK
        ]

    before = work(store)
    line = tick_off(store, CAR, DoneAsked(BONNET, on=DAY), author=IDA)
    assert [one for one in work(store) if one not in before] == [(DAY, f"bonnet: {line.words}: polished since")]


def put_right(number: int, part: str, remedy: Remedy) -> KeptFinding:
    of = vocabulary().parts[part]
    finding = Finding(
        part,
        "fault",
        Found.YES,
        side=Side.NEAR if of.sided else None,
        position=Position.FRONT if of.ended else None,
        footings=(Footing(FootingKind.SAID, "r1", 1.0, 2.0, "it wants doing"),),
        state=State.STANDS,
    )
    done = PutRight("w", f"t{number}", "put it right", remedy.value, "2026-11-20", (), IDA)
    return KeptFinding(f"f{number}", finding, put_right=done)


@pytest.mark.parametrize("remedy", [one for one in Remedy if one is not Remedy.MONITOR and one not in RENEWS])
def test_what_the_description_says_of_work_is_backed_by_the_work(remedy: Remedy) -> None:
    jobs = [job for job in prep_tables().jobs.values() if job.remedy == remedy]
    cured = {part for job in jobs for cure in job.cures for part in cure.parts}
    parts = sorted(cured or vocabulary().parts)[::3]
    for number, part in enumerate(parts):
        file = CarFile("a-car", "A car", Drive.RHD, "", findings=(put_right(number, part, remedy),))
        draft = write_draft(file, found=coverage(file))
        (told,) = [one for one in draft.paragraphs if one.section == "done"]
        claims = check(told.text, record_of(file)).claims
        # 'The engine' of 'it starts badly' is read as the engine itself.
        mine = [one for one in claims if one.saying.spot is None or one.saying.spot.part == part or part != "starting"]
        assert {one.verdict for one in mine} <= {Verdict.BACKED}, (told.text, claims)
