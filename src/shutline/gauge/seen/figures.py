"""Read the figures off a picture: each waits for a person, with what else it may be and how sure it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from shutline.car.figures import FigureKind, OtherReading, PaperLine, ReadFigure, ReadSign
from shutline.gauge.seen import sure
from shutline.gauge.seen.lettering import Lettering, Line, Picture, Quad, cut, lettering
from shutline.gauge.seen.match import READERS, Match, matches, valued
from shutline.gauge.seen.rows import Row, rows, stacked

# A second reading of a sign that the recogniser believed in this much is worth proposing.
_SECOND_SHARE = 0.03
_MOST_OTHERS = 6
# The last drum counts tenths when its ground differs from the others' by this much, of 255.
_OTHER_GROUND = 55
# A square plate is looked at once; it counts as if this many looks had agreed.
_PILE_AGREED = 5
# Lines of a paper below this share are left out: shadows and folds.
_PAPER_LINE = 0.5


@dataclass(frozen=True, slots=True)
class Refused:
    """Something that may be a figure and was too unclear to offer: its kind, how sure it would be, and where it is."""

    kind: FigureKind
    sureness: float
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Read:
    """What a picture gave: the figures that are offered, the clearest first, and those that are not."""

    figures: tuple[ReadFigure, ...]
    refused: tuple[Refused, ...] = ()


@dataclass(frozen=True, slots=True)
class Weighed:
    """A match with what the looks said of it: how many agreed, and its class; `line` is where it stands."""

    match: Match
    line: Line
    of: sure.Class


def read_figures(picture: Picture, wanted: frozenset[FigureKind] = frozenset()) -> Read:
    """Read the figures off a picture.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB, upright.
    wanted : frozenset of FigureKind
        What the words, the place or a person say that it shows; only these are looked for, and less is asked of them.
        Empty: whatever has a form that is known.

    Returns
    -------
    Read
        At most one figure for each kind and row.
    """
    lines = lettering().lines(picture)
    paper = FigureKind.PAPER in wanted
    offered, refused = [], []
    # On a paper stand many numbers: each must say by its form, unit or label what it is of.
    for one in weigh(picture, lines, frozenset() if paper else wanted):
        sureness = sure.sureness(one.of)
        box = share_box(picture, one.line.quad)
        if sureness < sure.FLOOR:
            refused.append(Refused(one.match.kind, sureness, box))
        else:
            offered.append(_figure(one.match, sureness, box))
    offered.sort(key=lambda figure: -figure.sureness)
    if paper:
        written = (replace(figure, on_paper=True) for figure in offered)
        return Read((_paper(picture, lines), *written) if lines else (), tuple(refused))
    return Read(tuple(offered), tuple(refused))


def weigh(
    picture: Picture,
    lines: Sequence[Line],
    wanted: frozenset[FigureKind] = frozenset(),
    *,
    reader: Lettering | None = None,
) -> list[Weighed]:
    """Match the lines of a picture, look again at what matches, and say how the looks agree; nothing is refused yet."""
    reader = reader or lettering()
    found = rows(lines)
    weighed: list[Weighed] = []
    taken: set[int] = set()
    for number, row in enumerate((*found, *stacked(found))):
        pile = number >= len(found)
        for match in matches(row, wanted):
            if pile and (match.kind is not FigureKind.MARK or any(one.match.kind is match.kind for one in weighed)):
                continue
            if not pile and match.kind is not FigureKind.CHASSIS and number in taken and not wanted:
                # What has the form of a chassis number or a tyre's size is not a mark as well.
                continue
            taken.add(number)
            weighed.append(_weighed(picture, row, match, None if pile else reader))
    return weighed


def _weighed(picture: Picture, row: Row, match: Match, reader: Lettering | None) -> Weighed:
    if match.kind is FigureKind.ODOMETER:
        match = _without_tenths(picture, row, match)
    # Two rows of a square plate cannot be read as one line; what one look saw is all there is.
    looks = reader.looks(picture, row.line) if reader else []
    said = [_said(look, row, match) for look in looks]
    agreed = sum(text == match.text for text in said)
    weakest = min((sign.share for sign in match.signs), default=0.0)
    others = _others(match, [text for text in said if text and text != match.text])
    if match.fits and others and any("looks" in other.why for other in others):
        match = replace(match, notes=(*match.notes, "not all looks agree"))
    of = sure.class_of(match.kind, fits=match.fits, agreed=agreed if reader else _PILE_AGREED, weakest=weakest)
    return Weighed(replace(match, others=others), row.line, of)


def _said(look: Line, row: Row, match: Match) -> str:
    """Give what a look says of the same figure; empty where it says nothing of the kind."""
    if not look.signs:
        return ""
    found = READERS[match.kind](Row(look, row.near, row.above), wanted=True)
    if found is None:
        return ""
    if match.kind is FigureKind.ODOMETER and len(found.text) == len(match.text) + 1 and match.text != found.text:
        # The drum of tenths was left out of the first reading.
        return found.text[:-1]
    return found.text


def _others(match: Match, said: Sequence[str]) -> tuple[OtherReading, ...]:
    """Gather what else it may be: by its form, by other looks, by the second of a sign."""
    others = {other.text: other for other in match.others}
    for text, times in Counter(said).most_common():
        value = valued(match.kind, text)
        if value is not None and value != match.value and text not in others:
            others[text] = OtherReading(text, value, f"{times} of {len(said) or times} looks that differ say so")
    for at, sign in enumerate(match.signs):
        if sign.second_share < _SECOND_SHARE or not sign.second.isalnum() or len(match.signs) != len(match.text):
            continue
        second = sign.second.upper()
        text = match.text[:at] + second + match.text[at + 1 :]
        value = valued(match.kind, text)
        if value is not None and value != match.value and text not in others:
            others[text] = OtherReading(text, value, f"sign {at + 1}: {second} in place of {match.text[at]}")
    return tuple(others.values())[:_MOST_OTHERS]


def _without_tenths(picture: Picture, row: Row, match: Match) -> Match:
    """Leave the last drum out where its ground is of another colour, and propose so where there are six figures."""
    if not match.fits or len(match.text) < 5 or len(match.signs) != len(match.text):
        return match
    shorter = match.text[:-1]
    if other_ground(cut(picture, row.line.quad), len(match.text)):
        whole = OtherReading(
            match.text, int(match.text), "the last drum counts whole ones, though it has another colour"
        )
        note = f"the last drum ({match.text[-1]}) has another colour and is taken for tenths"
        return replace(
            match,
            text=shorter,
            value=int(shorter),
            signs=match.signs[:-1],
            others=(*match.others, whole),
            notes=(*match.notes, note),
        )
    if len(match.text) == 6 and not match.text.startswith("0"):
        tenths = OtherReading(shorter, int(shorter), "the last figure counts tenths")
        return replace(match, others=(*match.others, tenths))
    return match


def other_ground(straight: Picture, count: int) -> bool:
    """Tell whether the last of `count` drums has another ground than the rest.

    Parameters
    ----------
    straight : ndarray
        The row cut out, shape (height, width, 3), uint8.
    count : int
        How many drums share its width.
    """
    wide = straight.shape[1]
    middle = straight[straight.shape[0] // 6 : -(straight.shape[0] // 6) or None]
    grounds = []
    for at in range(count):
        left, right = round(wide * at / count), round(wide * (at + 1) / count)
        cell = middle[:, left:right].reshape(-1, 3).astype(np.float32)
        if not len(cell):
            return False
        grounds.append(np.median(cell, axis=0))
    usual = np.median(np.array(grounds[:-1]), axis=0)
    spread = float(np.max(np.abs(np.array(grounds[:-1]) - usual)))
    apart = float(np.max(np.abs(grounds[-1] - usual)))
    return apart > max(_OTHER_GROUND, 1.5 * spread)


def _figure(match: Match, sureness: float, box: tuple[float, float, float, float]) -> ReadFigure:
    return ReadFigure(
        kind=match.kind,
        text=match.text,
        signs=tuple(ReadSign(sign.text, round(sign.share, 3)) for sign in match.signs),
        value=match.value,
        unit=match.unit,
        fits=match.fits,
        sureness=sureness,
        box=box,
        others=match.others,
        notes=match.notes,
    )


def _paper(picture: Picture, lines: Sequence[Line]) -> ReadFigure:
    """Give a paper: all its lines from the top, each with its box."""
    kept = [row.line for row in rows(lines) if _mean(row.line) >= _PAPER_LINE]
    paper = tuple(PaperLine(line.text, round(_mean(line), 3), share_box(picture, line.quad)) for line in kept)
    text = "\n".join(line.text for line in paper)
    share = float(np.mean([line.sureness for line in paper])) if paper else 0.0
    return ReadFigure(
        FigureKind.PAPER,
        text,
        (),
        text,
        None,
        fits=True,
        sureness=round(share, 3),
        box=(0.0, 0.0, 1.0, 1.0),
        lines=paper,
    )


def _mean(line: Line) -> float:
    shares = [sign.share for sign in line.signs if sign.text != " "]
    return float(np.mean(shares)) if shares else 0.0


def share_box(picture: Picture, quad: Quad) -> tuple[float, float, float, float]:
    """Give the box around a quad as shares of the picture's width and height, within it."""
    high, wide = picture.shape[:2]
    xs, ys = [x / wide for x, _ in quad], [y / high for _, y in quad]
    left, top, right, low = (round(min(1.0, max(0.0, v)), 4) for v in (min(xs), min(ys), max(xs), max(ys)))
    return left, top, right, low
