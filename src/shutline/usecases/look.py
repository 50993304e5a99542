"""List the cars, and show one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile
from shutline.survey import FactSilence, Silence, coverage, silences, unknown_facts
from shutline.usecases.guides import own_shelf

if TYPE_CHECKING:
    from shutline.store import CarSummary, Store


@dataclass(frozen=True, slots=True)
class Shown:
    """A car file with what it is silent about, the weightiest silence first."""

    car: CarFile
    silent_parts: tuple[Silence, ...]
    silent_facts: tuple[FactSilence, ...]


def list_cars(store: Store) -> tuple[CarSummary, ...]:
    """Give a summary of each car, newest first."""
    return store.cars()


def find_car(store: Store, name: str) -> CarFile:
    """Give the car file of a name, or of a beginning of one that no other has; white space counts as a hyphen."""
    return store.car_file(store.find_car("-".join(name.split())).name)


def show_car(store: Store, name: str) -> Shown:
    """Give one car file.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        Its name, or a beginning of it that no other has.

    Raises
    ------
    NotFoundError
        No car begins so.
    UserError
        Several do.
    """
    car = find_car(store, name)
    return Shown(car, silences(car, found=coverage(car, on=own_shelf())), unknown_facts(car))
