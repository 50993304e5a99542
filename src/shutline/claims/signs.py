"""Signs by which a statement and the findings of a car are weighed against one another.

What the rules made of the statement is one sign among many: how sure the network reads the same, what its other
readings would come to, which words a finding shares with the statement, whether both praise or blame, whether they can
lie at the same place. `weighing` weighs them; `tools/train_weighing.py` learns how much each is worth.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt

from shutline.car.findings import Found, Position, Severity, Side
from shutline.car.vocabulary import vocabulary
from shutline.claims.judged import Doubt, Judged, Verdict
from shutline.claims.record import Known, Record, may_touch
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying
from shutline.claims.second_reading import ENDS, FINDS, SIDES, Reading
from shutline.claims.verdict import judge
from shutline.remarks.tokens import phrase_tokens, structure_words

Floats = npt.NDArray[np.float32]

MOST_FINDINGS = 20
"""Findings that are held against one statement; those that are likeliest to be about the same."""
_MOST_READINGS = 30
_SMALL_WORD = 0.3
"""What a small word counts beside others, whose worth is how rare they are."""
_TOO_UNLIKELY = 0.1
"""Chance below which a way it may be found is not held against anything."""
_CHANGED = frozenset({"nonoriginal", "repaint", "filler", "mismatch"})
_BOUND = 4.0
"""Log-odds beyond which more is no surer."""
_VERDICTS = (Verdict.BACKED, Verdict.AT_ODDS, Verdict.UNBACKED)
_DOUBTS = (Doubt.SILENT, Doubt.OTHER_MATTER, Doubt.ONE_OF_SEVERAL, Doubt.UNSURE)
_HEARD = ("yes", "no", "unsure")
_ONE = {"works": ("works", "sound"), "sound": ("sound", "works")}


@dataclass(frozen=True, slots=True, eq=False)
class Signs:
    """The signs of one statement, shape (C,), and of each finding beside it, shape (F, P).

    Findings are at most `MOST_FINDINGS`.
    """

    claim: Floats
    beside: Floats
    known: tuple[Known, ...]


def leaning(condition: str, found: Found) -> int:
    """Tell whether a state is good (1) or bad (-1) for a car, or left open (0).

    >>> leaning("rust", Found.YES), leaning("rust", Found.NO), leaning("rust", Found.UNSURE)
    (-1, 1, 0)
    """
    if found is Found.UNSURE:
        return 0
    bad = vocabulary().is_defect(condition) or condition in _CHANGED
    return -1 if bad == (found is Found.YES) else 1


def signs(saying: Saying, judged: Judged, heard: Sequence[Reading], on: Record, rarity: Mapping[str, float]) -> Signs:
    """Gather the signs of a statement of a part.

    Parameters
    ----------
    saying : Saying
        A statement that has a spot.
    judged : Judged
        What the rules make of it.
    heard : sequence of Reading
        What the network makes of the whole text.
    on : Record
        What is known of the car.
    rarity : mapping of str to float
        How rare a stem is in descriptions; what is not in it is as rare as its rarest.
    """
    assert saying.spot is not None  # noqa: S101 - facts are not weighed
    inside = [one for one in heard if one.first < saying.end and saying.first < one.end][:_MOST_READINGS]
    told = _Told(saying, judged, inside, on)
    claim = told.signs()
    known = tuple(one for one in on.everything if not told.lies_elsewhere(one))
    if not known:
        return Signs(claim, np.empty((0, len(BESIDE)), dtype=np.float32), ())
    words = frozenset(stem for _, stem in phrase_tokens(saying.quote)) | saying.words
    rarest = rarity.get("", 1.0)
    small = structure_words()
    worth = {word: _SMALL_WORD if word in small else rarity.get(word, rarest) for word in words}
    whole = sum(worth.values()) + 1e-6
    shared = np.array([sum(worth[word] for word in words & stems_of(one)) / whole for one in known], dtype=np.float32)
    rows = np.array([told.beside(one) for one in known], dtype=np.float32)
    most = shared.max()
    beside = np.concatenate([rows, np.stack([shared, shared >= most - 1e-6, shared - most], axis=1)], axis=1)
    of = {name: at for at, name in enumerate(BESIDE)}
    near = ("part", "own", "shared", "backs", "against", "held_for", "held_against")
    order = np.argsort(-beside[:, [of[name] for name in near]].sum(axis=1), kind="stable")[:MOST_FINDINGS]
    return Signs(claim, beside[order].astype(np.float32), tuple(known[int(at)] for at in order))


def stems_of(known: Known) -> frozenset[str]:
    """Give the stems of the words a finding stands on."""
    return _stems(" ".join(footing.quote for footing in known.finding.footings))


@lru_cache(maxsize=4096)
def _stems(quote: str) -> frozenset[str]:
    return frozenset(stem for _, stem in phrase_tokens(quote))


class _Told:
    """What the network's readings within a statement come to, over one record."""

    def __init__(self, saying: Saying, judged: Judged, inside: Sequence[Reading], on: Record) -> None:
        assert saying.spot is not None  # noqa: S101 - facts are not weighed
        self.saying, self.judged, self.inside, self.on = saying, judged, inside, on
        self.spot = saying.spot
        self.meant = saying.spot.meanings()
        self.leans = leaning(saying.condition, saying.found)
        self.parts: defaultdict[str, float] = defaultdict(float)
        self.states: defaultdict[tuple[str, Found], float] = defaultdict(float)
        self.sides, self.ends = np.zeros(len(SIDES)), np.zeros(len(ENDS))
        whole = lean = 0.0
        for one in inside:
            chance = one.chance
            whole += chance
            self.parts[one.part] = max(self.parts[one.part], one.part_chance * chance)
            self.sides += chance * np.array(one.sides)
            self.ends += chance * np.array(one.ends)
            for found, of_it in zip(FINDS, one.found, strict=True):
                lean += chance * of_it * leaning(one.condition, found)
                key = (one.condition, found)
                self.states[key] = max(self.states[key], chance * of_it)
        if whole:
            self.sides, self.ends = self.sides / whole, self.ends / whole
        self.lean = lean / (whole + 0.3)
        for spot in self.meant:
            self.parts[spot.part] = 1.0
        self.held = {id(one.finding) for one in judged.known}
        self._judge()

    def _judge(self) -> None:
        """Hold each of the readings against the record, as if the statement said just that."""
        self.sums: defaultdict[Verdict, float] = defaultdict(float)
        self.most: defaultdict[Verdict, float] = defaultdict(float)
        self.speaks = {verdict: defaultdict[int, float](float) for verdict in _VERDICTS}
        for one in self.inside:
            bare = Saying(
                self.saying.first, self.saying.end, self.saying.quote, one.spot, one.condition, words=self.saying.words
            )
            for found, of_it in zip(FINDS, one.found, strict=True):
                if of_it < _TOO_UNLIKELY:
                    continue
                judged = judge(replace(bare, found=found), self.on)
                weight = one.chance * one.part_chance * of_it
                self.sums[judged.verdict] += weight
                self.most[judged.verdict] = max(self.most[judged.verdict], weight)
                for known in judged.known:
                    by = self.speaks[judged.verdict]
                    by[id(known.finding)] = max(by[id(known.finding)], weight)

    def signs(self) -> Floats:
        """Give the signs of the statement itself, in the order of `CLAIM`."""
        saying, judged = self.saying, self.judged
        same, other = self._known_parts()
        own = self.on.findings.get(self.spot.part, ())
        whole = sum(self.sums.values()) + 0.05
        odds, own_part, own_found = self._own_reading()
        top = max((one.odds for one in self.inside), default=-_BOUND)
        values = [
            *(judged.verdict is verdict for verdict in _VERDICTS),
            *(judged.doubt is doubt for doubt in _DOUBTS),
            self.lean,
            self.lean * self.leans,
            same,
            other,
            other - same,
            *(self.sums[verdict] / whole for verdict in _VERDICTS),
            *(self.most[verdict] for verdict in _VERDICTS),
            min(whole, 2.0),
            saying.odds is None,
            _bounded(odds),
            own_part,
            own_found,
            _bounded(top),
            self.leans > 0,
            self.leans == 0,
            min(len(saying.quote), 80) / 80,
            self.spot.part in relations().whole,
            min(len(own), 5) / 5,
            min(sum(leaning(k.finding.condition, k.finding.found) < 0 for k in own), 4) / 4,
            saying.condition in ("original", "renewed", "repaint", "nonoriginal"),
            saying.condition in ("present", "missing"),
            saying.condition in ("works", "fault"),
            saying.condition == "sound",
            saying.found is Found.NO,
        ]
        return np.array(values, dtype=np.float32)

    def _known_parts(self) -> tuple[float, float]:
        """Give how likely it is of a part of which the same leaning is known, and of which the opposite is."""
        best = {1: 0.0, -1: 0.0}
        for known in self.on.everything:
            if leans := leaning(known.finding.condition, known.finding.found):
                same = 1 if leans == self.leans else -1
                best[same] = max(best[same], self.parts[known.finding.part])
        return best[1], best[-1]

    def _own_reading(self) -> tuple[float, float, float]:
        """Give the log-odds, the part's chance and that of how it is found, of what the statement itself is read as."""
        names = _ONE.get(self.saying.condition, (self.saying.condition,))
        own = max((one for one in self.inside if one.condition in names), key=lambda one: one.odds, default=None)
        if own is None:
            return -_BOUND, 0.0, 0.0
        part = own.part_chance if any(spot.part == own.part for spot in self.meant) else 0.0
        return own.odds, part, own.found[_HEARD.index(self.saying.found.value)]

    def lies_elsewhere(self, known: Known) -> bool:
        """Tell whether something is known of the very part, and of another side or end than the one that rules read."""
        return (
            self.saying.odds is None
            and any(spot.part == known.finding.part for spot in self.meant)
            and not any(spot.part == known.finding.part and may_touch(spot, known.spot) for spot in self.meant)
        )

    def beside(self, known: Known) -> list[float]:
        """Give the signs of one finding beside the statement, in the order of `BESIDE` but for the shared words."""
        finding = known.finding
        own = any(spot.part == finding.part for spot in self.meant)
        touches = any(spot.part == finding.part and may_touch(spot, known.spot) for spot in self.meant)
        side, end = SIDES.index(finding.side), ENDS.index(finding.position)
        other_side = {self.spot.side, finding.side} == {Side.NEAR, Side.OFF}
        other_end = {self.spot.position, finding.position} == {Position.FRONT, Position.REAR}
        leans = leaning(finding.condition, finding.found)
        opposite = Found.NO if finding.found is Found.YES else Found.YES
        held = id(finding) in self.held
        verdict = self.judged.verdict
        return [
            self.parts[finding.part],
            own,
            touches,
            other_side,
            other_end,
            1.0 - (self.sides[3 - side] if side in (1, 2) else 0.0),
            1.0 - (self.ends[3 - end] if end in (1, 2) else 0.0),
            float(self.sides[side]),
            float(self.ends[end]),
            leans,
            leans * self.leans,
            leans * self.lean,
            leans > 0,
            leans < 0,
            finding.found is Found.UNSURE,
            finding.found is Found.NO,
            self.states[finding.condition, finding.found],
            self.states[finding.condition, opposite],
            self.speaks[Verdict.BACKED][id(finding)],
            self.speaks[Verdict.AT_ODDS][id(finding)],
            held and verdict is Verdict.BACKED,
            held and verdict is Verdict.AT_ODDS,
            held and verdict is Verdict.UNBACKED,
            finding.severity is Severity.SLIGHT,
            finding.severity is Severity.SEVERE,
            finding.condition == self.saying.condition,
        ]


def _bounded(odds: float) -> float:
    return max(-_BOUND, min(_BOUND, odds)) / _BOUND


CLAIM = (
    *(f"verdict_{verdict.name.lower()}" for verdict in _VERDICTS),
    *(f"doubt_{doubt.name.lower()}" for doubt in _DOUBTS),
    *("lean", "lean_agrees", "part_same", "part_other", "part_other_less_same"),
    *(f"share_{verdict.name.lower()}" for verdict in _VERDICTS),
    *(f"most_{verdict.name.lower()}" for verdict in _VERDICTS),
    *("readings", "by_rule", "odds", "own_part", "own_found", "best_odds", "good", "open", "length", "wide"),
    *("known_of_part", "bad_of_part", "of_origin", "of_presence", "of_working", "of_soundness", "denied"),
)
"""Names of the signs of a statement, in their order."""

BESIDE = (
    *("part", "own", "touches", "other_side", "other_end", "side_may", "end_may", "side", "end", "leans"),
    *("leans_alike", "leans_as_read", "is_good", "is_bad", "is_open", "is_denied", "same_state", "opposite_state"),
    *("backs", "against", "held_for", "held_against", "held_open", "slight", "severe", "same_condition"),
    *("shared", "shares_most", "shares_less"),
)
"""Names of the signs of a finding beside it, in their order."""


@cache
def condition_numbers() -> dict[str, int]:
    """Give the conditions numbers from one; nought stands for none."""
    return {name: number for number, name in enumerate(sorted(vocabulary().conditions), start=1)}


def rarities(texts: Iterable[str]) -> dict[str, float]:
    """Give how rare each stem is: the logarithm of how many of the lines one has to read to meet it once."""
    lines = [line for text in texts for line in text.splitlines()]
    seen = Counter(stem for line in lines for stem in {stem for _, stem in phrase_tokens(line)})
    rare = {stem: float(np.log((len(lines) + 1) / (count + 1))) for stem, count in seen.items()}
    return {**rare, "": float(np.log(len(lines) + 1))}
