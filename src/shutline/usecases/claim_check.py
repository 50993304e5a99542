"""Check a text about a car against its file, and hold a rewrite against the text it is to replace."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile
from shutline.car.errors import Problem, UserError
from shutline.car.findings import State
from shutline.claims.check import Checked, Claim, check, is_broad
from shutline.claims.judged import Doubt, Verdict
from shutline.claims.record import record_of, same_record
from shutline.claims.rewrite import compare
from shutline.claims.written_data import WrittenWords, shipped_words, written_words
from shutline.publish.wording import joined
from shutline.usecases.car_survey import outline_coverage
from shutline.usecases.claim_words import StandsOn, Wording, part_label, reply, saying_words
from shutline.usecases.own_words import own_words, words_mark
from shutline.words.facts import told_plainly

if TYPE_CHECKING:
    from shutline.claims.record import Record
    from shutline.store import Store
    from shutline.survey import Coverage

LONGEST_TEXT = 100_000
"""Letters of a text that is taken at all."""
_MOST_SHOWN = 6
"""How much of what a claim stands on, or is against, is shown."""
_DOUBTS = {
    Doubt.SILENT: "why.silent",
    Doubt.OTHER_MATTER: "why.other",
    Doubt.ONE_OF_SEVERAL: "why.several",
    Doubt.UNSURE: "why.unsure",
    Doubt.PUT_RIGHT: "why.put_right",
    Doubt.NOT_SURE: "why.not_sure",
    Doubt.NOT_NAMED: "why.not_named",
}


@dataclass(frozen=True, slots=True)
class ClaimLine:
    """One claim of a text.

    `first` and `end` are the places of its letters, `quote` these letters, `read_as` what it was read as, empty where
    it is of nothing that a car file has a name for. `why` says
    in a sentence what the file makes of it; `stands_on` what backs it, or what speaks against it, the nearest first;
    `more` counts what is not shown. `not_looked_at` are the parts it speaks over that nobody has looked at.
    """

    first: int
    end: int
    quote: str
    verdict: str
    read_as: str
    why: str
    stands_on: tuple[StandsOn, ...] = ()
    more: int = 0
    not_looked_at: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WordsChecked:
    """A text checked against a car: its claims in order, and how many are of each verdict."""

    car: str
    title: str
    claims: tuple[ClaimLine, ...]
    backed: int
    at_odds: int
    unbacked: int
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class RewriteChecked:
    """A rewrite beside the text it is to replace: whether it may, what it adds without footing, what it leaves out.

    `untold` is what it may state in new words that nothing reads; `silenced` are parts of which the other text says
    that nobody looked at them, and it does not. `marked` are the places with markup or letters that are not seen.
    """

    accepted: bool
    checked: WordsChecked
    added: tuple[ClaimLine, ...]
    dropped: tuple[ClaimLine, ...]
    untold: tuple[str, ...] = ()
    silenced: tuple[str, ...] = ()
    marked: tuple[str, ...] = ()


class Beside:
    """What a text is held against: the car, its record, and the phrases that are read with.

    What was looked at is found out only where it is asked for: it takes longer than reading a sentence.
    """

    def __init__(self, store: Store, car: CarFile) -> None:
        self._store = store
        self.car = car
        self.record: Record = same_record(record_of(car))
        self.words = _words(words_mark())
        self.wording = Wording(car)
        self.problems: tuple[Problem, ...] = ()
        self._looked_at: Coverage | None = None

    def looked_at(self) -> Coverage:
        """Hold the car against its guide."""
        if self._looked_at is None:
            self._looked_at, self.problems = outline_coverage(self._store, self.car)
        return self._looked_at


def beside(store: Store, name: str) -> Beside:
    """Lay out what is known of a car for claims and questions to be held against.

    Raises
    ------
    NotFoundError, UserError
        No such car; the user's own words cannot be read.
    """
    return Beside(store, store.car_outline(store.find_car("-".join(name.split())).name).car)


def firmly_beside(store: Store, car: CarFile) -> Beside:
    """Lay out of a car only what stands, what was put right, and facts that may be told plainly.

    What was only heard backs nothing that goes out.
    """
    stands = tuple(kept for kept in car.told() if kept.finding.state is State.STANDS or kept.put_right is not None)
    firm = tuple(kept for kept in car.facts if told_plainly(kept.fact))
    return Beside(store, replace(car, findings=stands, facts=firm))


@lru_cache(maxsize=2)
def _words(mark: str) -> WrittenWords:
    """Give the phrases, with those of the user's own; `mark` changes with what these hold."""
    own = own_words()
    return written_words(own.lexicon) if own.edition and mark else shipped_words()


def check_words(store: Store, name: str, text: str) -> WordsChecked:
    """Read a text claim by claim, and hold each against what is known of a car.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    text : str
        Any words about it. They are data: nothing in them is done, and nothing is kept.

    Raises
    ------
    NotFoundError, UserError
        No such car; the text is longer than `LONGEST_TEXT` (slug ``text-too-long``).
    """
    refuse_long(text)
    with_it = beside(store, name)
    checked = check(text, with_it.record, words=with_it.words)
    if any(is_broad(claim.saying) for claim in checked.claims):
        checked = checked.beside(with_it.looked_at())
    return words_checked(checked, with_it)


def check_rewrite(store: Store, name: str, former: str, rewritten: str) -> RewriteChecked:
    """Tell whether a rewrite may take the place of a text: it adds no claim without footing and drops no fault.

    Raises as `check_words` does.
    """
    refuse_long(former)
    refuse_long(rewritten)
    with_it = beside(store, name)
    compared = compare(former, rewritten, with_it.record, words=with_it.words)
    return RewriteChecked(
        compared.accepted,
        words_checked(compared.checked, with_it),
        tuple(claim_line(claim, with_it) for claim in compared.added),
        tuple(claim_line(claim, with_it) for claim in compared.dropped),
        tuple(one.quote for one in compared.untold),
        compared.silenced,
        compared.marked,
    )


def refuse_long(text: str) -> None:
    """Refuse a text that is too long to be a description (slug ``text-too-long``)."""
    if len(text) > LONGEST_TEXT:
        found = f"{len(text):,} letters"
        allowed = f"at most {LONGEST_TEXT:,}"
        advice = f"Take out {len(text) - LONGEST_TEXT:,} of them, or check it in pieces; nothing of it was changed."
        raise UserError(Problem("text-too-long", "the text", found, allowed, advice))


def words_checked(checked: Checked, with_it: Beside) -> WordsChecked:
    """Put what the check found into words."""
    problems = with_it.problems
    if checked.unread:
        problems = (*problems, _unread(checked.unread))
    return WordsChecked(
        with_it.car.name,
        with_it.car.title,
        tuple(claim_line(claim, with_it) for claim in checked.claims),
        checked.count(Verdict.BACKED),
        checked.count(Verdict.AT_ODDS),
        checked.count(Verdict.UNBACKED),
        problems,
    )


def _unread(letters: int) -> Problem:
    return Problem(
        "text-not-read-to-its-end",
        "the text",
        f"the last {letters:,} letters were not read",
        "what stands there is not checked",
        "Check them by themselves.",
    )


def claim_line(claim: Claim, with_it: Beside) -> ClaimLine:
    """Put one claim into words."""
    judged, saying = claim.judged, claim.saying
    why = reply(_DOUBTS[judged.doubt]) if judged.doubt is not None else reply(f"why.{claim.verdict.value}")
    stands_on = (*with_it.wording.known(judged.known), *with_it.wording.facts(judged.facts))
    parts = tuple(part_label(part) for part in claim.not_looked_at)
    if parts:
        why = f"{why} {reply('why.not_looked_at', parts=joined(list(parts[:_MOST_SHOWN])))}"
    return ClaimLine(
        saying.first,
        saying.end,
        saying.quote,
        claim.verdict.value,
        saying_words(saying),
        why,
        stands_on[:_MOST_SHOWN],
        max(0, len(stands_on) - _MOST_SHOWN),
        parts,
    )
