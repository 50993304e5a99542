"""The voltage a car's electrics are of: told, or surely to be seen from the figure."""

from __future__ import annotations

from enum import StrEnum

from shutline.car.readings import Reading
from shutline.gauge.electrics.rules import battery


class System(StrEnum):
    """What the battery is of."""

    SIX = "6 V"
    TWELVE = "12 V"

    @property
    def share(self) -> float:
        """Its voltages as a share of those of 12 V."""
        return battery().rest.share_of_six_volts if self is System.SIX else 1.0


def system_of(reading: Reading, told: System | None) -> System | None:
    """Give the system of a reading in volts: as its details say, as was told of the car, or as its figure shows.

    None where nobody said and the figure may be of 6 V or of a flat 12 V.
    """
    said = reading.details.get("system")
    if said is not None:
        return System(str(said))
    if told is not None:
        return told
    return System.TWELVE if reading.value >= battery().rest.surely_twelve_v else None


UNKNOWN = "which may be of 6 V or of a flat 12 V: say which the car has; three caps or six on the battery tell it too."
"""What is told of a figure of which the system is not known."""
