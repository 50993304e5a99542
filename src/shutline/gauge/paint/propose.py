"""Findings that a person may let stand, from what was measured: always unsure, and never standing by themselves."""

from __future__ import annotations

from shutline.car.findings import Finding, Footing, FootingKind, Found, State
from shutline.gauge.paint.results import PaintResult, PanelFilm
from shutline.gauge.paint.tables import settings, words


def proposals(result: PaintResult) -> tuple[Finding, ...]:
    """Propose a finding for each panel with something more on it, the surest first.

    A thickness does not tell what it is made of: `found` is unsure whatever was measured, the state is *heard*, and the
    condition only says what a bodyshop would look for first, ``repaint``, or ``filler`` where the thickest spot is many
    times the car's own finish. `sureness` is the probability that there is something more at all.
    """
    found = []
    for film in sorted(result.panels, key=lambda one: -one.sureness):
        if film.told not in {"more", "local"} or result.own is None:
            continue
        condition = "filler" if _times(film, result) >= settings().told.filler_ratio else "repaint"
        sentence = words()["sentences"][f"proposed_{condition}"].format(sentence=film.sentence)
        found.append(
            Finding(
                part=film.panel.part,
                condition=condition,
                found=Found.UNSURE,
                side=film.panel.side,
                position=film.panel.position,
                footings=footings_of(film),
                why=(sentence, result.good_for[0].upper() + result.good_for[1:] + "."),
                sureness=round(film.sureness, 3),
                state=State.HEARD,
            )
        )
    return tuple(found)


def footings_of(film: PanelFilm) -> tuple[Footing, ...]:
    """Give what a panel's film stands on: one footing for each source; keyed readings have none and give one."""
    figures = ", ".join(f"{spot.mean_um:.0f} µm" + (f" {spot.words}" if spot.words else "") for spot in film.spots)
    sources = list(dict.fromkeys(source for spot in film.spots for source in spot.sources)) or [""]
    return tuple(Footing(FootingKind.MEASURED, source, quote=figures, rules=("paint_film",)) for source in sources)


def _times(film: PanelFilm, result: PaintResult) -> float:
    """Give how many times the car's own finish the thickest spot is that is not taken for a wrong reading."""
    if result.own is None:
        return 0.0
    most = max(
        (spot.mean_um for spot, local in zip(film.spots, film.spot_local, strict=True) if local >= 0.5),
        default=film.film_um.figure,
    )
    return max(most, film.film_um.figure) / result.own.figure_um.figure
