"""Whether a coat that was ordered to a thickness may be accepted: SSPC-PA 2 and ISO 19840, each by its own rule."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.paint.spots import drop_unrepeatable
from shutline.gauge.paint.tables import AcceptanceRule, acceptance_rules, settings, words


@dataclass(frozen=True, slots=True)
class Area:
    """An area held against a rule; all thicknesses in the unit given.

    `mean` is of the spot means. `lowest_spot` and `highest_spot` are what the rule allows a spot, None where it has no
    such limit; `low_spots` and `high_spots` are the numbers, from one, of those beyond. `low_readings` are spot and
    reading, from one, of single readings below what is allowed, where the rule binds them. `short_of` is what is
    missing from a full area by the rule: it may still be judged, and says so. `accepted` is what the rule comes to.
    """

    rule: AcceptanceRule
    spot_means: tuple[float, ...]
    mean: float
    lowest: float
    highest: float | None
    lowest_spot: float
    highest_spot: float | None
    low_spots: tuple[int, ...]
    high_spots: tuple[int, ...]
    low_readings: tuple[tuple[int, int], ...]
    dropped: tuple[tuple[int, int], ...]
    short_of: tuple[str, ...]
    accepted: bool
    good_for: str
    decides: str
    sentence: str


def judge_area(
    spots: Sequence[Sequence[float]], *, lowest: float, highest: float | None = None, rule: str = "sspc_pa_2"
) -> Area:
    """Hold the spots of one area against the thickness that was ordered.

    Parameters
    ----------
    spots : sequence of sequence of float
        The close readings of each spot, any unit.
    lowest, highest : float
        What was ordered, the same unit; for ISO 19840 the nominal thickness and nothing.
    rule : str
        ``sspc_pa_2`` or ``iso_19840``.

    Raises
    ------
    BadInputError
        Slug ``paint-limits``: no such rule, no readings, a negative one, limits that are no limits, or an upper limit
        where the rule has none or the other way.

    Examples
    --------
    >>> area = judge_area([[8.2, 8.4, 8.3], [9.1, 9.0, 9.2], [10, 10.2, 9.8], [7.1, 7.0, 7.2], [12, 12, 12]],
    ...                   lowest=8, highest=12)
    >>> round(area.lowest_spot, 6), round(area.highest_spot, 6), area.accepted
    (6.4, 14.4, True)
    """
    used = acceptance_rules().get(rule)
    if used is None:
        raise _bad(f"rule {rule!r}", f"one of {', '.join(acceptance_rules())}")
    if (used.spot_highest > 0) is not (highest is not None):
        raise _bad(f"upper limit {highest}", f"{used.label} {'asks for one' if used.spot_highest else 'has none'}")
    if not lowest > 0 or (highest is not None and not highest > lowest):
        raise _bad(f"limits {lowest} and {highest}", "a lower one above nought and an upper one above it")
    if not spots or not all(spots) or any(not value >= 0 for spot in spots for value in spot):
        raise _bad("no readings, or one below nought", "at least one reading for each spot")
    own = settings().spots
    parted = [drop_unrepeatable(spot) for spot in spots]
    means = tuple(statistics.fmean(spot[i] for i in kept) for spot, (kept, _) in zip(spots, parted, strict=True))
    mean = statistics.fmean(means)
    lowest_spot = used.spot_lowest * lowest
    highest_spot = None if highest is None else used.spot_highest * highest
    # Sums of figures in tenths are not exact; a spot that is on the limit passes.
    slack = 1e-9 * lowest
    low_spots = tuple(i for i, one in enumerate(means, 1) if one < lowest_spot - slack)
    high_spots = tuple(i for i, one in enumerate(means, 1) if highest_spot is not None and one > highest_spot + slack)
    low_readings = tuple(
        (i, j + 1)
        for i, (spot, (kept, _)) in enumerate(zip(spots, parted, strict=True), 1)
        for j in kept
        if used.readings_bound and spot[j] < lowest_spot - slack
    )
    within = mean >= lowest - slack and (highest is None or mean <= highest + slack)
    if used.readings_bound:
        low_spots = ()
    short_of = []
    if len(spots) < used.spots:
        short_of.append(f"{len(spots)} spots of {used.spots}")
    thin = [str(i) for i, (kept, _) in enumerate(parted, 1) if len(kept) < own.readings]
    if thin and not used.readings_bound:
        short_of.append(f"fewer than {own.readings} readings in spot {', '.join(thin)}")
    accepted = within and not (low_spots or high_spots or low_readings)
    bounds = f"{lowest:g}" if highest is None else f"{lowest:g} to {highest:g}"
    sentence = (
        f"Mean {mean:.4g} where {bounds} was ordered; "
        f"{'accepted' if accepted else 'not accepted'} by {used.label}: {used.words}."
        + (f" Short of a full area: {'; '.join(short_of)}." if short_of else "")
    )
    return Area(
        rule=used,
        spot_means=means,
        mean=mean,
        lowest=lowest,
        highest=highest,
        lowest_spot=lowest_spot,
        highest_spot=highest_spot,
        low_spots=low_spots,
        high_spots=high_spots,
        low_readings=low_readings,
        dropped=tuple((i, j + 1) for i, (_, dropped) in enumerate(parted, 1) for j in dropped),
        short_of=tuple(short_of),
        accepted=accepted,
        good_for=words()["good_for"]["area"],
        decides=words()["decides"]["area"],
        sentence=sentence,
    )


def _bad(found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem(
            slug="paint-limits",
            where="paint film of an area",
            found=found,
            allowed=allowed,
            advice="Give the limits of the order and the readings of each spot.",
        )
    )
