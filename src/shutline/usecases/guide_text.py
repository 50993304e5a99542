"""The text of a guide, check by check: taken apart for a form, and written from one."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from shutline.car.errors import ShutlineError
from shutline.car.vocabulary import vocabulary
from shutline.survey.ground import Ground
from shutline.survey.guide_file import lines_of, read_guide, refused

LISTS = ("how", "tools", "cautions", "answers", "after", "needs", "bodies")
"""Entries of a check that hold several."""

AUTO = "auto"
"""Side or end of a check: wherever the part occurs."""

ENTRIES = (
    *("id", "part", "sides", "positions", "bodies", "min_doors", "max_doors", "look_for", "how", "why"),
    *(
        "when_bad",
        "best",
        "tools",
        "answers",
        "after",
        "needs",
        "along_with",
        "station",
        "safety",
        "cautions",
        "source",
    ),
)
"""The entries of a check in the order in which they are written."""

OF_FORM = (
    *("part", "sides", "positions", "look_for", "how", "why", "least", "worst", "best", "tools", "answers"),
    *("safety", "source", "id"),
)
"""The fields of a form for a check; `least` and `worst` are its ``when_bad``."""


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check as it stands in its file.

    `first_line` is that of its heading, `last_line` the last that is its own, from 1. `cells` are its entries as texts,
    several parted by bars; `values` as they stand there.
    """

    first_line: int
    last_line: int
    cells: Mapping[str, str]
    values: Mapping[str, Any]


def rows_of(text: str) -> tuple[CheckRow, ...]:
    """Take a guide apart; nothing for a text that is no TOML, or has its checks in another form."""
    try:
        checks = tomllib.loads(text).get("check", [])
    except tomllib.TOMLDecodeError:
        return ()
    _, blocks = lines_of(text)
    if not isinstance(checks, list) or len(checks) != len(blocks):
        return ()
    lines = text.splitlines()
    ends = [line - 1 for line, _ in blocks[1:]] + [len(lines)]
    rows = []
    for values, (first, _), end in zip(checks, blocks, ends, strict=False):
        # Blank lines and remarks above the next check are not of this one.
        last = end
        while last > first and (not lines[last - 1].strip() or lines[last - 1].lstrip().startswith("#")):
            last -= 1
        rows.append(CheckRow(first, last, _cells(values), values))
    return tuple(rows)


def head_text(name: str, label: str, *, builds_on: str, bodies: str, clues: str, source: str) -> str:
    """Write the head of a guide for a construction; several of one entry come parted by bars."""
    entries: dict[str, Any] = {
        "id": name,
        "label": " ".join(label.split()),
        "sort": "construction",
        "builds_on": builds_on,
        "bodies": _several(bodies),
        "clues": _several(clues),
        "source": " ".join(source.split()) or "house knowledge",
    }
    return "\n".join(f"{entry} = {_value(value)}" for entry, value in entries.items() if value not in ("", [])) + "\n"


def check_block(
    cells: Mapping[str, str], *, before: Mapping[str, Any] | None, taken: Collection[str], ground: Ground
) -> list[str]:
    """Write a check from the fields of a form.

    Parameters
    ----------
    cells : mapping
        By the names of `OF_FORM`.
    before : mapping, optional
        The entries it had; those that the form does not know stay.
    taken : collection of str
        Ids that other checks of the guide have.
    ground : Ground
        What cautions are called for by.

    Returns
    -------
    list of str
        Its lines, heading first.

    Raises
    ------
    BadInputError
        There is a field that a form does not have (slug ``guide-refused``).
    """
    odd = sorted(set(cells) - set(OF_FORM))
    if odd:
        raise refused("check", f"a field {odd[0][:40]!r}", ", ".join(OF_FORM))
    values: dict[str, Any] = dict(before or {})
    for entry in ("part", "look_for", "why", "best", "source"):
        values[entry] = " ".join(cells.get(entry, "").split())
    for entry in ("how", "tools", "answers"):
        values[entry] = _several(cells.get(entry, ""))
    values["when_bad"] = [cells.get("least", ""), cells.get("worst", "")]
    values["safety"] = cells.get("safety", "") == "yes"
    part = vocabulary().parts.get(values["part"])
    for entry, occurs in (("sides", part is not None and part.sided), ("positions", part is not None and part.ended)):
        wanted = cells.get(entry, AUTO)
        values[entry] = ("each" if occurs else "") if wanted == AUTO else wanted
    values["id"] = " ".join(cells.get("id", "").split()) or _free(values["part"] or "check", taken)
    values["cautions"] = _cautions(values, ground)
    kept = {entry: values[entry] for entry in ENTRIES if values.get(entry) not in (None, "", [], False)}
    odd_ones = {entry: value for entry, value in values.items() if entry not in ENTRIES}
    return ["[[check]]", *(f"{entry} = {_value(value)}" for entry, value in (kept | odd_ones).items())]


def _cautions(values: Mapping[str, Any], ground: Ground) -> list[str]:
    """Add the cautions that a check calls for; what is wrong with it otherwise is told when it is read."""
    own = [name for name in values.get("cautions", []) if isinstance(name, str)]
    everything = {**values, "cautions": list(ground.cautions), "after": [], "needs": []}
    head = 'id = "x"\nlabel = "x"\nsort = "general"\nsource = "x"\n[[check]]\n'
    text = head + "\n".join(f"{entry} = {_value(value)}" for entry, value in everything.items() if value != "")
    try:
        (check,) = read_guide(text, file="check", ground=ground).checks
    except ShutlineError:
        return own
    return [*own, *(name for name in ground.cautions_of(check) if name not in own)]


def _free(name: str, taken: Collection[str]) -> str:
    return next(one for one in (name, *(f"{name}_{number}" for number in range(2, 999))) if one not in taken)


def _cells(values: Mapping[str, Any]) -> dict[str, str]:
    cells = {
        entry: "|".join(map(str, value)) if isinstance(value, list) else str(value) for entry, value in values.items()
    }
    cells["safety"] = "yes" if values.get("safety") is True else ""
    bad = values.get("when_bad")
    least, worst = bad if isinstance(bad, list) and len(bad) == 2 else ("", "")
    return cells | {"least": str(least), "worst": str(worst)}


def _several(text: str) -> list[str]:
    return list(dict.fromkeys(" ".join(one.split()) for one in text.split("|") if one.strip()))


def _value(value: object) -> str:
    """Write a value as TOML; a string of JSON is one of TOML too."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(_value(one) for one in value)}]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
