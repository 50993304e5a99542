from __future__ import annotations

import csv
import hashlib
import re
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from shutline.car.errors import BrokenWorldError
from shutline.speech.boost import Boost, Place
from shutline.speech.bundled import bundled
from shutline.speech.pronounce import PHONES, sounds_of, spoken_forms
from shutline.speech.settings import settings
from shutline.speech.terms import trade_terms
from shutline.speech.tokens import Pieces, read_pieces

DATA = files("shutline.speech").joinpath("data")
WEIGHTS = Path(str(files("shutline.speech").joinpath("weights/tiny-en")))


@pytest.fixture(scope="module")
def pieces() -> Pieces:
    return read_pieces(WEIGHTS / "tokenizer.bin")


def test_the_weights_are_the_ones_that_were_taken() -> None:
    lines = (WEIGHTS / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    assert len(lines) == 3
    for line in lines:
        digest, name = line.split()
        assert hashlib.sha256((WEIGHTS / name).read_bytes()).hexdigest() == digest, name


def test_the_table_has_as_many_pieces_as_the_recogniser_writes(pieces: Pieces) -> None:
    assert len(pieces) == 32_768


@given(
    text=st.text(st.characters(blacklist_categories=["Cs", "Cc", "Z"], blacklist_characters="\u2581"), min_size=1),
)
def test_text_taken_apart_and_joined_is_the_same(text: str) -> None:
    table = read_pieces(WEIGHTS / "tokenizer.bin")
    assert table.text(list(table.numbers(text))) == text


def test_a_table_cut_short_is_told(tmp_path: Path) -> None:
    whole = (WEIGHTS / "tokenizer.bin").read_bytes()
    for content in (whole[:-1], b"\x85", b"\x05ab"):
        (tmp_path / "tokenizer.bin").write_bytes(content)
        with pytest.raises(BrokenWorldError, match="ends in the middle"):
            read_pieces(tmp_path / "tokenizer.bin")
    with pytest.raises(BrokenWorldError, match="not readable"):
        read_pieces(tmp_path / "none.bin")


def follow(boost: Boost, numbers: tuple[int, ...]) -> float:
    place, total = Place(), 0.0
    for number in numbers:
        place, change = boost.step(place, number)
        total += change
    return total + boost.settle(place)


def test_a_whole_term_is_helped_and_half_a_term_is_not(pieces: Pieces) -> None:
    boost = Boost(pieces, ["scuttle", "door card"], worth=2.0)
    for text, terms in (("the scuttle is", ["scuttle"]), ("door card", ["door card"]), ("Scuttles", ["Scuttles"])):
        assert follow(boost, pieces.numbers(text)) == 2.0 * sum(len(pieces.numbers(term)) for term in terms)
    for text in ("door handle", "scum", "the wing", "door"):
        assert follow(boost, pieces.numbers(text)) == 0.0


def test_a_term_inside_a_longer_word_is_not_helped(pieces: Pieces) -> None:
    boost = Boost(pieces, ["sill"], worth=2.0)
    sill = pieces.numbers("sill")
    y = pieces.table.index(b"y", 259)
    stop = pieces.table.index(b".", 259)
    assert follow(boost, (*sill, y)) == 0.0
    assert follow(boost, (*sill, stop)) == 2.0 * len(sill)


def test_no_terms_change_nothing(pieces: Pieces) -> None:
    assert follow(Boost(pieces, [], worth=2.0), pieces.numbers("the sill")) == 0.0


def test_terms_have_ids_of_their_own_and_a_source() -> None:
    rows = list(csv.DictReader(DATA.joinpath("trade_terms.csv").read_text(encoding="utf-8").splitlines()))
    assert len({row["id"] for row in rows}) == len(rows) == len(trade_terms())
    assert all(re.fullmatch(r"[a-z_]+", row["id"]) and row["term"] and row["source"] for row in rows)


@pytest.mark.parametrize("threads", [1, 2])
def test_the_name_of_the_recogniser_tells_weights_and_settings(threads: int) -> None:
    name, weights, tuning = bundled(threads=threads).id.split("/")
    assert name == "tiny-en"
    assert weights == hashlib.sha256((WEIGHTS / "SHA256SUMS").read_bytes()).hexdigest()[:12]
    assert len(tuning) == 12


def test_letter_groups_give_sounds_that_the_aligner_knows() -> None:
    rows = list(csv.DictReader(DATA.joinpath("letter_sounds.csv").read_text(encoding="utf-8").splitlines()))
    assert len({row["letters"] for row in rows}) == len(rows)
    assert {sound for row in rows for sound in row["sounds"].split()} <= PHONES
    assert {row["letters"] for row in rows} >= set("abcdefghijklmnopqrstuvwxyz")


@pytest.mark.parametrize(
    ("word", "sounds"),
    [("valance", "V AE L AH N S"), ("tyre", "T AY ER"), ("ashtray", "AE SH T R EY"), ("'", "")],
)
def test_unknown_words_are_sounded_from_their_letters(word: str, sounds: str) -> None:
    assert " ".join(sounds_of(word)) == sounds


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("48,200", "forty eight thousand two hundred"),
        ("1,005", "one thousand five"),
        ("1974", "nineteen seventy four"),
        ("1900", "nineteen hundred"),
        ("1907", "nineteen o seven"),
        ("2004", "two thousand four"),
        ("120", "one hundred and twenty"),
        ("2.5", "two point five"),
        ("007", "nought nought seven"),
        ("1234567890", "one two three four five six seven eight nine nought"),
        ("3,000,000", "three million"),
        ("£50", "pounds fifty"),
        ("MOT", "m o t"),
        ("V5", "v five"),
        ("A-post", "a post"),
        ("it's,", "it's"),
        ("café", "cafe"),
        ("—", ""),
        ("…", ""),
    ],
)
def test_written_words_are_said_as_a_reader_would(written: str, said: str) -> None:
    assert " ".join(spoken_forms(written)) == said


@hypothesis_settings(deadline=None)
@given(number=st.integers(0, 999_999_999))
def test_figures_are_said_as_an_independent_library_says_them(number: int) -> None:
    import inflect

    theirs = str(inflect.engine().number_to_words(str(number), andword="and", zero="nought"))
    ours = " ".join(spoken_forms(f"{number:,}"))
    plain = theirs.replace(",", "").replace("-", " ")
    # That library says 'and' before a lone rest under a hundred after thousands; both are common.
    assert ours.replace(" and", "") == plain.replace(" and", "")


def test_settings_are_read_and_keep_their_order() -> None:
    kept = settings()
    assert kept.split.off < kept.split.on
    assert kept.split.shortest_speech_s < kept.split.pause_s < kept.split.long_pause_s < kept.split.settled_s
    assert kept.split.settled_s < kept.bundled.longest_s < kept.accurate.longest_s <= 30
