"""The route for a car that is not kept yet: by its body, how it is built, and what drives it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.survey import Raised
from shutline.usecases.guides import own_shelf
from shutline.usecases.particulars import BodyOffered, bodies_offered
from shutline.usecases.route_sheet import worded_route
from shutline.usecases.survey import Planned, plan_route
from shutline.usecases.survey_view import GuideOption, WayStop, guide_options, way_stop

if TYPE_CHECKING:
    from shutline.car.findings import Drive
    from shutline.publish.sheet import RouteSheet


@dataclass(frozen=True, slots=True)
class BeforeFilming:
    """A route for a car that is not kept yet, laid out; `planned` is what `shutline route` prints.

    `bodies` are those that may be said, `constructions` and `drives` the guides: of the first one is taken, the others
    are laid over it.
    """

    planned: Planned
    sheet: RouteSheet
    way: tuple[WayStop, ...]
    bodies: tuple[BodyOffered, ...]
    constructions: tuple[GuideOption, ...]
    drives: tuple[GuideOption, ...]


def before_filming(
    *,
    body: str | None = None,
    doors: int | None = None,
    drive: Drive | None = None,
    construction: str = "",
    over: Sequence[str] = (),
    raised: Raised = Raised.LAST,
    minutes: float | None = None,
) -> BeforeFilming:
    """Lay out the route for a car that is not kept yet.

    Parameters
    ----------
    body, doors, drive : optional
        What is known of it; asked as of a saloon with the wheel on the right while nothing is.
    construction : str
        The guide of how it is built; what is usual for such a body when empty.
    over : sequence of str
        Guides of what drives it, laid over that.
    raised, minutes
        As for `survey.plan_route`.

    Raises
    ------
    UserError
        As `survey.plan_route` does, and where such a body has not so many doors (``unknown-door-count``).
    """
    planned = plan_before(
        body=body, doors=doors, drive=drive, construction=construction, over=over, raised=raised, minutes=minutes
    )
    constructions, drives = guide_options(own_shelf(), body, planned.guide)
    return BeforeFilming(
        planned=planned,
        sheet=worded_route(planned),
        way=tuple(way_stop(stop) for stop in planned.route.stops),
        bodies=bodies_offered(),
        constructions=constructions,
        drives=drives,
    )


def plan_before(
    *,
    body: str | None,
    doors: int | None,
    drive: Drive | None,
    construction: str,
    over: Sequence[str],
    raised: Raised,
    minutes: float | None,
) -> Planned:
    """Plan the route that `before_filming` lays out; parameters and errors are those."""
    from shutline.car.plan.bodies import choose_body

    if doors is not None and (body is not None or doors not in {n for one in bodies_offered() for n in one.doors}):
        choose_body(body, doors)
    names = [construction, *over] if construction else []
    if over and not construction:
        # What is laid over something is laid over what is usual for such a body.
        names = [plan_route(body=body, doors=doors).guide.partition("+")[0], *over]
    return plan_route(guides=names, body=body, doors=doors, drive=drive, raised=raised, minutes=minutes)
