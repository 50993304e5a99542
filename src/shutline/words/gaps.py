"""What was not looked at, what safety depends on and the costliest first, and what the file does not record."""

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
_HEARD = "statements that were heard and nobody has confirmed"


def unseen(car_file: CarFile, found: Coverage, manner: Manner) -> tuple[dict[str, Footed], list[Told]]:
    """Tell what nothing in the car file speaks of; and what the sentences stand on, by the names they give it.

    What safety depends on is told first and named in full; of the rest the costliest is named, and the others counted.
    """
    templates = manner.wording.templates
    stands: dict[str, Footed] = {}
    told: list[Told] = []
    silent = _silent(car_file, found)
    grave = _names([one for one in silent if one.asked.check.safety], manner, stands)
    # Of a part that is named already nothing more is to be said.
    by_name = dict(grave)
    named: list[tuple[str, tuple[str, ...]]] = []
    for name, keys in _names([one for one in silent if not one.asked.check.safety], manner, stands):
        if name in by_name:
            by_name[name] += keys
        else:
            named.append((name, keys))
    grave = list(by_name.items())
    passing = [one for one in found.of(Cover.IN_PASSING) if one.asked.check.safety]
    touched = _names(passing, manner, stands)
    if grave:
        told.append(_listed("unseen.safety", grave, manner, "or"))
    if touched:
        told.append(_listed("unseen.passing", touched, manner))
    shown = named if len(named) <= _MOST + 1 else named[:_MOST]
    if shown:
        told.append(_listed("unseen.nor" if grave else "unseen.silent", shown, manner, "or"))
    if grave or touched or shown:
        told.append(_sentence(templates["unseen.caution"][0], [*grave, *touched, *shown]))
    rest = named[len(shown) :]
    if rest:
        count = f"{spelled(len(rest))} more {'part' if len(rest) == 1 else 'parts'}"
        told.append(_sentence(filled(templates["unseen.more"][0], {"count": count}, plural=len(rest) > 1), rest))
    told += _waiting(car_file, found, manner, stands)
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


def grave_gaps(car_file: CarFile, found: Coverage, manner: Manner) -> tuple[dict[str, Footed], list[Told]]:
    """Say how many parts that safety depends on nothing speaks of, where there is no room to name them."""
    stands: dict[str, Footed] = {}
    open_checks = [*_silent(car_file, found), *found.of(Cover.IN_PASSING)]
    grave = _names([one for one in open_checks if one.asked.check.safety], manner, stands)
    if not grave:
        return stands, []
    one = len(grave) == 1
    values = {"count": f"{spelled(len(grave))} {'part' if one else 'parts'}", "it": "it" if one else "them"}
    return stands, [_sentence(filled(manner.wording.templates["short.unseen"][0], values, plural=not one), grave)]


def _silent(car_file: CarFile, found: Coverage) -> list[Covered]:
    # Whoever has counted the keys has looked at them.
    counted = {kept.fact.name for kept in car_file.facts if kept.fact.state is not State.STRUCK and not kept.withdrawn}
    return [one for one in found.of(Cover.NOT_MENTIONED) if one.asked.check.part not in counted]


def _waiting(car_file: CarFile, found: Coverage, manner: Manner, stands: dict[str, Footed]) -> list[Told]:
    """Say how much was heard and is not told, and name what of it safety depends on."""
    heard = {kept.id for kept in car_file.going_out() if kept.finding.state is State.HEARD}
    if not heard:
        return []
    only = [one for one in found.of(Cover.HAS_FOOTING) if one.findings and set(one.findings) <= heard]
    grave = _names([one for one in only if one.asked.check.safety], manner, {})
    stands[_HEARD] = Footed(FootedOn.FILE, _HEARD)
    values = {"count": f"{spelled(len(heard))} {'statement' if len(heard) == 1 else 'statements'}"}
    if grave:
        values["list"] = joined([name for name, _ in grave])
    text = filled(manner.wording.templates["unseen.waiting"][0], values, plural=len(heard) > 1)
    return [Told(sentence(text), (_HEARD,), ())]


def _listed(key: str, named: Sequence[tuple[str, tuple[str, ...]]], manner: Manner, word: str = "and") -> Told:
    words = joined([name for name, _ in named], word)
    text = filled(manner.wording.templates[key][0], {"list": words}, plural=len(named) > 1 or _is_plural(words, manner))
    return _sentence(text, named)


def _is_plural(name: str, manner: Manner) -> bool:
    several = (noun.one if noun.plural else noun.many for noun in manner.wording.nouns.values())
    return any(words and name.endswith(f" {words}") for words in several)


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
