"""What a report says of what is at odds: what is open, what a person decided, and why; the same as the page shows."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.findings import State
from shutline.car.odds import OddsAnswer, OddsDecision
from shutline.survey.odds import AGAINST, OddsKind, Told
from shutline.usecases.odds import FactOdds, OddsCase, PastCase, fact_odds, kept_by_id, odds_of
from shutline.usecases.odds_sides import told_words
from shutline.usecases.own_odds import odds_folder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from shutline.car.carfile import CarFile, KeptFact, KeptFinding
    from shutline.car.findings import Footing
    from shutline.publish.private import Private
    from shutline.publish.report.model import OddsLine, OddsSaid, OddsSection
    from shutline.store import Store


def odds_section(store: Store, car: CarFile) -> OddsSection:
    """Give what the report of a whole car file says; no word of a statement that was struck is in it.

    Raises
    ------
    UserError, BadInputError
        A row of the user's own tables is wrong (slug ``survey-table-refused``).
    """
    from shutline.publish.report.model import OddsSection

    shown = odds_of(store, car)
    who = _Named()
    recordings = _recordings(car)
    return OddsSection(
        open=tuple(_line(case, case.odds.sides, recordings, who) for case in shown.open),
        settled=tuple(_line(case, case.odds.sides, recordings, who) for case in shown.settled),
        past=tuple(line for one in shown.past if (line := _past_line(one, car, who))),
        facts=fact_sentences(fact_odds(store, car), who),
    )


def public_odds_section(store: Store, car: CarFile, public: CarFile, private: Private) -> OddsSection:
    """Give what may go out to a stranger: cases of which each side stands, without names and private words."""
    from shutline.publish.buyers.wording import say
    from shutline.publish.report.model import OddsSection

    shown = odds_of(store, car)
    who = _Named(say("page.seller"), private.text)
    kept = kept_by_id(public)
    recordings = _recordings(public)

    facts = fact_odds(store, car)
    told: dict[str, FactOdds] = {}

    def lines(cases: Iterable[OddsCase]) -> Iterator[OddsLine]:
        for case in cases:
            sides = [there for side in case.odds.sides if (there := _public_side(side, kept))]
            if len(sides) > 1:
                if case.odds.kind is OddsKind.FACT:
                    told[case.odds.rule] = replace(facts[case.odds.rule], values=len(sides))
                yield _line(case, sides, recordings, who)

    return OddsSection(tuple(lines(shown.open)), tuple(lines(shown.settled)), (), fact_sentences(told, who))


def fact_sentences(told: Mapping[str, FactOdds], who: _Named | None = None) -> dict[str, str]:
    """Say of each fact that is or was at odds how it stands, by its name."""
    from shutline.publish.wording import phrase, spelled

    who = who or _Named()
    sentences = {}
    for name, one in told.items():
        if one.decision is None:
            sentences[name] = phrase("facts.at_odds", count=spelled(one.values))
        elif one.settled and one.case:
            sentences[name] = who.decided(phrase("odds.facts_all", count=spelled(one.values)), one.decision)
        else:
            lost = len(one.decision.told) - (one.decision.answer is OddsAnswer.ONE)
            sentences[name] = who.decided(phrase("odds.facts_one" if lost == 1 else "odds.facts_many"), one.decision)
    return sentences


def odds_mark(store: Store, car: CarFile) -> str:
    """Give what changes with the answers that were given and the user's own tables."""
    given = [(one.odds, one.answer, one.mark, one.at) for one in store.odds_decisions(car.name)]
    tables = hashlib.sha256(json.dumps(given).encode())
    for file in sorted(odds_folder().glob("*.*")):
        tables.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return tables.hexdigest()


class _Named:
    """Words an answer with who gave it, when and why; `seller` stands for any name, where it is given."""

    def __init__(self, seller: str = "", private: Callable[[str], str] | None = None) -> None:
        self._seller = seller
        self._private = private

    def text(self, words: str) -> str:
        """Give words as they may go out."""
        return self._private(words) if self._private is not None else words

    def decided(self, words: str, decision: OddsDecision) -> str:
        """Put an answer into a sentence."""
        from shutline.publish.naming import capitalised
        from shutline.publish.plain import one_line
        from shutline.publish.report.times import day
        from shutline.publish.wording import phrase

        reason = self.text(decision.reason)
        author = self._seller or decision.author
        return phrase(
            "odds.because",
            words=capitalised(words.rstrip(".")),
            author=one_line(author[:1].upper() + author[1:]),
            date=day(decision.at[:10]),
            reason=one_line(reason),
        )


def _line(case: OddsCase, sides: Sequence[Sequence[Told]], recordings: Mapping[str, int], who: _Named) -> OddsLine:
    from shutline.publish.naming import capitalised
    from shutline.publish.plain import one_line
    from shutline.publish.report.model import OddsLine
    from shutline.publish.wording import phrase

    answers = []
    last = case.decisions[-1] if case.decisions else None
    if last is not None and last.answer is not OddsAnswer.OPEN:
        if case.changed:
            answers.append(who.decided(phrase("odds.changed"), last))
        else:
            answers.append(who.decided(phrase("odds.all_two" if len(case.odds.told) == 2 else "odds.all"), last))
    return OddsLine(
        about=one_line(case.about),
        why=f"{capitalised(case.odds.why)}.",
        sides=tuple(tuple(_said(told, recordings, who) for told in side) for side in sides),
        answers=tuple(answers),
    )


def _said(told: Told, recordings: Mapping[str, int], who: _Named) -> OddsSaid:
    from shutline.publish.naming import capitalised
    from shutline.publish.plain import one_line
    from shutline.publish.report.entries import finding_stands_on, stands_on
    from shutline.publish.report.model import OddsSaid, Stand
    from shutline.publish.wording import phrase

    finding = told.id if told.finding is not None else ""
    if told.words:
        stands: tuple[Stand, ...] = ()
    elif told.finding is not None:
        stands = finding_stands_on(replace(told.finding, footings=tuple(told.footings)), recordings)
    else:
        stands = stands_on(told.footings, recordings)
    words = capitalised(one_line(who.text(told_words(told))))
    if told.fact is not None and told.fact.state is State.HEARD:
        # A finding has a number, and its state stands there.
        words = phrase("odds.heard", words=words)
    return OddsSaid(words, finding, stands)


def _past_line(one: PastCase, car: CarFile, who: _Named) -> str:
    """Word an answer that left nothing at odds: what stands is named, what was struck is not."""
    from shutline.publish.naming import capitalised
    from shutline.publish.plain import one_line
    from shutline.publish.wording import phrase, spelled

    last = one.decisions[-1]
    count = len(one.told)
    if last.answer is OddsAnswer.NONE:
        return who.decided(phrase("odds.none", count=spelled(count)), last)
    if last.answer is not OddsAnswer.ONE:
        return ""
    if last.holds.startswith(AGAINST):
        return who.decided(phrase("odds.one_against"), last)
    holder = kept_by_id(car).get(last.holds)
    told = None if holder is None else _still_told(holder)
    if holder is None and one.holds is not None and not last.holds.startswith("spelled "):
        # What was measured is no statement in the store, and nobody can have struck it.
        return who.decided(phrase("odds.one", words=capitalised(one_line(one.told[one.holds - 1]).rstrip("."))), last)
    if told is None:
        return who.decided(phrase("odds.one_of", count=spelled(count)), last)
    return who.decided(phrase("odds.one", words=capitalised(one_line(told_words(told)))), last)


def _still_told(kept: KeptFinding | KeptFact) -> Told | None:
    from shutline.car.carfile import KeptFinding

    if isinstance(kept, KeptFinding):
        return None if kept.finding.state is State.STRUCK else Told(kept.id, (), finding=kept.finding)
    return None if kept.fact.state is State.STRUCK or kept.withdrawn else Told(kept.id, (), fact=kept.fact)


def _public_side(side: Sequence[Told], kept: Mapping[str, KeptFinding | KeptFact]) -> list[Told]:
    """Give what of a side is public, in the words that may go out; what the car's own details say is."""
    told = []
    for one in side:
        if one.words:
            told.append(one)
            continue
        there = [kept[id_] for id_ in one.struck_with if id_ in kept]
        if there:
            footings = tuple(footing for each in there for footing in _footings(each))
            shown = _still_told(there[0])
            if shown is not None:
                told.append(replace(shown, footings=footings))
    return told


def _footings(kept: KeptFinding | KeptFact) -> tuple[Footing, ...]:
    from shutline.car.carfile import KeptFinding

    return kept.finding.footings if isinstance(kept, KeptFinding) else kept.fact.footings


def _recordings(car: CarFile) -> Mapping[str, int]:
    from shutline.publish.report.entries import recording_numbers

    return recording_numbers(car)
