"""What is to be done about the faults, as it was said: places that want the same named together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Remedy
from shutline.words.choice import is_good
from shutline.words.phrases import filled, joined, sentence
from shutline.words.places import Called, Place, merged, parted, place_of, within
from shutline.words.prose import Told
from shutline.words.stories import Manner

_ORDER = (
    *(Remedy.REPAIR, Remedy.REPLACE, Remedy.REPAINT, Remedy.TREAT),
    *(Remedy.ADJUST, Remedy.POLISH, Remedy.CLEAN, Remedy.MONITOR),
)
_DONE = (Remedy.REPAINT, Remedy.TREAT, Remedy.ADJUST, Remedy.POLISH, Remedy.CLEAN)
_MOST_SUBJECTS = 5


def doing(kept: Sequence[KeptFinding], manner: Manner) -> list[Told]:
    """Tell what wants doing where; and, of faults of which nobody said what, that nobody said it."""
    order = list(manner.wording.nouns)
    bad = sorted((one for one in kept if not is_good(one.finding)), key=lambda one: order.index(one.finding.part))
    told: list[Told] = []
    for remedy in _ORDER:
        same = [one for one in bad if one.finding.remedy is remedy]
        if remedy is Remedy.REPLACE:
            # A new gasket is no new engine, and a lost spanner no new tool kit.
            part = [one for one in same if manner.wording.nouns[one.finding.part].in_part]
            lost = [one for one in part if one.finding.condition == "missing"]
            told += _told([one for one in same if one not in part], "doing.replace", manner)
            told += _told([one for one in part if one not in lost], "doing.replace_part", manner)
            told += _told(lost, "doing.replace_missing", manner)
        else:
            told += _told(same, f"doing.{remedy.value}", manner)
    left = tuple(one.id for one in bad if one.finding.remedy is None)
    if left:
        told.append(Told(manner.wording.templates["doing.rest" if told else "doing.none"][0], left, ()))
    return told


def done(kept: Sequence[KeptFinding], manner: Manner) -> list[Told]:
    """Tell what was done where about faults that do not stand any more."""
    order = list(manner.wording.nouns)
    right = sorted(kept, key=lambda one: order.index(one.finding.part))
    told: list[Told] = []
    for remedy in _DONE:
        same = [one for one in right if one.put_right is not None and one.put_right.remedy == remedy]
        told += [replace(one, faults=()) for one in _told(same, f"done.{remedy.value}", manner)]
    return told


def _told(kept: Sequence[KeptFinding], key: str, manner: Manner) -> list[Told]:
    named = _named(kept, manner)
    runs = -(-len(named) // _MOST_SUBJECTS)
    return [_sentence(named[at::runs], key, manner) for at in range(runs)]


def _named(same: Sequence[KeptFinding], manner: Manner) -> list[tuple[Called, tuple[str, ...]]]:
    by_part: dict[str, list[KeptFinding]] = {}
    for one in same:
        by_part.setdefault(one.finding.part, []).append(one)
    found: list[tuple[Called, tuple[str, ...]]] = []
    for kept in by_part.values():
        there = [(_place(one.finding, manner), one.id) for one in kept]
        found += [
            (manner.call(place), tuple(name for where, name in there if within(where, place)))
            for place in merged([where for where, _ in there])
        ]
    return found


def _place(finding: Finding, manner: Manner) -> Place:
    by_seat = manner.wording.nouns[finding.part].by_seat
    return parted(place_of(finding, doors=manner.doors, by_seat=by_seat), wording=manner.wording)[0]


def _sentence(named: Sequence[tuple[Called, tuple[str, ...]]], key: str, manner: Manner) -> Told:
    words = joined([one.words for one, _ in named])
    plural = len(named) > 1 or named[0][0].plural
    text = filled(manner.turns.choose(key, manner.wording.templates[key]), {"subject": words}, plural=plural)
    ids = tuple(name for _, names in named for name in names)
    return Told(sentence(text), ids, ids)
