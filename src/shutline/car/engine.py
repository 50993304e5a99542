"""What was heard of an engine at a start, in figures; it describes and does not diagnose."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Hearing(StrEnum):
    """How well the engine was heard."""

    CLEAR = "clear"
    """Its beat stood well above everything else nearly all the time."""
    FAIR = "fair"
    """It stood above the rest, not by much or not all the time."""
    NOT_HEARD = "not heard"
    """No figure of its speed is given."""


class Sound(StrEnum):
    """What sort of noise is offered to be listened to."""

    KNOCK = "knock"
    """A short burst over the beat of the engine."""
    WHISTLE = "whistle"
    """A tone that holds: a belt that squeals, a bearing, air through a gap."""


@dataclass(frozen=True, slots=True)
class EngineFigure:
    """One figure with the bounds it lies between.

    `name` is an id of `gauge/engine/data/figures.csv`. `unit` is ``s``, ``rpm``, ``%`` or ``times``. `low` and `high`
    bound it as far as the method goes; what the sound itself hides is not in them.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class Untold:
    """A figure that is not given, and why: an id of `gauge/engine/data/reasons.csv`."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Burst:
    """A moment to listen to, seconds from the start of the recording; `over_db` is how far it stands out."""

    kind: Sound
    start_s: float
    end_s: float
    over_db: float


@dataclass(frozen=True, slots=True)
class Trace:
    """The speed along time.

    `times_s` count from the start of the recording; `rpm` are turns of the crankshaft a minute, None where it was not
    heard.
    """

    times_s: tuple[float, ...] = ()
    rpm: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Spectrogram:
    """How strong each rate of beating is along time, for a picture.

    A row is one rate, the slowest first: a digit for each step of time, 0 faint to 9 strong. Rates are turns a minute
    at which the engine would fire so often.
    """

    start_s: float = 0.0
    step_s: float = 0.0
    rpm: tuple[float, ...] = ()
    rows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EngineNote:
    """What was heard of one start in one recording.

    Times are seconds from the start of the recording, None where it was not heard. `start_s` to `end_s` is what was
    listened to: found by the program, or marked by a person (`marked`). A four-stroke engine of n cylinders fires n / 2
    times a turn, a two-stroke one n times; `cylinders_from` says what that number stands on.
    """

    recording: str
    start_s: float
    end_s: float
    marked: bool
    cylinders: int
    strokes: int
    hearing: Hearing
    first_turn_s: float | None = None
    fires_s: float | None = None
    runs_from_s: float | None = None
    runs_to_s: float | None = None
    heard_share: float = 0.0
    figures: tuple[EngineFigure, ...] = ()
    untold: tuple[Untold, ...] = ()
    bursts: tuple[Burst, ...] = ()
    trace: Trace = Trace()
    spectrogram: Spectrogram = Spectrogram()

    def figure(self, name: str) -> EngineFigure | None:
        """Give a figure by its name, None where it was not told."""
        return next((one for one in self.figures if one.name == name), None)


@dataclass(frozen=True, slots=True)
class ColdReadings:
    """What a person read before the start, None where nothing was: °C, and hours since it last ran."""

    coolant_c: float | None = None
    outside_c: float | None = None
    standing_h: float | None = None


@dataclass(frozen=True, slots=True)
class ColdFooting:
    """One thing that bears on whether the engine was cold: `cold` False where it speaks against it.

    `kind` is ``said`` or ``entered``; `words` what was said or read; `start_s` and `end_s` when it was said, seconds
    from the start of the recording `source`. A `doubtful` one counts only where there is no other.
    """

    cold: bool
    kind: str
    words: str
    source: str = ""
    start_s: float | None = None
    end_s: float | None = None
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class KeptEngineNote:
    """A note in the store, with what it was made with.

    `author` is who asked for it or entered the readings, ``program`` where nobody did; `at` is when, ISO 8601, UTC.
    `cylinders_from` is what the number of cylinders stands on: the words that told it, or who entered it. `key` is a
    hash of all that the note depends on, so that it is not made twice.
    """

    note: EngineNote
    cylinders_from: str
    readings: ColdReadings
    key: str
    author: str = ""
    at: str = ""
