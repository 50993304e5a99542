"""Readings: keyed, from a table, called out in a film, off a picture; each waits or stands, and nothing is lost."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from shutline.car.errors import BadInputError, NotFoundError, UserError
from shutline.car.figures import FigureKind, ReadFigure, ReadSign
from shutline.car.findings import Side, State
from shutline.car.readings import Way
from shutline.car.recordings import Kind, Original
from shutline.cli import main
from shutline.gauge.readings import Keyed
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.figures import decide_figure
from shutline.usecases.readings import (
    car_readings,
    decide_reading,
    enter_reading,
    enter_table,
    hear_readings,
    own_instruments,
    place_words,
    value_words,
)

CAR = "blue"
IDA = "Ida Quill"
SENT = "token-one"
DOOR = Keyed("paint_film", "122", part="door", side="near", position="front", spot="bottom")
WORDS = """WEBVTT

00:00:01.000 --> 00:00:08.000
Nearside front door now. Paint gauge here: one twenty, one eighteen, one twenty-five, and then four hundred at the
bottom.
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        yield opened


def test_a_keyed_reading_stands_and_says_what_and_where(store: Store) -> None:
    kept = enter_reading(store, "bl", DOOR, author=IDA).reading
    assert kept.state is State.STANDS
    assert kept.changes[0].author == IDA
    assert value_words(kept.reading) == "paint film 122 µm ± 3.3"
    assert place_words(kept.reading) == "nearside front door, bottom"
    wet = enter_reading(store, CAR, Keyed("compression", 11.2, spot="3", details={"state": "wet"}), author=IDA).reading
    assert value_words(wet.reading).endswith("(state wet)")
    assert place_words(wet.reading) == "engine, cylinder 3"


def test_a_page_that_sends_twice_keeps_one(store: Store) -> None:
    first = enter_reading(store, CAR, DOOR, token=SENT, author=IDA)
    assert enter_reading(store, CAR, DOOR, token=SENT, author=IDA) == first
    enter_reading(store, CAR, DOOR, author=IDA)
    assert len(car_readings(store, CAR).readings) == 2


def test_a_table_mended_and_given_again_adds_only_what_is_new(store: Store, tmp_path: Path) -> None:
    file = tmp_path / "film.csv"
    file.write_text("part,value\nbonnet,96\nbonnet,96\nroof,high\n", encoding="utf-8")
    usual = Keyed("paint_film", "", instrument="paint gauge")
    first = enter_table(store, CAR, file, usual=usual, author=IDA)
    assert [one.reading.value for one in first.new] == [96, 96]
    assert [problem.where for problem in first.problems] == ["film.csv, line 4"]
    file.write_text("part,value\nbonnet,96\nbonnet,96\nroof,98\n", encoding="utf-8")
    second = enter_table(store, CAR, file, usual=usual, author=IDA)
    assert ([one.reading.value for one in second.new], second.known) == ([98], 2)
    assert second.new[0].reading.quote == "roof, 98"


def test_a_table_that_is_not_there_or_gives_nothing_is_refused(store: Store, tmp_path: Path) -> None:
    with pytest.raises(NotFoundError) as missing:
        enter_table(store, CAR, tmp_path / "none.csv")
    assert missing.value.problem.slug == "no-such-file"
    (tmp_path / "film.csv").write_bytes(b"")
    with pytest.raises(BadInputError):
        enter_table(store, CAR, tmp_path / "film.csv")


def test_figures_called_out_in_a_film_wait_for_a_person(
    make_film: Callable[..., Path], tmp_path: Path, store: Store
) -> None:
    film = make_film("walk.mp4", frames=100, rate=10, sound=None, gop=10)
    words = tmp_path / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    add(store, [film], car=CAR, transcript=words)
    found = car_readings(store, CAR).readings
    assert [(one.reading.value, one.reading.spot, one.state) for one in found] == [
        (120, "", State.HEARD),
        (118, "", State.HEARD),
        (125, "", State.HEARD),
        (400, "bottom", State.HEARD),
    ]
    last = found[-1]
    assert (last.reading.part, last.reading.side, last.reading.way) == ("door", Side.NEAR, Way.SPOKEN)
    stands = decide_reading(store, CAR, last.id[:10], "stand", version=1, author=IDA)
    assert stands.reading.state is State.STANDS
    # Heard once more, nothing is added and nothing that was decided is undone.
    again = hear_readings(store, CAR)
    assert (again.new, again.known) == ((), 4)
    assert car_readings(store, CAR).readings[-1].state is State.STANDS


def test_amending_keeps_what_was_not_said_and_what_it_came_from(store: Store) -> None:
    kept = enter_reading(store, CAR, DOOR, author=IDA).reading
    amended = decide_reading(store, CAR, kept.id, "amend", keyed=Keyed("", "212"), author=IDA).reading
    assert (amended.reading.value, amended.reading.spot, amended.reading.side) == (212, "bottom", Side.NEAR)
    assert amended.reading.uncertainty > kept.reading.uncertainty
    moved = decide_reading(store, CAR, kept.id, "amend", keyed=Keyed("", "", part="bonnet"), author=IDA).reading
    assert (moved.reading.part, moved.reading.side, moved.reading.value) == ("bonnet", None, 212)
    with pytest.raises(UserError, match="5,000"):
        decide_reading(store, CAR, kept.id, "amend", keyed=Keyed("", "51000"), author=IDA)
    with pytest.raises(UserError):
        decide_reading(store, CAR, kept.id, "amend", author=IDA)
    with pytest.raises(StaleError):
        decide_reading(store, CAR, kept.id, "strike", version=1, author=IDA)
    with pytest.raises(NotFoundError):
        decide_reading(store, CAR, "zz", "strike", author=IDA)


def test_the_glass_of_a_gauge_that_is_taken_becomes_a_reading(store: Store) -> None:
    picture = store.add_picture(CAR, Original("7a" * 32, "gauge.jpg", 9, Kind.PICTURE), width=4, height=3)
    signs = tuple(ReadSign(sign, 0.99) for sign in "412")
    read = ReadFigure(FigureKind.PAINT, "412", signs, 412, "um", fits=True, sureness=0.9, box=(0.1, 0.1, 0.5, 0.2))
    (id_,) = store.put_figures(picture.id, [(read, "ab" * 32)], key="k", place=("door", Side.NEAR, None))
    decide_figure(store, CAR, id_, "take", author=IDA)
    (kept,) = car_readings(store, CAR).readings
    assert (kept.reading.value, kept.reading.way, kept.reading.source) == (412, Way.PICTURE, picture.id)
    assert kept.state is State.STANDS
    decide_figure(store, CAR, id_, "aside", author=IDA)
    assert car_readings(store, CAR).readings[0].state is State.STRUCK
    decide_figure(store, CAR, id_, "amend", value="421", author=IDA)
    assert [(one.reading.value, one.state) for one in car_readings(store, CAR).readings] == [(421, State.STANDS)]


def test_ones_own_instruments_go_before_the_shipped(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "instruments.csv"
    head = "id,label,quantities,resolution,share,absolute,unit,source\n"
    file.write_text(head + "mine,my gauge,paint_film,1,0,0,um,its certificate\n", encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_INSTRUMENTS", str(file))
    assert list(own_instruments()) == ["mine"]
    kept = enter_reading(store, CAR, DOOR, author=IDA).reading
    assert kept.reading.uncertainty == pytest.approx((1 / 12) ** 0.5)
    file.write_text(head + "mine,my gauge,paint_film,fine,0,0,um,its certificate\n", encoding="utf-8")
    with pytest.raises(UserError, match="line 2"):
        own_instruments()


def test_readings_by_commands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], store: Store
) -> None:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SHUTLINE_AUTHOR", IDA)

    def run(*asked: str, code: int = 0) -> str:
        assert main(["readings", CAR, *asked]) == code
        shown = capsys.readouterr()
        return shown.out + shown.err

    assert "No readings yet" in run()
    made = json.loads(run("--enter", "tread depth", "--value", "1.9", "--side", "off", "--position", "rear", "--json"))
    assert made == json.loads(json.dumps(made))
    listed = run()
    assert "tread depth 1.9 mm" in listed
    assert "offside rear tyre" in listed
    id_ = made["reading"]["id"]
    assert "struck" in run("--strike", id_[:8])
    assert "heard" in run("--again", id_[:8])
    assert "2.1" in run("--amend", id_, "--value", "2.1")
    file = tmp_path / "psi.csv"
    file.write_text("value,spot\n130,1\n900000,2\n", encoding="utf-8")
    came = run("--table", str(file), "--enter", "compression", code=2)
    assert "several" in came
    came = run("--table", str(file), "--unit", "psi")
    assert "0 new" in came or "is no quantity" in came
    file.write_text(
        "quantity,value,spot,unit,state\ncompression,130,1,psi,dry\ncompression,9000,2,psi,dry\n", encoding="utf-8"
    )
    came = run("--table", str(file))
    assert "1 new" in came
    assert "870" in came
    assert "state dry" in run()
    assert "NAME=VALUE" in run("--enter", "compression", "--value", "9", "--detail", "wet", code=2)
    assert "no quantity" in run("--enter", "magic", "--value", "9", code=2)
