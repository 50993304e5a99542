"""The statement of what changed as a PDF: a page to sign, then the schedule; all words go in as data."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, Literal

from shutline.car.errors import Problem
from shutline.publish.changed.model import ChangedModel, words
from shutline.publish.report.model import Illustration
from shutline.publish.report.paper import settable
from shutline.publish.report.times import instant
from shutline.publish.typeset import typeset


def changed_pdf(model: ChangedModel) -> bytes:
    """Set a statement as a PDF.

    Parameters
    ----------
    model : ChangedModel

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1, the same bytes for the same model. The first page is the one to sign.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files (slug ``statement-not-set``).
    """
    return _set(model, form="pdf")[0]


def changed_pages(model: ChangedModel) -> tuple[bytes, ...]:
    """Set the same as pictures, one for each page, PNG, 794 pixels wide (96 to the inch); raises as `changed_pdf`."""
    return _set(model, form="png")


def _set(model: ChangedModel, *, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    return typeset(
        "changed/templates/changed.typ",
        lambda root: {
            "m": _values(model, root),
            "w": {key: settable(text) for key, text in words()["statement"].items()},
        },
        made_at=instant(model.made_at),
        trouble=Problem(
            "statement-not-set",
            "statement of what changed",
            "it could not be made",
            "what changed can still be shown in words",
            "See whether the disk is full; if it is not, report this with the message.",
        ),
        form=form,
    )


def _values(value: Any, root: Path) -> Any:
    if isinstance(value, Illustration):
        (root / f"{value.key}.jpg").write_bytes(value.data)
        return {"file": f"{value.key}.jpg", "alt": settable(value.alt), "caption": settable(value.caption)}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _values(getattr(value, field.name), root) for field in fields(value)}
    if isinstance(value, tuple):
        return [_values(item, root) for item in value]
    return settable(value) if isinstance(value, str) else value
