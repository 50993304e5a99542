"""A text checked and questions asked over a car in a store, by the use cases and by the command line."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.answering import (
    ask,
    asked_questions,
    drop_question,
    every_reply,
    letter,
    open_questions,
    show_question,
)
from shutline.usecases.buyers_page import answers_out
from shutline.usecases.claim_check import check_rewrite, check_words
from shutline.usecases.given_text import text_of
from shutline.usecases.private import keep_private
from shutline.usecases.survey import still_to_show

WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
Ostrel Pavane, nineteen sixty-eight, in blue. Nearside front wing has a dent in it, only a little one.

00:00:06.500 --> 00:00:12.000
The nearside door shuts well. There's rust on the nearside sill, quite bad. The bonnet is straight.

00:00:12.500 --> 00:00:18.000
The heater doesn't work. Two keys with it.
"""


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kept")
    file = folder / "walk.vtt"
    file.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(store, [file], car="pavane", title="Ostrel Pavane")
    return folder / "store"


@pytest.fixture
def car(kept: Path, tmp_path: Path) -> tuple[Path, str]:
    shutil.copytree(kept, tmp_path / "store")
    return tmp_path / "store", "pavane"


def test_each_claim_has_its_verdict_and_a_link_to_the_moment(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        checked = check_words(store, name, "The bonnet is straight, the nearside sill is solid and the radio works.")
    assert [(line.verdict, line.quote) for line in checked.claims] == [
        ("backed", "The bonnet is straight"),
        ("at odds", "the nearside sill is solid"),
        ("unbacked", "the radio works"),
    ]
    against = checked.claims[1].stands_on[0]
    assert against.words == "rust on the nearside sill"
    assert against.start_s is not None
    assert against.link.startswith("/cars/pavane?recording=1&at=")
    assert against.heard
    assert (checked.backed, checked.at_odds, checked.unbacked) == (1, 1, 1)


def test_a_broad_claim_names_what_nobody_looked_at(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        (claim,) = check_words(store, name, "No filler anywhere.").claims
    assert claim.verdict == "unbacked"
    assert "front wing" in claim.not_looked_at
    assert "Nobody has looked at" in claim.why


def test_a_rewrite_that_drops_a_fault_is_refused(car: tuple[Path, str]) -> None:
    folder, name = car
    former = "The bonnet is straight. There is rust on the nearside sill."
    with Store.open(folder) as store:
        assert check_rewrite(store, name, former, "Rust on the nearside sill; straight bonnet.").accepted
        refused = check_rewrite(store, name, former, "The bonnet is straight and the sills are solid.")
    assert not refused.accepted
    assert [line.quote for line in refused.dropped] == ["rust on the nearside sill"]
    assert [line.verdict for line in refused.added] == ["at odds"]


@pytest.mark.parametrize(
    ("question", "kind", "words"),
    [
        ("any rust on the n/s sill mate?", "yes", "Yes: rust on the nearside sill."),
        ("does the heater work", "no", "No: a fault with the heater."),
        ("how many keys do you get", "value", "Keys: two."),
        ("wot colour is it", "value", "Colour: blue."),
        ("does the radio work", "not recorded", "We have nothing on that for the radio"),
        ("whats your best price", "not recorded", "That is about the sale, and not about the car."),
    ],
)
def test_a_question_is_answered_in_words_to_send(car: tuple[Path, str], question: str, kind: str, words: str) -> None:
    folder, name = car
    with Store.open(folder) as store:
        replied = ask(store, name, question)
    assert (replied.kind, replied.reply.startswith(words)) == (kind, True), replied.reply
    assert bool(replied.stands_on) == (kind not in ("not recorded", "not looked at"))


def test_what_is_to_be_done_is_told_and_a_mileage_is_not_called_true(tmp_path: Path) -> None:
    file = tmp_path / "walk.vtt"
    words = "The nearside front wing is blistering, that wants repairing. The mileage is sixty three thousand miles."
    file.write_text(f"WEBVTT\n\n00:00:01.000 --> 00:00:09.000\n{words}\n", encoding="utf-8")
    with Store.open(tmp_path / "store") as store:
        add(store, [file], car="pavane", title="Ostrel Pavane")
        work = ask(store, "pavane", "will the wing need welding")
        true = ask(store, "pavane", "has the mileage been clocked")
    assert (work.kind, work.reply) == ("told", "Blistered paint on the nearside front wing (to repair).")
    assert true.kind == "not recorded"
    assert true.reply.endswith("What we do know of it: odometer 63,000 miles.")


def test_what_has_no_answer_is_kept_and_feeds_what_is_still_to_show(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        silent = ask(store, name, "is there rust in the boot floor?", author="Ida")
        assert silent.kind == "not looked at"
        assert silent.kept is not None
        assert "boot_floor" in "".join(silent.checks)
        ask(store, name, "any rust on the n/s sill?")
        ask(store, name, "whats your best price")
        ask(store, name, "does the radio work", keep=False)
        (open_one,) = open_questions(store, name)
        assert (open_one.question.words, open_one.question.author) == ("is there rust in the boot floor?", "Ida")
        shown = still_to_show(store, name)
        assert [one.question.words for one in shown.questions] == ["is there rust in the boot floor?"]
        asked_for = [one.key for one in shown.checks if one.asked]
        assert set(asked_for) == set(silent.checks)
        drop_question(store, name, open_one.question.id, author="Per")
        assert open_questions(store, name) == ()
        assert still_to_show(store, name).questions == ()


def test_two_questions_in_one_are_each_answered_and_kept(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        told = ask(store, name, "any rust on the n/s sill? and does the wireless work", author="Ida")
        each = every_reply(told)
        assert [one.question for one in each] == ["any rust on the n/s sill?", "does the wireless work"]
        assert [one.open for one in each] == [False, True]
        assert each[0].reply in letter(told, "https://cars.example")
        assert each[1].reply in letter(told, "https://cars.example")
        kept = [one.kept for one in each if one.kept is not None]
        assert len(kept) == 2
        assert [one.question.words for one in open_questions(store, name)] == ["does the wireless work"]
        for one in kept:
            drop_question(store, name, one.id, author="Per")


def test_an_answer_that_was_given_may_go_onto_the_page(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        told = ask(store, name, "any rust on the n/s sill?", author="Ida")
        assert told.kept is not None
        assert answers_out(store, store.car_file(name)) == ()
        show_question(store, name, told.kept.id, author="Ida")
        shown = answers_out(store, store.car_file(name))
        heard = told.heard or any(one.heard for one in told.beside)
        assert [(one.question, one.answer) for one in shown] == ([] if heard else [(told.question, told.reply)])
        drop_question(store, name, told.kept.id, author="Per")


def test_nothing_that_was_asked_goes_onto_the_page_unless_somebody_puts_it_there(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        kept = ask(store, name, "does the wireless work?", author="Ida").kept
        assert kept is not None
        (asked,) = (one for one in asked_questions(store, name) if one.question == kept)
        assert (asked.open, asked.heard, asked.question.on_page) == (True, False, False)
        assert answers_out(store, store.car_file(name)) == ()
        show_question(store, name, kept.id, author="Per")
        assert [one.question for one in answers_out(store, store.car_file(name))] == ["does the wireless work?"]
        show_question(store, name, kept.id, shown=False, author="Per")
        assert answers_out(store, store.car_file(name)) == ()
        assert [one.question.id for one in still_to_show(store, name).questions] == [kept.id]
        drop_question(store, name, kept.id, author="Per")


def test_a_question_with_private_words_is_not_put_onto_the_page(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        kept = ask(store, name, "did Augusta Harbottle's wireless work?", author="Ida").kept
        assert kept is not None
        keep_private(store, name, "Augusta Harbottle", author="Ida")
        with pytest.raises(UserError) as refused:
            show_question(store, name, kept.id, author="Ida")
        assert refused.value.problem.slug == "question-private"
        assert not show_question(store, name, kept.id, shown=False, author="Ida").on_page
        drop_question(store, name, kept.id, author="Per")


def test_the_command_puts_a_question_on_and_takes_it_off(
    car: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    folder, name = car
    with Store.open(folder) as store:
        kept = ask(store, name, "does the wireless work?", author="Ida").kept
    assert kept is not None
    told = ["questions", name, "--store", str(folder)]
    assert main(told) == 0
    assert "not on the buyer's page" in capsys.readouterr().out
    assert main([*told, "--on-page", kept.id, "--by", "Per", "--json"]) == 0
    (one,) = json.loads(capsys.readouterr().out)
    assert one["question"]["on_page"]
    assert one["question"]["said"][0]["author"] == "Per"
    assert main([*told, "--off-page", kept.id, "--all", "--json"]) == 0
    assert [one["question"]["on_page"] for one in json.loads(capsys.readouterr().out)] == [False]
    assert main([*told, "--off-page", kept.id, "--on-page", kept.id]) == 2
    assert main([*told, "--drop", kept.id]) == 0


def test_the_command_tells_in_one_line_what_became_of_a_question(
    car: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    folder, name = car
    with Store.open(folder) as store:
        silent = ask(store, name, "does the wireless work?", author="Ida").kept
        heard = ask(store, name, "any rust on the nearside sill?", author="Ida").kept
    assert silent is not None
    assert heard is not None

    def told(*more: str) -> str:
        assert main(["questions", name, *more, "--by", "Per", "--store", str(folder)]) == 0
        return " ".join(capsys.readouterr().out.split())

    day = r"\d{4}-\d\d-\d\d"
    off = f"«does the wireless work\\?» \\({silent.id}\\) is not on the buyer's page; "
    assert re.fullmatch(f"{off}nobody has put it there\\.", told("--off-page", silent.id))
    on = f"«does the wireless work\\?» \\({silent.id}\\) is on the buyer's page; put there by Per, {day}\\."
    assert re.fullmatch(on, told("--on-page", silent.id))
    assert re.fullmatch(f"{off}taken off by Per, {day}\\. It stays on the list\\.", told("--off-page", silent.id))
    waits = told("--on-page", heard.id)
    assert waits.startswith(f"«any rust on the nearside sill?» ({heard.id}) is to be on the buyer's page; put there by")
    assert waits.endswith("it waits until what its answer stands on is confirmed.")
    assert "is off the list and not on the buyer's page; taken off by Per, " in told("--drop", heard.id)


def test_words_that_cannot_be_used_are_refused(car: tuple[Path, str]) -> None:
    folder, name = car
    with Store.open(folder) as store:
        for call in (
            lambda: ask(store, name, "   "),
            lambda: ask(store, name, "x" * 601),
            lambda: check_words(store, name, "x" * 100_001),
        ):
            with pytest.raises(UserError):
                call()
        with pytest.raises(NotFoundError):
            check_words(store, "no-such-car", "It is solid.")
        assert check_words(store, name, "x" * 30_000).problems[0].slug == "text-not-read-to-its-end"


def _run(folder: Path, *arguments: str, given: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "shutline", *arguments, "--store", str(folder)],
        input=given, capture_output=True, text=True, check=False, encoding="utf-8",
    )  # fmt: skip


def test_the_command_line_says_the_same(car: tuple[Path, str]) -> None:
    folder, name = car
    text = "The nearside sill is solid."
    ended = _run(folder, "check", "-", "--car", name, "--json", given=text)
    assert ended.returncode == 2
    with Store.open(folder) as store:
        assert json.loads(ended.stdout) == json.loads(msgspec.json.encode(check_words(store, name, text)))
        asked = _run(folder, "ask", name, "does the heater work", "--json")
        assert json.loads(asked.stdout) == json.loads(msgspec.json.encode(ask(store, name, "does the heater work")))
    good = _run(folder, "check", "-", "--car", name, given="The bonnet is straight.")
    assert good.returncode == 0
    assert "backed: «The bonnet is straight»" in good.stdout
    missing = _run(folder, "check", "no-such-file", "--car", name, "--json")
    assert (missing.returncode, json.loads(missing.stdout)["error"]["slug"]) == (2, "text-not-read")
    kept = _run(folder, "ask", name, "is the radio original", "--by", "Ida")
    assert "Kept among the questions" in kept.stdout
    assert "is the radio original" in _run(folder, "questions", name).stdout


OFFERED = "The nearside sill is solid \N{EN DASH} \N{POUND SIGN}4,500."


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_text_that_tells_its_coding_is_read_as_it_is(coding: str) -> None:
    assert text_of(OFFERED.encode(coding), name="advert.txt") == (OFFERED, ())


def test_a_text_that_is_no_utf_8_is_read_as_windows_1252_and_told() -> None:
    text, problems = text_of(OFFERED.encode("cp1252"), name="advert.txt")
    assert text == OFFERED
    assert [(one.slug, one.where) for one in problems] == [("encoding-guessed", "advert.txt")]
    assert "Windows 1252" in problems[0].allowed


@pytest.mark.parametrize(
    ("data", "slug"),
    [
        (b"", "text-empty"),
        (b" \n\t \n", "text-empty"),
        (b"\xef\xbb\xbf...", "text-empty"),
        (bytes(range(256)), "text-not-read"),
    ],
)
def test_what_holds_no_words_is_told_and_not_checked(data: bytes, slug: str) -> None:
    with pytest.raises(UserError) as caught:
        text_of(data, name="advert.txt")
    assert (caught.value.problem.slug, caught.value.problem.where) == (slug, "advert.txt")


def test_the_command_line_checks_such_texts_too_and_leaves_the_file_as_it_is(
    car: tuple[Path, str], tmp_path: Path
) -> None:
    folder, name = car
    file = tmp_path / "advert.txt"
    file.write_bytes("The bonnet is straight \N{EN DASH} honest.".encode("cp1252"))
    was = file.read_bytes()
    ended = _run(folder, "check", str(file), "--car", name)
    assert (ended.returncode, "Windows 1252" in ended.stderr) == (0, True)
    assert "backed: «The bonnet is straight»" in ended.stdout
    assert file.read_bytes() == was
    empty = _run(folder, "check", "-", "--car", name, "--json", given="  ")
    assert (empty.returncode, json.loads(empty.stdout)["error"]["slug"]) == (2, "text-empty")
