"""What is sent comes in whole, wherever the network fails, and no name that is given is ever a path."""

from __future__ import annotations

import hashlib
import shutil
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from shutline.car.errors import BrokenWorldError, NotFoundError, UserError
from shutline.web.deliveries import Announced, AnnouncedFile, Delivery, base_name, clean, upload_limits
from shutline.web.uploads import Arrivals

BYTES = bytes(range(256)) * 40
TEXT = b"WEBVTT\n\n00:01.000 --> 00:04.000\nThe nearside sill is solid.\n"


@pytest.fixture
def client(client: TestClient) -> TestClient:
    client.headers["accept"] = "application/json"
    return client


@pytest.fixture
def arrivals(tmp_path: Path) -> Arrivals:
    return Arrivals(tmp_path / "arriving")


def announce(arrivals: Arrivals, *files: tuple[str, int]) -> Delivery:
    return arrivals.begin(Announced(tuple(AnnouncedFile(*file) for file in files)), author="Per Wick")


def write(arrivals: Arrivals, delivery: Delivery, at: int, data: bytes, *, place: int = 0) -> int:
    return arrivals.write(delivery.id, place, arrivals.take_over(delivery.id, place), at, data)


def finish(arrivals: Arrivals, delivery: Delivery, data: bytes, *, place: int = 0) -> Delivery:
    return arrivals.finish(delivery.id, place, hashlib.sha256(data).hexdigest())


@given(cuts=st.lists(st.tuples(st.integers(0, len(BYTES)), st.integers(0, 4000)), max_size=12))
def test_pieces_in_any_order_twice_or_over_one_another_do_no_harm(
    cuts: list[tuple[int, int]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    arrivals = Arrivals(tmp_path_factory.mktemp("arriving"))
    delivery = announce(arrivals, ("walk.mp4", len(BYTES)))
    received = 0
    for at, length in cuts:
        if at > received:
            with pytest.raises(UserError) as told:
                write(arrivals, delivery, at, BYTES[at : at + length])
            assert told.value.problem.slug == "upload-gap"
        else:
            received = write(arrivals, delivery, at, BYTES[at : at + length])
        assert arrivals.part(delivery.id, 0).read_bytes() == BYTES[:received]
    write(arrivals, delivery, received, BYTES[received:])
    assert finish(arrivals, delivery, BYTES).files[0].sha256 == hashlib.sha256(BYTES).hexdigest()


def test_what_came_in_is_there_when_the_workbench_is_started_again(arrivals: Arrivals, tmp_path: Path) -> None:
    delivery = announce(arrivals, ("walk.vtt", len(TEXT)), ("other.vtt", 10))
    write(arrivals, delivery, 0, TEXT[:20])

    again = Arrivals(tmp_path / "arriving")

    (kept,) = again.all()
    assert (kept.state, [file.received for file in kept.files]) == ("arriving", [20, 0])
    write(again, kept, 0, TEXT)
    again.leave_out(kept.id, 1)
    done = finish(again, kept, TEXT)
    assert (done.state, done.files[0].kind, done.files[1].problem.slug) == ("waiting", "transcript", "upload-left-out")


def test_what_was_waiting_or_worked_on_is_stopped_when_started_again_and_what_was_done_is_forgotten(
    arrivals: Arrivals, tmp_path: Path
) -> None:
    kept = []
    for state in ("waiting", "working", "stopped", "done"):
        delivery = announce(arrivals, ("walk.vtt", len(TEXT)))
        arrivals.change(delivery.id, state=state)
        kept.append(delivery.id)
    again = Arrivals(tmp_path / "arriving")
    assert {one.id: one.state for one in again.all()} == dict.fromkeys(kept[:3], "stopped")
    assert not (tmp_path / "arriving" / kept[3]).exists()


@pytest.mark.parametrize("note", [b"", b"{", b'{"id": "../../x"}', b"[]", b"\xff"])
def test_a_note_that_cannot_be_read_is_passed_over(tmp_path: Path, note: bytes) -> None:
    folder = tmp_path / "arriving" / "0123456789abcdef"
    folder.mkdir(parents=True)
    (folder / "delivery.json").write_bytes(note)
    assert Arrivals(tmp_path / "arriving").all() == ()


def test_other_bytes_than_were_counted_are_sent_again_from_the_beginning(arrivals: Arrivals) -> None:
    delivery = announce(arrivals, ("walk.vtt", len(TEXT)))
    write(arrivals, delivery, 0, TEXT.replace(b"solid", b"rotten"[:5]))
    with pytest.raises(UserError) as told:
        finish(arrivals, delivery, TEXT)
    assert told.value.problem.slug == "upload-differs"
    assert arrivals.get(delivery.id).files[0].received == 0
    write(arrivals, delivery, 0, TEXT)
    assert finish(arrivals, delivery, TEXT).state == "waiting"


def test_finished_twice_is_finished_once(arrivals: Arrivals) -> None:
    delivery = announce(arrivals, ("walk.vtt", len(TEXT)))
    write(arrivals, delivery, 0, TEXT)
    assert finish(arrivals, delivery, TEXT) == finish(arrivals, delivery, TEXT)


def test_more_than_was_announced_is_refused(arrivals: Arrivals) -> None:
    delivery = announce(arrivals, ("walk.vtt", 10))
    with pytest.raises(UserError) as told:
        write(arrivals, delivery, 0, b"x" * 11)
    assert told.value.problem.slug == "upload-too-long"
    with pytest.raises(UserError) as told:
        finish(arrivals, delivery, b"")
    assert told.value.problem.slug == "upload-gap"


def test_a_sender_that_hung_cannot_write_after_a_newer_one(arrivals: Arrivals) -> None:
    delivery = announce(arrivals, ("walk.vtt", len(TEXT)))
    old = arrivals.take_over(delivery.id, 0)
    new = arrivals.take_over(delivery.id, 0)
    arrivals.write(delivery.id, 0, new, 0, TEXT[:9])
    with pytest.raises(UserError) as told:
        arrivals.write(delivery.id, 0, old, 9, b"late")
    assert told.value.problem.slug == "upload-taken-over"
    assert arrivals.part(delivery.id, 0).read_bytes() == TEXT[:9]


def test_a_file_that_is_too_large_is_refused_alone(arrivals: Arrivals) -> None:
    most = upload_limits().most_file_bytes
    delivery = announce(arrivals, ("huge.mp4", most + 1), ("walk.vtt", len(TEXT)))
    assert [file.problem.slug if file.problem else None for file in delivery.files] == ["upload-too-large", None]
    write(arrivals, delivery, 0, TEXT, place=1)
    assert finish(arrivals, delivery, TEXT, place=1).state == "waiting"


def test_what_the_disk_has_no_room_for_is_not_begun(arrivals: Arrivals, monkeypatch: pytest.MonkeyPatch) -> None:
    spare = upload_limits().spare_bytes
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=spare + 1500))
    announce(arrivals, ("walk.mp4", 1000))
    # The first is to come still: its room is taken.
    with pytest.raises(BrokenWorldError) as told:
        announce(arrivals, ("walk.mp4", 1000))
    assert told.value.problem.slug == "disk-full"
    assert len(arrivals.all()) == 1


def test_a_disk_that_fills_up_loses_nothing_of_what_came(arrivals: Arrivals, monkeypatch: pytest.MonkeyPatch) -> None:
    delivery = announce(arrivals, ("walk.vtt", len(TEXT)))
    write(arrivals, delivery, 0, TEXT[:20])
    with monkeypatch.context() as patch:

        def full(*_: object, **__: object) -> None:
            raise OSError(28, "No space left on device")

        patch.setattr(Path, "open", full)
        with pytest.raises(BrokenWorldError) as told:
            write(arrivals, delivery, 20, TEXT[20:])
        assert told.value.problem.slug == "disk-full"
    write(arrivals, delivery, 20, TEXT[20:])
    assert finish(arrivals, delivery, TEXT).state == "waiting"


def test_an_empty_file_is_told_at_once(arrivals: Arrivals) -> None:
    delivery = announce(arrivals, ("walk.mp4", 0))
    assert (delivery.state, delivery.files[0].problem.slug) == ("done", "empty-file")


def test_put_away_leaves_nothing(arrivals: Arrivals, tmp_path: Path) -> None:
    delivery = announce(arrivals, ("walk.mp4", 100))
    write(arrivals, delivery, 0, b"x" * 50)
    arrivals.remove(delivery.id)
    assert list((tmp_path / "arriving").iterdir()) == []
    with pytest.raises(NotFoundError):
        write(arrivals, delivery, 50, b"x")


@pytest.mark.parametrize(
    "files",
    [
        (),
        (AnnouncedFile("walk.vtt", 5, words_of=1),),
        (AnnouncedFile("walk.vtt", 5, words_of=0),),
        (AnnouncedFile("walk.mp4", 5), AnnouncedFile("a.vtt", 5, words_of=-1)),
        (AnnouncedFile("walk.mp4", 5), AnnouncedFile("a.vtt", 5, words_of=0), AnnouncedFile("b.vtt", 5, words_of=0)),
        (AnnouncedFile("walk.mp4", 5), AnnouncedFile("a.vtt", 5, words_of=2), AnnouncedFile("b.vtt", 5, words_of=0)),
        (AnnouncedFile("walk.mp4", -1),),
    ],
)
def test_what_cannot_be_announced_is_refused(arrivals: Arrivals, files: tuple[AnnouncedFile, ...]) -> None:
    with pytest.raises(UserError) as told:
        arrivals.begin(Announced(files), author="Per Wick")
    assert told.value.problem.slug == "upload-asked"


def test_there_is_an_end_to_how_many_deliveries_stand(tmp_path: Path) -> None:
    arrivals = Arrivals(tmp_path / "arriving", replace(upload_limits(), most_deliveries=1))
    announce(arrivals, ("walk.vtt", 1))
    with pytest.raises(UserError) as told:
        announce(arrivals, ("walk.vtt", 1))
    assert told.value.problem.slug == "upload-asked"


@pytest.mark.parametrize(
    ("given_name", "kept"),
    [
        ("../../x<b>.mp4", "x<b>.mp4"),
        ("C:\\films\\walk.mp4", "walk.mp4"),
        ("/etc/passwd", "passwd"),
        ("walk\x00.mp4", "walk\ufffd.mp4"),
        ("walk\u202e4pm.exe", "walk\ufffd4pm.exe"),
        ("..", "unnamed"),
        ("", "unnamed"),
        ("a/", "unnamed"),
        ("x" * 5000, "x" * 200),
    ],
)
def test_a_name_is_kept_as_a_name(given_name: str, kept: str) -> None:
    assert base_name(given_name) == kept


@given(st.text())
def test_no_name_has_a_separator_or_a_sign_that_steers(name: str) -> None:
    assert not set(base_name(name)) & {"/", "\\", "\x00"}
    assert base_name(name).strip(".")
    assert clean(name).isprintable()


def test_the_limit_is_documented() -> None:
    text = (Path(__file__).parents[2] / "docs/workbench.md").read_text(encoding="utf-8")
    assert f"{upload_limits().most_file_bytes / 1e9:.0f} GB" in text
    assert f"{upload_limits().most_files} files" in text


# Over HTTP ------------------------------------------------------------------------------------------------------------


def test_only_our_own_page_may_send(client: TestClient) -> None:
    del client.headers["shutline-proof"]
    for method, path in (("POST", "/add/deliveries"), ("PUT", "/add/deliveries/0/files/0?at=0")):
        answer = client.request(method, path, content=b"{}", headers={"accept": "application/json"})
        assert (answer.status_code, answer.json()["error"]["slug"]) == (403, "web-not-proven")


@pytest.mark.parametrize("body", [b"", b"[]", b'{"files": 3}', b'{"files": [{"name": "x"}]}', b"\xff", b"x" * 300_000])
def test_what_is_no_announcement_is_refused_in_words(client: TestClient, body: bytes) -> None:
    answer = client.post("/add/deliveries", content=body)
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "upload-asked")


@pytest.mark.parametrize("name", ["..%2f..%2fetc", "nowhere", "%00", "a" * 4000])
def test_no_address_leads_out_of_the_folder(client: TestClient, name: str) -> None:
    for path in (f"/add/deliveries/{name}/files/0?at=0", f"/add/deliveries/{name}/files/99?at=0"):
        assert client.put(path, content=b"x").status_code == 404


@pytest.mark.parametrize("at", ["", "-1", "x", "1" * 40, "\u0663"])
def test_an_offset_that_is_none_is_refused(client: TestClient, at: str) -> None:
    begun = client.post("/add/deliveries", json={"files": [{"name": "walk.vtt", "byte_size": 9}]}).json()
    answer = client.put(f"/add/deliveries/{begun['id']}/files/0", params={"at": at}, content=b"x")
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "web-asked")


def test_a_piece_that_is_too_long_is_refused_before_it_is_held(client: TestClient) -> None:
    most = upload_limits().most_piece_bytes
    begun = client.post("/add/deliveries", json={"files": [{"name": "walk.mp4", "byte_size": most + 9}]}).json()
    address = f"/add/deliveries/{begun['id']}"
    answer = client.put(f"{address}/files/0?at=0", content=b"x" * (most + 1))
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "upload-piece")
    assert client.get(f"{address}.json").json()["files"][0]["received"] <= most
