"""Words into findings: what was said of which part of the car, good or bad, and the facts told beside it.

Takes stretches of timed words and which side the wheel is on; gives findings, facts, where the speaker was, and the
reasons. May not read or write anything but the data that comes with it, and knows no order of stages but its own.
"""

from shutline.remarks.edition import edition
from shutline.remarks.lexicon import Lexicon, Row, read_rows, shipped_lexicon, with_layer
from shutline.remarks.phrases import row_fits
from shutline.remarks.reader import Reading, read, walked

__all__ = [
    "Lexicon",
    "Reading",
    "Row",
    "edition",
    "read",
    "read_rows",
    "row_fits",
    "shipped_lexicon",
    "walked",
    "with_layer",
]
