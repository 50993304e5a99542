"""Marks and letters with which words of a plain text could be hidden, or struck out, where it is shown.

The words that go out go out as plain text, as Markdown, on a page and as data. Struck out or turned into a remark in
one of them, a fault that a rewrite names would still be told in another.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

_MARKUP = re.compile(
    r"<!--|<[!/?]?[A-Za-z][^<>]*>?"  # a comment or a tag, closed or not
    r"|~~+"  # struck out
    r"|&(?:#\d+|#[xX][0-9a-fA-F]+|[A-Za-z]\w*);"  # a letter in another writing
    r"|^[ >]*\[[^\[\]\n]*\]:|!?\[[^\[\]\n]*\]\([^()\n]*\)"  # a link, or where one leads
    r"|\{[%{#]|<\?"
    r"|[\u2610-\u2612\u2713-\u2718]|^[ >*+-]*\[[ xX]\]",  # boxes that are ticked, or are not
    re.MULTILINE,
)
_KEPT = "\n\r\t"
_STRUCK = re.compile("[\u0334-\u0338\u0489\u20d0-\u20ff]")
"""Marks that lie over the letter before them."""
_AROUND = 24
"""Letters beside a place that are shown at least, where its line has them."""
_BEFORE = 60
_MOST = 60
"""The most letters of a place, and on each side of it."""


def marked_up(text: str) -> tuple[str, ...]:
    r"""Give each place of a text where markup or a letter that is not seen stands, with the words around it.

    Parameters
    ----------
    text : str
        The text. It is data.

    Returns
    -------
    tuple of str
        In the order of the words; letters that are not seen are told by their names in Unicode.

    Examples
    --------
    >>> marked_up("The boot is ~~damp~~.")
    ('The boot is ~~damp~~.',)
    >>> marked_up("The wing has no\u00adne some bubbling.")
    ('The wing has no[SOFT HYPHEN]ne some bubbling.',)
    >>> marked_up("Two keys & a spare, < 100 miles since.")
    ()
    """
    return tuple(dict.fromkeys(_shown(text, first, end) for first, end in _joined(_places(text))))


def _places(text: str) -> Iterator[tuple[int, int]]:
    yield from (found.span() for found in _MARKUP.finditer(text))
    yield from (found.span() for found in _STRUCK.finditer(text))
    yield from ((at, at + 1) for at, letter in enumerate(text) if _is_unseen(letter))


def _joined(places: Iterator[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Take places that lie near one another as one."""
    held: tuple[int, int] | None = None
    for first, end in sorted(places):
        if held is not None and first - held[1] <= _AROUND:
            held = held[0], max(held[1], end)
            continue
        if held is not None:
            yield held
        held = first, end
    if held is not None:
        yield held


def _is_unseen(letter: str) -> bool:
    """Tell whether a letter is shown as nothing: a soft hyphen, a join, a turn of the direction, a control."""
    return letter not in _KEPT and unicodedata.category(letter) in ("Cf", "Cc", "Co", "Cs")


def _shown(text: str, first: int, end: int) -> str:
    """Give a place with the words around it in its line, and no more than can be taken in at a glance."""
    begin = max(text.rfind("\n", max(0, first - _BEFORE), first) + 1, 0, first - _BEFORE)
    words = text.rfind(" ", begin, max(begin, first - _AROUND)) + 1
    end = min(end, first + _MOST)
    stop = text.find("\n", end, end + _BEFORE)
    line = min(len(text), end + _BEFORE) if stop < 0 else stop
    after = text.find(" ", min(end + _AROUND, line), line)
    said = text[words or begin : line if after < 0 else after]
    return "".join(f"[{unicodedata.name(x, hex(ord(x)))}]" if _is_unseen(x) else x for x in said).strip()
