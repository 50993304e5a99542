"""Tasks and cost of a real car file, by use case and by command; a house's own tables count, wrong ones are refused."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Drive
from shutline.cli import main
from shutline.prep.tables import prep_tables
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.look import find_car
from shutline.usecases.own_prep import PREP_VARIABLE, own_prep
from shutline.usecases.prep import PrepShown, prep
from shutline.usecases.review import confirm, strike

CAR = "ostrel-pavane"
WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
There's a bubble of rust on the bottom of the nearside front wing, that wants welding.

00:00:07.000 --> 00:00:12.000
The nearside sill has a hole in it, about the size of a penny.

00:00:14.000 --> 00:00:18.000
The bonnet is a bit faded, that wants a polish.

00:00:26.000 --> 00:00:30.000
The brakes at the rear are worn. The exhaust is fine.
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store that has the car; each test has a copy of it."""
    folder = tmp_path_factory.mktemp("made")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car=CAR, title="Ostrel Pavane", by="Ida")
    return folder / "store"


@pytest.fixture
def store(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def own(tmp_path: Path, name: str, text: bytes) -> None:
    (tmp_path / "prep").mkdir(exist_ok=True)
    (tmp_path / "prep" / name).write_bytes(text)


def ids(found: PrepShown) -> list[str]:
    return [task.id for task in found.tasks]


def test_what_was_heard_makes_tasks_musts_first_with_places_words_and_pence(store: Store) -> None:
    found = prep(store, "ostrel")
    first, second = found.tasks[:2]
    assert (first.place, second.place) == ("nearside sill", "rear brakes")
    assert first.must.startswith("roadworthiness: ")
    assert second.must.startswith("safety: ")
    assert all(task.heard_only for task in found.tasks)
    assert not any("exhaust" in task.place for task in found.tasks)
    bonnet = next(task for task in found.tasks if task.place == "bonnet")
    assert "faded" in bonnet.wished
    assert bonnet.findings[0].words.endswith("to polish")
    assert found.total.p05 < found.total.p50 < found.total.p95
    assert found.total.mean == pytest.approx(sum(task.cost.mean for task in found.tasks), abs=len(found.tasks))
    assert found.with_vat.mean == pytest.approx(found.total.mean + found.vat.mean, abs=2)
    weld = next(task for task in found.tasks if task.id.startswith("weld_patch"))
    assert any(words.startswith("Hot work near fuel and trim: ") for words in weld.cautions)
    assert prep(store, CAR) == found


def test_what_stands_is_no_longer_heard_only_and_what_is_struck_costs_nothing(store: Store) -> None:
    before = prep(store, CAR)
    file = find_car(store, CAR)
    sill = [one.id for one in file.findings if one.finding.part == "sill"]
    brakes = [one.id for one in file.findings if one.finding.part == "brakes"]
    confirm(store, CAR, sill, author="Ida")
    strike(store, CAR, brakes, author="Ida")
    after = prep(store, CAR)
    assert [task.heard_only for task in after.tasks if task.place == "nearside sill"] == [False]
    assert not any(task.place == "rear brakes" for task in after.tasks)
    assert after.total.mean < before.total.mean


def test_with_an_asking_price_leaving_it_counts(store: Store) -> None:
    without, priced = prep(store, CAR), prep(store, CAR, asking_pence=850_000)
    leave = "leave it and tell it"
    assert not any(leave in words for look in without.looks for words in look.changes)
    assert any(leave in words for look in priced.looks for words in look.changes)
    assert [look.value for look in priced.looks] == sorted((look.value for look in priced.looks), reverse=True)
    for look in priced.looks:
        assert bool(look.changes) or look.value == 0
    with pytest.raises(UserError, match="more than nought"):
        prep(store, CAR, asking_pence=0)


def test_own_rates_and_worths_count(store: Store, tmp_path: Path) -> None:
    before = prep(store, CAR)
    own(tmp_path, "trades.toml", b'[[trade]]\nid = "weld"\nrate = [100, 100, 100]\nsource = "ours"\n')
    own(tmp_path, "jobs.toml", b'left_out = ["panel_polish"]\n')
    after = prep(store, CAR)
    assert after.total.mean > before.total.mean
    assert "panel_polish@bonnet" in ids(before)
    assert "panel_polish@bonnet" not in ids(after)
    assert own_prep(tmp_path / "none")[0] is prep_tables()
    own(tmp_path, "worth.toml", b'[[worth]]\nid = "by_us"\npounds = [1, 1, 1]\nsource = "ours"\n')
    assert [row.id for row in own_prep()[1]][-1] == "by_us"


@pytest.mark.parametrize(
    ("name", "text", "where"),
    [
        ("trades.toml", b'[[trade]]\nid = "weld"\nrate = [3, 2, 1]\n', "trades.toml, line 3"),
        ("jobs.toml", b"# ok\n\xff\n", "jobs.toml, line 2"),
        ("worth.toml", b'[[worth]]\nid = "x"\nbaker = 1\n', "worth.toml, line 3"),
        ("rates.toml", b"", "rates.toml"),
    ],
)
def test_a_wrong_table_is_refused_with_file_and_line(
    store: Store, tmp_path: Path, name: str, text: bytes, where: str
) -> None:
    own(tmp_path, name, text)
    with pytest.raises(UserError) as refused:
        prep(store, CAR)
    assert refused.value.problem.slug == "prep-table-refused"
    assert f"{tmp_path / 'prep'}/{where}" in str(refused.value)


def test_the_command_tells_the_same_as_the_use_case(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = str(tmp_path / "store")
    assert main(["prep", "ostrel", "--asking", "8500", "--store", folder, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == json.loads(msgspec.json.encode(prep(store, CAR, asking_pence=850_000)))
    assert main(["prep", "ostrel", "--asking", "8500", "--store", folder]) == 0
    words = capsys.readouterr().out
    assert "must: safety: brakes have to stop the car" in words
    assert "Without tax: £" in words
    assert "Looks, the most worth first" in words
    assert main(["prep", "ostrel", "--asking", "-1", "--store", folder]) == 2
    assert main(["prep", "nobody", "--store", folder]) == 2


def test_a_car_that_nobody_spoke_of_has_nothing_to_do(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store.create_car("bare", title="Bare", drive=Drive.RHD, author="Ida")
    found = prep(store, "bare")
    assert (found.tasks, found.looks, found.total.mean) == ((), (), 0)
    assert main(["prep", "bare", "--store", str(tmp_path / "store")]) == 0
    assert capsys.readouterr().out == "Nothing to put right was found.\n"
    with pytest.raises(NotFoundError):
        prep(store, "nobody")
