"""Job cards put into words: every word, picture and drawing chosen."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.carfile import CarFile
from shutline.car.errors import UserError
from shutline.car.findings import Finding
from shutline.car.plan import Layout, Pin, PinForm, Plan, draw, plan_svg
from shutline.car.vocabulary import vocabulary
from shutline.prep.cards import Card, CardLine, CardPlace
from shutline.publish.bare import BarePicture, bare_picture
from shutline.publish.naming import capitalised, place_name
from shutline.publish.plain import one_line
from shutline.publish.report.model import Illustration
from shutline.publish.report.times import day, instant, moment

LONGEST_SIDE_PX, QUALITY = 960, 80
MOST_PICTURES = 2
"""How many stills a job has on its card."""


@dataclass(frozen=True, slots=True)
class LineWords:
    """One job of a card: its number, what and where, and what is to be known, done, ordered and filled in."""

    number: int
    name: str
    places: tuple[str, ...]
    notes: tuple[str, ...]
    facts: tuple[str, ...]
    pictures: tuple[Illustration, ...]


@dataclass(frozen=True, slots=True)
class CardWords:
    """One card; `drawing` is the Plan as SVG, empty where no job has a place on it."""

    title: str
    heads: tuple[str, ...]
    drawing: str
    lines: tuple[LineWords, ...]
    cautions: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class CardSheets:
    """All cards of a car; `made_at` is ISO 8601."""

    title: str
    made_at: str
    cards: tuple[CardWords, ...]


def build_card_sheets(
    car_file: CarFile, cards: Sequence[Card], *, stills: Mapping[str, bytes | BarePicture] | None = None, made_at: str
) -> CardSheets:
    """Word job cards.

    Parameters
    ----------
    car_file : CarFile
        Its title, body and drive.
    cards : sequence of Card
    stills : mapping, optional
        JPEGs by their SHA-256; a still that is not there is left out.
    made_at : str
        ISO 8601; the same cards and time give the same bytes.

    Raises
    ------
    UserError
        `made_at` is not a time.
    """
    made = words()["made"].format(date=day(instant(made_at).date().isoformat()))
    plan = _plan(car_file)
    title = one_line(car_file.title)
    return CardSheets(title, made_at, tuple(_card(card, plan, stills or {}, title, made) for card in cards))


def _card(card: Card, plan: Plan, stills: Mapping[str, bytes | BarePicture], title: str, made: str) -> CardWords:
    w = words()
    low, high = (sum(_end(line, end) for line in card.lines) for end in ("low", "high"))
    setup = sum(line.setup_hours.likely for line in card.lines)
    kind = ("counts" if high else "counts_outside") + ("_one" if len(card.lines) == 1 else "")
    counts = w[kind].format(count=len(card.lines), low=_hours(low), high=_hours(high), setup=_hours(setup))
    pins = [
        Pin(line.number, finding.part, finding.side, finding.position, PinForm.BAD)
        for line in card.lines
        for finding in _distinct(line)
    ]
    drawing = plan_svg(plan, pins=pins, title=w["plan_alt"], desc=w["plan"], standalone=True) if pins else ""
    cautions = tuple(
        (
            w["caution_one" if len(numbers) == 1 else "caution"].format(
                title=caution.title, numbers=", ".join(map(str, numbers))
            ),
            caution.text,
        )
        for caution, numbers in card.cautions
    )
    lines = tuple(_line(line, stills) for line in card.lines)
    return CardWords(w["title"].format(trade=card.name), (title, counts, made), drawing, lines, cautions)


def _line(line: CardLine, stills: Mapping[str, bytes | BarePicture]) -> LineWords:
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
        places=tuple(_place(place) for place in line.places),
        notes=tuple(notes),
        facts=tuple(facts),
        pictures=_pictures(line, stills),
    )


def _place(place: CardPlace) -> str:
    finding = place.finding.finding
    label = vocabulary().conditions[finding.condition].label
    if finding.severity:
        label = words()["severity"].format(severity=finding.severity.value, condition=label)
    said = "".join(f" {words()['said'].format(words=one_line(one))}" for one in place.words[:1])
    return f"{capitalised(place_name(finding.part, finding.side, finding.position))}: {label}.{said}"


def _pictures(line: CardLine, stills: Mapping[str, bytes | BarePicture]) -> tuple[Illustration, ...]:
    w = words()
    found: list[Illustration] = []
    for place in line.places:
        for still in place.finding.stills:
            data = stills.get(still.sha256)
            ready = (
                bare_picture(data, longest_side_px=LONGEST_SIDE_PX, quality=QUALITY)
                if isinstance(data, bytes)
                else data
            )
            if ready is not None and len(found) < MOST_PICTURES:
                at = moment(still.at_s)
                alt = w["picture_alt"].format(moment=at, words=_place(place))
                key = f"still-{line.number}-{len(found) + 1}"
                caption = w["picture_caption"].format(moment=at)
                found.append(Illustration(key, ready.jpeg, ready.width, ready.height, alt, caption))
    return tuple(found)


def _distinct(line: CardLine) -> list[Finding]:
    places = {(f.part, f.side, f.position): f for f in (place.finding.finding for place in line.places)}
    return list(places.values())


def _plan(car_file: CarFile) -> Plan:
    try:
        return draw(car_file.body, doors=car_file.doors, drive=car_file.drive, layout=Layout.STRIP)
    except UserError:
        return draw(None, doors=None, drive=car_file.drive, layout=Layout.STRIP)


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
