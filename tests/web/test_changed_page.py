"""What changed between two times is shown thing by thing, and the statement of it is looked at and handed out."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/changed"

HANDOVER = """WEBVTT

00:00:00.500 --> 00:00:01.500
There are no dents in the nearside front wing.

00:00:01.500 --> 00:00:02.500
There's a chip in the boot lid.
"""


@pytest.fixture
def twice(store: Store, make_film: Callable[..., Path], tmp_path: Path) -> Store:
    """The filmed car, filmed a second time."""
    (tmp_path / "handover.vtt").write_text(HANDOVER, encoding="utf-8")
    film = make_film("handover.mp4", frames=34, rate=10, sound=None, gop=10)
    add(store, [film], car=CAR, transcript=tmp_path / "handover.vtt", by="Ida Quill")
    return store


def test_a_car_that_was_filmed_once_says_what_is_to_come(client: TestClient, store: Store) -> None:
    page = client.get(AT).text
    assert "looked over once" in page
    assert f'href="/cars/{CAR}/add"' in page
    assert client.get(f"{AT}.json").json()["shown"] is None


def test_both_times_stand_side_by_side_and_the_twin_is_what_the_command_prints(
    client: TestClient, twice: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    page = client.get(AT).text
    assert f'href="{AT}"' in client.get(f"/cars/{CAR}/particulars").text
    gone = page[page.index('id="gone"') :]
    assert gone.index("Dent, slight") < gone.index("No dent")
    assert f"/cars/{CAR}?recording=1&amp;at=" in gone
    assert f"/cars/{CAR}?recording=2&amp;at=" in gone
    assert "Nobody can say" in page
    twin = client.get(f"{AT}.json").json()
    assert main(["changed", CAR, "--json", "--store", str(twice.folder)]) == 0
    assert twin == json.loads(capsys.readouterr().out)
    turned = client.get(f"{AT}.json?from=2&to=1").json()
    assert turned["shown"]["first_name"] == "handover.mp4"


def test_one_recording_cannot_be_compared_with_itself(client: TestClient, twice: Store) -> None:
    refused = client.get(f"{AT}?from=1&to=1")
    assert refused.status_code == 400
    assert "both are one recording" in refused.text.lower()


def test_the_statement_is_looked_at_page_by_page_and_downloaded(client: TestClient, twice: Store) -> None:
    page = client.get(f"{AT}?look=1").text
    counted = re.search(r'data-pages="([^"]+)"', page)
    first = re.search(r'<img class="sheet" src="([^"]+)"', page)
    assert counted
    assert first
    pages = client.get(counted[1].replace("&amp;", "&")).json()["pages"]
    assert pages >= 2
    for number in range(1, pages + 1):
        picture = client.get(first[1].replace("&amp;", "&").replace("page-1", f"page-{number}"))
        assert picture.headers["content-type"] == "image/png"
        assert picture.content.startswith(b"\x89PNG")
    assert client.get(first[1].replace("&amp;", "&").replace("page-1", "page-99")).status_code == 404
    paper = client.get(f"{AT}/statement.pdf?from=1&to=2&keep")
    assert paper.headers["content-disposition"].startswith("attachment")
    assert "what%20changed.pdf" in paper.headers["content-disposition"]
    printed = PdfReader(io.BytesIO(paper.content)).pages
    assert len(printed) == pages
    assert printed[0].extract_text().count("Signature") == 2
