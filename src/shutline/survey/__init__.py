"""What ought to be looked at on such a car, held against the car file.

Takes a car file and guides; gives the route to walk, what each check stands on, and what nobody has looked at or spoken
of, the costliest first. May not read or write anything but its own data, and never reads silence as good news.
"""

from shutline.survey.choice import Choice, Reason, choose_guide
from shutline.survey.coverage import Breadth, Cover, Coverage, Covered, coverage
from shutline.survey.guides import Shelf, shelf, with_own
from shutline.survey.route import Raised, Route, make_route
from shutline.survey.silence import FactSilence, Silence, silences, unknown_facts

__all__ = [
    "Breadth",
    "Choice",
    "Cover",
    "Coverage",
    "Covered",
    "FactSilence",
    "Raised",
    "Reason",
    "Route",
    "Shelf",
    "Silence",
    "choose_guide",
    "coverage",
    "make_route",
    "shelf",
    "silences",
    "unknown_facts",
    "with_own",
]
