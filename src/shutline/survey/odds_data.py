"""What cannot be true together, how parts lie within parts, and what tells remarks apart: read from data."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum

from shutline.car.findings import Found, Position, Severity
from shutline.car.vocabulary import vocabulary
from shutline.survey.tables import conditions_of, one_of, parts_of, phrases_of, refused, table_rows

EXCLUSION_COLUMNS = (
    *("id", "first", "first_found", "first_least", "second", "second_found", "second_parts"),
    *("reach", "why", "source"),
)
FACT_COLUMNS = ("id", "why", "source")
WITHIN_COLUMNS = ("id", "whole", "parts", "conditions", "why", "source")
CUE_COLUMNS = ("id", "kind", "phrases", "example", "counter_example", "source")
TRAIT_COLUMNS = ("id", "label", "fact", "values", "doors_most", "bodies", "words", "source")
NOT_FITTED_COLUMNS = ("id", "trait", "part", "position", "words", "why", "source")

Phrases = tuple[tuple[str, ...], ...]


class Reach(StrEnum):
    """How far apart the places of two statements that exclude each other may lie."""

    SAME = "same"
    """Both are of the same part."""
    WITHIN = "within"
    """The second may also be of a whole that the first's part lies within."""


class CueKind(StrEnum):
    """What words tell of two remarks that would otherwise be at odds."""

    EXCEPTS = "excepts"
    """Right after what was denied comes what it does not hold for: 'no dents apart from one in the wing'."""
    TAKES_BACK = "takes_back"
    """What was said right before, or earlier of the same, is taken back: 'no dents. No, I tell a lie'."""
    CORRECTS = "corrects"
    """The later remark takes the earlier back, however long ago: 'I said no dents, well, here is one'."""
    CORRECTS_SOON = "corrects_soon"
    """Soon after, the later remark takes the earlier back: 'that's sound. … Oh, hang on'."""
    REST = "rest"
    """What is denied is the rest of something: 'otherwise no dents'."""
    HISTORY = "history"
    """The remark is of an earlier time: 'no rust when I bought it'."""
    OF_DEGREE = "of_degree"
    """What is denied is a bad one only: 'nothing serious'."""
    OF_A_PAIR = "of_a_pair"
    """The remark is of one of a pair, told from the other only by where the speaker stands: 'no filler this side'."""
    SIDE_NAMED = "side_named"
    """The remark names its side."""
    PLACE = "place"
    """The remark is of a place within the part: 'along the bottom'."""
    SORT_FLUID = "sort_fluid"
    """Which fluid is meant."""
    SORT_NOISE = "sort_noise"
    """Which noise is meant."""
    SORT_SMOKE = "sort_smoke"
    """Which smoke is meant."""


@dataclass(frozen=True, slots=True)
class Exclusion:
    """Two statements that cannot both be true.

    `first` and `second` are conditions; `same` stands for the condition of the first. `first_least` is how bad the
    first must be said to be, None for any. `second_parts` are the only parts that the second may be of, empty for all.
    """

    id: str
    first: frozenset[str]
    first_found: Found
    first_least: Severity | None
    second: frozenset[str]
    second_same: bool
    second_found: Found
    second_parts: frozenset[str]
    reach: Reach
    why: str


@dataclass(frozen=True, slots=True)
class Whole:
    """A part that others lie within, as far as some conditions go."""

    id: str
    whole: str
    parts: frozenset[str]
    conditions: frozenset[str]
    why: str


@dataclass(frozen=True, slots=True)
class Cue:
    """Words that tell two remarks apart; each phrase is its words in lower case."""

    id: str
    kind: CueKind
    phrases: Phrases
    example: str
    counter_example: str


@dataclass(frozen=True, slots=True)
class Trait:
    """What kind of car it is, and how that is known: by a fact, by the body it is drawn as, or by words."""

    id: str
    label: str
    fact: str
    values: frozenset[str]
    doors_most: int | None
    bodies: frozenset[str]
    words: Phrases


@dataclass(frozen=True, slots=True)
class NotFitted:
    """A part that a car of some trait does not have; `words`, where there are any, must stand in what was said."""

    id: str
    trait: str
    part: str
    position: Position | None
    words: Phrases
    why: str


@dataclass(frozen=True, slots=True)
class OddsLimits:
    """`breath_s` and `surprise_s` seconds, `same_occasion_h` hours, `words_beside` words; see ``data/odds.toml``.

    `round_steps` are the steps, the widest first, that a mileage is said in roundly.
    """

    breath_s: float
    surprise_s: float
    same_occasion_h: float
    words_beside: int
    round_steps: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class OddsTables:
    """All that tells what is at odds.

    `changing` are the facts that are of their day, each with why; all others stay what they are. `several` are the
    parts that stand for several things, `plain` the words that name none of them; `whole` are parts of which good news
    without a side is of all of it.
    """

    exclusions: tuple[Exclusion, ...]
    wholes: tuple[Whole, ...]
    cues: tuple[Cue, ...]
    traits: tuple[Trait, ...]
    not_fitted: tuple[NotFitted, ...]
    limits: OddsLimits
    changing: dict[str, str]
    several: frozenset[str] = frozenset()
    plain: frozenset[str] = frozenset()
    whole: frozenset[str] = frozenset()

    def holders(self, condition: str) -> dict[str, frozenset[str]]:
        """Give for each part the wholes that speak of it, as far as a condition goes."""
        found: dict[str, set[str]] = defaultdict(set)
        for row in self.wholes:
            if condition in row.conditions:
                for part in row.parts - {row.whole}:
                    found[part].add(row.whole)
        return {part: frozenset(wholes) for part, wholes in found.items()}


def read_exclusions(text: str, *, source: str) -> tuple[Exclusion, ...]:
    """Read rows of the form of ``data/odds_exclusions.csv``; raises UserError with the line of a row that is wrong."""
    found = []
    for where, row in table_rows(text, source=source, columns=EXCLUSION_COLUMNS):
        same = row["second"] == "same"
        least = one_of(row["first_least"], ("", *Severity), where=where, column="first_least")
        found.append(
            Exclusion(
                id=row["id"],
                first=conditions_of(row["first"], where=where),
                first_found=Found(one_of(row["first_found"], ("yes", "no"), where=where, column="first_found")),
                first_least=Severity(least) if least else None,
                second=frozenset() if same else conditions_of(row["second"], where=where),
                second_same=same,
                second_found=Found(one_of(row["second_found"], ("yes", "no"), where=where, column="second_found")),
                second_parts=parts_of(row["second_parts"], where=where),
                reach=Reach(one_of(row["reach"], Reach, where=where, column="reach")),
                why=row["why"],
            )
        )
        if not found[-1].first or not (same or found[-1].second):
            raise refused(where, "no condition", "ids of the vocabulary, @defect or @good")
    return tuple(found)


def read_wholes(text: str, *, source: str) -> tuple[Whole, ...]:
    """Read rows of the form of ``data/odds_within.csv``; raises as `read_exclusions` does."""
    return tuple(
        Whole(
            row["id"],
            one_of(row["whole"], vocabulary().parts, where=where, column="whole"),
            parts_of(row["parts"], where=where),
            conditions_of(row["conditions"], where=where),
            row["why"],
        )
        for where, row in table_rows(text, source=source, columns=WITHIN_COLUMNS)
    )


def read_cues(text: str, *, source: str) -> tuple[Cue, ...]:
    """Read rows of the form of ``data/odds_cues.csv``; raises as `read_exclusions` does."""
    needed = ("phrases", "example", "counter_example", "source")
    return tuple(
        Cue(
            row["id"],
            CueKind(one_of(row["kind"], CueKind, where=where, column="kind")),
            phrases_of(row["phrases"], where=where),
            row["example"],
            row["counter_example"],
        )
        for where, row in table_rows(text, source=source, columns=CUE_COLUMNS, needed=needed)
    )


def read_traits(text: str, *, source: str) -> tuple[Trait, ...]:
    """Read rows of the form of ``data/odds_traits.csv``; raises as `read_exclusions` does."""
    found = []
    for where, row in table_rows(text, source=source, columns=TRAIT_COLUMNS, needed=("label", "source")):
        doors = row["doors_most"]
        if doors and not doors.isdecimal():
            raise refused(where, f"doors_most '{doors}'", "empty or a whole number")
        if not any(row[name] for name in ("fact", "bodies", "words")):
            raise refused(where, "nothing that tells of it", "a fact, bodies or words")
        found.append(
            Trait(
                row["id"],
                row["label"],
                row["fact"],
                frozenset(row["values"].split("|")) - {""},
                int(doors) if doors else None,
                frozenset(row["bodies"].split("|")) - {""},
                phrases_of(row["words"], where=where),
            )
        )
    return tuple(found)


def read_not_fitted(text: str, *, source: str, traits: tuple[Trait, ...]) -> tuple[NotFitted, ...]:
    """Read rows of the form of ``data/odds_not_fitted.csv``; raises as `read_exclusions` does."""
    found = []
    for where, row in table_rows(text, source=source, columns=NOT_FITTED_COLUMNS):
        part = vocabulary().parts[one_of(row["part"], vocabulary().parts, where=where, column="part")]
        positions = ("", "front", "rear") if part.ended else ("",)
        position = one_of(row["position"], positions, where=where, column="position")
        found.append(
            NotFitted(
                row["id"],
                one_of(row["trait"], [trait.id for trait in traits], where=where, column="trait"),
                part.id,
                Position(position) if position else None,
                phrases_of(row["words"], where=where),
                row["why"],
            )
        )
    return tuple(found)


def read_facts(text: str, *, source: str) -> dict[str, str]:
    """Read rows of the form of ``data/odds_facts.csv``: why a fact changes, by its name."""
    return {row["id"]: row["why"] for _, row in table_rows(text, source=source, columns=FACT_COLUMNS)}
