"""Whether a value that a text tells of a fact is the one that is known."""

from __future__ import annotations

from shutline.claims.relations import relations
from shutline.remarks.fact_choice import is_round_figure
from shutline.remarks.fact_data import fact_data


def same_value(name: str, claimed: object, claimed_unit: str | None, known: object, known_unit: str | None) -> bool:
    """Tell whether a value claimed of a fact is the one that is known, as closely as it is told.

    A month is the same as a day in it, of any year where none is told, a round figure as the exact one behind it.

    Examples
    --------
    >>> same_value("mot_until", "2026-10", None, "2026-10-03", None), same_value("keys", 2, None, 3, None)
    (True, False)
    >>> same_value("colour", "deep red", None, "dark red", None)
    True
    """
    if claimed_unit and known_unit and claimed_unit != known_unit:
        return False
    one, two = str(claimed).strip().casefold(), str(known).strip().casefold()
    if one == two or is_round_figure(name, claimed, known) or is_round_figure(name, known, claimed):
        return True
    if name == "odometer" and isinstance(claimed, int) and isinstance(known, int) and claimed % _HUNDRED == 0:
        return claimed in (round(known / _HUNDRED) * _HUNDRED, known // _HUNDRED * _HUNDRED)
    if name in _DATES and one.startswith(_OF_NO_YEAR):
        return two[len("2026-") : _MONTH] == one.removeprefix(_OF_NO_YEAR)
    if name in _DATES:
        return len(one) >= _MONTH and len(two) >= _MONTH and (one.startswith(two) or two.startswith(one))
    return _same_country(one, two) if name == "origin" else name in _PLAIN and _same_words(one, two)


def _same_country(one: str, two: str) -> bool:
    """Tell whether two places lie in one country: 'from California' is from the United States."""
    countries = fact_data()["countries"]
    return bool(countries.get(one, one).casefold() == countries.get(two, two).casefold())


def _same_words(one: str, two: str) -> bool:
    """Tell whether two plain values name one thing: by the same words or others for it, or as 'red' in 'dark red'."""
    shades = relations().shades
    told, known = ({shades.get(word, word) for word in words.split()} - _SMALL for words in (one, two))
    if any(told & row and known & row for row in relations().same_body):
        return True
    return told == known or (bool(told & known - {"dark", "light"}) and (one in two or two in one))


_DATES = frozenset({"mot_until", "last_service", "first_registered"})
_SMALL = frozenset({"the", "a", "and", "with", "over", "in"})
_HUNDRED = 100
_MONTH = len("2026-10")
_OF_NO_YEAR = "--"
_PLAIN = frozenset({"colour", "body", "gearbox", "power_source"})
