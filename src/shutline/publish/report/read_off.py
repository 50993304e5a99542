"""What a person took of the figures read off pictures, in words: tyres, paint, papers; the rest is a fact or waits."""

from __future__ import annotations

from collections.abc import Mapping

from shutline.car.carfile import CarFile
from shutline.car.figures import Figure, FigureKind, FigureState
from shutline.publish.naming import place_name, walk_order
from shutline.publish.plain import one_line
from shutline.publish.report.model import ReadOffLine, ReadOffSection, Stand
from shutline.publish.report.times import moment
from shutline.publish.wording import choose, phrase

_SHOWN = (FigureKind.TYRE_SIZE, FigureKind.TYRE_DATE, FigureKind.PAINT, FigureKind.PAPER)
"""The others become facts when they are taken, and stand among those."""


def read_off(car_file: CarFile, recordings: Mapping[str, int]) -> ReadOffSection | None:
    """Give the section of the report; None where nothing was taken and nothing waits.

    Parameters
    ----------
    car_file : CarFile
        Of its figures those that were set aside are left out, and of those that wait only the number is told.
    recordings : mapping
        From the id of a recording to its number, where there is more than one.
    """
    taken = [one for one in car_file.figures if one.state is FigureState.TAKEN and one.read.kind in _SHOWN]
    waiting = sum(one.state is FigureState.WAITS for one in car_file.figures)
    if not taken and not waiting:
        return None
    names = {one.id: one.original.name for one in car_file.pictures}
    lines = [
        ReadOffLine(_label(one), _words(one), (_stand(one, names, recordings),), phrase("read_off.taken"))
        for one in sorted(taken, key=_order)
    ]
    return ReadOffSection(
        heading=phrase("read_off.heading"),
        intro=phrase("read_off.intro") if lines else "",
        lines=tuple(lines),
        waiting=choose("read_off.waiting", waiting) if waiting else "",
    )


def _order(figure: Figure) -> tuple[object, ...]:
    kind = _SHOWN.index(figure.read.kind)
    placed = figure.part is not None
    where = walk_order(figure.part, figure.side, figure.position) if figure.part is not None else ()
    return (kind, not placed, where, figure.source, figure.at_s or 0.0, figure.id)


def _label(figure: Figure) -> str:
    key = f"read_off.{figure.read.kind.value}"
    if figure.part is None:
        return phrase(key)
    return phrase(f"{key}_at", place=place_name(figure.part, figure.side, figure.position))


def _words(figure: Figure) -> tuple[str, ...]:
    if figure.read.kind is FigureKind.PAPER:
        return tuple(line for line in map(one_line, str(figure.value).splitlines()) if line)
    value = one_line(str(figure.value))
    return (phrase(f"read_off.{figure.unit}", value=value) if figure.unit else value,)


def _stand(figure: Figure, names: Mapping[str, str], recordings: Mapping[str, int]) -> Stand:
    if figure.at_s is None:
        return Stand(phrase("read_off.in_picture", name=one_line(names.get(figure.source, ""))))
    words = phrase("read_off.in_film", moment=moment(figure.at_s))
    if len(recordings) > 1 and figure.source in recordings:
        words = phrase("footing.in_recording", what=words, number=recordings[figure.source])
    return Stand(words)
