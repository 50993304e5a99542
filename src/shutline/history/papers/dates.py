"""Days as papers have them: day first, month first, ISO, in words, years of two figures; every way has a chance."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cache

from shutline.car.papers import Value
from shutline.history.mot_records import YEARS
from shutline.history.papers.folded import Folded, folded, noisy
from shutline.history.papers.signs import FIGURE, enough, figures
from shutline.history.papers.tables import COUNTRIES, month_words, months, weights

_F = FIGURE
_MONTH = "(?P<m>MONTHS)"
_GAP = r"[ \t]*"
_LEFT, _RIGHT = r"(?<![\w£€$./,-])", r"(?!\w|[./-]\d|,\d)"
_YEAR4 = rf"(?:[1l|][89]{_F}{{2}}|2[0Oo]{_F}{{2}})"


class Form(StrEnum):
    """How a day is written."""

    ISO = "year first"
    FIGURES = "figures"
    WORDS = "month in words"
    MONTH = "month alone"
    YEAR = "year alone"


_DAY, _MON = rf"(?P<a>{_F}{{1,2}})", rf"(?P<b>{_F}{{1,2}})"
_YEAR = rf"(?P<y>{_YEAR4}|{_F}{{2}})"
_SEP, _AGAIN = rf"{_GAP}(?P<s>[./·\-]){_GAP}", rf"{_GAP}(?P=s){_GAP}"
_STAMP = r"(?<![\w-])(?P<y2>(?:18|19|20)\d\d)-(?P<b2>\d\d)-(?P<a2>\d\d)(?=T\d)"
_SIXES = rf"(?P<a>{_F}[ \t]{_F})[ \t](?P<b>{_F}[ \t]{_F})[ \t](?P<y>(?:{_F}[ \t]){{3}}{_F})"
_NTH, _OF = r"(?:st|nd|rd|th|er|\.|º|°)?", r"(?:(?:day[ \t]+)?of|de|den)?"
# A figure may follow a word whose blank is gone; a letter that is taken for a figure may not.
_NO_WORD = r"(?<![\d£€$.,])(?:(?<![^\W\d_])|(?=\d))"
# Form, whether it is a day only beside a label, and the pattern: a and b stand first and second, m is a month in words.
_PATTERNS = (
    (Form.ISO, False, rf"{_LEFT}(?P<y>{_YEAR4}){_SEP}{_MON}{_AGAIN}{_DAY}(?!\w|[./-]\d)|{_STAMP}"),
    (Form.FIGURES, False, rf"(?<![\d£€$./,-]){_DAY}{_SEP}{_MON}{_AGAIN}['\u2019]?{_YEAR}{_RIGHT}"),
    (Form.FIGURES, False, rf"{_LEFT}(?P<a>{_F}{{2}})[ \t](?P<b>{_F}{{2}})[ \t](?P<y>{_YEAR4}){_RIGHT}"),
    (Form.FIGURES, True, rf"{_LEFT}(?P<a>{_F}{{2}})[ \t]?(?P<b>{_F}{{2}})[ \t]?(?P<y>{_F}{{4}}|{_F}{{2}}){_RIGHT}"),
    (Form.FIGURES, True, rf"{_LEFT}{_SIXES}{_RIGHT}"),
    (
        Form.WORDS,
        False,
        rf"{_NO_WORD}{_DAY}{_GAP}{_NTH}{_GAP}{_OF}[ \t\-./]*{_MONTH}[.,]?[ \t\-./'\u2019,]*{_YEAR}{_RIGHT}",
    ),
    (Form.WORDS, False, rf"(?<![^\W\d_]){_MONTH}\.?{_GAP}{_DAY}{_NTH}{_GAP},?[ \t]*(?P<y>{_YEAR4}){_RIGHT}"),
    (
        Form.MONTH,
        False,
        rf"(?<![^\W\d_]){_MONTH}[.,]?[ \t\-/]*(?:of[ \t]+)?(?P<y>{_YEAR4}|['\u2019]\d\d|[4-9]\d){_RIGHT}",
    ),
    (Form.MONTH, False, rf"{_LEFT}(?P<b>0?[1-9]|1[0-2]){_GAP}[/.\-]{_GAP}(?P<y>(?:18|19|20)\d\d){_RIGHT}"),
    (Form.MONTH, True, rf"{_LEFT}(?P<b>0[1-9]|1[0-2])[/.](?P<y>\d\d){_RIGHT}"),
    (Form.YEAR, True, rf"{_LEFT}(?P<y>(?:18|19|20)\d\d){_RIGHT}"),
)


@dataclass(frozen=True, slots=True)
class RawDate:
    """A day as it is written, from `first` to before `end` of a text.

    `one` and `two` are the figures that stand first and second, day and month where the form tells; 0 for none.
    `short` tells of two figures of a year, `points` of points between figures, `labelled` that it is a day only beside
    a label, `country` whose word the month is.
    """

    first: int
    end: int
    words: str
    form: Form
    one: int
    two: int
    year: int
    short: bool
    points: bool
    misread: int
    labelled: bool
    country: str

    def full_years(self) -> tuple[int, ...]:
        """Give the year, where it is written whole."""
        return () if self.short else (self.year,)

    def order(self) -> int:
        """Tell 1 where figures can only stand day first, -1 where only month first, 0 where either way, or no day."""
        if self.form is not Form.FIGURES or self.labelled:
            return 0
        day_first, month_first = self.two <= 12 < self.one, self.one <= 12 < self.two
        return int(day_first) - int(month_first)


@dataclass(frozen=True, slots=True)
class DateSense:
    """What days of a paper are weighed by.

    `day_first` is the natural logarithm of the odds that figures stand day first; `why` says what they rest on.
    `years` are the full years of the paper, `earliest` a year before which it is hardly from, None where none is known.
    """

    today: date
    day_first: float
    why: str
    years: tuple[int, ...]
    earliest: int | None


def raw_dates(text: str, fold: Folded | None = None) -> list[RawDate]:
    """Find all that may be a day, what stands first first, no two over one another."""
    if not any(sign.isdigit() for sign in text):
        return []
    found: list[RawDate] = []
    has_month = _month_begins().search((fold or folded(text)).text) is not None
    for form, labelled, pattern in _compiled():
        if "m" in pattern.groupindex and not has_month:
            continue
        for match in pattern.finditer(text):
            if any(match.start() < one.end and one.first < match.end() for one in found):
                continue
            raw = _raw(form, match, labelled=labelled)
            if raw is not None:
                found.append(raw)
    return sorted(found, key=lambda one: one.first)


@cache
def _compiled() -> tuple[tuple[Form, bool, re.Pattern[str]], ...]:
    words = "|".join(sorted(map(noisy, month_words()), key=lambda word: (-len(word), word)))
    return tuple(
        (form, labelled, re.compile(pattern.replace("MONTHS", f"(?i:{words})")))
        for form, labelled, pattern in _PATTERNS
    )


@cache
def _month_begins() -> re.Pattern[str]:
    """Give a pattern for the beginnings of months in a folded text, so that most lines are passed by quickly."""
    return re.compile("|".join(sorted({re.escape(word[:3]) for word in months()})))


def date_sense(
    raws: Sequence[RawDate], *, country: Mapping[str, float], today: date, earliest: int | None
) -> DateSense:
    """Work out what the days of a paper are weighed by: its country, and its days that can be but one way.

    Parameters
    ----------
    raws : sequence of RawDate
        All of the paper.
    country : mapping of str to float
        Chance of each country.
    today : date
        Later days are doubtful.
    earliest : int, optional
        A year before which the paper is hardly from.
    """
    rules = weights()["dates"]
    chance = sum(country.get(code, 0.0) / (1 + math.exp(-rules[code])) for code in COUNTRIES)
    chance = min(max(chance, 1e-3), 1 - 1e-3)
    orders = [raw.order() for raw in raws]
    count = orders.count(1) - orders.count(-1)
    odds = math.log(chance / (1 - chance)) + rules["other_day"] * count
    likeliest = max(COUNTRIES, key=lambda code: country.get(code, 0.0))
    why = f"{'day' if odds >= 0 else 'month'} first, as on papers of {likeliest}"
    if count and (count > 0) == (odds >= 0):
        others = f"{abs(count)} other {'day' if abs(count) == 1 else 'days'} of the paper"
        why = f"{'day' if odds >= 0 else 'month'} first, as {others} can only be"
    years = tuple(sorted({year for raw in raws for year in raw.full_years() if year in YEARS}))
    return DateSense(today, max(-rules["most"], min(rules["most"], odds)), why, years, earliest)


def date_ways(raw: RawDate, sense: DateSense, *, role: str) -> tuple[tuple[Value, ...], str]:
    """Give the ways to take a day, likeliest first with their chances, and why; none where there is no such day."""
    why: list[str] = []
    weighed: dict[str, float] = {}
    for year, year_weight in _years(raw, sense, role, why):
        for text, weight in _days(raw, year, sense):
            weighed[text] = weighed.get(text, 0.0) + weight * year_weight * _lies(text, sense, role)
    total = sum(weighed.values())
    if not total:
        return (), ""
    order = sorted(weighed, key=lambda text: (-weighed[text], text))
    values = tuple(Value(text, "", round(weighed[text] / total, 4)) for text in order)
    if raw.form is Form.FIGURES:
        why.insert(0, _figures_why(raw, sense))
    elif raw.form is not Form.WORDS:
        why.insert(0, raw.form.value)
    else:
        why.insert(0, "month in words")
    if raw.misread:
        why.append(
            f"{raw.misread} {'sign was' if raw.misread == 1 else 'signs were'} read as letters and taken as figures"
        )
    why += _doubts(order[0], sense, role)
    return tuple(value for value in values if value.chance > 0) or values[:1], "; ".join(dict.fromkeys(why))


def _raw(form: Form, match: re.Match[str], *, labelled: bool) -> RawDate | None:
    groups = match.groupdict()
    year_text = groups.get("y") or groups.get("y2") or ""
    parts = [groups.get("a") or groups.get("a2") or "", groups.get("b") or groups.get("b2") or ""]
    if not enough(year_text + "".join(parts)):
        return None
    month, country = 0, ""
    if groups.get("m"):
        known = months().get(folded(groups["m"]).text)
        if known is None:
            return None
        month, country = known
    (one, misread), (two, more), (year, still_more) = (figures(part) for part in (*parts, year_text))
    if not year:
        return None
    # A letter is a figure only beside figures: 'to 12 March' has no day before the twelfth.
    if parts[0] and not any(sign.isdigit() for sign in parts[0]) and form is not Form.FIGURES:
        return None
    return RawDate(
        first=match.start(),
        end=match.end(),
        words=match[0],
        form=form,
        one=int(one or 0),
        two=month or int(two or 0),
        year=int(year),
        short=len(year) == 2,
        points=groups.get("s") == ".",
        misread=misread + more + still_more,
        labelled=labelled,
        country=country,
    )


def _years(raw: RawDate, sense: DateSense, role: str, why: list[str]) -> list[tuple[int, float]]:
    if not raw.short:
        return [(raw.year, 1.0)]
    rules = weights()["dates"]
    latest = sense.today.year + (rules["ahead_years"] if role in rules["ahead"] else 0)
    ways = [(century + raw.year, 1.0) for century in (1800, 1900, 2000) if century + raw.year in YEARS]
    weighed = []
    for year, _ in ways:
        weight = {18: rules["last_but_one"], 19: 1.0, 20: rules["this_century"]}[year // 100]
        if year < rules["long_ago_before"]:
            weight *= rules["long_ago"]
        if year > latest:
            weight *= rules["after_today"]
        if sense.earliest is not None and year < sense.earliest:
            weight *= rules["before_car"]
        if sense.years:
            apart = min(abs(year - other) for other in sense.years)
            weight *= max(rules["far"], math.exp(-apart / rules["near_years"]))
        weighed.append((year, weight))
    best = max(weighed, key=lambda pair: pair[1])[0]
    others = " or ".join(str(year) for year, _ in weighed if year != best)
    if others:
        reasons = []
        if any(year > latest for year, _ in weighed):
            reasons.append("the other lies ahead")
        if sense.years and min(abs(best - other) for other in sense.years) <= 2 * rules["near_years"]:
            reasons.append("it is near the full years of the paper")
        if sense.earliest is not None and best >= sense.earliest and any(year < sense.earliest for year, _ in weighed):
            reasons.append(f"the car or its mark was hardly there before {sense.earliest}")
        told = f", since {' and '.join(reasons)}" if reasons else ""
        why.append(f"two figures of a year: {best} rather than {others}{told}")
    return weighed


def _days(raw: RawDate, year: int, sense: DateSense) -> list[tuple[str, float]]:
    if raw.form is Form.YEAR:
        return [(f"{year:04d}", 1.0)] if year in YEARS or year < YEARS.start else []
    if raw.form is Form.MONTH:
        return [(f"{year:04d}-{raw.two:02d}", 1.0)] if 1 <= raw.two <= 12 else []
    if raw.form is not Form.FIGURES:
        day = _day(year, raw.two, raw.one)
        turned = _day(year, raw.one, raw.two) if raw.form is Form.ISO and day is None else None
        return [(one, 1.0) for one in (day, turned) if one]
    odds = sense.day_first + (weights()["dates"]["points"] if raw.points else 0.0)
    chance = 1 / (1 + math.exp(-odds))
    ways = [(_day(year, raw.two, raw.one), chance), (_day(year, raw.one, raw.two), 1 - chance)]
    return [(text, weight) for text, weight in ways if text]


def _day(year: int, month: int, day: int) -> str | None:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return None


def _figures_why(raw: RawDate, sense: DateSense) -> str:
    if raw.one == raw.two:
        return "day and month are the same figure"
    if raw.one > 12:
        return f"day first: there is no month {raw.one}"
    if raw.two > 12:
        return f"month first: there is no month {raw.two}"
    points = " and points between the figures" if raw.points else ""
    return f"{sense.why}{points}; the other way is given too"


def _lies(text: str, sense: DateSense, role: str) -> float:
    rules = weights()["dates"]
    year = int(text[:4])
    weight = 1.0
    if _ahead(text, sense, role):
        weight *= rules["after_today"]
    if year < YEARS.start:
        weight *= rules["before_cars"]
    return weight


def _ahead(text: str, sense: DateSense, role: str) -> bool:
    rules = weights()["dates"]
    years = rules["ahead_years"] if role in rules["ahead"] else 0
    today = sense.today.isoformat()
    return text > f"{sense.today.year + years:04d}{today[4:]}"[: len(text)]


def _doubts(text: str, sense: DateSense, role: str) -> list[str]:
    doubts = []
    if _ahead(text, sense, role):
        doubts.append(f"doubtful: it lies after {sense.today.isoformat()}")
    if int(text[:4]) < YEARS.start:
        doubts.append(f"doubtful: before {YEARS.start} there were no cars")
    return doubts
