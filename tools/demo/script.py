"""The script of the demo film, read from `script.toml` and checked against the vocabulary."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from shutline.car.vocabulary import vocabulary

_CUE = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class Cue:
    """The camera ought to have arrived at `shot` when word number `word` (from 0) of the line begins."""

    shot: str
    word: int


@dataclass(frozen=True, slots=True)
class Line:
    """One breath: what is said, what the voice is given to say, the pauses round it, and its cues."""

    text: str
    spoken: str
    before_s: float
    after_s: float
    cues: tuple[Cue, ...]
    sound: str | None = None
    wipes: bool = False
    """The dust on the door is drawn wiped from shortly before the end of this line."""

    @property
    def words(self) -> tuple[str, ...]:
        """The words of the line, punctuation attached."""
        return tuple(self.text.split())


@dataclass(frozen=True, slots=True)
class Stretch:
    """Some lines on one subject, with what they ought to be read as."""

    id: str
    lines: tuple[Line, ...]
    after_s: float
    labels: tuple[dict[str, Any], ...] = ()
    facts: tuple[dict[str, Any], ...] = ()
    general: tuple[str, ...] = ()
    corrected: tuple[dict[str, Any], ...] = ()
    cold_footing: str | None = None

    @property
    def text(self) -> str:
        """All that is said, as one text."""
        return " ".join(line.text for line in self.lines)


@dataclass(frozen=True, slots=True)
class ColdStart:
    """When nobody speaks and the engine is heard; speeds in turns of the crankshaft a minute."""

    after: str
    listen_s: float
    starter_s: float
    cranking_rpm: float
    catch_rpm: float
    fast_idle_rpm: float
    settled_rpm: float
    settle_s: float
    stop_after: str
    shots: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Shot:
    """Where the camera looks and how much it sees.

    `part`, `side` and `position` are what is shown (in words of the vocabulary); `view` the view of the Plan it is seen
    in. The picture is centred on the part's shape there, on the shape of `in_part` (side `side_of`), on a drawn defect
    (`flaw`), on the whole view (`at_view`), between the shapes of both sides (`at_pair`), on the tail pipe (`pipe`) or
    on the odometer (`odometer`), then moved by `shift`, metres right and down. `see_m` is the width of the picture in
    metres at the car. `haste` above 1 makes the way there shorter and faster, below 1 longer.
    """

    part: str
    side: str | None = None
    position: str | None = None
    view: str | None = None
    see_m: float = 2.0
    shift: tuple[float, float] = (0.0, 0.0)
    haste: float = 1.0
    flaw: str | None = None
    in_part: str | None = None
    side_of: str | None = None
    at_view: bool = False
    at_pair: bool = False
    pipe: bool = False
    odometer: bool = False


@dataclass(frozen=True, slots=True)
class Flaw:
    """A defect to draw: its kind, the part it is on, where in the part's box (across, down) and its size in metres.

    `room` is the view of the Plan it lies in.
    """

    kind: str
    part: str
    side: str | None = None
    position: str | None = None
    at: tuple[float, float] = (0.5, 0.5)
    size_m: float = 0.1
    room: str | None = None


@dataclass(frozen=True, slots=True)
class Script:
    """The whole script."""

    film: dict[str, Any]
    car: dict[str, Any]
    voice: dict[str, Any]
    stretches: tuple[Stretch, ...]
    cold_start: ColdStart
    shots: dict[str, Shot] = field(default_factory=dict)
    flaws: dict[str, Flaw] = field(default_factory=dict)


def read_script(path: Path) -> Script:
    """Read `script.toml` and check that what it names is there.

    Raises
    ------
    ValueError
        A label that names no part or condition, a quote that is not in its stretch, a cue without a shot, or a drawn
        defect that is not in the list of defects.
    """
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    gap_s = float(raw["voice"]["line_gap_s"])
    respell = dict(raw["voice"].get("respell", {}))
    script = Script(
        film=raw["film"],
        car=raw["car"],
        voice=raw["voice"],
        stretches=tuple(_stretch(row, gap_s, respell) for row in raw["stretch"]),
        cold_start=_cold_start(raw["engine"]),
        shots={name: Shot(**_tuples(row)) for name, row in raw["shots"].items()},
        flaws={name: Flaw(**_tuples(row)) for name, row in raw["flaws"].items()},
    )
    faults = list(_faults(script))
    if faults:
        raise ValueError("; ".join(faults))
    return script


def _tuples(row: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}


def _stretch(row: dict[str, Any], gap_s: float, respell: dict[str, str]) -> Stretch:
    lines = tuple(_line(line, gap_s, respell) for line in row["lines"])
    return Stretch(
        id=row["id"],
        lines=lines,
        after_s=float(row["after_s"]),
        labels=tuple(row.get("labels", ())),
        facts=tuple(row.get("facts", ())),
        general=tuple(row.get("general", ())),
        corrected=tuple(row.get("corrected", ())),
        cold_footing=row.get("cold_footing"),
    )


def _line(row: dict[str, Any], gap_s: float, respell: dict[str, str]) -> Line:
    cues = [
        Cue(mark.group(1), len(_CUE.sub("", row["text"][: mark.start()]).split()))
        for mark in _CUE.finditer(row["text"])
    ]
    text = " ".join(_CUE.sub("", row["text"]).split())
    spoken = text
    for written, said in respell.items():
        spoken = re.sub(rf"\b{re.escape(written)}\b", said, spoken)
    if row.get("cut_off"):
        text += "…"
    return Line(
        text=text,
        spoken=spoken,
        before_s=float(row.get("before_s", 0.0)),
        after_s=float(row.get("after_s", gap_s)),
        cues=tuple(cues),
        sound=row.get("sound"),
        wipes=bool(row.get("wipes", False)),
    )


def _cold_start(row: dict[str, Any]) -> ColdStart:
    shots = tuple((float(s["at_s"]), str(s["shot"])) for s in row.get("shots", ()))
    return ColdStart(**{**{k: v for k, v in row.items() if k != "shots"}, "shots": shots})


def _faults(script: Script) -> list[str]:
    known = vocabulary()
    faults = []
    cues = [(s.id, c.shot) for s in script.stretches for line in s.lines for c in line.cues]
    cues += [("engine", shot) for _, shot in script.cold_start.shots]
    faults += [f"{where}: no shot called {shot}" for where, shot in cues if shot not in script.shots]
    for name, shot in script.shots.items():
        if shot.part not in known.parts:
            faults.append(f"shot {name}: no part called {shot.part}")
        if shot.flaw is not None and shot.flaw not in script.flaws:
            faults.append(f"shot {name}: no flaw called {shot.flaw}")
    for stretch in script.stretches:
        for label in stretch.labels:
            if label["part"] not in known.parts or label["condition"] not in known.conditions:
                faults.append(f"{stretch.id}: {label['part']}, {label['condition']}: not in the vocabulary")
            if label.get("drawn") is not None and label["drawn"] not in script.flaws:
                faults.append(f"{stretch.id}: no flaw called {label['drawn']}")
        quotes = [row["quote"] for row in (*stretch.labels, *stretch.facts)] + list(stretch.general)
        faults += [f"{stretch.id}: not said: {quote}" for quote in quotes if quote not in stretch.text]
    return faults
