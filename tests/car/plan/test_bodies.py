"""The numbers of the bodies, and what is refused."""

from importlib.resources import files

import pytest

from shutline.car.errors import UserError
from shutline.car.plan.bodies import bodies, choose_body, read_bodies

SHIPPED = files("shutline.car").joinpath("data/bodies.toml").read_text(encoding="utf-8")
SALOON = "[saloon]" + SHIPPED.split("[saloon]")[1].split("[coupe]")[0]


def test_the_nine_bodies_are_there() -> None:
    assert list(bodies()) == [
        *("saloon", "coupe", "hatchback", "estate", "convertible", "roadster", "van", "pickup", "4x4"),
    ]


def test_every_body_has_its_numbers_in_an_order_that_a_car_can_have() -> None:
    for body in bodies().values():
        assert body.clearance < body.nose_height <= body.cowl_height < body.height
        assert body.front_overhang > body.tyre_radius
        assert body.rear_axle_x + body.tyre_radius < body.length
        assert body.cowl_x < body.roof_x < body.roof_end_x < body.deck_x < body.length
        assert body.doors in body.door_counts


def test_an_unknown_key_is_refused_with_file_body_and_key() -> None:
    with pytest.raises(UserError, match=r"mine\.toml, \[saloon\]: unknown key fins; allowed: length, width"):
        read_bodies(SALOON + "\nfins = 2\n", source="mine.toml")


def test_a_missing_key_is_refused() -> None:
    with pytest.raises(UserError, match=r"mine\.toml, \[saloon\]: key wheelbase is missing"):
        read_bodies(SALOON.replace("wheelbase = 248\n", ""), source="mine.toml")


@pytest.mark.parametrize(
    ("line", "instead", "allowed"),
    [
        ("width = 161", "width = true", "centimetres"),
        ("width = 161", "width = -4", "centimetres"),
        ('back = "boot"', 'back = "fins"', "bed, boot, flat, hatch"),
        ("doors = 4\n", "doors = 3\n", "2 or 4"),
        ("door_counts = [2, 4]", "door_counts = []", "a list of counts"),
    ],
)
def test_a_value_of_the_wrong_kind_is_refused_with_what_is_allowed(line: str, instead: str, allowed: str) -> None:
    assert line in SALOON

    with pytest.raises(UserError, match=allowed):
        read_bodies(SALOON.replace(line, instead), source="mine.toml")


def test_a_repeated_body_and_a_text_that_is_no_toml_are_refused() -> None:
    for text in (SALOON + SALOON, "[saloon", "saloon = 3"):
        with pytest.raises(UserError, match=r"mine\.toml"):
            read_bodies(text, source="mine.toml")


def test_an_unknown_body_is_refused_naming_what_is_allowed() -> None:
    with pytest.raises(UserError, match=r"'brougham'; allowed: saloon, coupe, .*4x4"):
        choose_body("brougham", None)


def test_five_doors_on_a_saloon_are_refused_naming_what_is_allowed() -> None:
    with pytest.raises(UserError, match=r"doors of a saloon: 5; allowed: 2, 4"):
        choose_body("saloon", 5)


def test_a_rear_door_may_be_counted() -> None:
    assert choose_body("hatchback", 5) == (bodies()["hatchback"], 4)
    assert choose_body("hatchback", 3) == choose_body("hatchback", 2)


def test_nothing_known_gives_a_saloon_with_its_usual_doors() -> None:
    assert choose_body(None, None) == (bodies()["saloon"], 4)
