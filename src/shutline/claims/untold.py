"""What a rewrite says in words that nothing has read, and which parts it no longer says nobody looked at.

A rewrite could praise what was never looked at in words that no rule knows ('experts admire the A-posts'), make up a
past, or take everything back ('none of the above matters'). Nothing can be held against a claim that was not read; so
new words that may state something, and that no claim takes in, are shown to a person, who answers for them or leaves
them out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from shutline.car.findings import Drive
from shutline.claims.accounted import unaccounted
from shutline.claims.check import Claim
from shutline.claims.claimed import Read, read_claims
from shutline.claims.gathered import named_parts
from shutline.claims.lines import Sentence, number_around, sentences
from shutline.claims.relations import relations
from shutline.claims.stated import Piece, sweeping
from shutline.claims.unseen import only_names, says_nobody_looked
from shutline.claims.written_data import WrittenWords, any_of, shipped_words, small_words
from shutline.remarks.regions import regions

_FEW = 3
"""The least words that could say something of the part they name."""
_MAY_STATE = -2.2
"""Mean log-odds that words state something, from which they are shown: most of what is written to please has less."""
_MAY_STATE_ALONE = -1.0
"""The same where the sentence is read by itself."""
_LONGEST_HEADING = 8
_MARKS = " .,;:!?-"
_PAPERS = "papers"
"""The group of what 'the file' and 'the record' name, by which a text tells what it does not know."""


@dataclass(frozen=True, slots=True)
class Untold:
    """New words of which nothing was read, with the sentence around them."""

    quote: str
    sentence: str


def untold(
    text: str, former: str, claims: Sequence[Claim], *, drive: Drive = Drive.RHD, words: WrittenWords | None = None
) -> tuple[Untold, ...]:
    """Give what a text may state that its former did not have and that none of its claims takes in.

    Parameters
    ----------
    text, former : str
        The text, and the one whose place it would take. Both are data.
    claims : sequence of Claim
        What was read in the text.
    drive : Drive
        Which side the wheel is on.
    words : WrittenWords, optional
        The phrases that it was read with.

    Returns
    -------
    tuple of Untold
        In the order of the words: headings, words about parts, other words that may state something or that take back
        what stands, and figures that stand in no fact. None of a sentence that the former text has to the letter, of
        what says that nobody looked, of what bids one look, and of the terms of a sale.
    """
    return tuple(_Untold(text, former, claims, drive, words or shipped_words()).run())


class _Untold:
    def __init__(self, text: str, former: str, claims: Sequence[Claim], drive: Drive, words: WrittenWords) -> None:
        self.text, self.drive, self.words, self.claims = text, drive, words, claims
        self.kept = " ".join(former.split())
        plain = former.casefold()
        self.known = frozenset((*_FIGURE.findall(plain), *_words(plain), *_COMPOUND.findall(plain)))
        self.parts_before = {part for one in sentences(former) for *_, part in named_parts(one, drive, words)}
        self.parts = list(sentences(text))
        self.read: Read = read_claims(text, drive=drive, words=words)
        self.spans = [(one.saying.first, one.saying.end) for one in claims]

    def run(self) -> Iterator[Untold]:
        """Go through what is new, sentence by sentence."""
        for number, around in enumerate(self.parts):
            if " ".join(around.text.split()) in self.kept:
                continue
            if self._only_leads(around):
                continue
            if self._is_heading(around):
                yield Untold(around.text, around.text)
                continue
            pieces = [one for one in self.read.heard.pieces if number_around(self.parts, one.first) == number]
            left = list(self._unaccounted(around))
            shown = [
                one
                for one in pieces
                if self._is_shown(one, around)
                or (any(one.first <= first < one.end for first, _ in left) and self._may_turn(one, around))
            ]
            yield from (Untold(self.text[one.first : one.end].strip(_MARKS), around.text) for one in shown)
            if not shown and not _said("terms").search(around.text) and self._counts_anew(around):
                yield Untold(around.text.strip(_MARKS), around.text)

    def _may_turn(self, piece: Piece, around: Sentence) -> bool:
        """Tell whether words that nothing accounts for may turn what stands: all that claim, and any that state."""
        first, end = piece.first, piece.end
        return _meet(first, end, self.spans) or not self._is_harmless(first, end, around)

    def _unaccounted(self, around: Sentence) -> Iterator[tuple[int, int]]:
        """Give the words of a sentence about the car that nothing accounts for."""
        first, end = around.first, around.first + len(around.text)
        here = [one.saying for one in self.claims if first <= one.saying.first < end]
        if not here and not any(True for _ in named_parts(around, self.drive, self.words)):
            return
        facts = [(one.first, one.end) for one in here if one.fact is not None]
        told = {part for one in here if one.spot is not None for part in (one.spot.part, *one.spot.others)}
        for first, end, part in named_parts(around, self.drive, self.words):
            anew = part not in self.parts_before or not self.known.issuperset(_words(self.text[first:end]))
            if part not in told and anew and not _meet(first, end, facts):
                yield first, end
        placed = [(one.first, one.end) for one in here if one.spot is not None]
        yield from unaccounted(around, self.known, facts=facts, told=placed, drive=self.drive, words=self.words)

    def _is_heading(self, around: Sentence) -> bool:
        """Tell whether a line only heads what follows."""
        if around.label:
            return True
        end = around.first + len(around.text)
        line = self.text[self.text.rfind("\n", 0, around.first) + 1 : end].strip(" #*_") == around.text.strip(" #*_")
        below = re.match(r"[*_ ]*\n\s*\S", self.text[end:])
        few = len(around.text.split()) <= _LONGEST_HEADING
        return line and few and below is not None and not around.item and around.text[-1].isalnum()

    def _only_leads(self, around: Sentence) -> bool:
        """Tell whether a heading says no more than what comes."""
        told = around.text.casefold().strip(" .:#*_")
        if relations().headings_alone.issuperset(told.split()) or told in relations().headings_of:
            return True
        return self._only_names(around.first, around.first + len(around.text), around)

    def _only_names(self, first: int, end: int, around: Sentence) -> bool:
        return only_names(self.text, (first, end), around, drive=self.drive, words=self.words)

    def _is_shown(self, piece: Piece, around: Sentence) -> bool:
        """Tell whether words may state something, however they are read or because nothing reads them."""
        first, end = piece.first, piece.end
        sweeps = sweeping().search(self.text, first, end) and not self._is_of_a_fact(first, end)
        if _said("takes_back").search(self.text, first, end) or sweeps:
            # 'Every bill since new is in the folder' is more than a folder of bills.
            return True
        said = _words(self.text[first:end])
        # 'It wants for nothing' tells of no work.
        idle = self.read.idle if small_words().of_each.isdisjoint(said) else ()
        read = _meet(first, end, (*self.spans, *idle))
        # The name before a colon heads what is claimed behind it.
        read = read or (":" in self.text[end - 1 : end + 1] and self._only_names(first, end, around))
        if read or self._is_harmless(first, end, around):
            return False
        named = named_parts(around, self.drive, self.words)
        about_a_part = len(piece.words) >= _FEW and any(begin < end and first < stop for begin, stop, _ in named)
        utterly = not relations().utter.words.isdisjoint(said) or not _referring().isdisjoint(said)
        may_state = len(piece.words) > 1 and (piece.odds >= _MAY_STATE or self._states_alone(piece, around))
        return about_a_part or utterly or may_state

    def _is_harmless(self, first: int, end: int, around: Sentence) -> bool:
        """Tell whether words bid one look, are of the sale, or say that nobody looked."""
        if _said("invites").search(self.text, first, end) or _said("terms").search(self.text, first, end):
            return True
        return says_nobody_looked(around.text) and (
            says_nobody_looked(self.text[first:end]) or self._only_names(first, end, around)
        )

    def _states_alone(self, piece: Piece, around: Sentence) -> bool:
        """Tell whether words may state something where nothing stands before their sentence."""
        alone = read_claims(around.text, drive=self.drive, words=self.words).heard.pieces
        said = self.text[piece.first : piece.end]
        return any(one.odds >= _MAY_STATE_ALONE and around.text[one.first : one.end] == said for one in alone)

    def _is_of_a_fact(self, first: int, end: int) -> bool:
        """Tell whether a claim of a fact stands among some letters; it was held against the file."""
        return any(
            one.saying.first < end and first < one.saying.end and one.saying.fact is not None for one in self.claims
        )

    def _counts_anew(self, around: Sentence) -> bool:
        """Tell whether a sentence has a figure that the former text has not and that is no value of a fact."""
        facts = [(one.saying.first, one.saying.end) for one in self.claims if one.saying.fact is not None]
        for found in _FIGURE.finditer(around.text.casefold()):
            first, end = around.first + found.start(), around.first + found.end()
            if found.group() not in self.known and not any(begin < end and first < stop for begin, stop in facts):
                return True
        return False


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


def _meet(first: int, end: int, spans: Iterable[tuple[int, int]]) -> bool:
    """Tell whether some letters and any of the spans have one in common."""
    return any(begin < end and first < stop for begin, stop in spans)


def _words(said: str) -> list[str]:
    return re.findall(r"[a-z]+", said.casefold())


@cache
def _referring() -> frozenset[str]:
    return frozenset(small_words().untold["referring"])


@cache
def _said(name: str) -> re.Pattern[str]:
    return re.compile(rf"\b{any_of(small_words().untold[name])}\b", re.IGNORECASE)


_COMPOUND = re.compile(r"[a-z]+(?:-[a-z]+)+")
_FIGURE = re.compile(
    r"\d[\d,.]*\d|\d|\b(?:two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty|sixty"
    r"|seventy|eighty|ninety|hundred|thousand|dozen|half)\b"
)
