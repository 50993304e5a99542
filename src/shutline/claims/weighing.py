"""Weigh a statement against all that is known of a car, where rules alone would miss it or go astray.

A small network looks at the signs of a statement and of the findings beside it (`signs`). It gives each finding what it
is worth for the statement and against it, and from these and the signs the chances that the statement is backed, at
odds or unbacked, and that it is one at all. `tools/train_weighing.py` learns it on descriptions whose claims people
have labelled; facts are not weighed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shutline.claims.record import Known, Record
from shutline.claims.sayings import Saying
from shutline.claims.second_reading import SURE, Reading
from shutline.claims.signs import BESIDE, CLAIM, Signs, condition_numbers, signs
from shutline.claims.verdict import Doubt, Judged, Verdict

Arrays = Mapping[str, npt.NDArray[np.float32]]

VERDICTS = (Verdict.BACKED, Verdict.AT_ODDS, Verdict.UNBACKED)
BACKED, AT_ODDS = 0.55, 0.6
"""Chances from which a statement is held to be backed or at odds, where the rules do not say so."""
A_CLAIM = 0.3
"""Chance of being a claim at all, below which a statement that no rule has read is left out."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The chances of each verdict in the order of `VERDICTS`, and that it is a claim at all.

    `backing` and `against` are the findings beside it, the one that weighs most first.
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
        """Weigh a statement of a part; the parameters are those of `signs`."""
        found = signs(saying, judged, heard, on, self.rarity)
        numbers = condition_numbers()
        conditions = np.array([numbers[one.finding.condition] for one in found.known], dtype=np.int64)
        chances, claim, worth = self.run(found, numbers[saying.condition], conditions)
        backing, against = (np.argsort(-worth[:, side], kind="stable") for side in (0, 1))
        return Weighed(
            (chances[0], chances[1], chances[2]),
            claim,
            tuple(found.known[int(at)] for at in backing),
            tuple(found.known[int(at)] for at in against),
        )

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


def decided(saying: Saying, judged: Judged, weighed: Weighed) -> Judged | None:
    """Give what is made of a statement after all; None where it is none.

    What the rules have read and found backed or at odds stays so; so does what they hold against work that was done.
    """
    backed, at_odds, _ = weighed.chances
    of_rules = saying.odds is None
    settled = judged.verdict is not Verdict.UNBACKED or judged.doubt is Doubt.UNSURE
    if any(known.done for known in judged.known) or (of_rules and settled):
        return judged
    unsure = saying.odds is not None and saying.odds <= SURE
    if not of_rules and (weighed.claim < A_CLAIM or (unsure and backed <= BACKED)):
        # What may not be told at all is told only where the file bears it out.
        return None
    if at_odds > AT_ODDS and not unsure:
        verdict, known = Verdict.AT_ODDS, weighed.against[:1]
    elif backed > BACKED:
        verdict, known = Verdict.BACKED, weighed.backing[:1]
    else:
        verdict, known = Verdict.UNBACKED, ()
    if verdict is judged.verdict:
        return judged
    return Judged(verdict, known, doubt=Doubt.NOT_SURE if verdict is Verdict.UNBACKED else None)


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
