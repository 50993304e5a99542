"""People who are called by name while a film runs: found in the words by the name, or by the way it is said."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.speech import Stretch
from shutline.remarks.lexicon import shipped_lexicon
from shutline.remarks.tokens import COMMA, NO_MARK, Text, stem, tokens

_DOUBLED = re.compile(r"(.)\1")
_LETTERS = re.compile(r"[^\W\d_]+")
_BEHIND = re.compile("(?:['\N{RIGHT SINGLE QUOTATION MARK}]s)?\\W*$")
# A name that is misheard is known again only where so much of it is left.
_LEAST_LETTERS = 3


@dataclass(frozen=True, slots=True)
class _Rules:
    given: frozenset[str]
    sounds: frozenset[str]
    also_words: frozenset[str]
    no_names: frozenset[str]
    after: tuple[tuple[str, ...], ...]


def called_names(stretches: Sequence[Stretch], no_names: frozenset[str] = frozenset()) -> frozenset[str]:
    """Give the names, in lower case, that somebody is called by in a recording; `no_names` are none.

    Whoever is called so once is left out wherever the name stands with a capital, in a quote of one line too.
    """
    text = tokens(stretches)
    return frozenset(text.norm[at] for at in _calls(text)) - no_names


def people_in(
    stretches: Sequence[Stretch], known: frozenset[str] = frozenset(), no_names: frozenset[str] = frozenset()
) -> tuple[str, ...]:
    """Give the names that are left out of a recording, each once, as they are written there, to be looked over."""
    text = tokens(stretches)
    hidden = called(text, known | called_names(stretches, no_names), no_names)
    return tuple(dict.fromkeys(_BEHIND.sub("", text.words[at]) for at in sorted(hidden)))


def called(text: Text, known: frozenset[str] = frozenset(), no_names: frozenset[str] = frozenset()) -> set[int]:
    """Find the written words that are names of people who were there.

    `known` are names called elsewhere, `no_names` words of which somebody has said that they are none, in lower case.
    'Go on then, Danny' has one, 'Danies in the seat', misheard, too; 'pat it down' has none.
    """
    small = not any(_is_capital(text, at) for at in range(len(text.norm)))
    named = {at for at in range(len(text.norm)) if _is_name(text, at, known, small=small)} | set(_calls(text))
    named = {at for at in named if text.norm[at] not in no_names}
    hidden: set[int] = set()
    for at in named:
        end = at + 1
        # A second name is told by its capital.
        own = end < len(text.norm) and text.norm[end] == "'s"
        second = end < len(text.norm) and text.mark[end] == NO_MARK and text.norm[end] not in no_names
        if own or (second and _may_be_name(text, end)):
            end += 1
        hidden |= set(text.word[at:end])
    return hidden


def _is_name(text: Text, at: int, known: frozenset[str], *, small: bool) -> bool:
    """Tell whether a token is a name by itself: it has a capital, or its text has none at all."""
    rules, token = _rules(), text.norm[at]
    if small:
        return token in rules.given
    if not _is_capital(text, at) or token in rules.no_names:
        return False
    if token in rules.given or _sound(token) in rules.sounds:
        return True
    begins = at == 0 or text.mark[at] > COMMA
    return token in known and not (begins and token in rules.also_words)


def _calls(text: Text) -> list[int]:
    """Give the tokens by which somebody is called."""
    rules = _rules()
    small = not any(_is_capital(text, at) for at in range(len(text.norm)))
    # What stands there with a small letter too is a word: 'go on, Headlamps' where a line begins without a full stop.
    words = frozenset() if small else _small_words(text) | _car_words()
    found: list[int] = []
    for at in range(1, len(text.norm)):
        listed = text.norm[at] in rules.also_words or text.norm[at] in rules.given
        may_be = listed if small else _may_be_name(text, at) and (listed or not words & {text.norm[at], text.stem[at]})
        if text.mark[at] > COMMA or not may_be:
            continue
        after = any(_follows(text, at, run) for run in rules.after)
        # 'Thanks, Ray and Lee': the second is called with the first.
        after |= at - 2 in found and text.norm[at - 1] == "and"
        if (after and (small or _ends_there(text, at))) or (text.norm[at] in rules.also_words and _is_apart(text, at)):
            found.append(at)
    return found


def _small_words(text: Text) -> frozenset[str]:
    return frozenset(token for at, token in enumerate(text.norm) if not _is_capital(text, at))


def _follows(text: Text, at: int, words: tuple[str, ...]) -> bool:
    """Tell whether some words stand right before a token, in one line: the next line begins with a capital anyhow."""
    first = at - len(words)
    whole = first >= 0 and tuple(text.norm[first:at]) == words
    return whole and text.stretch[text.word[first]] == text.stretch[text.word[at]]


def _ends_there(text: Text, at: int) -> bool:
    """Tell whether a word with a capital after a call is called, or a thing is: 'go on, May is the month'."""
    return text.norm[at] not in _rules().also_words or _ends(text, at)


def _is_apart(text: Text, at: int) -> bool:
    """Tell whether a word stands between a comma and the end of what is said."""
    return text.mark[at] == COMMA and _is_capital(text, at) and _ends(text, at)


def _ends(text: Text, at: int) -> bool:
    return at + 1 == len(text.norm) or text.mark[at + 1] != NO_MARK or text.norm[at + 1] in ("and", "for")


def _may_be_name(text: Text, at: int) -> bool:
    token = text.norm[at]
    return _is_capital(text, at) and len(token) > 1 and token not in _rules().no_names and token[0] != "'"


def _is_capital(text: Text, at: int) -> bool:
    """Tell whether a token is written with a capital and small letters behind it."""
    token = text.norm[at]
    for piece in _LETTERS.findall(text.words[text.word[at]]):
        if token.startswith(piece.lower()):
            return len(piece) > 1 and piece[0].isupper() and not piece.isupper()
    return False


@cache
def _sound(token: str) -> str:
    """Give a name as it may be misheard: 'Danies' for 'Danny's'; nothing of one that is too short."""
    plain = _DOUBLED.sub(r"\1", stem(token))
    return plain if token != plain and len(plain) > _LEAST_LETTERS else ""


@cache
def _car_words() -> frozenset[str]:
    """Give the words that parts and conditions of cars are told in."""
    rows = shipped_lexicon().rows
    return frozenset(token for row in rows for phrase in row.phrases for token in _LETTERS.findall(phrase))


@cache
def _rules() -> _Rules:
    raw = tomllib.loads(files("shutline.publish").joinpath("data/private.toml").read_text(encoding="utf-8"))["called"]
    given = frozenset(raw["given"])
    return _Rules(
        given=given,
        sounds=frozenset(_DOUBLED.sub(r"\1", name) for name in given),
        also_words=frozenset(raw["also_words"]),
        no_names=frozenset(raw["no_names"]),
        after=tuple(tuple(words.split()) for words in raw["after"]),
    )
