"""What all the words around make likely: for each token the conditions it may tell, and of which part.

A small network reads the whole text. Each token goes in as its pieces and as the rows of the lexicon that lie over it;
out come log-odds that it tells a condition, for a token and a condition the chance of each part, and for a token and a
part the chance of each side and end. It has no say in severity or remedy. `tools/train_network.py` learns it;
`decisions` adds its scores to those of the phrases.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from itertools import chain
from pathlib import Path

import numpy as np

from shutline.remarks.analysis import Analysis
from shutline.remarks.bearings import NEITHER, Bearings, bearings
from shutline.remarks.lexicon import Row
from shutline.remarks.mentions import Mention
from shutline.remarks.network import (
    Floats,
    Network,
    Numbers,
    convolutions,
    gelu,
    lower_layers,
    normalised,
    one_core,
    softmax,
    upper_layers,
)
from shutline.remarks.phrases import Match
from shutline.remarks.pieces import Pieces
from shutline.remarks.tokens import FULL_STOP, Text

BACK, AHEAD = 160, 24
"""How many tokens before and after a statement the part may be named."""

FOUND = ("yes", "no", "unsure")

MARKS = ("", ",", ".", ".", "?")
"""What stands for a mark before a token, by its strength."""

_SIDE = "side"
"""What stands for near, off, driver's and passenger's, so that what is learnt cannot tell them apart."""

_STEPS = (1, 2, 3, 4, 5, 6, 9, 13, 20, 32, 60, 100)
MOST_CROSSED = 6
_AT_ONCE = 256


def distance_class(offset: int) -> int:
    """Sort the distance from a statement to a token into one of 26 classes, 13 on each side.

    >>> distance_class(0), distance_class(-3), distance_class(3), distance_class(-1000)
    (0, 3, 16, 12)
    """
    size = abs(offset)
    near = sum(1 for step in _STEPS if size >= step)
    return near + (13 if offset > 0 else 0)


_CLASSES = np.array([distance_class(offset) for offset in range(-BACK, AHEAD + 1)])
ROOT_PLACED = 32**0.5
"""Square root of the width in which the words that tell a place are compared."""


@dataclass(frozen=True, slots=True)
class Context:
    """What the network makes of one text of T tokens.

    `told` holds the log-odds that a token tells a condition, shape (T, conditions); `state` what stands behind it, and
    `general` what the encoder makes of the token before it learns of cars, shape (T, width).
    """

    network: Network
    told: Floats
    state: Floats
    general: Floats
    named: Floats
    keys: Floats
    prior: Floats
    stops: Numbers
    mentioned: Numbers
    told_where: Bearings

    def best(self, first: int, end: int, condition: str) -> tuple[int, float]:
        """Give, of tokens `first` up to `end`, the one that tells a condition most, and its log-odds."""
        column = self.told[first:end, self.network.conditions[condition]]
        at = int(column.argmax())
        return first + at, float(column[at])

    def found_chances(self, tokens: Numbers, conditions: Numbers) -> Floats:
        """Give the chances that a condition is told as there, as not there and as doubtful, shape (N, 3)."""
        weights = self.network.arrays
        columns = conditions[:, None] * 3 + np.arange(3)[None, :]
        scores = np.einsum("nd,dnk->nk", self.state[tokens], weights["found.w"][:, columns])
        return softmax(scores + weights["found.b"][columns])

    def part_chances(self, tokens: Numbers, conditions: Numbers) -> Floats:
        """Give the chance of each part for some tokens and the conditions they tell, shape (N, parts).

        It is shared out between the tokens that may name the part and the case that nothing does.
        """
        out = np.empty((len(tokens), len(self.network.parts)), dtype=np.float32)
        for first in range(0, len(tokens), _AT_ONCE):
            some = slice(first, first + _AT_ONCE)
            out[some] = self._part_chances(tokens[some], conditions[some])
        return out

    def _part_chances(self, tokens: Numbers, conditions: Numbers) -> Floats:
        weights = self.network.arrays
        state = self.state[tokens]
        offsets = np.arange(-BACK, AHEAD + 1)
        near = tokens[:, None] + offsets[None, :]
        outside = (near < 0) | (near >= len(self.stops))
        near = near.clip(0, len(self.stops) - 1)
        asked = state @ weights["q.w"] + weights["q.b"] + weights["ce"][conditions]
        scores = np.matmul(self.keys[near], asked[:, :, None])[:, :, 0] / np.float32(8.0)
        scores += self.prior[near] + weights["offset"]
        crossed = self.stops[tokens][:, None] - self.stops[near]
        scores += weights["bstop"][crossed.clip(-1, MOST_CROSSED) + 1]
        passed = self.mentioned[tokens][:, None] - self.mentioned[near]
        scores += weights["bment"][passed.clip(-1, MOST_CROSSED) + 1]
        scores[outside] = -1e9
        shares = softmax(np.concatenate([scores, state @ weights["null.w"] + weights["null.b"]], axis=1))
        unsaid = softmax(state @ weights["iota.w"] + weights["iota.b"])
        said = np.matmul(shares[:, None, :-1], self.named[near])[:, 0]
        chances: Floats = said + shares[:, -1:] * unsaid
        return chances

    def place_chances(self, tokens: Numbers, parts: Numbers) -> tuple[Floats, Floats]:
        """Give the chances of no side, near, off and both, and of no end, front, rear and both, each of shape (N, 4).

        The network says none, one or both; which one is looked for where sides and ends were said, and in the walk.
        """
        weights = self.network.arrays
        state = self.state[tokens]
        inner = gelu(state @ weights["where.w"] + weights["where.b"] + weights["wpart"][parts])
        told = self.told_where
        out = []
        for name, said, walked in (("side", told.side, told.near), ("end", told.end, told.front)):
            which = softmax(inner @ weights[name + "n.w"] + weights[name + "n.b"])
            first = self._first_chances(tokens, parts, name, said, walked)
            one = np.stack([first, 1 - first], axis=1) * which[:, 1:2]
            out.append(np.concatenate([which[:, :1], one, which[:, 2:]], axis=1))
        return out[0], out[1]

    def _first_chances(self, tokens: Numbers, parts: Numbers, name: str, said: Numbers, walked: Floats) -> Floats:
        """Give the chance of the first of two sides or ends, shape (N,)."""
        weights = self.network.arrays
        state = self.state[tokens]
        marks = np.flatnonzero(said != NEITHER)
        walk = state @ weights[name + "w.w"] + weights[name + "w.b"]
        asked = state @ weights[name + "q.w"] + weights[name + "q.b"] + weights[name + "p"][parts]
        keys = self.state[marks] @ weights[name + "k.w"] + weights[name + "k.b"]
        scores = asked @ keys.T / np.float32(ROOT_PLACED)
        offsets = marks[None, :] - tokens[:, None]
        near = offsets.clip(-BACK, AHEAD)
        scores += weights[name + "dist"][_CLASSES[near + BACK]]
        crossed = self.stops[tokens][:, None] - self.stops[marks][None, :]
        scores += weights[name + "stop"][crossed.clip(-1, MOST_CROSSED) + 1]
        scores[near != offsets] = -1e9
        shares = softmax(np.concatenate([scores, walk], axis=1))
        first = shares[:, :-1] @ (said[marks] == 0).astype(np.float32) + shares[:, -1] * walked[tokens]
        held: Floats = first.clip(0.0, 1.0)
        return held


_LETTERS = {"conditions": "c", "parts": "p", "cues": "k", "remedies": "r", "places": "l"}


@cache
def _values(row: Row) -> tuple[str, ...]:
    """Name what a row may mean; near and off are one."""
    if row.file == "cues":
        return (row.kind, f"#{row.id}")
    if row.file == "places":
        return (row.kind if row.kind == "side" and row.senses[0] != "both" else f"{row.kind}:{row.senses[0]}",)
    if row.file == "conditions":
        return (
            *row.senses,
            *(["no"] if row.found == "no" else []),
            *([f"sev:{row.severity}"] if row.severity else []),
            *[f"imp:{part}" for part in row.implied],
        )
    return row.senses


def token_features(text: Text, matches: dict[str, list[Match]]) -> list[list[str]]:
    """Name the features of each token: the mark before it, a number, and what each row over it may mean."""
    out = [
        [f"m={mark}", "digit"] if word[0].isdigit() else [f"m={mark}"]
        for word, mark in zip(text.norm, text.mark, strict=True)
    ]
    for file, letter in _LETTERS.items():
        for match in matches[file]:
            for row in match.rows:
                for value in _values(row):
                    out[match.first].append(f"{letter}B:{value}")
                    inside = f"{letter}I:{value}"
                    for at in range(match.first + 1, match.end):
                        out[at].append(inside)
    return out


def token_pieces(text: Text, sides: Collection[int], pieces: Pieces) -> tuple[list[int], list[int]]:
    """Cut all tokens into pieces, a mark before a token as one too; give them in a row and where each token starts."""
    flat: list[int] = []
    firsts: list[int] = []
    for at, (word, mark) in enumerate(zip(text.norm, text.mark, strict=True)):
        if mark and at:
            flat += pieces.of(MARKS[mark])
        firsts.append(len(flat))
        flat += pieces.of(_SIDE if at in sides else word)
    return flat, firsts


def crossings(text: Text, named: Sequence[Mention]) -> tuple[Numbers, Numbers]:
    """Count, up to and with each token, the sentences begun and the parts named."""
    heads = np.zeros(len(text.norm), dtype=np.int64)
    heads[[mention.first for mention in named if mention.kind == "noun"]] = 1
    return np.cumsum(np.array(text.mark, dtype=np.int64) >= FULL_STOP), np.cumsum(heads)


def understand(analysis: Analysis, network: Network) -> Context | None:
    """Run the network over the tokens of one text; None where there is no token."""
    text = analysis.text
    if not text.norm:
        return None
    flat, firsts = token_pieces(text, analysis.sides, network.pieces)
    with one_core():
        return _understood(analysis, network, flat, firsts)


def _understood(analysis: Analysis, network: Network, flat: Sequence[int], firsts: Sequence[int]) -> Context:
    text, weights, size = analysis.text, network.arrays, len(firsts)
    general = upper_layers(lower_layers(flat, network)[firsts], network)
    known = network.features
    rows = [[known[name] for name in names if name in known] for names in token_features(text, analysis.matches)]
    x = general @ weights["up.w"] + weights["up.b"]
    owner = np.repeat(np.arange(size), [len(row) for row in rows])
    np.add.at(x, owner, weights["emb"][np.fromiter(chain.from_iterable(rows), dtype=np.int64)])
    x = convolutions(normalised(x, weights["n0.w"], weights["n0.b"], least=1e-5), network)
    inner = gelu(x @ weights["t0.w"] + weights["t0.b"])
    stops, mentioned = crossings(text, analysis.named)
    return Context(
        network,
        inner @ weights["t1.w"] + weights["t1.b"],
        x,
        general,
        softmax(x @ weights["pi.w"] + weights["pi.b"]),
        x @ weights["k.w"] + weights["k.b"],
        (x @ weights["prior.w"] + weights["prior.b"])[:, 0],
        stops,
        mentioned,
        bearings(size, analysis.at, analysis.walked),
    )


def unpacked(stored: Mapping[str, np.ndarray]) -> Network:
    """Make a network of stored arrays: whole numbers with a scale for each row or column, names as lines of text."""
    arrays: dict[str, Floats] = {}
    for name, array in stored.items():
        if name.endswith(":scale") or name.startswith("names:"):
            continue
        scale = stored.get(name + ":scale")
        plain = array.astype(np.float32)
        arrays[name] = plain if scale is None else np.ascontiguousarray(plain * scale.astype(np.float32))
    names = {
        name.removeprefix("names:"): bytes(array).decode("utf-8").split("\n") if len(array) else []
        for name, array in stored.items()
        if name.startswith("names:")
    }
    numbered = {kind: {name: at for at, name in enumerate(listed)} for kind, listed in names.items()}
    arrays["offset"] = arrays["bdist"][_CLASSES]
    return Network(
        arrays,
        Pieces(numbered["pieces"]),
        numbered["features"],
        numbered["conditions"],
        numbered["parts"],
        sum(name.endswith(".qkv.w") and name.startswith("lower") for name in arrays),
        sum(name.endswith(".qkv.w") and name.startswith("upper") for name in arrays),
        tuple(int(n) for n in names["dilations"]),
        tuple(names["left_out"]),
    )


def read_network(path: Path) -> Network:
    """Read a network as `tools/train_network.py` writes it."""
    with np.load(path, allow_pickle=False) as stored:
        return unpacked({name: stored[name] for name in stored.files})


@cache
def shipped_network() -> Network:
    """Read the network that comes with the package, once."""
    with as_file(files("shutline.remarks").joinpath("data/network.npz")) as path:
        return read_network(path)
