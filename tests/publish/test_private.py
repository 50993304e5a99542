from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.going_out import PrivateKind
from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming, stretch_of
from shutline.publish.called import people_in
from shutline.publish.captions import captions
from shutline.publish.private import Private, private_of

RULES = tomllib.loads(files("shutline.publish").joinpath("data/private.toml").read_text(encoding="utf-8"))
ROWS = [(row["example"], row["counter_example"]) for row in RULES["pattern"]]
SETS = ("price", "names", "called")
EXAMPLES = [*(one for name in SETS for one in RULES[name]["examples"]), *(row[0] for row in ROWS)]
COUNTER_EXAMPLES = [*(one for name in SETS for one in RULES[name]["counter_examples"]), *(row[1] for row in ROWS)]


@pytest.mark.parametrize("text", EXAMPLES)
def test_what_the_shipped_rules_are_for_is_left_out(text: str) -> None:
    assert "[…]" in Private().text(text)


@pytest.mark.parametrize("text", COUNTER_EXAMPLES)
def test_what_they_are_not_for_stays(text: str) -> None:
    assert Private().text(text) == text


KEEPER = private_of(
    [
        (PrivateKind.KEEPER, "Augusta Harbottle"),
        (PrivateKind.PLACE, "Nether Wallop airfield"),
        (PrivateKind.PRICE, "£4,250"),
    ],
    signs=["KLM 427F"],
)


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("We're at Nether Wallop airfield today.", "We're at […] today."),
        ("augusta harbottle had it from new", "[…] had it from new"),
        ("That was AUGUSTA HARBOTTLE'S.", "That was […]"),
        ("it owes four thousand two hundred and fifty all told", "it owes […] all told"),
        ("that's 4250 in it", "that's […] in it"),
        ("four and a quarter grand went into it", "[…] went into it"),
        ("on the plate it's KLM 427F, that's right", "on the plate it's […] that's right"),
        ("klm427f", "[…]"),
        ("Nether Wallop has no airfield", "Nether Wallop has no airfield"),
    ],
)
def test_what_was_said_to_be_private_is_left_out_however_it_is_written(text: str, left: str) -> None:
    assert KEEPER.text(text) == left


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ("Augusta Harbottle", "the Augusta Harbottles of this world"),
        ("O'Dray", "O\N{RIGHT SINGLE QUOTATION MARK}Dray's car"),
        ("Caf\N{LATIN SMALL LETTER E WITH ACUTE} Mullo", "by Cafe\N{COMBINING ACUTE ACCENT} Mullo"),
        ("Harbottle", "it was Harbot\N{SOFT HYPHEN}tle's"),
        ("Harbottle", "it was Har\N{ZERO WIDTH SPACE}bottle's"),
        ("Fifeshire", "from \N{LATIN SMALL LIGATURE FI}feshire"),
        ("Augusta", "\N{FULLWIDTH LATIN CAPITAL LETTER A}ugusta had it"),
    ],
)
def test_other_signs_for_the_same_letters_hide_nothing(words: str, text: str) -> None:
    private = private_of([(PrivateKind.OTHER, words)])
    assert "[…]" in private.text(text)
    assert private.text(text) != text


def test_what_the_firm_says_of_itself_is_spared_by_the_rules_and_not_by_private_words() -> None:
    text = "ring Halloran & Pike on 01632 960 011, or the keeper on 01632 960 123"
    private = private_of([], spared=["Halloran & Pike", "01632 960 011"])
    assert private.text(text) == "ring Halloran & Pike on 01632 960 011, or the keeper on […]"
    both = private_of([(PrivateKind.OTHER, "01632 960 011")], spared=["01632 960 011"])
    assert "960 011" not in both.text(text)


def spoken(*words: str, timing: WordTiming = WordTiming.ALIGNED) -> Stretch:
    timed = tuple(Word(word, float(at), at + 0.8, timing) for at, word in enumerate(words))
    return Stretch(0.0, float(len(words)), " ".join(words), timed, StretchOrigin.HEARD)


def test_the_sound_is_silent_where_it_was_said_and_the_captions_show_a_mark() -> None:
    stretch = spoken("this", "was", "Augusta", "Harbottle's", "car", "once")
    assert KEEPER.muted("r1", [stretch]) == ((1.75, 4.05),)
    (without,) = KEEPER.stretches("r1", [stretch])
    assert without.text == "this was […] car once"
    assert [cue.text for cue in captions([without])] == ["this was […] car once"]


def test_a_word_whose_time_is_not_known_silences_its_stretch() -> None:
    stretch = stretch_of("this was Augusta Harbottle's car", 3.0, 9.0, origin=StretchOrigin.TRANSCRIPT)
    assert KEEPER.muted("r1", [stretch]) == ((3.0, 9.0),)


def test_where_a_mark_was_spelled_out_nothing_is_told() -> None:
    private = private_of([], spans={"r1": ((1.5, 3.5),)})
    (without,) = private.stretches("r1", [spoken("mark", "is", "kay", "ell", "right")])
    assert without.text == "mark […] right"
    assert private.quote("kay ell", "r1", 2.0, 3.0) == "[…]"
    assert private.quote("kay ell", "r2", 2.0, 3.0) == "kay ell"
    assert private.muted("r1", []) == ((1.5, 3.5),)


@given(before=st.text(max_size=20), after=st.text(max_size=20))
def test_private_words_that_stand_by_themselves_never_stay(before: str, after: str) -> None:
    assert "Harbottle" not in KEEPER.text(f"{before} Augusta Harbottle {after}")


@given(text=st.text(max_size=80))
def test_without_anything_private_a_text_stays_as_it_is(text: str) -> None:
    given = Private().text(text)
    assert given == text or "[…]" in given


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Danies in the seat. Go on then, Danny.", "[…] in the seat. Go on then, […]"),
        ("danny's in the seat go on then danny", "[…] in the seat go on then […]"),
        ("Hold that, Mick, while I look.", "Hold that, […] while I look."),
        ("Ask Doreen Quill for the bills", "Ask […] for the bills"),
        ("Cheers, Pat. Bonnet next.", "Cheers, […] Bonnet next."),
        ("Go on then, Dunstan.", "Go on then, […]"),
        ("Thanks, Ray and Lee.", "Thanks, […] and […]"),
    ],
)
def test_whoever_is_called_by_name_is_left_out(text: str, left: str) -> None:
    assert Private().text(text) == left


def test_a_name_that_was_called_once_is_left_out_of_the_quotes_of_other_lines() -> None:
    said = [spoken("Hold", "that,", "Dunstan.", "Dunstan", "will", "show", "you.")]
    private = private_of([], said=[said])
    assert private.text("Dunstan's done the sill") == "[…] done the sill"
    assert Private().text("Dunstan's done the sill") == "Dunstan's done the sill"
    assert private.muted("r1", said) == ((1.75, 4.05),)


def test_a_name_that_is_a_word_too_stays_where_nobody_is_called() -> None:
    private = private_of([], said=[[spoken("Cheers,", "Pat.")]])
    assert private.names == {"pat"}
    assert private.text("Pat it dry with a cloth and pat it again") == "Pat it dry with a cloth and pat it again"
    assert private.text("It was Pat who painted it") == "It was […] who painted it"


def test_a_line_that_begins_after_a_call_is_nobodys_name() -> None:
    lines = [spoken("Well", "done"), spoken("Headlamps", "are", "clear")]
    assert [one.text for one in Private().stretches("r1", lines)] == ["Well done", "Headlamps are clear"]


def test_the_names_that_are_left_out_are_listed_as_they_are_written() -> None:
    said = [spoken("Danny's", "in", "the", "seat."), spoken("Go", "on", "then,", "Danny."), spoken("Ask", "Doreen.")]
    assert people_in(said) == ("Danny", "Doreen")
    assert people_in([spoken("The", "bonnet", "is", "straight.")]) == ()


def test_a_word_that_is_said_to_be_no_name_is_left_in_and_the_others_stay_out() -> None:
    said = [spoken("Go", "on", "then,", "Danny."), spoken("Ask", "Doreen."), spoken("Danny's", "in", "it.")]
    kept = private_of([(PrivateKind.NO_NAME, "Doreen")], said=[said])
    assert kept.text("Ask Doreen.") == "Ask Doreen."
    assert "Danny" not in kept.text("Danny's in it.")
    assert people_in(said, no_names=frozenset({"doreen"})) == ("Danny",)
    # It is a word that may leave, and no private one.
    assert not kept.phrases
    # Said to be private as well, it goes out nowhere.
    both = private_of([(PrivateKind.NO_NAME, "Doreen"), (PrivateKind.KEEPER, "Doreen")], said=[said])
    assert "Doreen" not in both.text("Ask Doreen.")
