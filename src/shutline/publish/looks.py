"""What one look answers, called by one name: ``nearside front tyre and wheel``."""

from __future__ import annotations

from collections.abc import Sequence

from shutline.car.findings import Position, Side
from shutline.publish.naming import place_name
from shutline.publish.report.gaps import name_places
from shutline.publish.wording import joined
from shutline.survey.checks import Asked
from shutline.survey.route import Step

Place = tuple[str, Side | None, Position | None]


def look_name(look: Sequence[Step]) -> str:
    """Name the places of a look, without saying again what was said of the first.

    Parameters
    ----------
    look : sequence of Step
        Steps of one look, as `Route.looks` gives them.
    """
    return name_of([(step.asked.check.part, step.asked.side, step.asked.position) for step in look])


def name_of(places: Sequence[Place]) -> str:
    """Name places that are looked at together.

    >>> near, front = Side.NEAR, Position.FRONT
    >>> name_of([("tyre", near, front), ("wheel", near, front)])
    'nearside front tyre and wheel'
    >>> name_of([("door", near, front), ("door_seal", near, None), ("a_post", near, None)])
    'nearside front door, door rubber and A-post'
    >>> name_of([("inner_wing", near, None), ("inner_wing", Side.OFF, None)])
    'both inner wings'
    """
    parts: dict[str, list[tuple[Side | None, Position | None]]] = {}
    for part, side, position in places:
        parts.setdefault(part, []).append((side, position))
    names: list[str] = []
    _, first_side, first_end = places[0]
    for part, there in parts.items():
        if not names or len(there) > 1:
            names.append(joined(name_places(part, there)))
            continue
        side, end = there[0]
        names.append(place_name(part, None if side == first_side else side, None if end == first_end else end))
    return joined(names)


def asked_once(look: Sequence[Step]) -> tuple[Asked, ...]:
    """Give each check of a look once, whichever of its places come in it."""
    return tuple({step.asked.check.id: step.asked for step in reversed(look)}.values())[::-1]
