"""Long work that a page begins on the pictures of a car: how far it is, stopped by a person or with the workbench."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Generic, TypeVar

from shutline.car.errors import Problem, ShutlineError, StoppedError
from shutline.usecases.progress import Step, Stop, Tell

R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Going(Generic[R]):
    """How far it is: what is looked at, how much is done, and once it has ended what came of it or went wrong.

    Stopped work has ended with neither; what was done is kept, and goes on from there when it is begun again.
    """

    at: str = ""
    done: float = 0.0
    ended: bool = False
    came: R | None = None
    problem: Problem | None = None


class UnderWay(Generic[R]):
    """Work of one kind, one car after another, at most once a car at a time; safe to use from many threads.

    Parameters
    ----------
    name : str
        What its thread is called.
    slug : str
        Slug of the problem that is told where the work ends in an error nobody foresaw.
    found : str
        What is said of it then.
    """

    def __init__(self, name: str, slug: str, found: str = "the pictures could not be looked through") -> None:
        self._slug, self._found = slug, found
        self._turn = threading.Lock()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix=name)
        self._now: dict[str, Going[R]] = {}
        self._stops: dict[str, Stop] = {}

    def begin(self, car: str, work: Callable[[Tell, Stop], R]) -> Going[R]:
        """Begin the work on a car unless it goes on; `work` is given whom to tell and what to heed."""
        with self._turn:
            there = self._now.get(car)
            if there is not None and not there.ended:
                return there
            begun: Going[R] = Going()
            stop = Stop()
            self._now[car], self._stops[car] = begun, stop

            def tell(step: Step) -> None:
                self._now[car] = Going(step.recording, step.done)

            self._worker.submit(work, tell, stop).add_done_callback(lambda future: self._ended(car, future))
            return begun

    def of(self, car: str) -> Going[R] | None:
        """Give the work that goes on, or the last that did."""
        return self._now.get(car)

    def stop(self, car: str) -> Going[R] | None:
        """Ask the work on a car to stop at the next good moment."""
        if car in self._stops:
            self._stops[car].ask()
        return self.of(car)

    def close(self) -> None:
        """Stop all that goes on, and wait until it has."""
        for stop in list(self._stops.values()):
            stop.ask()
        self._worker.shutdown(cancel_futures=True)

    def _ended(self, car: str, future: Future[R]) -> None:
        try:
            ended = Going(done=1.0, ended=True, came=future.result())
        except (StoppedError, CancelledError):
            ended = Going(ended=True)
        except ShutlineError as error:
            ended = Going(done=1.0, ended=True, problem=error.problem)
        except Exception as error:  # noqa: BLE001 - whatever it was is told on the page
            ended = Going(done=1.0, ended=True, problem=self._unforeseen(car, error))
        self._now[car] = ended

    def _unforeseen(self, car: str, error: Exception) -> Problem:
        return Problem(
            slug=self._slug,
            where=car,
            found=f"{self._found}: {type(error).__name__}",
            allowed="what was found before is kept",
            advice="Try again; if it happens again, report it with this message.",
        )
