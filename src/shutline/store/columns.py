"""Types of columns that both engines have, and whose values come back exactly as they went in.

Each reads its values by one function, given by `result_processor`: the usual way through SQLAlchemy's own wrapper
takes longer than the reading, and a car file has thousands of them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from typing import Any

import msgspec
from sqlalchemy import Dialect, Text, TypeDecorator

from shutline.car.speech import Word, WordTiming

# PostgreSQL keeps no NUL in text, and neither engine a lone surrogate (odd file names); both are written as this
# private-use character and four hexadecimal digits, and so is the character itself.
_MARK = "\ue5e5"
_ODD = re.compile(f"[\x00\ud800-\udfff{_MARK}]")
_WRITTEN = re.compile(f"{_MARK}([0-9a-f]{{4}})")


class Verbatim(TypeDecorator[str]):
    """Text that comes back exactly as it went in, whatever it holds."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Write what an engine cannot keep by its number."""
        return None if value is None else _ODD.sub(lambda odd: f"{_MARK}{ord(odd.group()):04x}", value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Put it back."""
        return verbatim(value)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], str | None]:  # noqa: ARG002
        """Give what puts it back."""
        return verbatim


class Json(TypeDecorator[Any]):
    """Values of JSON, kept as their text: SQLite turns a lone number in a column of type JSON into another number."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Write the value; escapes keep NUL and lone surrogates, which neither engine can hold as they are."""
        return None if value is None else _write(value)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:  # noqa: ARG002
        """Give what reads it back."""
        return _json


class Spoken(TypeDecorator[tuple[Word, ...]]):
    """Words with their times, kept as JSON in short rows, for there are many."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Sequence[Word] | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Write the words."""
        if value is None:
            return None
        return _write([[w.text, w.start_s, w.end_s, w.timing.value, w.sureness] for w in value])

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], Any]:  # noqa: ARG002
        """Give what reads them back."""
        return spoken


class _WordRow(msgspec.Struct, array_like=True):
    text: str
    start_s: float
    end_s: float
    timing: WordTiming
    sureness: float | None


_write = json.JSONEncoder(separators=(",", ":"), allow_nan=False).encode
_read = msgspec.json.Decoder().decode
_read_words = msgspec.json.Decoder(list[_WordRow]).decode


def verbatim(value: str | None) -> str | None:
    """Give text as it went in from text as it is kept."""
    if value is None or _MARK not in value:
        return value
    return _WRITTEN.sub(lambda number: chr(int(number.group(1), 16)), value)


def _json(value: str | None) -> Any:
    if value is None:
        return None
    try:
        return _read(value)
    except msgspec.DecodeError:
        # Lone surrogates, which the quick reader does not take.
        return json.loads(value)


def spoken(value: str | None) -> tuple[Word, ...] | None:
    """Give words with their times from the JSON they are kept as."""
    if value is None:
        return None
    try:
        rows = _read_words(value)
    except msgspec.DecodeError:
        read = json.loads(value)
        return tuple(Word(text, start, end, WordTiming(timing), sure) for text, start, end, timing, sure in read)
    return msgspec.convert(rows, tuple[Word, ...], from_attributes=True)
