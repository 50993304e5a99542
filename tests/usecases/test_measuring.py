"""Measuring on kept pictures: figures as the gauges give them, kept once as readings, the picture left as it was."""

from __future__ import annotations

import hashlib
import importlib.util
import sys
from collections.abc import Iterator
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
from shutline.usecases.look import find_car
from shutline.usecases.measuring import (
    Measure,
    MeasuredPlace,
    Picked,
    Place,
    measure_on_picture,
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
    one = measure_on_picture(store, CAR, picture, picked, keep=place, author="Ida")
    assert one.low < 120 < one.high
    assert one.kept is not None
    reading = one.kept.reading
    assert (reading.quantity, reading.unit, reading.way, reading.source) == ("length", "mm", Way.PICTURE, picture)
    assert reading.value == one.value
    assert reading.uncertainty == one.uncertainty
    assert reading.quote.startswith("length 0.")
    assert one.kept.state is State.STANDS
    assert one.kept.changes[0].author == "Ida"
    again = measure_on_picture(store, CAR, picture, picked, keep=place, author="Ida")
    assert again.kept == one.kept
    assert [each.id for each in measuring_view(store, CAR).readings] == [one.kept.id]


def test_nothing_is_kept_where_no_part_is_named_and_the_picture_stays_as_it_was(
    store: Store, dent: tuple[str, Picked]
) -> None:
    picture, picked = dent
    before = find_car(store, CAR)
    original = before.pictures[0].original
    made = measure_on_picture(store, CAR, picture[:8], picked)
    assert made.kept is None
    assert find_car(store, CAR).readings == ()
    from shutline.capture.originals import original_path

    data = original_path(store.originals, original.sha256).read_bytes()
    assert hashlib.sha256(data).hexdigest() == original.sha256


def test_an_area_rust_and_colour_are_kept_in_their_own_quantities(store: Store, tmp_path: Path) -> None:
    scene = loaded("size", "scenes").scene(3)
    corners = shares(scene.px(np.array(((-30.0, -20.0), (30.0, -20.0), (30.0, 20.0), (-30.0, 20.0)))), scene.picture)
    card = kept(store, tmp_path, scene.picture, "card.png")
    area = measure_on_picture(
        store, CAR, card, Picked(Measure.AREA, corners, ruler_mm=150 * scene.printed), keep=MeasuredPlace("bonnet")
    )
    assert area.low < 24 < area.high
    panel = loaded("rust", "rusted").panel(7, kind="patch", share=0.1).picture
    whole = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    rust = measure_on_picture(
        store, CAR, kept(store, tmp_path, panel, "rust.png"), Picked(Measure.RUST, whole), keep=MeasuredPlace("bonnet")
    )
    assert rust.more["ASTM D610"]
    panels = loaded("colour", "panels")
    rng = np.random.default_rng(1)
    line = panels.photograph(panels.panel((45.0, -20.0, 14.0), rng), panels.panel((45.0, -8.0, 14.0), rng))
    left, right = (shares(np.array(each), line) for each in (panels.LEFT, panels.RIGHT))
    colour = measure_on_picture(
        store,
        CAR,
        kept(store, tmp_path, line, "line.png"),
        Picked(Measure.COLOUR, left, right),
        keep=MeasuredPlace("door", "near", "front"),
    )
    assert colour.more["told"] == "apart"
    assert {one.reading.quantity for one in find_car(store, CAR).readings} >= {"area", "colour_difference"}
    assert colour.kept is not None
    assert " | " in colour.kept.reading.quote


def test_what_cannot_be_measured_is_refused_with_why(store: Store, dent: tuple[str, Picked], tmp_path: Path) -> None:
    picture, picked = dent
    with pytest.raises(NotFoundError, match="no picture begins so"):
        measure_on_picture(store, CAR, "zz", picked)
    with pytest.raises(UserError, match="2 or more"):
        measure_on_picture(store, CAR, picture, Picked(Measure.LENGTH, picked.places[:1]))
    with pytest.raises(UserError, match="0 to 1"):
        measure_on_picture(store, CAR, picture, Picked(Measure.LENGTH, ((0.5, 0.5), (1.5, 0.5))))
    with pytest.raises(UserError, match="other side"):
        measure_on_picture(store, CAR, picture, Picked(Measure.COLOUR, ((0.1, 0.1), (0.2, 0.1), (0.2, 0.2))))
    three = ((0.1, 0.1), (0.2, 0.1), (0.2, 0.2))
    with pytest.raises(UserError, match="grey card"):
        measure_on_picture(store, CAR, picture, Picked(Measure.COLOUR, three, three, three[:2]))
    plain = kept(store, tmp_path, np.full((300, 400, 3), 90, np.uint8), "plain.png")
    with pytest.raises(BadInputError, match="markers"):
        measure_on_picture(store, CAR, plain, picked)
    with pytest.raises(UserError, match="vocabulary"):
        measure_on_picture(store, CAR, picture, picked, keep=MeasuredPlace("flux_capacitor"))


def test_the_command_gives_what_the_use_case_gives(
    store: Store, dent: tuple[str, Picked], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import json

    from shutline.cli import main

    picture, picked = dent
    there = measuring_view(store, CAR).pictures[0]
    made = measure_on_picture(store, CAR, picture, picked)
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
