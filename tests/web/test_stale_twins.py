"""A change that came too late is told in one shape, by the web and by the command line."""

from __future__ import annotations

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store

CAR = "ostrel-pavane"


@pytest.fixture
def somebody_is_quicker(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before the command's own change of a finding is written, somebody else's is."""
    change = Store.change_finding
    met: list[str] = []

    def late(self: Store, finding_id: str, **given: Any) -> Any:
        if not met:
            met.append(finding_id)
            own = {"action": "amend", "author": "Per Wick", "severity": "severe"}
            change(self, finding_id, expected_version=self.finding(finding_id).version, **own)
        return change(self, finding_id, **given)

    monkeypatch.setattr(Store, "change_finding", late)


def test_both_versions_are_in_the_json_of_both(
    client: TestClient, store: Store, somebody_is_quicker: None, capsys: pytest.CaptureFixture[str]
) -> None:
    wing = next(kept for kept in store.car_file(CAR).findings if kept.finding.part == "front_wing")
    given = [CAR, wing.id]
    code = main(["amend", *given, "--side", "off", "--by", "Ida Quill", "--json", "--store", str(store.folder)])
    told = json.loads(capsys.readouterr().out)
    assert code == 2
    body = {"id": wing.id, "version": wing.version, "fields": {"side": "off"}}
    answer = client.post(f"/cars/{CAR}/review/amend", json=body, headers={"accept": "application/json"})
    assert answer.status_code == 409
    assert told == answer.json()
    assert (told["present"]["finding"]["severity"], told["wanted"]["side"]) == ("severe", "off")
    assert told["expected_version"] == wing.version
    assert told["said"]["present"] != told["said"]["wanted"]
