"""The yard: all cars, newest first, found by any words that are kept of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from shutline.car.errors import Problem, UserError

if TYPE_CHECKING:
    from shutline.car.carfile import CarSummary
    from shutline.store import Store
    from shutline.store.passages import Passage, Piece

Open = Literal["all", "heard"]
OPEN: tuple[Open, ...] = ("all", "heard")
"""What may be open on a car: anything or nothing, or findings or facts that nobody has looked at."""

PAGE = 50
MOST = 500


@dataclass(frozen=True, slots=True)
class YardCar:
    """One car of the yard; `face` is the SHA-256 of a still or picture to know it by, None where it has none.

    Where words were looked for, `title` is its title with those found in it, and `passages` are where they stand.
    """

    car: CarSummary
    face: str | None = None
    title: tuple[Piece, ...] = ()
    passages: tuple[Passage, ...] = ()


@dataclass(frozen=True, slots=True)
class Yard:
    """A page of the yard: what was asked for, the cars, how many there are in all, and how many were left out first.

    `behind` cars have changed of late and were not searched yet; the same search again takes them in. With `aside` they
    are those that are set aside, which the yard leaves out else; `set_aside` is how many there are of these.
    """

    words: str
    open: Open
    cars: tuple[YardCar, ...]
    count: int
    skip: int = 0
    behind: int = 0
    aside: bool = False
    set_aside: int = 0


def counted(findings: int, facts: int) -> str:
    """Say how many findings and facts there are, as the yard and a review both count them.

    >>> counted(12, 1), counted(0, 3), counted(1, 0), counted(0, 0)
    ('12 findings and 1 fact', '3 facts', '1 finding', 'nothing')
    """
    words = [_some(findings, "finding"), _some(facts, "fact")]
    return " and ".join(word for word in words if word) or "nothing"


def _some(count: int, name: str) -> str:
    return f"{count:,} {name}{'' if count == 1 else 's'}" if count else ""


def yard(
    store: Store, words: str = "", *, open_: str = "all", aside: bool = False, limit: int = PAGE, skip: int = 0
) -> Yard:
    """Give the cars in whose file all of some words stand.

    Parameters
    ----------
    store : Store
        Where they are kept.
    words : str
        Words or their beginnings; without any, all cars.
    open_ : {'all', 'heard'}
        Only cars on which this is open.
    aside : bool
        Those that are set aside, in place of the others.
    limit, skip : int
        At most so many, 1 to 500, after leaving out so many.

    Raises
    ------
    UserError
        One of them is not what is allowed (slug ``yard-asked``).
    """
    wanted = next((name for name in OPEN if name == open_), None)
    if wanted is None or not 1 <= limit <= MOST or skip < 0:
        raise UserError(
            Problem(
                slug="yard-asked",
                where="the yard",
                found=f"open {open_!r}, {limit} cars after {skip}",
                allowed=f"open {' or '.join(OPEN)}, 1 to {MOST} cars, after 0 or more",
                advice="Ask for one of these.",
            )
        )
    found = store.search_cars(words, limit=limit, skip=skip, only_heard=wanted == "heard", aside=aside)
    names = [car.name for car in found.cars]
    faces = store.faces(names)
    faces |= store.first_pictures([name for name in names if name not in faces])
    passages = store.passages(names, words)
    cars = tuple(
        YardCar(car, faces.get(car.name), store.marked(car.title, words), passages.get(car.name, ()))
        for car in found.cars
    )
    return Yard(words, wanted, cars, found.count, skip, found.behind, aside, store.count_aside())
