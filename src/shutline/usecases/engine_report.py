"""What a report says of a car's engine by ear."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile
from shutline.usecases.engine_view import EngineView, view_of

if TYPE_CHECKING:
    from shutline.publish.report.model import EngineHeard, EngineSection
    from shutline.store import Store


def engine_section(store: Store, car: CarFile) -> EngineSection | None:
    """Give the section of the report, None where nothing was listened to."""
    from shutline.publish.engine import caution, describes, report_words
    from shutline.publish.report.model import EngineSection

    kept = store.engine_notes([one.id for one in car.recordings])
    if not kept:
        return None
    return EngineSection(
        heading=report_words("heading"),
        describes=describes(),
        caution=caution(),
        untold_heading=report_words("untold"),
        moments_heading=report_words("moments"),
        heard=tuple(_heard(view_of(car, one)) for one in kept),
    )


def engine_mark(store: Store, car: CarFile) -> str:
    """Give what changes whenever the section would."""
    kept = store.engine_notes([one.id for one in car.recordings])
    return hashlib.sha256("\0".join(f"{one.key} {one.at}" for one in kept).encode()).hexdigest()


def _heard(view: EngineView) -> EngineHeard:
    from shutline.publish.plain import one_line
    from shutline.publish.report.model import EngineHeard, EngineLine
    from shutline.publish.report.times import moment

    return EngineHeard(
        name=one_line(view.name),
        lead=f"{view.hearing} {view.cold_words}",
        lines=tuple(
            EngineLine(one.label[:1].upper() + one.label[1:], one.words, f"{one.meaning} ({one.source})")
            for one in view.told
        ),
        untold=tuple(
            f"{', '.join(one.labels)[:1].upper()}{', '.join(one.labels)[1:]}: {one.sentence}." for one in view.untold
        ),
        moments=tuple(f"{moment(one.start_s)}: {one.kind}" for one in view.moments),
        drawing=view.picture,
        alt=view.picture_words,
    )
