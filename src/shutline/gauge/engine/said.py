"""What was said, or read off before the start, of the engine: whether it was cold, how many cylinders it has."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shutline.car.engine import ColdFooting, ColdReadings
from shutline.car.speech import Stretch
from shutline.gauge.engine.tables import Phrase, cold_limits, cold_phrases, cylinder_phrases

_WORD = re.compile(r"[a-z0-9']+")


@dataclass(frozen=True, slots=True)
class SaidCylinders:
    """How many cylinders and strokes were told, in which words, when (seconds from the start of the recording)."""

    cylinders: int
    strokes: int
    words: str
    start_s: float
    end_s: float


def cold_said(stretches: Sequence[Stretch], *, recording: str) -> tuple[ColdFooting, ...]:
    """Find what was said of the engine being cold or warm.

    'It's stood overnight, so this is from cold' speaks for it; 'it's not cold, I had it running' against it; 'cold air
    from the heater' neither.
    """
    return tuple(
        ColdFooting(phrase.says == "cold", "said", text, recording, start_s, end_s)
        for phrase, text, start_s, end_s in _found(stretches, cold_phrases())
    )


def cold_read(readings: ColdReadings) -> tuple[ColdFooting, ...]:
    """Judge what was read before the start.

    An engine is never colder than the day for long, but how warm it still is the day does not tell: read alone, the
    temperature outside is a doubtful footing, and above ``outside_alone_c`` none.
    """
    limits = cold_limits()
    found = []
    if readings.coolant_c is not None:
        cold = readings.coolant_c <= limits.coolant_c
        words = f"coolant at {readings.coolant_c:g} °C"
        if readings.outside_c is not None:
            cold = cold or readings.coolant_c <= readings.outside_c + limits.over_outside_c
            words += f", {readings.outside_c:g} °C outside"
        found.append(ColdFooting(cold, "entered", words))
    if readings.standing_h is not None:
        cold = readings.standing_h >= limits.standing_h
        found.append(ColdFooting(cold, "entered", f"stood for {readings.standing_h:g} hours"))
    if not found and readings.outside_c is not None and readings.outside_c <= limits.outside_alone_c:
        found.append(ColdFooting(cold=True, kind="entered", words=f"{readings.outside_c:g} °C outside", doubtful=True))
    return tuple(found)


def is_cold(footings: Iterable[ColdFooting]) -> bool | None:
    """Say whether the engine may be called cold: True or False with a footing, None without one or with two at odds.

    What is doubtful is heard only where nothing else speaks.
    """
    told = tuple(footings)
    views = {one.cold for one in told if not one.doubtful} or {one.cold for one in told}
    return views.pop() if len(views) == 1 else None


def cylinders_said(stretches: Sequence[Stretch]) -> tuple[SaidCylinders, ...]:
    """Find what was said of the number of cylinders, in order of time."""
    found = []
    for phrase, text, start_s, end_s in _found(stretches, cylinder_phrases()):
        cylinders, strokes = map(int, phrase.says.split())
        found.append(SaidCylinders(cylinders, strokes, text, start_s, end_s))
    return tuple(found)


def _found(stretches: Sequence[Stretch], phrases: Sequence[Phrase]) -> Iterator[tuple[Phrase, str, float, float]]:
    """Find phrases in words; where two begin or end at the same word, or lie in each other, the longest holds."""
    for stretch in stretches:
        said = [(part, word.start_s, word.end_s) for word in stretch.words for part in _parts(word.text)]
        plain = [part for part, *_ in said]
        hits = [
            (at, at + len(phrase.words), phrase)
            for phrase in phrases
            for at in range(len(plain) - len(phrase.words) + 1)
            if tuple(plain[at : at + len(phrase.words)]) == phrase.words
        ]
        hits.sort(key=lambda hit: (hit[0] - hit[1], hit[0]))
        taken: set[int] = set()
        kept = []
        for first, last, phrase in hits:
            if taken.isdisjoint(range(first, last)):
                taken.update(range(first, last))
                kept.append((first, last, phrase))
        for first, last, phrase in sorted(kept, key=lambda hit: hit[0]):
            text = " ".join(word for word, *_ in said[max(0, first - 4) : last + 2])
            yield phrase, text, said[first][1], said[last - 1][2]


def _parts(word: str) -> list[str]:
    """Give the plain words of a spoken one: 'Four-cylinder,' has two."""
    return _WORD.findall(word.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"))
