"""What a report says of the readings of a car's instruments."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.usecases.gauges import GaugeLine, GaugeSection, gauges_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from shutline.car.carfile import CarFile
    from shutline.publish.report.model import MeasuredGauge, MeasuredSection


def measured_section(car: CarFile, *, told: Callable[[str], str] = str) -> MeasuredSection | None:
    """Give the section of the report, None where nothing was measured.

    Parameters
    ----------
    car : CarFile
        The readings that stand count.
    told : callable
        What each sentence goes through before it is shown; a page for strangers takes private words out of it.
    """
    from shutline.publish.measured import words
    from shutline.publish.report.model import MeasuredSection

    sections = gauges_of(car).sections
    if not sections:
        return None
    return MeasuredSection(
        words()["heading"], words()["intro"], words()["against"], tuple(_gauge(one, told) for one in sections)
    )


def _gauge(section: GaugeSection, told: Callable[[str], str]) -> MeasuredGauge:
    from shutline.publish.measured import words
    from shutline.publish.plain import one_line
    from shutline.publish.report.model import MeasuredGauge, MeasuredLine

    def line(one: GaugeLine) -> MeasuredLine:
        notes = " ".join(note if note.endswith(".") else f"{note}." for note in one.notes)
        return MeasuredLine(one_line(told(one.sentence)), one_line(told(notes)))

    limits = dict.fromkeys(limit for one in section.lines for limit in one.limits)
    plain = sum(one.plain for one in section.lines)
    rest = "" if not plain else words()["plain_one"] if plain == 1 else words()["plain_many"].format(count=plain)
    return MeasuredGauge(
        name=section.title,
        lines=tuple(line(one) for one in section.lines if not one.plain),
        rest=rest,
        against=tuple(one_line(f"{limit[:1].upper()}{limit[1:]}.") for limit in limits),
        use=section.use,
        care=tuple(words()["care"].format(caution=one) for one in section.cautions),
        drawing=section.picture,
        alt=f"{section.title} on the Plan; the sentences below say the same.",
    )
