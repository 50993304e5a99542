"""Papers in the store: kept once, page by page, what was read decided about by people, joined cars together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.kept_papers import Cover, KeptPage, KeptPaper
from shutline.car.papers import Box, Line, PaperKind, PaperState, Proposal, ReadKind, ReadState, Value
from shutline.car.recordings import Kind, Original
from shutline.store import StaleError, Store

CAR, OTHER = "corvane-ninety", "corvane-again"
IDA, BEN = "Ida Quill", "Ben Ash"
FILE = Original("ab" * 32, "invoice \ud800 2019.pdf", 5_000, Kind.PAPER)
BOX = Box(0.1, 0.2, 0.3, 0.02)
PAGE = KeptPage(1, 90, 1_415, 2_000, "cd" * 32, True, (Line("Mileage 41,206", BOX, 0.98), Line("\0 odd \ud800", BOX)))
MILEAGE = Proposal(ReadKind.MILEAGE, 1, BOX, "41,206", "mileage", (Value("41206", "mi", 0.9),), "a label before it")
NAME = Proposal(ReadKind.NAME, 1, BOX, "A. Harbottle", "keeper", (), "after a title")


@pytest.fixture
def cars(store: Store) -> Store:
    store.create_car(CAR)
    store.create_car(OTHER)
    return store


@pytest.fixture
def paper(cars: Store) -> KeptPaper:
    kept, new = cars.add_paper(CAR, FILE, form="pdf", pages=2, author=IDA)
    assert new
    return kept


def test_a_paper_is_kept_once_and_its_pages_as_they_are_read(cars: Store, paper: KeptPaper) -> None:
    again, new = cars.add_paper(CAR, replace(FILE, name="copy.pdf"), form="pdf", pages=2, author=BEN)
    assert (again, new) == (paper, False)
    assert (paper.original, paper.pages, paper.pages_read, paper.state) == (FILE, 2, 0, PaperState.OPEN)
    assert (paper.kept_by, paper.likely, paper.out_mark) == (IDA, PaperKind.OTHER, "")
    cars.put_page(paper.id, PAGE)
    cars.put_page(paper.id, replace(PAGE, lines=()))
    assert cars.paper_pages(paper.id) == (PAGE,)
    assert cars.papers(CAR)[0].pages_read == 1
    assert cars.car_file(CAR).papers == cars.papers(CAR)
    assert cars.papers(OTHER) == ()


def test_what_was_read_waits_and_what_people_say_is_kept(cars: Store, paper: KeptPaper) -> None:
    kinds = ((PaperKind.INVOICE, 0.8), (PaperKind.LETTER, 0.2))
    cars.put_reads(paper.id, kinds, [(MILEAGE, "2019-03-12"), (MILEAGE, ""), (NAME, "")], pages=1)
    (told,) = cars.papers(CAR)
    assert (told.kinds, told.likely, told.kind, cars.told_pages(paper.id)) == (kinds, PaperKind.INVOICE, None, 1)
    mileage, name = told.reads
    assert (mileage.value, mileage.unit, mileage.day, mileage.state) == ("41206", "mi", "2019-03-12", ReadState.OPEN)
    assert (mileage.read, name.value) == (MILEAGE, "A. Harbottle")

    amended = cars.change_read(
        CAR, mileage.id, action="amend", author=BEN, expected_version=1, fields={"value": "42206", "day": "2019-03"}
    )
    assert (amended.value, amended.day, amended.state, amended.version) == ("42206", "2019-03", ReadState.TAKEN, 2)
    struck = cars.change_read(CAR, name.id, action="strike", author=IDA)
    assert [(one.author, one.action) for one in struck.changes] == [("program", "read"), (IDA, "struck")]
    again = cars.change_read(CAR, amended.id, action="again", author=IDA)
    assert [one.before.get("value") for one in again.changes] == [None, "41206", None]
    with pytest.raises(StaleError) as stale:
        cars.change_read(CAR, amended.id, action="take", author=IDA, expected_version=2)
    assert (stale.value.present.state, stale.value.wanted.state) == (ReadState.OPEN, ReadState.TAKEN)


def test_what_is_told_no_more_is_withdrawn_unless_somebody_decided(cars: Store, paper: KeptPaper) -> None:
    cars.put_reads(paper.id, (), [(MILEAGE, ""), (NAME, "")], pages=1)
    mileage, name = cars.papers(CAR)[0].reads
    cars.change_read(CAR, name.id, action="take", author=IDA)
    cars.put_reads(paper.id, (), [], pages=2)
    assert [(one.id, one.withdrawn) for one in cars.papers(CAR)[0].reads] == [(mileage.id, True), (name.id, False)]
    cars.put_reads(paper.id, (), [(MILEAGE, "")], pages=2)
    assert [one.withdrawn for one in cars.papers(CAR)[0].reads] == [False, False]


def test_what_is_said_of_a_paper_has_author_time_and_former_state(cars: Store, paper: KeptPaper) -> None:
    cover = Cover(1, BOX)
    cars.change_paper(CAR, paper.id, action="said to be a letter", author=IDA, kind=PaperKind.LETTER)
    cars.change_paper(CAR, paper.id, action="covered", author=BEN, covers=(cover,), out_mark="ef")
    said = cars.change_paper(
        CAR, paper.id, action="said to be another car's", author=IDA, state=PaperState.OTHER, expected_version=3
    )
    assert (said.likely, said.covers, said.state, said.out_mark) == (
        PaperKind.LETTER,
        (cover,),
        PaperState.OTHER,
        "ef",
    )
    assert [(one.author, one.before.get("state"), one.after.get("state")) for one in said.changes] == [
        (IDA, None, None),
        (IDA, None, None),
        (BEN, None, None),
        (IDA, "open", "other"),
    ]
    assert all(one.at for one in said.changes)
    with pytest.raises(StaleError):
        cars.change_paper(CAR, paper.id, action="x", author=IDA, state=PaperState.SAME, expected_version=3)
    assert cars.change_paper(CAR, paper.id, action="x", author=IDA, state=PaperState.OTHER).version == 4


def test_joined_cars_have_their_papers_together_and_the_same_once(cars: Store, paper: KeptPaper) -> None:
    more, _ = cars.add_paper(OTHER, replace(FILE, sha256="12" * 32), form="picture", pages=1, author=BEN)
    twin, new = cars.add_paper(OTHER, FILE, form="pdf", pages=2, author=BEN)
    assert new
    cars.join_cars(CAR, OTHER, author=IDA)
    assert [one.id for one in cars.papers(CAR)] == [paper.id, more.id]
    # Of a paper that both have, the one that somebody decided about is shown.
    cars.change_paper(CAR, twin.id, action="said", author=BEN, kind=PaperKind.SERVICE)
    assert [one.id for one in cars.papers(OTHER)] == [twin.id, more.id]
    assert cars.add_paper(CAR, FILE, form="pdf", pages=2, author=IDA)[1] is False
    cars.separate_cars(CAR, OTHER, author=IDA)
    assert [one.id for one in cars.papers(CAR)] == [paper.id]
    assert [one.id for one in cars.papers(OTHER)] == [more.id, twin.id]


def test_what_is_not_there_or_of_another_car_is_refused(cars: Store, paper: KeptPaper) -> None:
    cars.put_reads(paper.id, (), [(NAME, "")], pages=1)
    (name,) = cars.papers(CAR)[0].reads
    for call, slug in (
        (lambda: cars.add_paper("nobody", FILE, form="pdf", pages=1, author=IDA), "car-unknown"),
        (lambda: cars.put_page("no", PAGE), "paper-unknown"),
        (lambda: cars.change_paper(OTHER, paper.id, action="x", author=IDA), "paper-unknown"),
        (lambda: cars.change_read(OTHER, name.id, action="take", author=IDA), "paper-read-unknown"),
        (lambda: cars.change_read(CAR, "no", action="take", author=IDA), "paper-read-unknown"),
    ):
        with pytest.raises(NotFoundError) as refused:
            call()
        assert refused.value.problem.slug == slug
    with pytest.raises(UserError) as refused:
        cars.change_paper(CAR, paper.id, action="x", author="program", kind=PaperKind.LETTER)
    assert refused.value.problem.slug == "no-author"
    with pytest.raises(ValueError, match="changes none"):
        cars.change_read(CAR, name.id, action="take", author=IDA, fields={"value": "x"})
