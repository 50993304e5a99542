"""Engine health: compression, leak-down, oil pressure, cooling and exhaust gas, each figure with its doubt.

Takes readings and, for what makers lay down, the figures that the user enters out of their books; gives results held
against limits with their source. It diagnoses nothing. May not read or write anything but its own data.
"""

from shutline.gauge.health.compression import compression, makers_compression
from shutline.gauge.health.cooling import makers_coolant, warming
from shutline.gauge.health.emissions import CarAtTest, EngineKind, emissions
from shutline.gauge.health.leaking import HEARD_AT, leak_down
from shutline.gauge.health.oil import MakersOil, makers_oil, oil_pressure

__all__ = [
    "HEARD_AT",
    "CarAtTest",
    "EngineKind",
    "MakersOil",
    "compression",
    "emissions",
    "leak_down",
    "makers_compression",
    "makers_coolant",
    "makers_oil",
    "oil_pressure",
    "warming",
]
