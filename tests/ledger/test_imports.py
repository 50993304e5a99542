"""A car that is brought in: the day by which it is told, the ways in with what they come to, none of them chosen."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from tests.ledger.conftest import pounds

from shutline.car.errors import BadInputError
from shutline.ledger import Brought, Money, Said, import_told, rules_of
from shutline.ledger.imports import Met, WayIn

COLLECTORS = {"original": Said.YES, "out-of-production": Said.YES}
RETURNED = {
    **dict.fromkeys(("same-person", "unaltered", "vat-paid"), Said.YES),
    **dict.fromkeys(("sold-abroad", "personal-export"), Said.NO),
}


def ways(**more: object) -> dict[str, WayIn]:
    usual = {"arrived": date(2026, 6, 1), "value": pounds(20000), "on_the_way": pounds(0)}
    return {one.id: one for one in import_told(Brought(**{**usual, **more})).ways}  # type: ignore[arg-type]


def test_five_per_cent_of_twenty_thousand_is_a_thousand() -> None:
    # gov.uk IMPS05200 (VATA 1994 s.21(4)): a quarter of the value at 20 %.
    found = ways()["collectors"]
    assert (found.duty, found.vat) == (pounds(0), pounds(1000))


def test_an_ordinary_car_owes_duty_and_vat_on_top_of_it() -> None:
    # 10 % of 20,000, from memory; 20 % of 20,000 + 2,000 + 500.
    found = ways(on_the_way=pounds(500))["ordinary"]
    assert (found.duty, found.vat) == (pounds(2000), pounds(4500))


def test_the_revenue_is_told_within_fourteen_days() -> None:
    # tax.service.gov.uk NOVA FAQ 003.
    told = import_told(Brought(date(2026, 6, 1), pounds(1), pounds(0)))
    assert told.tell_by == date(2026, 6, 15)
    assert "adviser" in told.caution
    assert "not eligible" in told.scheme


@pytest.mark.parametrize(
    ("made", "answers", "met"),
    [
        (date(1970, 1, 1), COLLECTORS, Met.YES),
        (date(1996, 6, 1), COLLECTORS, Met.YES),
        (date(1996, 6, 2), COLLECTORS, Met.NO),
        (None, COLLECTORS, Met.NOT_KNOWN),
        (date(1970, 1, 1), {}, Met.NOT_KNOWN),
        (date(1970, 1, 1), {"original": Said.NO}, Met.NO),
    ],
)
def test_a_collectors_piece_is_thirty_years_old_original_and_out_of_production(
    made: date | None, answers: dict[str, Said], met: Met
) -> None:
    assert ways(made=made, answers=answers)["collectors"].met is met


@pytest.mark.parametrize(
    ("taken_out", "answers", "met"),
    [
        (date(2023, 6, 1), RETURNED, Met.YES),
        (date(2023, 5, 31), RETURNED, Met.NO),
        (date(2026, 6, 2), RETURNED, Met.NO),
        (None, RETURNED, Met.NOT_KNOWN),
        (date(2025, 1, 1), RETURNED | {"sold-abroad": Said.YES}, Met.NO),
        (date(2025, 1, 1), RETURNED | {"vat-paid": Said.NOT_KNOWN}, Met.NOT_KNOWN),
    ],
)
def test_goods_come_back_free_within_three_years_under_every_condition(
    taken_out: date | None, answers: dict[str, Said], met: Met
) -> None:
    found = ways(taken_out=taken_out, answers=answers)["returned"]
    assert (found.met, found.duty, found.vat) == (met, pounds(0), pounds(0))


def test_every_condition_has_a_source_and_can_be_answered() -> None:
    found = ways(answers=COLLECTORS | RETURNED).values()
    assert all(way.source and one.source for way in found for one in way.conditions)
    # What is told by a day is not answered.
    assert {one.id for way in found for one in way.conditions if one.met is Met.NOT_KNOWN} == {"age", "years"}


@pytest.mark.parametrize(
    "more",
    [
        {"answers": {"colour": Said.YES}},
        {"value": Money(Decimal(5), "EUR")},
        {"on_the_way": pounds("-1")},
        {"made": date(2030, 1, 1)},
    ],
)
def test_what_it_cannot_be_worked_out_of_is_refused(more: dict[str, object]) -> None:
    with pytest.raises(BadInputError) as caught:
        ways(**more)
    assert caught.value.problem.slug == "ledger-import"
    with pytest.raises(BadInputError):
        import_told(Brought(date(2026, 6, 1), pounds(1), pounds(0)), rules_of("de", take_from_memory=True))
