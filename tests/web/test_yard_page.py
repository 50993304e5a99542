from __future__ import annotations

import html
import json
import re

import pytest
from starlette.testclient import TestClient

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.cli import main
from shutline.store import Store


@pytest.mark.parametrize(
    ("address", "arguments"),
    [
        ("/yard.json", ()),
        ("/yard.json?words=dent", ("dent",)),
        ("/yard.json?words=blue+pav&open=heard", ("blue", "pav", "--open", "heard")),
        ("/yard.json?words=zebra&skip=1", ("zebra", "--skip", "1")),
    ],
)
def test_the_yard_is_what_the_command_line_lists(
    client: TestClient, store: Store, address: str, arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    there = client.get(address)
    assert main(["list", *arguments, "--json", "--store", str(store.folder)]) == 0
    assert there.json() == json.loads(capsys.readouterr().out)


def test_the_page_shows_the_cars_that_fit(client: TestClient) -> None:
    assert "Ostrel Pavane, blue" in client.get("/yard?words=dent").text
    assert "No car fits" in client.get("/yard?words=zebra").text


@pytest.mark.parametrize("asked", ["skip=-1", "skip=x", "skip=1e9", "open=everything", "skip=99999999999999999999"])
def test_what_cannot_be_asked_is_said(client: TestClient, asked: str) -> None:
    answer = client.get(f"/yard.json?{asked}")
    assert answer.status_code == 400
    assert answer.json()["error"]["allowed"]


def test_what_was_found_is_marked_and_leads_to_its_moment(client: TestClient, store: Store) -> None:
    page = client.get("/yard?words=rust+sill").text
    (passage,) = re.findall(r'<ul class="passages".*?</ul>', page, re.DOTALL)
    assert "<mark>rust</mark>" in passage
    assert re.search(r"<mark>sill,?</mark>", passage)
    ((address, moment),) = re.findall(r'<a href="([^"]+)"><span class="at">([\d:]+)</span>', passage)
    said = [word for stretch in store.car_file("ostrel-pavane").recordings[0].stretches for word in stretch.words]
    rust = next(word.start_s for word in said if word.text == "rust")
    assert html.unescape(address).endswith(f"?recording=1&at={rust:.2f}")
    assert moment == f"0:{int(rust):02d}"
    there = client.get(html.unescape(address)).text
    (now,) = re.findall(r'<p id="now"[^>]*>(.*?)</p>', there, re.DOTALL)
    assert "rust" in now


def test_what_was_said_is_never_markup_in_a_result(client: TestClient, store: Store) -> None:
    said = stretch_of("The <b>seat</b> is torn & odd.", 1.0, 3.0, origin=StretchOrigin.TRANSCRIPT)
    store.replace_stretches(store.car_file("ostrel-pavane").recordings[0].id, [said])
    page = client.get("/yard?words=seat").text
    assert "The <mark>&lt;b&gt;seat&lt;/b&gt;</mark> is torn &amp; odd." in page
    assert "<b>" not in page


def test_a_car_is_known_by_a_small_picture(client: TestClient) -> None:
    ((address, alt),) = re.findall(r'<img src="(/small/[0-9a-f]{64})" alt="([^"]+)"', client.get("/yard").text)
    small = client.get(address)
    assert (small.status_code, small.headers["content-type"], alt) == (200, "image/jpeg", "A picture of it")
    assert "immutable" in small.headers["cache-control"]
    assert client.get(f"/small/{'0' * 64}").status_code == 404
    assert client.get("/small/passwd").status_code == 404


def test_a_film_has_no_small_picture(client: TestClient, store: Store) -> None:
    film = store.car_file("ostrel-pavane").recordings[0].original.sha256
    answer = client.get(f"/small/{film}", headers={"accept": "application/json"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (404, "no-small-picture")
