"""Weights too small to count are taken for nought, nothing else is, and what is found stays the same."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import onnxruntime
import pytest
import rapidocr

from shutline.gauge.seen.weights import without_tiny

FINDER = Path(rapidocr.__file__).parent / "models" / "PP-OCRv6_det_small.onnx"


def field(number: int, held: bytes | int) -> bytes:
    """Write a field as the encoding of protocol buffers has it (protobuf.dev, Encoding)."""
    if isinstance(held, int):
        return varint(number << 3) + varint(held)
    return varint(number << 3 | 2) + varint(len(held)) + held


def varint(value: int) -> bytes:
    out = bytearray()
    while value > 0x7F:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    return bytes((*out, value))


def floats(*values: float) -> bytes:
    return struct.pack(f"<{len(values)}f", *values)


def model(weights: bytes, *, held_in: int = 9, kind: int = 1, constant: bool = False) -> bytes:
    """Make the fields of a network with one tensor (onnx.proto3: graph 7, initializer 5, node 1, attribute 5, t 5)."""
    tensor = field(1, len(weights) // 4) + field(2, kind) + field(8, b"w") + field(held_in, weights)
    within = field(1, field(4, b"Constant") + field(5, field(1, b"value") + field(5, tensor)))
    return field(1, 9) + field(7, within if constant else field(5, tensor)) + field(14, b"after")


@pytest.mark.parametrize("constant", [False, True])
@pytest.mark.parametrize("held_in", [4, 9])
def test_weights_too_small_to_count_are_nought_after_it(held_in: int, constant: bool) -> None:
    before = model(floats(0.5, -1e-38, 1e-41, -2e-20, 0.0), held_in=held_in, constant=constant)
    after = model(floats(0.5, 0.0, 0.0, -2e-20, 0.0), held_in=held_in, constant=constant)
    assert without_tiny(before) == after


def test_numbers_of_another_kind_stay_as_they_are() -> None:
    # Kind 7 is whole numbers of 64 bits; small ones look like tiny weights.
    whole = model(struct.pack("<2q", 3, 4), kind=7)
    assert without_tiny(whole) == whole


def test_a_network_cut_off_is_refused() -> None:
    whole = model(floats(0.5, 1e-40))
    with pytest.raises(ValueError, match="does not end within its message"):
        without_tiny(whole[:-12])


def test_the_finder_of_lettering_believes_the_same_without_them() -> None:
    shipped = FINDER.read_bytes()
    cleared = without_tiny(shipped)
    assert cleared != shipped
    picture = np.random.default_rng(5).uniform(-1, 1, (1, 3, 96, 160)).astype(np.float32)
    beliefs = []
    for network in (shipped, cleared):
        session = onnxruntime.InferenceSession(network, providers=["CPUExecutionProvider"])
        beliefs.append(session.run(None, {session.get_inputs()[0].name: picture})[0])
    np.testing.assert_allclose(beliefs[0], beliefs[1], rtol=0, atol=1e-7)
