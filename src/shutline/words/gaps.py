"""What was not looked at, the costliest first, and what the file does not record."""

from __future__ import annotations

from collections.abc import Sequence

from shutline.car.carfile import CarFile
from shutline.car.findings import Position, Side, State
from shutline.publish.report.summary import missing_fact_name
from shutline.publish.wording import spelled
from shutline.survey import Cover, Coverage, Covered, unknown_facts
from shutline.words.model import Footed, FootedOn
from shutline.words.phrases import filled, joined, sentence
from shutline.words.places import Place, merged
from shutline.words.prose import Told
from shutline.words.stories import Manner

_MOST = 8


def unseen(car_file: CarFile, found: Coverage, manner: Manner) -> tuple[dict[str, Footed], list[Told]]:
    """Tell what nothing in the car file speaks of; and what the sentences stand on, by the names they give it."""
    templates = manner.wording.templates
    stands: dict[str, Footed] = {}
    told: list[Told] = []
    # Whoever has counted the keys has looked at them.
    counted = {kept.fact.name for kept in car_file.facts if kept.fact.state is not State.STRUCK and not kept.withdrawn}
    silent = [one for one in found.of(Cover.NOT_MENTIONED) if one.asked.check.part not in counted]
    named = _names(silent, manner, stands)
    if named:
        shown = named if len(named) <= _MOST + 1 else named[:_MOST]
        words = joined([name for name, _ in shown], "or")
        told.append(_sentence(filled(templates["unseen.silent"][0], {"list": words}), shown))
        rest = named[len(shown) :]
        told.append(_sentence(templates["unseen.caution"][0], shown))
        if rest:
            count = f"{spelled(len(rest))} more such {'check' if len(rest) == 1 else 'checks'}"
            text = filled(templates["unseen.more"][0], {"count": count}, plural=len(rest) > 1)
            told.append(_sentence(text, rest))
    left_out = _names(found.of(Cover.LEFT_OUT), manner, stands)
    if left_out:
        words = joined([name for name, _ in left_out])
        plural = len(left_out) > 1 or words.startswith(("both ", "all "))
        values = {"List": words}
        told.append(_sentence(filled(templates["unseen.left_out"][0], values, plural=plural), left_out))
    missing = unknown_facts(car_file)
    if missing:
        names = [f"fact {one.name}" for one in missing]
        stands |= {name: Footed(FootedOn.FILE, name) for name in names}
        words = joined([f"the {missing_fact_name(one.name)}" for one in missing], "or")
        told.append(Told(sentence(filled(templates["unseen.facts"][0], {"list": words})), tuple(names), ()))
    return stands, told


def _sentence(text: str, named: Sequence[tuple[str, tuple[str, ...]]]) -> Told:
    return Told(sentence(text), tuple(dict.fromkeys(key for _, keys in named for key in keys)), ())


def _names(checks: Sequence[Covered], manner: Manner, stands: dict[str, Footed]) -> list[tuple[str, tuple[str, ...]]]:
    """Name the places of checks, those of one part together, with the keys of the checks."""
    by_part: dict[str, list[Covered]] = {}
    for one in checks:
        by_part.setdefault(one.asked.check.part, []).append(one)
        stands[one.asked.key] = Footed(FootedOn.CHECK, one.asked.key)
    found: dict[str, tuple[str, ...]] = {}
    for part, same in by_part.items():
        places = merged([Place(part, one.asked.side, one.asked.position) for one in same])
        keys = tuple(one.asked.key for one in same)
        for number, words in enumerate(dict.fromkeys(_plainly(place, manner) for place in places)):
            found[words] = (*found.get(words, ()), *(keys if number == 0 else ()))
    return list(found.items())


def _plainly(place: Place, manner: Manner) -> str:
    """Call several of a kind by their plural: 'the front arches', not 'both'."""
    noun = manner.wording.nouns[place.part]
    both = place.side is Side.BOTH or place.position is Position.BOTH
    name = manner.call(place)
    if name.sure and not both:
        return name.words
    end = f"{place.position.value} " if place.position in (Position.FRONT, Position.REAR) else ""
    side = {Side.NEAR: "nearside ", Side.OFF: "offside "}.get(place.side, "") if place.side else ""
    return f"the {side}{end}{noun.many or noun.one}"
