"""The page of preparation: the same record as the command line, decided about, refused, and its cards."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from markupsafe import escape
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store
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
    for wrong in ("?budget=much", "?start=soon", "?budget=inf"):
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
