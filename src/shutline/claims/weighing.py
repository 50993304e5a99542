"""Weigh a statement against all that is known of a car, where rules alone would miss it or go astray.

A small network looks at the signs of a statement and of the findings beside it (`signs`). It gives each finding what it
is worth for the statement and against it, and from these and the signs the chances that the statement is backed, at
odds or unbacked, and that it is one at all. `tools/train_weighing.py` learns it on descriptions whose claims people
have labelled; facts are not weighed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.claims.judged import Doubt, Judged, Verdict
from shutline.claims.record import Known, Record
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying
from shutline.claims.second_reading import SURE, Reading
from shutline.claims.signs import BESIDE, CLAIM, Signs, condition_numbers, signs, stems_of
from shutline.claims.written_data import small_words
from shutline.remarks.regions import regions

Arrays = Mapping[str, npt.NDArray[np.float32]]

VERDICTS = (Verdict.BACKED, Verdict.AT_ODDS, Verdict.UNBACKED)
BACKED, AT_ODDS = 0.5, 0.7
"""Chances from which a statement is held to be backed or at odds, where the rules do not say so."""
_LIKELY, _LIKELIER = 0.25, 0.5
"""Chances from which a finding is of the part that a statement is of, or of what it says."""
NOT_AT_ODDS = 0.4
"""Chance below which what the rules hold to be at odds is not held to be so."""
_ORIGIN = frozenset({"original", "renewed"})
"""Both are good, and speak against each other."""
A_CLAIM = 0.3
"""Chance of being a claim at all, below which a statement that no rule has read is left out."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The chances of each verdict in the order of `VERDICTS`, and that it is a claim at all.

    `backing` and `against` are the findings that it may stand on, and that may speak against it, the one that weighs
    most first. Without any it is neither, whatever the chances are.
    """

    chances: tuple[float, float, float]
    claim: float
    backing: tuple[Known, ...]
    against: tuple[Known, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Weigher:
    """What was learnt: arrays by name, each for several networks at once, and how rare words are."""

    arrays: Arrays
    rarity: Mapping[str, float]

    def weigh(self, saying: Saying, judged: Judged, heard: Sequence[Reading], on: Record) -> Weighed:
        """Weigh a statement of a part; the parameters are those of `signs`. What was weighed before is kept."""
        # Where in the text it stands counts for nothing, so that a word put in at the front leaves the rest as it was.
        inside = tuple(
            replace(one, first=0, end=1, begin=0, finish=1, block=0, at=0)
            for one in heard
            if one.first < saying.end and saying.first < one.end
        )
        return _weighed(self, replace(saying, first=0, end=len(saying.quote)), judged, inside, on)

    def anew(self, saying: Saying, judged: Judged, heard: Sequence[Reading], on: Record) -> Weighed:
        """Weigh a statement, whether it was weighed before or not."""
        found = signs(saying, judged, heard, on, self.rarity)
        numbers = condition_numbers()
        conditions = np.array([numbers[one.finding.condition] for one in found.known], dtype=np.int64)
        chances, claim, worth = self.run(found, numbers[saying.condition], conditions)
        backing, against = (
            tuple(found.known[int(at)] for at in np.argsort(-worth[:, side], kind="stable") if may[at])
            for side, may in enumerate((_may_back(saying, found), _may_speak_against(saying, found)))
        )
        return Weighed((chances[0], chances[1], chances[2]), claim, backing, against)

    def run(
        self, found: Signs, condition: int, conditions: npt.NDArray[np.int64]
    ) -> tuple[list[float], float, npt.NDArray[np.float32]]:
        """Give the chances of the verdicts, that of a claim, and what each finding is worth for and against, (F, 2)."""
        w = self.arrays
        claim = (found.claim - w["claim.mean"]) / w["claim.sd"]
        beside = (found.beside - w["beside.mean"]) / w["beside.sd"]
        many = len(w["known.b"])
        own = np.broadcast_to(w["told"][:, None, condition], (many, len(conditions), w["told"].shape[-1]))
        other = w["known"][:, conditions]
        rows = np.broadcast_to(beside, (many, *beside.shape))
        inner = np.maximum(np.concatenate([rows, own, other, own * other], axis=2) @ w["inner.w"] + w["inner.b"], 0)
        worth = inner @ w["known.w"] + w["known.b"] + rows @ w["straight.w"]
        most = np.maximum(worth.max(axis=1, initial=0.0), 0.0)
        total = most + np.log(np.exp(-most) + np.exp(worth - most[:, None]).sum(axis=1))
        straight = np.broadcast_to(claim, (many, len(claim)))
        hidden = np.concatenate([straight, total], axis=1)[:, None]
        hidden = np.maximum(hidden @ w["hidden.w"] + w["hidden.b"], 0)
        out = (hidden @ w["out.w"] + w["out.b"] + straight[:, None] @ w["claim.w"])[:, 0]
        out[:, :2] += total * w["total"]
        verdicts = np.exp(out[:, :3] - out[:, :3].max(axis=1, keepdims=True))
        chances = (verdicts / verdicts.sum(axis=1, keepdims=True)).mean(axis=0)
        return chances.tolist(), float((1 / (1 + np.exp(-out[:, 3]))).mean()), worth.mean(axis=0)


@lru_cache(maxsize=4096)
def _weighed(weigher: Weigher, saying: Saying, judged: Judged, heard: tuple[Reading, ...], on: Record) -> Weighed:
    return weigher.anew(saying, judged, heard, on)


def _may_back(saying: Saying, found: Signs) -> npt.NDArray[np.bool_]:
    """Tell which findings a statement may stand on: of its likely part, as good or as bad, a fault only of its kind."""
    beside = dict(zip(BESIDE, found.beside.T, strict=True))
    read = beside["backs"] >= _LIKELY
    alike = beside["leans_alike"] > 0
    if vocabulary().is_defect(saying.condition) and saying.found is Found.YES:
        alike &= beside["same_condition"] > 0
    may: npt.NDArray[np.bool_] = (beside["part"] >= _LIKELIER) & (alike | read)
    if saying.spot is not None:
        along, part = relations().going_along, saying.spot.part
        may &= np.array([along.bears_out(part, saying.words, one.tokens) for one in found.known], dtype=bool)
    return may


def _may_speak_against(saying: Saying, found: Signs) -> npt.NDArray[np.bool_]:
    """Tell which findings may speak against a statement: of a part it may be of, or by what it may say.

    What is as good or as bad as it tells does not, but for what is new where it should be as it was made.
    """
    beside = dict(zip(BESIDE, found.beside.T, strict=True))
    origin = np.array([one.finding.condition in _ORIGIN for one in found.known], dtype=bool)
    differs = (beside["leans_alike"] <= 0) | (origin & (saying.condition in _ORIGIN))
    may: npt.NDArray[np.bool_] = ((beside["part"] >= _LIKELY) & differs) | (beside["against"] >= _LIKELY)
    return may


def is_settled(saying: Saying, judged: Judged) -> bool:
    """Tell whether what the rules make of a statement stays so, and there is nothing to weigh.

    What they have read and left open stays, and what they hold against work that was done; so do facts, and what a text
    brings up to deny it.
    """
    left_open = saying.odds is None and judged.doubt is Doubt.UNSURE
    return saying.spot is None or saying.untrue or left_open or any(known.done for known in judged.known)


def _stays(saying: Saying, judged: Judged, weighed: Weighed) -> bool:
    """Tell whether what the rules have read and decided stays so, as it mostly does."""
    if saying.odds is not None or judged.verdict is Verdict.UNBACKED:
        return False
    at_odds = weighed.chances[1]
    if judged.verdict is Verdict.AT_ODDS:
        # What is known of the very thing that the words name speaks against them, however it weighs; of all, any.
        named = _is_certain(saying, judged) or any(
            saying.named & (known.tokens | stems_of(known)) for known in judged.known
        )
        return named or at_odds >= NOT_AT_ODDS
    return not weighed.against or at_odds <= AT_ODDS


def _is_certain(saying: Saying, judged: Judged) -> bool:
    """Tell whether logic alone sets what is known against what is claimed.

    Of every one of several, any; what is ruled out of a whole, where it was found on a part of it; and the very
    opposite of the same part.
    """
    spot = saying.spot
    assert spot is not None  # noqa: S101 - facts are not weighed
    whole = saying.found is Found.NO and spot.part in relations().whole
    return spot.each or any(
        known.finding.condition == saying.condition
        and (whole or known.finding.part == spot.part)
        and {known.finding.found, saying.found} == {Found.YES, Found.NO}
        for known in judged.known
    )


def _is_of_some_only(saying: Saying, judged: Judged) -> bool:
    """Tell whether what is known is of some of those that are all claimed: of one door, and not of 'all doors'."""
    spot, some = saying.spot, judged.doubt is Doubt.ONE_OF_SEVERAL
    several = spot is not None and spot.part in regions().sided and spot.part not in relations().whole
    return some and several and bool(small_words().names_all & saying.words)


def decided(saying: Saying, judged: Judged, weighed: Weighed) -> Judged | None:
    """Give what is made of a statement that is not settled; None where it is none."""
    if _stays(saying, judged, weighed):
        return judged
    backed, at_odds, _ = weighed.chances
    if not weighed.backing or _is_of_some_only(saying, judged):
        backed = 0.0
    unsure = saying.odds is not None and saying.odds <= SURE
    if saying.odds is not None and (weighed.claim < A_CLAIM or (unsure and backed <= BACKED)):
        # What may not be told at all is told only where the file bears it out.
        return None
    if at_odds > AT_ODDS and weighed.against and not unsure:
        verdict, known = Verdict.AT_ODDS, weighed.against[:1]
    elif backed > BACKED and judged.verdict is not Verdict.AT_ODDS:
        verdict, known = Verdict.BACKED, weighed.backing[:1]
    else:
        verdict, known = Verdict.UNBACKED, ()
    if verdict is judged.verdict:
        return judged
    return Judged(verdict, known, doubt=Doubt.NOT_SURE if verdict is Verdict.UNBACKED else None)


def borne_out(weighed: Weighed) -> Judged | None:
    """Give what is made of words of which little is thought: backed or at odds where that is likely, else nothing."""
    backed, at_odds, _ = weighed.chances
    if at_odds > AT_ODDS and weighed.against:
        return Judged(Verdict.AT_ODDS, weighed.against[:1])
    if backed > BACKED and weighed.backing:
        return Judged(Verdict.BACKED, weighed.backing[:1])
    return None


def read_weigher(path: Path) -> Weigher:
    """Read what `tools/train_weighing.py` has learnt.

    Raises
    ------
    ValueError
        If it was learnt on other signs than these.
    """
    with np.load(path, allow_pickle=False) as stored:
        arrays = {name: stored[name] for name in stored.files}
    names = {
        name: bytes(arrays.pop(f"names:{name}")).decode("utf-8").split("\n") for name in ("claim", "beside", "words")
    }
    if names["claim"] != list(CLAIM) or names["beside"] != list(BESIDE):
        raise ValueError(f"{path}: learnt on other signs than the program gathers; learn it again")
    rare = arrays.pop("rarity").tolist()
    return Weigher(arrays, dict(zip(names["words"], rare, strict=True)))


@cache
def shipped_weigher() -> Weigher:
    """Read the weigher that comes with the package, once."""
    with as_file(files("shutline.claims").joinpath("data/weighing.npz")) as path:
        return read_weigher(path)
