#!/usr/bin/env python3
"""Learn the reader's weights from labelled narrations; the same answer every time.

    tools/train_reader.py GOLD_DIR [--out src/shutline/remarks/data/weights.json]

Each chooser is a conditional log-linear model over the options that `shutline.remarks` itself lists, fitted by L-BFGS
with a Gaussian prior. An option is right when it agrees with a label whose quote its words stand in.
"""

from __future__ import annotations

import argparse
import json
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from shutline.car.findings import Drive
from shutline.car.speech import Stretch, StretchOrigin, stretch_of
from shutline.remarks.analysis import OPPOSITES, Analysis, analyse
from shutline.remarks.assertion import STATUSES, status_features
from shutline.remarks.candidates import Candidate, Option, options
from shutline.remarks.decisions import choose_part
from shutline.remarks.degree import SEVERITIES, remedy_options, severity_options
from shutline.remarks.lexicon import shipped_lexicon
from shutline.remarks.placing import POSITIONS, SIDES, position_options, side_options
from shutline.remarks.regions import regions
from shutline.remarks.weights import Weights

PRIORS = {"part": 1.0, "status": 1.0, "side": 1.0, "position": 1.0, "severity": 1.0, "remedy": 1.0}
"""Strength of the prior of each chooser."""

Label = dict[str, Any]


@dataclass
class Problems:
    """Choice problems of one chooser: for each the features of its options and which of them are right."""

    options: list[list[Sequence[str]]] = field(default_factory=list)
    right: list[list[bool]] = field(default_factory=list)
    weight: list[float] = field(default_factory=list)

    def add(self, listed: list[Sequence[str]], right: list[bool], weight: float = 1.0) -> None:
        if any(right) and not all(right):
            self.options.append(listed)
            self.right.append(right)
            self.weight.append(weight)


@dataclass
class Narration:
    """A labelled narration, analysed, with the candidates each label fits."""

    name: str
    analysis: Analysis
    labels: list[Label]
    fits: dict[int, list[tuple[Label, str, str]]]
    near: set[int]
    missed: list[Label]


def stretches_of(entry: dict[str, Any], *, strip: bool = False) -> list[Stretch]:
    """Make stretches of a narration's segments; `strip` takes off capitals and marks, as a recogniser does."""
    out = []
    for segment in entry["segments"]:
        text = segment["text"]
        if strip:
            text = re.sub(r"[.,!?;:…–—]+", " ", text).lower()
        out.append(stretch_of(text, segment["start"], segment["end"], origin=StretchOrigin.TRANSCRIPT))
    return out


def _plain(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", text.lower().replace("\u2019", "'").replace("'", ""))


def _locate(analysis: Analysis, stretches: list[Stretch], label: Label) -> tuple[int, int] | None:
    """Find the tokens of a label's quote; None where they cannot be found."""
    text = analysis.text
    letters: list[str] = []
    owner: list[int] = []
    for index, word in enumerate(text.words):
        stretch = stretches[text.stretch[index]]
        if stretch.start_s < label["t0"] - 0.05 or stretch.end_s > label["t1"] + 0.05:
            continue
        for piece in _plain(word):
            letters.append(piece)
            owner.append(index)
    quote = _plain(label["quote"])
    if not quote:
        return None
    for start in range(len(letters) - len(quote) + 1):
        if letters[start : start + len(quote)] == quote:
            first_word, last_word = owner[start], owner[start + len(quote) - 1]
            inside = [t for t, w in enumerate(text.word) if first_word <= w <= last_word]
            return (inside[0], inside[-1] + 1) if inside else None
    return None


def status_of(candidate: Candidate, label: Label) -> tuple[str, str] | None:
    """Give the sense and status by which a candidate would say what a label says; None if it cannot."""
    condition, found = label["condition"], label["found"]
    defects = regions().defects
    if condition in candidate.senses:
        if found == "unsure":
            return condition, "unsure"
        if condition not in defects:
            return condition, "base"
        return condition, "base" if (found == "no") == candidate.no else "turned"
    if condition in defects and found != "no":
        for sense in candidate.senses:
            if sense not in defects and OPPOSITES.get(sense) == condition:
                return sense, "unsure" if found == "unsure" else "turned"
    return None


def load(path: Path, *, strip: bool = False) -> Narration:
    """Read and analyse a narration and lay its labels on the candidates."""
    entry = json.loads(path.read_text(encoding="utf-8"))
    stretches = stretches_of(entry, strip=strip)
    analysis = analyse(stretches, drive=Drive(entry["drive"]), lexicon=shipped_lexicon())
    fits: dict[int, list[tuple[Label, str, str]]] = {}
    near: set[int] = set()
    missed = []
    for label in entry["observations"]:
        span = _locate(analysis, stretches, label)
        best: tuple[tuple[int, ...], int, str, str] | None = None
        if span is not None:
            for number, candidate in enumerate(analysis.found):
                if candidate.end <= span[0] or candidate.first >= span[1]:
                    continue
                fit = status_of(candidate, label)
                if fit is None:
                    continue
                near.add(number)
                listed = options(candidate, analysis.at)
                reach = any(o.part == label["part"] and o.sense == fit[0] for o in listed)
                same = any(
                    other["condition"] == label["condition"] and other["found"] == label["found"]
                    for other, _, _ in fits.get(number, [])
                )
                free = number not in fits or same
                rank = (
                    int(free),
                    int(reach),
                    int(candidate.kind == "word") + int(candidate.kind != "bare"),
                    int(number not in fits),
                    int(label["condition"] in candidate.senses),
                    candidate.end - candidate.first,
                    -number,
                )
                if free and (best is None or rank > best[0]):
                    best = (rank, number, *fit)
        if best is None:
            missed.append(label)
        else:
            fits.setdefault(best[1], []).append((label, best[2], best[3]))
    return Narration(path.stem, analysis, entry["observations"], fits, near, missed)


def fit(problems: Problems, prior: float, *, rounds: int = 60) -> dict[str, float]:
    """Fit one chooser: maximise the chance of the right options under a Gaussian prior."""
    counts: Counter[str] = Counter(f for listed in problems.options for o in listed for f in o)
    names = sorted(name for name, count in counts.items() if count > 1)
    index = {name: i for i, name in enumerate(names)}
    columns: list[int] = []
    rows: list[int] = []
    groups: list[int] = []
    right: list[float] = []
    row = 0
    for group, (listed, good) in enumerate(zip(problems.options, problems.right, strict=True)):
        for option, ok in zip(listed, good, strict=True):
            for feature in option:
                at = index.get(feature)
                if at is not None:
                    columns.append(at)
                    rows.append(row)
            groups.append(group)
            right.append(1.0 if ok else 0.0)
            row += 1
    column, line = np.array(columns), np.array(rows)
    group_of, good_of = np.array(groups), np.array(right)
    total = len(problems.options)
    starts = np.searchsorted(group_of, np.arange(total))
    importance = np.array(problems.weight)[group_of]

    def value(w: np.ndarray) -> tuple[float, np.ndarray]:
        scores = np.bincount(line, weights=w[column], minlength=row)
        top = np.maximum.reduceat(scores, starts)[group_of]
        raised = np.exp(scores - top)
        every = np.add.reduceat(raised, starts)
        hit = np.add.reduceat(raised * good_of, starts) + 1e-300
        chance = raised / every[group_of]
        wanted = raised * good_of / hit[group_of]
        loss = float((np.array(problems.weight) * (np.log(every) - np.log(hit))).sum()) + 0.5 * prior * float(w @ w)
        push = ((chance - wanted) * importance)[line]
        return loss, np.bincount(column, weights=push, minlength=len(names)) + prior * w

    w = _minimise(value, np.zeros(len(names)), rounds)
    return {name: float(w[i]) for name, i in index.items() if abs(w[i]) >= 0.0005}


def _minimise(value: Callable[[np.ndarray], tuple[float, np.ndarray]], w: np.ndarray, rounds: int) -> np.ndarray:
    """L-BFGS with ten remembered steps and a halving line search."""
    steps: list[tuple[np.ndarray, np.ndarray, float]] = []
    loss, slope = value(w)
    for _ in range(rounds):
        direction = slope.copy()
        remembered = []
        for s, y, r in reversed(steps):
            a = r * float(s @ direction)
            direction -= a * y
            remembered.append(a)
        if steps:
            s, y, r = steps[-1]
            direction *= 1.0 / (r * float(y @ y))
        else:
            direction /= max(1.0, float(np.linalg.norm(slope)))
        for (s, y, r), a in zip(steps, reversed(remembered), strict=True):
            direction += (a - r * float(y @ direction)) * s
        size, descent = 1.0, float(slope @ direction)
        while True:
            trial = w - size * direction
            trial_loss, trial_slope = value(trial)
            if trial_loss <= loss - 1e-4 * size * descent or size < 1e-8:
                break
            size *= 0.5
        s, y = trial - w, trial_slope - slope
        if float(s @ y) > 1e-10:
            steps = [*steps[-9:], (s, y, 1.0 / float(s @ y))]
        done = loss - trial_loss < 1e-5 * max(1.0, abs(loss))
        w, loss, slope = trial, trial_loss, trial_slope
        if done:
            break
    return w


def train(narrations: list[Narration]) -> Weights:
    """Fit all choosers, the part first, because the status looks at what it chose."""
    part, status, side, position, severity, remedy = (Problems() for _ in range(6))
    listings: list[list[list[Option]]] = []
    for narration in narrations:
        at = narration.analysis.at
        listed_all = [options(candidate, at) for candidate in narration.analysis.found]
        listings.append(listed_all)
        for number, wanted in narration.fits.items():
            goals = {(label["part"], sense) for label, sense, _ in wanted}
            listed = listed_all[number]
            part.add([o.features for o in listed], [(o.part, o.sense) in goals for o in listed])
    weights = Weights({"part": fit(part, PRIORS["part"])})
    for narration, listed_all in zip(narrations, listings, strict=True):
        a = narration.analysis
        for number, candidate in enumerate(a.found):
            listed = listed_all[number]
            if not listed:
                continue
            best, given = choose_part(listed, weights)
            option = listed[best]
            wanted = narration.fits.get(number, [])
            if not wanted and number in narration.near:
                pass
            goal = wanted[0][2] if wanted else "none"
            features = status_features(candidate, number, option.part, option.sense, given[best], a.at, a.cues, a.found)
            status.add([[f"{s}|{f}" for f in features] for s in STATUSES], [s == goal for s in STATUSES])
            for label, sense, _ in wanted:
                fitting = [o for o in listed if o.part == label["part"] and o.sense == sense]
                if not fitting:
                    continue
                chosen = fitting[0]
                side.add(
                    side_options(candidate, chosen.mention, chosen.part, sense, a.at, a.cues, a.walked),
                    [value == (label["side"] or "") for value in SIDES],
                )
                position.add(
                    position_options(candidate, chosen.mention, chosen.part, sense, a.at, a.cues, a.walked),
                    [value == (label["position"] or "") for value in POSITIONS],
                )
                if label["condition"] in regions().defects and label["found"] != "no":
                    severity.add(
                        severity_options(candidate, sense, a.at, a.cues, a.found, number),
                        [value == (label["severity"] or "") for value in SEVERITIES],
                    )
                    fixes = remedy_options(
                        candidate, sense, chosen.part, a.at, a.cues, a.matches["remedies"], a.remedy_firsts, a.found
                    )
                    remedy.add([f for _, f, _ in fixes], [name == (label["remedy"] or "") for name, _, _ in fixes])
    weights.choosers["status"] = fit(status, PRIORS["status"])
    weights.choosers["side"] = fit(side, PRIORS["side"])
    weights.choosers["position"] = fit(position, PRIORS["position"])
    weights.choosers["severity"] = fit(severity, PRIORS["severity"])
    weights.choosers["remedy"] = fit(remedy, PRIORS["remedy"])
    return weights


def write(weights: Weights, path: Path) -> None:
    """Write weights in thousandths, sorted, so that the same weights are the same file."""
    plain = {
        name: {feature: round(w * 1000) for feature, w in sorted(table.items()) if round(w * 1000)}
        for name, table in sorted(weights.choosers.items())
    }
    path.write_text(
        json.dumps(plain, separators=(",", ":"), sort_keys=True, ensure_ascii=False) + "\n", encoding="utf-8"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path)
    parser.add_argument("--out", type=Path, default=Path("src/shutline/remarks/data/weights.json"))
    given = parser.parse_args()
    paths = sorted(p for p in given.gold.glob("*.json") if "." not in p.stem)
    narrations = [load(path) for path in paths]
    weights = train(narrations)
    write(weights, given.out)
    labels = sum(len(n.labels) for n in narrations)
    print(f"{len(paths)} narrations, {labels} labels, {sum(len(n.missed) for n in narrations)} without a phrase")
    for name, table in weights.choosers.items():
        print(f"{name}: {len(table)} weights")


if __name__ == "__main__":
    main()
