"""The recogniser's word pieces: its table, pieces to text, and terms to pieces."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Final

from shutline.car.errors import BrokenWorldError, Problem

SPACE: Final = "\u2581"
"""Stands in the table where a space stands in the text, at the start of a word."""


class Pieces:
    """The table of word pieces of a recogniser.

    Parameters
    ----------
    table : sequence of bytes
        The pieces in the order of their numbers. A piece further on was joined later when the table was made, which is
        all that is needed to take a word apart the way the recogniser was taught.
    """

    def __init__(self, table: tuple[bytes, ...]) -> None:
        self.table = table
        # A sign such as a full stop stands twice: once as a bare byte, and further on as itself, which is the one used.
        self._numbers = {piece: number for number, piece in enumerate(table) if piece}
        self._space = SPACE.encode()

    def __len__(self) -> int:
        return len(self.table)

    def text(self, numbers: list[int]) -> str:
        """Join pieces to text; bytes that are no UTF-8 become the replacement sign, leading space goes."""
        joined = b"".join(self.table[number] for number in numbers)
        return joined.replace(self._space, b" ").decode("utf-8", errors="replace").strip()

    def starts_word(self, number: int) -> bool:
        """Tell whether a piece begins a new word."""
        return self.table[number].startswith(self._space)

    def numbers(self, text: str) -> tuple[int, ...]:
        """Take a term apart into pieces: the pair that was joined first when the table was made is joined first.

        Parameters
        ----------
        text : str
            One or more words; a space is put before the first.

        Returns
        -------
        tuple of int
            The numbers of the pieces; a character that the table lacks comes as its UTF-8 bytes.
        """
        spaced = SPACE + text.strip().replace(" ", SPACE)
        parts: list[bytes] = []
        for sign in spaced:
            coded = sign.encode()
            parts.extend([coded] if coded in self._numbers else [bytes([one]) for one in coded])
        while True:
            joins = [
                (self._numbers[left + right], at)
                for at, (left, right) in enumerate(pairwise(parts))
                if left + right in self._numbers
            ]
            if not joins:
                return tuple(self._numbers[part] for part in parts)
            _, at = min(joins)
            parts[at : at + 2] = [parts[at] + parts[at + 1]]


def read_pieces(path: Path) -> Pieces:
    """Read a table of pieces.

    Each piece is its length and its bytes; a length under 128 takes one byte, a longer one two: low seven bits with
    the high bit set, then the count of 128s. Length nought is a piece that is not used.

    Raises
    ------
    BrokenWorldError
        The file is missing or cut short.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise _damaged(path, f"not readable ({error.strerror})") from error
    table: list[bytes] = []
    at = 0
    while at < len(raw):
        length = raw[at]
        at += 1
        if length >= 128:
            if at == len(raw):
                raise _damaged(path, "ends in the middle of a length")
            length = length - 128 + 128 * raw[at]
            at += 1
        if at + length > len(raw):
            raise _damaged(path, f"ends in the middle of piece {len(table)}")
        table.append(raw[at : at + length])
        at += length
    return Pieces(tuple(table))


def _damaged(path: Path, found: str) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="recogniser-files-damaged",
            where=path.name,
            found=found,
            allowed="the recogniser needs all of its files as they were installed",
            advice="Install the package again.",
        )
    )
