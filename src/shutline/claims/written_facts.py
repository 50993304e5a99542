"""The facts that a written text tells: every value it gives, each where it stands."""

from __future__ import annotations

import re
from collections.abc import Sequence

from shutline.car.findings import Fact
from shutline.claims.advert_forms import Form, advert_forms, refusals, year_words
from shutline.claims.lines import Sentence
from shutline.claims.sayings import Saying
from shutline.remarks.facts import candidates
from shutline.remarks.tokens import tokens

LEAST = 0.3
"""Sureness from which a fact is a claim; lower than in speech, for a text has no asides and no second thoughts."""

OPENING = 240
"""Letters in which an advertisement names its car."""
YEAR_SURENESS = 0.9
"""Set, not counted: the form is that of advertisements, which the counts are not of."""
_NEAR = 24
"""Letters beside a number that are looked at."""
_NEAR_BY = 48
"""Letters beside a fact that tell whether it is one of the car."""
_HUNDRED = 100
_FIRST_TOLD = frozenset({"colour"})
"""Facts of which the form that stands first counts: what is told later is mostly of a part."""
_CALL = re.compile(
    r"\b(?:tel|telephone|phone|call|ring|mobile|mob|text|whatsapp|fax|t|m)\b[\w .:,()+'/-]*$", re.IGNORECASE
)
_FIGURES_BEFORE = re.compile(r"(?:\b0\d{2,5}|\+\d{2,4}(?: \d{2,5})?|\(0\d+\))[ ()/-]*$")
_FIGURES_BEHIND = re.compile(r" ?\d{2,}\b(?! *(?:cc|miles|mls|km|kms))")
_UNIT = re.compile(r"\s*(?:miles?|mls|mi|kms?|kilomet|k)\b", re.IGNORECASE)
_DONE_AT = re.compile(
    r"\b(?:stamp\w*|servic\w+|done|changed|replaced|renewed|fitted|rebuilt|belt|clutch)\s+(?:up\s+)?(?:to|until|at)\s+$",
    re.IGNORECASE,
)
_YEAR_AND_NAME = re.compile(r"(?<![\d,.])(?:19\d\d|20[0-2]\d)(?= [A-Z])")


def fact_sayings(text: str, parts: Sequence[Sentence]) -> tuple[Saying, ...]:
    """Give the facts told in a text, in the order of the words; the surest where two are read from the same words."""
    read = tokens([sentence.stretch() for sentence in parts])
    found = sorted(candidates(read), key=lambda f: -f.sureness)
    taken: list[tuple[int, int, Saying]] = []
    for fact in found:
        if fact.sureness < LEAST or any(fact.first < end and first < fact.end for first, end, _ in taken):
            continue
        first = int(read.starts[read.word[fact.first]])
        end = int(read.ends[read.word[fact.end - 1]])
        quote = text[first:end].rstrip(" .,;:!?")
        told = Fact(fact.name, fact.value, fact.unit, sureness=fact.sureness)
        taken.append((fact.first, fact.end, Saying(first, first + len(quote), quote, fact=told)))
    out = [saying for _, _, saying in sorted(taken, key=lambda row: row[0])]
    out = _with_forms_over(text, [saying for saying in out if not _no_mileage(text, saying)])
    out = [saying for saying in out if not _refused(text, saying)]
    out = _models_as_engines(text, out)
    out = _years_of_the_car(text, out)
    out += _of_forms(text, out)
    if not any(saying.fact_name == "year" for saying in out):
        out += _opening_year(text, out)
    return tuple(sorted(out, key=lambda saying: saying.first))


def _with_forms_over(text: str, told: Sequence[Saying]) -> list[Saying]:
    """Put what forms of writing tell in the place of what speech makes of the same letters: 'two owners before me'."""
    forms = [saying for saying in _of_forms(text, (), over=True) if not _refused(text, saying)]
    kept = [s for s in told if not any(s.first < form.end and form.first < s.end for form in forms)]
    return [*kept, *forms]


def _refused(text: str, saying: Saying) -> bool:
    """Tell whether it is no fact of the car where it stands: '52k' in 'rebuilt at 52k'."""
    before, after = text[max(0, saying.first - _NEAR_BY) : saying.first], text[saying.end : saying.end + _NEAR_BY]
    marked = f"{before}<{text[saying.first : saying.end]}>{after}"
    return any(saying.fact_name in row.facts and row.pattern.search(marked) for row in refusals())


def _models_as_engines(text: str, told: Sequence[Saying]) -> list[Saying]:
    """Read a round number behind a name as its engine where another year is told: 'Garrow Lune 2000, 1971'."""
    years = [s for s in told if s.fact_name == "year" and s.first < OPENING]
    out = []
    for saying in told:
        fact = saying.fact
        if (
            fact is not None
            and len(years) > 1
            and saying in years
            and isinstance(fact.value, int)
            and fact.value % _HUNDRED == 0
            and year_words().behind_a_name.search(text[: saying.first])
        ):
            engine = Fact("engine_cc", fact.value, sureness=YEAR_SURENESS)
            out.append(Saying(saying.first, saying.end, saying.quote, fact=engine))
        else:
            out.append(saying)
    return out


def _years_of_the_car(text: str, told: Sequence[Saying]) -> list[Saying]:
    """Leave out the years of work and papers: 'sills new 2019', 'bills from 1990'.

    A year is the car's where the car is said to be of it, or where it is the first that the opening gives.
    """
    years = [s for s in told if s.fact_name == "year"]
    words = year_words()
    free = [s for s in years if not words.of_work.search(text[: s.first][-_NEAR_BY:])]
    own = [s for s in free if words.of_the_car.search(text[: s.first][-_NEAR_BY:])]
    own += [s for s in years if words.a_car.match(text[s.end :])]
    first = min(free, key=lambda s: s.first, default=None)
    if first is not None and first.first > OPENING and own:
        first = None
    kept = {s.fact.value for s in (first, *own) if s is not None and s.fact is not None}
    return [s for s in told if s.fact_name != "year" or (s.fact is not None and s.fact.value in kept)]


def _no_mileage(text: str, saying: Saying) -> bool:
    """Tell whether a mileage is none: a telephone number, or the mileage at which something was done.

    A number is led by one, or by 'tel', or has one more run of figures beside it.
    """
    if saying.fact is None or saying.fact.name != "odometer":
        return False
    before, after = text[max(0, saying.first - _NEAR) : saying.first], text[saying.end : saying.end + _NEAR]
    if _DONE_AT.search(before):
        return True
    if _UNIT.match(after):
        return False
    return bool(
        _CALL.search(before)
        or _FIGURES_BEFORE.search(before)
        or _FIGURES_BEHIND.match(after)
        or saying.quote.lstrip("+(").startswith("0")
    )


def _of_forms(text: str, told: Sequence[Saying], *, over: bool = False) -> list[Saying]:
    """Read the forms of advertisements that speech has not: '2.0', '1300', '5 spd', '86 Garrow'."""
    out: list[Saying] = []
    for form in advert_forms():
        if form.over != over or any(s.fact_name == form.fact for s in told):
            continue
        have = next((s for s in out if s.fact_name == form.fact), None)
        if have is not None and form.fact not in _FIRST_TOLD:
            continue
        saying = _of_form(form, text, [*told, *out])
        if saying is None or (have is not None and have.first <= saying.first):
            continue
        out = [s for s in out if s is not have] + [saying]
    return out


def _of_form(form: Form, text: str, told: Sequence[Saying]) -> Saying | None:
    """Read the first place where one form stands and no other fact is told."""
    for found in form.pattern.finditer(text, 0, OPENING if form.opening else len(text)):
        first, end = found.span(1)
        value = form.value(found.group(1))
        if value is None or any(s.first < end and first < s.end for s in told):
            continue
        quote = text[first:end].rstrip(" .,;:!?")
        fact = Fact(form.fact, value, _unit(text, end) if form.unit else None, sureness=YEAR_SURENESS)
        saying = Saying(first, first + len(quote), quote, fact=fact)
        if not _refused(text, saying):
            return saying
    return None


def _unit(text: str, end: int) -> str | None:
    """Give the unit that stands behind a distance."""
    unit = _UNIT.match(text, end)
    if unit is None:
        return None
    return "km" if unit.group().strip().casefold().startswith("k") and len(unit.group().strip()) > 1 else "mi"


def _opening_year(text: str, told: Sequence[Saying]) -> list[Saying]:
    """Read a year before a name in the first words: '1986 Ostrell Lido, finished in white'."""
    found = _YEAR_AND_NAME.search(text[:OPENING])
    if found is None or any(saying.first < found.end() and found.start() < saying.end for saying in told):
        return []
    fact = Fact("year", int(found.group()), sureness=YEAR_SURENESS)
    return [Saying(found.start(), found.end(), found.group(), fact=fact)]
