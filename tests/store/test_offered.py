"""Accepted words are all kept, with who and when; the last that was not taken back counts."""

from __future__ import annotations

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.store import Store
from shutline.store.offered import in_force

CAR = "corvane-ninety"


def test_words_are_kept_with_those_they_took_the_place_of(store: Store, recording) -> None:
    first = store.add_offered(CAR, "A fine car.", former="A car.", mark="m1", author="Ida")
    second = store.add_offered(CAR, "A fine car, \ud800\n\nwith rust.", former="A fine car.", mark="m2", author="Per")
    assert store.offered_texts(CAR) == (first, second)
    assert (first.words, first.former, first.mark, first.author) == ("A fine car.", "A car.", "m1", "Ida")
    assert in_force(store.offered_texts(CAR)) == second


def test_taken_back_the_words_before_them_count_again(store: Store, recording) -> None:
    first = store.add_offered(CAR, "A fine car.", former="A car.", mark="m1", author="Ida")
    second = store.add_offered(CAR, "Another.", former="A fine car.", mark="m1", author="Ida")
    ended = store.end_offered(CAR, author="Per")
    assert (ended.id, ended.ended_by, ended.ended_at is not None) == (second.id, "Per", True)
    assert in_force(store.offered_texts(CAR)) == first
    store.end_offered(CAR, author="Per")
    assert in_force(store.offered_texts(CAR)) is None
    with pytest.raises(NotFoundError) as refused:
        store.end_offered(CAR, author="Per")
    assert refused.value.problem.slug == "offered-unknown"
    assert len(store.offered_texts(CAR)) == 2


def test_a_change_that_comes_too_late_is_refused(store: Store, recording) -> None:
    first = store.add_offered(CAR, "A fine car.", former="A car.", mark="m1", author="Ida", expected=0)
    for change in (
        lambda: store.add_offered(CAR, "Late.", former="A car.", mark="m1", author="Per", expected=0),
        lambda: store.end_offered(CAR, author="Per", expected=first.id + 1),
    ):
        with pytest.raises(UserError) as refused:
            change()
        assert refused.value.problem.slug == "offered-changed"
    with pytest.raises(UserError):
        store.add_offered(CAR, "Nobody's.", former="A car.", mark="m1", author="")
    assert store.offered_texts(CAR) == (first,)
