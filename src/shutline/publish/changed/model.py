"""The statement of what changed as a value: every word chosen, nothing left for the page but how it looks."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from shutline.car.findings import FootingKind, State
from shutline.publish.naming import capitalised, place_name
from shutline.publish.plain import one_line
from shutline.publish.report.model import Illustration
from shutline.publish.report.times import day, moment
from shutline.publish.statement import statement
from shutline.publish.wording import joined
from shutline.survey.changed import Because, Changed, Outcome

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding, Recording
    from shutline.publish.bare import BarePicture
    from shutline.publish.report.model import House

MOST_ON_PAGE = 14
"""Changes that the page to sign has room for; the others stand in the schedule alone."""

MOST_UNCLEAR = 10
"""Places of which the page to sign says that they are unclear; how many more there are is told."""

_NO_BREAK = "\N{NO-BREAK SPACE}"

_ORDER = (Outcome.NEW, Outcome.WORSE, Outcome.GONE, Outcome.BETTER, Outcome.UNCLEAR, Outcome.SAME)
_CHANGES = (Outcome.NEW, Outcome.WORSE, Outcome.GONE, Outcome.BETTER)


@dataclass(frozen=True, slots=True)
class ChangedSide:
    """What one recording told of a thing: the words, where they were said, and its still; empty for nothing told."""

    words: str
    said: str = ""
    quote: str = ""
    picture: Illustration | None = None


@dataclass(frozen=True, slots=True)
class ChangedLine:
    """One thing: its number in the schedule, what became of it, its place, both sides, and why."""

    number: int
    outcome: str
    change: bool
    place: str
    before: ChangedSide
    after: ChangedSide
    because: str


@dataclass(frozen=True, slots=True)
class ChangedModel:
    """The statement. `on_page` are the lines that the page to sign names, `more` how many changes it does not."""

    title: str
    made_at: str
    made: str
    first: str
    second: str
    counts: str
    unconfirmed: str
    house: str
    lines: tuple[ChangedLine, ...]
    on_page: tuple[ChangedLine, ...]
    unclear: str
    more: int


def build_changed(
    car_file: CarFile,
    found: Sequence[Changed],
    *,
    first: Sequence[Recording],
    second: Sequence[Recording],
    stills: Mapping[str, BarePicture],
    made_at: str,
    house: House | None = None,
    worked_on: str = "",
) -> ChangedModel:
    """Choose the words of a statement of what changed.

    Parameters
    ----------
    car_file : CarFile
        The car it is of.
    found : sequence of Changed
        As `survey.changed.changed` gives.
    first, second : sequence of Recording
        Those of the two times that were compared.
    stills : mapping of str to BarePicture
        Ready to go out, by their SHA-256, and pictures taken by hand by their id; one that is not in it is left out.
    made_at : str
        ISO 8601.
    house : House, optional
        The firm it is made for.
    worked_on : str, optional
        The last day of the work, ISO 8601, where the second time is after the work and there is no recording of it.
    """
    ordered = sorted(found, key=lambda one: _ORDER.index(one.outcome))
    lines = tuple(_line(number, one, stills) for number, one in enumerate(ordered, start=1))
    changes = tuple(line for line in lines if line.change)
    counts = [(outcome, sum(one.outcome is outcome for one in found)) for outcome in _ORDER]
    told = {kept.id: kept for one in found for kept in (one.first, one.second) if kept is not None}
    heard = sum(kept.finding.state is State.HEARD for kept in told.values())
    return ChangedModel(
        title=one_line(car_file.title),
        made_at=made_at,
        made=_say("made", date=day(made_at)),
        first=_recordings(first),
        second=_say("worked", date=day(worked_on)) if worked_on else _recordings(second),
        counts=capitalised(
            joined([words()["counts"][o].format(count=count).replace(" ", _NO_BREAK) for o, count in counts if count])
        ),
        unconfirmed=_say("unconfirmed", count=heard) if heard else "",
        house=", ".join((house.name, *house.lines)) if house else "",
        lines=lines,
        on_page=changes[:MOST_ON_PAGE],
        unclear=_unclear(ordered),
        more=max(0, len(changes) - MOST_ON_PAGE),
    )


@cache
def words() -> Mapping[str, Mapping[str, str]]:
    """Read the shipped wording once."""
    return tomllib.loads(files("shutline.publish").joinpath("data/changed.toml").read_text(encoding="utf-8"))


def _say(key: str, **values: object) -> str:
    return words()["statement"][key].format_map(values)


def _unclear(found: Sequence[Changed]) -> str:
    """Name the places that are unclear, each once."""
    findings = [one.finding for one in found if one.outcome is Outcome.UNCLEAR]
    places = list(dict.fromkeys(place_name(one.part, one.side, one.position) for one in findings))
    if not places:
        return ""
    if len(places) > MOST_UNCLEAR:
        rest = len(places) - MOST_UNCLEAR
        return _say("unclear_more", places=", ".join(places[:MOST_UNCLEAR]), count=rest)
    return _say("unclear_places", places=joined(places))


def _recordings(recordings: Sequence[Recording]) -> str:
    return "; ".join(_recording(one) for one in recordings)


def _recording(recording: Recording) -> str:
    name, at = one_line(recording.original.name), recording.probe.recorded_at
    return _say("recorded", name=name, date=day(at)) if at else _say("recorded_unknown", name=name)


def _line(number: int, one: Changed, stills: Mapping[str, BarePicture]) -> ChangedLine:
    finding = one.finding
    place = capitalised(place_name(finding.part, finding.side, finding.position))
    before = _side(one.first, f"{number}-first", "which_first", stills)
    after = _side(one.second, f"{number}-second", "which_second", stills)
    if one.because is Because.PUT_RIGHT:
        after = replace(after, words=capitalised(_say("put_right")))
    return ChangedLine(
        number=number,
        outcome=words()["outcomes"][one.outcome],
        change=one.outcome in _CHANGES,
        place=place,
        before=before,
        after=after,
        because=capitalised(one.why or one.because),
    )


def _side(kept: KeptFinding | None, key: str, which: str, stills: Mapping[str, BarePicture]) -> ChangedSide:
    if kept is None:
        return ChangedSide(capitalised(_say("nothing")))
    finding = kept.finding
    said = "" if finding.start_s is None else _say("heard_at", moment=moment(finding.start_s))
    quote = one_line(next((footing.quote for footing in finding.footings if footing.quote), ""))
    picture = None
    for still in kept.stills:
        ready = stills.get(still.sha256)
        if ready is not None:
            at = moment(still.at_s)
            alt = _say("alt", which=_say(which), moment=at, words=statement(finding))
            picture = Illustration(key, ready.jpeg, ready.width, ready.height, alt, at)
            break
    by_hand = [one.source for one in finding.footings if one.kind is FootingKind.SEEN and one.source in stills]
    if picture is None and by_hand:
        ready = stills[by_hand[0]]
        alt = _say("alt_picture", words=statement(finding))
        picture = Illustration(key, ready.jpeg, ready.width, ready.height, alt, "")
    return ChangedSide(capitalised(statement(finding)), said, quote, picture)
