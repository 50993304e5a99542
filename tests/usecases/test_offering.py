"""A rewrite takes the draft's place only with nothing added and no fault left out, and only while the same stands."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Found, State
from shutline.car.vocabulary import vocabulary
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.buyers_page import description_out
from shutline.usecases.describe import describe, describe_out, described_out, description_files
from shutline.usecases.left_out import left_out_told
from shutline.usecases.offering import accept_rewrite, hold_rewrite, offered, take_back_rewrite
from shutline.usecases.private import keep_private, private_for
from shutline.usecases.review import confirm, strike

WALK = """WEBVTT

00:00:01.000 --> 00:00:08.000
It's a nineteen sixty-nine four-door saloon, in dove grey. Nearside sill is solid, the offside sill has a bit of rust.

00:00:08.500 --> 00:00:16.000
The bonnet is straight, no dents. The heater doesn't work. Driver's seat is torn.

00:00:16.500 --> 00:00:24.000
The boot floor has a hole in it. The exhaust blows. The clutch works well.
"""
REWRITE = """A four-door saloon of 1969 in dove grey.

The bonnet is straight. There is a little rust in the offside sill, and the boot floor has a hole in it.

The driver's seat is torn, the heater does not work and the exhaust is blowing."""


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("told")
    walk = folder / "walk.vtt"
    walk.write_text(WALK, encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(store, [walk], car="grey", title="Averley Curlew")
        car = store.car_file("grey")
        confirm(store, "grey", [kept.id for kept in (*car.findings, *car.facts)], author="Ida")
    return folder / "store"


@pytest.fixture
def store(told: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(told, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def test_the_draft_itself_may_go_out(store: Store) -> None:
    held = hold_rewrite(store, "grey", describe(store, "grey").text)
    assert held.accepted, held


def test_other_words_for_the_same_may_go_out(store: Store) -> None:
    held = hold_rewrite(store, "grey", REWRITE)
    assert held.accepted, held


def test_words_about_a_part_that_nothing_reads_may_not_go_out(store: Store) -> None:
    held = hold_rewrite(store, "grey", f"{REWRITE}\n\nExperts have praised the chassis.")
    assert held.untold == ("Experts have praised the chassis",) or held.added
    assert not held.accepted
    with pytest.raises(UserError, match="chassis"):
        accept_rewrite(store, "grey", f"{REWRITE}\n\nExperts have praised the chassis.", author="Ida")


def test_whoever_accepts_words_that_nothing_reads_answers_for_them(store: Store) -> None:
    text = f"{REWRITE}\n\nIt once won best in show at the county rally."
    held = hold_rewrite(store, "grey", text)
    assert (held.accepted, held.if_vouched, held.added, held.dropped) == (False, True, (), ())
    assert held.untold == ("It once won best in show at the county rally",)
    with pytest.raises(UserError, match="vouch"):
        accept_rewrite(store, "grey", text, author="Ida", vouched=["something else"])
    now = accept_rewrite(store, "grey", text, author="Ida", vouched=held.untold)
    assert now.goes_out
    assert now.present is not None
    assert (now.present.vouched, now.present.author) == (held.untold, "Ida")


def test_no_word_of_a_person_stands_for_a_fault_that_is_left_out_or_a_claim_without_footing(store: Store) -> None:
    for text in (
        f"{REWRITE.replace('the exhaust is blowing', 'the exhaust was blowing')}",
        f"{REWRITE}\n\nThe gearbox is smooth. It once won best in show at the county rally.",
    ):
        held = hold_rewrite(store, "grey", text)
        assert not held.if_vouched
        with pytest.raises(UserError):
            accept_rewrite(store, "grey", text, author="Ida", vouched=held.untold)


@pytest.mark.parametrize("fault", ["was torn", "is torn, or so the last owner said", "is torn in the picture only"])
def test_a_fault_that_is_told_as_over_or_as_doubtful_is_left_out(store: Store, fault: str) -> None:
    held = hold_rewrite(store, "grey", REWRITE.replace("seat is torn", f"seat {fault}"))
    findings = {kept.id: kept.finding for kept in store.car_file("grey").findings}
    assert ("seat", "tear") in {(findings[one.id].part, findings[one.id].condition) for one in held.dropped}


def test_what_nobody_looked_at_and_a_rewrite_passes_over_is_told(store: Store) -> None:
    held = hold_rewrite(store, "grey", REWRITE)
    assert "chassis" in held.silenced
    assert hold_rewrite(store, "grey", describe(store, "grey").text).silenced == ()


def test_each_fault_that_is_left_out_is_named(store: Store) -> None:
    """Of the draft each sentence with a fault is left out in turn, and of the rewrite each clause with one."""
    draft = describe(store, "grey").draft
    clauses = {
        " There is a little rust in the offside sill, and": "sill",
        " and the boot floor has a hole in it": "boot_floor",
        "The driver's seat is torn, ": "seat",
        "the heater does not work and ": "heater",
        " and the exhaust is blowing": "exhaust",
    }
    texts = [REWRITE.replace(clause, "") for clause in clauses]
    texts += [
        "\n".join(one.text for one in draft.sentences if one is not left) for left in draft.sentences if left.faults
    ]
    assert len(texts) >= 8
    for text in texts:
        held = hold_rewrite(store, "grey", text)
        assert not held.accepted
        assert held.dropped, text


def test_what_is_to_be_done_does_not_stand_for_what_is_wrong(store: Store, tmp_path: Path) -> None:
    later = tmp_path / "later.vtt"
    later.write_text("WEBVTT\n\n00:01.000 --> 00:06.000\nNearside rear door has a dent, wants repairing.\n", "utf-8")
    add(store, [later], car="grey")
    confirm(store, "grey", [kept.id for kept in store.car_file("grey").findings], author="Ida")
    draft = describe(store, "grey").draft
    doing = [one.text for part in draft.paragraphs if part.section == "doing" for one in part.sentences if one.faults]
    assert any("door" in text for text in doing)
    kept = [one.text for one in draft.sentences if one.text in doing or "door" not in one.text]
    held = hold_rewrite(store, "grey", "\n".join(kept))
    assert not held.accepted
    assert "dent" in " ".join(one.words for one in held.dropped)


@pytest.mark.parametrize(
    "more",
    [
        "The offside sill is solid.",
        "There is no rust anywhere.",
        "The gearbox was rebuilt last year.",
        "It has 41,000 miles on it.",
        "The heater works.",
    ],
)
def test_a_claim_that_the_file_does_not_back_is_named(store: Store, more: str) -> None:
    held = hold_rewrite(store, "grey", f"{REWRITE} {more}")
    assert not held.accepted
    assert [one.quote for one in held.added]


def test_what_was_only_heard_backs_nothing(store: Store, tmp_path: Path) -> None:
    later = tmp_path / "later.vtt"
    later.write_text("WEBVTT\n\n00:01.000 --> 00:04.000\nThe windscreen is cracked.\n", encoding="utf-8")
    add(store, [later], car="grey")
    heard = [kept.id for kept in store.car_file("grey").going_out() if kept.finding.state is State.HEARD]
    assert heard
    text = f"{REWRITE} The windscreen is cracked."
    assert not hold_rewrite(store, "grey", text).accepted
    confirm(store, "grey", heard, author="Ida")
    assert hold_rewrite(store, "grey", text).accepted


def test_a_fact_that_was_only_heard_is_not_told_plainly_by_a_rewrite(store: Store, tmp_path: Path) -> None:
    later = tmp_path / "later.vtt"
    later.write_text("WEBVTT\n\n00:01.000 --> 00:04.000\nIt has had two keepers from new.\n", encoding="utf-8")
    add(store, [later], car="grey")
    heard = [kept.id for kept in store.car_file("grey").facts if kept.fact.state is State.HEARD]
    as_said = next(one.text for one in describe(store, "grey").draft.sentences if "two keepers" in one.text)
    assert hold_rewrite(store, "grey", f"{REWRITE}\n\n{as_said}").accepted
    plainly = f"{REWRITE}\n\nIt has had two keepers."
    assert [one.quote for one in hold_rewrite(store, "grey", plainly).added] == ["two keepers"]
    confirm(store, "grey", heard, author="Ida")
    assert hold_rewrite(store, "grey", plainly).accepted


def test_accepted_words_go_out_in_every_form_and_are_taken_back(store: Store) -> None:
    draft = describe(store, "grey").text
    now = accept_rewrite(store, "grey", REWRITE, author="Ida Quill", in_force=0)
    assert now.goes_out
    assert now.present is not None
    assert (now.present.author, now.present.words, now.present.former) == ("Ida Quill", REWRITE, draft)
    car = store.car_file("grey")
    files = {name: data.decode() for name, data in description_files(store, car)}
    assert all("the exhaust is blowing" in text for text in files.values())
    car_data = json.loads(files["offer.jsonld"])["@graph"][0]
    assert "exhaust" in car_data["knownVehicleDamages"].lower()
    assert [text for _, text in description_out(store, car)] == [" ".join(one.split()) for one in REWRITE.split("\n\n")]
    better = REWRITE.replace("A four-door", "An honest four-door")
    second = accept_rewrite(store, "grey", better, author="Per", in_force=now.present.id)
    assert second.present is not None
    assert second.present.former == REWRITE
    with pytest.raises(UserError) as late:
        accept_rewrite(store, "grey", better, author="Ida Quill", in_force=now.present.id)
    assert late.value.problem.slug == "offered-changed"
    back = take_back_rewrite(store, "grey", author="Ida Quill")
    assert back.present is not None
    assert back.present.words == REWRITE
    draft_again = take_back_rewrite(store, "grey", author="Ida Quill")
    assert (draft_again.present, len(draft_again.texts)) == (None, 2)
    with pytest.raises(NotFoundError):
        take_back_rewrite(store, "grey", author="Ida Quill")


def test_the_draft_goes_out_again_once_something_else_stands(store: Store) -> None:
    accept_rewrite(store, "grey", REWRITE, author="Ida")
    seat = next(kept for kept in store.car_file("grey").findings if "seat" in kept.finding.part)
    strike(store, "grey", [seat.id], author="Ida")
    now = offered(store, "grey")
    assert (now.goes_out, now.present is not None) == (False, True)
    for _, data in description_files(store, store.car_file("grey")):
        assert "torn" not in data.decode()
    confirm(store, "grey", [seat.id], author="Ida")
    assert offered(store, "grey").goes_out


def test_every_finding_struck_in_turn_takes_accepted_words_off(store: Store) -> None:
    accept_rewrite(store, "grey", REWRITE, author="Ida")
    for kept in store.car_file("grey").findings:
        strike(store, "grey", [kept.id], author="Ida")
        assert not offered(store, "grey").goes_out
        confirm(store, "grey", [kept.id], author="Ida")


def test_headings_of_accepted_words_stay_headings(store: Store) -> None:
    first, *rest = REWRITE.split("\n\n")
    told = "\n\n".join(["# As I found it ##", first, "## The rest", *rest])
    accept_rewrite(store, "grey", told, author="Ida", vouched=["As I found it", "The rest"])
    out = description_out(store, store.car_file("grey"))
    assert [heading for heading, _ in out][:2] == ["As I found it", "The rest"]
    assert not any("#" in heading + text for heading, text in out)
    now = offered(store, "grey")
    assert now.headings[:2] == ("As I found it", "The rest")
    files = {name: data.decode() for name, data in description_files(store, store.car_file("grey"))}
    assert "\n## The rest\n" in files["description.md"]
    assert "<h2>The rest</h2>" in files["description.html"]
    assert "\nThe rest\n" in files["description.txt"]
    assert "#" not in files["description.txt"]


def test_the_draft_accepted_as_it_is_keeps_its_title_and_headings(store: Store) -> None:
    made = describe(store, "grey")
    accept_rewrite(store, "grey", made.text, author="Ida")
    assert [one.heading for one in described_out(store, store.car_file("grey")).draft.paragraphs] == [
        one.heading for one in made.draft.paragraphs
    ]
    assert describe_out(store, "grey").text == made.text


def test_what_is_left_out_of_accepted_words_goes_whole_and_is_told(store: Store) -> None:
    text = f"{REWRITE}\n\nAn honest car, from Nether Quenby."
    accept_rewrite(store, "grey", text, author="Ida", vouched=hold_rewrite(store, "grey", text).untold)
    keep_private(store, "grey", "Nether Quenby", author="Ida")
    car = store.car_file("grey")
    assert offered(store, "grey").paragraphs[-1] == "An honest car."
    told = left_out_told(store, car, private_for(store, car))
    (words,) = [one for one in told if "offered" in one]
    assert words.startswith("Left out of the words it is offered with, because something stands in it that may not")
    assert "from Nether Quenby" in words
    assert "honest" not in words


def test_words_that_may_not_leave_are_named_and_taken_out(store: Store) -> None:
    sentence = "It was kept by Augusta Harbottle."
    keep_private(store, "grey", "Augusta Harbottle", author="Ida")
    held = hold_rewrite(store, "grey", f"{REWRITE}\n{sentence}")
    assert (held.accepted, held.private) == (False, (sentence,))
    accept_rewrite(store, "grey", REWRITE, author="Ida")
    keep_private(store, "grey", "dove grey", author="Ida")
    assert "dove grey" not in " ".join(offered(store, "grey").paragraphs)
    for name, data in description_files(store, store.car_file("grey")):
        assert b"dove grey" not in data.lower(), name


def test_nothing_at_all_cannot_go_out(store: Store) -> None:
    for text in ("", " \n"):
        with pytest.raises(UserError) as refused:
            accept_rewrite(store, "grey", text, author="Ida")
        assert refused.value.problem.slug == "rewrite-refused"


def test_by_command(store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, bad = tmp_path / "better.txt", tmp_path / "bad.txt"
    file.write_text(REWRITE, encoding="utf-8")
    bad.write_text("A fine car. The heater works.", encoding="utf-8")
    there = ["--store", str(store.folder)]
    assert main(["rewrite", "grey", str(bad), *there]) == 2
    assert "Left out: " in capsys.readouterr().out
    assert main(["rewrite", "grey", str(bad), "--accept", *there]) == 2
    assert "the rewrite" in capsys.readouterr().err
    assert main(["rewrite", "grey", str(file), *there]) == 0
    assert main(["rewrite", "grey", str(file), "--accept", "--by", "Per", *there]) == 0
    capsys.readouterr()
    assert main(["rewrite", "grey", "--json", *there]) == 0
    assert json.loads(capsys.readouterr().out)["present"]["author"] == "Per"
    assert main(["rewrite", "grey", "--undo", *there]) == 0
    assert "The draft goes out" in capsys.readouterr().out
    assert main(["rewrite", "grey", "--accept", *there]) == 2


def test_the_faults_of_the_walk_are_there_to_be_dropped(store: Store) -> None:
    faults = {
        kept.finding.part
        for kept in store.car_file("grey").findings
        if vocabulary().is_defect(kept.finding.condition) and kept.finding.found is not Found.NO
    }
    assert len(faults) >= 5


def test_a_description_is_asked_for_in_the_accepted_words_and_in_our_draft(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    draft = describe(store, "grey")
    assert describe_out(store, "grey") == draft
    accept_rewrite(store, "grey", REWRITE, author="Ida")
    made = describe_out(store, "grey")
    assert "A four-door saloon of 1969 in dove grey." in made.text
    assert (made.accepted_by, made.is_draft, made.held_back) == ("Ida", False, False)
    assert "words that a person accepted" in describe_out(store, "grey", footings=True).text
    assert describe_out(store, "grey", our_draft=True).text == draft.text
    assert describe_out(store, "grey", length="line").text == describe(store, "grey", length="line").text

    at = ["--store", str(tmp_path / "store")]
    told = []
    for more in ((), ("--our-draft",), ("--length", "line")):
        main(["describe", "grey", *more, *at])
        told.append(capsys.readouterr())
    assert "of 1969 in dove grey." in told[0].out
    assert "shutline describe grey --our-draft" in " ".join(told[0].err.split())
    assert "of 1969 in dove grey." not in told[1].out + told[2].out
    assert all("the words that Ida accepted" in " ".join(one.err.split()) for one in told)

    strike(store, "grey", [store.car_file("grey").findings[0].id], author="Ida")
    held = describe_out(store, "grey")
    assert (held.held_back, held.is_draft) == (True, True)
    assert "of 1969 in dove grey." not in held.text
    main(["describe", "grey", *at])
    assert "are held back" in " ".join(capsys.readouterr().err.split())
