"""Report and outputs on the web: made in the background, handed out under the car's name, never out of date."""

from __future__ import annotations

import re
import time
from email.message import Message
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.usecases import outputs as outputs_module
from shutline.usecases.review import confirm, strike
from shutline.web.outputs_page import disposition

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/outputs"


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_WORDS", str(tmp_path / "own" / "words"))


def make(client: TestClient, *only: str) -> dict[str, Any]:
    answer = client.post(f"{HERE}/make", json={"only": list(only)} if only else {})
    assert answer.status_code == 202
    now = answer.json()
    until = time.monotonic() + 200
    while not now["making"]["ended"]:
        assert time.monotonic() < until
        time.sleep(0.1)
        now = client.get(f"{HERE}.json").json()
    return dict(now)


def called(header: str) -> str | None:
    """Read a Content-Disposition as the standard library reads RFC 2231 and 5987."""
    message = Message()
    message["content-disposition"] = header
    return message.get_filename()


def test_all_is_made_in_the_background_and_is_what_the_report_command_writes(
    client: TestClient, store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "Not made yet" in client.get(HERE).text
    now = make(client)
    assert now["making"]["problem"] is None
    assert {output["fresh"] for output in now["made"]["outputs"]} == {True}
    assert main(["report", CAR, "--out", str(tmp_path / "out"), "--json", "--store", str(store.folder)]) == 0
    capsys.readouterr()
    for file in (tmp_path / "out").iterdir():
        sent = client.get(f"{HERE}/{file.name}")
        assert sent.status_code == 200
        if file.suffix != ".pdf":  # its time stands in it to the second
            assert sent.content == file.read_bytes()
        else:
            assert sent.content.startswith(b"%PDF-1.7")


def test_a_file_is_made_when_it_is_asked_for_and_called_after_the_car(client: TestClient) -> None:
    sent = client.get(f"{HERE}/report.html?keep")
    header = sent.headers["content-disposition"]
    assert header.startswith("attachment; ")
    assert called(header) == "Ostrel Pavane, blue - report.html"
    assert client.get(f"{HERE}/report.html").headers["content-disposition"].startswith("inline; ")


@pytest.mark.parametrize(
    "name", ["Café 1968 - report.pdf", 'a"b\\c - report.pdf', "50% off - report.pdf", "平 - report.pdf"]
)
def test_names_go_over_the_wire_as_rfc_5987_writes_them(name: str) -> None:
    header = disposition(name, "report.pdf", keep=True)
    assert header.isascii()
    assert '"' not in re.sub(r'filename="[^"]*"', "", header)
    assert called(re.sub(r'filename="[^"]*"; ', "", header)) == name


def test_the_page_may_look_as_it_does_and_nothing_else(client: TestClient) -> None:
    policy = client.get(f"{HERE}/report.html").headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'self'" in policy
    assert "sandbox allow-popups;" in policy
    assert re.search(r"style-src 'sha256-[A-Za-z0-9+/]{43}='", policy)
    assert "script" not in policy
    assert "unsafe" not in policy
    outer = client.get(HERE).headers["content-security-policy"]
    assert "frame-src 'self'" in outer
    assert "script-src 'self'" in outer
    assert "unsafe" not in outer


def test_texts_are_shown_as_words_and_cannot_pass_for_a_page(client: TestClient) -> None:
    page = client.get(f"{HERE}?show=captions").text
    assert "side &amp;amp; the carpet" in page
    assert "00:00:18.500 --&gt; 00:00:23.000" in page
    for name in ("captions.vtt", "car-file.json"):
        assert client.get(f"{HERE}/{name}").headers["content-type"] == "text/plain; charset=utf-8"
    assert client.get(f"{HERE}/car-file.json?keep").headers["content-type"] == "application/json"
    assert client.get(f"{HERE}/captions.vtt?keep").headers["content-type"].startswith("text/vtt")


def test_the_words_it_is_offered_with_are_made_looked_at_and_handed_out(client: TestClient, store: Store) -> None:
    confirm(store, CAR, [kept.id for kept in store.car_file(CAR).findings], author="Ida Quill")
    page = client.get(f"{HERE}?show=description").text
    assert "The nearside front wing" in page
    assert client.get(f"{HERE}/offer.jsonld?keep").headers["content-type"] == "application/ld+json"
    assert client.get(f"{HERE}/description.md").headers["content-type"] == "text/plain; charset=utf-8"
    sent = client.get(f"{HERE}/description.html")
    assert re.search(r"style-src 'sha256-", sent.headers["content-security-policy"])
    assert re.search(r'title="said at 0:0\d, finding', sent.text)


def test_what_is_struck_is_said_to_be_out_of_date_and_is_never_handed_out_again(
    client: TestClient, store: Store
) -> None:
    assert "rust on the sill" in client.get(f"{HERE}/report.html").text
    rust = [kept.id for kept in store.car_file(CAR).findings if "rust on the sill" in kept.finding.footings[0].quote]
    strike(store, CAR, rust, author="Ida Quill")
    page = client.get(HERE).text
    assert "what it is made from has changed since" in page
    assert "report.html?keep" not in page
    for name in ("report.html", "car-file.json"):
        text = client.get(f"{HERE}/{name}").text
        assert not any(id_ in text for id_ in rust)
    assert "rust on the sill" not in client.get(f"{HERE}/report.html").text
    assert "has changed since" not in client.get(HERE).text


def test_what_goes_wrong_is_told_and_can_be_tried_again(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    with monkeypatch.context() as patch:
        patch.setattr(outputs_module, "make_report", broken)
        now = make(client, "captions")
    assert now["making"]["problem"]["slug"] == "output-failed"
    assert "it could not be made: ZeroDivisionError" in client.get(HERE).text
    assert make(client, "captions")["making"]["problem"] is None


@pytest.mark.parametrize("body", [b"[]", b'{"only": "html"}', b'{"only": [3]}', b"no json", b'{"only": ["docx"]}'])
def test_what_cannot_be_made_is_refused(client: TestClient, body: bytes) -> None:
    answer = client.post(f"{HERE}/make", content=body, headers={"accept": "application/json"})
    assert answer.status_code == 400
    assert answer.json()["error"]["slug"] in {"web-sent", "output-unknown"}


@pytest.mark.parametrize("path", [f"{HERE}/made.json", f"{HERE}/..%2F..%2Fshutline.sqlite", "/cars/nobody/outputs"])
def test_no_other_file_and_no_other_car_is_handed_out(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_to_look_at_what_there_is_not_is_refused(client: TestClient) -> None:
    assert client.get(f"{HERE}?show=docx").status_code == 400


def test_outputs_need_a_session(outside: TestClient) -> None:
    for path in (HERE, f"{HERE}.json", f"{HERE}/report.html"):
        assert outside.get(path).status_code == 401
