"""The page of the route read back by pypdf."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from shutline.publish.sheet import build_route_sheet, route_pdf
from shutline.survey import Raised, Route, make_route, shelf

MADE_AT = "2026-11-26T10:00:00+00:00"
LONGEST = (("hatchback_estate", "air_cooled"), "estate", 5)
CARS = (
    LONGEST,
    (("monocoque_saloon",), "saloon", 4),
    (("separate_chassis_open",), "roadster", 2),
    (("ladder_frame",), "4x4", 5),
)


def route(names: tuple[str, ...], body: str, doors: int, **more: object) -> Route:
    guide = shelf().put_together(names)
    return make_route(guide, guide.asked(body, doors), ground=shelf().ground, **more)  # type: ignore[arg-type]


def text_of(pdf: bytes) -> str:
    return re.sub(r"[\s\u00ad\u200b]+", "", "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


@pytest.mark.parametrize(("names", "body", "doors"), CARS)
def test_the_whole_route_stands_on_one_page(names: tuple[str, ...], body: str, doors: int) -> None:
    way = route(names, body, doors)
    pdf = route_pdf(build_route_sheet(way, title="Ostrel Pavane", made_at=MADE_AT))
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1
    text = text_of(pdf)
    for step in way.steps:
        assert re.sub(r"\s+", "", step.asked.check.look_for) in text
    for caution in way.cautions:
        assert re.sub(r"\s+", "", caution.text) in text


def test_the_page_is_tagged_titled_and_the_same_each_time() -> None:
    sheet = build_route_sheet(route(*CARS[1]), title="Ostrel Pavane", made_at=MADE_AT)
    pdf = route_pdf(sheet)
    reader = PdfReader(io.BytesIO(pdf))
    assert reader.root_object["/MarkInfo"]["/Marked"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Ostrel Pavane: the route"
    assert route_pdf(sheet) == pdf


def test_a_check_of_both_sides_is_explained_once_and_ticked_twice() -> None:
    sheet = build_route_sheet(route(*CARS[1]), made_at=MADE_AT)
    sills = [step for stop in sheet.stops for step in stop.steps if step.name.endswith("sill and jacking point")]
    assert len(sills) == 2
    assert [bool(step.look_for) for step in sorted(sills, key=lambda step: step.number)] == [True, False]


def test_a_short_route_and_an_empty_one_are_pages_too() -> None:
    short = route(*CARS[1], within_s=120.0, raised=Raised.NO)
    assert len(PdfReader(io.BytesIO(route_pdf(build_route_sheet(short, answered=90, made_at=MADE_AT)))).pages) == 1
    guide = shelf().put_together(["general"])
    empty = build_route_sheet(make_route(guide, (), ground=shelf().ground), made_at=MADE_AT)
    assert "Nothingislefttoshow" in text_of(route_pdf(empty))


def test_words_of_a_title_are_no_markup() -> None:
    title = '#panic("x") *bold* <a> \u202e' + "\N{AUTOMOBILE}"
    sheet = build_route_sheet(route(*CARS[2], within_s=60.0), title=title, made_at=MADE_AT)
    assert '#panic("x")' in text_of(route_pdf(sheet))
