"""What anybody said or wrote, made fit to be set: control characters and broken code points replaced, nothing else."""

from __future__ import annotations

import re

REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
# Controls other than tab and line ends; lone surrogates; noncharacters; and the marks that turn the direction of what
# follows, with which a text could make its neighbours read as something else.
_UNFIT = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufdd0-\ufdef\ufff9-\ufffb\ufffe\uffff\u202a-\u202e\u2066-\u2069"
    + "".join(chr(plane * 0x10000 + last) for plane in range(1, 17) for last in (0xFFFE, 0xFFFF))
    + "]"
)
_LINE_ENDS = re.compile("\r\n|[\r\x0b\x0c\x85\u2028\u2029]")


def plain(text: str) -> str:
    """Give the text with one kind of line end and a replacement character for what cannot be shown.

    Examples
    --------
    >>> plain("a" + chr(0) + "b") == "a" + REPLACEMENT + "b"
    True
    """
    # Most texts are of this sort, and a page of a car sets thousands of single words.
    if text.isascii() and text.isprintable():
        return text
    return _UNFIT.sub(REPLACEMENT, _LINE_ENDS.sub("\n", text))


def one_line(text: str) -> str:
    """Fold white space and line ends into single spaces, and make what cannot be shown plain."""
    return " ".join(plain(text).split())
