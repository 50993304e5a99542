"""The pictures of a report: small enough to send, without what else their files tell, each shown once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside a finding: pictures, a note on one that is not, and the number it is beside, 0 for none."""

    pictures: tuple[Illustration, ...]
    note: str = ""
    see: int = 0


class Album:
    """The pictures of one report: hands each out once, and remembers beside which number.

    `stills` are named by their SHA-256, `pictures` taken by hand by their id. Bytes are made ready here, a
    `BarePicture` is shown as it is. A picture of several findings stands with the first one asked for, or with the one
    that it was kept for.
    """

    def __init__(
        self, stills: Mapping[str, bytes | BarePicture], pictures: Mapping[str, BarePicture] | None = None
    ) -> None:
        self._stills = stills
        self._pictures = pictures or {}
        self._home: dict[str, int] = {}
        self._made: dict[str, BarePicture | None] = {}
        self._absent: list[str] = []
        self._unreadable: list[str] = []

    def keep_for(self, number: int, kept: KeptFinding) -> None:
        """Keep the pictures of a finding for it, but for those that are kept for another."""
        for key in (*(one.sha256 for one in kept.stills), *self._by_hand(kept)):
            self._home.setdefault(key, number)

    def beside(self, number: int, kept: KeptFinding, words: str) -> Beside:
        """Give the pictures for a finding, and a note where a picture is shown elsewhere or is not at hand."""
        pictures: list[Illustration] = []
        note, see = "", 0
        for still in {one.sha256: one for one in kept.stills}.values():
            at = moment(still.at_s)
            ready = self._ready(still.sha256)
            if ready is None:
                (self._unreadable if still.sha256 in self._stills else self._absent).append(at)
                note = note or phrase("pictures.absent")
                continue
            home = self._home.setdefault(still.sha256, number)
            if home != number:
                # Nobody tied the picture of another finding to one that was entered by hand.
                if not kept.finding.by_hand:
                    note, see = (note, see) if note else (phrase("pictures.see", number=home), home)
                continue
            alt = phrase("pictures.alt_entered" if kept.finding.by_hand else "pictures.alt", moment=at, words=words)
            pictures.append(_illustration(number, len(pictures), ready, alt, phrase("pictures.caption", moment=at)))
        for source in self._by_hand(kept):
            home = self._home.setdefault(source, number)
            if home != number:
                note, see = (note, see) if note else (phrase("pictures.see", number=home), home)
                continue
            alt, caption = phrase("pictures.alt_by_hand", words=words), phrase("pictures.caption_plain")
            pictures.append(_illustration(number, len(pictures), self._pictures[source], alt, caption))
        return Beside(tuple(pictures), note, see)

    def _by_hand(self, kept: KeptFinding) -> tuple[str, ...]:
        seen = (one.source for one in kept.finding.footings if one.kind is FootingKind.SEEN)
        return tuple(dict.fromkeys(source for source in seen if source in self._pictures))

    def _ready(self, sha256: str) -> BarePicture | None:
        if sha256 not in self._made:
            data = self._stills.get(sha256)
            self._made[sha256] = _ready(data) if isinstance(data, bytes) else data
        return self._made[sha256]

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
