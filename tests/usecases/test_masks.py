"""Masks from the look to what goes out: nothing goes out unlooked at, and originals stay as they are."""

import hashlib
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from shutline.car.carfile import CarFile
from shutline.car.errors import NotFoundError, UserError
from shutline.car.masks import Box, BoxAt, Mask, MaskKind, MaskLook, MaskState
from shutline.cli import main
from shutline.gauge.masks import film as film_search
from shutline.gauge.masks import find
from shutline.gauge.masks.found import Found
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import look_for_masks, looked_shots, original_of, shots
from shutline.usecases.mask_policy import mask_policy, mask_policy_file
from shutline.usecases.masks import (
    add_mask,
    car_masks,
    decide_mask,
    film_covering,
    film_told,
    masks_mark,
    picture_covering,
)
from shutline.usecases.outputs import outputs
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm
from shutline.usecases.settings import SETTINGS_VARIABLE
from shutline.usecases.wide_covers import told_before_going_out, wide_covers_told

CAR = "lindel-six"
WORDS = """WEBVTT

00:00:00.500 --> 00:00:02.500
There's rust on the sill, quite bad.

00:00:03.000 --> 00:00:05.000
The nearside front wing has a dent in it.
"""
PLATE = Box(0.25, 0.5, 0.5, 0.625)
GREY = (0x4A, 0x4A, 0x46)


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(SETTINGS_VARIABLE, str(tmp_path / "settings" / "settings.toml"))


@pytest.fixture
def looked_at(monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, ...]]:
    """Find a plate at the same place in each picture, quickly; the networks have tests of their own."""
    sizes: list[tuple[int, ...]] = []

    def look(picture: np.ndarray, **sides: int) -> tuple[Found, ...]:
        del sides
        sizes.append(picture.shape)
        return (Found(MaskKind.MARK, PLATE, 0.8),)

    monkeypatch.setattr(find, "find_in_picture", look)
    monkeypatch.setattr(film_search, "find_in_picture", look)
    return sizes


@pytest.fixture(scope="module")
def filmed(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with one filmed car, read once and copied for each test."""
    folder = tmp_path_factory.mktemp("masked")
    walk = make_film("masked.mp4", frames=60, rate=10, sound=None, gop=10)
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    grain = np.random.default_rng(3).integers(0, 256, (90, 160, 3)).astype(np.uint8)
    Image.fromarray(grain).save(folder / "corner.png")
    with Store.open(folder / "store") as opened:
        add(opened, [walk], car=CAR, transcript=words)
        add(opened, [folder / "corner.png"], car=CAR)
    return folder / "store"


@pytest.fixture
def store(filmed: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(filmed, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def here(store: Store) -> CarFile:
    return find_car(store, CAR)


def test_each_picture_is_looked_at_once(store: Store, looked_at: list) -> None:
    first = look_for_masks(store, CAR)
    assert first.pictures == len(shots(here(store))) == len(looked_at)
    assert first.found == {"mark": first.pictures, "chassis": 0, "face": 0}
    again = look_for_masks(store, CAR)
    assert (again.pictures, sum(again.found.values())) == (0, 0)
    assert len(looked_at) == first.pictures


def test_a_report_is_not_made_of_pictures_that_were_not_looked_at(
    store: Store, looked_at: list, tmp_path: Path
) -> None:
    made = make_report(store, CAR, out=tmp_path / "out", only=["html"])
    assert looked_shots(store, here(store)) == {(shot.source, shot.at_s) for shot in shots(here(store))}
    page = Path(made.files[0].path).read_text(encoding="utf-8")
    assert "Covered in the two pictures: two registration marks." in page
    assert "nobody has confirmed them yet" in page
    assert "found no chassis number and no face in the two pictures" in page
    assert "look yourself" in page


def test_what_goes_out_is_covered_and_what_came_in_is_not(store: Store, looked_at: list) -> None:
    car = here(store)
    (picture,) = car.pictures
    recording = car.recordings[0]
    before = hashlib.sha256(original_of(store, recording).read_bytes()).hexdigest()
    cover = picture_covering(store, car, picture.id, sha256=picture.original.sha256)
    assert cover is not None
    grain = np.random.default_rng(3).integers(0, 256, (90, 160, 3)).astype(np.uint8)
    done = cover(grain)
    left, top, right, bottom = PLATE.pixels(160, 90)
    assert (done[top:bottom, left:right] == GREY).all()
    changed = np.nonzero((done != grain).any(axis=2))
    wider = PLATE.grown(mask_policy().margin, aspect=160 / 90).pixels(160, 90)
    assert wider[1] <= changed[0].min() <= changed[0].max() < wider[3]
    assert wider[0] <= changed[1].min() <= changed[1].max() < wider[2]
    assert hashlib.sha256(original_of(store, recording).read_bytes()).hexdigest() == before == recording.original.sha256


def test_what_a_person_struck_is_shown_and_is_not_proposed_again(store: Store, looked_at: list) -> None:
    car = here(store)
    look_for_masks(store, CAR)
    (picture,) = car.pictures
    (kept,) = store.masks([picture.id])
    decide_mask(store, CAR, kept.id[:6], "strike", author="Mo")
    assert picture_covering(store, car, picture.id) is None
    assert look_for_masks(store, CAR).found["mark"] == 0
    decide_mask(store, CAR, kept.id, "restore", author="Mo")
    assert picture_covering(store, car, picture.id) is not None


def test_the_house_may_cover_only_what_stands_or_nothing(store: Store, looked_at: list) -> None:
    car = here(store)
    (picture,) = car.pictures
    look_for_masks(store, CAR)
    before = masks_mark(store, car)
    mask_policy_file().parent.mkdir(parents=True, exist_ok=True)
    mask_policy_file().write_text('covers = "stands"\n', encoding="utf-8")
    assert picture_covering(store, car, picture.id) is None
    assert masks_mark(store, car) != before
    (kept,) = store.masks([picture.id])
    decide_mask(store, CAR, kept.id, "confirm", author="Mo")
    assert picture_covering(store, car, picture.id) is not None
    mask_policy_file().write_text('covers = "nothing"\n', encoding="utf-8")
    assert picture_covering(store, car, picture.id) is None
    assert "not covered" in car_masks(store, CAR).told[0]
    mask_policy_file().write_text('kinds = ["face"]\ncovers = "proposed"\n', encoding="utf-8")
    assert picture_covering(store, car, picture.id) is None


@pytest.mark.parametrize(("text", "slug"), [('covers = "all"', "masks-refused"), ("covers =", "settings-not-toml")])
def test_a_broken_policy_is_refused_by_name_and_nothing_goes_out(
    store: Store, looked_at: list, text: str, slug: str, tmp_path: Path
) -> None:
    mask_policy_file().parent.mkdir(parents=True, exist_ok=True)
    mask_policy_file().write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as refused:
        make_report(store, CAR, out=tmp_path / "out", only=["html"])
    assert refused.value.problem.slug == slug
    assert not (tmp_path / "out").exists()


def test_a_film_is_looked_through_before_it_goes_out(store: Store, looked_at: list) -> None:
    car = here(store)
    recording = car.recordings[0]
    assert "The film was not looked through" in " ".join(film_told(store, recording))
    cover = film_covering(store, car, recording)
    assert cover is not None
    with av.open(str(original_of(store, recording))) as opened:
        for frame in opened.decode(video=0):
            grain = frame.to_ndarray(format="rgb24")
            done = cover(grain, float(frame.time))
            left, top, right, bottom = PLATE.pixels(grain.shape[1], grain.shape[0])
            middle = done[top + 1 : bottom - 1, left + 1 : right - 1]
            assert (middle == GREY).mean() > 0.7, frame.time
    looks = len(looked_at)
    assert film_covering(store, car, recording) is not None
    assert len(looked_at) == looks
    told = " ".join(film_told(store, recording))
    assert "Covered in the film: one registration mark" in told
    assert "no face" in told
    assert film_told(store, recording, to_stranger=True) == ("Registration marks are covered in the film.",)


def test_a_stranger_is_told_what_is_covered_and_the_house_how_sure_that_is(
    store: Store, looked_at: list, tmp_path: Path
) -> None:
    confirm(store, CAR, [kept.id for kept in here(store).findings], author="Ida")
    made = make_buyers_page(store, CAR, out=tmp_path / "page")
    page = (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    assert looked_at
    assert page.count("Registration marks are covered in the") == 2
    for words in ("nobody has confirmed", "look yourself", "not been looked through"):
        assert words not in page
    assert "look yourself" in " ".join(made.covers)


def test_a_cover_over_most_of_the_picture_is_told_to_the_house_by_its_moment_until_somebody_has_decided(
    store: Store, looked_at: list, tmp_path: Path
) -> None:
    car = here(store)
    film, picture = car.recordings[0].id, car.pictures[0].id
    whole, half = Box(0.0, 0.0, 1.0, 0.999), Box(0.1, 0.1, 0.5, 0.6)
    way = (BoxAt(1.0, PLATE), BoxAt(2.0, whole), BoxAt(3.0, whole), BoxAt(4.0, half))
    put = [Mask(film, MaskKind.MARK, way, sureness=0.3), Mask(picture, MaskKind.MARK, (BoxAt(0.0, whole),))]
    for one in put:
        store.put_masks(MaskLook(one.source, 0.0, 6.0, "before", 1, {}), [one])
    first, second = (kept.id for kept in store.masks([film, picture]))
    told = [one for one in wide_covers_told(store, car) if "still" not in one]
    assert [f"at 0:02 to 0:03 ({first[:8]})" in told[0], f"corner.png ({second[:8]})" in told[1]] == [True, True]
    assert set(told) <= set(car_masks(store, CAR).told)
    confirm(store, CAR, [kept.id for kept in here(store).findings], author="Ida")
    made = make_buyers_page(store, CAR, out=tmp_path / "page")
    assert set(told) <= set(made.covers)
    assert "nobody has confirmed" not in (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    decide_mask(store, CAR, first, "strike", author="Ida")
    decide_mask(store, CAR, second, "confirm", author="Ida")
    assert wide_covers_told(store, here(store)) == ()


def test_a_still_that_would_be_shown_half_covered_is_told_before_the_page_is_made(
    store: Store, looked_at: list, capsys: pytest.CaptureFixture[str]
) -> None:
    car = here(store)
    confirm(store, CAR, [kept.id for kept in car.findings], author="Ida")
    kept = next(one for one in car.findings if one.stills)
    film, at_s = car.recordings[0].id, kept.stills[0].at_s
    put = Mask(film, MaskKind.MARK, (BoxAt(at_s, Box(0.0, 0.0, 1.0, 0.999)),), sureness=0.3)
    store.put_masks(MaskLook(film, 0.0, 6.0, "before", 1, {}), [put])
    (mask,) = [one for one in store.masks([film]) if one.mask.way[0].box.area > 0.9]
    told = told_before_going_out(store, CAR)
    assert looked_at
    assert "nobody has looked at" in told[0]
    assert f"({mask.id[:8]})" in told[0]
    capsys.readouterr()
    assert main(["buyers-page", CAR, "--store", str(store.folder), "--out", str(store.folder / "p")]) == 0
    err = " ".join(capsys.readouterr().err.split())
    assert err.index("before it is made:") < err.index("small film")
    decide_mask(store, CAR, mask.id, "strike", author="Ida")
    assert not any("nobody has looked at" in one for one in told_before_going_out(store, CAR))


def test_a_mask_that_is_followed_moves_as_a_whole(store: Store) -> None:
    recording = here(store).recordings[0]
    way = [BoxAt(1.0, Box(0.1, 0.1, 0.2, 0.2)), BoxAt(3.0, Box(0.5, 0.5, 0.7, 0.7))]
    drawn = add_mask(store, CAR, recording.id, MaskKind.OTHER, way, author="Mo")
    assert drawn.mask.mask.state is MaskState.STANDS
    moved = decide_mask(store, CAR, drawn.mask.id, "amend", box=Box(0.2, 0.1, 0.3, 0.2), at_s=1.0, author="Ali")
    first, last = (one.box.edges for one in moved.mask.mask.way)
    assert first == pytest.approx((0.2, 0.1, 0.3, 0.2))
    assert last == pytest.approx((0.6, 0.5, 0.8, 0.7))
    with pytest.raises(UserError, match="a moment from"):
        decide_mask(store, CAR, drawn.mask.id, "amend", box=Box(0.2, 0.1, 0.3, 0.2), at_s=5.0, author="Ali")


def test_masks_are_drawn_in_the_cars_own_pictures_and_moments(store: Store) -> None:
    car = here(store)
    one = [BoxAt(0.0, PLATE)]
    with pytest.raises(NotFoundError):
        add_mask(store, CAR, "elsewhere", MaskKind.FACE, one, author="Mo")
    with pytest.raises(UserError, match="one box, at 0 s"):
        add_mask(store, CAR, car.pictures[0].id, MaskKind.FACE, [BoxAt(2.0, PLATE)], author="Mo")
    with pytest.raises(UserError, match="where it ends"):
        add_mask(store, CAR, car.recordings[0].id, MaskKind.FACE, [BoxAt(99.0, PLATE)], author="Mo")
    with pytest.raises(NotFoundError, match="no mask of this car"):
        decide_mask(store, CAR, "nothing", "strike", author="Mo")


def test_outputs_are_made_anew_when_a_mask_changes(store: Store, looked_at: list) -> None:
    from shutline.usecases.outputs import make_outputs

    made = make_outputs(store, CAR, only=["html"])
    assert next(one for one in made.outputs if one.what == "html").fresh
    (picture,) = here(store).pictures
    decide_mask(store, CAR, store.masks([picture.id])[0].id, "strike", author="Mo")
    assert not next(one for one in outputs(store, CAR).outputs if one.what == "html").fresh


@pytest.mark.slow
def test_the_program_really_looks(store: Store) -> None:
    """Noise holds no mark, no number and no face; and the networks run to say so."""
    looked = look_for_masks(store, CAR)
    assert looked.problems == ()
    assert looked.pictures == len(shots(here(store)))
