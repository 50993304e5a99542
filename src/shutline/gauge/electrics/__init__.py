"""Electrics: battery at rest, while cranking and being charged, what drains a car, insulation of an electric drive.

Takes readings; gives bands and ranges as wide as the meter makes them, held against limits with their source. High
voltage is for licensed people alone, and every result says so. May not read or write anything but its own data.
"""

from shutline.gauge.electrics.charge import BatteryKind, at_rest, charge_band
from shutline.gauge.electrics.running import charging, cranking, makers_charging
from shutline.gauge.electrics.standing import Current, days_until, drain, insulation
from shutline.gauge.electrics.system import System, system_of

__all__ = [
    "BatteryKind",
    "Current",
    "System",
    "at_rest",
    "charge_band",
    "charging",
    "cranking",
    "days_until",
    "drain",
    "insulation",
    "makers_charging",
    "system_of",
]
