"""How places of the car are called, and in what order a walk comes to them."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.errors import BrokenWorldError, Problem
from shutline.car.findings import Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.publish.wording import phrase

_SIDE_NAMES = {Side.NEAR: "nearside", Side.OFF: "offside"}
_SIDES_ZONE, _ENDS_ZONE = "sides", "ends"


@dataclass(frozen=True, slots=True)
class Zone:
    """A stretch of the walk: a side of the car, the engine bay, the papers."""

    id: str
    title: str
    order: int


@dataclass(frozen=True, slots=True)
class _Home:
    """Where a part lies: its zone, and for the sides how far back (1 to 7) at the front and at the rear."""

    zone: str
    ranks: tuple[int, ...]


def place_name(part: str, side: Side | None, position: Position | None) -> str:
    """Call a place by its name, without an article: ``nearside front wing``, ``all four tyres``, ``both sills``.

    A side or end that was said of a part that occurs once is kept: ``offside carpet``.

    Raises
    ------
    KeyError
        `part` is not in the vocabulary.
    """
    asked = vocabulary().parts[part]
    plural = _plurals().get(part, "")
    end = position.value if position in (Position.FRONT, Position.REAR) else ""
    label = plural if plural and Side.BOTH is side else asked.label
    if position is Position.BOTH:
        label = plural or asked.label
    if label.startswith(f"{end} "):
        # A front wing said to be at the front is called so once.
        end = ""
    named = " ".join(word for word in (_SIDE_NAMES.get(side, "") if side else "", end, label) if word)
    if side is Side.BOTH and position is Position.BOTH:
        return phrase("places.all_four" if plural else "places.all_four_mass", name=named)
    if side is Side.BOTH:
        return phrase("places.both_sides" if plural else "places.both_sides_mass", name=named)
    if position is Position.BOTH:
        return phrase("places.both_ends" if plural else "places.both_ends_mass", name=named)
    return named


def with_article(name: str) -> str:
    """Put ``the`` before a name unless it begins with a word that takes none."""
    return name if name.split(" ", 1)[0] in ("both", "all") else f"the {name}"


def capitalised(text: str) -> str:
    """Begin with a capital letter, leaving the rest as it is."""
    return text[:1].upper() + text[1:]


@cache
def zones() -> tuple[Zone, ...]:
    """List the zones in walking order."""
    found = [Zone(row["id"], row["title"], int(row["order"])) for row in _table("zones.csv")]
    return tuple(sorted(found, key=lambda zone: zone.order))


def zone_of(part: str, side: Side | None, position: Position | None) -> Zone:
    """Tell which stretch of the walk a place belongs to.

    A part that occurs on both sides, and of which the side was not said, has a zone of its own: nobody knows where.
    """
    home = _homes()[part]
    name = home.zone
    if name == _SIDES_ZONE:
        name = {Side.NEAR: "near", Side.OFF: "off", Side.BOTH: "both", None: "unplaced"}[side]
    elif name == _ENDS_ZONE:
        name = {Position.FRONT: "front", Position.REAR: "rear", Position.BOTH: "both", None: "unplaced"}[position]
    return _zone(name)


def walk_order(part: str, side: Side | None, position: Position | None) -> tuple[int, int, int, int, int]:
    """Give a key that sorts places as a walk comes to them: front, nearside, rear, offside and so on."""
    zone = zone_of(part, side, position)
    rank = how_far_back(part, position)
    if zone.id == "off":
        rank = -rank
    sides = (Side.NEAR, Side.OFF, Side.BOTH, None)
    positions = (Position.FRONT, Position.REAR, Position.BOTH, None)
    return (zone.order, rank, _part_order()[part], sides.index(side), positions.index(position))


def how_far_back(part: str, position: Position | None) -> int:
    """Tell how far back on its side a part lies, 1 (front) to 7 (rear); 0 for one that does not lie on a side."""
    ranks = _homes()[part].ranks
    if not ranks:
        return 0
    if len(ranks) == 1 or position is Position.FRONT:
        return ranks[0]
    return ranks[1] if position is Position.REAR else sum(ranks) // len(ranks)


@cache
def _zone(name: str) -> Zone:
    return next(zone for zone in zones() if zone.id == name)


@cache
def _homes() -> dict[str, _Home]:
    homes = {
        row["part"]: _Home(row["zone"], tuple(int(rank) for rank in row["front_to_rear"].split()))
        for row in _table("places.csv")
    }
    _same("places.csv", set(homes), set(vocabulary().parts))
    return homes


@cache
def _plurals() -> dict[str, str]:
    plurals = {row["part"]: row["plural"] for row in _table("names.csv")}
    _same("names.csv", set(plurals), {part.id for part in vocabulary().parts.values() if part.sided or part.ended})
    return plurals


@cache
def _part_order() -> dict[str, int]:
    return {part: order for order, part in enumerate(vocabulary().parts)}


def _table(name: str) -> list[dict[str, str]]:
    text = files("shutline.publish").joinpath("data", name).read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text)))


def _same(name: str, found: set[str], wanted: set[str]) -> None:
    """Refuse a list that does not hold each part once."""
    if found != wanted:
        odd = ", ".join(sorted(found ^ wanted))
        raise BrokenWorldError(
            Problem(
                "wording-incomplete",
                f"publish/data/{name}",
                f"too many or missing: {odd}",
                "each part once",
                "Install Shutline again.",
            )
        )
