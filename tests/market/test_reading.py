"""Comparables out of CSV: mapped columns, rows that are told by their line, cars that were noted twice."""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.market.conftest import comparable

from shutline.car.comparables import Comparable, Mileage, Unit
from shutline.car.errors import BadInputError
from shutline.market.comparables import of_one_currency, without_doubles
from shutline.market.reading import Columns, read_comparables

MAPPED = Columns(
    {"when": "Date", "price": "Price", "sold": "How", "car": "Reg", "mileage": "Km", "days": "Stood"},
    {"model": "Type"},
    day_form="%d/%m/%Y",
    sold_words=("gone",),
    unit="km",
)
HEAD = "Date,Price,How,Reg,Km,Stood,Type\n"


def test_columns_are_read_as_they_were_mapped() -> None:
    found = read_comparables(HEAD + '03/05/2026,"£8,500",Gone,FGY 412H,100000,40,Ninety\n', MAPPED, name="cars.csv")
    assert found.problems == ()
    (car,) = found.comparables
    assert car == Comparable(
        date(2026, 5, 3),
        Decimal(8500),
        car="FGY 412H",
        mileage=Mileage(100_000, Unit.KM),
        attributes={"model": "Ninety"},
        days=40,
        line="cars.csv, line 2",
    )
    assert car.mileage is not None
    # 100,000 km are 62,137.12 miles (by the definition of the mile, 1,609.344 m).
    assert car.mileage.miles() == pytest.approx(62_137.12, abs=0.005)


@pytest.mark.parametrize(
    ("row", "found", "allowed"),
    [
        ("3 May,8500,gone,,,,", "day '3 May'", "26/11/2026"),
        ("03/05/2026,about 8000,gone,,,,", "price 'about 8000'", "more than nought"),
        ("03/05/2026,-5,gone,,,,", "price '-5'", "more than nought"),
        ("03/05/2026,nan,gone,,,,", "price 'nan'", "more than nought"),
        ('03/05/2026,"8,50",gone,,,,', "price '8,50'", "such as 8500 or £8,500"),
        ('03/05/2026,"£7,9,50",gone,,,,', "price '£7,9,50'", "such as 8500 or £8,500"),
        ("03/05/2026,8.500,gone,,,,", "price '8.500'", "such as 8500 or £8,500"),
        ("03/05/2026,8500,gone,,61.000,,", "mileage '61.000'", "such as 61000 or 61,000"),
        ("03/05/2026,8500,gone,,12k,,", "mileage '12k'", "such as 61000 or 61,000"),
        ("03/05/2026,8500,gone,,many,,", "mileage 'many'", "a number"),
        ("03/05/2026,8500,gone,,,1.5,", "days '1.5'", "a whole number"),
        ("03/05/2026,8500", "2 entries", "7 as in the first line"),
    ],
)
def test_a_row_that_cannot_be_read_is_told_by_its_line_and_the_others_count(row: str, found: str, allowed: str) -> None:
    read = read_comparables(f"{HEAD}{row}\n03/05/2026,8000,asked,,,,\n", MAPPED, name="cars.csv")
    assert [car.price for car in read.comparables] == [Decimal(8000)]
    (problem,) = read.problems
    assert problem.where == "cars.csv, line 2"
    assert problem.slug == "comparable-row"
    assert problem.found == found
    assert allowed in problem.allowed


@pytest.mark.parametrize(
    ("entry", "mileage"),
    [
        ("98,000 km", Mileage(98_000, Unit.KM)),
        ("98000KM", Mileage(98_000, Unit.KM)),
        ("61,000 miles", Mileage(61_000)),
        ("61000 mi", Mileage(61_000)),
        ("61,000", Mileage(61_000, Unit.KM)),
    ],
)
def test_what_a_mileage_says_it_is_in_goes_before_what_the_table_is_in(entry: str, mileage: Mileage) -> None:
    read = read_comparables(f'{HEAD}03/05/2026,8000,gone,,"{entry}",,\n', MAPPED)
    assert [car.mileage for car in read.comparables] == [mileage]


@pytest.mark.parametrize("separator", [";", "\t"])
def test_tables_are_read_with_the_separators_that_spreadsheets_use(separator: str) -> None:
    rows = [["when", "price", "model, as sold"], ["2026-05-03", "£8,500", "Ninety"], ["2026-05-04", "9000", "a,b"]]
    read = read_comparables("".join(separator.join(row) + "\r\n" for row in rows))
    assert [car.price for car in read.comparables] == [8500, 9000]
    assert [dict(car.attributes) for car in read.comparables] == [
        {"model, as sold": "Ninety"},
        {"model, as sold": "a,b"},
    ]


def test_a_heading_that_is_not_there_is_refused() -> None:
    with pytest.raises(BadInputError, match="0 columns 'Km'"):
        read_comparables("Date,Price,How,Reg,Stood,Type\n", MAPPED)
    with pytest.raises(BadInputError, match="no column for price"):
        read_comparables("when,cost\n2026-05-03,8000\n")


def test_without_a_mapping_headings_are_the_fields_and_others_tell_of_the_car() -> None:
    (car,) = read_comparables("when,price,sold,body\n2026-05-03,8000,no,coupe\n").comparables
    assert not car.sold
    assert car.attributes == {"body": "coupe"}


@given(st.lists(st.tuples(st.integers(1, 10**7), st.text(alphabet=st.characters(exclude_categories=["Cs", "Cc"])))))
def test_what_a_spreadsheet_writes_is_read_back(rows: list[tuple[int, str]]) -> None:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerows([("when", "price", "condition"), *(("2026-05-03", price, words) for price, words in rows)])
    read = read_comparables("\ufeff" + out.getvalue())
    assert read.problems == ()
    assert [(int(car.price), car.condition) for car in read.comparables] == [(a, b.strip()) for a, b in rows]


def test_a_car_seen_twice_counts_once_and_is_told() -> None:
    cars = [
        comparable(9500, ago=60, car="FGY 412H", sold=False),
        comparable(8900, ago=30, car="fgy 412h", sold=False),
        comparable(8500, ago=10, car="FGY 412H"),
    ]
    found = without_doubles(cars)
    assert sorted(car.price for car in found.kept) == [Decimal(8500), Decimal(8900)]
    (problem,) = found.problems
    assert problem.slug == "comparable-twice"
    assert "asked for at 9500 " in problem.found
    assert "and at 8900 " in problem.found


def test_cars_without_a_name_are_one_only_where_all_agrees() -> None:
    given_ = {"attributes": {"model": "ninety"}, "where": "Tansley"}
    twice = without_doubles([comparable(9000, 52_310, **given_), comparable(8500, 52_310, ago=20, **given_)])
    assert len(twice.kept) == 1
    apart = without_doubles([comparable(9000, 52_310, **given_), comparable(8500, 52_311, **given_)])
    assert len(apart.kept) == 2
    unknown = without_doubles([comparable(9000, **given_), comparable(8500, **given_)])
    assert len(unknown.kept) == 2


def test_other_currencies_are_set_aside() -> None:
    found = of_one_currency([comparable(9000), comparable(9000, currency="EUR")], "GBP")
    assert len(found.kept) == len(found.set_aside) == 1
    assert found.problems[0].slug == "comparable-currency"
