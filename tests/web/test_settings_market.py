"""The market in the settings: entries over those shipped, auctions and an index, kept with a way back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.usecases.market_settings import firm_market

JSON = {"accept": "application/json"}


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


def test_entries_auctions_and_an_index_are_kept_and_brought_back(client: TestClient) -> None:
    def sent(where: str, **fields: str) -> dict[str, object]:
        mark = client.get("/settings.json").json()["market"]["mark"]
        answer = client.post(f"/settings/market{where}", json={"expected": mark, **fields}, headers=JSON)
        assert answer.status_code == 200, answer.text
        kept: dict[str, object] = answer.json()
        return kept

    first = sent("", **{"money.interest": "9.5", "money.fees": "1, 2, 3", "money.space": ""})
    assert firm_market().own == {"money.interest": 9.5, "money.fees": (1.0, 2.0, 3.0)}
    sent("/premium", name="Dock <b>Street", tiers="0:10, 1000:5:20", vat="20", cap="1500", counts="yes")
    sent("/index", rows='day,level,source\n2026-01-01,100,"our ""own"", sold"\n')
    firm = firm_market()
    assert (list(firm.premiums), firm.premiums["Dock <b>Street"].cap) == (["Dock <b>Street"], 1500)
    assert firm.rows[0].source == 'our "own", sold'
    page = client.get("/settings").text
    assert "Dock &lt;b&gt;Street" in page
    assert "2026-01-01,100,&#34;our &#34;&#34;own&#34;&#34;, sold&#34;" in page
    sent("/premium", name="Dock <b>Street", away="yes")
    sent("/index", rows="")
    assert (firm_market().premiums, firm_market().rows) == ({}, ())
    states = client.get("/settings.json").json()["market"]["states"]
    state = next(one["id"] for one in states if one["mark"] == first["mark"])
    assert "money.interest" in client.get(f"/settings?open=market.former&state={state}").text
    sent("", **{"money.interest": "", "money.fees": ""})
    assert firm_market().own == {}
    sent("/back", state=state)
    assert firm_market().own == {"money.interest": 9.5, "money.fees": (1.0, 2.0, 3.0)}


@pytest.mark.parametrize(
    ("where", "fields"),
    [
        ("", {"money.interest": "much"}),
        ("", {"money.fees": "3, 2, 1"}),
        ("/premium", {"name": "", "tiers": "0:10"}),
        ("/premium", {"name": "Dock Street", "tiers": ""}),
        ("/premium", {"name": "Dock Street", "tiers": "5:x"}),
        ("/index", {"rows": "day,level\n"}),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_kept(where: str, fields: dict[str, str], client: TestClient) -> None:
    mark = client.get("/settings.json").json()["market"]["mark"]
    refused = client.post(f"/settings/market{where}", json={"expected": mark, **fields}, headers=JSON)
    assert (refused.status_code, refused.json()["error"]["slug"]) == (400, "market-settings")
    assert client.get("/settings.json").json()["market"]["states"] == []


def test_a_change_to_another_state_is_refused(client: TestClient) -> None:
    mark = client.get("/settings.json").json()["market"]["mark"]
    sent = {"expected": mark, "money.interest": "9"}
    assert client.post("/settings/market", json=sent, headers=JSON).status_code == 200
    assert client.post("/settings/market", json=sent, headers=JSON).status_code == 409


def test_the_command_line_tells_the_same(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["market-settings", "--set", "money.interest=9.5", "--premium", "Dock Street", "--tier", "0:10"]) == 0
    capsys.readouterr()
    assert main(["settings", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["market"]
    assert client.get("/settings.json").json()["market"] == told
    assert main(["settings"]) == 0
    assert "1 of the entries is yours" in capsys.readouterr().out
