"""The pages of the ledger: the same records as the command line, entered with who and when, refused at the field."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pypdf
import pytest
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.ledger_typed import answer_typed, enter_typed
from shutline.usecases.shares import share, shares

CAR = "ostrel-pavane"
IDA = "Ida Quill"
TODAY = datetime.now(UTC).date()
JSON = {"accept": "application/json"}
QUESTIONS = ("vat-invoice", "imported", "write-off", "new", "vat-reclaimed", "rebuilt")
# What was paid, made and owed, and who sold it: 12,000.66 less 7,654 is 4,346.66, a sixth of it 724.44.
PLANTED = ("7654", "7,654", "4346.66", "4,346.66", "724.44", "1357.90", "1,357.90", "Tobias Wend", "Quillover")
PAGES = (
    *("/ledger", "/ledger/quarter", "/ledger/forecourt", "/ledger/stock/1", "/ledger/import", "/ledger/clock"),
    f"/cars/{CAR}/ledger",
)
FILES = ("stock-book.csv", "entries.csv", "ledger.beancount", "stock-book.pdf")


def ago(days: int) -> str:
    return (TODAY - timedelta(days=days)).isoformat()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with a car that was bought, spent on, sold, and another that stands; made once."""
    folder = tmp_path_factory.mktemp("ledger") / "store"
    with Store.open(folder) as store:
        store.create_car(CAR, title="Ostrel Pavane, blue")
        store.create_car("calder-merlin", title="Calder Merlin")
        for typed in (
            {
                "kind": "purchase",
                "what": "Ostrel Pavane, FGY 412H",
                "amount": "7,654",
                "day": ago(40),
                "name": "Tobias Wend",
                "address": "3 Quillover Lane, Merrowby",
                "self_billed": "yes",
                "car": CAR,
            },
            {
                "kind": "cost",
                "stock": "1",
                "what": "<b>sills</b>",
                "amount": "1357.90",
                "rate": "20",
                "name": "Tansley Welding",
                "day": ago(30),
            },
            {"kind": "deposit", "stock": "1", "amount": "200", "name": "Augusta Harbottle", "day": ago(20)},
            {
                "kind": "sale",
                "stock": "1",
                "amount": "12000.66",
                "name": "Augusta Harbottle",
                "day": ago(10),
                "address": "The Old Forge, Upper Tansley",
                "paper": "S041",
            },
            {
                "kind": "purchase",
                "what": "Averley Curlew",
                "amount": "1800",
                "day": ago(9),
                "name": "Petra Vance",
                "paper": "P7",
            },
        ):
            enter_typed(store, typed, author=IDA)
        for question in QUESTIONS:
            answer_typed(store, 1, {"question": question, "said": "no", "note": "papers seen"}, author=IDA)
    return folder


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    return tmp_path / "own"


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture
def told(store: Store, capsys: pytest.CaptureFixture[str]) -> Callable[..., Any]:
    """Give what the command line prints as JSON."""

    def ask(*words: str, of_store: bool = True) -> Any:
        capsys.readouterr()
        there = ["--store", str(store.folder)] if of_store else []
        assert run(["ledger", *words, *there, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    return ask


def enter(client: TestClient, **typed: str) -> Any:
    return client.post("/ledger/enter", json=typed, headers=JSON)


def test_each_page_has_the_json_that_the_command_line_prints(client: TestClient, told: Callable[..., Any]) -> None:
    assert client.get("/ledger.json").json() == told("stock")
    assert client.get("/ledger/stock/1.json").json() == told("show", "1")
    assert client.get(f"/cars/{CAR}/ledger.json").json() == told("show", "--car", CAR)
    assert client.get(f"/ledger/quarter.json?day={ago(10)}").json() == told("quarter", "--day", ago(10))
    asked = ("quarter", "--start", ago(40), "--end", ago(10))
    assert client.get(f"/ledger/quarter.json?start={ago(40)}&end={ago(10)}").json() == told(*asked)
    assert client.get(f"/ledger/forecourt.json?day={ago(3)}").json() == told("forecourt", "--day", ago(3))
    asked = ("import", "20000", "--arrived", "2026-06-01", "--made", "1968-12-31", "--said", "original=yes")
    query = "value=20,000&arrived=2026-06-01&made=1968-12-31&original=yes&costs=&taken_out="
    assert client.get(f"/ledger/import.json?{query}").json() == told(*asked, of_store=False)
    asked = ("clock", "2026-06-01", "--distance", "yes", "--repair", "2026-06-10:2026-06-12")
    query = "delivered=2026-06-01&distance=yes&asked_1=2026-06-10&back_1=2026-06-12"
    assert client.get(f"/ledger/clock.json?{query}").json() == told(*asked, of_store=False)


def test_what_is_entered_has_its_author_and_is_an_entry_like_any_other(
    client: TestClient, told: Callable[..., Any]
) -> None:
    made = enter(client, kind="cost", stock="2", what="valet", amount="90", name="Merrowby Valeting", day=ago(2))
    assert made.status_code == 200
    assert made.json()["entry"] == told("entries")["entries"][-1]["entry"]
    assert made.json()["entry"]["author"] == IDA
    kept = client.post("/ledger/stock/2/answer", json={"question": "new", "said": "no", "note": ""}, headers=JSON)
    assert kept.json() == told("answer", "2")
    assert f"No, said {IDA}" in client.get("/ledger/stock/2").text


def test_a_refusal_names_the_field_and_needs_the_proof(client: TestClient, store: Store) -> None:
    refused = enter(client, kind="cost", stock="2", what="valet", amount="90", vat="100", name="Merrowby Valeting")
    assert refused.status_code == 400
    assert (refused.json()["error"]["slug"], refused.json()["error"]["field"]) == ("ledger-entry", "vat")
    assert client.post("/ledger/enter", json={"kind": 1}, headers=JSON).json()["error"]["slug"] == "web-sent"
    assert client.get("/ledger/stock/9").status_code == 400
    assert client.get("/ledger/files/ledger.db").status_code == 404
    for days in ("day=soon", "end=2026-01-01", "day=2026-02-01&start=2026-01-01"):
        assert client.get(f"/ledger/quarter?{days}").status_code == 400
    for answered in ({"question": "colour", "said": "no"}, {"question": "new", "said": "perhaps"}):
        assert client.post("/ledger/stock/2/answer", json=answered, headers=JSON).status_code == 400
    del client.headers["shutline-proof"]
    assert enter(client, kind="deposit", stock="2", amount="1", name="x").status_code == 403
    assert len(store.ledger().entries) == 5


def test_the_book_lies_open_in_the_columns_of_the_scheme(client: TestClient) -> None:
    page = client.get("/ledger").text
    headings = [re.sub("<[^>]+>", "", one) for one in re.findall(r'<th scope="col"[^>]*>([^<]+)</th>', page)]
    # The twelve columns of gov.uk/vat-margin-schemes/keeping-records, then until when the record is kept.
    assert len(headings) == 13
    assert (headings[0], headings[6], headings[12]) == ("Stock number", "Date of sale", "Kept until at least")
    assert '<a href="/ledger/stock/1">1</a>' in page
    sold = TODAY - timedelta(days=10)
    assert str(sold.year + 6) in page
    assert "The firm&#39;s own figures, and no advice" in page


def test_a_long_book_opens_at_its_last_page(client: TestClient, store: Store) -> None:
    for number in range(3, 53):
        typed = {"kind": "purchase", "what": f"car {number}", "amount": "5", "name": "x", "paper": f"P{number}"}
        enter_typed(store, typed, author=IDA)
    page = client.get("/ledger").text
    assert "Page 2 of 2" in page
    assert '/ledger/stock/52">52<' in page
    assert '/ledger/stock/50">50<' not in page
    assert '/ledger/stock/50">50<' in client.get("/ledger?page=1").text
    assert len(client.get("/ledger.json").json()["lines"]) == 52


def test_a_car_shows_its_entries_what_is_owed_and_what_may_follow(client: TestClient) -> None:
    page = client.get("/ledger/stock/1").text
    assert "&lt;b&gt;sills&lt;/b&gt;" in page
    assert "£724.44" in page
    assert f'<a href="/cars/{CAR}">' in page
    assert 'id="cost"' in page
    assert 'id="taken-in"' in page
    assert 'id="sale"' not in page
    standing = client.get("/ledger/stock/2").text
    assert {'id="cost"', 'id="deposit"', 'id="sale"', 'id="part-exchange-out"'} <= set(
        re.findall(r'id="[a-z-]+"', standing)
    )
    assert 'value="S042"' in standing


def test_a_reversed_entry_stays_and_says_so(client: TestClient) -> None:
    assert enter(client, kind="reversal", against="2", what="not ours", day=TODAY.isoformat()).status_code == 200
    page = client.get("/ledger/stock/1").text
    assert re.search(r'id="entry-2" tabindex="-1" class="left out"', page)
    assert "Reversed by entry 6" in page
    assert "Reversal of entry 2" in page


def test_what_is_not_known_is_told_and_is_in_no_sum(client: TestClient) -> None:
    enter(client, kind="sale", stock="2", amount="2400", name="Col Hartigan", paper="S042", day=ago(1))
    page = client.get(f"/ledger/quarter?start={ago(40)}&end={TODAY}").text
    assert "£100.00 to £400.00 is owed" in page
    # What the boxes are the sums of, each line beside its entry.
    assert {"1#entry-1", "1#entry-2"} <= set(re.findall(r"/ledger/stock/(\d#entry-\d)", page))
    assert "2#entry-6" not in page
    assert '<a href="/ledger/stock/2#questions">' in page
    assert "not known" in client.get("/ledger").text
    assert "£100.00 to £400.00" in client.get("/ledger/stock/2").text


def test_an_invoice_is_shown_as_it_is_set_or_why_it_cannot_be(client: TestClient) -> None:
    page = client.get("/ledger/stock/1").text
    assert "no name of the firm" in page
    assert "/ledger/invoice/" not in page
    assert client.get("/ledger/invoice/4.pdf").status_code == 400
    keep_house(HouseDetails("Halloran & Pike", ("Dock Street, Merrowby",)), author=IDA)
    page = client.get("/ledger/stock/1").text
    assert "This is a second-hand margin scheme supply." in page
    assert {"/ledger/invoice/1.pdf", "/ledger/invoice/4.pdf"} <= set(re.findall(r"/ledger/invoice/\d+\.pdf", page))
    made = client.get("/ledger/invoice/4.pdf")
    assert made.headers["content-type"] == "application/pdf"
    text = pypdf.PdfReader(io.BytesIO(made.content)).pages[0].extract_text()
    assert "12,000.66" in text
    assert not [one for one in PLANTED if one in text]


@pytest.mark.parametrize("name", FILES)
def test_files_are_handed_out_as_the_command_line_writes_them(
    client: TestClient, told: Callable[..., Any], tmp_path: Path, name: str
) -> None:
    there = tmp_path / name
    verb = {"entries.csv": "entries", "ledger.beancount": "journal"}.get(name, "stock")
    told(verb, "--pdf" if name.endswith("pdf") else "--out", str(there))
    made = client.get(f"/ledger/files/{name}")
    assert made.content == there.read_bytes()
    assert made.headers["content-disposition"].startswith(f'attachment; filename="{name}"')


def test_a_car_file_leads_to_its_line_or_to_its_purchase(client: TestClient) -> None:
    assert '/ledger/stock/1"' in client.get(f"/cars/{CAR}/ledger").text
    page = client.get("/cars/calder-merlin/ledger").text
    assert 'name="car" value="calder-merlin"' in page
    assert 'value="Calder Merlin"' in page
    assert "/cars/calder-merlin/ledger" in client.get("/cars/calder-merlin/particulars").text


@pytest.mark.parametrize(
    ("address", "field", "kept"),
    [
        ("/ledger/import?value=much&arrived=2026-06-01", "value", 'value="much"'),
        ("/ledger/clock?delivered=2026-06-01&asked_1=never", "asked_1", 'value="never"'),
        ("/ledger/clock?delivered=2026-06-01&agreed=2026-06-02", "", 'value="2026-06-02"'),
    ],
)
def test_what_cannot_be_worked_out_is_told_at_its_field_and_stays(
    client: TestClient, address: str, field: str, kept: str
) -> None:
    page = client.get(address)
    assert page.status_code == 400
    assert kept in page.text
    assert f'id="at-{field}"' in page.text if field else 'role="alert"' in page.text
    assert client.get(address.replace("?", ".json?")).json()["error"]["slug"].startswith("ledger-")


def test_the_settings_of_the_ledger_are_kept_and_come_back(client: TestClient) -> None:
    def keep(to: str = "", **fields: str) -> Any:
        mark = client.get("/settings.json").json()["ledger"]["mark"]
        return client.post(f"/settings/ledger{to}", json={"expected": mark, **fields}, headers=JSON)

    chosen = {"country": "gb", "stagger": "2", "holding_a_day": "4.50", "vat_number": "GB 000 0000 00"}
    assert keep(**chosen).json()["chosen"]["stagger"] == 2
    assert "standing has cost £40.50" in client.get("/ledger/forecourt").text
    for wrong in ({"stagger": "9"}, {"country": "xx"}, {"country": "de"}, {"holding_a_day": "-1"}):
        assert keep(**(chosen | wrong)).json()["error"]["slug"] == "ledger-settings"
    assert keep(**(chosen | {"country": "de", "stagger": "1", "take_from_memory": "yes"})).status_code == 200
    states = client.get("/settings.json").json()["ledger"]["states"]
    former = client.get(f"/settings?open=ledger.former&state={states[-1]['id']}").text
    assert "<dt>Stagger</dt><dd>2</dd>" in former
    assert keep("/back", state=states[-1]["id"]).json()["chosen"]["country"] == "gb"


def test_a_row_of_ones_own_that_is_wrong_is_shown_on_the_settings(client: TestClient, own: Path) -> None:
    (own / "ledger").mkdir(parents=True)
    (own / "ledger" / "vat_rates.csv").write_text("id,country,from\n", encoding="utf-8")
    page = client.get("/settings").text
    assert "vat_rates.csv, line 1" in page
    assert "vat_rates.csv, in" in page


def test_nothing_of_it_is_reached_from_a_page_that_is_shared(
    client: TestClient, outside: TestClient, store: Store
) -> None:
    """What the firm paid and made is there for whoever was let in, and for nobody else, under whatever address."""
    inside = "".join(client.get(one).text for one in PAGES)
    assert [one for one in ("7,654", "724.44", "1,357.90", "Tobias Wend") if one not in inside] == []
    share(store, CAR, author=IDA)
    token = shares(store, CAR).links[0].share.token
    client.cookies.clear()
    del outside.headers["shutline-proof"]
    tried = [
        *PAGES,
        *(f"{one}.json" for one in PAGES),
        *(f"/ledger/files/{one}" for one in FILES),
        "/ledger/invoice/4.pdf",
    ]
    for address in tried:
        answer = outside.get(address)
        assert answer.status_code == 401, address
        assert not [one for one in PLANTED if one in answer.text], address
    for way in ("", "/..", "/%2e%2e", "/../..", "/%2e%2e/%2e%2e"):
        answer = outside.get(f"/shared/{token}{way}/ledger/stock/1.json")
        assert answer.status_code != 200, way
        assert not [one for one in PLANTED if one in answer.text], way
    assert outside.post("/ledger/enter", json={"kind": "deposit"}, headers=JSON).status_code == 401
