"""How places of the car are called in a sentence: with their article, their number, and a shorter second mention."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shutline.car.findings import Drive, Finding, Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.words.rows import Noun
from shutline.words.wording import Wording

_ENDS = {Position.FRONT: "front", Position.REAR: "rear"}
_SIDES = {Side.NEAR: "nearside", Side.OFF: "offside"}


@dataclass(frozen=True, slots=True)
class Place:
    """A part at a side and an end, as a finding has it."""

    part: str
    side: Side | None = None
    position: Position | None = None


@dataclass(frozen=True, slots=True)
class Called:
    """What a place is called: ``the nearside sill``, and whether that is a plural.

    `neither` is what it is called where something is denied of all of it (``neither sill``), a singular. `short` is
    what a part of it is called after it (``its bolster``). `sure` is False where the side or end was not told, so that
    no more is known than that it is one of them.
    """

    words: str
    plural: bool = False
    short: str = ""
    sure: bool = True
    neither: str = ""

    @property
    def it(self) -> str:
        """Its pronoun."""
        return "they" if self.plural else "it"

    @property
    def its(self) -> str:
        """Its possessive."""
        return "their" if self.plural else "its"


def place_of(finding: Finding, *, doors: int | None, by_seat: bool = False) -> Place:
    """Give the place of a finding.

    Of the doors of a car with one a side, front is nothing to tell. What is by a seat is by a front one, unless said.
    """
    side, position = finding.side, finding.position
    part = vocabulary().parts[finding.part]
    if finding.part == "door" and doors in (2, 3) and side is not None:
        position = None
    if by_seat and side in _SIDES and position is None:
        position = Position.FRONT
    if side is Side.BOTH and not part.sided:
        side = None
    if position is Position.BOTH and not part.ended:
        position = None
    return Place(finding.part, side, position)


def called(place: Place, *, wording: Wording, drive: Drive, doors: int | None = None) -> Called:
    """Call a place by its name.

    Parameters
    ----------
    place : Place
    wording : Wording
        Its nouns are used.
    drive : Drive
        Whose seat is on which side.
    doors : int, optional
        How many doors the car has: with four, a door has an end.
    """
    noun = wording.nouns[place.part]
    if not noun.many:
        return _uncounted(noun, place)
    return _counted(noun, place, drive=drive, doors=doors)


def plainest(place: Place, *, wording: Wording) -> Place:
    """Take both sides, and both ends, of what is not counted for all of it: 'the chassis'."""
    if wording.nouns[place.part].many:
        return place
    side = None if place.side is Side.BOTH else place.side
    return replace(place, side=side, position=None if place.position is Position.BOTH else place.position)


def parted(place: Place, *, wording: Wording) -> tuple[Place, str]:
    """Part a place from what lies within it and has no name: ``on the nearside`` of a bumper."""
    part = vocabulary().parts[place.part]
    where: list[str] = []
    if not part.ended and place.position in _ENDS and wording.nouns[place.part].ends != "before":
        where.append(f"at the {_ENDS[place.position]}")
        place = replace(place, position=None)
    if not part.sided and place.side in _SIDES:
        where.append(f"on the {_SIDES[place.side]}")
        place = replace(place, side=None)
    return place, " ".join(where)


def fellow(place: Place, before: Place, *, wording: Wording, whole: Called) -> str:
    """Call a place after another of its part: 'the offside one', 'the rear one'; '' where it must be named in full."""
    noun = wording.nouns[place.part]
    if not noun.many or not whole.sure or whole.plural or place.part != before.part:
        return ""
    if noun.by_seat and place.position is not Position.REAR:
        return whole.words.removesuffix(f" {noun.one}")
    side = _SIDES.get(place.side) if place.side else None
    end = _ENDS.get(place.position) if place.position else None
    alike = (before.position is place.position, before.side is place.side)
    if side and alike[0]:
        return f"the {side} one"
    if end and alike[1]:
        return f"the {end} one"
    return f"the {' '.join(filter(None, (side, end)))} one" if side or end else ""


def among_fellows(places: Sequence[Place], *, wording: Wording) -> dict[Place, Place]:
    """Take places for wider ones of the same part that were spoken of.

    Of what there is one of a side, its front or rear is the same one; of what is spoken of as a set, no side is both.
    """
    found = {place: place for place in places}
    for place in places:
        plain = replace(place, position=None)
        both = replace(place, side=Side.BOTH)
        if wording.nouns[place.part].unplaced == "set" and place.side is None and both in found:
            found[place] = both
        if wording.nouns[place.part].alone and place.side in _SIDES and plain in found and place != plain:
            others = {one.position for one in places if one.side is place.side and one.position is not None}
            if others == {place.position}:
                found[place] = plain
    return found


def _uncounted(noun: Noun, place: Place) -> Called:
    """Call what is not counted: 'the rear suspension', 'the nearside floor'."""
    end = _ENDS.get(place.position) if place.position else None
    side = _SIDES.get(place.side) if place.side else None
    return Called(" ".join(filter(None, ("the", side, end, noun.one))), noun.plural)


def _counted(noun: Noun, place: Place, *, drive: Drive, doors: int | None) -> Called:
    part = vocabulary().parts[noun.id]
    end = _ENDS.get(place.position) if place.position else None
    adjective = f"{end} " if end else ""
    if not part.sided:
        return _at_ends(noun, place, adjective) if part.ended else Called(f"the {adjective}{noun.one}", noun.plural)
    if place.side is None:
        return _no_side(noun, place, adjective)
    if place.side is Side.BOTH:
        return _both_sides(noun, place, adjective)
    side = _SIDES[place.side]
    if place.position is Position.BOTH:
        return Called(f"both {side} {noun.many}", plural=True, neither=f"neither {side} {noun.one}")
    lonely = noun.alone and not (noun.id == "door" and doors is not None and doors > 3)
    if part.ended and place.position is None and not lonely:
        return Called(f"at least one of the {side} {noun.many}", sure=False)
    if noun.by_seat and place.position is not Position.REAR:
        whose = "driver" if (place.side is Side.OFF) is (drive is Drive.RHD) else "passenger"
        side, adjective = f"{whose}\N{RIGHT SINGLE QUOTATION MARK}s", ""
    return Called(f"the {side} {adjective}{noun.one}")


def _both_sides(noun: Noun, place: Place, adjective: str) -> Called:
    if place.position is Position.BOTH:
        return Called(f"all four {noun.many}", plural=True, neither=f"none of the four {noun.many}")
    if vocabulary().parts[noun.id].ended and place.position is None and not noun.alone:
        return Called(f"the {noun.many} on both sides", plural=True)
    return Called(f"both {adjective}{noun.many}", plural=True, neither=f"neither {adjective}{noun.one}")


def _at_ends(noun: Noun, place: Place, adjective: str) -> Called:
    if place.position is Position.BOTH:
        return Called(f"both {noun.many}", plural=True, neither=f"neither {noun.one}")
    if place.position is None:
        return Called(f"at least one of the {noun.many}", sure=False)
    return Called(f"the {adjective}{noun.one}")


def _no_side(noun: Noun, place: Place, adjective: str) -> Called:
    """Call a part of which nobody said the side; the seat behind is one bench."""
    if noun.id == "seat" and place.position is Position.REAR:
        return Called(f"the rear {noun.one}")
    if place.position is Position.BOTH:
        return Called(f"the front and rear {noun.many}", plural=True, sure=False)
    if noun.unplaced == "set":
        return Called(f"the {adjective}{noun.many}", plural=True)
    return Called(f"at least one of the {adjective}{noun.many}", sure=False)


def merged(places: Sequence[Place]) -> tuple[Place, ...]:
    """Put places of one part together: near and off are both, front and rear are both; what lies within another goes.

    >>> merged([Place("sill", Side.NEAR), Place("sill", Side.OFF)]) == (Place("sill", Side.BOTH),)
    True
    """
    found = list(dict.fromkeys(places))
    changed = True
    while changed:
        changed = False
        for one in found:
            for other in found:
                whole = _together(one, other)
                if whole is not None:
                    kept = [place for place in found if place not in (one, other)]
                    found = list(dict.fromkeys([whole, *kept]))
                    changed = True
                    break
            if changed:
                break
    return tuple(place for place in found if not any(within(place, other) for other in found if other != place))


def _together(one: Place, other: Place) -> Place | None:
    sides = {one.side, other.side} == {Side.NEAR, Side.OFF}
    ends = {one.position, other.position} == {Position.FRONT, Position.REAR}
    part = vocabulary().parts[one.part]
    if sides and one.position is other.position and part.sided:
        return Place(one.part, Side.BOTH, one.position)
    if ends and one.side is other.side and part.ended and (one.side is not None or not part.sided):
        return Place(one.part, one.side, Position.BOTH)
    return None


def within(place: Place, other: Place) -> bool:
    """Tell whether a place lies within another of the same part."""
    if place.part != other.part:
        return False
    on_side = place.side is other.side or (other.side is Side.BOTH and place.side in _SIDES)
    at_end = place.position is other.position or (other.position is Position.BOTH and place.position in _ENDS)
    return on_side and at_end
