"""Gather what might be an observation: each condition word, each 'same again', each paper that is named."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.remarks.mentions import Mention
from shutline.remarks.phrases import Match
from shutline.remarks.regions import regions


@dataclass(slots=True)
class Candidate:
    """A place in the words that may say something of a part.

    Tokens `first` up to and without `end`. `senses` are the conditions it may mean; `no` are the senses that the
    phrase rules out by itself ('bone dry' says leak, and means none). `kind` is ``word``, ``bare`` (a part named,
    nothing said) or ``same``.
    """

    first: int
    end: int
    senses: tuple[str, ...]
    no: frozenset[str]
    severity: str
    implied: tuple[str, ...]
    rows: tuple[str, ...]
    kind: str


def candidates(matches: dict[str, list[Match]], named: list[Mention]) -> list[Candidate]:
    """Gather the candidates in the order of the words."""
    where = regions()
    inside: set[int] = set()
    for match in matches["parts"]:
        if match.end - match.first > 1:
            inside.update(range(match.first, match.end))
    out: list[Candidate] = []
    for match in matches["conditions"]:
        if match.end - match.first <= 1 and match.first in inside:
            continue
        if all(at in inside for at in range(match.first, match.end)):
            continue
        rows = match.rows
        senses = tuple(dict.fromkeys(s for row in rows for s in row.senses))
        out.append(
            Candidate(
                match.first,
                match.end,
                senses,
                frozenset(s for row in rows if row.found == "no" for s in row.senses),
                rows[0].severity,
                tuple(part for row in rows for part in row.implied),
                tuple(row.id for row in rows),
                "word",
            )
        )
    out += [
        Candidate(match.first, match.end, (), frozenset(), "", (), (match.rows[0].id,), "same")
        for match in matches["cues"]
        if match.rows[0].kind in ("same", "contrast")
    ]
    for mention in named:
        if mention.kind == "noun" and mention.parts[0] in where.named_is_present:
            out.append(
                Candidate(
                    mention.first,
                    mention.end,
                    ("present",),
                    frozenset(),
                    "",
                    (mention.parts[0],),
                    ("bare." + mention.parts[0],),
                    "bare",
                )
            )
    out.sort(key=lambda c: (c.first, c.end))
    recent: list[str] = []
    for candidate in out:
        if candidate.kind == "same":
            candidate.senses = tuple(dict.fromkeys(["sound", "works", *reversed(recent[-4:])]))
        elif candidate.kind == "word":
            recent.append(candidate.senses[0])
    return [candidate for candidate in out if candidate.senses]
