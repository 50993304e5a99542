"""Words with their marks become plain tokens: lower case, clitics apart, padding left out."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from tomllib import loads

from shutline.car.speech import Stretch
from shutline.remarks.spelt import Forms, spelt

NO_MARK, COMMA, ELLIPSIS, FULL_STOP, QUESTION = range(5)
"""The strongest mark that stands before a token."""

_PIECE = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*|'[^\W\d_]+|\d(?:,?\d)*(?:\.\d+)?|\.\.+|[.!?…,;:\u2013\u2014]")
_MARKS = {
    ",": COMMA,
    ";": COMMA,
    ":": COMMA,
    "\u2013": COMMA,
    "\u2014": COMMA,
    "…": ELLIPSIS,
    ".": FULL_STOP,
    "!": FULL_STOP,
    "?": QUESTION,
}
_ENDINGS = ("'s", "'ll", "'d", "'ve", "'re", "'m")


SIDE_WORD = "<side>"
"""What stands for near, off, driver's and passenger's where only the sense counts."""


@dataclass(frozen=True, slots=True)
class Misheard:
    """The written words from `first` to `last`, both included, are read as others of their sound."""

    first: int
    last: int


@dataclass(slots=True)
class Text:
    """The tokens of a recording, as lists of one length.

    `norm` is the token in lower case; `stem` the same with a plural ending taken off; `mark` the strongest mark before
    it; `word` the index of the written word it came from. `words` are the written words, `stretch` and `starts` and
    `ends` tell, for each written word, its stretch and its seconds. `misheard` tells which of them are read as others.
    `spelt` gives, for the last written word of a short form said letter by letter, the first: the token came from both.
    """

    norm: list[str]
    stem: list[str]
    mark: list[int]
    word: list[int]
    words: list[str]
    stretch: list[int]
    starts: list[float]
    ends: list[float]
    misheard: list[Misheard] = field(default_factory=list)
    spelt: dict[int, int] = field(default_factory=dict)

    def folded(self, tokens: Iterable[int]) -> Text:
        """Give the same text with some tokens made alike, so that what is learnt cannot tell near from off."""
        norm, stemmed = list(self.norm), list(self.stem)
        for at in tokens:
            norm[at] = stemmed[at] = SIDE_WORD
        return replace(self, norm=norm, stem=stemmed)

    def quote(self, first: int, last: int) -> str:
        """Give the written words of tokens `first` to `last`, both included, verbatim."""
        return self.written(self.first_word(first), self.word[last])

    def first_word(self, token: int) -> int:
        """Give the index of the first written word that a token came from."""
        word = self.word[token]
        return self.spelt.get(word, word)

    def written(self, first: int, last: int) -> str:
        """Give the written words `first` to `last`, both included, verbatim."""
        return " ".join(self.words[first : last + 1])

    def read(self, first: int, last: int) -> str:
        """Give as what the written words `first` to `last`, both included, are read."""
        norm = self.norm[bisect_left(self.word, first) : bisect_right(self.word, last)]
        return " ".join(norm).replace(" '", "'").replace(" n't", "n't")


@dataclass(frozen=True, slots=True)
class _Spelling:
    splits: dict[str, tuple[str, ...]]
    stems: dict[str, str]
    unchanged: frozenset[str]
    fillers: frozenset[str]
    padding: dict[str, tuple[tuple[str, ...], ...]]
    structure: frozenset[str]
    spelt: Forms


@cache
def _spelling() -> _Spelling:
    raw = loads(files("shutline.remarks").joinpath("data/spelling.toml").read_text(encoding="utf-8"))
    padding: dict[str, list[tuple[str, ...]]] = {}
    for line in raw["padding"]:
        run = tuple(line.split())
        padding.setdefault(run[0], []).append(run)
    return _Spelling(
        splits={k: tuple(v.split()) for k, v in raw["splits"].items()},
        stems=raw["stems"],
        unchanged=frozenset(raw["unchanged"]),
        fillers=frozenset(raw["fillers"]),
        structure=frozenset(raw["structure"]),
        spelt=Forms(
            {tuple(k.split()): v for k, v in raw["spelt"].items()}, frozenset(raw["digits"]), frozenset(raw["tens"])
        ),
        padding={k: tuple(sorted(v, key=len, reverse=True)) for k, v in padding.items()},
    )


@cache
def stem(token: str) -> str:
    """Take a plural ending off a token in lower case.

    >>> stem("scratches"), stem("bodies"), stem("chassis"), stem("tyres")
    ('scratch', 'body', 'chassis', 'tyre')
    """
    spelling = _spelling()
    known = spelling.stems.get(token)
    if known is not None:
        return known
    if len(token) < 4 or token[-1] != "s" or token in spelling.unchanged or token[-2:] in ("ss", "us", "is"):
        return token
    if token.endswith("ies") and len(token) > 4:
        return token[:-3] + "y"
    if token.endswith(("sses", "xes", "ches", "shes", "zes")):
        return token[:-2]
    return token[:-1]


@cache
def _split(piece: str) -> tuple[str, ...]:
    spelling = _spelling()
    known = spelling.splits.get(piece)
    if known is not None:
        return known
    if piece.endswith("n't") and len(piece) > 3:
        return (piece[:-3], "n't")
    if piece.endswith("nae") and len(piece) > 4:
        return (piece[:-3], "n't")
    for ending in _ENDINGS:
        if piece.endswith(ending) and len(piece) > len(ending):
            return (*_split(piece[: -len(ending)]), ending)
    if piece[-2:] == "s'":
        return (piece[:-1],)
    return (piece.strip("'"),) if piece not in _ENDINGS else (piece,)


_Pieces = tuple[tuple[tuple[str, str, int], ...], int]


@cache
def _pieces(word: str) -> _Pieces:
    """Split one written word; give (token, stem, mark before) for each, and the mark after the last."""
    fillers = _spelling().fillers
    out: list[tuple[str, str, int]] = []
    mark = NO_MARK
    for piece in _PIECE.findall(word.lower().replace("\u2019", "'").replace("\u02bc", "'")):
        if piece[0] in _MARKS:
            mark = max(mark, ELLIPSIS if len(piece) > 1 else _MARKS[piece[0]])
            continue
        for token in _split(piece):
            plain = token.replace(",", "") if token[0].isdecimal() else token
            if not plain or plain in fillers:
                continue
            out.append((plain, stem(plain), mark))
            mark = NO_MARK
    return tuple(out), mark


def structure_words() -> frozenset[str]:
    """Give the words that show how a sentence is built."""
    return _spelling().structure


def phrase_tokens(phrase: str) -> list[tuple[str, str]]:
    """Give (token, stem) of a phrase as `tokens` would cut it."""
    return [(token, stemmed) for word in phrase.split() for token, stemmed, _ in _pieces(word)[0]]


def tokens(stretches: Sequence[Stretch]) -> Text:
    """Cut the words of all stretches into tokens.

    A stretch may end in the middle of a sentence, so its end is no mark. Fillers ('erm') and padding ('as you can
    see') are left out, so that they change nothing.

    >>> from shutline.car.speech import StretchOrigin, stretch_of
    >>> tokens([stretch_of("The door's fine.", 0, 1, origin=StretchOrigin.TRANSCRIPT)]).norm
    ['the', 'door', "'s", 'fine']
    >>> tokens([stretch_of("New in 2019, 48,200 miles", 0, 1, origin=StretchOrigin.TRANSCRIPT)]).mark
    [3, 0, 0, 1, 0]
    """
    text = Text([], [], [], [], [], [], [], [])
    for number, stretch in enumerate(stretches):
        for word in stretch.words:
            text.words.append(word.text)
            text.stretch.append(number)
            text.starts.append(word.start_s)
            text.ends.append(word.end_s)
    _cut(text)
    _drop_padding(text)
    return text


def _cut(text: Text) -> None:
    """Cut the written words of a text into its tokens; a short form that is spelt out is one."""
    begins = {one.first: one for one in spelt(text.words, _spelling().spelt)}
    mark = FULL_STOP
    index = 0
    while index < len(text.words):
        form = begins.get(index)
        if form is None:
            cut, after = _pieces(text.words[index])
        else:
            cut, after = _pieces(form.word + form.tail + form.marks)
            index = form.end - 1
            text.spelt[index] = form.first
        for token, stemmed, before in cut:
            text.norm.append(token)
            text.stem.append(stemmed)
            text.mark.append(max(mark, before))
            text.word.append(index)
            mark = NO_MARK
        mark = max(mark, after)
        index += 1


def _drop_padding(text: Text) -> None:
    padding = _spelling().padding
    norm = text.norm
    dropped: list[tuple[int, int]] = []
    at = 0
    while at < len(norm):
        runs = padding.get(norm[at])
        if runs is not None:
            for run in runs:
                if tuple(norm[at : at + len(run)]) == run:
                    dropped.append((at, at + len(run)))
                    at += len(run) - 1
                    break
        at += 1
    for first, end in reversed(dropped):
        strongest = max(text.mark[first : end + 1])
        for column in (text.norm, text.stem, text.mark, text.word):
            del column[first:end]
        if first < len(text.mark):
            text.mark[first] = strongest
