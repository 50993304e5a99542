"""The contact sheet of a part: every time the walk is there, over all films of the car, with the pictures of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.recordings import Kind
from shutline.usecases.at_the_car import Place
from shutline.usecases.kept_files import write_whole
from shutline.usecases.look import find_car
from shutline.usecases.masks import shown_told
from shutline.usecases.part_times import PartTime, times_at
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.published_pictures import Shown, out_picture, out_still

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shutline.capture.stills import ChosenStill
    from shutline.car.carfile import CarFile, Picture, Recording
    from shutline.publish.contact_sheet import SheetForm, Tile
    from shutline.store import Store

MOST_TILES = 120
"""Pictures on one sheet, at most."""
_EACH_S = 6.0
"""A long stay is shown once in this time, seconds."""
_FORMS: dict[str, SheetForm] = {".png": "png", ".jpg": "jpg", ".jpeg": "jpg", ".pdf": "pdf"}


@dataclass(frozen=True, slots=True)
class SheetTile:
    """One picture of a sheet: a frame at a moment of a recording, or a picture taken by hand.

    `times` are the moments it stands for, seconds: several where the camera showed the same again.
    """

    source: str
    at_s: float | None = None
    times: tuple[float, ...] = ()
    taken_at: str | None = None


@dataclass(frozen=True, slots=True)
class ContactSheet:
    """A contact sheet as it was made; `data` is the whole file, in the form asked for."""

    car: str
    place: str
    name: str
    form: SheetForm
    tiles: tuple[SheetTile, ...]
    data: bytes
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetWritten:
    """Where a contact sheet was written, and what is on it."""

    car: str
    place: str
    name: str
    path: str
    byte_size: int
    tiles: tuple[SheetTile, ...]
    problems: tuple[Problem, ...] = ()


def contact_sheet(
    store: Store, car: str, place: str, *, form: SheetForm = "png", tell: Tell = silent, stop: Stop | None = None
) -> ContactSheet:
    """Make the contact sheet of a place of a car.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    place : str
        Key or name of the place (see `at_the_car.places`).
    form : {'png', 'jpg', 'pdf'}
        What it is made as.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError
        No such car, or nothing was said of the place and no picture is of it (slug ``sheet-empty``).
    UserError
        There is no such place (``place-unknown``).
    StoppedError
        `stop` was set.
    """
    from shutline.publish.contact_sheet import sheet
    from shutline.usecases.joined_pictures import pictures_at, place_at

    where = place_at(place)
    file = find_car(store, car)
    tiles: list[tuple[SheetTile, Tile]] = []
    problems: list[Problem] = []
    times = times_at(file, where)
    for recording in file.recordings:
        here = [time for time in times if time.recording == recording.id]
        if here and recording.original.kind is Kind.FILM:
            tiles += _frames(store, file, recording, here, problems, tell=tell, stop=stop or Stop())
    for picture in pictures_at(store, file, where):
        try:
            tiles.append(_by_hand(store, file, picture))
        except NotFoundError as error:
            problems.append(error.problem)
    if not tiles:
        raise NotFoundError(_empty(file, where))
    shown = tiles[:MOST_TILES]
    if len(shown) < len(tiles):
        problems.append(_cut(file, where, len(tiles)))
    count = "one picture" if len(shown) == 1 else f"{len(shown)} pictures"
    told = shown_told(store, file, [(tile.source, tile.at_s or 0.0) for tile, _ in shown])
    note = " ".join((f"{file.title}: {count}, in the order of the film.", *told))
    data = sheet(where.name, note, [t for _, t in shown], form=form)
    return ContactSheet(file.name, where.key, where.name, form, tuple(t for t, _ in shown), data, tuple(problems))


def write_contact_sheet(
    store: Store, car: str, place: str, *, out: Path | None = None, tell: Tell = silent, stop: Stop | None = None
) -> SheetWritten:
    """Write the contact sheet of a place; the ending of `out` says as what. As `contact_sheet` otherwise.

    Parameters
    ----------
    out : Path, optional
        PNG, JPEG or PDF; ``out/CAR/sheet-PLACE.png`` when left out.
    store, car, place, tell, stop
        As for `contact_sheet`.

    Raises
    ------
    UserError
        Its ending is another (``sheet-form``).
    BrokenWorldError
        It cannot be written.
    """
    from shutline.usecases.written import cannot_write

    form = _FORMS.get(out.suffix.lower()) if out is not None else "png"
    if form is None:
        raise UserError(_unknown_form(out))
    made = contact_sheet(store, car, place, form=form, tell=tell, stop=stop)
    path = out or Path("out") / made.car / f"sheet-{made.place}.png"
    with cannot_write(path):
        write_whole(path, made.data)
    return SheetWritten(made.car, made.place, made.name, str(path), len(made.data), made.tiles, made.problems)


def _frames(
    store: Store,
    car: CarFile,
    recording: Recording,
    times: Sequence[PartTime],
    problems: list[Problem],
    *,
    tell: Tell,
    stop: Stop,
) -> list[tuple[SheetTile, Tile]]:
    from shutline.capture.stills import Moment, choose_stills
    from shutline.publish.contact_sheet import Tile
    from shutline.publish.report.times import moment
    from shutline.usecases.published_films import film_path

    moments = [
        Moment(start_s, end_s, part="the part")
        for time in times
        for start_s, end_s in _pieces(time.start_s, time.end_s)
    ]
    name = recording.original.name
    chosen, met = choose_stills(
        film_path(store, recording),
        moments,
        on_progress=lambda done: tell(Step(name, "sheet", min(done, 1.0))),
        should_stop=stop.asked,
    )
    problems += met
    shown: dict[float, tuple[ChosenStill, list[float]]] = {}
    for wanted, still in zip(moments, chosen, strict=True):
        if still is not None:
            shown.setdefault(still.at_s, (still, []))[1].append(wanted.start_s)
    tiles = []
    for at_s, (still, starts) in sorted(shown.items()):
        made = out_still(store, car, Shown(recording.id, at_s), still.jpeg, longest_side_px=960)
        if made is not None:
            also = f"the same at {', '.join(moment(one) for one in starts[1:6])}" if len(starts) > 1 else ""
            lines = (moment(at_s), *((name,) if len(car.recordings) > 1 else ()), *((also,) if also else ()))
            tiles.append((SheetTile(recording.id, at_s, tuple(starts)), Tile(made, lines)))
    return tiles


def _pieces(start_s: float, end_s: float) -> list[tuple[float, float]]:
    """Cut a long stay into pieces of nearly one length, each of which is shown."""
    count = max(1, round((end_s - start_s) / _EACH_S))
    step_s = (end_s - start_s) / count
    return [(start_s + at * step_s, start_s + (at + 1) * step_s) for at in range(count)]


def _by_hand(store: Store, car: CarFile, picture: Picture) -> tuple[SheetTile, Tile]:
    from shutline.publish.contact_sheet import Tile
    from shutline.publish.report.times import day

    made = out_picture(store, car, picture, longest_side_px=960)
    told = f"taken {day(picture.taken_at[:10])}" if picture.taken_at else ""
    lines = ("Picture taken by hand", *((told,) if told else ()))
    return SheetTile(picture.id, taken_at=picture.taken_at), Tile(made, lines)


def _empty(car: CarFile, place: Place) -> Problem:
    return Problem(
        slug="sheet-empty",
        where=f"{car.name}, {place.name}",
        found="nothing was said of it in a film, and no picture is of it",
        allowed="a place that a film or a picture shows",
        advice="Choose another, or say of a picture that it is of this one.",
    )


def _cut(car: CarFile, place: Place, count: int) -> Problem:
    return Problem(
        slug="sheet-cut",
        where=f"{car.name}, {place.name}",
        found=f"{count} pictures",
        allowed=f"{MOST_TILES} on a sheet; the first are shown",
        advice="Look at the film for the others.",
    )


def _unknown_form(out: Path | None) -> Problem:
    return Problem(
        slug="sheet-form",
        where="--out",
        found=repr(out.suffix) if out is not None else "no name",
        allowed="a name that ends in .png, .jpg or .pdf",
        advice="Name the file so.",
    )
