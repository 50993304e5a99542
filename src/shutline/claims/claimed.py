"""Everything that a written text claims of the car, statement by statement."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

from shutline.car.findings import Drive
from shutline.claims.lines import Sentence, headed, number_around, sentences
from shutline.claims.sayings import Saying, Topic
from shutline.claims.second_reading import SURE, Heard, added, hear
from shutline.claims.unseen import only_names_unseen
from shutline.claims.untrue import denials, taken_back
from shutline.claims.written_data import WrittenWords, any_of, shipped_words, small_words
from shutline.claims.written_facts import fact_sayings
from shutline.claims.written_reading import read_sentence

LONGEST = 20_000
"""Letters of a text that are read; what stands behind them is not checked, and the check says so."""


def claimed(text: str, *, drive: Drive = Drive.RHD, words: WrittenWords | None = None) -> tuple[Saying, ...]:
    """Read what a text claims.

    Parameters
    ----------
    text : str
        A description, an advertisement, a rewrite: plain text, one or more lines. At most `LONGEST` letters are read.
    drive : Drive
        Which side the wheel is on; it decides what 'the driver's side' means.
    words : WrittenWords, optional
        The phrases to look for; those of written text over the shipped ones unless given.

    Returns
    -------
    tuple of Saying
        In the order of the words. Words that state nothing of the car give none.

    Examples
    --------
    >>> told = claimed("The sills are solid and there is no rust in the boot floor.")
    >>> [(s.spot.part, s.condition, s.found.value) for s in told if s.spot]
    [('sill', 'sound', 'yes'), ('boot_floor', 'rust', 'no')]
    """
    read = read_claims(text, drive=drive, words=words)
    return tuple(saying for saying in read.sayings if saying.odds is None or saying.odds > SURE)


@dataclass(frozen=True, slots=True)
class Read:
    """What a text claims or may claim, in the order of the words, and what the network makes of all of them.

    Of the statements, those that no rule has read carry log-odds, down to unlikely ones. `headings` are the first
    letter and the end of what only introduces, `idle` those of other words that claim nothing: sentences that tell of
    work to be done or say that they state nothing, and words that only deny what was said before.
    """

    sayings: tuple[Saying, ...]
    heard: Heard
    headings: tuple[tuple[int, int], ...]
    idle: tuple[tuple[int, int], ...]


def read_claims(text: str, *, drive: Drive = Drive.RHD, words: WrittenWords | None = None) -> Read:
    """Read what a text claims or may claim; the parameters are those of `claimed`."""
    text = text[:LONGEST]
    parts = list(sentences(text))
    facts = fact_sayings(text, parts)
    topic = Topic()
    out: list[Saying] = []
    headings: list[tuple[int, int]] = []
    settled: list[tuple[int, int]] = []
    for sentence in headed(parts):
        before = Topic() if sentence.opens and _begins_anew(sentence, topic) else topic
        read = read_sentence(replace(sentence, first=0), before, drive=drive, words=words)
        topic = read.topic
        if sentence.label:
            headings.append((sentence.first, sentence.first + len(sentence.text)))
            settled += headings[-1:] if topic.listed or not sentence.text.endswith(":") else []
        out += [replace(s, first=s.first + sentence.first, end=s.end + sentence.first) for s in read.sayings]
    out = [saying for saying in out if not _told_by_a_fact(saying, facts)]
    told = list(_lengthened(facts, text))
    heard = hear(parts, drive=drive, words=words)
    more = added(text, heard.readings, out, [*settled, *((fact.first, fact.end) for fact in told)])
    out += [saying for saying in more if not any(_brings_in(saying, fact) for fact in told)]
    idle = [(one.first, one.first + len(one.text)) for one in parts if _states_nothing(one)]
    idle += [found.span() for found in _no_claim().finditer(text)]
    phrases = words or shipped_words()
    out = [one for one in out if not only_names_unseen(text, one, parts, drive=drive, words=phrases)]
    out = [said for said in out if not any(first <= said.first < end for first, end in idle)]
    out = [said for said in out if not (_is_wished(said, parts) or _only_joins(said))]
    wanting = [(one.first, one.first + len(one.text)) for one in parts if _tells_of_work(one)]
    said = taken_back(sorted([*out, *told], key=lambda s: (s.first, s.end)), parts, text)
    return Read(tuple(said), heard, tuple(headings), (*wanting, *idle, *denials(parts)))


def _begins_anew(sentence: Sentence, topic: Topic) -> bool:
    """Tell whether a paragraph goes on about nothing: its 'it' is the car, and 'they' are what was named."""
    said = frozenset(re.findall(r"[a-z]+", sentence.text.casefold()))
    return not (topic.headed or topic.listed or said & small_words().of_before)


def _states_nothing(sentence: Sentence) -> bool:
    return sentence.text.casefold().rstrip(" .!") in small_words().no_claim["sentences"]


@cache
def _no_claim() -> re.Pattern[str]:
    return re.compile(rf"\b{any_of(small_words().no_claim['phrases'])}\b".replace("\\ ", r"\s+"), re.IGNORECASE)


def _tells_of_work(sentence: Sentence) -> bool:
    return not small_words().wanting.isdisjoint(sentence.text.casefold().rstrip(".!").split())


def _is_wished(saying: Saying, parts: Sequence[Sentence]) -> bool:
    """Tell whether a part is only to be renewed: 'the wing needs repair, the rear light new parts'."""
    if saying.condition != "renewed" or not _tells_of_work(parts[number_around(parts, saying.first)]):
        return False
    said = saying.quote.casefold().replace("\u2019", "'").split()
    return small_words().finite.isdisjoint(said) and not any(word.endswith(("ed", "n't")) for word in said)


def _only_joins(saying: Saying) -> bool:
    """Tell whether no word of a saying tells anything: the 'with' of 'comes with two keys and a folder'."""
    return (small_words().joins | small_words().breaks).issuperset(saying.quote.casefold().strip(" .,;:").split())


def _brings_in(saying: Saying, fact: Saying) -> bool:
    """Tell whether words only bring in the date that follows, or go on about what was counted.

    'Built in' before '1986', and 'are on record' behind 'Three keepers'.
    """
    words = saying.quote.casefold().split()
    if fact.end <= saying.first <= fact.end + 1:
        along = small_words().come_along.issuperset(words)
        return (words[0] in small_words().finite and len(words) <= _GOING_ON) or along
    papers = saying.spot is not None and saying.spot.part in _PAPERS
    if papers and fact.end <= saying.first <= fact.end + _ALONG and not fact.quote.casefold().startswith(_BOTH):
        # 'Both keys are with it' says more than how many there are.
        return small_words().come_along.issuperset(words)
    if not 0 <= fact.first - saying.end <= 1:
        return False
    if fact.fact_name == "power_source":
        # 'It runs on' petrol.
        return words[-1] == "on"
    if fact.fact_name == "odometer" and saying.spot is not None and saying.spot.part == "instruments":
        # 'The odometer records' 39,200 miles.
        return True
    dated = fact.fact_name in ("year", "first_registered", "mot_until", "last_service")
    return dated and len(saying.quote) <= _BRINGING_IN


_ONLY_NAMES: dict[str, tuple[str, frozenset[str]]] = {
    "dirt": ("body", frozenset()),
    "fade": ("colour", frozenset({"car", "bodywork", "paintwork", "instruments", "interior"})),
    "nonoriginal": ("power_source", frozenset({"car", "battery"})),
}
"""Conditions whose words may only name a fact, which fact, and of which parts (none: of any).

'Spider' is a body, and nothing that sits in one; 'it is yellow' names a colour where nothing is said of a lamp;
'converted to battery power' tells of no battery.
"""
_OF_FACTS = frozenset({"present", "works", "original", *_ONLY_NAMES})
"""What a saying may tell whose words only name a fact."""
_GOING_ON = 3
_BOTH = "both"
_ALONG = len(" comes along with ")
_PAPERS = frozenset({"keys", "papers", "registration_document", "service_history", "handbook"})
_BRINGING_IN = len("first registered in ")
_FACTS_OF = {
    "keys": ("keys", "papers"),
    "odometer": ("instruments", "car"),
    "colour": ("paintwork", "bodywork", "car"),
    "keepers": ("registration_document", "papers", "car"),
    "mot_until": ("papers", "car"),
    "last_service": ("service_history", "papers"),
    "gearbox": ("gearbox", "handbook"),
    "gears": ("gearbox", "handbook"),
    "engine_cc": ("engine",),
    "year": ("car", "bodywork", "engine", "badge", "papers"),
    "power_source": ("electrics", "engine", "motor", "fuel_tank"),
}


def _told_by_a_fact(saying: Saying, facts: tuple[Saying, ...]) -> bool:
    """Tell whether a saying only names what a fact told in it counts or dates: 'two keys', 'MOT to October'."""
    if saying.spot is None or (saying.spot.part != "papers" and saying.condition not in _OF_FACTS):
        return False
    if saying.condition in _ONLY_NAMES:
        name, parts = _ONLY_NAMES[saying.condition]
        return (saying.spot.part in parts or not parts) and any(
            fact.fact_name == name and saying.first < fact.end and fact.first < saying.end for fact in facts
        )
    return any(
        fact.first < saying.end
        and saying.first < fact.end
        and fact.fact is not None
        and (
            saying.spot.part in _FACTS_OF.get(fact.fact.name, ())
            or _little_else(saying, fact)
            # 'Two keys come with it' says nothing of what was spoken of last.
            or (fact.fact.name == "keys" and saying.first == fact.first and saying.quote.endswith(" with it"))
        )
        for fact in facts
    )


def _little_else(saying: Saying, fact: Saying) -> bool:
    """Tell whether a saying is only the words that bring in a date: 'built in 1986'."""
    dated = fact.fact_name in ("year", "first_registered")
    return dated and len(saying.quote) - len(fact.quote) <= _BRINGING_IN


def _lengthened(facts: tuple[Saying, ...], text: str) -> Iterator[Saying]:
    """Give a fact that is told in figures the word behind them, so that the quote can be read: '48,200 miles'."""
    for saying in facts:
        end = saying.end
        counted = saying.fact_name == "odometer"
        if counted and saying.quote[-1:].isdecimal() and text[end : end + 1] == " ":
            stop = end + 1
            while stop < len(text) and text[stop].isalpha():
                stop += 1
            end = stop if text[end + 1 : stop].lower().startswith(("mi", "k")) else end
        yield replace(saying, end=end, quote=text[saying.first : end])
