"""The sums of the small network that reads all words at once: layers of a language encoder, then convolutions.

Every function takes and gives arrays of numpy, 32-bit floats; T is the count of tokens. The layers are those of BERT
(Devlin and others, 2018), the convolutions are dilated (Yu and Koltun, 2015).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from threadpoolctl import ThreadpoolController

from shutline.remarks.pieces import CLOSING, OPENING, Pieces

Floats = npt.NDArray[np.float32]
Numbers = npt.NDArray[np.int64]

HEADS = 12
"""Attention heads of an encoder layer; they share out its width."""

LOWER_SPAN, LOWER_EDGE = 400, 40
UPPER_SPAN, UPPER_EDGE = 352, 32
"""Pieces, and words, that are read in one go, and how many on each side are read with them for what they tell."""

_ROOT_2_PI = 0.7978845608028654


@dataclass(frozen=True, slots=True)
class Network:
    """What was learnt: arrays by name, and the names of features, conditions and parts in the order of their rows.

    `lower` and `upper` count the encoder's layers over pieces and over words; `dilations` has one for each convolution.
    `left_out` names the labelled narrations it has not learnt from, so that it can be measured on them.
    """

    arrays: Mapping[str, Floats]
    pieces: Pieces
    features: Mapping[str, int]
    conditions: Mapping[str, int]
    parts: Mapping[str, int]
    lower: int
    upper: int
    dilations: tuple[int, ...]
    left_out: tuple[str, ...] = ()
    part_names: tuple[str, ...] = field(init=False, compare=False, repr=False)
    condition_names: tuple[str, ...] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Keep the names in their order too."""
        object.__setattr__(self, "part_names", tuple(self.parts))
        object.__setattr__(self, "condition_names", tuple(self.conditions))


def softmax(scores: Floats) -> Floats:
    """Turn scores into shares that add up to one along the last axis."""
    raised: Floats = np.exp(scores - scores.max(axis=-1, keepdims=True))
    raised /= raised.sum(axis=-1, keepdims=True)
    return raised


def normalised(x: Floats, scale: Floats, shift: Floats, *, least: float) -> Floats:
    """Bring each row to mean nought and spread one, then scale and shift it; `least` is added to the variance."""
    x = x - x.mean(axis=-1, keepdims=True)
    spread = np.sqrt(np.einsum("ij,ij->i", x, x)[:, None] / np.float32(x.shape[-1]) + np.float32(least))
    x /= spread
    x *= scale
    x += shift
    return x


def gelu(x: Floats) -> Floats:
    """Give the Gaussian error linear unit in its usual approximation (Hendrycks and Gimpel, 2016)."""
    inner = x * x
    inner *= np.float32(0.044715 * _ROOT_2_PI)
    inner += np.float32(_ROOT_2_PI)
    inner *= x
    np.tanh(inner, out=inner)
    inner += np.float32(1.0)
    inner *= x
    inner *= np.float32(0.5)
    return inner


def one_core() -> AbstractContextManager[object]:
    """Keep multiplications to one core while it lasts.

    The same sums in the same order on any machine; and where other work waits for a second core, two would spin and
    wait for each other (the 39,000 words of `dev` beside other work: 34 s of processor on one core, 124 s on two).
    """
    limits: AbstractContextManager[object] = ThreadpoolController().limit(limits=1, user_api="blas")
    return limits


def windows(size: int, *, span: int, edge: int) -> Iterator[tuple[int, int, int, int]]:
    """Give the stretches that are read in one go: own first and end, and first and end with the edges.

    >>> list(windows(5, span=3, edge=1))
    [(0, 3, 0, 4), (3, 5, 2, 5)]
    """
    for first in range(0, size, span):
        end = min(size, first + span)
        yield first, end, max(0, first - edge), min(size, end + edge)


def encoder_layer(x: Floats, weights: Mapping[str, Floats], name: str) -> Floats:
    """Run one layer of the encoder over one window, shape (length, width)."""
    length, width = x.shape
    size = width // HEADS
    mixed = x @ weights[name + ".qkv.w"] + weights[name + ".qkv.b"]
    query, key, value = mixed.reshape(length, 3, HEADS, size).transpose(1, 2, 0, 3)
    shares = softmax(np.matmul(query, key.transpose(0, 2, 1)) * np.float32(size**-0.5))
    seen = np.matmul(shares, value).transpose(1, 0, 2).reshape(length, width)
    x = normalised(
        x + seen @ weights[name + ".o.w"] + weights[name + ".o.b"],
        weights[name + ".l1.w"],
        weights[name + ".l1.b"],
        least=1e-12,
    )
    inner = gelu(x @ weights[name + ".i.w"] + weights[name + ".i.b"])
    return normalised(
        x + inner @ weights[name + ".f.w"] + weights[name + ".f.b"],
        weights[name + ".l2.w"],
        weights[name + ".l2.b"],
        least=1e-12,
    )


def lower_layers(pieces: Sequence[int], network: Network) -> Floats:
    """Run the layers over pieces; give the state of each, shape (pieces, width)."""
    weights = network.arrays
    flat = np.array(pieces, dtype=np.int64)
    out = np.empty((len(flat), weights["words"].shape[1]), dtype=np.float32)
    opening, closing = network.pieces.numbers[OPENING], network.pieces.numbers[CLOSING]
    for first, end, begin, stop in windows(len(flat), span=LOWER_SPAN, edge=LOWER_EDGE):
        numbers = np.concatenate([[opening], flat[begin:stop], [closing]])
        x = weights["words"][numbers] + weights["places"][: len(numbers)]
        x = normalised(x, weights["ln.w"], weights["ln.b"], least=1e-12)
        for layer in range(network.lower):
            x = encoder_layer(x, weights, f"lower{layer}")
        out[first:end] = x[first - begin + 1 : end - begin + 1]
    return out


def upper_layers(x: Floats, network: Network) -> Floats:
    """Run the layers over words."""
    out = np.empty_like(x)
    for first, end, begin, stop in windows(len(x), span=UPPER_SPAN, edge=UPPER_EDGE):
        part = x[begin:stop]
        for layer in range(network.upper):
            part = encoder_layer(part, network.arrays, f"upper{layer}")
        out[first:end] = part[first - begin : end - begin]
    return out


def convolutions(x: Floats, network: Network) -> Floats:
    """Run the dilated convolutions, each over a token and its two neighbours at some distance."""
    weights = network.arrays
    size, width = x.shape
    for number, dilation in enumerate(network.dilations):
        name = f"conv{number}"
        edge = np.zeros((dilation, width), dtype=np.float32)
        padded = np.concatenate([edge, x, edge])
        wide = np.concatenate([padded[:size], x, padded[2 * dilation :]], axis=1)
        inner = np.maximum(wide @ weights[name + ".c.w"] + weights[name + ".c.b"], np.float32(0.0))
        x = normalised(
            x + inner @ weights[name + ".o.w"] + weights[name + ".o.b"],
            weights[name + ".n.w"],
            weights[name + ".n.b"],
            least=1e-5,
        )
    return x
