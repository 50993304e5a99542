"""Figures read off the pictures of a car: what waits for a person, and what they make of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from shutline.car.carfile import KeptFact
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.figures import Figure, FigureKind, FigureState
from shutline.car.findings import Fact, Footing, FootingKind, Position, Side, State
from shutline.car.vocabulary import vocabulary
from shutline.usecases.figure_looks import Place
from shutline.usecases.figure_reading import sources, unread
from shutline.usecases.figures_beside import FACTS, Beside, side_by_side
from shutline.usecases.look import find_car
from shutline.usecases.odds import fact_odds
from shutline.usecases.readings_off_pictures import settle_reading
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.store import Store

FigureVerb = Literal["take", "amend", "aside", "again"]

_STATES: dict[FigureVerb, FigureState] = {
    "take": FigureState.TAKEN,
    "amend": FigureState.TAKEN,
    "aside": FigureState.ASIDE,
    "again": FigureState.WAITS,
}
UNITS = {FigureKind.ODOMETER: ("mi", "km"), FigureKind.PAINT: ("um", "mil")}
LONGEST_VALUE = 60
LONGEST_PAPER = 20_000


@dataclass(frozen=True, slots=True)
class CarFigures:
    """The figures of a car: those that wait first, then those taken, then those set aside.

    `unread` counts the pictures and moments that were not read yet. `struck` are the ids of figures that were taken,
    and whose fact was struck since, where it was at odds or in the review.
    """

    car: str
    title: str
    figures: tuple[Figure, ...]
    beside: tuple[Beside, ...]
    unread: int
    struck: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FigureDecided:
    """What stands now of a figure that was decided about, and the fact it gave, where it gives one."""

    car: str
    figure: Figure
    fact: KeptFact | None = None


def car_figures(store: Store, name: str) -> CarFigures:
    """Give the figures of a car.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    car = find_car(store, name)
    figures = store.figures(sources(car))
    order = list(FigureState)
    ordered = sorted(figures, key=lambda one: order.index(one.state))
    beside = side_by_side(car, figures, odds=fact_odds(store, car))
    gone = {one.id for one in car.facts if one.fact.state is State.STRUCK}
    struck = tuple(one.id for one in ordered if one.state is FigureState.TAKEN and one.fact in gone)
    return CarFigures(car.name, car.title, tuple(ordered), beside, unread(store, car), struck)


def decide_figure(
    store: Store,
    name: str,
    id_: str,
    verb: FigureVerb,
    *,
    value: str | None = None,
    unit: str | None = None,
    place: Place | None = None,
    version: int | None = None,
    author: str | None = None,
) -> FigureDecided:
    """Do what a person decided about a figure.

    An odometer, a mark or a chassis number that is taken becomes a fact, the glass of a paint gauge a reading. The
    fact's footing is ``seen``, or ``written`` where the figure stood on a paper. What is set aside, or let wait
    again, strikes the fact that it gave. Nothing is deleted.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    id_ : str
        The figure's id, or a beginning of it that no other of this car has.
    verb : {'take', 'amend', 'aside', 'again'}
        What is done.
    value, unit : str, optional
        With amend: what stands in the picture, as the person reads it.
    place : tuple, optional
        With amend: part, side and position that it belongs to.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who decided; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or figure.
    UserError
        What was read has no known form and cannot be taken as it is (slug ``figure-no-form``), or a value is none that
        such a figure can have (``figure-value``).
    StaleError
        Somebody changed it meanwhile; it carries both versions.
    """
    who = author or present_author()
    with store.together():
        car = find_car(store, name)
        figure = one_figure(store, car, id_)
        new: int | str | None = None
        new_unit = figure.unit
        if verb == "amend":
            if value is None and unit is None and place is None:
                raise _bad(figure, "nothing to change", "a value, a unit or a place")
            new = _value(figure, value) if value is not None else figure.value
            new_unit = _unit(figure, unit) if unit is not None else figure.unit
            _check_place(figure, place)
        elif value is not None or unit is not None or place is not None:
            raise _bad(figure, f"{verb} with a value", "amend, where something changes")
        needs_form = verb == "take" or (verb == "amend" and value is None)
        if needs_form and not figure.read.fits and figure.value == figure.read.value:
            raise _no_form(figure)
        wanted = replace(figure, state=_STATES[verb], value=figure.value if new is None else new, unit=new_unit)
        fact = _settle_fact(store, car, wanted, who)
        settle_reading(store, car, wanted if place is None else _placed(wanted, place), author=who)
        changed = store.change_figure(
            figure.id,
            action=verb,
            author=who,
            expected_version=figure.version if version is None else version,
            fact=fact.id if fact else None,
            value=new,
            unit=new_unit,
            place=place,
        )
    return FigureDecided(car.name, changed, fact)


def _placed(figure: Figure, place: Place) -> Figure:
    part, side, position = place
    return replace(figure, part=part, side=side, position=position)


def one_figure(store: Store, car: CarFile, id_: str) -> Figure:
    """Give the figure of a car that an id, or a beginning of one, names; raises NotFoundError (``figure-unknown``)."""
    begins = [one for one in store.figures(sources(car)) if id_ and one.id.startswith(id_.lower())]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(
        Problem(
            slug="figure-unknown",
            where=f"{car.name}, {id_[:60]!r}",
            found="no figure begins so" if not begins else f"{len(begins)} figures begin so",
            allowed="an id, or a beginning of one that no other figure of this car has; nothing was done",
            advice=f"See the ids with `shutline figures {car.name}`.",
        )
    )


def _settle_fact(store: Store, car: CarFile, figure: Figure, author: str) -> KeptFact | None:
    """Let the fact of a figure be what the figure is now: made, amended, or struck."""
    name = FACTS.get(figure.read.kind)
    if name is None:
        return None
    kept = next((one for one in car.facts if one.id == figure.fact), None)
    if figure.state is not FigureState.TAKEN:
        if kept is None or kept.fact.state is State.STRUCK:
            return kept
        return store.change_fact(kept.id, action="strike", author=author, expected_version=kept.version)
    footing = Footing(
        FootingKind.WRITTEN if figure.read.on_paper else FootingKind.SEEN,
        figure.source,
        figure.at_s,
        figure.at_s,
        figure.read.text,
        (f"figure {figure.id}",),
    )
    if kept is None:
        fact = Fact(name, figure.value, figure.unit, footings=(footing,))
        return store.add_fact(car.name, fact, author=author, token=f"figure {figure.id}")
    return store.change_fact(
        kept.id,
        action="amend",
        author=author,
        expected_version=kept.version,
        value=figure.value,
        unit=figure.unit,
    )


# Values ---------------------------------------------------------------------------------------------------------------


def _value(figure: Figure, given: str) -> int | str:
    kind = figure.read.kind
    if kind is FigureKind.PAPER and given.strip():
        return given.strip()[:LONGEST_PAPER]
    text = " ".join(given.split())
    if not text or len(text) > LONGEST_VALUE:
        raise _bad(figure, repr(given[:60]) if text else "nothing", f"what stands there, at most {LONGEST_VALUE} signs")
    if kind is FigureKind.ODOMETER:
        plain = text.replace(",", "").replace(" ", "")
        if not (plain.isascii() and plain.isdigit() and len(plain) <= 7):
            raise _bad(figure, repr(text), "a whole number of at most seven figures")
        return int(plain)
    if kind is FigureKind.PAINT:
        plain = text.replace(" ", "")
        if not (plain.isascii() and plain.replace(".", "", 1).isdigit() and len(plain) <= 6):
            raise _bad(figure, repr(text), "a number")
        return plain if "." in plain else int(plain)
    if kind is FigureKind.MARK:
        return text.replace(" ", "").upper()
    if kind is FigureKind.CHASSIS:
        # An older number is kept as it stands, spaces and all.
        return text.upper()
    return text


def _unit(figure: Figure, given: str) -> str | None:
    allowed = UNITS.get(figure.read.kind, ())
    if not given:
        return None
    if given in allowed:
        return given
    raise _bad(figure, f"unit {given[:20]!r}", ", ".join(allowed) or "no unit")


def _check_place(figure: Figure, place: Place | None) -> None:
    if place is not None and place[0] is not None and place[0] not in vocabulary().parts:
        raise _bad(figure, repr(place[0][:60]), f"one of the {len(vocabulary().parts)} parts of the vocabulary")


def read_place(part: str | None, side: str | None, position: str | None) -> Place | None:
    """Make a place out of words; None where none was given.

    Raises
    ------
    UserError
        A side or a position is none (slug ``figure-value``).
    """
    if not (part or side or position):
        return None
    try:
        return part or None, Side(side) if side else None, Position(position) if position else None
    except ValueError:
        raise UserError(
            Problem(
                slug="figure-value",
                where="place",
                found=f"{side!r}, {position!r}",
                allowed="near, off or both; front, rear or both; or nothing",
                advice="Take one of these; nothing was changed.",
            )
        ) from None


def _no_form(figure: Figure) -> UserError:
    return UserError(
        Problem(
            slug="figure-no-form",
            where=f"figure {figure.id}",
            found=f"{figure.read.text!r} has no form that such a figure is known to have",
            allowed="what stands in the picture, as you read it; nothing is put in place of a sign by itself",
            advice="Amend it: type what you read, or one of the readings proposed.",
        )
    )


def _bad(figure: Figure, found: str, allowed: str) -> UserError:
    where = f"figure {figure.id} ({figure.read.kind.value.replace('_', ' ')})"
    return UserError(Problem("figure-value", where, found, allowed, "Give it so; nothing was changed."))
