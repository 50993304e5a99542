"""The voltage a car's electrics are of: told, or surely to be seen from the figure."""

from __future__ import annotations

from enum import StrEnum

from shutline.car.readings import Reading
from shutline.gauge.electrics.rules import battery
from shutline.gauge.limits import unfit


class System(StrEnum):
    """What the battery is of."""

    SIX = "6 V"
    TWELVE = "12 V"

    @property
    def share(self) -> float:
        """Its voltages as a share of those of 12 V."""
        return battery().rest.share_of_six_volts if self is System.SIX else 1.0


def system_of(reading: Reading, told: System | None) -> System:
    """Give the system of a reading in volts: as its details say, as was told of the car, or as its figure shows.

    Raises
    ------
    BadInputError
        Nobody said, and the figure does not show it (slug ``reading-unfit``).
    """
    said = reading.details.get("system")
    if said is not None:
        return System(str(said))
    if told is not None:
        return told
    if reading.value >= battery().rest.surely_twelve_v:
        return System.TWELVE
    raise unfit(
        reading.quantity.replace("_", " "),
        f"{reading.value:g} V, which may be of 6 V or of a flat 12 V",
        "6 V or 12 V",
        "Say which the car has: it stands on the battery, and three caps or six tell it too.",
    )
