"""What changed between two recordings of one car, by use case and command, and the statement to sign."""

from __future__ import annotations

import io
import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from shutline.car.errors import UserError
from shutline.cli import main
from shutline.prep.tasks import tasks_of
from shutline.publish.changed.model import MOST_ON_PAGE
from shutline.store import Store
from shutline.survey.changed import Because, Outcome
from shutline.survey.changed import changed as compare
from shutline.usecases.add import add
from shutline.usecases.changed import WORK, changed, changed_choice, changed_statement, looked_over
from shutline.usecases.look import find_car
from shutline.usecases.prep_done import DoneAsked, tick_off

CAR = "ostrel-pavane"
MADE_AT = datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC)

ARRIVAL = """WEBVTT

00:00:00.500 --> 00:00:01.500
There's a dent in the nearside front wing.

00:00:01.500 --> 00:00:02.500
The heater doesn't work. There's a scratch on the boot lid.
"""
HANDOVER = """WEBVTT

00:00:00.500 --> 00:00:01.500
There are no dents in the nearside front wing.

00:00:01.500 --> 00:00:02.500
The heater works. There's a chip in the bonnet.
"""


@pytest.fixture(scope="module")
def made(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("changed")
    with Store.open(folder / "store") as opened:
        for name, words in (("arrival", ARRIVAL), ("handover", HANDOVER)):
            (folder / f"{name}.vtt").write_text(words, encoding="utf-8")
            frames = 30 if name == "arrival" else 34
            film = make_film(f"{name}.mp4", frames=frames, rate=10, sound=None, gop=10)
            add(opened, [film], car=CAR, title="Ostrel Pavane", transcript=folder / f"{name}.vtt", by="Ida")
    return folder / "store"


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def test_a_dent_that_was_denied_is_gone_and_what_was_not_looked_at_is_unclear(store: Store) -> None:
    shown = changed(store, "ostrel", first="arrival.mp4", second="2")
    by_part = {(one.finding.part, one.finding.condition): one.outcome for one in shown.found}
    assert by_part["front_wing", "dent"] is Outcome.GONE
    assert by_part["heater", "works"] is Outcome.GONE
    assert by_part["boot_lid", "scratch"] is Outcome.UNCLEAR
    assert by_part["bonnet", "chip"] is Outcome.UNCLEAR
    assert shown.counts["gone"] == 2
    assert sum(shown.counts.values()) == len(shown.found)


@pytest.mark.parametrize(("first", "second"), [("1", "1"), ("1", "3"), ("arrival.mp4", "nothing.mp4"), ("", "2")])
def test_two_recordings_of_the_car_are_wanted(store: Store, first: str, second: str) -> None:
    with pytest.raises(UserError) as refused:
        changed(store, CAR, first=first, second=second)
    assert refused.value.problem.slug == "changed-recordings"
    assert "1 (arrival.mp4), 2 (handover.mp4)" in refused.value.problem.allowed


def test_a_number_that_is_not_there_is_never_the_beginning_of_an_id(store: Store) -> None:
    for figure in "3456789":
        with pytest.raises(UserError):
            changed(store, CAR, first="1", second=figure)
    whole = store.car_file(CAR).recordings[1].id
    assert changed(store, CAR, first="1", second=whole[:10]).counts == changed(store, CAR, first="1", second="2").counts


def test_without_a_choice_the_first_and_the_last_are_compared(store: Store) -> None:
    choice = changed_choice(store, CAR)
    assert [one.name for one in choice.times] == ["arrival.mp4", "handover.mp4"]
    assert choice.shown is not None
    assert choice.shown == changed(store, CAR, first="1", second="2")
    dent = next(pair for pair in choice.shown.pairs if pair.place == "Nearside front wing")
    assert dent.first is not None
    assert dent.second is not None
    assert (dent.first.words, dent.second.words) == ("dent", "no dent")
    assert [look.recording for side in (dent.first, dent.second) for look in side.looks] == [1, 2]


def test_all_that_was_made_on_one_day_is_one_occasion(store: Store) -> None:
    car = find_car(store, CAR)
    days = ("2026-03-01T10:00:00Z", "2026-03-01T15:00:00Z", "2026-03-22T09:00:00Z")
    recordings = tuple(
        replace(one, id=f"{number}{one.id}", probe=replace(one.probe, recorded_at=day))
        for number, (one, day) in enumerate(zip((*car.recordings, car.recordings[0]), days, strict=True))
    )
    times = looked_over(replace(car, recordings=recordings))
    assert (times[0].id, len(times[0].recordings)) == ("2026-03-01", 2)
    assert len(times) == 4


def test_the_first_page_is_the_one_to_sign_and_the_stills_stand_side_by_side(store: Store, tmp_path: Path) -> None:
    made = changed_statement(store, CAR, first="1", second="2", out=tmp_path / "out", made_at=MADE_AT)
    data = Path(made.path).read_bytes()
    pages = PdfReader(io.BytesIO(data)).pages
    first = " ".join(pages[0].extract_text().split())
    assert "not a roadworthiness test" in first
    assert first.count("Signature") == 2
    assert "Nearside front wing Dent No dent" in first
    assert "Unclear: boot lid and bonnet" in first
    rest = [image for page in pages[1:] for image in page.images]
    assert not pages[0].images
    assert len(rest) >= 4
    again = changed_statement(store, CAR, first="1", second="2", out=tmp_path / "again", made_at=MADE_AT)
    assert Path(again.path).read_bytes() == data


def test_however_much_has_changed_the_page_to_sign_is_one_page(store: Store) -> None:
    from shutline.publish.changed import build_changed, changed_pdf
    from shutline.publish.report import House

    car = replace(find_car(store, CAR), title="W" * 200)
    shown = changed(store, CAR, first="1", second="2")
    many = tuple(one for one in shown.found if one.outcome is Outcome.GONE) * 20
    model = build_changed(
        car,
        many,
        first=[car.recordings[0]],
        second=[car.recordings[1]],
        stills={},
        made_at=MADE_AT.isoformat(),
        house=House("H" * 120, ("L" * 120,) * 7),
    )
    assert len(model.on_page) == MOST_ON_PAGE
    assert model.more == len(many) - MOST_ON_PAGE
    text = [page.extract_text() for page in PdfReader(io.BytesIO(changed_pdf(model))).pages]
    assert text[0].count("Signature") == 2
    assert "Schedule" in text[1]
    assert f"and {model.more} more" in text[0]


def test_the_command_tells_the_same_in_words_and_in_json(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = ["changed", CAR, "--from", "1", "--to", "2", "--store", str(store.folder)]
    assert main([*given, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["counts"]["gone"] == 2
    assert main(given) == 0
    assert "gone     nearside front wing: dent (0:00) → no dent (0:00)" in capsys.readouterr().out
    assert main([*given, "--statement", "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "out" / "changed.pdf").is_file()
    capsys.readouterr()
    assert main(["changed", CAR, "--json", "--store", str(store.folder)]) == 0
    assert json.loads(capsys.readouterr().out)["shown"] == told
    assert main(["changed", CAR, "--from", "1", "--to", "1", "--store", str(store.folder)]) == 2


@pytest.fixture
def worked_on(store: Store, tmp_path: Path) -> Store:
    """The scratch of the boot lid is touched in, with a picture after it, and the dent knocked out without one."""
    Image.new("RGB", (320, 240), (40, 90, 60)).save(tmp_path / "after.jpg")
    add(store, [tmp_path / "after.jpg"], car=CAR, by="Ida")
    (picture,) = store.car_file(CAR).pictures
    tasks = {task.id for task in tasks_of(store.car_file(CAR).findings).tasks}
    touched_in = next(id_ for id_ in tasks if id_.endswith("@boot_lid"))
    dent = next(id_ for id_ in tasks if id_.endswith("@front_wing.near"))
    for task, shown in ((touched_in, picture.id), (dent, "")):
        tick_off(store, CAR, DoneAsked(task, picture=shown, on=date(2026, 3, 3)), author="Ida")
    return store


def test_before_the_work_and_after_it_stand_side_by_side_and_only_what_was_worked_on(
    worked_on: Store, tmp_path: Path
) -> None:
    found = changed(worked_on, CAR, first="1", second=WORK)
    assert found.counts == {**dict.fromkeys(found.counts, 0), "gone": 2}
    told = {pair.place: (pair.first.words, pair.second.words, pair.because) for pair in found.pairs}
    assert told["Boot lid"][:2] == ("scratch", "put right")
    assert "repainted since" in told["Boot lid"][2]
    assert "2026-03-03" in told["Boot lid"][2]
    assert "repaired since" in told["Nearside front wing"][2]
    made = changed_statement(worked_on, CAR, first="1", second=WORK, out=tmp_path / "out", made_at=MADE_AT)
    pages = PdfReader(io.BytesIO(Path(made.path).read_bytes())).pages
    first = " ".join(pages[0].extract_text().split())
    assert "the work that was ticked off, last for 3 March 2026" in first
    # The stills before it, and the picture after it.
    assert sum(len(page.images) for page in pages) == 3
    for wrong in ((WORK, "1"), (WORK, WORK)):
        with pytest.raises(UserError) as refused:
            changed(worked_on, CAR, first=wrong[0], second=wrong[1])
        assert refused.value.problem.slug == "changed-recordings"


def test_what_a_later_film_says_counts_for_more_than_the_tick(worked_on: Store) -> None:
    file = find_car(worked_on, CAR)
    later = replace(file.recordings[1], probe=replace(file.recordings[1].probe, recorded_at="2026-03-04T09:00:00Z"))
    car = replace(file, recordings=(file.recordings[0], later))
    (before, after, work) = looked_over(car)
    assert (after.at[:10], work.id, work.at) == ("2026-03-04", WORK, "2026-03-03")
    found = compare(car, first=before.sources, second=after.sources, done={one.id for one in car.put_right()})
    told = {(one.finding.part, one.because) for one in found if one.outcome is Outcome.GONE}
    assert told == {
        ("front_wing", Because.DENIED),
        ("heater", Because.ANSWERED),
        ("boot_lid", Because.PUT_RIGHT),
    }


def test_with_one_film_and_work_done_the_two_are_compared(worked_on: Store) -> None:
    file = find_car(worked_on, CAR)
    assert changed_choice(worked_on, CAR).shown is not None
    alone = replace(file, recordings=file.recordings[:1])
    assert [one.id for one in looked_over(alone)] == [file.recordings[0].id, WORK]
