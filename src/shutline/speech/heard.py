"""What a recogniser must be able to do, and what it gives back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]
"""Sound at 16 kHz, one channel, shape (samples,), float32 in [-1, 1]."""

SAMPLES_PER_S = 16_000


@dataclass(frozen=True, slots=True)
class HeardWord:
    """One word of a piece.

    `start_s` and `end_s` count from the start of the piece; both None where the recogniser gives no times.
    `sureness` is its own probability in [0, 1], None where it gives none.
    """

    text: str
    start_s: float | None = None
    end_s: float | None = None
    sureness: float | None = None


@dataclass(frozen=True, slots=True)
class Heard:
    """The words of one piece of sound.

    `broken_off` is True where the recogniser ran into a loop or past the number of words that fit in the time: what
    comes after is lost, and what is here is doubtful.
    """

    words: tuple[HeardWord, ...]
    broken_off: bool = False

    @property
    def text(self) -> str:
        """The words with single spaces between them."""
        return " ".join(word.text for word in self.words)


class Recogniser(Protocol):
    """Anything that turns a piece of sound into words.

    The same sound and terms must give the same words every time, from any thread.
    """

    @property
    def id(self) -> str:
        """Name, weights and settings: whatever changes its words changes this."""
        ...

    @property
    def longest_s(self) -> float:
        """The longest piece it takes well, seconds."""
        ...

    def words(self, sound: Sound, *, terms: Sequence[str] = ()) -> Heard:
        """Hear one piece of sound; `terms` are trade words to lend an ear to."""
        ...
