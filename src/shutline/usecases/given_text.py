"""A text that somebody gives to be read as it is: its bytes to words."""

from __future__ import annotations

from shutline.car.errors import BadInputError, Problem

_SPACES = frozenset("\t\n\v\f\r\x1a")
"""Signs without a shape that texts have; an old editor ends a file with the last."""


def text_of(data: bytes, *, name: str) -> tuple[str, tuple[Problem, ...]]:
    """Read the words of a text.

    Parameters
    ----------
    data : bytes
        UTF-8, with or without its mark, or UTF-16 with its own; anything else is read as Windows-1252, which is told.
    name : str
        What the text is called where something is told of it.

    Returns
    -------
    str
        The text; a line ends with a line feed.
    tuple of Problem
        Where the bytes had to be guessed (slug ``encoding-guessed``).

    Raises
    ------
    BadInputError
        It is no text (slug ``text-not-read``), or holds no words (``text-empty``).
    """
    from shutline.speech.cues import Complaints
    from shutline.speech.decoding import decode

    complaints = Complaints(name)
    text = decode(data, complaints)
    if any(sign < " " and sign not in _SPACES for sign in text):
        raise BadInputError(
            Problem(
                "text-not-read", name, "this is no text", "plain text", "Save the words as plain text and name that."
            )
        )
    if not any(map(str.isalnum, text)):
        raise BadInputError(
            Problem(
                "text-empty",
                name,
                "there are no words in it",
                "a text about the car",
                "See whether the text was saved, or name another file.",
            )
        )
    return text, complaints.all()
