"""Findings put into words, numbered in walking order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Side, State
from shutline.car.second import SecondView, Verdict
from shutline.car.vocabulary import vocabulary
from shutline.publish.naming import capitalised, place_name, walk_order, with_article, zone_of
from shutline.publish.plain import one_line
from shutline.publish.report.model import Entry, PlaceGroup, Section, Stand, Tone
from shutline.publish.report.pictures import Album
from shutline.publish.report.times import moment
from shutline.publish.wording import condition_words, phrase


def sections(
    kept: Sequence[KeptFinding],
    *,
    album: Album,
    recordings: Mapping[str, int],
    otherwise: Mapping[str, Sequence[SecondView]] | None = None,
    first: int = 1,
) -> tuple[Section, ...]:
    """Put findings in walking order, number them and word them.

    Parameters
    ----------
    kept : sequence of KeptFinding
        Those that may go out.
    album : Album
        The stills at hand.
    recordings : mapping
        From the id of a recording to its number, where there is more than one.
    otherwise : mapping, optional
        From the id of a finding to how second readings take it.
    first : int
        Their first number, where they are a run out of the middle of all.
    """
    found: list[Section] = []
    places: list[PlaceGroup] = []
    entries: list[Entry] = []
    ordered = in_walking_order(kept)
    for place, one in enumerate(ordered):
        # Of two findings on one picture it is the fault that must be seen.
        if tone_of(one.finding) is Tone.FAULT and not one.finding.by_hand:
            album.keep_for(first + place, one)
    for place, one in enumerate(ordered):
        # The frame at a moment that a person entered something at was taken for what is shown and said there.
        if not one.finding.by_hand:
            album.keep_for(first + place, one)
    for place, one in enumerate(ordered):
        entries.append(_entry(first + place, one, album, recordings, (otherwise or {}).get(one.id, ())))
        following = ordered[place + 1].finding if place + 1 < len(ordered) else None
        if following is None or _place(following) != _place(one.finding):
            places.append(PlaceGroup(capitalised(place_name(*_place(one.finding))), tuple(entries)))
            entries = []
        zone = zone_of(*_place(one.finding))
        if following is None or zone_of(*_place(following)) != zone:
            found.append(Section(f"part-{zone.id}", zone.title, tuple(places)))
            places = []
    return tuple(found)


def in_walking_order(kept: Sequence[KeptFinding]) -> list[KeptFinding]:
    """Give findings in the order in which they are numbered, from 1."""
    return sorted(kept, key=_order)


def tone_of(finding: Finding) -> Tone:
    """Tell what sort of statement a finding makes."""
    if finding.found is Found.UNSURE:
        return Tone.UNSURE
    defect = vocabulary().is_defect(finding.condition)
    if finding.found is Found.NO:
        return Tone.RULED_OUT if defect else Tone.FAULT
    return Tone.FAULT if defect else Tone.GOOD


def finding_stands_on(finding: Finding, recordings: Mapping[str, int]) -> tuple[Stand, ...]:
    """Put what a finding stands on into words; what a person entered is told as that, with what they wrote."""
    entry = finding.by_hand
    rest = tuple(one for one in finding.footings if one not in entry)
    told = (_entered(entry, recordings),) if entry else ()
    return (*told, *stands_on(rest, recordings)) if rest or not told else told


def _entered(entry: Sequence[Footing], recordings: Mapping[str, int]) -> Stand:
    at, wrote = entry[0], next((one_line(one.quote) for one in entry if one.quote), "")
    key = "footing.entered_wrote" if wrote else "footing.entered"
    return Stand(_in_recording(phrase(key, moment=moment(at.start_s or 0.0), words=wrote), at, recordings))


def _in_recording(words: str, footing: Footing, recordings: Mapping[str, int]) -> str:
    if len(recordings) > 1 and footing.source in recordings:
        return phrase("footing.in_recording", what=words, number=recordings[footing.source])
    return words


def stands_on(footings: Sequence[Footing], recordings: Mapping[str, int]) -> tuple[Stand, ...]:
    """Put footings into words, each once; one line that says so where there are none."""
    stands = []
    for footing in footings:
        kind = footing.kind.value
        if footing.start_s is None:
            words = phrase(f"footing.{kind}")
        else:
            words = phrase(f"footing.{kind}_at", moment=moment(footing.start_s))
        stands.append(Stand(_in_recording(words, footing, recordings), one_line(footing.quote)))
    return tuple(dict.fromkeys(stands)) or (Stand(phrase("footing.none")),)


def is_doubtful(sureness: float | None, state: State) -> bool:
    """Tell whether the program's own doubt is great enough to be said; a person's word ends it."""
    return state is State.HEARD and sureness is not None and sureness < float(phrase("state.doubtful_below"))


def _place(finding: Finding) -> tuple[str, Side | None, Position | None]:
    return (finding.part, finding.side, finding.position)


def _order(kept: KeptFinding) -> tuple[object, ...]:
    finding = kept.finding
    start = finding.start_s
    return (*_walk_order(finding.part, finding.side, finding.position), start is None, start or 0.0, kept.id)


# A car may have a thousand findings, and each part but few places.
_walk_order = lru_cache(maxsize=4096)(walk_order)


def _entry(
    number: int, kept: KeptFinding, album: Album, recordings: Mapping[str, int], otherwise: Sequence[SecondView]
) -> Entry:
    finding = kept.finding
    short, at_place = condition_words()[finding.condition, finding.found]
    name = place_name(finding.part, finding.side, finding.position)
    words = short
    extra = []
    if finding.severity is not None:
        severity = phrase(f"severity.{finding.severity.value}")
        words = f"{words}, {severity}"
        extra.append(severity)
    detail = ""
    if finding.remedy is not None:
        entry = finding.by_hand
        said = any(one.kind is FootingKind.SAID and one not in entry for one in finding.footings)
        detail = phrase("remedy.said" if said else "remedy.entered", remedy=phrase(f"remedy.{finding.remedy.value}"))
        extra.append(detail)
    inline = at_place.format(place=with_article(name))
    if extra:
        inline = phrase("summary.item", words=inline, extra=", ".join(extra))
    state = phrase(f"state.{finding.state.value}{'_unsure' if finding.found is Found.UNSURE else ''}")
    if is_doubtful(finding.sureness, finding.state):
        state = f"{state}. {phrase('state.doubtful')}"
    if finding.state is State.HEARD and otherwise:
        state = f"{state.rstrip('.')}. {_otherwise(otherwise[0])}"
    beside = album.beside(number, kept, f"{name}: {words.lower()}")
    return Entry(
        number=number,
        id=kept.id,
        tone=tone_of(finding),
        words=words,
        at_place=inline,
        place=name,
        detail=capitalised(detail),
        state=capitalised(state),
        confirmed=finding.state is State.STANDS,
        stands_on=finding_stands_on(finding, recordings),
        pictures=beside.pictures,
        note=beside.note,
        see=beside.see,
    )


def otherwise_of(car_file: CarFile) -> dict[str, list[SecondView]]:
    """Give, by the id of the finding, what second readings take otherwise."""
    found: dict[str, list[SecondView]] = {}
    for reading in car_file.second_readings:
        for view in reading.views:
            if view.verdict is Verdict.OTHERWISE and view.finding is not None:
                found.setdefault(view.finding, []).append(view)
    return found


def _otherwise(view: SecondView) -> str:
    words = condition_words()[view.condition, view.found][0]
    name = place_name(view.part, view.side, view.position)
    return phrase("state.otherwise", place=name, words=words.lower(), quote=one_line(view.quote))


def recording_numbers(car_file: CarFile) -> dict[str, int]:
    """Give each recording of a car its number, from 1 in their order."""
    return {recording.id: number for number, recording in enumerate(car_file.recordings, 1)}
