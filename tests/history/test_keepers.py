"""The chain of keepers: its order, gaps and overlaps, and what it contradicts."""

from __future__ import annotations

import random
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.history.keepers import Chain, NumberTold, chain_of
from shutline.history.spans import Period, span_of, span_plain, span_words

DAY = date(2026, 11, 26)


def kept(start: str = "", until: str = "", name: str = "", *, lasts: bool = False) -> Period:
    return Period(name, span_of(start) if start else None, span_of(until) if until else None, lasts, "said")


def ids(chain: Chain) -> list[str]:
    return [one.id for one in chain.doubts]


@pytest.mark.parametrize(
    ("text", "told", "plain"),
    [
        ("1987", "in 1987", "1987"),
        ("1988-02", "in February 1988", "February 1988"),
        ("1987-12", "in December 1987", "December 1987"),
        ("1987-03-14", "on 1987-03-14", "1987-03-14"),
    ],
)
def test_a_date_keeps_its_precision(text: str, told: str, plain: str) -> None:
    span = span_of(text)
    assert span is not None
    assert (span_words(span), span_plain(span)) == (told, plain)


def test_a_year_that_no_car_has_is_none() -> None:
    assert span_of("1066") is None
    assert span_plain((date(1987, 3, 14), date(1988, 1, 2))) == "1987-03-14 to 1988-01-02"


def test_keepers_that_meet_have_no_doubt_and_each_is_told_with_its_name_and_ground() -> None:
    chain = chain_of(
        [kept("1994-05-20", name="Jonas Pell", lasts=True), kept("1969-09", "1994-05-02", "Augusta Harbottle")],
        day=DAY,
        registered=span_of("1969-09-02"),
        told=[NumberTold(2, date(2026, 4, 21), "said")],
    )
    assert (chain.gaps, chain.doubts) == ((), ())
    assert chain.sentences == (
        "Keeper 1: Augusta Harbottle, from September 1969 to 1994-05-02 (said).",
        "Keeper 2: Jonas Pell, from 1994-05-20 to this day (said).",
    )


@pytest.mark.parametrize(
    ("entries", "wanted"),
    [
        # A month between two keepers is how long the paper takes; more is a gap, and one year a span of days.
        ((("1980", "1990-05-01"), ("1990-06-01", "1999")), []),
        ((("1980", "1990-05-01"), ("1990-06-02", "1999")), ["keepers-gap"]),
        ((("1980", "1990"), ("1991", "1999")), []),
        ((("1980", "1990"), ("1992", "1999")), ["keepers-gap"]),
        ((("1980", "1990"), ("1989", "1999")), []),
        ((("1980", "1990-06-02"), ("1990-05-01", "1999")), ["keepers-overlap"]),
        ((("1980", "1990"), ("1988", "1999")), ["keepers-overlap"]),
        # Where no end is known, nothing can be said of what comes after.
        ((("1980", ""), ("1999", "")), []),
        ((("", "1980"), ("1999", "")), ["keepers-gap"]),
        ((("", ""), ("1999", "")), []),
    ],
)
def test_gaps_and_overlaps_are_told_where_they_are_certain(entries, wanted) -> None:
    assert ids(chain_of([kept(*one) for one in entries], day=DAY)) == wanted


def test_the_time_from_first_registration_to_the_first_keeper_is_a_gap() -> None:
    chain = chain_of([kept("1987", lasts=True)], day=DAY, registered=span_of("1969-09-02"))
    assert [(one.start, one.until) for one in chain.gaps] == [(date(1969, 9, 2), date(1987, 1, 1))]


def test_two_that_last_overlap_and_one_name_entered_twice_does_not() -> None:
    names = ("Augusta Harbottle", "augusta  harbottle")
    assert ids(chain_of([kept("1980", lasts=True), kept("1990", lasts=True)], day=DAY)) == ["keepers-overlap"]
    same = [kept("1980", name=names[0], lasts=True), kept("1980-05", name=names[1], lasts=True)]
    chain = chain_of(same, day=DAY, told=[NumberTold(1, DAY, "said")])
    assert ids(chain) == []


def test_a_keeper_before_the_car_was_made() -> None:
    assert ids(chain_of([kept("1968", "1975")], day=DAY, made=span_of("1969"))) == ["keeper-before-made"]
    assert ids(chain_of([kept("1969", "1975")], day=DAY, made=span_of("1969-08"))) == []


@pytest.mark.parametrize(
    ("count", "day", "wanted"),
    [
        (2, "2020-01-01", []),
        (1, "2020-01-01", ["keepers-count"]),
        (3, "2020-01-01", ["keepers-count"]),
        # By then the second had not begun, or may not have.
        (1, "1985-01-01", []),
        (1, "1990-06-01", []),
        (2, "1985-01-01", ["keepers-count"]),
    ],
)
def test_the_number_that_was_told_is_held_against_those_who_had_begun_by_then(count, day, wanted) -> None:
    chain = chain_of(
        [kept("1969-09", "1990"), kept("1990", lasts=True)],
        day=DAY,
        registered=span_of("1969-09-02"),
        told=[NumberTold(count, date.fromisoformat(day), "registration document")],
    )
    assert ids(chain) == wanted


def test_fewer_than_told_are_no_doubt_while_the_chain_has_a_gap_and_no_number_is_without_its_day() -> None:
    entries = [kept("1969-09", "1980"), kept("1990", lasts=True)]
    told = [NumberTold(5, DAY, "said"), NumberTold(1, None, "paper")]
    assert ids(chain_of(entries, day=DAY, registered=span_of("1969-09-02"), told=told)) == ["keepers-gap"]


dates = st.sampled_from(["", "1969", "1975-03", "1980-05-01", "1980-06-20", "1990", "2001-12", "2020-02-29"])
entered = st.builds(kept, dates, dates, st.sampled_from(["", "A. Pell", "B. Quill"]), lasts=st.booleans())


@settings(max_examples=200, deadline=None)
@given(st.lists(entered, max_size=6), st.integers(0, 99), dates)
def test_the_order_changes_nothing_and_gaps_lie_where_nobody_is(entries, seed, made) -> None:
    span = span_of(made) if made else None
    told = [NumberTold(2, date(1985, 1, 1), "said"), NumberTold(4, DAY, "said")]
    chain = chain_of(entries, day=DAY, made=span, registered=span, told=told)
    shuffled = random.Random(seed).sample(entries, len(entries))
    assert chain_of(shuffled, day=DAY, made=span, registered=span, told=told) == chain
    assert len(chain.sentences) == len(entries)
    assert all(one.start < one.until for one in chain.gaps)
    assert all(before.until <= after.start for before, after in pairwise(chain.gaps))
    for gap in chain.gaps:
        middle = gap.start + (gap.until - gap.start) / 2
        for one in entries:
            ends = DAY if one.lasts else one.until[0] if one.until else None
            assert not (one.start and ends and one.start[1] <= middle < ends)
