"""What was paid for a car and made on it is in nothing that a buyer can see: planted in the ledger, and looked for."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

import pypdf
import pytest

from shutline.car.going_out import Edition, Occasion, PrivateKind
from shutline.ledger import Draft, Kind, Money, Party, Said, rules_of
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.answering import ask, letter
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.describe import FORMS, LENGTHS, describe
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.ledger import answer_about, enter_in_ledger, give_back
from shutline.usecases.ledger_private import ledger_words
from shutline.usecases.ledger_shown import shown_invoice
from shutline.usecases.report import WHATS, make_report
from shutline.usecases.review import confirm
from shutline.usecases.sealing import seal
from shutline.usecases.shares import make_shared_page, share, shared_file, shares

CAR = "ostrel-pavane"
IDA = "Ida Quill"
AT = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
# The price is said in the film as well: what the ledger knows is left out of words and captions too.
WORDS = """WEBVTT

00:00:01.000 --> 00:00:05.000
Nearside front wing has a dent in it. There's rust on the nearside sill.

00:00:05.000 --> 00:00:09.000
It came to seven thousand six hundred and fifty-four, from Tobias Wend at 3 Quillover Lane. The boot lid is straight.
"""
SELLER = Party("Tobias Wend", "3 Quillover Lane, Merrowby")
BUYER = Party("Augusta Harbottle", "The Old Forge, Upper Tansley")
# Bought for 7,654, sold for 11,000.66 and for 12,000.66: margins of 3,346.66 and 4,346.66, tax of 557.78 and 724.44;
# a cost of 1,357.90 with 226.32 of VAT, 1,131.58 without; profits and days follow from them.
PLANTED = (
    *("7654", "7,654", "seven thousand six hundred", "3346.66", "3,346.66", "4346.66", "4,346.66", "557.78", "724.44"),
    *("1357.90", "1,357.90", "226.32", "1131.58", "1,131.58", "Tobias Wend", "Quillover Lane"),
)


@pytest.fixture(scope="module")
def store(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """One store for all tests here: none of them changes what the others look for."""
    folder = tmp_path_factory.mktemp("ledger")
    (folder / "masks.toml").write_text('covers = "stands"\n', encoding="utf-8")
    words = folder / "words.vtt"
    words.write_text(WORDS, encoding="utf-8")
    film = make_film("walk.mp4", frames=100, rate=10, gop=10)
    with pytest.MonkeyPatch.context() as patch, Store.open(folder / "store") as opened:
        patch.setenv("SHUTLINE_SETTINGS", str(folder / "settings.toml"))
        keep_house(HouseDetails("Halloran & Pike", ("Dock Street, Merrowby",)), author=IDA)
        add(opened, [film], car=CAR, title="Ostrel Pavane", transcript=words)
        confirm(opened, CAR, [one.id for one in opened.car_file(CAR).findings], author=IDA)
        plant(opened)
        yield opened


def plant(store: Store) -> None:
    """Buy the car, spend on it, sell it, take it back and sell it again."""

    def enter(kind: Kind, day: int, amount: str, **more: object) -> None:
        draft = Draft(kind=kind, day=date(2026, 1, day), amount=Money.of(amount), **more)  # type: ignore[arg-type]
        enter_in_ledger(store, draft, author=IDA)

    enter(Kind.PURCHASE, 5, "7654", party=SELLER, self_billed=True, what="Ostrel Pavane", car=CAR)
    vat = Money.of("226.32")
    enter(Kind.COST, 6, "1357.90", stock=1, vat=vat, party=Party("Tansley Welding"), what="sills")
    enter(Kind.SALE, 7, "11000.66", stock=1, party=BUYER, paper="S1")
    give_back(store, 3, why="thought better of it", day=date(2026, 1, 9), author=IDA)
    enter(Kind.SALE, 12, "12000.66", stock=1, party=BUYER, paper="S2")
    for question in rules_of().questions:
        answer_about(store, 1, question.id, Said.YES if question.bars is Said.NO else Said.NO, author=IDA)


@cache
def text_of(data: bytes) -> str:
    """Give all words of a file, also those that a PDF packs; the same file lies in several places."""
    text = data.decode("utf-8", "replace") + data.decode("utf-16-le", "replace")
    if data.startswith(b"%PDF"):
        reader = pypdf.PdfReader(io.BytesIO(data))
        text += " ".join(" ".join(page.extract_text().split()) for page in reader.pages) + str(reader.metadata)
    return text.casefold()


def leaks(files: dict[str, bytes]) -> list[tuple[str, str]]:
    texts = {name: f"{name} {text_of(data)}" for name, data in files.items()}
    return [
        (name, needle)
        for name, text in texts.items()
        for needle in PLANTED
        if needle.casefold() in text and re.search(rf"(?<![0-9a-z]){re.escape(needle.casefold())}(?![0-9a-z])", text)
    ]


def folder_files(folder: Path) -> dict[str, bytes]:
    return {one.relative_to(folder).as_posix(): one.read_bytes() for one in folder.rglob("*") if one.is_file()}


@pytest.mark.slow
def test_nothing_of_the_ledger_is_in_anything_that_a_buyer_gets(store: Store, tmp_path: Path) -> None:
    files: dict[str, bytes] = {}
    make_buyers_page(store, CAR, out=tmp_path / "page", zipped=True, made_at=AT)
    files |= folder_files(tmp_path / "page")
    with zipfile.ZipFile(tmp_path / "page.zip") as opened:
        files |= {f"zip/{name}": opened.read(name) for name in opened.namelist()}
    made = seal(
        store, CAR, occasion=Occasion.SOLD, edition=Edition.BUYER, out=tmp_path / "sealed", made_at=AT, author=IDA
    )
    assert made
    for name, data in folder_files(tmp_path / "sealed").items():
        files[f"sealed/{name}"] = data
        if zipfile.is_zipfile(io.BytesIO(data)):
            with zipfile.ZipFile(io.BytesIO(data)) as opened:
                files |= {f"sealed/{name}/{one}": opened.read(one) for one in opened.namelist()}
    share(store, CAR, author=IDA)
    make_shared_page(store, CAR)
    shared = shared_file(store, shares(store, CAR).links[0].share.token, "")
    assert shared is not None
    files["shared"] = shared.read_bytes()
    for form in FORMS:
        for length in LENGTHS:
            files[f"{form}-{length}"] = describe(store, CAR, form=form, length=length).text.encode()
    for question in ("what did you pay for it?", "is the boot lid straight?", "what was the margin?"):
        files[question] = letter(ask(store, CAR, question, keep=False), "").encode()
    invoice = shown_invoice(store, 5)
    files["invoice"] = invoice.text.encode()
    assert "£12,000.66" in invoice.text
    assert {name.rpartition(".")[2] for name in files} >= {"html", "pdf", "vtt", "mp4", "json"}
    assert leaks(files) == []
    assert any("ostrel pavane" in text_of(data) for name, data in files.items() if name.endswith(".pdf"))
    assert leaks({"a": b"it came to 7,654 in all"}) == [("a", "7,654")]


def test_no_report_of_the_car_tells_what_the_ledger_knows_but_for_words_that_were_said(
    store: Store, tmp_path: Path
) -> None:
    make_report(store, CAR, out=tmp_path / "out", only=list(WHATS), made_at=AT)
    files = folder_files(tmp_path / "out")
    said = {"seven thousand six hundred", "Tobias Wend", "Quillover Lane"}
    assert {(name, needle) for name, needle in leaks(files) if needle not in said} == set()


def test_the_words_are_what_was_paid_and_made_and_who_sold_it(store: Store) -> None:
    assert ledger_words(store, CAR) == (
        (PrivateKind.PRICE, "7,654"),
        (PrivateKind.PRICE, "3,346.66"),
        (PrivateKind.PRICE, "4,346.66"),
        (PrivateKind.KEEPER, "Tobias Wend"),
        (PrivateKind.ADDRESS, "3 Quillover Lane"),
    )
    store.create_car("calder-merlin")
    assert ledger_words(store, "calder-merlin") == ()
