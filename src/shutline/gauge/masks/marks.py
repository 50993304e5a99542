"""Tell registration marks and chassis numbers among the lines of lettering in a picture."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shutline.car.masks import Box, MaskKind
from shutline.gauge.masks.found import Found, Picture
from shutline.gauge.masks.ground import Ground, ground_of
from shutline.gauge.masks.settings import Surenesses, chassis_forms, finding, forms
from shutline.gauge.seen.lettering import Line

_NO_SIGN = re.compile(r"[^A-Z0-9/+.,]")
# How far two pieces of one mark stand apart at most, heights of the lettering: in a row, and one under the other.
_APART = 1.6
_UNDER = 0.9
_SAME_HEIGHT = 0.6
_PLATE_SIGNS = (3, 9)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A line, or two that may be one mark: its letters and figures, and the lines it is made of."""

    lines: tuple[Line, ...]

    @property
    def plain(self) -> str:
        """Its letters and figures, of all lines."""
        return "".join(plain(line.text) for line in self.lines)

    @property
    def shares(self) -> tuple[float, ...]:
        """How far each of them was believed in; empty where they cannot be told apart."""
        kept = tuple(sign.share for line in self.lines for sign in line.signs if plain(sign.text))
        return kept if len(kept) == len(self.plain) else ()

    @property
    def weakest(self) -> float:
        return min(line.weakest for line in self.lines)


def plain(text: str) -> str:
    """Give the letters and figures of a text in capitals, without spaces, hyphens and dots between."""
    return _NO_SIGN.sub("", text.upper()).strip(".,")


def mark_weight(text: str, shares: Sequence[float] = ()) -> float:
    """Say how much a text has the form of a registration mark: 0 for none, else the weight of the likeliest form.

    Parameters
    ----------
    text : str
        As it was read.
    shares : sequence of float
        How far each letter and figure was believed in: what was read clearly seldom stands for another sign.
    """
    signs = plain(text)
    if not any(sign.isdigit() for sign in signs):
        # Words are no marks, whatever their letters might be taken for.
        return 0.0
    rules = finding().lettering
    swapped = [rules.swapped_clear if share >= rules.clear else rules.swapped for share in shares]
    return max((form.weight(signs, swapped=swapped or rules.swapped) for form in forms()), default=0.0)


def marks_among(picture: Picture, lines: Sequence[Line]) -> tuple[Found, ...]:
    """Tell which lines are marks or chassis numbers.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB, upright.
    lines : sequence of Line
        All lettering found in it, in its pixels.

    Returns
    -------
    tuple of Found
        The surest first; none lies within another of its kind.
    """
    settings = finding()
    found: list[Found] = []
    for piece in _pieces(lines):
        ground = ground_of(picture, [line.quad for line in piece.lines])
        sureness = _mark(piece, ground)
        kind, box = MaskKind.MARK, _around(piece, ground, picture)
        as_chassis = _chassis(piece, lines)
        if as_chassis > sureness:
            kind, sureness, box = MaskKind.CHASSIS, as_chassis, _around(piece, None, picture)
        if sureness >= settings.lettering.least and box is not None:
            found.append(Found(kind, box, sureness))
    found.sort(key=lambda one: (-one.sureness, -one.box.area))
    kept: list[Found] = []
    for one in found:
        if not any(one.box.shared(other.box) > 0.8 * one.box.area for other in kept):
            kept.append(one)
    return tuple(kept)


def _pieces(lines: Sequence[Line]) -> Iterator[_Piece]:
    """Give each line, and each two that stand in a row or one under the other as those of one mark do."""
    for line in lines:
        yield _Piece((line,))
    for first in lines:
        for second in lines:
            if first is second or not _alike_high(first, second):
                continue
            if _in_a_row(first, second) or _one_under_the_other(first, second):
                yield _Piece((first, second))


def _alike_high(first: Line, second: Line) -> bool:
    low, high = sorted((first.height, second.height))
    return low > _SAME_HEIGHT * high


def _in_a_row(first: Line, second: Line) -> bool:
    here, there = np.array(first.quad), np.array(second.quad)
    gap = np.linalg.norm((there[0] + there[3]) / 2 - (here[1] + here[2]) / 2)
    level = abs(float((there[0] - here[1])[1] + (there[3] - here[2])[1])) / 2
    return bool(gap < _APART * first.height and level < 0.6 * first.height and there[0][0] > here[0][0])


def _one_under_the_other(first: Line, second: Line) -> bool:
    here, there = np.array(first.quad), np.array(second.quad)
    gap = float(there[:2, 1].mean() - here[2:, 1].mean())
    overlap = min(here[:, 0].max(), there[:, 0].max()) - max(here[:, 0].min(), there[:, 0].min())
    narrow = min(np.ptp(here[:, 0]), np.ptp(there[:, 0]))
    return bool(-0.5 * first.height < gap < _UNDER * first.height and overlap > 0.5 * narrow)


def _mark(piece: _Piece, ground: Ground | None) -> float:
    """Say how sure it is that a piece is a mark, 0 where it is none."""
    sure: Surenesses = finding().sureness
    signs = piece.plain
    on_plate = ground is not None and ground.plate is not None
    # On a plate a sign read amiss is likelier than a plate with something else on it.
    by_form = mark_weight(signs, () if on_plate else piece.shares) * (sure.plate_form if on_plate else sure.bare_form)
    return max(by_form, 0.0 if len(piece.lines) > 1 else _by_look(piece, ground))


def _by_look(piece: _Piece, ground: Ground | None) -> float:
    """Say how sure it is that a line is a mark of a form that is not known, or one that cannot be read."""
    sure = finding().sureness
    signs = piece.plain
    on_plate = ground is not None and ground.plate is not None
    figures = sum(sign.isdigit() for sign in signs)
    letters = sum(sign.isalpha() for sign in signs)
    least, most = _PLATE_SIGNS
    if not (signs.isalnum() and least <= len(signs) <= most):
        return 0.0
    if on_plate and figures >= 2 and letters >= 1 and len(signs) >= 4:
        return sure.plate_mixed
    if on_plate and piece.weakest < finding().lettering.unreadable and ground is not None and ground.like_a_plate:
        return sure.plate_unreadable
    # A number with one letter, read clearly and on no plate, is a badge far oftener than a mark.
    enough = letters >= 2 or (letters == 1 and piece.weakest < finding().lettering.clear)
    return sure.bare_mixed if figures >= 2 and enough and len(signs) >= 5 else 0.0


def _chassis(piece: _Piece, lines: Sequence[Line]) -> float:
    """Say how sure it is that a piece is a chassis number, 0 where it is none."""
    rules, sure = chassis_forms(), finding().sureness
    signs = piece.plain
    if len(piece.lines) > 1 or any(re.fullmatch(other, signs) for other in rules.others):
        return 0.0
    for label in map(plain, rules.labels):
        # The number may stand in one line with its label.
        if label in signs:
            rest = signs.split(label, 1)[1].removeprefix("NO").removeprefix("NUMBER").strip(".,")
            return sure.chassis_named if _is_number(rest) else 0.0
    return _bare_number(signs, labelled=_labelled(piece.lines[0], lines))


def _bare_number(signs: str, *, labelled: bool) -> float:
    rules, sure = chassis_forms(), finding().sureness
    figures = sum(sign.isdigit() for sign in signs)
    letters = len(signs) - figures
    if not signs.isalnum():
        return 0.0
    if len(signs) == rules.full_signs and figures >= rules.bare_figures:
        return sure.chassis_full
    if labelled and _is_number(signs):
        return sure.chassis_named
    long = rules.bare_signs <= len(signs) <= rules.full_signs + 2
    if mark_weight(signs):
        return 0.0
    return sure.chassis_form if long and figures >= rules.bare_figures and letters >= rules.bare_letters else 0.0


def _is_number(signs: str) -> bool:
    """Tell whether signs beside a word for a chassis number may be one."""
    rules = chassis_forms()
    return len(signs) >= rules.named_signs and sum(sign.isdigit() for sign in signs) >= rules.named_figures


def _labelled(line: Line, lines: Sequence[Line]) -> bool:
    """Tell whether a word for a chassis number stands above a line or before it."""
    rules = chassis_forms()
    here = np.array(line.quad)
    for other in lines:
        words = plain(other.text)
        if other is line or not any(plain(label) in words for label in rules.labels):
            continue
        there = np.array(other.quad)
        down = float(here[:2, 1].mean() - there[2:, 1].mean())
        along = float(here[:, 0].min() - there[:, 0].max())
        level = abs(float(here[:, 1].mean() - there[:, 1].mean()))
        over = min(here[:, 0].max(), there[:, 0].max()) > max(here[:, 0].min(), there[:, 0].min())
        if over and -0.5 * other.height < down < rules.below * other.height:
            return True
        if level < other.height and -0.5 * other.height < along < rules.beside * other.height:
            return True
    return False


def _around(piece: _Piece, ground: Ground | None, picture: Picture) -> Box | None:
    """Give the box of a piece: of its whole plate where that was made out, else of its lettering."""
    corners = np.concatenate([np.array(line.quad) for line in piece.lines])
    if ground is not None and ground.plate is not None:
        corners = np.concatenate([corners, ground.plate])
    high, wide = picture.shape[:2]
    left, top = np.clip(corners.min(axis=0) / (wide, high), 0, 1)
    right, bottom = np.clip(corners.max(axis=0) / (wide, high), 0, 1)
    return Box(float(left), float(top), float(right), float(bottom)) if left < right and top < bottom else None
