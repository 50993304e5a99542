"""What is at odds, tied to the numbers of the findings: each names the others that it cannot be true together with."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from shutline.publish.report.model import Entry, OddsLine, OddsSection, Section
from shutline.publish.wording import joined, phrase


def numbered(odds: OddsSection, sections: Sequence[Section]) -> OddsSection:
    """Give each statement the number of its finding."""
    numbers = {entry.id: entry.number for section in sections for place in section.places for entry in place.entries}

    def line(one: OddsLine) -> OddsLine:
        return replace(
            one,
            sides=tuple(
                tuple(replace(said, number=numbers.get(said.finding, 0)) for said in side) for side in one.sides
            ),
        )

    return replace(odds, open=tuple(map(line, odds.open)), settled=tuple(map(line, odds.settled)))


def marked(sections: Sequence[Section], odds: OddsSection) -> tuple[Section, ...]:
    """Say beside each finding of an open case what it is at odds with."""
    against: dict[str, set[int]] = defaultdict(set)
    for one in odds.open:
        for side in one.sides:
            others = {said.number for other in one.sides if other is not side for said in other} - {0}
            for said in side:
                if said.finding:
                    against[said.finding] |= others

    def entry(one: Entry) -> Entry:
        if one.id not in against:
            return one
        numbers = joined([str(number) for number in sorted(against[one.id])])
        return replace(one, odds=phrase("odds.entry", numbers=numbers) if numbers else phrase("odds.entry_plain"))

    return tuple(
        replace(
            section,
            places=tuple(replace(place, entries=tuple(map(entry, place.entries))) for place in section.places),
        )
        for section in sections
    )
