"""The Plan shaded by what each place stands on, with a word for every pattern, and the silent places plain to see."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from shutline.car.carfile import CarFile
from shutline.car.findings import FootingKind
from shutline.car.plan import Layout
from shutline.car.plan.figure import SHADINGS, swatch
from shutline.car.plan.spread import Body, Label, place_keys, shaded_svg
from shutline.publish.naming import place_name
from shutline.publish.wording import joined
from shutline.survey import Cover
from shutline.usecases.car_plan import body_of
from shutline.usecases.survey import Shown

SILENT, IN_PASSING, LEFT_OUT = "silent", "in_passing", "left_out"

SHADES = (
    FootingKind.SAID.value,
    FootingKind.SEEN.value,
    FootingKind.MEASURED.value,
    FootingKind.WRITTEN.value,
    IN_PASSING,
    SILENT,
    LEFT_OUT,
)
"""In the order of the key; each is a shading of the Plan with a pattern and a word of its own."""

_OPEN = {Cover.NOT_MENTIONED: SILENT, Cover.IN_PASSING: IN_PASSING, Cover.LEFT_OUT: LEFT_OUT}
_MOST_OPEN = (SILENT, IN_PASSING, LEFT_OUT)
_FIRMEST = (FootingKind.MEASURED, FootingKind.SEEN, FootingKind.WRITTEN, FootingKind.SAID)


@dataclass(frozen=True, slots=True)
class Standing:
    """A check at a place with what it stands on, in words."""

    shown: Shown
    words: str


@dataclass(frozen=True, slots=True)
class SpotLine:
    """One check at a place of the Plan: its key, what is looked for, and what it stands on in words."""

    key: str
    what: str
    words: str
    open: bool


@dataclass(frozen=True, slots=True)
class PlanSpot:
    """A place of the Plan that is shaded: its name, its shading with its word, and the checks that lie there."""

    name: str
    shade: str
    word: str
    lines: tuple[SpotLine, ...]


@dataclass(frozen=True, slots=True)
class Shade:
    """One shading: its word, its pattern as a small drawing, and how many checked places it is of."""

    id: str
    word: str
    count: int
    swatch: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class SurveyPlan:
    """The Plan in one strip and folded in two, `spots` by the key of a place in both, and the key of the shadings."""

    spots: Mapping[str, PlanSpot]
    shades: tuple[Shade, ...]
    body_known: bool
    strip: str = field(repr=False)
    folded: str = field(repr=False)


def survey_plan(car: CarFile, standings: Iterable[Standing]) -> SurveyPlan:
    """Shade the Plan of a car.

    A place with several checks is shaded by the one of which least is known: nothing said before in passing, that
    before left out. Where all of them stand on something, the firmest counts: measured, seen, written, said. What is
    spoken of and not asked for is shaded too.

    Parameters
    ----------
    car : CarFile
    standings : iterable of Standing
        The checks of its guide.
    """
    body, problems = body_of(car)
    at: dict[str, list[Standing]] = {}
    counts: dict[str, int] = {}
    for one in standings:
        shown = one.shown
        shade = _OPEN.get(shown.cover) or _firmest(shown.kinds)
        counts[shade] = counts.get(shade, 0) + 1
        for key in _drawn(body, (shown.part, shown.side, shown.position)):
            at.setdefault(key, []).append(one)
    spots = {key: _spot(here) for key, here in at.items()}
    for key, spot in _not_asked(car, body).items():
        spots.setdefault(key, spot)
    shading = {key: spot.shade for key, spot in spots.items()}
    title = f"{car.title}, unrolled, shaded by what each place stands on"
    return SurveyPlan(
        spots,
        tuple(
            Shade(name, SHADINGS[name][0], counts.get(name, 0), swatch(name))
            for name in SHADES
            if counts.get(name) or name in shading.values()
        ),
        car.body is not None and not problems,
        shaded_svg(body, Layout.STRIP, shading, title=title, prefix="strip"),
        shaded_svg(body, Layout.FOLDED, shading, title=title, prefix="folded"),
    )


def _spot(here: list[Standing]) -> PlanSpot:
    shades = {_OPEN.get(one.shown.cover) or _firmest(one.shown.kinds) for one in here}
    shade = next((name for name in _MOST_OPEN if name in shades), None)
    if shade is None:
        shade = _firmest(kind for one in here for kind in one.shown.kinds)
    names = dict.fromkeys(place_name(one.shown.part, one.shown.side, one.shown.position) for one in here)
    lines = (
        SpotLine(
            one.shown.key,
            one.shown.look_for,
            one.words,
            one.shown.cover in {Cover.NOT_MENTIONED, Cover.IN_PASSING},
        )
        for one in here
    )
    return PlanSpot(joined(list(names)), shade, SHADINGS[shade][0], tuple(lines))


def _not_asked(car: CarFile, body: Body) -> dict[str, PlanSpot]:
    """Shade what nobody asked for and something stands on all the same."""
    kinds: dict[str, set[FootingKind]] = {}
    names: dict[str, str] = {}
    for kept in car.told():
        finding = kept.finding
        for key in _drawn(body, (finding.part, finding.side, finding.position)) if finding.footings else ():
            kinds.setdefault(key, set()).update(footing.kind for footing in finding.footings)
            names.setdefault(key, place_name(finding.part, finding.side, finding.position))
    return {
        key: PlanSpot(names[key], _firmest(own), joined([kind.value for kind in FootingKind if kind in own]), ())
        for key, own in kinds.items()
    }


def _firmest(kinds: Iterable[str]) -> str:
    own = set(kinds)
    return next(kind.value for kind in _FIRMEST if kind in own)


def _drawn(body: Body, label: Label) -> tuple[str, ...]:
    return place_keys(body, label)[0]
