"""What a car will fetch, what to ask and the most to pay are in the house's own report and in nothing else."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pypdf
import pytest

from shutline.car.going_out import Edition, Occasion
from shutline.car.prep_decisions import PrepKind
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.answering import ask, letter
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.comparables import note_comparable
from shutline.usecases.describe import FORMS, LENGTHS, describe
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.outputs import make_outputs, outputs
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_deciding import decide_prep
from shutline.usecases.price import keep_price, price
from shutline.usecases.price_report import HEADING
from shutline.usecases.price_shown import PriceAsked
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm
from shutline.usecases.sealing import seal
from shutline.usecases.shares import make_shared_page, share, shared_file, shares

CAR = "ostrel-pavane"
IDA = "Ida Quill"
AT = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
WORDS = """WEBVTT

00:00:01.000 --> 00:00:05.000
Nearside front wing has a dent in it. The nearside sill has a hole in it.

00:00:05.000 --> 00:00:09.000
The bonnet is a bit faded, that wants a polish. The boot lid is straight.
"""
CONDITION, MARK, SOURCE = "Harbottle fair", "ZQX 771K", "Augusta Harbottle's sale room"


@pytest.fixture
def store(make_film: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    settings = tmp_path / "settings"
    settings.mkdir()
    (settings / "masks.toml").write_text('covers = "stands"\n', encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(settings / "settings.toml"))
    monkeypatch.setenv(PREP_VARIABLE, str(settings / "prep"))
    keep_house(HouseDetails("Halloran & Pike", ("Dock Street, Merrowby",)), author=IDA)
    words = tmp_path / "words.vtt"
    words.write_text(WORDS, encoding="utf-8")
    opened = Store.open(tmp_path / "store")
    film = make_film("walk.mp4", frames=100, rate=10, gop=10)
    add(opened, [film], car=CAR, title="Ostrel Pavane", transcript=words)
    confirm(opened, CAR, [one.id for one in opened.car_file(CAR).findings], author=IDA)
    for month, amount in ((2, "17654"), (5, "19321"), (8, "18877")):
        fields = {"when": f"2026-0{month}-11", "price": amount, "sold": "sold", "car": f"{MARK}{month}"}
        fields |= {"condition": CONDITION, "source": SOURCE}
        note_comparable(opened, fields, {"model": "Pavane", "age": str(50 + month)}, author=IDA)
    return opened


def planted(store: Store) -> list[str]:
    """Give every figure that was worked out and can be told from any other, and the words that were noted."""
    found = price(store, CAR, PriceAsked(day=AT.date()))
    assert found.fetch is not None
    assert found.asking is not None
    sums = [found.fetch.middle, found.fetch.low, found.fetch.high, found.asking.asking.best.price]
    sums += [one.most.bid or 0 for one in found.mosts] + [17_654, 19_321, 18_877, 18_531]
    assert min(sums) > 1000
    return [*(f"{one:,}" for one in sums), *map(str, sums), "1853100", CONDITION, MARK, SOURCE, HEADING]


def text_of(name: str, data: bytes) -> str:
    if name.endswith(".pdf"):
        reader = pypdf.PdfReader(io.BytesIO(data))
        return " ".join(" ".join(page.extract_text().split()) for page in reader.pages) + str(reader.metadata)
    return data.decode("utf-8", "replace")


def leaks(files: dict[str, str], needles: list[str]) -> list[tuple[str, str]]:
    return [
        (name, one)
        for name, text in files.items()
        for one in needles
        if re.search(rf"(?<![\w.]){re.escape(one)}(?!\w)", text)
    ]


def files_of(folder: Path) -> dict[str, str]:
    found = {}
    for file in (one for one in folder.rglob("*") if one.is_file()):
        data = file.read_bytes()
        found[file.name] = text_of(file.name, data)
        if zipfile.is_zipfile(io.BytesIO(data)):
            with zipfile.ZipFile(io.BytesIO(data)) as opened:
                found |= {f"{file.name}/{one}": text_of(one, opened.read(one)) for one in opened.namelist()}
    return found


@pytest.mark.slow
def test_the_house_reads_it_and_nobody_else(store: Store, tmp_path: Path) -> None:
    with store:
        decide_prep(store, CAR, PrepKind.ASKING, pence=1_853_100, author=IDA)
        make_outputs(store, CAR, only=["html"], made_at=AT)
        make_report(store, CAR, out=tmp_path / "before", only=["html"], made_at=AT)
        assert HEADING not in files_of(tmp_path / "before")["report.html"]

        keep_price(store, CAR, attributes={"condition": CONDITION}, author=IDA)
        assert "html" not in {one.what for one in outputs(store, CAR).outputs if one.fresh}
        needles = planted(store)
        make_report(store, CAR, out=tmp_path / "house", made_at=AT)
        house = files_of(tmp_path / "house")
        found = price(store, CAR, PriceAsked(day=AT.date()))
        assert found.fetch is not None
        wanted = [f"£{found.fetch.middle:,}", "£18,531", CONDITION, *(f"£{one.most.bid:,}" for one in found.mosts)]
        pages = [text for name, text in house.items() if name.endswith((".html", ".pdf"))]
        assert len(pages) == 2
        for text in pages:
            assert [one for one in (*wanted, HEADING) if one not in text] == []
        others = {name: text for name, text in house.items() if not name.endswith((".html", ".pdf"))}
        assert leaks(others, needles) == []

        make_buyers_page(store, CAR, out=tmp_path / "page", zipped=True, made_at=AT)
        seal(store, CAR, occasion=Occasion.SOLD, edition=Edition.BUYER, out=tmp_path / "out", made_at=AT, author=IDA)
        buyers = files_of(tmp_path / "page") | files_of(tmp_path / "out")
        share(store, CAR, author=IDA)
        make_shared_page(store, CAR)
        shared = shared_file(store, shares(store, CAR).links[0].share.token, "")
        assert shared is not None
        buyers["shared"] = shared.read_text(encoding="utf-8")
        buyers |= {f"{f}-{n}": describe(store, CAR, form=f, length=n).text for f in FORMS for n in LENGTHS}
        for question in ("what will it fetch?", "what is the least you would take for it?"):
            buyers[question] = letter(ask(store, CAR, question, keep=False), "")
        assert any(name.endswith(".html") for name in buyers)
        assert leaks(buyers, needles) == []
        assert leaks({"planted": f"about £{found.fetch.middle:,} for it"}, needles) != []
