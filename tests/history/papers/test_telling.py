"""What the words of a paper tell: by layouts written by hand, read well and badly, in any order, and of any rubbish."""

from __future__ import annotations

import random

import paper_layouts as layouts
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.papers import PRIVATE, Box, Line, Page, PaperKind, PaperTold, Proposal, ReadKind
from shutline.history.papers import Known, private_words, tell_paper

TODAY = layouts.TODAY
KNOWN = layouts.read_layouts("layouts_known.txt")
HELD = layouts.read_layouts("layouts_held.txt")


def told(text: str, **known: object) -> PaperTold:
    return tell_paper([layouts.page_of(text)], known=Known(TODAY, **known))


def of_kind(paper: PaperTold, kind: ReadKind) -> list[Proposal]:
    return [one for one in paper.proposals if one.kind is kind]


@pytest.mark.parametrize("layout", KNOWN, ids=lambda layout: layout.name)
def test_a_known_layout_is_read_whole(layout: object) -> None:
    score = layouts.scored([layout])
    assert score.notes == []


@given(st.sampled_from([*KNOWN, *HELD]), st.integers(0, 10**6))
@settings(max_examples=40, deadline=None)
def test_shuffling_lines_changes_nothing(layout: object, seed: int) -> None:
    page = layouts.noisy(layouts.page_of(layout.text), seed)
    lines = list(page.lines)
    random.Random(seed).shuffle(lines)
    known = Known(TODAY)
    assert tell_paper([Page(1, tuple(lines))], known=known) == tell_paper([page], known=known)
    assert private_words([Page(1, tuple(lines))]) == private_words([page])


def test_the_order_of_pages_changes_nothing() -> None:
    pages = [layouts.page_of(layout.text, number) for number, layout in enumerate(KNOWN, 1)]
    turned = list(reversed(pages))
    assert tell_paper(pages, known=Known(TODAY)) == tell_paper(turned, known=Known(TODAY))


def test_no_page_and_an_empty_page_tell_nothing() -> None:
    for pages in ([], [Page(1, ())], [Page(1, (Line("   ", Box(0, 0, 1, 1)),))]):
        paper = tell_paper(pages, known=Known(TODAY))
        assert paper.proposals == ()
        assert paper.kinds[0][0] is PaperKind.OTHER
        assert sum(chance for _, chance in paper.kinds) == pytest.approx(1, abs=0.001)
        assert private_words(pages) == ()


floats = st.floats(allow_nan=True, allow_infinity=True) | st.floats(0, 1)
boxes = st.builds(Box, floats, floats, floats, floats)
rubbish = st.text() | st.text(alphabet="0OolI1/.-£€ \t\nabcZE9:@") | st.text(alphabet="אבגدهو 12/٣٤年月日")
pages = st.lists(
    st.builds(Page, st.integers(-3, 500), st.lists(st.builds(Line, rubbish, boxes, floats), max_size=8).map(tuple)),
    max_size=3,
)


@given(pages)
@settings(max_examples=150, deadline=None)
def test_no_rubbish_makes_it_fail(some: list[Page]) -> None:
    paper = tell_paper(some, known=Known(TODAY, marks=("FGY 412H",), chassis=("GAHN5/4711L",), house=("Halloran",)))
    for one in paper.proposals:
        assert one.values
        assert one.why
        assert sum(value.chance for value in one.values) <= 1.01
    private_words(some)


def test_words_from_right_to_left_and_long_lines_are_taken() -> None:
    page = Page(1, (Line("רישום FGY 412H 04/03/1970", Box(0, 0, 1, 0.02)), Line("x" * 5000, Box(0, 0.1, 1, 0.02))))
    paper = tell_paper([page], known=Known(TODAY))
    assert [one.values[0].text for one in of_kind(paper, ReadKind.DATE)] == ["1970-03-04"]
    # What no eye went over is kept back.
    assert any(one.words == "x" * 3000 for one in private_words([page]))


@pytest.mark.parametrize(
    "sign", ["A", "a", "0", "1 ", "O", "Mr ", "Aa", "1A", "1,", "1.", "A.", "1/", "£1", "@", "l-", "May", "1 A"]
)
def test_a_sign_said_over_and_over_is_told_to_its_end(sign: str) -> None:
    """A pattern that tries all ways would not come back; how long pages take stands in bench/papers_told.py."""
    page = Page(1, tuple(Line(lead + sign * 1000, Box(0.1, 0.1, 0.5, 0.02)) for lead in ("", "7 ", "Keeper: ", "Mr ")))
    paper = tell_paper([page], known=Known(TODAY))
    assert {one.page for one in paper.proposals} <= {1}
    assert all(0 <= chance <= 1 for _, chance in paper.kinds)


@pytest.mark.slow
def test_four_hundred_pages_of_sixty_lines_are_told_whole() -> None:
    row = "12/0{m}/198{y}   4{y},2{m}6   6000 mile service   Harbottle & Pike Ltd"
    prose = "The front subframe was taken off and cleaned and painted by hand before it went back"
    text = "\n".join([row.format(m=at % 9 + 1, y=at % 10) for at in range(10)] + [prose] * 20)
    some = [layouts.page_of(text, number) for number in range(1, 401)]
    assert sum(len(page.lines) for page in some) == 400 * 60
    paper = tell_paper(some, known=Known(TODAY))
    assert len(of_kind(paper, ReadKind.DATE)) == 4000


# Roles, sums, and what is known beside the paper ----------------------------------------------------------------------


def test_a_label_over_two_lines_is_put_together() -> None:
    paper = told("Date of first      04/03/1970\nregistration\n\nDate of last       05/06/2001\nchange of keeper")
    assert [(one.role, one.values[0].text) for one in of_kind(paper, ReadKind.DATE)] == [
        ("first registered", "1970-03-04"),
        ("last change of keeper", "2001-06-05"),
    ]


def test_a_value_below_its_label_and_one_to_the_right_are_told_the_same() -> None:
    below = told("Date of first registration     Odometer reading\n04/03/1970                     41206")
    right = told("Date of first registration     04/03/1970\nOdometer reading               41206")
    for paper in (below, right):
        assert [(one.kind, one.role, one.values[0].text) for one in paper.proposals] == [
            (ReadKind.DATE, "first registered", "1970-03-04"),
            (ReadKind.MILEAGE, "mileage", "41206"),
        ]


def test_a_total_that_agrees_with_its_lines_is_told_so_and_one_that_does_not_is_not() -> None:
    bill = "INVOICE\nClutch kit            89.50\nLabour               120.00\nTotal               £{}"
    (total,) = [one for one in of_kind(told(bill.format("209.50")), ReadKind.MONEY) if one.role == "total"]
    assert "the 2 amounts above it come to 209.50, and agree with it" in total.why
    (total,) = [one for one in of_kind(told(bill.format("219.50")), ReadKind.MONEY) if one.role == "total"]
    assert "agree" not in total.why


def test_net_and_vat_that_do_not_make_the_total_are_told() -> None:
    paper = told("INVOICE\nSubtotal     100.00\nVAT           20.00\nTotal       £125.00")
    (total,) = [one for one in of_kind(paper, ReadKind.MONEY) if one.role == "total"]
    assert "net and VAT come to 120.00, and do not agree with it" in total.why


def test_likely_misreadings_of_our_mark_are_proposed_and_none_is_applied() -> None:
    paper = told("Registration mark: FGY 4I2H", marks=("FGY 412H",))
    (mark,) = of_kind(paper, ReadKind.MARK)
    assert [value.text for value in mark.values] == ["FGY4I2H", "FGY412H"]
    assert "may be misread for FGY412H" in mark.why


def test_a_chassis_number_whose_check_digit_fails_says_so() -> None:
    """49 CFR 565.15's own example is 1M8GDM9AXKP042788."""
    (right,) = of_kind(told("VIN: 1M8GDM9AXKP042788"), ReadKind.CHASSIS)
    (wrong,) = of_kind(told("VIN: 1M8GDM9AXKP042786"), ReadKind.CHASSIS)
    assert "check digit" not in right.why
    assert "check digit does not hold" in wrong.why
    assert wrong.values[0].text == "1M8GDM9AXKP042786"


def test_an_engine_number_and_a_vat_number_are_nothing_of_ours() -> None:
    paper = told("Engine No. 18G 4711\nVAT Reg No 123 4567 89\nCompany registration number 01234567")
    assert [one for one in paper.proposals if one.kind not in PRIVATE] == []


def test_the_number_of_former_keepers_and_the_day_of_the_last_change_are_told() -> None:
    paper = told("Number of former keepers: 3\nDate of last change of keeper: 05 06 2001")
    assert [(one.kind, one.role, one.values[0].text) for one in paper.proposals] == [
        (ReadKind.COUNT, "former keepers", "3"),
        (ReadKind.DATE, "last change of keeper", "2001-06-05"),
    ]


def test_a_paper_with_a_mark_on_it_is_from_after_such_marks_were_given() -> None:
    """Marks with a last H were first given on 1 August 1969: tests/published/uk_age_identifiers.csv."""
    paper = told("INVOICE\nDate: 9/7/03\nReg: FGY 412H")
    (day,) = of_kind(paper, ReadKind.DATE)
    assert day.values[0].text == "2003-07-09"
    assert "hardly there before 1969" in day.why


# The half that was kept for the end: figures as docs/papers.md has them, and no private word leaked -------------------


def test_the_kept_half_is_read_as_the_documentation_says() -> None:
    score = layouts.scored(HELD)
    told = {kind: score.row(kind) for kind in ("kind", "date", "mileage", "money", "mark", "chassis", "count")}
    assert told == {
        "kind": (20, 0, 2, 0, 0),
        "date": (39, 0, 0, 0, 39),
        "mileage": (20, 1, 0, 0, 20),
        "money": (21, 0, 0, 0, 21),
        "mark": (14, 0, 2, 0, 14),
        "chassis": (8, 0, 0, 0, 8),
        "count": (2, 0, 0, 0, 2),
    }


@pytest.mark.parametrize("half", [KNOWN, HELD], ids=["known", "kept"])
@pytest.mark.parametrize("seed", [None, *range(1, 7)])
def test_no_private_word_of_a_layout_leaks_however_badly_it_is_read(half: list[object], seed: int | None) -> None:
    score = layouts.scored(half, seed)
    assert score.missed["private"] == 0
    assert score.found["private"] > 50
