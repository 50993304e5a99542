"""The Plan of the report: which findings have a pin, and what is said below the drawing."""

from __future__ import annotations

from collections.abc import Sequence

from shutline.car.carfile import CarFile
from shutline.car.errors import Problem, UserError
from shutline.car.findings import Finding
from shutline.car.places import Visit
from shutline.car.plan import Layout, Pin, PinForm, Plan, draw, plan_svg, unrolled_svg
from shutline.publish.report.model import Entry, Figure, Tone
from shutline.publish.report.times import ranges
from shutline.publish.wording import phrase, spelled

_FORMS = {
    Tone.FAULT: PinForm.BAD,
    Tone.UNSURE: PinForm.UNSURE,
    Tone.GOOD: PinForm.GOOD,
    Tone.RULED_OUT: PinForm.GOOD,
}
# More good news than this hides the drawing; more faults than that can no longer be told apart on it.
MOST_PINS = 60
MOST_FAULT_PINS = 90


def figure(car_file: CarFile, entries: Sequence[Entry], visits: Sequence[Visit]) -> tuple[Figure, tuple[Problem, ...]]:
    """Draw the Plan with the numbers of the findings, and with the thread where the walk is known."""
    wide, problems = _plan(car_file, Layout.STRIP)
    narrow, _ = _plan(car_file, Layout.FOLDED)
    findings = {kept.id: kept.finding for kept in car_file.going_out()}
    chosen = _chosen(entries)
    pins = [_pin(entry, findings[entry.id]) for entry in chosen]
    title = phrase("plan.title", car=car_file.title)
    desc = phrase("plan.desc", count=spelled(len(pins)), heading=phrase("headings.findings"))
    length_s = _length(car_file, visits)
    drawn = [
        unrolled_svg(plan, visits, length_s, pins=pins, title=title, desc=desc, standalone=False, prefix=prefix)
        if visits
        else plan_svg(plan, pins=pins, title=title, desc=desc, standalone=False, prefix=prefix)
        for plan, prefix in ((wide, "wide"), (narrow, "narrow"))
    ]
    caption = [phrase("plan.caption"), phrase("plan.forms")]
    if visits:
        caption.append(phrase("plan.thread"))
    if not wide.body_known:
        caption.append(phrase("plan.body_unknown"))
    left_out = [entry.number for entry in entries if entry not in chosen]
    if left_out:
        caption.append(phrase("plan.left_out", count=spelled(len(left_out)), numbers=ranges(left_out)))
    return Figure(drawn[0], drawn[1], f"{title}. {desc}", tuple(caption)), problems


def _plan(car_file: CarFile, layout: Layout) -> tuple[Plan, tuple[Problem, ...]]:
    try:
        return draw(car_file.body, doors=car_file.doors, drive=car_file.drive, layout=layout), ()
    except UserError as refused:
        return draw(None, doors=None, drive=car_file.drive, layout=layout), (refused.problem,)


def _chosen(entries: Sequence[Entry]) -> list[Entry]:
    order = (Tone.FAULT, Tone.UNSURE, Tone.GOOD, Tone.RULED_OUT)
    ranked = sorted(entries, key=lambda entry: (order.index(entry.tone), entry.number))
    needed = sum(entry.tone in (Tone.FAULT, Tone.UNSURE) for entry in entries)
    return sorted(ranked[: max(MOST_PINS, min(needed, MOST_FAULT_PINS))], key=lambda entry: entry.number)


def _pin(entry: Entry, finding: Finding) -> Pin:
    title = phrase("plan.finding_title", number=entry.number, place=entry.place, words=entry.words.lower())
    form = _FORMS[entry.tone]
    return Pin(entry.number, finding.part, finding.side, finding.position, form, title, f"#{entry.anchor}")


def _length(car_file: CarFile, visits: Sequence[Visit]) -> float:
    lengths = [r.probe.length_s for r in car_file.recordings if r.probe.length_s is not None]
    return max([*lengths[:1], *(visit.end_s for visit in visits)], default=1.0)
