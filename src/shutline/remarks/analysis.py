"""Everything that is known of the words before anything is decided: the stages up to the options, run in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.findings import Drive
from shutline.car.speech import Stretch, StretchOrigin
from shutline.remarks.assertion import Cues, cues_of
from shutline.remarks.candidates import Candidate, candidates
from shutline.remarks.ground import Ground, ground
from shutline.remarks.lexicon import Lexicon, own_tokens
from shutline.remarks.mentions import Mention, mentions, sides_meant
from shutline.remarks.misheard import set_right
from shutline.remarks.phrases import Match, find
from shutline.remarks.stance import Stance, stance
from shutline.remarks.tokens import Text, tokens

OPPOSITES = {"works": "fault", "present": "missing", "original": "nonoriginal", "sound": "fault", "renewed": "fault"}
"""What it means when a good condition is denied."""


_ONE_SIDE = frozenset({"near", "off", "driver", "passenger"})


@dataclass(slots=True)
class Analysis:
    """The words of a recording with all that was found in them; `sides` are the tokens that only tell a side."""

    text: Text
    matches: dict[str, list[Match]]
    named: list[Mention]
    at: Ground
    found: list[Candidate]
    cues: Cues
    walked: Stance
    remedy_firsts: list[int]
    sides: frozenset[int]


def analyse(stretches: Sequence[Stretch], *, drive: Drive, lexicon: Lexicon) -> Analysis:
    """Run the stages that need no weights."""
    text = tokens(stretches)
    set_right(text, [stretch.origin is StretchOrigin.HEARD for stretch in stretches], own=own_tokens(lexicon))
    matches = find(text, lexicon)
    matches["places"] = sides_meant(text, matches["places"], matches["parts"])
    named, places = mentions(text, matches["parts"], matches["places"], drive)
    sides = frozenset(
        at
        for match in matches["places"]
        if any(row.senses[0] in _ONE_SIDE for row in match.rows)
        for at in range(match.first, match.end)
    )
    at = ground(text.folded(sides), named, places)
    found = candidates(matches, named)
    return Analysis(
        text,
        matches,
        named,
        at,
        found,
        cues_of(text, matches, found),
        stance(named, at),
        [match.first for match in matches["remedies"]],
        sides,
    )
