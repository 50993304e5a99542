"""What was said, seen, written and entered of a car's identity, each with the day it is of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.figures import FigureKind, FigureState
from shutline.car.findings import FootingKind, State
from shutline.car.papers import PaperState, ReadKind, ReadState

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from shutline.car.carfile import CarFile, KeptFact
    from shutline.car.figures import Figure
    from shutline.car.findings import Footing
    from shutline.car.kept_papers import KeptPaper, KeptRead

_FACTS = {FigureKind.ODOMETER: "odometer", FigureKind.MARK: "registration_mark", FigureKind.CHASSIS: "chassis_number"}
_WHOLE_DAY = len("2019-03-12")
_WAYS = {
    FootingKind.SAID: "said",
    FootingKind.SEEN: "seen in a picture",
    FootingKind.WRITTEN: "written on a paper",
    FootingKind.MEASURED: "measured",
}


@dataclass(frozen=True, slots=True)
class ToldFact:
    """One value of a fact as it is known from one place.

    `how` says in words how it is known; `day` is None where nobody knows the day it is of. `rough` is True for what was
    said and may be rounded. `stands` is True where a person confirmed or entered it. `before` is True for a number of
    keepers that leaves out the present one.
    """

    name: str
    value: int | str
    unit: str | None
    how: str
    day: date | None
    rough: bool
    stands: bool
    before: bool = False


def told_facts(car: CarFile, *names: str) -> tuple[ToldFact, ...]:
    """Give what is known of some facts, struck and withdrawn values aside, and figures that still wait.

    The day of what was said is that of its recording, of a figure that of its picture; where a file does not tell, the
    day on which it was kept, and `how` says so. What was taken off a paper is of the day that was taken with it; of a
    paper in a picture the day is not known.
    """
    days = _Days(car)
    found = [
        told
        for kept in car.facts
        if kept.fact.name in names and kept.fact.state is not State.STRUCK and not kept.withdrawn
        for told in _of_fact(kept, days)
    ]
    facts = {kept.id for kept in car.facts}
    for figure in car.figures:
        name = _FACTS.get(figure.read.kind)
        # A figure that was taken is a fact by now.
        loose = figure.state is FigureState.WAITS or (figure.state is FigureState.TAKEN and figure.fact not in facts)
        if name in names and name is not None and loose:
            found.append(_of_figure(name, figure, days))
    if "odometer" in names:
        found += _mileages(car)
    return tuple(dict.fromkeys(found))


def _mileages(car: CarFile) -> Iterator[ToldFact]:
    """Give the mileages that were taken off papers, each as it stood on its day: they are no facts of today."""
    for paper, read in taken_off_papers(car, ReadKind.MILEAGE):
        if read.value.isdigit():
            how, day = on_paper(paper, read)
            yield ToldFact("odometer", int(read.value), read.unit or None, how, day, rough=False, stands=True)


def taken_off_papers(car: CarFile, kind: ReadKind) -> Iterator[tuple[KeptPaper, KeptRead]]:
    """Give what a person took of a kind off the papers of a car, those of another car left out."""
    for paper in car.papers:
        for read in paper.reads:
            if read.kind is kind and read.state is ReadState.TAKEN and paper.state is not PaperState.OTHER:
                yield paper, read


def place_on_paper(paper: KeptPaper, read: KeptRead) -> str:
    """Say where something stands on a paper."""
    return f"paper {paper.original.name}, page {read.read.page}"


def on_paper(paper: KeptPaper, read: KeptRead) -> tuple[str, date | None]:
    """Say where something stands on a paper, and of which day it is, None where no day is known."""
    where = place_on_paper(paper, read)
    day = day_of(read.day) if len(read.day) == _WHOLE_DAY else None
    if day is None:
        return f"{where}, of {read.day}" if read.day else f"{where}, whose day is not known", None
    return where, day


class _Days:
    """On which day a recording or a picture was made."""

    def __init__(self, car: CarFile) -> None:
        self._told: dict[str, date | None] = {}
        for recording in car.recordings:
            self._told[recording.id] = day_of(recording.probe.recorded_at)
        for picture in car.pictures:
            self._told[picture.id] = day_of(picture.taken_at)
        self._papers = {one.source for one in car.figures if one.read.on_paper}
        self._taken = {read.fact: (paper, read) for paper in car.papers for read in paper.reads if read.fact}

    def of(self, source: str) -> date | None:
        return self._told.get(source)

    def is_paper(self, source: str) -> bool:
        return source in self._papers

    def taken(self, fact: str, source: str) -> tuple[str, date | None] | None:
        """Say where a fact stands on a paper that it was taken off; None where it was not."""
        found = self._taken.get(fact)
        return None if found is None or found[0].id != source else on_paper(*found)


def day_of(text: str | None) -> date | None:
    """Give the day that an ISO 8601 time begins with, None where it is none."""
    try:
        return date.fromisoformat(str(text or "")[:10])
    except ValueError:
        return None


def _of_fact(kept: KeptFact, days: _Days) -> Iterator[ToldFact]:
    from shutline.car.keepers import keepers_before

    fact = kept.fact
    value = fact.value if isinstance(fact.value, int) and not isinstance(fact.value, bool) else str(fact.value)
    stands = fact.state is State.STANDS
    first = day_of(kept.changes[0].at) if kept.changes else None
    if not fact.footings:
        yield ToldFact(fact.name, value, fact.unit, "entered by hand", first, rough=False, stands=stands)
    for footing in fact.footings:
        how, day = days.taken(kept.id, footing.source) or _how(footing, days, first)
        rough = footing.kind is FootingKind.SAID
        before = fact.name == "keepers" and keepers_before(fact)
        yield ToldFact(fact.name, value, fact.unit, how, day, rough=rough, stands=stands, before=before)


def _how(footing: Footing, days: _Days, kept: date | None) -> tuple[str, date | None]:
    how = _WAYS[footing.kind]
    if footing.kind is FootingKind.WRITTEN or days.is_paper(footing.source):
        return f"{_WAYS[FootingKind.WRITTEN]} whose day is not known", None
    day = days.of(footing.source)
    if day is None and kept is not None:
        return f"{how}; the file does not tell its day, kept on this one", kept
    return (how, day) if day is not None else (f"{how}, on a day that is not known", None)


def _of_figure(name: str, figure: Figure, days: _Days) -> ToldFact:
    value = figure.value if isinstance(figure.value, int) else str(figure.value)
    waits = ", which nobody has looked at yet" if figure.state is FigureState.WAITS else ""
    if figure.read.on_paper:
        how = f"written on a paper whose day is not known{waits}"
        return ToldFact(name, value, figure.unit, how, None, rough=False, stands=not waits)
    day = days.of(figure.source)
    how = f"seen in a picture{waits}"
    if day is None:
        how, day = f"{how}; the file does not tell its day, read on this one", day_of(figure.read_at)
    return ToldFact(name, value, figure.unit, how, day, rough=False, stands=not waits)


def values_of(told: Iterable[ToldFact]) -> tuple[int | str, ...]:
    """Give the values that count: those that stand, else all; each once."""
    some = list(told)
    standing = [one for one in some if one.stands] or some
    return tuple(dict.fromkeys(one.value for one in standing))
