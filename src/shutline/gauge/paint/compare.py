"""The panels of one car held against its own finish, their like on the other side, and their neighbours."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from shutline.car.findings import Side
from shutline.car.readings import Reading
from shutline.gauge.paint.construction import Body
from shutline.gauge.paint.gradient import gradient_of
from shutline.gauge.paint.results import Comparison, Gradient, OwnFinish, PaintResult, PaintSpot, Panel, PanelFilm
from shutline.gauge.paint.spots import LEAST_UM, spots_of
from shutline.gauge.paint.tables import neighbours, panels, settings, trade_ranges, words
from shutline.gauge.usual import Interval, Measured, PlaceUsual, Usual, weigh

_MODERN = "modern_whole"
_MOST_COMMON = 0.5


def compare_paint(readings: Sequence[Reading], *, body: Body | None = None) -> PaintResult:
    """Tell what paint film of one car comes to.

    Parameters
    ----------
    readings : sequence of Reading
        Those of other quantities are passed over. What was struck is the caller's to leave out.
    body : Body, optional
        What its panels are made of (`shutline.gauge.paint.construction.body_of`).
    """
    spots, problems = spots_of(readings, body=body)
    said = words()
    by_panel: dict[Panel, list[PaintSpot]] = {}
    for spot in spots:
        by_panel.setdefault(spot.panel, []).append(spot)
    own: OwnFinish | None = None
    films: tuple[PanelFilm, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    if by_panel:
        usual = weigh(
            [[Measured(one.mean_um, one.uncertainty_um, one.repeated) for one in group] for group in by_panel.values()],
            settings().usual,
            level=settings().told.level,
        )
        own = _own(usual, by_panel)
        films = tuple(
            _film(panel, group, place, usual, known=own.known)
            for (panel, group), place in zip(by_panel.items(), usual.places, strict=True)
        )
        comparisons = tuple(_comparisons(list(by_panel), usual))
    return PaintResult(
        own=own,
        panels=films,
        comparisons=comparisons,
        problems=tuple(problems),
        trade_ranges=tuple(trade_ranges().values()),
        good_for=said["good_for"]["panel"],
        decides=said["decides"]["panel"],
        cautions=(said["cautions"]["dust"],),
    )


def _own(usual: Usual, by_panel: dict[Panel, list[PaintSpot]]) -> OwnFinish:
    said, least = words()["sentences"], settings().told.panels
    spots = [spot for group in by_panel.values() for spot in group]
    figure = _widened(usual.ground, _common(spots))
    known = len(by_panel) >= least
    modern = trade_ranges()[_MODERN]
    beside = "thick_ground" if figure.low > modern.high_um else "thin_ground" if figure.high < modern.low_um else ""
    sentence = said["own" if known else "few"].format(
        figure=f"{figure.figure:.0f}",
        low=f"{figure.low:.0f}",
        high=f"{figure.high:.0f}",
        panels=len(by_panel),
        spots=len(spots),
        spread=round(100 * usual.place_spread),
        least=least,
    )
    return OwnFinish(
        figure_um=figure,
        panels=len(by_panel),
        spots=len(spots),
        panel_spread=usual.place_spread,
        spot_spread=usual.spot_spread,
        known=known,
        sentence=sentence,
        beside_trade=said[beside or "within_ground"].format(
            range_low=f"{modern.low_um:.0f}", range_high=f"{modern.high_um:.0f}"
        ),
        good_for=words()["good_for"]["own"],
    )


def _film(panel: Panel, spots: Sequence[PaintSpot], place: PlaceUsual, usual: Usual, *, known: bool) -> PanelFilm:
    gradient = gradient_of(spots, usual.spot_spreads)
    film = _widened(place.level, _common(spots))
    told = _told(place) if known else "alone"
    row = panels()[panel.part]
    notes = tuple(dict.fromkeys(note for spot in spots for note in (*spot.notes, *(d.why for d in spot.dropped))))
    return PanelFilm(
        panel=panel,
        film_um=film,
        ratio=place.ratio,
        more=place.more,
        less=place.less,
        local=place.local,
        plain=place.plain,
        spots=tuple(spots),
        spot_local=place.spots,
        gradient=gradient,
        told=told,
        sentence=_sentence(panel, spots, place, film, told=told, gradient=gradient, own_um=usual.ground.figure),
        notes=notes + ((row.note,) if row.note and told in {"more", "local", "unclear"} else ()),
    )


def _told(place: PlaceUsual) -> str:
    own = settings().told
    if place.more >= own.sure:
        return "more"
    if place.less >= own.sure:
        return "less"
    if place.local >= own.sure or (1 - place.plain - place.less) >= own.sure:
        return "local"
    return "own" if (1 - place.plain) <= own.unlikely else "unclear"


def _sentence(
    panel: Panel,
    spots: Sequence[PaintSpot],
    place: PlaceUsual,
    film: Interval,
    *,
    told: str,
    gradient: Gradient | None,
    own_um: float,
) -> str:
    said = words()["sentences"]
    where = ""
    if told != "local" and gradient is not None and gradient.sureness >= settings().told.sure:
        where = said["gradient"].format(
            zone=gradient.words,
            ratio=f"{gradient.ratio.figure:.1f}",
            low=f"{gradient.ratio.low:.1f}",
            high=f"{gradient.ratio.high:.1f}",
        )
    places = 2 if told in {"own", "unclear", "less"} else 1
    shown = film if told == "alone" else place.ratio
    digits = 0 if told == "alone" else places
    thick = [spot for spot, local in zip(spots, place.spots, strict=True) if local >= 0.5]
    named = ", ".join(dict.fromkeys(spot.words for spot in thick if spot.words))
    film_of = [spot.mean_um for spot in thick or spots]
    least, most = min(film_of), max(film_of)
    if told == "local" and len(thick) == len(spots) > 1:
        told = "local_all"
    name = panel.name
    return said["own_panel" if told == "own" else told].format(
        name=name,
        Name=name[0].upper() + name[1:],
        figure=f"{film.figure:.0f}",
        ratio=f"{place.ratio.figure:.{places}f}",
        low=f"{shown.low:.{digits}f}",
        high=f"{shown.high:.{digits}f}",
        where=where,
        spots=len(spots),
        count=len(thick) or "some",
        named=f" ({named})" if named else "",
        least=f"{least:.0f}",
        least_times=f"{least / own_um:.1f}",
        most=f"{most:.0f}",
        times=f"{most / own_um:.1f}",
    )


def _comparisons(read: Sequence[Panel], usual: Usual) -> Iterator[Comparison]:
    for i, one in enumerate(read):
        for j, other in enumerate(read):
            if j > i and (relation := _relation(one, other)):
                yield _comparison(one, other, relation, *_beside(usual, i, j))


def _beside(usual: Usual, i: int, j: int) -> tuple[Interval, float]:
    apart = settings().told.apart
    ratio, thicker = usual.between(i, j, at_least=apart)
    _, thinner = usual.between(j, i, at_least=apart)
    return ratio, max(thicker, thinner)


def _comparison(one: Panel, other: Panel, relation: str, ratio: Interval, sureness: float) -> Comparison:
    if ratio.figure < 1:
        one, other = other, one
        ratio = Interval(1 / ratio.figure, 1 / ratio.high, 1 / ratio.low, ratio.level)
    said = words()["sentences"]["apart" if sureness >= settings().told.sure else "alike"]
    sentence = said.format(
        name=one.name,
        Name=one.name[0].upper() + one.name[1:],
        other=other.name,
        relation=words()["relations"][relation],
        ratio=f"{ratio.figure:.1f}",
        low=f"{ratio.low:.1f}",
        high=f"{ratio.high:.1f}",
    )
    return Comparison(one, other, relation, ratio, sureness, sentence)


def _relation(one: Panel, other: Panel) -> str:
    """Tell how two panels lie to each other: ``mirror``, ``neighbour``, or empty."""
    sides = {one.side, other.side}
    if one.part == other.part and one.position == other.position:
        return "mirror" if sides == {Side.NEAR, Side.OFF} else ""
    return "neighbour" if are_neighbours(one, other) else ""


def are_neighbours(one: Panel, other: Panel) -> bool:
    """Tell whether two panels meet at a shut line or a seam (`data/neighbours.csv`)."""
    if {one.side, other.side} == {Side.NEAR, Side.OFF}:
        return False
    return any(
        _is(a, first) and _is(b, second) for first, second in neighbours() for a, b in ((one, other), (other, one))
    )


def _is(panel: Panel, place: tuple[str, object]) -> bool:
    return panel.part == place[0] and (place[1] is None or panel.position == place[1])


def _common(spots: Sequence[PaintSpot]) -> float:
    """Give what the gauge brings into all spots alike, as a share; near nought a share says little and is held."""
    shares = [min(_MOST_COMMON, one.common_um / max(one.mean_um, LEAST_UM)) for one in spots]
    return math.sqrt(sum(share**2 for share in shares) / len(shares))


def _widened(figure: Interval, common: float) -> Interval:
    """Widen an interval of thickness by what all readings have in common; ratios do not need it."""
    z = 1.959964
    low = math.log(figure.figure / figure.low) / z
    high = math.log(figure.high / figure.figure) / z
    return Interval(
        figure.figure,
        figure.figure * math.exp(-z * math.hypot(low, common)),
        figure.figure * math.exp(z * math.hypot(high, common)),
        figure.level,
    )
