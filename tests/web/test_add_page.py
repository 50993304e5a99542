"""What is brought in by the page is worked on in the background; one broken file does not stop the others."""

from __future__ import annotations

import hashlib
import http.client
import json
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from PIL import Image
from starlette.applications import Starlette
from starlette.testclient import TestClient

from shutline.capture.originals import original_path
from shutline.car.errors import BrokenWorldError, Problem, StoppedError
from shutline.cli import main
from shutline.store import Store
from shutline.usecases import add as adding
from shutline.usecases.progress import Step, Stop
from shutline.web import jobs, workbench

HERE, CAR = "127.0.0.1:8766", "ostrel-pavane"
WORDS = """WEBVTT

00:00.000 --> 00:05.000
The nearside sill has rust in it. The offside door has a dent.
"""


@pytest.fixture
def bench(bench: Starlette) -> Iterator[Starlette]:
    yield bench
    bench.state.jobs.close()


@pytest.fixture
def client(client: TestClient) -> TestClient:
    client.headers["accept"] = "application/json"
    return client


@pytest.fixture
def words(tmp_path: Path) -> Path:
    path = tmp_path / "round.vtt"
    path.write_text(WORDS, encoding="utf-8")
    return path


@pytest.fixture
def film(make_film: Callable[..., Path]) -> Path:
    return make_film("round.mp4", frames=60, rate=10, sound=None, gop=10)


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "plate.jpg"
    Image.new("RGB", (64, 48), (90, 110, 140)).save(path)
    return path


def announce(client: TestClient, files: list[tuple[str, Path]], **more: Any) -> dict[str, Any]:
    whose: dict[str, int] = more.pop("words_of", {})
    announced = [{"name": name, "byte_size": path.stat().st_size, "words_of": whose.get(name)} for name, path in files]
    answer = client.post("/add/deliveries", json={"files": announced, **more})
    assert answer.status_code == 201, answer.text
    begun: dict[str, Any] = answer.json()
    return begun


def send(client: TestClient, files: list[tuple[str, Path]], **more: Any) -> str:
    """Send files as the page does, in pieces."""
    begun = announce(client, files, **more)
    for place, (_, path) in enumerate(files):
        data = path.read_bytes()
        address = f"/add/deliveries/{begun['id']}/files/{place}"
        for at in range(0, len(data), 10_000):
            answer = client.put(f"{address}?at={at}", content=data[at : at + 10_000])
            assert answer.json() == {"received": min(len(data), at + 10_000)}
        client.post(f"{address}/whole", json={"sha256": hashlib.sha256(data).hexdigest()})
    name: str = begun["id"]
    return name


def wait(client: TestClient, delivery: str, *states: str) -> dict[str, Any]:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        stands: dict[str, Any] = client.get(f"/add/deliveries/{delivery}.json").json()
        if stands["state"] in (states or ("done",)):
            return stands
        time.sleep(0.05)
    raise AssertionError(f"still {stands['state']} after a minute: {stands}")


def test_one_broken_file_does_not_stop_the_others(
    client: TestClient, store: Store, film: Path, words: Path, picture: Path
) -> None:
    tmp_path = words.parent
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(film.read_bytes()[:700])
    letter = tmp_path / "letter.mp4"
    letter.write_text("a letter to the dealer, without any time in it", encoding="utf-8")
    empty = tmp_path / "empty.mov"
    empty.write_bytes(b"")
    files = [
        ("../../x<b>.mp4", broken),
        ("letter.mp4", letter),
        ("empty.mov", empty),
        ("plate.jpg", picture),
        ("../../../walk <i>round</i>.mp4", film),
        ("round.vtt", words),
    ]

    stands = wait(client, send(client, files, title="Kestle Linnet", drive="lhd", words_of={"round.vtt": 4}))

    assert [file["name"] for file in stands["files"]][0::4] == ["x<b>.mp4", "i>.mp4"]
    slugs = [file["problem"]["slug"] if file["problem"] else None for file in stands["files"]]
    assert slugs == ["cut-off", "not-a-recording", "empty-file", None, None, None]
    assert stands["files"][0]["problem"]["where"] == "x<b>.mp4"
    car = store.car_file(stands["car"])
    assert (car.title, car.drive.value) == ("Kestle Linnet", "lhd")
    assert len(car.pictures) == 1
    (recording,) = car.recordings
    assert recording.complete
    assert recording.stretches[0].text.startswith("The nearside sill has rust")
    kept = original_path(store.originals, hashlib.sha256(film.read_bytes()).hexdigest())
    assert kept.read_bytes() == film.read_bytes()
    assert list((store.folder / "arriving").iterdir()) == []
    assert not any("x<b>" in path.name for path in store.folder.parent.rglob("*"))


def test_names_are_shown_as_words(client: TestClient, words: Path) -> None:
    delivery = send(client, [("x<b>bold</b> &.vtt", words)], title="<script>alert(1)</script>")
    wait(client, delivery)
    for address in ("/add", "/add/pieces"):
        page = client.get(address).text
        assert "b&gt; &amp;.vtt" in page
        assert "<b>" not in page
        assert "<script>alert" not in page


def test_it_is_signed_by_who_brought_it_in_and_makes_a_car_of_its_own(
    client: TestClient, store: Store, words: Path
) -> None:
    first = wait(client, send(client, [("walk.vtt", words)], title="Ostrel  Pavane"))
    assert first["author"] == "Ida Quill"
    # One of that name is there already; a new car is a new one.
    assert first["car"] == "ostrel-pavane-2"
    words.write_text(WORDS.replace("dent", "scratch"), encoding="utf-8")
    second = wait(client, send(client, [("a walk_round.vtt", words)]))
    assert (second["car"], store.find_car(second["car"]).title) == ("a-walk-round", "a walk round")


def test_a_film_that_a_car_has_is_asked_about_before_a_car_is_made(
    client: TestClient, store: Store, film: Path, words: Path
) -> None:
    whose = {"words_of": {"round.vtt": 0}}
    first = wait(client, send(client, [("round.mp4", film), ("round.vtt", words)], title="First <b>", **whose))
    before = store.cars()
    again = send(client, [("copy.mp4", film), ("plate.vtt", words)], words_of={"plate.vtt": 0})
    asked = wait(client, again, "asking")
    assert [(one["name"], one["car"], one["title"]) for one in asked["known"]] == [
        ("copy.mp4", first["car"], "First <b>")
    ]
    assert (asked["car"], store.cars()) == (None, before)
    page = client.get("/add", headers={"accept": "text/html"}).text
    assert page.index("This film is here already") < page.index("Lay films, sounds")
    assert "Add to First &lt;b&gt;" in page
    assert client.post(f"/add/deliveries/{again}/whose", json={"car": "nobody"}).status_code == 404
    assert client.get(f"/add/deliveries/{again}.json").json()["state"] == "asking"
    client.post(f"/add/deliveries/{again}/whose", json={"car": first["car"]})
    done = wait(client, again)
    assert (done["car"], done["known"], done["files"][0]["item"]["new"]) == (first["car"], [], False)
    assert len(store.car_file(first["car"]).recordings) == 1
    # Answered a second time, it stays as it is.
    assert client.post(f"/add/deliveries/{again}/whose", json={"car": None}).json()["car"] == first["car"]


def test_all_the_same_it_may_be_a_new_car_by_a_plain_form_too(client: TestClient, store: Store, words: Path) -> None:
    first = wait(client, send(client, [("walk.vtt", words)], title="First"))
    again = send(client, [("walk.vtt", words)], title="Second")
    wait(client, again, "asking")
    proof = client.headers.pop("shutline-proof")
    address = f"/add/deliveries/{again}/whose"
    assert client.post(address, data={"car": ""}).status_code == 403
    answer = client.post(address, data={"car": "", "shutline-proof": proof})
    assert (answer.status_code, answer.headers["location"]) == (303, "/add")
    done = wait(client, again)
    assert done["car"] not in (None, first["car"])
    assert done["title"] == "Second"


def test_what_waits_for_an_answer_waits_for_it_after_the_workbench_was_ended(
    client: TestClient, bench: Starlette, store: Store, words: Path, access: Any
) -> None:
    wait(client, send(client, [("walk.vtt", words)], title="First"))
    again = send(client, [("walk.vtt", words)], title="Second")
    asked = wait(client, again, "asking")
    bench.state.jobs.close()
    (left, *_) = jobs.Jobs(store).adding().deliveries
    assert (left.state, left.known[0].car) == ("asking", asked["known"][0]["car"])


def test_before_it_is_sent_name_and_size_tell_of_a_film_that_is_here(client: TestClient, store: Store) -> None:
    original = store.car_file(CAR).recordings[0].original
    ask = [
        {"name": f"../{original.name}", "byte_size": original.byte_size},
        {"name": "other.mp4", "byte_size": original.byte_size},
        {"name": original.name, "byte_size": original.byte_size + 1},
    ]
    told = client.post("/add/likely", json=ask).json()
    assert told == [
        {"name": original.name, "car": CAR, "title": "Ostrel Pavane, blue", "set_aside": False, "same": False}
    ]


def test_a_delivery_is_headed_by_the_title_of_its_car(client: TestClient, store: Store, words: Path) -> None:
    done = send(client, [("walk.vtt", words)], car=CAR)
    wait(client, done)
    store.set_car_details(CAR, author="Ben Oake", title="Called otherwise since")
    (shown,) = client.get("/add.json").json()["deliveries"]
    assert shown["title"] == "Called otherwise since"
    assert f'<a href="/cars/{CAR}">Called otherwise since</a>' in client.get("/add/pieces").text


def test_a_spoken_note_is_shown_as_a_note(client: TestClient, store: Store, make_film: Callable[..., Path]) -> None:
    sound = make_film("note.mp4", frames=10, rate=10, gop=10)
    asked = {"token": "token-note", "kind": "spoken", "place": "sill-near", "name": "voice.mp4"}
    answer = client.post(f"/cars/{CAR}/at-the-car/file", params=asked, content=sound.read_bytes())
    assert answer.status_code == 201, answer.text
    (shown,) = client.get("/add.json").json()["deliveries"]
    assert shown["note"] == "nearside sill"
    page = client.get("/add/pieces").text
    assert "Note at the nearside sill" in page
    assert "Ostrel Pavane, blue" in page
    assert "voice.mp4" not in page
    assert 'class="walk' not in page
    assert wait(client, shown["id"], "done", "stopped")["note"] == "nearside sill"


def test_files_go_to_a_car_that_is_there(client: TestClient, store: Store, words: Path, picture: Path) -> None:
    stands = wait(client, send(client, [("walk.vtt", words), ("plate.jpg", picture)], car=CAR))
    assert stands["car"] == CAR
    car = store.car_file(CAR)
    assert (len(car.recordings), len(car.pictures)) == (2, 1)
    answer = client.post("/add/deliveries", json={"files": [{"name": "x", "byte_size": 1}], "car": "ostrel"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (404, "car-unknown")


def test_the_same_comes_of_it_as_of_the_command_line(
    client: TestClient, film: Path, words: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stands = wait(client, send(client, [("round.mp4", film), ("round.vtt", words)], words_of={"round.vtt": 0}))
    there = tmp_path / "other store"
    arguments = ["add", str(film), "--car", stands["car"], "--transcript", str(words), "--json", "--store", str(there)]
    assert main(arguments) == 0
    (item,) = json.loads(capsys.readouterr().out)["items"]
    assert stands["files"][0]["item"] == item


def test_words_of_a_recording_that_is_broken_are_not_taken_for_one(
    client: TestClient, store: Store, words: Path, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(b"\x00\x00\x00\x18ftypmp42" + b"\x00" * 50)
    stands = wait(client, send(client, [("walk.mp4", broken), ("walk.vtt", words)], words_of={"walk.vtt": 0}))
    assert stands["files"][1]["problem"]["slug"] == "words-alone"
    assert stands["car"] is None
    assert [car.name for car in store.cars()] == [CAR]


def held(monkeypatch: pytest.MonkeyPatch) -> tuple[threading.Event, list[Path]]:
    """Hold the work at its first step until a stop is asked for; give the flag that says it is there."""
    there = threading.Event()
    worked: list[Path] = []

    def slow(store: Store, files: list[Path], *, tell: Callable[[Step], None], stop: Stop, **more: Any) -> Any:
        def told(step: Step) -> None:
            tell(step)
            if step.stage == "remarks" and not there.is_set():
                there.set()
                for _ in range(600):
                    if stop.asked():
                        break
                    time.sleep(0.05)

        worked.extend(files)
        return adding.add(store, files, tell=told, stop=stop, **more)

    monkeypatch.setattr(jobs, "add", slow)
    return there, worked


def test_work_is_stopped_and_gone_on_with_one_car_at_a_time(
    client: TestClient, store: Store, words: Path, picture: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there, _ = held(monkeypatch)
    first = send(client, [("walk.vtt", words), ("plate.jpg", picture)], title="First")
    assert there.wait(30)
    second = send(client, [("plate.jpg", picture)], title="Second")
    third = send(client, [("plate.jpg", picture)], title="Third")
    stands = client.get(f"/add/deliveries/{first}.json").json()
    assert (stands["state"], client.get(f"/add/deliveries/{second}.json").json()["state"]) == ("working", "waiting")
    (shown,) = (one for one in client.get("/add.json").json()["deliveries"] if one["id"] == first)
    assert shown["now"] == {"file": 0, "stage": "remarks", "done": 0.0}
    refused = client.post(f"/add/deliveries/{third}/stop").json()
    assert refused["state"] == "stopped"

    client.post(f"/add/deliveries/{first}/stop")
    stands = wait(client, first, "stopped")
    assert [file["item"] for file in stands["files"]] == [None, None]
    # What was stopped does not hold up the next.
    assert wait(client, second)["files"][0]["item"]["kind"] == "picture"

    client.post(f"/add/deliveries/{first}/go-on")
    assert all(file["item"] for file in wait(client, first)["files"])
    assert len(store.car_file("first").recordings) == 1
    assert client.get(f"/add/deliveries/{third}.json").json()["state"] == "stopped"


def test_a_workbench_that_is_started_again_finds_what_was_left_and_goes_on(
    client: TestClient, bench: Starlette, words: Path, film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there, worked = held(monkeypatch)
    delivery = send(client, [("walk.mp4", film), ("walk.vtt", words)], title="First", words_of={"walk.vtt": 0})
    assert there.wait(30)
    half = announce(client, [("plate.jpg", words)], car=CAR)
    client.put(f"/add/deliveries/{half['id']}/files/0?at=0", content=words.read_bytes()[:30])
    bench.state.jobs.close()

    again = workbench(bench.state.store, bench.state.access)
    client = TestClient(again, base_url=f"http://{HERE}", headers=client.headers, cookies=client.cookies)
    left = client.get("/add.json").json()
    assert [(one["id"], one["state"]) for one in left["deliveries"]] == [
        (half["id"], "arriving"),
        (delivery, "stopped"),
    ]
    assert left["deliveries"][0]["files"][0]["received"] == 30
    # The recording is not offered twice.
    assert left["unfinished"] == {"recordings": []}
    client.post(f"/add/deliveries/{delivery}/go-on")
    stands = wait(client, delivery)
    assert stands["files"][0]["item"]["words"] == 13
    assert len(worked) == 2
    again.state.jobs.close()


def stopped_film(store: Store, film: Path, words: Path) -> str:
    stop = Stop()
    with pytest.raises(StoppedError):
        adding.add(store, [film], car="half", transcript=words, tell=lambda _: stop.ask(), stop=stop)
    (left,) = store.unfinished()
    return left[1]


def test_recordings_that_were_left_half_read_are_offered_and_go_on(
    client: TestClient, store: Store, film: Path, words: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ref = stopped_film(store, film, words)
    offered = client.get("/add.json").json()["unfinished"]
    assert [one["recording"] for one in offered["recordings"]] == [ref]
    assert main(["unfinished", "--json", "--store", str(store.folder)]) == 0
    assert json.loads(capsys.readouterr().out) == offered
    assert f'data-read-on="{ref}"' in client.get("/add").text

    begun = client.post(f"/add/recordings/{ref}/go-on")
    assert begun.status_code == 201
    stands = wait(client, begun.json()["id"])
    assert (stands["car"], stands["files"][0]["item"]["recording"]) == ("half", ref)
    assert client.get("/add.json").json()["unfinished"] == {"recordings": []}
    assert client.post(f"/add/recordings/{ref}/go-on").status_code == 404


def test_a_fault_of_ours_with_one_file_does_not_stop_the_others(
    client: TestClient, words: Path, picture: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(store: Store, files: list[Path], **more: Any) -> Any:
        if more["arrived"][files[0]] == "walk.vtt":
            raise ZeroDivisionError
        return adding.add(store, files, **more)

    monkeypatch.setattr(jobs, "add", faulty)
    stands = wait(client, send(client, [("walk.vtt", words), ("plate.jpg", picture)], title="First"))
    assert stands["files"][0]["problem"]["slug"] == "adding-failed"
    assert stands["files"][1]["item"]["kind"] == "picture"


def test_a_broken_disk_stops_the_delivery_with_the_reason_and_it_goes_on_when_mended(
    client: TestClient, words: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any, **__: Any) -> Any:
        raise BrokenWorldError(Problem("disk-full", "the store", "no room", "room", "Make room."))

    with monkeypatch.context() as patch:
        patch.setattr(jobs, "add", full)
        delivery = send(client, [("walk.vtt", words)], title="First")
        assert wait(client, delivery, "stopped")["problem"]["slug"] == "disk-full"
        assert "Make room." in client.get("/add").text
    client.post(f"/add/deliveries/{delivery}/go-on")
    stands = wait(client, delivery)
    assert (stands["problem"], stands["files"][0]["item"]["words"]) == (None, 13)


def test_put_away_is_gone_and_what_was_taken_in_stays(client: TestClient, store: Store, words: Path) -> None:
    delivery = send(client, [("walk.vtt", words)], title="First")
    wait(client, delivery)
    assert client.post(f"/add/deliveries/{delivery}/put-away").json() == {"put_away": delivery}
    assert client.get(f"/add/deliveries/{delivery}.json").status_code == 404
    assert client.get("/add.json").json()["deliveries"] == []
    assert len(store.car_file("first").recordings) == 1


def test_what_is_at_work_is_not_put_away(client: TestClient, words: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    there, _ = held(monkeypatch)
    delivery = send(client, [("walk.vtt", words)], title="First")
    assert there.wait(30)
    answer = client.post(f"/add/deliveries/{delivery}/put-away")
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "upload-at-work")
    wait(client, delivery, "stopped")


def test_the_page_of_a_car_adds_to_it(client: TestClient) -> None:
    page = client.get(f"/cars/{CAR}/add").text
    assert f'data-car="{CAR}"' in page
    assert 'name="car"' not in page
    assert client.get(f"/cars/{CAR}/add.json").json() == client.get("/add.json").json()
    assert client.get("/cars/nobody/add").status_code == 404
    assert f'value="{CAR}"' in client.get("/add").text


def test_links_to_review_and_car_when_done(client: TestClient, words: Path) -> None:
    wait(client, send(client, [("walk.vtt", words)], title="First"))
    page = client.get("/add").text
    assert 'href="/cars/first/review"' in page
    assert 'href="/cars/first"' in page


def test_events_tell_each_change_as_it_stands_then(running: Any, words: Path) -> None:
    address = urlsplit(running.address)
    letting = http.client.HTTPConnection(address.hostname, address.port, timeout=30)
    letting.request("GET", urlsplit(running.link).path)
    cookie = letting.getresponse().getheader("set-cookie", "").split(";")[0]
    watching = http.client.HTTPConnection(address.hostname, address.port, timeout=30)
    watching.request("GET", "/add/events", headers={"cookie": cookie})
    events = watching.getresponse()
    assert events.getheader("content-type", "").startswith("text/event-stream")

    def told() -> dict[str, Any]:
        name = ""
        while True:
            line = events.readline().decode().strip()
            if line.startswith("event:"):
                name = line.removeprefix("event:").strip()
            if line.startswith("data:") and name == "adding":
                shown: dict[str, Any] = json.loads(line.removeprefix("data:"))
                return shown

    assert told()["deliveries"] == []
    page = http.client.HTTPConnection(address.hostname, address.port, timeout=30)
    page.request("GET", "/add", headers={"cookie": cookie})
    proof = page.getresponse().read().decode().split('name="proof" content="')[1].split('"')[0]
    data = words.read_bytes()

    def post(method: str, path: str, body: bytes) -> dict[str, Any]:
        page.request(method, path, body, headers={"cookie": cookie, "shutline-proof": proof})
        answer: dict[str, Any] = json.loads(page.getresponse().read())
        return answer

    announced = {"files": [{"name": "walk.vtt", "byte_size": len(data)}], "title": "First"}
    delivery = post("POST", "/add/deliveries", json.dumps(announced).encode())["id"]
    assert told()["deliveries"][0]["state"] == "arriving"
    post("PUT", f"/add/deliveries/{delivery}/files/0?at=0", data)
    whole = json.dumps({"sha256": hashlib.sha256(data).hexdigest()}).encode()
    post("POST", f"/add/deliveries/{delivery}/files/0/whole", whole)
    states = []
    while not states or states[-1] != "done":
        states.append(told()["deliveries"][0]["state"])
    assert set(states) <= {"arriving", "waiting", "working", "done"}
    for connection in (watching, page, letting):
        connection.close()
