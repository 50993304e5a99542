"""Certificates of a time stamp in the order that DER asks for, which some services do not keep.

A set is written in the order of its members' bytes (X.690, clause 11.6). OpenSSL's ``ts`` writes the certificates as
they come, and strict readers refuse the whole answer. The order is under no signature: that is of the attributes and of
what was stamped (RFC 5652, clause 5.4).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

_SEQUENCE, _CERTIFICATES = 0x30, 0xA0
_LONG_LENGTH = 0x80
_MULTI_BYTE_TAG = 0x1F


class _Value(NamedTuple):
    """One value: its tag, and where it begins, where its contents do and where it ends, bytes."""

    tag: int
    start: int
    inside: int
    end: int


def in_der_order(response: bytes) -> bytes:
    """Give an answer of a time-stamp service with its certificates in order; as it is where it is laid out otherwise.

    Parameters
    ----------
    response : bytes
        TimeStampResp, DER but for that order.
    """
    try:
        held = _certificates(response)
        if held is None:
            return response
        members = [response[one.start : one.end] for one in _values(response, held.inside, held.end)]
    except ValueError:
        return response
    # A shorter one counts as if noughts stood behind it; none is the beginning of another, as each tells its length.
    return response[: held.inside] + b"".join(sorted(members)) + response[held.end :]


def _certificates(data: bytes) -> _Value | None:
    """Find the certificates: TimeStampResp / ContentInfo / [0] / SignedData / [0]."""
    (whole,) = _values(data, 0, len(data))
    parts = list(_values(data, whole.inside, whole.end))
    if len(parts) < 2:
        return None
    _, content, *_ = _values(data, parts[1].inside, parts[1].end)
    (signed,) = _values(data, content.inside, content.end)
    if (whole.tag, signed.tag) != (_SEQUENCE, _SEQUENCE):
        return None
    return next((one for one in _values(data, signed.inside, signed.end) if one.tag == _CERTIFICATES), None)


def _values(data: bytes, start: int, end: int) -> Iterator[_Value]:
    """Give the values that follow each other between two places; raises ValueError where they do not fit in there."""
    while start < end:
        head = data[start : start + 2]
        if len(head) < 2 or head[0] & _MULTI_BYTE_TAG == _MULTI_BYTE_TAG:
            raise ValueError("no value that is read here")
        inside, length = start + 2, head[1]
        if length >= _LONG_LENGTH:
            count = length - _LONG_LENGTH
            length = int.from_bytes(data[inside : inside + count])
            inside += count
        if inside + length > end:
            raise ValueError("a value is longer than what holds it")
        yield _Value(head[0], start, inside, inside + length)
        start = inside + length
