"""What was changed of a car itself, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shutline.car.carfile import Change

_SIDES = {"rhd": "on the right", "lhd": "on the left"}


def change_line(change: Change) -> str:
    """Say what was done to a car, after the name of who did it.

    >>> from shutline.car.carfile import Change
    >>> change_line(Change("", "Ida", "amended", {"title": "a", "doors": None}, {"title": "b", "doors": 4}))
    'called it “b”, before “a”; said that it has 4 doors, before not known'
    >>> change_line(Change("", "Ida", "joined", {}, {"joined": "blue-2", "title": "Blue again"}))
    'said that “Blue again” (blue-2) is this car'
    """
    if change.action in {"set aside", "brought back"}:
        return {"set aside": "set it aside", "brought back": "brought it back into the yard"}[change.action]
    if change.action in {"joined", "separated"}:
        return _joined(change)
    said = [_became(name, change.before[name], value) for name, value in change.after.items() if name in change.before]
    return "; ".join(said) or change.action


def _joined(change: Change) -> str:
    told = change.after if change.action == "joined" else change.before
    if "joined" not in told:
        name = change.after.get("joined_to") or change.before.get("joined_to")
        return f"said that it is {name}" if change.action == "joined" else f"took it out from under {name}"
    named = f"“{told['title']}” ({told['joined']})"
    return f"said that {named} is this car" if change.action == "joined" else f"took {named} out again"


def _became(name: str, before: object, after: object) -> str:
    if name == "title":
        return f"called it “{after}”, before “{before}”"
    if name == "body":
        return f"said that it is drawn as {_known(after)}, before {_known(before)}"
    if name == "doors":
        doors = "not known" if after is None else f"{after} doors"
        return f"said that it has {doors}, before {_known(before)}"
    if name == "drive":
        return f"put the wheel {_SIDES.get(str(after), after)}, before {_SIDES.get(str(before), before)}"
    return f"{name} from {before} to {after}"


def _known(value: object) -> str:
    return "not known" if value is None else str(value)
