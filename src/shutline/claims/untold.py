"""What a text says of parts in words that nothing has read, and which parts it says nobody looked at.

A rewrite could praise what was never looked at in words that no rule knows: 'experts admire the A-posts'. Nothing can
be held against a claim that was not read, so whoever asks for such a text to go out has to look at these words.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from shutline.car.findings import Drive
from shutline.claims.check import Claim
from shutline.claims.claimed import read_claims
from shutline.claims.gathered import named_parts
from shutline.claims.lines import number_around, sentences
from shutline.claims.unseen import says_nobody_looked
from shutline.claims.written_data import WrittenWords, any_of, shipped_words, small_words
from shutline.remarks.regions import regions

_FEW = 3
"""The least words that could say something of the part they name."""
_MARKS = " .,;:!?-"
_PAPERS = "papers"
"""The group of what 'the file' and 'the record' name, by which a text tells what it does not know."""


@dataclass(frozen=True, slots=True)
class Untold:
    """Words that name a part, and of which nothing was read, with the sentence around them."""

    quote: str
    sentence: str


def untold(
    text: str, claims: Sequence[Claim], *, drive: Drive = Drive.RHD, words: WrittenWords | None = None
) -> tuple[Untold, ...]:
    """Give what a text says of parts of the car that none of its claims takes in.

    Parameters
    ----------
    text : str
        The text. It is data.
    claims : sequence of Claim
        What was read in it.
    drive : Drive
        Which side the wheel is on.
    words : WrittenWords, optional
        The phrases that it was read with.

    Returns
    -------
    tuple of Untold
        In the order of the words; no headings, nothing that says that nobody looked, and nothing that bids one look.
    """
    parts = list(sentences(text))
    read = read_claims(text, drive=drive, words=words)
    spans = [*((one.saying.first, one.saying.end) for one in claims), *read.headings, *read.idle]
    out = []
    for piece in read.heard.pieces:
        around = parts[number_around(parts, piece.first)]
        told = len(piece.words) < _FEW or any(first < piece.end and piece.first < end for first, end in spans)
        if told or around.label or says_nobody_looked(around.text):
            continue
        if _invites().search(text, piece.first, piece.end):
            continue
        named = named_parts(around, drive, words or shipped_words())
        if any(first < piece.end and piece.first < end for first, end, _ in named):
            out.append(Untold(text[piece.first : piece.end].strip(_MARKS), around.text))
    return tuple(out)


def unseen_parts(
    text: str, *, drive: Drive = Drive.RHD, words: WrittenWords | None = None, beside: str = ""
) -> dict[str, str]:
    """Give the parts that a text says nobody looked at, each with the word for it.

    Parameters
    ----------
    text : str
        The text. It is data.
    drive, words
        As for `untold`.
    beside : str, optional
        Another text: sentences that stand in it to the letter are passed over.

    Examples
    --------
    >>> unseen_parts("The sills are solid. Nobody has looked at the chassis or the steering.")
    {'chassis': 'chassis', 'steering': 'steering'}
    """
    kept = " ".join(beside.split())
    out: dict[str, str] = {}
    for sentence in sentences(text):
        if not says_nobody_looked(sentence.text) or (kept and " ".join(sentence.text.split()) in kept):
            continue
        for first, end, part in named_parts(sentence, drive, words or shipped_words()):
            if regions().group.get(part) != _PAPERS:
                out.setdefault(part, text[first:end].strip(_MARKS))
    return out


@cache
def _invites() -> re.Pattern[str]:
    return re.compile(rf"\b{any_of(small_words().untold['invites'])}\b", re.IGNORECASE)
