"""Private words are found in each kind of file that goes out, however they are carried there."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from shutline.car.errors import UserError
from shutline.store import Store
from shutline.usecases.last_look import check_left
from shutline.usecases.private import keep_private

CAR = "ostrel-pavane"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane")
        for words in ("Augusta Harbottle", "\N{POUND SIGN}4,200"):
            keep_private(opened, CAR, words, author="Ida")
        yield opened


DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><rect width="9" height="9"/></svg>'


def paper(words: str, *, title: str = "A car", alt: str = "a drawing", head: str = "Rust") -> bytes:
    return _set(
        f'#set document(title: "{title}")\n#set page(width: 60mm)\n= {head}\n{words}\n'
        f'#image(bytes({json.dumps(DRAWING)}), format: "svg", width: 9mm, alt: "{alt}")\n'
    )


def _set(page: str) -> bytes:
    import typst

    made = typst.compile(page.encode(), format="pdf", pdf_standards=["1.7", "ua-1"])
    assert isinstance(made, bytes)
    return made


def picture(comment: str) -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (8, 8)).save(held, "JPEG", comment=comment)
    return held.getvalue()


NAME = "Augusta Harbottle"


@pytest.mark.parametrize(
    ("file", "data"),
    [
        ("index.html", f"<p>of {NAME}</p>".encode()),
        ("index.html", b"<p>of <b>Augusta</b>\n Harbottle</p>"),
        ("index.html", f"<img alt='a letter of {NAME}' src='a.jpg'>".encode()),
        ("index.html", b"<p>it cost &pound;4200</p>"),
        ("index.html", "<p>of Augusta Harbot\N{SOFT HYPHEN}tle</p>".encode()),
        ("film/captions-1.vtt", f"WEBVTT\n\n00:01.000 --> 00:02.000\nof {NAME}\n".encode()),
        ("history.json", b'{"a": [{"quote": "of Augusta Harb\\u006fttle"}]}'),
        ("bag-info.txt", f"Title: {NAME}".encode()),
        ("report.pdf", paper(f"It belonged to {NAME}.")),
        ("report.pdf", paper(f"Through all the years that it was driven it belonged to {NAME} alone and to nobody.")),
        ("report.pdf", paper("Nothing.", title=f"The car of {NAME}")),
        ("report.pdf", paper("Nothing.", alt=f"a letter of {NAME}")),
        ("report.pdf", paper("Nothing.", head=f"Of {NAME}")),
        ("pictures/a.jpg", picture(f"taken by {NAME}")),
    ],
)
def test_private_words_are_found_in_every_kind_of_file(store: Store, file: str, data: bytes) -> None:
    with pytest.raises(UserError) as refused:
        check_left(store, CAR, {file: data})
    assert refused.value.problem.slug == "private-left"
    assert refused.value.problem.where == f"{CAR}, {file}"


@pytest.mark.parametrize("hyphened", [True, False])
def test_a_name_that_is_parted_at_the_end_of_a_line_is_found_on_paper(store: Store, hyphened: bool) -> None:
    keep_private(store, CAR, "Quillovermouthington", author="Ida")
    page = '#set document(title: "A")\n#set page(width: 60mm)\n#set par(justify: true)\n'
    page += f'#set text(hyphenate: {str(hyphened).lower()}, lang: "en")\n' + "Seen at Quillovermouthington by day. " * 6
    with pytest.raises(UserError):
        check_left(store, CAR, {"report.pdf": _set(page)})


def test_the_tags_of_a_film_are_read(store: Store, make_film: Callable[..., Path]) -> None:
    film = make_film("walk.mp4", frames=5, rate=5, gop=5, metadata={"comment": f"of {NAME}"})
    with pytest.raises(UserError):
        check_left(store, CAR, {"film/film-1.mp4": film})


@pytest.mark.parametrize(
    ("file", "data"),
    [
        ("index.html", b"<p class='Augusta Harbottle'>Nothing of Augusta, Harbottle.</p>"),
        ("report.pdf", paper("It is 4200 mm long.")),
        ("pictures/a.jpg", picture("nothing")),
        # The licence of a typeface may hold any word.
        ("type/OFL.txt", NAME.encode()),
    ],
)
def test_what_is_not_private_goes(store: Store, file: str, data: bytes) -> None:
    check_left(store, CAR, {file: data})


def test_a_film_without_such_tags_goes(store: Store, make_film: Callable[..., Path]) -> None:
    check_left(store, CAR, {"film/film-1.mp4": make_film("walk.mp4", frames=5, rate=5, gop=5)})
