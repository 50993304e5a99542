"""Figures are kept as they were read, with what people made of them; nothing is lost, whoever decides again."""

from dataclasses import replace

import pytest

from shutline.car.carfile import Recording
from shutline.car.errors import NotFoundError, UserError
from shutline.car.figures import Figure, FigureKind, FigureState, OtherReading, ReadFigure, ReadSign
from shutline.car.findings import Position, Side
from shutline.store import PROGRAM, StaleError, Store

BOX = (0.1, 0.2, 0.3, 0.4)
READ = ReadFigure(
    FigureKind.ODOMETER,
    "058206",
    tuple(ReadSign(sign, 0.99) for sign in "058206"),
    58206,
    "mi",
    fits=True,
    sureness=0.98,
    box=BOX,
    others=(OtherReading("05820", 5820, "the last figure counts tenths"),),
    notes=("not all looks agree",),
)
CROP = "c4" * 32


@pytest.fixture
def kept(store: Store, recording: Recording) -> Figure:
    (ref,) = store.put_figures(recording.id, [(READ, CROP)], key="one", at_s=12.5, refused=1)
    return store.figure(ref)


def test_a_figure_comes_back_as_it_was_read_and_waits(store: Store, recording: Recording, kept: Figure) -> None:
    assert kept.read == READ
    assert (kept.value, kept.unit, kept.state, kept.crop, kept.at_s) == (58206, "mi", FigureState.WAITS, CROP, 12.5)
    assert [(change.author, change.action) for change in kept.changes] == [(PROGRAM, "read")]
    assert store.figures([recording.id]) == (kept,)
    assert store.looked_at(["one", "two"]) == {"one"}


def test_reading_again_leaves_what_a_person_decided(store: Store, recording: Recording, kept: Figure) -> None:
    aside = store.change_figure(kept.id, action="aside", author="Mo")
    assert store.put_figures(recording.id, [(READ, CROP)], key="two", at_s=12.5) == (kept.id,)
    assert store.figures([recording.id]) == (aside,)


def test_each_decision_has_its_author_and_what_stood_before(store: Store, kept: Figure) -> None:
    store.change_figure(kept.id, action="take", author="Mo", expected_version=1, fact="f1")
    store.change_figure(kept.id, action="amend", author="Ali", value=58208, unit="mi")
    store.change_figure(kept.id, action="amend", author="Ali", place=("tyre", Side.NEAR, Position.FRONT))
    last = store.change_figure(kept.id, action="again", author="Mo")
    assert [(change.author, change.action) for change in last.changes[1:]] == [
        ("Mo", "taken"),
        ("Ali", "amended"),
        ("Ali", "amended"),
        ("Mo", "waits again"),
    ]
    assert last.changes[2].before == {"value": 58206}
    assert last.changes[2].after == {"value": 58208}
    assert last.read == READ
    assert (last.value, last.fact, last.part, last.side, last.version) == (58208, "f1", "tyre", Side.NEAR, 5)


def test_a_decision_about_an_older_version_is_refused_with_both(store: Store, kept: Figure) -> None:
    taken = store.change_figure(kept.id, action="take", author="Mo")
    with pytest.raises(StaleError) as refused:
        store.change_figure(kept.id, action="amend", author="Ali", expected_version=1, value=1, unit="km")
    assert refused.value.present == taken
    assert refused.value.wanted == replace(taken, value=1, unit="km")
    assert store.figure(kept.id) == taken


def test_a_figure_needs_a_picture_and_a_decision_a_person(store: Store, kept: Figure) -> None:
    with pytest.raises(NotFoundError, match="no picture and no recording"):
        store.put_figures("nowhere", [(READ, CROP)], key="x")
    with pytest.raises(NotFoundError, match="no figure"):
        store.figure("nothing")
    with pytest.raises(UserError, match="name of the person"):
        store.change_figure(kept.id, action="take", author=PROGRAM)
    with pytest.raises(ValueError, match="changes no value"):
        store.change_figure(kept.id, action="take", author="Mo", value=3)


def test_the_same_decision_twice_changes_nothing(store: Store, kept: Figure) -> None:
    once = store.change_figure(kept.id, action="take", author="Mo")
    assert store.change_figure(kept.id, action="take", author="Ali") == once
