"""Names of people in a row of a paper: by a title, by initials, by a first name; a firm's name is told apart."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from shutline.history.papers.folded import folded_word
from shutline.history.papers.layout import WORD, Row
from shutline.history.papers.reading import trimmed
from shutline.history.papers.tables import private_rules

_CAMEL = re.compile(r"[A-ZÀ-Þ]+(?![^\W_A-ZÀ-Þ])|[A-ZÀ-Þ][^\W_A-ZÀ-Þ]*|[^\W_A-ZÀ-Þ]+")
NAME_WORD = r"(?:[^\W\d_a-zß-öø-ÿ]|0(?=['\u2019A-Za-z]))[\w'\u2019\-]*"
_INITIALS = re.compile(
    r"(?<![\w.])(?:[A-Z]\.[ \t]?){1,4}(?P<word>[A-Z][\w'\u2019\-]{2,})"
    r"|(?<![\w.])(?:[A-Z][ \t]?(?:&|and)[ \t]?)?(?:[A-Z][ \t]){1,4}(?P<other>[A-Z][\w'\u2019\-]{2,})(?![\w/])"
)
# Of letters that stand alone these are words by themselves.
_ARTICLES = frozenset("AI")


def titled(row: Row) -> Iterator[tuple[int, int]]:
    """Find names by a title or by initials, from and to."""
    for match in _title_pattern().finditer(row.text):
        yield from _unless_firm(row, match.start(), match.end())
    for match in _INITIALS.finditer(row.text):
        word = match["word"] or match["other"]
        alone = match["other"] is not None and match[0][0] in _ARTICLES and match[0][2:3] == word[0]
        if not alone and word.lower() not in private_rules()["names"]["after_letters"] and not word.isdigit():
            yield from _unless_firm(row, match.start(), match.end())


@cache
def _title_pattern() -> re.Pattern[str]:
    rules = private_rules()["names"]
    sure = "|".join(re.escape(one) for one in rules["titles"] if one not in rules["doubtful_titles"])
    doubtful = "|".join(map(re.escape, rules["doubtful_titles"]))
    # Where the blanks are gone: 'to aMrHugh Vane'.
    grown = "|".join(re.escape(one.capitalize()) for one in rules["titles"] if len(one) <= 4)
    between = "|".join(rules["particles"])
    particle = rf"(?:(?:{between}|&|O['\u2019])[ \t]+)?"
    name = rf"{particle}{NAME_WORD}\.?(?:[ \t.]*(?:&|and|und|et)?[ \t]*{particle}{NAME_WORD}\.?){{0,4}}"
    return re.compile(
        rf"(?<!\w)(?i:{sure})(?:\.[ \t]*|[ \t]+|(?=[A-Z]))(?:(?:&|and|or|und)[ \t]*(?i:{sure})\.?[ \t]*)?{name}"
        rf"|(?<!\w)(?i:{doubtful})(?:\.[ \t]*{name}|[ \t]+(?:[A-Z]\.?[ \t]+){{1,3}}{NAME_WORD})"
        rf"|(?<=[a-z])(?:{grown})\.?[ \t]*{name}"
        rf"|(?<!\w)M\.[ \t]+{NAME_WORD}(?:[ \t]+{NAME_WORD})?"
    )


def first_names(row: Row) -> Iterator[tuple[int, int]]:
    """Find names by a first name of the list and what follows it, from and to."""
    words = _tokens(row)
    names, firms = known_first(), firm_words()
    at = 0
    while at < len(words):
        if not _begins_large(words[at].text) or folded_word(words[at].text) not in names:
            at += 1
            continue
        begin = last = at
        while (
            begin and len(words[begin - 1].text) == 1 and words[begin - 1].text.isupper() and _beside(row, words, begin)
        ):
            begin -= 1
        while (
            last + 1 < len(words)
            and last < at + 6
            and _beside(row, words, last + 1)
            and _may_name(words[last + 1].text)
        ):
            last += 1
        firm = any(one.text[0].isupper() and one.text.lower() in firms for one in words[at : last + 1])
        if not firm and (last > begin or _alone(row, words, at)):
            yield words[begin].first, _word_end(row, words[last])
        at = last + 1


@dataclass(frozen=True, slots=True)
class _Token:
    first: int
    end: int
    text: str


def _tokens(row: Row) -> list[_Token]:
    """Give the words of a row, cut where a capital shows that a blank is gone: 'fromWilf', 'WilfredGarside'."""
    tokens = []
    for word in row.words:
        if word[0].istitle() or word[0].islower() or word[0].isupper() or word[0].isdigit():
            tokens.append(_Token(*word.span(), word[0]))
        else:
            tokens += [
                _Token(word.start() + part.start(), word.start() + part.end(), part[0])
                for part in _CAMEL.finditer(word[0])
            ]
    return tokens


def _word_end(row: Row, token: _Token) -> int:
    """Give the end of the whole word that a token is of."""
    return next((word.end() for word in row.words if word.start() <= token.first < word.end()), token.end)


def _beside(row: Row, words: Sequence[_Token], at: int) -> bool:
    """Tell whether a word stands right behind the one before it: blanks, a point, an 'and' sign or a hyphen between."""
    return row.text[words[at - 1].end : words[at].first].strip(" \t.&'\u2019-") == ""


def _begins_large(word: str) -> bool:
    """Tell whether a word begins with a capital, or with a nought that was read for an O."""
    return word[:1].isupper() or (word[:1] == "0" and word[1:2].isalpha())


def _may_name(word: str) -> bool:
    return _begins_large(word) or word.lower() in private_rules()["names"]["particles"]


def _alone(row: Row, words: Sequence[_Token], at: int) -> bool:
    """Tell whether a first name alone is somebody: a doubtful one behind a word that leads to one, or in a cell."""
    if folded_word(words[at].text) not in _doubtful_first():
        return True
    first, end = row.cell(words[at].first)
    before = words[at - 1].text.lower() if at and words[at - 1].first >= first else ""
    span = words[at].first, words[at].end
    return before in set(private_rules()["names"]["before"]) or trimmed(row.text, first, end) == span


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
