"""Words that state something of the car, whatever it is: 'a sunroof', 'awning included', 'tows three tonnes'.

Nobody can list all that a car may be said to have. A small network tells for each word of a text how likely it belongs
to a statement that could be held against a car file, from what the encoder of written text makes of it; greetings,
headings, terms of payment and puff do not. What is stated, and read neither by the rules nor as a condition of a part,
is a claim that nothing backs. `tools/train_stated.py` learns it on descriptions whose claims people have labelled.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from itertools import chain

import numpy as np
import numpy.typing as npt

from shutline.claims.sayings import Saying
from shutline.claims.written_data import any_of, small_words
from shutline.remarks.context import Context
from shutline.remarks.tokens import Text

Floats = npt.NDArray[np.float32]

STATED = 1.0
"""Mean log-odds from which the words of a piece are taken for a statement."""
UNSTATED = -1.6
"""The same below which what the rules have read is left out, unless the file bears it out: 'we will not fib'."""
ALONE = 2.0
"""The same for a piece of one word."""
_NAMED = 4
"""The most words that only name a part: 'the offside front wing'."""
_MARKS = " .,;:!?-"
_WITH = "with"


@dataclass(frozen=True, slots=True)
class Piece:
    """The words between two marks or joining words: their letters, and the log-odds that each of them states something.

    `words` are (first letter, end, log-odds).
    """

    words: tuple[tuple[int, int, float], ...]

    @property
    def first(self) -> int:
        """The place of its first letter."""
        return self.words[0][0]

    @property
    def end(self) -> int:
        """The place behind its last letter."""
        return self.words[-1][1]

    @property
    def odds(self) -> float:
        """The mean of the log-odds of its words."""
        return sum(odds for _, _, odds in self.words) / len(self.words)

    def moved(self, by: int) -> Piece:
        """Count its letters from somewhere else."""
        return Piece(tuple((first + by, end + by, odds) for first, end, odds in self.words))


def pieces(odds: Floats, text: Text) -> Iterator[Piece]:
    """Cut a text that the network has read into pieces.

    Parameters
    ----------
    odds : ndarray of float
        The log-odds that each token states something, shape (T,).
    text : Text
        The T tokens.
    """
    small = small_words()
    edges = (small.joins | small.breaks) - small.goes_on
    piece: list[tuple[int, int, float]] = []
    for at, (word, strength, chance) in enumerate(zip(text.norm, text.mark, odds.tolist(), strict=True)):
        if piece and (strength or word in edges):
            yield Piece(tuple(piece))
            piece = []
        if word not in edges:
            piece.append((*letters_of(text, at, at + 1), chance))
    if piece:
        yield Piece(tuple(piece))


def letters_of(text: Text, first: int, end: int) -> tuple[int, int]:
    """Give the first letter of some tokens, and the place behind their last."""
    return int(text.starts[text.word[first]]), int(text.ends[text.word[end - 1]])


def stated_features(context: Context) -> Floats:
    """Give what is looked at of each token, shape (T, width)."""
    return np.concatenate([context.general, context.state], axis=1)


def stated_odds(features: Floats, arrays: Mapping[str, Floats] | None = None) -> Floats:
    """Give the log-odds that a word states something: features of shape (T, width), the answer of shape (T,).

    Examples
    --------
    >>> stated_odds(np.zeros((2, 512), dtype=np.float32)).shape
    (2,)
    """
    w = shipped_stated() if arrays is None else arrays
    inner = np.maximum(features[None] @ w["inner.w"] + w["inner.b"], 0)
    out: Floats = (inner @ w["out.w"] + w["out.b"])[..., 0].mean(axis=0)
    return out


def mean_odds(of: Sequence[Piece], first: int, end: int) -> float | None:
    """Give the mean of the log-odds of the words from one letter up to another; None where there are none."""
    odds = [odds for piece in of for begin, _, odds in piece.words if first <= begin < end]
    return sum(odds) / len(odds) if odds else None


def unread(text: str, of: Sequence[Piece], taken: Sequence[tuple[int, int]]) -> list[Saying]:
    """Give what is stated in words that nothing else has read.

    Parameters
    ----------
    text : str
        The whole text.
    of : sequence of Piece
        Its pieces.
    taken : sequence of (int, int)
        First letter and end of all words that are understood, or are a heading.

    Returns
    -------
    list of Saying
        Each with neither spot nor fact, and its log-odds.
    """
    out = []
    for piece in chain.from_iterable(_free(piece, text, taken) for piece in of):
        least = STATED if len(piece.words) > 1 else ALONE
        surely = sweeping().search(text, piece.first, piece.end)
        if (piece.odds < least and not surely) or any(first < piece.end and piece.first < end for first, end in taken):
            continue
        quote = text[piece.first : piece.end].rstrip(_MARKS)
        if _says_nothing_alone(quote.casefold().split()):
            continue
        out.append(Saying(piece.first, piece.first + len(quote), quote, odds=piece.odds))
    return out


@cache
def sweeping() -> re.Pattern[str]:
    """Give a pattern for words that state something, whatever the network thinks: 'always garaged'."""
    return re.compile(rf"\b{any_of(small_words().always_stated['phrases'])}\b", re.IGNORECASE)


def _free(piece: Piece, text: str, taken: Sequence[tuple[int, int]]) -> Iterator[Piece]:
    """Give a piece, or what it adds by 'with' to words that are understood: of 'a 1969 saloon with a sunroof' that."""
    held = [end for first, end in taken if first < piece.end and piece.first < end]
    rest = [word for word in piece.words if word[0] >= max(held, default=piece.first)]
    if not held:
        yield piece
    elif len(rest) > 1 and text[rest[0][0] : rest[0][1]].casefold() == _WITH:
        yield Piece(tuple(rest[1:]))


def _says_nothing_alone(words: Sequence[str]) -> bool:
    """Tell whether words go on with a sentence, or only name a part of the car in a list: 'have been relined'."""
    finite = small_words().finite
    named = words[0] == "the" and len(words) <= _NAMED and finite.isdisjoint(words)
    return named or words[0] in finite or words[0] == "not"


@cache
def shipped_stated() -> Mapping[str, Floats]:
    """Read what was learnt and comes with the package, once."""
    with (
        as_file(files("shutline.claims").joinpath("data/stated.npz")) as path,
        np.load(path, allow_pickle=False) as stored,
    ):
        return {name: stored[name].astype(np.float32) for name in stored.files}
