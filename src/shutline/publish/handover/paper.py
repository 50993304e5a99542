"""The handover sheet as a PDF; all words go in as data."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict
from datetime import UTC
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from shutline.car.errors import BrokenWorldError, Problem
from shutline.publish.buyers.wording import words
from shutline.publish.handover.model import HandoverModel
from shutline.publish.report.paper import settable
from shutline.publish.report.times import instant


def handover_pdf(model: HandoverModel) -> bytes:
    """Set a handover sheet as a PDF.

    Parameters
    ----------
    model : HandoverModel

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1, the same bytes for the same model.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files (slug ``handover-not-set``).
    """
    import typst

    package = files("shutline.publish")
    try:
        with (
            tempfile.TemporaryDirectory(prefix="shutline-handover-") as folder,
            as_file(package.joinpath("fonts")) as fonts,
        ):
            root = Path(folder)
            (root / "handover.typ").write_bytes(package.joinpath("handover/handover.typ").read_bytes())
            book = {"m": _set(asdict(model)), "w": _set(dict(words("handover")))}
            (root / "handover.json").write_text(json.dumps(book), encoding="utf-8")
            pdf = typst.compile(
                root / "handover.typ",
                root=root,
                font_paths=[fonts],
                ignore_system_fonts=True,
                format="pdf",
                pdf_standards=["1.7", "ua-1"],
                timestamp=int(instant(model.made_at).astimezone(UTC).timestamp()),
            )
    except (OSError, typst.TypstError) as error:
        problem = Problem(
            "handover-not-set",
            "handover sheet",
            f"the PDF could not be made: {error}",
            "the sealed file is whole without it",
            "See whether the disk is full; if it is not, report this with the message.",
        )
        raise BrokenWorldError(problem) from error
    return bytes(pdf)


def _set(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _set(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_set(inner) for inner in value]
    return settable(value) if isinstance(value, str) else value
