"""Each check of a guide held against the car file: what it stands on, what was only touched, what is silent."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from shutline.car.carfile import CarFile
from shutline.car.findings import Finding, FootingKind, Position, Side
from shutline.car.readings import Reading
from shutline.survey.checks import Asked, How
from shutline.survey.choice import Choice, choose_guide
from shutline.survey.choices import Omission, chosen_guides, omissions
from shutline.survey.guides import Shelf, shelf
from shutline.survey.measured import places_measured
from shutline.survey.odds_layer import odds_tables
from shutline.survey.tables import words_of


class Cover(StrEnum):
    """How far a check is answered."""

    HAS_FOOTING = "has a footing"
    IN_PASSING = "mentioned in passing"
    NOT_MENTIONED = "not mentioned"
    LEFT_OUT = "left out on purpose"


class Breadth(StrEnum):
    """How silent the car file is about a check."""

    NOT_MENTIONED = "not mentioned"
    """Nothing at all was said, seen, measured or written of it."""
    ONLY_AS_A_WHOLE = "only as a whole"
    """Something that contains it was spoken of ('paintwork', 'the whole car'), not the part itself."""
    PLACE_NOT_SAID = "place not said"
    """It was spoken of without its side or end, where it has more than one."""
    ANOTHER_MATTER = "another matter"
    """The part was spoken of there, and not what the check asks ('a new fan belt' where it asks for leaks)."""


@dataclass(frozen=True, slots=True)
class Covered:
    """One check at one place, and what the car file has of it.

    `kinds` are what its findings stand on and `findings` their ids, empty without a footing; a reading that answers it
    is a footing too, and no finding. `of_several` tells that these were all told of several places in one ('all four
    tyres'), and none of this one. `breadth` says how little there is otherwise, and `passing` are the ids of the
    findings that touched it. `omission` is why it is left out.
    """

    asked: Asked
    cover: Cover
    kinds: tuple[FootingKind, ...] = ()
    findings: tuple[str, ...] = ()
    breadth: Breadth | None = None
    passing: tuple[str, ...] = ()
    omission: Omission | None = None
    of_several: bool = False


@dataclass(frozen=True, slots=True)
class Counts:
    """How many checks are covered how: a sum that says what it is made of.

    `own` by something told of the very place, `of_several` only by something told of several places in one; `named`
    touched in passing by name, `within` only as part of something wider; `silent` not at all; `left_out` on purpose.
    """

    own: int
    of_several: int
    named: int
    within: int
    silent: int
    left_out: int


@dataclass(frozen=True, slots=True)
class Coverage:
    """All checks of the guide of a car, the open ones first and among them the costliest silence first.

    `choice` tells which guide, and why.
    """

    choice: Choice
    checks: tuple[Covered, ...]

    @property
    def open(self) -> tuple[Covered, ...]:
        """What is still to show: neither answered nor left out on purpose."""
        return tuple(one for one in self.checks if one.cover in {Cover.NOT_MENTIONED, Cover.IN_PASSING})

    def of(self, cover: Cover) -> tuple[Covered, ...]:
        """Give the checks of one kind of cover."""
        return tuple(one for one in self.checks if one.cover is cover)

    @property
    def counts(self) -> Counts:
        """How many checks are covered how."""
        footing, passing = self.of(Cover.HAS_FOOTING), self.of(Cover.IN_PASSING)
        several = sum(one.of_several for one in footing)
        within = sum(one.breadth is Breadth.ONLY_AS_A_WHOLE for one in passing)
        return Counts(
            own=len(footing) - several,
            of_several=several,
            named=len(passing) - within,
            within=within,
            silent=len(self.of(Cover.NOT_MENTIONED)),
            left_out=len(self.of(Cover.LEFT_OUT)),
        )


def coverage(
    car_file: CarFile, *, on: Shelf | None = None, names: Sequence[str] = (), said: str | None = None
) -> Coverage:
    """Hold every check of a car's guide against its car file.

    A finding that was struck is no footing. One that is unsure is: the part was looked at. Silence is never good news.

    Parameters
    ----------
    car_file : CarFile
    on : Shelf, optional
        The guides there are; the shipped ones when left out.
    names : sequence of str
        Guides to hold against it; what a person chose for the car, else what fits it, when left out.
    said : str, optional
        All that was said of the car, for a car file that comes without its words; a guide is chosen by them.

    Returns
    -------
    Coverage
        Open checks first, the costliest when bad first, a matter of safety weighing as much as its band says; among
        equals those without any mention first, then in the order of the guide.

    Raises
    ------
    UserError
        There is no guide of a name (slug ``guide-unknown``).
    """
    on = on or shelf()
    choice = choose_guide(car_file, names=names or _known(chosen_guides(car_file), on), on=on, said=said)
    kept: dict[str, list[tuple[int, str, Finding]]] = defaultdict(list)
    # What was put right since was looked at all the same.
    for number, one in enumerate(car_file.told()):
        if one.finding.footings:
            kept[one.finding.part].append((number, one.id, one.finding))
    left_out = omissions(car_file)
    measured = places_measured(car_file)
    found: list[tuple[tuple[bool, float, float, bool, int], Covered]] = []
    for order, asked in enumerate(choice.guide.asked(car_file.body, car_file.doors)):
        by_gauge = any(_measures(asked, *one) for one in measured.get(asked.check.part, ()))
        covered = _covered(asked, kept, on.ground.spoken_of_with, left_out, measured=by_gauge)
        most, least = on.ground.cost(asked.check)
        silent = covered.cover in {Cover.NOT_MENTIONED, Cover.IN_PASSING}
        found.append(((not silent, -most, -least, covered.cover is not Cover.NOT_MENTIONED, order), covered))
    found.sort(key=lambda row: row[0])
    return Coverage(choice, tuple(covered for _, covered in found))


def _known(names: Sequence[str], on: Shelf) -> tuple[str, ...]:
    """Give what a person chose; a guide of theirs that is no longer there leaves the choice to the program."""
    return tuple(names) if all(name in on.guides for name in names) else ()


def _covered(
    asked: Asked,
    kept: Mapping[str, Sequence[tuple[int, str, Finding]]],
    spoken_of_with: Mapping[str, Sequence[str]],
    left_out: Mapping[str, Omission | None],
    *,
    measured: bool,
) -> Covered:
    same = kept.get(asked.check.part, ())
    answering = [(name, finding) for _, name, finding in same if _answers(asked, finding)]
    there = [(name, finding) for name, finding in answering if _at(asked, finding)]
    if there or measured:
        kinds = {footing.kind for _, finding in there for footing in finding.footings}
        in_order = tuple(kind for kind in FootingKind if kind in kinds or (measured and kind is FootingKind.MEASURED))
        of_several = not measured and all(_of_several(asked, finding) for _, finding in there)
        names = tuple(name for name, _ in there)
        return Covered(asked, Cover.HAS_FOOTING, in_order, names, of_several=of_several)
    # What was said of this one place stands over what was said of all.
    omission = left_out[asked.key] if asked.key in left_out else left_out.get(asked.check.id)
    if omission is not None:
        return Covered(asked, Cover.LEFT_OUT, omission=omission)
    vague = tuple(name for name, finding in answering if _may_be_at(asked, finding))
    if vague:
        return Covered(asked, Cover.IN_PASSING, breadth=Breadth.PLACE_NOT_SAID, passing=vague)
    other = tuple(name for _, name, finding in same if _may_be_at(asked, finding))
    if other:
        return Covered(asked, Cover.IN_PASSING, breadth=Breadth.ANOTHER_MATTER, passing=other)
    # In the order of the car file, whichever part they are of.
    part, wholes = asked.check.part, set(spoken_of_with[asked.check.part])
    whole = tuple(
        name
        for _, name in sorted(
            one[:2] for whole in wholes for one in kept.get(whole, ()) if _reaches(one[2].condition, whole, part)
        )
    )
    if whole:
        return Covered(asked, Cover.IN_PASSING, breadth=Breadth.ONLY_AS_A_WHOLE, passing=whole)
    return Covered(asked, Cover.NOT_MENTIONED, breadth=Breadth.NOT_MENTIONED)


@lru_cache(maxsize=8192)
def _reaches(condition: str, whole: str, part: str) -> bool:
    """Tell whether what is said of a whole touches a part: 'no rust anywhere on it' says nothing of the switches."""
    tables = odds_tables()
    if not any(row.whole == whole and condition in row.conditions for row in tables.wholes):
        return True
    return whole in tables.holders(condition).get(part, ())


def _measures(asked: Asked, reading: Reading, conditions: frozenset[str]) -> bool:
    """Tell whether a reading answers a check: at its place, of what it asks, or where it asks for a gauge."""
    check = asked.check
    there = asked.side in (None, reading.side) and asked.position in (None, reading.position)
    if check.answers:
        return there and bool(conditions & check.answers)
    return there and (How.GAUGE in check.how or bool(conditions & set(words_of(check.look_for))))


def _answers(asked: Asked, finding: Finding) -> bool:
    return not asked.check.answers or finding.condition in asked.check.answers


def _at(asked: Asked, finding: Finding) -> bool:
    on_side = asked.side is None or finding.side in (asked.side, Side.BOTH)
    at_end = asked.position is None or finding.position in (asked.position, Position.BOTH)
    return on_side and at_end


def _of_several(asked: Asked, finding: Finding) -> bool:
    """Tell whether a finding at the place of a check is of the other side, or the other end, as well."""
    sides = asked.side not in (None, Side.BOTH) and finding.side is Side.BOTH
    ends = asked.position not in (None, Position.BOTH) and finding.position is Position.BOTH
    return sides or ends


def _may_be_at(asked: Asked, finding: Finding) -> bool:
    on_side = asked.side is None or finding.side in (None, asked.side, Side.BOTH)
    at_end = asked.position is None or finding.position in (None, asked.position, Position.BOTH)
    return on_side and at_end
