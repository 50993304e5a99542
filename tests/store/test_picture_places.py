"""Where a picture belongs is said by people, each time with their name, and nothing said before is lost."""

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Position, Side
from shutline.car.recordings import Kind, Original
from shutline.store import Store
from shutline.store.picture_places import StalePlaceError

CAR = "corvane-ninety"


@pytest.fixture
def picture(store: Store, recording) -> str:
    original = Original("ab" * 32, "sill.jpg", 99, Kind.PICTURE)
    return store.add_picture(CAR, original, width=40, height=30, taken_at=None).id


def test_what_was_said_last_holds_and_the_rest_is_kept(store: Store, picture: str) -> None:
    first = store.place_picture(picture, "sill", side=Side.NEAR, author="Ida Quill", expected_version=0)
    second = store.place_picture(
        picture, "arch", side=Side.NEAR, position=Position.REAR, author="Per \ud800", expected_version=1
    )
    assert (first.version, first.author, second.version) == (1, "Ida Quill", 2)
    assert store.picture_places([picture, "none"]) == {picture: (first, second)}
    assert first.at < second.at


def test_a_picture_can_be_of_no_part(store: Store, picture: str) -> None:
    store.place_picture(picture, "sill", side=Side.NEAR, author="Ida")
    said = store.place_picture(picture, None, side=Side.NEAR, author="Ida")
    assert (said.part, said.side, said.version) == (None, None, 2)


def test_the_same_again_adds_nothing(store: Store, picture: str) -> None:
    once = store.place_picture(picture, "roof", author="Ida")
    assert store.place_picture(picture, "roof", author="Per") == once
    assert len(store.picture_places([picture])[picture]) == 1


def test_a_change_to_what_somebody_changed_meanwhile_is_refused_with_what_is_kept(store: Store, picture: str) -> None:
    kept = store.place_picture(picture, "roof", author="Ida", expected_version=0)
    with pytest.raises(StalePlaceError) as caught:
        store.place_picture(picture, "sill", author="Per", expected_version=0)
    assert caught.value.present == kept
    assert caught.value.problem.slug == "stale-picture"
    assert store.picture_places([picture])[picture] == (kept,)


def test_what_cannot_be_is_refused(store: Store, picture: str) -> None:
    with pytest.raises(NotFoundError):
        store.place_picture("no such picture", "roof", author="Ida")
    with pytest.raises(UserError) as caught:
        store.place_picture(picture, "flux capacitor", author="Ida")
    assert caught.value.problem.slug == "unknown-part"
    with pytest.raises(UserError):
        store.place_picture(picture, "roof", author="program")
    assert store.picture_places([picture]) == {}
