#!/usr/bin/env python3
"""Leave each sentence with a fault out of a draft in turn, and count how often the rewrite is refused for it.

    bench/rewrites.py FOLDER NAME...

Of each narration all that is read is let stand, as `bench/description.py` does.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from description import car_of
from shutline.claims.record import record_of
from shutline.claims.rewrite import compare
from shutline.survey import coverage
from shutline.survey.odds import at_odds
from shutline.usecases.offering import left_out
from shutline.words import Length, as_text, write_draft


def main() -> None:
    """Print a line for each narration."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("names", nargs="+")
    asked = parser.parse_args()
    for name in asked.names:
        car = car_of(asked.folder / f"{name}.json")
        draft = write_draft(car, length=Length.FULL, found=coverage(car), odds=at_odds(car))
        text, on = as_text(draft), record_of(car)
        sentences = [one for part in draft.paragraphs if part.section != "doing" for one in part.sentences]
        refused = faults = missed = 0
        told = [one for one in sentences if one.faults]
        for sentence in told:
            cut = text.replace(sentence.text, "", 1)
            sayings = [claim.saying for claim in compare(text, cut, on).checked.claims]
            lost = {one.id for one in left_out(draft, car, cut, sayings)}
            refused += bool(lost)
            faults += len(set(sentence.faults))
            missed += len(set(sentence.faults) - lost)
        print(f"{name}: {refused} of {len(told)} sentences left out are refused; {missed} of {faults} faults not named")


if __name__ == "__main__":
    main()
