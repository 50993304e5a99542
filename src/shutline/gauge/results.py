"""What a gauge gives: a figure with its interval, what it was held against, what it is good for, and who decides."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from shutline.car.findings import Position, Side
from shutline.car.plan.wording import spoken_name
from shutline.car.readings import Reading
from shutline.gauge.limits import Amount, Held, Outcome, amount, is_open, joined, unfit
from shutline.gauge.tables import bad_row, shipped, table_rows


@dataclass(frozen=True, slots=True)
class Use:
    """What a result is good for, who decides in the end, and what to take care of while measuring."""

    id: str
    label: str
    good_for: str
    decides: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Meaning:
    """What something measured may mean, in plain words, and where that is from."""

    id: str
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where on the car a result is of; see `shutline.car.readings.Reading`."""

    part: str
    side: Side | None = None
    position: Position | None = None
    spot: str = ""

    def told(self) -> str:
        """Give the side and end in words: ``front nearside``; empty where neither is told."""
        end = "" if self.position in {None, Position.BOTH} else str(self.position)
        side = "" if self.side is None else "both sides" if self.side is Side.BOTH else f"{self.side}side"
        return " ".join(word for word in (end, side) if word)


@dataclass(frozen=True, slots=True)
class Result:
    """What readings tell of one thing.

    `id` names it (``service_efficiency``), `sentence` tells it whole. `amount` is the figure with its uncertainty and
    interval, None where there is none to give. `held` are the limits it was held against, with value, source, date
    seen and who decides; `outcome` is what comes of all of them, None where there was nothing to hold it against.
    `meanings` are what it may mean, `notes` what bears on it, `use` what it is good for and the cautions.
    """

    id: str
    sentence: str
    use: Use
    place: Place
    amount: Amount | None = None
    held: tuple[Held, ...] = ()
    outcome: Outcome | None = None
    meanings: tuple[Meaning, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def plain(self) -> str:
        """The sentence without what it is good for and who decides."""
        return self.sentence.removesuffix(f"Good for {self.use.good_for}; {self.use.decides} decides.").rstrip()


def result(
    name: str,
    use: Use,
    place: Place,
    *,
    figure: Amount | None = None,
    told: str = "",
    held: Sequence[Held] = (),
    meanings: Iterable[Meaning] = (),
    notes: Iterable[str] = (),
) -> Result:
    """Put a result together: what was `told` first, then each limit, then what it may mean, then who decides."""
    meant = tuple(meanings)
    sentences = [told, *(one.sentence for one in held)]
    if is_open(held):
        sentences.append("Which of them is for this car is not known.")
    sentences += [f"It may mean: {one.meaning}." for one in meant]
    sentences.append(f"Good for {use.good_for}; {use.decides} decides.")
    text = " ".join(_sentence(one) for one in sentences if one)
    return Result(name, text, use, place, figure, tuple(held), joined(held), meant, tuple(notes))


def read_uses(text: str, *, name: str) -> dict[str, Use]:
    """Read what results are good for, by id.

    Raises
    ------
    UserError
        A row is not as it should be, or names an unknown caution (slug ``gauge-row``).
    """
    found = {}
    columns = ("id", "label", "good_for", "decides", "cautions", "source")
    for where, row in table_rows(text, name=name, columns=columns, may_be_empty=frozenset({"cautions"})):
        unknown = [one for one in row["cautions"].split() if one not in cautions()]
        if unknown:
            raise bad_row(where, f"caution {', '.join(unknown)}", ", ".join(cautions()))
        care = tuple(cautions()[one] for one in row["cautions"].split())
        found[row["id"]] = Use(row["id"], row["label"], row["good_for"], row["decides"], care)
    return found


def read_meanings(text: str, *, name: str) -> dict[str, Meaning]:
    """Read what may be meant by what is measured, by id; raises UserError where a row is not as it should be."""
    rows = table_rows(text, name=name, columns=("id", "meaning", "source"))
    return {row["id"]: Meaning(row["id"], row["meaning"], row["source"]) for _, row in rows}


@cache
def cautions() -> dict[str, str]:
    """Give the cautions that all gauges share, by id."""
    rows = table_rows(shipped("", "cautions.csv"), name="cautions.csv", columns=("id", "caution", "source"))
    return {row["id"]: row["caution"] for _, row in rows}


def place_of(reading: Reading) -> Place:
    """Give where a reading was taken, without the spot."""
    return Place(reading.part, reading.side, reading.position)


def called(reading: Reading) -> str:
    """Give the place of a reading as it is said, first letter large: ``Nearside front door, bottom``."""
    name = spoken_name(reading.part, reading.side, reading.position)
    spot = f", {reading.spot}" if reading.spot else ""
    return f"{name[:1].upper()}{name[1:]}{spot}"


def amount_of(reading: Reading, unit: str) -> Amount:
    """Give a reading as an amount, nought or more; it has to be in this unit.

    Raises
    ------
    BadInputError
        It is in another (slug ``reading-unfit``).
    """
    if reading.unit != unit:
        raise unfit(
            reading.quantity, f"unit {reading.unit!r}", unit, "Bring the readings to the first unit of the list."
        )
    return amount(reading.value, unit, reading.uncertainty, floor=0.0)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
