"""Job cards beside the car: what each trade has to do and has done, shown, ticked off and taken back there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.notes import NoteKind
from shutline.car.prep_done import WorkDone, trades_done
from shutline.car.rings import Circle, Ring, Shows, shows_of
from shutline.usecases.at_the_car import Place, find_place, may_be_at
from shutline.usecases.look import find_car
from shutline.usecases.prep_done import DoneAsked, TaskDone, tick_off, works_of
from shutline.usecases.prep_plan import Planned, planned
from shutline.usecases.prep_worked import PlanAsked
from shutline.usecases.rings import rings_of

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.plan import Layout
    from shutline.prep.cards import Card, CardLine
    from shutline.publish.cards.model import CardDrawing
    from shutline.store import Store
    from shutline.usecases.prep import FoundShown

_LONGEST_SIDE_PX, _QUALITY = 1280, 82


@dataclass(frozen=True, slots=True)
class SpotPicture:
    """A still or a picture of a place; `circle` is where on it the place is, None where nobody said so.

    `version` is that of the ring, 0 for none yet.
    """

    shows: Shows
    alt: str
    caption: str
    circle: Circle | None
    version: int


@dataclass(frozen=True, slots=True)
class CardSpot:
    """A finding that a job puts right: `words` are those of the card, `places` where it may be."""

    finding: str
    words: str
    places: tuple[Place, ...]
    pictures: tuple[SpotPicture, ...]


@dataclass(frozen=True, slots=True)
class CardJob:
    """A job on the card of one trade that is still to be done, in the words of the card on paper.

    `number` is the one on the Plan, `count` at how many places it is done, `setup` says whether setting up is this
    job's. `part` is what is ticked off of it at fewer places, None for nothing.
    """

    number: int
    task: str
    name: str
    findings: tuple[str, ...]
    spots: tuple[CardSpot, ...]
    notes: tuple[str, ...]
    facts: tuple[str, ...]
    count: int
    setup: bool
    part: WorkDone | None


@dataclass(frozen=True, slots=True)
class DoneJob:
    """A job that the trade has ticked off; `others` are the names of the trades that it still waits for."""

    task: str
    name: str
    place: str
    line: WorkDone
    others: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TradeCard:
    """The card of one trade.

    `counts` tells how much there is to do, empty where nothing is; `cautions` are titles, with the numbers of their
    jobs, and texts.
    """

    trade: str
    name: str
    counts: str
    jobs: tuple[CardJob, ...]
    done: tuple[DoneJob, ...]
    cautions: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class JobCards:
    """All cards of a car.

    `to_film` are the findings put right that no picture shows since, `film_on` the ISO 8601 day on which the car is
    free for it, None where no work is left or none could be set to days; then `trouble` tells why.
    """

    car: str
    title: str
    cards: tuple[TradeCard, ...]
    to_film: tuple[FoundShown, ...]
    film_on: str | None
    trouble: Problem | None


@dataclass(frozen=True, slots=True)
class Ticked:
    """What a trade says is done with a job: `picture` is the token of a note made at the car, empty for none.

    `place` is the key of the place that what was `found` is noted at. `findings` are left out where only some of the
    places are done. Otherwise as `DoneAsked` has them.
    """

    task: str
    trade: str
    token: str
    hours: Decimal | None = None
    setup_hours: Decimal | None = None
    places: int | None = None
    picture: str = ""
    found: str = ""
    place: str = ""
    findings: tuple[str, ...] = ()
    version: int | None = None


def cards_of(plan: Planned, works: Sequence[WorkDone]) -> tuple[Card, ...]:
    """Make the cards of a plan without what each trade has ticked off; what is to be ordered is what a job renews."""
    from shutline.prep.cards import job_cards
    from shutline.publish.naming import place_name

    kept = {one.id: one.finding for one in plan.file.findings}
    parts = {}
    for task in plan.tasks:
        if task.job.remedy == "replace":
            there = (kept[id_] for id_ in task.findings if id_ in kept)
            names = dict.fromkeys(place_name(one.part, one.side, one.position) for one in there)
            supplier = f", from {task.job.supplier}" if task.job.supplier else ""
            parts[task.id] = tuple(f"{name}{supplier}" for name in names)
    cards = job_cards(plan.tasks, plan.file.findings, plan.tables, schedule=plan.schedule, parts=parts)
    left = (_left(card, works) for card in cards)
    return tuple(card for card in left if card.lines)


def show_job_cards(store: Store, car: str) -> JobCards:
    """Give the cards of what is chosen, trade by trade, with what is ticked off already.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.

    Raises
    ------
    NotFoundError, UserError
        As for `prep_plan`.
    """
    return _shown(store, planned(store, car, PlanAsked(curve=False)))[0]


def card_drawn(store: Store, car: str, trade: str, *, layout: Layout) -> tuple[JobCards, TradeCard, CardDrawing]:
    """Give the cards as `show_job_cards` does, that of one trade, and the Plan with its numbers.

    Raises
    ------
    NotFoundError
        As for `show_job_cards`, or the trade has no card (slug ``card-unknown``).
    """
    from shutline.publish.cards.model import CardDrawing, card_drawing

    plan = planned(store, car, PlanAsked(curve=False))
    found, cards = _shown(store, plan)
    card = card_of(found, trade)
    there = next((one for one in cards if one.trade == trade), None)
    if there is None:
        return found, card, CardDrawing("", ())
    return found, card, card_drawing(plan.file, there, layout=layout, standalone=False)


def card_of(cards: JobCards, trade: str) -> TradeCard:
    """Give the card of a trade; raises NotFoundError (slug ``card-unknown``)."""
    found = next((one for one in cards.cards if one.trade == trade), None)
    if found is None:
        raise NotFoundError(
            Problem(
                "card-unknown",
                f"{cards.car}, job card {trade[:60]!r}",
                "that trade has nothing to do on this car, and has done nothing",
                ", ".join(one.trade for one in cards.cards) or "none: there is no job to do",
                "Choose one of the cards.",
            )
        )
    return found


def tick_job(store: Store, car: str, ticked: Ticked, *, author: str | None = None) -> WorkDone:
    """Tick off what a trade has done, with a picture that was sent as a note, and what was found besides as a note.

    Raises
    ------
    NotFoundError
        No such car, or no note was sent with the token (slug ``note-unknown``).
    UserError
        It is no picture (slug ``work-refused``), or as for `tick_off`.
    StaleError
        As for `tick_off`.
    """
    from shutline.usecases.note_keeping import keep_words

    with store.together():
        file = find_car(store, car)
        # What is gone on with keeps its picture, and what was found before is not noted again.
        of = (ticked.task, ticked.trade, ticked.version)
        lines = store.works_done(file.name)
        before = next((one for one in lines if one.holds and (one.task, one.trade, one.version) == of), None)
        done = tick_off(
            store,
            file.name,
            DoneAsked(
                task=ticked.task,
                trade=ticked.trade,
                hours=ticked.hours,
                setup_hours=ticked.setup_hours,
                places=ticked.places,
                picture=_picture(store, file, ticked) or (before.picture if before else ""),
                found=ticked.found,
                findings=ticked.findings,
                version=ticked.version,
                token=ticked.token,
            ),
            author=author,
        )
        if done.found and ticked.place and (before is None or before.found != done.found):
            # The note has a token of its own: a tick and a note with one token are two things.
            token = f"{(ticked.token or f'{done.id}-{done.version}')[:58]}-found"
            keep_words(store, file.name, done.found, place=ticked.place, token=token, by=author)
    return done


def card_picture(store: Store, car: str, sha256: str) -> bytes:
    """Give a still or a picture of a finding as it may go out, covered where the house covers; JPEG.

    Raises
    ------
    NotFoundError
        No such car, or nothing that shows a finding of it is of that name, or its file is gone (slug ``media-gone``).
    """
    from shutline.capture.originals import original_path
    from shutline.usecases.published_pictures import Shown, out_picture, out_still

    file = find_car(store, car)
    for kept in file.going_out():
        for shows in shows_of(file, kept):
            if shows.sha256 != sha256:
                continue
            if shows.picture:
                taken = next(one for one in file.pictures if one.id == shows.picture)
                return out_picture(store, file, taken, longest_side_px=_LONGEST_SIDE_PX, quality=_QUALITY).jpeg
            said = next((one.source for one in kept.finding.footings if one.start_s is not None), "")
            path = original_path(store.derived, sha256)
            data = path.read_bytes() if path.is_file() else b""
            of = Shown(said, shows.at_s, sha256)
            made = out_still(store, file, of, data, longest_side_px=_LONGEST_SIDE_PX, quality=_QUALITY)
            if made is not None:
                return made.jpeg
    raise NotFoundError(
        Problem(
            "media-gone",
            f"{file.name}, picture {sha256[:12]}",
            "nothing that shows a finding is of that name, or its file is gone",
            "the stills and pictures of its findings",
            "Load the page again.",
        )
    )


def _left(card: Card, works: Sequence[WorkDone]) -> Card:
    """Give a card without the jobs that its trade has ticked off."""
    lines = tuple(
        line for line in card.lines if not trades_done(works, line.task.id, line.task.findings) & {card.trade, ""}
    )
    there = {line.number for line in lines}
    cautions = ((one, tuple(number for number in numbers if number in there)) for one, numbers in card.cautions)
    return replace(card, lines=lines, cautions=tuple((one, numbers) for one, numbers in cautions if numbers))


def _shown(store: Store, plan: Planned) -> tuple[JobCards, tuple[Card, ...]]:
    from shutline.publish.cards.model import card_cautions, card_counts

    file, lines = plan.file, store.works_done(plan.file.name)
    works, cards = works_of(file, lines, plan.tasks, plan.tables), cards_of(plan, lines)
    rings = rings_of(store, [place.finding for card in cards for line in card.lines for place in line.places])
    left = {card.trade: card for card in cards}
    done: dict[str, list[DoneJob]] = {}
    for task in works.done:
        for trade, job in _done(task):
            done.setdefault(trade, []).append(job)
    names = {one.id: one.name for one in plan.tables.trades.values()}
    shown = []
    for trade in (*names, *sorted({*left, *done} - set(names))):
        card = left.get(trade)
        if card is None and trade not in done:
            continue
        shown.append(
            TradeCard(
                trade=trade,
                name=names.get(trade, trade),
                counts="" if card is None else card_counts(card),
                jobs=()
                if card is None
                else tuple(_job(file, line, rings, _part(lines, trade, line)) for line in card.lines),
                done=tuple(done.get(trade, ())),
                cautions=() if card is None else card_cautions(card),
            )
        )
    found = JobCards(
        car=file.name,
        title=file.title,
        cards=tuple(shown),
        to_film=works.to_film,
        film_on=plan.schedule.film_on.isoformat() if plan.schedule is not None and cards else None,
        trouble=plan.shown.trouble,
    )
    return found, cards


def _part(works: Sequence[WorkDone], trade: str, line: CardLine) -> WorkDone | None:
    """Give what a trade has ticked off of a job at some of its places."""
    of = (line.task.id, line.task.findings, trade)
    return next((one for one in works if one.holds and (one.task, one.findings, one.trade) == of), None)


def _job(file: CarFile, line: CardLine, rings: Mapping[tuple[str, str], Ring], part: WorkDone | None) -> CardJob:
    from shutline.publish.cards.model import line_words, picture_words, place_words

    words = line_words(line)
    spots = []
    for place in line.places:
        pictures = []
        for shows in shows_of(file, place.finding):
            ring = rings.get((place.finding.id, shows.sha256))
            circle = ring.circle if ring is not None and ring.holds else None
            alt, caption = picture_words(place, shows, ringed=circle is not None)
            pictures.append(SpotPicture(shows, alt, caption, circle, 0 if ring is None else ring.version))
        where = tuple(find_place(key) for key in may_be_at(place.finding.finding))
        spots.append(CardSpot(place.finding.id, place_words(place), where, tuple(pictures)))
    return CardJob(
        number=line.number,
        task=line.task.id,
        name=words.name,
        findings=line.task.findings,
        spots=tuple(spots),
        notes=words.notes,
        facts=words.facts,
        count=line.task.count,
        setup=line.setup_hours.likely > 0,
        part=part,
    )


def _done(task: TaskDone) -> Iterator[tuple[str, DoneJob]]:
    """Give the trades that have done their part of a task at all its places, each with its job."""
    lines = {one.trade: one.line for one in task.trades if one.line is not None and one.line.done}
    needs = [one for one in task.trades if one.trade]
    waiting = tuple(one.name for one in needs if one.trade not in lines and "" not in lines)
    for one in needs:
        line = lines.get(one.trade) or lines.get("")
        if line is not None:
            yield one.trade, DoneJob(task.task, task.words, task.place, line, waiting)


def _picture(store: Store, file: CarFile, ticked: Ticked) -> str:
    if not ticked.picture:
        return ""
    note = store.find_note(file.name, ticked.picture)
    if note is None:
        raise NotFoundError(
            Problem(
                "note-unknown",
                f"{file.name}, note {ticked.picture[:64]!r}",
                "no note was sent with that token",
                "what the car file holds",
                "Take the picture once more.",
            )
        )
    if note.kind is not NoteKind.PICTURE:
        raise UserError(
            Problem("work-refused", f"{ticked.task}, picture", f"a {note.kind} note", "a picture", "Take a picture.")
        )
    return note.source
