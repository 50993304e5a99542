"""What somebody brings in together, for one car, as records: what was announced, what came, how far the work is."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

import msgspec

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Drive
from shutline.car.recordings import Kind
from shutline.usecases.add import AddedItem
from shutline.usecases.known import KnownFile

State = Literal["arriving", "waiting", "asking", "working", "stopped", "done"]
"""Being sent, waiting for its turn, for an answer whose it is, being worked on, stopped on the way, done to its end."""


@dataclass(frozen=True, slots=True)
class UploadLimits:
    """What may be sent; the figures stand in ``data/uploads.toml``."""

    most_file_bytes: int
    most_files: int
    most_deliveries: int
    piece_bytes: int
    most_piece_bytes: int
    spare_bytes: int
    sending_s: float


@dataclass(frozen=True, slots=True)
class AnnouncedFile:
    """A file somebody means to send: the name it has there, its size, and of which of the files it holds the words."""

    name: str
    byte_size: int
    words_of: int | None = None


@dataclass(frozen=True, slots=True)
class Announced:
    """What somebody means to send together: to a car by its name, or to a new one by its title."""

    files: tuple[AnnouncedFile, ...]
    car: str | None = None
    title: str = ""
    drive: Drive | None = None


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file of a delivery.

    `received` bytes of `byte_size` are on the disk; `sha256` is set once all are and agree with what the sender
    counted, and `kind` and `length_s` once it was looked into. `words_of` is the place of the recording whose words it
    holds. `recording` is set where nothing is sent and a recording that the store has is gone on with, `picture` where
    a picture that it has is read. `problem` says why nothing can be taken from it, `item` what came of it.
    """

    name: str
    byte_size: int
    received: int = 0
    words_of: int | None = None
    sha256: str | None = None
    kind: Kind | None = None
    length_s: float | None = None
    recording: str | None = None
    picture: str | None = None
    problem: Problem | None = None
    item: AddedItem | None = None

    def settled(self) -> bool:
        """Tell whether nothing of it is to come any more."""
        return self.problem is not None or self.sha256 is not None

    def to_do(self) -> bool:
        """Tell whether it is to be worked on."""
        return self.problem is None and self.item is None


@dataclass(frozen=True, slots=True)
class Now:
    """Where the work on a delivery is: which file, which stage of it, and how much of that is done, 0 to 1."""

    file: int
    stage: str
    done: float


@dataclass(frozen=True, slots=True)
class Delivery:
    """What was brought in together, and how far it has come.

    `car` is None until a new one is made; `title` is that of the car once it is there. `problem` says what stopped it.
    `now` is set while it is worked on; `sending` is True while bytes of it come in. `known` are the cars that have a
    recording of it already, while it is asked whether it is of one of them; `as_new` is True once somebody has said
    that it is not. `note` is the place of a note made at the car, where it is one that is to be heard or read.
    """

    id: str
    at: str
    author: str
    state: State
    files: tuple[SentFile, ...]
    car: str | None = None
    title: str = ""
    drive: Drive | None = None
    problem: Problem | None = None
    now: Now | None = None
    sending: bool = False
    known: tuple[KnownFile, ...] = ()
    as_new: bool = False
    note: str | None = None


_LONGEST_NAME = 200


@cache
def upload_limits() -> UploadLimits:
    """Read the shipped limits once."""
    text = files("shutline.web").joinpath("data/uploads.toml").read_text(encoding="utf-8")
    return msgspec.convert(tomllib.loads(text), UploadLimits)


def clean(text: str) -> str:
    """Give text that can be kept and shown: signs that steer, and halves of signs, are replaced."""
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in whole)


def base_name(name: str) -> str:
    r"""Give the last part of a name somebody gave for a file; it is shown and kept, and never used as a path.

    >>> base_name("../../walk <b>.mp4"), base_name("C:\\films\\walk.mp4"), base_name("..")
    ('walk <b>.mp4', 'walk.mp4', 'unnamed')
    """
    last = clean(name).replace("\\", "/").rsplit("/", 1)[-1].strip()[:_LONGEST_NAME]
    return last if last.strip(".") else "unnamed"


def in_words(size: float) -> str:
    """Give a number of bytes in the largest unit that leaves it above one.

    >>> in_words(2_100_000_000), in_words(812)
    ('2.1 GB', '812 bytes')
    """
    for unit, worth in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if size >= worth:
            return f"{size / worth:.1f} {unit}"
    return f"{size:.0f} bytes"


def asked_wrongly(found: str, allowed: str, advice: str) -> UserError:
    """Say that this cannot be asked for."""
    return UserError(
        Problem(slug="upload-asked", where="the files to be brought in", found=found, allowed=allowed, advice=advice)
    )


def unknown_delivery(what: str) -> NotFoundError:
    """Say that there is no such delivery."""
    return NotFoundError(
        Problem(
            slug="upload-unknown",
            where=f"delivery {what[:60]}",
            found="there is no such delivery any more",
            allowed="those that stand on the page",
            advice="Choose the files again.",
        )
    )


def gap(file: SentFile, at: int) -> UserError:
    """Say that bytes are missing before those that came."""
    return UserError(
        Problem(
            slug="upload-gap",
            where=file.name,
            found=f"{file.received} bytes are here, and what comes next was said to stand at {at}",
            allowed=f"pieces that begin at {file.received} or before it",
            advice="Go on from there.",
        )
    )


def too_long(file: SentFile, end: int) -> UserError:
    """Say that more came than was announced."""
    return UserError(
        Problem(
            slug="upload-too-long",
            where=file.name,
            found=f"bytes up to {end}",
            allowed=f"{file.byte_size} bytes, as was said when it was begun",
            advice="Choose the file again: it has changed since.",
        )
    )


def taken_over(name: str) -> UserError:
    """Say that another sender has the file now."""
    return UserError(
        Problem(
            slug="upload-taken-over",
            where=name,
            found="it is being sent from somewhere else, or over a newer connection",
            allowed="one sender at a time; nothing of what came is lost",
            advice="Let the other one finish.",
        )
    )


def differs(name: str) -> UserError:
    """Say that what came is not what was sent."""
    return UserError(
        Problem(
            slug="upload-differs",
            where=name,
            found="what came in has another SHA-256 than the file it was sent from",
            allowed="the same bytes",
            advice="Send it again; it may have changed while it was sent.",
        )
    )


def too_large(file: SentFile, limits: UploadLimits) -> Problem:
    """Say that a file is larger than what is taken."""
    return Problem(
        slug="upload-too-large",
        where=file.name,
        found=in_words(file.byte_size),
        allowed=f"at most {in_words(limits.most_file_bytes)} a file in the workbench",
        advice="Add it on the command line: `shutline add` takes any size.",
    )


def left_out(file: SentFile) -> Problem:
    """Say that a file was done without."""
    return Problem(
        slug="upload-left-out",
        where=file.name,
        found=f"left out after {in_words(file.received)} of {in_words(file.byte_size)}",
        allowed="the other files were brought in without it",
        advice="Bring it in by itself when it is at hand.",
    )
