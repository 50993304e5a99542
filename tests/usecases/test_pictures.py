"""Pictures taken by hand find their part; clips, copies and contact sheets of a car go out."""

from __future__ import annotations

import io
import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import av
import exifread
import numpy as np
import pytest
from PIL import Image

from shutline.car.carfile import CarFile, Picture, Recording
from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Drive, FootingKind, Side, State
from shutline.car.places import Visit
from shutline.car.recordings import Kind, Original, Probe
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.cli import main
from shutline.publish.bare import Tells
from shutline.store import StaleError, Store
from shutline.store.picture_places import StalePlaceError
from shutline.usecases.add import add
from shutline.usecases.contact_sheet import contact_sheet, write_contact_sheet
from shutline.usecases.joined_pictures import car_pictures, place_picture, show_with_picture, spot_of
from shutline.usecases.picture_cues import cue_rows, parse_cues, picture_cues
from shutline.usecases.picture_times import Speaks, offers, parse_clocks, taken_in
from shutline.usecases.published_films import write_clip, write_film
from shutline.usecases.report import make_report

MakeFilm = Callable[..., Path]

WORDS = """WEBVTT

00:00:00.500 --> 00:00:02.500
The bonnet has a scratch on it.

00:00:03.000 --> 00:00:05.000
Nearside sill, there is rust on the sill. Picture of this.

00:00:05.500 --> 00:00:07.500
The boot lid is dented.
"""


def scene(number: int) -> np.ndarray:
    coarse = np.random.default_rng(number // 90).integers(30, 225, (18, 32, 3), dtype=np.uint8)
    return coarse.repeat(10, 0).repeat(10, 1)


def picture_file(folder: Path, name: str, *, taken: str | None = None, offset: str | None = None) -> Path:
    exif = Image.Exif()
    if taken is not None:
        exif.get_ifd(0x8769)[0x9003] = taken
    if offset is not None:
        exif.get_ifd(0x8769)[0x9011] = offset
    exif[0x010F] = "ZZMAKER"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 36.0), 3: "W", 4: (0.0, 7.0, 30.0)})
    path = folder / name
    seed = sum(name.encode())
    noise = np.random.default_rng(seed).integers(60, 200, (6, 9, 3), dtype=np.uint8)
    Image.fromarray(noise).resize((300, 200)).save(path, exif=exif)
    return path


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory, make_film: MakeFilm) -> Path:
    """A store with one car in it, made once: reading takes longer than copying."""
    folder = tmp_path_factory.mktemp("prepared")
    film = make_film(
        "walkround.mp4",
        frames=240,
        picture=scene,
        metadata={"creation_time": "2026-03-14T09:30:00Z", "location": "+51.5100-000.1250/"},
    )
    words = folder / "words.vtt"
    words.write_text(WORDS, encoding="utf-8")
    pictures = [
        picture_file(folder, "sill.jpg", taken="2026:03:14 09:30:04", offset="+00:00"),
        picture_file(folder, "untimed.png"),
    ]
    with Store.open(folder / "store") as opened:
        add(opened, [film, *pictures], car="blue", title="Blue Averley", transcript=words)
    return folder / "store"


@pytest.fixture
def store(tmp_path: Path, prepared: Path) -> Iterator[Store]:
    shutil.copytree(prepared, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def by_name(store: Store, name: str):
    view = car_pictures(store, "blue")
    everything = [*view.loose, *(one for part in view.parts for one in part.pictures)]
    return next(one for one in everything if one.called == name)


def finding_of(store: Store, part: str):
    return next(kept for kept in store.car_file("blue").findings if kept.finding.part == part)


# By choice -----------------------------------------------------------------------------------------------------------


def test_a_picture_is_placed_by_a_person_and_moved_again(store: Store) -> None:
    loose = by_name(store, "untimed.png")
    assert (loose.place, loose.version) == (None, 0)
    placed = place_picture(store, "blue", loose.id, "sill-near", version=0, author="Ida").picture
    assert (placed.place, placed.name, placed.by, placed.version) == ("sill-near", "Nearside sill", "Ida", 1)
    moved = place_picture(store, "blue", loose.id[:6], "Bonnet", author="Per").picture
    assert (moved.place, moved.by) == ("bonnet", "Per")
    view = car_pictures(store, "blue")
    assert [one.id for part in view.parts if part.place == "bonnet" for one in part.pictures] == [loose.id]
    gone = place_picture(store, "blue", loose.id, None, author="Per").picture
    assert (gone.place, gone.offers) == (None, ())


def test_two_people_placing_one_picture_do_not_overwrite_each_other(store: Store) -> None:
    picture = by_name(store, "untimed.png")
    place_picture(store, "blue", picture.id, "bonnet", version=0, author="Ida")
    with pytest.raises(StalePlaceError):
        place_picture(store, "blue", picture.id, "roof", version=0, author="Per")
    assert by_name(store, "untimed.png").place == "bonnet"


def test_a_finding_stands_on_a_picture_as_seen_only_when_a_person_says_so(store: Store) -> None:
    picture, rust = by_name(store, "sill.jpg"), finding_of(store, "sill")
    assert not [one for kept in store.car_file("blue").findings for one in kept.finding.footings if one.kind == "seen"]
    kept = show_with_picture(store, "blue", picture.id, rust.id, version=rust.version, author="Ida").findings[0]
    seen = [one for one in kept.finding.footings if one.kind is FootingKind.SEEN]
    assert [one.source for one in seen] == [picture.id]
    assert kept.finding.state is State.STANDS
    assert kept.changes[-1].author == "Ida"
    again = show_with_picture(store, "blue", picture.id, rust.id, author="Ida").findings[0]
    assert again.version == kept.version
    assert by_name(store, "sill.jpg").shows == (rust.id,)
    with pytest.raises(StaleError):
        show_with_picture(store, "blue", picture.id, rust.id, shows=False, version=rust.version, author="Per")
    left = show_with_picture(store, "blue", picture.id, rust.id, shows=False, author="Per").findings[0]
    assert not [one for one in left.finding.footings if one.kind is FootingKind.SEEN]


def test_what_is_not_there_is_refused(store: Store) -> None:
    with pytest.raises(NotFoundError):
        place_picture(store, "blue", "ffffffff", "bonnet", author="Ida")
    with pytest.raises(UserError) as caught:
        place_picture(store, "blue", by_name(store, "sill.jpg").id, "flux-capacitor", author="Ida")
    assert caught.value.problem.slug == "place-unknown"


# By clock and by cue -------------------------------------------------------------------------------------------------


def test_a_picture_is_offered_where_the_clocks_and_the_words_say(store: Store) -> None:
    best = by_name(store, "sill.jpg").offers[0]
    assert (best.place, best.speaks) == ("sill-near", Speaks.CUE)
    assert "Picture of this" in best.reason
    assert by_name(store, "sill.jpg").place is None


def test_a_picture_without_time_goes_to_the_one_cue_that_is_left(store: Store) -> None:
    best = by_name(store, "untimed.png").offers[0]
    assert (best.place, best.speaks, best.doubt_s) == ("sill-near", Speaks.ORDER, None)


def recording(recorded_at: str | None = "2026-03-14T09:30:00+00:00", length_s: float = 240.0) -> Recording:
    probe = Probe(kind=Kind.FILM, container="mp4", length_s=length_s, recorded_at=recorded_at)
    return Recording("r1", Original("aa" * 32, "walk.mp4", 9, Kind.FILM), probe)


@pytest.mark.parametrize(
    ("taken", "recorded", "at_s"),
    [
        ("2026-03-14T09:31:05+00:00", "2026-03-14T09:30:00+00:00", 65.0),
        ("2026-03-14T10:31:05+01:00", "2026-03-14T09:30:00+00:00", 65.0),
        ("2026-03-14T09:31:05", "2026-03-14T09:30:00", 65.0),
        # The picture's clock says no zone and stands an hour, or five and a half, ahead.
        ("2026-03-14T10:31:05", "2026-03-14T09:30:00+00:00", 65.0),
        ("2026-03-14T15:01:05", "2026-03-14T09:30:00+00:00", 65.0),
        # The film's clock is that of its end.
        ("2026-03-14T09:27:05+00:00", "2026-03-14T09:30:00+00:00", 65.0),
    ],
)
def test_two_clocks_tell_when_in_a_film_a_picture_was_taken(taken: str, recorded: str, at_s: float) -> None:
    when = taken_in(taken, recording(recorded))
    assert when is not None
    assert when.at_s == pytest.approx(at_s)
    assert when.doubt_s >= 60


@pytest.mark.parametrize(
    ("taken", "recorded"),
    [
        ("2026-03-15T09:31:05+00:00", "2026-03-14T09:30:00+00:00"),
        (None, "2026-03-14T09:30:00+00:00"),
        ("2026-03-14T09:31:05+00:00", None),
        ("no time", "2026-03-14T09:30:00+00:00"),
    ],
)
def test_where_no_clock_tells_nothing_is_said(taken: str | None, recorded: str | None) -> None:
    assert taken_in(taken, recording(recorded)) is None


def test_one_device_leaves_less_doubt_than_two() -> None:
    taken = "2026-03-14T09:31:05+00:00"
    one, two = taken_in(taken, recording(), same_device=True), taken_in(taken, recording())
    assert one is not None
    assert two is not None
    assert one.doubt_s < two.doubt_s


def test_the_clock_alone_offers_the_places_within_its_doubt_the_nearest_first() -> None:
    film = recording()
    picture = Picture("p1", Original("bb" * 32, "a.jpg", 9, Kind.PICTURE), 3, 2, taken_at="2026-03-14T09:31:05+00:00")
    walk = (
        Visit(0.0, 20.0, "bonnet"),
        Visit(62.0, 70.0, "sill", Side.NEAR),
        Visit(70.0, 90.0, "door", Side.NEAR),
        Visit(200.0, 210.0, "boot_lid"),
    )
    car = CarFile("blue", "Blue", Drive.RHD, "2026-03-14T12:00:00Z", recordings=(film,), pictures=(picture,))
    found = offers(car, [picture], {"r1": walk}, {})["p1"]
    assert [offer.place for offer in found] == ["sill-near", "door-near", "bonnet"]
    assert all(offer.speaks is Speaks.CLOCKS for offer in found)
    assert "give or take 60 s" in found[0].reason


@pytest.mark.parametrize("row", cue_rows(), ids=lambda row: row.id)
def test_each_cue_fits_its_example_and_not_its_counter_example(row) -> None:
    fits, other = (
        picture_cues([stretch_of(text, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])
        for text in (row.example, row.counter_example)
    )
    assert len(fits) == 1
    assert other == ()


def test_broken_data_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="line 2"):
        parse_cues("id,phrase,source,example,counter_example\na,,common practice,x,y\n")
    with pytest.raises(ValueError, match="most_offered"):
        parse_clocks("[clocks]\nsame_device_doubt_s = 1.0\n")


def test_a_key_and_a_name_are_the_same_place() -> None:
    assert spot_of("sill-near") == spot_of("Nearside sill") == ("sill", Side.NEAR, None)


# What goes out -------------------------------------------------------------------------------------------------------


def test_the_contact_sheet_of_a_part_shows_each_time_and_each_picture(store: Store, tmp_path: Path) -> None:
    place_picture(store, "blue", by_name(store, "sill.jpg").id, "sill-near", author="Ida")
    made = contact_sheet(store, "blue", "sill-near")
    film = [tile for tile in made.tiles if tile.at_s is not None]
    assert film
    assert all(2.4 <= tile.at_s <= 6.0 for tile in film if tile.at_s is not None)
    assert [tile.taken_at for tile in made.tiles if tile.at_s is None] == ["2026-03-14T09:30:04+00:00"]
    with Image.open(io.BytesIO(made.data)) as sheet:
        assert sheet.format == "PNG"
        assert sheet.width > 1400
        assert not sheet.info.get("exif")
    for name, begins in (("s.png", b"\x89PNG"), ("s.jpg", b"\xff\xd8"), ("s.pdf", b"%PDF")):
        written = write_contact_sheet(store, "blue", "Nearside sill", out=tmp_path / name)
        data = Path(written.path).read_bytes()
        assert data.startswith(begins)
        assert len(data) == written.byte_size
        assert b"ZZMAKER" not in data
        assert b"CreationDate" not in data
    with pytest.raises(UserError) as caught:
        write_contact_sheet(store, "blue", "sill-near", out=tmp_path / "s.gif")
    assert caught.value.problem.slug == "sheet-form"
    with pytest.raises(NotFoundError):
        contact_sheet(store, "blue", "roof")


def test_a_clip_of_a_finding_holds_its_words(store: Store, tmp_path: Path) -> None:
    rust = finding_of(store, "sill")
    said = rust.finding.footings[0]
    assert said.start_s is not None
    out = tmp_path / "clip.mp4"
    made = write_clip(store, "blue", rust.id, exact=True, out=out)
    assert made.start_s == pytest.approx(said.start_s - 1.0, abs=0.04)
    assert made.end_s >= (said.end_s or 0)
    assert made.byte_size == out.stat().st_size
    assert b"51.51" not in out.read_bytes()
    told = write_clip(store, "blue", start_s=1.0, end_s=2.0, tells=Tells(place=True, time=True), out=out)
    assert told.early_s >= -0.04
    assert b"+51.5100" in out.read_bytes()
    assert list(tmp_path.glob(".*part*")) == []


def test_a_clip_of_nothing_is_refused(store: Store, tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        write_clip(store, "blue", out=tmp_path / "c.mp4")
    assert caught.value.problem.slug == "clip-times"
    with pytest.raises(UserError):
        write_clip(store, "blue", start_s=50.0, end_s=60.0, out=tmp_path / "c.mp4")
    assert not (tmp_path / "c.mp4").exists()


def test_a_copy_of_the_film_has_chapters_and_captions_and_the_original_is_as_it_was(
    store: Store, tmp_path: Path
) -> None:
    film = store.car_file("blue").recordings[0]
    kept = next((store.originals / film.original.sha256[:2] / film.original.sha256[2:4]).iterdir())
    before = kept.read_bytes()
    out = tmp_path / "film.mp4"
    made = write_film(store, "blue", out=out)
    assert made.captions >= 3
    assert made.chapters >= 1
    with av.open(str(out)) as copy:
        assert len(copy.chapters()) == made.chapters
        assert [stream.type for stream in copy.streams if stream.type != "data"] == ["video", "audio", "subtitle"]
    assert kept.read_bytes() == before
    assert b"rust on the sill" in out.read_bytes()
    write_film(store, "blue", captions=False, out=out)
    assert b"rust on the sill" not in out.read_bytes()


def test_the_report_shows_a_picture_beside_the_finding_that_stands_on_it(store: Store, tmp_path: Path) -> None:
    picture, rust = by_name(store, "sill.jpg"), finding_of(store, "sill")
    make_report(store, "blue", out=tmp_path / "before", only=["html"])
    show_with_picture(store, "blue", picture.id, rust.id, author="Ida")
    make_report(store, "blue", out=tmp_path / "after", only=["html"])
    before, after = ((tmp_path / name / "report.html").read_text(encoding="utf-8") for name in ("before", "after"))
    assert "Picture taken by hand" not in before
    assert "Picture taken by hand" in after
    assert after.count("data:image/jpeg") == before.count("data:image/jpeg") + 1


def test_a_picture_goes_out_by_command_bare_unless_asked_otherwise(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = by_name(store, "sill.jpg")
    out = tmp_path / "out.jpg"
    command = ["pictures", "blue", "--picture", picture.id, "--out", str(out), "--store", str(store.folder), "--json"]
    assert main(command) == 0
    assert json.loads(capsys.readouterr().out)["byte_size"] == out.stat().st_size
    assert exifread.process_file(io.BytesIO(out.read_bytes())) == {}
    assert main([*command, "--tell", "place"]) == 0
    told = exifread.process_file(io.BytesIO(out.read_bytes()))
    assert exifread.utils.get_gps_coords(told) == pytest.approx((51.51, -0.125), abs=1e-4)
    assert main([*command, "--tell", "weather"]) == 2
    assert "place, device or time" in capsys.readouterr().out


def test_the_commands_say_in_words_what_they_did(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rust, where = finding_of(store, "sill"), ["--store", str(store.folder)]
    assert main(["clip", "blue", rust.id, "--out", str(tmp_path / "c.mp4"), *where]) == 0
    assert "c.mp4" in capsys.readouterr().out
    assert main(["sheet", "blue", "nearside sill", "--out", str(tmp_path / "s.png"), *where]) == 0
    assert "Nearside sill" in capsys.readouterr().out
    assert main(["film", "blue", "--out", str(tmp_path / "f.mp4"), *where]) == 0
    assert "captions hold every word" in capsys.readouterr().out
    picture = by_name(store, "untimed.png")
    assert main(["pictures", "blue", "--picture", picture.id, "--of", "bonnet", "--by", "Ida", *where]) == 0
    assert "of the bonnet, said by Ida" in capsys.readouterr().out
    assert main(["pictures", "blue", *where]) == 0
    assert "perhaps nearside sill" in capsys.readouterr().out
