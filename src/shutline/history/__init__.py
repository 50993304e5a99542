"""Identity and history: what marks, chassis numbers, dates, tests and mileages say, and what does not add up.

Takes text, dates and readings that somebody gave; gives what they prove and what not, with the rule and its source. It
decides nothing: what is missing stays missing. May not read or write anything but its own data.
"""

from shutline.history.chassis import ChassisNumber, chassis_number
from shutline.history.exemption import Exemption, exemptions
from shutline.history.marks import MarkTold, Proof, mark_told
from shutline.history.mileage import MileagePoint, MileageTold, mileage_told
from shutline.history.mot_records import MotDefect, MotRecord, MotTest, read_mot_history

__all__ = [
    "ChassisNumber",
    "Exemption",
    "MarkTold",
    "MileagePoint",
    "MileageTold",
    "MotDefect",
    "MotRecord",
    "MotTest",
    "Proof",
    "chassis_number",
    "exemptions",
    "mark_told",
    "mileage_told",
    "read_mot_history",
]
