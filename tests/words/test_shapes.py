"""A draft as text, Markdown and page says the same, and nothing in it becomes markup; captions of pictures."""

from __future__ import annotations

from html.parser import HTMLParser

from markdown_it import MarkdownIt

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Picture
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Position, Severity, Side, State
from shutline.car.recordings import Kind, Original, Still
from shutline.survey import coverage
from shutline.words import House, as_html, as_markdown, as_text, picture_words, write_draft

ODD = '1. <b>*Averley*</b> _Curlew_ & "co" [x](y) # `z`'
SAID = (Footing(FootingKind.SAID, "r1", 83.9, 87.0, "a private word"),)


def kept(number: int, part: str, condition: str, **more: object) -> KeptFinding:
    stills = more.pop("stills", ())
    footings = more.pop("footings", SAID)
    one = Finding(part, condition, Found.YES, footings=footings, state=State.STANDS, **more)  # type: ignore[arg-type]
    return KeptFinding(f"f{number}", one, stills=stills)  # type: ignore[arg-type]


def still(name: str) -> Still:
    return Still(83.9, name * 64, 960, 540, 1.0, 1.0)


CAR = CarFile(
    "curlew",
    ODD,
    Drive.RHD,
    "2026-11-26T08:00:00+00:00",
    findings=(
        kept(0, "sill", "rust", side=Side.NEAR, severity=Severity.SLIGHT, stills=(still("a"),)),
        kept(1, "heater", "works"),
        kept(2, "seat", "tear", side=Side.OFF, position=Position.FRONT, stills=(still("a"),)),
        kept(3, "roof", "dent", footings=(Footing(FootingKind.SEEN, "p1"),)),
    ),
    facts=(KeptFact("a0", Fact("year", 1969, footings=SAID, state=State.STANDS)),),
    pictures=(Picture("p1", Original("roof.jpg", "b" * 64, 10, Kind.PICTURE), 10, 10),),
)
DRAFT = write_draft(CAR, found=coverage(CAR), house=House(closing=("- first of all <i>", "2. then")))


class Words(HTMLParser):
    """Gathers what a page shows, and every element."""

    def __init__(self) -> None:
        super().__init__()
        self.text, self.tags, self.titles = "", [], []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.titles += [value or "" for name, value in attrs if name == "title"]

    def handle_data(self, data: str) -> None:
        if self.tags and self.tags[-1] not in {"style", "title"}:
            self.text += f" {data}"


def plain(text: str) -> str:
    return " ".join(text.split())


def test_the_page_shows_the_same_words_and_over_each_sentence_what_it_stands_on() -> None:
    page = Words()
    page.feed(as_html(DRAFT))
    assert plain(page.text) == plain(as_text(DRAFT))
    assert set(page.tags) <= {"html", "head", "meta", "title", "style", "body", "main", "h1", "h2", "p", "span"}
    assert len(page.titles) == len(DRAFT.sentences) + 1
    assert "said at 1:23, finding f0; seen, finding f3" in page.titles
    assert "private word" not in as_html(DRAFT, footings=True)


def test_markdown_reads_back_as_the_same_words() -> None:
    html = MarkdownIt("commonmark").render(as_markdown(DRAFT))
    page = Words()
    page.feed(html)
    assert plain(page.text) == plain(as_text(DRAFT))
    assert set(page.tags) <= {"h1", "h2", "p"}


def test_every_sentence_is_listed_with_its_footing_where_it_is_asked_for() -> None:
    for text in (as_text(DRAFT, footings=True), as_html(DRAFT, footings=True), as_markdown(DRAFT, footings=True)):
        assert "said at 1:23, finding f0" in text
        assert "seen, finding f3" in text
    assert as_markdown(DRAFT, footings=True).count("\n[^") == len(DRAFT.sentences)


def test_a_recording_is_numbered_where_there_are_several() -> None:
    assert "said at 1:23 in recording 2, finding f0" in as_text(DRAFT, footings=True, recordings={"r0": 1, "r1": 2})


def test_pictures_have_a_caption_and_words_for_who_cannot_see_them() -> None:
    told = picture_words(CAR)
    assert [(one.picture[:2], one.caption) for one in told] == [
        ("aa", "Nearside sill: slight rust; Driver\N{RIGHT SINGLE QUOTATION MARK}s seat: torn"),
        ("p1", "Roof: a dent"),
    ]
    assert told[1].alt == "Picture of the roof, chosen to show this: a dent"
    # Nobody took a frame of the film to show anything, and what was told of it need not be seen in it.
    assert told[0].alt.startswith("Frame of the film, from the words on the nearside sill")
    assert told[0].findings == ("f0", "f2")


def test_a_picture_of_what_is_struck_has_no_words() -> None:
    one = CAR.findings[3]
    struck = KeptFinding(one.id, Finding(**{**_fields(one.finding), "state": State.STRUCK}))
    assert [w.picture for w in picture_words(CarFile("c", "c", Drive.RHD, "", findings=(struck,)))] == []


def _fields(finding: Finding) -> dict[str, object]:
    return {name: getattr(finding, name) for name in finding.__dataclass_fields__}
