"""What the film itself tells, as stages of the main job: figures read off its frames, and the engine's note."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from shutline.car.engine import KeptEngineNote
from shutline.car.errors import Problem, UserError
from shutline.usecases.progress import Stop, Tell

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.pipeline import Run

FIGURES, ENGINE = "figures", "engine"


def figures_key(run: Run) -> str:
    """Name all that the figures read off a film depend on."""
    from shutline.usecases import figure_reading

    return figure_reading.figures_key(run.store.car_file(run.car), run.store.recording(run.recording.id))


def read_figures(run: Run) -> Callable[[], None]:
    """Read the figures near words that speak of one.

    What is read is kept frame by frame, so that a run that was stopped reads none twice.

    Raises
    ------
    UserError
        The reader of lettering is not installed (slug ``figures-not-read``).
    StoppedError
        A stop was asked for.
    """
    from shutline.usecases.figure_reading import read_figures_in

    share = run.share(FIGURES)
    came = read_figures_in(
        run.store,
        run.store.car_file(run.car),
        run.store.recording(run.recording.id),
        tell=lambda step: share(step.done),
        stop=run.stop,
    )
    for problem in came.problems:
        if problem.slug == "figures-not-read":
            raise UserError(problem)
    return lambda: run.store.put_problems(came.problems, car=run.car, recording=run.recording.id, stage=FIGURES)


def read_figures_on(store: Store, car: str, picture: str, *, tell: Tell, stop: Stop) -> tuple[Problem, ...]:
    """Read the figures off a picture that came in, unless that was done; what goes wrong is told, and it stays in."""
    from shutline.usecases.figure_reading import read_figures_on_picture

    try:
        return read_figures_on_picture(store, car, picture, tell=tell, stop=stop).problems
    except UserError as error:
        return (error.problem,)


def engine_key(run: Run) -> str:
    """Name all that the engine's note of a recording depends on."""
    from shutline.usecases.engine import key_by_itself

    return key_by_itself(run.store, run.store.car_file(run.car), run.store.recording(run.recording.id))


def hear_engine(run: Run) -> Callable[[], None]:
    """Listen for an engine being started; a note that a person asked for stays as it is.

    Raises
    ------
    UserError
        The recording is too long to be listened to in one go (slug ``engine-too-long``).
    StoppedError
        A stop was asked for.
    """
    from shutline.usecases.engine import listen_by_itself

    share = run.share(ENGINE)
    came = listen_by_itself(
        run.store,
        run.store.car_file(run.car),
        run.store.recording(run.recording.id),
        tell=lambda step: share(step.done),
        stop=run.stop,
    )

    def keep() -> None:
        if isinstance(came, KeptEngineNote):
            run.store.put_engine_note(came)
        told = (came,) if isinstance(came, Problem) else ()
        run.store.put_problems(told, car=run.car, recording=run.recording.id, stage=ENGINE)

    return keep
