"""What a second reader makes of the same words: data to compare with, never findings."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.car.findings import Found, Position, Remedy, Severity, Side


class Verdict(StrEnum):
    """How one statement of the two readings stands to the other."""

    AGREES = "agrees"
    """Both make it."""
    OTHERWISE = "otherwise"
    """The second reading takes the same words, or the same part nearby, in another way: a person decides."""
    ASKS = "asks"
    """Only the second reading makes it: a question for a person, no finding."""
    SILENT = "silent"
    """Only our reader makes it. That another did not is no sign against it."""


class Reason(StrEnum):
    """Why something that a second reader proposed was set aside."""

    NOT_THE_FORM = "not in the form asked for"
    UNKNOWN_LINE = "a line that there is not"
    UNKNOWN_PART = "a part that there is not"
    UNKNOWN_CONDITION = "a condition that there is not"
    GOOD_NOT_FOUND = "a good condition not found"
    NOT_SAID = "a quote that was not said"
    REPEATED = "said again"
    TOO_MANY = "more than is taken"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A statement that a second reader proposes, after it was checked.

    `first` and `last` are the numbers, from 0, of the first and last word of its quote: in a `PieceAnswer` among the
    words of the piece, else among all words of the recording. None of the service's own text is kept.
    """

    part: str
    condition: str
    found: Found
    first: int
    last: int
    side: Side | None = None
    position: Position | None = None
    severity: Severity | None = None
    remedy: Remedy | None = None


@dataclass(frozen=True, slots=True)
class SetAside:
    """How many of the statements proposed were set aside for one reason."""

    reason: Reason
    count: int


@dataclass(frozen=True, slots=True)
class PieceAnswer:
    """What was answered to one piece of the words; kept under a hash of all that was asked."""

    proposals: tuple[Proposal, ...] = ()
    set_aside: tuple[SetAside, ...] = ()


@dataclass(frozen=True, slots=True)
class SecondView:
    """One statement of either reading beside the other.

    `finding` is the id of the finding it agrees with, takes otherwise or is silent on; None for a question, which has
    an `id` of its own. Part to remedy are as the second reading has them (as the finding, where it is silent), and the
    quote is verbatim from our words. `sureness_before` and `sureness_after` are the finding's, where it agrees on the
    same words and nobody has decided about it; None where an agreement weighs nothing.
    """

    id: str
    verdict: Verdict
    part: str
    condition: str
    found: Found
    side: Side | None = None
    position: Position | None = None
    severity: Severity | None = None
    remedy: Remedy | None = None
    finding: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    quote: str = ""
    sureness_before: float | None = None
    sureness_after: float | None = None


@dataclass(frozen=True, slots=True)
class SecondReading:
    """A second reading of one recording.

    `service` is the host that was asked, `model` the name it was asked for, `asked_at` ISO 8601, UTC. Of the `pieces`
    that the words were sent in, `answered` have an answer.
    """

    recording: str
    service: str
    model: str
    asked_at: str
    pieces: int
    answered: int
    views: tuple[SecondView, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
