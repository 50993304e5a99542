"""Find every phrase of the lexicon in the tokens, longest first, one pass."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.remarks.lexicon import END, Lexicon, Row
from shutline.remarks.tokens import Text


@dataclass(slots=True)
class Match:
    """A phrase in the tokens: from `first` up to and without `end`, and the rows that it may be."""

    first: int
    end: int
    rows: list[Row]


def find(text: Text, lexicon: Lexicon) -> dict[str, list[Match]]:
    """Find the longest phrases of each lexicon file, left to right, without overlap inside one file.

    Returns
    -------
    dict
        For each of parts, conditions, cues, remedies, places the matches in order. A phrase does not reach across a
        mark.
    """
    stems, norm, marks = text.stem, text.norm, text.mark
    trie, exact = lexicon.trie, lexicon.exact
    free = {"parts": 0, "conditions": 0, "cues": 0, "remedies": 0, "places": 0}
    out: dict[str, list[Match]] = {name: [] for name in free}
    size = len(stems)
    for first in range(size):
        word = stems[first]
        node = trie.get(word)
        nodes = [node] if node is not None else []
        if norm[first] in exact:
            node = trie.get("=" + norm[first])
            if node is not None:
                nodes.append(node)
        if not nodes:
            continue
        best: dict[str, Match] = {}
        end = first + 1
        while nodes:
            for node in nodes:
                ends = node.get(END)
                if ends is None:
                    continue
                for row in ends:
                    found = best.get(row.file)
                    if found is None or found.end < end:
                        best[row.file] = Match(first, end, [row])
                    elif row not in found.rows:
                        found.rows.append(row)
            if end >= size or marks[end]:
                break
            word = stems[end]
            following = [n for n in (node.get(word) for node in nodes) if n is not None]
            if norm[end] in exact:
                asked = "=" + norm[end]
                following += [n for n in (node.get(asked) for node in nodes) if n is not None]
            for node in nodes:
                anything = node.get("*")
                if anything is not None:
                    following.append(anything)
            for node in nodes:
                anything = node.get("*")
                if anything is not None:
                    following.append(anything)
            nodes = following
            end += 1
        for file, match in best.items():
            if match.first >= free[file]:
                out[file].append(match)
                free[file] = match.end
    return out
