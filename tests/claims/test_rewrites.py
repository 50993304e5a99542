"""Rewrites that keep the words of a fault and turn its sense, beside honest ones; common usage, no source.

The sentences are invented; those of `TURNED` were written by people who tried to get past the check without knowing it.
"""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.claims.conftest import finding

from shutline.car.findings import Drive
from shutline.claims.accounted import unaccounted
from shutline.claims.lines import sentences
from shutline.claims.marked_up import marked_up
from shutline.claims.record import Record, record
from shutline.claims.rewrite import compare
from shutline.claims.written_data import shipped_words

KNOWN = (
    "boot damp yes # it's damp in the boot",
    "rear_wing:off dent yes slight # a small dent in the rear wing",
    "arch:both:rear rust yes slight # little scabs on both rear arches",
    "rear_light:near sound yes # the near side one's perfect",
    "rear_light:off crack yes # the offside one's cracked",
    "exhaust smoke no # no smoke from the exhaust",
)
DRAFT = (
    "The boot is damp. The offside rear wing has a small dent. Both rear arches have small scabs of rust.\n\n"
    "The nearside rear light is good, but the offside one is cracked. The exhaust gives no smoke.\n\n"
    "The offside rear light needs new parts. Nobody has spoken of the chassis or the brakes. "
    "That is no verdict on them."
)
TURNED = [
    ("The boot is damp.", "The boot is damp in one of our dreams."),
    ("The boot is damp.", "The boot is damp resistant to a fault."),
    ("The boot is damp.", "The boot is damp (delete this before printing)."),
    ("The boot is damp.", "The boot is damp no longer."),
    ("The boot is damp.", "Some might say the boot is damp, though we could not see it ourselves."),
    ("small dent.", "small dent in its pride."),
    ("small scabs of rust.", "small scabs of rust-coloured wax."),
    ("small scabs of rust.", "small scabs of rust, or so an earlier viewer liked to imagine."),
    ("cracked.", "cracked up to be even better."),
    ("needs new parts.", "needs new parts the way a fish needs a bicycle."),
    ("needs new parts.", "needed new parts, and that is behind it now."),
    ("That is no verdict on them.", "That is because there was nothing to criticise in them."),
    ("That is no verdict on them.", "They speak for themselves."),
    ("Nobody has spoken of the chassis", "Nobody has needed to touch the chassis"),
    ("no smoke.", "no smoke. Nothing rattles over cobbles."),
    ("no smoke.", "no smoke. It wants for nothing but somebody to drive it."),
    ("no smoke.", "no smoke, and the glass sparkles."),
]
PLAIN = [
    ("The boot is damp.", "Be aware that the boot is damp."),
    ("The boot is damp.", "There is damp in the boot."),
    ("The offside rear wing has a small dent.", "You will find a small dent in the offside rear wing."),
    (
        "The nearside rear light is good, but the offside one is cracked.",
        "The offside rear light is cracked and the nearside rear light is good.",
    ),
    (
        "Nobody has spoken of the chassis or the brakes.",
        "Nor has anyone spoken of the brakes or the chassis.",
    ),
    ("That is no verdict on them.", "No verdict on them is given."),
    ("The exhaust gives no smoke.", "Exhaust: no smoke."),
    ("The exhaust gives no smoke.", "The exhaust gives no smoke. We are open Monday to Saturday."),
]


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


@pytest.mark.parametrize(("was", "told"), TURNED)
def test_words_that_turn_what_stands_are_not_accepted_unseen(was: str, told: str) -> None:
    assert was in DRAFT
    compared = compare(DRAFT, DRAFT.replace(was, told), on(*KNOWN))
    assert not compared.accepted
    assert compared.untold or compared.added or compared.dropped


@pytest.mark.parametrize(("was", "told"), PLAIN)
def test_the_same_in_other_plain_words_is_accepted(was: str, told: str) -> None:
    assert was in DRAFT
    compared = compare(DRAFT, DRAFT.replace(was, told), on(*KNOWN))
    assert (compared.added, compared.dropped, compared.untold) == ((), (), ())
    assert compared.accepted


@pytest.mark.parametrize(
    "hidden",
    [
        "~~The boot is damp.~~",
        "<s>The boot is damp.</s>",
        "<!-- The boot is damp. -->",
        '<span style="display:none">The boot is damp.</span>',
        "[The boot is damp.](#)",
        "[//]: # (The boot is damp.)",
        "&lt;!-- The boot is damp.",
        "The boot is\u200b damp.",
        "The boot has no\u00adne damp.",
        "\u202eThe boot is damp.",
        "\u2610 The boot is damp.",
        "The boot is d\u0336a\u0336m\u0336p\u0336.",
    ],
)
def test_marks_that_could_hide_words_are_never_accepted(hidden: str) -> None:
    compared = compare(DRAFT, DRAFT.replace("The boot is damp.", hidden), on(*KNOWN))
    assert compared.marked
    assert not compared.accepted


@pytest.mark.parametrize(
    "plain",
    [
        "Two keys & a spare.",
        "It has done < 100 miles since; 5 > 4.",
        "**The boot** is damp, and *the wing* has a dent.",
        "# Outside",
        "- the boot is damp",
        "A coup\u00e9 of 1969 \u2013 see [the film].",
        "Caf\u0065\u0301 racer",
    ],
)
def test_what_is_shown_as_it_stands_is_no_markup(plain: str) -> None:
    assert marked_up(plain) == ()


def test_markup_that_stood_in_the_former_text_stays() -> None:
    former = "The boot is damp. ~~So it was.~~"
    assert compare(former, former, on(*KNOWN)).accepted


@given(st.text(max_size=60))
def test_a_place_is_shown_in_letters_that_are_seen(text: str) -> None:
    for place in marked_up(text):
        assert all(letter.isprintable() or letter in "\t\r\n" for letter in place if letter.isascii())
        assert not any(
            unicodedata.category(letter) in ("Cf", "Cc", "Co", "Cs") for letter in place if letter not in "\t\r\n"
        )


def test_words_are_accounted_for_by_phrases_small_words_and_the_former_text() -> None:
    def left(text: str, *known: str) -> list[str]:
        sentence = next(sentences(text))
        span = [(0, len(text))]
        found = unaccounted(sentence, set(known), told=span, drive=Drive.RHD, words=shipped_words())
        return [text[first:end] for first, end in found]

    assert left("The offside rear wing has a small dent.") == []
    assert left("The wing has a dent in its pride.") == ["pride"]
    assert left("The wing has a dent in its pride.", "pride") == []
    assert left("The light is cracked-ice red.", "red") == ["cracked-ice"]
