"""A ring is one for each finding and picture; each change of it is kept, and one that comes too late is refused."""

from __future__ import annotations

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Finding, Found
from shutline.car.rings import Circle
from shutline.store import StaleError, Store

CAR = "corvane-ninety"
IDA, BEN = "Ida Quill", "Ben Marl"
STILL, OTHER = "ab" * 32, "cd" * 32
HERE, THERE = Circle(0.25, 0.5, 0.1), Circle(0.75, 0.5, 0.125)


@pytest.fixture
def finding(store: Store) -> str:
    store.create_car(CAR)
    return store.add_finding(CAR, Finding("bonnet", "dent", Found.YES), author=IDA).id


def test_a_ring_is_moved_and_taken_back_and_what_was_is_kept(store: Store, finding: str) -> None:
    first = store.put_ring(finding, STILL, HERE, author=IDA, expected_version=0)
    assert store.put_ring(finding, STILL, HERE, author=BEN) == first
    other = store.put_ring(finding, OTHER, HERE, author=BEN)
    moved = store.put_ring(finding, STILL, THERE, author=BEN, expected_version=1)
    back = store.put_ring(finding, STILL, THERE, author=IDA, holds=False)
    assert (first.version, moved.circle, back.holds, back.version) == (1, THERE, False, 3)
    assert [(one.author, one.action, one.before) for one in back.changes[1:]] == [
        (BEN, "ringed", {"x": 0.25, "radius": 0.1}),
        (IDA, "taken back", {"holds": True}),
    ]
    assert store.rings([finding, "none"]) == (back, other)


def test_what_comes_too_late_from_nobody_or_of_no_finding_is_refused(store: Store, finding: str) -> None:
    kept = store.put_ring(finding, STILL, HERE, author=IDA)
    with pytest.raises(StaleError) as caught:
        store.put_ring(finding, STILL, THERE, author=BEN, expected_version=0)
    assert caught.value.present == kept
    with pytest.raises(UserError) as refused:
        store.put_ring(finding, STILL, THERE, author="program")
    assert refused.value.problem.slug == "no-author"
    with pytest.raises(NotFoundError) as unknown:
        store.put_ring("none", STILL, THERE, author=IDA)
    assert unknown.value.problem.slug == "finding-unknown"
    assert store.rings([finding]) == (kept,)


@pytest.mark.parametrize(
    "wrong", [(-0.1, 0.5, 0.1), (0.5, 1.01, 0.1), (0.5, 0.5, 0.0), (0.5, 0.5, 0.6), (float("nan"), 0.5, 0.1)]
)
def test_a_circle_that_shows_nothing_is_none(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="x and y from 0 to 1"):
        Circle(*wrong)
