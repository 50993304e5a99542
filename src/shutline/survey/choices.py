"""What a person decided about the survey of a car: which guide it gets, and what is left out on purpose.

Both are changes of the car's own details, so each has its author and its time, and the latest word on a thing stands.
"""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.carfile import CarFile

GUIDE_CHOSEN, LEFT_OUT, ASKED_AGAIN = "guide chosen", "left out of the survey", "asked again in the survey"
"""Actions of such changes."""


@dataclass(frozen=True, slots=True)
class Omission:
    """Something left out on purpose: the key of a check at a place, or the id of a check everywhere; why, by whom."""

    key: str
    reason: str
    author: str
    at: str


def chosen_guides(car_file: CarFile) -> tuple[str, ...]:
    """Give the ids of the guides that a person chose last; empty where nobody did, or took it back."""
    chosen: object = ()
    for change in car_file.changes:
        if change.action == GUIDE_CHOSEN:
            chosen = change.after.get("guides", ())
    return tuple(str(name) for name in chosen) if isinstance(chosen, list | tuple) else ()


def omissions(car_file: CarFile) -> dict[str, Omission | None]:
    """Give what is left out on purpose, by its key, in the order it was said.

    A word on a check everywhere takes the place of all that was said of its single places before; one place that was
    asked for again since the check was left out everywhere is None.
    """
    out: dict[str, Omission | None] = {}
    for change in car_file.changes:
        if change.action not in {LEFT_OUT, ASKED_AGAIN}:
            continue
        key = str(change.after.get("check", ""))
        for older in [one for one in out if one == key or one.startswith(f"{key}-")]:
            del out[older]
        if change.action == LEFT_OUT:
            out[key] = Omission(key, str(change.after.get("reason", "")), change.author, change.at)
        elif key.partition("-")[0] in out:
            out[key] = None
    return out
