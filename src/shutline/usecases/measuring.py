"""Measure on a kept picture: a length, an area, rust within an outline, the colour either side of a shut line.

The picture itself is never changed; what was picked is kept with the reading, so that it can be looked at again.
"""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.usecases.look import find_car
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from shutline.car.carfile import CarFile
    from shutline.car.readings import KeptReading
    from shutline.gauge.colour import ColourDifference
    from shutline.gauge.rust import RustShare
    from shutline.gauge.size import Size
    from shutline.store import Store

    Pixels = npt.NDArray[np.uint8]

Place = tuple[float, float]
"""Across and down in shares of the upright picture, 0 to 1."""
_MOST_PLACES = 200


class Measure(StrEnum):
    """What is measured."""

    LENGTH = "length"
    AREA = "area"
    RUST = "rust"
    COLOUR = "colour"


_LEAST = {Measure.LENGTH: 2, Measure.AREA: 3, Measure.RUST: 3, Measure.COLOUR: 3}


@dataclass(frozen=True, slots=True)
class Picked:
    """What somebody picked on a picture.

    `places` are the points of a length or the corners of an outline; for colour those of a piece on one side of the
    shut line, `beside` of one on the other, and `grey` of a grey card if there is one. `ruler_mm` is the true length of
    the marker card's printed ruler. `pick_px` is the standard uncertainty of a place, pixels of the picture.
    """

    what: Measure
    places: tuple[Place, ...]
    beside: tuple[Place, ...] = ()
    grey: tuple[Place, ...] = ()
    ruler_mm: float | None = None
    ruler_uncertainty_mm: float | None = None
    pick_px: float | None = None


@dataclass(frozen=True, slots=True)
class MeasuredPlace:
    """Where on the car it is kept as a reading; `part` empty where it is not kept."""

    part: str = ""
    side: str = ""
    position: str = ""
    spot: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """What came of it: the figure with its interval and what is said with it, and the reading if it was kept.

    `unit` is mm, cm2, % or empty; `told` False where the figure is of no use, and then it is not kept. `more` are
    figures beside it: of rust the grades, of colour what the difference is made of.
    """

    car: str
    picture: str
    picked: Picked
    quantity: str
    value: float
    unit: str
    uncertainty: float
    low: float
    high: float
    level: float
    told: bool
    sentence: str
    cautions: tuple[str, ...]
    good_for: str
    who_decides: str
    source: str
    more: dict[str, float | str] = field(default_factory=dict)
    kept: KeptReading | None = None


@dataclass(frozen=True, slots=True)
class ToMeasureOn:
    """A picture that may be measured on: its id, what a person knows it by, and its size in pixels, upright."""

    id: str
    name: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class MeasuringView:
    """The pictures of a car to measure on, and the readings that were taken off them, the latest last."""

    car: str
    title: str
    pictures: tuple[ToMeasureOn, ...]
    readings: tuple[KeptReading, ...]


def measuring_view(store: Store, name: str) -> MeasuringView:
    """Give what can be measured on; raises NotFoundError, UserError as for `find_car`."""
    car = find_car(store, name)
    pictures = tuple(ToMeasureOn(one.id, one.original.name, one.width, one.height) for one in car.pictures)
    known = {one.id for one in pictures}
    taken = tuple(
        one for one in car.readings if one.reading.source in known and one.reading.quote.startswith(tuple(Measure))
    )
    return MeasuringView(car.name, car.title, pictures, taken)


def measure_on_picture(
    store: Store,
    name: str,
    picture: str,
    picked: Picked,
    *,
    keep: MeasuredPlace | None = None,
    author: str | None = None,
) -> Measured:
    """Measure on a picture of a car, and keep it as a reading where a part is named.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    picture : str
        The id of one of its pictures, or a beginning of it that no other has.
    picked : Picked
        What is measured, and where.
    keep : MeasuredPlace, optional
        Where on the car; kept under it, once for the same picture, places and part.
    author : str, optional
        Who measured; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or picture (slug ``measure-picture``), or its file is gone.
    BadInputError
        The card is not seen or is bent, an outline holds nothing: slugs of docs/problems.md.
    UserError
        What was picked makes no sense (slug ``measure-picked``), or no reading (slug ``reading-refused``).
    """
    car = find_car(store, name)
    found = _picture(car, picture)
    _check(picked)
    pixels = _pixels(store, car, found)
    made = replace(_measured(pixels, picked), car=car.name, picture=found.id)
    if keep is None or not keep.part:
        return made
    if not made.told:
        raise UserError(
            Problem(
                "measure-picked",
                f"{car.name}, {found.name}",
                made.sentence,
                "a figure that is of use",
                "Pick otherwise.",
            )
        )
    return replace(made, kept=_kept(store, car, made, keep, author=author))


def picture_jpeg(store: Store, name: str, number: int, *, longest_px: int) -> bytes:
    """Give a picture of a car in JPEG, upright, for whoever measures; `number` is from 1, as `measuring_view` has them.

    Raises
    ------
    NotFoundError
        No such car or picture, or its file is gone (slug ``measure-picture``).
    """
    from shutline.publish.bare import pack

    car = find_car(store, name)
    found = measuring_view(store, car.name).pictures
    if not 0 < number <= len(found):
        raise NotFoundError(
            Problem(
                "measure-picture",
                f"{car.name}, picture {number}",
                "there is none",
                f"1 to {len(found)}",
                "Load the page again.",
            )
        )
    return pack(_pixels(store, car, found[number - 1], longest_px=longest_px), quality=88).jpeg


def _measured(pixels: Pixels, picked: Picked) -> Measured:
    high, wide = pixels.shape[:2]

    def px(places: tuple[Place, ...]) -> list[tuple[float, float]]:
        return [(x * wide - 0.5, y * high - 0.5) for x, y in places]

    if picked.what is Measure.RUST:
        from shutline.gauge.rust import rust_within

        return _of_rust(picked, rust_within(pixels, px(picked.places)))
    if picked.what is Measure.COLOUR:
        from shutline.gauge.colour import AS_TAKEN, across_in_photograph, by_grey_card

        balance = by_grey_card(pixels, px(picked.grey)) if picked.grey else AS_TAKEN
        return _of_colour(picked, across_in_photograph(pixels, px(picked.places), px(picked.beside), balance=balance))
    from shutline.gauge.size import Ruler, area_of, find_card, length_of, plane_of
    from shutline.gauge.size.settings import settings

    ruler = None
    if picked.ruler_mm is not None:
        doubt = picked.ruler_uncertainty_mm
        ruler = Ruler(picked.ruler_mm, settings().picking.ruler_mm if doubt is None else doubt)
    plane = plane_of(find_card(pixels), ruler=ruler)
    measure = length_of if picked.what is Measure.LENGTH else area_of
    return _of_size(picked, measure(plane, px(picked.places), pick_px=picked.pick_px))


def _of_size(picked: Picked, size: Size) -> Measured:
    return Measured(
        car="",
        picture="",
        picked=picked,
        quantity=size.kind,
        value=size.value,
        unit=size.unit,
        uncertainty=size.uncertainty,
        low=size.low,
        high=size.high,
        level=size.level,
        told=True,
        sentence=size.sentence,
        cautions=size.cautions,
        good_for=size.good_for,
        who_decides=size.who_decides,
        source=size.source,
        more={f"from {name}": round(part, 4) for name, part in size.parts.items()},
    )


def _of_rust(picked: Picked, rust: RustShare) -> Measured:
    letter = rust.distribution.letter if rust.distribution else ""
    return Measured(
        car="",
        picture="",
        picked=picked,
        quantity="rusted_share",
        value=100 * rust.share,
        unit="%",
        uncertainty=100 * rust.uncertainty,
        low=100 * rust.low,
        high=100 * rust.high,
        level=rust.level,
        told=rust.told,
        sentence=rust.sentence,
        cautions=rust.cautions,
        good_for=rust.good_for,
        who_decides=rust.who_decides,
        source=rust.source,
        more={
            "ASTM D610": rust.grades.d610 + (f"-{letter}" if letter else ""),
            "ISO 4628-3": rust.grades.iso,
            "boundary rule": rust.grades.boundary_rule,
        },
    )


def _of_colour(picked: Picked, colour: ColourDifference) -> Measured:
    return Measured(
        car="",
        picture="",
        picked=picked,
        quantity="colour_difference",
        value=colour.delta_e,
        unit="1",
        uncertainty=colour.uncertainty,
        low=colour.low,
        high=colour.high,
        level=colour.level,
        told=True,
        sentence=colour.sentence,
        cautions=colour.cautions,
        good_for=colour.good_for,
        who_decides=colour.who_decides,
        source=colour.source,
        more={
            "told": colour.told.value,
            "lightness": round(colour.lightness, 3),
            "chroma": round(colour.chroma, 3),
            "hue": round(colour.hue, 3),
            "CIE 1976": round(colour.delta_e_1976, 3),
        },
    )


def _kept(store: Store, car: CarFile, made: Measured, keep: MeasuredPlace, *, author: str | None) -> KeptReading:
    from shutline.car.readings import Way
    from shutline.gauge.readings import Keyed, reading_of

    keyed = Keyed(
        made.quantity,
        made.value,
        unit=made.unit,
        uncertainty=made.uncertainty,
        part=keep.part,
        side=keep.side,
        position=keep.position,
        spot=keep.spot,
        instrument="photograph",
    )
    quote = picked_words(made.picked)
    reading = replace(reading_of(keyed, where="measured", way=Way.PICTURE), source=made.picture, quote=quote)
    mark = (
        f"{made.picture} {quote} {keep} {made.picked.ruler_mm} {made.picked.ruler_uncertainty_mm} {made.picked.pick_px}"
    )
    token = f"measured {hashlib.sha256(mark.encode()).hexdigest()}"
    (kept,) = store.add_readings(car.name, [(token, reading)], author=author or present_author())
    return kept


def picked_words(picked: Picked) -> str:
    """Write down what was picked: ``length 0.1234,0.5678 0.4321,0.8765``; outlines of colour one after the other."""
    groups = [picked.places, picked.beside, picked.grey]
    while not groups[-1]:
        groups.pop()
    told = " | ".join(" ".join(f"{x:.5f},{y:.5f}" for x, y in group) for group in groups)
    return f"{picked.what.value} {told}"


def _check(picked: Picked) -> None:
    groups = {"places": picked.places, "beside": picked.beside, "grey": picked.grey}
    for label, places in groups.items():
        if len(places) > _MOST_PLACES:
            raise _refused(label, f"{len(places)} places", f"up to {_MOST_PLACES}")
        for x, y in places:
            if not (0 <= x <= 1 and 0 <= y <= 1):
                raise _refused(label, f"a place at {x:g}, {y:g}", "0 to 1, shares of the picture")
    least = _LEAST[picked.what]
    if len(picked.places) < least:
        raise _refused("places", f"{len(picked.places)} places", f"{least} or more for {picked.what.value}")
    if picked.what is Measure.COLOUR and len(picked.beside) < least:
        raise _refused("beside", f"{len(picked.beside)} places", "three corners or more on the other side")
    if picked.grey and len(picked.grey) < least:
        raise _refused("grey", f"{len(picked.grey)} places", "three corners or more on the grey card")


def _picture(car: CarFile, picture: str) -> ToMeasureOn:
    begins = [one for one in car.pictures if picture and one.id.startswith(picture.lower())]
    if len(begins) != 1:
        raise NotFoundError(
            Problem(
                slug="measure-picture",
                where=f"{car.name}, {picture[:60]!r}",
                found="no picture begins so" if not begins else f"{len(begins)} pictures begin so",
                allowed="the id of one of the car's pictures, or a beginning that no other has",
                advice=f"See the ids with `shutline measure {car.name}`.",
            )
        )
    one = begins[0]
    return ToMeasureOn(one.id, one.original.name, one.width, one.height)


def _pixels(store: Store, car: CarFile, found: ToMeasureOn, *, longest_px: int | None = None) -> Pixels:
    from shutline.capture.pictures import unpack
    from shutline.usecases.mask_looks import Shot, bytes_of

    data = bytes_of(store, car, Shot(found.id, 0.0, None, found.name, found.width, found.height))
    pixels = None if data is None else unpack(io.BytesIO(data), longest_side_px=longest_px)
    if pixels is None:
        raise NotFoundError(
            Problem(
                slug="measure-picture",
                where=f"{car.name}, {found.name}",
                found="its file is gone or cannot be unpacked",
                allowed="a picture that can be seen",
                advice="Copy it from the camera again.",
            )
        )
    return pixels


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("measure-picked", where, found, allowed, "Pick once more."))
