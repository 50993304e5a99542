"""A car held against its guide, put in order for the eye: the Plan shaded, what is still to show, and the guides."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from shutline.publish.looks import look_name
from shutline.publish.naming import place_name
from shutline.publish.report.gaps import little_said, name_places
from shutline.publish.report.model import SilentLine
from shutline.publish.report.summary import missing_fact_name
from shutline.publish.wording import joined
from shutline.survey import Breadth, Cover, Raised
from shutline.survey.checks import Sort
from shutline.usecases.guides import own_shelf
from shutline.usecases.look import find_car
from shutline.usecases.route_sheet import worded_route
from shutline.usecases.survey import Shown, StillToShow, still_to_show_of, with_questions
from shutline.usecases.survey_plan import Standing, SurveyPlan, survey_plan

if TYPE_CHECKING:
    from shutline.publish.sheet import RouteSheet
    from shutline.store import Store
    from shutline.survey import Shelf
    from shutline.survey.route import Stop


@dataclass(frozen=True, slots=True)
class SurveyPlace:
    """One place of a check: the key that leaves it out, and its name."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class SurveyEntry:
    """One check at all the places where the car file has as little of it.

    `check` is its id, `name` its places joined; `when_bad` what it comes to when bad, in words; `little` how it was
    touched in passing, empty where nothing was said at all; `asked` the questions of strangers that it would answer.
    """

    check: str
    name: str
    places: tuple[SurveyPlace, ...]
    look_for: str
    why: str
    when_bad: str
    safety: bool
    little: str
    asked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SurveyBand:
    """What is still to show and may come to as much: the band of cost, in words, and its entries."""

    id: str
    label: str
    safety: bool
    count: int
    entries: tuple[SurveyEntry, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something left out on purpose: its places, the keys that ask for it again, why, and who said so."""

    keys: tuple[str, ...]
    name: str
    reason: str
    author: str


@dataclass(frozen=True, slots=True)
class StandsOn:
    """Places whose checks stand on the same: the kinds in words, and their names."""

    kinds: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WayStop:
    """One stop of a route: where one stands, and what is looked at there, look by look."""

    name: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GuideOption:
    """A guide that may be chosen for a car: whose it is, whether it may be of its body, whether it is the one taken."""

    id: str
    label: str
    own: bool
    fits: bool
    taken: bool


@dataclass(frozen=True, slots=True)
class SurveyView:
    """What the page of a survey shows; `told` is what `shutline to-show` tells."""

    told: StillToShow
    title: str
    plan: SurveyPlan
    sheet: RouteSheet
    way: tuple[WayStop, ...]
    bands: tuple[SurveyBand, ...]
    left_out: tuple[LeftOut, ...]
    stands: tuple[StandsOn, ...]
    facts: tuple[SilentLine, ...]
    constructions: tuple[GuideOption, ...]
    drives: tuple[GuideOption, ...]

    def count(self, *covers: Cover) -> int:
        """Count the places of checks that are covered so."""
        return sum(one.cover in covers for one in self.told.checks)


def survey_view(store: Store, name: str, *, raised: Raised = Raised.LAST, minutes: float | None = None) -> SurveyView:
    """Lay out the survey of a car; parameters and errors are those of `survey.still_to_show`."""
    file = find_car(store, name)
    told = with_questions(store, still_to_show_of(file, raised=raised, minutes=minutes))
    shelf = own_shelf()
    parts = {kept.id: kept.finding.part for kept in file.told()}
    constructions, drives = guide_options(shelf, file.body, told.second.guide)
    return SurveyView(
        told=told,
        title=file.title,
        plan=survey_plan(file, [_standing(one, parts) for one in told.checks]),
        sheet=worded_route(told.second),
        way=tuple(way_stop(stop) for stop in told.second.route.stops),
        bands=_bands(told.checks, parts, shelf),
        left_out=_left_out(told.checks),
        stands=_stands(told.checks),
        facts=tuple(SilentLine(missing_fact_name(one.name), one.why) for one in told.facts),
        constructions=constructions,
        drives=drives,
    )


def entry_id(entry: SurveyEntry) -> str:
    """Give what an entry is called in its page."""
    return f"show-{entry.places[0].key}"


def _bands(checks: Iterable[Shown], parts: Mapping[str, str], shelf: Shelf) -> tuple[SurveyBand, ...]:
    """Put what is open under the band that it weighs as; a matter of safety weighs as its own at least."""
    bands = list(shelf.ground.bands)
    least = bands.index(shelf.ground.safety_counts_as)

    def weighs(one: Shown) -> str:
        own = bands.index(one.when_bad[1])
        return bands[max(own, least) if one.safety else own]

    still = [one for one in checks if one.cover in {Cover.NOT_MENTIONED, Cover.IN_PASSING}]
    found = []
    for name, group in groupby(sorted(still, key=lambda one: -bands.index(weighs(one))), key=weighs):
        same = list(group)
        label = shelf.ground.bands[name].label
        found.append(
            SurveyBand(name, label, name == shelf.ground.safety_counts_as, len(same), _entries(same, parts, shelf))
        )
    return tuple(found)


def _entries(same: Iterable[Shown], parts: Mapping[str, str], shelf: Shelf) -> tuple[SurveyEntry, ...]:
    """Gather the places of one check that are as silent: the list is read by people, and four tyres are one line."""
    gathered: dict[tuple[str, str], list[Shown]] = {}
    for one in same:
        gathered.setdefault((one.key.partition("-")[0], _little([one], parts)), []).append(one)
    labels = {band.id: band.label for band in shelf.ground.bands.values()}
    entries = []
    for (check, little), here in gathered.items():
        first = here[0]
        low, high = (labels[band] for band in first.when_bad)
        places = tuple(SurveyPlace(one.key, place_name(one.part, one.side, one.position)) for one in here)
        name = joined(name_places(first.part, [(one.side, one.position) for one in here]))
        cost = low if low == high else f"{low} to {high}"
        asked = tuple(dict.fromkeys(words for one in here for words in one.asked))
        entries.append(SurveyEntry(check, name, places, first.look_for, first.why, cost, first.safety, little, asked))
    return tuple(entries)


def _little(same: Sequence[Shown], parts: Mapping[str, str]) -> str:
    if same[0].cover is not Cover.IN_PASSING or same[0].breadth is None:
        return ""
    touched = [parts[name] for one in same for name in one.passing if name in parts]
    return little_said(Breadth(same[0].breadth), touched)


def _standing(one: Shown, parts: Mapping[str, str]) -> Standing:
    if one.cover is Cover.IN_PASSING:
        words = _little([one], parts)
    elif one.cover is Cover.LEFT_OUT:
        words = f"left out by {one.author}: {one.reason}"
    else:
        words = joined(list(one.kinds)) or one.cover.value
        if one.of_several:
            words = f"{words}, of several in one"
    return Standing(one, words)


def _left_out(checks: Iterable[Shown]) -> tuple[LeftOut, ...]:
    gathered: dict[tuple[str, str, str], list[Shown]] = {}
    for one in checks:
        if one.cover is Cover.LEFT_OUT:
            gathered.setdefault((one.key.partition("-")[0], one.reason, one.author), []).append(one)
    return tuple(
        LeftOut(
            tuple(dict.fromkeys(one.left_out_as for one in here)),
            joined(name_places(here[0].part, [(one.side, one.position) for one in here])),
            reason,
            author,
        )
        for (_, reason, author), here in gathered.items()
    )


def _stands(checks: Iterable[Shown]) -> tuple[StandsOn, ...]:
    gathered: dict[str, dict[str, None]] = {}
    for one in checks:
        if one.kinds:
            kinds = joined(list(one.kinds))
            names = gathered.setdefault(f"{kinds}, of several in one" if one.of_several else kinds, {})
            names[place_name(one.part, one.side, one.position)] = None
    return tuple(StandsOn(kinds, tuple(names)) for kinds, names in gathered.items())


def way_stop(stop: Stop) -> WayStop:
    """Name a stop and its looks."""
    return WayStop(stop.station.label, tuple(map(look_name, stop.looks)))


def guide_options(
    shelf: Shelf, body: str | None, guide: str
) -> tuple[tuple[GuideOption, ...], tuple[GuideOption, ...]]:
    """Give the constructions there are, those for such a body first, and what may be laid over; `guide` is taken."""
    taken = set(guide.split("+"))
    shipped = {file.id: file.file for file in shelf.guides.values()}

    def option(name: str) -> GuideOption:
        one = shelf.guides[name]
        fits = not one.bodies or (body or "saloon") in one.bodies
        # Files that come with the program are called by their name alone.
        return GuideOption(name, one.label, "/" in shipped[name] or "\\" in shipped[name], fits, name in taken)

    drives = tuple(option(one.id) for one in shelf.of_sort(Sort.DRIVE))
    others = [option(one.id) for one in (*shelf.of_sort(Sort.GENERAL), *shelf.of_sort(Sort.CONSTRUCTION))]
    return tuple(sorted(others, key=lambda one: not one.fits)), drives
