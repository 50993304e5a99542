"""When: who does which task in which bay on which day, why each waits, and when the car can be filmed again."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import lru_cache

from shutline.car.errors import BadInputError, Problem
from shutline.prep.limits import Deadline
from shutline.prep.model import Job, Labour, Task
from shutline.prep.outlay import expected_growth, pert_mean
from shutline.prep.packed import ORDERS, Packed, ends_by, pack
from shutline.prep.packing import AWAY, Crew, Set, Step, TooLongError, Work

SLOT = timedelta(minutes=15)
SLOTS_AN_HOUR = 4
SLOTS_A_DAY = 96

WEEKS = 26
"""How far ahead is looked; a year of a small firm's work on one car is refused."""

Hours = tuple[tuple[float, float], ...]
WORKDAY: Hours = ((8.0, 12.0), (13.0, 17.0))


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with the trades they can do; `week` are the hours of Monday to Sunday, `off` the days they are away."""

    name: str
    trades: tuple[str, ...]
    week: tuple[Hours, ...] = (WORKDAY,) * 5 + ((), ())
    off: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class Bay:
    """A place of which one car has use at a time; `kind` is what jobs ask for, such as ramp, booth or wash."""

    name: str
    kind: str


@dataclass(frozen=True, slots=True)
class Shop:
    """The firm: people, bays, and the days on which nobody works, which the user gives (bank holidays among them).

    `at_once` is how many may work on one car together. `away_days` says of jobs done outside for how many working days
    the car is gone, `lead_days` of tasks how many days after the start their parts come.
    """

    people: tuple[Person, ...]
    bays: tuple[Bay, ...] = ()
    closed: frozenset[date] = frozenset()
    at_once: int = 2
    away_days: Mapping[str, float] = field(default_factory=dict)
    lead_days: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Piece:
    """One stretch of work: a task's hours of one trade, by one person, perhaps over several days.

    `latest` is when it may begin at the latest with the end kept, people and bays as they are; `slack_hours` are the
    hours of work between; critical where there are none. `why` tells what it waits for.
    """

    task: str
    trade: str
    person: str
    bay: str
    start: datetime
    end: datetime
    latest: datetime
    slack_hours: float
    why: str

    @property
    def critical(self) -> bool:
        """Whether any delay of it delays the whole."""
        return self.slack_hours == 0


@dataclass(frozen=True, slots=True)
class Schedule:
    """All pieces in the order of their starts; `end` is when the last has cured as well.

    `film_on` is the first working day on which all of it is done before work begins, or the day of the end itself
    where that leaves `FILMING_HOURS` of its hours. No schedule ends before `no_sooner`.
    """

    pieces: tuple[Piece, ...]
    start: datetime
    end: datetime
    film_on: date
    no_sooner: datetime

    @property
    def earliest(self) -> bool:
        """Whether it is known that none ends sooner."""
        return self.no_sooner == self.end


FILMING_HOURS = 2.0
"""How long a car is filmed, with making ready."""
MOST_GROUPS = 64
"""Of how many groups of people the hours until a day are counted."""


def make_schedule(
    tasks: Sequence[Task],
    shop: Shop,
    *,
    start: datetime,
    before: Mapping[str, Sequence[str]] | None = None,
    cars: Mapping[str, str] | None = None,
    thorough: bool = True,
) -> Schedule:
    """Find out who does what when, so that all is done early.

    Parameters
    ----------
    tasks : sequence of Task
        Each takes the hours it is expected to take, what is found on opening included. The set-up of a job goes with
        the task of it whose id comes first.
    shop : Shop
    start : datetime
        The house's own time, without a zone: earlier hours of that day are gone.
    before : mapping of str to sequence of str, optional
        Tasks that come before others, beside what `after` of their jobs says.
    cars : mapping of str to str, optional
        Which car a task is on, where it is not all one.
    thorough : bool
        Many orders are tried, and small ones searched whole; else the longest tail first and leaning alone.

    Raises
    ------
    BadInputError
        Nobody does a trade, there is no bay of a kind, or it does not fit into `WEEKS` (slug ``schedule-impossible``).
    """
    plan = _Plan(tasks, shop, start, before or {}, cars or {})
    packed = plan.pack(thorough=thorough)
    late = plan.work.latest_starts(packed.placed)
    pieces = []
    for at, one in packed.placed.items():
        task, trade = plan.names[at]
        person = None if one.person is None else plan.people[one.person]
        worked = None if one.person is None else plan.work.crew.worked[one.person]
        slack = late[at] - one.start if worked is None else worked[late[at]] - worked[one.start]
        pieces.append(
            Piece(
                task=task,
                trade=trade,
                person="" if person is None else person.name,
                bay="" if one.bay is None or one.bay == AWAY else shop.bays[one.bay].name,
                start=plan.moment(one.start),
                end=plan.moment(one.end),
                latest=plan.moment(late[at]),
                slack_hours=slack / SLOTS_AN_HOUR,
                why=plan.why(one),
            )
        )
    end = plan.moment(packed.span)
    return Schedule(
        pieces=tuple(sorted(pieces, key=lambda piece: (piece.start, piece.end, piece.task, piece.trade))),
        start=start,
        end=end,
        film_on=filming_day(shop, max(end, start)),
        no_sooner=plan.moment(packed.bound),
    )


def ready_by(tasks: Sequence[Task], shop: Shop, *, start: datetime, day: date) -> Deadline:
    """Give what tells whether a set of tasks can be done so that the car can be filmed on a day.

    It goes by the longest tail first, so now and then it says no where a cleverer order would do. No set takes more of
    the hours of any group of people, or of the bays of the car, than there are until then.
    """
    known: dict[frozenset[str], bool] = {}
    latest = _latest_end(shop, start, day)

    def fits(chosen: frozenset[str]) -> bool:
        if chosen not in known:
            some = [task for task in tasks if task.id in chosen]
            known[chosen] = latest is not None and ends_by(_Plan(some, shop, start, {}, {}).work, latest)
        return known[chosen]

    return Deadline(fits, _Plan(tasks, shop, start, {}, {}).room_by(day))


def _latest_end(shop: Shop, start: datetime, day: date) -> int | None:
    """Give the last slot, from the midnight before the start on, after which a car can still be filmed on a day."""
    midnight = datetime.combine(start.date(), time())
    first = math.ceil((start - midnight) / SLOT)
    last = min((day - start.date()).days + 1, WEEKS * 7) * SLOTS_A_DAY
    ends = range(first, last + 1)
    at = bisect_right(ends, day, key=lambda slot: filming_day(shop, midnight + slot * SLOT))
    return ends[at - 1] if at else None


def filming_day(shop: Shop, done: datetime) -> date:
    """Give the first day on which the car can be filmed that is done at a moment: one on which somebody works."""
    day = done.date()
    for _ in range(WEEKS * 14):
        hours = [
            span for person in shop.people if _works(person, shop.closed, day) for span in person.week[day.weekday()]
        ]
        at = (done - datetime.combine(done.date(), time())).total_seconds() / 3600 if day == done.date() else 0.0
        if hours and max(end for _, end in hours) - max(at, min(begin for begin, _ in hours)) >= FILMING_HOURS:
            return day
        day += timedelta(days=1)
    raise _impossible("people", "nobody works", "somebody with hours in the week")


TOO_LONG = f"the work does not fit into {WEEKS} weeks"


class _Plan:
    """Tasks as steps, and back."""

    def __init__(
        self,
        tasks: Sequence[Task],
        shop: Shop,
        start: datetime,
        before: Mapping[str, Sequence[str]],
        cars: Mapping[str, str],
    ) -> None:
        self.shop = shop
        self.midnight = datetime.combine(start.date(), time())
        # A supplier keeps the hours of a workday.
        self.people = (*shop.people, Person("outside", ()))
        gone = math.ceil((start - self.midnight) / SLOT)
        self.gone = gone
        self.names: list[tuple[str, str]] = []
        self.bare: list[int] = []
        """The slots of each step without a set-up."""
        self.tasks = {task.id: task for task in sorted(tasks, key=lambda task: task.id)}
        every_car = sorted({cars.get(one, "") for one in self.tasks})
        self.steps_of: dict[str, list[int]] = {}
        steps: list[Step] = []
        prepared: set[str] = set()
        for id_, task in self.tasks.items():
            car = every_car.index(cars.get(id_, ""))
            made = self._steps(task, car, len(every_car), first=task.job.id not in prepared, at=len(steps))
            prepared.add(task.job.id)
            self.steps_of[id_] = list(range(len(steps), len(steps) + len(made)))
            steps += made
        for id_, others in self._order(before, cars).items():
            for other in others:
                lag = round(self.tasks[other].job.waits * SLOTS_AN_HOUR)
                head, last = self.steps_of[id_][0], self.steps_of[other][-1]
                steps[head] = replace(steps[head], after={**steps[head].after, last: lag})
        crew = _crew(self.people, shop.closed, self.midnight.date(), (shop.at_once,) * len(every_car))
        self.work = Work(tuple(steps), crew)

    def pack(self, *, thorough: bool) -> Packed:
        try:
            return pack(self.work, orders=ORDERS if thorough else 0, nodes=4000 if thorough else 0)
        except TooLongError:
            raise _impossible("schedule", TOO_LONG, "less work, more people, or fewer days off") from None

    def room_by(self, day: date) -> tuple[tuple[dict[str, float], float], ...]:
        """Give what each task takes of the slots until the end of a day, set-ups apart.

        There is a row for each group of people, and one for the bays of a car, which it is in one after the other.
        """
        last = ((day - self.midnight.date()).days + 1) * SLOTS_A_DAY
        work, until = self.work, min(last, self.work.crew.horizon)
        slots = [worked[until] - worked[min(self.gone, until)] for worked in work.crew.worked]
        own = [(at, frozenset(step.who)) for at, step in enumerate(work.steps) if step.who]
        groups = {frozenset[int]()}
        for _, who in own:
            groups |= {who | other for other in groups}
        rows = []
        for group in sorted(groups - {frozenset()}, key=sorted)[:MOST_GROUPS]:
            taken = self._by_task((at, 1.0) for at, who in own if who <= group)
            rows.append((taken, float(sum(slots[person] for person in group))))
        for kinds in work.bay_times if len(work.bay_times) == 1 else ():
            every = [at for kind in kinds for at in kind]
            opened = work.crew.opened(frozenset(person for at in every for person in work.steps[at].who))
            taken = self._by_task((at, 1 / work.at_once(kind)) for kind in kinds for at in kind)
            rows.append((taken, float(opened[until] - opened[min(self.gone, until)])))
        return tuple(rows)

    def _by_task(self, shares: Iterable[tuple[int, float]]) -> dict[str, float]:
        found: dict[str, float] = {}
        for at, share in shares:
            found[self.names[at][0]] = found.get(self.names[at][0], 0.0) + share * self.bare[at]
        return found

    def moment(self, slot: int) -> datetime:
        return self.midnight + slot * SLOT

    def why(self, one: Set) -> str:
        kind, other = one.cause
        if other is None:
            return "its parts come no sooner" if kind == "parts" and self.gone < one.start else ""
        job = self.tasks[self.names[other][0]].job
        return {
            "person": f"{'' if one.person is None else self.people[one.person].name} is at '{job.name}' until then",
            "place": f"the car or the bay is taken by '{job.name}' until then",
            "pool": f"{self.shop.at_once} at once may work on a car, and '{job.name}' is still going on",
            "cures": f"'{job.name}' comes first and has to cure for {job.waits:g} hours",
            "after": f"'{job.name}' comes first",
        }[kind]

    def _order(self, before: Mapping[str, Sequence[str]], cars: Mapping[str, str]) -> dict[str, list[str]]:
        by_job: dict[str, list[str]] = {}
        for id_, task in self.tasks.items():
            by_job.setdefault(task.job.id, []).append(id_)
        found = {}
        for id_, task in self.tasks.items():
            first = [other for job in task.job.after for other in by_job.get(job, ())]
            first = [other for other in first if cars.get(other, "") == cars.get(id_, "")]
            first += [other for other in before.get(id_, ()) if other in self.tasks]
            found[id_] = sorted(set(first) - {id_})
        return found

    def _steps(self, task: Task, car: int, cars: int, *, first: bool, at: int) -> list[Step]:
        job = task.job
        earliest = max(self.gone, math.ceil(self.shop.lead_days.get(task.id, 0.0) * SLOTS_A_DAY))
        outside = self.shop.away_days.get(job.id, 0.0)
        made = []
        for line in job.labour:
            bare, whole = (_slots(line_hours(task, line, first=one)) for one in (False, first))
            if whole:
                made.append((line.trade, whole, bare))
        if outside:
            day = _slots(outside * sum(end - begin for begin, end in WORKDAY))
            made.append(("outside", day, day))
        waits = round(job.waits * SLOTS_AN_HOUR)
        amounts = tuple(int(one == car) for one in range(cars))
        steps = []
        for number, (trade, slots, bare) in enumerate(made or [("", 0, 0)]):
            last = number == max(len(made), 1) - 1
            self.names.append((task.id, trade))
            self.bare.append(bare)
            away = trade == "outside"
            bays = (AWAY,) if away else self._bays(job)
            steps.append(
                Step(
                    slots=slots,
                    who=(len(self.people) - 1,) if away else self._able(trade, job) if slots else (),
                    car=car,
                    bays=bays if slots else (),
                    held_after=waits if last and job.holds_bay and job.bay else 0,
                    amounts=amounts if slots else (),
                    earliest=earliest,
                    tail=waits if last else 0,
                    after={at + number - 1: 0} if number else {},
                )
            )
        return steps

    def _able(self, trade: str, job: Job) -> tuple[int, ...]:
        able = tuple(number for number, person in enumerate(self.shop.people) if trade in person.trades)
        if not able:
            raise _impossible(f"job '{job.id}'", f"nobody does {trade}", "somebody with that trade, or work outside")
        return able

    def _bays(self, job: Job) -> tuple[int, ...]:
        if not job.bay:
            return ()
        fit = tuple(number for number, bay in enumerate(self.shop.bays) if bay.kind == job.bay)
        if not fit:
            raise _impossible(f"job '{job.id}'", f"there is no bay for {job.bay}", "a bay of that kind")
        return fit


@lru_cache(maxsize=8)
def _crew(people: tuple[Person, ...], closed: frozenset[date], first_day: date, pools: tuple[int, ...]) -> Crew:
    """Give when people work, in slots from the midnight before a day on; kept, for many sets of tasks ask for it."""
    found = []
    for person in people:
        slots: set[int] = set()
        for number in range(WEEKS * 7):
            day = first_day + timedelta(days=number)
            if _works(person, closed, day):
                for begin, end in person.week[day.weekday()]:
                    first = number * SLOTS_A_DAY
                    slots.update(range(first + round(begin * SLOTS_AN_HOUR), first + round(end * SLOTS_AN_HOUR)))
        found.append(tuple(sorted(slots)))
    return Crew(tuple(found), WEEKS * 7 * SLOTS_A_DAY, pools)


def line_hours(task: Task, line: Labour, *, first: bool) -> float:
    """Give the expected hours of a line of a task's work; `first` counts the set-up in."""
    alone = task.count * pert_mean(line.each) * expected_growth(task.job.worse)
    return alone + (pert_mean(line.setup) if first else 0.0)


def _slots(hours: float) -> int:
    return math.ceil(hours * SLOTS_AN_HOUR - 1e-9)


def _works(person: Person, closed: frozenset[date], day: date) -> bool:
    return day not in closed and day not in person.off and bool(person.week[day.weekday()])


def _impossible(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem("schedule-impossible", where, found, allowed, "Mend people, bays or days, or leave the task out.")
    )
