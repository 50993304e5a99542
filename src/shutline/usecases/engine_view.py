"""An engine's note, worded: what is told with what it may mean, what is not and why, and whether it was cold."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.carfile import CarFile
from shutline.car.engine import ColdFooting, ColdReadings, EngineFigure, EngineNote, KeptEngineNote


@dataclass(frozen=True, slots=True)
class ToldFigure:
    """A figure as it is shown: its words with bounds, how it is come by, what it may mean and on whose word."""

    figure: EngineFigure
    label: str
    words: str
    how: str
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class UntoldFigures:
    """Figures that are not told for one reason, and what to do."""

    labels: tuple[str, ...]
    sentence: str
    advice: str


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment to listen to; `kind` in words."""

    kind: str
    start_s: float
    end_s: float
    over_db: float


@dataclass(frozen=True, slots=True)
class EngineView:
    """A note of one recording, worded.

    `cold` is True or False with a footing, None without one or where they are at odds. `picture` is SVG, empty where
    there is nothing to draw, and `picture_words` says what it shows.
    """

    recording: str
    name: str
    note: EngineNote
    hearing: str
    told: tuple[ToldFigure, ...]
    untold: tuple[UntoldFigures, ...]
    moments: tuple[Moment, ...]
    cold: bool | None
    cold_words: str
    cold_footings: tuple[ColdFooting, ...]
    readings: ColdReadings
    cylinders_from: str
    author: str
    at: str
    picture: str
    picture_words: str


def view_of(car: CarFile, kept: KeptEngineNote) -> EngineView:
    """Word a note."""
    from shutline.gauge.engine.said import cold_read, cold_said, is_cold
    from shutline.publish.engine import cold_words, hearing_words, kind_words, picture_words
    from shutline.publish.engine_picture import engine_picture

    recording = next(one for one in car.recordings if one.id == kept.note.recording)
    footings = (*cold_said(recording.stretches, recording=recording.id), *cold_read(kept.readings))
    cold = is_cold(footings)
    return EngineView(
        recording=recording.id,
        name=recording.original.name,
        note=kept.note,
        hearing=hearing_words(kept.note),
        told=_told(kept.note),
        untold=_untold(kept.note),
        moments=tuple(Moment(kind_words(one.kind), one.start_s, one.end_s, one.over_db) for one in kept.note.bursts),
        cold=cold,
        cold_words=cold_words(cold, footings),
        cold_footings=footings,
        readings=kept.readings,
        cylinders_from=kept.cylinders_from,
        author=kept.author,
        at=kept.at,
        picture=engine_picture(kept.note),
        picture_words=picture_words(kept.note),
    )


def _told(note: EngineNote) -> tuple[ToldFigure, ...]:
    from shutline.gauge.engine.tables import figure_names, meaning_of
    from shutline.publish.engine import figure_words

    told = []
    for name in figure_names().values():
        figure = note.figure(name.id)
        if figure is not None:
            meaning = meaning_of(figure)
            words, source = (meaning.meaning, meaning.source) if meaning else ("", "")
            told.append(ToldFigure(figure, name.label, figure_words(figure), name.how, words, source))
    return tuple(told)


def _untold(note: EngineNote) -> tuple[UntoldFigures, ...]:
    from shutline.gauge.engine.tables import figure_names, reasons

    grouped: dict[str, list[str]] = {}
    for one in note.untold:
        grouped.setdefault(one.why, []).append(figure_names()[one.name].label)
    known = reasons()
    return tuple(
        UntoldFigures(tuple(labels), known[why].sentence, known[why].advice) for why, labels in grouped.items()
    )
