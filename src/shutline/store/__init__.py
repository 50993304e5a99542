"""Keeps car files: one database for all that is known, beside a folder of originals and one of files made from them.

Takes and gives the records of `car`; every change of a finding or fact has its author, its time and what stood before,
and nothing is deleted. Knows where originals lie but neither reads nor writes them, and does not know the order of the
stages.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shutline.store.base import PROGRAM
    from shutline.store.decisions import Action, Drawn
    from shutline.store.errors import StaleError
    from shutline.store.place import Store
    from shutline.store.search import Searched
    from shutline.store.second import KeptSecond
    from shutline.store.stages import Stage

__all__ = ["PROGRAM", "Action", "Drawn", "KeptSecond", "Searched", "Stage", "StaleError", "Store"]

_WHERE = {
    "Action": "decisions",
    "Drawn": "decisions",
    "KeptSecond": "second",
    "PROGRAM": "base",
    "Searched": "search",
    "Stage": "stages",
    "StaleError": "errors",
    "Store": "place",
}


def __getattr__(name: str) -> Any:
    """Load what is asked for when it is asked for: the database library is slow to load."""
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
