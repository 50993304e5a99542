"""What is to be done about the faults, as it was said: places that want the same named together."""

from __future__ import annotations

from collections.abc import Sequence

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Remedy
from shutline.words.choice import is_good
from shutline.words.phrases import filled, joined, sentence
from shutline.words.places import Called, Place, merged, parted, place_of
from shutline.words.prose import Told
from shutline.words.stories import Manner

_ORDER = (
    *(Remedy.REPAIR, Remedy.REPLACE, Remedy.REPAINT, Remedy.TREAT),
    *(Remedy.ADJUST, Remedy.POLISH, Remedy.CLEAN, Remedy.MONITOR),
)
_MOST_SUBJECTS = 5


def doing(kept: Sequence[KeptFinding], manner: Manner) -> list[Told]:
    """Tell what wants doing where; and, of faults of which nobody said what, that nobody said it."""
    order = list(manner.wording.nouns)
    bad = sorted((one for one in kept if not is_good(one.finding)), key=lambda one: order.index(one.finding.part))
    told: list[Told] = []
    for remedy in _ORDER:
        same = [one for one in bad if one.finding.remedy is remedy]
        named = _named(same, manner)
        runs = -(-len(named) // _MOST_SUBJECTS)
        told += [_sentence(named[at::runs], remedy, manner) for at in range(runs)]
    left = tuple(one.id for one in bad if one.finding.remedy is None)
    if left:
        told.append(Told(manner.wording.templates["doing.rest" if told else "doing.none"][0], left, ()))
    return told


def _named(same: Sequence[KeptFinding], manner: Manner) -> list[tuple[Called, tuple[str, ...]]]:
    by_part: dict[str, list[KeptFinding]] = {}
    for one in same:
        by_part.setdefault(one.finding.part, []).append(one)
    found: list[tuple[Called, tuple[str, ...]]] = []
    for kept in by_part.values():
        places = merged([_place(one.finding, manner) for one in kept])
        ids = tuple(one.id for one in kept)
        for number, place in enumerate(places):
            found.append((manner.call(place), ids if number == 0 else ()))
    return found


def _place(finding: Finding, manner: Manner) -> Place:
    by_seat = manner.wording.nouns[finding.part].by_seat
    return parted(place_of(finding, doors=manner.doors, by_seat=by_seat), wording=manner.wording)[0]


def _sentence(named: Sequence[tuple[Called, tuple[str, ...]]], remedy: Remedy, manner: Manner) -> Told:
    key = f"doing.{remedy.value}"
    words = joined([one.words for one, _ in named])
    subject = Called(words, plural=len(named) > 1 or named[0][0].plural)
    text = filled(manner.turns.choose(key, manner.wording.templates[key]), {"subject": words}, plural=subject.plural)
    ids = tuple(name for _, names in named for name in names)
    return Told(sentence(text), ids, ids)
