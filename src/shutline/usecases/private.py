"""The words of a car that may not leave: kept, taken back, and put together with what is private by itself."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile
from shutline.car.errors import Problem, UserError
from shutline.car.going_out import PrivateKind, PrivateWords
from shutline.car.papers import PRIVATE, ReadKind, ReadState
from shutline.car.past import PastKind
from shutline.usecases.house import house
from shutline.usecases.ledger_private import ledger_words
from shutline.usecases.mask_policy import mask_policy
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.publish.private import Private, Span
    from shutline.store import Store

LONGEST = 200
"""The longest private words, letters."""


@dataclass(frozen=True, slots=True)
class PrivateShown:
    """The private words of a car, those taken back too; and the facts that stay out because pictures are covered.

    `unheard` are words that were kept just now and that nobody says in what was heard. `people` are the words that are
    left out by themselves because they are taken for names of people who were there.
    """

    car: str
    title: str
    words: tuple[PrivateWords, ...]
    facts_left_out: tuple[str, ...]
    unheard: str = ""
    people: tuple[str, ...] = ()


def private_shown(store: Store, car: str) -> PrivateShown:
    """Give the private words of a car.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    from shutline.publish.called import people_in
    from shutline.publish.private import no_names_of

    there = store.find_car("-".join(car.split()))
    recordings = store.car_file(there.name).recordings
    words = store.private_words(there.name)
    no_names = no_names_of([(one.kind, one.words) for one in words if one.ended_at is None])
    said = [one.stretches for one in recordings if one.stretches]
    people = dict.fromkeys(name for one in said for name in people_in(one, no_names=no_names))
    return PrivateShown(there.name, there.title, words, facts_left_out(), people=tuple(people))


def keep_private(
    store: Store, car: str, words: str, *, kind: PrivateKind = PrivateKind.OTHER, author: str | None = None
) -> PrivateShown:
    """Keep words that go out nowhere: not on the buyer's page, not in its captions, and not in the sound of its film.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    words : str
        As they would be said or written; of a price its figure.
    kind : PrivateKind
        What sort of thing they are. A price is found however the sum is written or said.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car.
    UserError
        There are no words, or too many (slug ``private-refused``), or words of the language alone, as 'the'
        (``private-common``); what is to be no name is not taken for one (``private-no-name``).
    """
    from shutline.publish.private import is_common

    tidy = " ".join(words.split())
    if not any(letter.isalnum() for letter in tidy) or len(tidy) > LONGEST or not tidy.isprintable():
        raise UserError(
            Problem(
                slug="private-refused",
                where="private words",
                found=f"{len(tidy)} letters" if tidy else "no words",
                allowed=f"1 to {LONGEST} letters that can be shown, with a letter or a digit among them",
                advice="Give them as they would be said.",
            )
        )
    if is_common(tidy):
        raise UserError(_common(tidy))
    there = store.find_car("-".join(car.split()))
    if kind is PrivateKind.NO_NAME:
        return _keep_no_name(store, there.name, tidy, author=author or present_author())
    store.add_private(there.name, kind, tidy, author=author or present_author())
    unheard = "" if _is_said(store.car_file(there.name), kind, tidy) else tidy
    return replace(private_shown(store, there.name), unheard=unheard)


def _keep_no_name(store: Store, car: str, word: str, *, author: str) -> PrivateShown:
    """Keep that a word is nobody's name: only one that is taken for one now, so that nothing else is let out."""
    people = private_shown(store, car).people
    if word.casefold() not in {one.casefold() for one in people}:
        raise UserError(
            Problem(
                slug="private-no-name",
                where=f"{car}, '{word}'",
                found="it is not taken for a name",
                allowed=f"one of those that are: {', '.join(people)}" if people else "none is taken for one here",
                advice=f"List them: shutline private {car}",
            )
        )
    store.add_private(car, PrivateKind.NO_NAME, word, author=author)
    return private_shown(store, car)


def _common(words: str) -> Problem:
    return Problem(
        slug="private-common",
        where="private words",
        found=f"'{words}', which stands in every text: without it no page could be written",
        allowed="a name, a sum, a mark or other words that tell of somebody",
        advice="Give the whole name, or more of the words around it.",
    )


def _is_said(car: CarFile, kind: PrivateKind, words: str) -> bool:
    """Tell whether there is anything to take out: somebody says the words, or the title has them."""
    from shutline.publish.private import Private, private_of

    # What the shipped rules take out by themselves is no sign of it.
    kept, shipped = private_of([(kind, words)]), Private()
    texts = [car.title, *(stretch.text for recording in car.recordings for stretch in recording.stretches)]
    return any(kept.text(text) != shipped.text(text) for text in texts)


def take_back_private(store: Store, car: str, number: int, *, author: str | None = None) -> PrivateShown:
    """Take private words back, by their number; that they were kept stays known. Errors as for `keep_private`."""
    there = store.find_car("-".join(car.split()))
    store.end_private(there.name, number, author=author or present_author())
    return private_shown(store, there.name)


def private_for(store: Store, car: CarFile) -> Private:
    """Put together what may not leave of a car.

    What people said of it, the names of all who changed it, of all keepers and of all who are called by name in it,
    what the ledger says was paid for it and made on it, and, where the house has registration marks and chassis numbers
    covered, these, and the moments at which they were said.
    """
    from shutline.publish.private import private_of

    words = [(one.kind, one.words) for one in store.private_words(car.name) if one.ended_at is None]
    # A name of one word may be any word, and would be missed all over; such a name is written nowhere that goes out.
    names = dict.fromkeys((*_authors(car), *_keepers(car)))
    words += [(PrivateKind.OTHER, name) for name in names if len(name.split()) > 1]
    words += ledger_words(store, car.name)
    words += [(PrivateKind.OTHER, text) for text in private_on_papers(car)]
    left_out = facts_left_out()
    signs: list[str] = []
    spans: dict[str, tuple[Span, ...]] = {}
    for kept in car.facts:
        if kept.fact.name in left_out:
            signs.append(str(kept.fact.value))
            for footing in kept.fact.footings:
                if footing.start_s is not None and footing.end_s is not None:
                    spans[footing.source] = (*spans.get(footing.source, ()), (footing.start_s, footing.end_s))
    sources = (*(one.id for one in car.recordings), *(one.id for one in car.pictures))
    signs += [str(one.value) for one in store.figures(sources) if one.read.kind.value in left_out]
    if "registration_mark" in left_out:
        for record in car.tests:
            tests = record.record.get("motTests")
            listed = tests if isinstance(tests, list) else []
            at_tests = [one.get("registrationAtTimeOfTest") for one in listed if isinstance(one, dict)]
            signs += [record.mark, *(str(mark) for mark in at_tests if mark)]
    firm = house()
    return private_of(
        words,
        signs=signs,
        spans=spans,
        spared=(firm.name, *firm.lines, firm.telephone),
        said=[recording.stretches for recording in car.recordings],
    )


def private_on_papers(car: CarFile) -> tuple[str, ...]:
    """Give the private words read off the papers of a car, but for those that a person struck.

    Of an address each part is one too: name, street and town may be said apart.
    """
    words: list[str] = []
    for paper in car.papers:
        for one in paper.reads:
            if one.kind in PRIVATE and one.state is not ReadState.STRUCK and not one.withdrawn:
                words.append(one.value)
                if one.kind is ReadKind.ADDRESS:
                    parts = (part.rpartition(":")[2].strip() for part in one.value.split(","))
                    words += [part for part in parts if len(part.split()) > 1]
    # A name of one word may be any word, and would be missed all over.
    return tuple(dict.fromkeys(text for text in words if len(text.split()) > 1 or any(map(str.isdigit, text))))


def private_mark(private: Private) -> str:
    """Give what changes whenever something else may not leave."""
    signs, spans = sorted(private.signs), sorted(private.spans.items())
    told = (private.phrases, sorted(private.amounts), signs, spans, sorted(private.names), sorted(private.no_names))
    return hashlib.sha256(repr(told).encode("utf-8", "surrogatepass")).hexdigest()


def facts_left_out() -> tuple[str, ...]:
    """Give the facts that go out to no stranger because the house has them covered in pictures."""
    from shutline.car.masks import MaskKind
    from shutline.publish.buyers.public import SIGNS

    policy = mask_policy()
    if policy.covers == "nothing":
        return ()
    return tuple(name for name, kind in SIGNS.items() if MaskKind(kind) in policy.kinds)


def _authors(car: CarFile) -> Iterator[str]:
    from shutline.store import PROGRAM

    names = [change.author for change in car.changes]
    names += [change.author for one in car.findings for change in one.changes]
    names += [change.author for one in car.facts for change in one.changes]
    names += [change.author for one in car.past for change in one.changes]
    names += [change.author for one in car.tests for change in one.changes]
    for name in (*names, *(one.author for one in car.notes)):
        if name != PROGRAM:
            yield name


def _keepers(car: CarFile) -> Iterator[str]:
    """Give the names of the keepers that were ever entered, struck and former ones too."""
    for kept in car.past:
        if kept.entry.kind is PastKind.KEEPER:
            yield kept.entry.about
            yield from (str(change.before["about"]) for change in kept.changes if "about" in change.before)
