"""What was read off pictures and taken stands in the report; what waits is only counted, what was set aside is not."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pytest

from shutline.car.carfile import CarFile, Picture
from shutline.car.figures import Figure, FigureKind, FigureState, ReadFigure
from shutline.car.findings import Drive, Position, Side
from shutline.car.recordings import Kind, Original
from shutline.publish.report import build_report, report_html, report_pdf
from shutline.publish.report.read_off import read_off
from shutline.usecases.report import without_struck

MADE_AT = "2026-11-25T10:00:00+00:00"
CAR = CarFile("merlin", "1968 Calder Merlin 1300", Drive.RHD, MADE_AT)
PICTURE = Picture("p1", Original("ab" * 32, "receipt.jpg", 1000, Kind.PICTURE), 640, 360)


def figure(kind: FigureKind, value: int | str, state: FigureState = FigureState.TAKEN, **more: object) -> Figure:
    read = ReadFigure(kind, str(value), (), value, None, fits=True, sureness=0.9, box=(0.0, 0.0, 1.0, 1.0))
    usual = {
        "id": f"{kind}-{value}",
        "read": read,
        "source": "r1",
        "at_s": 65.0,
        "crop": "cd" * 32,
        "value": value,
        "unit": None,
        "state": state,
        "read_at": MADE_AT,
    }
    return Figure(**{**usual, **more})  # type: ignore[arg-type]


REAR = figure(FigureKind.TYRE_SIZE, "165/70 R14 81T", part="tyre", side=Side.OFF, position=Position.REAR)
FRONT = figure(FigureKind.TYRE_SIZE, "165/70 R14 82T", part="tyre", side=Side.NEAR, position=Position.FRONT)
PAINT = figure(FigureKind.PAINT, 118, unit="um", part="door", side=Side.NEAR, position=Position.FRONT)
PAPER = figure(FigureKind.PAPER, "Halloran & Pike\nNew <clutch>", source="p1", at_s=None)
DATE = figure(FigureKind.TYRE_DATE, "week 43 of 2008")


def test_what_was_taken_stands_there_with_place_and_moment_in_walking_order() -> None:
    car = replace(CAR, figures=(PAPER, PAINT, REAR, DATE, FRONT), pictures=(PICTURE,))
    section = read_off(car, {})
    assert section is not None
    assert [(line.label, line.words, line.stands_on[0].words) for line in section.lines] == [
        ("Size of the nearside front tyre", ("165/70 R14 82T",), "Seen in the film at 1:05"),
        ("Size of the offside rear tyre", ("165/70 R14 81T",), "Seen in the film at 1:05"),
        ("A tyre made in", ("week 43 of 2008",), "Seen in the film at 1:05"),
        ("Paint film, nearside front door", ("118 micrometres",), "Seen in the film at 1:05"),
        ("Paper", ("Halloran & Pike", "New <clutch>"), "Seen in a picture: receipt.jpg"),
    ]
    assert section.waiting == ""


def test_what_waits_is_counted_and_what_was_set_aside_is_nowhere() -> None:
    waits = figure(FigureKind.PAINT, 99, FigureState.WAITS)
    aside = figure(FigureKind.PAINT, 77, FigureState.ASIDE)
    mileage = figure(FigureKind.ODOMETER, 58206)
    car = replace(CAR, figures=(waits, aside, mileage))
    section = read_off(car, {})
    assert section is not None
    assert section.lines == ()
    assert section.waiting.startswith("One figure")
    assert without_struck(car).figures == (waits, mileage)
    assert read_off(replace(car, figures=(aside, mileage)), {}) is None
    assert read_off(CAR, {}) is None


@pytest.mark.parametrize("kind", ["page", "paper"])
def test_page_and_paper_tell_it_and_nothing_of_it_is_markup(kind: str) -> None:
    from pypdf import PdfReader

    car = replace(CAR, figures=(PAPER, PAINT, FRONT), pictures=(PICTURE,))
    model = build_report(car, made_at=MADE_AT)
    if kind == "page":
        page = report_html(model)
        assert 'id="read-off-heading"' in page
        assert "New &lt;clutch&gt;" in page
        assert "118 micrometres" in page
        return
    pages = PdfReader(BytesIO(report_pdf(model))).pages
    text = " ".join(" ".join(part.extract_text() for part in pages).split())
    assert "Read off pictures" in text
    assert "165/70 R14 82T" in text
    assert "New <clutch>" in text
