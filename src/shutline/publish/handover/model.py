"""The handover sheet as a value: every word chosen, nothing left for the page but how it looks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.publish.buyers.wording import say
from shutline.publish.naming import capitalised
from shutline.publish.report.model import Entry, OddsLine, ReportModel, Tone


@dataclass(frozen=True, slots=True)
class Disclosed:
    """One finding on the sheet: its number in the report, what it says with its place, and where it was said."""

    number: int
    words: str
    stands_on: str


@dataclass(frozen=True, slots=True)
class HandoverModel:
    """The sheet. `number` and `fingerprint` are in groups of eight, as they are compared by eye."""

    title: str
    made_at: str
    made: str
    house: str
    facts: tuple[str, ...]
    faults: tuple[Disclosed, ...]
    unsure: tuple[Disclosed, ...]
    silent: tuple[str, ...]
    heard: tuple[str, ...]
    number: str
    fingerprint: str
    odds: tuple[str, ...] = ()


def build_handover(report: ReportModel, *, heard: Sequence[str], number: str, fingerprint: str) -> HandoverModel:
    """Choose the words of a handover sheet.

    Parameters
    ----------
    report : ReportModel
        Of a public car file: every fault in it is on the sheet.
    heard : sequence of str
        Places that were spoken of, and of which nothing is confirmed.
    number, fingerprint : str
        Of the sealed file and of the key, hexadecimal.
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
        heard=tuple(heard),
        number=grouped(number),
        fingerprint=grouped(fingerprint),
        odds=tuple(_at_odds(line) for line in report.odds.open),
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
    return Disclosed(entry.number, capitalised(entry.at_place), "; ".join(stand.words for stand in entry.stands_on))
