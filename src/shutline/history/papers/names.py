"""Names of people in a row of a paper: by a title, by initials, by a first name; a firm's name is told apart."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache

from shutline.history.papers.folded import folded_word
from shutline.history.papers.layout import WORD, Row, Word
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
    words = _cut(row.words())
    known = [at for at, (_, _, text) in enumerate(words) if _is_first(text)]
    done = -1
    for at in known:
        if at <= done:
            continue
        begin = last = at
        while begin and len(words[begin - 1][2]) == 1 and words[begin - 1][2].isupper() and _beside(row, words, begin):
            begin -= 1
        while (
            last + 1 < len(words) and last < at + 6 and _beside(row, words, last + 1) and _may_name(words[last + 1][2])
        ):
            last += 1
        firm = any(is_firm(text) for _, _, text in words[at : last + 1])
        if not firm and (last > begin or _alone(row, words, at)):
            yield words[begin][0], _word_end(row, words[last])
        done = last


def _cut(words: Sequence[Word]) -> list[Word]:
    """Cut words where a capital shows that a blank is gone: 'fromWilf', 'WilfredGarside'."""
    parts: list[Word] = []
    for first, end, text in words:
        if text.islower() or text.istitle() or text.isupper() or text.isdigit():
            parts.append((first, end, text))
        else:
            parts += [(first + part.start(), first + part.end(), part[0]) for part in _CAMEL.finditer(text)]
    return parts


def _word_end(row: Row, part: Word) -> int:
    """Give the end of the whole word that a part is of."""
    return next((end for first, end, _ in row.words() if first <= part[0] < end), part[1])


def _is_first(text: str) -> bool:
    return _begins_large(text) and folded_word(text) in known_first()


def _beside(row: Row, words: Sequence[Word], at: int) -> bool:
    """Tell whether a word stands right behind the one before it: blanks, a point, an 'and' sign or a hyphen between."""
    return row.text[words[at - 1][1] : words[at][0]].strip(" \t.&'\u2019-") == ""


def _begins_large(word: str) -> bool:
    """Tell whether a word begins with a capital, or with a nought that was read for an O."""
    return word[:1].isupper() or (word[:1] == "0" and word[1:2].isalpha())


def _may_name(word: str) -> bool:
    return _begins_large(word) or word.lower() in private_rules()["names"]["particles"]


def _alone(row: Row, words: Sequence[Word], at: int) -> bool:
    """Tell whether a first name alone is somebody: a doubtful one behind a word that leads to one, or in a cell."""
    if folded_word(words[at][2]) not in _doubtful_first():
        return True
    first, end = row.cell(words[at][0])
    before = words[at - 1][2].lower() if at and words[at - 1][0] >= first else ""
    span = words[at][:2]
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
