"""The page of words: its JSON is that of the use cases, it works without script, and what is written in stays words."""

from __future__ import annotations

import json
import re
from pathlib import Path

import msgspec
import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.usecases.answering import ask
from shutline.usecases.claim_check import check_rewrite, check_words
from shutline.usecases.describe import describe
from shutline.usecases.offering import hold_rewrite
from shutline.usecases.review import confirm
from shutline.usecases.words_started import words_started

CAR = "ostrel-pavane"
PLACE = f"/cars/{CAR}/wording"
TEXT = "The boot lid is straight, the nearside sill is solid and the radio works."


def _plain(record: object) -> object:
    return json.loads(msgspec.json.encode(record))


def test_json_is_that_of_the_use_cases(client: TestClient, store: Store) -> None:
    assert client.get(f"{PLACE}.json").json() == _plain(words_started(store, CAR))
    sent = client.post(f"{PLACE}/check", json={"text": TEXT})
    assert sent.json() == _plain(check_words(store, CAR, TEXT))
    rewritten = {"text": "The boot lid is straight.", "former": TEXT}
    sent = client.post(f"{PLACE}/check", json=rewritten)
    assert sent.json() == _plain(check_rewrite(store, CAR, TEXT, rewritten["text"]))
    sent = client.post(f"{PLACE}/ask", json={"question": "any rust on the sill", "keep": False})
    assert sent.json() == _plain(ask(store, CAR, "any rust on the sill", keep=False))


def test_the_command_line_tells_the_same(client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    asked = client.post(f"{PLACE}/ask", json={"question": "any rust on the sill"}).json()
    assert main(["ask", CAR, "any rust on the sill", "--json", "--store", str(store.folder)]) == 0
    assert asked == json.loads(capsys.readouterr().out)


def test_nothing_is_taken_without_its_proof_or_in_another_shape(client: TestClient) -> None:
    assert client.post(f"{PLACE}/check", json={"words": TEXT}).status_code == 400
    refused = client.post(f"{PLACE}/ask", json={"question": " "}, headers={"accept": "application/json"})
    assert (refused.status_code, refused.json()["error"]["slug"]) == (400, "question-words")
    assert client.get(f"{PLACE}/check", follow_redirects=False).status_code == 303
    del client.headers["shutline-proof"]
    assert client.post(f"{PLACE}/check", json={"text": TEXT}).status_code == 403


def test_the_page_works_without_script(client: TestClient) -> None:
    del client.headers["shutline-proof"]
    found = re.search(r'name="shutline-proof" value="([^"]+)"', client.get(PLACE).text)
    assert found
    form = {"shutline-proof": found[1], "text": TEXT, "question": "does the radio work, <b>mate</b>"}
    page = client.post(PLACE, data=form).text
    assert "1 backed, 1 at odds, 1 unbacked" in page
    assert "rust on the nearside sill" in page
    assert "&lt;b&gt;mate" in page
    assert "<b>mate" not in page
    kept = client.get(f"{PLACE}.json").json()["questions"]
    assert [one["question"]["words"] for one in kept] == ["does the radio work, <b>mate</b>"]
    off = {"shutline-proof": found[1], "drop": kept[0]["question"]["id"]}
    assert client.post(PLACE, data=off, follow_redirects=False).status_code == 303
    assert client.get(f"{PLACE}.json").json()["questions"] == []


def test_a_question_is_put_on_the_buyers_page_and_taken_off_there(client: TestClient) -> None:
    kept = client.post(f"{PLACE}/ask", json={"question": "does the radio work"}).json()["kept"]
    sent = client.post(f"{PLACE}/on-page", json={"question": kept["id"], "shown": True}).json()
    assert (sent["on_page"], sent["said"][0]["author"]) == (True, "Ida Quill")
    assert "<strong>On the page.</strong> Asked by Ida Quill. Put on by Ida Quill" in client.get(PLACE).text
    form = {"shutline-proof": client.headers.pop("shutline-proof"), "take-off": kept["id"]}
    there = f"{PLACE}?asked={kept['id']}#q-{kept['id']}"
    assert client.post(PLACE, data=form).headers["location"] == there
    page = client.get(PLACE).text
    assert "Not on the page. Asked by Ida Quill. Put on by Ida Quill" in page
    assert page.count(f'id="q-{kept["id"]}"') == 1
    client.post(PLACE, data={"shutline-proof": form["shutline-proof"], "put-on": kept["id"]})
    assert [one["question"]["on_page"] for one in client.get(f"{PLACE}.json").json()["asked"]] == [True]


def _folds(page: str) -> dict[str, tuple[bool, str, list[str]]]:
    """Give the lists of questions: whether each is open, how many it says there are, and the words in it."""
    found = {}
    for name, opened, inside in re.findall(
        r'<details class="fold" id="([^"]+)"( open)?>(.*?)</details>', page, re.DOTALL
    ):
        count = re.search(r'<span class="soft">(\d+)</span></summary>', inside)
        assert count
        found[name] = (bool(opened), count[1], re.findall(r"<li [^>]+><div><p>([^<]+)</p>", inside))
    return found


def test_a_question_stands_once_in_lists_that_are_folded_and_counted(client: TestClient, store: Store) -> None:
    silent = [f"does the radio work in {place}" for place in ("rain", "snow", "frost", "fog", "tunnels", "towns")]
    asked = [*silent, "any rust on the sill"]
    kept = [ask(store, CAR, words, author="Ida Quill").kept for words in asked]
    assert all(kept)
    on = kept[0].id if kept[0] else ""
    client.post(f"{PLACE}/on-page", json={"question": on, "shown": True})
    folds = _folds(client.get(PLACE).text)
    assert folds == {
        "waiting": (True, "5", silent[1:]),
        "on-page": (True, "1", silent[:1]),
        "answered": (True, "1", asked[-1:]),
    }
    client.post(f"{PLACE}/on-page", json={"question": on, "shown": False})
    assert _folds(client.get(PLACE).text)["waiting"] == (False, "6", silent)
    # Where a form has led to a question, its list is open.
    assert _folds(client.get(f"{PLACE}?asked={on}").text)["waiting"][0]
    piece = client.get(f"{PLACE}/asked").text
    assert "<html" not in piece
    assert _folds(piece)["waiting"] == (False, "6", silent)


def test_without_script_the_answer_is_where_the_form_leads(client: TestClient) -> None:
    page = client.get(PLACE).text
    assert f'<form action="{PLACE}#ask-of" method="post" id="asking"' in page
    assert page.index('id="ask-of"') < page.index('id="reply"') < page.index('id="asked"')


def test_a_text_that_is_too_long_is_told_in_letters_and_stays_in_its_box(client: TestClient) -> None:
    long = "\N{LATIN SMALL LETTER E WITH ACUTE}" * 120_000
    sent = client.post(f"{PLACE}/check", json={"text": long}, headers={"accept": "application/json"})
    assert sent.status_code == 400
    problem = sent.json()["error"]
    assert (problem["slug"], problem["found"], problem["allowed"]) == (
        "text-too-long",
        "120,000 letters",
        "at most 100,000",
    )
    assert "Take out 20,000 of them" in problem["advice"]
    assert client.post(f"{PLACE}/check", json={"text": TEXT + " " * 70_000}).status_code == 200
    proof = client.headers.pop("shutline-proof")
    page = client.post(PLACE, data={"shutline-proof": proof, "text": long})
    assert page.status_code == 400
    assert "The text: 120,000 letters; at most 100,000. Take out 20,000 of them" in page.text
    assert long in page.text
    page = client.post(PLACE, data={"shutline-proof": proof, "deed": "hold", "rewrite": long})
    assert "The text: 120,000 letters; at most 100,000." in page.text
    assert long in page.text


def test_a_form_of_another_page_is_as_short_as_ever(client: TestClient) -> None:
    proof = client.headers.pop("shutline-proof")
    form = {"shutline-proof": proof, "words": "x" * 70_000}
    sent = client.post(f"/cars/{CAR}/buyer/private", data=form, headers={"accept": "application/json"})
    # It is not read to its end, so it has no proof.
    assert sent.status_code == 403


def test_it_can_start_from_our_draft(client: TestClient) -> None:
    started = client.get(f"{PLACE}.json?draft=line").json()
    assert started["text"]
    assert started["text"].splitlines()[0][:20] in client.get(f"{PLACE}?draft=line").text
    assert client.get(f"{PLACE}?draft=endless").status_code == 400


def test_words_that_nothing_reads_go_out_once_a_person_answers_for_them(client: TestClient, store: Store) -> None:
    confirm(store, CAR, [kept.id for kept in store.car_file(CAR).findings], author="Ida Quill")
    text = f"{describe(store, CAR).text}\n\nIt once won best in show at the county rally."
    proof = client.headers.pop("shutline-proof")
    page = client.post(PLACE, data={"shutline-proof": proof, "deed": "hold", "rewrite": text}).text
    assert "once you answer for some of its words" in page
    assert 'name="vouch"' in page
    words = "It once won best in show at the county rally"
    accept = {"shutline-proof": proof, "deed": "accept", "rewrite": text, "in_force": "0", "vouched": words}
    assert client.post(PLACE, data=accept).status_code == 400
    assert store.offered_texts(CAR) == ()
    assert client.post(PLACE, data={**accept, "vouch": "yes"}).status_code == 303
    assert f"<q>{words}</q>" in client.get(PLACE).text
    (kept,) = store.offered_texts(CAR)
    assert kept.vouched == (words,)


def test_a_rewrite_is_held_accepted_and_taken_back_without_script(client: TestClient, store: Store) -> None:
    confirm(store, CAR, [kept.id for kept in store.car_file(CAR).findings], author="Ida Quill")
    draft = describe(store, CAR).text
    proof = client.headers.pop("shutline-proof")
    form = {"shutline-proof": proof, "deed": "hold", "rewrite": "The sill is <b>solid</b>."}
    page = client.post(PLACE, data=form).text
    assert "It cannot take the draft" in page
    assert "Faults that it leaves out" in page
    assert "<b>solid" not in page
    page = client.post(PLACE, data={**form, "rewrite": draft}).text
    assert "Nothing stands against it" in page
    late = client.post(PLACE, data={**form, "rewrite": draft, "deed": "accept", "in_force": "7"})
    assert late.status_code == 400
    done = client.post(PLACE, data={**form, "rewrite": draft, "deed": "accept", "in_force": "0"})
    assert done.headers["location"] == f"{PLACE}#goes-out"
    assert "Accepted by Ida Quill" in client.get(PLACE).text
    client.post(PLACE, data={"shutline-proof": proof, "deed": "take-back"})
    assert "Our draft, made from what stands." in client.get(PLACE).text


def test_a_rewrite_by_json_is_that_of_the_use_cases(
    client: TestClient, store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    confirm(store, CAR, [kept.id for kept in store.car_file(CAR).findings], author="Ida Quill")
    file = tmp_path / "rewrite.txt"
    file.write_text("The boot lid is straight, and the gearbox new.", encoding="utf-8")
    held = client.post(f"{PLACE}/hold", json={"text": file.read_text(encoding="utf-8")}).json()
    assert held == _plain(hold_rewrite(store, CAR, file.read_text(encoding="utf-8")))
    assert main(["rewrite", CAR, str(file), "--json", "--store", str(store.folder)]) == 2
    assert held == json.loads(capsys.readouterr().out)
    refused = client.post(f"{PLACE}/accept", json={"text": "A fine car."}, headers={"accept": "application/json"})
    assert (refused.status_code, refused.json()["error"]["slug"]) == (400, "rewrite-refused")
    now = client.post(f"{PLACE}/accept", json={"text": describe(store, CAR).text, "in_force": 0}).json()
    assert (now["goes_out"], now["present"]["author"]) == (True, "Ida Quill")
    back = client.post(f"{PLACE}/take-back", json={"in_force": now["present"]["id"]}).json()
    assert back["present"] is None
