"""Hours of work that was ticked off move the house's ranges, shown first, accepted with a name, never counted twice."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from shutline.car.errors import UserError
from shutline.car.prep_done import WorkDone
from shutline.cli import main
from shutline.prep.learning import Taken, learn
from shutline.prep.tables import prep_tables
from shutline.store import Store
from shutline.usecases.kept_files import ChangedMeanwhileError, keep, look_at
from shutline.usecases.own_prep import PREP_VARIABLE, own_prep
from shutline.usecases.prep_learning import accept_moves, learning

IDA, BEN = "Ida Quill", "Ben Marl"
DAY = date(2026, 11, 26)
OWN = """# what we charge ourselves
source = "our workshop, 2026"

[[job]]
id = "weld_patch"   # as we do it
labour = [
    { trade = "weld", each = [1.0, 2.0, 4.0] },
    { trade = "paint", each = [0.5, 1.0, 2.0], setup = [0.1, 0.2, 0.3] },
]
materials = [5, 9, 30]

# and the washing
[[job]]
id = "wash"
supplier = "Merrowby Suds"
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    there = tmp_path / "prep"
    there.mkdir()
    monkeypatch.setenv(PREP_VARIABLE, str(there))
    return there


@pytest.fixture
def store(folder: Path, tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car("one")
        opened.create_car("two")
        yield opened


def tick(
    store: Store, car: str, job: str, trade: str, hours: str | None, *, places: int = 1, at: str = "sill.near"
) -> WorkDone:
    known = own_prep()[0].jobs.get(job)
    work = WorkDone(
        id="",
        task=f"{job}@{at}",
        job=job,
        words=known.name if known else job,
        remedy=known.remedy if known else "repair",
        findings=("aa",),
        trade=trade,
        needs=tuple(line.trade for line in known.labour) if known else (trade,),
        hours=None if hours is None else Decimal(hours),
        setup_hours=Decimal("0.5"),
        places=places,
        picture="",
        found="",
        done_on="2026-11-20",
        holds=True,
    )
    return store.tick_work(car, work, author=IDA)


def test_each_move_is_what_the_closed_form_says_of_the_hours_of_all_cars(store: Store) -> None:
    tick(store, "one", "weld_patch", "weld", "4.5")
    tick(store, "two", "weld_patch", "weld", "9", places=2)
    tick(store, "two", "weld_patch", "paint", None)
    found = learning(store)
    (one,) = found.moves
    (wanted,) = learn(prep_tables().jobs, [Taken("weld_patch", "weld", 4.5)] * 2).moved
    assert (one.id, one.count, one.trade_name) == ("weld_patch/weld", 2, prep_tables().trades["weld"].name)
    assert one.after == tuple(round(each, 2) for each in (wanted.after.low, wanted.after.likely, wanted.after.high))
    assert one.before == one.start == (wanted.before.low, wanted.before.likely, wanted.before.high)
    assert (one.weight, one.table_count, one.middle_hours) == (wanted.weight, wanted.table_count, wanted.middle_hours)
    # The hours that were noted hold what was found on opening; the range does not.
    assert one.taken_hours == pytest.approx(4.5)
    assert one.middle_hours < one.taken_hours
    assert (found.lines, found.settled, found.left) == (2, 0, ())


def test_what_cannot_be_counted_is_named_and_what_was_taken_back_is_gone(store: Store) -> None:
    tick(store, "one", "gone_job", "weld", "3")
    tick(store, "one", "weld_patch", "", "3")
    back = tick(store, "two", "weld_patch", "weld", "3")
    store.take_back_work("two", back.id, author=IDA)
    found = learning(store)
    assert (found.moves, found.lines) == ((), 0)
    assert found.left == (
        "one, gone_job@sill.near: no job 'gone_job' in the tables",
        "one, weld_patch@sill.near: hours of several trades together",
    )
    with pytest.raises(UserError) as refused:
        accept_moves(store, author=IDA)
    assert refused.value.problem.slug == "learning-refused"


def test_accepted_hours_stand_in_the_own_table_and_do_not_count_twice(store: Store, folder: Path) -> None:
    tick(store, "one", "weld_patch", "weld", "6")
    first = learning(store).moves[0]
    done = accept_moves(store, author=IDA, on=DAY)
    assert [one.id for one in done.moves] == ["weld_patch/weld"]
    weld = next(line for line in own_prep()[0].jobs["weld_patch"].labour if line.trade == "weld")
    assert ((weld.each.low, weld.each.likely, weld.each.high), weld.start) == (
        first.after,
        next(line for line in prep_tables().jobs["weld_patch"].labour if line.trade == "weld").each,
    )
    assert own_prep()[0].jobs["weld_patch"].source == f"hours taken, 1 task, 2026-11-26, accepted by {IDA}"
    assert (done.learning.moves, done.learning.settled) == ((), 1)
    # One task more: as if both had been accepted at once.
    tick(store, "two", "weld_patch", "weld", "5")
    (again,) = learning(store).moves
    (both,) = learn(prep_tables().jobs, [Taken("weld_patch", "weld", 6.0), Taken("weld_patch", "weld", 5.0)]).moved
    assert again.after == tuple(round(each, 2) for each in (both.after.low, both.after.likely, both.after.high))
    assert (again.before, again.start, again.count) == (first.after, first.start, 2)
    accept_moves(store, ["weld_patch"], author=BEN, on=DAY)
    text = (folder / "jobs.toml").read_text(encoding="utf-8")
    assert text.count("[[job]]") == 1
    assert f"hours taken, 2 tasks, 2026-11-26, accepted by {BEN}" in text
    assert IDA not in text
    assert len(look_at(folder / "jobs.toml").states) == 2


def test_who_accepted_what_is_known_and_hours_written_by_hand_are_nobodys(store: Store, folder: Path) -> None:
    tick(store, "one", "weld_patch", "weld", "6")
    (first,) = accept_moves(store, author=IDA, on=DAY).moves
    tick(store, "two", "weld_patch", "weld", "5")
    (second,) = accept_moves(store, author=BEN, on=DAY).moves
    found = learning(store).accepted
    assert [(one.id, one.author, one.on, one.before, one.after, one.holds) for one in found] == [
        (second.id, BEN, "2026-11-26", first.after, second.after, True),
        (first.id, IDA, "2026-11-26", first.before, first.after, False),
    ]
    path = folder / "jobs.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(f"each = {list(second.after)}", "each = [7.0, 8.0, 9.0]"), encoding="utf-8")
    found = learning(store).accepted
    assert [(one.author, one.after, one.holds) for one in found] == [
        (BEN, second.after, False),
        (IDA, first.after, False),
    ]
    # A state that is no table of jobs, kept since, stands in nobody's way.
    for odd in ('job = ["weld_patch", 3]', '[[job]]\nid = 3\nlabour = "much"', "job = 4", "job ="):
        keep(path, odd, author="")
        keep(path, text, author="")
    assert [(one.author, one.after) for one in learning(store).accepted] == [(BEN, second.after), (IDA, first.after)]
    # One that somebody brought from another machine is told as its row tells it.
    path.unlink()
    (folder / "former" / "jobs.toml").rename(folder / "elsewhere")
    path.write_text(text, encoding="utf-8")
    (one,) = learning(store).accepted
    assert (one.author, one.before, one.after, one.holds) == (BEN, second.start, second.after, True)


def test_rows_of_the_users_own_stay_letter_by_letter(store: Store, folder: Path) -> None:
    (folder / "jobs.toml").write_text(OWN, encoding="utf-8")
    tick(store, "one", "weld_patch", "weld", "6")
    tick(store, "one", "wash", "valet", "4", at="")
    shown = learning(store)
    assert [one.start for one in shown.moves if one.trade == "weld"] == [(1.0, 2.0, 4.0)]
    accept_moves(store, ["weld_patch/weld"], mark=shown.mark, author=IDA, on=DAY)
    text = (folder / "jobs.toml").read_text(encoding="utf-8")
    head, tail = OWN.split("labour = [", 1)[0], OWN.split("]\nmaterials", 1)[1]
    assert text.startswith(head)
    assert tail.split("\n\n", 1)[1] in text
    row = tomllib.loads(text)["job"][0]
    assert row["labour"][1] == {"trade": "paint", "each": [0.5, 1.0, 2.0], "setup": [0.1, 0.2, 0.3]}
    assert row["labour"][0]["before"] == [1.0, 2.0, 4.0]
    assert row["materials"] == [5, 9, 30]
    assert tomllib.loads(text)["job"][1] == tomllib.loads(OWN)["job"][1]


def test_a_table_that_changed_meanwhile_and_a_move_that_is_none_are_refused(store: Store, folder: Path) -> None:
    tick(store, "one", "weld_patch", "weld", "6")
    shown = learning(store)
    with pytest.raises(UserError) as refused:
        accept_moves(store, ["weld_patch/paint"], author=IDA)
    assert refused.value.problem.slug == "learning-refused"
    assert "weld_patch/weld" in refused.value.problem.allowed
    (folder / "jobs.toml").write_text(OWN, encoding="utf-8")
    with pytest.raises(ChangedMeanwhileError):
        accept_moves(store, mark=shown.mark, author=IDA)
    assert (folder / "jobs.toml").read_text(encoding="utf-8") == OWN


def test_a_row_that_hours_cannot_be_put_into_is_refused_and_nothing_is_written(store: Store, folder: Path) -> None:
    odd = '[[job]]\nid = "weld_patch"\n[[job.labour]]\ntrade = "weld"\neach = [1, 2, 3]\n'
    (folder / "jobs.toml").write_text(odd, encoding="utf-8")
    tick(store, "one", "weld_patch", "weld", "6")
    with pytest.raises(UserError) as refused:
        accept_moves(store, author=IDA)
    assert refused.value.problem.slug == "prep-table-refused"
    assert re.search("hours cannot be put into the row of weld_patch", refused.value.problem.found)
    assert (folder / "jobs.toml").read_text(encoding="utf-8") == odd


def test_the_command_shows_and_accepts_as_the_use_case_does(
    store: Store, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ("--store", str(store.folder), "--by", IDA)
    assert main(["learn", *where]) == 0
    assert "No hours that were taken are known" in capsys.readouterr().out
    tick(store, "one", "weld_patch", "weld", "6")
    tick(store, "one", "weld_patch", "", "3", at="sill.off")
    assert main(["learn", *where, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(msgspec.json.encode(learning(store)))
    assert main(["learn", *where]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "weld_patch/weld" in told
    assert "Not counted one, weld_patch@sill.off: hours of several trades together" in told
    assert main(["learn", "--accept", "weld_patch/trim", *where]) == 2
    assert not (folder / "jobs.toml").exists()
    assert main(["learn", "--accept-all", *where]) == 0
    assert "Written into" in capsys.readouterr().out
    assert main(["learn", *where]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "1 more stand where the hours want them." in told
    assert re.search(rf"Accepted before weld_patch/weld: .* hours became .*\. {IDA}, ", told)
