"""Job cards put into words: every word, picture and drawing chosen."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.carfile import CarFile
from shutline.car.errors import UserError
from shutline.car.findings import Finding
from shutline.car.plan import Layout, Pin, PinForm, Plan, draw, plan_svg
from shutline.car.plan.pins import RADIUS, place_pins
from shutline.car.rings import Circle, Shows, shows_of
from shutline.car.vocabulary import vocabulary
from shutline.prep.cards import Card, CardLine, CardPlace
from shutline.publish.bare import BarePicture, bare_picture
from shutline.publish.naming import capitalised, place_name
from shutline.publish.plain import one_line
from shutline.publish.report.model import Illustration
from shutline.publish.report.times import day, instant, moment

LONGEST_SIDE_PX, QUALITY = 960, 80
_EDGE, _PIN_ROOM = 4.0, RADIUS + 5
MOST_PICTURES = 2
"""How many stills a job has on its card."""


Stills = Mapping[str, bytes | BarePicture]
"""Stills and pictures by their SHA-256."""
Rings = Mapping[tuple[str, str], Circle]
"""Where on a picture a finding is, by the id of the one and the SHA-256 of the other."""


@dataclass(frozen=True, slots=True)
class CardPicture(Illustration):
    """A still or a picture of a job; `ring` is where on it the place is, None where nobody said so."""

    ring: Circle | None = None


@dataclass(frozen=True, slots=True)
class LineWords:
    """One job of a card: its number, what and where, and what is to be known, done, ordered and filled in."""

    number: int
    name: str
    places: tuple[str, ...]
    notes: tuple[str, ...]
    facts: tuple[str, ...]
    pictures: tuple[CardPicture, ...] = ()


@dataclass(frozen=True, slots=True)
class CardWords:
    """One card; `drawing` is the Plan as SVG, empty where no job has a place on it."""

    title: str
    heads: tuple[str, ...]
    drawing: str
    lines: tuple[LineWords, ...]
    cautions: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PlanFace:
    """A face of the car with numbers on it: its key and label in the Plan, and left, top, right and bottom there."""

    key: str
    label: str
    numbers: tuple[int, ...]
    edges: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class CardDrawing:
    """The Plan of a card as SVG, empty where no job has a place on it, and its faces that have numbers."""

    svg: str
    faces: tuple[PlanFace, ...]


@dataclass(frozen=True, slots=True)
class CardSheets:
    """All cards of a car; `made_at` is ISO 8601."""

    title: str
    made_at: str
    cards: tuple[CardWords, ...]


def build_card_sheets(
    car_file: CarFile,
    cards: Sequence[Card],
    *,
    stills: Stills | None = None,
    rings: Rings | None = None,
    made_at: str,
) -> CardSheets:
    """Word job cards.

    Parameters
    ----------
    car_file : CarFile
        Its title, body and drive.
    cards : sequence of Card
    stills : mapping, optional
        JPEGs by their SHA-256; a still or a picture that is not there is left out.
    rings : mapping, optional
        Drawn over them.
    made_at : str
        ISO 8601; the same cards and time give the same bytes.

    Raises
    ------
    UserError
        `made_at` is not a time.
    """
    made = words()["made"].format(date=day(instant(made_at).date().isoformat()))
    worded = tuple(_card(car_file, card, stills or {}, rings or {}, made) for card in cards)
    return CardSheets(one_line(car_file.title), made_at, worded)


def card_counts(card: Card) -> str:
    """Tell how many jobs a card has, and how many hours."""
    low, high = (sum(_end(line, end) for line in card.lines) for end in ("low", "high"))
    setup = sum(line.setup_hours.likely for line in card.lines)
    kind = ("counts" if high else "counts_outside") + ("_one" if len(card.lines) == 1 else "")
    counts: str = words()[kind].format(count=len(card.lines), low=_hours(low), high=_hours(high), setup=_hours(setup))
    return counts


def card_drawing(
    car_file: CarFile, card: Card, *, layout: Layout = Layout.STRIP, standalone: bool = True
) -> CardDrawing:
    """Draw the Plan with the numbers of a card."""
    w, plan = words(), _plan(car_file, layout)
    findings = [(line.number, finding) for line in card.lines for finding in _distinct(line)]
    if not findings:
        return CardDrawing("", ())
    pins = [Pin(number, one.part, one.side, one.position, PinForm.BAD) for number, one in findings]
    drawn = plan_svg(plan, pins=pins, title=w["plan_alt"], desc=w["plan"], standalone=standalone)
    here: dict[str, set[str]] = {}
    for _, one in findings:
        for anchor in plan.place(one.part, one.side, one.position):
            here.setdefault(anchor.view, set()).add(anchor.key)
    places = place_pins(plan, pins).places
    faces = []
    for view in plan.views:
        there = [place for place in places if place.key in here.get(view.key, ())]
        if there:
            x, y = [place.at[0] for place in there], [place.at[1] for place in there]
            left, top, right, bottom = view.leaf
            edges = (
                min(left - _EDGE, *(one - _PIN_ROOM for one in x)),
                min(top - _EDGE, *(one - _PIN_ROOM for one in y)),
                max(right + _EDGE, *(one + _PIN_ROOM for one in x)),
                max(bottom + _EDGE, *(one + _PIN_ROOM for one in y)),
            )
            numbers = tuple(dict.fromkeys(place.pin.number for place in there))
            faces.append(PlanFace(view.key, view.label, numbers, edges))
    return CardDrawing(drawn, tuple(faces))


def card_cautions(card: Card) -> tuple[tuple[str, str], ...]:
    """Give the cautions of a card, each with its title and the jobs it is for."""
    w = words()
    return tuple(
        (
            w["caution_one" if len(numbers) == 1 else "caution"].format(
                title=caution.title, numbers=", ".join(map(str, numbers))
            ),
            caution.text,
        )
        for caution, numbers in card.cautions
    )


def line_words(line: CardLine) -> LineWords:
    """Word one job, without its pictures."""
    w = words()
    task, piece = line.task, line.piece
    notes = [w["must"].format(why=one_line(task.must))] if task.must else []
    if task.wished:
        quoted = {one_line(one) for place in line.places for one in place.words[:1]}
        told = set(one_line(task.wished).split(" / ")) <= quoted
        notes.append(w["wished"] if told else w["wished_words"].format(words=one_line(task.wished)))
    notes += [w["heard"]] if task.heard_only else []
    notes += [w["grows"]] if line.may_grow > 1 else []
    facts = []
    if piece is not None:
        facts.append(w["when"].format(start=_moment(piece.start), end=_moment(piece.end)))
        facts += [w["who"].format(person=one_line(piece.person))] if piece.person else []
        facts += [w["bay"].format(bay=one_line(piece.bay))] if piece.bay else []
        facts += [w["latest"].format(start=_moment(piece.latest))] if not piece.critical else []
    if line.hours.high:
        numbers = {end: _hours(getattr(line.hours, end)) for end in ("low", "likely", "high")}
        facts.append(w["hours"].format(**numbers))
        if line.setup_hours.likely:
            facts[-1] += " " + w["setup"].format(hours=_hours(line.setup_hours.likely))
    if line.materials.high:
        facts.append(w["materials"].format(low=f"{line.materials.low:.0f}", high=f"{line.materials.high:.0f}"))
    if line.parts:
        facts.append(w["parts"].format(parts="; ".join(map(one_line, line.parts))))
    return LineWords(
        number=line.number,
        name=capitalised(task.job.name),
        places=tuple(place_words(place) for place in line.places),
        notes=tuple(notes),
        facts=tuple(facts),
    )


def place_words(place: CardPlace) -> str:
    """Tell where a fault is, what it is, and what was said of it first."""
    finding = place.finding.finding
    label = vocabulary().conditions[finding.condition].label
    if finding.severity:
        label = words()["severity"].format(severity=finding.severity.value, condition=label)
    said = "".join(f" {words()['said'].format(words=one_line(one))}" for one in place.words[:1])
    return f"{capitalised(place_name(finding.part, finding.side, finding.position))}: {label}.{said}"


def _card(car_file: CarFile, card: Card, stills: Stills, rings: Rings, made: str) -> CardWords:
    return CardWords(
        words()["title"].format(trade=card.name),
        (one_line(car_file.title), card_counts(card), made),
        card_drawing(car_file, card).svg,
        tuple(replace(line_words(line), pictures=_pictures(car_file, line, stills, rings)) for line in card.lines),
        card_cautions(card),
    )


def _pictures(car_file: CarFile, line: CardLine, stills: Stills, rings: Rings) -> tuple[CardPicture, ...]:
    found: list[CardPicture] = []
    # What somebody ringed tells more than what nobody did.
    there = [(place, shows) for place in line.places for shows in shows_of(car_file, place.finding)]
    there.sort(key=lambda one: (one[0].finding.id, one[1].sha256) not in rings)
    for place, shows in there:
        data = stills.get(shows.sha256)
        if data is None or len(found) == MOST_PICTURES:
            continue
        ready = (
            bare_picture(data, longest_side_px=LONGEST_SIDE_PX, quality=QUALITY) if isinstance(data, bytes) else data
        )
        if ready is not None:
            ring = rings.get((place.finding.id, shows.sha256))
            alt, caption = picture_words(place, shows, ringed=ring is not None)
            key = f"still-{line.number}-{len(found) + 1}"
            found.append(CardPicture(key, ready.jpeg, ready.width, ready.height, alt, caption, ring))
    return tuple(found)


def picture_words(place: CardPlace, shows: Shows, *, ringed: bool) -> tuple[str, str]:
    """Give what a picture is for those who hear it read, and its caption."""
    w = words()
    kind = "picture" if shows.at_s is not None else "hand"
    at = "" if shows.at_s is None else moment(shows.at_s)
    alt = w[f"{kind}_alt"].format(moment=at, words=place_words(place))
    caption = w[f"{kind}_caption"].format(moment=at)
    return (w["ringed_alt"].format(alt=alt), w["ringed_caption"].format(caption=caption)) if ringed else (alt, caption)


def _distinct(line: CardLine) -> list[Finding]:
    places = {(f.part, f.side, f.position): f for f in (place.finding.finding for place in line.places)}
    return list(places.values())


def _plan(car_file: CarFile, layout: Layout) -> Plan:
    try:
        return draw(car_file.body, doors=car_file.doors, drive=car_file.drive, layout=layout)
    except UserError:
        return draw(None, doors=None, drive=car_file.drive, layout=layout)


def _end(line: CardLine, end: str) -> float:
    return float(getattr(line.hours, end)) + float(getattr(line.setup_hours, end))


def _hours(much: float) -> str:
    return f"{much:.1f}".removesuffix(".0")


def _moment(at: datetime) -> str:
    return f"{at:%a} {at.day} {at:%b}, {at:%H:%M}"


@cache
def words() -> Mapping[str, Any]:
    """Read the words of the cards once."""
    return tomllib.loads(files("shutline.publish").joinpath("data", "cards.toml").read_text(encoding="utf-8"))
