"""How doubtful the costs of tasks are together: rates and causes that they share make them dear at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from shutline.prep.draws import draw_car
from shutline.prep.model import Task
from shutline.prep.tables import PrepTables

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def shared_covariance(
    tasks: Sequence[Task], *, tables: PrepTables | None = None, draws: int | None = None, seed: int | None = None
) -> NDArray[np.float64]:
    """Give the covariance of what tasks and their set-ups cost, from the draws that the cost is told by.

    Parameters
    ----------
    tasks : sequence of Task
        All that may be chosen, in any order.
    tables : PrepTables, optional
        The shipped ones when left out.
    draws, seed : int, optional
        As for `cost_of`.

    Returns
    -------
    array, shape (n, n)
        Pence squared: tasks by id, then those set-ups by job that take anything, as `Programme` wants it.
    """
    import numpy as np

    drawn = draw_car(tasks, tables=tables, draws=draws, seed=seed)
    takes = {task.job.id for task in drawn.tasks if any(line.setup.high for line in task.job.labour)}
    shared = [one.cost for job, one in drawn.shared.items() if job in takes]
    costs = 100 * np.array([*(one.cost for one in drawn.alone), *shared])
    return np.atleast_2d(np.cov(costs)) if len(costs) else np.zeros((0, 0))
