"""Tyres: what a marking says, how old, how much tread, what may run together, how far one rolls.

Takes markings, date codes and readings of tread; gives results held against limits with their source. May not make up
a ratio or a diameter that is not marked, and may not read or write anything but the data that comes with it.
"""

from shutline.gauge.tyres.dates import DateCode, age_on, date_code, tyre_age
from shutline.gauge.tyres.depths import TreadPoint, tread, tread_points, treads
from shutline.gauge.tyres.markings import Construction, Kind, Marking, marking
from shutline.gauge.tyres.rolling import Size, rolling_circumference, size_of, speedometer_effect, timed_mile_mph
from shutline.gauge.tyres.rules import tyres_against
from shutline.gauge.tyres.together import axle_load, carried_kg, tyres_together

__all__ = [
    "Construction",
    "DateCode",
    "Kind",
    "Marking",
    "Size",
    "TreadPoint",
    "age_on",
    "axle_load",
    "carried_kg",
    "date_code",
    "marking",
    "rolling_circumference",
    "size_of",
    "speedometer_effect",
    "timed_mile_mph",
    "tread",
    "tread_points",
    "treads",
    "tyre_age",
    "tyres_against",
    "tyres_together",
]
