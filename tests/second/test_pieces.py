"""Pieces overlap and lose no word; quotes are found whatever their case, marks and spaces."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.speech import Stretch, StretchOrigin, stretch_of
from shutline.second.pieces import Piece, Quotes, folded, pieces, words_of
from shutline.second.settings import PieceSettings

texts = st.lists(st.text(alphabet="ab .,?", max_size=60), max_size=8)
sizes = st.builds(
    PieceSettings,
    words=st.integers(1, 20),
    before=st.integers(0, 10),
    after=st.integers(0, 10),
    longest_line=st.integers(1, 8),
)


def spoken(*said: str) -> tuple[Stretch, ...]:
    return tuple(stretch_of(t, n, n + 1.0, origin=StretchOrigin.TRANSCRIPT) for n, t in enumerate(said))


@settings(max_examples=200, deadline=None)
@given(texts, sizes)
def test_cores_lie_end_to_end_and_hold_every_word(said: list[str], cut: PieceSettings) -> None:
    stretches = spoken(*said)
    words = [word.text for word in words_of(stretches)]
    found = pieces(stretches, sizes=cut)

    cores = [(p.first + p.core_first, p.first + p.core_end) for p in found]
    assert [n for low, high in cores for n in range(low, high)] == list(range(len(words)))
    for piece in found:
        assert list(piece.texts) == words[piece.first : piece.first + len(piece.texts)]
        assert [n for line in piece.lines for n in range(line.first, line.end)] == list(range(len(piece.texts)))
        assert all(0 < line.end - line.first <= cut.longest_line for line in piece.lines)
        assert piece.core_end - piece.core_first <= max(cut.words, cut.longest_line)
        assert piece.first == 0 or piece.core_first >= min(cut.before, piece.first + piece.core_first)
    for one, two in pairwise(found):
        if cut.before and cut.after:
            assert two.first < one.first + len(one.texts)


def test_no_words_make_no_pieces() -> None:
    assert pieces(()) == pieces(spoken("", "  ")) == ()


def piece(*said: str) -> Piece:
    (only,) = pieces(spoken(*said))
    return only


@pytest.mark.parametrize(
    ("quote", "first", "last"),
    [
        ("rust on the sill", 1, 4),
        ("RUST, on the... sill!", 1, 4),
        ("  rust\non\tthe sill ", 1, 4),
        ("near-side", 5, 6),
        ("nearside", 5, 6),
        ("cafe", 7, 7),
        ("CAF\u00c9\u2019S", None, None),
        ("ust on", None, None),
        ("rust on the si", None, None),
        ("rust sill", None, None),
        ("…", None, None),
    ],
)
def test_a_quote_is_found_by_its_letters_whole_words_only(quote: str, first: int | None, last: int | None) -> None:
    found = Quotes(piece("There's rust on the sill, near side. — café")).find(quote, line=0)
    # The dash is a word without letters: it stands between 6 and the next.
    where = {7: 8}
    wanted = None if first is None else (where.get(first, first), where.get(last or 0, last))
    assert found == wanted


def test_of_several_places_the_one_nearest_to_the_line_counts() -> None:
    quotes = Quotes(piece("Rust here.", "Fine.", "Fine.", "Rust here too."))
    assert quotes.find("rust here", line=0) == (0, 1)
    assert quotes.find("rust here", line=3) == (4, 5)
    assert quotes.find("rust here", line=1) == (0, 1)


@given(st.text(max_size=40))
def test_folding_twice_is_folding_once_and_case_means_nothing(text: str) -> None:
    assert folded(folded(text)) == folded(text)
    assert folded(text.casefold()) == folded(text)
    assert folded(f" {text}.") == folded(text)
