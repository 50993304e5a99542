"""What the panels are made of, from what was said or written of the car: a gauge reads film on metal only."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from shutline.car.errors import Problem
from shutline.car.vocabulary import vocabulary
from shutline.gauge.paint.tables import Material, Metal, materials, metals, panels

_WORD = re.compile(r"[a-z0-9]+(?:'[a-z]+)?")
_NOT = frozenset({"not", "isn't", "never", "no", "non", "without"})
_BETWEEN = 2
"""How many words may stand between the material and what is made of it: 'glassfibre front wing'."""


@dataclass(frozen=True, slots=True)
class Body:
    """What the body is made of: `whole` for all of it, None where nobody said; `parts` where a part is told apart.

    `quotes` are the words it stands on.
    """

    whole: Metal | None = None
    parts: Mapping[str, Metal] = field(default_factory=dict)
    quotes: tuple[str, ...] = ()

    def metal_of(self, part: str) -> Metal | None:
        """Give what a part is made of; None where it is not known."""
        return self.parts.get(part, self.whole)


def body_of(sayings: Sequence[str], *, constructions: Sequence[str] = ()) -> Body:
    """Find out what the body is made of.

    Parameters
    ----------
    sayings : sequence of str
        Texts of remarks, notes and papers about this car, in order; a later one counts over an earlier one. 'It has a
        glassfibre body' is of the whole, 'glassfibre bonnet' of the bonnet, 'it is not glassfibre' of nothing.
    constructions : sequence of str
        Kinds of construction that a person chose for the car, ids of the guides: ``glassfibre_on_chassis`` tells the
        body; what was said counts over it.
    """
    whole: Metal | None = None
    parts: dict[str, Metal] = {}
    quotes: list[str] = []
    for construction in constructions:
        name = construction.replace("_", " ")
        for material in materials():
            if any(_holds(_words(name), _words(word)) for word in material.words):
                whole = metals()[material.metal]
                quotes.append(construction)
    for text in sayings:
        for material, part in _told(text):
            quotes.append(text)
            if part is None:
                whole = metals()[material.metal]
            else:
                parts[part] = metals()[material.metal]
    return Body(whole, parts, tuple(dict.fromkeys(quotes)))


def refusal(where: str, part: str, *, body: Body, method: str) -> Problem | None:
    """Tell why a paint gauge's figure on a part is not taken; None where it is.

    `method` is ``magnetic``, ``eddy``, or empty where nobody said.
    """
    metal = body.metal_of(part)
    label = vocabulary().parts[part].label
    if metal is not None and not metal.methods:
        return Problem(
            slug="paint-no-metal",
            where=where,
            found=f"{label}: {metal.label} under the paint" + (f" ('{body.quotes[-1]}')" if body.quotes else ""),
            allowed=f"a paint gauge needs steel or aluminium: {metal.why}",
            advice="Leave the figure out, or correct what the car is said to be made of.",
        )
    if metal is not None and method and method not in metal.methods:
        return Problem(
            slug="paint-method",
            where=where,
            found=f"{label}: {metal.label}, read by the {method} method",
            allowed=f"on {metal.label} {' or '.join(metal.methods)}: {metal.why}",
            advice="Set the gauge to the metal and read it again, or correct what the car is said to be made of.",
        )
    row = panels().get(part)
    if row is None or not row.compared:
        why = row.why if row is not None else "it is no painted panel of the body"
        return Problem(
            slug="paint-not-a-panel",
            where=where,
            found=f"a paint film on {label}",
            allowed=f"panels that carry the car's own finish are held against each other; here {why}",
            advice="The figure is kept; it is not compared.",
        )
    return None


def _told(text: str) -> Iterator[tuple[Material, str | None]]:
    words = _words(text)
    for material in materials():
        for phrase in (_words(one) for one in material.words):
            for at in range(len(words) - len(phrase) + 1):
                if words[at : at + len(phrase)] != phrase or _NOT & set(words[max(0, at - 3) : at]):
                    continue
                behind = words[at + len(phrase) : at + len(phrase) + _BETWEEN + 2]
                part = _part_in(behind)
                if part is not None:
                    yield material, part
                elif not material.whole or any(word in material.whole for word in behind[:2]) or _is_of(words, at):
                    yield material, None


def _is_of(words: tuple[str, ...], at: int) -> bool:
    """Tell whether the words before say that the body is of it: 'the body is glassfibre', 'made of aluminium'."""
    before = words[max(0, at - 4) : at]
    return any(word in {"body", "shell", "bodyshell", "bodywork"} for word in before) and bool(
        {"is", "are", "of", "in", "all"} & set(before)
    )


def _part_in(words: tuple[str, ...]) -> str | None:
    """Find the painted part named within a few words; the longest name counts."""
    best: tuple[int, str] | None = None
    for part in (row.part for row in panels().values() if row.compared):
        name = _words(vocabulary().parts[part].label)
        for form in (name, (*name[:-1], name[-1] + "s")):
            at = next((i for i in range(len(words) - len(form) + 1) if words[i : i + len(form)] == form), None)
            if at is not None and at <= _BETWEEN and (best is None or len(form) > best[0]):
                best = (len(form), part)
    return None if best is None else best[1]


def _holds(words: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    return any(words[at : at + len(phrase)] == phrase for at in range(len(words) - len(phrase) + 1))


def _words(text: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(text.casefold().replace("\u2019", "'")))
