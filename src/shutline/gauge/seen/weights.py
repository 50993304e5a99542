"""A network's weights without those too small to count: a processor takes far longer over them than over others."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

LEAST = 1e-30
"""Weights nearer to nought than this are taken for it: they move no sum by what a number of 32 bits can show."""

# Protocol buffers, encoding: the kinds of field; ONNX (onnx.proto3): numbers of the fields that lead to weights.
_VARINT, _EIGHT, _LONG, _FOUR = 0, 1, 2, 5
_GRAPH, _NODE, _INITIALIZER, _ATTRIBUTE, _TENSOR = 7, 1, 5, 5, 5
_DATA_TYPE, _FLOAT_DATA, _RAW_DATA = 2, 4, 9
_FLOAT = 1


class _Field(NamedTuple):
    """A field: its number, where what it holds begins and ends, and its value where it is a number."""

    number: int
    start: int
    end: int
    value: int


def without_tiny(model: bytes, *, least: float = LEAST) -> bytes:
    """Give a network with the weights that are too small to count set to nought.

    Training leaves weights that decay towards nought for ever; those below the normal numbers (1.2e-38) cost a
    processor many times what others do (IEEE 754-2019, 3.4; measured in docs/masks.md).

    Parameters
    ----------
    model : bytes
        A network as ONNX, its weights in it.
    least : float
        Smallest size of a weight that is kept.

    Returns
    -------
    bytes
        The same, as long as before; only weights of 32 bits are touched.

    Raises
    ------
    ValueError
        The bytes end within a field.
    """
    made = bytearray(model)
    for graph in _within(made, 0, len(made), _GRAPH):
        for tensor in _tensors(made, graph):
            _clear(made, tensor, least)
    return bytes(made)


def _tensors(data: bytearray, graph: _Field) -> Iterator[_Field]:
    """Give the tensors of a graph: its own, and those that a node has as a constant."""
    yield from _within(data, graph.start, graph.end, _INITIALIZER)
    for node in _within(data, graph.start, graph.end, _NODE):
        for attribute in _within(data, node.start, node.end, _ATTRIBUTE):
            yield from _within(data, attribute.start, attribute.end, _TENSOR)


def _clear(data: bytearray, tensor: _Field, least: float) -> None:
    fields = list(_fields(data, tensor.start, tensor.end))
    if not any(field.number == _DATA_TYPE and field.value == _FLOAT for field in fields):
        return
    for field in fields:
        if field.number in {_FLOAT_DATA, _RAW_DATA} and field.end - field.start >= 4:
            numbers = np.frombuffer(data, "<f4", (field.end - field.start) // 4, field.start)
            numbers[np.abs(numbers) < least] = 0.0


def _within(data: bytearray, start: int, end: int, number: int) -> Iterator[_Field]:
    return (field for field in _fields(data, start, end) if field.number == number and field.end > field.start)


def _fields(data: bytearray, start: int, end: int) -> Iterator[_Field]:
    """Give the fields of a message that stands from `start` to `end`."""
    at = start
    while at < end:
        key, at = _varint(data, at, end)
        number, kind = key >> 3, key & 7
        value, size = 0, {_EIGHT: 8, _FOUR: 4}.get(kind, 0)
        if kind in {_VARINT, _LONG}:
            value, at = _varint(data, at, end)
            size = value if kind == _LONG else 0
        if at + size > end or kind not in {_VARINT, _EIGHT, _LONG, _FOUR}:
            raise ValueError(f"byte {at}: a field that does not end within its message")
        yield _Field(number, at, at + size, value)
        at += size


def _varint(data: bytearray, at: int, end: int) -> tuple[int, int]:
    value = shift = 0
    while at < end:
        byte = data[at]
        value |= (byte & 0x7F) << shift
        shift, at = shift + 7, at + 1
        if not byte & 0x80:
            return value, at
    raise ValueError(f"byte {at}: a number that does not end within its message")
