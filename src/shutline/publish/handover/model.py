"""The handover sheet as a value: every word chosen, nothing left for the page but how it looks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shutline.car.carfile import KeptFinding
from shutline.car.going_out import Edition
from shutline.publish.buyers.wording import say
from shutline.publish.naming import capitalised
from shutline.publish.report.entries import sections
from shutline.publish.report.model import Entry, OddsLine, ReportModel, Tone
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
        Of a public car file: every fault in it is on the sheet.
    heard : sequence of KeptFinding
        What was heard and nobody has confirmed: a fault or a doubt is told in words, of the rest the place alone.
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
        facts=tuple(f"{line.label}: {' / '.join(value.words for value in line.values)}" for line in report.facts),
        faults=tuple(_disclosed(entry) for entry in report.entries if entry.tone is Tone.FAULT),
        unsure=tuple(_disclosed(entry) for entry in report.entries if entry.tone is Tone.UNSURE),
        silent=tuple(dict.fromkeys(capitalised(line.name) for line in (*report.silent, *report.left_out))),
        heard=_heard(heard, recordings or {}),
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
