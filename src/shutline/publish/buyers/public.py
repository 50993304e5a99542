"""A car file as a stranger may have it: what stands, without names, ways, histories and private words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Picture
from shutline.car.findings import Finding, Footing, State
from shutline.car.recordings import Original
from shutline.publish.buyers.wording import say
from shutline.publish.private import Private
from shutline.survey import Coverage

# Facts that pictures are covered for, and the kind of mask that covers them.
SIGNS = {"registration_mark": "mark", "chassis_number": "chassis"}


def public_car(car: CarFile, private: Private, *, without_facts: Sequence[str] = ()) -> CarFile:
    """Give the public part of a car file.

    Parameters
    ----------
    car : CarFile
        With everything that is kept.
    private : Private
        What may not leave.
    without_facts : sequence of str
        Names of facts that are left out.

    Returns
    -------
    CarFile
        Findings and facts that stand, or stood until they were put right, and no others, without how they came about;
        files by a name that tells what they are and nothing else; no notes, no second readings, no problems, nobody's
        name.
    """
    names = _file_names(car)
    recordings = tuple(
        replace(
            one,
            original=_renamed(one.original, names[one.original.sha256]),
            probe=replace(one.probe, recorded_at=None),
            stretches=private.stretches(one.id, one.stretches),
        )
        for one in car.recordings
    )
    pictures = tuple(
        Picture(one.id, _renamed(one.original, names[one.original.sha256]), one.width, one.height)
        for one in car.pictures
    )
    # A record that is made anew, so that a field that comes to the car file later is not let out by itself.
    return CarFile(
        name="car",
        title=private.titled(car.title),
        drive=car.drive,
        created_at="",
        body=car.body,
        doors=car.doors,
        recordings=recordings,
        pictures=pictures,
        findings=tuple(_finding(kept, private) for kept in car.told() if kept.finding.state is State.STANDS),
        facts=tuple(
            _fact(kept, private)
            for kept in car.facts
            if kept.fact.state is State.STANDS and not kept.withdrawn and kept.fact.name not in without_facts
        ),
    )


def heard_only(car: CarFile) -> tuple[KeptFinding, ...]:
    """Give what was heard and nobody has confirmed: a stranger is told where and when it was said, and no more."""
    return tuple(kept for kept in car.going_out() if kept.finding.state is State.HEARD)


def heard_facts(car: CarFile, *, without_facts: Sequence[str] = ()) -> tuple[KeptFact, ...]:
    """Give the facts that were heard and nobody has confirmed, but for those that go out to no stranger."""
    return tuple(
        kept
        for kept in car.facts
        if kept.fact.state is State.HEARD and not kept.withdrawn and kept.fact.name not in without_facts
    )


def with_heard_facts(public: CarFile, car: CarFile, private: Private, *, without_facts: Sequence[str] = ()) -> CarFile:
    """Give a public car file with what was heard of the car as a whole and nobody has confirmed.

    The words the car is offered with state such facts, so that a stranger must be told that they are only heard. Their
    value and moment are told; the words they were heard in are not.

    Parameters
    ----------
    public : CarFile
        As `public_car` gives.
    car : CarFile
        With everything that is kept.
    private, without_facts
        As for `public_car`.
    """
    heard = (_fact(kept, private) for kept in heard_facts(car, without_facts=without_facts))
    return replace(public, facts=(*public.facts, *(_unquoted(kept) for kept in heard)))


def public_coverage(found: Coverage, private: Private) -> Coverage:
    """Give the coverage of a car with nobody's name in it."""
    checks = tuple(
        one
        if one.omission is None
        else replace(
            one, omission=replace(one.omission, author=say("page.seller"), reason=private.titled(one.omission.reason))
        )
        for one in found.checks
    )
    return replace(found, checks=checks)


def silence_car(car: CarFile, private: Private) -> CarFile:
    """Give what silence is judged by: all that was told and not struck, with the words taken out."""
    bare = [replace(kept, changes=(), stills=(), put_right=None) for kept in car.told()]
    facts = [replace(kept, changes=()) for kept in car.facts if kept.fact.state is not State.STRUCK]
    return replace(
        car,
        title=private.titled(car.title),
        findings=tuple(replace(kept, finding=_quoted(kept, private)) for kept in bare),
        facts=tuple(facts),
        problems=(),
        second_readings=(),
        notes=(),
    )


def _finding(kept: KeptFinding, private: Private) -> KeptFinding:
    finding = replace(_quoted(kept, private), why=(), sureness=None)
    if kept.put_right is None:
        return KeptFinding(kept.id, finding, kept.stills)
    # What was wrong goes out in words alone: a picture of it shows what is not there any more.
    right = replace(
        kept.put_right, work="", task="", words=private.titled(kept.put_right.words), pictures=(), author=""
    )
    return KeptFinding(kept.id, finding, put_right=right)


def _quoted(kept: KeptFinding, private: Private) -> Finding:
    return replace(kept.finding, footings=tuple(_footing(one, private) for one in kept.finding.footings))


def _fact(kept: KeptFact, private: Private) -> KeptFact:
    fact = kept.fact
    value = private.text(fact.value) if isinstance(fact.value, str) else fact.value
    footings = tuple(_footing(one, private) for one in fact.footings)
    return KeptFact(kept.id, replace(fact, value=value, footings=footings, sureness=None))


def _unquoted(kept: KeptFact) -> KeptFact:
    footings = tuple(replace(one, quote="") for one in kept.fact.footings)
    return replace(kept, fact=replace(kept.fact, footings=footings))


def _footing(footing: Footing, private: Private) -> Footing:
    quote = private.quote(footing.quote, footing.source, footing.start_s, footing.end_s)
    return replace(footing, quote=quote, rules=())


def _renamed(original: Original, name: str) -> Original:
    return replace(original, name=name, linked=False)


def _file_names(car: CarFile) -> dict[str, str]:
    counts: Counter[str] = Counter()
    names: dict[str, str] = {}
    for original in (*(one.original for one in car.recordings), *(one.original for one in car.pictures)):
        if original.sha256 not in names:
            counts[original.kind.value] += 1
            names[original.sha256] = say(f"names.{original.kind.value}", number=counts[original.kind.value])
    return names
