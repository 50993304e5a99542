"""The sums of the network against PyTorch's, and its cutting of words against the published rules of the encoder."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from threadpoolctl import ThreadpoolController

from shutline.remarks.network import Floats, Network, convolutions, encoder_layer, gelu, one_core, softmax, windows
from shutline.remarks.pieces import Pieces

REFERENCE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "published" / "pytorch_layers.json").read_text(encoding="utf-8")
)


def _array(listed: Any) -> Floats:
    return np.array(listed, dtype=np.float32)


def test_an_encoder_layer_computes_what_pytorch_does() -> None:
    layer = REFERENCE["encoder_layer"]
    weights = {"a." + name.replace("_", "."): _array(listed) for name, listed in layer.items()}
    np.testing.assert_allclose(encoder_layer(weights["a.x"], weights, "a"), weights["a.y"], atol=2e-4)


def test_a_dilated_convolution_computes_what_pytorch_does() -> None:
    case = dict(REFERENCE["convolution"])
    dilation = case.pop("dilation")
    weights = {"conv0." + name.replace("_", "."): _array(listed) for name, listed in case.items()}
    network = Network(weights, Pieces({}), {}, {}, {}, 0, 0, (dilation,))
    np.testing.assert_allclose(convolutions(weights["conv0.x"], network), weights["conv0.y"], atol=2e-5)


def test_gelu_is_pytorchs() -> None:
    np.testing.assert_allclose(gelu(_array(REFERENCE["gelu"]["x"])), REFERENCE["gelu"]["y"], atol=2e-6)


def test_shares_add_up_even_for_far_scores() -> None:
    np.testing.assert_allclose(softmax(_array([[0.0, 0.0], [1000.0, -1000.0]])), [[0.5, 0.5], [1.0, 0.0]])


@pytest.mark.parametrize("size", [1, 3, 4, 7, 12])
def test_windows_own_each_place_once_and_see_their_edges(size: int) -> None:
    owned: list[int] = []
    for first, end, begin, stop in windows(size, span=4, edge=2):
        owned += range(first, end)
        assert begin == max(0, first - 2)
        assert stop == min(size, end + 2)
    assert owned == list(range(size))


# Devlin and others, BERT (2018), and its code: the longest known beginning, '##' inside a word, the unknown piece for
# what cannot be cut. 'unaffable' is the example in that code's own documentation.
KNOWN = ["[UNK]", "un", "##aff", "##able", "want", "##ed", "runn", "##ing", "'", "t"]
PUBLISHED = Pieces({piece: number for number, piece in enumerate(KNOWN)})


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("unaffable", ["un", "##aff", "##able"]),
        ("UNWANTED", ["[UNK]"]),
        ("running", ["runn", "##ing"]),
        ("Wanted't", ["want", "##ed", "'", "t"]),
        ("", ["[UNK]"]),
        ("un" * 80, ["[UNK]"]),
    ],
)
def test_words_are_cut_by_the_longest_known_beginning(word: str, expected: list[str]) -> None:
    assert [KNOWN[n] for n in PUBLISHED.of(word)] == expected


def test_the_sums_keep_to_one_core_and_give_the_others_back() -> None:
    def cores() -> set[int]:
        return {one["num_threads"] for one in ThreadpoolController().info() if one["user_api"] == "blas"}

    before = cores()
    with one_core():
        assert cores() == {1}
    assert cores() == before


def test_a_run_of_letters_that_is_no_word_is_one_unknown_piece_and_costs_nothing() -> None:
    class Counted(dict[str, int]):
        asked = 0

        def get(self, key: str, default: Any = None) -> Any:
            Counted.asked += 1
            return super().get(key, default)

    pieces = Pieces(Counted({"[UNK]": 0, "x": 1, "##x": 2}))
    assert pieces.of("xxx") == (1, 2, 2)
    before = Counted.asked
    assert pieces.of("x" * 30_000) == (0,)
    assert Counted.asked == before
