"""A link shows the page of the car file as it is now, to whom it was given, and ends when told."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from shutline.capture.limits import limits
from shutline.car.errors import BadInputError, BrokenWorldError, NotFoundError, Problem, StoppedError, UserError
from shutline.car.going_out import Edition, Occasion, PrivateKind, Share
from shutline.car.recordings import Kind
from shutline.store import Store
from shutline.usecases import buyers_page
from shutline.usecases.add import add
from shutline.usecases.amend import enter
from shutline.usecases.answering import ask, letter
from shutline.usecases.buyer_choice import BuyerChoice, keep_buyer_choice
from shutline.usecases.light_films import LightFilm, light_copy
from shutline.usecases.private import keep_private
from shutline.usecases.progress import Step, Stop
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm, strike
from shutline.usecases.sealing import seal
from shutline.usecases.shares import end_share, is_open, make_shared_page, share, shared_file, shares

CAR = "ostrel-pavane"
TEXTS = {".html", ".vtt", ".json", ".txt", ".md", ".jsonld"}
WORDS = """WEBVTT

00:00:01.000 --> 00:00:05.000
Nearside front wing has a dent in it. There's rust on the nearside sill.
"""


@pytest.fixture(scope="module")
def filmed(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("yard")
    words = folder / "words.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(
            store, [make_film("walk.mp4", frames=60, rate=10, gop=10)], car=CAR, title="Ostrel Pavane", transcript=words
        )
        confirm(store, CAR, [one.id for one in store.car_file(CAR).findings], author="Ida Quill")
    return folder / "store"


@pytest.fixture
def store(filmed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    (tmp_path / "settings").mkdir()
    (tmp_path / "settings/masks.toml").write_text('covers = "stands"\n', encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings/settings.toml"))
    shutil.copytree(filmed, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def token_of(store: Store) -> str:
    return shares(store, CAR).links[0].share.token


def test_a_link_shows_the_page_until_it_is_ended(store: Store) -> None:
    made = share(store, CAR, author="Ida")
    token = token_of(store)
    assert made.links[0].path == f"/shared/{token}/"
    page = shared_file(store, token, "")
    assert page is not None
    assert b"Ostrel Pavane" in page.read_bytes()
    film = shared_file(store, token, "film/film-1.mp4")
    assert film is not None
    ended = end_share(store, CAR, token[:6], author="Per")
    assert not ended.links[0].open
    with pytest.raises(NotFoundError):
        shared_file(store, token, "")
    assert ended.links[0].share.ended_by == "Per"


@pytest.mark.parametrize(
    "file",
    ["../made.json", "page/../../made.json", "/etc/passwd", "..", "film", "no.html", "film/../../made.json", "\x00"],
)
def test_nothing_but_the_files_of_the_page_is_given(store: Store, file: str) -> None:
    share(store, CAR, author="Ida")
    with pytest.raises(NotFoundError):
        shared_file(store, token_of(store), file)


def test_what_was_struck_since_is_shown_to_nobody(store: Store) -> None:
    share(store, CAR, author="Ida")
    token = token_of(store)
    rust = next(one.id for one in store.car_file(CAR).findings if one.finding.condition == "rust")
    strike(store, CAR, [rust], author="Ida")
    assert shared_file(store, token, "") is None
    assert not shares(store, CAR).fresh
    make_shared_page(store, CAR)
    page = shared_file(store, token, "")
    assert page is not None
    assert b"rust" not in page.read_bytes().split(b"<details")[0].lower()
    assert len(list(page.parents[2].glob("shared-*"))) == 1


def test_private_words_that_are_kept_later_close_the_page_until_it_is_made_anew(store: Store) -> None:
    share(store, CAR, author="Ida")
    keep_private(store, CAR, "Augusta Harbottle", kind=PrivateKind.KEEPER, author="Ida")
    assert shared_file(store, token_of(store), "") is None


def test_a_link_ends_with_its_last_day(store: Store) -> None:
    today = datetime.now(UTC).date()
    share(store, CAR, until=today.isoformat(), author="Ida")
    link = shares(store, CAR).links[0]
    assert link.open
    assert link.share.until is not None
    assert datetime.fromisoformat(link.share.until) > datetime.now(UTC)
    late = Share("t", CAR, "", "Ida", until="2026-01-02T00:00:00Z")
    assert not is_open(late)
    assert is_open(late, now=datetime(2026, 1, 1, 23, 59, tzinfo=UTC))
    for until in ("soon", (today - timedelta(days=1)).isoformat(), "2026-13-01"):
        with pytest.raises(UserError) as refused:
            share(store, CAR, until=until, author="Ida")
        assert refused.value.problem.slug == "share-until"


def test_sharing_again_makes_nothing_anew(store: Store) -> None:
    first = share(store, CAR, author="Ida").page
    second = share(store, CAR, author="Ida")
    assert second.page == first
    assert len(second.links) == 2
    assert all(not one.open for one in end_share(store, CAR, "", author="Ida").links)
    with pytest.raises(NotFoundError):
        end_share(store, CAR, "no-such", author="Ida")


def struck_rust(store: Store) -> None:
    rust = next(one.id for one in store.car_file(CAR).findings if one.finding.condition == "rust")
    strike(store, CAR, [rust], author="Ida")


def test_what_was_said_of_what_is_struck_is_in_no_text_that_goes_out(store: Store, tmp_path: Path) -> None:
    struck_rust(store)
    folder = Path(make_shared_page(store, CAR).folder)
    texts = {path.name: path.read_text(encoding="utf-8") for path in folder.rglob("*") if path.suffix in TEXTS}
    made = make_report(store, CAR, only=["json", "captions", "chapters", "html", "description"], out=tmp_path / "out")
    texts |= {Path(one.path).name: Path(one.path).read_text(encoding="utf-8") for one in made.files}
    sealed = Path(
        seal(store, CAR, occasion=Occasion.OFFERED, edition=Edition.BUYER, out=tmp_path / "sealed").sealed.folder
    )
    texts |= {str(path): path.read_text(encoding="utf-8") for path in sealed.rglob("*") if path.suffix in TEXTS}
    assert len(texts) > 20
    for name, text in texts.items():
        if not name.endswith((".css", ".js")):
            assert "There's rust" not in text, name
            assert "rust on the nearside" not in text, name
    assert "[withdrawn]" in texts["captions-1.vtt"]
    assert "has been withdrawn by the seller since" in texts["index.html"]
    assert "it can still be heard" in texts["index.html"]


def test_what_was_struck_and_entered_anew_is_told_as_replaced_and_both_are_in_the_history(
    store: Store, tmp_path: Path
) -> None:
    rust = next(one for one in store.car_file(CAR).findings if one.finding.condition == "rust")
    struck_rust(store)
    fields = {"part": "sill", "side": "near", "condition": "rust", "found": "yes", "severity": "slight"}
    (entered,) = enter(store, CAR, fields, at_s=3.0, author="Ida").findings
    page = Path(make_shared_page(store, CAR).folder)
    text = (page / "index.html").read_text(encoding="utf-8")
    assert "has been replaced by the seller since: this page tells what holds of the nearside sill" in text
    assert "withdrawn" not in text
    captions = (page / "film/captions-1.vtt").read_text(encoding="utf-8")
    assert "[told anew]" in captions
    assert "There's rust" not in captions
    made = seal(store, CAR, occasion=Occasion.OFFERED, edition=Edition.BUYER, out=tmp_path / "sealed")
    history = json.loads((Path(made.sealed.folder) / "data/history.json").read_text(encoding="utf-8"))
    (told,) = [one for one in history if one["id"] == entered.id]
    (former,) = told["replaced"]
    assert former["id"] == rust.id
    assert former["changes"][0]["after"]["condition"] == "rust"
    assert [one["action"] for one in former["changes"]][-1] == "struck"
    assert "There's rust" not in json.dumps(history)


def test_what_another_person_entered_of_the_part_replaces_nothing(store: Store) -> None:
    struck_rust(store)
    fields = {"part": "sill", "side": "near", "condition": "rust", "found": "yes"}
    enter(store, CAR, fields, at_s=3.0, author="Per")
    text = (Path(make_shared_page(store, CAR).folder) / "index.html").read_text(encoding="utf-8")
    assert "has been withdrawn by the seller since" in text
    assert "replaced by the seller" not in text


@pytest.mark.parametrize("silent", [False, True])
def test_the_film_is_silent_there_only_where_the_house_says_so(
    store: Store, monkeypatch: pytest.MonkeyPatch, silent: bool
) -> None:
    keep_buyer_choice(BuyerChoice(silent=silent), author="Ida")
    given: list[tuple[tuple[float, float], ...]] = []

    def copied(*args: Any, muted: tuple[tuple[float, float], ...], **more: Any) -> LightFilm:
        given.append(muted)
        return light_copy(*args, muted=muted, **more)

    monkeypatch.setattr(buyers_page, "light_copy", copied)
    make_shared_page(store, CAR)
    struck_rust(store)
    page = (Path(make_shared_page(store, CAR).folder) / "index.html").read_text(encoding="utf-8")
    assert ("the film is silent there" in page) is silent
    assert given[0] == ()
    spans = given[1]
    assert bool(spans) is silent
    if silent:
        ((start_s, end_s),) = spans
        assert 2.0 < start_s < 4.0
        assert end_s == pytest.approx(5.0, abs=0.1)


def test_another_choice_of_the_house_makes_the_page_anew(store: Store) -> None:
    make_shared_page(store, CAR)
    assert shares(store, CAR).fresh
    keep_buyer_choice(BuyerChoice(silent=True), author="Ida")
    assert not shares(store, CAR).fresh


def test_a_reply_leads_to_the_moment_on_the_page_that_is_shared(store: Store) -> None:
    asked = ask(store, CAR, "any rust on the n/s sill?", keep=False)
    (way,) = asked.ways
    assert way.shared == ""
    assert way.own.startswith(f"/cars/{CAR}?recording=1&at=")
    store.keep_question(CAR, "any rust on the n/s sill?", author="Ida")
    share(store, CAR, author="Ida")
    told = letter(ask(store, CAR, "any rust on the n/s sill?", keep=False), "https://cars.example/")
    found = re.fullmatch(
        rf"Yes: rust on the nearside sill\.\n\nIn the film at 0:0[23]: "
        rf"https://cars\.example/shared/{token_of(store)}/#film-1-at-(\d\.\d)",
        told,
    )
    assert found, told
    assert 0.5 < float(found[1]) < 3.5
    sealed = Path(
        seal(store, CAR, occasion=Occasion.OFFERED, edition=Edition.FIRM, out=store.folder / "s").sealed.folder
    )
    for path in sealed.rglob("*"):
        assert not path.is_file() or token_of(store).encode() not in path.read_bytes()
    end_share(store, CAR, "", author="Ida")
    assert ask(store, CAR, "any rust on the n/s sill?", keep=False).ways == (way,)


def test_a_small_film_that_was_stopped_goes_on_with_what_was_made(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = limits()
    monkeypatch.setattr(
        "shutline.capture.cut_parts.limits", lambda: replace(known, clips=replace(known.clips, piece_s=1.0))
    )
    car = store.car_file(CAR)
    (recording,) = (one for one in car.recordings if one.original.kind is Kind.FILM)
    folder, stop, done = store.folder / "outputs" / CAR, Stop(), list[float]()

    def until_half(step: Step) -> None:
        if (step.done or 0) > 0.5:
            stop.ask()

    with pytest.raises(StoppedError):
        light_copy(store, car, recording, muted=(), tell=until_half, stop=stop)
    assert [one.name.split("-")[2] for one in folder.glob("light-*")] == ["parts"]
    # Other private words leave the picture as it is.
    tell = lambda step: done.append(step.done or 0)  # noqa: E731
    made = light_copy(store, car, recording, muted=((1.0, 2.0),), tell=tell, stop=Stop())
    assert done[0] > 0.4
    assert made.path.is_file()
    assert list(folder.glob("light-*")) == [made.path.parent]
    assert not list(folder.glob(".making-*"))


def test_two_runs_at_once_both_have_the_film(store: Store) -> None:
    car = store.car_file(CAR)
    (recording,) = (one for one in car.recordings if one.original.kind is Kind.FILM)
    told: list[Step] = []

    def run(_: int) -> LightFilm:
        return light_copy(store, car, recording, muted=(), tell=told.append, stop=Stop())

    with ThreadPoolExecutor(2) as runs:
        first, second = runs.map(run, range(2))
    assert first == second
    assert first.path.is_file()
    assert any("waits" in step.note for step in told)
    assert list((store.folder / "outputs" / CAR).glob("light-*")) == [first.path.parent]


def test_one_that_goes_on_tells_from_where(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    known = limits()
    monkeypatch.setattr(
        "shutline.capture.cut_parts.limits", lambda: replace(known, clips=replace(known.clips, piece_s=1.0))
    )
    car, stop, told = store.car_file(CAR), Stop(), list[Step]()
    (recording,) = (one for one in car.recordings if one.original.kind is Kind.FILM)

    def until_half(step: Step) -> None:
        if step.done > 0.5:
            stop.ask()

    with pytest.raises(StoppedError):
        light_copy(store, car, recording, muted=(), tell=until_half, stop=stop)
    light_copy(store, car, recording, muted=(), tell=told.append, stop=Stop())
    assert told[0].note == f"goes on from {int(told[0].done * 100)} %"
    assert 0.4 < told[0].done < 0.55


@pytest.mark.parametrize("former", [False, True])
def test_no_page_is_written_where_the_copy_of_its_film_cannot_be_made(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, former: bool
) -> None:
    out = tmp_path / "page"
    if former:
        buyers_page.make_buyers_page(store, CAR, out=out)
    before = sorted(one.name for one in out.rglob("*"))

    def gone(*_: Any, **__: Any) -> LightFilm:
        raise BrokenWorldError(Problem("output-not-written", "the film", "no such file", "room", "Make room."))

    monkeypatch.setattr(buyers_page, "light_copy", gone)
    with pytest.raises(BrokenWorldError):
        buyers_page.make_buyers_page(store, CAR, out=out)
    assert sorted(one.name for one in out.rglob("*")) == before


def test_a_film_that_cannot_be_read_is_told_on_the_page(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any, **__: Any) -> LightFilm:
        raise BadInputError(Problem("clip-empty", "walk.mp4", "nothing", "a picture", "Look at the film."))

    monkeypatch.setattr(buyers_page, "light_copy", broken)
    made = buyers_page.make_buyers_page(store, CAR, out=tmp_path / "page")
    assert (made.films, made.unread) == (0, 1)
    page = (tmp_path / "page/index.html").read_text(encoding="utf-8")
    assert "A film of this car could not be read" in page
    assert "There is no film of this car" not in page
    assert "clip-empty" in [one.slug for one in made.problems]


def test_a_film_taken_away_before_the_page_is_written_is_told_as_that(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def copied(*args: Any, **more: Any) -> LightFilm:
        made = light_copy(*args, **more)
        made.path.unlink()
        return made

    monkeypatch.setattr(buyers_page, "light_copy", copied)
    with pytest.raises(BrokenWorldError) as refused:
        buyers_page.make_buyers_page(store, CAR, out=tmp_path / "page")
    assert "another run" in refused.value.problem.found
    assert not (tmp_path / "page").exists()
