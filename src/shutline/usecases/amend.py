"""Change what was heard, and enter what was not: in the words of the vocabulary, signed by a person."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, TypeVar

from shutline.car.carfile import KeptFact, KeptFinding
from shutline.car.errors import Problem, UserError
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found, Position, Remedy, Severity, Side
from shutline.car.recordings import Still
from shutline.car.second import SecondView
from shutline.car.vocabulary import vocabulary
from shutline.usecases.look import find_car
from shutline.usecases.nearest import nearest
from shutline.usecases.review import Decided, as_wanted, lay_all_beside, one_of
from shutline.usecases.second import adopt
from shutline.usecases.settings import author as present_author
from shutline.usecases.spoken import find_words
from shutline.usecases.stills import check_moment, take_still, which_film

if TYPE_CHECKING:
    from shutline.car.carfile import Recording
    from shutline.store import Store

Fields = Mapping[str, str | None]
"""New values by name, as words; an empty text or None where nothing is to stand."""

FINDING_FIELDS = ("part", "side", "position", "condition", "found", "severity", "remedy", "words")
"""What may be amended of a finding."""

FACT_FIELDS = ("value", "unit", "words")
"""What may be amended of a fact."""

LONGEST_WORDS = 2_000

_YES_NO = {"yes": True, "no": False}

E = TypeVar("E", bound=StrEnum)


def amend(
    store: Store, car: str, id_: str, fields: Fields, *, version: int | None = None, author: str | None = None
) -> Decided:
    """Change a finding or a fact; it stands then, and what it was is kept.

    What a second reading asks becomes a finding of the person, changed as they say.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    id_ : str
        Its id, or a beginning of it that no other of this car has.
    fields : mapping of str to str or None
        Those of `FINDING_FIELDS`, or for a fact of `FACT_FIELDS`, that change. ``words`` are those that were said,
        where they were misheard.
    version : int, optional
        The version the person had before them; whatever is kept now when left out.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car, or nothing of it of that id.
    StaleError
        Somebody changed it meanwhile; it carries both versions.
    UserError
        A value is none of those allowed (slugs ``amend-value``, ``amend-field``, ``unknown-part``,
        ``unknown-condition``, ``good-not-found``).
    """
    who = author or present_author()
    with store.together(), as_wanted("confirm"):
        file = find_car(store, car)
        of = one_of(file, id_, questions=True)
        if isinstance(of, KeptFact):
            changed = store.change_fact(
                of.id,
                action="amend",
                author=who,
                expected_version=of.version if version is None else version,
                **_fact_fields(of.fact, fields),
            )
            return Decided(file.name, facts=(changed,))
        kept = adopt(store, file, of, author=who) if isinstance(of, SecondView) else of
        found = store.change_finding(
            kept.id,
            action="amend",
            author=who,
            expected_version=kept.version if version is None or kept is not of else version,
            **_finding_fields(kept, fields),
        )
        lay_all_beside(store, file)
    return Decided(file.name, (found,))


def enter(
    store: Store,
    car: str,
    fields: Fields,
    *,
    at_s: float,
    recording: str | None = None,
    token: str | None = None,
    author: str | None = None,
) -> Decided:
    """Enter a finding that nothing was heard of, at a moment of a recording; the frame there shows it.

    It is kept as seen at that moment and, where ``words`` are given, as said: from when to when they are heard, or at
    the moment alone where they are not. What goes out tells the latter as entered; see `Finding.by_hand`.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        The car's name, or a beginning of it that no other has.
    fields : mapping of str to str or None
        Those of `FINDING_FIELDS`; part and condition are needed, and it is found unless said otherwise.
    at_s : float
        Seconds from the start of the recording.
    recording : str, optional
        Its id; may be left out where the car has one only.
    token : str, optional
        The same token again enters nothing, so that a message sent twice counts once.
    author : str, optional
        Who enters it; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        No such car or recording.
    UserError
        There is no such moment (``no-such-moment``), or a value is none of those allowed, as in `amend`.
    """
    who = author or present_author()
    file = find_car(store, car)
    film = which_film(file, recording)
    check_moment(film, at_s)
    for name in ("part", "condition"):
        if not (fields.get(name) or "").strip():
            raise _refused("amend-value", name, "nothing", f"one of the {name}s of the vocabulary")
    values = _values({"found": "yes", **fields}, FINDING_FIELDS)
    words = values.pop("words", "")
    finding = Finding(
        **values,
        footings=_footings_of(film, at_s, words),
        why=(f"entered by hand at {_clock(at_s)} of {film.original.name}",),
    )
    still: Still | None = take_still(store, film, at_s)
    with store.together():
        kept = store.add_finding(file.name, finding, author=who, token=token)
        if still is not None and kept.version == 1:
            store.attach_stills(film.id, {kept.id: [still]})
        lay_all_beside(store, file)
        return Decided(file.name, (store.finding(kept.id),))


def _footings_of(film: Recording, at_s: float, words: str) -> tuple[Footing, ...]:
    seen = Footing(FootingKind.SEEN, film.id, at_s, at_s)
    if not words:
        return (seen,)
    spoken = find_words(film, words, at_s)
    if spoken is None:
        # The recogniser missed them: the person who listened has the last word.
        return (seen, Footing(FootingKind.SAID, film.id, at_s, at_s, words))
    return (seen, Footing(FootingKind.SAID, film.id, spoken.start_s, spoken.end_s, words))


def _finding_fields(kept: KeptFinding, fields: Fields) -> Any:
    values = _values(fields, FINDING_FIELDS)
    words = values.pop("words", None)
    if words is not None:
        values["footings"] = _with_words(kept.finding.footings, words, kept.id)
    return values


def _fact_fields(fact: Fact, fields: Fields) -> Any:
    _check_names(fields, FACT_FIELDS)
    values: dict[str, object] = {}
    if "value" in fields:
        values["value"] = _value_like(fact, (fields["value"] or "").strip())
    if "unit" in fields:
        values["unit"] = _unit(fact, (fields["unit"] or "").strip())
    if "words" in fields:
        values["footings"] = _with_words(fact.footings, _words(fields["words"]), fact.name)
    return values


def _values(fields: Fields, names: tuple[str, ...]) -> dict[str, Any]:
    _check_names(fields, names)
    kinds: dict[str, type[StrEnum]] = {"side": Side, "position": Position, "severity": Severity, "remedy": Remedy}
    values: dict[str, Any] = {}
    for name, text in fields.items():
        given = (text or "").strip()
        if name == "words":
            values[name] = _words(text)
        elif name == "found":
            values[name] = _member(name, given, Found)
        elif name in kinds:
            values[name] = _member(name, given, kinds[name]) if given else None
        else:
            values[name] = _known(name, given)
    return values


def _known(name: str, given: str) -> str:
    """Take an id of the vocabulary, or the label it is shown by."""
    words = vocabulary()
    known = words.parts if name == "part" else words.conditions
    if given in known:
        return given
    by_label = {one.label.casefold(): one.id for one in known.values()}
    found = by_label.get(given.casefold())
    if found is not None:
        return found
    near = nearest("part" if name == "part" else "condition", given)
    raise UserError(
        Problem(
            slug="amend-value",
            where=name,
            found=f"{given[:60]!r}, which is not among the {len(known)} {name}s that are known",
            allowed=f"the nearest are: {', '.join(near)}" if near else f"one of the {name}s, by its name",
            advice="Write one of these."
            if near
            else "Write what it is part of, or, in the workbench, clear the field to see them all.",
        )
    )


def _member(name: str, given: str, kind: type[E]) -> E:
    try:
        return kind(given)
    except ValueError:
        allowed = ", ".join(one.value for one in kind)
        none = "" if kind is Found else ", or nothing"
        raise _refused("amend-value", name, repr(given[:60]), f"{allowed}{none}") from None


def _words(text: str | None) -> str:
    words = " ".join((text or "").split())
    if len(words) > LONGEST_WORDS:
        raise _refused("amend-value", "words", f"{len(words)} letters", f"at most {LONGEST_WORDS}")
    return words


def _with_words(footings: tuple[Footing, ...], words: str, where: str) -> tuple[Footing, ...]:
    """Put other words in place of those of the first remark."""
    at = next((number for number, one in enumerate(footings) if one.kind is FootingKind.SAID), None)
    if at is None:
        if not words:
            return footings
        raise _refused("amend-value", f"{where}, words", "it stands on nothing that was said", "no words")
    return (*footings[:at], replace(footings[at], quote=words), *footings[at + 1 :])


def _value_like(fact: Fact, given: str) -> int | float | str | bool:
    """Read a value of the kind that the fact has."""
    if isinstance(fact.value, bool):
        if given.lower() in _YES_NO:
            return _YES_NO[given.lower()]
        raise _refused("amend-value", fact.name, repr(given[:60]), "yes or no")
    if isinstance(fact.value, int):
        plain = given.replace(",", "").replace(" ", "")
        if plain.isascii() and plain.isdigit() and len(plain) <= 9:
            return int(plain)
        raise _refused("amend-value", fact.name, repr(given[:60]), "a whole number")
    if isinstance(fact.value, float):
        try:
            number = float(given)
        except ValueError:
            number = math.nan
        if math.isfinite(number):
            return number
        raise _refused("amend-value", fact.name, repr(given[:60]), "a number")
    words = _words(given)
    if not words:
        raise _refused("amend-value", fact.name, "nothing", "some words; strike it if it is not so")
    return words


def _unit(fact: Fact, given: str) -> str | None:
    allowed = ("mi", "km") if fact.name == "odometer" else ("",)
    if given in allowed:
        return given or None
    said = "mi or km" if fact.name == "odometer" else "no unit"
    raise _refused("amend-value", f"{fact.name}, unit", repr(given[:60]), said)


def _check_names(fields: Fields, allowed: tuple[str, ...]) -> None:
    unknown = [name for name in fields if name not in allowed]
    if unknown or not fields:
        found = ", ".join(repr(name[:40]) for name in unknown) or "nothing to change"
        raise _refused("amend-field", "the change", found, ", ".join(allowed))


def _clock(at_s: float) -> str:
    return f"{int(at_s) // 60}:{int(at_s) % 60:02d}"


def _refused(slug: str, where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem(slug, where, found, allowed, "Take one of these; nothing was changed."))
