"""Questions without an answer are kept once, with who asked; they are taken off the list, never away."""

from __future__ import annotations

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.store import Store

CAR = "corvane-ninety"


def test_a_question_is_kept_once_whatever_its_capitals(store: Store, recording) -> None:
    first = store.keep_question(CAR, "Does the heater work?", author="Ida")
    assert store.keep_question(CAR, "does the  heater work?", author="Per") == first
    second = store.keep_question(CAR, "any rust \ud800?", author="Per")
    assert store.questions(CAR) == (first, second)
    assert (first.words, first.author, first.ended_at) == ("Does the heater work?", "Ida", None)


def test_a_question_is_taken_off_the_list_and_put_back_when_it_is_asked_again(store: Store, recording) -> None:
    kept = store.keep_question(CAR, "Does the heater work?", author="Ida")
    ended = store.end_question(CAR, kept.id, author="Per")
    assert (ended.ended_by, ended.ended_at is not None) == ("Per", True)
    assert store.end_question(CAR, kept.id, author="Ida") == ended
    assert store.questions(CAR) == ()
    assert store.keep_question(CAR, "Does the heater work?", author="Ida") == kept


def test_a_question_goes_onto_the_page_only_when_somebody_says_so_and_who_did_is_kept(store: Store, recording) -> None:
    kept = store.keep_question(CAR, "Does the heater work?", author="Ida")
    other = store.keep_question(CAR, "Any rust?", author="Ida")
    assert (kept.on_page, kept.said) == (False, ())
    shown = store.show_question(CAR, kept.id, shown=True, author="Per")
    assert shown.on_page
    assert store.show_question(CAR, kept.id, shown=True, author="Ida") == shown
    off = store.show_question(CAR, kept.id, shown=False, author="Ida")
    assert not off.on_page
    assert [(one.on, one.author) for one in off.said] == [(True, "Per"), (False, "Ida")]
    assert store.questions(CAR) == (off, other)


def test_a_question_that_is_taken_off_the_list_comes_back_off_the_page(store: Store, recording) -> None:
    kept = store.keep_question(CAR, "Does the heater work?", author="Ida")
    store.show_question(CAR, kept.id, shown=True, author="Ida")
    ended = store.end_question(CAR, kept.id, author="Per")
    assert [(one.on, one.author) for one in ended.said] == [(True, "Ida"), (False, "Per")]
    with pytest.raises(NotFoundError):
        store.show_question(CAR, kept.id, shown=True, author="Ida")
    assert not store.keep_question(CAR, "Does the heater work?", author="Ida").on_page


def test_a_question_of_no_car_or_no_list_is_refused(store: Store, recording) -> None:
    with pytest.raises(NotFoundError):
        store.keep_question("no-such-car", "Rust?", author="Ida")
    with pytest.raises(NotFoundError) as refused:
        store.end_question(CAR, "no-such-question", author="Ida")
    assert refused.value.problem.slug == "question-unknown"
    with pytest.raises(NotFoundError):
        store.show_question(CAR, "no-such-question", shown=True, author="Ida")
    with pytest.raises(UserError):
        store.keep_question(CAR, "Rust?", author="")
