"""The report as a PDF: tagged, its text selectable, its typefaces inside, the same bytes for the same model."""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import Problem
from shutline.publish.report.model import EngineHeard, Figure, Illustration, MeasuredGauge, ReportModel
from shutline.publish.report.times import instant
from shutline.publish.typeset import typeset
from shutline.publish.wording import phrase, wording

if TYPE_CHECKING:
    from collections.abc import Iterator

# The drawing names the face by the name it has on pages; the PDF's own cut has another (see fonts/README.md).
_DRAWING_FACE = re.compile(r"font-family=\"[^\"]*\"")
_PAPER_FACE = 'font-family="Shutline Sans"'


def report_pdf(model: ReportModel) -> bytes:
    """Set a report as a PDF.

    Parameters
    ----------
    model : ReportModel

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1. All words go to the typesetter as data, never as markup. Characters that the typefaces do
        not have are told by their name.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files.
    """
    (pdf,) = typeset(
        "report/templates/report.typ",
        lambda root: _prepared(model, root),
        made_at=instant(model.made_at),
        trouble=Problem(
            "report-not-set",
            "report",
            "the PDF could not be made",
            "the page can still be made",
            "See whether the disk is full; if it is not, report this with the message.",
        ),
    )
    return pdf


def _prepared(model: ReportModel, root: Path) -> dict[str, Any]:
    """Write pictures beside the text, and give the text as plain values with only characters that can be set."""
    data = _values(model, root)
    return {"m": data, "w": _settable(wording()), "made": settable(phrase("report.made", date=model.made_words))}


def _values(value: Any, root: Path) -> Any:
    if isinstance(value, Illustration):
        (root / f"{value.key}.jpg").write_bytes(value.data)
        return {"file": f"{value.key}.jpg", "alt": settable(value.alt), "caption": settable(value.caption)}
    if isinstance(value, EngineHeard | MeasuredGauge) and value.drawing:
        name = f"engine-{len(list(root.glob('engine-*.svg'))) + 1}.svg"
        (root / name).write_text(_DRAWING_FACE.sub(_PAPER_FACE, value.drawing), encoding="utf-8")
        plain = {field.name: _values(getattr(value, field.name), root) for field in fields(value)}
        return {**plain, "drawing": name}
    if isinstance(value, Figure):
        (root / "plan.svg").write_text(_DRAWING_FACE.sub(_PAPER_FACE, value.wide), encoding="utf-8")
        return {"file": "plan.svg", "alt": settable(value.alt), "caption": [settable(line) for line in value.caption]}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _values(getattr(value, field.name), root) for field in fields(value)}
    if isinstance(value, tuple):
        return [_values(item, root) for item in value]
    return settable(value) if isinstance(value, str) else value


def _settable(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _settable(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_settable(item) for item in value]
    return settable(value) if isinstance(value, str) else value


def settable(text: str) -> str:
    """Give the text with what the typefaces cannot set told in brackets.

    A sign is told by its Unicode name, a run of letters by the name of its script and how many there were.

    Examples
    --------
    >>> settable("Well" + chr(0x2026) + " " + chr(0x1F697))
    'Well… [automobile]'
    """
    text = unicodedata.normalize("NFC", text)
    return "".join(piece for piece in _pieces(text))


def _pieces(text: str) -> Iterator[str]:
    run = ""
    for char in text:
        if _can_set(char):
            yield from _told(run)
            run = ""
            yield char
        elif not _is_silent(char):
            run += char
    yield from _told(run)


def _told(run: str) -> Iterator[str]:
    if not run:
        return
    names = [unicodedata.name(char, "") for char in run]
    if any(unicodedata.category(char)[0] == "L" for char in run):
        script = next((name.split()[0].capitalize() for name in names if name), "")
        yield f"[{len(run)} characters in {script or 'another'} script]"
        return
    yield "[" + ", ".join(name.lower() or f"U+{ord(char):04X}" for name, char in zip(names, run, strict=True)) + "]"


def _is_silent(char: str) -> bool:
    """Tell whether a character leaves no mark by itself: variation selectors, joiners, direction marks."""
    return unicodedata.category(char) == "Cf" or 0xFE00 <= ord(char) <= 0xFE0F


def _can_set(char: str) -> bool:
    starts, ends = _coverage()
    at = bisect_right(starts, ord(char)) - 1
    return at >= 0 and ord(char) <= ends[at] and not _is_silent(char)


@cache
def _coverage() -> tuple[tuple[int, ...], tuple[int, ...]]:
    lines = files("shutline.publish").joinpath("fonts/coverage.txt").read_text(encoding="utf-8").splitlines()
    spans = [tuple(int(code, 16) for code in line.split("-")) for line in lines]
    return tuple(span[0] for span in spans), tuple(span[1] for span in spans)
