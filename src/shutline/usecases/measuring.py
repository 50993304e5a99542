"""Measure on a kept picture, by eye or by figures: sizes, rust and blisters, the colour either side of a shut line.

The picture itself is never changed; what was picked is kept with the reading, so that it can be looked at again.
"""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.usecases.look import find_car
from shutline.usecases.measuring_kinds import measured_on, of_keyed_colours, rated_by_eye
from shutline.usecases.measuring_records import (
    Lab,
    Measure,
    Measured,
    MeasuredPlace,
    Picked,
    Place,
    check,
    picked_words,
    refused,
)
from shutline.usecases.own_chart import own_chart
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from shutline.car.carfile import CarFile
    from shutline.car.readings import KeptReading
    from shutline.store import Store

    Pixels = npt.NDArray[np.uint8]

_WITHOUT_PICTURE = frozenset({Measure.COLOURS, Measure.BLISTERS})

__all__ = [
    "Lab",
    "Measure",
    "Measured",
    "MeasuredPlace",
    "MeasuringView",
    "Picked",
    "Place",
    "ToMeasureOn",
    "measure_on_car",
    "measuring_view",
    "picture_jpeg",
]


@dataclass(frozen=True, slots=True)
class ToMeasureOn:
    """A picture that may be measured on: its id, what a person knows it by, and its size in pixels, upright."""

    id: str
    name: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class MeasuringView:
    """The pictures of a car to measure on, and the readings that were taken off them or by eye, the latest last.

    `chart` is how many fields the user's own chart of colours has, 0 for none; `problems` are what of it cannot be
    read.
    """

    car: str
    title: str
    pictures: tuple[ToMeasureOn, ...]
    readings: tuple[KeptReading, ...]
    chart: int = 0
    problems: tuple[Problem, ...] = ()


def measuring_view(store: Store, name: str) -> MeasuringView:
    """Give what can be measured on; raises NotFoundError, UserError as for `find_car`."""
    car = find_car(store, name)
    pictures = tuple(ToMeasureOn(one.id, one.original.name, one.width, one.height) for one in car.pictures)
    known = {"", *(one.id for one in pictures)}
    begins = tuple(f"{one} " for one in Measure)
    taken = tuple(one for one in car.readings if one.reading.source in known and one.reading.quote.startswith(begins))
    fields = 0
    problems: tuple[Problem, ...] = ()
    try:
        chart = own_chart()
        fields = 0 if chart is None else len(chart.fields)
    except UserError as error:
        problems = (error.problem,)
    return MeasuringView(car.name, car.title, pictures, taken, fields, problems)


def measure_on_car(
    store: Store,
    name: str,
    picture: str,
    picked: Picked,
    *,
    keep: MeasuredPlace | None = None,
    author: str | None = None,
) -> Measured:
    """Measure on a picture of a car, by eye, or by keyed figures; keep it as a reading where a part is named.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    picture : str
        The id of one of its pictures, or a beginning of it that no other has; empty for keyed colours, and for
        blisters that were rated at the car.
    picked : Picked
        What is measured, and where.
    keep : MeasuredPlace, optional
        Where on the car; kept under it, once for the same picture, places and part, or on the same day where there is
        no picture.
    author : str, optional
        Who measured; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or picture (slug ``measure-picture``), or its file is gone.
    BadInputError
        The card is not seen or is bent, an outline holds nothing, there is no such picture of the scale: slugs of
        docs/problems.md.
    UserError
        What was picked makes no sense (slug ``measure-picked``), or no reading (slug ``reading-refused``).
    """
    car = find_car(store, name)
    check(picked)
    if picked.what is Measure.COLOURS and picture:
        raise refused("picture", "one for keyed colours", "none: an instrument's figures are of no picture")
    found = _picture(car, picture) if picture or picked.what not in _WITHOUT_PICTURE else None
    if picked.what is Measure.COLOURS:
        made = of_keyed_colours(picked)
    elif found is None or picked.what is Measure.BLISTERS:
        made = rated_by_eye(picked)
    else:
        made = measured_on(_pixels(store, car, found), picked)
    made = replace(made, car=car.name, picture=found.id if found else "")
    if keep is None or not keep.part:
        return made
    if not made.told:
        raise UserError(
            Problem(
                "measure-picked",
                f"{car.name}, {found.name if found else picked.what}",
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


def _kept(
    store: Store, car: CarFile, made: Measured, keep: MeasuredPlace, *, author: str | None
) -> tuple[KeptReading, ...]:
    from shutline.car.readings import Way
    from shutline.gauge.readings import Keyed, reading_of

    quote = picked_words(made.picked)
    mark = (
        f"{made.picture} {quote} {keep} {made.picked.ruler_mm} {made.picked.ruler_uncertainty_mm} {made.picked.pick_px}"
    )
    if made.picked.grey_lab or made.picked.lab_uncertainty is not None:
        mark += f" {made.picked.grey_lab} {made.picked.lab_uncertainty}"
    if not made.picture:
        # What was rated or keyed at the car may come out the same on another day, and is another reading then.
        mark += f" {datetime.now(UTC).date()}"
    token = f"measured {hashlib.sha256(mark.encode()).hexdigest()}"
    # What was rated together stays together, and apart from another rating of the same place.
    series = f"{made.picked.what} {token[9:17]}" if made.beside else ""
    figures = [Keyed(made.quantity, made.value, uncertainty=made.uncertainty)]
    figures += [Keyed(key, value) for key, value in made.beside.items()]
    way = Way.PICTURE if made.picture else Way.KEYED
    readings = []
    for number, figure in enumerate(figures):
        keyed = replace(
            figure,
            unit=made.unit,
            part=keep.part,
            side=keep.side,
            position=keep.position,
            spot=keep.spot,
            series=series,
            instrument=made.instrument,
        )
        reading = replace(reading_of(keyed, where="measured", way=way), source=made.picture, quote=quote)
        readings.append((f"{token} {figure.quantity}" if number else token, reading))
    return store.add_readings(car.name, readings, author=author or present_author())


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
