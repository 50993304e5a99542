"""What the review says of an entry, its sureness and its history, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shutline.car.findings import FootingKind, State
from shutline.car.vocabulary import vocabulary
from shutline.web.wording import moment, said

if TYPE_CHECKING:
    from shutline.car.carfile import Change, KeptFact, KeptFinding
    from shutline.car.findings import Fact, Finding
    from shutline.car.second import SecondView
    from shutline.usecases.history import Line
    from shutline.usecases.queue import Entry

STATES = {
    State.HEARD: "heard only",
    State.STANDS: "stands",
    State.STRUCK: "struck",
}

_DONE = {
    "drawn": "heard it",
    "entered": "entered it",
    "confirmed": "let it stand",
    "struck": "struck it",
    "amended": "amended it",
    "restored": "brought it back",
    "undone": "took the last change back",
    "still chosen": "chose another still",
    "weighed again": "weighed it again",
    "drawn otherwise": "heard it otherwise",
    "drawn again": "heard it again",
    "withdrawn": "no longer heard it",
    "told once": "left it out: the car this one was joined with has the same",
    "separated": "took it up again when the cars were taken apart",
}

_TOLD = ("part", "side", "position", "condition", "found", "severity", "remedy", "value", "unit", "state")
_NOTHING = "nothing"
_ALL_BUT_SURE = 0.95
_HARDLY_SURE = 0.15


def place_of(finding: Finding | SecondView) -> str:
    """Name the place of a finding, with a capital letter: ``Nearside front wing``."""
    from shutline.publish.naming import capitalised, place_name

    return capitalised(place_name(finding.part, finding.side, finding.position))


def what_of(finding: Finding | SecondView) -> str:
    """Say what was found there: ``dent, slight, to repair``."""
    from shutline.publish.statement import statement

    return statement(finding)


def fact_name(name: str) -> str:
    """Name a fact, with a capital letter."""
    plain = name.replace("_", " ")
    return plain[:1].upper() + plain[1:]


def fact_value(fact: Fact) -> str:
    """Give the value of a fact as it is written on paper."""
    if isinstance(fact.value, bool):
        return "yes" if fact.value else "no"
    if fact.name == "odometer" and isinstance(fact.value, int):
        return f"{fact.value:,} {fact.unit or ''}".strip()
    return f"{fact.value} {fact.unit or ''}".strip()


def line_of(entry: Entry) -> str:
    """Give an entry as one short line."""
    if entry.finding is not None:
        return _capital(said(entry.finding.finding))
    if entry.question is not None:
        return f"{place_of(entry.question)}: {what_of(entry.question)}?"
    there = [kept.fact for kept in entry.facts if kept.fact.state is not State.STRUCK] or [
        kept.fact for kept in entry.facts
    ]
    values = dict.fromkeys(fact_value(fact) for fact in there)
    return f"{fact_name(entry.id)}: {' or '.join(values)}"


def sure_words(sureness: float | None) -> str:
    """Say how sure the program is of what it heard; nothing where it does not tell.

    >>> sure_words(0.64)
    'The program heard this; as sure as it is here, it is right about 6 times in 10.'
    >>> sure_words(0.97)
    'The program heard this, and is all but sure.'
    """
    if sureness is None:
        return ""
    if sureness >= _ALL_BUT_SURE:
        return "The program heard this, and is all but sure."
    if sureness < _HARDLY_SURE:
        return "The program heard something like this, and is hardly sure at all."
    return f"The program heard this; as sure as it is here, it is right about {round(sureness * 10)} times in 10."


def done_words(change: Change) -> str:
    """Say what was done, and what became of what: ``amended it: side from near to off``."""
    done = _DONE.get(change.action, change.action)
    told = [] if not change.before else [word for name in _TOLD if (word := _became(name, change))]
    quotes = _quote(change.before), _quote(change.after)
    if "footings" in change.before and quotes[0] != quotes[1]:
        told.append(f"words from “{quotes[0]}” to “{quotes[1]}”")
    return f"{done}: {'; '.join(told)}" if told else done


def line_of_history(line: Line) -> str:
    """Name what a change was made to."""
    if line.finding is not None:
        return _capital(said(line.finding.finding))
    if line.fact is not None:
        return f"{fact_name(line.fact.fact.name)}: {fact_value(line.fact.fact)}"
    return line.id


def was_decided(entry: Entry) -> bool:
    """Tell whether a person has changed it, so that something can be taken back."""
    kept = (entry.finding,) if entry.finding else entry.facts
    return any(change.author != "program" for one in kept for change in one.changes[1:])


def values_told(entry: Entry) -> str:
    """Say how many values were told of a fact and not struck, as a word."""
    from shutline.publish.wording import spelled

    there = (kept.fact for kept in entry.facts if kept.fact.state is not State.STRUCK)
    return spelled(len({(fact.value, fact.unit) for fact in there}))


def footings_of(entry: Entry) -> list[str]:
    """Say what an entry stands on: said at, seen at."""
    statement = entry.finding.finding if entry.finding else entry.facts[0].fact if entry.facts else None
    words = []
    for footing in statement.footings if statement else ():
        at = f" at {moment(footing.start_s)}" if footing.start_s is not None else ""
        words.append(f"{footing.kind.value}{at}")
    return list(dict.fromkeys(words))


def for_script(entry: Entry) -> dict[str, Any]:
    """Give what the script of the page needs of an entry."""
    place = entry.moment
    return {
        "id": entry.id,
        "kind": entry.kind,
        "open": entry.open,
        "state": entry.state.value,
        "odds": entry.at_odds,
        "line": line_of(entry),
        "moment": None if place is None else [place.recording, round(place.start_s, 3), round(place.end_s, 3)],
        "refs": _refs(entry),
        "otherwise": [view.id for view in entry.otherwise],
    }


def _refs(entry: Entry) -> list[dict[str, Any]]:
    if entry.finding is not None:
        return [_finding_ref(entry.finding)]
    if entry.question is not None:
        view = entry.question
        fields = {**_finding_fields(view), "words": view.quote}
        return [{"id": view.id, "version": None, "state": State.HEARD.value, "fields": fields, "words": True}]
    return [_fact_ref(kept) for kept in entry.facts]


def _finding_ref(kept: KeptFinding) -> dict[str, Any]:
    said_at = [footing for footing in kept.finding.footings if footing.kind is FootingKind.SAID]
    fields = {**_finding_fields(kept.finding), "words": said_at[0].quote if said_at else ""}
    return {
        "id": kept.id,
        "version": kept.version,
        "state": kept.finding.state.value,
        "fields": fields,
        "words": bool(said_at),
    }


def _finding_fields(finding: Finding | SecondView) -> dict[str, str]:
    words = vocabulary()
    return {
        "part": words.parts[finding.part].label,
        "side": finding.side.value if finding.side else "",
        "position": finding.position.value if finding.position else "",
        "condition": words.conditions[finding.condition].label,
        "found": finding.found.value,
        "severity": finding.severity.value if finding.severity else "",
        "remedy": finding.remedy.value if finding.remedy else "",
    }


def _fact_ref(kept: KeptFact) -> dict[str, Any]:
    fact = kept.fact
    value = ("yes" if fact.value else "no") if isinstance(fact.value, bool) else str(fact.value)
    said_at = [footing for footing in fact.footings if footing.kind is FootingKind.SAID]
    return {
        "id": kept.id,
        "version": kept.version,
        "state": fact.state.value,
        "value": fact_value(fact),
        "fields": {"value": value, "unit": fact.unit or "", "words": said_at[0].quote if said_at else ""},
        "words": bool(said_at),
    }


def _became(name: str, change: Change) -> str:
    if name not in change.after or name not in change.before:
        return ""
    before, after = (_plain(name, side.get(name)) for side in (change.before, change.after))
    if name == "state" and change.action in {"confirmed", "struck", "amended"}:
        return ""
    return f"{name} from {before} to {after}"


def _plain(name: str, value: object) -> str:
    words = vocabulary()
    if name == "part" and value in words.parts:
        return words.parts[str(value)].label
    if name == "condition" and value in words.conditions:
        return words.conditions[str(value)].label
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _NOTHING if value is None else str(value)


def _quote(values: dict[str, object]) -> str:
    footings = values.get("footings")
    if not isinstance(footings, list):
        return ""
    return next((str(one["quote"]) for one in footings if isinstance(one, dict) and one.get("quote")), "")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
