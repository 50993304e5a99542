"""The words that gave a finding are marked, and no others."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming
from shutline.usecases.car_words import Moment, marked_words


def stretch(*words: str, start_s: float = 0.0) -> Stretch:
    spoken = tuple(Word(word, start_s + i, start_s + i + 1, WordTiming.GIVEN) for i, word in enumerate(words))
    return Stretch(start_s, start_s + len(words), " ".join(words), spoken, StretchOrigin.HEARD)


def test_words_of_one_moment_are_one_run() -> None:
    (said,) = marked_words([stretch("The", "sill", "is", "rusty", "here")], [Moment(4, 1.0, 4.0, "fault")])
    assert [(run.text, run.findings, run.tone) for run in said.runs] == [
        ("The", (), ""),
        ("sill is rusty", (4,), "fault"),
        ("here", (), ""),
    ]


def test_where_two_findings_overlap_their_words_have_both() -> None:
    moments = [Moment(1, 0.0, 2.0, "good"), Moment(2, 1.0, 3.0, "fault")]
    (said,) = marked_words([stretch("no", "dents", "rust")], moments)
    assert [run.findings for run in said.runs] == [(1,), (1, 2), (2,)]


def test_a_stretch_without_words_shares_its_time_out() -> None:
    (said,) = marked_words([Stretch(2.0, 4.0, "good door", (), StretchOrigin.HEARD)], [])
    assert said.starts_cs[0] == 200
    assert len(said.starts_cs) == 2


@given(st.lists(st.text(min_size=1, max_size=8), min_size=1, max_size=12), st.floats(0, 12), st.floats(0, 12))
def test_every_word_of_a_run_has_its_own_start(words: list[str], one: float, other: float) -> None:
    (said,) = marked_words([stretch(*words)], [Moment(1, min(one, other), max(one, other), "good")])
    assert len(" ".join(run.text for run in said.runs).split()) == len(said.starts_cs)
