"""Long work that a page begins: once a car, told as it goes, stopped, and ended in words whatever happens."""

from __future__ import annotations

import threading
import time

import pytest

from shutline.car.errors import NotFoundError, Problem
from shutline.usecases.progress import Step, Stop, Tell
from shutline.web.under_way import Going, UnderWay


def ended(work: UnderWay[str], car: str) -> Going[str]:
    until = time.monotonic() + 30
    while time.monotonic() < until:
        now = work.of(car)
        if now is not None and now.ended:
            return now
        time.sleep(0.01)
    raise AssertionError(f"{car} has not ended: {work.of(car)}")


@pytest.fixture
def work():
    made: UnderWay[str] = UnderWay("tried", "figures-not-read")
    yield made
    made.close()


def another(tell: Tell, stop: Stop) -> str:
    return "another"


def test_it_tells_how_far_it_is_and_what_came_of_it(work: UnderWay[str]) -> None:
    told, go_on = threading.Event(), threading.Event()

    def look(tell: Tell, stop: Stop) -> str:
        tell(Step("walk.mp4", "figures", 0.25))
        told.set()
        assert go_on.wait(30)
        return "three"

    assert work.of("ostrel") is None
    work.begin("ostrel", look)
    assert told.wait(30)
    assert work.of("ostrel") == Going("walk.mp4", 0.25)
    # Begun again while it goes on, nothing is begun.
    assert work.begin("ostrel", another).at == "walk.mp4"
    go_on.set()
    assert ended(work, "ostrel") == Going(done=1.0, ended=True, came="three")
    work.begin("ostrel", another)
    assert ended(work, "ostrel").came == "another"


def waits_to_be_stopped(tell: Tell, stop: Stop) -> str:
    while True:
        stop.heed("ostrel")
        time.sleep(0.01)


def test_it_is_stopped_by_a_person(work: UnderWay[str]) -> None:
    work.begin("ostrel", waits_to_be_stopped)
    work.begin("pavane", another)
    assert work.stop("nothing") is None
    work.stop("ostrel")
    assert ended(work, "ostrel") == Going(ended=True)
    assert ended(work, "pavane").came == "another"


def test_it_ends_with_the_workbench_and_so_does_what_waits() -> None:
    work: UnderWay[str] = UnderWay("tried", "figures-not-read")
    work.begin("ostrel", waits_to_be_stopped)
    work.begin("pavane", another)
    work.close()
    assert (ended(work, "ostrel").came, ended(work, "pavane").came) == (None, None)


def test_what_goes_wrong_is_told(work: UnderWay[str]) -> None:
    known = Problem("car-unknown", "ostrel", "no such car", "a car", "List the cars.")

    def unknown(tell: Tell, stop: Stop) -> str:
        raise NotFoundError(known)

    def broken(tell: Tell, stop: Stop) -> str:
        raise ZeroDivisionError

    work.begin("ostrel", unknown)
    assert ended(work, "ostrel").problem == known
    work.begin("ostrel", broken)
    problem = ended(work, "ostrel").problem
    assert problem is not None
    assert (problem.slug, problem.where) == ("figures-not-read", "ostrel")
    assert "ZeroDivisionError" in problem.found
