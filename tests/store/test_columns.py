from __future__ import annotations

import json
from typing import Any

import pytest

from shutline.car.speech import Word, WordTiming
from shutline.store.columns import Json, Spoken

WORDS = (
    Word("scab", 0.0, 0.25, WordTiming.RECOGNISER, 0.875),
    Word("é🙂", 1.5, 1.75, WordTiming.SHARED_OUT),
    Word("", 3.141592653589793, 1e16, WordTiming.GIVEN, 1.0),
)


def _there_and_back(kind: Any, value: object) -> Any:
    return kind.result_processor(None, None)(kind.process_bind_param(value, None))


@pytest.mark.parametrize(
    "odd", [(), (Word("\ud800", 1.0, 2.0, WordTiming.ALIGNED),), (Word("\x00", 1.0, 2.0, WordTiming.GIVEN),)]
)
def test_words_come_back_exactly_whatever_they_hold(odd: tuple[Word, ...]) -> None:
    back = _there_and_back(Spoken(), WORDS + odd)
    assert back == WORDS + odd
    assert [type(word) for word in back] == [Word] * len(back)
    assert [type(word.timing) for word in back] == [WordTiming] * len(back)


@pytest.mark.parametrize(
    "value", [0, 0.0, -0.0, 10**40, 1e-300, True, "", "\ud800", "\x00", ["a", None, {"b": [1.5]}], {}, {"\udfff": 1}]
)
def test_json_is_read_as_the_standard_library_reads_it(value: object) -> None:
    back = _there_and_back(Json(), value)
    assert repr(back) == repr(json.loads(json.dumps(value))) == repr(value)


def test_nothing_stays_nothing() -> None:
    assert _there_and_back(Json(), None) is None
    assert _there_and_back(Spoken(), None) is None
