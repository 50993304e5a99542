#!/usr/bin/env python3
"""Learn to weigh a statement against what is known of a car, on descriptions whose claims are labelled.

    tools/train_weighing.py FOLDER... --narrations FOLDER... --words FOLDER [--drafts GLOB] [--out FILE]
    (and --folds N --scorer FILE, to measure)

A FOLDER holds descriptions as `bench/claims.py` reads them, each named for a narration of one of the other folders.
How rare words are is counted over the texts below `--words`. Of the narrations that `--drafts` names our own draft is
written too: it claims what the rules read in it, and nothing else. With `--folds` each narration's descriptions are
checked by what was learnt without them, and scored with the scorer; nothing is written then. Needs torch, which the
program itself does not. On one machine the same answer every time.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812
from torch import nn

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "bench")]

from claims import described, narrated, scorer  # noqa: E402
from read_narrations import record_labelled  # noqa: E402
from shutline.car.carfile import CarFile, KeptFact, KeptFinding  # noqa: E402
from shutline.car.findings import State  # noqa: E402
from shutline.claims.check import check, to_weigh  # noqa: E402
from shutline.claims.claimed import Read, read_claims  # noqa: E402
from shutline.claims.judged import Judged, Verdict  # noqa: E402
from shutline.claims.record import Record, record_of  # noqa: E402
from shutline.claims.sayings import Saying  # noqa: E402
from shutline.claims.second_reading import faintly  # noqa: E402
from shutline.claims.signs import (  # noqa: E402
    BESIDE,
    CLAIM,
    MOST_FINDINGS,
    Signs,
    condition_numbers,
    rarities,
    signs,
)
from shutline.claims.stated import unread  # noqa: E402
from shutline.claims.verdict import judge  # noqa: E402
from shutline.claims.weighing import VERDICTS, Weigher  # noqa: E402
from shutline.survey import coverage  # noqa: E402
from shutline.survey.odds import at_odds  # noqa: E402
from shutline.words import write_draft  # noqa: E402

WIDTH, INNER, EMBEDDED = 32, 24, 6
ROUNDS, BATCH, RATE, DECAY, DROPPED = 40, 128, 3e-3, 0.02, 0.2
NETWORKS = 4
WORDLESS = 0.1
"""Share of statements whose words are hidden while learning: a finding that was measured shares none."""
A_CLAIM = 0.3
"""How much it counts to tell a claim from none, beside the verdict."""


@dataclass(frozen=True)
class Example:
    """A description of one car: its text and labels, and what is known; `own` of our own draft, which has no labels."""

    name: str
    car: str
    labelled: dict[str, Any]
    on: Record
    own: bool = False


@dataclass(frozen=True)
class Lessons:
    """All statements in a row; `verdict` is -1 where none is labelled, `findings` are numbered conditions or nought."""

    car: np.ndarray
    claim: torch.Tensor
    beside: torch.Tensor
    condition: torch.Tensor
    findings: torch.Tensor
    verdict: torch.Tensor
    is_claim: torch.Tensor


def examples(folders: Sequence[Path], narrations: Sequence[Path]) -> Iterator[Example]:
    """Read the descriptions, each with the labels of its narration."""
    for path in sorted(path for folder in folders for path in folder.glob("*.txt")):
        car = re.sub(r"-\d$", "", path.stem)
        folder = next(one for one in narrations for end in (".json", ".txt") if (one / f"{car}{end}").is_file())
        yield Example(path.stem, car, described(path), record_labelled(narrated(folder, path.stem)))


def drafts(narrations: Sequence[Path], pattern: str) -> Iterator[Example]:
    """Write our own draft of the cars of some narrations."""
    for path in sorted(path for folder in narrations for path in folder.glob(pattern)):
        on = record_labelled(narrated(path.parent, path.stem))
        car = CarFile(
            path.stem,
            "Averley Curlew",
            on.drive,
            "2026-11-26T08:00:00+00:00",
            findings=tuple(KeptFinding(f"f{k.id}", replace(k.finding, state=State.STANDS)) for k in on.everything),
            facts=tuple(
                KeptFact(f"a{k.id}", replace(k.fact, state=State.STANDS)) for rows in on.facts.values() for k in rows
            ),
        )
        draft = write_draft(car, found=coverage(car), odds=at_odds(car))
        text = "\n\n".join((draft.title.text, *(paragraph.text for paragraph in draft.paragraphs)))
        yield Example(path.stem, path.stem, {"text": text, "claims": []}, record_of(car), own=True)


def label(first: int, end: int, labelled: dict[str, Any]) -> str | None:
    """Give the verdict of the labelled claim that shares most letters with a statement."""
    best, verdict = 0, None
    for (begin, stop), claim in zip(quotes(labelled), labelled["claims"], strict=True):
        common = min(end, stop) - max(first, begin)
        if common > best:
            best, verdict = common, claim["verdict"]
    return verdict


def quotes(labelled: dict[str, Any]) -> Iterator[tuple[int, int]]:
    """Give the first letter and the end of each labelled claim, in order; its quote is looked for behind the last."""
    at = 0
    for claim in labelled["claims"]:
        begin = labelled["text"].find(claim["quote"], at)
        begin = labelled["text"].find(claim["quote"]) if begin < 0 else begin
        at = max(at, begin)
        yield begin, begin + len(claim["quote"])


def lessons(all_: Sequence[Example], rarity: dict[str, float]) -> Lessons:
    """Gather the signs of each statement of each description."""
    rows: list[tuple[Any, ...]] = []
    for one in all_:
        text = one.labelled["text"]
        read = read_claims(text, drive=one.on.drive)
        heard = read.heard.readings
        for saying, judged, on in to_weigh(text, read.sayings, one.on):
            if saying.spot is None:
                continue
            told = label(saying.first, saying.end, one.labelled)
            if one.own and saying.odds is None:
                # Nothing that a draft says is at odds with the file it is written from.
                told = "backed" if judged.verdict is not Verdict.UNBACKED else "unbacked"
            # What is said to be at odds and is no claim is as bad as a wrong reproach.
            wrong = 2 if judged.verdict is Verdict.AT_ODDS else -1
            verdict = wrong if told is None else [v.name.lower() for v in VERDICTS].index(told)
            found = signs(saying, judged, heard, on, rarity)
            rows.append(_row(one.car, saying, found, verdict, is_claim=told is not None))
            if told == judged.verdict.name.lower():
                for again, few in _held_alone(saying, judged, on):
                    found, sparse = signs(saying, again, heard, few, rarity), VERDICTS.index(again.verdict)
                    rows.append(_row(one.car, saying, found, sparse, is_claim=True))
        for saying in _faint(text, read):
            told = label(saying.first, saying.end, one.labelled)
            verdict = -1 if told is None else [v.name.lower() for v in VERDICTS].index(told)
            found = signs(saying, judge(saying, one.on), heard, one.on, rarity)
            rows.append(_row(one.car, saying, found, verdict, is_claim=told is not None))
    columns = [np.array(column) for column in zip(*rows, strict=True)]
    car, *numbered, is_claim = columns
    of_claim, beside_it, told_as, known_as, verdicts = (torch.tensor(column) for column in numbered)
    return Lessons(car, of_claim, beside_it, told_as, known_as, verdicts, torch.tensor(is_claim.astype(np.float32)))


def _faint(text: str, read: Read) -> Iterator[Saying]:
    """Give what is stated in words that nothing has read, by the likeliest that they may say."""
    taken = [*((one.first, one.end) for one in read.sayings), *read.headings, *read.idle]
    for stated in unread(text, read.heard.pieces, taken):
        saying = faintly(stated, read.heard.readings)
        if saying is not None:
            yield saying


def _row(car: str, saying: Saying, found: Signs, verdict: int, *, is_claim: bool) -> tuple[Any, ...]:
    numbers = condition_numbers()
    beside = np.zeros((MOST_FINDINGS, len(BESIDE)), dtype=np.float32)
    conditions = np.zeros(MOST_FINDINGS, dtype=np.int64)
    beside[: len(found.known)] = found.beside
    conditions[: len(found.known)] = [numbers[k.finding.condition] for k in found.known]
    return car, found.claim, beside, numbers[saying.condition], conditions, verdict, is_claim


def _held_alone(saying: Saying, judged: Judged, on: Record) -> Iterator[tuple[Judged, Record]]:
    """Hold a statement against files in which there is little: what the rules decide by; one thing that says nothing.

    A file may hold little yet, and what is told of a full one must not be that it is full.
    """
    assert saying.spot is not None  # noqa: S101 - facts are not weighed
    every = frozenset(on.everything)
    if judged.known:
        few = on.without(every - frozenset(judged.known))
        again = judge(saying, few)
        if again.verdict is judged.verdict:
            yield again, few
    for other in on.within(saying.spot.part):
        few = on.without(every - {other})
        again = judge(saying, few)
        if again.verdict is Verdict.UNBACKED:
            yield again, few
            return


class Network(nn.Module):  # type: ignore[misc]
    """What `Weigher.run` computes without torch, for one network."""

    def __init__(self) -> None:
        super().__init__()
        claim, beside, conditions = len(CLAIM), len(BESIDE), len(condition_numbers()) + 1
        self.told, self.known = nn.Embedding(conditions, EMBEDDED), nn.Embedding(conditions, EMBEDDED)
        for table in (self.told, self.known):
            nn.init.normal_(table.weight, std=0.1)
        self.inner = nn.Linear(beside + 3 * EMBEDDED, INNER)
        self.worth = nn.Linear(INNER, 2)
        self.straight = nn.Linear(beside, 2, bias=False)
        self.hidden = nn.Linear(claim + 2, WIDTH)
        self.out = nn.Linear(WIDTH, 4)
        self.claim = nn.Linear(claim, 4, bias=False)
        self.total = nn.Parameter(torch.ones(2))
        self.drop = nn.Dropout(DROPPED)

    def forward(
        self, claim: torch.Tensor, beside: torch.Tensor, condition: torch.Tensor, findings: torch.Tensor
    ) -> torch.Tensor:
        """Give scores of the three verdicts and of being a claim, shape (N, 4)."""
        own = self.told(condition)[:, None].expand(-1, beside.shape[1], -1)
        other = self.known(findings)
        inner = torch.relu(self.inner(self.drop(torch.cat([beside, own, other, own * other], -1))))
        worth = self.worth(self.drop(inner)) + self.straight(beside)
        worth = worth.masked_fill((findings == 0)[..., None], -1e4)
        total = torch.logsumexp(torch.cat([worth, torch.zeros_like(worth[:, :1])], 1), 1)
        hidden = torch.relu(self.hidden(self.drop(torch.cat([claim, total], 1))))
        out = self.out(self.drop(hidden)) + self.claim(claim)
        return out + torch.cat([total * self.total, torch.zeros_like(total)], 1)


def learnt(all_: Lessons, rows: np.ndarray, rarity: dict[str, float]) -> Weigher:
    """Learn several networks on some of the statements."""
    some = torch.tensor(rows)
    claim, beside = all_.claim[some], all_.beside[some]
    held = all_.findings[some] > 0
    means = {"claim": claim.mean(0), "beside": beside[held].mean(0)}
    spreads = {"claim": claim.std(0) + 1e-3, "beside": beside[held].std(0) + 1e-3}
    claim = (claim - means["claim"]) / spreads["claim"]
    beside = (beside - means["beside"]) / spreads["beside"]
    shared = [BESIDE.index(name) for name in ("shared", "shares_most", "shares_less")]
    nothing = (torch.zeros(3) - means["beside"][shared]) / spreads["beside"][shared]
    nets = []
    for seed in range(NETWORKS):
        torch.manual_seed(seed)
        net = Network()
        steps = torch.optim.AdamW(net.parameters(), lr=RATE, weight_decay=DECAY)
        count, done = ROUNDS * -(-len(some) // BATCH), 0
        for _ in range(ROUNDS):
            order = torch.randperm(len(some))
            for at in range(0, len(some), BATCH):
                batch = order[at : at + BATCH]
                near = beside[batch].clone()
                wordless = torch.rand(len(batch)) < WORDLESS
                near[wordless.nonzero()[:, 0][:, None], :, torch.tensor(shared)] = nothing[None, :, None]
                wanted, is_claim = all_.verdict[some[batch]], all_.is_claim[some[batch]]
                out = net(claim[batch], near, all_.condition[some[batch]], all_.findings[some[batch]])
                told = wanted >= 0
                loss = F.cross_entropy(out[told][:, :3], wanted[told])
                loss = loss + A_CLAIM * F.binary_cross_entropy_with_logits(out[:, 3], is_claim)
                for group in steps.param_groups:
                    group["lr"] = RATE * (1 - done / count)
                steps.zero_grad()
                loss.backward()
                steps.step()
                done += 1
        nets.append({name: value.detach().numpy() for name, value in net.eval().state_dict().items()})
    return Weigher({**_arrays(nets), **_scales(means, spreads)}, rarity)


def _scales(means: dict[str, torch.Tensor], spreads: dict[str, torch.Tensor]) -> dict[str, np.ndarray]:
    return {
        **{f"{name}.mean": value.numpy() for name, value in means.items()},
        **{f"{name}.sd": value.numpy() for name, value in spreads.items()},
    }


def _arrays(nets: Sequence[dict[str, np.ndarray]]) -> dict[str, np.ndarray]:
    """Put the weights of all networks together, as `Weigher` names them."""

    def each(name: str) -> np.ndarray:
        return np.stack([net[name] for net in nets]).astype(np.float32)

    def turned(name: str) -> np.ndarray:
        return np.ascontiguousarray(each(name).transpose(0, 2, 1))

    return {
        "told": each("told.weight"),
        "known": each("known.weight"),
        "inner.w": turned("inner.weight"),
        "inner.b": each("inner.bias")[:, None],
        "known.w": turned("worth.weight"),
        "known.b": each("worth.bias")[:, None],
        "straight.w": turned("straight.weight"),
        "hidden.w": turned("hidden.weight"),
        "hidden.b": each("hidden.bias")[:, None],
        "out.w": turned("out.weight"),
        "out.b": each("out.bias")[:, None],
        "claim.w": turned("claim.weight"),
        "total": each("total"),
    }


def write(weigher: Weigher, path: Path) -> None:
    """Write what was learnt, as `read_weigher` reads it."""
    names = {"claim": CLAIM, "beside": BESIDE, "words": tuple(weigher.rarity)}
    lines = {f"names:{name}": np.frombuffer("\n".join(of).encode("utf-8"), np.uint8) for name, of in names.items()}
    rare = np.array(list(weigher.rarity.values()), dtype=np.float32)
    stored: dict[str, Any] = {**weigher.arrays, **lines, "rarity": rare}
    np.savez_compressed(path, **stored)


def score(all_: Sequence[Example], weigher: Weigher, with_: Any, total: Counter[str]) -> None:
    """Check some descriptions by what was learnt without them."""
    for one in all_:
        claims = [
            {"quote": claim.saying.quote, "verdict": claim.verdict.name.lower()}
            for claim in check(one.labelled["text"], one.on, weigher=weigher).claims
        ]
        counts, _ = with_.score_description(one.labelled, {"text": one.labelled["text"], "claims": claims})
        total += counts


def main() -> None:
    """Learn, and write or measure."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--narrations", type=Path, nargs="+", required=True)
    parser.add_argument("--words", type=Path, required=True)
    parser.add_argument("--drafts", default="")
    parser.add_argument("--folds", type=int, default=0)
    parser.add_argument("--scorer", type=Path)
    parser.add_argument("--out", type=Path, default=Path("src/shutline/claims/data/weighing.npz"))
    given = parser.parse_args()
    rarity = rarities(path.read_text(encoding="utf-8") for path in sorted(given.words.rglob("*.txt")))
    all_ = list(examples(given.folders, given.narrations))
    all_ += drafts(given.narrations, given.drafts) if given.drafts else ()
    gathered = lessons(all_, rarity)
    print(f"{len(all_)} descriptions, {len(gathered.verdict)} statements, {int(gathered.is_claim.sum())} labelled")
    if not given.folds:
        write(learnt(gathered, np.arange(len(gathered.verdict)), rarity), given.out)
        return
    with_, total = scorer(given.scorer), Counter[str]()
    cars = sorted({one.car for one in all_})
    for fold in range(given.folds):
        kept = set(cars[fold :: given.folds])
        weigher = learnt(gathered, np.flatnonzero(~np.isin(gathered.car, list(kept))), rarity)
        score([one for one in all_ if one.car in kept and not one.own], weigher, with_, total)
    with_.show("all", total)


if __name__ == "__main__":
    main()
