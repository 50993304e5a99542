"""The car's page: the same record as the command line, the words marked, and nothing said that is not so."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from shutline.car.notes import NoteKind
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.look import show_car
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm, strike

CAR = "ostrel-pavane"
STATIC = ("paper.css", "car.css", "workbench.js", "car.js", "car_plan.js", "car_words.js", "mark.svg")
TYPE = ("source-sans-3-latin-wght-normal.woff2", "source-serif-4-latin-wght-normal.woff2")
ITALIC = "source-serif-4-latin-wght-italic.woff2"


def moving(page: str) -> dict[str, object]:
    found = re.search(r'<script type="application/json" id="moving">(.*?)</script>', page, re.DOTALL)
    assert found
    loaded: dict[str, object] = json.loads(found.group(1))
    return loaded


def plain(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_twin_is_what_the_command_line_shows(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    there = client.get(f"/cars/{CAR}.json")
    assert main(["show", CAR, "--json", "--store", str(store.folder)]) == 0
    assert there.json() == json.loads(capsys.readouterr().out)


def test_captions_are_those_that_the_report_writes(client: TestClient, store: Store, tmp_path: Path) -> None:
    answer = client.get(f"/cars/{CAR}/captions/1.vtt")
    assert answer.headers["content-type"].startswith("text/vtt")
    make_report(store, CAR, out=tmp_path / "out", only=["captions"])
    assert answer.content == (tmp_path / "out" / "captions.vtt").read_bytes()


def test_the_film_is_sent_by_the_piece(client: TestClient, store: Store) -> None:
    page = client.get(f"/cars/{CAR}").text
    (address,) = re.findall(r'<video [^>]*src="([^"]+)"', page)
    piece = client.get(address, headers={"range": "bytes=100-199"})
    assert piece.status_code == 206
    assert piece.headers["content-range"].startswith("bytes 100-199/")
    whole = client.get(address)
    assert piece.content == whole.content[100:200]
    assert int(whole.headers["content-length"]) == show_car(store, CAR).car.recordings[0].original.byte_size


def test_every_finding_is_marked_in_the_words_and_leads_to_its_entry(client: TestClient, store: Store) -> None:
    page = client.get(f"/cars/{CAR}").text
    entries = set(re.findall(r'<details class="one [a-z_]+" id="finding-(\d+)"', page))
    marked = {number for of in re.findall(r'data-of="([\d ]+)"', page) for number in of.split()}
    assert len(entries) == len(show_car(store, CAR).car.going_out()) > 5
    assert marked == entries
    for target in re.findall(r'href="#(finding-\d+)"', page):
        assert f'id="{target}"' in page


def test_every_word_has_its_start_in_the_order_it_was_spoken(client: TestClient, store: Store) -> None:
    steps = moving(client.get(f"/cars/{CAR}").text)["words"]
    stretches = show_car(store, CAR).car.recordings[0].stretches
    assert isinstance(steps, list)
    assert [len(own) for own in steps] == [len(stretch.words) for stretch in stretches]
    for own, stretch in zip(steps, stretches, strict=True):
        starts = [sum(own[: i + 1]) / 100 for i in range(len(own))]
        assert starts == pytest.approx([word.start_s for word in stretch.words], abs=0.006)


def test_every_place_that_is_spoken_of_is_on_the_drawing(client: TestClient) -> None:
    page = client.get(f"/cars/{CAR}").text
    held = moving(page)
    keys = {key for place in held["places"] for key in (*place[0], *place[1])} | set(held["silent"])  # type: ignore[attr-defined, call-overload]
    assert keys
    assert keys <= set(re.findall(r'id="plan-([^"]+)"', page))


def test_what_is_only_heard_says_so_and_a_confirmed_one_does_not(client: TestClient, store: Store) -> None:
    kept = show_car(store, CAR).car.going_out()
    page = client.get(f"/cars/{CAR}").text
    assert f"All {len(kept)} findings are only heard" in plain(page)
    assert page.count('<span class="how">only heard</span>') == len(kept)
    confirm(store, CAR, [kept[0].id], author="Ida Quill")
    page = client.get(f"/cars/{CAR}").text
    assert f"{len(kept) - 1} of {len(kept)} findings are only heard" in plain(page)
    assert page.count('<span class="how">stands</span>') == 1


def test_struck_findings_are_shown_only_when_asked_for(client: TestClient, store: Store) -> None:
    kept = show_car(store, CAR).car.going_out()[0]
    strike(store, CAR, [kept.id], author="Ida Quill")
    page = client.get(f"/cars/{CAR}").text
    assert kept.id not in page
    assert "Show the 1 that was struck" in plain(page)
    asked = client.get(f"/cars/{CAR}?struck=shown").text
    assert kept.id in asked
    assert "a person has rejected it" in plain(asked)


def test_silence_is_never_good_news(client: TestClient, store: Store) -> None:
    words = plain(client.get(f"/cars/{CAR}").text)
    assert "It does not mean that they are good, and it does not mean that they are bad." in words
    assert len(show_car(store, CAR).silent_parts) > 5


def test_what_was_said_cannot_end_the_data_that_the_script_reads(client: TestClient, store: Store) -> None:
    page = client.get(f"/cars/{CAR}").text
    assert page.count("<script") == page.count("</script>") == 2
    assert ' style="' not in page
    assert "<style" not in page


def test_of_several_recordings_one_is_chosen(client: TestClient, store: Store, tmp_path: Path) -> None:
    words = tmp_path / "second.vtt"
    words.write_text("WEBVTT\n\n00:00:01.000 --> 00:00:04.000\nThe gearbox is noisy.\n", encoding="utf-8")
    add(store, [words], car=CAR)
    first = client.get(f"/cars/{CAR}").text
    assert 'aria-label="Recordings"' in first
    assert "<video" in first
    second = client.get(f"/cars/{CAR}?recording=2").text
    assert "<video" not in second
    assert "The gearbox" in plain(second)
    third = client.get(f"/cars/{CAR}?recording=3", headers={"accept": "application/json"})
    assert (third.status_code, third.json()["error"]["slug"]) == (404, "recording-number")
    assert client.get(f"/cars/{CAR}?recording=two").status_code == 400


def test_a_car_without_a_recording_has_its_page(client: TestClient, store: Store) -> None:
    store.create_car("empty", title="Not filmed yet")
    words = plain(client.get("/cars/empty").text)
    assert "Nothing has been filmed of this car yet" in words
    assert "says nothing for the car, and nothing against it" in words
    assert client.get("/cars/empty/plan-folded?recording=0").status_code == 200


def test_what_was_noted_at_the_car_is_shown_at_its_place(client: TestClient, store: Store) -> None:
    store.add_note(
        CAR,
        NoteKind.TYPED,
        part="bonnet",
        side=None,
        position=None,
        author="Per Wick",
        token=CAR,
        at="2026-03-01T09:00:00Z",
        words="Shuts <flush>",
    )
    page = client.get(f"/cars/{CAR}").text
    assert "Shuts <flush> Typed note, Per Wick, 1 March 2026." in plain(page)
    assert "<flush>" not in page


def test_the_folded_plan_has_the_same_parts(client: TestClient) -> None:
    page = client.get(f"/cars/{CAR}").text
    folded = client.get(f"/cars/{CAR}/plan-folded").text
    assert 'class="plan folded"' in folded
    assert set(re.findall(r'id="plan-([a-z_-]+)" data-part', page)) == set(
        re.findall(r'id="plan-([a-z_-]+)" data-part', folded)
    )


def test_the_page_of_a_usual_car_is_light(client: TestClient, store: Store, many_findings: Callable[..., None]) -> None:
    """Issue 4: under 300 kB without media; 100 findings are taken for a usual car, as in its figures."""
    many_findings(store, CAR, 100)
    page = client.get(f"/cars/{CAR}", headers={"accept-encoding": "gzip"})
    sent = int(page.headers["content-length"])
    sent += sum(len(client.get(f"/static/{name}").content) for name in STATIC)
    sent += sum(len(client.get(f"/type/{name}").content) for name in (*TYPE, ITALIC))
    assert sent < 300_000
    assert len(page.content) < 300_000


def test_a_thousand_findings_are_all_there_and_their_stills_wait(
    client: TestClient, store: Store, many_findings: Callable[..., None]
) -> None:
    many_findings(store, CAR, 1000)
    page = client.get(f"/cars/{CAR}")
    assert page.text.count("<details ") == len(show_car(store, CAR).car.going_out()) > 900
    assert "All 1,000 findings are only heard" in plain(page.text)
    pinned = re.findall(r'id="plan-pin-(\d+)"', page.text)
    assert len(pinned) == 60
    images = re.findall(r"<img [^>]*>", page.text.partition("<main")[2])
    assert all('loading="lazy"' in image for image in images)
