"""How bad a defect is and what is to be done, from the words beside it."""

from __future__ import annotations

from bisect import bisect_left

from shutline.remarks.assertion import Cues
from shutline.remarks.candidates import Candidate
from shutline.remarks.ground import Ground
from shutline.remarks.phrases import Match

SEVERITIES = ("", "slight", "moderate", "severe")
_REACH = 26


def _near(distance: int) -> str:
    return "1" if distance <= 1 else "2" if distance <= 2 else "4" if distance <= 4 else "8" if distance <= 8 else "20"


def severity_features(candidate: Candidate, sense: str, at: Ground, cues: Cues) -> list[str]:
    """Name what may tell how bad a defect is; see `SEVERITIES`."""
    first, end = candidate.first, candidate.end
    begin = max(cues.start[first], first - 14)
    finish = min(cues.stop[end - 1], end + 14)
    hits: list[str] = []
    nearest: dict[str, str] = {}
    index = bisect_left(cues.firsts, begin)
    while index < len(cues.firsts) and cues.firsts[index] < finish:
        cue, stop = cues.firsts[index], cues.ends[index]
        for kind in cues.kinds[index]:
            if kind not in ("slight", "moderate", "severe"):
                continue
            word = "_".join(at.text.stem[cue:stop])
            if stop <= first:
                commas = at.commas[first + 1] - at.commas[stop]
                crossed = bisect_left(cues.candidate_firsts, first) - bisect_left(cues.candidate_firsts, stop)
                where = f"<{_near(first - stop + 1)}m{min(commas, 2)}c{min(crossed, 2)}"
            elif cue >= end:
                commas = at.commas[cue + 1] - at.commas[end]
                crossed = bisect_left(cues.candidate_firsts, cue) - bisect_left(cues.candidate_firsts, end)
                where = f">{_near(cue - end + 1)}m{min(commas, 2)}c{min(crossed, 2)}"
            else:
                where = "="
            hits += [f"{kind}{where}", f"{word}{where[0]}{where[1:2]}", f"{word}:{kind}"]
            nearest.setdefault(where[0], kind)
        index += 1
    row = candidate.rows[0]
    phrase = "_".join(at.text.stem[first:end])
    same = [f"n{side}{kind}" for side, kind in sorted(nearest.items())]
    return [
        *hits,
        *same,
        f"any{len(nearest)}",
        "".join(same),
        f"row:{row}",
        f"ph:{phrase}",
        f"sn:{sense}",
        "rs:" + candidate.severity,
    ]


def remedy_options(
    candidate: Candidate,
    sense: str,
    part: str,
    *,
    at: Ground,
    cues: Cues,
    matches: list[Match],
    firsts: list[int],
) -> list[tuple[str, list[str], int]]:
    """List what the words near a defect may ask for, nothing first: remedy, features, index of the match or -1."""
    text = at.text
    first, end = candidate.first, candidate.end
    begin = cues.start[first]
    index = bisect_left(firsts, max(begin, first - 14))
    out: list[tuple[str, list[str], int]] = []
    count = 0
    while index < len(matches) and matches[index].first < end + _REACH:
        match = matches[index]
        stops = at.stops[match.first + 1] - at.stops[end] if match.first >= end else 0
        if stops > 1:
            break
        for row in match.rows:
            remedy = row.senses[0]
            phrase = "_".join(text.stem[match.first : match.end])
            w1 = text.stem[match.first - 1] if match.first and not text.mark[match.first] else "^"
            w2 = text.stem[match.first - 2] if match.first > 1 and w1 != "^" else "^"
            if match.end <= first:
                where = "<"
                between = bisect_left(cues.candidate_firsts, first) - bisect_left(cues.candidate_firsts, match.end)
                commas = at.commas[first + 1] - at.commas[match.end]
                gap = first - match.end
                parts = bisect_left(at.firsts, first) - bisect_left(at.firsts, match.end)
            elif match.first >= end:
                where = ">"
                between = bisect_left(cues.candidate_firsts, match.first) - bisect_left(cues.candidate_firsts, end)
                commas = at.commas[match.first + 1] - at.commas[end]
                gap = match.first - end
                parts = bisect_left(at.firsts, match.first) - bisect_left(at.firsts, end)
            else:
                where, between, commas, gap, parts = "=", 0, 0, 0, 0
            features = [
                f"{where}{_near(gap)}s{stops}",
                f"{where}c{min(between, 3)}s{stops}",
                f"{where}p{min(parts, 3)}s{stops}",
                f"{where}c{min(between, 3)}p{min(parts, 2)}m{min(commas, 2)}s{stops}",
                f"r:{remedy}",
                f"ph:{phrase}",
                f"rs:{remedy}:{sense}",
                f"w1:{w1}",
                f"w21:{w2}_{w1}",
                f"w1r:{w1}:{remedy}",
                f"phw{where}:{phrase}",
                f"nth{min(count, 3)}",
                f"rp:{remedy}:{part}",
            ]
            out.append((remedy, features, index))
        count += 1
        index += 1
    out.insert(0, ("", ["none", f"none{min(len(out), 3)}", f"none:{sense}"], -1))
    return out
