"""Which day something off a paper is of, and which fact it gives."""

from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st

from shutline.car.keepers import keepers_before
from shutline.car.papers import Box, Proposal, ReadKind, Value
from shutline.history.paper_facts import days_beside, fact_given


def read(kind: ReadKind, text: str, role: str = "", *, page: int = 1, top: float = 0.1, left: float = 0.1) -> Proposal:
    return Proposal(kind, page, Box(left, top, 0.2, 0.02), text, role, (Value(text, "", 1.0),), "")


def date(text: str, role: str = "", **where: float) -> Proposal:
    return read(ReadKind.DATE, text, role, **where)


def miles(text: str, **where: float) -> Proposal:
    return read(ReadKind.MILEAGE, text, "mileage", **where)


def test_a_stamp_has_the_day_of_its_own_line() -> None:
    rows = [("1987-04-01", "1020"), ("1988-05-02", "9100"), ("1989-05-30", "17402")]
    reads = [one for at, (day, value) in enumerate(rows) for one in (date(day, top=at / 10), miles(value, top=at / 10))]
    assert days_beside(reads) == tuple(day for day, _ in rows for _ in range(2))


def test_a_mileage_has_the_day_of_its_paper_by_the_role_that_says_so() -> None:
    reads = [date("1987-03-04", "first registered", top=0.5), date("2019-05-13", "test"), date("2020-05-12", "expiry")]
    assert days_beside([*reads, miles("41206", top=0.8)])[-1] == "2019-05-13"
    # On a page without dates that of the paper holds; two days of one role tell nothing.
    assert days_beside([*reads, miles("41206", page=2)])[-1] == "2019-05-13"
    assert days_beside([date("2019-01-01", "test"), date("2019-02-02", "test", top=0.3), miles("5", top=0.8)])[-1] == ""
    assert days_beside([date("1987-03-04", "first registered"), miles("41206", top=0.8)])[-1] == ""
    assert days_beside([]) == ()


@given(st.lists(st.tuples(st.integers(1, 3), st.integers(0, 20), st.integers(0, 3), st.booleans()), max_size=12))
def test_the_order_in_which_things_were_read_changes_nothing(rows: list[tuple[int, int, int, bool]]) -> None:
    reads = [
        (date if is_date else miles)(f"19{60 + top}-01-0{left + 1}", page=page, top=top / 25, left=left / 4)
        for page, top, left, is_date in rows
    ]
    told = dict(zip(reads, days_beside(reads), strict=True))
    shuffled = random.Random(1).sample(reads, len(reads))
    assert dict(zip(shuffled, days_beside(shuffled), strict=True)) == told


def test_what_is_taken_gives_a_fact_where_its_role_says_so() -> None:
    given_ = [
        (ReadKind.MARK, "mark", "FGY412H", ("registration_mark", "FGY412H")),
        (ReadKind.MARK, "former mark", "OLD1", None),
        (ReadKind.CHASSIS, "", "NV5112894", ("chassis_number", "NV5112894")),
        (ReadKind.DATE, "first registered", "1968-04-01", ("first_registered", "1968-04-01")),
        (ReadKind.DATE, "made", "1967", ("year", 1967)),
        (ReadKind.DATE, "test", "2019-05-13", None),
        (ReadKind.COUNT, "former keepers", "3", ("keepers", 3)),
        (ReadKind.COUNT, "former keepers", "three", None),
        # What a paper of 1998 says the car had run is not what it shows today.
        (ReadKind.MILEAGE, "mileage", "41206", None),
        (ReadKind.NAME, "keeper", "A. Harbottle", None),
    ]
    for kind, role, value, wanted in given_:
        got = fact_given(kind, role, value)
        assert (None if got is None else (got.name, got.value)) == wanted


def test_keepers_off_a_paper_are_those_before_the_present_one() -> None:
    from shutline.car.findings import Fact, Footing, FootingKind
    from shutline.history.paper_facts import KEEPERS_RULE

    assert keepers_before(Fact("keepers", 3, footings=(Footing(FootingKind.WRITTEN, rules=(KEEPERS_RULE,)),)))
