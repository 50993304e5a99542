"""The timeline of a car as one drawing: tests, mileage, keepers, work, and what is ours, told by form and words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shutline.car.plan.figure import document
from shutline.car.plan.ink import ACCENT, FINE_INK, FINE_LINE, FONT, INK, LINE, PAPER, escaped, number
from shutline.history.mileage import KM_PER_MILE, Explained, MileageTold, PointTold

_WIDTH, _LEFT, _RIGHT = 940.0, 118.0, 26.0
_AXIS, _FAILED, _PASSED = 40.0, 66.0, 84.0
_TESTS = 40.0
"""How much height the tests take, under the axis."""
_HIGH, _LOW = 116.0, 262.0
_LANES, _LANE, _ROW = 296.0, 30.0, 16.0
_SIZE, _HALF = 13.0, 4.5
_LETTER = 6.6
"""How wide a letter of the drawing is, about."""
_LEAST_YEAR_STEP = 46.0
_LONG_YEARS = 10


class EventKind(StrEnum):
    """What an event of the timeline is."""

    REGISTERED = "registered"
    TEST_PASSED = "test passed"
    TEST_FAILED = "test failed"
    IMPORTED = "imported"
    KEEPERS = "keepers"
    """How many there were by a day, where from when to when is not known."""
    KEEPER = "keeper"
    COUNTRY = "country"
    EXEMPT = "exempt"
    PAPER = "paper"
    WORK = "work"
    OURS = "recording"


@dataclass(frozen=True, slots=True)
class Event:
    """Something of a car's history: from `day`, to `until` where it lasted, in words, and what it stands on.

    `label` is what is written into a bar where there is room. `lasts` is True for what has not ended, and `begun` False
    where `day` is not its beginning, for nobody knows that.
    """

    kind: EventKind
    day: date
    words: str
    source: str
    until: date | None = None
    label: str = ""
    lasts: bool = False
    begun: bool = True

    def place(self) -> tuple[object, ...]:
        """Give what events are put in order by: their days."""
        last = self.until or date.max
        return (self.day, self.kind.value, self.words, self.label, last, self.source, self.lasts, self.begun)


def timeline_svg(
    events: Sequence[Event],
    mileage: MileageTold,
    *,
    title: str,
    desc: str,
    standalone: bool = False,
    prefix: str = "timeline",
) -> str:
    """Draw the timeline as SVG 1.1, 940 units wide and as high as its lanes need; empty where nothing has a day.

    Passed tests are filled squares, failed ones open squares with a stroke across; a mileage that goes on is a dot on
    the line, one that is doubted an open diamond beside it. Keepers and countries are bars, an end that is not known
    fades into dots, one that has not come is an arrow, and a time between two of them of which nobody is entered has a
    question mark. A lane of which nothing is known is left out, and what is below moves up. No words of the car's own
    are in it, but for `title`, `desc` and the labels of bars.

    Parameters
    ----------
    events : sequence of Event
        In any order.
    mileage : MileageTold
        As `mileage_told` gives it.
    title, desc : str
        What it is called, and what it shows, for those who hear it read.
    standalone : bool
        True writes a file by itself.
    prefix : str
        Put before every id.
    """
    events = sorted(events, key=Event.place)
    if not mileage.points and all(one.kind is EventKind.EXEMPT for one in events):
        return ""
    days = [one.day for one in events] + [one.until for one in events if one.until is not None]
    days += [one.point.day for one in mileage.points]
    across = _Across(_begin(events, mileage), max(days))
    tests = [one for one in events if one.kind in {EventKind.TEST_PASSED, EventKind.TEST_FAILED}]
    up = 0.0 if tests else _TESTS
    lanes, low = _lanes(events, across, _LANES - up if mileage.points else _HIGH - up)
    height = low + 62
    body = [
        f'<g font-family="{escaped(FONT)}" font-size="{number(_SIZE)}" fill="{INK}" stroke="none">',
        *_axis(across, low + 14),
        *(_lane("Tests", (_FAILED + _PASSED) / 2) if tests else []),
        *(_test(one, across) for one in tests),
        *_mileage(mileage, across, up),
        *(_registered(one, across) for one in events if one.kind is EventKind.REGISTERED),
        *lanes,
        *_key(events, mileage, low + 40),
        "</g>",
    ]
    return document(body, size=(_WIDTH, height), title=title, desc=desc, standalone=standalone, prefix=prefix)


def _lanes(events: Sequence[Event], across: _Across, top: float) -> tuple[list[str], float]:
    """Draw the lanes below `top`, those of which something is known; gives how far down they reach."""

    def of(*kinds: EventKind) -> list[Event]:
        return [one for one in events if one.kind in kinds]

    told = [_told_keepers(one, across, top) for one in of(EventKind.KEEPERS)]
    rows = [
        ("Keepers", of(EventKind.KEEPER), told, True),
        ("Countries", of(EventKind.COUNTRY), [], False),
        ("Free of", of(EventKind.EXEMPT), [], False),
    ]
    drawn: list[str] = []
    y = top
    for name, bars, more, gaps in rows:
        if not bars and not more:
            continue
        placed, used = _bars(bars, across, y, gaps=gaps)
        drawn += [*_lane(name, y), *more, *placed]
        if name == "Countries":
            drawn += [_imported(one, across, y) for one in of(EventKind.IMPORTED)]
        y += _LANE + _ROW * (used - 1)
    for name, kind, sign in (
        ("Papers", EventKind.PAPER, _paper),
        ("Work done", EventKind.WORK, _work),
        ("Our films", EventKind.OURS, _ours),
    ):
        if of(kind):
            drawn += [*_lane(name, y), *(sign(one, across, y) for one in of(kind))]
            y += _LANE
    return drawn, y - _LANE


def _bars(bars: Sequence[Event], across: _Across, y: float, *, gaps: bool) -> tuple[list[str], int]:
    """Draw what lasted, each in the first row that is free there; gives how many rows that took, at least one."""
    free: list[float] = []
    drawn = []
    latest: Event | None = None
    for one in bars:
        start, end = across.of(one.day), across.of(one.until or one.day)
        end = max(end, start + 6.0)
        row = next((number for number, until in enumerate(free) if until <= start + 1), len(free))
        free[row : row + 1] = [end]
        level = y + _ROW * row
        if gaps and latest is not None and latest.until is not None and not latest.lasts and one.begun:
            begin = across.of(latest.until)
            if start - begin > 14:
                drawn.append(_line(begin + 3, level, start - 3, level, stroke=FINE_INK, width=FINE_LINE, dash="1 4"))
                drawn.append(_text((begin + start) / 2, level + 4.5, "?", anchor="middle"))
        drawn += _bar(one, start, end, level)
        if latest is None or (one.until or one.day) >= (latest.until or latest.day):
            latest = one
    return drawn, max(1, len(free))


def _bar(one: Event, start: float, end: float, y: float) -> list[str]:
    left, right = (start if one.begun else start + 1), end
    edge = f'x="{number(left)}" y="{number(y - 6)}" width="{number(right - left)}" height="12"'
    drawn = [f'<rect {edge} fill="{PAPER}" stroke="{INK}" stroke-width="{number(LINE)}"/>']
    if not one.begun:
        drawn.append(_line(max(_LEFT, left - 16), y, left - 2, y, stroke=INK, width=LINE, dash="1 3"))
    if one.lasts:
        points = " ".join(f"{number(a)},{number(b)}" for a, b in ((right, y - 6), (right + 7, y), (right, y + 6)))
        drawn.append(f'<polygon points="{points}" fill="{PAPER}" stroke="{INK}" stroke-width="{number(LINE)}"/>')
    elif one.until is None:
        drawn.append(_line(right + 2, y, right + 16, y, stroke=INK, width=LINE, dash="1 3"))
    room = int((right - left - 6) / _LETTER)
    if one.label and room >= len(one.label):
        drawn.append(_text(left + 4, y + 4, one.label, size=11))
    elif one.label and room >= 4:
        drawn.append(_text(left + 4, y + 4, f"{one.label[: room - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}", size=11))
    return drawn


def _begin(events: Sequence[Event], mileage: MileageTold) -> date:
    """Give the day that the drawing begins with: long years of which nothing is known are left out of it."""
    whole = {EventKind.REGISTERED, EventKind.KEEPERS, EventKind.EXEMPT}
    early = [one.day for one in events if one.kind in whole]
    later = [one.day for one in events if one.kind not in whole] + [one.point.day for one in mileage.points]
    if early and later and min(later).year - min(early).year > _LONG_YEARS:
        return date(min(later).year - 2, 1, 1)
    return min(early + later)


class _Across:
    """Where a day lies across the drawing; days before it lie at its edge."""

    def __init__(self, first: date, last: date) -> None:
        self.years = range(first.year, last.year + 2)
        self._start = date(first.year, 1, 1).toordinal()
        self._span = max(1, (date(last.year, 12, 31).toordinal() + 1 - self._start))

    def of(self, day: date) -> float:
        share = max(0.0, (day.toordinal() - self._start) / self._span)
        return _LEFT + share * (_WIDTH - _LEFT - _RIGHT)

    def ticks(self) -> Iterable[tuple[int, float]]:
        count = len(self.years) - 1
        room = (_WIDTH - _LEFT - _RIGHT) / max(1, count)
        step = next((one for one in (1, 2, 5, 10, 20) if one * room >= _LEAST_YEAR_STEP), 50)
        for year in self.years:
            if year % step == 0 and year < 9999:
                x = self.of(date(year, 1, 1))
                if x <= _WIDTH - _RIGHT + 1:
                    yield year, x


def _axis(across: _Across, low: float) -> list[str]:
    drawn = []
    for year, x in across.ticks():
        drawn.append(_line(x, _AXIS, x, low, stroke=FINE_INK, width=FINE_LINE / 2, dash="1 4"))
        drawn.append(_text(x, _AXIS - 10, str(year), anchor="middle", fill=FINE_INK))
    drawn.append(_line(_LEFT, _AXIS, _WIDTH - _RIGHT, _AXIS, stroke=INK, width=LINE))
    return drawn


def _lane(name: str, y: float) -> list[str]:
    return [_text(_LEFT - 14, y + 4.5, name, anchor="end")]


def _test(one: Event, across: _Across) -> str:
    x = across.of(one.day)
    if one.kind is EventKind.TEST_PASSED:
        return _square(x, _PASSED, filled=True)
    return _square(x, _FAILED, filled=False)


def _square(x: float, y: float, *, filled: bool) -> str:
    left, top, side = number(x - _HALF), number(y - _HALF), number(2 * _HALF)
    fill = INK if filled else PAPER
    drawn = f'<rect x="{left}" y="{top}" width="{side}" height="{side}" fill="{fill}" stroke="{INK}"/>'
    return drawn if filled else drawn + _line(x - _HALF, y + _HALF, x + _HALF, y - _HALF, stroke=INK, width=LINE)


def _mileage(told: MileageTold, across: _Across, moved_up: float) -> list[str]:
    """Draw the mileages over their years; nothing where none has a day."""
    if not told.points:
        return []
    high, low = _HIGH - moved_up, _LOW - moved_up
    shown = [(across.of(one.point.day), one, _as_read(one)) for one in told.points]
    tops = [miles for _, _, miles in shown] + [one.miles for one in told.points if one.miles is not None]
    step = next(
        (one for one in (1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000, 200_000) if max(tops) <= 4 * one),
        max(200_000, -(-int(max(tops)) // 400_000) * 100_000),
    )
    most = step * max(1, -(-int(max(tops)) // step))

    def up(miles: float) -> float:
        return low - (low - high) * miles / most

    # The name of the lane makes room for its figures.
    drawn = [_text(14, high - 14, "Mileage, miles")]
    for rung in range(0, most + 1, step):
        drawn.append(_line(_LEFT, up(rung), _WIDTH - _RIGHT, up(rung), stroke=FINE_INK, width=FINE_LINE / 2))
        drawn.append(_text(_LEFT - 6, up(rung) + 4, f"{rung:,}", anchor="end", fill=FINE_INK, size=11))
    runs: list[list[tuple[float, float]]] = [[]]
    for x, one, miles in shown:
        if one.explained is Explained.BROKEN_OFF:
            runs.append([])
        runs[-1].append((x, up(miles if one.miles is None else one.miles)))
    for place, run in enumerate(runs):
        if len(run) > 1:
            points = " ".join(f"{number(x)},{number(y)}" for x, y in run)
            dash = ' stroke-dasharray="5 4"' if place else ""
            drawn.append(f'<polyline points="{points}" fill="none" stroke="{ACCENT}" stroke-width="1.6"{dash}/>')
    for x, one, miles in shown:
        if one.explained is Explained.AS_READ:
            drawn.append(f'<circle cx="{number(x)}" cy="{number(up(miles))}" r="3" fill="{ACCENT}"/>')
        else:
            drawn += _doubted(x, up(miles))
    return drawn


def _doubted(x: float, y: float) -> list[str]:
    places = ((x, y - 6), (x + 6, y), (x, y + 6), (x - 6, y))
    points = " ".join(f"{number(a)},{number(b)}" for a, b in places)
    return [
        f'<polygon points="{points}" fill="{PAPER}" stroke="{INK}" stroke-width="1.3"/>',
        _text(x + 9, y + 4.5, "?"),
    ]


def _as_read(one: PointTold) -> float:
    return one.point.value if one.point.unit == "mi" else one.point.value / KM_PER_MILE


def _told_keepers(one: Event, across: _Across, y: float) -> str:
    start, end = across.of(one.day), across.of(one.until or one.day)
    words = _text(max(_LEFT + 4, min(start, _WIDTH - 300)), y - 5, one.words, fill=INK)
    return words + _line(start, y + 3, max(end, start + 6), y + 3, stroke=INK, width=4, dash="2 3")


def _registered(one: Event, across: _Across) -> str:
    x = across.of(one.day)
    mark = _line(x, _AXIS - 5, x, _AXIS + 9, stroke=INK, width=1.6)
    if one.day.year >= across.years[0]:
        return mark
    # The years between lie outside of the drawing.
    return mark + _text(x + 6, _AXIS + 13, f"first registered {one.day.year}; the years between are left out", size=11)


def _imported(one: Event, across: _Across, y: float) -> str:
    x = across.of(one.day)
    return _line(x, y - 10, x, y + 10, stroke=ACCENT, width=2)


def _paper(one: Event, across: _Across, y: float) -> str:
    x = across.of(one.day)
    corners = ((x - 4, y - 6), (x + 1, y - 6), (x + 4, y - 3), (x + 4, y + 6), (x - 4, y + 6))
    points = " ".join(f"{number(a)},{number(b)}" for a, b in corners)
    return f'<polygon points="{points}" fill="{PAPER}" stroke="{INK}" stroke-width="{number(LINE)}"/>'


def _work(one: Event, across: _Across, y: float) -> str:
    x = across.of(one.day)
    points = " ".join(f"{number(a)},{number(b)}" for a, b in ((x, y - 5), (x + 5, y + 5), (x - 5, y + 5)))
    return f'<polygon points="{points}" fill="{INK}"/>'


def _ours(one: Event, across: _Across, y: float) -> str:
    x = number(across.of(one.day))
    return f'<circle cx="{x}" cy="{number(y)}" r="5" fill="{PAPER}" stroke="{ACCENT}" stroke-width="1.8"/>'


def _key(events: Sequence[Event], mileage: MileageTold, y: float) -> list[str]:
    kinds = {one.kind for one in events}
    entries: list[tuple[list[str], str]] = []

    def mark(drawn: list[str], words: str) -> None:
        entries.append((drawn, words))

    if EventKind.TEST_PASSED in kinds:
        mark([_square(0, y, filled=True)], "passed")
    if EventKind.TEST_FAILED in kinds:
        mark([_square(0, y, filled=False)], "failed")
    if any(one.explained is Explained.AS_READ for one in mileage.points):
        mark([f'<circle cx="0" cy="{number(y)}" r="3" fill="{ACCENT}"/>'], "mileage that goes on")
    if any(one.explained is not Explained.AS_READ for one in mileage.points):
        mark(_doubted(0, y), "   mileage in doubt")
    if EventKind.REGISTERED in kinds:
        mark([_line(0, y - 7, 0, y + 7, stroke=INK, width=1.6)], "first registered")
    if EventKind.IMPORTED in kinds and EventKind.COUNTRY in kinds:
        mark([_line(0, y - 7, 0, y + 7, stroke=ACCENT, width=2)], "imported")
    drawn, x = [], _LEFT
    for signs, words in entries:
        drawn.append(f'<g transform="translate({number(x)} 0)">{"".join(signs)}</g>')
        indent = 12 + 4 * (len(words) - len(words.lstrip()))
        drawn.append(_text(x + indent, y + 4.5, words.strip(), fill=FINE_INK))
        x += indent + 7.2 * len(words.strip()) + 24
    return drawn


def _text(x: float, y: float, words: str, *, anchor: str = "start", fill: str = INK, size: float | None = None) -> str:
    sized = f' font-size="{number(size)}"' if size is not None else ""
    return f'<text x="{number(x)}" y="{number(y)}" text-anchor="{anchor}" fill="{fill}"{sized}>{escaped(words)}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, *, stroke: str, width: float, dash: str = "") -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    ends = f'x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}"'
    return f'<line {ends} stroke="{stroke}" stroke-width="{number(width)}"{dashed}/>'
