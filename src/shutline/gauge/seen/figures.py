"""Read the figures off a picture: each waits for a person, with what else it may be and how sure it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from shutline.car.figures import FigureKind, OtherReading, PaperLine, ReadFigure, ReadSign
from shutline.gauge.seen import sure
from shutline.gauge.seen.lettering import Lettering, Line, Picture, Quad, cut, lettering
from shutline.gauge.seen.match import READERS, Match, matches, valued
from shutline.gauge.seen.rows import Row, rows, stacked
from shutline.gauge.seen.settings import reading

# A second reading of a sign that the recogniser believed in this much is worth proposing.
_SECOND_SHARE = 0.03
_MOST_OTHERS = 6
# The last drum may count tenths when its ground differs from the one before by this much, of 255; from the second on it
# is doubtful.
_OTHER_GROUND = 60
_DOUBTFUL_GROUND = 30
# So much more colour than the others have makes it another one whatever the light, of 255.
_OTHER_COLOUR = 25
# A square plate is looked at once; it counts as if this many looks had agreed.
_PILE_AGREED = 5
# A reading in no known form is asked about where at least so many looks saw the same.
_ASKED_AGREED = 3
# So few figures are an odometer of segments, or one of drums of which one was not read. Common practice, no source.
_FEWEST_FIGURES = 4
_MOST_FIGURES = 7
# An odometer is never called sure: a drum between two figures may not be read at all, and the last may count tenths.
_NOT_QUITE = 0.01
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
        At most one figure for each kind and row. One that does not fit a form is a question: it cannot be taken as it
        was read.
    """
    lines = lettering().lines(picture)
    paper = FigureKind.PAPER in wanted
    offered, refused = [], []
    # On a paper stand many numbers: each must say by its form, unit or label what it is of.
    for one in weigh(picture, lines, frozenset() if paper else wanted):
        sureness = sureness_of(one)
        box = share_box(picture, one.line.quad)
        if is_offered(one) or is_asked(one):
            offered.append(_figure(one.match, sureness, box))
        else:
            refused.append(Refused(one.match.kind, sureness, box))
    offered.sort(key=lambda figure: -figure.sureness)
    if paper:
        written = (replace(figure, on_paper=True) for figure in offered)
        return Read((_paper(picture, lines), *written) if lines else (), tuple(refused))
    return Read(tuple(offered), tuple(refused))


def sureness_of(one: Weighed) -> float:
    """Give how sure a reading is, in [0, 1]: that of its class; for an odometer always less than sure."""
    sureness = sure.sureness(one.of)
    if one.match.kind is FigureKind.ODOMETER:
        return min(sureness, reading().sureness.sure - _NOT_QUITE)
    return sureness


def is_offered(one: Weighed) -> bool:
    """Tell whether a reading is offered as a value: it has a known form, and is sure enough."""
    return one.match.fits and sureness_of(one) >= reading().sureness.floor


def is_asked(one: Weighed) -> bool:
    """Tell whether a reading is put before a person as a question: in no known form, and something is proposed."""
    return not one.match.fits and bool(one.match.others) and one.of.agreed >= _ASKED_AGREED


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
        match = with_all_drums(_with_tenths(picture, row, match))
    # Two rows of a square plate cannot be read as one line; what one look saw is all there is.
    looks = reader.looks(picture, row.line) if reader else []
    said = [_said(look, row, match) for look in looks]
    agreed = sum(text == match.text for text in said)
    more = _said(reader.widely(picture, row.line), row, match) if reader else ""
    if len(more) > len(match.text) and match.text in more:
        # A piece of the figure only was found; what the whole is, the wider look does not settle.
        said.append(more)
        agreed = 0
        match = replace(match, notes=(*match.notes, f"more stands beside it: {more}"))
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


def _with_tenths(picture: Picture, row: Row, match: Match) -> Match:
    """Ask whether the last drum counts tenths where its ground may be of another colour, propose it of six figures."""
    if not match.fits or len(match.text) < 5 or len(match.signs) != len(match.text):
        return match
    shorter = match.text[:-1]
    tenths = OtherReading(shorter, int(shorter), "the last drum counts tenths")
    other = other_ground(cut(picture, row.line.quad), len(match.text))
    if other is False:
        return replace(match, others=(*match.others, tenths)) if _may_be_tenths(match) else match
    whole = OtherReading(match.text, int(match.text), "the last drum counts whole ones")
    told = "the last drum has another colour" if other else "the last drum may have another colour"
    note = f"{told}: whether it counts tenths is for you to say"
    return replace(match, fits=False, others=(tenths, whole, *match.others), notes=(*match.notes, note))


def with_all_drums(match: Match) -> Match:
    """Ask whether a drum was missed, or counts tenths, where there are fewer or more figures than old cars show.

    Four figures, or five that begin with nought, are what is left of five and six when the last drum was not read;
    seven are six and tenths (common practice, no source).
    """
    if not match.fits:
        return match
    whole = OtherReading(match.text, int(match.text), "these are all its figures")
    if len(match.text) == _MOST_FIGURES:
        shorter = match.text[:-1]
        tenths = OtherReading(shorter, int(shorter), "the last drum counts tenths")
        note = "an odometer has six figures at most: the last may count tenths"
        return replace(match, fits=False, others=(tenths, whole, *match.others), notes=(*match.notes, note))
    if len(match.text) == _FEWEST_FIGURES:
        note = "an odometer of drums has five figures or more, noughts too: one may not have been read"
    elif len(match.text) == _FEWEST_FIGURES + 1 and match.text.startswith("0"):
        note = "five figures that begin with nought may be six of which one was not read"
    else:
        return match
    return replace(match, fits=False, others=(whole, *match.others), notes=(*match.notes, note))


def _may_be_tenths(match: Match) -> bool:
    """Tell whether the last of the figures may count tenths for all that the figures say."""
    return match.kind is FigureKind.ODOMETER and len(match.text) == 6 and not match.text.startswith("0")


def other_ground(straight: Picture, count: int) -> bool | None:
    """Tell whether the last of `count` drums has another ground than the rest; None where light makes it doubtful.

    Parameters
    ----------
    straight : ndarray
        The row cut out, shape (height, width, 3), uint8.
    count : int
        How many drums share its width.
    """
    wide = straight.shape[1]
    middle = straight[straight.shape[0] // 6 : -(straight.shape[0] // 6) or None]
    edges = [round(wide * at / count) for at in range(count + 1)]
    if count < 3 or not len(middle) or min(b - a for a, b in pairwise(edges)) < 1:
        return False
    cells = (middle[:, a:b].reshape(-1, 3) for a, b in pairwise(edges))
    grounds = [np.median(cell.astype(np.float32), axis=0) for cell in cells]
    steps = [float(np.max(np.abs(b - a))) for a, b in pairwise(grounds)]
    # Light makes drums brighter or darker, and none of them red: the spread of a ground's channels is its colour.
    colours = [float(np.ptp(ground)) for ground in grounds]
    if colours[-1] - float(np.median(colours[:-1])) > _OTHER_COLOUR:
        return True
    # A bright spot comes on over several drums; a drum of another colour begins at its edge.
    last, usual = steps[-1], max(steps[:-1])
    if last > _OTHER_GROUND and last > 2.5 * usual:
        return True
    return None if last > _DOUBTFUL_GROUND and last > 1.2 * usual else False


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
