"""When the things that statements stand on were made: which of them are of one occasion."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from shutline.car.carfile import CarFile
from shutline.car.findings import Footing, FootingKind


@dataclass(frozen=True, slots=True)
class Occasion:
    """One time that the car was looked over: its day, and the ids of the recordings and pictures made then, by time.

    `id` is the day (ISO 8601), with a number from 2 behind it where it is not the first of that day.
    """

    id: str
    sources: tuple[str, ...]


def occasions(car_file: CarFile, *, within_h: float) -> tuple[Occasion, ...]:
    """Put what was made of a car together by the times it was looked over, the earliest first.

    What does not tell when it was made is of no occasion. An occasion lasts at most `within_h` hours.
    """
    found: list[list[tuple[datetime, str]]] = []
    for name, at in sorted(moments(car_file).items(), key=lambda item: (item[1], item[0])):
        if found and (at - found[-1][0][0]).total_seconds() <= within_h * 3600.0:
            found[-1].append((at, name))
        else:
            found.append([(at, name)])
    out: list[Occasion] = []
    for group in found:
        day = group[0][0].date().isoformat()
        number = 1 + sum(one.id == day or one.id.startswith(f"{day}.") for one in out)
        out.append(Occasion(day if number == 1 else f"{day}.{number}", tuple(name for _, name in group)))
    return tuple(out)


def moments(car_file: CarFile) -> dict[str, datetime]:
    """Give when each recording and picture was made, by its id; those that do not tell are left out.

    A time without an offset is taken as UTC: hours between two of one house come out right all the same.
    """
    found = {recording.id: recording.probe.recorded_at for recording in car_file.recordings}
    found |= {picture.id: picture.taken_at for picture in car_file.pictures}
    found |= {note.source: note.at for note in car_file.notes if note.source}
    made = {name: _instant(at) for name, at in found.items() if at}
    return {name: at for name, at in made.items() if at is not None}


def of_one_occasion(
    first: Iterable[Footing], second: Iterable[Footing], made: dict[str, datetime], *, within_h: float
) -> bool:
    """Tell whether two statements may be of one occasion: False only where all that they stand on lies further apart.

    What is written may be older than its picture, so a paper is of any occasion, and so is what a person entered.

    Parameters
    ----------
    first, second : iterable of Footing
        What the two stand on.
    made : dict of str to datetime
        As `moments` gives.
    within_h : float
        Hours that one occasion may last.
    """
    first, second = tuple(first), tuple(second)
    return not first or not second or any(_near(one, other, made, within_h) for one in first for other in second)


def _near(one: Footing, other: Footing, made: dict[str, datetime], within_h: float) -> bool:
    if FootingKind.WRITTEN in (one.kind, other.kind) or one.source == other.source:
        return True
    if one.source not in made or other.source not in made:
        return True
    return abs((made[one.source] - made[other.source]).total_seconds()) <= within_h * 3600.0


def _instant(text: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    return at if at.tzinfo else at.replace(tzinfo=UTC)
