"""The words around an engine's note: each figure with its bounds, the moments, the cold, the caution."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.engine import ColdFooting, EngineFigure, EngineNote, Hearing
from shutline.publish.plain import one_line
from shutline.publish.report.times import moment


def figure_words(figure: EngineFigure) -> str:
    """Word a figure with the bounds it lies between: ``850 turns a minute, 840 to 860``."""
    value = _words()["units"][figure.unit].format(value=number(figure.value, figure.unit))
    if figure.low == figure.high:
        return str(value)
    return f"{value}, {number(figure.low, figure.unit)} to {number(figure.high, figure.unit)}"


def number(value: float, unit: str) -> str:
    """Write a number as finely as it is known: tens of turns a minute, tenths of a second, wholes of a hundred."""
    if unit == "rpm":
        return f"{round(value, -1):.0f}"
    return f"{value:.1f}" if unit == "s" else f"{value:g}"


def hearing_words(note: EngineNote) -> str:
    """Say how well the engine was heard."""
    return str(_words()["hearing"][note.hearing.value].format(share=round(100 * note.heard_share)))


def cold_words(cold: bool | None, footings: Sequence[ColdFooting]) -> str:  # noqa: FBT001 - what `is_cold` gave
    """Say whether the engine was cold, with what that stands on, and with what doubt."""
    key = "cold" if cold else "warm"
    if cold and all(one.doubtful for one in footings):
        key = "doubtful"
    # What is doubtful speaks only where nothing else does.
    footings = tuple(one for one in footings if not one.doubtful) or footings
    if cold is None:
        key = "at odds" if footings else "unknown"
    told = "; ".join(_footing(one) for one in footings)
    return str(_words()["cold"][key].format(footings=told))


def kind_words(kind: str) -> str:
    """Name a sort of noise."""
    return str(_words()["kinds"][kind])


def caution() -> str:
    """Give the caution that stands beside every note."""
    return str(_words()["caution"])


def describes() -> str:
    """Say what the figures are and what they are not."""
    return str(_words()["describes"])


def report_words(name: str) -> str:
    """Give a heading of the report's section."""
    return str(_words()["report"][name])


def picture_words(note: EngineNote) -> str:
    """Say in words what the picture of a note shows, figures and all."""
    words = _words()["picture"]
    events = []
    if note.first_turn_s is not None:
        events.append(words["turns"].format(at=moment(note.first_turn_s)))
    if note.fires_s is not None:
        events.append(words["fires"].format(at=moment(note.fires_s)))
    for name, key in (("fast_idle_rpm", "fast"), ("idle_rpm", "idle")):
        figure = note.figure(name)
        if figure is not None:
            events.append(words[key].format(rpm=number(figure.value, "rpm")))
    if note.hearing is Hearing.NOT_HEARD:
        events.append(words["none"])
    shown = note.spectrogram
    end_s = shown.start_s + shown.step_s * (len(shown.rows[0]) if shown.rows else 0)
    return str(words["alt"].format(start=moment(shown.start_s), end=moment(end_s), events=" ".join(events)))


def axis_words() -> Mapping[str, str]:
    """Give the words that stand in the picture."""
    return dict(_words()["picture"])


def _footing(one: ColdFooting) -> str:
    if one.kind == "said" and one.start_s is not None:
        return f"said at {moment(one.start_s)}, '{one_line(one.words)}'"
    return one_line(one.words)


@cache
def _words() -> Mapping[str, Any]:
    return tomllib.loads(files("shutline.publish").joinpath("data/engine.toml").read_text(encoding="utf-8"))
