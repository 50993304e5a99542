"""A car file is sealed as it is, chained to the one before it, and what goes to a buyer holds nothing private."""

from __future__ import annotations

import io
import json
import re
import subprocess
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import av
import bagit
import numpy as np
import pypdf
import pytest

from shutline.car.errors import StoppedError, UserError
from shutline.car.findings import State
from shutline.car.going_out import Edition, Occasion, PrivateKind
from shutline.car.past import PastKind
from shutline.car.schema import car_file_of
from shutline.store import Store
from shutline.usecases import sealing
from shutline.usecases.add import add
from shutline.usecases.answering import ask, letter
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.describe import describe, description_files
from shutline.usecases.kept_tests import keep_tests
from shutline.usecases.offering import accept_rewrite, hold_rewrite
from shutline.usecases.past import enter_past
from shutline.usecases.private import keep_private, private_for, private_mark, private_shown, take_back_private
from shutline.usecases.progress import Step, Stop
from shutline.usecases.review import confirm, strike
from shutline.usecases.sealing import seal, sealed_files
from shutline.usecases.shares import make_shared_page
from shutline.usecases.verifying import verify

CAR = "ostrel-pavane"
AT = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
WORDS = """WEBVTT

00:00:01.000 --> 00:00:05.000
Ostrel Pavane. Nearside front wing has a dent in it, only a little one.

00:00:05.500 --> 00:00:08.000
She belonged to Augusta Harbottle of 3 Mill Lane, and I paid four thousand two hundred for it.

00:00:08.500 --> 00:00:12.000
There's rust on the nearside sill, quite bad. The boot lid is straight.

00:00:12.500 --> 00:00:15.000
The passenger seat is torn.
"""
PLANTED = ("Harbottle", "Mill Lane", "four thousand", "4200", "4,200", "Quillover", "Tobias", "Plantagenet", "PLANTED")


@pytest.fixture(scope="module")
def filmed(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("yard")

    def tone(_: int, at_s: np.ndarray) -> np.ndarray:
        return 0.3 * np.sin(2 * np.pi * 440 * at_s)

    film = make_film(
        "PLANTED Quillover.mp4",
        frames=160,
        rate=10,
        gop=10,
        signal=tone,
        metadata={"location": "+52.1234-001.5678/", "artist": "Augusta Harbottle", "comment": "PLANTED"},
        container_options={"movflags": "use_metadata_tags"},
    )
    words = folder / "words.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(store, [film], car=CAR, title="Ostrel Pavane, ex Augusta Harbottle", transcript=words)
        car = store.car_file(CAR)
        torn = [one.id for one in car.findings if one.finding.condition == "tear"]
        straight = [one.id for one in car.findings if one.finding.part == "boot_lid"]
        rest = [one.id for one in car.findings if one.id not in {*torn, *straight}]
        assert torn
        assert straight
        assert rest
        confirm(store, CAR, rest, author="Tobias Plantagenet")
        strike(store, CAR, torn, author="Tobias Plantagenet")
        keep_private(store, CAR, "Augusta Harbottle", kind=PrivateKind.KEEPER, author="Tobias Plantagenet")
        keep_private(store, CAR, "3 Mill Lane", kind=PrivateKind.ADDRESS, author="Tobias Plantagenet")
        keep_private(store, CAR, "£4,200", kind=PrivateKind.PRICE, author="Tobias Plantagenet")
    return folder / "store"


@pytest.fixture
def store(filmed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    settings = tmp_path / "settings"
    settings.mkdir()
    (settings / "house.toml").write_text('name = "Halloran & Pike"\nlines = ["2 Tannery Row"]\n', encoding="utf-8")
    # What the program finds by itself has tests of its own.
    (settings / "masks.toml").write_text('covers = "stands"\n', encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(settings / "settings.toml"))
    subprocess.run(["cp", "-r", filmed, tmp_path / "store"], check=True)
    with Store.open(tmp_path / "store") as opened:
        yield opened


def all_bytes(folder: Path) -> dict[str, bytes]:
    return {one.relative_to(folder).as_posix(): one.read_bytes() for one in folder.rglob("*") if one.is_file()}


def texts_in(name: str, data: bytes) -> str:
    """Give all words of a file: also those that a PDF packs, and the tags and captions of a film."""
    text = data.decode("utf-8", "replace") + data.decode("utf-16-le", "replace")
    if name.endswith(".pdf"):
        reader = pypdf.PdfReader(io.BytesIO(data))
        text += " ".join(" ".join(page.extract_text().split()) for page in reader.pages) + str(reader.metadata)
    if name.endswith(".mp4"):
        with av.open(io.BytesIO(data)) as film:
            text += str(film.metadata) + str([stream.metadata for stream in film.streams]) + str(film.chapters())
    return text


def leaks(files: dict[str, bytes]) -> list[tuple[str, str]]:
    return [
        (name, needle)
        for name, data in files.items()
        for needle in PLANTED
        # A digest may hold any four digits.
        if re.search(rf"(?<![0-9a-z]){re.escape(needle)}(?![0-9a-z])", f"{name} {texts_in(name, data)}", re.IGNORECASE)
    ]


def test_nothing_planted_leaves_with_the_page_its_zip_or_its_film(store: Store, tmp_path: Path) -> None:
    kept = store.keep_question(CAR, "is the boot floor of Augusta Harbottle's car dry?", author="Tobias Plantagenet")
    store.show_question(CAR, kept.id, shown=True, author="Tobias Plantagenet")
    made = make_buyers_page(store, CAR, out=tmp_path / "page", zipped=True, made_at=AT)
    files = all_bytes(tmp_path / "page")
    page = files["index.html"].decode()
    assert "is the boot floor" not in page
    assert "[…]" not in re.sub(
        r"<(q|blockquote)\b.*?</\1>", "", page.partition('id="offered"')[2].partition("</section>")[0]
    )
    assert '<h1 dir="auto">Ostrel Pavane</h1>' in page
    assert any("a question on the page" in one and "Augusta Harbottle" in one for one in made.left_out)
    assert any("the title" in one and "ex Augusta Harbottle" in one for one in made.left_out)
    assert any("the film is silent there: at 0:0" in one for one in made.left_out)
    assert 'id="offered"' in page
    assert {"index.html", "page.css", "page.js", "report.pdf", "film/film-1.mp4", "film/captions-1.vtt"} <= set(files)
    assert leaks(files) == []
    packed = tmp_path / "page.zip"
    assert made.zipped == str(packed)
    with zipfile.ZipFile(packed) as opened:
        inside = {name.removeprefix("buyers-page/"): opened.read(name) for name in opened.namelist()}
        assert inside == files
        assert {one.date_time for one in opened.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert opened.comment == b""
    assert leaks({"x.zip": packed.read_bytes()}) == []
    assert (made.faults, made.waiting, made.films) == (made.findings, 1, 1)


def test_nothing_planted_leaves_with_the_link_the_words_or_a_reply(store: Store) -> None:
    """The files that a link shows, the words in every form, drafted and accepted, what the JSON-LD knows, a letter."""
    made = make_shared_page(store, CAR)
    assert leaks(all_bytes(Path(made.folder))) == []
    car = store.car_file(CAR)
    words = dict(description_files(store, car))
    assert set(words) == {"description.txt", "description.html", "description.md", "offer.jsonld"}
    assert leaks(words) == []
    draft = words["description.txt"].decode()
    assert not hold_rewrite(store, CAR, f"{draft}\n\nIt was Augusta Harbottle's.").accepted
    # What is said to be private later is taken out of what was accepted before.
    accept_rewrite(store, CAR, f"{draft}\n\nYou will love it. Ask at Quillover about it.", author="Tobias Plantagenet")
    keep_private(store, CAR, "Quillover", kind=PrivateKind.PLACE, author="Tobias Plantagenet")
    words = dict(description_files(store, car))
    assert all(b"You will love it." in data and b"Ask at" not in data for data in words.values())
    assert leaks(words) == []
    letters = [
        letter(ask(store, CAR, question, keep=False), "https://cars.example").encode()
        for question in ("who was Augusta Harbottle", "what did you pay for it", "any rust", "where is it filmed")
    ]
    assert leaks({f"letter-{number}": data for number, data in enumerate(letters)}) == []


def test_the_film_that_goes_is_silent_where_something_private_is_said(store: Store, tmp_path: Path) -> None:
    make_buyers_page(store, CAR, out=tmp_path / "page", made_at=AT)
    resampler = av.AudioResampler(format="flt", layout="mono", rate=48_000)
    with av.open(str(tmp_path / "page/film/film-1.mp4")) as film:
        heard = np.concatenate([b.to_ndarray()[0] for f in film.decode(audio=0) for b in resampler.resample(f)])
    # The transcript has no times of words: its whole line is silent.
    assert np.abs(heard[int(5.6 * 48_000) : int(7.9 * 48_000)]).max() < 0.002
    assert np.abs(heard[2 * 48_000 : 4 * 48_000]).max() > 0.2


def test_a_page_is_made_anew_over_a_former_one_and_over_nothing_else(store: Store, tmp_path: Path) -> None:
    make_buyers_page(store, CAR, out=tmp_path / "page", made_at=AT)
    first = all_bytes(tmp_path / "page")
    make_buyers_page(store, CAR, out=tmp_path / "page", made_at=AT)
    assert all_bytes(tmp_path / "page") == first
    (tmp_path / "other").mkdir()
    (tmp_path / "other/letter.txt").write_text("mine")
    with pytest.raises(UserError) as refused:
        make_buyers_page(store, CAR, out=tmp_path / "other", made_at=AT)
    assert refused.value.problem.slug == "page-folder"
    assert (tmp_path / "other/letter.txt").read_text() == "mine"


def test_private_words_in_the_details_of_the_house_stop_the_page(store: Store, tmp_path: Path) -> None:
    keep_private(store, CAR, "2 Tannery Row", kind=PrivateKind.PLACE, author="Ida")
    with pytest.raises(UserError) as refused:
        make_buyers_page(store, CAR, out=tmp_path / "page", made_at=AT)
    assert refused.value.problem.slug == "private-left"
    assert refused.value.problem.where == f"{CAR}, index.html"
    assert "'2 Tannery Row', which was said to be private, still stands in the page: '" in refused.value.problem.found
    assert refused.value.problem.found.count("2 tannery row") == 1
    assert not (tmp_path / "page").exists()
    number = private_shown(store, CAR).words[-1].id
    take_back_private(store, CAR, number, author="Ida")
    make_buyers_page(store, CAR, out=tmp_path / "page", made_at=AT)


def test_private_words_that_stand_on_the_report_on_paper_alone_stop_the_page(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from shutline.publish import report

    set_as_ours = report.report_pdf
    monkeypatch.setattr(report, "report_pdf", lambda model: set_as_ours(replace(model, title="Of Augusta Harbottle")))
    with pytest.raises(UserError) as refused:
        make_buyers_page(store, CAR, out=tmp_path / "page", made_at=AT)
    assert refused.value.problem.where == f"{CAR}, report.pdf"
    assert "'Augusta Harbottle'" in refused.value.problem.found
    assert not (tmp_path / "page").exists()


def test_private_words_that_stand_in_the_history_alone_stop_what_is_sealed_for_the_buyer(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sealing, "public_history", lambda *_: [{"quote": "of Augusta Harbottle"}])
    with pytest.raises(UserError) as refused:
        seal(store, CAR, occasion=Occasion.OFFERED, edition=Edition.BUYER, out=tmp_path / "out", made_at=AT)
    assert refused.value.problem.where == f"{CAR}, history.json"
    assert not (tmp_path / "out").exists()
    assert not sealed_files(store, CAR).sealed


@pytest.mark.parametrize("words", ["", "  ", "!?", "x" * 201, "a\x07b"])
def test_what_are_no_words_is_refused(store: Store, words: str) -> None:
    with pytest.raises(UserError) as refused:
        keep_private(store, CAR, words, author="Ida")
    assert refused.value.problem.slug == "private-refused"


@pytest.mark.parametrize("words", ["the", "And", "Q", "of the", "'the',"])
def test_words_of_the_language_are_not_kept_as_private_by_themselves(store: Store, words: str) -> None:
    before = private_shown(store, CAR).words
    with pytest.raises(UserError) as refused:
        keep_private(store, CAR, words, kind=PrivateKind.KEEPER, author="Ida")
    assert refused.value.problem.slug == "private-common"
    assert words in refused.value.problem.found
    assert private_shown(store, CAR).words == before


@pytest.mark.parametrize("words", ["The Old Rectory", "May", "Will", "7"])
def test_words_that_tell_of_somebody_are_kept_though_they_are_common(store: Store, words: str) -> None:
    assert keep_private(store, CAR, words, author="Ida").words[-1].words == words


def test_a_sealed_file_of_the_firm_holds_all_and_is_chained_to_the_next(store: Store, tmp_path: Path) -> None:
    first = seal(store, CAR, occasion=Occasion.OFFERED, originals=True, out=tmp_path / "out", made_at=AT, author="Ida")
    folder = Path(first.sealed.folder)
    assert bagit.Bag(str(folder)).validate()
    kept = json.loads((folder / "data/car-file.json").read_text())
    states = {one["finding"]["state"] for one in kept["findings"]}
    assert states == {"stands", "struck", "heard"}
    assert all(one["changes"] for one in kept["findings"])
    ran = subprocess.run(["sha256sum", "data/originals"], cwd=folder, capture_output=True, check=False)
    assert ran.returncode == 1  # a folder
    for one in (folder / "data/originals").iterdir():
        summed = subprocess.run(["sha256sum", one], capture_output=True, check=True, text=True).stdout.split()[0]
        assert one.name.startswith(summed)
        assert summed in (folder / "data/originals.sha256").read_text()
    assert "sill" in (folder / "data/description.txt").read_text(encoding="utf-8")
    claims = json.loads((folder / "data/claims.json").read_text())
    assert claims["backed"] > 0
    assert claims["at_odds"] == 0
    statement = json.loads((folder / "data/seal.json").read_text())
    assert statement["former"] is None
    assert statement["left_out"] == list(first.left_out)
    strike(
        store, CAR, [next(one["id"] for one in kept["findings"] if one["finding"]["state"] == "heard")], author="Ida"
    )
    second = seal(store, CAR, occasion=Occasion.SOLD, out=tmp_path / "out", zipped=True, made_at=AT, author="Ida")
    assert second.sealed.former == first.sealed.number
    assert [one.number for one in sealed_files(store, CAR).sealed] == [second.sealed.number, first.sealed.number]
    assert second.zipped is not None
    found = verify([folder, Path(second.zipped)])
    assert found.sound
    assert [one.own_key for one in found.files] == [True, True]
    assert [one.follows for one in found.files] == [None, True]
    assert verify([Path(second.zipped)]).files[0].follows is False


def test_the_firms_sealed_file_holds_what_was_accepted_and_who_answers_for_words_in_it(
    store: Store, tmp_path: Path
) -> None:
    text = f"{describe(store, CAR).text}\n\nIt once won best in show at the county rally."
    vouched = hold_rewrite(store, CAR, text).untold
    assert vouched == ("It once won best in show at the county rally",)
    accept_rewrite(store, CAR, text, author="Ida", vouched=vouched)
    made = seal(store, CAR, occasion=Occasion.OFFERED, out=tmp_path / "out", made_at=AT, author="Ida")
    (accepted,) = json.loads((Path(made.sealed.folder) / "data/accepted.json").read_text())
    assert (accepted["author"], accepted["vouched"]) == ("Ida", list(vouched))
    assert accepted["words"] == text.strip()


def test_a_change_in_a_sealed_file_is_told_in_words(store: Store, tmp_path: Path) -> None:
    made = seal(store, CAR, occasion=Occasion.OFFERED, out=tmp_path / "out", made_at=AT, author="Ida")
    path = Path(made.sealed.folder) / "data/car-file.json"
    path.write_bytes(path.read_bytes().replace(b'"struck"', b'"stands"', 1))
    (found,) = verify([Path(made.sealed.folder)]).files
    assert found.words == ("data/car-file.json: its bytes are not those that were sealed",)


def test_the_public_key_of_a_file_that_is_trusted_tells_whose_another_is(store: Store, tmp_path: Path) -> None:
    made = seal(store, CAR, occasion=Occasion.OFFERED, out=tmp_path / "out", made_at=AT, author="Ida")
    folder = Path(made.sealed.folder)
    assert verify([folder], key=folder / "seal/public-key.pem").sound
    with pytest.raises(UserError) as refused:
        verify([folder], key=folder / "bagit.txt")
    assert refused.value.problem.slug == "verify-with"
    with pytest.raises(UserError):
        verify([folder], roots=folder / "bagit.txt")


def test_what_a_buyer_gets_holds_nothing_private_and_the_sheet_every_fault(store: Store, tmp_path: Path) -> None:
    with pytest.raises(UserError) as refused:
        seal(store, CAR, occasion=Occasion.SOLD, edition=Edition.BUYER, originals=True, out=tmp_path / "out")
    assert refused.value.problem.slug == "seal-originals"
    made = seal(
        store,
        CAR,
        occasion=Occasion.SOLD,
        edition=Edition.BUYER,
        out=tmp_path / "out",
        zipped=True,
        made_at=AT,
        author="Tobias Plantagenet",
    )
    folder = Path(made.sealed.folder)
    files = all_bytes(folder)
    assert leaks(files) == []
    assert "data/page/index.html" in files
    # What was struck is told nowhere, and its words stand in no captions: that it was said can be heard in the film.
    for name, data in files.items():
        if not name.endswith((".css", ".js", "OFL.txt")):
            assert not re.search(r"\b(torn|tear)\b", texts_in(name, data)), name
    history = json.loads(files["data/history.json"])
    assert {change["by"] for one in history for change in one["changes"]} == {"the program", "a person"}
    assert verify([folder]).sound
    assert made.sheet is not None
    sheet = Path(made.sheet).read_bytes()
    text = " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(sheet)).pages)
    assert made.sealed.number[:8] in text
    assert made.sealed.number[-8:] in text
    car = store.car_file(CAR)
    faults = [one for one in car.findings if one.finding.state is State.STANDS]
    assert len(faults) >= 2
    assert "nearside front wing" in text.lower()
    assert "nearside sill" in text.lower()
    assert leaks({"sheet.pdf": sheet}) == []
    again = all_bytes(folder)
    assert again == files


def test_keepers_and_test_histories_are_in_the_firms_sealed_file_and_their_names_in_no_other(
    store: Store, tmp_path: Path
) -> None:
    fields = {"about": "Quillover Plantagenet", "start": "1969", "until": "1994", "on": "letter of Tobias"}
    enter_past(store, CAR, PastKind.KEEPER, fields, author="Tobias Plantagenet")
    record = {"registration": "FGY412H", "make": "OSTREL", "motTests": [], "firstUsedDate": "1969.09.02"}
    keep_tests(store, CAR, json.dumps(record).encode(), called="PLANTED.json", author="Tobias Plantagenet")
    firm = seal(store, CAR, occasion=Occasion.OFFERED, out=tmp_path / "firm", made_at=AT)
    (file,) = Path(firm.sealed.folder).rglob("car-file.json")
    whole = json.loads(file.read_bytes())
    assert [one["entry"]["about"] for one in whole["past"]] == ["Quillover Plantagenet"]
    assert [(one["mark"], one["record"]) for one in whole["tests"]] == [("FGY412H", record)]
    assert car_file_of(whole) == store.car_file(CAR, withdrawn=True)
    buyer = seal(store, CAR, occasion=Occasion.OFFERED, edition=Edition.BUYER, out=tmp_path / "buyer", made_at=AT)
    files = all_bytes(Path(buyer.sealed.folder))
    assert "Keeper 1, from 1969 to 1994 (a paper)." in " ".join(texts_in(*one) for one in files.items())
    assert leaks(files) == []


class StopsAt(Stop):
    """Asks for a stop once some stage is told of."""

    def __init__(self, stage: str) -> None:
        super().__init__()
        self._stage = stage

    def look(self, step: Step) -> None:
        if step.stage == self._stage:
            self.ask()


def test_stopped_while_sealing_nothing_is_left_and_the_next_run_seals(store: Store, tmp_path: Path) -> None:
    stop = StopsAt("sealing")
    with pytest.raises(StoppedError) as stopped:
        seal(store, CAR, occasion=Occasion.SOLD, originals=True, out=tmp_path / "out", tell=stop.look, stop=stop)
    assert "begins anew" in stopped.value.problem.advice
    assert not list((tmp_path / "out").iterdir())
    assert not sealed_files(store, CAR).sealed
    made = seal(store, CAR, occasion=Occasion.SOLD, originals=True, out=tmp_path / "out")
    assert verify([Path(made.sealed.folder)]).sound


def test_stopped_at_the_zip_what_was_sealed_stands_with_its_sheet(store: Store, tmp_path: Path) -> None:
    stop = StopsAt("zip")
    with pytest.raises(StoppedError) as stopped:
        seal(store, CAR, occasion=Occasion.SOLD, out=tmp_path / "out", zipped=True, tell=stop.look, stop=stop)
    assert "is sealed" in stopped.value.problem.where
    (one,) = sealed_files(store, CAR).sealed
    assert verify([Path(one.folder)]).sound
    assert sorted(path.suffix for path in (tmp_path / "out").iterdir()) == ["", ".pdf"]


def test_verifying_tells_how_far_it_is_and_stops(store: Store, tmp_path: Path) -> None:
    made = seal(store, CAR, occasion=Occasion.OFFERED, originals=True, out=tmp_path / "out")
    steps: list[Step] = []
    verify([Path(made.sealed.folder)], tell=steps.append)
    assert steps[-1].done == 1.0
    assert {one.stage for one in steps} == {"verifying"}
    stop = StopsAt("verifying")
    with pytest.raises(StoppedError):
        verify([Path(made.sealed.folder)], tell=stop.look, stop=stop)


def test_that_a_word_is_no_name_is_kept_with_who_said_it_and_taken_back(store: Store, tmp_path: Path) -> None:
    walk = tmp_path / "later.vtt"
    walk.write_text("WEBVTT\n\n00:01.000 --> 00:04.000\nThe wing is dented. Go on then, Doreen.\n", encoding="utf-8")
    add(store, [walk], car=CAR)
    before = private_mark(private_for(store, store.car_file(CAR)))
    assert "Doreen" in private_shown(store, CAR).people
    with pytest.raises(UserError) as refused:
        keep_private(store, CAR, "Wing", kind=PrivateKind.NO_NAME, author="Ida Quill")
    assert refused.value.problem.slug == "private-no-name"
    shown = keep_private(store, CAR, "doreen", kind=PrivateKind.NO_NAME, author="Ida Quill")
    assert "Doreen" not in shown.people
    kept = shown.words[-1]
    assert (kept.kind, kept.words, kept.author) == (PrivateKind.NO_NAME, "doreen", "Ida Quill")
    private = private_for(store, store.car_file(CAR))
    assert private.text("Go on then, Doreen.") == "Go on then, Doreen."
    assert private_mark(private) != before
    # It stops nothing that goes out.
    make_buyers_page(store, CAR, out=tmp_path / "page")
    back = take_back_private(store, CAR, kept.id, author="Ida Quill")
    assert "Doreen" in back.people
    assert back.words[-1].ended_by == "Ida Quill"
