"""The page of figures: what waits with its piece of picture and its signs, decisions, and the same record as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from starlette.testclient import TestClient

from shutline.capture.originals import write_once
from shutline.car.figures import FigureKind, OtherReading, ReadFigure, ReadSign
from shutline.cli import main
from shutline.store import Store

CAR = "ostrel-pavane"
JSON = {"accept": "application/json"}


def put(store: Store, text: str = "058206", **changes: object) -> str:
    """Keep a figure as it would be read, with a piece of picture; give its id."""
    piece = cv2.imencode(".jpg", np.full((60, 240, 3), 90, np.uint8))[1].tobytes()
    read = ReadFigure(
        **{
            "kind": FigureKind.ODOMETER,
            "text": text,
            "signs": tuple(ReadSign(sign, 0.99) for sign in text),
            "value": 58206,
            "unit": "mi",
            "fits": True,
            "sureness": 0.98,
            "box": (0.1, 0.1, 0.5, 0.2),
            **changes,
        }
    )
    source = store.car_file(CAR).recordings[0].id
    (ref,) = store.put_figures(source, [(read, write_once(store.derived, piece))], key=text, at_s=3.0)
    return ref


def test_what_waits_is_shown_sign_by_sign_with_its_picture(client: TestClient, store: Store) -> None:
    ref = put(store)
    page = client.get(f"/cars/{CAR}/figures").text
    assert f'id="figure-{ref}"' in page
    assert page.count('class="sign"') == 6
    assert "58,206 miles" in page
    crop = store.figure(ref).crop
    assert client.get(f"/stills/{crop}").headers["content-type"] == "image/jpeg"


def test_the_page_and_the_command_give_the_same_record(
    client: TestClient, store: Store, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    put(store)
    asked = client.get(f"/cars/{CAR}/figures.json").json()
    monkeypatch.setenv("SHUTLINE_STORE", str(Path(store.folder)))
    assert main(["figures", CAR, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == asked


def test_a_figure_is_taken_amended_and_set_aside(client: TestClient, store: Store) -> None:
    ref = put(store)
    taken = client.post(
        f"/cars/{CAR}/figures/decide", json={"id": ref, "verb": "take", "version": 1}, headers=JSON
    ).json()
    assert taken["fact"]["fact"]["value"] == 58206
    stale = client.post(
        f"/cars/{CAR}/figures/decide", json={"id": ref, "verb": "amend", "version": 1, "value": "1"}, headers=JSON
    )
    assert stale.status_code == 409
    amended = client.post(
        f"/cars/{CAR}/figures/decide",
        json={"id": ref, "verb": "amend", "version": 2, "value": "58208", "unit": "km"},
        headers=JSON,
    ).json()
    assert (amended["figure"]["value"], amended["fact"]["fact"]["unit"]) == (58208, "km")
    aside = client.post(
        f"/cars/{CAR}/figures/decide", json={"id": ref, "verb": "aside", "version": 3}, headers=JSON
    ).json()
    assert aside["fact"]["fact"]["state"] == "struck"
    assert "What became of it" in client.get(f"/cars/{CAR}/figures").text


def test_figures_that_can_be_meant_in_two_ways_are_asked_about_as_such(client: TestClient, store: Store) -> None:
    others = (OtherReading("6341", 6341, "the last drum counts tenths"), OtherReading("63418", 63418, "whole ones"))
    put(store, "63418", value="63418", fits=False, others=others)
    page = client.get(f"/cars/{CAR}/figures").text
    assert "Which is it? Choose one, or type over the signs." in page
    assert "In no form that is known" not in page


def test_what_has_no_form_is_a_question_with_proposals(client: TestClient, store: Store) -> None:
    ref = put(
        store,
        "S8206",
        value="S8206",
        fits=False,
        others=(OtherReading("58206", 58206, "sign 1: 5 in place of S"),),
        notes=("not all of it is figures",),
    )
    page = client.get(f"/cars/{CAR}/figures").text
    assert "In no form that is known" in page
    assert 'data-value="58206"' in page
    refused = client.post(f"/cars/{CAR}/figures/decide", json={"id": ref, "verb": "take", "version": 1}, headers=JSON)
    assert refused.json()["error"]["slug"] == "figure-no-form"


@pytest.mark.parametrize("sent", [{"id": "x", "verb": "eat", "version": 1}, {"id": "x"}, {"verb": 3}])
def test_what_is_no_decision_is_refused(client: TestClient, sent: dict[str, object]) -> None:
    answer = client.post(f"/cars/{CAR}/figures/decide", json=sent, headers=JSON)
    assert 400 <= answer.status_code < 500
    assert answer.json()["error"]["slug"] == "web-sent"


def test_reading_is_begun_and_told(client: TestClient, store: Store) -> None:
    begun = client.post(f"/cars/{CAR}/figures/read", json={"sweep": False}, headers=JSON)
    assert begun.status_code == 202
    assert "done" in client.get(f"/cars/{CAR}/figures/now.json").json()
