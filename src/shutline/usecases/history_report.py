"""What a report says of a car in use, and what of it may go to strangers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.findings import State
from shutline.car.kept_tests import RecordState
from shutline.usecases.car_history import history_of
from shutline.usecases.kept_tests import counts, own_marks
from shutline.usecases.papers_bare import bare_papers
from shutline.usecases.past import without_names

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date

    from shutline.car.carfile import CarFile
    from shutline.publish.report.model import MeasuredGauge, MeasuredSection
    from shutline.usecases.car_history import CarHistory


def history_section(car: CarFile, *, day: date) -> MeasuredSection | None:
    """Give the section of the report, None where nothing is known; days are written as people write them."""
    return _section(history_of(replace(car, papers=bare_papers(car)), day=day), public=False, told=str)


def public_history_section(
    car: CarFile, public: CarFile, *, day: date, told: Callable[[str], str]
) -> MeasuredSection | None:
    """Give the section of a page for strangers: no mark, no chassis number, no name.

    Parameters
    ----------
    car, public : CarFile
        The whole car file and its public part: no fact is told that the latter has not.
    day : date
        On which it is told.
    told : callable
        Takes out of each sentence what may not leave.
    """
    # Which test histories count is told by marks that may not go out themselves.
    marks = own_marks(car)
    tests = tuple(replace(one, state=RecordState.SAME) for one in car.tests if counts(one, marks))
    past = tuple(without_names(one) for one in car.past if one.state is State.STANDS)
    shown = replace(car, facts=public.facts, figures=(), tests=tests, past=past, papers=bare_papers(car))
    return _section(history_of(shown, day=day), public=True, told=told)


def _section(history: CarHistory, *, public: bool, told: Callable[[str], str]) -> MeasuredSection | None:
    from shutline.history.timeline import timeline_svg
    from shutline.publish.history import words
    from shutline.publish.report.model import MeasuredSection
    from shutline.publish.report.times import plain_days
    from shutline.usecases.history_events import tests_words

    if not (history.tests or len(history.mileage.points) > 1 or history.doubts or history.past):
        return None
    said = words()
    alt = told(history.alt)
    picture = timeline_svg(history.events, history.mileage, title=said["title"], desc=plain_days(alt))

    known = [*([tests_words(history.tests)] if history.tests else []), *history.keepers, *history.countries]

    def rule(words: str, source: str) -> str:
        return said["rule"].format(rule=words, source=source)

    parts = [
        _part(said["timeline"], [(told(line), "") for line in known], drawing=picture, alt=alt),
        _part(said["mileage"], [(told(words), "") for words in (*history.undated, history.mileage.sentence)]),
        _part(said["returning"], [(told(one.sentence), "") for one in history.returning]),
        _part(said["exempt"], [(one.sentence, one.ask) for one in history.exemptions]),
    ]
    if public:
        doubts = dict.fromkeys((one.plain, rule(one.rule, one.source)) for one in history.doubts)
    else:
        doubts = dict.fromkeys((one.sentence, f"{rule(one.rule, one.source)} {one.ask}") for one in history.doubts)
        lines = [(one, "") for one in history.dates]
        lines += [(one.told.sentence, "; ".join(one.how)) for one in history.marks]
        lines += [(one.told.sentence, "; ".join(one.how)) for one in history.chassis]
        parts.append(_part(said["identity"], lines))
    parts.append(_part(said["doubts"], doubts))
    kept = tuple(part for part in parts if part.lines or part.drawing)
    return MeasuredSection(said["heading"], said["intro"], "", kept)


def _part(name: str, lines: Iterable[tuple[str, str]], *, drawing: str = "", alt: str = "") -> MeasuredGauge:
    from shutline.publish.plain import one_line
    from shutline.publish.report.model import MeasuredGauge, MeasuredLine
    from shutline.publish.report.times import plain_days

    def worded(words: str) -> str:
        return plain_days(one_line(words))

    shown = tuple(MeasuredLine(worded(words), worded(notes)) for words, notes in lines)
    return MeasuredGauge(name=name, lines=shown, rest="", against=(), use="", care=(), drawing=drawing, alt=worded(alt))
