"""The handover sheet as a value: every word chosen, nothing left for the page but how it looks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shutline.car.carfile import KeptFinding
from shutline.car.going_out import Edition
from shutline.publish.buyers.wording import say
from shutline.publish.naming import capitalised
from shutline.publish.report.entries import sections
from shutline.publish.report.model import Entry, FactLine, OddsLine, ReportModel, Tone
from shutline.publish.report.pictures import Album


@dataclass(frozen=True, slots=True)
class Disclosed:
    """One finding on the sheet: its number in the report, what it says with its place, and where it was said.

    What nobody has confirmed has no number.
    """

    number: int | None
    words: str
    stands_on: str


@dataclass(frozen=True, slots=True)
class HandoverModel:
    """The sheet. `number` and `fingerprint` are in groups of eight, as they are compared by eye.

    `edition` says in a sentence of which sealed file it is. `heard` was confirmed by nobody.
    """

    title: str
    made_at: str
    made: str
    house: str
    facts: tuple[str, ...]
    faults: tuple[Disclosed, ...]
    unsure: tuple[Disclosed, ...]
    silent: tuple[str, ...]
    heard: tuple[Disclosed, ...]
    number: str
    fingerprint: str
    edition: str
    odds: tuple[str, ...] = ()


def build_handover(
    report: ReportModel,
    *,
    heard: Sequence[KeptFinding],
    number: str,
    fingerprint: str,
    edition: Edition = Edition.BUYER,
    recordings: Mapping[str, int] | None = None,
) -> HandoverModel:
    """Choose the words of a handover sheet.

    Parameters
    ----------
    report : ReportModel
        Of a public car file with what was heard of the car as a whole: every fault in it is on the sheet.
    heard : sequence of KeptFinding
        Findings that were heard and nobody has confirmed: a fault or a doubt is told in words, of the rest the place
        alone. Facts that were heard are in `report`, and are told among them in words.
    number, fingerprint : str
        Of the sealed file and of the key, hexadecimal.
    edition : Edition
        Which of the two that sealed file is.
    recordings : mapping, optional
        From the id of a recording to its number, where there is more than one.
    """
    return HandoverModel(
        title=report.title,
        made_at=report.made_at,
        made=say("handover.made", date=report.made_words),
        house="" if report.house is None else ", ".join((report.house.name, *report.house.lines)),
        facts=tuple(
            say("handover.fact", label=line.label, values=" / ".join(value.words for value in confirmed))
            for line in report.facts
            if (confirmed := [value for value in line.values if value.confirmed])
        ),
        faults=tuple(_disclosed(entry) for entry in report.entries if entry.tone is Tone.FAULT),
        unsure=tuple(_disclosed(entry) for entry in report.entries if entry.tone is Tone.UNSURE),
        silent=tuple(dict.fromkeys(capitalised(line.name) for line in (*report.silent, *report.left_out))),
        heard=(*_heard(heard, recordings or {}), *_heard_facts(report.facts)),
        number=grouped(number),
        fingerprint=grouped(fingerprint),
        edition=say(f"handover.edition_{edition.value}"),
        odds=tuple(_at_odds(line) for line in report.odds.open),
    )


def _heard(heard: Sequence[KeptFinding], recordings: Mapping[str, int]) -> tuple[Disclosed, ...]:
    """Tell what nobody has confirmed: of what the program took for good, no more than that it was spoken of."""
    return tuple(
        Disclosed(
            None,
            capitalised(entry.at_place)
            if entry.tone in {Tone.FAULT, Tone.UNSURE}
            else say("handover.heard_place", place=capitalised(entry.place)),
            _moments(entry),
        )
        for section in sections(heard, album=Album({}), recordings=recordings)
        for place in section.places
        for entry in place.entries
    )


def _heard_facts(facts: Sequence[FactLine]) -> tuple[Disclosed, ...]:
    """Tell the values of facts that nobody has confirmed."""
    return tuple(
        Disclosed(
            None,
            say("handover.fact", label=line.label, values=value.words),
            "; ".join(dict.fromkeys(stand.words for stand in value.stands_on)),
        )
        for line in facts
        for value in line.values
        if not value.confirmed
    )


def _at_odds(line: OddsLine) -> str:
    return " / ".join("; ".join(one.words for one in side) for side in line.sides)


def grouped(digest: str) -> str:
    """Write a digest in groups of eight.

    >>> grouped("0123456789abcdef0")
    '01234567 89abcdef 0'
    """
    return " ".join(digest[at : at + 8] for at in range(0, len(digest), 8))


def _disclosed(entry: Entry) -> Disclosed:
    return Disclosed(entry.number, capitalised(entry.at_place), _moments(entry))


def _moments(entry: Entry) -> str:
    return "; ".join(dict.fromkeys(stand.words for stand in entry.stands_on))
