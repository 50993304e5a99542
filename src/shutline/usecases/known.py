"""What is about to be brought in and is in the store already: said before a car is made of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class KnownFile:
    """A file that a car has already: its name as it is brought in, and the car's name and title.

    `same` is True where the bytes are the same, False where only name and size are. `set_aside` is True for a car that
    the yard leaves out.
    """

    name: str
    car: str
    title: str
    set_aside: bool
    same: bool


def known_files(store: Store, files: Sequence[tuple[str, str]]) -> tuple[KnownFile, ...]:
    """Give the cars that have some files already.

    Parameters
    ----------
    store : Store
        Where to look.
    files : sequence of (str, str)
        Of each its SHA-256 and its name.
    """
    found = []
    for sha256, name in files:
        found += [_known(store, name, car, same=True) for car in store.cars_with(sha256)]
    return tuple(dict.fromkeys(found))


def likely_known(store: Store, files: Sequence[tuple[str, int]]) -> tuple[KnownFile, ...]:
    """Give the cars that have recordings of the same name and size as some files that are not sent yet.

    Parameters
    ----------
    store : Store
        Where to look.
    files : sequence of (str, int)
        Of each its name and its size, bytes.
    """
    found = []
    for name, byte_size in files:
        found += [_known(store, name, car, same=False) for car in store.cars_with_like(name, byte_size)]
    return tuple(dict.fromkeys(found))


def _known(store: Store, name: str, car: str, *, same: bool) -> KnownFile:
    summary = store.find_car(car)
    return KnownFile(name, summary.name, summary.title, summary.set_aside, same)
