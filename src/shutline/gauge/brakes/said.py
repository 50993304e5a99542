"""What the rollers say against what was said of the brakes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from shutline.car.findings import Finding
from shutline.car.readings import Reading
from shutline.gauge.against import ResultAgainst, results_against
from shutline.gauge.brakes.efforts import sorted_efforts
from shutline.gauge.brakes.rules import against_rows
from shutline.gauge.results import Result


def brakes_against(
    findings: Sequence[Finding], results: Iterable[Result], readings: Iterable[Reading]
) -> tuple[ResultAgainst, ...]:
    """Find which findings cannot well be true together with a roller test.

    Parameters
    ----------
    findings : sequence of Finding
    results : iterable of Result
        What `roller_test` told.
    readings : iterable of Reading
        What it told it of. Where wheels locked, the efficiency of that brake stands against nothing.

    Raises
    ------
    BadInputError
        As for `roller_test`.
    """
    locked = {f"{applied}_efficiency" for applied in sorted_efforts(readings).locked}
    return results_against(findings, [one for one in results if one.id not in locked], against_rows())
