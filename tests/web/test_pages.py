from __future__ import annotations

import json

from starlette.testclient import TestClient

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.store import Store

CAR = "ostrel-pavane"


def test_words_that_are_no_utf_8_are_shown_and_sent(client: TestClient, store: Store) -> None:
    (recording,) = store.car_file(CAR).recordings
    odd = "The boot \udcff is straight."
    store.replace_stretches(recording.id, [stretch_of(odd, 1.0, 4.0, origin=StretchOrigin.TRANSCRIPT)])
    assert client.get(f"/cars/{CAR}").status_code == 200
    sent = client.get(f"/cars/{CAR}.json")
    assert sent.status_code == 200
    assert json.loads(sent.content)["car"]["recordings"][0]["stretches"][0]["text"] == odd
