"""A draft of a description: paragraphs of sentences, each with what it stands on, and what was left out and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.car.findings import FootingKind


class Length(StrEnum):
    """How long a description is."""

    LINE = "line"
    SHORT = "short"
    FULL = "full"


class FootedOn(StrEnum):
    """What sort of thing a sentence stands on."""

    FINDING = "finding"
    FACT = "fact"
    CHECK = "check"
    """A check of the guide that nothing in the car file speaks to."""
    HOUSE = "house"
    """What the house says of itself in its settings."""
    FILE = "file"
    """The car file as a whole: its title, its recordings, or that something is nowhere in it."""


@dataclass(frozen=True, slots=True)
class Footed:
    """One thing that a sentence stands on.

    `id` is that of a finding, a fact or a check, or the name of a setting or field. `kind` is said, seen, measured or
    written, None for what is none of them; `source` the id of the recording, picture, reading or paper; `at_s` the
    moment in seconds, None where there is none. No words that were said are in it: it may go out.
    """

    on: FootedOn
    id: str
    kind: FootingKind | None = None
    source: str = ""
    at_s: float | None = None


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence and what it stands on, never nothing. `faults` are the ids of the faults and doubts it names."""

    text: str
    stands_on: tuple[Footed, ...]
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Sentences that belong together. `section` is its name, ``outside``; `heading` empty where none is printed."""

    section: str
    heading: str
    sentences: tuple[Sentence, ...]

    @property
    def text(self) -> str:
        """Its sentences as one run of text."""
        return " ".join(sentence.text for sentence in self.sentences)


@dataclass(frozen=True, slots=True)
class Untold:
    """A finding or a fact that might have been told and is not: its id, what it is in words, and why not."""

    id: str
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Draft:
    """A description.

    `title` is its first line, with what it stands on. `waiting` counts findings that were heard and that nobody has let
    stand yet: none of them is in it. `untold` names what else was left out. `faults` are the ids of all faults and
    doubts that stand, told or not; `as_said` those of the facts that were heard and nobody has confirmed.
    """

    car: str
    length: Length
    title: Sentence
    paragraphs: tuple[Paragraph, ...]
    waiting: int = 0
    untold: tuple[Untold, ...] = ()
    faults: tuple[str, ...] = ()
    as_said: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[Sentence, ...]:
        """All sentences in their order, the title left out."""
        return tuple(sentence for paragraph in self.paragraphs for sentence in paragraph.sentences)
