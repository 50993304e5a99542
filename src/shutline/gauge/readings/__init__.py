"""Readings of instruments: keyed, out of a table, or told in a run of figures.

Takes figures as people give them and the lists of quantities, instruments and spots; gives readings with unit and
uncertainty, or says what is allowed. May not read or write anything but the data that comes with it.
"""

from shutline.gauge.readings.entry import Keyed, reading_of
from shutline.gauge.readings.quantities import (
    Instrument,
    Quantity,
    in_first_unit,
    instruments,
    quantities,
    quantity,
    spots,
)
from shutline.gauge.readings.spoken import Run, spoken_runs
from shutline.gauge.readings.table import Table, read_table
from shutline.gauge.readings.trends import Trend, trends

__all__ = [
    "Instrument",
    "Keyed",
    "Quantity",
    "Run",
    "Table",
    "Trend",
    "in_first_unit",
    "instruments",
    "quantities",
    "quantity",
    "read_table",
    "reading_of",
    "spoken_runs",
    "spots",
    "trends",
]
