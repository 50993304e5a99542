"""The job cards of a plan as a PDF: one for each trade, with the stills as they may go out."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.usecases.job_cards import cards_of
from shutline.usecases.prep_plan import planned
from shutline.usecases.prep_worked import PlanAsked
from shutline.usecases.rings import rings_of

if TYPE_CHECKING:
    from shutline.store import Store


def prep_cards(store: Store, car: str, asked: PlanAsked, *, made_at: datetime | None = None) -> bytes:
    """Set the job cards of what is chosen, in the order of the calendar.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    asked : PlanAsked
        As for `prep_plan`.
    made_at : datetime, optional
        Now when left out.

    Raises
    ------
    NotFoundError, UserError
        As for `prep_plan`; or there is nothing to be done (slug ``prep-refused``).
    BrokenWorldError
        They could not be set (slug ``cards-not-set``).
    """
    from shutline.publish.cards import build_card_sheets, cards_pdf
    from shutline.usecases.published_pictures import pictures_out

    plan = planned(store, car, asked)
    cards = cards_of(plan, store.works_done(plan.file.name))
    if not cards:
        raise UserError(
            Problem("prep-refused", "job cards", "nothing is to be done", "a plan with tasks", "Choose another budget.")
        )
    stills, by_hand = pictures_out(store, plan.file, [])
    pictures = {one.original.sha256: by_hand[one.id] for one in plan.file.pictures if one.id in by_hand}
    places = [place.finding for card in cards for line in card.lines for place in line.places]
    rings = {of: one.circle for of, one in rings_of(store, places).items() if one.holds}
    moment = (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    return cards_pdf(
        build_card_sheets(plan.file, cards, stills=stills | pictures, rings=rings, made_at=moment.isoformat())
    )
