"""The page of what is covered: the pictures that go out with their covers, and what a person does to them."""

import io
import json

import msgspec
import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from shutline.car.masks import Box, BoxAt, Mask, MaskKind, MaskLook
from shutline.gauge.masks.find import finder
from shutline.store import Store
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import shots
from shutline.usecases.masks import car_masks

CAR = "ostrel-pavane"
JSON = {"accept": "application/json"}
BOX = Box(0.4, 0.3, 0.6, 0.5)
AT = f"/cars/{CAR}/masks"


@pytest.fixture
def proposed(store: Store) -> Mask:
    """A mark that the program found in the first still, all stills having been looked at."""
    there = shots(find_car(store, CAR))
    masks = [Mask(there[0].source, MaskKind.MARK, (BoxAt(there[0].at_s, BOX),), sureness=0.8)]
    for number, shot in enumerate(there):
        found = {"mark": int(number == 0), "chassis": 0, "face": 0}
        look = MaskLook(shot.source, shot.at_s, shot.at_s, finder(), 1, found)
        store.put_masks(look, masks if number == 0 else [])
    return masks[0]


def pixels(answer: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(answer)).convert("RGB"), np.int16)


def test_the_page_shows_the_picture_its_covers_and_what_was_not_found(client: TestClient, proposed: Mask) -> None:
    text = client.get(AT).text
    assert "Cover 1: registration mark, proposed" in text
    assert "found by the program" in text
    assert "no chassis number and no face" in text
    assert "nobody has confirmed it yet" in text


def test_the_json_twin_is_what_the_command_prints(client: TestClient, store: Store, proposed: Mask) -> None:
    sent = client.get(f"{AT}.json").json()
    assert sent["masks"] == json.loads(msgspec.json.encode(car_masks(store, CAR)))
    assert sent["looking"] is None


def test_what_goes_out_is_covered_and_the_bench_shows_all(client: TestClient, proposed: Mask) -> None:
    whole, out = (pixels(client.get(f"{AT}/{way}/1").content) for way in ("picture", "out"))
    assert whole.shape == out.shape
    high, wide = whole.shape[:2]
    middle = out[int(0.35 * high) : int(0.45 * high), int(0.45 * wide) : int(0.55 * wide)]
    assert np.abs(middle - (0x4A, 0x4A, 0x46)).max() <= 12
    # JPEG lets a little of the edge ring; of what was there nothing is left.
    assert np.abs(middle - (0x4A, 0x4A, 0x46)).mean() < 2
    seen = whole[int(0.35 * high) : int(0.45 * high), int(0.45 * wide) : int(0.55 * wide)]
    assert np.abs(seen - middle).max() > 20
    # Far from the cover only the packing anew is seen.
    assert np.abs(whole[: int(0.15 * high)] - out[: int(0.15 * high)]).mean() < 3


def decide(client: TestClient, **sent: object) -> dict:
    answer = client.post(f"{AT}/decide", headers=JSON, json=sent)
    assert answer.status_code == 200, answer.text
    return answer.json()["mask"]


def test_a_cover_is_moved_confirmed_struck_and_restored(client: TestClient, store: Store, proposed: Mask) -> None:
    (kept,) = car_masks(store, CAR).masks
    moved = decide(client, id=kept.id, action="amend", version=1, box=[0.1, 0.1, 0.2, 0.2], at_s=proposed.start_s)
    assert moved["mask"]["state"] == "stands"
    assert moved["mask"]["way"][0]["box"] == {"left": 0.1, "top": 0.1, "right": 0.2, "bottom": 0.2}
    struck = decide(client, id=kept.id, action="strike", version=2)
    assert struck["mask"]["state"] == "struck"
    assert "nothing is covered" in client.get(AT).text.lower()
    back = decide(client, id=kept.id, action="restore", version=3)
    assert back["mask"]["state"] == "stands"
    assert [change["author"] for change in back["changes"]] == ["program", "Ida Quill", "Ida Quill", "Ida Quill"]


def test_a_change_to_an_older_version_comes_with_both(client: TestClient, store: Store, proposed: Mask) -> None:
    (kept,) = car_masks(store, CAR).masks
    decide(client, id=kept.id, action="confirm", version=1)
    answer = client.post(f"{AT}/decide", headers=JSON, json={"id": kept.id, "action": "strike", "version": 1})
    assert answer.status_code == 409
    assert answer.json()["said"] == {"present": "mark: stands", "wanted": "mark: struck"}


def test_a_cover_is_drawn_once(client: TestClient, store: Store, proposed: Mask) -> None:
    sent = {
        "source": proposed.source,
        "kind": "face",
        "way": [[proposed.start_s, 0.1, 0.1, 0.2, 0.3]],
        "token": "one",
    }
    first, second = (client.post(f"{AT}/draw", headers=JSON, json=sent).json() for _ in range(2))
    assert first == second
    assert first["mask"]["changes"][0]["author"] == "Ida Quill"
    assert len(car_masks(store, CAR).masks) == 2
    assert "face, stands" in client.get(AT).text


@pytest.mark.parametrize(
    "sent",
    [
        {"id": "x", "action": "burn", "version": 1},
        {"id": "x", "action": "strike", "version": 1, "box": [0, 0, 1, 1]},
        {"id": "x", "action": "amend", "version": 1, "box": [0.5, 0, 0.4, 1]},
        {"id": "x"},
    ],
)
def test_what_cannot_be_done_is_refused(client: TestClient, sent: dict) -> None:
    answer = client.post(f"{AT}/decide", headers=JSON, json=sent)
    assert answer.status_code == 400
    assert answer.json()["error"]["slug"] == "web-sent"


def test_nothing_is_drawn_outside_the_film(client: TestClient, proposed: Mask) -> None:
    sent = {"source": proposed.source, "kind": "face", "way": [[9999, 0.1, 0.1, 0.2, 0.3]], "token": "one"}
    assert client.post(f"{AT}/draw", headers=JSON, json=sent).json()["error"]["slug"] == "no-such-moment"


def test_strangers_see_nothing(outside: TestClient) -> None:
    assert outside.get(AT).status_code in {303, 401, 403}
    assert outside.get(f"{AT}/picture/1").status_code in {303, 401, 403}
