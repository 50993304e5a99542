"""Marks, chassis numbers and faces in rendered pictures are found, and little else is (how often: bench/masks.py)."""

import numpy as np
import pytest
import scenes

from shutline.car.masks import Box, MaskKind
from shutline.gauge.masks.faces import faces
from shutline.gauge.masks.find import find_in_picture, finder
from shutline.gauge.masks.found import Found
from shutline.gauge.masks.ground import ground_of
from shutline.gauge.masks.settings import shipped_policy

pytestmark = pytest.mark.slow


def covers(scene: scenes.Scene, found: tuple[Found, ...], kind: MaskKind) -> float:
    wide, high = scenes.SIZE
    margin = shipped_policy().margin_of(kind)
    boxes = [one.box.grown(margin, aspect=wide / high).pixels(wide, high) for one in found if one.kind is kind]
    assert scene.corners is not None
    return scenes.covered_share(scenes.SIZE, scene.corners, boxes)


@pytest.mark.parametrize(("seed", "wide_px"), [(21, 90), (22, 140), (23, 240), (24, 400)])
def test_a_mark_is_found_whatever_its_size(seed: int, wide_px: float) -> None:
    scene = scenes.scene(seed, "mark", wide_px=wide_px)
    assert covers(scene, find_in_picture(scene.picture), MaskKind.MARK) > 0.97


@pytest.mark.parametrize("seed", [31, 32])
def test_the_number_on_a_chassis_plate_is_found(seed: int) -> None:
    scene = scenes.scene(seed, "chassis", wide_px=420)
    assert covers(scene, find_in_picture(scene.picture), MaskKind.CHASSIS) > 0.97


@pytest.mark.parametrize("name", list(scenes.FACES))
@pytest.mark.parametrize("tall_px", [20, 60])
def test_a_face_is_found_from_the_front_and_from_the_side(name: str, tall_px: float) -> None:
    scene = scenes.faced(41, name, tall_px=tall_px)
    found = faces().find(scene.picture, longest_px=1280)
    assert covers(scene, found, MaskKind.FACE) > 0.97
    assert all(0 < one.sureness <= 1 for one in found)


def test_a_car_without_plate_or_person_gives_nothing() -> None:
    assert find_in_picture(scenes.scene(51, None).picture) == ()


def test_the_same_picture_gives_the_same_twice() -> None:
    scene = scenes.scene(22, "mark", wide_px=140)
    assert find_in_picture(scene.picture) == find_in_picture(scene.picture)
    assert finder() == finder()


@pytest.mark.parametrize("edge", [True, False])
def test_a_plate_is_told_by_its_edge(edge: bool) -> None:
    picture = np.full((200, 400, 3), (20, 60, 40) if edge else (236, 198, 40), np.uint8)
    picture[80:120, 140:260] = (236, 198, 40)
    picture[90:110, 150:250:6] = 10
    ground = ground_of(picture, [((148.0, 88.0), (252.0, 88.0), (252.0, 112.0), (148.0, 112.0))])
    assert ground is not None
    assert (ground.plate is not None) is edge
    if ground.plate is not None:
        left, top = ground.plate.min(axis=0)
        right, bottom = ground.plate.max(axis=0)
        assert (
            Box(140 / 400, 80 / 200, 260 / 400, 120 / 200).likeness(
                Box(left / 400, top / 200, right / 400, bottom / 200)
            )
            > 0.8
        )
