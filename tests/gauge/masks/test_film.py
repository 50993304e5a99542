"""What is found in one frame of a film a second is followed through those between, and no further than it should be."""

import numpy as np
import numpy.typing as npt
import pytest
import scenes

from shutline.car.masks import Box, Mask, MaskKind
from shutline.gauge.masks.film import FoundWay, TimedPicture, find_in_film, followed
from shutline.gauge.masks.find import smaller
from shutline.gauge.masks.found import Found
from shutline.gauge.masks.settings import finding, shipped_policy

Filmed = list[tuple[float, npt.NDArray[np.uint8], npt.NDArray[np.float64]]]


@pytest.fixture(scope="module")
def filmed() -> Filmed:
    return scenes.filmed_plate(61, seconds=3.2, rate=10)


def box_of(corners: npt.NDArray[np.float64]) -> Box:
    (left, top), (right, bottom) = corners.min(axis=0) / scenes.SIZE, corners.max(axis=0) / scenes.SIZE
    return Box(float(left), float(top), float(right), float(bottom))


def search(filmed: Filmed, *, missed: frozenset[int] = frozenset()) -> tuple[tuple[FoundWay, ...], list[int]]:
    """Search with looks that know where the plate is, but for those of the numbers in `missed`."""
    looks: list[int] = []
    by_picture = {id(picture): (number, corners) for number, (_, picture, corners) in enumerate(filmed)}

    def look(picture: npt.NDArray[np.uint8]) -> tuple[Found, ...]:
        number, corners = by_picture[id(picture)]
        looks.append(number)
        if len(looks) - 1 in missed:
            return ()
        return (Found(MaskKind.MARK, box_of(corners), 0.5 + 0.1 * len(looks)),)

    ways, count = find_in_film((TimedPicture.of(at_s, picture) for at_s, picture, _ in filmed), look=look)
    assert count == len(looks)
    return ways, looks


def covered(filmed: Filmed, ways: tuple[FoundWay, ...]) -> list[float]:
    policy = shipped_policy()
    wide, high = scenes.SIZE
    shares = []
    for at_s, _, corners in filmed:
        boxes = [Mask("film", one.kind, one.way).at(at_s, slack_s=policy.slack_s) for one in ways]
        margin = policy.margin + policy.film_margin
        under = [box.grown(margin, aspect=wide / high).pixels(wide, high) for box in boxes if box is not None]
        shares.append(scenes.covered_share(scenes.SIZE, corners, under))
    return shares


def test_a_plate_is_covered_in_every_frame_between_the_looks(filmed: Filmed) -> None:
    ways, looks = search(filmed)
    assert looks == [0, 10, 20, 30, 31]
    (way,) = ways
    assert way.sureness == pytest.approx(1.0)
    assert min(covered(filmed, ways)) > 0.97


def test_a_plate_that_one_look_misses_is_covered_through_it_as_one(filmed: Filmed) -> None:
    ways, _ = search(filmed, missed=frozenset({1}))
    assert len(ways) == 1
    assert min(covered(filmed, ways)) > 0.9


def test_what_is_not_found_again_is_carried_a_second_and_no_further(filmed: Filmed) -> None:
    ways, _ = search(filmed, missed=frozenset({1, 2, 3, 4}))
    (way,) = ways
    assert way.way[-1].at_s == pytest.approx(finding().film.carry_s, abs=0.01)


def test_a_film_in_which_nothing_is_found_has_no_masks(filmed: Filmed) -> None:
    assert search(filmed, missed=frozenset(range(9)))[0] == ()


def test_without_frames_there_is_nothing_to_look_at() -> None:
    assert find_in_film(iter(())) == ((), 0)


def test_a_box_is_followed_as_far_as_the_picture_moves() -> None:
    rng = np.random.default_rng(5)
    texture = smaller(rng.integers(0, 256, (300, 500, 3)).astype(np.uint8), 500)
    grey = texture[..., 0]
    greys = [np.ascontiguousarray(grey[20:220, 40 - 3 * step : 340 - 3 * step]) for step in range(5)]
    boxes = followed(greys, Box(0.4, 0.4, 0.6, 0.6), finding().film)
    assert len(boxes) == 5
    assert boxes[-1].left == pytest.approx(0.4 + 12 / 300, abs=0.01)
    assert boxes[-1].top == pytest.approx(0.4, abs=0.01)


def test_a_box_stays_where_it_was_when_nothing_can_be_followed() -> None:
    flat = [np.full((100, 100), 90, np.uint8)] * 3
    box = Box(0.4, 0.4, 0.6, 0.6)
    assert followed(flat, box, finding().film) == [box, box, box]
