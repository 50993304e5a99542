"""Masks are kept with who found them and what became of them; nothing is lost, whoever looks or decides again."""

from dataclasses import replace

import pytest

from shutline.car.carfile import Recording
from shutline.car.errors import NotFoundError, UserError
from shutline.car.masks import Box, BoxAt, KeptMask, Mask, MaskKind, MaskLook, MaskState
from shutline.store import PROGRAM, StaleError, Store

ONCE = "once"
BOX = Box(0.1, 0.2, 0.3, 0.4)


@pytest.fixture
def plate(recording: Recording) -> Mask:
    way = (BoxAt(1.0, BOX), BoxAt(2.5, BOX.moved(0.1, 0.05)))
    return Mask(recording.id, MaskKind.MARK, way, sureness=0.9)


def look_at(mask: Mask, finder: str = "one") -> MaskLook:
    return MaskLook(mask.source, 0.0, 60.0, finder, 60, {"mark": 1, "chassis": 0, "face": 0})


@pytest.fixture
def kept(store: Store, plate: Mask) -> KeptMask:
    (ref,) = store.put_masks(look_at(plate), [plate])
    return store.mask(ref)


def test_a_proposal_comes_back_as_it_went_in(store: Store, plate: Mask, kept: KeptMask) -> None:
    assert kept.mask == plate
    assert kept.found_by == PROGRAM
    assert [change.action for change in kept.changes] == ["proposed"]
    assert store.masks([plate.source]) == (kept,)
    (look,) = store.mask_looks([plate.source])
    assert look == replace(look_at(plate), at=look.at)


def test_looking_again_leaves_what_a_person_decided(store: Store, plate: Mask, kept: KeptMask) -> None:
    struck = store.change_mask(kept.id, action="strike", author="Mo")
    assert store.put_masks(look_at(plate), [plate]) == (kept.id,)
    assert store.masks([plate.source]) == (struck,)
    assert len(store.mask_looks([plate.source])) == 1


def test_each_decision_has_its_author_and_what_stood_before(store: Store, kept: KeptMask) -> None:
    store.change_mask(kept.id, action="strike", author="Mo", expected_version=1)
    store.change_mask(kept.id, action="restore", author="Ali", expected_version=2)
    store.change_mask(kept.id, action="confirm", author="Ali")
    way = (BoxAt(1.0, Box(0, 0, 0.5, 0.5)),)
    last = store.change_mask(kept.id, action="amend", author="Mo", kind=MaskKind.OTHER, way=way)
    assert [(change.author, change.action) for change in last.changes] == [
        (PROGRAM, "proposed"),
        ("Mo", "struck"),
        ("Ali", "restored"),
        ("Ali", "confirmed"),
        ("Mo", "amended"),
    ]
    assert last.changes[1].before == {"state": "proposed"}
    assert last.changes[2].after == {"state": "proposed"}
    assert last.changes[4].before["way"] == [[one.at_s, *one.box.edges] for one in kept.mask.way]
    assert last.version == 5
    assert last.mask == Mask(kept.mask.source, MaskKind.OTHER, way, MaskState.STANDS)


def test_a_change_to_an_older_version_carries_both(store: Store, kept: KeptMask) -> None:
    now = store.change_mask(kept.id, action="strike", author="Mo")
    with pytest.raises(StaleError) as stale:
        store.change_mask(kept.id, action="confirm", author="Ali", expected_version=1)
    assert stale.value.present == now
    assert stale.value.wanted.mask == replace(kept.mask, state=MaskState.STANDS)
    assert store.mask(kept.id) == now


def test_what_a_person_draws_stands_and_is_kept_once(store: Store, plate: Mask) -> None:
    drawn = store.add_mask(plate, author="Mo", token=ONCE)
    assert store.add_mask(plate, author="Mo", token=ONCE) == drawn
    assert (drawn.mask.state, drawn.mask.sureness, drawn.found_by) == (MaskState.STANDS, None, "Mo")


def test_nothing_is_drawn_without_a_name_or_where_there_is_no_picture(store: Store, plate: Mask) -> None:
    with pytest.raises(UserError):
        store.add_mask(plate, author=PROGRAM, token=ONCE)
    nowhere = replace(plate, source="nowhere")
    with pytest.raises(NotFoundError, match="no picture and no recording"):
        store.add_mask(nowhere, author="Mo", token=ONCE)
    with pytest.raises(NotFoundError, match="no picture and no recording"):
        store.put_masks(look_at(nowhere), [nowhere])
    with pytest.raises(NotFoundError, match="no mask of that id"):
        store.mask("nothing")


def test_only_what_was_struck_is_restored(store: Store, kept: KeptMask) -> None:
    with pytest.raises(UserError, match="not struck"):
        store.change_mask(kept.id, action="restore", author="Mo")


def test_a_look_proposes_masks_of_its_own_source(store: Store, plate: Mask) -> None:
    with pytest.raises(ValueError, match="own source"):
        store.put_masks(look_at(plate), [replace(plate, source="another")])
    with pytest.raises(ValueError, match="own source"):
        store.put_masks(look_at(plate), [replace(plate, state=MaskState.STANDS)])
