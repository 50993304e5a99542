"""The glass of a paint gauge in a picture: a reading once a person has taken it, where its place is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.figures import FigureKind, FigureState
from shutline.car.findings import State

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.figures import Figure
    from shutline.car.readings import KeptReading, Reading
    from shutline.store import Store


def settle_reading(store: Store, car: CarFile, figure: Figure, *, author: str) -> KeptReading | None:
    """Let the reading of a figure be what the figure is now: made, amended, or struck; None where it gives none.

    A figure without a part gives none: nobody could say what was measured.

    Raises
    ------
    UserError
        It is none that such a gauge can show (slug ``reading-refused``).
    """
    if figure.read.kind is not FigureKind.PAINT:
        return None
    token = f"figure {figure.id}"
    kept = next((one for one in car.readings if one.reading.quote == token), None)
    if figure.state is not FigureState.TAKEN or figure.part is None:
        if kept is None or kept.state is State.STRUCK:
            return kept
        return store.change_reading(kept.id, action="strike", author=author)
    reading = _reading(figure, token)
    if kept is None:
        (made,) = store.add_readings(car.name, [(token, reading)], author=author)
        return made
    return store.change_reading(kept.id, action="amend", author=author, reading=reading)


def _reading(figure: Figure, token: str) -> Reading:
    from dataclasses import replace

    from shutline.car.readings import Way
    from shutline.gauge.readings import Keyed, reading_of

    keyed = Keyed(
        "paint_film",
        str(figure.value),
        unit=figure.unit or "",
        part=figure.part or "",
        side=figure.side.value if figure.side else "",
        position=figure.position.value if figure.position else "",
        instrument="paint_gauge",
    )
    reading = reading_of(keyed, where=token, way=Way.PICTURE)
    return replace(reading, source=figure.source, start_s=figure.at_s, end_s=figure.at_s, quote=token)
