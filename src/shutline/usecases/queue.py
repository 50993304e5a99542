"""What a person has to look at in a car file, the doubtful first, each with the moment and the words it comes from."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Picture
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Drive, Footing, State
from shutline.car.recordings import Kind
from shutline.car.second import SecondView, Verdict
from shutline.survey.odds_facts import values_told
from shutline.usecases.look import find_car
from shutline.usecases.second import to_decide
from shutline.usecases.spoken import InTheWords, in_the_words
from shutline.usecases.yard import counted

if TYPE_CHECKING:
    from shutline.store import Store

Order = Literal["doubt", "film"]
ORDERS: tuple[Order, ...] = ("doubt", "film")
"""The doubtful first, or as it was filmed."""

_QUESTION_SURENESS = 0.5
"""Where a question of a second reading stands among findings: as likely as not, for nothing is known of it."""


@dataclass(frozen=True, slots=True)
class Moment:
    """Where to look in a recording: its id, and seconds from its start."""

    recording: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to look at: a finding, all that was said of one fact, or a question of a second reading.

    `id` is the finding's or the question's, or the name of the fact. `open` is True until a person has decided about
    all of it. `at_odds` is True for a fact of which several values were told and not struck. `otherwise` holds how
    second readings take a finding that nobody has decided about. `sureness` is the program's own, the lowest of
    several; None where there is none.
    """

    id: str
    kind: Literal["finding", "fact", "question"]
    open: bool
    moment: Moment | None = None
    finding: KeptFinding | None = None
    facts: tuple[KeptFact, ...] = ()
    question: SecondView | None = None
    at_odds: bool = False
    otherwise: tuple[SecondView, ...] = ()
    sureness: float | None = None

    @property
    def state(self) -> State:
        """Whether it is heard, stands or was struck; several values of a fact stand if one of them does."""
        if self.question is not None or self.open:
            return State.HEARD
        if self.finding is not None:
            return self.finding.finding.state
        return State.STANDS if any(kept.fact.state is State.STANDS for kept in self.facts) else State.STRUCK


@dataclass(frozen=True, slots=True)
class Film:
    """A recording to look at or listen to; `length_s` is None where the file does not tell."""

    id: str
    name: str
    kind: Kind
    sha256: str
    length_s: float | None
    size: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Queue:
    """What there is to look at on a car: `left` entries nobody has decided about come first, then the decided ones.

    Of these `findings_left` are findings and `facts_left` facts, as the yard counts them, and `questions_left` what a
    second reading asks.
    """

    name: str
    title: str
    drive: Drive
    order: Order
    left: int
    findings_left: int
    facts_left: int
    questions_left: int
    entries: tuple[Entry, ...]
    films: tuple[Film, ...]


@dataclass(frozen=True, slots=True)
class EntryShown:
    """One entry with the words around it and its picture, and those before and after it in the queue.

    `number` counts from 1 among the entries still open, None for a decided one. `words` is None where nothing was
    said. `picture` is the one it was seen in, where it was seen in one that came in by itself.
    """

    name: str
    title: str
    order: Order
    left: int
    findings_left: int
    facts_left: int
    questions_left: int
    number: int | None
    entry: Entry
    before: str | None
    after: str | None
    words: InTheWords | None = None
    picture: Picture | None = None


def queue(store: Store, car: str, *, order: str = "doubt") -> Queue:
    """Give what there is to look at on a car.

    In the order ``doubt`` facts at odds and findings that a second reading takes otherwise come first, then the rest
    by how sure the program is; in the order ``film`` all come as they were filmed.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    order : {'doubt', 'film'}
        Which comes first.

    Raises
    ------
    NotFoundError, UserError
        No such car, or no such order (slug ``review-order``).
    """
    file = find_car(store, car)
    return _queue(file, _known(order))


def show_entry(store: Store, car: str, entry: str, *, order: str = "doubt") -> EntryShown:
    """Give one entry of a car's queue with what belongs to it.

    Parameters
    ----------
    store, car, order
        As for `queue`.
    entry : str
        Id of a finding or a question, or the name of a fact.

    Raises
    ------
    NotFoundError
        The queue has no such entry (slug ``review-entry``).
    """
    file = find_car(store, car)
    return _shown(file, _queue(file, _known(order)), entry)


def queue_at(
    store: Store, car: str, entry: str | None = None, *, order: str = "doubt"
) -> tuple[Queue, EntryShown | None]:
    """Give a car's queue and one entry of it, the first open one when none is named, from one look at the car.

    Parameters and errors are those of `show_entry`; without a name and with nothing open the second is None.
    """
    file = find_car(store, car)
    found = _queue(file, _known(order))
    first = entry or next((one.id for one in found.entries if one.open), None)
    return found, None if first is None else _shown(file, found, first)


def left_words(found: Queue | EntryShown) -> str:
    """Say what is left to look at: findings and facts, and what a second reading asks."""
    words = counted(found.findings_left, found.facts_left)
    if not found.questions_left:
        return words
    asked = f"{found.questions_left} question{'' if found.questions_left == 1 else 's'} of a second reading"
    return asked if found.left == found.questions_left else f"{words}, and {asked}"


def _shown(file: CarFile, found: Queue, entry: str) -> EntryShown:
    at = next((number for number, one in enumerate(found.entries) if one.id == entry), None)
    if at is None:
        raise NotFoundError(
            Problem(
                slug="review-entry",
                where=f"{file.name}, {entry[:80]!r}",
                found="there is no such thing to look at",
                allowed="the ids and names of the queue; what a second reading asked is gone once it is decided",
                advice="Go back to the review.",
            )
        )
    one = found.entries[at]
    return EntryShown(
        name=found.name,
        title=found.title,
        order=found.order,
        left=found.left,
        findings_left=found.findings_left,
        facts_left=found.facts_left,
        questions_left=found.questions_left,
        number=at + 1 if one.open else None,
        entry=one,
        before=found.entries[at - 1].id if at else None,
        after=found.entries[at + 1].id if at + 1 < len(found.entries) else None,
        words=_words(file, one),
        picture=_picture(file, one),
    )


def _known(order: str) -> Order:
    known = next((one for one in ORDERS if one == order), None)
    if known is None:
        raise UserError(
            Problem(
                slug="review-order",
                where="the review",
                found=f"order {order[:40]!r}",
                allowed=" or ".join(ORDERS),
                advice="Take one of these, or leave it out: the doubtful come first.",
            )
        )
    return known


def _queue(file: CarFile, order: Order) -> Queue:
    place = {recording.id: number for number, recording in enumerate(file.recordings)}

    def as_filmed(entry: Entry) -> tuple[int, float]:
        if entry.moment is None:
            return (len(place), 0.0)
        return (place.get(entry.moment.recording, len(place)), entry.moment.start_s)

    def key(entry: Entry) -> tuple[object, ...]:
        if order == "film" or not entry.open:
            return (not entry.open, *as_filmed(entry), entry.id)
        told_twice = entry.at_odds or bool(entry.otherwise)
        return (False, not told_twice, entry.sureness or 0.0, *as_filmed(entry), entry.id)

    entries: list[Entry] = sorted(_entries(file), key=key)
    left = Counter(entry.kind for entry in entries if entry.open)
    return Queue(
        name=file.name,
        title=file.title,
        drive=file.drive,
        order=order,
        left=left.total(),
        findings_left=left["finding"],
        facts_left=left["fact"],
        questions_left=left["question"],
        entries=tuple(entries),
        films=tuple(
            Film(
                one.id,
                one.original.name,
                one.original.kind,
                one.original.sha256,
                one.probe.length_s,
                one.probe.picture_size,
            )
            for one in file.recordings
            if one.original.kind in {Kind.FILM, Kind.SOUND}
        ),
    )


def _entries(file: CarFile) -> list[Entry]:
    views = to_decide(file)
    otherwise: dict[str, list[SecondView]] = {}
    for view in views:
        if view.verdict is Verdict.OTHERWISE and view.finding is not None:
            otherwise.setdefault(view.finding, []).append(view)
    entries = [
        Entry(
            id=kept.id,
            kind="finding",
            open=kept.finding.state is State.HEARD and kept.put_right is None,
            moment=_moment(kept.finding.footings),
            finding=kept,
            otherwise=tuple(otherwise.get(kept.id, ())),
            sureness=kept.finding.sureness,
        )
        for kept in file.findings
    ]
    told: dict[str, list[KeptFact]] = {}
    for fact in file.facts:
        told.setdefault(fact.fact.name, []).append(fact)
    entries += [_fact_entry(name, tuple(kept)) for name, kept in told.items()]
    entries += [_question(file, view) for view in views if view.verdict is Verdict.ASKS]
    return entries


def _fact_entry(name: str, kept: tuple[KeptFact, ...]) -> Entry:
    there = [one.fact for one in kept if one.fact.state is not State.STRUCK]
    sureness = [one.sureness for one in there if one.sureness is not None]
    kept = tuple(sorted(kept, key=lambda one: one.fact.state is State.STRUCK))
    return Entry(
        id=name,
        kind="fact",
        open=any(one.state is State.HEARD for one in there),
        moment=_moment(kept[0].fact.footings),
        facts=kept,
        at_odds=len(values_told(there)) > 1,
        sureness=min(sureness, default=None),
    )


def _question(file: CarFile, view: SecondView) -> Entry:
    recording = next(reading.recording for reading in file.second_readings if view in reading.views)
    moment = None
    if view.start_s is not None:
        moment = Moment(recording, view.start_s, view.start_s if view.end_s is None else view.end_s)
    return Entry(id=view.id, kind="question", open=True, moment=moment, question=view, sureness=_QUESTION_SURENESS)


def _moment(footings: tuple[Footing, ...]) -> Moment | None:
    timed = [footing for footing in footings if footing.start_s is not None]
    if not timed:
        return None
    first = min(timed, key=lambda footing: footing.start_s or 0.0)
    start_s = first.start_s or 0.0
    return Moment(first.source, start_s, max(start_s, first.end_s or start_s))


def _footings(entry: Entry) -> tuple[Footing, ...]:
    if entry.finding is not None:
        return entry.finding.finding.footings
    return entry.facts[0].fact.footings if entry.facts else ()


def _words(file: CarFile, entry: Entry) -> InTheWords | None:
    if entry.moment is None:
        return None
    quote = entry.question.quote if entry.question else ""
    moment = entry.moment
    for footing in _footings(entry):
        if footing.quote and footing.start_s is not None:
            quote = footing.quote
            moment = Moment(footing.source, footing.start_s, footing.end_s or footing.start_s)
            break
    found = in_the_words(file, moment.recording, quote, moment.start_s, moment.end_s)
    return found if found.before or found.said or found.after else None


def _picture(file: CarFile, entry: Entry) -> Picture | None:
    sources = {footing.source for footing in _footings(entry)}
    return next((picture for picture in file.pictures if picture.id in sources), None)
