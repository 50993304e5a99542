"""What may not leave is found where a line of the transcript breaks it, in words and in sound."""

from __future__ import annotations

from shutline.car.speech import StretchOrigin, stretch_of
from shutline.publish.private import Private

LINES = ("The chassis number is A C one three", "zero zero four four two", "and it goes well.")


def test_a_number_that_two_lines_share_is_left_out_of_both() -> None:
    said = [stretch_of(words, 3.0 * n, 3.0 * n + 3.0, origin=StretchOrigin.TRANSCRIPT) for n, words in enumerate(LINES)]
    told = Private().stretches("walk", said)
    assert [one.text for one in told] == ["The chassis number is […]", "[…]", "and it goes well."]
    assert Private().muted("walk", said) == ((0.0, 6.0),)
