"""For the buyer: links that are open to whoever has them and end when told, private words, sealed files."""

from __future__ import annotations

import io
import time
import zipfile
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from shutline.car.findings import State
from shutline.car.going_out import Occasion
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.review import confirm, strike
from shutline.usecases.sealing import seal
from shutline.web import shared_page

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/buyer"


@pytest.fixture(autouse=True)
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "settings").mkdir()
    # What the program finds by itself has tests of its own.
    (tmp_path / "settings/masks.toml").write_text('covers = "stands"\n', encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings/settings.toml"))


def all_confirmed(store: Store) -> None:
    confirm(store, CAR, [one.id for one in store.car_file(CAR).findings], author="Ida Quill")


def settled(client: TestClient) -> dict:
    """Wait until what is being made is there."""
    ends = time.monotonic() + 120
    while time.monotonic() < ends:
        now = client.get(f"{AT}.json").json()
        if now["under_way"] is None or now["under_way"]["ended"]:
            assert not (now["under_way"] or {}).get("problem"), now["under_way"]
            return now
        time.sleep(0.1)
    raise AssertionError("it was never made")


def link_of(client: TestClient) -> str:
    assert client.post(f"{AT}/share", json={}).status_code == 200
    return str(settled(client)["shares"]["links"][0]["path"])


def test_facts_that_nobody_has_confirmed_are_counted_before_anything_goes_out(
    client: TestClient, bench: object, store: Store, tmp_path: Path
) -> None:
    all_confirmed(store)
    heard = [one.id for one in store.car_file(CAR).facts if one.fact.state is State.HEARD]
    assert len(heard) > 1
    assert client.get(f"{AT}.json").json()["waiting_facts"] == len(heard)
    told = f"{len(heard)} facts about the car were heard and not looked at: they go out as heard and not confirmed."
    assert told in client.get(AT).text
    sealed = seal(store, CAR, occasion=Occasion.OFFERED, out=tmp_path / "out", author="Ida Quill")
    assert [one.found for one in sealed.problems if one.slug == "seal-heard"] == [
        f"{len(heard)} facts were heard, and nobody has decided whether so"
    ]
    confirm(store, CAR, heard, author="Ida Quill")
    assert "heard and not looked at" not in client.get(AT).text


def test_a_link_is_open_without_a_login_and_shows_nothing_but_the_page(
    client: TestClient, bench: object, store: Store
) -> None:
    all_confirmed(store)
    path = link_of(client)
    stranger = TestClient(client.app, base_url=str(client.base_url), follow_redirects=False)
    page = stranger.get(path)
    assert page.status_code == 200
    assert "Ostrel Pavane" in page.text
    assert "set-cookie" not in page.headers
    policy = page.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert page.headers["referrer-policy"] == "no-referrer"
    assert "noindex" in page.headers["x-robots-tag"]
    assert page.headers["cache-control"] == "no-store"
    film = stranger.get(f"{path}film/film-1.mp4", headers={"range": "bytes=0-99"})
    assert (film.status_code, len(film.content), film.headers["content-type"]) == (206, 100, "video/mp4")
    paper = stranger.get(f"{path}report.pdf")
    assert (paper.headers["content-type"], paper.content[:4]) == ("application/pdf", b"%PDF")
    assert "default-src" not in paper.headers["content-security-policy"]
    assert stranger.get(path.rstrip("/")).headers["location"].endswith(path)
    # What the link opens is that page and no more.
    for other in ("/yard", f"/cars/{CAR}", f"{AT}.json", f"/originals/{'0' * 64}"):
        assert stranger.get(other).status_code == 401, other
    for wrong in ("made.json", "%2e%2e/made.json", "..%2f..%2fshutline.sqlite", "index.html/x", "%00"):
        assert stranger.get(f"{path}{wrong}").status_code in {404, 401}, wrong
    assert stranger.post(path, data={"a": "b"}).status_code == 405
    assert stranger.delete(path).status_code in {403, 405}


def test_an_ended_link_and_one_that_never_was_are_answered_alike(client: TestClient, store: Store) -> None:
    all_confirmed(store)
    path = link_of(client)
    token = path.split("/")[2]
    assert client.get(path).status_code == 200
    assert client.post(f"{AT}/end", json={"token": token}).status_code == 200
    ended, never = client.get(path), client.get(f"/shared/{'x' * 32}/")
    assert (ended.status_code, ended.text) == (never.status_code, never.text) == (404, never.text)
    assert client.get(f"{path}film/film-1.mp4").status_code == 404


def test_a_page_of_an_older_state_is_shown_to_nobody_and_is_made_anew(
    client: TestClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shared_page, "_FRESH_S", -1.0)
    all_confirmed(store)
    path = link_of(client)
    rust = next(one.id for one in store.car_file(CAR).findings if one.finding.condition == "rust")
    strike(store, CAR, [rust], author="Ida Quill")
    waiting = client.get(path)
    assert waiting.status_code == 503
    assert "brought up to date" in waiting.text
    settled(client)
    page = client.get(path)
    assert page.status_code == 200
    assert "rust" not in page.text.split("<details")[0].lower()


def test_too_many_requests_are_refused_by_address(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shared_page, "MOST_WRONG", 3)
    codes = [client.get(f"/shared/{'y' * 32}/").status_code for _ in range(5)]
    assert codes == [404, 404, 404, 429, 429]


def test_the_gate_counts_by_address_forgets_after_a_while_and_does_not_grow() -> None:
    now = [0.0]
    gate = shared_page.Gate(clock=lambda: now[0])
    assert all(gate.lets_in("a") for _ in range(shared_page.MOST_ASKED))
    assert not gate.lets_in("a")
    assert gate.lets_in("b")
    now[0] += shared_page.WITHIN_S + 1
    assert gate.lets_in("a")
    for number in range(5_000):
        gate.lets_in(f"{number}")
    assert len(gate._known) <= shared_page._MOST_KNOWN


def test_private_words_are_kept_and_taken_back_by_plain_forms(client: TestClient, store: Store) -> None:
    proof = client.headers.pop("shutline-proof")
    form = {"shutline-proof": proof, "words": "Augusta Harbottle", "kind": "keeper"}
    sent = client.post(f"{AT}/private", data=form)
    assert (sent.status_code, sent.headers["location"]) == (303, f"{AT}?done=private")
    (kept,) = client.get(f"{AT}.json").json()["private"]["words"]
    assert (kept["words"], kept["author"]) == ("Augusta Harbottle", "Ida Quill")
    assert "Augusta Harbottle" in client.get(AT).text
    client.post(f"{AT}/take-back", data={"shutline-proof": proof, "number": str(kept["id"])})
    assert client.get(f"{AT}.json").json()["private"]["words"][0]["ended_by"] == "Ida Quill"
    refused = client.post(f"{AT}/private", data={"shutline-proof": proof, "words": " ", "kind": "keeper"})
    assert refused.status_code == 400
    assert client.post(f"{AT}/private", data={"words": "x"}).status_code == 403


def test_what_is_sealed_is_handed_out_and_verifies(
    client: TestClient, store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    all_confirmed(store)
    assert client.post(f"{AT}/seal", json={"occasion": "sold", "edition": "buyer"}).status_code == 200
    (sealed,) = settled(client)["sealed"]["sealed"]
    handed = client.get(f"{AT}/sealed/{sealed['number']}.zip")
    assert handed.headers["content-type"] == "application/zip"
    (tmp_path / "got.zip").write_bytes(handed.content)
    assert main(["verify", str(tmp_path / "got.zip")]) == 0
    assert sealed["number"] in capsys.readouterr().out
    assert client.get(f"{AT}/sealed/{sealed['number']}.pdf").content.startswith(b"%PDF")
    assert client.get(f"{AT}/sealed/{'0' * 64}.zip").status_code == 404
    page = client.get(f"{AT}/page.zip")
    with zipfile.ZipFile(io.BytesIO(page.content)) as packed:
        assert "buyers-page/index.html" in packed.namelist()


def test_what_is_shown_is_what_the_command_line_prints(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    import json

    all_confirmed(store)
    client.post(f"{AT}/private", json={"words": "Augusta Harbottle", "kind": "keeper"})
    link_of(client)
    shown = client.get(f"{AT}.json").json()
    where = ["--store", str(store.folder), "--json"]
    for words, key in (
        (["share", CAR, "--kept"], "shares"),
        (["private", CAR], "private"),
        (["seal", CAR, "--kept"], "sealed"),
    ):
        assert main([*words, *where]) == 0
        assert json.loads(capsys.readouterr().out) == shown[key]
