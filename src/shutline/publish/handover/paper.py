"""The handover sheet as a PDF; all words go in as data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from shutline.car.errors import Problem
from shutline.publish.buyers.wording import words
from shutline.publish.handover.model import HandoverModel
from shutline.publish.report.paper import settable
from shutline.publish.report.times import instant
from shutline.publish.typeset import typeset


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
    (pdf,) = typeset(
        "handover/handover.typ",
        lambda _: {"m": _set(asdict(model)), "w": _set(dict(words("handover")))},
        made_at=instant(model.made_at),
        trouble=Problem(
            "handover-not-set",
            "handover sheet",
            "the PDF could not be made",
            "the sealed file is whole without it",
            "See whether the disk is full; if it is not, report this with the message.",
        ),
    )
    return pdf


def _set(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _set(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_set(inner) for inner in value]
    return settable(value) if isinstance(value, str) else value
