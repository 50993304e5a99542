"""Streets and houses as addresses have them, by the words they end with."""

from __future__ import annotations

import re
from functools import cache

from shutline.history.papers.folded import noisy
from shutline.history.papers.tables import private_rules


@cache
def street_pattern() -> re.Pattern[str]:
    """Give a pattern for the name of a street or a house, its number before it where the word is too plain alone."""
    rules = private_rules()["addresses"]
    every = "|".join(map(noisy, rules["streets"]))
    ending = "|".join(map(noisy, rules["ending"]))
    shut = {*rules["ending"], *rules["numbered"]}
    certain = "|".join(noisy(word) for word in rules["streets"] if word not in shut)
    parts = "|".join(map(noisy, rules["parts"]))
    houses = "|".join(map(noisy, rules["houses"]))
    # Where the blank is gone: 'QuayHouse'.
    grown = "|".join(
        word.capitalize() for word in (*rules["streets"], *rules["houses"]) if word not in shut and len(word) > 3
    )
    large = r"[^\W\d_a-zß-öø-ÿ]"
    title, capitals = rf"{large}[a-zß-öø-ÿ01'\u2019.]{{1,20}}", rf"{large}{{1,20}}['\u2019.]?{large}?"
    words = rf"(?:{title}[ \t]+|{capitals}[ \t]+){{1,3}}"
    number = r"(?<![\w£€$.,/])[0-9OIl]{1,4}[A-Za-z]?(?:[ \t]?[-/][ \t]?\d{1,4})?,?"
    return re.compile(
        rf"{number}[ \t]*(?:{title}[ \t]*|{capitals}[ \t]+){{0,3}}(?:{title}|{capitals})[ \t]*"
        rf"(?i:{every})\.?(?![^\W\d_])"
        rf"|(?<!\w){words}(?:(?i:{certain})|(?i:{houses}))(?![^\W\d_])"
        rf"|(?<!\w)(?:{title})+(?:{grown})(?!\w)"
        rf"|(?<!\w){words}(?i:{ending})\.?(?=[ \t]*(?:,|$|\n))"
        rf"|(?<!\w)(?i:{parts})[ \t]*\d{{1,4}}[A-Za-z]?(?!\w)"
    )
