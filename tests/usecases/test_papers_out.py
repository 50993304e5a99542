"""Papers on their way out: black in their pixels, only after somebody looked, and nothing private in anything sent."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Finding, Found
from shutline.car.going_out import Edition, Occasion
from shutline.car.kept_papers import Cover
from shutline.car.papers import Box, PaperState, ReadKind
from shutline.gauge.pages import read_page
from shutline.store import StaleError, Store
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.papers import car_papers, decide_paper, decide_read
from shutline.usecases.papers_intake import enter_papers
from shutline.usecases.papers_out import cover_more, hold_back, let_out, page_out, paper_out
from shutline.usecases.private import private_on_papers
from shutline.usecases.report import make_report
from shutline.usecases.sealing import seal

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from papers_made import packed, pdf_of, picture_of, scanned

CAR = "corvane-ninety"
IDA, BEN = "Ida Quill", "Ben Ash"
DAY = datetime(2026, 11, 26, 12, tzinfo=UTC)
PRIVATE = ("Harbottle", "Augusta", "Mill Lane", "EX99", "01632", "960123", "harbottle@", "example.com")
INVOICE = """= Invoice
Saltmarsh Motors Ltd \\
Invoice date: 12/03/2019 \\
Registration: FGY 412H \\
Mileage: 41,206 miles

Customer: Mrs Augusta Harbottle \\
12 Mill Lane \\
Saltmarsh \\
EX99 1AA \\
Telephone: 01632 960123 \\
Email: a.harbottle\\@example.com

Brake pads, front £84.50 \\
Total £266.40
"""


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings" / "settings.toml"))
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Corvane Ninety")
        opened.add_finding(CAR, Finding("bonnet", "dent", Found.YES), author=IDA)
        yield opened


@pytest.fixture
def paper(store: Store, tmp_path: Path) -> str:
    path = tmp_path / "harbottle invoice.pdf"
    path.write_bytes(pdf_of(INVOICE))
    (came,) = enter_papers(store, CAR, [path], author=IDA).papers
    for kind in (ReadKind.MILEAGE, ReadKind.DATE):
        (read,) = [one for one in car_papers(store, CAR).papers[0].reads if one.kind is kind]
        decide_read(store, CAR, read.id, "take", author=IDA)
    return came.paper


def words_in(jpeg: bytes) -> str:
    """What anybody could read of a picture."""
    page, _ = read_page(np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")))
    return "\n".join(line.words for line in page.lines)


def leaks(folder: Path) -> list[tuple[str, str]]:
    """Each private word in anything that lies in a folder, whatever sort of file it is."""
    found = []
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        data = path.read_bytes()
        texts = [path.name, data.decode("utf-8", "replace"), data.decode("utf-16-le", "replace")]
        if path.suffix == ".pdf":
            document = pypdfium2.PdfDocument(data)
            texts += [document[number].get_textpage().get_text_range() for number in range(len(document))]
            document.close()
        if path.suffix == ".jpg" and path.name.startswith("paper-"):
            texts.append(words_in(data))
        found += [(path.name, word) for word in PRIVATE for text in texts if word.casefold() in text.casefold()]
    return found


def test_what_is_private_is_black_in_the_pixels_and_the_rest_can_be_read(store: Store, paper: str) -> None:
    before, after = (
        words_in(data)
        for data in (
            (store.derived / _at(car_papers(store, CAR).papers[0].sheets[0].picture)).read_bytes(),
            page_out(store, CAR, paper, 1).jpeg,
        )
    )
    assert all(word in before for word in PRIVATE)
    assert [word for word in PRIVATE if word in after] == []
    # The mark is covered wherever the house covers marks.
    assert "412H" in before
    assert "412H" not in after
    for kept in ("Invoice", "41,206", "12/03/2019", "266.40", "Brake pads"):
        assert kept in after
    made = page_out(store, CAR, paper, 1)
    pixels = np.asarray(Image.open(io.BytesIO(made.jpeg)).convert("L"))
    high, wide = pixels.shape
    for box in paper_out(store, CAR, paper).pages[0].boxes:
        inside = pixels[
            round(box.top * high) + 4 : round((box.top + box.height) * high) - 4,
            round(box.left * wide) + 4 : round((box.left + box.width) * wide) - 4,
        ]
        assert inside.size
        assert inside.max() < 40
    assert not dict(Image.open(io.BytesIO(made.jpeg)).getexif())


def _at(sha256: str) -> str:
    return f"{sha256[:2]}/{sha256[2:4]}/{sha256}"


def test_a_photographed_paper_is_black_where_it_is_private(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "photo.jpg"
    path.write_bytes(packed(scanned(picture_of(pdf_of(INVOICE)), turned=90, seed=5)))
    (came,) = enter_papers(store, CAR, [path], author=IDA).papers
    after = words_in(page_out(store, CAR, came.paper, 1).jpeg)
    assert [word for word in PRIVATE if word in after] == []
    assert "41,206" in after


def test_nothing_goes_out_before_somebody_looked_at_exactly_that(store: Store, paper: str, tmp_path: Path) -> None:
    def shown() -> list[str]:
        make_buyers_page(store, CAR, out=tmp_path / "page", made_at=DAY)
        return sorted(path.name for path in (tmp_path / "page").rglob("paper-*"))

    assert shown() == []
    out = paper_out(store, CAR, paper)
    assert (out.out, out.stale) == (False, False)
    for mark in ("", "no such mark", out.mark[:4]):
        with pytest.raises(UserError) as refused:
            let_out(store, CAR, paper, mark=mark, author=IDA)
        assert refused.value.problem.slug == "paper-not-looked"
    done = let_out(store, CAR, paper, mark=out.mark, version=out.version, author=IDA)
    assert done.out
    assert shown() == ["paper-1-1.jpg"]
    # Covered otherwise since, it is to be looked at anew.
    more = cover_more(store, CAR, paper, [Cover(1, Box(0.1, 0.5, 0.2, 0.1))], version=done.version, author=BEN)
    assert (more.out, more.stale, more.mark != out.mark) == (False, True, True)
    assert shown() == []
    with pytest.raises(UserError):
        let_out(store, CAR, paper, mark=out.mark, author=IDA)
    let_out(store, CAR, paper, mark=more.mark, author=IDA)
    assert shown() == ["paper-1-1.jpg"]
    # Words said to be private since are another reason to look again.
    from shutline.usecases.private import keep_private

    keep_private(store, CAR, "Brake pads", author=IDA)
    assert paper_out(store, CAR, paper).stale
    assert shown() == []
    assert "Brake pads" not in words_in(page_out(store, CAR, paper, 1).jpeg)
    held = hold_back(store, CAR, paper, author=BEN)
    assert (held.out, held.stale) == (False, False)
    (kept,) = store.car_file(CAR).papers
    assert [(one.author, one.action) for one in kept.changes][1:] == [
        (IDA, "looked at and let out"),
        (BEN, "covered otherwise"),
        (IDA, "looked at and let out"),
        (BEN, "held back"),
    ]
    with pytest.raises(StaleError):
        hold_back(store, CAR, paper, version=1, author=IDA)


def test_a_paper_of_another_car_or_half_read_does_not_go_out(store: Store, paper: str, tmp_path: Path) -> None:
    mark = paper_out(store, CAR, paper).mark
    let_out(store, CAR, paper, mark=mark, author=IDA)
    decide_paper(store, CAR, paper, state=PaperState.OTHER, author=BEN)
    make_buyers_page(store, CAR, out=tmp_path / "page", made_at=DAY)
    assert list((tmp_path / "page").rglob("paper-*")) == []
    with pytest.raises(UserError) as refused:
        let_out(store, CAR, paper, mark=mark, author=IDA)
    assert "another car" in refused.value.problem.found


def test_no_private_word_of_a_paper_is_in_anything_that_goes_out(store: Store, paper: str, tmp_path: Path) -> None:
    let_out(store, CAR, paper, mark=paper_out(store, CAR, paper).mark, author=IDA)
    make_buyers_page(store, CAR, out=tmp_path / "page", zipped=True, made_at=DAY)
    page = (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    assert "Invoice of 12 March 2019" in page
    assert "Mileage: 41,206 miles on 12 March 2019, page 1" in page
    assert (tmp_path / "page" / "pictures" / "paper-1-1.jpg").is_file()
    assert leaks(tmp_path / "page") == []
    seal(store, CAR, occasion=Occasion.OFFERED, edition=Edition.BUYER, out=tmp_path / "sealed", author=IDA, made_at=DAY)
    assert leaks(tmp_path / "sealed") == []
    assert list((tmp_path / "sealed").rglob("paper-1-1.jpg"))


def test_the_report_tells_the_papers_and_nothing_private_on_them(store: Store, paper: str, tmp_path: Path) -> None:
    make_report(store, CAR, out=tmp_path / "report", made_at=DAY)
    html = (tmp_path / "report" / "report.html").read_text(encoding="utf-8")
    assert "Invoice of 12 March 2019" in html
    assert "Mileage: 41,206 miles on 12 March 2019, page 1" in html
    # The name of the file is private too: somebody called it after the keeper.
    assert leaks(tmp_path / "report") == []
    assert '"name": "1 (invoice)"' in (tmp_path / "report" / "car-file.json").read_text(encoding="utf-8")
    document = pypdfium2.PdfDocument((tmp_path / "report" / "report.pdf").read_bytes())
    text = "".join(document[number].get_textpage().get_text_range() for number in range(len(document)))
    document.close()
    assert "41,206 miles" in text


def test_papers_are_sealed_among_the_originals(store: Store, paper: str, tmp_path: Path) -> None:
    made = seal(
        store,
        CAR,
        occasion=Occasion.OFFERED,
        edition=Edition.FIRM,
        originals=True,
        out=tmp_path / "sealed",
        author=IDA,
        made_at=DAY,
    )
    data = (tmp_path / "harbottle invoice.pdf").read_bytes()
    assert [path.read_bytes() for path in Path(made.sealed.folder).rglob("originals/*.pdf")] == [data]


def test_what_lies_outside_of_a_page_is_refused(store: Store, paper: str) -> None:
    for cover in (
        Cover(2, Box(0.1, 0.1, 0.1, 0.1)),
        Cover(1, Box(0.9, 0.1, 0.2, 0.1)),
        Cover(1, Box(0.1, 0.1, 0, 0.1)),
    ):
        with pytest.raises(UserError) as refused:
            cover_more(store, CAR, paper, [cover], author=IDA)
        assert refused.value.problem.slug == "paper-value"
    with pytest.raises(NotFoundError):
        page_out(store, CAR, paper, 2)


def test_name_street_and_town_of_an_address_in_one_line_are_private_each_by_itself(
    store: Store, tmp_path: Path
) -> None:
    path = tmp_path / "one line.pdf"
    path.write_bytes(
        pdf_of(
            "To: Mrs Augusta Harbottle, 12 Mill Lane, Upper Saltmarsh\n\nVehicle: Corvane Ninety #h(2cm) Total £40.00"
        )
    )
    enter_papers(store, CAR, [path], author=IDA)
    words = private_on_papers(store.car_file(CAR))
    assert {"Mrs Augusta Harbottle", "12 Mill Lane", "Upper Saltmarsh"} <= set(words)
    assert not [text for text in words if "Corvane" in text]
