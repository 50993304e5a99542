"""The PDF read back by pypdf: tagged, whole, and the same each time."""

from __future__ import annotations

import io
import re
import unicodedata
from dataclasses import replace
from importlib.resources import files
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.errors import Problem
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found
from shutline.publish.report import House, build_report, report_pdf
from shutline.publish.report.paper import settable

if TYPE_CHECKING:
    from tests.publish.conftest import Sample  # pragma: no cover

MADE_AT = "2026-11-25T10:00:00+00:00"


def squeezed(text: str) -> str:
    """Leave out white space and hyphens: lines break where the typesetter likes."""
    return re.sub(r"[\s\u00ad\u200b]+", "", unicodedata.normalize("NFKC", text))


def text_of(pdf: bytes) -> str:
    return squeezed("".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


@pytest.fixture(scope="module")
def pdf(sample: Sample) -> bytes:
    house = House("Halloran & Pike", ("Little Wending",))
    model = build_report(sample.car, visits=sample.visits, stills=sample.stills, made_at=MADE_AT, house=house)
    return report_pdf(model)


@pytest.fixture(scope="module")
def reader(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def test_the_pdf_is_tagged_titled_and_in_english(reader: PdfReader) -> None:
    # ISO 14289-1 (PDF/UA-1), from memory: marked, a structure tree, a language, a title that is shown.
    root = reader.root_object
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == "1968 Calder Merlin 1300"
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()


def structure(reader: PdfReader) -> list[tuple[str, object]]:
    found: list[tuple[str, object]] = []
    waiting = [reader.root_object["/StructTreeRoot"].get_object()]
    while waiting:
        node = waiting.pop()
        if not hasattr(node, "get"):
            continue
        if "/S" in node:
            found.append((str(node["/S"]), node.get("/Alt")))
        kids = node.get("/K")
        kids = [] if kids is None else kids.get_object()
        waiting += [kid.get_object() for kid in reversed(kids)] if isinstance(kids, list) else [kids]
    return found


def test_every_picture_has_its_words_and_headings_are_headings(reader: PdfReader, sample: Sample) -> None:
    tags = structure(reader)
    alts = [alt for tag, alt in tags if tag == "/Figure"]
    assert len(alts) == len(sample.car.going_out()) + 1
    assert all(alt and len(str(alt)) > 20 for alt in alts)
    levels = [int(tag[2:]) for tag, _ in tags if re.fullmatch("/H[1-6]", tag)]
    assert levels
    assert all(after - before <= 1 for before, after in zip([1, *levels], levels, strict=False))


def test_bookmarks_lead_to_the_sections(reader: PdfReader) -> None:
    titles = [str(item["/Title"]) for item in reader.outline if not isinstance(item, list)]
    assert {"The car", "In short", "What was found", "What was not looked at", "With care"} <= set(titles)


def test_every_finding_is_in_the_text_and_nothing_struck_or_private(pdf: bytes, sample: Sample) -> None:
    text = text_of(pdf)
    for kept in sample.car.going_out():
        assert squeezed(kept.finding.footings[0].quote) in text
    assert "PLANTED" not in text
    assert b"PLANTED" not in pdf
    assert squeezed("three keepers") not in text


def test_typefaces_are_inside(reader: PdfReader) -> None:
    fonts: dict[str, bool] = {}
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            whole = font.get_object()
            for one in whole.get("/DescendantFonts", [whole]):
                descriptor = one.get_object()["/FontDescriptor"].get_object()
                fonts[str(whole["/BaseFont"])] = any(f"/FontFile{n}" in descriptor for n in ("", "2", "3"))
    assert fonts
    assert all(fonts.values())
    assert all("Shutline" in name for name in fonts)


def test_pages_are_numbered(reader: PdfReader) -> None:
    count = len(reader.pages)
    assert f"Page 2 of {count}" in reader.pages[1].extract_text()


def test_the_same_model_gives_the_same_bytes(sample: Sample, pdf: bytes) -> None:
    house = House("Halloran & Pike", ("Little Wending",))
    again = build_report(sample.car, visits=sample.visits, stills=sample.stills, made_at=MADE_AT, house=house)
    assert report_pdf(again) == pdf


def hostile_car(text: str) -> CarFile:
    said = (Footing(FootingKind.SAID, text, 1.0, 2.0, text, (text,)),)
    finding = Finding("sill", "rust", Found.YES, footings=said, why=(text,))
    fact = Fact("colour", text, footings=said)
    problem = Problem("slug", text, text, text, text)
    kept = (KeptFinding("f", finding),)
    return CarFile(
        "car", text or "car", Drive.RHD, MADE_AT, findings=kept, facts=(KeptFact("x", fact),), problems=(problem,)
    )


@pytest.mark.parametrize(
    "text",
    [
        '#import "x"; #panic() $x$ *b* _i_ `c` @ref <label> // \\ [ = heading',
        "<script>alert(1)</script> ]]> &amp;",
        "\u202eesrever\u202c שלום عربى 漢字 \U0001f697\U0001f3fd e\u0301",
        "nul\x00 bell\x07 \ud800 \ufffe \U0001fffe",
        "word " * 2000,
        "x" * 3000,
        "",
    ],
)
def test_whatever_was_said_is_only_text(text: str) -> None:
    model = build_report(hostile_car(text), made_at=MADE_AT, house=House(text, (text,)))
    found = text_of(report_pdf(model))
    quote = model.entries[0].stands_on[0].quote
    assert squeezed(settable(quote)) in found


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(st.characters(exclude_categories=()), max_size=60))
def test_any_text_at_all_can_be_set(text: str) -> None:
    report_pdf(build_report(hostile_car(text), made_at=MADE_AT, house=House(text, (text,))))


def test_every_character_said_to_be_settable_is_set() -> None:
    # The typesetter refuses, under PDF/UA, to set a character that no typeface has: it is the judge of the list.
    spans = files("shutline.publish").joinpath("fonts/coverage.txt").read_text(encoding="utf-8").split()
    codes = [code for span in spans for code in range(int(span[:4], 16), int(span[-4:], 16) + 1)]
    model = build_report(hostile_car(" ".join(chr(code) for code in codes)), made_at=MADE_AT)
    assert report_pdf(model).startswith(b"%PDF-")
    assert len(codes) > 700


def test_what_cannot_be_set_is_told() -> None:
    assert settable("caf\N{LATIN SMALL LETTER E WITH ACUTE} \N{POUND SIGN}5") == "café £5"
    assert settable("\U0001f697\U0001f3fd") == "[automobile, emoji modifier fitzpatrick type-4]"
    assert settable("漢字") == "[2 characters in Cjk script]"


def test_five_hundred_findings_are_all_there(sample: Sample) -> None:
    base = sample.car.findings[0]
    many = tuple(
        KeptFinding(f"m{n}", replace(base.finding, footings=(replace(base.finding.footings[0], quote=f"quote-{n}."),)))
        for n in range(500)
    )
    text = text_of(report_pdf(build_report(replace(sample.car, findings=many), made_at=MADE_AT)))
    assert all(f"quote-{n}." in text for n in range(500))


def test_an_empty_car_file_can_be_set() -> None:
    model = build_report(CarFile("car", "Car", Drive.RHD, MADE_AT), made_at=MADE_AT)
    assert squeezed("No statement about the state of any part was found") in text_of(report_pdf(model))
