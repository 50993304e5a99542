"""What each gauge makes of what was picked, as one kind of result."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from shutline.usecases.measuring_records import Measure, Measured, Picked, Place, refused

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    import numpy.typing as npt

    from shutline.gauge.colour import Balance, ColourDifference
    from shutline.gauge.rust import RustShare
    from shutline.gauge.size import Size

    Pixels = npt.NDArray[np.uint8]
    ToPixels = Callable[[tuple[Place, ...]], list[tuple[float, float]]]


def measured_on(pixels: Pixels, picked: Picked) -> Measured:
    """Measure on the pixels of a picture; raises as the gauge of its kind does."""
    high, wide = pixels.shape[:2]

    def px(places: tuple[Place, ...]) -> list[tuple[float, float]]:
        return [(x * wide - 0.5, y * high - 0.5) for x, y in places]

    if picked.what is Measure.RUST:
        from shutline.gauge.rust import rust_within

        return _of_rust(picked, rust_within(pixels, px(picked.places)))
    if picked.what is Measure.COLOUR:
        from shutline.gauge.colour import across_in_photograph

        balance = _balance(pixels, picked, px)
        return _of_colour(picked, across_in_photograph(pixels, px(picked.places), px(picked.beside), balance=balance))
    from shutline.gauge.size import Ruler, area_of, find_card, length_of, plane_of
    from shutline.gauge.size.settings import settings

    ruler = None
    if picked.ruler_mm is not None:
        doubt = picked.ruler_uncertainty_mm
        ruler = Ruler(picked.ruler_mm, settings().picking.ruler_mm if doubt is None else doubt)
    plane = plane_of(find_card(pixels), ruler=ruler)
    measure = length_of if picked.what is Measure.LENGTH else area_of
    return _of_size(picked, measure(plane, px(picked.places), pick_px=picked.pick_px))


def rated_by_eye(picked: Picked) -> Measured:
    """Give blisters as somebody rated them; raises BadInputError where there is no such picture of the scale."""
    from shutline.gauge.limits import LEVEL, amount
    from shutline.gauge.readings import instruments, quantity
    from shutline.gauge.rust import rated

    blisters = rated(picked.density or 0, picked.size or 0)
    of, eye = quantity("blister_density"), instruments()["eye"]
    figure = amount(
        blisters.density, "1", eye.uncertainty(of, blisters.density, "1"), floor=of.lowest, ceiling=of.highest
    )
    return _measured(
        blisters,
        picked,
        quantity=of.id,
        value=figure.value,
        unit="1",
        uncertainty=figure.uncertainty,
        low=figure.low,
        high=figure.high,
        level=LEVEL,
        told=True,
        instrument=eye.id,
        more={"density": blisters.density, "size": blisters.size},
        beside={"blister_size": float(blisters.size)},
    )


def of_keyed_colours(picked: Picked) -> Measured:
    """Compare two colours that a spectrophotometer gave; raises BadInputError for one that no surface has."""
    from shutline.gauge.colour import across_keyed
    from shutline.gauge.readings import instruments, quantity

    meter, doubt = instruments()["spectrophotometer"], picked.lab_uncertainty
    if picked.lab is None or picked.lab_beside is None:
        raise refused("colours", "one colour or none", "L*, a* and b* of both sides of the line")
    own = meter.uncertainty(quantity("colour_lightness"), 0.0, "1") if doubt is None else doubt
    found = across_keyed(picked.lab, picked.lab_beside, uncertainty_1=own, uncertainty_2=own)
    return _of_colour(picked, found, instrument=meter.id)


def _balance(pixels: Pixels, picked: Picked, px: ToPixels) -> Balance:
    from shutline.gauge.colour import AS_TAKEN, by_chart, by_grey_card, outlines_of
    from shutline.usecases.own_chart import own_chart

    if picked.grey:
        return by_grey_card(pixels, px(picked.grey), lab=picked.grey_lab)
    if not picked.chart:
        return AS_TAKEN
    chart = own_chart()
    if chart is None:
        raise refused("chart", "no chart of your own is known", "chart.csv beside the settings: see docs/colour.md")
    return by_chart(pixels, outlines_of(px(picked.chart), chart))


def _measured(found: Any, picked: Picked, **figures: Any) -> Measured:
    """Put a result together: its figures, and the words that every gauge's result has."""
    return Measured(
        car="",
        picture="",
        picked=picked,
        sentence=found.sentence,
        cautions=found.cautions,
        good_for=found.good_for,
        who_decides=found.who_decides,
        source=found.source,
        **figures,
    )


def _of_size(picked: Picked, size: Size) -> Measured:
    return _measured(
        size,
        picked,
        quantity=size.kind,
        value=size.value,
        unit=size.unit,
        uncertainty=size.uncertainty,
        low=size.low,
        high=size.high,
        level=size.level,
        told=True,
        more={f"from {name}": round(part, 4) for name, part in size.parts.items()},
    )


def _of_rust(picked: Picked, rust: RustShare) -> Measured:
    letter = rust.distribution.letter if rust.distribution else ""
    return _measured(
        rust,
        picked,
        quantity="rusted_share",
        value=100 * rust.share,
        unit="%",
        uncertainty=100 * rust.uncertainty,
        low=100 * rust.low,
        high=100 * rust.high,
        level=rust.level,
        told=rust.told,
        more={
            "ASTM D610": rust.grades.d610 + (f"-{letter}" if letter else ""),
            "ISO 4628-3": rust.grades.iso,
            "boundary rule": rust.grades.boundary_rule,
        },
    )


def _of_colour(picked: Picked, colour: ColourDifference, *, instrument: str = "photograph") -> Measured:
    return _measured(
        colour,
        picked,
        quantity="colour_difference",
        value=colour.delta_e,
        unit="1",
        uncertainty=colour.uncertainty,
        low=colour.low,
        high=colour.high,
        level=colour.level,
        told=True,
        instrument=instrument,
        more={
            "told": colour.told.value,
            **({} if instrument != "photograph" else {"white balance": colour.balance}),
            "lightness": round(colour.lightness, 3),
            "chroma": round(colour.chroma, 3),
            "hue": round(colour.hue, 3),
            "CIE 1976": round(colour.delta_e_1976, 3),
        },
    )
