"""What was learnt of hours in the workbench: shown as the command says it, accepted by name, refused when late."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.own_prep import PREP_VARIABLE, own_prep
from shutline.usecases.prep_learning import accept_moves, learning

IDA, BEN = "Ida Quill", "Ben <b>Marl"
JSON = {"accept": "application/json"}


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("empty") / "store"
    with Store.open(folder) as opened:
        opened.create_car("one")
    return folder


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    there = tmp_path / "prep"
    there.mkdir()
    monkeypatch.setenv(PREP_VARIABLE, str(there))
    return there


@pytest.fixture
def store(folder: Path, empty: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(empty, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def test_the_twin_is_what_the_command_prints(
    client: TestClient, store: Store, tick_hours: Callable[..., None], capsys: pytest.CaptureFixture[str]
) -> None:
    assert "No hours that can be counted are known yet" in client.get("/learning").text
    tick_hours(store, "weld_patch", "weld", "6")
    tick_hours(store, "weld_patch", "", "3", at="sill.off")
    accept_moves(store, author=BEN)
    tick_hours(store, "weld_patch", "weld", "9", at="floor")
    assert run(["learn", "--json", "--store", str(store.folder)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert client.get("/learning.json").json() == told
    assert [one["author"] for one in told["accepted"]] == [BEN]
    page = client.get("/learning").text
    (move,) = told["moves"]
    for words in (
        "1 range of hours would move",
        *(f"usually {move[name][1]:.2f}, from {move[name][0]:.2f} to" for name in ("start", "before", "after")),
        f"2 tasks were done, in the middle in {move['taken_hours']:.2f} hours",
        f"weigh {100 * move['weight']:.0f} in a hundred; the table counts as {move['table_count']:.1f} tasks",
        "one, weld_patch@sill.off: hours of several trades together",
        "Ben &lt;b&gt;Marl",
    ):
        assert words in page


def test_one_of_several_is_accepted_by_name_and_the_other_waits(
    client: TestClient, store: Store, tick_hours: Callable[..., None]
) -> None:
    tick_hours(store, "weld_patch", "weld", "6")
    tick_hours(store, "weld_patch", "paint", "4")
    shown = learning(store)
    sent = {"moves": ["weld_patch/weld"], "expected": shown.mark}
    done = client.post("/learning/accept", json=sent, headers=JSON).json()
    assert [one["id"] for one in done["moves"]] == ["weld_patch/weld"]
    assert [one["id"] for one in done["learning"]["moves"]] == ["weld_patch/paint"]
    (before,) = done["learning"]["accepted"]
    wanted = next(one for one in shown.moves if one.trade == "weld")
    assert (before["author"], before["holds"]) == (IDA, True)
    assert (tuple(before["before"]), tuple(before["after"])) == (wanted.before, wanted.after)
    weld = next(line for line in own_prep()[0].jobs["weld_patch"].labour if line.trade == "weld")
    assert (weld.each.low, weld.each.likely, weld.each.high) == wanted.after


def test_what_came_too_late_is_refused_and_nothing_written(
    client: TestClient, store: Store, tick_hours: Callable[..., None], folder: Path
) -> None:
    tick_hours(store, "weld_patch", "weld", "6")
    sent = {"moves": ["weld_patch/weld"], "expected": learning(store).mark}
    # More hours: the range would become another one than was shown.
    tick_hours(store, "weld_patch", "weld", "9", at="floor")
    late = client.post("/learning/accept", json=sent, headers=JSON)
    assert (late.status_code, late.json()["error"]["slug"]) == (409, "stale-settings")
    assert not (folder / "jobs.toml").exists()
    sent["expected"] = learning(store).mark
    own = '[[job]]\nid = "wash"\nsupplier = "Merrowby Suds"\n'
    (folder / "jobs.toml").write_text(own, encoding="utf-8")
    late = client.post("/learning/accept", json=sent, headers=JSON)
    assert (late.status_code, late.json()["error"]["slug"]) == (409, "stale-settings")
    assert (folder / "jobs.toml").read_text(encoding="utf-8") == own


@pytest.mark.parametrize(("moves", "slug"), [([], "web-sent"), (["weld_patch/trim"], "learning-refused")])
def test_none_and_one_that_is_not_there_are_refused(
    moves: list[str], slug: str, client: TestClient, store: Store, tick_hours: Callable[..., None]
) -> None:
    tick_hours(store, "weld_patch", "weld", "6")
    sent = {"moves": moves, "expected": learning(store).mark}
    refused = client.post("/learning/accept", json=sent, headers=JSON)
    assert (refused.status_code, refused.json()["error"]["slug"]) == (400, slug)
    assert learning(store).accepted == ()


def test_the_page_is_led_to_from_what_is_done_and_from_the_settings(
    client: TestClient, store: Store, tick_hours: Callable[..., None]
) -> None:
    assert 'href="/learning"' not in client.get("/cars/one/preparation").text
    tick_hours(store, "weld_patch", "weld", "6")
    for address in ("/cars/one/preparation", "/settings"):
        assert 'href="/learning"' in client.get(address).text
