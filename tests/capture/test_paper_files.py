"""Papers are opened page by page: words with their places, the way up, many pages of a TIFF, and what is refused."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from shutline.capture import limits as limits_module
from shutline.capture import paper_files
from shutline.capture.limits import limits
from shutline.capture.paper_files import open_paper
from shutline.car.errors import BadInputError
from shutline.car.papers import Line

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from papers_made import locked_pdf, packed, pdf_of, picture_of, scan_of

PAGE = """= Invoice
Invoice date: *12/03/2019* Registration: FGY 412H \\
Mileage: 41,206 #h(4cm) Total £266.40
"""


def pages(path: Path, password: str = "") -> list[paper_files.PageDrawn | None]:
    with open_paper(path, password=password) as paper:
        return [paper.draw(number) for number in range(1, paper.pages + 1)]


def kept(tmp_path: Path, data: bytes, name: str = "paper.pdf") -> Path:
    path = tmp_path / name
    path.write_bytes(data)
    return path


def inked(picture: np.ndarray, line: Line) -> float:
    """The share of a line's box that is dark, so that a box that lies elsewhere shows."""
    high, wide = picture.shape[:2]
    box = line.box
    part = picture[
        round(box.top * high) : round((box.top + box.height) * high),
        round(box.left * wide) : round((box.left + box.width) * wide),
    ]
    return float((part < 128).mean())


def test_words_of_a_pdf_come_line_by_line_with_their_places(tmp_path: Path) -> None:
    (page,) = pages(kept(tmp_path, pdf_of(PAGE)))
    # Two faces on one line are one line, two columns are two.
    assert [one.words for one in page.lines] == [
        "Invoice",
        "Invoice date: 12/03/2019 Registration: FGY 412H",
        "Mileage: 41,206",
        "Total £266.40",
    ]
    assert max(page.picture.shape) == limits().papers.drawn_px
    assert all(inked(page.picture, line) > 0.05 for line in page.lines)
    assert {one.score for one in page.lines} == {1.0}


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
@pytest.mark.parametrize("set_deg", [0, 90, 180, 270])
def test_a_page_of_a_pdf_is_turned_the_way_its_words_run(tmp_path: Path, rotation: int, set_deg: int) -> None:
    body = f"#rotate({set_deg}deg, reflow: true)[#block(width: 140mm)[{PAGE}]]"
    document = pypdfium2.PdfDocument(pdf_of(body))
    document[0].set_rotation(rotation)
    path = tmp_path / "turned.pdf"
    document.save(path)
    document.close()
    (page,) = pages(path)
    assert page.turned == -(rotation + set_deg) % 360
    assert page.lines[0].words == "Invoice"
    assert page.lines[-1].box.left > page.lines[-2].box.left
    assert all(inked(page.picture, line) > 0.05 for line in page.lines)
    wide = pages(kept(tmp_path, pdf_of(PAGE)))[0].picture.shape[1]
    assert (page.picture.shape[1] == wide) == (set_deg % 180 == 0)


def test_a_scan_has_no_words_of_its_own_and_few_letters_on_it_are_not_believed(tmp_path: Path) -> None:
    picture = picture_of(pdf_of(PAGE))
    (bare,) = pages(kept(tmp_path, scan_of(picture)))
    assert bare.lines == ()
    assert np.abs(bare.picture[:200, :1400].astype(int) - picture[:200, :1400]).mean() < 10
    stamped = '#place(image("page.png", width: 170mm))\n#v(1cm)Scanned by the machine in the hall, 4 of 12'
    (tmp_path / "page.png").write_bytes(packed(picture, "PNG"))
    (tmp_path / "stamped.typ").write_text(f"#set page(margin: 20mm)\n{stamped}", encoding="utf-8")
    import typst

    (page,) = pages(kept(tmp_path, typst.compile(str(tmp_path / "stamped.typ")), "stamped.pdf"))
    assert page.lines == ()


def test_pictures_are_pages_and_a_tiff_has_many(tmp_path: Path) -> None:
    one, two = (picture_of(pdf_of(f"= Page {number}"), longest_px=600) for number in (1, 2))
    (photographed,) = pages(kept(tmp_path, packed(one), "a.jpg"))
    assert photographed.picture.shape == one.shape
    both = pages(kept(tmp_path, packed(one, "TIFF", two), "both.tif"))
    assert [np.array_equal(page.picture, drawn) for page, drawn in zip(both, (one, two), strict=True)] == [True, True]
    # Exif says how the camera was held (Exif 2.32, tag 0x0112): 6 is a quarter turn clockwise.
    exif = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0"
    (held,) = pages(kept(tmp_path, packed(np.ascontiguousarray(np.rot90(one)), exif=exif), "held.jpg"))
    assert held.picture.shape == one.shape


def test_a_password_is_asked_for_and_opens(tmp_path: Path) -> None:
    path = kept(tmp_path, locked_pdf("Mileage 41,206 on 12/03/2019", "salt marsh"))
    for password, found in (("", "under a password"), ("salt flat", "another password")):
        with pytest.raises(BadInputError) as refused, open_paper(path, password=password):
            pass
        assert refused.value.problem.slug == "paper-password"
        assert found in refused.value.problem.found
        assert "--password" in refused.value.problem.advice
    (page,) = pages(path, "salt marsh")
    assert [one.words for one in page.lines] == ["Mileage 41,206 on 12/03/2019"]


def test_what_is_no_paper_is_refused_by_what_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = pdf_of(PAGE, PAGE, PAGE)
    cases = {
        b"": "empty-file",
        b"Dear sir, the car": "not-a-paper",
        b"%PDF-1.7\nnothing of the kind": "paper-unreadable",
        packed(picture_of(whole, longest_px=200))[:60]: "picture-unreadable",
    }
    for data, slug in cases.items():
        with pytest.raises(BadInputError) as refused, open_paper(kept(tmp_path, data)):
            pass
        assert refused.value.problem.slug == slug
    from dataclasses import replace

    few = replace(limits(), papers=replace(limits().papers, max_pages=2))
    monkeypatch.setattr(paper_files, "limits", lambda: few)
    with pytest.raises(BadInputError) as refused, open_paper(kept(tmp_path, whole)):
        pass
    assert refused.value.problem.slug == "paper-too-long"
    small = replace(limits(), papers=replace(limits().papers, max_bytes=100))
    monkeypatch.setattr(paper_files, "limits", lambda: small)
    with pytest.raises(BadInputError) as refused, open_paper(kept(tmp_path, whole)):
        pass
    assert refused.value.problem.slug == "paper-too-large"
    assert limits_module.limits().papers.max_pages >= 400


def test_a_pdf_cut_off_anywhere_gives_pages_or_says_why(tmp_path: Path) -> None:
    whole = pdf_of(PAGE, PAGE)
    told = set()
    for share in range(1, 20):
        path = kept(tmp_path, whole[: len(whole) * share // 20])
        try:
            told.add(all(page is None or page.picture.shape[2] == 3 for page in pages(path)))
        except BadInputError as error:
            told.add(error.problem.slug)
    assert "paper-unreadable" in told
    assert told <= {True, "paper-unreadable"}
