"""The words a car is offered with: drafted from what stands, each sentence with what it stands on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile
from shutline.car.errors import Problem, UserError
from shutline.usecases.accepted_words import accepted_mark, accepted_now, accepted_out, in_words
from shutline.usecases.description_settings import description_details, description_mark, own_wording
from shutline.usecases.guides import own_shelf
from shutline.usecases.house import house
from shutline.usecases.look import find_car
from shutline.usecases.odds import odds_of
from shutline.usecases.odds_report import odds_mark
from shutline.usecases.private import private_for, private_mark
from shutline.usecases.report import WrittenFile, write_whole

if TYPE_CHECKING:
    from shutline.publish.private import Private
    from shutline.store import Store
    from shutline.survey.odds import Odds
    from shutline.words import Draft, House, PictureWords

LENGTHS = ("line", "short", "full")
"""How long a description may be."""

FORMS = ("text", "html", "markdown", "json-ld")
"""What it may be given as."""

FILE_NAMES = {
    "text": "description.txt",
    "html": "description.html",
    "markdown": "description.md",
    "json-ld": "offer.jsonld",
}
"""What its files are called."""


@dataclass(frozen=True, slots=True)
class Described:
    """The words a car is offered with.

    `text` is what goes out, as `form` says; `draft` its sentences one by one with what each stands on; `pictures` the
    captions and alternative texts of the pictures behind it. `problems` tell what was left out of it or told as said.
    `accepted_by` is who accepted the words in force, empty where none are; `is_draft` tells whether these here are our
    draft all the same, and `held_back` that those accepted no longer go out, because something else stands.
    """

    car: str
    title: str
    length: str
    form: str
    text: str
    draft: Draft
    pictures: tuple[PictureWords, ...]
    problems: tuple[Problem, ...] = ()
    accepted_by: str = ""
    is_draft: bool = True
    held_back: bool = False


def describe(store: Store, name: str, *, length: str = "full", form: str = "text", footings: bool = False) -> Described:
    """Draft the words a car is offered with.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    length : str
        One of `LENGTHS`.
    form : str
        One of `FORMS`.
    footings : bool
        List in the text what each sentence stands on.

    Raises
    ------
    NotFoundError, UserError
        No such car; no such length or form (slug ``description-asked``); the house's own words or the settings of
        descriptions cannot be used (``house-words``, ``description-refused``).
    """
    car = find_car(store, name)
    return _with_house_lines(store, car, described(store, car, length=length, form=form, footings=footings))


def described(
    store: Store, car: CarFile, *, length: str = "full", form: str = "text", footings: bool = False
) -> Described:
    """As `describe`, of a car file that was read already."""
    from shutline.survey import coverage
    from shutline.words import Length, picture_words, write_draft

    _asked("--length", length, LENGTHS)
    _asked("--form", form, FORMS)
    wording, ours, private = own_wording(), _house(), private_for(store, car)
    odds = open_odds(store, car)
    found = coverage(car, on=own_shelf())
    draft = write_draft(
        car,
        length=Length(length),
        found=found,
        odds=odds,
        house=ours,
        wording=wording,
        private=private,
        today=datetime.now(UTC).date(),
    )
    text = _as(form, draft, car, odds=odds, house=ours, private=private, footings=footings)
    pictures = picture_words(car, odds=odds, wording=wording)
    return Described(car.name, draft.title.text, length, form, text, draft, pictures, tuple(_heard(draft)))


def describe_out(
    store: Store,
    name: str,
    *,
    length: str = "full",
    form: str = "text",
    footings: bool = False,
    our_draft: bool = False,
) -> Described:
    """Give the words a car is offered with now: those that a person accepted, while they stand; else our draft.

    Accepted words have one length, the full one; the other lengths are drafts. With `our_draft` all are. The other
    parameters and the errors are those of `describe`.
    """
    car = find_car(store, name)
    accepted = accepted_now(store, car)
    if accepted is None:
        return _with_house_lines(store, car, described(store, car, length=length, form=form, footings=footings))
    if our_draft or length != "full":
        made = _with_house_lines(store, car, described(store, car, length=length, form=form, footings=footings))
    else:
        made = described_out(store, car, form=form, footings=footings)
    return replace(made, accepted_by=accepted.author, held_back=accepted_out(store, car) is None)


def write_description(
    store: Store,
    name: str,
    path: Path,
    *,
    length: str = "full",
    form: str = "text",
    footings: bool = False,
    our_draft: bool = False,
) -> tuple[Described, WrittenFile]:
    """Write a description to a file, whole or not at all; parameters and errors are those of `describe_out`."""
    made = describe_out(store, name, length=length, form=form, footings=footings, our_draft=our_draft)
    return made, write_whole(path, made.text.encode(), form)


def description_files(store: Store, car: CarFile) -> list[tuple[str, bytes]]:
    """Give the words that go out in every form, by the name of its file."""
    return [(FILE_NAMES[form], described_out(store, car, form=form).text.encode()) for form in FORMS]


def described_out(store: Store, car: CarFile, *, form: str = "text", footings: bool = False) -> Described:
    """Give the words that go out: those that a person accepted, while they may; else the full draft."""
    made = described(store, car, form=form, footings=footings)
    accepted = accepted_out(store, car)
    if accepted is None:
        return made
    private = private_for(store, car)
    draft = in_words(made.draft, accepted.words, private)
    if form == "json-ld":
        # What the draft knows of damages stays: it names every one.
        data = json.loads(made.text)
        data["@graph"][0]["description"] = "\n\n".join(one.text for one in draft.paragraphs if one.text)
        text = json.dumps(data, ensure_ascii=False, indent=1) + "\n"
    else:
        text = _as(form, draft, car, odds=open_odds(store, car), house=_house(), private=private, footings=footings)
    return replace(made, draft=draft, text=text, accepted_by=accepted.author, is_draft=False)


def describing_mark(store: Store, car: CarFile) -> str:
    """Give a mark that changes with all that a description is made from besides the car file and the house's name."""
    from shutline.words.facts import mot_is_over

    private = private_mark(private_for(store, car))
    # An MOT that runs out is told as over from the next day on.
    over = [f"{kept.fact.value}" for kept in car.facts if mot_is_over(kept.fact, datetime.now(UTC).date())]
    made_from = [description_mark(), house().sign, private, odds_mark(store, car), accepted_mark(store, car)]
    return json.dumps(made_from + over)


def open_odds(store: Store, car: CarFile) -> tuple[Odds, ...]:
    """Give what cannot be true together in a car file and nobody has decided."""
    return tuple(case.odds for case in odds_of(store, car).open)


def _house() -> House:
    from shutline.words import House

    details, how = house(), description_details()
    return House(details.name, details.telephone, details.sign, how.closing, how.headings, how.marks)


def _as(
    form: str,
    draft: Draft,
    car: CarFile,
    *,
    odds: tuple[Odds, ...],
    house: House,
    private: Private,
    footings: bool,
) -> str:
    from shutline.words import as_html, as_markdown, as_text, linked_data

    if form == "json-ld":
        data = linked_data(car, draft, odds=odds, house=house, private=private)
        return json.dumps(data, ensure_ascii=False, indent=1) + "\n"
    numbers = {recording.id: number for number, recording in enumerate(car.recordings, 1)}
    write = {"text": as_text, "html": as_html, "markdown": as_markdown}[form]
    return write(draft, footings=footings, recordings=numbers)


def _with_house_lines(store: Store, car: CarFile, made: Described) -> Described:
    """Add what the house's own lines and sentences claim that the car file does not bear out."""
    from shutline.survey import coverage
    from shutline.usecases.house_lines import house_lines
    from shutline.words import write_draft
    from shutline.words.wording import voiced

    ours, wording = _house(), voiced(description_details().voice)
    if made.length == "line" or not (ours.closing or ours.sign or own_wording() != wording):
        return made
    shipped = write_draft(
        car,
        length=made.draft.length,
        found=coverage(car, on=own_shelf()),
        odds=open_odds(store, car),
        house=replace(ours, closing=(), sign=""),
        wording=wording,
        private=private_for(store, car),
        today=datetime.now(UTC).date(),
    )
    problems = tuple(house_lines(store, car, made.draft, shipped, ours))
    return replace(made, problems=(*made.problems, *problems))


def _heard(draft: Draft) -> Iterator[Problem]:
    """Tell what was heard and nobody has confirmed: findings that are left out, and facts that are told as said."""
    advice = f"Go through them: shutline review {draft.car}, or on the page Review."
    if draft.waiting:
        found = "one finding was heard and nobody has looked at it yet"
        if draft.waiting > 1:
            found = f"{draft.waiting} findings were heard and nobody has looked at them yet"
        yield Problem("heard-not-told", draft.car, found, "a description tells only findings that stand", advice)
    if draft.as_said:
        count = len(draft.as_said)
        found = "one fact was heard and nobody has confirmed it"
        if count > 1:
            found = f"{count} facts were heard and nobody has confirmed them"
        allowed = "a description tells such facts as said, and one of a line leaves them out"
        yield Problem("heard-told-as-said", draft.car, found, allowed, advice)


def _asked(where: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise UserError(
            Problem(
                slug="description-asked",
                where=where,
                found=repr(value[:40]),
                allowed=f"one of {', '.join(allowed)}",
                advice="Take one of those.",
            )
        )
