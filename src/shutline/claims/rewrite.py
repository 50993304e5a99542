"""A text beside a rewrite of it, over one car file: what it claims beyond it, and which faults it leaves out."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.claims.check import Checked, Claim, check
from shutline.claims.judged import Verdict
from shutline.claims.lines import number_around, sentences
from shutline.claims.marked_up import marked_up
from shutline.claims.record import Record, may_touch
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying, Spot
from shutline.claims.untold import Untold, unseen_parts, untold
from shutline.claims.written_data import WrittenWords, any_of, small_words


@dataclass(frozen=True, slots=True)
class Compared:
    """What a rewrite changes.

    `added` are its claims that are unbacked or at odds and that the former text did not make; `dropped` the faults that
    the former text named and the rewrite does not. `untold` is what it may state in new words that nothing has read.
    `silenced` are the parts of which the former text says that nobody looked at them and the rewrite does not, in the
    former's words: that is told, and no reason to refuse. `marked` are the places with markup or letters that are not
    seen, by which words could be hidden or struck out. `checked` is the rewrite, checked.
    """

    checked: Checked
    added: tuple[Claim, ...]
    dropped: tuple[Claim, ...]
    untold: tuple[Untold, ...] = ()
    silenced: tuple[str, ...] = ()
    marked: tuple[str, ...] = ()

    @property
    def accepted(self) -> bool:
        """Whether it may take the place of the former text: nothing added that has no footing, no fault left out."""
        return not (self.added or self.dropped or self.untold or self.marked or self.checked.unread)


def compare(former: str, rewritten: str, on: Record, *, words: WrittenWords | None = None) -> Compared:
    """Hold a rewrite against the text it is to replace.

    Parameters
    ----------
    former, rewritten : str
        The two texts. Both are data.
    on : Record
        What is known of the car.
    words : WrittenWords, optional
        The phrases to look for.

    Returns
    -------
    Compared
        A fault said in other or milder words is not dropped: 'a hole in the sill' and 'the sill is rusty' name one
        fault. A rewrite too long to be read to its end is never accepted.
    """
    before = check(former, on, words=words)
    after = check(rewritten, on, words=words)
    added = tuple(
        claim
        for claim in after.claims
        if claim.verdict is not Verdict.BACKED
        and not any(_claims_as_much(old.saying, claim.saying) for old in before.claims)
    )
    dropped = tuple(
        claim
        for claim in before.claims
        if names_a_fault(claim.saying)
        and not any(_stands_for(claim, new) and not undermined(new.saying, rewritten, former) for new in after.claims)
    )
    new = untold(rewritten, former, after.claims, drive=on.drive, words=words)
    silent = unseen_parts(former, drive=on.drive, words=words, beside=rewritten)
    still = unseen_parts(rewritten, drive=on.drive, words=words) if silent else {}
    stood = set(marked_up(former))
    marked = tuple(one for one in marked_up(rewritten) if one not in stood)
    silenced = tuple(word for part, word in silent.items() if part not in still)
    return Compared(after, added, dropped, new, silenced, marked)


def names_a_fault(saying: Saying) -> bool:
    """Tell whether a saying states that something is wrong, or may be."""
    return saying.spot is not None and saying.found is not Found.NO and vocabulary().is_defect(saying.condition)


def _claims_as_much(old: Saying, new: Saying) -> bool:
    """Tell whether the former text made the same claim of no less of the car."""
    if old.fact is not None or new.fact is not None:
        return old.same_claim(new)
    if old.spot is None and new.spot is None:
        return old.same_claim(new)
    if old.spot is None or new.spot is None or (old.condition, old.found) != (new.condition, new.found):
        return False
    wide = relations().whole.get(old.spot.part, frozenset())
    return (old.spot.part == new.spot.part or new.spot.part in wide) and _holds(old.spot, new.spot)


def _holds(wide: Spot, narrow: Spot) -> bool:
    on_side = wide.side is narrow.side or (wide.side is not None and wide.side.value == "both")
    at_end = wide.position is narrow.position or (wide.position is not None and wide.position.value == "both")
    return on_side and at_end


def _stands_for(old: Claim, new: Claim) -> bool:
    """Tell whether a claim tells a fault again, as surely as it was told."""
    as_sure = old.saying.found is not Found.YES or (
        new.saying.found is Found.YES and (new.verdict is Verdict.BACKED or old.verdict is not Verdict.BACKED)
    )
    return as_sure and _same_fault(old.saying, new.saying)


def undermined(saying: Saying, text: str, former: str) -> bool:
    """Tell whether a fault is told as doubtful, as over, or of another car, by words that the former text has not.

    So is one that is asked for: 'the boot is damp?'.
    """
    if saying.found is not Found.YES:
        return False
    around, within = _undermining()
    parts = list(sentences(text))
    at = number_around(parts, saying.first)
    said = parts[at].text
    if at + 1 < len(parts) and len(parts[at + 1].text.split()) <= _SHORT:
        said = f"{said} {parts[at + 1].text}"
    if said in former:
        return False
    if parts[at].text.endswith("?"):
        return True
    return bool(around.search(said) or within.search(saying.quote))


_SHORT = 6
"""The most words of a sentence that may take back the one before it: 'It is not.'"""


@cache
def _undermining() -> tuple[re.Pattern[str], re.Pattern[str]]:
    words = small_words().undermined
    around, within = (re.compile(rf"\b{any_of(words[name])}\b", re.IGNORECASE) for name in ("around", "within"))
    return around, within


def _same_fault(old: Saying, new: Saying) -> bool:
    if not names_a_fault(new) or old.spot is None or new.spot is None:
        return False
    table = relations().backed_by_there
    related = new.condition in table.get(old.condition, ()) or old.condition in table.get(new.condition, ())
    parts = {old.spot.part, *old.spot.others} & {new.spot.part, *new.spot.others}
    return related and bool(parts) and may_touch(old.spot, new.spot)
