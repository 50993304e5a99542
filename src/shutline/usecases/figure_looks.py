"""Where figures of a car are looked for: its pictures, and the moments of its films that words speak of."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.figures import FigureKind
from shutline.car.findings import Position, Side
from shutline.car.recordings import Kind
from shutline.usecases.spoken import words_of

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Picture, Recording
    from shutline.car.recordings import Still

EDITION = "figures-3"
"""Changes when the same picture would be read otherwise: then all are read anew, and what people decided stays."""

_SHOWN_AT: dict[str, frozenset[FigureKind]] = {
    "instruments": frozenset({FigureKind.ODOMETER}),
    "dash": frozenset({FigureKind.ODOMETER}),
    "chassis_plate": frozenset({FigureKind.CHASSIS}),
    "number_plate": frozenset({FigureKind.MARK}),
    "tyre": frozenset({FigureKind.TYRE_SIZE, FigureKind.TYRE_DATE}),
}
"""What a picture that was taken at a part is likely to show."""

Place = tuple[str | None, Side | None, Position | None]
NOWHERE: Place = (None, None, None)


@dataclass(frozen=True, slots=True)
class Look:
    """A place to look at: a picture, or a stretch of film, seconds from its start.

    `still` is the one that was chosen in that stretch for a finding; it is read in place of another frame.
    """

    source: str
    name: str
    wanted: frozenset[FigureKind]
    place: Place = NOWHERE
    picture: Picture | None = None
    film: Recording | None = None
    stretch: tuple[float, float] = (0.0, 0.0)
    still: Still | None = None

    @property
    def key(self) -> str:
        """Names all that the look depends on."""
        stretch = "" if self.film is None else f"{self.stretch[0]:.2f}-{self.stretch[1]:.2f}"
        parts = (EDITION, self.source, stretch, *sorted(self.wanted))
        return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:32]


def looks_of(car: CarFile) -> list[Look]:
    """Give all places of a car that are looked at without being asked: pictures, and moments that words speak of."""
    return [*looks_at_pictures(car), *(look for film in car.recordings for look in looks_near_words(car, film))]


def looks_at_pictures(car: CarFile) -> Iterator[Look]:
    """Give the pictures of a car, each with what its place is likely to show."""
    for picture in car.pictures:
        place = place_of(car, picture)
        wanted = _SHOWN_AT.get(place[0] or "", frozenset())
        yield Look(picture.id, picture.original.name, wanted, place, picture=picture)


def place_of(car: CarFile, picture: Picture) -> Place:
    """Give where a picture was taken at the car, as far as that was told."""
    note = next((note for note in car.notes if note.source == picture.id), None)
    return NOWHERE if note is None else (note.part, note.side, note.position)


def looks_near_words(car: CarFile, film: Recording) -> Iterator[Look]:
    """Give the first moments of each kind that the words speak of, as many as the length of the film allows."""
    from shutline.gauge.seen.settings import reading
    from shutline.gauge.seen.spoken import cues

    if film.original.kind is not Kind.FILM:
        return
    settings = reading().film
    given: Counter[FigureKind] = Counter()
    merged: dict[tuple[float, float], set[FigureKind]] = {}
    for cue in cues(words_of(film)):
        stretch = (max(0.0, cue.start_s - settings.before_s), cue.end_s + settings.after_s)
        near = next((other for other in merged if other[0] <= stretch[0] <= other[1]), None)
        if near is not None:
            merged[near].add(cue.kind)
        elif given[cue.kind] < settings.moments_a_kind:
            given[cue.kind] += 1
            merged[stretch] = {cue.kind}
    for stretch, kinds in list(merged.items())[: settings.most_frames(film.probe.length_s)]:
        yield Look(
            film.id,
            film.original.name,
            frozenset(kinds),
            _said_place(car, film, stretch),
            film=film,
            stretch=stretch,
            still=_still_in(car, film, stretch),
        )


def looks_each_few_seconds(film: Recording) -> Iterator[Look]:
    """Give a stretch of a film each few seconds, whatever is said in it."""
    from shutline.gauge.seen.settings import reading

    every_s = reading().film.sweep_every_s
    if film.original.kind is not Kind.FILM or not film.probe.length_s:
        return
    for number in range(int(film.probe.length_s // every_s) + 1):
        start_s = number * every_s
        end_s = min(start_s + every_s, film.probe.length_s)
        yield Look(film.id, film.original.name, frozenset(), film=film, stretch=(start_s, end_s))


def _said_place(car: CarFile, film: Recording, stretch: tuple[float, float]) -> Place:
    """Give the wheel that the words were about, where a finding of a tyre was said in a stretch."""
    for kept in car.going_out():
        for footing in kept.finding.footings:
            said = footing.source == film.id and footing.start_s is not None
            if said and kept.finding.part == "tyre" and stretch[0] <= (footing.start_s or 0.0) <= stretch[1]:
                return "tyre", kept.finding.side, kept.finding.position
    return NOWHERE


def _still_in(car: CarFile, film: Recording, stretch: tuple[float, float]) -> Still | None:
    """Give the sharpest still that was chosen for a finding of this film within a stretch."""
    stills = [
        still
        for kept in car.going_out()
        if any(footing.source == film.id for footing in kept.finding.footings)
        for still in kept.stills
        if stretch[0] <= still.at_s <= stretch[1]
    ]
    return max(stills, key=lambda still: still.sharpness * still.steadiness, default=None)
