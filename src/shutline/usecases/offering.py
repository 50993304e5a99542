"""A rewrite in the place of the draft: held against it and against what stands, accepted by a person, taken back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.claims.record import may_touch
from shutline.claims.relations import relations
from shutline.claims.rewrite import compare, names_a_fault, undermined
from shutline.claims.sayings import Saying, Spot
from shutline.usecases.accepted_words import accepted_now, accepted_out, in_words, standing_mark
from shutline.usecases.claim_check import ClaimLine, WordsChecked, claim_line, firmly_beside, refuse_long, words_checked
from shutline.usecases.claim_words import finding_words
from shutline.usecases.describe import Described, described
from shutline.usecases.look import find_car
from shutline.usecases.private import private_for
from shutline.usecases.settings import author as present_author
from shutline.words.facts import told_plainly

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shutline.car.carfile import CarFile
    from shutline.car.going_out import OfferedText
    from shutline.store import Store
    from shutline.words import Draft

_REMEDIES = "doing"
"""The section of a draft that tells what is to be done."""


@dataclass(frozen=True, slots=True)
class FaultLeftOut:
    """A fault or doubt that the draft names and a rewrite does not: in words, its id, and the draft's sentence."""

    words: str
    id: str
    sentence: str


@dataclass(frozen=True, slots=True)
class RewriteHeld:
    """A rewrite held against the draft and what stands.

    `accepted` tells that nothing stands against it. `added` are claims without footing, or at odds with what stands,
    that the draft does not make; `dropped` faults that it leaves out; `untold` what it says of parts in words that
    nothing reads; `private` the lines with words that may not leave; `marked` places with markup, or with letters that
    are not seen, which could hide words. `silenced` are the parts of which the draft says
    that nobody looked at them and it does not: that is told, and stands against nothing. `in_force` is the id of the
    accepted words whose place it would take, 0 for the draft. `if_vouched` tells that only `untold` stands against it:
    it may go out once a person answers for these words.
    """

    car: str
    title: str
    accepted: bool
    checked: WordsChecked
    added: tuple[ClaimLine, ...]
    dropped: tuple[FaultLeftOut, ...]
    private: tuple[str, ...]
    in_force: int
    untold: tuple[str, ...] = ()
    silenced: tuple[str, ...] = ()
    if_vouched: bool = False
    marked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Offered:
    """The words a car goes out with.

    `paragraphs` are those that go out now, `headings` what stands over each, "" for nothing. `present` are the accepted
    words in force, None for the draft; `goes_out` tells whether they do: they do not once something else stands than
    when they were accepted. `texts` are all that were ever accepted, taken back ones too, the newest first.
    """

    car: str
    title: str
    paragraphs: tuple[str, ...]
    present: OfferedText | None
    goes_out: bool
    texts: tuple[OfferedText, ...]
    headings: tuple[str, ...] = ()


def offered(store: Store, name: str) -> Offered:
    """Give the words a car goes out with, and those accepted before.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do; as `described`.
    """
    car = find_car(store, name)
    present = accepted_now(store, car)
    going = accepted_out(store, car)
    draft = described(store, car).draft
    if going is not None:
        draft = in_words(draft, going.words, private_for(store, car))
    return Offered(
        car.name,
        car.title,
        tuple(one.text for one in draft.paragraphs),
        present,
        going is not None,
        tuple(reversed(store.offered_texts(car.name))),
        tuple(one.heading for one in draft.paragraphs),
    )


def hold_rewrite(store: Store, name: str, text: str) -> RewriteHeld:
    """Hold a rewrite against the full draft of a car, claim by claim, and against all faults that stand.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    text : str
        The rewrite, by whoever or whatever. It is data: nothing in it is done, and nothing is kept.

    Raises
    ------
    NotFoundError, UserError
        No such car; the text is too long (slug ``text-too-long``).
    """
    refuse_long(text)
    return _held(store, find_car(store, name), text)


def accept_rewrite(
    store: Store,
    name: str,
    text: str,
    *,
    author: str | None = None,
    vouched: Sequence[str] = (),
    in_force: int | None = None,
) -> Offered:
    """Let a rewrite go out in the place of the draft; it is held against it once more first.

    Parameters
    ----------
    store, name, text
        As for `hold_rewrite`.
    author : str, optional
        Who says so; the name the user is logged in with when left out.
    vouched : sequence of str, optional
        The words that nothing reads, as the held rewrite gives them in `untold`, for which that person answers: they
        state nothing, or what is so. They are kept with the text.
    in_force : int, optional
        As the held rewrite had it; looked at when it is given.

    Raises
    ------
    NotFoundError, UserError
        As `hold_rewrite`; something stands against it (slug ``rewrite-refused``); other words were accepted meanwhile
        (``offered-changed``).
    """
    refuse_long(text)
    car = find_car(store, name)
    held = _held(store, car, text)
    answered_for = held.if_vouched and set(held.untold) <= set(vouched)
    if not held.accepted and not answered_for:
        raise _refused(held)
    former = accepted_out(store, car)
    store.add_offered(
        car.name,
        text.replace("\r\n", "\n").strip(),
        former=described(store, car).text if former is None else former.words,
        mark=standing_mark(car),
        author=author or present_author(),
        vouched=held.untold,
        expected=in_force,
    )
    return offered(store, car.name)


def take_back_rewrite(store: Store, name: str, *, author: str | None = None, in_force: int | None = None) -> Offered:
    """Take back the accepted words in force: those before them, or the draft, go out again.

    Raises
    ------
    NotFoundError
        No such car, or none are in force (slug ``offered-unknown``).
    UserError
        Other words were accepted meanwhile (``offered-changed``).
    """
    car = find_car(store, name).name
    store.end_offered(car, author=author or present_author(), expected=in_force)
    return offered(store, car)


def _held(store: Store, car: CarFile, text: str) -> RewriteHeld:
    with_it = firmly_beside(store, car)
    made = described(store, car)
    compared = compare(_former(made, car, text), text, with_it.record, words=with_it.words)
    told = [claim.saying for claim in compared.checked.claims if not undermined(claim.saying, text, made.text)]
    dropped = left_out(made.draft, car, text, told)
    private = private_for(store, car)
    lines = tuple(line for line in map(str.strip, text.splitlines()) if line and private.text(line) != line)
    added = tuple(claim_line(claim, with_it) for claim in compared.added)
    present = accepted_now(store, car)
    untold = tuple(one.quote for one in compared.untold)
    against = bool(added or dropped or lines or compared.marked or compared.checked.unread) or not text.strip()
    return RewriteHeld(
        car.name,
        car.title,
        not against and not untold,
        words_checked(compared.checked, with_it),
        added,
        dropped,
        lines,
        0 if present is None else present.id,
        untold,
        compared.silenced,
        not against and bool(untold),
        compared.marked,
    )


def _former(made: Described, car: CarFile, text: str) -> str:
    """Give the text of a draft without the sentences that tell facts as said, but for those that a rewrite keeps.

    Else a rewrite could tell plainly what the draft tells as said only.
    """
    heard = {kept.id for kept in car.facts if not told_plainly(kept.fact)}
    whole, former = " ".join(text.split()), made.text
    for sentence in made.draft.sentences:
        if heard & {one.id for one in sentence.stands_on} and sentence.text not in whole:
            former = former.replace(sentence.text, "")
    return former


def left_out(draft: Draft, car: CarFile, text: str, sayings: Sequence[Saying]) -> tuple[FaultLeftOut, ...]:
    """Give the faults of the draft that no claim of a text names; a sentence that is kept as it is names its own."""
    whole = " ".join(text.split())
    findings = {kept.id: kept.finding for kept in car.going_out()}
    faults = [saying for saying in sayings if names_a_fault(saying)]
    out: dict[str, FaultLeftOut] = {}
    named: set[str] = set()
    # 'The bonnet wants paint' tells what is to be done, and not what is wrong.
    told = [one for part in draft.paragraphs if part.section != _REMEDIES for one in part.sentences]
    for sentence in told:
        if " ".join(sentence.text.split()) in whole:
            named |= set(sentence.faults)
    for sentence in told:
        for id_ in sentence.faults:
            finding = findings[id_]
            spot = Spot(finding.part, finding.side, finding.position)
            if id_ not in named and not any(_names(saying, spot, finding.condition) for saying in faults):
                out.setdefault(id_, FaultLeftOut(finding_words(finding), id_, sentence.text))
    return tuple(out.values())


def _names(saying: Saying, spot: Spot, condition: str) -> bool:
    """Tell whether a saying names a fault of a place, in whatever words: rust where the draft has a hole."""
    if saying.spot is None or spot.part not in {saying.spot.part, *saying.spot.others}:
        return False
    table = relations().backed_by_there
    related = saying.condition in table.get(condition, ()) or condition in table.get(saying.condition, ())
    return (related or saying.condition == condition) and may_touch(saying.spot, spot)


def _refused(held: RewriteHeld) -> UserError:
    against = [
        *(f"«{one.quote}» {one.verdict}" for one in held.added),
        *(f"left out: {one.words}" for one in held.dropped),
        *(f"«{one}» may state something, and nothing reads it" for one in held.untold),
        *(f"«{one}» has markup, or a letter that is not seen" for one in held.marked),
        *("a line with words that may not leave" for _ in held.private),
    ]
    found = "; ".join(against[:3]) or "a text that is empty, or too long to be read to its end"
    more = f", and {len(against) - 3} more" if len(against) > 3 else ""
    return UserError(
        Problem(
            slug="rewrite-refused",
            where=f"{held.car}, the rewrite",
            found=f"{found}{more}",
            allowed="a text that claims nothing without footing and leaves no fault out",
            advice=f"Mend it, and hold it against the draft again: shutline rewrite {held.car} FILE"
            + ("; or answer for the words that nothing reads: --accept --vouch" if held.if_vouched else ""),
        )
    )
