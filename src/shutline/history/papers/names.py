"""Names of people in a row of a paper: by a title, by initials, by a first name; a firm's name is told apart."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache

from shutline.history.papers.folded import folded_word
from shutline.history.papers.layout import WORD, Row
from shutline.history.papers.reading import trimmed
from shutline.history.papers.tables import private_rules

_JOINED = re.compile(r"([A-ZÀ-Þ][^\W\d_A-Z]+|[A-ZÀ-Þ][a-z0-9]+)(?=[A-ZÀ-Þ][a-z])")
NAME_WORD = r"(?:[^\W\d_a-zß-öø-ÿ]|0(?=['\u2019A-Za-z]))[\w'\u2019\-]*"
_PARTICLES = r"(?:(?:de|la|le|du|der|den|von|van|zu|ap|of|and|&|und|et|O['\u2019])[ \t]+)?"
_INITIALS = re.compile(
    r"(?<![\w.])(?:[A-Z]\.[ \t]?){1,4}[A-Z][\w'\u2019\-]{2,}|(?<![\w.])(?:[A-Z][ \t]){2,4}[A-Z][a-z'\u2019\-]{2,}(?!\w)"
)


def titled(row: Row) -> Iterator[tuple[int, int]]:
    """Find names by a title or by initials, from and to."""
    for match in _title_pattern().finditer(row.text):
        yield from _unless_firm(row, match.start(), match.end())
    for match in _INITIALS.finditer(row.text):
        yield from _unless_firm(row, match.start(), match.end())


@cache
def _title_pattern() -> re.Pattern[str]:
    rules = private_rules()["names"]
    sure = "|".join(re.escape(one) for one in rules["titles"] if one not in rules["doubtful_titles"])
    doubtful = "|".join(map(re.escape, rules["doubtful_titles"]))
    # Where the blanks are gone: 'to aMrHugh Vane'.
    grown = "|".join(re.escape(one.capitalize()) for one in rules["titles"] if len(one) <= 4)
    name = rf"{_PARTICLES}{NAME_WORD}\.?(?:[ \t.]*(?:&|and|und|et)?[ \t]*{_PARTICLES}{NAME_WORD}\.?){{0,4}}"
    return re.compile(
        rf"(?<!\w)(?i:{sure})(?:\.[ \t]*|[ \t]+|(?=[A-Z]))(?:(?:&|and|or|und)[ \t]*(?i:{sure})\.?[ \t]*)?{name}"
        rf"|(?<!\w)(?i:{doubtful})(?:\.[ \t]*{name}|[ \t]+(?:[A-Z]\.?[ \t]+){{1,3}}{NAME_WORD})"
        rf"|(?<=[a-z])(?:{grown})\.?[ \t]*{name}"
        rf"|(?<!\w)M\.[ \t]+{NAME_WORD}(?:[ \t]+{NAME_WORD})?"
    )


def first_names(row: Row) -> Iterator[tuple[int, int]]:
    """Find names by a first name of the list and what follows it, from and to."""
    words = row.words
    names, firms = known_first(), firm_words()
    at = 0
    while at < len(words):
        word = words[at]
        if not word[0][0].isupper():
            at += 1
            continue
        known = folded_word(word[0]) in names
        joined = None if known or word[0].istitle() else _JOINED.match(word[0])
        if not known and not (joined and folded_word(joined[1]) in names):
            at += 1
            continue
        begin, end, last = at, word.end(), at
        while begin and words[begin - 1][0].isupper() and len(words[begin - 1][0]) == 1 and _beside(row, words, begin):
            begin -= 1
        while (
            last + 1 < len(words) and last < at + 4 and _beside(row, words, last + 1) and _may_name(words[last + 1][0])
        ):
            last += 1
            end = words[last].end()
        firm = any(one[0][0].isupper() and one[0].lower() in firms for one in words[at : last + 2])
        if not firm and (last > begin or joined is not None or _alone(row, words, at)):
            yield words[begin].start(), end
        at = last + 1


def _beside(row: Row, words: Sequence[re.Match[str]], at: int) -> bool:
    """Tell whether a word stands right behind the one before it, with blanks, a point or an 'and' sign between."""
    return row.text[words[at - 1].end() : words[at].start()].strip(" \t.&") == ""


def _may_name(word: str) -> bool:
    return word[:1].isupper() or word.lower() in {"de", "la", "von", "van", "der", "du", "and", "und"}


def _alone(row: Row, words: Sequence[re.Match[str]], at: int) -> bool:
    """Tell whether a first name alone is somebody: a doubtful one behind a word that leads to one, or in a cell."""
    if folded_word(words[at][0]) not in _doubtful_first():
        return True
    first, end = row.cell(words[at].start())
    before = words[at - 1][0].lower() if at and words[at - 1].start() >= first else ""
    return before in set(private_rules()["names"]["before"]) or trimmed(row.text, first, end) == words[at].span()


@cache
def _doubtful_first() -> frozenset[str]:
    return frozenset(folded_word(one) for one in private_rules()["names"]["doubtful_first"])


@cache
def known_first() -> frozenset[str]:
    """Give the first names, folded."""
    return frozenset(folded_word(one) for one in private_rules()["names"]["first"].split())


@cache
def firm_words() -> frozenset[str]:
    """Give the words that make a name a firm's."""
    return frozenset(private_rules()["names"]["firms"])


def is_firm(words: str) -> bool:
    """Tell whether a word of a firm is among some, with a capital."""
    return any(word[0].isupper() and word.lower() in firm_words() for word in WORD.findall(words))


def _unless_firm(row: Row, first: int, end: int) -> Iterator[tuple[int, int]]:
    _, stop = row.cell(first)
    if not is_firm(row.text[first:end]) and not is_firm(" ".join(WORD.findall(row.text[end:stop])[:1])):
        yield first, end
