"""The Plan as SVG: well-formed, named, small, the same every time; read by the standard library's XML parser."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.errors import UserError
from shutline.car.findings import Position, Side
from shutline.car.plan import Layout, Pin, PinForm, draw, plan_svg
from shutline.car.plan.bodies import bodies
from shutline.car.plan.figure import SHADINGS, swatch
from shutline.car.plan.ink import ACCENT, FINE_INK, GROUND, INK, PAPER

SVG = "{http://www.w3.org/2000/svg}"
NAMES = tuple(bodies())
PINS = (
    Pin(1, "front_wing", Side.NEAR, None, PinForm.BAD, title="nearside front wing: rust"),
    Pin(2, "tyre", Side.BOTH, Position.FRONT, PinForm.GOOD),
    Pin(3, "papers", None, None, PinForm.UNSURE, link="#finding-3"),
)


def parsed(text: str | bytes) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314


def written(body: str | None = "saloon", **options: object) -> ET.Element:
    return parsed(plan_svg(draw(body), title="The car", desc="Unrolled", **options))  # type: ignore[arg-type]


def ids(root: ET.Element) -> list[str]:
    return [element.get("id", "") for element in root.iter() if element.get("id")]


@pytest.mark.parametrize("body", NAMES)
def test_the_figure_is_well_formed_with_ids_of_its_own(body: str) -> None:
    root = written(body, pins=PINS, shading={"bonnet": "said"})

    assert root.tag == f"{SVG}svg"
    assert len(set(ids(root))) == len(ids(root))
    # ID values are XML names (XML 1.0, 3.3.1).
    assert all(re.fullmatch(r"[A-Za-z_][\w.-]*", name) for name in ids(root))


@pytest.mark.parametrize("body", NAMES)
@pytest.mark.parametrize("doors", [2, 4])
def test_a_plain_figure_is_less_than_80_kilobytes(body: str, doors: int) -> None:
    assert len(plan_svg(draw(body, doors=doors), title="The car", desc="Unrolled").encode()) < 80_000


def test_the_figure_is_an_image_named_by_its_title_and_desc() -> None:
    root = written()

    assert root.get("role") == "img"
    named = {element.get("id"): element.text for element in root if element.get("id")}
    assert [named[name] for name in root.get("aria-labelledby", "").split()] == ["The car", "Unrolled"]


def test_every_part_in_every_view_is_named_and_can_be_found_by_part_side_and_position() -> None:
    root = written()

    found = {
        (e.get("data-part"), e.get("data-side"), e.get("data-position")): e.findtext(f"{SVG}title")
        for e in root.iter()
        if e.get("data-part")
    }
    assert found["front_wing", "near", None] == "nearside front wing"
    assert found["door", "off", "rear"] == "offside rear door"
    assert found["bumper", None, "front"] == "front bumper"
    plan = draw("saloon")
    assert set(found) >= {(s.part, s.side, s.position) for s in (*plan.shapes, *plan.spots)}
    assert all(found.values())


def test_path_data_has_nothing_but_commands_and_numbers() -> None:
    # SVG 1.1, 8.3.9: the grammar of path data, as far as it is used here.
    number = r"-?(?:\d+(?:\.\d+)?|\.\d+)"
    command = rf"(?:[MmLlHhVvCcQqAa](?:[ ]?{number})+|[Zz])"
    for element in written(pins=PINS).iter(f"{SVG}path"):
        assert re.fullmatch(f"(?:{command})*", element.get("d", "")), element.get("d")


def test_the_same_plan_gives_the_same_bytes_in_another_process() -> None:
    script = (
        "import hashlib; from shutline.car.plan import *; from shutline.car.findings import *;"
        "parts = ['door', 'tyre', 'sill', 'roof', 'seat', 'badge', 'keys'] * 4;"
        "pins = [Pin(i, p, Side.NEAR, Position.FRONT, PinForm.BAD) for i, p in enumerate(parts)];"
        "svg = plan_svg(draw('estate'), pins=pins, shading={'bonnet': 'seen'}, title='a', desc='b');"
        "print(hashlib.sha256(svg.encode()).hexdigest())"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", script],
            capture_output=True,
            text=True,
            check=True,
            env=os.environ | {"PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "77")
    }

    assert len(digests) == 1


@settings(deadline=None, max_examples=25)
@given(st.text(st.characters(codec=None), max_size=40))
def test_any_title_stays_text(text: str) -> None:
    svg = plan_svg(
        draw("saloon"), pins=[Pin(1, "roof", None, None, PinForm.BAD, title=text, link=text)], title=text, desc=text
    )

    root = parsed(svg.encode("utf-8"))
    assert not list(root.iter(f"{SVG}script"))
    assert len(list(root.iter(f"{SVG}svg"))) == 1


def test_without_standing_alone_there_is_no_declaration_and_a_prefix_keeps_two_figures_apart() -> None:
    one = plan_svg(draw("van"), title="a", desc="b", standalone=False, prefix="one")
    two = plan_svg(draw("van"), title="a", desc="b", standalone=False, prefix="two")

    assert one.startswith("<svg ")
    root = parsed(f"<html>{one}{two}</html>")
    assert len(set(ids(root))) == len(ids(root))
    assert plan_svg(draw("van"), title="a", desc="b").startswith("<?xml")


@pytest.mark.parametrize("shade", SHADINGS)
def test_a_shading_is_a_pattern_and_a_word(shade: str) -> None:
    root = written(shading={"bonnet": shade, "sill-near": shade})

    bonnet = next(e for e in root.iter() if e.get("id") == "plan-bonnet")
    pattern = bonnet.get("fill", "").removeprefix("url(#").removesuffix(")")
    assert pattern in {e.get("id") for e in root.iter(f"{SVG}pattern")}
    key = next(e for e in root.iter() if e.get("id") == "plan-key")
    assert SHADINGS[shade][0] in "".join(key.itertext())


def test_no_two_shadings_have_one_pattern() -> None:
    assert len({pattern for _, pattern in SHADINGS.values()}) == len(SHADINGS)


def test_an_unknown_shading_or_place_is_refused_naming_what_is_allowed() -> None:
    with pytest.raises(UserError, match=r"shading of bonnet: 'tartan'; allowed: said, seen"):
        written(shading={"bonnet": "tartan"})
    with pytest.raises(UserError, match=r"shading: 'bonnets'"):
        written(shading={"bonnets": "said"})


def test_a_tag_can_be_shaded() -> None:
    root = written(shading={"paintwork": "silent"})

    tag = next(e for e in root.iter() if e.get("id") == "plan-paintwork")
    assert any("url(#plan-" in e.get("fill", "") for e in tag)


def test_a_spot_is_shaded_as_a_disc_that_can_be_seen() -> None:
    (plain, shaded) = (
        next(e for e in written(shading=shading).iter() if e.get("id") == "plan-jacking_point-near")
        for shading in ({"bonnet": "said"}, {"jacking_point-near": "silent"})
    )
    circles = [next(e for e in spot if e.tag == f"{SVG}circle") for spot in (plain, shaded)]
    assert [circle.get("fill") for circle in circles] == [None, "url(#plan-crosses)"]
    assert [circle.get("fill-opacity") for circle in circles] == [None, "1"]
    assert float(circles[1].get("r", 0)) > float(circles[0].get("r", 0))


@pytest.mark.parametrize("shade", SHADINGS)
def test_a_swatch_is_the_pattern_by_itself(shade: str) -> None:
    root = parsed(swatch(shade))

    (pattern,) = root.iter(f"{SVG}pattern")
    assert any(e.get("fill") == f"url(#{pattern.get('id')})" for e in root)
    assert (pattern.get("id") or "").endswith(SHADINGS[shade][1])
    assert root.get("aria-hidden") == "true"


def test_pins_differ_by_form_and_not_by_colour_alone() -> None:
    root = written(pins=PINS)

    marks = {e.get("data-form"): e.find(f"{SVG}circle") for e in root.iter() if e.get("data-form")}
    assert set(marks) == set(PinForm)
    filled = {form: mark.get("fill") == INK for form, mark in marks.items() if mark is not None}
    broken = {form: mark.get("stroke-dasharray") is not None for form, mark in marks.items() if mark is not None}
    assert filled == {"good": False, "bad": True, "unsure": False}
    assert broken == {"good": False, "bad": False, "unsure": True}


def test_a_pin_for_both_sides_is_set_at_each_and_a_link_leads_on() -> None:
    root = written(pins=PINS)

    assert sum(e.get("data-pin") == "2" for e in root.iter()) == 2
    assert [e.get("{http://www.w3.org/1999/xlink}href") for e in root.iter(f"{SVG}a")] == ["#finding-3"]


def test_a_body_not_known_says_so_in_the_figure() -> None:
    assert "body not known" in "".join(written(None).itertext())
    assert "body not known" not in "".join(written("saloon").itertext())


@pytest.mark.parametrize("ground", [PAPER, GROUND])
@pytest.mark.parametrize("ink", [INK, FINE_INK, ACCENT])
def test_words_and_thread_stand_out_from_their_ground(ink: str, ground: str) -> None:
    # WCAG 2.2, 1.4.3: at least 4.5 to 1; relative luminance as defined there.
    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(ink), luminance(ground)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


@pytest.mark.parametrize("layout", Layout)
def test_the_pdf_engine_draws_it_without_complaint(layout: Layout) -> None:
    import io

    import typst
    from PIL import Image

    plan = draw("roadster", layout=layout)
    svg = plan_svg(plan, pins=PINS, shading={"bonnet": "said"}, title="The car", desc="Unrolled")
    page = f'#set page(width: {plan.width}pt, height: auto, margin: 0pt)\n#image("plan.svg", width: 100%)'
    png = typst.compile({"main.typ": page.encode(), "plan.svg": svg.encode()}, format="png", ppi=40)

    image = Image.open(io.BytesIO(png)).convert("L")
    shades = {shade for _, shade in image.getcolors(256) or []}
    assert min(shades) < 100
    assert max(shades) > 235
