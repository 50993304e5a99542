"""What masks are sought and covered by: read once from `data/`, and checked."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from shutline.car.masks import MaskKind

COVERS = ("proposed", "stands", "nothing")
"""What may be covered: all that is not struck, what a person confirmed or drew, nothing."""


@dataclass(frozen=True, slots=True)
class PictureFinding:
    """How pictures are looked at: longest sides, pixels."""

    lettering_px: int
    faces_px: int


@dataclass(frozen=True, slots=True)
class FilmFinding:
    """How films are looked at, and how what was found is followed."""

    every_s: float
    lettering_px: int
    faces_px: int
    follow_px: int
    follow_s: float
    carry_s: float
    alike: float
    points: int
    least_found: float


@dataclass(frozen=True, slots=True)
class FaceFinding:
    """When something is taken for a face, and where one is looked for."""

    least: float
    overlap: float
    glance: float
    glance_least: float
    glance_most: float


@dataclass(frozen=True, slots=True)
class LetteringFinding:
    """When lettering is taken for a mark or a chassis number."""

    glance: float
    glance_least: float
    glance_most: float
    least: float
    ground_distance: float
    ring_uniform: float
    reach: float
    largest: float
    fills: float
    proportions: tuple[float, float]
    unreadable: float
    swapped: float
    clear: float
    swapped_clear: float


@dataclass(frozen=True, slots=True)
class Surenesses:
    """How sure it is, by what speaks for it."""

    plate_form: float
    plate_mixed: float
    plate_unreadable: float
    bare_form: float
    bare_mixed: float
    chassis_full: float
    chassis_named: float
    chassis_form: float


@dataclass(frozen=True, slots=True)
class Finding:
    """All settings of the search."""

    pictures: PictureFinding
    film: FilmFinding
    faces: FaceFinding
    lettering: LetteringFinding
    sureness: Surenesses


@dataclass(frozen=True, slots=True)
class Form:
    """One form that marks have: `templates` of A for a letter and 9 for a figure; `sure` weighs it, 0 to 1."""

    id: str
    templates: tuple[str, ...]
    sure: float
    example: str
    counter_example: str

    def weight(self, signs: str, *, swapped: float | Sequence[float]) -> float:
        """Say how well signs, capitals and figures only, fit.

        0 where they do not, else `sure` times `swapped` (one for all, or one a sign) for each sign that stands for one
        it is taken for, as 0 for O.
        """
        each = [swapped] * len(signs) if isinstance(swapped, int | float) else list(swapped)
        return max((self._weight(signs, one, each) for one in self.templates if len(one) == len(signs)), default=0.0)

    def _weight(self, signs: str, template: str, each: Sequence[float]) -> float:
        weight = self.sure
        for sign, place, swapped in zip(signs, template, each, strict=True):
            if sign.isdigit() if place == "9" else sign.isalpha():
                continue
            if sign not in (_AS_FIGURE if place == "9" else _AS_LETTER):
                return 0.0
            weight *= swapped
        return weight


@dataclass(frozen=True, slots=True)
class ChassisForms:
    """What has the look of a chassis number."""

    labels: tuple[str, ...]
    named_figures: int
    named_signs: int
    bare_signs: int
    bare_figures: int
    bare_letters: int
    full_signs: int
    below: float
    beside: float
    others: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Policy:
    """What is covered in what goes out, and how; `colour` is red, green, blue of sRGB, 0 to 255."""

    covers: str
    kinds: tuple[MaskKind, ...]
    colour: tuple[int, int, int]
    margin: float
    face_margin: float
    film_margin: float
    slack_s: float

    def margin_of(self, kind: MaskKind) -> float:
        """Give how far the sides of a box of a kind move out, as a share of its shorter side."""
        return self.face_margin if kind is MaskKind.FACE else self.margin


_S = TypeVar("_S")


@cache
def finding() -> Finding:
    """Read the settings of the search; raises ValueError where an entry is missing, unknown or out of bounds."""
    raw = tomllib.loads(_text("finding.toml"))
    sections = {
        "pictures": PictureFinding,
        "film": FilmFinding,
        "faces": FaceFinding,
        "lettering": LetteringFinding,
        "sureness": Surenesses,
    }
    _same_names("finding.toml", raw, set(sections))
    return Finding(**{name: _section(f"finding.toml, {name}", kind, raw[name]) for name, kind in sections.items()})


@cache
def forms() -> tuple[Form, ...]:
    """Read the forms of marks; raises ValueError that names the line of one that cannot be."""
    found: list[Form] = []
    for number, row in enumerate(csv.DictReader(io.StringIO(_text("forms.csv"))), start=2):
        where = f"forms.csv, line {number}"
        if not all(row.values()) or row["kind"] != "mark" or row["id"] in {form.id for form in found}:
            raise ValueError(f"{where}: an entry is empty, the kind is not mark, or the id stands twice")
        found.append(
            Form(row["id"], _templates(row["form"], where), float(row["sure"]), row["example"], row["counter_example"])
        )
    return tuple(found)


@cache
def chassis_forms() -> ChassisForms:
    """Read what has the look of a chassis number."""
    return _section("chassis.toml", ChassisForms, tomllib.loads(_text("chassis.toml")))


@cache
def shipped_policy() -> Policy:
    """Read what is covered unless the house says otherwise."""
    return policy_of(tomllib.loads(_text("policy.toml")), where="policy.toml")


def policy_of(raw: dict[str, Any], *, where: str) -> Policy:
    """Take a policy from TOML's values; raises ValueError that says where, what was found and what is allowed."""
    _same_names(where, raw, {field.name for field in fields(Policy)})
    if raw["covers"] not in COVERS:
        raise ValueError(f"{where}, covers: {raw['covers']!r}; one of {', '.join(COVERS)}")
    known = [kind.value for kind in MaskKind]
    kinds = raw["kinds"]
    if not isinstance(kinds, list) or not set(kinds) <= set(known):
        raise ValueError(f"{where}, kinds: {kinds!r}; a list of some of {', '.join(known)}")
    colour = raw["colour"]
    if not (isinstance(colour, str) and re.fullmatch("#[0-9a-fA-F]{6}", colour)):
        raise ValueError(f"{where}, colour: {colour!r}; # and six of 0 to 9 and a to f")
    numbers: dict[str, float] = {}
    for name in ("margin", "face_margin", "film_margin", "slack_s"):
        value = raw[name]
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 2:
            raise ValueError(f"{where}, {name}: {value!r}; a number from 0 to 2")
        numbers[name] = float(value)
    red, green, blue = bytes.fromhex(colour[1:])
    return Policy(raw["covers"], tuple(MaskKind(kind) for kind in kinds), (red, green, blue), **numbers)


def policy_values(policy: Policy) -> dict[str, Any]:
    """Give a policy in TOML's values: what `policy_of` takes."""
    values: dict[str, Any] = {field.name: getattr(policy, field.name) for field in fields(Policy)}
    return {**values, "kinds": [kind.value for kind in policy.kinds], "colour": "#" + bytes(policy.colour).hex()}


# Signs that are taken for one another in a picture: what a letter's place may hold, and a figure's.
_AS_LETTER = frozenset("0125648")
_AS_FIGURE = frozenset("OQDILZSBGAT")


def _templates(form: str, where: str) -> tuple[str, ...]:
    """Write a form out in all its lengths: ``A9{1-2}`` as ``A9`` and ``A99``."""
    if not re.fullmatch(r"(?:[A9](?:\?|\{[1-9]-[1-9]\})?)+", form):
        raise ValueError(f"{where}: the form {form!r}; A and 9, each with {{1-3}} or ? after it or neither")
    written = [""]
    for sign, times in re.findall(r"([A9])(\?|\{\d-\d\})?", form):
        least, most = (0, 1) if times == "?" else (int(times[1]), int(times[3])) if times else (1, 1)
        written = [head + sign * count for head in written for count in range(least, most + 1)]
    return tuple(dict.fromkeys(written))


def _text(name: str) -> str:
    return files("shutline.gauge.masks").joinpath("data", name).read_text(encoding="utf-8")


def _section(where: str, kind: type[_S], raw: dict[str, Any]) -> _S:
    _same_names(where, raw, {field.name for field in fields(kind)})  # type: ignore[arg-type]
    return kind(**{name: tuple(value) if isinstance(value, list) else value for name, value in raw.items()})


def _same_names(where: str, raw: dict[str, Any], known: set[str]) -> None:
    if set(raw) != known:
        raise ValueError(f"{where}: {sorted(set(raw) ^ known)} missing or unknown; allowed: {sorted(known)}")
