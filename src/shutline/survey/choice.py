"""Which guide a car wants: from its body, what it runs on and what was said of it, or as a person chose."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.carfile import CarFile, KeptFact
from shutline.car.findings import State
from shutline.survey.checks import Guide, GuideFile, Sort
from shutline.survey.guides import Shelf, shelf

USUAL_BODY = "saloon"
"""What a car is taken for while its body is not known."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a guide was taken: a clue of the trade, what the car runs on, its body, or a person's word."""

    guide: str
    words: str


@dataclass(frozen=True, slots=True)
class Choice:
    """The guide of a car, why it was taken, and the other constructions that such a body may have, likeliest first.

    `chosen` tells that a person chose it.
    """

    guide: Guide
    reasons: tuple[Reason, ...]
    others: tuple[str, ...] = ()
    chosen: bool = False


def choose_guide(
    car_file: CarFile, *, names: Sequence[str] = (), on: Shelf | None = None, said: str | None = None
) -> Choice:
    """Choose the guide of a car.

    What was said is only a hint: somebody may speak of such cars in general. So the reasons go with the choice, and a
    person's choice stands over it.

    Parameters
    ----------
    car_file : CarFile
        Its body, its facts and the words of its recordings are looked at.
    names : sequence of str
        Ids that a person chose; empty while nobody did.
    on : Shelf, optional
        The guides there are; the shipped ones when left out.
    said : str, optional
        All that was said of it, for a car file that comes without its words.

    Raises
    ------
    UserError
        There is no guide of a name (slug ``guide-unknown``).
    """
    on = on or shelf()
    if names:
        guide = on.put_together(names)
        return Choice(guide, tuple(Reason(name, "chosen by a person") for name in names), chosen=True)
    said = _plain(_words(car_file) if said is None else said)
    body = car_file.body or USUAL_BODY
    fitting = [one for one in on.of_sort(Sort.CONSTRUCTION) if not one.bodies or body in one.bodies]
    weighed = [(_clues(one, said), body in one.usual_for, one) for one in fitting]
    # Most clues, then what such a body usually is, then the one that was built on the most: a user's own model.
    weighed.sort(key=lambda row: (-len(row[0]), not row[1], -len(on.chain(row[2].id))))
    reasons: list[Reason] = []
    taken: list[str] = []
    for clues, usual, one in weighed[:1]:
        if clues or usual:
            taken.append(one.id)
            reasons.append(Reason(one.id, _why(clues, car_file.body)))
    power = {str(kept.fact.value) for kept in _kept_facts(car_file) if kept.fact.name == "power_source"}
    for one in on.of_sort(Sort.DRIVE):
        clues = _clues(one, said)
        runs_on = sorted(power & one.power)
        # A fact that says otherwise stands over words in passing.
        if runs_on or (clues and not (one.power and power)):
            taken.append(one.id)
            reasons.append(Reason(one.id, f"it runs on: {', '.join(runs_on)}" if runs_on else _why(clues, None)))
    others = tuple(one.id for _, _, one in weighed if one.id not in taken)
    return Choice(on.put_together(taken or [on.of_sort(Sort.GENERAL)[0].id]), tuple(reasons), others)


def _kept_facts(car_file: CarFile) -> list[KeptFact]:
    return [kept for kept in car_file.facts if kept.fact.state is not State.STRUCK and not kept.withdrawn]


def _words(car_file: CarFile) -> str:
    return " ".join(stretch.text for recording in car_file.recordings for stretch in recording.stretches)


def _plain(words: str) -> str:
    return " ".join(words.casefold().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'").split())


def _clues(guide: GuideFile, said: str) -> list[str]:
    near = (clue for clue in guide.clues if clue.casefold() in said)
    return [clue for clue in near if re.search(rf"\b{re.escape(clue.casefold())}\b", said)]


def _why(clues: Sequence[str], body: str | None) -> str:
    if clues:
        return f"said: {', '.join(clues)}"
    return f"what a {body} usually is" if body else f"taken for a {USUAL_BODY}: its body is not known"
