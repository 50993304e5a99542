"""Words share out the time of their stretch."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from shutline.car.speech import StretchOrigin, WordTiming, share_out, stretch_of


@given(
    text=st.text(alphabet="ab '\n\t", max_size=60),
    start=st.floats(0, 1e5),
    length=st.floats(0, 1e3),
)
def test_shared_out_words_fill_the_stretch_back_to_back(text: str, start: float, length: float) -> None:
    words = share_out(text, start, start + length)

    assert [w.text for w in words] == text.split()
    if words:
        assert words[0].start_s == start
        assert abs(words[-1].end_s - (start + length)) < 1e-6 * max(1.0, start)
    for earlier, later in itertools.pairwise(words):
        assert earlier.end_s == later.start_s
        assert earlier.start_s <= earlier.end_s
    assert all(w.timing is WordTiming.SHARED_OUT for w in words)


def test_longer_words_get_more_of_the_time() -> None:
    short, long = share_out("a windscreen", 0, 10)

    assert short.end_s - short.start_s < long.end_s - long.start_s


def test_a_stretch_folds_its_white_space_and_keeps_its_words() -> None:
    stretch = stretch_of("  no  rust\nhere ", 1, 2, origin=StretchOrigin.TRANSCRIPT)

    assert stretch.text == "no rust here"
    assert " ".join(w.text for w in stretch.words) == stretch.text
