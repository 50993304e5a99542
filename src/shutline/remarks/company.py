"""How well words go together in what people say at cars: told to the recogniser while it hears."""

from __future__ import annotations

import hashlib
from functools import cache, lru_cache
from importlib.resources import files
from typing import Final

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.language import Language, counted
from shutline.remarks.misheard import shipped_ear
from shutline.remarks.tokens import tokens

USUAL: Final = 5.0
"""What a token usually takes from the log chance: what is worth nothing. The mean over `../shared/eval/dev`, which was
not counted, is 4.65."""

LEAST: Final = -10.0
"""The log chance that a token is given at least: a name that nobody counted is no worse than that.

Eight tokens of a hundred of `dev` are less likely; -8 and -12 were tried too (decision 39)."""

Said = tuple[str, ...]


class Company:
    """How well a word goes with the two tokens before it.

    Parameters
    ----------
    language : Language
        Counts of what people say at cars.
    name : str
        What tells these counts from others.
    """

    def __init__(self, language: Language, name: str) -> None:
        """Take the counts."""
        self._language = language
        self._name = name

    @property
    def id(self) -> str:
        """What tells these counts from others."""
        return self._name

    @lru_cache(maxsize=100_000)  # noqa: B019 - one lives as long as the program
    def after(self, said: Said, word: str) -> tuple[Said, float]:
        """Give what was said last once a word more is said, and how well that word goes with what came before.

        Parameters
        ----------
        said : tuple of str
            Up to two tokens; none at the start.
        word : str
            One written word, with the marks at it.

        Returns
        -------
        said : tuple of str
            The last two tokens.
        fit : float
            Log chance of its tokens above what is usual, natural logarithm; nought for a word that is only padding.
        """
        fit = 0.0
        for token in _tokens(word):
            before, last = ("", "", *said)[-2:]
            fit += max(LEAST, self._language.log_chance(before, last, token)) + USUAL
            said = (last, token) if last else (token,)
        return said, fit


@lru_cache(maxsize=50_000)
def _tokens(word: str) -> tuple[str, ...]:
    return tuple(map(counted, tokens([stretch_of(word, 0.0, 1.0, origin=StretchOrigin.HEARD)]).norm))


@cache
def shipped_company() -> Company:
    """Give what the program ships with."""
    counts = files("shutline.remarks").joinpath("data/hearing.npz").read_bytes()
    name = hashlib.sha256(counts + repr((USUAL, LEAST)).encode()).hexdigest()[:12]
    return Company(shipped_ear().language, name)
