"""The review's addresses: the queue and its twin, changes signed and refused where they come too late."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import cv2
import numpy as np
import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.usecases.review import confirm, strike
from shutline.web import Access

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/review"

Post = Callable[..., Any]


@pytest.fixture
def post(client: TestClient) -> Post:
    def send(path: str, body: Any, status: int = 200) -> Any:
        answer = client.post(f"{AT}/{path}", json=body, headers={"accept": "application/json"})
        assert answer.status_code == status, answer.text
        return answer.json()

    return send


def kept_of(store: Store, part: str) -> Any:
    return next(kept for kept in store.car_file(CAR).findings if kept.finding.part == part)


def deed(kept: Any, decision: str, version: int | None = None) -> dict[str, Any]:
    return {"decisions": [{"id": kept.id, "version": version or kept.version, "decision": decision}]}


@pytest.mark.parametrize("order", ["doubt", "film"])
def test_the_queue_is_what_the_command_line_lists(
    client: TestClient, store: Store, order: str, capsys: pytest.CaptureFixture[str]
) -> None:
    there = client.get(f"{AT}.json?order={order}").json()
    assert main(["review", CAR, "--order", order, "--json", "--store", str(store.folder)]) == 0
    assert there == json.loads(capsys.readouterr().out)
    assert there["left"] > 4


def test_the_history_is_what_the_command_line_tells(
    client: TestClient, store: Store, post: Post, capsys: pytest.CaptureFixture[str]
) -> None:
    seat = kept_of(store, "seat")
    post("decide", deed(seat, "strike"))
    there = client.get(f"{AT}/history.json").json()
    assert main(["history", CAR, "--json", "--store", str(store.folder)]) == 0
    assert there == json.loads(capsys.readouterr().out)
    assert [(line["change"]["author"], line["change"]["action"]) for line in there["lines"]] == [
        ("Ida Quill", "struck")
    ]
    page = client.get(f"{AT}/history").text
    assert "Ida Quill struck it" in page


def test_the_first_shown_is_the_most_doubtful_with_its_words_still_and_why(client: TestClient) -> None:
    first = client.get(f"{AT}.json").json()["entries"][0]
    page = client.get(AT).text
    assert f'data-id="{first["id"]}"' in page
    assert f"&#34;id&#34;: &#34;{first['id']}" in page or f'"id": "{first["id"]}"' in page
    one = next(e for e in client.get(f"{AT}.json").json()["entries"] if e["kind"] == "finding")
    shown = client.get(f"{AT}/{one['id']}").text
    assert "/stills/" in shown
    assert "Why" in shown
    assert "<mark>" in shown
    assert client.get(f"{AT}/{one['id']}.json").json()["entry"] == one


def test_what_was_said_is_words_in_the_review_too(client: TestClient, store: Store, post: Post) -> None:
    seat = kept_of(store, "seat")
    bad = '<img src=x onerror=alert(1)> \' data-x="y" & more'
    post("amend", {"id": seat.id, "version": seat.version, "fields": {"words": bad}})
    for address in (f"{AT}/{seat.id}", f"{AT}/{seat.id}?piece", f"{AT}/history", AT):
        page = client.get(address).text
        assert "<img src=x" not in page
        assert 'data-x="y"' not in page
    assert "&lt;img src=x" in client.get(f"{AT}/{seat.id}?piece").text


def test_a_decision_is_signed_and_kept(client: TestClient, store: Store, post: Post) -> None:
    wing = kept_of(store, "front_wing")
    done = post("decide", deed(wing, "confirm"))
    assert done["findings"][0]["finding"]["state"] == "stands"
    last = store.finding(wing.id).changes[-1]
    assert (last.author, last.action) == ("Ida Quill", "confirmed")
    assert post("decide", deed(store.finding(wing.id), "undo"))["findings"][0]["finding"]["state"] == "heard"


def test_a_stale_change_is_refused_with_both_versions(store: Store, post: Post) -> None:
    wing = kept_of(store, "front_wing")
    post("amend", {"id": wing.id, "version": wing.version, "fields": {"severity": "severe"}})
    late = post("amend", {"id": wing.id, "version": wing.version, "fields": {"side": "off"}}, 409)
    assert late["error"]["slug"] == "stale-change"
    assert late["expected_version"] == wing.version
    assert (late["present"]["finding"]["severity"], late["present"]["finding"]["side"]) == ("severe", "near")
    assert (late["wanted"]["severity"], late["wanted"]["side"]) == ("slight", "off")
    assert late["said"]["present"] != late["said"]["wanted"]
    assert late["said"]["wanted"].startswith("Offside front wing")
    late = post("decide", deed(wing, "strike", wing.version), 409)
    assert late["wanted"]["state"] == "struck"
    assert store.finding(wing.id).finding.severity == "severe"
    page = post("decide", deed(wing, "strike", store.finding(wing.id).version))
    assert page["findings"][0]["finding"]["state"] == "struck"


def test_several_decisions_are_done_together_or_not_at_all(store: Store, post: Post) -> None:
    wing, seat = kept_of(store, "front_wing"), kept_of(store, "seat")
    body = {"decisions": [*deed(wing, "confirm")["decisions"], *deed(seat, "confirm", 9)["decisions"]]}
    post("decide", body, 409)
    assert store.finding(wing.id).finding.state == "heard"


@pytest.mark.parametrize(
    ("path", "body", "slug"),
    [
        ("decide", {"decisions": [{"id": "x", "decision": "burn"}]}, "web-sent"),
        ("decide", {"decisions": "all"}, "web-sent"),
        ("decide", {"decisions": [{"id": "x", "decision": "confirm"}] * 201}, "web-sent"),
        ("amend", {"id": 1}, "web-sent"),
        ("amend", {"id": "x", "version": 1, "fields": {"part": ["sill"]}}, "web-sent"),
        ("enter", {"recording": "", "at_s": "soon", "fields": {}, "token": "t"}, "web-sent"),
        ("still", {"id": "x", "version": 1, "recording": "y", "at_s": 1, "sha256": "z"}, "web-sent"),
    ],
)
def test_what_our_pages_do_not_send_is_refused(post: Post, path: str, body: Any, slug: str) -> None:
    assert post(path, body, 400)["error"]["slug"] == slug


def test_too_much_is_not_read_to_its_end(client: TestClient) -> None:
    answer = client.post(f"{AT}/amend", content=b"[" * 200_000, headers={"accept": "application/json"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "web-sent")
    assert client.post(f"{AT}/amend", content=b"\xff\xfe").status_code == 400


def test_what_was_missed_is_entered_once_at_its_moment(client: TestClient, store: Store, post: Post) -> None:
    film = store.car_file(CAR).recordings[0]
    fields = {"part": "grille", "condition": "missing", "found": "yes", "side": "", "words": ""}
    body = {"recording": film.id, "at_s": 3.26, "fields": fields, "token": "a-token"}
    first = post("enter", body)["findings"][0]
    assert post("enter", body)["findings"][0]["id"] == first["id"]
    assert [kept.id for kept in store.car_file(CAR).findings].count(first["id"]) == 1
    assert first["stills"][0]["at_s"] == pytest.approx(3.2, abs=0.01)
    assert client.get(f"/stills/{first['stills'][0]['sha256']}").headers["content-type"] == "image/jpeg"
    assert "seen at 0:03" in client.get(f"{AT}/{first['id']}").text
    post("enter", {**body, "token": "b", "at_s": 999}, 400)
    post("enter", {**body, "token": "b", "fields": {**fields, "part": "flux"}}, 400)


def test_another_still_is_taken_from_the_film_and_comes_back_by_undo(store: Store, post: Post) -> None:
    wing = kept_of(store, "front_wing")
    film = store.car_file(CAR).recordings[0]
    body = {"id": wing.id, "version": wing.version, "recording": film.id, "at_s": 2.44}
    done = post("still", body)["findings"][0]
    assert done["stills"][0]["at_s"] == pytest.approx(2.4, abs=0.01)
    assert post("still", {**body, "at_s": 3}, 409)["error"]["slug"] == "stale-change"
    back = post("decide", {"decisions": [{"id": wing.id, "version": done["version"], "decision": "undo"}]})
    assert back["findings"][0]["stills"] == json.loads(json.dumps([_plain(still) for still in wing.stills]))


def _plain(still: Any) -> dict[str, Any]:
    return {name: getattr(still, name) for name in ("at_s", "sha256", "width", "height", "sharpness", "steadiness")}


def test_a_frame_is_shown_without_being_kept(client: TestClient, store: Store) -> None:
    film = store.car_file(CAR).recordings[0]
    before = sorted(store.derived.rglob("*"))
    answer = client.get(f"{AT}/frame?recording={film.id}&at_s=4.0")
    assert answer.headers["content-type"] == "image/jpeg"
    picture = cv2.imdecode(np.frombuffer(answer.content, np.uint8), cv2.IMREAD_COLOR)
    assert picture.shape[:2] == (180, 320)
    assert sorted(store.derived.rglob("*")) == before
    for asked in ("at_s=x", "at_s=nan", "at_s=1e9", ""):
        assert client.get(f"{AT}/frame?recording={film.id}&{asked}").status_code == 400
    assert client.get(f"{AT}/frame?recording=none&at_s=1").status_code == 404


def test_the_sentence_at_a_moment(client: TestClient, store: Store) -> None:
    film = store.car_file(CAR).recordings[0]
    said = client.get(f"{AT}/words.json?recording={film.id}&at_s=8.5").json()
    assert said["text"]
    assert said["start_s"] <= 8.5


@pytest.mark.parametrize("address", ["/nothing", "/nothing.json", "/nothing?piece"])
def test_what_is_not_in_the_queue_is_said(client: TestClient, address: str) -> None:
    assert client.get(f"{AT}{address}").status_code == 404
    assert client.get(f"{AT}.json?order=colour").json()["error"]["slug"] == "review-order"


def test_the_yard_and_the_review_count_the_same(client: TestClient, store: Store, post: Post) -> None:
    def both() -> tuple[str, str]:
        review = re.search(r'class="left-words">([^<]*)<', client.get(AT).text)
        yard = re.search(r"<p>([^<]*?) to look at", client.get("/yard").text)
        return (review[1] if review else "", yard[1] if yard else "nothing")

    queue = client.get(f"{AT}.json").json()
    car = store.find_car(CAR)
    assert (queue["findings_left"], queue["facts_left"]) == (car.findings_heard, car.facts_heard)
    assert queue["facts_left"] > 0
    assert both() == (f"{car.findings_heard} findings and {car.facts_heard} facts",) * 2
    kept = [*store.car_file(CAR).findings, *store.car_file(CAR).facts][1:]
    post("decide", {"decisions": [{"id": one.id, "version": one.version, "decision": "confirm"} for one in kept]})
    assert both() == ("1 finding", "1 finding")


def test_undo_takes_back_what_this_person_decided_last_on_an_earlier_visit_too(
    client: TestClient, store: Store, post: Post
) -> None:
    wing, seat, boot = (kept_of(store, part) for part in ("front_wing", "seat", "boot_lid"))
    fact = store.car_file(CAR).facts[0]
    confirm(store, CAR, [wing.id], author="Ida Quill")
    strike(store, CAR, [seat.id, fact.id], author="Ida Quill")
    confirm(store, CAR, [boot.id], author="Ben Oake")
    # Decided together, taken back together; what Ben decided since is his.
    done = post("undo-last", {})
    assert {one["id"] for one in (*done["findings"], *done["facts"])} == {seat.id, fact.id}
    assert store.finding(seat.id).finding.state == "heard"
    assert store.finding(boot.id).finding.state == "stands"
    strike(store, CAR, [wing.id], author="Ben Oake")
    left = post("undo-last", {}, 400)["error"]
    assert left["slug"] == "nothing-of-yours"
    assert "nothing that Ida Quill decided on this car is left to take back; Ben Oake decided here too" in left["found"]
    assert not re.search("[0-9a-f]{16}", json.dumps(left))
    assert store.finding(wing.id).finding.state == "struck"


def test_undo_by_command_is_the_same(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    wing = kept_of(store, "front_wing")
    confirm(store, CAR, [wing.id], author="Ida")
    asked = ["undo", CAR, "--by", "Ida", "--store", str(store.folder)]
    assert main(asked) == 0
    assert "front wing" in capsys.readouterr().out
    assert main(asked) == 2
    assert "nothing that Ida decided" in capsys.readouterr().err


def test_what_cannot_be_undone_is_named_in_words(store: Store, post: Post) -> None:
    wing = kept_of(store, "front_wing")
    told = post("decide", deed(wing, "undo"), 400)["error"]
    assert told["where"] == "Ostrel Pavane, blue, nearside front wing: dent, slight"
    assert not re.search("[0-9a-f]{16}", json.dumps(told))


def test_an_unknown_part_is_answered_with_the_nearest(store: Store, post: Post) -> None:
    wing = kept_of(store, "front_wing")
    for field, given, near in (("part", "fender", "front wing, rear wing"), ("condition", "scratchd", "scratch")):
        told = post("amend", {"id": wing.id, "version": wing.version, "fields": {field: given}}, 400)["error"]
        assert told["allowed"].startswith(f"the nearest are: {near}")
        assert told["advice"] == "Write one of these."
    told = post("amend", {"id": wing.id, "version": wing.version, "fields": {"part": "flux"}}, 400)["error"]
    assert "clear the field to see them all" in told["advice"]


def plain_form(client: TestClient, page: str, label: str) -> Any:
    """Send the plain form that has a button of that label."""
    forms = re.findall(r'<form action="([^"]+)" method="post">(.*?)</form>', page, re.DOTALL)
    address, inside = next(one for one in forms if f">{label}</button>" in one[1])
    fields: dict[str, list[str]] = {}
    for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', inside):
        fields.setdefault(name, []).append(value)
    return client.post(address, data=fields)


def test_without_script_it_is_let_stand_struck_and_taken_back(client: TestClient, store: Store) -> None:
    del client.headers["shutline-proof"]
    wing, seat = kept_of(store, "front_wing"), kept_of(store, "seat")
    answer = plain_form(client, client.get(f"{AT}/{wing.id}").text, "Stands")
    assert (answer.status_code, answer.headers["location"]) == (303, f"{AT}?order=doubt")
    assert store.finding(wing.id).finding.state == "stands"
    assert store.finding(wing.id).changes[-1].author == "Ida Quill"
    late = client.get(f"{AT}/{seat.id}?order=film").text
    assert plain_form(client, late, "Strike").headers["location"] == f"{AT}?order=film"
    assert store.finding(seat.id).finding.state == "struck"
    # The page that was left open is late now, and says so with both versions.
    answer = plain_form(client, late, "Stands")
    assert answer.status_code == 409
    assert "As you wanted it" in answer.text
    answer = plain_form(client, client.get(AT).text, "Undo what I decided last")
    assert answer.headers["location"] == f"{AT}/{seat.id}?order=doubt"
    assert store.finding(seat.id).finding.state == "heard"
    page = client.get(f"{AT}/{wing.id}").text
    assert plain_form(client, page, "Take the last change of this back").status_code == 303
    assert store.finding(wing.id).finding.state == "heard"
    page = client.get(AT, headers={"accept": "text/html"})
    assert plain_form(client, page.text, "Undo what I decided last").status_code == 400


def test_a_plain_form_without_its_proof_or_with_nothing_in_it_does_nothing(
    client: TestClient, store: Store, access: Access
) -> None:
    proof = client.headers.pop("shutline-proof")
    wing = kept_of(store, "front_wing")
    for data, status in (
        ({"stand": f"{wing.id}:1"}, 403),
        ({"stand": f"{wing.id}:1", "shutline-proof": "x"}, 403),
        ({"shutline-proof": proof}, 400),
        ({"shutline-proof": proof, "stand": f"{wing.id}:soon"}, 400),
        ({"shutline-proof": proof, "stand": "nothing:1"}, 404),
    ):
        assert client.post(f"{AT}/plain", data=data).status_code == status
    assert store.finding(wing.id) == wing


def test_when_all_is_decided_the_page_says_so(client: TestClient, store: Store, post: Post) -> None:
    file = store.car_file(CAR)
    kept = [*file.findings, *file.facts]
    post("decide", {"decisions": [{"id": one.id, "version": one.version, "decision": "confirm"} for one in kept]})
    assert client.get(f"{AT}.json").json()["left"] == 0
    assert "All looked at" in client.get(AT).text
