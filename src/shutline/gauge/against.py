"""What was measured against what was said, where a gauge gives results with limits: 'brakes are good', and 35 %."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from shutline.car.findings import Finding, Found, Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.gauge.limits import LEVEL, Outcome
from shutline.gauge.results import Place, Result
from shutline.gauge.tables import bad_row, table_rows

_COLUMNS = (
    "id",
    "part",
    "condition",
    "found",
    "words",
    "result",
    "below",
    "why",
    "source",
    "example",
    "counter_example",
)


@dataclass(frozen=True, slots=True)
class AgainstRow:
    """A finding that a result stands against where it is outside all that it was held against, or `below` a figure.

    `words` are turns of which one must have been said, none for any; `example` is said so, `counter_example` is not.
    """

    id: str
    part: str
    condition: str
    found: Found
    words: tuple[str, ...]
    result: str
    below: float | None
    why: str
    example: str
    counter_example: str


@dataclass(frozen=True, slots=True)
class ResultAgainst:
    """A finding that a result stands against: `finding` is its index among those given, `rule` the row of the table.

    `sureness` is how surely the result lies where it cannot well be true beside it. It is for a person to decide which
    holds.
    """

    finding: int
    result: Result
    rule: str
    sureness: float
    sentence: str


def read_against(text: str, *, name: str) -> tuple[AgainstRow, ...]:
    """Read a table of findings that results stand against; `name` is how messages call it.

    Raises
    ------
    UserError
        A row is not as it should be (slug ``gauge-row``).
    """
    found = []
    empty = frozenset({"words", "below"})
    for where, row in table_rows(text, name=name, columns=_COLUMNS, may_be_empty=empty):
        words = vocabulary()
        if row["part"] not in words.parts:
            raise bad_row(where, f"part {row['part']!r}", "a part of the vocabulary")
        if row["condition"] not in words.conditions:
            raise bad_row(where, f"condition {row['condition']!r}", "a condition of the vocabulary")
        try:
            below = float(row["below"]) if row["below"] else None
            said = Found(row["found"])
        except ValueError as trouble:
            raise bad_row(where, str(trouble), "yes or no, and a number or nothing") from trouble
        texts = {
            column: row[column] for column in ("id", "part", "condition", "result", "why", "example", "counter_example")
        }
        found.append(AgainstRow(found=said, words=tuple(filter(None, row["words"].split("|"))), below=below, **texts))
    return tuple(found)


def results_against(
    findings: Sequence[Finding], results: Iterable[Result], rows: Iterable[AgainstRow]
) -> tuple[ResultAgainst, ...]:
    """Find which findings cannot well be true together with results, in the order of the findings.

    Only what surely lies outside, or below, is held against anything, and where two limits may be for the car what is
    outside both. What lies within backs no finding, and where nothing was measured nothing is said.
    """
    told = tuple(results)
    table = tuple(rows)
    cases: list[ResultAgainst] = []
    for number, finding in enumerate(findings):
        quote = next((one.quote for one in finding.footings if one.quote), "")
        for row in table:
            if (finding.part, finding.condition, finding.found) != (row.part, row.condition, row.found):
                continue
            if row.words and not any(f" {words} " in _plain(quote) for words in row.words):
                continue
            for one in told:
                sureness = _surely(one, row) if one.id == row.result and _is_of(finding, one.place) else None
                # A finding and a result are one case, whichever row finds it first.
                if sureness is not None and not any(c.finding == number and c.result is one for c in cases):
                    said = quote.rstrip(".") or vocabulary().conditions[row.condition].label
                    sentence = f"Said: '{said}'. Measured: {one.plain} At odds: {row.why}."
                    cases.append(ResultAgainst(number, one, row.id, sureness, sentence))
    return tuple(cases)


def _surely(result: Result, row: AgainstRow) -> float | None:
    """Give how surely a result lies where the row has it, None where that is not sure."""
    if row.below is None:
        if result.outcome is not Outcome.OUTSIDE:
            return None
        return 1 - min((one.probability for one in result.held if one.probability is not None), default=1.0)
    figure = result.amount
    if figure is None:
        return None
    if figure.uncertainty == 0:
        return 1.0 if figure.value < row.below else None
    sureness = NormalDist(figure.value, figure.uncertainty).cdf(row.below)
    return sureness if sureness >= (1 + LEVEL) / 2 else None


def _is_of(finding: Finding, place: Place) -> bool:
    sides = finding.side in (None, Side.BOTH, place.side) or place.side is None
    ends = finding.position in (None, Position.BOTH, place.position) or place.position is None
    return sides and ends


def _plain(quote: str) -> str:
    """Give the words alone, small, with a space on either side of each."""
    words = "".join(sign if sign.isalnum() else " " for sign in quote.casefold()).split()
    return f" {' '.join(words)} "
