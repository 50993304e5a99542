"""Where the speaker is second by second, from the parts that are spoken of."""

from __future__ import annotations

from shutline.car.findings import Position, Side
from shutline.car.places import Visit
from shutline.remarks.analysis import Analysis
from shutline.remarks.mentions import Mention
from shutline.remarks.numbers import is_number_word
from shutline.remarks.regions import regions

_SURE = 0.65
"""The chance from which a side that was not said is shown."""


def visits(analysis: Analysis) -> tuple[Visit, ...]:
    """Give a visit for each run of words about one part, back to back, in order."""
    table = regions()
    text, walked = analysis.text, analysis.walked
    out: list[Visit] = []
    for index, mention in enumerate(analysis.named):
        if _names_a_kind(text.norm, mention):
            continue
        part = mention.parts[0]
        near = walked.near[index]
        sure = part in table.sided and not mention.plural and max(near, 1.0 - near) >= _SURE
        side = walked.own[index] or (walked.walk[index] if sure else "")
        end = mention.position or (
            walked.strong[index] if part in table.ended and table.region.get(part) != "inside" else ""
        )
        start = text.starts[text.word[mention.first]]
        where = (part, Side(side) if side in ("near", "off", "both") else None, Position(end) if end else None)
        if out:
            last = out[-1]
            if (last.part, last.side, last.position) == where:
                continue
            out[-1] = Visit(last.start_s, max(last.start_s, start), last.part, last.side, last.position)
        out.append(Visit(start, start, *where))
    if out and text.ends:
        last = out[-1]
        out[-1] = Visit(last.start_s, max(last.start_s, text.ends[-1]), last.part, last.side, last.position)
    return tuple(out)


def _names_a_kind(norm: list[str], mention: Mention) -> bool:
    """Tell a kind of car from a part of it: 'a four-door saloon' is nobody standing at a door; 'four doors' may be."""
    before = norm[mention.first - 1] if mention.first else ""
    return not mention.plural and before not in ("", "one") and (before.isdecimal() or is_number_word(before))
