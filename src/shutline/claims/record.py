"""What is known of one car, laid out so that a claim can be held against it: findings by part, facts by name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from functools import lru_cache

from shutline.car.carfile import CarFile
from shutline.car.findings import Drive, Fact, Finding, Position, Side, State
from shutline.car.prep_done import done_words, footings_of
from shutline.claims.relations import pieces_named, relations
from shutline.claims.sayings import Spot
from shutline.remarks.tokens import phrase_tokens


@dataclass(frozen=True, slots=True)
class Known:
    """A finding that may go out, with its id in the store ("" where it comes from no store).

    `done` is how it was put right since, in words; empty for one that stands.
    """

    id: str
    finding: Finding
    done: str = ""

    @property
    def spot(self) -> Spot:
        """Where it lies."""
        return Spot(self.finding.part, self.finding.side, self.finding.position)

    @property
    def tokens(self) -> frozenset[str]:
        """The words it stands on."""
        return _tokens(" ".join(footing.quote for footing in self.finding.footings))

    @property
    def pieces(self) -> frozenset[int]:
        """Which pieces of its part the words it stands on name: the hose, and not the pump."""
        if self.finding.part not in relations().pieces:
            return frozenset()
        return _pieces_in(self.finding.part, " ".join(footing.quote for footing in self.finding.footings))


@lru_cache(maxsize=4096)
def _tokens(quote: str) -> frozenset[str]:
    return frozenset(word for word, _ in phrase_tokens(quote))


@lru_cache(maxsize=4096)
def _pieces_in(part: str, quote: str) -> frozenset[int]:
    return pieces_named(part, (word for word, _ in phrase_tokens(quote)))


@dataclass(frozen=True, slots=True)
class KnownFact:
    """A fact that may go out, with its id in the store."""

    id: str
    fact: Fact


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """Findings by part in the order they came in, facts by name; nothing that was struck or withdrawn.

    Two are one only where they are the same object, so that what was weighed beside one can be kept: see `same_record`.
    `done` are those that were put right since: they stand no more, and are in none of the others.
    """

    drive: Drive
    findings: Mapping[str, tuple[Known, ...]]
    facts: Mapping[str, tuple[KnownFact, ...]]
    everything: tuple[Known, ...] = field(default=(), repr=False)
    done: tuple[Known, ...] = ()

    def within(self, part: str) -> Iterable[Known]:
        """Give the findings of a part, and of all that it is made up of: of the whole car all there are."""
        wide = relations().whole.get(part)
        if wide is None:
            return self.findings.get(part, ())
        return (known for known in self.everything if known.finding.part == part or known.finding.part in wide)

    def without(self, left_out: AbstractSet[Known]) -> Record:
        """Give the same record without some of its findings."""
        return _without(self, frozenset(left_out)) if left_out else self

    def around(self, part: str) -> Iterable[Known]:
        """Give the findings of what a part belongs to: of a door those of the bodywork and of the whole car."""
        for name, parts in relations().whole.items():
            if part in parts and name != part:
                yield from self.findings.get(name, ())


@lru_cache(maxsize=256)
def _without(on: Record, left_out: frozenset[Known]) -> Record:
    kept = {part: tuple(k for k in rows if k not in left_out) for part, rows in on.findings.items()}
    return replace(on, findings=kept, everything=tuple(k for k in on.everything if k not in left_out))


def same_record(on: Record) -> Record:
    """Give the record that was given before for one that holds the same, as while somebody types about one car."""
    facts = tuple(known for rows in on.facts.values() for known in rows)
    return _kept(on.drive, on.everything, facts, on.done, _New(on))


class _New:
    """A record that looks like any other to a cache."""

    def __init__(self, on: Record) -> None:
        self.on = on

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _New)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=8)
def _kept(
    _drive: Drive, _everything: tuple[Known, ...], _facts: tuple[KnownFact, ...], _done: tuple[Known, ...], new: _New
) -> Record:
    return new.on


def record_of(car_file: CarFile) -> Record:
    """Lay out a car file; what was struck or withdrawn is left out."""
    done = tuple(
        Known(
            kept.id,
            replace(kept.finding, footings=footings_of(kept.put_right), state=State.STANDS),
            done_words(kept.put_right),
        )
        for kept in car_file.put_right()
        if kept.put_right is not None
    )
    stands = record(
        ((kept.id, kept.finding) for kept in car_file.going_out()),
        (
            (kept.id, kept.fact)
            for kept in car_file.facts
            if kept.fact.state is not State.STRUCK and not kept.withdrawn and kept.fact.footings
        ),
        drive=car_file.drive,
    )
    return replace(stands, done=done)


def record(
    findings: Iterable[tuple[str, Finding]], facts: Iterable[tuple[str, Fact]], *, drive: Drive = Drive.RHD
) -> Record:
    """Lay out findings and facts, each with its id."""
    by_part: dict[str, list[Known]] = defaultdict(list)
    everything = []
    for name, finding in findings:
        known = Known(name, finding)
        by_part[finding.part].append(known)
        everything.append(known)
    by_name: dict[str, list[KnownFact]] = defaultdict(list)
    for name, fact in facts:
        by_name[fact.name].append(KnownFact(name, fact))
    return Record(
        drive,
        {part: tuple(rows) for part, rows in by_part.items()},
        {name: tuple(rows) for name, rows in by_name.items()},
        tuple(everything),
    )


def may_touch(claim: Spot, known: Spot) -> bool:
    """Tell whether what is known may be about the same place, of one part or of two of which one is in the other."""
    return _sides_touch(claim.side, known.side) and _ends_touch(claim.position, known.position)


def lies_at(claim: Spot, known: Spot) -> bool:
    """Tell whether what is known is about the very place: on the side and end claimed, wherever either says one."""
    return _at_side(claim.side, known.side) and _at_end(claim.position, known.position)


def _sides_touch(one: Side | None, two: Side | None) -> bool:
    return one is None or two is None or one is two or Side.BOTH in (one, two)


def _ends_touch(one: Position | None, two: Position | None) -> bool:
    return one is None or two is None or one is two or Position.BOTH in (one, two)


def _at_side(claimed: Side | None, known: Side | None) -> bool:
    return claimed in (None, Side.BOTH) or known in (claimed, Side.BOTH)


def _at_end(claimed: Position | None, known: Position | None) -> bool:
    return claimed in (None, Position.BOTH) or known in (claimed, Position.BOTH)
