"""Findings to propose from moisture readings, and what they stand against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Side, State
from shutline.car.vocabulary import vocabulary
from shutline.gauge.damp.results import Dampness, DampPlace, DampResult
from shutline.gauge.damp.tables import against_rows, places, settings, words

_WHOLE = frozenset({"car", "interior"})


@dataclass(frozen=True, slots=True)
class DampAgainst:
    """A finding that a wet place stands against: `finding` is its index among those given, `rule` the row of the table.

    It is for a person to decide which holds.
    """

    finding: int
    place: DampPlace
    rule: str
    sureness: float
    sentence: str


def proposals(result: DampResult) -> tuple[Finding, ...]:
    """Propose a finding for each part that reads damper somewhere, the surest first: unsure, and heard only."""
    wet: dict[tuple[str, Side | None, Position | None], list[Dampness]] = {}
    for one in sorted(_wet(result), key=lambda one: -one.damper):
        wet.setdefault((one.place.part, one.place.side, one.place.position), []).append(one)
    return tuple(
        Finding(
            part=part,
            condition="damp",
            found=Found.UNSURE,
            side=side,
            position=position,
            footings=tuple(footing for one in group for footing in footings_of(one)),
            why=(
                words()["sentences"]["proposed"].format(sentence=" ".join(one.sentence for one in group)),
                *group[0].notes,
            ),
            sureness=round(group[0].damper, 3),
            state=State.HEARD,
        )
        for (part, side, position), group in wet.items()
    )


def footings_of(place: Dampness) -> tuple[Footing, ...]:
    """Give what a place's dampness stands on: one footing for each source; keyed readings have none and give one."""
    quote = f"{place.place.name}: {place.mean:.0f}"
    return tuple(
        Footing(FootingKind.MEASURED, source, quote=quote, rules=("moisture",)) for source in place.sources or ("",)
    )


def against(findings: Sequence[Finding], result: DampResult) -> tuple[DampAgainst, ...]:
    """Find which findings cannot well be true together with what was measured, in the order of the findings.

    'No damp' of the inside as a whole is of every place of the list; silence in the readings says nothing, and a dry
    figure backs no finding.
    """
    cases = []
    for number, finding in enumerate(findings):
        for row in against_rows():
            if finding.condition != row.condition or finding.found is not row.found:
                continue
            quote = next((one.quote for one in finding.footings if one.quote), "")
            for wet in _wet(result):
                if wet.damper >= settings().told.against and _is_of(finding, wet.place):
                    sentence = words()["sentences"]["against"].format(
                        quote=quote or f"no {vocabulary().conditions[row.condition].label}",
                        sentence=wet.sentence,
                        why=row.why,
                    )
                    cases.append(DampAgainst(number, wet.place, row.id, wet.damper, sentence))
    return tuple(cases)


def _wet(result: DampResult) -> Iterator[Dampness]:
    return (one for meter in result.meters for one in meter.places if one.told == "damper")


def _is_of(finding: Finding, place: DampPlace) -> bool:
    if finding.part in _WHOLE:
        return place.part in places()
    sides = finding.side in (None, Side.BOTH, place.side) or place.side is None
    ends = finding.position in (None, Position.BOTH, place.position) or place.position is None
    return finding.part == place.part and sides and ends
