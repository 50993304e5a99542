"""Runs of figures that were called out while measuring, each with its place."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shutline.car.places import Visit
from shutline.car.readings import Reading, Way
from shutline.car.speech import Stretch, Word
from shutline.car.vocabulary import vocabulary
from shutline.gauge.readings.entry import Keyed, reading_of
from shutline.gauge.readings.figures import Called, Token, called
from shutline.gauge.readings.quantities import SpokenCue, quantities, spoken_cues, spoken_ends, spots

_PIECE = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|[a-z']+|%")
_FURTHEST = 9
"""So many words may stand between a figure, or the words that speak of figures, and the next figure of the run."""
_LONGEST_S = 12.0
"""So long may nothing be said between them, seconds."""
_NUMBERED = frozenset({"number", "cylinder", "pot"})
_STAND_INS = {"wheel": "tyre"}


@dataclass(frozen=True, slots=True)
class Run:
    """A run of figures: what it is of, the readings in the order of time, and what was doubtful, in plain sentences."""

    quantity: str
    readings: tuple[Reading, ...]
    doubts: tuple[str, ...] = ()


def spoken_runs(stretches: Sequence[Stretch], walk: Sequence[Visit], *, recording: str) -> tuple[Run, ...]:
    """Find the runs of figures in the words of a recording.

    Parameters
    ----------
    stretches : sequence of Stretch
        The words with their times.
    walk : sequence of Visit
        Where the speaker was, in the order of time.
    recording : str
        The recording's id.

    Returns
    -------
    tuple of Run
        In the order of time; a run needs words that speak of it (`data/spoken.csv`).
    """
    words = [word for stretch in stretches for word in stretch.words]
    tokens = _tokens(words)
    runs: list[Run] = []
    until = 0
    cues = list(_cues(tokens))
    walk = _without_the_gauge(walk, tokens, cues)
    for at, cue in cues:
        if at < until and runs and runs[-1].quantity == cue.quantity:
            continue
        first, figures, until = _figures_of(tokens, at, cue, after=until)
        if figures:
            runs.append(_run(tokens, words, figures, cue, walk, recording=recording))
        until = max(until, first)
    return tuple(runs)


def _tokens(words: Sequence[Word]) -> list[Token]:
    found = []
    for index, word in enumerate(words):
        pieces = _PIECE.findall(word.text.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"))
        for k, piece in enumerate(pieces):
            last = k == len(pieces) - 1
            mark = last and word.text.rstrip("'\")").endswith((",", ".", ";", ":", "!", "?", "\N{HORIZONTAL ELLIPSIS}"))
            found.append(Token(piece, index, word.start_s, word.end_s, mark))
    return found


def _cues(tokens: Sequence[Token]) -> Iterator[tuple[int, SpokenCue]]:
    """Give the words that speak of figures, in order; the longer one where two begin alike."""
    texts = [token.text for token in tokens]
    at = 0
    while at < len(texts):
        for cue in spoken_cues():
            size = len(cue.words)
            if tuple(texts[at : at + size]) == cue.words and not (
                cue.counter and cue.counter in texts[at + size : at + size + 2]
            ):
                yield at, cue
                at += size - 1
                break
        at += 1


def _without_the_gauge(
    walk: Sequence[Visit], tokens: Sequence[Token], cues: Sequence[tuple[int, SpokenCue]]
) -> list[Visit]:
    """Leave out of a walk that a paint gauge was spoken of: it is no instrument of the car, and nobody went there."""
    spans = [
        (tokens[at].start_s, tokens[at + len(cue.words) - 1].end_s, quantities()[cue.quantity].parts)
        for at, cue in cues
    ]

    def of_the_gauge(visit: Visit) -> bool:
        part = _STAND_INS.get(visit.part, visit.part)
        return any(start <= visit.start_s < end and part not in parts for start, end, parts in spans)

    return [visit for visit in walk if not of_the_gauge(visit)]


def _figures_of(tokens: Sequence[Token], at: int, cue: SpokenCue, *, after: int) -> tuple[int, list[Called], int]:
    """Give the figures that belong to a cue: those that stand right before it, and those that follow it."""
    size = len(cue.words)
    begin = max(after, at - 24)
    before = [
        Called(one.first + begin, one.end + begin, one.value, other=one.other)
        for one in called(tokens[begin:at], low=cue.low, high=cue.high)
    ]
    near: list[Called] = []
    edge = at
    for one in reversed(before):
        if edge - one.end > (0 if edge == at else 2) or _numbers_a_thing(tokens, one):
            break
        near.insert(0, one)
        edge = one.first
    found = near
    usual = found[-1].value if found else None
    reach = at + size
    stop = min(len(tokens), reach + 400)
    for one in called(tokens[reach:stop], low=cue.low, high=cue.high, usual=usual):
        here = Called(one.first + reach, one.end + reach, one.value, other=one.other)
        last = max(found[-1].end if found else 0, at + size)
        gap = tokens[here.first].start_s - tokens[last - 1].end_s
        if here.first - last > _FURTHEST or gap > _LONGEST_S or _another(tokens, last, here.first, cue):
            break
        if not _numbers_a_thing(tokens, here):
            found = [*found, here]
    return edge, found, found[-1].end if found else at + size


def _another(tokens: Sequence[Token], first: int, end: int, cue: SpokenCue) -> bool:
    """Tell whether words between speak of another quantity, or of a thing whose figure follows."""
    if any(token.text in spoken_ends()[1] for token in tokens[first:end]):
        return True
    return any(other.quantity != cue.quantity for _, other in _cues(tokens[first:end]))


def _numbers_a_thing(tokens: Sequence[Token], one: Called) -> bool:
    """Tell whether a figure is the number of a thing, as in 'number two', or a count, as in 'two keys'."""
    counts = one.end < len(tokens) and tokens[one.end].text in spoken_ends()[0]
    return counts or (one.first > 0 and tokens[one.first - 1].text in _NUMBERED)


def _run(
    tokens: Sequence[Token],
    words: Sequence[Word],
    figures: Sequence[Called],
    cue: SpokenCue,
    walk: Sequence[Visit],
    *,
    recording: str,
) -> Run:
    of = quantities()[cue.quantity]
    readings = []
    doubts = []
    series = f"{recording}:{tokens[figures[0].first].start_s:.1f}"
    for number, one in enumerate(figures, 1):
        start = tokens[one.first].start_s
        end = tokens[one.end - 1].end_s
        until = figures[number].first if number < len(figures) else min(len(tokens), one.end + _FURTHEST)
        spot = _spot(tokens, figures[number - 2].end if number > 1 else max(0, one.first - 4), one, until)
        if of.spots == "cylinder":
            spot = _numbered(tokens, one) or (str(number) if len(figures) > 1 else "")
        elif of.spots != "words":
            spot = ""
        part, side, position = _place(walk, start, of.parts)
        quote = " ".join(word.text for word in words[tokens[one.first].word : tokens[one.end - 1].word + 1])
        reading = reading_of(
            Keyed(of.id, one.value, unit=cue.unit, part=part, side=side, position=position, spot=spot, series=series),
            where=f"{recording}, {start:.1f} s",
            way=Way.SPOKEN,
        )
        readings.append(replace(reading, source=recording, start_s=start, end_s=end, quote=quote))
        if one.other:
            doubts.append(f"'{quote}' may be parted otherwise; taken as {one.value:g}")
    return Run(of.id, tuple(readings), tuple(doubts))


def _spot(tokens: Sequence[Token], after: int, one: Called, until: int) -> str:
    """Give the words for a place that belong to a figure: those behind it in its own breath, else those before it."""
    behind: list[str] = []
    for token in tokens[one.end : until]:
        if token.text in {"and", "then"} or (behind and token.mark and token.text not in spots()):
            break
        if token.text in spots():
            behind.append(token.text)
        if token.mark:
            break
    if tokens[one.end - 1].mark:
        behind = []
    if behind:
        return " ".join(dict.fromkeys(behind))
    before: list[str] = []
    for token in reversed(tokens[after : one.first]):
        if token.mark and token.text not in spots():
            break
        if token.text in spots():
            before.insert(0, token.text)
        if token.text in {"and", "then"}:
            break
    return " ".join(dict.fromkeys(before))


def _numbered(tokens: Sequence[Token], one: Called) -> str:
    """Read 'on number two' behind a figure, or 'number two' before it."""
    for first in (one.end, one.first - 3):
        near = [token.text for token in tokens[max(0, first) : max(0, first) + 5]]
        for at, text in enumerate(near[:-1]):
            if text in _NUMBERED:
                value = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8}.get(
                    near[at + 1], int(near[at + 1]) if near[at + 1].isdecimal() else 0
                )
                if value:
                    return str(value)
    return ""


def _place(walk: Sequence[Visit], at_s: float, parts: Sequence[str]) -> tuple[str, str, str]:
    """Give part, side and position at a moment; the quantity's own part where another was being spoken of."""
    here = next((one for one in reversed(walk) if one.start_s <= at_s), None)
    if here is None:
        return (parts[0] if parts else "paintwork"), "", ""
    part = _STAND_INS.get(here.part, here.part) if parts else here.part
    if parts and part not in parts:
        return parts[0], "", ""
    about = vocabulary().parts[part]
    side = here.side.value if here.side and about.sided else ""
    return part, side, here.position.value if here.position and about.ended else ""
