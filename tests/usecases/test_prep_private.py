"""Costs, worths, refusals and promises are in the house's own report and in nothing else: planted, and looked for."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest

from shutline.car.going_out import Edition, Occasion
from shutline.car.prep_decisions import PrepKind
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.outputs import make_outputs, outputs
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_deciding import decide_prep
from shutline.usecases.prep_done import DoneAsked, tick_off
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm
from shutline.usecases.sealing import seal

CAR = "ostrel-pavane"
IDA = "Ida Quill"
AT = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
WORDS = """WEBVTT

00:00:01.000 --> 00:00:05.000
Nearside front wing has a dent in it. The nearside sill has a hole in it.

00:00:05.000 --> 00:00:09.000
The bonnet is a bit faded, that wants a polish. The boot lid is straight.
"""
REASON, WORTH = "Augusta Harbottle takes it as it is", "£4,321"
WORK = ("37.25", "11.75", "Harbottle's wasps")
PLANTED = (REASON, "4,321", "432100", "97,531", "9753100", "Preparation, for the house alone")


@pytest.fixture
def store(make_film: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    settings = tmp_path / "settings"
    settings.mkdir()
    (settings / "masks.toml").write_text('covers = "stands"\n', encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(settings / "settings.toml"))
    monkeypatch.setenv(PREP_VARIABLE, str(settings / "prep"))
    (settings / "prep").mkdir()
    row = 'id = "ours"\nparts = ["sill"]\nconditions = ["perforation"]\npounds = [4321, 4321, 4321]\nsource = "us"\n'
    (settings / "prep" / "worth.toml").write_text(f"[[worth]]\n{row}", encoding="utf-8")
    keep_house(HouseDetails("Halloran & Pike", ("Dock Street, Merrowby",)), author=IDA)
    words = tmp_path / "words.vtt"
    words.write_text(WORDS, encoding="utf-8")
    opened = Store.open(tmp_path / "store")
    film = make_film("walk.mp4", frames=100, rate=10, gop=10)
    add(opened, [film], car=CAR, title="Ostrel Pavane", transcript=words)
    confirm(opened, CAR, [one.id for one in opened.car_file(CAR).findings], author=IDA)
    return opened


def text_of(name: str, data: bytes) -> str:
    text = data.decode("utf-8", "replace")
    if name.endswith(".pdf"):
        text += " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    return text


def files_of(folder: Path) -> dict[str, str]:
    found = {}
    for file in (one for one in folder.rglob("*") if one.is_file()):
        data = file.read_bytes()
        found[file.name] = text_of(file.name, data)
        if zipfile.is_zipfile(io.BytesIO(data)):
            with zipfile.ZipFile(io.BytesIO(data)) as opened:
                found |= {f"{file.name}/{one}": text_of(one, opened.read(one)) for one in opened.namelist()}
    return found


def test_the_house_reads_it_and_nobody_else(store: Store, tmp_path: Path) -> None:
    with store:
        made = make_outputs(store, CAR, only=["html"], made_at=AT)
        assert {one.what for one in made.outputs if one.fresh} >= {"html"}
        make_report(store, CAR, out=tmp_path / "before", only=["html"], made_at=AT)
        assert not any(one in text for text in files_of(tmp_path / "before").values() for one in PLANTED)

        decide_prep(store, CAR, PrepKind.ASKING, pence=9_753_100, author=IDA)
        decide_prep(store, CAR, PrepKind.REFUSED, "panel_polish@bonnet", words=REASON, author=IDA)
        done = DoneAsked(
            "dent_beat@front_wing.near",
            hours=Decimal(WORK[0]),
            setup_hours=Decimal(WORK[1]),
            found=WORK[2],
            on=AT.date(),
        )
        tick_off(store, CAR, done, author=IDA)
        assert "html" not in {one.what for one in outputs(store, CAR).outputs if one.fresh}
        make_report(store, CAR, out=tmp_path / "house", made_at=AT)
        house = files_of(tmp_path / "house")
        pages = [text for name, text in house.items() if name.endswith((".html", ".pdf"))]
        assert len(pages) == 2
        for text in pages:
            assert all(one in text for one in (REASON, WORTH, "Preparation, for the house alone"))
            assert "It can be filmed again on" in text
            assert "Put right since" in text
        others = [text for name, text in house.items() if not name.endswith((".html", ".pdf"))]
        assert others
        assert not any(one in text for text in others for one in (*PLANTED, *WORK))
        assert any("repaired since" in text for text in others)

        make_buyers_page(store, CAR, out=tmp_path / "page", zipped=True, made_at=AT)
        seal(store, CAR, occasion=Occasion.SOLD, edition=Edition.BUYER, out=tmp_path / "out", made_at=AT, author=IDA)
        buyers = files_of(tmp_path / "page") | files_of(tmp_path / "out")
        assert any(name.endswith(".html") for name in buyers)
        planted = (*PLANTED, *WORK, IDA)
        assert [(name, one) for name, text in buyers.items() for one in planted if one in text] == []
        page = buyers["index.html"]
        assert "Put right since" in page
        assert "repaired since" in page
