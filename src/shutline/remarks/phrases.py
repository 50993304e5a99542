"""Find every phrase of the lexicon in the tokens, longest first, one pass."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.lexicon import END, Lexicon, Row, build
from shutline.remarks.tokens import Text, tokens


@dataclass(slots=True)
class Match:
    """A phrase in the tokens: from `first` up to and without `end`, and the rows that it may be."""

    first: int
    end: int
    rows: list[Row]


_Node = dict[str, Any]


def find(text: Text, lexicon: Lexicon) -> dict[str, list[Match]]:
    """Find the longest phrases of each lexicon file, left to right, without overlap inside one file.

    Returns
    -------
    dict
        For each of parts, conditions, cues, remedies, places the matches in order. A phrase does not reach across a
        mark.
    """
    stems, norm = text.stem, text.norm
    trie, exact = lexicon.trie, lexicon.exact
    free = {"parts": 0, "conditions": 0, "cues": 0, "remedies": 0, "places": 0}
    out: dict[str, list[Match]] = {name: [] for name in free}
    for first, word in enumerate(stems):
        nodes = [trie[word]] if word in trie else []
        if norm[first] in exact and "=" + norm[first] in trie:
            nodes.append(trie["=" + norm[first]])
        if not nodes:
            continue
        for file, match in _longest(text, exact, first, nodes).items():
            if first >= free[file]:
                out[file].append(match)
                free[file] = match.end
    return out


def _longest(text: Text, exact: frozenset[str], first: int, nodes: list[_Node]) -> dict[str, Match]:
    """Walk on from the nodes reached by the first token; give the longest phrase of each file."""
    stems, norm, marks = text.stem, text.norm, text.mark
    size = len(stems)
    best: dict[str, Match] = {}
    end = first + 1
    while nodes:
        for node in nodes:
            for row in node.get(END, ()):
                found = best.get(row.file)
                if found is None or found.end < end:
                    best[row.file] = Match(first, end, [row])
                elif row not in found.rows:
                    found.rows.append(row)
        if end >= size or marks[end]:
            break
        steps = [stems[end], "*"]
        if norm[end] in exact:
            steps.append("=" + norm[end])
        nodes = [node[step] for node in nodes for step in steps if step in node]
        end += 1
    return best


def row_fits(row: Row, said: str) -> bool:
    """Tell whether a phrase of one row stands in some words."""
    text = tokens([stretch_of(said, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)])
    return bool(find(text, build([row]))[row.file])
