"""Verbs that agree, degrees, and what is said of one subject put together as a writer would."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from shutline.car.findings import Severity
from shutline.words.checks import PLACE, VERBS
from shutline.words.places import Called

_SINGULAR = {"be": "is", "have": "has", "do": "does"}
_PLURAL = {"be": "are"}
_AN = re.compile(r"\b([Aa]) (?=[aeiou])")
_ORDER = (Severity.SLIGHT, Severity.MODERATE, Severity.SEVERE)
_DEGREE_WORDS = {
    "small": ("small", "noticeable", "bad"),
    "slight": ("slight", "noticeable", "bad"),
    "slightly": ("slightly", "noticeably", "badly"),
}
_NO = "no "
_OF_IT = re.compile(r" (in|on|of) \{it\}$")


@dataclass(frozen=True, slots=True)
class Said:
    """What is said of a subject: its verb as the dictionary has it ("" for 'may be …'), and the rest."""

    verb: str
    rest: str

    @classmethod
    def of(cls, cell: str) -> Said:
        """Part a cell into its verb and the rest."""
        found = re.match(r"\{([a-z]+)\}\s*", cell)
        return cls("", cell) if found is None else cls(found[1], cell[found.end() :])


class Turns:
    """Takes the variants of an entry in turn, the least used first: the same calls give the same answers."""

    def __init__(self) -> None:
        self._used: dict[str, list[int]] = {}

    def choose(self, key: str, variants: Sequence[str]) -> str:
        """Give the variant of an entry whose turn it is."""
        counts = self._used.setdefault(key, [])
        counts += [0] * (len(variants) - len(counts))
        place = min(range(len(variants)), key=lambda at: (counts[at], at))
        counts[place] += 1
        return variants[place]


def inflected(verb: str, *, plural: bool) -> str:
    """Give a verb in the third person.

    >>> inflected("be", plural=False), inflected("match", plural=False), inflected("have", plural=True)
    ('is', 'matches', 'have')
    """
    if plural:
        return _PLURAL.get(verb, verb)
    if verb in _SINGULAR:
        return _SINGULAR[verb]
    return verb + ("es" if verb.endswith(("s", "sh", "ch", "x", "z", "o")) else "s")


def with_degree(cell: str, severity: Severity | None) -> str:
    """Fill in how bad it is: ``{a small} dent`` is a small dent, a noticeable one, a bad one, or a dent."""

    def fill(found: re.Match[str]) -> str:
        kind = found[1].removeprefix("a ")
        if kind not in _DEGREE_WORDS:
            return found[0]
        degree = "" if severity is None else _DEGREE_WORDS[kind][_ORDER.index(severity)]
        return degree if kind == found[1] else f"a {degree}"

    return " ".join(PLACE.sub(fill, cell).split())


def filled(text: str, values: Mapping[str, str], *, plural: bool = False) -> str:
    """Fill places in, let verbs agree, and leave out what stands between < and > where one of its places is not known.

    Raises
    ------
    KeyError
        A place outside < and > is not known.
    """

    def optional(found: re.Match[str]) -> str:
        known = all(place in values or place in VERBS for place in PLACE.findall(found[1]))
        return found[1] if known else ""

    def fill(found: re.Match[str]) -> str:
        place = found[1]
        if place in values:
            return values[place]
        if place in VERBS:
            return inflected(place, plural=plural)
        raise KeyError(place)

    return an(PLACE.sub(fill, re.sub(r"<([^<>]*)>", optional, text)))


def can_fill(text: str, values: Mapping[str, str]) -> bool:
    """Tell whether all places outside < and > are known."""
    outside = PLACE.findall(re.sub(r"<[^<>]*>", "", text))
    return all(place in values or place in VERBS for place in outside)


def an(text: str) -> str:
    """Write 'an' before a vowel.

    >>> an("a oil leak on a sill")
    'an oil leak on a sill'
    """
    return _AN.sub(r"\1n ", text)


def sentence(text: str) -> str:
    """Begin with a capital letter and close up double spaces."""
    text = " ".join(text.split())
    return text[:1].upper() + text[1:]


def joined(items: Sequence[str], word: str = "and") -> str:
    """Join as a sentence does; with semicolons where an item has a comma of its own.

    >>> joined(["the roof", "the sills", "the floor"])
    'the roof, the sills and the floor'
    """
    if len(items) < 2:
        return "".join(items)
    mark = "; " if any("," in item for item in items) else ", "
    return mark.join(items[:-1]) + (f"; {word} " if mark == "; " else f" {word} ") + items[-1]


def predicate(said: Iterable[Said], subject: Called, *, by_with: bool = False) -> str:
    """Say several things of one subject: 'is sound and has no rust or dents'.

    Parameters
    ----------
    said : iterable of Said
    subject : Called
        What the verbs agree with.
    by_with : bool
        Put what it has after what it is with a 'with': 'is sound, with no rust'.
    """
    groups: dict[str, list[str]] = {}
    for one in said:
        key = one.verb if one.verb in {"be", "have"} and not one.rest.startswith("been ") else f"{one.verb} {one.rest}"
        if key == "have" and _participle(one.rest):
            key = f"have {one.rest}"
        groups.setdefault(key, []).append(one.rest)
    if set(groups) == {"be", "have"} and by_with:
        return f"{_run('be', groups['be'], subject)}, with {_run('', groups['have'], subject)}"
    told = [_run(key.split(" ", 1)[0], rests, subject) for key, rests in groups.items()]
    told.sort(key=lambda one: "," in one)
    if len(told) < 3:
        return " and ".join(told)
    return f"{', '.join(told[:-1])} and {told[-1]}"


def denied_of_all(said: Sequence[Said], subject: Called) -> str:
    """Say what is denied of both or all: 'there is no rust on either sill'; '' where something else is said too.

    'Both sills have no rust' might be heard as 'not both have'.
    """
    if len(said) == 1 and said[0].verb == "be" and said[0].rest.startswith("not ") and "{" not in said[0].rest:
        return an(f"{subject.neither} is {said[0].rest.removeprefix('not ')}")
    if not 0 < len(said) < 3 or not all(one.verb == "have" and one.rest.startswith(_NO) for one in said):
        return ""
    denied = [_OF_IT.sub("", one.rest.removeprefix(_NO)) for one in said]
    # 'No moisture in either rear light', and 'no rust on either sill'.
    placing = {found.group(1) if (found := _OF_IT.search(one.rest)) else "on" for one in said}
    if len(placing) > 1:
        return ""
    verb = "are" if denied[0].endswith("s") else "is"
    place = subject.neither.replace("neither ", "either ").replace("none of ", "any of ")
    return f"there {verb} no {joined(denied, 'or')} {placing.pop()} {place}"


def _run(verb: str, rests: list[str], subject: Called) -> str:
    rest = _complements(rests)
    told = f"{inflected(verb, plural=subject.plural)} {rest}".strip() if verb else rest
    # 'rust in them', but 'work as they should'.
    told = re.sub(r"\b(in|on|of) \{it\}", rf"\1 {'them' if subject.plural else 'it'}", told)
    known = {"it": subject.it, "its": subject.its}
    return an(PLACE.sub(lambda found: known.get(found[1]) or inflected(found[1], plural=subject.plural), told))


def _complements(rests: Sequence[str]) -> str:
    """Join what comes after one verb: 'no rust or dents', 'sound and original'."""
    denied = [rest for rest in rests if rest.startswith(_NO)]
    # 'Slightly dirty and not original': what is denied comes last, or the denial would carry over.
    asserted = sorted((rest for rest in rests if not rest.startswith(_NO)), key=_last)
    # Of three, each is denied by itself: an 'or' carries over two and no further, to a hasty reader.
    if len(denied) == 2:
        denied = [f"{denied[0]} or {denied[1].removeprefix(_NO)}"]
    told = [*asserted, *denied]
    return joined(told)


def _last(rest: str) -> int:
    return 2 if rest.startswith("not ") else int("," in rest or " on the " in rest or " at the " in rest)


def _participle(rest: str) -> bool:
    """Tell 'has faded' from 'has rust': nothing can share the verb with a participle."""
    first = rest.split(" ", 1)[0]
    return first in {"had", "gone", "not"} or (first.endswith("ed") and first != "red")
