"""A question answered from what is known, with its moment; or the plain statement that it is not known."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from shutline.car.findings import Found, Severity, Side
from shutline.car.vocabulary import vocabulary
from shutline.claims.covered import on_both_sides
from shutline.claims.judged import Judged, Verdict
from shutline.claims.question_data import Worded, question_words
from shutline.claims.questions import Asked, asked, mended
from shutline.claims.record import Known, KnownFact, Record, may_touch
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying, Spot
from shutline.claims.signs import leaning, stems_of
from shutline.claims.told_values import same_value
from shutline.claims.verdict import about_done, judge
from shutline.claims.written_data import WrittenWords
from shutline.remarks.tokens import structure_words
from shutline.survey.coverage import Coverage


class Kind(StrEnum):
    """What kind of answer it is."""

    YES = "yes"
    NO = "no"
    UNSURE = "unsure"
    """The file itself leaves it open."""
    VALUE = "value"
    """A fact was asked for, and this is it."""
    TOLD = "told"
    """It was asked how a part is: everything that is known of it."""
    NOT_LOOKED_AT = "not looked at"
    """Nobody looked at that part, and the guide asks for it."""
    NOT_RECORDED = "not recorded"
    """The file is silent about it."""


SILENT = frozenset({Kind.NOT_LOOKED_AT, Kind.NOT_RECORDED})
_CAR = "car"
_WORK = frozenset({"renewed", "repaint", "nonoriginal"})
"""What was done to a car, and may be asked for as a fault is: 'has it been painted?'"""
_WHOLE_METAL = frozenset({"sound", "renewed", "original"})
"""How metal is that wants no welding, where no rust is told of it."""
_WORST = (Severity.SEVERE, Severity.MODERATE, None, Severity.SLIGHT)


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one question.

    `value` is the value of a fact, as the file has it, and `facts` what it stands on (two where they are at odds).
    `known` are the findings the answer stands on, the nearest first; `beside` what else is known of the part, for an
    answer that is silent. `checks` are keys of the survey's open checks for that part, to put on the second route.
    `start_s` and `source` are the moment, None and "" where it stands on none.
    """

    question: str
    kind: Kind
    asked: Asked
    value: int | float | str | bool | None = None
    unit: str | None = None
    known: tuple[Known, ...] = ()
    facts: tuple[KnownFact, ...] = ()
    beside: tuple[Known, ...] = ()
    checks: tuple[str, ...] = ()

    @property
    def start_s(self) -> float | None:
        """The first moment it stands on, seconds from the start of that recording."""
        if self.known:
            return self.known[0].finding.start_s
        return next((f.start_s for k in self.facts for f in k.fact.footings if f.start_s is not None), None)

    @property
    def silent(self) -> bool:
        """Whether nothing is known to answer with."""
        return self.kind in SILENT


def answer(
    question: str, on: Record, *, looked_at: Coverage | None = None, words: WrittenWords | None = None
) -> Answer:
    """Answer a question from what is known, and from nothing else.

    Parameters
    ----------
    question : str
        As it was typed.
    on : Record
        What is known of the car.
    looked_at : Coverage, optional
        The car file held against its guide, to tell 'not looked at' from 'not recorded'.
    words : WrittenWords, optional
        The phrases to look for.

    Returns
    -------
    Answer
        Never a guess: what the file does not say is not recorded.
    """
    what = asked(question, drive=on.drive, words=words)
    if what.fact:
        return _of_fact(question, what, on)
    if what.values:
        return _of_values(question, what, on)
    told = _of_parts(question, what, on, looked_at)
    if what.worded is not None and not told.silent and not any(_in_words(what.worded, k) for k in told.known):
        return _silent(question, what, on, looked_at)
    if (what.how or _is_choice(what)) and told.kind in (Kind.YES, Kind.NO):
        return replace(told, kind=Kind.TOLD)
    return told


def _of_parts(question: str, what: Asked, on: Record, looked_at: Coverage | None) -> Answer:
    """Answer what is asked of parts, or of the whole car."""
    if what.faults:
        return _of_faults(question, what, on, looked_at)
    wide = [saying for saying in what.sayings if _asks_for_any(saying)]
    if what.mended and any(_is_defect(saying) and saying.spot is not None for saying in what.sayings):
        return _of_mending(question, what, on)
    if wide:
        return _of_any(question, what, wide, on, looked_at)
    return (_of_part if what.open else _of_sayings)(question, what, on, looked_at)


def _is_choice(what: Asked) -> bool:
    """Tell whether it is asked which of two is so, good or bad: 'are the carpets dry or wet'."""
    leanings = {leaning(saying.condition, saying.found) for saying in what.sayings if saying.spot is not None}
    return what.choice and {1, -1} <= leanings


def _in_words(worded: Worded, known: Known) -> bool:
    """Tell whether a finding was told in words that answer a question which nothing else answers."""
    quoted = " ".join(footing.quote for footing in known.finding.footings).casefold()
    return known.finding.condition in worded.conditions or _holds(worded, quoted)


def _holds(worded: Worded, quoted: str) -> bool:
    return any(re.search(rf"\b{re.escape(word)}", quoted) for word in worded.words)


def _of_sayings(question: str, what: Asked, on: Record, looked_at: Coverage | None) -> Answer:
    """Answer yes or no, by what would be true if the answer were yes."""
    judged = [(saying, _judged(saying, on)) for saying in what.sayings]
    if both := _of_both_kinds(judged):
        return Answer(question, Kind.TOLD, what, known=both)
    for verdict, kind in ((Verdict.AT_ODDS, Kind.NO), (Verdict.BACKED, Kind.YES)):
        told = _decisive(judged, verdict)
        if told is not None:
            alike = [row for row in judged if row[1].verdict is verdict and row[0].spot == told[0].spot]
            known = (k for saying, one in (told, *alike) for k in _nearest(one.known, saying))
            return Answer(question, kind, what, known=tuple(dict.fromkeys(known)), facts=told[1].facts)
    done = tuple(
        one
        for saying in what.sayings
        if saying.spot is not None
        for one in about_done(saying.spot, on)
        if one.finding.condition == saying.condition
    )
    if done:
        return Answer(question, Kind.TOLD, what, known=tuple(dict.fromkeys(done)))
    left_open = next((j for _, j in judged if j.doubt is not None and j.doubt.name == "UNSURE"), None)
    if left_open is not None:
        return Answer(question, Kind.UNSURE, what, known=left_open.known)
    if faults := _slight_faults(what, on):
        return Answer(question, Kind.TOLD, what, known=faults)
    return _silent(question, what, on, looked_at)


def _slight_faults(what: Asked, on: Record) -> tuple[Known, ...]:
    """Give what is known of a part that is asked to be good, where some of it is a fault: it says more than a no."""
    praised = [s.spot for s in what.sayings if s.condition == "sound" and s.found is Found.YES and s.spot is not None]
    if len(praised) != len(what.sayings) or any(spot.part in relations().whole for spot in praised):
        return ()
    known = [k for spot in praised for k in _about(spot, on) if k.finding.part == spot.part]
    return _faults_first(known) if any(is_fault(k) for k in known) else ()


def _faults_first(known: Iterable[Known]) -> tuple[Known, ...]:
    return tuple(sorted(dict.fromkeys(known), key=lambda one: not is_fault(one)))


def _of_both_kinds(judged: list[tuple[Saying, Judged]]) -> tuple[Known, ...]:
    """Give what is known where a fault and something else are asked for, and one is so and the other is not.

    Neither yes nor no is an answer to 'is there a tear in the seat, and is it original?'
    """
    asked_for = {_is_defect(saying) and saying.found is Found.YES for saying, _ in judged}
    if len(asked_for) < 2 or not {Verdict.AT_ODDS, Verdict.BACKED} <= {one.verdict for _, one in judged}:
        return ()
    return tuple(dict.fromkeys(k for saying, one in judged for k in _nearest(one.known, saying)))


def _decisive(judged: list[tuple[Saying, Judged]], verdict: Verdict) -> tuple[Saying, Judged] | None:
    """Give the saying that settles it: of several faults one that is there, of several praises one that is not so.

    'Any rust or dents?' is answered yes by either; 'is it dry and sound?' no by either.
    """
    if any(j.doubt is not None and j.doubt.name == "UNSURE" for _, j in judged) and verdict is Verdict.BACKED:
        return None
    there = [row for row in judged if row[0].found is Found.YES and _is_defect(row[0])]
    if len(there) > 1 and len(there) == len(judged):
        backed = next((row for row in judged if row[1].verdict is Verdict.BACKED), None)
        if backed is not None:
            return backed if verdict is Verdict.BACKED else None
        if not all(j.verdict is verdict for _, j in judged):
            return None
    return next((row for row in judged if row[1].verdict is verdict), None)


def _is_defect(saying: Saying) -> bool:
    return saying.condition in vocabulary().conditions and vocabulary().is_defect(saying.condition)


def _judged(saying: Saying, on: Record) -> Judged:
    """Hold a saying against the file; praise of a pair is not so where it is not so of one of them.

    What is known of another part that may be meant is no answer where a part has a place of its own: damp in the boot
    says nothing of 'are the carpets ok'.
    """
    judged, spot = judge(saying, on), saying.spot
    if spot is None:
        return judged
    if spot.part in question_words().own_place:
        of_it = any(one.finding.part == spot.part for one in judged.known)
        return judged if of_it else Judged(Verdict.UNBACKED, ())
    if judged.verdict is Verdict.AT_ODDS and _is_defect(saying) and saying.found is Found.YES:
        # 'Any filler in the doors' is not answered by one door that has none.
        all_known = spot.side is not Side.BOTH or on_both_sides(judged.known)
        return judged if all_known else Judged(Verdict.UNBACKED, ())
    if judged.verdict is Verdict.UNBACKED and saying.condition == "sound" and saying.found is Found.YES:
        against = _against_one(spot, on) if spot.side is Side.BOTH else ()
        return Judged(Verdict.AT_ODDS, against) if against else judged
    return judged


def _against_one(spot: Spot, on: Record) -> tuple[Known, ...]:
    """Give what is wrong, and more than slightly, with one of a pair."""
    tables = relations()
    bad = {*tables.against_good.get("sound", ()), *tables.against_good_unless_slight.get("sound", ())}
    return tuple(
        one
        for one in on.findings.get(spot.part, ())
        if one.finding.condition in bad
        and one.finding.found is Found.YES
        and one.finding.severity is not Severity.SLIGHT
        and one.finding.side in (Side.NEAR, Side.OFF)
        and may_touch(spot, one.spot)
    )


def _nearest(known: tuple[Known, ...], saying: Saying) -> tuple[Known, ...]:
    """Put first what shares the most words with the question, then what was said first."""
    return tuple(
        sorted(
            known,
            key=lambda k: (
                saying.spot is not None and k.finding.part != saying.spot.part,
                k.finding.condition != saying.condition,
            ),
        )
    )


def _of_fact(question: str, what: Asked, on: Record) -> Answer:
    known = on.facts.get(what.fact, ())
    if not known:
        return Answer(question, Kind.NOT_RECORDED, what)
    first = known[0].fact
    if what.worded is not None and len({k.fact.value for k in known}) == 1:
        quoted = " ".join(footing.quote for k in known for footing in k.fact.footings).casefold()
        if not _holds(what.worded, quoted):
            return Answer(question, Kind.NOT_RECORDED, what, value=first.value, unit=first.unit, facts=known)
    named = _value_named(question, what.fact)
    if named is not None:
        kind = Kind.YES if any(same_value(what.fact, named, None, k.fact.value, None) for k in known) else Kind.NO
        return Answer(question, kind, what, value=first.value, unit=first.unit, facts=known)
    return Answer(question, Kind.VALUE, what, value=first.value, unit=first.unit, facts=known)


def _value_named(question: str, fact: str) -> str | None:
    """Give the value that a question names to be confirmed, as 'is it left hand drive?' does."""
    plain = mended(question)
    if fact != "drive" or " or " in plain:
        return None
    return next((value for value, forms in question_words().drive.items() if any(f in plain for f in forms)), None)


def _of_values(question: str, what: Asked, on: Record) -> Answer:
    """Confirm values that a question names, or name the ones that the file has."""
    judged = [judge(saying, on) for saying in what.values]
    if what.choice and (facts := next((one.facts for one in judged if one.facts), ())):
        # '2 or 4 door?'
        first = facts[0].fact
        return Answer(question, Kind.VALUE, what, value=first.value, unit=first.unit, facts=facts)
    for verdict, kind in ((Verdict.AT_ODDS, Kind.NO), (Verdict.BACKED, Kind.YES)):
        told = next((one for one in judged if one.verdict is verdict and one.facts), None)
        if told is not None:
            first = told.facts[0].fact
            return Answer(question, kind, what, value=first.value, unit=first.unit, facts=told.facts)
    return Answer(question, Kind.NOT_RECORDED, what)


def _of_mending(question: str, what: Asked, on: Record) -> Answer:
    """Answer whether something was done about a fault: by work that is known of, or with the fault as it stands."""
    spots = [saying.spot for saying in what.sayings if saying.spot is not None and _is_defect(saying)]
    kinds = {saying.condition for saying in what.sayings if _is_defect(saying)}
    related = kinds.union(*(relations().backed_by_there.get(kind, ()) for kind in kinds))
    done = [one for spot in spots for one in about_done(spot, on) if one.finding.condition in related]
    if done:
        return Answer(question, Kind.TOLD, what, known=tuple(dict.fromkeys(done)))
    about = dict.fromkeys(known for spot in spots for known in _about(spot, on))
    renewed = tuple(one for one in about if one.finding.condition == "renewed" and one.finding.found is Found.YES)
    if renewed:
        return Answer(question, Kind.TOLD, what, known=renewed)
    stands = tuple(one for one in about if one.finding.condition in related and one.finding.found is not Found.NO)
    return Answer(question, Kind.NOT_RECORDED, what, beside=stands)


def _asks_for_any(saying: Saying) -> bool:
    """Tell whether it is asked for any fault or work of a kind on the whole car, or in a whole region of it."""
    wide = saying.spot is not None and saying.spot.part in relations().whole
    return wide and (_is_defect(saying) or saying.condition in _WORK)


def _of_any(question: str, what: Asked, wide: list[Saying], on: Record, looked_at: Coverage | None) -> Answer:
    """Answer whether there is any of some faults or work: with all there is, the worst first, and never with praise."""
    there: dict[Known, None] = {}
    denied: dict[Known, None] = {}
    for saying in wide:
        assert saying.spot is not None  # noqa: S101 - it asks for any
        kinds = {saying.condition, *relations().backed_by_there.get(saying.condition, ())}
        for known in on.within(saying.spot.part):
            if known.finding.condition not in kinds or (saying.condition == "renewed" and not _shares(saying, known)):
                continue
            (there if known.finding.found is not Found.NO else denied)[known] = None
    sure = [known for known in there if known.finding.found is Found.YES]
    if sure:
        kind = Kind.TOLD if what.open else Kind.NO if all(s.found is Found.NO for s in wide) else Kind.YES
        return Answer(question, kind, what, known=tuple(sorted(sure, key=_how_bad)))
    if there:
        return Answer(question, Kind.UNSURE, what, known=tuple(there))
    parts = {saying.spot.part for saying in wide if saying.spot is not None}
    of_all = tuple(known for known in denied if known.finding.part in parts)
    if of_all:
        kind = Kind.YES if all(s.found is Found.NO for s in wide) else Kind.NO
        return Answer(question, kind, what, known=of_all)
    return Answer(question, Kind.NOT_RECORDED, what, beside=tuple(denied), checks=_checks(what.spots, looked_at))


def _of_faults(question: str, what: Asked, on: Record, looked_at: Coverage | None) -> Answer:
    """Tell all that is wrong with a part or the car, the worst first; of a part without a fault, all that is known."""
    if what.welding and (settled := _of_welding(question, what, on)) is not None:
        return settled
    known = [k for spot in what.spots for k in _about(spot, on) if is_fault(k)]
    if not known:
        whole = any(spot.part in relations().whole for spot in what.spots)
        return (_silent if whole else _of_part)(question, what, on, looked_at)
    return Answer(question, Kind.TOLD, what, known=tuple(sorted(dict.fromkeys(known), key=_how_bad)))


def _of_welding(question: str, what: Asked, on: Record) -> Answer | None:
    """Answer whether there is welding to do: a hole wants it, or rust of which it was said; sound metal does not.

    Nothing where what is known does not settle it: of rust that is only told of, nobody has said that it goes through.
    """
    known = [k for spot in what.spots for k in _about(spot, on)]
    rusty = [k for k in known if k.finding.condition in relations().against_denied["rust"]]
    eaten = [k for k in rusty if k.finding.found is Found.YES]
    wants = [k for k in eaten if k.finding.condition == "perforation" or _says_weld(k)]
    if wants:
        return Answer(question, Kind.YES, what, known=tuple(dict.fromkeys(sorted(wants, key=_how_bad))))
    if any(spot.part == _CAR for spot in what.spots):
        kind = Kind.TOLD if eaten else Kind.NOT_RECORDED
        return Answer(question, kind, what, known=tuple(dict.fromkeys(sorted(eaten, key=_how_bad))))
    if any(spot.part in relations().whole for spot in what.spots):
        return None
    good = [k for k in known if k.finding.found is Found.YES and k.finding.condition in _WHOLE_METAL]
    good += [k for k in rusty if k.finding.found is Found.NO]
    if any(k.finding.found is not Found.NO for k in rusty) or not all(_all_there(spot, good) for spot in what.spots):
        return None
    return Answer(question, Kind.NO, what, known=tuple(dict.fromkeys(good)))


def _all_there(spot: Spot, known: Sequence[Known]) -> bool:
    """Tell whether something is known of each side that is asked of."""
    if spot.side in (None, Side.BOTH):
        return on_both_sides(known)
    return any(one.finding.side in (None, Side.BOTH, spot.side) for one in known)


def _says_weld(known: Known) -> bool:
    quoted = " ".join(footing.quote for footing in known.finding.footings)
    return question_words().to_weld.search(quoted.casefold()) is not None


def is_fault(known: Known) -> bool:
    """Tell whether something wrong was found, or may have been."""
    return vocabulary().is_defect(known.finding.condition) and known.finding.found is not Found.NO


def _how_bad(known: Known) -> int:
    return _WORST.index(known.finding.severity)


def _shares(saying: Saying, known: Known) -> bool:
    """Tell whether a finding was told in some of the words of the question, small ones aside."""
    return bool((saying.words - structure_words()) & stems_of(known))


def _of_part(question: str, what: Asked, on: Record, looked_at: Coverage | None) -> Answer:
    known = tuple(k for spot in what.spots for k in (*_about(spot, on), *about_done(spot, on)))
    if what.much and (kinds := {saying.condition for saying in what.sayings if _is_defect(saying)}):
        related = kinds.union(*(relations().backed_by_there.get(kind, ()) for kind in kinds))
        known = tuple(k for k in known if k.finding.condition in related)
    if not known:
        return _silent(question, what, on, looked_at)
    return Answer(question, Kind.TOLD, what, known=_faults_first(known) if what.much else tuple(dict.fromkeys(known)))


def _about(spot: Spot, on: Record) -> list[Known]:
    return [k for k in on.within(spot.part) if may_touch(spot, k.spot)]


def _silent(question: str, what: Asked, on: Record, looked_at: Coverage | None) -> Answer:
    checks = _checks(what.spots, looked_at)
    beside = tuple(dict.fromkeys(k for spot in what.spots for k in _about(spot, on) if _is_near(k, spot, what)))
    kind = Kind.NOT_LOOKED_AT if checks and not beside else Kind.NOT_RECORDED
    return Answer(question, kind, what, beside=beside, checks=checks)


def _is_near(known: Known, spot: Spot, what: Asked) -> bool:
    """Tell whether a finding is worth telling beside a question without an answer: of the car not all that is known."""
    if spot.part != _CAR or known.finding.part == _CAR:
        return True
    kinds = {saying.condition for saying in what.sayings if _is_defect(saying)}
    worded = what.worded is not None and _in_words(what.worded, known)
    return worded or known.finding.condition in kinds


def _checks(spots: tuple[Spot, ...], looked_at: Coverage | None) -> tuple[str, ...]:
    if looked_at is None:
        return ()
    return tuple(
        one.asked.key
        for spot in spots
        for one in looked_at.open
        if one.asked.check.part == spot.part
        and (spot.side in (None, Side.BOTH) or one.asked.side in (None, spot.side))
        and (spot.position is None or one.asked.position in (None, spot.position))
    )
