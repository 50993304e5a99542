"""The report as a value: every word chosen, nothing left for a renderer to decide but how it looks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Tone(StrEnum):
    """What sort of statement a finding makes; shown by the form of its number as on the Plan."""

    FAULT = "fault"
    UNSURE = "unsure"
    GOOD = "good"
    RULED_OUT = "ruled_out"


@dataclass(frozen=True, slots=True)
class House:
    """The firm that a report is made for: its name, and lines of address or how to reach it.

    `telephone` is one of the lines, as it is said; "" for none.
    """

    name: str
    lines: tuple[str, ...] = ()
    telephone: str = ""

    @property
    def dialled(self) -> str:
        """Its number as a telephone takes it (RFC 3966): digits and a plus sign, without brackets and extension."""
        number = self.telephone.lower().partition("ext")[0].partition("x")[0]
        number = number.replace("(0)", "") if number.startswith("+") else number
        return "".join(sign for sign in number if sign.isdigit() or sign == "+")


@dataclass(frozen=True, slots=True)
class Stand:
    """One footing in words: ``Said at 1:23``, and what was said."""

    words: str
    quote: str = ""


@dataclass(frozen=True, slots=True)
class Illustration:
    """A still made ready: bytes of a JPEG without anything but the picture, size in pixels, and its words."""

    key: str
    data: bytes = field(repr=False)
    width: int
    height: int
    alt: str
    caption: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One finding.

    `words` are without the place, `at_place` with it, `detail` what was said to want doing, `state` how far it can be
    trusted. `note` stands where a picture would: one shown elsewhere, or not at hand; `see` is the number of the
    finding it is shown beside, 0 for none. `odds` says what it is at odds with, empty where nothing is.
    """

    number: int
    id: str
    tone: Tone
    words: str
    at_place: str
    place: str
    detail: str
    state: str
    confirmed: bool
    stands_on: tuple[Stand, ...]
    pictures: tuple[Illustration, ...] = ()
    note: str = ""
    odds: str = ""
    see: int = 0

    @property
    def anchor(self) -> str:
        """The id that a link in the page goes to."""
        return f"finding-{self.number}"

    @property
    def comes_first(self) -> bool:
        """Whether it is a fault, a doubt, at odds with something or only heard: what is never folded away."""
        return self.tone in (Tone.FAULT, Tone.UNSURE) or bool(self.odds) or not self.confirmed


@dataclass(frozen=True, slots=True)
class PlaceGroup:
    """All that was found at one place."""

    name: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One stretch of the walk."""

    id: str
    title: str
    places: tuple[PlaceGroup, ...]


@dataclass(frozen=True, slots=True)
class Item:
    """One finding named in the summary: its words with its place, and its number."""

    at_place: str
    number: int
    tone: Tone


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of the summary, and the numbers of the findings it stands on.

    `items` follow the text, each with its own number: one below the other where `listed`, else run on. `rest` tells
    what the sentence leaves for later. `ranges` are all numbers closed up, or those of the rest where there are items.
    """

    text: str
    numbers: tuple[int, ...] = ()
    ranges: str = ""
    items: tuple[Item, ...] = ()
    listed: bool = False
    rest: str = ""


@dataclass(frozen=True, slots=True)
class FactValue:
    """One value of a fact, with how far it can be trusted."""

    words: str
    state: str
    stands_on: tuple[Stand, ...]
    confirmed: bool


@dataclass(frozen=True, slots=True)
class FactLine:
    """A fact; `odds` is a sentence where its values do not agree, else empty."""

    label: str
    values: tuple[FactValue, ...]
    odds: str = ""


@dataclass(frozen=True, slots=True)
class SilentLine:
    """A part or fact that is not known of: its name, why it matters, and what little was said.

    Of what was put right: its place, how and when, and what was wrong.
    """

    name: str
    why: str
    breadth: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning with its heading."""

    title: str
    text: str


@dataclass(frozen=True, slots=True)
class OriginalLine:
    """A file that the report was made from."""

    name: str
    words: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Figure:
    """The Plan with its pins, as SVG: whole for paper and a desk, folded for a narrow screen; `alt` says what it is."""

    wide: str = field(repr=False)
    narrow: str = field(repr=False)
    alt: str
    caption: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EngineLine:
    """One figure of an engine: its name, its words with bounds, and what it may mean."""

    label: str
    words: str
    meaning: str


@dataclass(frozen=True, slots=True)
class EngineHeard:
    """What was heard of one start; `drawing` is SVG, empty where there is none, and `alt` says what it shows."""

    name: str
    lead: str
    lines: tuple[EngineLine, ...]
    untold: tuple[str, ...]
    moments: tuple[str, ...]
    drawing: str = field(repr=False)
    alt: str


@dataclass(frozen=True, slots=True)
class EngineSection:
    """The engine by ear: its headings, what the figures are and are not, and the starts."""

    heading: str
    describes: str
    caution: str
    untold_heading: str
    moments_heading: str
    heard: tuple[EngineHeard, ...]


@dataclass(frozen=True, slots=True)
class MeasuredLine:
    """What was measured of one thing, and what bears on it."""

    words: str
    notes: str


@dataclass(frozen=True, slots=True)
class MeasuredGauge:
    """What one gauge tells; `rest` counts the places that do not stand out; `drawing` is SVG or empty.

    `against` are what its figures were held against, or may be, with source and who decides.
    """

    name: str
    lines: tuple[MeasuredLine, ...]
    rest: str
    against: tuple[str, ...]
    use: str
    care: tuple[str, ...]
    drawing: str = field(repr=False)
    alt: str


@dataclass(frozen=True, slots=True)
class MeasuredSection:
    """What instruments say: its headings, what such figures are, and each gauge."""

    heading: str
    intro: str
    against_heading: str
    gauges: tuple[MeasuredGauge, ...]


@dataclass(frozen=True, slots=True)
class ReadOffLine:
    """One figure that a person took: what it is of, its words (a paper has several lines), and where it was read."""

    label: str
    words: tuple[str, ...]
    stands_on: tuple[Stand, ...]
    state: str


@dataclass(frozen=True, slots=True)
class ReadOffSection:
    """What was read off pictures and taken; `waiting` says how much more nobody has looked at."""

    heading: str
    intro: str
    lines: tuple[ReadOffLine, ...]
    waiting: str


@dataclass(frozen=True, slots=True)
class PaperShown:
    """One paper: what it is and of which day, what was taken off it, and its pages where they are shown."""

    name: str
    lines: tuple[str, ...]
    pages: tuple[Illustration, ...] = ()


@dataclass(frozen=True, slots=True)
class PapersSection:
    """The papers of a car, nothing private in them."""

    heading: str
    intro: str
    papers: tuple[PaperShown, ...]


@dataclass(frozen=True, slots=True)
class OddsSaid:
    """One statement of a case at odds: the id of its finding, "" for none, and the number of that, 0 for none."""

    words: str
    finding: str
    stands_on: tuple[Stand, ...]
    number: int = 0


@dataclass(frozen=True, slots=True)
class OddsLine:
    """One case of statements that cannot all be true: its sides with all that was told on each, and the last answer."""

    about: str
    why: str
    sides: tuple[tuple[OddsSaid, ...], ...]
    answers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OddsSection:
    """What is at odds: open cases, those where a person said that all can stand, and other answers in a sentence each.

    `facts` are sentences for facts that are or were at odds, by their names.
    """

    open: tuple[OddsLine, ...] = ()
    settled: tuple[OddsLine, ...] = ()
    past: tuple[str, ...] = ()
    facts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ReportModel:
    """A report, ready to be set.

    `made_at` is ISO 8601 with its offset; `made_words` the same day in words. `masks` says what is covered in the
    pictures, and what was looked for and not found. `waiting` are places of what was heard, is not confirmed, and is
    told nowhere else.
    """

    title: str
    made_at: str
    made_words: str
    house: House | None
    facts: tuple[FactLine, ...]
    summary: tuple[Sentence, ...]
    figure: Figure | None
    sections: tuple[Section, ...]
    silent: tuple[SilentLine, ...]
    passing: tuple[SilentLine, ...]
    unknown_facts: tuple[SilentLine, ...]
    left_out: tuple[SilentLine, ...]
    heard: str
    heard_facts: str
    heard_entries: tuple[Entry, ...]
    cautions: tuple[Caution, ...]
    originals: tuple[OriginalLine, ...]
    problems: tuple[str, ...]
    masks: tuple[str, ...] = ()
    engine: EngineSection | None = None
    measured: MeasuredSection | None = None
    history: MeasuredSection | None = None
    papers: PapersSection | None = None
    put_right: tuple[SilentLine, ...] = ()
    prep: MeasuredSection | None = None
    price: MeasuredSection | None = None
    read_off: ReadOffSection | None = None
    odds: OddsSection = field(default_factory=OddsSection)
    waiting: tuple[SilentLine, ...] = ()

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All findings in the order of their numbers."""
        return tuple(entry for section in self.sections for place in section.places for entry in place.entries)
