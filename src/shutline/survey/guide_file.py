"""Read the text of one guide, and refuse what is wrong in it with its line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar

from shutline.car.errors import BadInputError, Problem
from shutline.car.findings import Position, Side
from shutline.car.plan.bodies import bodies as drawn_bodies
from shutline.car.vocabulary import Part, vocabulary
from shutline.survey.checks import Best, Check, GuideFile, How, Sort
from shutline.survey.ground import Ground

_HEAD = {"id", "label", "sort", "builds_on", "bodies", "usual_for", "clues", "power", "engine", "removes", "source"}
_FIELDS = {
    *("id", "part", "sides", "positions", "look_for", "how", "why", "when_bad", "best", "tools", "cautions"),
    *("safety", "answers", "after", "needs", "station", "bodies", "min_doors", "max_doors", "along_with", "source"),
}
_SIDES = {"": (None,), "each": (Side.NEAR, Side.OFF), "near": (Side.NEAR,), "off": (Side.OFF,)}
_POSITIONS = {
    "": (None,),
    "each": (Position.FRONT, Position.REAR),
    "front": (Position.FRONT,),
    "rear": (Position.REAR,),
}
_ID = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")
_BLOCK = re.compile(r"\s*\[\[\s*check\s*\]\]\s*(#.*)?")
_ENTRY = re.compile(r"\s*([A-Za-z_]+)\s*=")
_ALL_DOORS = (0, 9)

E = TypeVar("E", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class _Row:
    """One table of a guide's file: its values, where it stands, and the line of each entry."""

    values: Mapping[str, Any]
    file: str
    line: int
    lines: Mapping[str, int]

    def where(self, entry: str = "") -> str:
        return f"{self.file}, line {self.lines.get(entry, self.line)}"

    def refuse(self, entry: str, found: str, allowed: str) -> BadInputError:
        return refused(self.where(entry), found, allowed)

    def text(self, entry: str, *, must: bool = False) -> str:
        value = self.values.get(entry, "")
        if not isinstance(value, str) or (must and not value.strip()):
            raise self.refuse(entry, f"no {entry}" if not value else f"{entry} is no text", f"{entry} as a text")
        return " ".join(value.split())

    def texts(self, entry: str) -> tuple[str, ...]:
        value = self.values.get(entry, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise self.refuse(entry, f"{entry} is no list of texts", f'{entry} = ["…", "…"]')
        if len(set(value)) != len(value):
            raise self.refuse(entry, f"{entry} names something twice", "each once")
        return tuple(value)

    def among(self, entry: str, allowed: Mapping[str, Any] | frozenset[str], *, what: str) -> tuple[str, ...]:
        names = self.texts(entry)
        odd = [name for name in names if name not in allowed]
        if odd:
            raise self.refuse(entry, f"{entry} '{', '.join(odd)}'", what)
        return names


def read_guide(text: str, *, file: str, ground: Ground) -> GuideFile:
    """Read one guide.

    Parameters
    ----------
    text : str
        TOML: the guide's own entries, and a table ``[[check]]`` for each check.
    file : str
        What to call it when it is refused.
    ground : Ground
        The bands, tools, cautions and stations that it may name.

    Raises
    ------
    BadInputError
        Something is unknown, missing, repeated or of another kind, or a caution is missing (slug ``guide-refused``);
        it names the line.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"line (\d+)", str(error))
        line = found[1] if found else text.count("\n") + 1
        raise refused(f"{file}, line {line}", "it cannot be read as TOML", "entries and tables of TOML") from error
    head_lines, blocks = lines_of(text)
    checks = raw.pop("check", [])
    head = _Row(raw, file, 1, head_lines)
    for entry in raw:
        if entry not in _HEAD:
            raise head.refuse(entry, f"an entry '{entry}'", ", ".join(sorted(_HEAD)))
    if not isinstance(checks, list) or len(checks) != len(blocks):
        raise refused(file, "checks in another form", "a heading [[check]] on a line of its own for each check")
    source = head.text("source", must=True)
    rows = [_Row(values, file, *block) for values, block in zip(checks, blocks, strict=True)]
    read = tuple(_check(row, ground, source) for row in rows)
    seen: set[str] = set()
    for row, check in zip(rows, read, strict=True):
        if check.id in seen:
            raise row.refuse("id", f"id '{check.id}' has been used before", "an id of its own for each check")
        seen.add(check.id)
    bodies = frozenset(drawn_bodies())
    return GuideFile(
        id=_id(head),
        label=head.text("label", must=True),
        sort=_one(head, "sort", Sort),
        builds_on=head.text("builds_on"),
        bodies=frozenset(head.among("bodies", bodies, what=f"bodies: {', '.join(sorted(bodies))}")),
        usual_for=frozenset(head.among("usual_for", bodies, what=f"bodies: {', '.join(sorted(bodies))}")),
        clues=head.texts("clues"),
        power=frozenset(head.texts("power")),
        engine=_engine(head),
        removes=head.texts("removes"),
        checks=read,
        source=source,
        file=file,
        lines=dict(head_lines),
    )


def refused(where: str, found: str, allowed: str) -> BadInputError:
    """Give the error of a guide that cannot be used."""
    return BadInputError(Problem("guide-refused", where, found, allowed, "Mend that line and give the command again."))


def lines_of(text: str) -> tuple[dict[str, int], list[tuple[int, dict[str, int]]]]:
    """Give the line of each entry of a guide's head, and for each check its own line and those of its entries."""
    head: dict[str, int] = {}
    blocks: list[tuple[int, dict[str, int]]] = []
    here = head
    quoted = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if not quoted:
            if _BLOCK.fullmatch(line):
                here = {}
                blocks.append((number, here))
            elif entry := _ENTRY.match(line):
                here.setdefault(entry[1], number)
        for marks in ('"""', "'''"):
            if quoted in ("", marks) and line.count(marks) % 2:
                quoted = "" if quoted else marks
    return head, blocks


def _id(row: _Row) -> str:
    name = row.text("id", must=True)
    if not _ID.fullmatch(name):
        raise row.refuse("id", f"id '{name}'", "small letters, digits and single underscores")
    return name


def _engine(row: _Row) -> str:
    engine = row.text("engine")
    if engine not in {"", "front", "rear"}:
        raise row.refuse("engine", f"engine '{engine}'", "front or rear")
    return engine


def _one(row: _Row, entry: str, kind: type[E]) -> E:
    value = row.text(entry, must=True)
    if value not in set(kind):
        raise row.refuse(entry, f"{entry} '{value}'", ", ".join(kind))
    return kind(value)


def _check(row: _Row, ground: Ground, source: str) -> Check:
    for entry in row.values:
        if entry not in _FIELDS:
            raise row.refuse(entry, f"an entry '{entry}'", ", ".join(sorted(_FIELDS)))
    name = _id(row)
    part = vocabulary().parts.get(row.text("part", must=True))
    if part is None:
        raise row.refuse("part", f"part '{row.values['part']}'", "an id of the vocabulary")
    how = tuple(How(one) for one in row.among("how", frozenset(How), what=f"how: {', '.join(How)}"))
    if not how:
        raise row.refuse("how", "no way of looking", f"one or more of {', '.join(How)}")
    conditions = vocabulary().conditions
    answers = row.among("answers", conditions, what="conditions of the vocabulary")
    check = Check(
        id=name,
        part=part.id,
        sides=_sides(row, part),
        positions=_positions(row, part),
        look_for=row.text("look_for", must=True),
        how=how,
        why=row.text("why", must=True),
        when_bad=_when_bad(row, ground),
        best=_one(row, "best", Best),
        tools=row.among("tools", ground.tools, what=f"tools: {', '.join(ground.tools)}"),
        cautions=row.among("cautions", ground.cautions, what=f"cautions: {', '.join(ground.cautions)}"),
        safety=_yes(row, "safety"),
        answers=frozenset(answers),
        after=tuple(dict.fromkeys((*row.texts("after"), *row.texts("needs")))),
        needs=row.texts("needs"),
        station=_station(row, ground, part),
        bodies=frozenset(row.among("bodies", frozenset(drawn_bodies()), what=", ".join(sorted(drawn_bodies())))),
        doors=(_doors(row, "min_doors", _ALL_DOORS[0]), _doors(row, "max_doors", _ALL_DOORS[1])),
        along_with=row.text("along_with"),
        source=row.text("source") or source,
        where=row.where(),
    )
    missing = [one for one in ground.cautions_of(check) if one not in check.cautions]
    if missing:
        raise row.refuse(
            "cautions",
            f"check '{name}' lacks the caution {', '.join(missing)}",
            "every caution that its part, its place or its words call for",
        )
    return check


def _sides(row: _Row, part: Part) -> tuple[Side | None, ...]:
    found = _SIDES.get(row.text("sides"))
    if found is None or part.sided != (found != (None,)):
        allowed = (
            "each, near or off, for it occurs left and right" if part.sided else "none: it lies on the middle line"
        )
        raise row.refuse("sides", f"sides '{row.text('sides')}' of part '{part.id}'", allowed)
    return found


def _positions(row: _Row, part: Part) -> tuple[Position | None, ...]:
    found = _POSITIONS.get(row.text("positions"))
    # Without an end a check of such a part is of both, or of the only one there is: the door of a two-door car.
    if found is None or (found != (None,) and not part.ended):
        allowed = "none, each, front or rear" if part.ended else "none: it does not occur at both ends"
        raise row.refuse("positions", f"positions '{row.text('positions')}' of part '{part.id}'", allowed)
    return found


def _when_bad(row: _Row, ground: Ground) -> tuple[str, str]:
    value: Any = row.values.get("when_bad")
    order = list(ground.bands)
    known = isinstance(value, list) and len(value) == 2 and all(one in order for one in value)
    if not known or order.index(value[0]) > order.index(value[1]):
        raise row.refuse(
            "when_bad",
            f"when_bad {value!r}",
            f'the lowest and the highest of {", ".join(order)}, as ["{order[0]}", "{order[1]}"]',
        )
    return value[0], value[1]


def _station(row: _Row, ground: Ground, part: Part) -> str:
    station = row.text("station")
    if station and not ground.may_stand(station, sided=part.sided):
        raise row.refuse("station", f"station '{station}'", ", ".join(ground.station_names()))
    return station


def _yes(row: _Row, entry: str) -> bool:
    value = row.values.get(entry, False)
    if not isinstance(value, bool):
        raise row.refuse(entry, f"{entry} '{value}'", "true or false")
    return value


def _doors(row: _Row, entry: str, otherwise: int) -> int:
    value = row.values.get(entry, otherwise)
    if type(value) is not int or not _ALL_DOORS[0] <= value <= _ALL_DOORS[1]:
        raise row.refuse(entry, f"{entry} '{value}'", "a whole number of side doors")
    return value
