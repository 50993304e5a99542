"""The model of the buyer's page, made from a public car file and its report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shutline.car.carfile import CarFile, Recording
from shutline.car.figures import Figure, FigureState
from shutline.car.places import Visit
from shutline.publish.buyers.model import (
    AnswerLine,
    BuyersPage,
    Chapter,
    Film,
    HeardPlace,
    Line,
    Moment,
    Paragraph,
    ReadingLine,
)
from shutline.publish.buyers.public import heard_only
from shutline.publish.buyers.wording import say, words
from shutline.publish.captions import captions
from shutline.publish.chapters import chapters
from shutline.publish.naming import capitalised, place_name
from shutline.publish.plain import one_line
from shutline.publish.private import Private
from shutline.publish.report.model import ReportModel
from shutline.publish.report.times import moment, size
from shutline.publish.report.waiting import footings_by_place
from shutline.publish.webvtt import webvtt


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer that was given: the question, the answer, what it stands on in words, and where it was said."""

    question: str
    answer: str
    stands_on: tuple[str, ...] = ()
    recording: str = ""
    at_s: float | None = None


def film_of(
    car: CarFile,
    recording: Recording,
    *,
    number: int,
    visits: Sequence[Visit],
    byte_size: int,
    picture_size: tuple[int, int],
    poster: bytes | None,
    masks: Sequence[str],
    muted: bool,
) -> Film:
    """Put what stands around a film into words.

    Parameters
    ----------
    car : CarFile
        The public car file.
    recording : Recording
        One of its own.
    number : int
        Its number on the page, from 1.
    visits : sequence of Visit
        Where the speaker was.
    byte_size, picture_size, poster, masks, muted
        Of the copy that goes out: bytes, pixels, a JPEG or none, what is covered, whether it is silent somewhere.
    """
    length_s = recording.probe.length_s or (recording.stretches[-1].end_s if recording.stretches else 0.0)
    said = [kept for kept in car.going_out() if any(one.source == recording.id for one in kept.finding.footings)]
    cut = chapters(visits, length_s=length_s, findings=said)
    cues = captions(recording.stretches)
    return Film(
        recording=recording.id,
        number=number,
        name=say("page.film_numbered", number=number),
        note=say("page.film_note", length=moment(length_s), size=size(byte_size)),
        byte_size=byte_size,
        width=picture_size[0],
        height=picture_size[1],
        poster=poster,
        chapters=tuple(Chapter(one.start_ms / 1000, moment(one.start_ms / 1000), one.text) for one in cut),
        lines=tuple(Line(one.start_ms / 1000, one.end_ms / 1000, one.text.replace("\n", " ")) for one in cues),
        captions=webvtt(cues) if cues else "",
        chapters_vtt=webvtt(cut) if cut else "",
        masks=tuple(masks),
        muted=muted,
    )


def build_page(
    car: CarFile,
    report: ReportModel,
    *,
    whole: CarFile,
    films: Sequence[Film],
    private: Private,
    figures: Sequence[Figure] = (),
    answers: Sequence[Answer] = (),
    description: Sequence[tuple[str, str]] = (),
    report_bytes: int = 0,
    unread_films: int = 0,
) -> BuyersPage:
    """Make the model of a page.

    Parameters
    ----------
    car : CarFile
        As `public_car` gives.
    report : ReportModel
        Of that car file.
    whole : CarFile
        The car file as it is kept: which places were spoken of and are not confirmed.
    films : sequence of Film
        Those that go with it.
    private : Private
        What may not leave: answers and description are held to it here.
    figures : sequence of Figure
        Read off pictures; only those that a person took are shown, and of those only what is no mark and no number.
    answers
        As they were given.
    description : sequence of tuple
        The words the car is offered with: heading, "" for none, and text of each paragraph.
    report_bytes : int
        Size of the report on paper; 0 where there is none.
    unread_films : int
        How many films there are that could not be read, and do not go with it.
    """
    at = {film.recording: film for film in films}
    moments = {
        kept.id: found
        for kept in car.findings
        if (found := _moment([(one.source, one.start_s) for one in kept.finding.footings], at)) is not None
    }
    return BuyersPage(
        title=report.title,
        made=say("page.made", date=report.made_words),
        report=report,
        films=tuple(films),
        moments=moments,
        heard=heard_places(whole, at),
        readings=_readings(figures, private, at),
        answers=tuple(
            AnswerLine(
                one_line(private.titled(one.question)),
                one_line(private.titled(one.answer)),
                tuple(one_line(private.text(line)) for line in one.stands_on),
                _moment([(one.recording, one.at_s)], at),
            )
            for one in answers
            if private.prose(one.question)
        ),
        description=tuple(
            Paragraph(one_line(heading), one_line(told))
            for heading, text in description
            if (told := private.prose(text)).strip()
        ),
        report_size=say("page.report_note", size=size(report_bytes)) if report_bytes else "",
        unread_films=unread_films,
    )


def _moment(said: Sequence[tuple[str, float | None]], at: Mapping[str, Film]) -> Moment | None:
    """Give the first moment that one of the films shows."""
    for source, start_s in said:
        if start_s is not None and source in at:
            film = at[source]
            key = "page.watch" if len(at) == 1 else "page.watch_in"
            words_ = say(key, moment=moment(start_s), number=film.number)
            return Moment(film.number, max(0.0, start_s - 1.0), words_)
    return None


def heard_places(whole: CarFile, at: Mapping[str, Film]) -> tuple[HeardPlace, ...]:
    """Give the places of all that was heard and is not confirmed, whatever else stands there, in walking order."""
    return tuple(
        HeardPlace(
            capitalised(place_name(*place)),
            tuple(
                dict.fromkeys(
                    told for one in footings if (told := _moment([(one.source, one.start_s)], at)) is not None
                )
            ),
        )
        for place, footings in footings_by_place(heard_only(whole)).items()
    )


def _readings(figures: Sequence[Figure], private: Private, at: Mapping[str, Film]) -> tuple[ReadingLine, ...]:
    labels, units = words("readings"), words("units")
    return tuple(
        ReadingLine(
            labels[one.read.kind.value],
            "" if one.part is None else place_name(one.part, one.side, one.position),
            one_line(private.text(f"{_number(one.value)}{units.get(one.unit or '', '')}")),
            _moment([(one.source, one.at_s)], at),
        )
        for one in figures
        if one.state is FigureState.TAKEN and one.read.kind.value in labels
    )


def _number(value: int | str) -> str:
    return f"{value:,}" if isinstance(value, int) else value
