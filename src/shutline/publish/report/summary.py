"""The summary: sentences that say what the findings say and no more, each with the findings it stands on."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from shutline.car.carfile import CarFile
from shutline.car.findings import Severity
from shutline.car.recordings import Kind
from shutline.publish.naming import capitalised, with_article
from shutline.publish.report.model import Entry, Item, Sentence, SilentLine, Tone
from shutline.publish.report.times import moment, ranges
from shutline.publish.wording import choose, joined, phrase, spelled, table

# These stand one below the other.
_LISTED = ("faults_stand", "faults_heard", "unsure_list")
_LENGTH_KINDS = {Kind.FILM: "film", Kind.SOUND: "sound"}


def summary(
    car_file: CarFile,
    entries: Sequence[Entry],
    silent: Sequence[SilentLine],
    *,
    severe: frozenset[int],
    waiting: int = 0,
) -> tuple[Sentence, ...]:
    """Write the summary.

    Parameters
    ----------
    car_file : CarFile
    entries : sequence of Entry
        The findings of the report.
    silent : sequence of SilentLine
        What was not looked at, the weightiest first.
    severe : frozenset of int
        Numbers of the findings that are bad enough to be named first.
    waiting : int
        How many findings were heard, are not confirmed, and are not among the entries.
    """
    sentences = [Sentence(_drawn_from(car_file)), *_cut_short(car_file)]
    if entries:
        sentences += _counts(entries)
        sentences += _lists(entries, severe)
    if waiting:
        key = "summary.waiting" if entries else "summary.only_waiting"
        sentences.append(Sentence(capitalised(choose(key, waiting))))
    elif not entries:
        sentences.append(Sentence(phrase("summary.nothing")))
    sentences.append(_silence(silent))
    return tuple(sentences)


def severe_numbers(car_file: CarFile, entries: Sequence[Entry]) -> frozenset[int]:
    """Give the numbers of the findings said to be severe."""
    severe = {kept.id for kept in car_file.going_out() if kept.finding.severity is Severity.SEVERE}
    return frozenset(entry.number for entry in entries if entry.id in severe)


def _drawn_from(car_file: CarFile) -> str:
    probes = [recording.probe for recording in car_file.recordings]
    lengths = [probe.length_s for probe in probes]
    known = all(length is not None for length in lengths)
    total = moment(sum(length for length in lengths if length is not None))
    if len(probes) == 1:
        kind = _LENGTH_KINDS.get(probes[0].kind, "words")
        what = phrase(f"summary.{kind}", length=total) if known else phrase(f"summary.{kind}_plain")
    else:
        what = total if known else phrase("summary.total_plain")
    return choose("summary.drawn_from", len(probes), what=what)


def _cut_short(car_file: CarFile) -> list[Sentence]:
    """Say which recordings were not read to their end, and which hold no words, before anything else is said."""
    unfinished = sum(not recording.complete for recording in car_file.recordings)
    wordless = sum(recording.complete and not recording.stretches for recording in car_file.recordings)
    return [
        Sentence(choose(f"summary.{name}", count))
        for name, count in (("unfinished", unfinished), ("wordless", wordless))
        if count
    ]


def _counts(entries: Sequence[Entry]) -> list[Sentence]:
    kinds = []
    for tone in Tone:
        count = sum(entry.tone is tone for entry in entries)
        if count:
            kinds.append(choose(f"summary.{tone.value}", count))
    every = _cited(entries)
    sentences = [Sentence(choose("summary.counts", len(entries), kinds=joined(kinds)), *every)]
    standing = [entry for entry in entries if entry.confirmed]
    if len(standing) == len(entries):
        sentences.append(Sentence(phrase("summary.counts_all_stand"), *every))
    else:
        sentences.append(Sentence(choose("summary.counts_stands", len(standing)), *_cited(standing or entries)))
    return sentences


def _lists(entries: Sequence[Entry], severe: frozenset[int]) -> list[Sentence]:
    groups: list[tuple[str, Callable[[Entry], bool]]] = [
        ("faults_stand", lambda e: e.tone is Tone.FAULT and e.confirmed),
        ("faults_heard", lambda e: e.tone is Tone.FAULT and not e.confirmed),
        ("unsure_list", lambda e: e.tone is Tone.UNSURE),
        ("good_list", lambda e: e.tone is Tone.GOOD),
        ("ruled_out_list", lambda e: e.tone is Tone.RULED_OUT),
    ]
    sentences = []
    for key, belongs in groups:
        group = sorted((e for e in entries if belongs(e)), key=lambda e: (e.number not in severe, e.number))
        if group:
            sentences.append(_list(phrase(f"summary.{key}"), group, listed=key in _LISTED))
    return sentences


def _list(text: str, group: Sequence[Entry], *, listed: bool) -> Sentence:
    """Name the findings of a group: a fault is never left for later, what is good may be."""
    most = len(group) if listed else int(phrase("summary.list_length"))
    shown = group if len(group) <= most + 1 else group[:most]
    left = group[len(shown) :]
    return Sentence(
        text,
        numbers=tuple(sorted(entry.number for entry in group)),
        ranges=ranges([entry.number for entry in left]),
        items=tuple(Item(entry.at_place, entry.number, entry.tone) for entry in shown),
        listed=listed,
        rest=phrase("summary.more", count=spelled(len(left))) if left else "",
    )


def _silence(silent: Sequence[SilentLine]) -> Sentence:
    names = [with_article(line.name) for line in silent]
    if not names:
        return Sentence(phrase("summary.silent_none"))
    return Sentence(phrase("summary.silent", list=joined(_first(names))))


def _first(words: Sequence[str]) -> list[str]:
    most = int(phrase("summary.list_length"))
    words = list(dict.fromkeys(words))
    if len(words) <= most + 1:
        return words
    return [*words[:most], phrase("summary.more", count=spelled(len(words) - most))]


def _cited(entries: Sequence[Entry]) -> tuple[tuple[int, ...], str]:
    numbers = tuple(sorted(entry.number for entry in entries))
    return numbers, ranges(list(numbers))


def heard_sentence(entries: Sequence[Entry], *, waiting: int = 0, facts: bool = False) -> str:
    """Say how many of the findings are only heard.

    `waiting` are those that are not among the entries; with `facts`, some of the car as a whole are only heard too.
    """
    if waiting:
        return capitalised(choose("heard.waiting", waiting))
    heard = [entry for entry in entries if not entry.confirmed]
    if not entries:
        return phrase("heard.empty_parts" if facts else "heard.empty")
    if not heard:
        return phrase("heard.none_parts" if facts else "heard.none")
    if len(heard) == len(entries):
        return choose("heard.all", len(heard))
    return capitalised(choose("heard.some", len(heard), numbers=ranges([entry.number for entry in heard])))


def missing_fact_name(name: str) -> str:
    """Call a fact that nobody told."""
    return table("facts.missing").get(name, name.replace("_", " "))
