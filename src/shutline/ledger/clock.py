"""The consumer clock: until when a buyer may do what, from the facts of the sale; no legal advice."""

from __future__ import annotations

import calendar
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from typing import Any

from shutline.car.errors import BadInputError, Problem
from shutline.ledger.rules import Said
from shutline.ledger.tables import text_of


@dataclass(frozen=True, slots=True)
class Repair:
    """A repair or a replacement: the day it was asked for or agreed, and the day the car came back, if it has."""

    asked: date
    back: date | None = None


@dataclass(frozen=True, slots=True)
class Handed:
    """The facts of a sale to a consumer.

    Parameters
    ----------
    owned : date
        When the buyer became its owner.
    delivered : date, optional
        When the buyer got it; None while it has not been handed over.
    ready : date, optional
        When the firm said that what it still had to do was done, where the contract asks for something.
    agreed : date, optional
        When the contract was made.
    distance : Said
        Whether the contract was made at a distance, with no meeting before it.
    told : Said
        Whether the buyer was told of the right to cancel before the contract, or with it.
    told_on : date, optional
        When the buyer was told later.
    repairs : sequence of Repair
        In any order.
    returned : date, optional
        When the firm got the car back after cancelling.
    agreed_refund : date, optional
        When the firm agreed that a refund is owed.
    """

    owned: date
    delivered: date | None = None
    ready: date | None = None
    agreed: date | None = None
    distance: Said = Said.NOT_KNOWN
    told: Said = Said.NOT_KNOWN
    told_on: date | None = None
    repairs: Sequence[Repair] = ()
    returned: date | None = None
    agreed_refund: date | None = None


@dataclass(frozen=True, slots=True)
class Right:
    """A right or a duty with its days, both included.

    `last` is None where it cannot be told yet, or while the clock stands; `latest` is the other end where facts are
    missing that would decide, else the same. `done` is when a duty was done, None where it was not or is a right.
    """

    id: str
    name: str
    first: date | None
    last: date | None
    latest: date | None
    sentence: str
    source: str
    done: date | None = None

    def state(self, day: date) -> str:
        """Tell how it stands on a day.

        It is ``running``, ``over``, ``not begun`` or ``cannot be told``; a duty that was done, ``done in time`` or
        ``done after it``.
        """
        if self.done is not None and self.last is not None and self.done <= day:
            return "done in time" if self.done <= self.last else "done after it"
        if self.first is not None and day < self.first:
            return "not begun"
        if self.last is None or self.latest is None or self.last < day <= self.latest:
            return "cannot be told"
        return "running" if day <= self.last else "over"


@dataclass(frozen=True, slots=True)
class Clock:
    """The rights of a sale, and the caution that goes with every one of them."""

    rights: tuple[Right, ...]
    caution: str


def consumer_clock(handed: Handed) -> Clock:
    """Work out the days of a sale to a consumer.

    Raises
    ------
    BadInputError
        Days stand in an order that cannot be, or two repairs overlap (slug ``ledger-clock``).
    """
    _check(handed)
    raw = _raw()
    rights = []
    if handed.agreed is not None:
        last = handed.agreed + timedelta(days=raw["delivery"]["days"])
        rights.append(replace(_right("delivery", handed.agreed, last, last), done=handed.delivered))
    if handed.distance is not Said.NO:
        rights.append(_cancel(handed, raw["cancel"]))
    if handed.returned is not None:
        last = handed.returned + timedelta(days=raw["refund_cancelled"]["days"])
        rights.append(_right("refund_cancelled", handed.returned, last, last))
    rights.append(_reject(handed, raw["reject"]))
    if handed.delivered is not None:
        last = _months_after(handed.delivered, raw["presumed"]["months"]) - timedelta(days=1)
        rights.append(_right("presumed", handed.delivered, last, last))
    came_back = [one.back for one in handed.repairs if one.back is not None]
    if came_back:
        rights.append(_right("final", min(came_back), None, None))
    if handed.agreed_refund is not None:
        last = handed.agreed_refund + timedelta(days=raw["refund_rejected"]["days"] - 1)
        rights.append(_right("refund_rejected", handed.agreed_refund, last, last))
    return Clock(tuple(rights), raw["caution"])


def _cancel(handed: Handed, raw: dict[str, Any]) -> Right:
    if handed.delivered is None:
        return _right("cancel", handed.agreed, None, None)
    plain = handed.delivered + timedelta(days=raw["days"])
    longest = _months_after(plain, raw["untold_months"])
    last = latest = plain
    if handed.told is not Said.YES:
        latest = longest
        if handed.told_on is not None:
            latest = min(longest, max(plain, handed.told_on + timedelta(days=raw["days"])))
        if handed.told is Said.NO:
            last = latest
    found = _right("cancel", handed.agreed or handed.delivered, last, latest)
    if handed.distance is not Said.NOT_KNOWN:
        return found
    until = last.isoformat() if last == latest else f"{last.isoformat()}, or {latest.isoformat()} at the latest,"
    sentence = f"Only if it was a distance sale, which nobody has said: until {until} then. {found.sentence}"
    return replace(found, last=None, latest=None, sentence=sentence)


def _reject(handed: Handed, raw: dict[str, Any]) -> Right:
    if handed.delivered is None:
        return _right("reject", None, None, None)
    start = max(one for one in (handed.owned, handed.delivered, handed.ready) if one is not None)
    first, last = start + timedelta(days=1), start + timedelta(days=raw["days"])
    for repair in sorted(handed.repairs, key=lambda one: one.asked):
        if repair.asked > last:
            break
        if repair.back is None:
            # The clock stands until it comes back.
            return _right("reject", first, None, None)
        waited = (repair.back - repair.asked).days + 1
        last = max(last + timedelta(days=waited), repair.back + timedelta(days=raw["after_repair_days"]))
    return _right("reject", first, last, last)


def _right(id_: str, first: date | None, last: date | None, latest: date | None) -> Right:
    raw = _raw()[id_]
    return Right(id_, raw["name"], first, last, latest, raw["sentence"], raw["source"])


def _months_after(day: date, months: int) -> date:
    """Give the day of the same number so many months later, or the last of that month."""
    whole = day.year * 12 + day.month - 1 + months
    year, month = whole // 12, whole % 12 + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def _check(handed: Handed) -> None:
    trouble = ""
    if handed.agreed is not None and handed.delivered is not None and handed.delivered < handed.agreed:
        trouble = "it was delivered before the contract"
    if handed.told is Said.YES and handed.told_on is not None:
        trouble = "the buyer was told with the contract, and later"
    before: date | None = handed.delivered
    for repair in sorted(handed.repairs, key=lambda one: one.asked):
        if handed.delivered is None or (before is not None and repair.asked < before):
            trouble = "a repair was asked for before the car was handed over or came back from another"
        if repair.back is not None and repair.back < repair.asked:
            trouble = "the car came back from a repair before it was asked for"
        before = repair.back or date.max
    for what, day in (("came back", handed.returned), ("was agreed to be refunded", handed.agreed_refund)):
        if day is not None and (handed.delivered is None or day < handed.delivered):
            trouble = f"it {what} before it was handed over"
    if trouble:
        raise BadInputError(
            Problem(
                slug="ledger-clock",
                where="facts of the sale",
                found=trouble,
                allowed="days in the order in which they can have been",
                advice="Mend the day.",
            )
        )


@cache
def _raw() -> dict[str, Any]:
    return tomllib.loads(text_of("consumer.toml"))
