"""The report model, made from a car file: what may go out is chosen here, and worded."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.errors import Problem
from shutline.car.places import Visit
from shutline.car.recordings import Original
from shutline.publish.bare import BarePicture
from shutline.publish.naming import capitalised
from shutline.publish.plain import one_line
from shutline.publish.report.entries import otherwise_of, recording_numbers, sections
from shutline.publish.report.facts import facts, heard_facts_sentence
from shutline.publish.report.figure import figure
from shutline.publish.report.gaps import gaps, put_right_lines
from shutline.publish.report.model import (
    Caution,
    EngineSection,
    House,
    MeasuredSection,
    OddsSection,
    OriginalLine,
    PapersSection,
    ReportModel,
)
from shutline.publish.report.odds import marked, numbered
from shutline.publish.report.pictures import Album
from shutline.publish.report.read_off import read_off
from shutline.publish.report.summary import heard_sentence, severe_numbers, summary
from shutline.publish.report.times import day, instant, moment, size
from shutline.publish.report.waiting import waiting_lines
from shutline.publish.wording import phrase
from shutline.survey import Coverage

# A way to a file on somebody's machine; only its last name may go out.
_WAYS = re.compile(r"(?:^|(?<=[\s'\"(]))(?:[A-Za-z]:)?[\\/]+(?:[^\\/:;,\"'<>|\n]+[\\/]+)*(?=[^\\/\s])")


def build_report(
    car_file: CarFile,
    *,
    visits: Sequence[Visit] = (),
    stills: Mapping[str, bytes | BarePicture] | None = None,
    pictures: Mapping[str, BarePicture] | None = None,
    made_at: str,
    house: House | None = None,
    survey: Coverage | None = None,
    masks: Sequence[str] = (),
    engine: EngineSection | None = None,
    measured: MeasuredSection | None = None,
    history: MeasuredSection | None = None,
    papers: PapersSection | None = None,
    prep: MeasuredSection | None = None,
    price: MeasuredSection | None = None,
    silence_of: CarFile | None = None,
    odds: OddsSection | None = None,
    waiting: Sequence[KeptFinding] = (),
) -> ReportModel:
    """Choose and word everything that a report says.

    Parameters
    ----------
    car_file : CarFile
        Findings and facts that were struck or withdrawn are left out.
    visits : sequence of Visit
        Where the speaker was, for the thread above the Plan; empty leaves the thread out.
    stills : mapping
        From the SHA-256 of a still to the bytes of its file, or to it made ready; one that is not there, or is no
        picture, is said to be missing.
    pictures : mapping
        From the id of a picture taken by hand to it made ready: those that findings stand on are shown beside them.
    made_at : str
        ISO 8601; the same car file and time give the same report, byte for byte.
    house : House or None
        The firm that the report is made for.
    survey : Coverage, optional
        The car file held against its guide; done with the shipped guides when left out.
    masks : sequence of str
        What is said of covers in the pictures; see `publish.masks`.
    engine : EngineSection, optional
        The engine by ear; left out where nothing was listened to.
    measured : MeasuredSection, optional
        What instruments say; left out where nothing was measured.
    history : MeasuredSection, optional
        What is known of the car in use, in the same form; left out where nothing is.
    papers : PapersSection, optional
        Its papers and what was taken off them; left out where there are none.
    prep : MeasuredSection, optional
        What to put right, in the same form; for the house's own report alone.
    price : MeasuredSection, optional
        What it will fetch, what to ask and the most to pay; for the house's own report alone too.
    silence_of : CarFile, optional
        The car file by which it is told what was not looked at, where more is known than the report shows.
    odds : OddsSection, optional
        What is at odds, and what was decided; left out, facts alone are held against each other, by the shipped tables.
    waiting : sequence of KeptFinding, optional
        What was heard, is not confirmed, and is therefore not among the findings of `car_file`: only places and moments
        are told.

    Raises
    ------
    UserError
        `made_at` is not a time.
    """
    made_words = day(instant(made_at).date().isoformat())
    recordings = recording_numbers(car_file)
    album = Album(stills or {}, pictures)
    parted = sections(car_file.going_out(), album=album, recordings=recordings, otherwise=otherwise_of(car_file))
    told_odds = numbered(odds or OddsSection(), parted)
    parted = marked(parted, told_odds)
    entries = tuple(entry for section in parted for place in section.places for entry in place.entries)
    silent, passing, unknown, left_out = gaps(silence_of or car_file, survey)
    worded, fact_problems = facts(car_file, recordings, None if odds is None else odds.facts)
    heard_facts = heard_facts_sentence(worded)
    drawn, figure_problems = figure(car_file, entries, visits)
    heard = tuple(entry for entry in entries if not entry.confirmed)
    problems = (*car_file.problems, *album.problems(), *fact_problems, *figure_problems)
    return ReportModel(
        title=one_line(car_file.title) or one_line(car_file.name),
        made_at=made_at,
        made_words=made_words,
        house=None if house is None else _one_lined(house),
        facts=worded,
        summary=summary(car_file, entries, silent, severe=severe_numbers(car_file, entries), waiting=len(waiting)),
        figure=drawn,
        sections=parted,
        silent=silent,
        passing=passing,
        unknown_facts=unknown,
        left_out=left_out,
        heard=heard_sentence(entries, waiting=len(waiting), facts=bool(heard_facts)),
        heard_facts=heard_facts,
        heard_entries=() if len(heard) == len(entries) else heard,
        cautions=_cautions(car_file),
        originals=_originals(car_file),
        problems=tuple(dict.fromkeys(_problem_words(problem) for problem in problems)),
        masks=tuple(one_line(line) for line in masks),
        engine=engine,
        measured=measured,
        history=history,
        papers=papers,
        put_right=put_right_lines(car_file),
        prep=prep,
        price=price,
        read_off=read_off(car_file, recordings),
        odds=told_odds,
        waiting=waiting_lines(waiting, recordings),
    )


def _one_lined(house: House) -> House:
    return House(one_line(house.name), tuple(one_line(line) for line in house.lines), one_line(house.telephone))


def _cautions(car_file: CarFile) -> tuple[Caution, ...]:
    spoken = {kept.finding.part for kept in car_file.going_out()}
    said = {kept.finding.condition for kept in car_file.going_out()}
    return tuple(
        Caution(row["title"], row["text"])
        for row in _caution_rows()
        if not (row["parts"] or row["conditions"]) or spoken & set(row["parts"]) or said & set(row["conditions"])
    )


@cache
def _caution_rows() -> tuple[Mapping[str, Any], ...]:
    text = files("shutline.publish").joinpath("data/cautions.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)["caution"])


def _originals(car_file: CarFile) -> tuple[OriginalLine, ...]:
    held: list[tuple[Original, float | None]] = [(r.original, r.probe.length_s) for r in car_file.recordings]
    held += [(picture.original, None) for picture in car_file.pictures]
    return tuple(_original(original, length) for original, length in dict(held).items())


def _original(original: Original, length_s: float | None) -> OriginalLine:
    kind = capitalised(phrase(f"original.{original.kind.value}"))
    if length_s is None:
        words = phrase("original.line", kind=kind, size=size(original.byte_size))
    else:
        words = phrase("original.line_timed", kind=kind, length=moment(length_s), size=size(original.byte_size))
    return OriginalLine(_last_name(one_line(original.name)), words, one_line(original.sha256))


def _last_name(name: str) -> str:
    return re.split(r"[\\/]", name.rstrip("\\/"))[-1]


def _problem_words(problem: Problem) -> str:
    words = capitalised(_WAYS.sub("", one_line(problem.sentence())))
    return words if words.endswith((".", "!", "?")) else f"{words}."
