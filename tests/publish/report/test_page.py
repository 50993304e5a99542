"""The page read by the standard library's parser: whole, quiet, and with nothing in it that anybody slipped in."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.errors import Problem
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found
from shutline.publish.plain import one_line
from shutline.publish.report import House, build_report, report_html

if TYPE_CHECKING:
    from tests.publish.conftest import Sample  # pragma: no cover

MADE_AT = "2026-11-25T10:00:00+00:00"
VOID = {"meta", "img", "br", "link", "input", "hr"}
# The drawing is XML in the page: its elements may close themselves.
DRAWING = {
    "svg",
    "path",
    "rect",
    "circle",
    "line",
    "g",
    "text",
    "tspan",
    "title",
    "desc",
    "pattern",
    "defs",
    "a",
    "ellipse",
}


class Page(HTMLParser):
    """Elements, ids, references, headings and text of a page; fails on what does not close."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.headings: list[int] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] != "style":
            self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.texts).split())

    def ids(self) -> list[str]:
        return [str(attrs["id"]) for _, attrs in self.tags if "id" in attrs]


@pytest.fixture(scope="module")
def html(sample: Sample) -> str:
    return report_html(build_report(sample.car, visits=sample.visits, stills=sample.stills, made_at=MADE_AT))


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def test_the_page_asks_for_nothing_from_outside(html: str, page: Page) -> None:
    for tag, attrs in page.tags:
        assert tag not in ("script", "iframe", "object", "embed", "link", "base", "form")
        for name, value in attrs.items():
            assert not name.startswith("on")
            if name in ("src", "href", "xlink:href", "srcset", "poster", "data", "action"):
                assert str(value).startswith(("#", "data:image/jpeg;base64,", "data:font/woff2;base64,")), (tag, name)
    style = html[html.index("<style>") : html.index("</style>")]
    assert "@import" not in style
    assert all(url.startswith(("data:font/woff2;base64,", "#")) for url in re.findall(r"url\([\"']?([^)\"']+)", style))
    # Names of XML namespaces are names; nothing fetches them.
    assert "http://" not in re.sub(r'xmlns(:xlink)?="http://www\.w3\.org/[^"]+"', "", html)
    assert "https://" not in html


def test_ids_are_unique_and_every_link_has_its_place(page: Page) -> None:
    ids = page.ids()
    assert len(ids) == len(set(ids))
    links = {str(attrs["href"])[1:] for tag, attrs in page.tags if tag == "a" and attrs.get("href")}
    assert links
    assert links <= set(ids)
    for _, attrs in page.tags:
        for name in str(attrs.get("aria-labelledby") or "").split():
            assert name in ids


def test_headings_go_down_one_step_at_a_time(page: Page) -> None:
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(page.headings, page.headings[1:], strict=False))


def test_the_page_has_its_landmarks_language_title_and_skip_link(page: Page) -> None:
    tags = [tag for tag, _ in page.tags]
    for landmark in ("header", "nav", "main", "footer"):
        assert tags.count(landmark) == 1
    assert dict(page.tags)["html"].get("lang") == "en-GB"
    assert tags.count("style") == 1
    first_link = next(attrs for tag, attrs in page.tags if tag == "a")
    assert first_link["class"] == "skip"


def test_every_picture_says_what_it_is(page: Page) -> None:
    pictures = [attrs for tag, attrs in page.tags if tag == "img"]
    assert pictures
    assert all(len(str(attrs["alt"])) > 20 for attrs in pictures)


def test_every_finding_and_its_quote_is_in_the_page(sample: Sample, page: Page) -> None:
    for kept in sample.car.going_out():
        assert kept.finding.footings[0].quote in page.text


def test_nothing_struck_or_private_is_in_the_page(html: str) -> None:
    assert "PLANTED" not in html
    assert "three keepers" not in html


def test_the_same_model_gives_the_same_page(sample: Sample, html: str) -> None:
    again = build_report(sample.car, visits=sample.visits, stills=sample.stills, made_at=MADE_AT)
    assert report_html(again) == html


def contrast(one: str, two: str) -> float:
    """WCAG 2.2 contrast ratio of two sRGB colours (w3.org/TR/WCAG22, relative luminance)."""

    def luminance(colour: str) -> float:
        channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


def test_ink_on_paper_has_the_contrast_that_wcag_asks_for(html: str) -> None:
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", html))
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    for ground in ("ground", "paper"):
        for words in ("ink", "soft", "accent"):
            assert contrast(colours[words], colours[ground]) >= 4.5


HOSTILE = (
    "<script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    '" onmouseover="x',
    '#import "x"; #panic() $x$ *b* _i_ `c` @ref <label> // \\ [',
    "{{ 7*7 }} {% raw %} {place}",
    "\u202eesrever\u202c \u2066x\u2069",
    "שלום عربى 漢字 \U0001f697\U0001f3fd \u0915\u094d\u0937",
    "nul\x00 bell\x07 \ud800 \ufffe \U0001fffe",
    "--> ]]> <!-- &amp; &#0; %s {0}",
    "word " * 2000,
    "x" * 5000,
    "",
    "   \n\t ",
)


def hostile_car(text: str) -> CarFile:
    said = (Footing(FootingKind.SAID, text, 1.0, 2.0, text, (text,)),)
    finding = Finding("sill", "rust", Found.YES, footings=said, why=(text,))
    fact = Fact("colour", text, footings=said)
    problem = Problem("slug", text, text, text, text)
    kept = (KeptFinding("f", finding),)
    return CarFile(
        "car", text or "car", Drive.RHD, MADE_AT, findings=kept, facts=(KeptFact("x", fact),), problems=(problem,)
    )


def check_hostile(text: str) -> None:
    model = build_report(hostile_car(text), made_at=MADE_AT, house=House(text, (text,)))
    html = report_html(model)
    html.encode("utf-8")
    page = Page(html)
    tags = {tag for tag, _ in page.tags}
    assert not tags & {"script", "img", "iframe"}
    assert all(not name.startswith("on") for _, attrs in page.tags for name in attrs)
    assert one_line(text) in page.text
    assert "\x00" not in html


@pytest.mark.parametrize("text", HOSTILE)
def test_whatever_was_said_is_only_text(text: str) -> None:
    check_hostile(text)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(st.characters(exclude_categories=()), max_size=60))
def test_any_text_at_all_is_only_text(text: str) -> None:
    check_hostile(text)


def test_five_hundred_findings_are_all_there(sample: Sample) -> None:
    base = sample.car.findings[0]
    many = tuple(
        KeptFinding(f"m{n}", replace(base.finding, footings=(replace(base.finding.footings[0], quote=f"quote-{n}."),)))
        for n in range(500)
    )
    text = Page(report_html(build_report(replace(sample.car, findings=many), made_at=MADE_AT))).text
    assert all(f"quote-{n}." in text for n in range(500))
