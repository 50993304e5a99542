"""The papers of a car: what was read off them, what waits for a person, and what they make of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Fact, Footing, FootingKind, State
from shutline.car.papers import PRIVATE, Box, PaperKind, PaperState, ReadKind, ReadState, Value
from shutline.usecases.look import find_car
from shutline.usecases.paper_events import KINDS
from shutline.usecases.paper_values import checked_day, checked_value
from shutline.usecases.papers_telling import whose
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFact
    from shutline.car.kept_papers import KeptPaper, KeptRead
    from shutline.store import Store

ReadVerb = Literal["take", "amend", "strike", "again"]
SAID = {
    PaperState.SAME: "said to be of this car",
    PaperState.OTHER: "said to be of another car",
    PaperState.OPEN: "whose it is not said",
}
"""What was said of whose a paper is, in words."""


@dataclass(frozen=True, slots=True)
class ReadLine:
    """Something read off a paper as it is shown: what was read and why, what stands, and where it stands on which page.

    `private` tells that it never goes out. `by` and `at` are of the last decision, empty while it waits.
    """

    id: str
    kind: ReadKind
    role: str
    words: str
    value: str
    unit: str
    day: str
    state: ReadState
    values: tuple[Value, ...]
    why: str
    page: int
    box: Box
    private: bool
    fact: str | None
    version: int
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A page as it is shown: pixels of its picture, the SHA-256 of that, and how it was read."""

    number: int
    width: int
    height: int
    picture: str
    turned: int
    by_sight: bool
    lines: int


@dataclass(frozen=True, slots=True)
class PaperLine:
    """A paper of a car.

    `kind` is what it is, `kind_said` whether a person said so, `kinds` what its words tell with chances. `counts` is
    False for one that is kept apart, and `why` says in words why. `day` is the day it is of, as far as one was taken.
    `out` tells that a person let it go out.
    """

    id: str
    name: str
    form: str
    pages: int
    pages_read: int
    kind: PaperKind
    kind_said: bool
    kinds: tuple[tuple[PaperKind, float], ...]
    state: PaperState
    counts: bool
    why: str
    day: str
    out: bool
    reads: tuple[ReadLine, ...]
    sheets: tuple[SheetLine, ...]
    kept_at: str
    kept_by: str
    version: int


@dataclass(frozen=True, slots=True)
class CarPapers:
    """The papers of a car in the order they came in; `waiting` counts what was read and waits for a person.

    What stands on papers that are kept apart is not counted.
    """

    car: str
    title: str
    papers: tuple[PaperLine, ...]
    waiting: int


@dataclass(frozen=True, slots=True)
class ReadDecided:
    """What stands now of something read that was decided about, and the fact it gave, where it gives one."""

    car: str
    paper: str
    read: ReadLine
    fact: KeptFact | None = None


def car_papers(store: Store, name: str) -> CarPapers:
    """Give the papers of a car with what was read off them.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    car = find_car(store, name)
    lines = tuple(paper_line(store, car, one) for one in car.papers)
    waiting = sum(read.state is ReadState.OPEN for one in lines if one.counts for read in one.reads)
    return CarPapers(car.name, car.title, lines, waiting)


def decide_read(
    store: Store,
    name: str,
    id_: str,
    verb: ReadVerb,
    *,
    value: str | None = None,
    unit: str | None = None,
    day: str | None = None,
    kind: ReadKind | None = None,
    role: str | None = None,
    version: int | None = None,
    author: str | None = None,
) -> ReadDecided:
    """Do what a person decided about something read off a paper.

    A mark, a chassis number, a date of first registration, a year of making and a number of keepers that are taken
    become facts of the car whose footing is *written*; a mileage is told with its day where mileages are weighed; the
    rest stays with the paper. What is struck, or let wait again, strikes the fact that it gave. Nothing is deleted.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    id_ : str
        The id of what was read, or a beginning of it that no other of this car has.
    verb : {'take', 'amend', 'strike', 'again'}
        What is done.
    value, unit, day, kind, role : str, optional
        With amend: what stands on the paper, as the person reads it, and the day it is of.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who decided; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car, or nothing of that id was read (slug ``paper-read-unknown``).
    UserError
        The paper is kept apart (slug ``paper-apart``), or a value is none that such a thing can have (``paper-value``).
    StaleError
        Somebody changed it meanwhile; it carries both versions.
    """
    who = author or present_author()
    with store.together():
        car = find_car(store, name)
        paper, read = _one_read(car, id_)
        told = whose(car, paper)
        if verb in {"take", "amend"} and not told.counts:
            raise _apart(paper, told.why)
        fields: dict[str, str] = {}
        if verb == "amend":
            fields = _amended(read, value=value, unit=unit, day=day, kind=kind, role=role)
        elif any(one is not None for one in (value, unit, day, kind, role)):
            raise _bad(read, f"{verb} with a value", "amend, where something changes")
        wanted = replace(read, state=_STATE[verb], **_typed(fields))
        fact = _settle_fact(store, car, paper, wanted, who)
        changed = store.change_read(
            car.name,
            read.id,
            action=verb,
            author=who,
            expected_version=read.version if version is None else version,
            fact=fact.id if fact else None,
            fields=fields,
        )
    return ReadDecided(car.name, paper.id, read_line(changed), fact)


def decide_paper(
    store: Store,
    name: str,
    id_: str,
    *,
    state: PaperState | None = None,
    kind: PaperKind | None = None,
    version: int | None = None,
    author: str | None = None,
) -> PaperLine:
    """Say of a paper whose it is, or what it is.

    What was taken off a paper of another car counts no more, and counts again when that is taken back.

    Parameters
    ----------
    store, name, version, author
        As for `decide_read`.
    id_ : str
        The id of the paper, or a beginning of it that no other of this car has.
    state : PaperState, optional
        Whose it is.
    kind : PaperKind, optional
        What it is.

    Raises
    ------
    NotFoundError
        No such car or paper (slug ``paper-unknown``).
    StaleError
        Somebody changed it meanwhile; it carries both versions.
    """
    who = author or present_author()
    words = [] if kind is None else [f"said to be: {KINDS[kind]}"]
    words += [] if state is None else [SAID[state]]
    with store.together():
        car = find_car(store, name)
        paper = one_paper(car, id_)
        changed = store.change_paper(
            car.name,
            paper.id,
            action=", ".join(words) or "looked at",
            author=who,
            expected_version=version,
            state=state,
            kind=kind,
        )
        if state is not None and state is not paper.state:
            for read in changed.reads:
                if read.state is ReadState.TAKEN:
                    _settle_fact(store, car, changed, read, who)
        return paper_line(store, find_car(store, car.name), changed)


def one_paper(car: CarFile, id_: str) -> KeptPaper:
    """Give the paper of a car that an id, or a beginning of one, names; raises NotFoundError (``paper-unknown``)."""
    begins = [one for one in car.papers if id_ and one.id.startswith(id_.lower())]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(_no_such("paper-unknown", car, id_, len(begins), "paper"))


def paper_line(store: Store, car: CarFile, paper: KeptPaper) -> PaperLine:
    """Put a paper into a line."""
    from shutline.history.paper_facts import own_day

    told = whose(car, paper)
    sheets = tuple(
        SheetLine(one.number, one.width, one.height, one.picture, one.turned, one.by_sight, len(one.lines))
        for one in store.paper_pages(paper.id)
    )
    return PaperLine(
        id=paper.id,
        name=paper.original.name,
        form=paper.form,
        pages=paper.pages,
        pages_read=paper.pages_read,
        kind=paper.likely,
        kind_said=paper.kind is not None,
        kinds=paper.kinds,
        state=paper.state,
        counts=told.counts,
        why=told.why,
        day=own_day(paper),
        out=bool(paper.out_mark),
        reads=tuple(read_line(one) for one in paper.reads if not one.withdrawn),
        sheets=sheets,
        kept_at=paper.kept_at,
        kept_by=paper.kept_by,
        version=paper.version,
    )


def read_line(one: KeptRead) -> ReadLine:
    """Put something read off a paper into a line."""
    last = one.changes[-1] if one.version > 1 else None
    return ReadLine(
        id=one.id,
        kind=one.kind,
        role=one.role,
        words=one.read.words,
        value=one.value,
        unit=one.unit,
        day=one.day,
        state=one.state,
        values=one.read.values,
        why=one.read.why,
        page=one.read.page,
        box=one.read.box,
        private=one.kind in PRIVATE,
        fact=one.fact,
        version=one.version,
        by=last.author if last else "",
        at=last.at if last else "",
    )


_STATE: dict[ReadVerb, ReadState] = {
    "take": ReadState.TAKEN,
    "amend": ReadState.TAKEN,
    "strike": ReadState.STRUCK,
    "again": ReadState.OPEN,
}


def _one_read(car: CarFile, id_: str) -> tuple[KeptPaper, KeptRead]:
    begins = [(paper, one) for paper in car.papers for one in paper.reads if id_ and one.id.startswith(id_.lower())]
    if len(begins) == 1:
        return begins[0]
    raise NotFoundError(_no_such("paper-read-unknown", car, id_, len(begins), "thing read off a paper"))


def _amended(
    read: KeptRead, *, value: str | None, unit: str | None, day: str | None, kind: ReadKind | None, role: str | None
) -> dict[str, str]:
    """Give the fields of something read that a person changes, each as it is kept."""
    new: dict[str, str] = {}
    now = kind or read.kind
    if kind is not None:
        new["kind"] = kind.value
    if role is not None:
        new["role"] = " ".join(role.split())[:60]
    if value is not None or kind is not None:
        text, told_unit = checked_value(
            now, read.value if value is None else value, read.unit if unit is None else unit
        )
        new["value"], new["unit"] = text, told_unit
    elif unit is not None:
        new["unit"] = checked_value(now, read.value, unit)[1]
    if now is ReadKind.DATE and "value" in new:
        new["day"] = new["value"]
    elif day is not None:
        new["day"] = checked_day(day) if day else ""
    if not new:
        raise _bad(read, "nothing to change", "a value, a unit, a day, a kind or a role")
    return new


def _typed(fields: dict[str, str]) -> dict[str, Any]:
    return {name: ReadKind(value) if name == "kind" else value for name, value in fields.items()}


def _settle_fact(store: Store, car: CarFile, paper: KeptPaper, read: KeptRead, author: str) -> KeptFact | None:
    """Let the fact of something read be what it is now: made, amended, or struck."""
    from shutline.history.paper_facts import KEEPERS_RULE, fact_given

    kept = next((one for one in car.facts if one.id == read.fact), None)
    given = fact_given(read.kind, read.role, read.value)
    stands = read.state is ReadState.TAKEN and paper.state is not PaperState.OTHER and given is not None
    if not stands or given is None or (kept is not None and kept.fact.name != given.name):
        if kept is not None and kept.fact.state is not State.STRUCK:
            kept = store.change_fact(kept.id, action="strike", author=author, expected_version=kept.version)
        if not stands or given is None:
            return kept
        kept = None
    rules = (f"paper read {read.id}", *((KEEPERS_RULE,) if given.name == "keepers" else ()))
    # The words of the line are left out: a name may stand among them.
    footing = Footing(FootingKind.WRITTEN, paper.id, None, None, "", rules)
    if kept is None:
        fact = Fact(given.name, given.value, None, footings=(footing,))
        return store.add_fact(car.name, fact, author=author, token=f"paper read {read.id} {given.name}")
    return store.change_fact(kept.id, action="amend", author=author, expected_version=kept.version, value=given.value)


def _apart(paper: KeptPaper, why: str) -> UserError:
    return UserError(
        Problem(
            slug="paper-apart",
            where=paper.original.name,
            found=why,
            allowed="what stands on a paper of this car",
            advice="Say first whose it is.",
        )
    )


def _bad(read: KeptRead, found: str, allowed: str) -> UserError:
    where = f"{read.kind.value} {read.id}"
    return UserError(Problem("paper-value", where, found, allowed, "Give it so; nothing was changed."))


def _no_such(slug: str, car: CarFile, id_: str, begins: int, what: str) -> Problem:
    return Problem(
        slug=slug,
        where=f"{car.name}, {id_[:60]!r}",
        found=f"no {what} begins so" if not begins else f"{begins} begin so",
        allowed="an id, or a beginning of one that no other of this car has; nothing was done",
        advice=f"See the ids with `shutline papers {car.name}`.",
    )
