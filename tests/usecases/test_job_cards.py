"""Job cards beside the car: what is to be ordered, what each trade has left, and ticks with what was found."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from PIL import Image

from shutline.car.errors import NotFoundError, UserError
from shutline.car.notes import NoteKind
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.job_cards import JobCards, Ticked, TradeCard, card_of, show_job_cards, tick_job
from shutline.usecases.look import find_car
from shutline.usecases.note_keeping import keep_file, keep_words
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_done import take_back_tick

CAR, IDA = "ostrel-pavane", "Ida Quill"
WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
There's a bubble of rust on the bottom of the nearside front wing, that wants welding.

00:00:26.000 --> 00:00:30.000
The brakes at the rear are worn. The exhaust is fine.

00:00:40.000 --> 00:00:44.000
The tyres are all cracked.
"""
FIRST, LATER, NOTE, PICTURE = "work-00000001", "work-00000007", "note-00000001", "note-00000002"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cards")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car=CAR, title="Ostrel Pavane", by="Ida")
    return folder


@pytest.fixture
def store(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """A store of one car; each test takes back what it ticks off."""
    monkeypatch.setenv(PREP_VARIABLE, str(folder / "prep"))
    with Store.open(folder / "store") as opened:
        yield opened
        for one in opened.works_done(CAR):
            if one.holds:
                take_back_tick(opened, CAR, one.id, author=IDA)


def tasks(card: TradeCard) -> dict[str, int]:
    return {job.task: job.number for job in card.jobs}


def cards(found: JobCards) -> dict[str, TradeCard]:
    return {card.trade: card for card in found.cards}


def test_what_a_job_renews_is_to_be_ordered_and_nothing_else_is(store: Store) -> None:
    jobs = [job for card in show_job_cards(store, CAR).cards for job in card.jobs]
    orders = {fact for job in jobs for fact in job.facts if fact.startswith("To order")}
    assert orders == {"To order: rear brakes", "To order: all four tyres"}


def test_a_trade_that_is_done_is_off_its_own_card_and_told_what_it_waits_for(store: Store) -> None:
    before = cards(show_job_cards(store, CAR))
    task = next(one for one in tasks(before["weld"]) if "front_wing" in one)
    assert task in tasks(before["paint"])
    assert any("Hot work" in title for title, _ in before["weld"].cautions)
    tick_job(store, CAR, Ticked(task, "weld", FIRST, hours=Decimal("4.25")), author=IDA)
    after = cards(show_job_cards(store, CAR))
    assert task not in tasks(after["weld"])
    assert tasks(after["paint"]) == tasks(before["paint"])
    (done,) = after["weld"].done
    assert (done.line.hours, done.others) == (Decimal("4.25"), (before["paint"].name,))
    # The card has nothing left, so there is nothing to take care of.
    assert (after["weld"].jobs, after["weld"].counts, after["weld"].cautions) == ((), "", ())
    assert show_job_cards(store, CAR).to_film == ()
    tick_job(store, CAR, Ticked(task, "paint", "work-00000002"), author=IDA)
    found = show_job_cards(store, CAR)
    assert {one.place for one in found.to_film} == {"nearside front wing"}
    assert cards(found)["weld"].done[0].others == ()
    with pytest.raises(NotFoundError) as unknown:
        card_of(found, "nobody")
    assert unknown.value.problem.slug == "card-unknown"


def test_what_is_done_at_some_of_its_places_stays_on_the_card_and_is_gone_on_with(store: Store, tmp_path: Path) -> None:
    tyres = next(
        (card.trade, job) for card in show_job_cards(store, CAR).cards for job in card.jobs if "tyre" in job.task
    )
    trade, job = tyres
    assert (job.count, job.part) == (4, None)
    found, place = "a bent rim", "tyre-front-near"
    Image.new("RGB", (40, 30), (90, 120, 90)).save(tmp_path / "after.png")
    keep_file(
        store, CAR, tmp_path / "after.png", kind=NoteKind.PICTURE, place=place, token=PICTURE, name="after.png", by=IDA
    )
    first = Ticked(job.task, trade, "work-00000005", Decimal(1), places=1, picture=PICTURE, found=found, place=place)
    part = tick_job(store, CAR, first, author=IDA)
    card = cards(show_job_cards(store, CAR))[trade]
    (left,) = [one for one in card.jobs if one.task == job.task]
    assert left.part is not None
    assert (left.part.id, left.number, card.done) == (part.id, job.number, ())
    with pytest.raises(StaleError):
        tick_job(store, CAR, Ticked(job.task, trade, "work-00000006", places=4), author=IDA)
    whole = replace(first, token=LATER, hours=Decimal(3), places=4, picture="", version=part.version)
    done = tick_job(store, CAR, whole, author=IDA)
    assert done.picture == part.picture != ""
    assert [one.words for one in find_car(store, CAR).notes if one.words == found] == [found]
    card = cards(show_job_cards(store, CAR))[trade]
    assert job.task not in tasks(card)
    assert [one.line for one in card.done] == [done]


def test_a_finding_of_no_side_may_be_noted_at_any(store: Store) -> None:
    spots = [spot for card in show_job_cards(store, CAR).cards for job in card.jobs for spot in job.spots]
    tyres = next(spot for spot in spots if "all four tyres" in spot.words.lower())
    assert {place.key for place in tyres.places} == {
        "tyre-front-near",
        "tyre-front-off",
        "tyre-rear-near",
        "tyre-rear-off",
    }


def test_what_was_found_is_noted_once_and_a_note_of_words_is_no_picture(store: Store) -> None:
    (task, *_) = tasks(cards(show_job_cards(store, CAR))["mechanical"])
    ticked = Ticked(task, "mechanical", "work-00000003", found="a  pipe is rusty", place="brakes-rear")
    assert tick_job(store, CAR, ticked, author=IDA) == tick_job(store, CAR, ticked, author=IDA)
    (note,) = [one for one in find_car(store, CAR).notes if one.words == "a pipe is rusty"]
    assert (note.part, note.position, note.author) == ("brakes", "rear", IDA)
    keep_words(store, CAR, "no picture", place="brakes-rear", token=NOTE, by=IDA)
    with pytest.raises(UserError) as refused:
        tick_job(store, CAR, Ticked(task, "mechanical", "work-00000004", picture=NOTE), author=IDA)
    assert refused.value.problem.slug == "work-refused"
