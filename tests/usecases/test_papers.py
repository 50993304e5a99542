"""Papers are brought in and read, what was read is decided about, and the history of the car sees what was taken."""

from __future__ import annotations

import hashlib
import sys
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from shutline.capture.originals import original_path
from shutline.car.errors import NotFoundError, StoppedError, UserError
from shutline.car.findings import Fact, FootingKind, State
from shutline.car.papers import PaperKind, PaperState, ReadKind, ReadState
from shutline.store import StaleError, Store
from shutline.usecases.car_history import car_history
from shutline.usecases.papers import CarPapers, ReadLine, car_papers, decide_paper, decide_read
from shutline.usecases.papers_intake import enter_papers, read_on
from shutline.usecases.progress import Step, Stop

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from papers_made import locked_pdf, packed, pdf_of, picture_of, scan_of, scanned

CAR = "corvane-ninety"
IDA, BEN = "Ida Quill", "Ben Ash"
OPENS = "salt marsh"
INVOICE = """= Invoice
Saltmarsh Motors Ltd \\
Invoice date: 12/03/2019 \\
Registration: FGY 412H \\
Mileage: 41,206 miles \\
Customer: Mrs Augusta Harbottle, 12 Mill Lane, Saltmarsh EX99 1AA \\
Total £266.40
"""
STAMPS = """= Service record
#table(columns: 3, [Date], [Mileage], [Stamp],
[04/05/1987], [1,020 miles], [Serviced], [11/06/1988], [9,113 miles], [Serviced])
"""


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Corvane Ninety")
        yield opened


def kept(tmp_path: Path, data: bytes, name: str = "invoice.pdf") -> Path:
    path = tmp_path / name
    path.write_bytes(data)
    return path


def only(papers: CarPapers, kind: ReadKind, role: str | None = None) -> ReadLine:
    (read,) = [one for paper in papers.papers for one in paper.reads if one.kind is kind and role in {None, one.role}]
    return read


def test_a_pdf_is_kept_as_it_came_read_once_and_proposes(store: Store, tmp_path: Path) -> None:
    data = pdf_of(INVOICE)
    path = kept(tmp_path, data)
    came = enter_papers(store, "corvane", [path], author=IDA)
    (one,) = came.papers
    assert (came.car, one.name, one.new, one.pages, one.pages_read, one.error) == (CAR, "invoice.pdf", True, 1, 1, None)
    sha256 = hashlib.sha256(data).hexdigest()
    assert original_path(store.originals, sha256).read_bytes() == data == path.read_bytes()
    shown = car_papers(store, CAR)
    (paper,) = shown.papers
    assert (paper.kind, paper.kind_said, paper.counts, paper.kept_by) == (PaperKind.INVOICE, False, True, IDA)
    assert one.waiting == shown.waiting == len(paper.reads)
    (sheet,) = paper.sheets
    assert (sheet.turned, sheet.by_sight) == (0, False)
    assert original_path(store.derived, sheet.picture).is_file()
    mileage = only(shown, ReadKind.MILEAGE)
    assert (mileage.value, mileage.unit, mileage.day, mileage.page) == ("41206", "mi", "2019-03-12", 1)
    assert 0 < mileage.box.left < 1
    assert any(read.private and "Harbottle" in read.words for read in paper.reads)
    again = enter_papers(store, CAR, [kept(tmp_path, data, "copy.pdf")], author=BEN)
    assert (again.papers[0].new, again.papers[0].paper) == (False, one.paper)
    assert car_papers(store, CAR) == shown


@pytest.mark.parametrize("turned", [0, 180])
def test_a_picture_and_a_scan_are_read_whichever_way_they_lie(store: Store, tmp_path: Path, turned: int) -> None:
    picture = scanned(picture_of(pdf_of(INVOICE), longest_px=1600), turned=turned, seed=3)
    files = [kept(tmp_path, packed(picture), "photo.jpg"), kept(tmp_path, scan_of(picture), "scan.pdf")]
    came = enter_papers(store, CAR, files, author=IDA)
    assert [one.error for one in came.papers] == [None, None]
    for paper in car_papers(store, CAR).papers:
        (sheet,) = paper.sheets
        assert (sheet.turned, sheet.by_sight) == (turned, True)
        (mileage,) = [one for one in paper.reads if one.kind is ReadKind.MILEAGE]
        assert (mileage.value, mileage.day) == ("41206", "2019-03-12")


def test_many_pages_of_a_tiff_are_one_paper(store: Store, tmp_path: Path) -> None:
    one, two = (picture_of(pdf_of(body), longest_px=1200) for body in (INVOICE, STAMPS))
    enter_papers(store, CAR, [kept(tmp_path, packed(one, "TIFF", two), "both.tif")], author=IDA)
    (paper,) = car_papers(store, CAR).papers
    assert (paper.form, paper.pages, paper.pages_read) == ("picture", 2, 2)
    miles = {one.value: (one.page, one.day) for one in paper.reads if one.kind is ReadKind.MILEAGE}
    assert miles["41206"] == (1, "2019-03-12")
    assert miles["1020"] == (2, "1987-05-04")
    assert miles["9113"] == (2, "1988-06-11")


def test_what_cannot_be_taken_is_named_and_stops_nothing(store: Store, tmp_path: Path) -> None:
    files = [
        kept(tmp_path, b"", "empty.pdf"),
        kept(tmp_path, b"%PDF-1.7 and no more", "broken.pdf"),
        kept(tmp_path, b"Dear sir", "letter.txt"),
        kept(tmp_path, locked_pdf("Mileage 41,206 miles", OPENS), "locked.pdf"),
        tmp_path / "nothing.pdf",
        kept(tmp_path, pdf_of(INVOICE)),
    ]
    came = enter_papers(store, CAR, files, author=IDA)
    assert [one.error and one.error.slug for one in came.papers] == [
        "empty-file",
        "paper-unreadable",
        "not-a-paper",
        "paper-password",
        "no-such-file",
        None,
    ]
    assert [paper.name for paper in car_papers(store, CAR).papers] == ["invoice.pdf"]
    with pytest.raises(NotFoundError):
        enter_papers(store, "nobody", files)


def test_a_password_opens_and_is_kept_nowhere(store: Store, tmp_path: Path) -> None:
    data = locked_pdf("Registration FGY 412H Mileage 41,206 miles", OPENS)
    came = enter_papers(store, CAR, [kept(tmp_path, data, "locked.pdf")], password=OPENS, author=IDA)
    assert came.papers[0].error is None
    assert only(car_papers(store, CAR), ReadKind.MILEAGE).value == "41206"
    store.close()
    for path in (path for path in (tmp_path / "store").rglob("*") if path.is_file()):
        assert OPENS.encode() not in path.read_bytes()


def test_a_long_paper_is_stopped_and_goes_on_where_it_left_off(store: Store, tmp_path: Path) -> None:
    pages = [f"Mileage {number},000 miles on 12/03/{1990 + number}, the car was serviced" for number in range(1, 9)]
    path = kept(tmp_path, pdf_of(*pages), "book.pdf")
    stop = Stop()
    told: list[Step] = []

    def tell(step: Step) -> None:
        told.append(step)
        if step.note == "page 4 of 8":
            stop.ask()

    other = kept(tmp_path, pdf_of(INVOICE))
    with pytest.raises(StoppedError):
        enter_papers(store, CAR, [path, other], author=IDA, tell=tell, stop=stop)
    half, behind = car_papers(store, CAR).papers
    # The one behind it is kept, and waits to be read.
    assert (behind.name, behind.pages_read) == ("invoice.pdf", 0)
    assert (half.pages, half.pages_read) == (8, 4)
    # What was read of it waits already.
    assert {one.page for one in half.reads} <= {1, 2, 3, 4}
    assert any(one.kind is ReadKind.MILEAGE for one in half.reads)
    told.clear()
    came = read_on(store, CAR, tell=told.append)
    notes = [f"page {number} of 8" for number in range(5, 9)]
    assert [step.note for step in told if step.note] == [*notes, "page 1 of 1"]
    assert [(one.pages_read, one.error) for one in came.papers] == [(8, None), (1, None)]
    whole, _ = car_papers(store, CAR).papers
    assert {one.value for one in whole.reads if one.kind is ReadKind.MILEAGE} == {f"{n}000" for n in range(1, 9)}
    assert read_on(store, CAR).papers == ()
    assert len(read_on(store, CAR, again=True).papers) == 2


def test_a_locked_paper_that_was_stopped_asks_for_its_password_again(store: Store, tmp_path: Path) -> None:
    path = kept(tmp_path, locked_pdf("Mileage 41,206 miles", OPENS), "locked.pdf")
    stop = Stop()

    def tell(step: Step) -> None:
        if step.stage == "copying" and step.done == 1.0:
            stop.ask()

    with pytest.raises(StoppedError):
        enter_papers(store, CAR, [path], password=OPENS, author=IDA, tell=tell, stop=stop)
    assert [(one.pages, one.pages_read) for one in car_papers(store, CAR).papers] == [(1, 0)]
    (refused,) = read_on(store, CAR).papers
    assert refused.error is not None
    assert (refused.error.slug, refused.error.where) == ("paper-password", "locked.pdf")
    (came,) = read_on(store, CAR, password=OPENS).papers
    assert (came.error, came.pages_read) == (None, 1)


def test_what_is_taken_becomes_written_facts_and_dated_mileages(store: Store, tmp_path: Path) -> None:
    enter_papers(store, CAR, [kept(tmp_path, pdf_of(INVOICE))], author=IDA)
    before = car_history(store, CAR, day=date(2026, 11, 26))
    assert (before.mileage.points, before.marks) == ((), ())
    shown = car_papers(store, CAR)
    mark = decide_read(store, CAR, only(shown, ReadKind.MARK).id, "take", author=BEN)
    assert mark.fact is not None
    fact = mark.fact.fact
    assert (fact.name, fact.value, fact.state) == ("registration_mark", "FGY412H", State.STANDS)
    assert [(one.kind, one.source, one.quote) for one in fact.footings] == [
        (FootingKind.WRITTEN, shown.papers[0].id, "")
    ]
    mileage = decide_read(store, CAR, only(shown, ReadKind.MILEAGE).id, "take", author=BEN)
    assert (mileage.fact, mileage.read.state, mileage.read.by) == (None, ReadState.TAKEN, BEN)
    decide_read(store, CAR, only(shown, ReadKind.DATE).id, "take", author=BEN)
    after = car_history(store, CAR, day=date(2026, 11, 26))
    (point,) = after.mileage.points
    assert (point.point.day, point.point.value, point.point.source) == (
        date(2019, 3, 12),
        41206,
        "paper invoice.pdf, page 1",
    )
    assert [one.how for one in after.marks] == [("paper invoice.pdf, page 1",)]
    assert [(one.day, one.words, one.source) for one in after.events] == [
        (date(2019, 3, 12), "work invoiced", "paper invoice.pdf, page 1")
    ]
    # The car shows another figure today: what a paper of 2019 says is no claim about that.
    assert all(one.fact.name != "odometer" for one in store.car_file(CAR).facts)


def test_what_is_corrected_struck_and_let_wait_again_takes_its_fact_along(store: Store, tmp_path: Path) -> None:
    enter_papers(store, CAR, [kept(tmp_path, pdf_of(INVOICE))], author=IDA)
    read = only(car_papers(store, CAR), ReadKind.MARK)

    def values() -> list[tuple[object, str]]:
        return [(one.fact.value, one.fact.state.value) for one in store.car_file(CAR).facts]

    taken = decide_read(store, CAR, read.id, "take", author=IDA)
    amended = decide_read(store, CAR, read.id, "amend", value="fgy 413 h", version=taken.read.version, author=BEN)
    assert (amended.read.value, values()) == ("FGY413H", [("FGY413H", "stands")])
    decide_read(store, CAR, read.id, "strike", author=BEN)
    assert values() == [("FGY413H", "struck")]
    decide_read(store, CAR, read.id, "again", author=BEN)
    assert values() == [("FGY413H", "struck")]
    decide_read(store, CAR, read.id, "take", author=BEN)
    assert values() == [("FGY413H", "stands")]
    # Said to be a mark of former days, it is no mark of the car now.
    decide_read(store, CAR, read.id, "amend", role="former mark", author=BEN)
    assert values() == [("FGY413H", "struck")]
    (whole,) = store.car_file(CAR).papers
    history = next(one for one in whole.reads if one.id == read.id).changes
    assert [one.action for one in history] == ["read", "taken", "amended", "struck", "waits again", "taken", "amended"]
    with pytest.raises(StaleError):
        decide_read(store, CAR, read.id, "strike", version=2, author=IDA)
    mileage = only(car_papers(store, CAR), ReadKind.MILEAGE)
    decide_read(store, CAR, mileage.id, "amend", value="42,206", unit="km", day="2019-03", author=IDA)
    told = car_history(store, CAR, day=date(2026, 11, 26))
    assert told.mileage.points == ()
    assert told.undated == ("42,206 km, paper invoice.pdf, page 1, of 2019-03.",)


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        (ReadKind.MILEAGE, {"value": "many"}),
        (ReadKind.MILEAGE, {"value": "41206", "unit": "furlongs"}),
        (ReadKind.MILEAGE, {"day": "12/03/2019"}),
        (ReadKind.MILEAGE, {"value": "x" * 300}),
        (ReadKind.MILEAGE, {}),
        (ReadKind.DATE, {"value": "2019-02-30"}),
        (ReadKind.MONEY, {"value": "a lot"}),
        (ReadKind.MONEY, {"value": "5", "unit": "pounds"}),
        (ReadKind.MARK, {"kind": ReadKind.COUNTRY, "value": "Germany"}),
    ],
)
def test_a_value_that_cannot_be_is_refused_and_nothing_changes(
    store: Store, tmp_path: Path, kind: ReadKind, fields: dict[str, str]
) -> None:
    enter_papers(store, CAR, [kept(tmp_path, pdf_of(INVOICE))], author=IDA)
    before = car_papers(store, CAR)
    with pytest.raises(UserError) as refused:
        decide_read(store, CAR, only(before, kind).id, "amend", author=IDA, **fields)
    assert refused.value.problem.slug == "paper-value"
    with pytest.raises(UserError):
        decide_read(store, CAR, only(before, kind).id, "take", value="5", author=IDA)
    assert car_papers(store, CAR) == before


def test_a_paper_of_another_car_is_kept_apart_until_somebody_says_whose_it_is(store: Store, tmp_path: Path) -> None:
    store.add_fact(CAR, Fact("registration_mark", "KLT 33F"), author=IDA)
    enter_papers(store, CAR, [kept(tmp_path, pdf_of(INVOICE))], author=IDA)
    shown = car_papers(store, CAR)
    (paper,) = shown.papers
    assert not paper.counts
    assert "FGY412H" in paper.why.replace(" ", "")
    assert shown.waiting == 0
    read = only(shown, ReadKind.MILEAGE)
    with pytest.raises(UserError) as refused:
        decide_read(store, CAR, read.id, "take", author=IDA)
    assert refused.value.problem.slug == "paper-apart"
    said = decide_paper(store, CAR, paper.id, state=PaperState.SAME, version=paper.version, author=BEN)
    assert (said.counts, said.why) == (True, "Ben Ash said that it is of this car")
    decide_read(store, CAR, read.id, "take", author=IDA)
    decide_read(store, CAR, only(shown, ReadKind.MARK).id, "take", author=IDA)
    assert len(car_history(store, CAR).mileage.points) == 1
    # Taken back, what was taken off it counts no more, and counts again.
    decide_paper(store, CAR, paper.id, state=PaperState.OTHER, author=BEN)
    assert car_history(store, CAR).mileage.points == ()
    marks = {one.fact.value: one.fact.state for one in store.car_file(CAR).facts}
    assert marks == {"KLT 33F": State.STANDS, "FGY412H": State.STRUCK}
    decide_paper(store, CAR, paper.id, state=PaperState.SAME, author=BEN)
    assert len(car_history(store, CAR).mileage.points) == 1
    with pytest.raises(StaleError):
        decide_paper(store, CAR, paper.id, state=PaperState.OTHER, version=1, author=IDA)


def test_what_a_paper_is_can_be_said(store: Store, tmp_path: Path) -> None:
    enter_papers(store, CAR, [kept(tmp_path, pdf_of(INVOICE))], author=IDA)
    (paper,) = car_papers(store, CAR).papers
    said = decide_paper(store, CAR, paper.id[:6], kind=PaperKind.LETTER, author=BEN)
    assert (said.kind, said.kind_said, said.state) == (PaperKind.LETTER, True, PaperState.OPEN)
    for call in (lambda: decide_paper(store, CAR, "zz"), lambda: decide_read(store, CAR, "zz", "take")):
        with pytest.raises(NotFoundError):
            call()


def test_a_damaged_page_is_named_and_the_others_are_read(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from shutline.capture import paper_files

    drawn = paper_files._draw
    monkeypatch.setattr(paper_files, "_draw", lambda document, number: None if number == 1 else drawn(document, number))
    came = enter_papers(store, CAR, [kept(tmp_path, pdf_of("Nothing", INVOICE))], author=IDA)
    assert [one.slug for one in came.papers[0].problems] == ["paper-page-damaged"]
    (paper,) = car_papers(store, CAR).papers
    assert [(one.width > 0, one.lines > 0) for one in paper.sheets] == [(False, False), (True, True)]


def test_an_empty_page_has_nothing_to_say(store: Store, tmp_path: Path) -> None:
    blank = packed(np.full((400, 300, 3), 250, np.uint8))
    enter_papers(store, CAR, [kept(tmp_path, blank, "blank.jpg")], author=IDA)
    (paper,) = car_papers(store, CAR).papers
    assert (paper.reads, paper.pages_read, paper.counts) == ((), 1, True)
