"""The short description and the line: what weighs most, and how much is left for the full one."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Found, Severity
from shutline.publish.plain import one_line
from shutline.publish.wording import spelled
from shutline.words.choice import Chosen, is_good
from shutline.words.facts import Known, keepers_words
from shutline.words.grave import most_in_a_line
from shutline.words.phrases import filled, sentence
from shutline.words.prose import Told, tell
from shutline.words.spared import spared
from shutline.words.stories import Manner

_MOST_GOOD = 8
_MOST_FAULTS = 8
_DEGREES = {Severity.SLIGHT: 0, None: 2, Severity.MODERATE: 2, Severity.SEVERE: 9}


def short(kept: Sequence[KeptFinding], manner: Manner, *, grave: AbstractSet[str]) -> list[list[Told]]:
    """Tell the good news and the faults that weigh most, and how many more there are; `grave` are never left out."""
    nouns = manner.wording.nouns
    order = list(nouns)
    good = [one for one in kept if is_good(one.finding)]
    bad = [one for one in kept if not is_good(one.finding)]
    # Faults stand in a paragraph of their own: what is said of both would be read without them.
    good = spared(good, [one.finding for one in bad])
    plain = [one for one in good if one.finding.found is Found.YES and one.finding.condition != "present"]
    best = sorted(plain, key=lambda one: (-nouns[one.finding.part].weight, order.index(one.finding.part)))[:_MOST_GOOD]
    worst = _worst(bad, manner, grave)
    told_bad = worst[: max(_MOST_FAULTS, len(grave))]
    out = [list(tell(order, best, manner)), list(tell(order, told_bad, manner))]
    left = worst[len(told_bad) :]
    if left:
        values = {"count": "fault or doubt" if len(left) == 1 else f"{spelled(len(left))} faults and doubts"}
        text = filled(manner.wording.templates["short.more"][0], values, plural=len(left) > 1)
        out.append([Told(sentence(text), tuple(one.id for one in left), ())])
    return out


def line(
    title: str, known: Known, chosen: Chosen, manner: Manner, *, grave: AbstractSet[str]
) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    """Give the car in a line: its text, what it stands on, and the faults it counts; the worst of `grave` it names."""
    templates = manner.wording.templates
    colour = known.value("colour")
    values = {"title": title, "colour": one_line(str(colour)) if colour else None}
    values |= {"odometer": known.words("odometer"), "keepers": keepers_words(known)}
    text = filled(templates["line.told"][0], {name: value for name, value in values.items() if value})
    ids = list(known.ids("colour", "odometer", "keepers"))
    if known.has_no_mot:
        text += f"; {templates['line.mot_none'][0]}"
    elif known.mot_is_over:
        text += f"; {filled(templates['line.mot_over'][0], {'mot': known.words('mot_until') or ''})}"
        ids += known.ids("mot_until")
    bad = tuple(kept.id for kept in chosen.findings if not is_good(kept.finding))
    worst = [kept for kept in _worst(chosen.findings, manner, grave) if kept.id in grave]
    named = worst[: most_in_a_line()]
    text += "".join(f"; {_within(one.text)}" for one in tell(list(manner.wording.nouns), named, manner))
    if left := len(worst) - len(named):
        text += f"; {filled(templates['line.grave'][0], {'count': spelled(left)})}"
    if bad:
        count = f"{spelled(len(bad))} {'fault or doubt' if len(bad) == 1 else 'faults and doubts'}"
        text += f"; {filled(templates['line.faults'][0], {'count': count})}"
    return f"{text}.", (*ids, *bad), bad


def _worst(kept: Sequence[KeptFinding], manner: Manner, grave: AbstractSet[str]) -> list[KeptFinding]:
    """Sort faults by what they weigh, the grave ones first."""
    order = list(manner.wording.nouns)
    return sorted(kept, key=lambda one: (one.id not in grave, -_weight(one, manner), order.index(one.finding.part)))


def _within(text: str) -> str:
    """Give a sentence as it stands within another."""
    small = text[:2].istitle() and text[1:2].islower()
    return (text[:1].lower() + text[1:] if small else text).rstrip(".")


def _weight(kept: KeptFinding, manner: Manner) -> int:
    finding = kept.finding
    saying = manner.wording.saying(finding.condition, finding.part)
    return manner.wording.nouns[finding.part].weight + 2 * saying.weight + 3 * _DEGREES[finding.severity]
