"""A change that came too late is told in one shape, by the web and by the command line."""

from __future__ import annotations

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store

CAR = "ostrel-pavane"
QUICKER: Any = {"action": "amend", "author": "Per Wick", "severity": "severe"}


@pytest.fixture
def somebody_is_quicker(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before the command's own change of a finding is written, somebody else's is."""
    change = Store.change_finding
    met: list[str] = []

    def late(self: Store, finding_id: str, **given: Any) -> Any:
        if not met:
            met.append(finding_id)
            change(self, finding_id, expected_version=self.finding(finding_id).version, **QUICKER)
        return change(self, finding_id, **given)

    monkeypatch.setattr(Store, "change_finding", late)


def test_both_versions_are_in_the_json_of_both(
    client: TestClient, store: Store, somebody_is_quicker: None, capsys: pytest.CaptureFixture[str]
) -> None:
    wing = next(kept for kept in store.car_file(CAR).findings if kept.finding.part == "front_wing")
    code = main(["amend", CAR, wing.id, "--side", "off", "--by", "Ida Quill", "--json", "--store", str(store.folder)])
    told = json.loads(capsys.readouterr().out)
    assert code == 2
    # The command took nothing, not even what was put in its way: that is done again for the web.
    store.change_finding(wing.id, expected_version=wing.version, **QUICKER)
    body = {"id": wing.id, "version": wing.version, "fields": {"side": "off"}}
    answer = client.post(f"/cars/{CAR}/review/amend", json=body, headers={"accept": "application/json"})
    assert answer.status_code == 409
    there = answer.json()
    for one in (told, there):
        assert one["present"].pop("changes")[-1]["author"] == "Per Wick"
    assert told == there
    assert (told["present"]["finding"]["severity"], told["wanted"]["side"]) == ("severe", "off")
    assert told["expected_version"] == wing.version
    assert told["said"]["present"] != told["said"]["wanted"]
