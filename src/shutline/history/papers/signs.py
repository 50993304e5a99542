"""Figures that print may have been misread in: O for 0, l for 1."""

from __future__ import annotations

FIGURE = "[0-9OoQIl|]"
"""A figure, or what one is taken for."""
_AS_FIGURE = str.maketrans("OoQIl|", "000111")


def figures(text: str) -> tuple[str, int]:
    """Give a run of figures with the misread ones put right, and how many there were; nothing else stays.

    >>> figures("4l,2O6")
    ('41206', 2)
    """
    misread = sum(sign in "OoQIl|" for sign in text)
    return "".join(sign for sign in text.translate(_AS_FIGURE) if sign.isascii() and sign.isdigit()), misread


def enough(text: str) -> bool:
    """Tell whether at least half of what would be figures are figures, one at least."""
    real = sum(sign.isascii() and sign.isdigit() for sign in text)
    return real >= 1 and real >= sum(sign in "OoQIl|" for sign in text)
