"""What the readings of a car tell, gauge by gauge, with the limits they were held against and who decides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import partial
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Footing, FootingKind, Found, State
from shutline.gauge.sheet import GaugeSheet
from shutline.survey.measured import damp_of, first_use, gauges_against, paint_of, standing_readings
from shutline.usecases.gauge_results import GAUGES, Known
from shutline.usecases.gauge_sheets import gauge_sheet
from shutline.usecases.look import find_car

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding
    from shutline.car.findings import Finding, Position, Side
    from shutline.car.plan import Plan
    from shutline.gauge.damp import DampAgainst, DampResult
    from shutline.gauge.paint import PaintAgainst, PaintResult
    from shutline.gauge.results import Result
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class GaugeLine:
    """What was measured of one thing, in sentences.

    `limits` are what it was held against, each with its source and who decides; `outcome` is what comes of them in a
    word, empty where there was nothing to hold it against. `notes` are what bears on it. `plain` is
    True for a place that does not stand out among others.
    """

    sentence: str
    part: str
    side: Side | None = None
    position: Position | None = None
    outcome: str = ""
    limits: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    plain: bool = False


@dataclass(frozen=True, slots=True)
class GaugeSection:
    """What the readings of one gauge tell; `use` says what that is good for and who decides."""

    id: str
    title: str
    lines: tuple[GaugeLine, ...]
    use: str = ""
    cautions: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    picture: str = ""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A finding that was measured and waits for a person to enter it: never made by itself.

    `key` names it; `place` and `label` say where and what in words. `entered` is True where somebody has.
    """

    key: str
    place: str
    part: str
    side: Side | None
    position: Position | None
    condition: str
    label: str
    sureness: float | None
    why: str
    entered: bool


@dataclass(frozen=True, slots=True)
class MeasuredAgainst:
    """A kept finding that what was measured cannot well be true beside."""

    finding: str
    sureness: float | None
    sentence: str


@dataclass(frozen=True, slots=True)
class CarGauges:
    """All that the readings of a car tell; a section for each gauge that was read.

    `problems` are what could not be read of the user's own table.
    """

    car: str
    title: str
    sections: tuple[GaugeSection, ...]
    against: tuple[MeasuredAgainst, ...] = ()
    proposals: tuple[Proposal, ...] = ()
    problems: tuple[Problem, ...] = ()


def car_gauges(store: Store, name: str, *, day: date | None = None) -> CarGauges:
    """Tell what the standing readings of a car come to.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    day : date, optional
        On which ages are counted; today when left out.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    return gauges_of(find_car(store, name), day=day)


def gauges_of(car: CarFile, *, day: date | None = None) -> CarGauges:
    """Tell what the standing readings of a car file come to; as `car_gauges`."""
    readings = standing_readings(car)
    first_used = first_use(car)
    sections: list[GaugeSection] = []
    film = paint_of(car)
    if film is not None:
        sections.append(_paint_section(car, film))
    today = day or datetime.now(UTC).date()
    problems: tuple[Problem, ...] = ()
    try:
        sheet = gauge_sheet(car.name)
    except UserError as error:
        # A table that cannot be read is told of; the readings are told without it.
        sheet, problems = GaugeSheet(), (error.problem,)
    known = Known(car, readings, first_used, today, sheet)
    for id_, title, told in GAUGES:
        section = _section(id_, title, partial(told, known))
        if section is not None:
            sections.append(section)
    damp = damp_of(car)
    if damp is not None:
        sections.append(_damp_section(car, damp))
    if changes := _changes(car):
        sections.append(changes)
    against, proposals = _beside(car, film, damp)
    return CarGauges(car.name, car.title, tuple(sections), against, proposals, problems)


def _section(id_: str, title: str, tell: Callable[[], tuple[Result, ...]]) -> GaugeSection | None:
    """Tell one gauge; what goes wrong in it is told, and the others go on."""
    try:
        results = tell()
    except UserError as error:
        return GaugeSection(id_, title, (), problems=(error.problem,))
    if not results:
        return None
    uses = list(dict.fromkeys((one.use.good_for, one.use.decides) for one in results))
    cautions = dict.fromkeys(words for one in results for words in one.use.cautions)
    use = " ".join(f"Good for {good}; {who} decides." for good, who in uses)
    return GaugeSection(id_, title, tuple(_line(one) for one in results), use, tuple(cautions))


def _line(result: Result) -> GaugeLine:
    return GaugeLine(
        sentence=result.plain,
        part=result.place.part,
        side=result.place.side,
        position=result.place.position,
        outcome=str(result.outcome or ""),
        limits=tuple(one.limit.told() for one in result.held),
        notes=result.notes,
    )


# Gauges ---------------------------------------------------------------------------------------------------------------


def _paint_section(car: CarFile, film: PaintResult) -> GaugeSection:
    lines = [
        GaugeLine(
            one.sentence,
            one.panel.part,
            one.panel.side,
            one.panel.position,
            notes=one.notes,
            # What was left out of a spot is told, and so does not lie folded away.
            plain=one.told == "own" and not one.notes,
        )
        for one in film.panels
    ]
    lines += [
        GaugeLine(one.sentence, one.one.part, one.one.side, one.one.position)
        for one in film.comparisons
        if one.sureness >= 0.8
    ]
    if film.own is not None:
        first = GaugeLine(film.own.sentence, "paintwork", notes=(film.own.beside_trade,))
        lines.insert(0, first)
    ranges = tuple(
        f"{one.what}: {one.low_um:g} to {one.high_um:g} µm, {one.of} ({one.source})" for one in film.trade_ranges
    )
    if lines:
        lines[0] = replace(lines[0], limits=ranges)
    use = f"Good for {film.good_for}; {film.decides} decides."
    return GaugeSection("paint", "Paint film", tuple(lines), use, film.cautions, film.problems, _heat(car, film))


def _damp_section(car: CarFile, damp: DampResult) -> GaugeSection:
    """Tell damp, meter by meter."""
    from shutline.gauge.damp import damp_svg

    lines: list[GaugeLine] = []
    for meter in damp.meters:
        lines.append(GaugeLine(meter.sentence, "interior", notes=(damp.note,)))
        lines += [
            GaugeLine(
                one.sentence,
                one.place.part,
                one.place.side,
                one.place.position,
                notes=one.notes,
                plain=one.told == "own",
            )
            for one in meter.places
        ]
    use = f"Good for {damp.good_for}; {damp.decides} decides."
    picture = damp_svg(_plan(car), damp, title="Damp on the Plan", standalone=False)
    return GaugeSection("damp", "Damp", tuple(lines), use, damp.cautions, picture=picture)


def _heat(car: CarFile, film: PaintResult) -> str:
    from shutline.gauge.paint import heat_svg

    return heat_svg(_plan(car), film, title="Paint film on the Plan", standalone=False)


def _plan(car: CarFile) -> Plan:
    from shutline.car.plan import draw

    try:
        return draw(car.body, doors=car.doors, drive=car.drive)
    except UserError:
        return draw(None, drive=car.drive)


def _changes(car: CarFile) -> GaugeSection | None:
    """Tell what was read on several days, and how much it has changed."""
    from shutline.gauge.readings import trends

    standing = [one for one in car.readings if one.state is State.STANDS]
    told = trends((one.reading, date.fromisoformat((one.reading.measured_at or one.kept_at)[:10])) for one in standing)
    if not told:
        return None
    lines = tuple(
        GaugeLine(one.sentence, one.reading.part, one.reading.side, one.reading.position, plain=not one.changed)
        for one in told
    )
    return GaugeSection("changes", "Between days", lines)


# Beside what was said -------------------------------------------------------------------------------------------------


def _beside(
    car: CarFile, film: PaintResult | None, damp: DampResult | None
) -> tuple[tuple[MeasuredAgainst, ...], tuple[Proposal, ...]]:
    from shutline.gauge import damp as of_damp
    from shutline.gauge import paint as of_paint

    kept = car.going_out()
    findings = [each.finding for each in kept]
    cases: list[PaintAgainst | DampAgainst] = [
        *(of_paint.against(findings, film) if film is not None else ()),
        *(of_damp.against(findings, damp) if damp is not None else ()),
    ]
    told = tuple(MeasuredAgainst(kept[one.finding].id, one.sureness, one.sentence) for one in cases)
    told += tuple(
        MeasuredAgainst(kept[one.finding].id, one.sureness, one.sentence) for one in gauges_against(car, findings)
    )
    return told, tuple(_proposal(one, car) for one in _proposed(film, damp))


def _proposed(film: PaintResult | None, damp: DampResult | None) -> tuple[Finding, ...]:
    from shutline.gauge import damp as of_damp
    from shutline.gauge import paint as of_paint

    paint = of_paint.proposals(film) if film is not None else ()
    return (*paint, *(of_damp.proposals(damp) if damp is not None else ()))


def _proposal(finding: Finding, car: CarFile) -> Proposal:
    from shutline.car.plan import spoken_name
    from shutline.car.vocabulary import vocabulary

    spot = (finding.part, finding.side, finding.position)
    why = finding.why[0] if finding.why else ""
    entered = any(
        (one.finding.part, one.finding.side, one.finding.position, one.finding.condition) == (*spot, finding.condition)
        and any(footing.kind is FootingKind.MEASURED for footing in one.finding.footings)
        for one in car.going_out()
    )
    return Proposal(
        key="-".join(word for word in (*spot, finding.condition) if word),
        place=spoken_name(*spot),
        part=finding.part,
        side=finding.side,
        position=finding.position,
        condition=finding.condition,
        label=vocabulary().conditions[finding.condition].label,
        sureness=finding.sureness,
        why=why,
        entered=entered,
    )


def enter_measured(
    store: Store, name: str, key: str, *, found: Found = Found.UNSURE, author: str | None = None
) -> KeptFinding:
    """Enter a finding that was measured; it stands, with what was measured as its footing.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    key : str
        Of the proposal.
    found : Found
        Yes where the person has made sure; a thickness alone does not tell what it is made of.
    author : str, optional
        Who enters it; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car, or nothing of the kind was measured (slug ``not-measured``).
    """
    from shutline.usecases.settings import author as present_author

    car = find_car(store, name)
    for one in _proposed(paint_of(car), damp_of(car)):
        offered = _proposal(one, car)
        if offered.key != key:
            continue
        quote = offered.why
        finding = replace(
            one,
            found=found,
            footings=tuple(replace(footing, quote=quote) for footing in one.footings)
            or (Footing(FootingKind.MEASURED, quote=quote),),
        )
        return store.add_finding(car.name, finding, author=author or present_author(), token=f"measured {key} {found}")
    raise NotFoundError(
        Problem(
            slug="not-measured",
            where=f"{car.name}, {key[:60]!r}",
            found="nothing of the kind was measured, or no more",
            allowed="what the readings propose",
            advice="See what they tell: shutline gauges CAR.",
        )
    )
