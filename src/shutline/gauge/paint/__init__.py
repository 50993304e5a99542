"""Paint film of one car, panel by panel: readings in; out what stands out beside the car's own finish, how surely.

It takes readings and what the body is made of; gives figures with intervals, sentences, findings to propose, what
stands at odds with what was said, and the drawing. It never says 'filler' or 'factory': a thickness tells neither. No
input or output but the data beside it.
"""

from shutline.gauge.paint.acceptance import Area, judge_area
from shutline.gauge.paint.against import PaintAgainst, against
from shutline.gauge.paint.compare import are_neighbours, compare_paint
from shutline.gauge.paint.construction import Body, body_of
from shutline.gauge.paint.heat import heat_svg
from shutline.gauge.paint.propose import proposals
from shutline.gauge.paint.results import PaintResult, Panel, PanelFilm

__all__ = [
    "Area",
    "Body",
    "PaintAgainst",
    "PaintResult",
    "Panel",
    "PanelFilm",
    "against",
    "are_neighbours",
    "body_of",
    "compare_paint",
    "heat_svg",
    "judge_area",
    "proposals",
]
