"""How what is claimed stands to what a car file says, read from the data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from tomllib import loads

from shutline.car.vocabulary import vocabulary
from shutline.claims.written_data import data

Table = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class SaidWith:
    """Words of a claim that narrow what it says to some kinds of trouble: 'straight' to shape.

    In the phrases of `unless` they do not: 'fit for use' says nothing of how a thing fits.
    """

    words: frozenset[str]
    against: tuple[str, ...]
    unless: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Added:
    """Words of a claim that bring in more kinds of trouble, where one of the conditions `of` is claimed."""

    of: frozenset[str]
    words: frozenset[str]
    against: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GoingAlong:
    """Words of a claim about one of the parts `of` that stand only on what was `told` in words of going along."""

    of: frozenset[str]
    words: frozenset[str]
    told: frozenset[str]

    def bears_out(self, part: str, claimed: frozenset[str], told: frozenset[str]) -> bool:
        """Tell whether words may back a claim of a part: 'starts first time' backs no 'drives beautifully'."""
        return part not in self.of or self.words.isdisjoint(claimed) or not self.told.isdisjoint(told)


@dataclass(frozen=True, slots=True)
class Relations:
    """The tables of `relations.toml` by the condition claimed, and what each whole part is made up of."""

    backed_by_there: Table
    backed_by_denied: Table
    backed_by_good: Table
    against_denied: Table
    against_good: Table
    against_good_unless_slight: Table
    said_with: tuple[SaidWith, ...]
    exchanged: SaidWith
    painted: SaidWith
    original_against: tuple[str, ...]
    original_of: frozenset[str]
    moving: frozenset[str]
    whole: Mapping[str, frozenset[str]]
    kin: Mapping[str, Table]
    lesser: Table
    unpainted: frozenset[str]
    kits: frozenset[str]
    kit_words: frozenset[str]
    pieces: Mapping[str, tuple[frozenset[str], ...]]
    utter: SaidWith
    sound_when_severe: tuple[str, ...]
    utter_phrases: tuple[str, ...]
    added: tuple[Added, ...]
    of_its: tuple[Added, ...]
    drips: tuple[str, ...]
    functions: frozenset[str]
    few: frozenset[str]
    right_ones: frozenset[str]
    entire_phrases: tuple[str, ...]
    far_back: tuple[str, ...]
    may_be: tuple[SaidWith, ...]
    welded: SaidWith
    welded_parts: frozenset[str]
    wanting: frozenset[str]
    work: frozenset[str]
    same_body: tuple[frozenset[str], ...]
    shades: Mapping[str, str]
    units: frozenset[str]
    own_things: tuple[frozenset[str], ...]
    others: frozenset[str]
    going_along: GoingAlong
    entire: frozenset[str]
    oily: tuple[str, ...]
    soft: frozenset[str]
    workings: frozenset[str]
    rubber: frozenset[str]
    flat: frozenset[str]
    gone: frozenset[str]
    soon_renewed: frozenset[str]
    soon_renewed_against: tuple[str, ...]
    water_gets_in: frozenset[str]
    headings: Mapping[str, str]
    headings_of: Mapping[str, str]
    shown_by: Mapping[str, Mapping[str, str]]
    exceptions: frozenset[str]
    exception_phrases: tuple[str, ...]
    denied_behind: frozenset[str]
    denial_goes_on: frozenset[str]
    answers: frozenset[str]
    headings_alone: frozenset[str]
    told_sides: Mapping[str, tuple[str, ...]]


@cache
def relations() -> Relations:
    """Read the tables once; a name that is not in the vocabulary raises KeyError."""
    raw = loads(data("relations.toml"))
    words = vocabulary()
    for table in ("backed_by_there", "backed_by_denied", "backed_by_good", "against_denied"):
        for name, others in raw[table].items():
            for condition in (name, *others):
                words.conditions[condition]
    group = {part.id: part.group for part in words.parts.values()}
    whole = {
        name: frozenset(
            part for part, g in group.items() if (g in row["groups"] or part in row["parts"]) and part != name
        )
        for name, row in raw["whole"].items()
    }
    moving = frozenset(
        part for part, g in group.items() if g in raw["moving"]["groups"] or part in raw["moving"]["parts"]
    )
    return Relations(
        backed_by_there=_table(raw["backed_by_there"]),
        backed_by_denied=_table(raw["backed_by_denied"]),
        backed_by_good=_table(raw["backed_by_good"]),
        against_denied=_table(raw["against_denied"]),
        against_good=_table(raw["against_good"]),
        against_good_unless_slight=_table(raw["against_good_unless_slight"]),
        said_with=tuple(
            SaidWith(frozenset(row["words"]), tuple(row["against"]), tuple(row.get("unless", ())))
            for row in raw["said_with"]
        ),
        exchanged=SaidWith(frozenset(raw["exchanged"]["words"]), tuple(raw["exchanged"]["against"])),
        painted=SaidWith(frozenset(raw["painted"]["words"]), tuple(raw["painted"]["against"])),
        original_against=tuple(raw["original"]["against"]),
        original_of=frozenset(part for part, g in group.items() if g in raw["original"]["of_groups"]),
        moving=moving,
        whole=whole,
        water_gets_in=frozenset(raw["water_gets_in"]["parts"]),
        kin={name: _table(row) for name, row in raw["kin"].items()},
        lesser=_table(raw["lesser"]),
        unpainted=frozenset(raw["unpainted"]["groups"]),
        kits=frozenset(raw["kits"]["parts"]),
        kit_words=frozenset(raw["kits"]["words"]),
        pieces={name: tuple(frozenset(row) for row in rows) for name, rows in raw["pieces"].items()},
        utter=SaidWith(frozenset(raw["utter"]["words"]), tuple(raw["utter"]["against"])),
        sound_when_severe=tuple(raw["sound_when_severe"]["against"]),
        utter_phrases=tuple(raw["utter"]["phrases"]),
        added=tuple(
            Added(frozenset(row["of"]), frozenset(row["words"]), tuple(row["against"])) for row in raw["added"]
        ),
        of_its=tuple(Added(frozenset(row["of"]), frozenset(row["words"]), ()) for row in raw["of_its"]),
        drips=tuple(raw["drips"]["parts"]),
        right_ones=frozenset(raw["right_ones"]["parts"]),
        few=frozenset(raw["few"]["parts"]),
        functions=frozenset(raw["functions"]["parts"]),
        entire_phrases=tuple(raw["entire"]["phrases"]),
        far_back=tuple(raw["entire"]["far_back"]),
        may_be=tuple(SaidWith(frozenset(row["words"]), tuple(row["conditions"])) for row in raw["may_be"]),
        welded=SaidWith(frozenset(raw["welded"]["words"]), tuple(raw["welded"]["against"])),
        welded_parts=frozenset(raw["welded"]["parts"]),
        wanting=frozenset(raw["wanting"]["words"]),
        work=frozenset(raw["wanting"]["remedies"]),
        shades=dict(raw["shades"]),
        units=frozenset(raw["measures"]["units"]),
        same_body=tuple(frozenset(row) for row in raw["same_body"]["words"]),
        own_things=tuple(frozenset(row) for row in raw["own_things"]["words"]),
        others=frozenset(raw["others"]["words"]),
        going_along=GoingAlong(*(frozenset(raw["going_along"][name]) for name in ("of", "words", "told"))),
        entire=frozenset(raw["entire"]["words"]),
        oily=tuple(raw["oily"]["parts"]),
        soft=frozenset(raw["soft"]["parts"]),
        workings=frozenset(raw["workings"]["parts"]),
        rubber=frozenset(raw["rubber"]["parts"]),
        flat=frozenset(raw["flat"]["parts"]),
        gone=frozenset(raw["flat"]["gone"]),
        soon_renewed=frozenset(raw["soon_renewed"]["parts"]),
        soon_renewed_against=tuple(raw["soon_renewed"]["against"]),
        headings={phrase: words.conditions[name].id for name, row in raw["headings"].items() for phrase in row},
        headings_of={phrase: words.parts[name].id for name, row in raw["headings_of"].items() for phrase in row},
        shown_by={
            words.conditions[name].id: {words.parts[a].id: words.parts[b].id for a, b in row.items()}
            for name, row in raw["shown_by"].items()
        },
        exceptions=frozenset(raw["exceptions"]["words"]),
        exception_phrases=tuple(raw["exceptions"]["phrases"]),
        denied_behind=frozenset(raw["denied_behind"]["words"]),
        denial_goes_on=frozenset(raw["denied_behind"]["goes_on"]),
        answers=frozenset(raw["denied_behind"]["answers"]),
        headings_alone=frozenset(raw["headings_alone"]["words"]),
        told_sides=_table(raw["told_sides"]),
    )


def pieces_named(part: str, words: Iterable[str]) -> frozenset[int]:
    """Give the numbers of the pieces of a part that words name; none where they name the part as such."""
    words = frozenset(words)
    return frozenset(n for n, row in enumerate(relations().pieces.get(part, ())) if row & words)


def _table(raw: Mapping[str, list[str]]) -> Table:
    return {name: tuple(values) for name, values in raw.items()}
