"""What tests note again and again, joined to parts of our vocabulary."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache

from shutline.car.findings import Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.history.mot_records import MotTest
from shutline.history.tables import rows

SAME_OCCASION_DAYS = 14
"""A test and the retest after it are one occasion: ten working days."""
_SIDES = {"nearside": Side.NEAR, "ns": Side.NEAR, "offside": Side.OFF, "os": Side.OFF}
_ENDS = {"front": Position.FRONT, "rear": Position.REAR}


@dataclass(frozen=True, slots=True)
class Named:
    """What the words of a defect name: a part, its side and end, a condition; empty and None where they do not."""

    part: str
    side: Side | None
    position: Position | None
    condition: str


@dataclass(frozen=True, slots=True)
class Returning:
    """What was noted on more than one occasion.

    `about` are the words of the last time; `days` one day of each occasion. `last` tells whether the last test noted
    it too.
    """

    about: str
    named: Named
    days: tuple[date, ...]
    last: bool


def named_in(text: str) -> Named:
    """Tell what the words of a defect name.

    The longest words of the table count: 'boot floor' before 'floor'.

    >>> named_in("Nearside Rear wheel bearing has slight play").part
    'wheel'
    """
    plain = _plain(text.replace("n/s", "ns").replace("o/s", "os").replace("N/S", "ns").replace("O/S", "os"))
    part = _found("part", plain)
    words = plain.split()
    kind = vocabulary().parts.get(part)
    side = next((_SIDES[word] for word in words if word in _SIDES), None)
    position = next((_ENDS[word] for word in words if word in _ENDS), None)
    return Named(
        part,
        side if kind is not None and kind.sided else None,
        position if kind is not None and kind.ended else None,
        _found("condition", plain),
    )


def returning(tests: Sequence[MotTest]) -> tuple[Returning, ...]:
    """Give what was noted on more than one occasion, what was noted most often first.

    Parameters
    ----------
    tests : sequence of MotTest
        In the order of their days.
    """
    seen: dict[tuple[object, ...], list[tuple[date, str]]] = defaultdict(list)
    for test in tests:
        for defect in test.defects:
            named = named_in(defect.about)
            # Without a part of ours the words themselves are what returns.
            key = (named,) if named.part else ("", _plain(defect.about))
            seen[key].append((test.day, defect.about))
    last = max((one.day for one in tests), default=date.min)
    found = []
    for noted in seen.values():
        days: list[date] = []
        for day in sorted({day for day, _ in noted}):
            if not days or (day - days[-1]).days > SAME_OCCASION_DAYS:
                days.append(day)
        if len(days) > 1:
            about = max(noted)[1]
            on_last = any(day == last for day, _ in noted)
            found.append(Returning(about, named_in(about), tuple(days), on_last))
    return tuple(sorted(found, key=lambda one: (-len(one.days), one.about)))


def _plain(text: str) -> str:
    return " ".join(re.findall(r"[a-z0-9]+", text.lower()))


def _found(kind: str, plain: str) -> str:
    padded = f" {plain} "
    fitting = [(words, id_) for words, id_ in _table()[kind] if f" {words} " in padded]
    return max(fitting, key=lambda one: len(one[0]))[1] if fitting else ""


@cache
def _table() -> dict[str, tuple[tuple[str, str], ...]]:
    found: dict[str, list[tuple[str, str]]] = {"part": [], "condition": []}
    known = {"part": frozenset(vocabulary().parts), "condition": frozenset(vocabulary().conditions)}
    for row in rows("test_words.csv", ("kind", "words", "id", "example", "counter_example", "source")):
        if row["kind"] not in known or row["id"] not in known[row["kind"]]:
            raise ValueError(
                f"test_words.csv: {row['kind']} {row['id']!r} for {row['words']!r} is not in the vocabulary"
            )
        found[row["kind"]].append((row["words"], row["id"]))
    return {kind: tuple(pairs) for kind, pairs in found.items()}
