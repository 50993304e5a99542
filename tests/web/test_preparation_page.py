"""The page of preparation: the same record as the command line, decided about, refused, and its cards."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest
from markupsafe import escape
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_done import DoneAsked, tick_off

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/preparation"
START = "?start=2026-11-30"


@pytest.fixture
def asking(client: TestClient) -> TestClient:
    """The same browser, asking for JSON as the pages' scripts do."""
    client.headers["accept"] = "application/json"
    return client


def test_the_plan_is_shown_as_the_command_line_shows_it(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "it cannot be weighed what pays" in client.get(HERE).text
    kept = client.post(f"{HERE}/decide", json={"kind": "asking", "pence": 850_000})
    assert kept.status_code == 200
    assert kept.json()["changes"][-1]["author"] == "Ida Quill"
    shown = client.get(f"{HERE}.json{START}").json()
    capsys.readouterr()
    assert run(["prep", CAR, "--store", str(store.folder), "--start", "2026-11-30", "--json"]) == 0
    assert shown == json.loads(capsys.readouterr().out)
    page = client.get(f"{HERE}{START}").text
    assert all(f'data-id="{line["task"]["id"]}"' in page for line in shown["lines"])
    assert f'max="{len(shown["curve"]) - 1}"' in page
    for line in shown["lines"]:
        assert (
            line["task"]["findings"][0]["words"]
            in page.split(f'data-id="{line["task"]["id"]}"')[1].split("<details")[0]
        )
    (wished,) = {line["task"]["wished"] for line in shown["lines"]} - {""}
    assert f"The presenter wishes it: <q>{escape(wished)}</q>" in page
    assert "To be asked: £8,500" in page


def test_a_job_is_refused_and_taken_back_and_what_comes_too_late_is_told(asking: TestClient) -> None:
    asking.post(f"{HERE}/decide", json={"kind": "asking", "pence": 850_000})
    first = asking.get(f"{HERE}.json{START}").json()["lines"][0]["task"]["id"]
    body = {"kind": "refused", "about": first, "words": "<b>not here</b>"}
    assert asking.post(f"{HERE}/decide", json=body).status_code == 200
    (line,) = [one for one in asking.get(f"{HERE}.json{START}").json()["lines"] if one["task"]["id"] == first]
    assert (line["chosen"], line["left"], line["words"]) == (False, "refused", "<b>not here</b>")
    page = asking.get(f"{HERE}{START}", headers={"accept": "text/html"}).text
    assert "&lt;b&gt;not here&lt;/b&gt;" in page
    late = asking.post(f"{HERE}/decide", json={"kind": "refused", "about": first, "holds": False, "version": 7})
    assert late.status_code == 409
    assert late.json()["said"]["present"].endswith("<b>not here</b>")
    assert asking.post(f"{HERE}/decide", json={"kind": "refused", "about": first, "holds": False}).status_code == 200
    assert (
        asking.post(f"{HERE}/decide", json={"kind": "refused", "about": "x"}).json()["error"]["slug"] == "prep-refused"
    )
    for wrong in ("?budget=much", "?start=soon", "?budget=inf", "?sure=very", "?by=soon"):
        assert asking.get(f"{HERE}.json{wrong}").json()["error"]["slug"] == "web-asked"
    assert asking.get(f"{HERE}.json?budget=-1").json()["error"]["slug"] == "prep-refused"


def test_the_cards_are_a_pdf(client: TestClient) -> None:
    made = client.get(f"{HERE}/cards.pdf{START}")
    assert (made.status_code, made.headers["content-type"]) == (200, "application/pdf")
    assert made.content.startswith(b"%PDF-")


def test_what_is_done_is_shown_with_who_and_what_is_to_be_filmed(asking: TestClient, store: Store) -> None:
    there = asking.get(f"{HERE}/cards.json").json()["cards"]
    card = next(one for one in there if one["trade"] == "dent")
    (job,) = card["jobs"]
    tick_off(store, CAR, DoneAsked(job["task"], "dent", hours=Decimal("1.50"), found="<i>more</i>"), author="Ida Quill")
    page = asking.get(f"{HERE}{START}", headers={"accept": "text/html"}).text
    done = page.split('id="done-heading"')[1].split("</section>")[0]
    assert "Dent removal: 1.5 hours, Ida Quill" in done
    assert "Found besides: &lt;i&gt;more&lt;/i&gt;" in done
    assert "To be filmed again: nearside front wing" in done
    assert f'href="{HERE}/cards"' in page


def test_how_sure_and_by_when_are_asked_for_shown_and_kept(
    asking: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    asking.post(f"{HERE}/decide", json={"kind": "asking", "pence": 6_000_000})
    query = "?start=2026-11-30&sure=90&by=2027-01-29&budget=3000"
    shown = asking.get(f"{HERE}.json{query}").json()
    assert (shown["sure"], shown["by"], shown["sure_money"] > shown["money"]) == (90, "2027-01-29", True)
    capsys.readouterr()
    here = ["prep", CAR, "--store", str(store.folder), "--start", "2026-11-30", "--json"]
    assert run([*here, "--sure", "90", "--film-by", "2027-01-29", "--budget", "3000"]) == 0
    assert shown == json.loads(capsys.readouterr().out)
    page = asking.get(f"{HERE}{query}", headers={"accept": "text/html"}).text
    assert f"£{shown['sure_money'] / 100:,.0f} is enough in 90 of a hundred" in page
    assert "that no other set gains more is not proven" in page
    assert "Each set can be done so that it can be filmed by 29 January 2027" in page
    assert '<option value="90" selected>' in page
    assert 'name="by" type="date" value="2027-01-29"' in page
    kept = asking.post(f"{HERE}/decide", json={"kind": "budget", "pence": 300_000, "words": "90"})
    assert (kept.status_code, kept.json()["words"]) == (200, "90")
    page = asking.get(f"{HERE}{START}", headers={"accept": "text/html"}).text
    assert "May be spent: £3,000, to be kept to in 90 of a hundred" in page
    late = asking.post(f"{HERE}/decide", json={"kind": "budget", "pence": 1, "version": 9})
    assert (late.status_code, late.json()["said"]["present"]) == (409, "budget kept to in 90 of a hundred £3,000.00")
    wrong = asking.post(f"{HERE}/decide", json={"kind": "budget", "pence": 1, "words": "20"})
    assert wrong.json()["error"]["slug"] == "prep-refused"
    assert asking.get(f"{HERE}.json?sure=20").json()["error"]["slug"] == "prep-refused"


def test_a_wrong_row_of_the_houses_own_is_told_with_what_to_mend(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path))
    (tmp_path / "trades.toml").write_text('[[trade]]\nid = "paint"\nrate = [9, 8, 7]\n', encoding="utf-8")
    told = client.get(HERE)
    assert told.status_code == 400
    for words in ("trades.toml, line 3", "Mend the line that is named."):
        assert words in told.text
    (tmp_path / "trades.toml").unlink()
    assert client.get(HERE).status_code == 200
