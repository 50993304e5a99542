"""The settings on the web: as the command line shows them, refused with file and line, with a way back."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from shutline.car.masks import MaskKind
from shutline.car.vocabulary import vocabulary
from shutline.cli import main
from shutline.usecases.mask_policy import mask_policy
from shutline.usecases.user_settings import SECTIONS

HEADING = "id,condition,found,severity,part,phrases,source,example,counter_example"
ROW = {
    "id": "skanky",
    "condition": "dirt",
    "found": "yes",
    "severity": "",
    "part": "",
    "phrases": "skanky|right skanky",
    "source": "house words",
    "example": "the carpet is skanky",
    "counter_example": "the sky",
}
TEXT = f"{HEADING}\n{','.join(ROW.values())}\n"


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_WORDS", str(tmp_path / "own" / "words"))
    return tmp_path / "own"


def shown(client: TestClient) -> dict[str, Any]:
    return client.get("/settings.json").json()


def mark(client: TestClient, section: str) -> str:
    """Give the mark of a section, or of one of its files."""
    name, _, file = section.partition(".")
    state = shown(client)[name]
    if file:
        state = next(one for one in state["files"] if one["name"] == file)
    return str(state["mark"])


def send(client: TestClient, to: str, section: str, /, **fields: object) -> Any:
    return client.post(to, json={"expected": mark(client, section), **fields}, headers={"accept": "*/*"})


def test_the_settings_are_those_that_the_command_line_shows(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    send(client, "/settings/house", "house", name="Halloran & Pike", lines="The Old Forge\r\n\r\nLittle Wending\r\n")
    send(client, "/settings/words/conditions", "words.conditions", text=TEXT)
    assert main(["settings", "--json"]) == 0
    there = json.loads(capsys.readouterr().out)
    assert shown(client) == there
    assert there["house"]["details"]["lines"] == ["The Old Forge", "Little Wending"]
    assert main(["settings"]) == 0
    words = capsys.readouterr().out
    assert "Halloran & Pike" in words
    assert "conditions.csv: 1 row" in words


def test_the_words_are_those_that_the_command_line_reads_with(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = send(client, "/settings/words/conditions/row", "words.conditions", line="", **ROW)
    assert answer.status_code == 200
    assert main(["words", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["rows"]
    assert row["id"] == "conditions.skanky"
    assert row["phrases"] == answer.json()["rows"][0]["cells"]["phrases"].split("|")


def test_every_section_is_on_the_page_with_a_heading_to_go_to(client: TestClient) -> None:
    page = client.get("/settings").text
    for section in SECTIONS:
        assert f'href="#{section.key}"' in page
        assert f'<section id="{section.key}"' in page


def test_a_change_is_signed_and_its_former_state_stands_again(client: TestClient) -> None:
    send(client, "/settings/house", "house", name="Halloran & Pike", sign="Ida")
    send(client, "/settings/house", "house", name="Pike & Halloran")
    states = shown(client)["house"]["states"]
    assert [state["author"] for state in states] == ["Ida Quill", "Ida Quill"]
    former = client.get(f"/settings?open=house.former&state={states[1]['id']}").text
    assert "<dd>Halloran &amp; Pike</dd>" in former
    answer = send(client, "/settings/house/back", "house", state=states[1]["id"])
    assert (answer.json()["details"]["name"], answer.json()["details"]["sign"]) == ("Halloran & Pike", "Ida")
    assert len(shown(client)["house"]["states"]) == 3


def test_what_is_taken_from_the_film_itself_is_chosen_here(client: TestClient, own: Path) -> None:
    assert 'name="figures" value="yes" checked' in client.get("/settings").text
    answer = send(client, "/settings/evidence", "evidence", figures="yes")
    assert answer.json()["chosen"] == {"figures": True, "engine": False}
    assert (own / "evidence.toml").read_text(encoding="utf-8") == "figures = true\nengine = false\n"
    send(client, "/settings/evidence", "evidence")
    states = shown(client)["evidence"]["states"]
    former = client.get(f"/settings?open=evidence.former&state={states[1]['id']}").text
    assert "<dd>listened to when asked for</dd>" in former
    answer = send(client, "/settings/evidence/back", "evidence", state=states[1]["id"])
    assert answer.json()["chosen"] == {"figures": True, "engine": False}


def test_what_is_covered_is_chosen_here_and_only_what_differs_is_written(client: TestClient, own: Path) -> None:
    usual = {name: str(value) for name, value in shown(client)["masks"]["chosen"].items()}
    chosen = {**usual, "covers": "stands", "mark": "yes", "face": "yes", "film_margin": "0.2"}
    answer = send(client, "/settings/masks", "masks", **chosen)
    assert answer.status_code == 200
    assert (own / "masks.toml").read_text(encoding="utf-8") == (
        'covers = "stands"\nkinds = ["mark", "face"]\nfilm_margin = 0.2\n'
    )
    assert mask_policy().kinds == (MaskKind.MARK, MaskKind.FACE)
    send(
        client, "/settings/masks", "masks", **{**usual, "mark": "yes", "chassis": "yes", "face": "yes", "other": "yes"}
    )
    assert not (own / "masks.toml").exists()
    states = shown(client)["masks"]["states"]
    former = client.get(f"/settings?open=masks.former&state={states[1]['id']}").text
    assert "<dd>Registration marks, Faces</dd>" in former
    answer = send(client, "/settings/masks/back", "masks", state=states[1]["id"])
    assert answer.json()["chosen"]["covers"] == "stands"


@pytest.mark.parametrize(
    "wrong",
    [{"covers": "some"}, {"colour": "grey"}, {"margin": "wide"}, {"margin": "nan"}, {"face_margin": "3"}],
)
def test_what_a_cover_may_not_be_is_refused_by_its_name(client: TestClient, own: Path, wrong: dict[str, str]) -> None:
    usual = {name: str(value) for name, value in shown(client)["masks"]["chosen"].items()}
    answer = send(client, "/settings/masks", "masks", **{**usual, "mark": "yes", **wrong})
    assert answer.status_code == 400
    error = answer.json()["error"]
    assert (error["slug"], error["where"]) == ("masks-refused", f"masks.toml, {next(iter(wrong))}")
    assert not (own / "masks.toml").exists()


def test_a_wrong_row_is_refused_with_file_and_line_and_nothing_kept(client: TestClient, own: Path) -> None:
    wrong = TEXT.replace("dirt", "muck")
    answer = send(client, "/settings/words/conditions", "words.conditions", text=wrong)
    assert answer.status_code == 400
    error = answer.json()["error"]
    assert (error["slug"], error["where"]) == ("lexicon-row", "conditions.csv:2")
    assert not (own / "words").exists()
    checked = client.post("/settings/words/conditions/check", json={"text": wrong}).json()
    assert [problem["where"] for problem in checked["problems"]] == ["conditions.csv:2"]


def test_rows_are_amended_left_out_and_come_back(client: TestClient) -> None:
    send(client, "/settings/words/conditions", "words.conditions", text=TEXT)
    page = client.get("/settings?open=words.conditions.row.2").text
    assert 'value="the carpet is skanky"' in page
    changed = {**ROW, "phrases": "skanky"}
    answer = send(client, "/settings/words/conditions/row", "words.conditions", line="2", **changed)
    assert answer.json()["rows"][0]["cells"] == changed
    assert send(client, "/settings/words/conditions/drop", "words.conditions", line="2").json()["rows"] == []
    states = next(file for file in shown(client)["words"]["files"] if file["name"] == "conditions")["states"]
    back = send(client, "/settings/words/conditions/back", "words.conditions", state=states[2]["id"])
    assert back.json()["rows"][0]["cells"] == ROW


def test_a_change_that_came_too_late_is_refused_with_both_versions(client: TestClient) -> None:
    before = mark(client, "words.conditions")
    send(client, "/settings/words/conditions", "words.conditions", text=TEXT)
    late = client.post("/settings/words/conditions", json={"expected": before, "text": f"{HEADING}\n"})
    assert late.status_code == 409
    answer = late.json()
    assert (answer["error"]["slug"], answer["present"], answer["wanted"]) == ("stale-settings", TEXT, "")
    assert set(answer["error"]) == {"slug", "where", "found", "allowed", "advice"}


def test_the_second_reader_is_set_and_no_key_is_ever_taken_or_shown(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, own: Path
) -> None:
    monkeypatch.setenv("READER_KEY", "hush-hush")
    fields = {"address": "http://127.0.0.1:8080/v1", "model": "plain", "key_variable": "READER_KEY"}
    assert send(client, "/settings/second_reader", "second_reader", **fields).json()["key_set"] is True
    page = client.get("/settings").text
    assert "READER_KEY" in page
    assert "hush-hush" not in page + client.get("/settings.json").text
    wrong = send(client, "/settings/second_reader", "second_reader", **{**fields, "key_variable": "rk-98765432"})
    assert wrong.json()["error"]["slug"] == "second-key-variable"
    assert "98765432" not in wrong.text
    assert "hush" not in (own / "settings.toml").read_text(encoding="utf-8")


def test_a_late_change_of_the_second_reader_gives_no_text_of_the_file_away(client: TestClient, own: Path) -> None:
    own.mkdir()
    (own / "settings.toml").write_text('[second_reader]\naddress = "https://r.example/v1?key=abc123"\n', "utf-8")
    late = client.post("/settings/second_reader", json={"expected": "0" * 64, "address": "", "model": "m"})
    assert late.status_code == 409
    assert "abc123" not in late.text


def test_broken_files_are_told_on_the_page(client: TestClient, own: Path) -> None:
    (own / "words").mkdir(parents=True)
    (own / "house.toml").write_text("name = 3\n", encoding="utf-8")
    (own / "settings.toml").write_text("key = 'abc123'\n", encoding="utf-8")
    (own / "words" / "conditions.csv").write_text(TEXT.replace("dirt", "<b>muck"), encoding="utf-8")
    page = client.get("/settings").text
    assert "house, name of the house: an entry that there is not" in page
    assert "conditions.csv:2: the condition &#39;&lt;b&gt;muck&#39;" in page
    assert "an entry that there is not, or of another kind: key" in page
    assert "abc123" not in page


def test_what_somebody_wrote_is_shown_as_words_never_as_markup(client: TestClient) -> None:
    send(client, "/settings/house", "house", name="<script>alert(1)</script>", lines='"><img src=x>')
    row = {**ROW, "phrases": "skanky|<i>skanky", "example": "the <b>carpet is skanky"}
    send(client, "/settings/words/conditions/row", "words.conditions", line="", **row)
    for opened in ("", "?open=words.conditions.text", "?open=words.conditions.row.2", "?open=house.former"):
        page = client.get(f"/settings{opened}").text
        for markup in ("<script>alert", "<img src=x", "<i>skanky", "<b>carpet"):
            assert markup not in page


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"no json",
        b'{"expected": 3}',
        b'{"name": "a"}',
        b'{"expected": "x", "name": "\\ud800"}',
        b"[" * 99999,
    ],
)
def test_what_is_no_form_of_ours_is_refused(client: TestClient, body: bytes, own: Path) -> None:
    answer = client.post("/settings/house", content=body, headers={"accept": "application/json"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "web-sent")
    assert not own.exists()


def test_too_much_is_refused_before_all_of_it_is_read(client: TestClient) -> None:
    answer = client.post("/settings/house", content=b" " * 2_100_000, headers={"accept": "application/json"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "web-sent")


def test_a_change_needs_the_proof_of_our_own_pages(client: TestClient, own: Path) -> None:
    before = mark(client, "house")
    del client.headers["shutline-proof"]
    answer = client.post("/settings/house", json={"expected": before, "name": "Evil & Sons"})
    assert answer.status_code == 403
    assert not own.exists()


@pytest.mark.parametrize(
    "address", ["/settings/words/colours", "/settings/words/conditions/drop", "/settings/words/..%2Fhouse/back"]
)
def test_there_is_no_other_file_or_row(client: TestClient, address: str) -> None:
    answer = client.post(address, json={"expected": "0" * 64, "line": "2", "state": "x"})
    assert answer.status_code == 404


def test_a_former_state_that_there_is_not_is_told_on_the_page(client: TestClient) -> None:
    send(client, "/settings/house", "house", name="Halloran & Pike")
    page = client.get("/settings?open=house.former&state=../../secret")
    assert page.status_code == 200
    assert "no former state" in page.text


@pytest.mark.parametrize("opened", ["words.conditions.row.new", "words.conditions.row.2"])
def test_parts_and_conditions_are_picked_from_a_list_in_a_new_row_too(client: TestClient, opened: str) -> None:
    send(client, "/settings/words/conditions", "words.conditions", text=TEXT)
    page = client.get(f"/settings?open={opened}").text
    known = vocabulary()
    for column, ids in (("part", known.parts), ("condition", known.conditions)):
        name = f"words-conditions-{column}"
        assert re.search(rf'<input id="{name}"[^>]* list="{name}-known"', page)
        (offered,) = re.findall(rf'<datalist id="{name}-known">(.*?)</datalist>', page, re.DOTALL)
        assert set(re.findall(r'<option value="([^"]+)">', offered)) == set(ids)
