"""The pictures of a report: small enough to send, without what else their files tell, each shown once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from shutline.car.errors import Problem
from shutline.car.findings import FootingKind
from shutline.publish.bare import BarePicture, bare_picture
from shutline.publish.report.model import Illustration
from shutline.publish.report.times import moment
from shutline.publish.wording import phrase

if TYPE_CHECKING:
    from shutline.car.carfile import KeptFinding

# Wide enough for a column of the page on a fine screen; a camera's own size would make the file ten times as large.
LONGEST_SIDE_PX = 960
QUALITY = 80


class Album:
    """The pictures of one report: hands each out once, and remembers beside which number.

    `stills` are named by their SHA-256, `pictures` taken by hand by their id. Bytes are made ready here, a
    `BarePicture` is shown as it is.
    """

    def __init__(
        self, stills: Mapping[str, bytes | BarePicture], pictures: Mapping[str, BarePicture] | None = None
    ) -> None:
        self._stills = stills
        self._pictures = pictures or {}
        self._shown: dict[str, int] = {}
        self._absent: list[str] = []
        self._unreadable: list[str] = []

    def beside(self, number: int, kept: KeptFinding, words: str) -> tuple[tuple[Illustration, ...], str]:
        """Give the pictures for a finding, and a note where a picture is shown elsewhere or is not at hand."""
        pictures: list[Illustration] = []
        note = ""
        for still in kept.stills:
            if still.sha256 in self._shown:
                note = note or phrase("pictures.see", number=self._shown[still.sha256])
                continue
            at = moment(still.at_s)
            data = self._stills.get(still.sha256)
            ready = _ready(data) if isinstance(data, bytes) else data
            if ready is None:
                (self._absent if data is None else self._unreadable).append(at)
                note = note or phrase("pictures.absent")
                continue
            self._shown[still.sha256] = number
            alt = phrase("pictures.alt", moment=at, words=words)
            pictures.append(_illustration(number, len(pictures), ready, alt, phrase("pictures.caption", moment=at)))
        for footing in kept.finding.footings:
            by_hand = self._pictures.get(footing.source) if footing.kind is FootingKind.SEEN else None
            if by_hand is None:
                continue
            if footing.source in self._shown:
                note = note or phrase("pictures.see", number=self._shown[footing.source])
                continue
            self._shown[footing.source] = number
            alt = phrase("pictures.alt_by_hand", words=words)
            pictures.append(_illustration(number, len(pictures), by_hand, alt, phrase("pictures.caption_plain")))
        return tuple(pictures), note

    def problems(self) -> tuple[Problem, ...]:
        """Give what is wrong with the stills asked for so far, one problem for each kind of trouble."""
        return tuple(
            Problem(
                "still-not-shown",
                f"stills at {', '.join(dict.fromkeys(moments))}",
                found,
                "the report gives their words without them",
                "Take the stills again",
            )
            for moments, found in (
                (self._absent, "the pictures are not at hand"),
                (self._unreadable, "the files cannot be read as pictures"),
            )
            if moments
        )


def _ready(data: bytes) -> BarePicture | None:
    return bare_picture(data, longest_side_px=LONGEST_SIDE_PX, quality=QUALITY)


def _illustration(number: int, before: int, ready: BarePicture, alt: str, caption: str) -> Illustration:
    return Illustration(f"still-{number}-{before + 1}", ready.jpeg, ready.width, ready.height, alt, caption)
