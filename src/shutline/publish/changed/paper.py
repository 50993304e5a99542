"""The statement of what changed as a PDF: a page to sign, then the schedule; all words go in as data."""

from __future__ import annotations

import json
import tempfile
from dataclasses import fields, is_dataclass
from datetime import UTC
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Literal

from shutline.car.errors import BrokenWorldError, Problem
from shutline.publish.changed.model import ChangedModel, words
from shutline.publish.report.model import Illustration
from shutline.publish.report.paper import settable
from shutline.publish.report.times import instant


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
    made = _set(model, form="pdf")
    return made if isinstance(made, bytes) else made[0]


def changed_pages(model: ChangedModel) -> tuple[bytes, ...]:
    """Set the same as pictures, one for each page, PNG, 794 pixels wide (96 to the inch); raises as `changed_pdf`."""
    made = _set(model, form="png")
    return (made,) if isinstance(made, bytes) else tuple(made)


def _set(model: ChangedModel, *, form: Literal["pdf", "png"]) -> bytes | list[bytes]:
    import typst

    package = files("shutline.publish")
    more = {"pdf_standards": ["1.7", "ua-1"]} if form == "pdf" else {"ppi": 96.0}
    try:
        with (
            tempfile.TemporaryDirectory(prefix="shutline-changed-") as folder,
            as_file(package.joinpath("fonts")) as fonts,
        ):
            root = Path(folder)
            (root / "changed.typ").write_bytes(package.joinpath("changed/templates/changed.typ").read_bytes())
            data = {"m": _values(model, root), "w": {key: settable(text) for key, text in words()["statement"].items()}}
            (root / "changed.json").write_text(json.dumps(data), encoding="utf-8")
            made: Any = typst.compile(
                root / "changed.typ",
                root=root,
                font_paths=[fonts],
                ignore_system_fonts=True,
                format=form,
                timestamp=int(instant(model.made_at).astimezone(UTC).timestamp()),
                **more,
            )
            return made if isinstance(made, bytes) else list(made)
    except (OSError, typst.TypstError) as error:
        problem = Problem(
            "statement-not-set",
            "statement of what changed",
            f"it could not be made: {error}",
            "what changed can still be shown in words",
            "See whether the disk is full; if it is not, report this with the message.",
        )
        raise BrokenWorldError(problem) from error


def _values(value: Any, root: Path) -> Any:
    if isinstance(value, Illustration):
        (root / f"{value.key}.jpg").write_bytes(value.data)
        return {"file": f"{value.key}.jpg", "alt": settable(value.alt), "caption": settable(value.caption)}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _values(getattr(value, field.name), root) for field in fields(value)}
    if isinstance(value, tuple):
        return [_values(item, root) for item in value]
    return settable(value) if isinstance(value, str) else value
