"""Clauses made into sentences: like things named together, short ones joined, and no two alike in a row."""

from __future__ import annotations

import re
from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass, replace

from shutline.car.carfile import KeptFinding
from shutline.words.choice import is_good
from shutline.words.phrases import Said, can_fill, denied_of_all, filled, joined, predicate, sentence
from shutline.words.places import Called, fellow, within
from shutline.words.spared import against_it, spared
from shutline.words.stories import Clause, Manner, clauses

_MOST_SUBJECTS = 4
_SHORT_WORDS = 9
_LONG_WORDS = 30
_IT = ("It", "They")


@dataclass(frozen=True, slots=True)
class Told:
    """A sentence and the findings it tells; `faults` are those of them that are faults or doubts.

    `tone` is good, fault, unsure or mixed; `subject` what it begins with, '' where it has several.
    """

    text: str
    ids: tuple[str, ...]
    faults: tuple[str, ...]
    tone: str = "mixed"
    subject: str = ""


def tell(parts: Sequence[str], kept: Sequence[KeptFinding], manner: Manner) -> tuple[Told, ...]:
    """Tell the findings of some parts, in the order of the parts, as the sentences of a paragraph.

    Parameters
    ----------
    parts : sequence of str
        Ids of the vocabulary.
    kept : sequence of KeptFinding
        Findings; those of other parts are left alone.
    manner : Manner
        The wording, whose turns go on from one call to the next.
    """
    stories: list[tuple[Clause, ...]] = []
    for part in parts:
        same = [one for one in kept if one.finding.part == part]
        if same:
            stories.append(_story(same, manner))
    told = [one for story in _together(stories) for one in _sentences(story, manner)]
    return tuple(_paired(told, manner))


def _story(kept: Sequence[KeptFinding], manner: Manner) -> tuple[Clause, ...]:
    """Put the findings of one part into clauses.

    Good news of several places is told of all of them only where the same sentence names the one that has a fault.
    """
    bad = [one.finding for one in kept if not is_good(one.finding)]
    clear = spared(kept, bad, grave=True)
    before = deepcopy(manner.turns)
    story = clauses(clear, manner)
    if not _parted(clear, story, _sentences(story, replace(manner, turns=deepcopy(manner.turns)))):
        return story
    # What was tried takes no turn of the wording's variants.
    return clauses(spared(kept, bad), replace(manner, turns=before))


def _parted(kept: Sequence[KeptFinding], story: Sequence[Clause], told: Sequence[Told]) -> bool:
    """Tell whether good news of several places stands in one sentence, and a fault of one of them in another."""
    findings = {one.id: one.finding for one in kept}
    for clause in story:
        good = [name for name in clause.ids if name not in clause.faults]
        inside = {name for one in told if set(good) & set(one.ids) for name in one.ids}
        if any(
            against_it(findings[name], findings[fault])
            for other in story
            if other.place != clause.place and within(other.place, clause.place)
            for fault in other.faults
            if fault not in inside
            for name in good
        ):
            return True
    return False


def _together(stories: Sequence[tuple[Clause, ...]]) -> list[tuple[Clause, ...]]:
    """Name the parts of which just the same is said in one sentence, where the first of them stands."""
    alone: dict[tuple[object, ...], list[Clause]] = {}
    for story in stories:
        if len(story) == 1 and story[0].subject.sure and not story[0].unsure and not _denies(story[0]):
            alone.setdefault((story[0].key, story[0].sub), []).append(story[0])
    out: list[tuple[Clause, ...]] = []
    done: set[int] = set()
    for story in stories:
        if id(story) in done:
            continue
        only = story[0] if len(story) == 1 else None
        group = alone.get((only.key, only.sub), []) if only is not None else []
        if only is None or len(group) < 2 or only not in group:
            out.append(story)
            continue
        if only is not group[0] and any(only is one for one in group[1:]):
            continue
        out += [(_with_others(group[at : at + _MOST_SUBJECTS]),) for at in range(0, len(group), _MOST_SUBJECTS)]
    return out


def _denies(clause: Clause) -> bool:
    """Tell whether something 'is not' or 'does not': 'the choke and the heater do not work' can be heard two ways."""
    return any(re.search(r"\bnot\b", cell) for cell in (*clause.good, *clause.fault))


def _with_others(group: Sequence[Clause]) -> Clause:
    if len(group) == 1:
        return group[0]
    words = joined([one.subject.words for one in group])
    return replace(
        group[0],
        subject=Called(words, plural=True),
        ids=tuple(name for one in group for name in one.ids),
        faults=tuple(name for one in group for name in one.faults),
        there="",
    )


def _sentences(story: Sequence[Clause], manner: Manner) -> list[Told]:
    """Tell the clauses of one part: the first by its name, its fellow as 'the nearside one', joined where short."""
    found: list[Told] = []
    for number, clause in enumerate(story):
        before = story[number - 1] if number else None
        spoken = clause if before is None else _after(clause, before, manner)
        text = _told(spoken, manner)
        if before is not None and found:
            last = found[-1]
            pair = len(last.text.split()) + len(text.split()) <= _LONG_WORDS and ";" not in last.text
            again = before.place == clause.place and before.sub == clause.sub
            join = "" if again else _join(_tone(before), _tone(clause))
            if pair and join and " while " not in last.text:
                key = f"patterns.{join}"
                mark = manner.turns.choose(key, manner.wording.templates[key])
                found[-1] = _joined(last, Told(text, clause.ids, clause.faults), mark)
                continue
        if spoken is not clause:
            text = _told(clause, manner, again=True)
        found.append(Told(sentence(text), clause.ids, clause.faults, _tone(clause), sentence(clause.subject.words)))
    return found


def _after(clause: Clause, before: Clause, manner: Manner) -> Clause:
    """Call a clause's subject as one does after another of the same part."""
    if clause.place == before.place and clause.sub == before.sub:
        return clause
    if clause.sub:
        short = clause.subject.short if before.place == clause.place and not before.sub else ""
    else:
        short = fellow(clause.place, before.place, wording=manner.wording, whole=clause.subject)
    return replace(clause, subject=replace(clause.subject, words=short)) if short else clause


def _join(before: str, after: str) -> str:
    if before == after and before != "mixed":
        return "join_same"
    if before == "good" and after != "mixed":
        return "join_but"
    return "join_while" if after == "good" and before != "mixed" else ""


def _told(clause: Clause, manner: Manner, *, again: bool = False) -> str:
    """Tell one clause as a sentence; `again` tells it anew without taking another turn."""
    subject = clause.subject
    good, fault, unsure = ([Said.of(cell) for cell in cells] for cells in (clause.good, clause.fault, clause.unsure))
    thing = _thing(clause)
    if thing and not again and manner.turns.choose("there", ("subject", "there")) == "there":
        return f"there is {thing} {clause.there} {subject.words}."
    denied = denied_of_all(good or fault, subject) if subject.neither and clause.name in {"good", "fault"} else ""
    if denied:
        return f"{denied}."
    by_with = bool(good) and not (fault or unsure) and manner.turns.choose("with", ("and", "with")) == "with"
    values = {"subject": subject.words, "it": subject.it, "its": subject.its}
    for name, said in (("good", good), ("fault", fault), ("unsure", unsure)):
        if said:
            values[name] = predicate(said, subject, by_with=by_with)
    key = f"patterns.{clause.name}"
    variants = [one for one in manner.wording.templates[key] if can_fill(one, values)]
    # 'Sound, but with a dent on the nearside': after the nearside, 'it' would be that.
    if any(" on the " in cell or " at the " in cell for cell in (*clause.fault, *clause.unsure)):
        variants = variants[:1]
    chosen = variants[0] if again else manner.turns.choose(key, variants)
    return filled(chosen, values, plural=subject.plural)


def _thing(clause: Clause) -> str:
    """Give what there is on the subject, where that is all that is said: 'a small dent'."""
    if not clause.there or clause.good or clause.unsure or len(clause.fault) != 1:
        return ""
    said = Said.of(clause.fault[0])
    one = said.verb == "have" and "{" not in said.rest and not said.rest.startswith("been")
    return said.rest if one and said.rest.split()[0] in {"a", "an", "rust", "slight", "some", "bad", "bubbling"} else ""


def _tone(clause: Clause) -> str:
    return clause.name if clause.name in {"good", "fault", "unsure"} else "mixed"


def _joined(first: Told, second: Told, mark: str) -> Told:
    text = f"{first.text.rstrip('.')}{mark}{second.text}"
    return Told(sentence(text), (*first.ids, *second.ids), (*first.faults, *second.faults), subject=first.subject)


def _paired(told: Sequence[Told], manner: Manner) -> list[Told]:
    """Join two short sentences where both tell good news or both tell faults."""
    out: list[Told] = []
    fresh = True
    for one in told:
        last = out[-1] if out else None
        if last is not None and one.subject and one.subject == last.subject:
            one = replace(one, text=one.text.replace(one.subject, _IT[one.subject.endswith("s")], 1))  # noqa: PLW2901
        short = last is not None and max(len(last.text.split()), len(one.text.split())) <= _SHORT_WORDS
        if last is not None and short and fresh and last.tone == one.tone != "mixed" and ";" not in last.text:
            mark = manner.turns.choose("patterns.pair", manner.wording.templates["patterns.pair"])
            text = one.text[:1].lower() + one.text[1:]
            out[-1] = replace(_joined(last, replace(one, text=text), mark), subject=one.subject)
            fresh = False
            continue
        out.append(one)
        fresh = True
    return out
