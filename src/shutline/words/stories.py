"""Findings of one part put together: what is said of both sides at once, and then of each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Drive, Finding, FootingKind, Found, Position, Severity
from shutline.car.vocabulary import vocabulary
from shutline.words.as_named import piece_named
from shutline.words.choice import is_fault, is_good
from shutline.words.phrases import Turns, with_degree
from shutline.words.places import Called, Place, among_fellows, called, merged, parted, place_of, plainest, within
from shutline.words.rows import CELLS, Finer, said_finely
from shutline.words.wording import Wording

_SEVERITIES = (None, Severity.SLIGHT, Severity.MODERATE, Severity.SEVERE)
_TAIL_WORDS = 14
"""So many words before the end of a quote are looked at for a finer word: further back stands what else was said."""


_MOST_SAID = 4
"""So much is said of one subject in one sentence."""


class Tone(IntEnum):
    """What sort of news it is, in the order it is told."""

    GOOD = 0
    FAULT = 1
    UNSURE = 2


@dataclass(slots=True)
class Telling:
    """One thing said of one place: `row` and `cell` of the wording, or the finer word; and whose findings it tells."""

    place: Place
    tone: Tone
    condition: str
    found: Found
    severity: Severity | None
    finer: Finer | None
    row: str
    where: str = ""
    ids: list[str] = field(default_factory=list)

    @property
    def key(self) -> tuple[object, ...]:
        """What is the same of two places where the same is said of them."""
        finer = "" if self.finer is None else self.finer.id
        return (self.tone, self.condition, self.found, self.severity, finer, self.row, self.where)


@dataclass(frozen=True, slots=True)
class Clause:
    """All that is said of one subject: good news, faults and doubts, as cells of the wording, and their findings."""

    place: Place
    sub: str
    subject: Called
    good: tuple[str, ...]
    fault: tuple[str, ...]
    unsure: tuple[str, ...]
    ids: tuple[str, ...]
    faults: tuple[str, ...]
    key: tuple[object, ...] = ()
    there: str = ""

    @property
    def name(self) -> str:
        """The entry of the wording that tells it: ``good_fault``."""
        return "_".join(tone for tone in ("good", "fault", "unsure") if getattr(self, tone))


@dataclass(frozen=True, slots=True)
class Manner:
    """What clauses are made with."""

    wording: Wording
    drive: Drive
    doors: int | None
    turns: Turns

    def call(self, place: Place) -> Called:
        """Call a place by its name."""
        return called(place, wording=self.wording, drive=self.drive, doors=self.doors)


def clauses(kept: Sequence[KeptFinding], manner: Manner) -> tuple[Clause, ...]:
    """Put the findings of one part into clauses: the widest place first, then its sides and ends.

    Good news of a place that was not told is left out; a fault is told of 'at least one of them'.
    """
    drawn = [_telling(one, manner) for one in kept]
    fellows = among_fellows(list(dict.fromkeys(one.place for one in drawn)), wording=manner.wording)
    for telling in drawn:
        telling.place = fellows[telling.place]
    tellings = _spread(drawn, manner.wording)
    if manner.doors is None and any(one.place.part == "door" and one.place.position is Position.REAR for one in drawn):
        manner = replace(manner, doors=4)
    subjects: dict[tuple[Place, str], list[Telling]] = {}
    for telling in tellings:
        sub = "" if telling.finer is None else telling.finer.subject
        subjects.setdefault((telling.place, sub), []).append(telling)
    places = list(dict.fromkeys(place for place, _ in subjects))
    order = sorted(subjects, key=lambda one: (_narrow(one[0]), places.index(one[0]), one[1] != ""))
    found = []
    for place, sub in order:
        clause = _clause(place, sub, subjects[place, sub], manner)
        if clause is not None:
            found += _halves(clause, subjects[place, sub])
    return tuple(found)


def _halves(clause: Clause, tellings: Sequence[Telling]) -> list[Clause]:
    """Part what would be too long for one sentence into its good news and the rest."""
    if not clause.good or not clause.faults or len((*clause.good, *clause.fault, *clause.unsure)) <= _MOST_SAID:
        return [clause]
    good = {name for one in tellings if one.tone is Tone.GOOD for name in one.ids}
    first = replace(clause, fault=(), unsure=(), faults=(), ids=tuple(name for name in clause.ids if name in good))
    return [first, replace(clause, good=(), ids=clause.faults)]


def _telling(kept: KeptFinding, manner: Manner) -> Telling:
    finding = kept.finding
    tone = Tone.GOOD if is_good(finding) else Tone.FAULT if is_fault(finding) else Tone.UNSURE
    saying = manner.wording.saying(finding.condition, finding.part)
    finer = _finer(finding, manner.wording) or piece_named(finding, saying) if finding.found is Found.YES else None
    by_seat = manner.wording.nouns[finding.part].by_seat
    place, where = parted(place_of(finding, doors=manner.doors, by_seat=by_seat), wording=manner.wording)
    place = plainest(place, wording=manner.wording)
    severity = finding.severity if tone is not Tone.GOOD else None
    return Telling(place, tone, finding.condition, finding.found, severity, finer, saying.id, where, [kept.id])


def _finer(finding: Finding, wording: Wording) -> Finer | None:
    quotes = [f.quote for f in finding.footings if f.kind is FootingKind.SAID and f.quote]
    tails = [" ".join(quote.split()[-_TAIL_WORDS:]) for quote in quotes]
    for row in wording.finer.values():
        if row.condition != finding.condition or (row.parts and finding.part not in row.parts):
            continue
        # How bad it is must not be lost with the finer word.
        if finding.severity is not None and "{" not in row.said.partition("}")[2]:
            continue
        if any(said_finely(row, tail) for tail in tails):
            return row
    return None


def _spread(tellings: Iterable[Telling], wording: Wording) -> list[Telling]:
    """Put the same said of several places together, then drop what is said twice of one place."""
    alike: dict[tuple[object, ...], list[Telling]] = {}
    for telling in _on_both_sides(_by_degree(list(tellings))):
        alike.setdefault(telling.key, []).append(telling)
    found = []
    for same in alike.values():
        for place in merged([one.place for one in same]):
            ids = [name for one in same if within(one.place, place) for name in one.ids]
            whole = plainest(place, wording=wording)
            found.append(replace(same[0], place=whole, ids=list(dict.fromkeys(ids))))
    return _once(found)


def _once(tellings: Sequence[Telling]) -> list[Telling]:
    """Put what comes to the same place together once more."""
    found: dict[tuple[object, ...], Telling] = {}
    for telling in tellings:
        kept = found.setdefault((telling.place, telling.key), telling)
        if kept is not telling:
            kept.ids += telling.ids
    return list(found.values())


def _on_both_sides(tellings: Sequence[Telling]) -> list[Telling]:
    """Tell 'on both sides' where the same is said of the nearside and of the offside of one thing."""
    named: dict[tuple[object, ...], list[Telling]] = {}
    for telling in tellings:
        named.setdefault((telling.place, telling.key[:-1]), []).append(telling)
    found = []
    for same in named.values():
        if {one.where for one in same} == {f"on the {side}" for side in ("nearside", "offside")}:
            found.append(replace(same[0], where="on both sides", ids=[name for one in same for name in one.ids]))
        else:
            found += same
    return found


def _by_degree(tellings: list[Telling]) -> list[Telling]:
    """Let the one without a degree go with the one that has it, of the same place and condition."""
    kept: list[Telling] = []
    for telling in sorted(tellings, key=lambda one: (one.severity is None, one.finer is None)):
        for other in kept:
            same = (other.place, other.tone, other.condition, other.where) == (
                *(telling.place, telling.tone, telling.condition),
                telling.where,
            )
            fits = telling.finer is None or telling.finer == other.finer
            if same and fits and telling.severity in (None, other.severity):
                other.ids += telling.ids
                break
        else:
            kept.append(telling)
    order = [name for telling in tellings for name in telling.ids]
    return sorted(kept, key=lambda one: min(order.index(name) for name in one.ids))


def _clause(place: Place, sub: str, tellings: list[Telling], manner: Manner) -> Clause | None:
    subject = manner.call(place)
    if sub:
        finer = next(one.finer for one in tellings if one.finer is not None)
        plural = finer is not None and finer.plural
        name, of, _ = sub.partition(" of {place}")
        short = f"{subject.its} {name}" if of else ""
        subject = Called(f"the {sub}".replace("{place}", subject.words), plural, short, sure=subject.sure)
    told = tellings if subject.sure else [one for one in tellings if one.tone is not Tone.GOOD]
    told = _without_pieces(told)
    told = _without_the_obvious(told, several=subject.plural or manner.wording.nouns[place.part].plural)
    if not told:
        return None
    cells: dict[Tone, list[str]] = {tone: [] for tone in Tone}
    for one in sorted(told, key=lambda one: (one.tone, one.where, _SAID_FIRST.get(one.condition, 5))):
        cell = _cell(one, told, manner)
        # 'Filler on the nearside', not 'filler in it on the nearside'.
        cells[one.tone].append(f"{cell.replace(' in {it}', '')} {one.where}" if one.where else cell)
    lone = told[0] if len(told) == 1 and told[0].finer is None and not told[0].where else None
    return Clause(
        place,
        sub,
        subject,
        tuple(dict.fromkeys(cells[Tone.GOOD])),
        tuple(dict.fromkeys(cells[Tone.FAULT])),
        tuple(dict.fromkeys(cells[Tone.UNSURE])),
        tuple(dict.fromkeys(name for one in told for name in one.ids)),
        tuple(dict.fromkeys(name for one in told if one.tone is not Tone.GOOD for name in one.ids)),
        tuple(sorted(str(one.key) for one in told)),
        manner.wording.sayings[lone.row].there if lone is not None and lone.tone is Tone.FAULT else "",
    )


_SAID_FIRST = {"sound": 0, "original": 1, "works": 1, "present": 2, "renewed": 3}


def _without_pieces(told: list[Telling]) -> list[Telling]:
    """Leave out good news of a piece that was told of the whole place, or beside a fault of it."""
    whole = {(one.condition, one.found) for one in told if one.tone is Tone.GOOD and not one.where}
    bad = any(one.tone is not Tone.GOOD for one in told)
    return [
        one
        for one in told
        if not (one.where and one.tone is Tone.GOOD) or not (bad or (one.condition, one.found) in whole)
    ]


def _without_the_obvious(told: list[Telling], *, several: bool) -> list[Telling]:
    """Leave out 'in place' beside anything else, 'not rusted through' beside 'no rust', 'works' where one does not."""
    good = {(one.condition, one.found) for one in told if one.tone is Tone.GOOD}
    obvious: set[tuple[str, Found]] = set()
    if any(one.condition != "present" for one in told):
        obvious |= {("present", Found.YES)}
    if not several and any(one.condition == "fault" and one.tone is Tone.FAULT for one in told):
        obvious |= {("works", Found.YES)}
    if ("rust", Found.NO) in good:
        obvious |= {("perforation", Found.NO)}
    if ("sound", Found.YES) in good:
        obvious |= {("fault", Found.NO)}
    return [one for one in told if one.tone is not Tone.GOOD or (one.condition, one.found) not in obvious]


def _cell(one: Telling, told: Sequence[Telling], manner: Manner) -> str:
    if one.finer is not None:
        return with_degree(one.finer.said, one.severity)
    saying = manner.wording.sayings[one.row]
    name = "unsure" if one.tone is Tone.UNSURE else one.found.value
    if name == "yes" and one.severity is not None and one.severity.value in CELLS and saying.cells[one.severity.value]:
        name = one.severity.value
    if name == "yes" and one.condition == "works" and any(other.condition == "fault" for other in told):
        return manner.turns.choose("works_partly", manner.wording.templates["pairs.works_fault"])
    variants = saying.cells[name]
    return manner.turns.choose(f"{saying.id}.{name}", variants)


def _narrow(place: Place) -> int:
    """Count how many of side and end are told of one only: the widest place comes first."""
    part = vocabulary().parts[place.part]
    return int(part.sided and place.side is not None and place.side.value != "both") + int(
        part.ended and place.position is not None and place.position.value != "both"
    )
