"""What may not leave: found in words, and left out of them and of the sound that they were said in."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.going_out import PrivateKind
from shutline.car.speech import Stretch, StretchOrigin, WordTiming, stretch_of
from shutline.publish.called import called, called_names
from shutline.publish.clauses import without_clauses
from shutline.remarks.numbers import Number, numbers
from shutline.remarks.tokens import Text, tokens

Span = tuple[float, float]

# A word's time is known to about this much, seconds; one that was shared out is known only by its stretch.
_SLACK_S = 0.25
_POSSESSIVE = re.compile("['\N{RIGHT SINGLE QUOTATION MARK}]s?$")
_AROUND_WORDS = ".,;:!?'\"()\N{LEFT SINGLE QUOTATION MARK}\N{RIGHT SINGLE QUOTATION MARK}"
# A name of so many letters or fewer may be another word with an s behind it.
_LEAST = 3
_SIGNS = re.compile(r"[^a-z0-9]")


@dataclass(frozen=True, slots=True)
class Private:
    """What may not leave of one car.

    `phrases` are runs of words, `amounts` sums of money in pounds, `signs` registration marks and the like as they are
    written without spaces, `spans` stretches of recordings by their ids, seconds. What the shipped rules find is left
    out too (``data/private.toml``), but for the words of `spared`: a firm's own telephone number is meant to be read.
    `names` are those, in lower case, that somebody is called by in a recording of the car (`called_names`); `no_names`
    words of which somebody has said that they are no names.
    """

    phrases: tuple[str, ...] = ()
    amounts: frozenset[float] = frozenset()
    signs: frozenset[str] = frozenset()
    spans: Mapping[str, tuple[Span, ...]] = field(default_factory=dict)
    spared: tuple[str, ...] = ()
    names: frozenset[str] = frozenset()
    no_names: frozenset[str] = frozenset()

    def text(self, text: str) -> str:
        """Give a text with what may not leave taken out of it.

        >>> Private(phrases=("Augusta Harbottle",)).text("It was Augusta Harbottle's from new.")
        'It was […] from new.'
        """
        if not text.strip():
            return text
        stretch = stretch_of(text, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)
        (hidden,) = self._hidden((stretch,))
        if not hidden:
            return text
        return _joined([None if at in hidden else word.text for at, word in enumerate(stretch.words)])

    def prose(self, text: str) -> str:
        """Give a text that we or the house wrote without the smallest wholes in which something may not leave.

        A quote keeps its other words, with a mark: it is told as it was said. Nothing is left of a text that is one
        such whole.

        >>> Private(phrases=("Augusta Harbottle",)).prose("A sound car, from Augusta Harbottle. It runs.")
        'A sound car. It runs.'
        """
        if not text.strip():
            return text
        stretch = stretch_of(text, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)
        (hidden,) = self._hidden((stretch,))
        return " ".join(without_clauses([word.text for word in stretch.words], hidden)) if hidden else text

    def titled(self, text: str) -> str:
        """Give a text that must say something as `prose` does, with a mark in it where nothing of it would be left."""
        return self.prose(text) or self.text(text)

    def quote(self, text: str, source: str, start_s: float | None, end_s: float | None) -> str:
        """Give a quote without what may not leave; nothing of one that was said in a private stretch."""
        if start_s is not None and self._within(source, start_s, start_s if end_s is None else end_s):
            return _rules()["mark"] if text else ""
        return self.text(text)

    def stretches(self, recording: str, stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
        """Give the words of a recording with the mark in place of those that may not leave; times stay."""
        return tuple(
            self._without(recording, stretch, hidden)
            for stretch, hidden in zip(stretches, self._hidden(stretches), strict=True)
        )

    def muted(self, recording: str, stretches: Sequence[Stretch]) -> tuple[Span, ...]:
        """Give the stretches of a recording in which it may not be heard, seconds, in order and apart."""
        spans = list(self.spans.get(recording, ()))
        for stretch, hidden in zip(stretches, self._hidden(stretches), strict=True):
            for at in hidden:
                word = stretch.words[at]
                if word.timing is WordTiming.SHARED_OUT:
                    spans.append((stretch.start_s, stretch.end_s))
                else:
                    spans.append((word.start_s - _SLACK_S, word.end_s + _SLACK_S))
        return joined_spans(spans)

    def _without(self, recording: str, stretch: Stretch, found: set[int]) -> Stretch:
        hidden = found | {
            at for at, word in enumerate(stretch.words) if self._within(recording, word.start_s, word.end_s)
        }
        if not hidden:
            return stretch
        words = []
        for at, word in enumerate(stretch.words):
            if at not in hidden:
                words.append(word)
            elif at - 1 in hidden and words:
                words[-1] = replace(words[-1], end_s=word.end_s)
            else:
                words.append(replace(word, text=_rules()["mark"]))
        return replace(stretch, text=" ".join(word.text for word in words), words=tuple(words))

    def _within(self, recording: str, start_s: float, end_s: float) -> bool:
        return any(start_s < until_s and end_s > from_s for from_s, until_s in self.spans.get(recording, ()))

    def _hidden(self, stretches: Sequence[Stretch]) -> list[set[int]]:
        """Give for each stretch the numbers of its written words that may not leave.

        They are read on from one to the next: a number may be broken where a line of the transcript ends.
        """
        hidden = self._hidden_of_all([stretch for stretch in stretches if stretch.words])
        found, first = [], 0
        for stretch in stretches:
            end = first + len(stretch.words)
            found.append({at - first for at in hidden if first <= at < end})
            first = end
        return found

    def _hidden_of_all(self, as_told: Sequence[Stretch]) -> set[int]:
        """Give the numbers of the words that may not leave, counted through all stretches."""
        if not as_told:
            return set()
        stretches = [_evenly(stretch) for stretch in as_told]
        text = tokens(stretches)
        counted = numbers(text)
        norm = [_POSSESSIVE.sub("", token) for token in text.norm]
        people = _titled(text) | called(text, self.names, self.no_names)
        shipped = _by_pattern(stretches) | people | _priced(text, counted)
        hidden = shipped - _told(self.spared, norm, text)
        hidden |= _told(self.phrases, norm, text)
        for number in counted:
            if self._is_amount(text, number):
                hidden |= set(text.word[number.first : _with_units(text, number.end)])
        return hidden | self._signed(norm, text)

    def _is_amount(self, text: Text, number: Number) -> bool:
        following = text.norm[number.end] if number.end < len(text.norm) else ""
        worth = {"grand": 1000.0, "k": 1000.0, "thousand": 1000.0, "hundred": 100.0}.get(following, 1.0)
        return number.value in self.amounts or number.value * worth in self.amounts

    def _signed(self, norm: Sequence[str], text: Text) -> set[int]:
        """Find marks and numbers that are written with spaces or without."""
        hidden: set[int] = set()
        plain = [_SIGNS.sub("", token) for token in norm]
        for first in range(len(norm)) if self.signs else ():
            run = ""
            for end in range(first, min(first + 20, len(norm))):
                run += plain[end]
                if plain[first] and plain[end] and run in self.signs:
                    hidden |= set(text.word[first : end + 1])
        return hidden


def joined_spans(spans: Sequence[Span]) -> tuple[Span, ...]:
    """Give stretches in order and apart, seconds, none before 0."""
    joined: list[Span] = []
    for start_s, end_s in sorted(spans):
        if joined and start_s <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end_s))
        else:
            joined.append((max(0.0, start_s), end_s))
    return tuple(joined)


def private_of(
    words: Sequence[tuple[PrivateKind, str]],
    *,
    signs: Sequence[str] = (),
    spans: Mapping[str, tuple[Span, ...]] | None = None,
    spared: Sequence[str] = (),
    said: Sequence[Sequence[Stretch]] = (),
) -> Private:
    """Make what may not leave from what people said of a car.

    Parameters
    ----------
    words : sequence of tuple
        Kind and words; of a price its number, as figures or as words; of what is no name a word that may leave.
    signs : sequence of str
        Registration marks and chassis numbers that are covered in pictures.
    spans : mapping
        By the id of the recording, seconds: where such a sign was spelled out.
    spared : sequence of str
        Words that the shipped rules are not to take out: what the firm says of itself.
    said : sequence of sequence of Stretch
        What is said in each recording of the car: who is called by name in it is left out of every text.
    """
    amounts = {
        number.value
        for kind, text in words
        if kind is PrivateKind.PRICE
        for number in numbers(tokens((stretch_of(text, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT),)))
    }
    no_names = no_names_of(words)
    return Private(
        phrases=tuple(dict.fromkeys(text for kind, text in words if text.strip() and kind is not PrivateKind.NO_NAME)),
        amounts=frozenset(amounts),
        signs=frozenset(sign for sign in (_SIGNS.sub("", one.lower()) for one in signs) if len(sign) > 3),
        spans=spans or {},
        spared=tuple(one for one in spared if one.strip()),
        names=frozenset(name for stretches in said if stretches for name in called_names(stretches, no_names)),
        no_names=no_names,
    )


def no_names_of(words: Sequence[tuple[PrivateKind, str]]) -> frozenset[str]:
    """Give the words that are no names, as they are looked for."""
    return frozenset(token for kind, text in words if kind is PrivateKind.NO_NAME for token in _norm(text))


def is_common(words: str) -> bool:
    """Tell whether words stand in every text: a single letter, or nothing but words of the language.

    >>> is_common("The"), is_common("Q"), is_common("of the")
    (True, True, True)
    >>> is_common("The Old Rectory"), is_common("7"), is_common("Will")
    (False, False, False)
    """
    common = frozenset(_rules()["common"])
    told = [word.strip(_AROUND_WORDS) for word in words.casefold().split()]
    told = [word for word in told if word]
    return (len(told) == 1 and len(told[0]) == 1 and told[0].isalpha()) or (bool(told) and common.issuperset(told))


def _evenly(stretch: Stretch) -> Stretch:
    """Give words as they would be typed: letters put together with their accents, ligatures undone, no unseen signs."""
    text = "".join(word.text for word in stretch.words)
    if text.isascii():
        return stretch
    return replace(stretch, words=tuple(replace(word, text=_even(word.text)) for word in stretch.words))


def _even(word: str) -> str:
    # A word stays one word, and is never nothing.
    even = "".join(sign for sign in unicodedata.normalize("NFKC", word) if unicodedata.category(sign) != "Cf")
    return even if len(even.split()) == 1 else word


def _norm(phrase: str) -> list[str]:
    stretch = _evenly(stretch_of(phrase, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT))
    return [_POSSESSIVE.sub("", token) for token in tokens((stretch,)).norm]


def _told(phrases: Sequence[str], norm: Sequence[str], text: Text) -> set[int]:
    """Give the written words in which one of some phrases is told."""
    found: set[int] = set()
    for phrase in phrases:
        wanted = _norm(phrase)
        for first in range(len(norm) - len(wanted) + 1) if wanted else ():
            there = norm[first : first + len(wanted)]
            # 'The Harbottles' tells of whoever is called Harbottle.
            if there == wanted or (len(wanted[-1]) > _LEAST and there == [*wanted[:-1], f"{wanted[-1]}s"]):
                found |= set(text.word[first : first + len(wanted)])
    return found


def _joined(words: Sequence[str | None]) -> str:
    """Put words together, with one mark in place of each run that was left out."""
    told: list[str] = []
    for at, word in enumerate(words):
        if word is not None:
            told.append(word)
        elif at == 0 or words[at - 1] is not None:
            told.append(_rules()["mark"])
    return " ".join(told)


def _by_pattern(stretches: Sequence[Stretch]) -> set[int]:
    """Find the words that a pattern is of; of one with a part named ``hidden``, those of that part."""
    line, places = "", []
    for at, word in enumerate(word for stretch in stretches for word in stretch.words):
        places += [at] * (len(word.text) + 1)
        line += f"{word.text} "
    spans = (
        found.span("hidden" if "hidden" in rule.groupindex else 0)
        for rule in _patterns()
        for found in rule.finditer(line)
    )
    return {places[at] for span in spans for at in range(*span)}


def _titled(text: Text) -> set[int]:
    titles = set(_rules()["names"]["titles"])
    hidden: set[int] = set()
    for at, token in enumerate(text.norm[:-1]):
        if token.rstrip(".") in titles:
            end = at + 2
            # A second name is told by its capital, where the words have any.
            if end < len(text.norm) and text.words[text.word[end]][:1].isupper() and text.mark[end] == 0:
                end += 1
            hidden |= set(text.word[at:end])
    return hidden


def _priced(text: Text, counted: Sequence[Number]) -> set[int]:
    rules = _rules()["price"]
    hidden: set[int] = set()
    for words in _triggers():
        for first in range(len(text.norm) - len(words) + 1):
            if tuple(text.norm[first : first + len(words)]) != words:
                continue
            begins = first + len(words)
            for at, number in enumerate(counted):
                end = _with_units(text, number.end)
                near = begins <= number.first < begins + rules["within_words"]
                # 'three fifty' is two numbers, one right after the other.
                follows = counted[at + 1] if at + 1 < len(counted) and counted[at + 1].first == number.end else None
                if near and follows is not None:
                    end = max(end, _with_units(text, follows.end))
                if near and (number.value >= rules["least"] or end > number.end):
                    hidden |= set(text.word[number.first : end])
    return hidden


def _with_units(text: Text, end: int) -> int:
    units = set(_rules()["price"]["units"])
    while end < len(text.norm) and text.norm[end] in units:
        end += 1
    return end


@cache
def _triggers() -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(words.split()) for words in _rules()["price"]["after"])


@cache
def _patterns() -> tuple[re.Pattern[str], ...]:
    return tuple(re.compile(row["pattern"], re.IGNORECASE) for row in _rules()["pattern"])


@cache
def _rules() -> Mapping[str, Any]:
    return tomllib.loads(files("shutline.publish").joinpath("data/private.toml").read_text(encoding="utf-8"))
