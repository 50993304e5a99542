"""Everything in a car file that cannot be true together, each with both moments; a person decides which holds."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Severity
from shutline.survey.odds_apart import Apart
from shutline.survey.odds_data import Exclusion, OddsTables, Reach
from shutline.survey.odds_layer import odds_tables
from shutline.survey.odds_places import Places

AGAINST = "against "
"""Begins the name of the side that speaks against a general remark; the rest of it names the remark."""

_DEGREES = (Severity.SLIGHT, Severity.MODERATE, Severity.SEVERE)


class OddsKind(StrEnum):
    """What sort of statements do not agree."""

    FINDINGS = "findings"
    """Two findings that cannot both be true."""
    FACT = "fact"
    """One fact with several values."""
    NOT_FITTED = "not fitted"
    """A part was described that such a car does not have."""
    MEASURED = "measured"
    """A finding that what was measured cannot well be true beside."""


@dataclass(frozen=True, slots=True)
class Told:
    """One side of a case: a finding or a fact by its id in the store, or what the car is known to be, in words.

    `footings` are what it stands on; none where the car's own details say so. One of `finding`, `fact` and `words` is
    given. `struck_with` are the ids of all statements that say the same, itself included. `name` is what the case is
    named by where that is not the id: a figure that was spelled out in the words keeps its name when it becomes a fact.
    `spelled` are the names of those among them that are no fact yet; `id` is empty where all are.
    """

    id: str
    footings: tuple[Footing, ...]
    finding: Finding | None = None
    fact: Fact | None = None
    words: str = ""
    struck_with: tuple[str, ...] = ()
    name: str = ""
    spelled: tuple[str, ...] = ()

    @property
    def called(self) -> str:
        """What the case is named by."""
        return self.name or self.id or self.words


@dataclass(frozen=True, slots=True)
class Odds:
    """One case of statements that cannot all be true.

    Parameters
    ----------
    id : str
        16 hexadecimal digits; the same statements always get the same.
    kind : OddsKind
        What sort of statements they are.
    rule : str
        The row of the data that says so, or the name of the fact.
    told : tuple of Told
        At least two; the earlier first.
    kinds : tuple of FootingKind
        What each side stands on, in the same order: said against measured, for example.
    why : str
        Why they cannot both be.
    mark : str
        Changes with anything that the statements say.
    general : int
        How many of `told`, from the first on, are one general remark and its like: all the others speak against it,
        and not against each other. 0 where each that was told is a side of its own.
    """

    id: str
    kind: OddsKind
    rule: str
    told: tuple[Told, ...]
    kinds: tuple[FootingKind | None, ...]
    why: str
    mark: str
    general: int = 0

    @property
    def sides(self) -> tuple[tuple[Told, ...], ...]:
        """What was told, put into the sides that a person decides between; the general remark first."""
        if self.general:
            return self.told[: self.general], self.told[self.general :]
        return tuple((one,) for one in self.told)

    @property
    def side_names(self) -> tuple[str, ...]:
        """What each side is named by where a person says which holds."""
        first = self.told[0].called
        return (first, f"{AGAINST}{first}") if self.general else tuple(one.called for one in self.told)


def at_odds(
    car_file: CarFile, *, tables: OddsTables | None = None, apart: Callable[[Odds], bool] | None = None
) -> tuple[Odds, ...]:
    """Find what cannot be true together.

    A general remark ('no rust anywhere') makes one case with all that speaks against it.

    What was struck or withdrawn is left out, and what the speaker was unsure of contradicts nothing. Two remarks are
    not at odds where the later corrects, excepts or refines the earlier, or where they differ by side, end, place
    within the part, degree, sort or time.

    Parameters
    ----------
    car_file : CarFile
    tables : OddsTables, optional
        What excludes what; the shipped tables when left out.
    apart : callable, optional
        Tells which two findings at odds stay a case of their own: those that somebody decided about.

    Returns
    -------
    tuple of Odds
        Findings first, in the order of the car file, then facts, then parts that such a car does not have, then
        findings that what was measured stands against.
    """
    from shutline.survey.measured import measured_at_odds
    from shutline.survey.odds_facts import all_facts_at_odds
    from shutline.survey.odds_fitted import parts_not_fitted
    from shutline.survey.odds_general import gathered

    tables = tables or odds_tables()
    return (
        *gathered(_pairs_at_odds(car_file, tables), apart=apart),
        *all_facts_at_odds(car_file, tables=tables),
        *parts_not_fitted(car_file, tables=tables),
        *measured_at_odds(car_file),
    )


@dataclass(frozen=True, slots=True)
class Pair:
    """Two findings at odds; `general` is the one that denies, or tells good news, and `wide` where it is of a whole."""

    odds: Odds
    general: Told
    other: Told
    wide: bool


def _pairs_at_odds(car_file: CarFile, tables: OddsTables) -> Iterator[Pair]:
    kept = [one for one in car_file.going_out() if one.finding.footings]
    order = {one.id: number for number, one in enumerate(kept)}
    by_said: dict[tuple[str, str], list[KeptFinding]] = defaultdict(list)
    for one in kept:
        by_said[one.finding.condition, one.finding.found].append(one)
    apart = Apart(car_file, tables)
    places = Places(tables)
    seen: set[frozenset[str]] = set()
    found: list[tuple[int, int, Pair]] = []
    for rule in tables.exclusions:
        for first, second in _candidates(rule, by_said):
            both = frozenset((first.id, second.id))
            if len(both) < 2 or both in seen or not _fits(rule, first.finding, second.finding, places):
                continue
            if apart.tells(first.finding, second.finding):
                continue
            seen.add(both)
            ends = sorted((first, second), key=lambda one: order[one.id])
            odds = make_odds(OddsKind.FINDINGS, rule.id, tuple(_told(one) for one in ends), rule.why)
            pair = Pair(odds, _told(second), _told(first), first.finding.part != second.finding.part)
            found.append((order[ends[1].id], order[ends[0].id], pair))
    return iter(one for *_, one in sorted(found, key=lambda item: item[:2]))


def _candidates(
    rule: Exclusion, by_said: dict[tuple[str, str], list[KeptFinding]]
) -> Iterator[tuple[KeptFinding, KeptFinding]]:
    for condition in sorted(rule.first):
        for first in by_said.get((condition, rule.first_found), ()):
            for other in sorted(rule.second) or [condition]:
                for second in by_said.get((other, rule.second_found), ()):
                    yield first, second


def _fits(rule: Exclusion, first: Finding, second: Finding, places: Places) -> bool:
    if rule.second_parts and second.part not in rule.second_parts:
        return False
    if rule.first_least and (not first.severity or _degree(first.severity) < _degree(rule.first_least)):
        return False
    if first.part == second.part:
        return places.overlap(first, second)
    return rule.reach is Reach.WITHIN and places.within(first, second)


def _degree(severity: Severity) -> int:
    return _DEGREES.index(severity)


def _told(kept: KeptFinding) -> Told:
    return Told(kept.id, kept.finding.footings, finding=kept.finding, struck_with=(kept.id,))


def make_odds(kind: OddsKind, rule: str, told: tuple[Told, ...], why: str, *, general: int = 0) -> Odds:
    """Put a case together, with its id and its mark.

    One of a general remark is named by the remark alone, so that it stays the same case when more speaks against it.
    """
    names = ("general", told[0].called) if general else (rule, *sorted(one.called for one in told))
    marks = sorted(_says(one) for one in told)
    return Odds(
        id=_digest("odds", kind, *names),
        kind=kind,
        rule=rule,
        told=told,
        kinds=tuple(one.footings[0].kind if one.footings else None for one in told),
        why=why,
        mark=_digest(*marks),
        general=general,
    )


def _says(told: Told) -> str:
    quotes = [f"{footing.kind} {footing.quote}" for footing in told.footings]
    if told.finding is not None:
        one = told.finding
        said: Sequence[object] = (one.part, one.side, one.position, one.condition, one.found, one.severity)
    elif told.fact is not None:
        said = (told.fact.name, told.fact.value, told.fact.unit)
    else:
        said = (told.words,)
    return "\x1f".join(str(value) for value in (*said, *quotes))


def _digest(*values: str) -> str:
    return hashlib.sha256("\x1e".join(values).encode("utf-8", "surrogatepass")).hexdigest()[:16]
