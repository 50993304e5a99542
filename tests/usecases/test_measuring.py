"""Measuring on kept pictures: figures as the gauges give them, kept once as readings, the picture left as it was."""

from __future__ import annotations

import hashlib
import importlib.util
import sys
from collections.abc import Iterator
from datetime import datetime, tzinfo
from pathlib import Path
from types import ModuleType

import cv2
import numpy as np
import pytest

from shutline.car.errors import BadInputError, NotFoundError, UserError
from shutline.car.findings import State
from shutline.car.notes import NoteKind
from shutline.car.readings import Way
from shutline.store import Store
from shutline.usecases import measuring
from shutline.usecases.look import find_car
from shutline.usecases.measuring import (
    Measure,
    MeasuredPlace,
    Picked,
    Place,
    measure_on_car,
    measuring_view,
)
from shutline.usecases.note_keeping import keep_file

CAR = "blue"
ROOT = Path(__file__).resolve().parents[1]


def loaded(folder: str, name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"{folder}_{name}", ROOT / "gauge" / folder / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        yield opened


def kept(store: Store, tmp_path: Path, picture: np.ndarray, name: str = "panel.png") -> str:
    path = tmp_path / name
    cv2.imwrite(str(path), picture[..., ::-1])
    made = keep_file(
        store,
        CAR,
        path,
        kind=NoteKind.PICTURE,
        place="nearside front wing",
        token=f"token-{path.stem}",
        name=name,
        by="Ida",
    )
    return made.note.source


def shares(px: np.ndarray, picture: np.ndarray) -> tuple[Place, ...]:
    high, wide = picture.shape[:2]
    return tuple(((x + 0.5) / wide, (y + 0.5) / high) for x, y in px.tolist())


@pytest.fixture
def dent(store: Store, tmp_path: Path) -> tuple[str, Picked]:
    """A picture of a card, and 120 mm picked on it."""
    scene = loaded("size", "scenes").scene(3)
    picked = Picked(
        Measure.LENGTH,
        shares(scene.px(np.array(((-60.0, 10.0), (60.0, 10.0)))), scene.picture),
        ruler_mm=150 * scene.printed,
        pick_px=0.5,
    )
    return kept(store, tmp_path, scene.picture), picked


def test_a_length_is_measured_and_kept_once_as_a_reading_that_stands(store: Store, dent: tuple[str, Picked]) -> None:
    picture, picked = dent
    place = MeasuredPlace("door", "near", "front", "bottom")
    one = measure_on_car(store, CAR, picture, picked, keep=place, author="Ida")
    assert one.low < 120 < one.high
    (standing,) = one.kept
    reading = standing.reading
    assert (reading.quantity, reading.unit, reading.way, reading.source) == ("length", "mm", Way.PICTURE, picture)
    assert reading.value == one.value
    assert reading.uncertainty == one.uncertainty
    assert reading.quote.startswith("length 0.")
    assert standing.state is State.STANDS
    assert standing.changes[0].author == "Ida"
    again = measure_on_car(store, CAR, picture, picked, keep=place, author="Ida")
    assert again.kept == one.kept
    assert [each.id for each in measuring_view(store, CAR).readings] == [standing.id]


def test_nothing_is_kept_where_no_part_is_named_and_the_picture_stays_as_it_was(
    store: Store, dent: tuple[str, Picked]
) -> None:
    picture, picked = dent
    before = find_car(store, CAR)
    original = before.pictures[0].original
    made = measure_on_car(store, CAR, picture[:8], picked)
    assert made.kept == ()
    assert find_car(store, CAR).readings == ()
    from shutline.capture.originals import original_path

    data = original_path(store.originals, original.sha256).read_bytes()
    assert hashlib.sha256(data).hexdigest() == original.sha256


def test_an_area_rust_and_colour_are_kept_in_their_own_quantities(store: Store, tmp_path: Path) -> None:
    scene = loaded("size", "scenes").scene(3)
    corners = shares(scene.px(np.array(((-30.0, -20.0), (30.0, -20.0), (30.0, 20.0), (-30.0, 20.0)))), scene.picture)
    card = kept(store, tmp_path, scene.picture, "card.png")
    area = measure_on_car(
        store, CAR, card, Picked(Measure.AREA, corners, ruler_mm=150 * scene.printed), keep=MeasuredPlace("bonnet")
    )
    assert area.low < 24 < area.high
    panel = loaded("rust", "rusted").panel(7, kind="patch", share=0.1).picture
    whole = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    rust = measure_on_car(
        store, CAR, kept(store, tmp_path, panel, "rust.png"), Picked(Measure.RUST, whole), keep=MeasuredPlace("bonnet")
    )
    assert rust.more["ASTM D610"]
    panels = loaded("colour", "panels")
    rng = np.random.default_rng(1)
    line = panels.photograph(panels.panel((45.0, -20.0, 14.0), rng), panels.panel((45.0, -8.0, 14.0), rng))
    left, right = (shares(np.array(each), line) for each in (panels.LEFT, panels.RIGHT))
    colour = measure_on_car(
        store,
        CAR,
        kept(store, tmp_path, line, "line.png"),
        Picked(Measure.COLOUR, left, right),
        keep=MeasuredPlace("door", "near", "front"),
    )
    assert colour.more["told"] == "apart"
    assert {one.reading.quantity for one in find_car(store, CAR).readings} >= {"area", "colour_difference"}
    assert " | " in colour.kept[0].reading.quote


@pytest.fixture
def line(store: Store, tmp_path: Path) -> tuple[str, np.ndarray, dict[str, tuple[Place, ...]]]:
    """A picture in the light of a lamp: two panels, a grey card, and a chart of 3 by 4 fields below them."""
    panels = loaded("colour", "panels")
    rng = np.random.default_rng(1)
    greys = panels.panel((49.5, 0.0, 0.0), rng)
    top = np.hstack([panels.panel(lab, rng) for lab in ((45.0, -20.0, 14.0), (45.0, -14.0, 14.0))] + [greys])
    light = np.vstack([top, chart_light(panels, rng)]) * np.array((1.25, 1.0, 0.6))
    picture = panels.photograph(light)
    wide = np.array(((182.0, 2.0), (267.0, 2.0), (267.0, 87.0), (182.0, 87.0)))
    corners = np.array(((33.25, 105.0), (235.75, 105.0), (235.75, 165.0), (33.25, 165.0)))
    return (
        kept(store, tmp_path, picture, "lamp.png"),
        picture,
        {
            "places": shares(np.array(panels.LEFT), picture),
            "beside": shares(np.array(panels.RIGHT), picture),
            "grey": shares(wide, picture),
            "chart": shares(corners, picture),
        },
    )


def chart_labs() -> list[list[tuple[float, float, float]]]:
    """Give the fields of the chart, row by row."""
    return [
        [
            (35.0 + 12 * row + 4 * column, 30.0 * (column % 3 - 1), 22.0 * ((row + column) % 3 - 1))
            for column in range(4)
        ]
        for row in range(3)
    ]


def chart_light(panels: ModuleType, rng: np.random.Generator) -> np.ndarray:
    fields = [np.hstack([panels.panel(lab, rng)[:30, :67] for lab in row]) for row in chart_labs()]
    found = np.vstack(fields)
    return np.hstack([found, np.zeros((len(found), 270 - found.shape[1], 3))])


def own_chart_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    rows = [
        f"{row}-{column},{row},{column},{lab[0]},{lab[1]},{lab[2]},made"
        for row, labs in enumerate(chart_labs(), 1)
        for column, lab in enumerate(labs, 1)
    ]
    file = tmp_path / "chart.csv"
    file.write_text("\n".join(["id,row,column,lightness,red,yellow,source", *rows]), encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_CHART", str(file))
    return file


def test_a_grey_card_and_a_chart_bring_the_colour_of_a_lamp_back(
    store: Store, line: tuple, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Against colour-science's CIEDE2000 of the colours that the panels were drawn in."""
    import colour as independent

    true = float(independent.delta_E((45.0, -20.0, 14.0), (45.0, -14.0, 14.0), method="CIE 2000"))
    picture, _, at = line
    own_chart_file(tmp_path, monkeypatch)
    sides = {"places": at["places"], "beside": at["beside"]}
    plain, grey, chart = (
        measure_on_car(store, CAR, picture, Picked(Measure.COLOUR, **sides, **more))
        for more in ({}, {"grey": at["grey"]}, {"chart": at["chart"]})
    )
    assert [one.more["white balance"] for one in (plain, grey, chart)] == ["none", "grey card", "chart"]
    assert abs(grey.value - true) < 0.3 < abs(plain.value - true)
    assert abs(chart.value - true) < 0.3
    # A card that is not neutral, and said to be so, is not taken for neutral.
    warm = Picked(Measure.COLOUR, **sides, grey=at["grey"], grey_lab=(49.5, 0.0, 20.0))
    assert measure_on_car(store, CAR, picture, warm).value != pytest.approx(grey.value, abs=0.05)
    assert measuring_view(store, CAR).chart == 12


def test_a_chart_that_is_not_known_or_cannot_be_read_is_told(
    store: Store, line: tuple, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture, _, at = line
    monkeypatch.setenv("SHUTLINE_CHART", str(tmp_path / "none.csv"))
    asked = Picked(Measure.COLOUR, at["places"], at["beside"], chart=at["chart"])
    with pytest.raises(UserError, match=r"chart\.csv beside the settings"):
        measure_on_car(store, CAR, picture, asked)
    both = Picked(Measure.COLOUR, at["places"], at["beside"], at["grey"], chart=at["chart"])
    with pytest.raises(UserError, match="one of them"):
        measure_on_car(store, CAR, picture, both)
    file = own_chart_file(tmp_path, monkeypatch)
    file.write_text(file.read_text().replace("1-2,1,2,", "1-2,0,2,"), encoding="utf-8")
    (problem,) = measuring_view(store, CAR).problems
    assert problem.where.endswith("line 3")
    with pytest.raises(UserError, match="1 to 100"):
        measure_on_car(store, CAR, picture, asked)


class Later(datetime):
    @classmethod
    def now(cls, tz: tzinfo | None = None) -> Later:
        return cls(2031, 5, 1, tzinfo=tz)


def test_blisters_are_rated_by_eye_and_kept_with_what_they_stand_on(
    store: Store, line: tuple, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture, _, at = line
    seen = Picked(Measure.BLISTERS, at["places"], density=3, size=4)
    made = measure_on_car(store, CAR, picture, seen, keep=MeasuredPlace("door", "near", "front"), author="Ida")
    assert made.sentence == "Blisters 3(S4), density and size, by eye."
    assert made.low < 3 < made.high
    assert [(one.reading.quantity, one.reading.value) for one in made.kept] == [
        ("blister_density", 3),
        ("blister_size", 4),
    ]
    for one in made.kept:
        assert (one.reading.source, one.reading.way, one.reading.instrument) == (picture, Way.PICTURE, "eye")
        assert one.reading.quote.startswith("blisters 3(S4) | 0.")
        assert one.reading.series == made.kept[0].reading.series != ""
    at_car = measure_on_car(store, CAR, "", Picked(Measure.BLISTERS, density=0, size=0), keep=MeasuredPlace("bonnet"))
    assert {(one.reading.source, one.reading.way) for one in at_car.kept} == {("", Way.KEYED)}
    assert at_car.sentence == "No blisters were seen."
    assert len(measuring_view(store, CAR).readings) == 4
    # Sent twice it is kept once; on another day it is another look.
    place = MeasuredPlace("bonnet")
    none = Picked(Measure.BLISTERS, density=0, size=0)
    assert measure_on_car(store, CAR, "", none, keep=place).kept == at_car.kept
    with monkeypatch.context() as later:
        later.setattr(measuring, "datetime", Later)
        assert measure_on_car(store, CAR, "", none, keep=place).kept != at_car.kept
    with pytest.raises(BadInputError, match="2 to 5"):
        measure_on_car(store, CAR, "", Picked(Measure.BLISTERS, density=1, size=4))
    with pytest.raises(UserError, match="both"):
        measure_on_car(store, CAR, "", Picked(Measure.BLISTERS, density=3))


def test_two_keyed_colours_are_compared_and_kept_as_keyed(store: Store, line: tuple) -> None:
    """Pair 1 of Sharma, Wu and Dalal 2005: 2.0425 (check_values.md 1)."""
    pair = Picked(Measure.COLOURS, lab=(50.0, 2.6772, -79.7751), lab_beside=(50.0, 0.0, -82.7485))
    made = measure_on_car(store, CAR, "", pair, keep=MeasuredPlace("door", "near", "front"))
    assert made.value == pytest.approx(2.0425, abs=5e-5)
    (one,) = made.kept
    assert (one.reading.way, one.reading.instrument, one.reading.source) == (Way.KEYED, "spectrophotometer", "")
    assert one.reading.quote == "colours 50,2.6772,-79.7751 | 50,0,-82.7485"
    with pytest.raises(UserError, match="of no picture"):
        measure_on_car(store, CAR, line[0], pair)
    with pytest.raises(UserError, match="both sides"):
        measure_on_car(store, CAR, "", Picked(Measure.COLOURS, lab=(50.0, 0.0, 0.0)))
    with pytest.raises(BadInputError, match="L\\*"):
        measure_on_car(store, CAR, "", Picked(Measure.COLOURS, lab=(500.0, 0.0, 0.0), lab_beside=(50.0, 0.0, 0.0)))


def test_what_needs_no_picture_is_kept_by_command(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import json

    from shutline.cli import main

    base = ["measure", CAR, "--store", str(tmp_path / "store"), "--json"]
    assert main([*base, "--blisters", "3,4", "--part", "bonnet", "--by", "Ida"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["reading"]["value"] for one in told["kept"]] == [3, 4]
    labs = ["--lab", "50,2.6772,-79.7751", "--lab-beside", "50,0,-82.7485", "--lab-uncertainty", "0.05"]
    assert main([*base, *labs]) == 0
    told = json.loads(capsys.readouterr().out)
    pair = Picked(Measure.COLOURS, lab=(50.0, 2.6772, -79.7751), lab_beside=(50.0, 0.0, -82.7485), lab_uncertainty=0.05)
    assert told["value"] == measure_on_car(store, CAR, "", pair).value
    for refused in ("3", "3.5,4", "nan,4", "a,b", "1,4"):
        assert main([*base, "--blisters", refused]) == 2
    assert main([*base, "--lab", "50,0,0"]) == 2
    assert main([*base, "--blisters", "3,4", *labs]) == 2


def test_what_cannot_be_measured_is_refused_with_why(store: Store, dent: tuple[str, Picked], tmp_path: Path) -> None:
    picture, picked = dent
    with pytest.raises(NotFoundError, match="no picture begins so"):
        measure_on_car(store, CAR, "zz", picked)
    with pytest.raises(UserError, match="2 or more"):
        measure_on_car(store, CAR, picture, Picked(Measure.LENGTH, picked.places[:1]))
    with pytest.raises(UserError, match="0 to 1"):
        measure_on_car(store, CAR, picture, Picked(Measure.LENGTH, ((0.5, 0.5), (1.5, 0.5))))
    with pytest.raises(UserError, match="other side"):
        measure_on_car(store, CAR, picture, Picked(Measure.COLOUR, ((0.1, 0.1), (0.2, 0.1), (0.2, 0.2))))
    three = ((0.1, 0.1), (0.2, 0.1), (0.2, 0.2))
    with pytest.raises(UserError, match="grey card"):
        measure_on_car(store, CAR, picture, Picked(Measure.COLOUR, three, three, three[:2]))
    plain = kept(store, tmp_path, np.full((300, 400, 3), 90, np.uint8), "plain.png")
    with pytest.raises(BadInputError, match="markers"):
        measure_on_car(store, CAR, plain, picked)
    with pytest.raises(UserError, match="vocabulary"):
        measure_on_car(store, CAR, picture, picked, keep=MeasuredPlace("flux_capacitor"))


def test_the_command_gives_what_the_use_case_gives(
    store: Store, dent: tuple[str, Picked], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import json

    from shutline.cli import main

    picture, picked = dent
    there = measuring_view(store, CAR).pictures[0]
    made = measure_on_car(store, CAR, picture, picked)
    at = [f"--length={x * there.width - 0.5},{y * there.height - 0.5}" for x, y in picked.places]
    base = ["measure", CAR, "--store", str(tmp_path / "store"), "--json"]
    assert main([*base, "--picture", picture, *at, "--ruler", str(picked.ruler_mm), "--pick", "0.5"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["value"] == pytest.approx(made.value)
    assert told["sentence"] == made.sentence
    assert main(base) == 0
    assert json.loads(capsys.readouterr().out)["pictures"][0]["id"] == picture
    assert main([*base, "--picture", picture, "--length", "here"]) == 2
    assert main([*base, "--picture", picture]) == 2
