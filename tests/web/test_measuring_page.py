"""The page on which a car's pictures are measured: what it shows, what it keeps, what it refuses."""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path

import cv2
import msgspec
import numpy as np
import pytest
from starlette.testclient import TestClient

from shutline.car.notes import NoteKind
from shutline.store import Store
from shutline.usecases.measuring import Measure, Picked, measure_on_car, measuring_view
from shutline.usecases.note_keeping import keep_file

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/measuring"
ONCE = "token-card"


@pytest.fixture
def card(store: Store, tmp_path: Path) -> dict:
    """A picture of the marker card, and what is sent to measure 120 mm on it."""
    where = Path(__file__).resolve().parents[1] / "gauge" / "size" / "scenes.py"
    spec = importlib.util.spec_from_file_location("web_scenes", where)
    assert spec is not None
    assert spec.loader is not None
    scenes = importlib.util.module_from_spec(spec)
    sys.modules["web_scenes"] = scenes
    spec.loader.exec_module(scenes)
    scene = scenes.scene(3)
    path = tmp_path / "card.png"
    cv2.imwrite(str(path), scene.picture)
    note = keep_file(
        store,
        CAR,
        path,
        kind=NoteKind.PICTURE,
        place="nearside front wing",
        token=ONCE,
        name="card.png",
        by="Ida",
    ).note
    places = [
        [(x + 0.5) / 1000, (y + 0.5) / 750] for x, y in scene.px(np.array(((-60.0, 10.0), (60.0, 10.0)))).tolist()
    ]
    picked = {"what": "length", "places": places, "ruler_mm": 150 * scene.printed, "pick_px": 0.5}
    return {"picture": note.source, "picked": picked}


def test_a_car_without_pictures_says_how_to_get_one_and_offers_what_needs_none(client: TestClient) -> None:
    shown = client.get(AT)
    assert shown.status_code == 200
    assert "no picture of its own yet" in shown.text
    assert f"{AT}/card/sheet.pdf" in shown.text
    assert 'value="blisters"' in shown.text
    assert 'value="length"' not in shown.text


def test_the_drawn_scale_is_shown_and_handed_out(client: TestClient) -> None:
    shown = client.get(AT).text
    assert shown.count(f'src="{AT}/blisters/') == 16
    drawn = client.get(f"{AT}/blisters/3-4.svg")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert "density 3 and size 4" in drawn.text
    assert client.get(f"{AT}/blisters/9-4.svg").status_code == 400
    scale = client.get(f"{AT}/card/blisters.pdf")
    assert scale.content.startswith(b"%PDF")
    assert "blister-scale.pdf" in scale.headers["content-disposition"]


def test_what_was_rated_or_keyed_is_answered_as_the_use_case_does_and_kept_without_a_picture(
    client: TestClient, store: Store
) -> None:
    rated = {"what": "blisters", "density": 3, "size": 4}
    told = client.post(f"{AT}/measure", json={"picture": "", "picked": rated})
    made = measure_on_car(store, CAR, "", Picked(Measure.BLISTERS, density=3, size=4))
    assert told.json() == json.loads(msgspec.json.encode(made))
    place = {"part": "door", "side": "near", "position": "front"}
    kept = client.post(f"{AT}/measure", json={"picture": "", "picked": rated, "keep": place})
    assert kept.status_code == 201
    assert [one["reading"]["quantity"] for one in kept.json()["kept"]] == ["blister_density", "blister_size"]
    keyed = {"what": "colours", "lab": [45, 12, -3], "lab_beside": [46, 12, -3]}
    assert client.post(f"{AT}/measure", json={"picture": "", "picked": keyed, "keep": place}).status_code == 201
    shown = client.get(AT).text
    assert "Rated or keyed at the car" in shown
    assert "blister density 3" in shown


def test_a_picture_is_shown_and_its_json_is_that_of_the_use_case(client: TestClient, store: Store, card: dict) -> None:
    shown = client.get(AT)
    assert f'src="{AT}/picture/1"' in shown.text
    assert client.get(f"{AT}/picture/1").headers["content-type"] == "image/jpeg"
    assert client.get(f"{AT}/picture/2").status_code == 404
    assert client.get(f"{AT}.json").json() == json.loads(msgspec.json.encode(measuring_view(store, CAR)))


def test_what_is_picked_is_measured_as_the_use_case_does_and_kept_where_a_part_is_named(
    client: TestClient, store: Store, card: dict
) -> None:
    told = client.post(f"{AT}/measure", json=card)
    assert told.status_code == 200
    picked = card["picked"]
    made = measure_on_car(
        store,
        CAR,
        card["picture"],
        Picked(
            Measure.LENGTH,
            tuple((x, y) for x, y in picked["places"]),
            ruler_mm=picked["ruler_mm"],
            pick_px=picked["pick_px"],
        ),
    )
    assert told.json() == json.loads(msgspec.json.encode(made))
    kept = client.post(f"{AT}/measure", json={**card, "keep": {"part": "door", "side": "near", "position": "front"}})
    assert kept.status_code == 201
    assert kept.json()["kept"][0]["changes"][0]["author"] == "Ida Quill"
    shown = client.get(AT).text
    assert "Taken off this picture" in shown
    assert "mm" in shown


@pytest.mark.parametrize(
    ("change", "slug"),
    [
        ({"picture": "zz"}, "measure-picture"),
        ({"picked": {"what": "length", "places": [[0.5, 0.5]]}}, "measure-picked"),
        ({"picked": {"what": "weight", "places": []}}, "web-sent"),
        ({"keep": {"part": "flux_capacitor"}}, "reading-refused"),
    ],
)
def test_what_cannot_be_is_refused(client: TestClient, card: dict, change: dict, slug: str) -> None:
    told = client.post(f"{AT}/measure", json={**card, **change}, headers={"accept": "application/json"})
    assert told.status_code in {400, 404, 422}
    assert told.json()["error"]["slug"] == slug


def test_the_card_is_handed_out_as_a_pdf(client: TestClient) -> None:
    card = client.get(f"{AT}/card/small.pdf")
    assert card.headers["content-type"] == "application/pdf"
    assert card.content.startswith(b"%PDF")
    assert client.get(f"{AT}/card/huge.pdf").status_code == 404
