"""What a written sentence states of the car, before it is held against anything."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shutline.car.findings import Fact, Found, Position, Side


@dataclass(frozen=True, slots=True)
class Spot:
    """A part, and where on the car; None where the words do not say, or there is only one.

    `each` tells that every one of several is meant: 'both sills', 'the tyres'. `others` are the parts that the same
    words may stand for, likeliest first: a 'quarter' is a rear wing, or a front one.
    """

    part: str
    side: Side | None = None
    position: Position | None = None
    each: bool = False
    others: tuple[str, ...] = ()

    def meanings(self) -> tuple[Spot, ...]:
        """Give the spot once for each part that its words may stand for, without others."""
        return tuple(replace(self, part=part, others=()) for part in (self.part, *self.others))

    def opposite(self) -> Spot:
        """Give the other one of two: of the nearside the offside, of the front the rear."""
        sides = {Side.NEAR: Side.OFF, Side.OFF: Side.NEAR}
        ends = {Position.FRONT: Position.REAR, Position.REAR: Position.FRONT}
        if self.side in sides:
            return replace(self, side=sides[self.side])
        return replace(self, position=ends[self.position]) if self.position in ends else self


@dataclass(frozen=True, slots=True)
class Topic:
    """What was spoken of last, for 'it' and for what names nothing; the parts of one list together.

    `named` are the words that named each of them. `headed` tells that a heading named them: what follows is of them
    until another is named. `listed` is the condition that a heading says of all that is listed under it.
    """

    spots: tuple[Spot, ...] = ()
    named: tuple[frozenset[str], ...] = ()
    headed: bool = False
    listed: str = ""


@dataclass(frozen=True, slots=True)
class Saying:
    """One statement of a written text: a condition of a part, or a fact of the whole car.

    `first` and `end` are the places of its letters in the text, and `quote` these letters. Either `spot`, `condition`
    and `found` are filled, or `fact`, or neither, where something is stated that a car file has no name for. `words`
    are the stems of the quote, to tell 'straight' from 'solid'; `named` the words that name the part, to tell a hose
    from a pump. `placed` tells that it states where something is: 'the dent is in the nearside door' is wrong where it
    is in the other one, and 'any dents in the nearside door?' is not. `odds` are the log-odds that the network gives a
    statement which no rule has read; None for those that rules have read. `untrue` tells that the text brings it up to
    deny it: 'some say that it smokes, which is nonsense'.
    """

    first: int
    end: int
    quote: str
    spot: Spot | None = None
    condition: str = ""
    found: Found = Found.YES
    fact: Fact | None = None
    words: frozenset[str] = frozenset()
    named: frozenset[str] = frozenset()
    placed: bool = True
    odds: float | None = None
    untrue: bool = False

    @property
    def fact_name(self) -> str:
        """The name of the fact that it tells, empty where it tells none."""
        return "" if self.fact is None else self.fact.name

    def same_claim(self, other: Saying) -> bool:
        """Tell whether two sayings claim the same, in whatever words."""
        if self.fact is not None or other.fact is not None:
            return (
                self.fact is not None
                and other.fact is not None
                and (self.fact.name, self.fact.value, self.fact.unit)
                == (other.fact.name, other.fact.value, other.fact.unit)
            )
        if self.spot is None or other.spot is None:
            return self.spot is other.spot and self.quote.casefold() == other.quote.casefold()
        return (self.spot, self.condition, self.found) == (other.spot, other.condition, other.found)
