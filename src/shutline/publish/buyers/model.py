"""The buyer's page as a value: every word chosen, nothing left for the template but how it looks."""

from __future__ import annotations

from dataclasses import dataclass, field

from shutline.publish.report.model import ReportModel


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of a film that can be gone to: which film, seconds, and the link in words."""

    film: int
    at_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """A stretch of a film: from when, seconds and in words, and what is there."""

    at_s: float
    moment: str
    name: str


@dataclass(frozen=True, slots=True)
class Line:
    """Words that are said from one moment to another, seconds."""

    from_s: float
    until_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Film:
    """A film made ready: the recording it is of, its bytes' size, its picture, its chapters and captions.

    `captions` and `chapters_vtt` are WebVTT; `masks` say what is covered in it; `muted` that it is silent here and
    there.
    """

    recording: str
    number: int
    name: str
    note: str
    byte_size: int
    width: int
    height: int
    poster: bytes | None = field(repr=False)
    chapters: tuple[Chapter, ...]
    lines: tuple[Line, ...]
    captions: str = field(repr=False)
    chapters_vtt: str = field(repr=False)
    masks: tuple[str, ...] = ()
    muted: bool = False

    @property
    def file(self) -> str:
        """Where it lies."""
        return f"film/film-{self.number}.mp4"


@dataclass(frozen=True, slots=True)
class HeardPlace:
    """A place that was spoken of and of which nothing is confirmed, with the moments."""

    name: str
    moments: tuple[Moment, ...]


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A figure read off a picture: what of, where on the car, and the figure with its unit."""

    label: str
    place: str
    words: str
    moment: Moment | None


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """A question with its answer, what it stands on, and where to see it."""

    question: str
    answer: str
    stands_on: tuple[str, ...]
    moment: Moment | None


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Some of the words the car is offered with; `heading` is empty where none stands over them."""

    heading: str
    words: str


@dataclass(frozen=True, slots=True)
class BuyersPage:
    """All of a buyer's page.

    `report` is the report of the public car file: its words, its Plan and its pictures are those of the page.
    `moments` are where each finding was spoken of, by its id. `description` is the words the car is offered with, empty
    where none were written. `report_size` is in words, empty where there is no report on paper. `unread_films` is how
    many films there are that could not be read, and are not on it.
    """

    title: str
    made: str
    report: ReportModel
    films: tuple[Film, ...]
    moments: dict[str, Moment]
    heard: tuple[HeardPlace, ...]
    readings: tuple[ReadingLine, ...]
    answers: tuple[AnswerLine, ...]
    description: tuple[Paragraph, ...]
    report_size: str
    unread_films: int = 0
