"""Brakes: what the rollers of a brake tester say, held against the limits for the car's first use.

Takes readings of efforts and the test weight; gives efficiency, imbalance and binding with their uncertainty. Limits
of which no source was seen are told as such and not held against. May not read or write anything but its own data.
"""

from shutline.gauge.brakes.efforts import Applied, Efforts, efficiency, imbalance, sorted_efforts, total
from shutline.gauge.brakes.rollers import Circuit, roller_test
from shutline.gauge.brakes.said import brakes_against

__all__ = [
    "Applied",
    "Circuit",
    "Efforts",
    "brakes_against",
    "efficiency",
    "imbalance",
    "roller_test",
    "sorted_efforts",
    "total",
]
