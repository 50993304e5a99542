from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from shutline.web import Access

HERE, CAR = "127.0.0.1:8766", "ostrel-pavane"

PAGES = ("/yard", "/yard.json", f"/cars/{CAR}", f"/cars/{CAR}.json", "/nowhere")


@pytest.mark.parametrize("path", PAGES)
def test_nothing_is_shown_to_a_browser_that_was_not_let_in(outside: TestClient, path: str) -> None:
    answer = outside.get(path)
    assert answer.status_code == 401
    assert "Pavane" not in answer.text
    assert "shutline serve" in answer.text


def test_the_opening_link_lets_in_and_leaves_no_token_in_the_address(outside: TestClient, access: Access) -> None:
    answer = outside.get(f"/open/{access.token}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert access.token.lower() not in cookie
    assert outside.get("/yard").status_code == 200


@pytest.mark.parametrize("token", ["", "x", "A" * 43])
def test_another_token_does_not(outside: TestClient, token: str) -> None:
    assert outside.get(f"/open/{token}").status_code in {401, 404}
    assert outside.get("/yard").status_code == 401


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example:8766", "127.0.0.1", "127.0.0.1:80", ""])
def test_another_name_is_refused_before_anything_else(client: TestClient, host: str) -> None:
    answer = client.get("/yard.json", headers={"host": host})
    assert answer.status_code == 421
    assert answer.json()["error"]["slug"] == "web-host"


def test_every_answer_carries_the_headers_that_keep_others_out(client: TestClient) -> None:
    for path in (*PAGES, "/static/paper.css", "/type/source-sans-3-latin-wght-normal.woff2"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"


def test_a_change_from_a_page_elsewhere_is_refused(client: TestClient) -> None:
    answer = client.post("/yard", headers={"origin": "http://evil.example", "accept": "application/json"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (403, "web-elsewhere")


def test_a_change_without_the_proof_is_refused(client: TestClient) -> None:
    del client.headers["shutline-proof"]
    answer = client.post("/yard", headers={"origin": f"http://{HERE}", "accept": "application/json"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (403, "web-not-proven")


def test_without_a_network_there_is_no_pass_phrase(outside: TestClient) -> None:
    assert outside.post("/come-in", data={"phrase": "None"}).status_code == 401


def test_the_pass_phrase_lets_in_by_name_and_is_not_to_be_guessed_for_ever(outside: TestClient, access: Access) -> None:
    access.phrase = "bramble-otter"
    answer = outside.post("/come-in", data={"phrase": "bramble-otter", "name": " Per  Wick "})
    assert answer.status_code == 303
    assert [s.author for s in access._sessions.values()] == ["Per Wick"]
    for _ in range(20):
        assert outside.post("/come-in", data={"phrase": "wrong"}).status_code == 401
    assert outside.post("/come-in", data={"phrase": "bramble-otter"}).status_code == 401


def test_what_was_said_is_shown_as_words_never_as_markup(client: TestClient) -> None:
    page = client.get(f"/cars/{CAR}").text
    assert "<b>the seat" not in page
    assert "&amp; the carpet" in page


def test_errors_have_one_shape_as_page_and_as_json(client: TestClient) -> None:
    page = client.get("/cars/nobody")
    assert page.status_code == 404
    assert "Look in the list of cars" in page.text
    error = client.get("/cars/nobody.json").json()["error"]
    assert set(error) == {"slug", "where", "found", "allowed", "advice"}
