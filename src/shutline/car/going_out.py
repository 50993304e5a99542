"""What is kept of what goes out: sealed files, share links, accepted words, and the words that may not leave."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Occasion(StrEnum):
    """Why a car file is sealed."""

    OFFERED = "offered"
    SOLD = "sold"


class Edition(StrEnum):
    """For whom a car file is sealed."""

    FIRM = "firm"
    """All that is kept, private words and what was struck too."""
    BUYER = "buyer"
    """What the buyer's page shows, and how it came about, without anybody's name."""


@dataclass(frozen=True, slots=True)
class SealedFile:
    """A sealed file as it was made.

    `number` is the SHA-256 of its tag manifest, `former` that of the one before it, None for the first. `originals`
    tells whether they lie inside; else only their hashes do. `folder` is where it was written.
    """

    number: str
    former: str | None
    occasion: Occasion
    edition: Edition
    originals: bool
    fingerprint: str
    folder: str
    files: int
    byte_size: int
    stamped: bool
    at: str
    author: str


@dataclass(frozen=True, slots=True)
class Share:
    """A link under which the buyer's page of a car is shown without a login.

    `token` is the part of the address that nobody can guess. It ends at `until` (ISO 8601, UTC), None for no time of
    its own, or at `ended_at`, when somebody ended it.
    """

    token: str
    car: str
    at: str
    author: str
    until: str | None = None
    ended_at: str | None = None
    ended_by: str | None = None


class PrivateKind(StrEnum):
    """What sort of thing may not leave."""

    KEEPER = "keeper"
    ADDRESS = "address"
    PLACE = "place"
    PRICE = "price"
    OTHER = "other"
    NO_NAME = "no-name"
    """The other way round: a word that is taken for somebody's name by itself, and is none. It may leave."""


@dataclass(frozen=True, slots=True)
class PrivateWords:
    """Words of one car that go out nowhere, or that are no name; taken back at `ended_at`."""

    id: int
    kind: PrivateKind
    words: str
    at: str
    author: str
    ended_at: str | None = None
    ended_by: str | None = None


@dataclass(frozen=True, slots=True)
class OfferedText:
    """A text that a person accepted in the place of the program's draft.

    `words` are as they were accepted, `former` the text whose place they took. `mark` is of all that stood in the car
    file then: words go out only while the same stands. `vouched` are the words in it that nothing read, for which
    `author` answers. `ended_at` and `ended_by` tell who took it back, None while nobody has.
    """

    id: int
    words: str
    former: str
    mark: str
    at: str
    author: str
    ended_at: str | None = None
    ended_by: str | None = None
    vouched: tuple[str, ...] = ()
