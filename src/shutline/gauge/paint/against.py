"""What was measured against what was said: 'no filler', and 900 µm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.findings import Finding, Found, Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.gauge.paint.results import PaintResult, Panel, PanelFilm
from shutline.gauge.paint.tables import AgainstRow, against_rows, settings, words

_WHOLE = frozenset({"car", "bodywork", "paintwork"})


@dataclass(frozen=True, slots=True)
class PaintAgainst:
    """A finding that paint film stands against: `finding` is its index among those given, `rule` the row of the table.

    `sureness` is the probability of what was measured, None where too few panels were read to give one. It is for a
    person to decide which holds.
    """

    finding: int
    panel: Panel
    rule: str
    sureness: float | None
    sentence: str


def against(findings: Sequence[Finding], result: PaintResult) -> tuple[PaintAgainst, ...]:
    """Find which findings cannot well be true together with what was measured, in the order of the findings.

    A finding of the whole car, its bodywork or its paintwork is of every panel, one without a side of both sides; one
    that is unsure is held against nothing. Silence in the readings says nothing: a panel that was not read, or not
    clearly, stands against no finding, and a thin film backs none.
    """
    found: list[PaintAgainst] = []
    for number, finding in enumerate(findings):
        for row in against_rows():
            if finding.condition != row.condition or finding.found is not row.found:
                continue
            films = (film for film in result.panels if _is_of(finding, film.panel))
            cases = (_case(number, finding, row, film, result) for film in films)
            found.extend(case for case in cases if case is not None)
    return tuple(found)


def _case(number: int, finding: Finding, row: AgainstRow, film: PanelFilm, result: PaintResult) -> PaintAgainst | None:
    own, said = settings().against, words()["sentences"]
    sentence = film.sentence
    sureness: float | None = film.sureness
    if result.own is None or not result.own.known:
        # One threshold, and so nothing but a question: a film so thick that 'no filler' wants another look.
        if row.measured != "filler" or film.film_um.low < own.filler_alone_um:
            return None
        sureness = None
        sentence = said["against_alone"].format(
            name=film.panel.name,
            figure=f"{film.film_um.figure:.0f}",
            low=f"{film.film_um.low:.0f}",
            high=f"{film.film_um.high:.0f}",
        )
    elif film.sureness < own.sure or (row.measured == "filler" and not _thick(film, result)):
        return None
    quote = next((one.quote for one in finding.footings if one.quote), "") or _told(finding)
    return PaintAgainst(
        finding=number,
        panel=film.panel,
        rule=row.id,
        sureness=sureness,
        sentence=said["against"].format(quote=quote, sentence=sentence.rstrip(".") + ".", why=row.why),
    )


def _thick(film: PanelFilm, result: PaintResult) -> bool:
    """Tell whether the panel, or a spot of it that is surely more, is thick enough to doubt 'no filler'."""
    least = settings().against.filler_ratio
    if film.ratio.low >= least and film.more >= settings().against.sure:
        return True
    own = result.own.figure_um.figure if result.own is not None else 0.0
    return any(
        spot.mean_um >= least * own and local >= 0.5 for spot, local in zip(film.spots, film.spot_local, strict=True)
    )


def _is_of(finding: Finding, panel: Panel) -> bool:
    if finding.part in _WHOLE:
        return True
    sides = finding.side in (None, Side.BOTH, panel.side)
    ends = finding.position in (None, Position.BOTH, panel.position)
    return finding.part == panel.part and sides and ends


def _told(finding: Finding) -> str:
    label = vocabulary().conditions[finding.condition].label
    return f"no {label}" if finding.found is Found.NO else label
