#!/usr/bin/env python3
"""Learn the reader's weights from labelled narrations; the same answer every time.

    tools/train_reader.py FOLDER... --network FILE [--out src/shutline/remarks/data/weights.json]

A folder holds labelled narrations as JSON, as `../shared/eval/dev` does, or as text, as `training/narrations` does.

Each chooser is a conditional log-linear model over the options that `shutline.remarks` itself lists, fitted by L-BFGS
with a Gaussian prior. An option is right when it agrees with a label whose quote its words stand in.

`--network` is a network that `train_network.py --leave-out` has learnt: how often a chance holds is learnt on the
narrations left out, read by that network and by weights that have not seen them either.
"""

from __future__ import annotations

import argparse
import json
import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

import narrations
from shutline.car.findings import Drive
from shutline.car.speech import Stretch, StretchOrigin, stretch_of
from shutline.remarks.analysis import OPPOSITES, Analysis, analyse
from shutline.remarks.assertion import STATUSES, status_features
from shutline.remarks.attachment import Option, options
from shutline.remarks.candidates import Candidate
from shutline.remarks.context import read_network, understand
from shutline.remarks.decisions import Decision, choose_part, decide
from shutline.remarks.degree import SEVERITIES, remedy_options, severity_features
from shutline.remarks.lexicon import Lexicon, shipped_lexicon
from shutline.remarks.network import Network
from shutline.remarks.placing import POSITIONS, SIDES, position_options, side_options
from shutline.remarks.regions import regions
from shutline.remarks.weights import Weights

PRIORS = {"part": 2.0, "status": 2.5, "side": 1.0, "position": 1.0, "severity": 1.0, "remedy": 1.0}
"""Strength of the prior of each chooser. On speakers held out: with 1 for all what F1 0.794, with these 0.801, with 4
and 6 for the first two 0.795."""

FOLDS = 3
"""The status learns from parts chosen by weights that have not seen the same narration."""

LEAST_WEIGHT = 3
"""In hundredths: lighter ones are not kept. They were two fifths of the file and moved what F1 by 0.001."""

SLACK_S = 3.0
LEAST_POINT = 60
"""Seconds a label may miss, and decisions a point of the calibration stands on at least."""

LEXICAL = (
    "ph:",
    "php:",
    "w1ph:",
    "phv1:",
    "dnph:",
    "remph:",
    "pp:",
    "rs:",
    "sg:",
    "w21:",
    "v12:",
    "sp:",
    "scd:",
    "sce:",
    "sc-:",
)
"""Openings of the features that name the very words."""

NAMING = (*LEXICAL, "p:", "pr:", "w:", "over:", "pc:", "rws:")
"""Openings of the features that name a part or a row."""

Label = dict[str, Any]


@dataclass
class Problems:
    """Choice problems of one chooser: for each the features of its options and which of them are right."""

    options: list[Sequence[Sequence[str]]] = field(default_factory=list)
    right: list[list[bool]] = field(default_factory=list)

    def add(self, listed: Sequence[Sequence[str]], right: list[bool]) -> None:
        """Add a problem that can be learnt from: one with right and wrong options."""
        if any(right) and not all(right):
            self.options.append(listed)
            self.right.append(right)


@dataclass
class Narration:
    """A labelled narration, analysed, with the candidates each label fits."""

    name: str
    analysis: Analysis
    labels: list[Label]
    fits: dict[int, list[tuple[Label, str, str]]]
    near: set[int]
    missed: list[Label]
    echoes: set[int]
    speaker: int = 0


def stretches_of(entry: dict[str, Any], *, strip: bool = False) -> list[Stretch]:
    """Make stretches of a narration's segments; `strip` takes off capitals and marks, as a recogniser does."""
    out = []
    for segment in entry["segments"]:
        text = segment["text"]
        if strip:
            text = re.sub(r"[.,!?;:…\u2013\u2014]+", " ", text).lower()
        out.append(stretch_of(text, segment["start"], segment["end"], origin=StretchOrigin.TRANSCRIPT))
    return out


def _plain(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", text.lower().replace("\u2019", "'").replace("'", ""))


def locate(analysis: Analysis, stretches: list[Stretch], label: Label) -> tuple[int, int] | None:
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
        return condition, "base" if (found == "no") == (condition in candidate.no) else "turned"
    if condition in defects and found != "no":
        for sense in candidate.senses:
            if sense not in defects and OPPOSITES.get(sense) == condition:
                return sense, "unsure" if found == "unsure" else "turned"
    return None


def entry_of(path: Path) -> dict[str, Any]:
    """Read a labelled narration, JSON or text."""
    if path.suffix == ".txt":
        return narrations.gold(narrations.load(path))
    entry: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return entry


def labelled(folders: Sequence[Path]) -> list[Path]:
    """List the labelled narrations in some folders; a name with two dots belongs to a narration and is none."""
    return [
        path
        for folder in folders
        for path in sorted(folder.iterdir())
        if path.suffix in {".json", ".txt"} and "." not in path.stem
    ]


def load(path: Path, *, strip: bool = False, lexicon: Lexicon | None = None) -> Narration:
    """Read and analyse a narration and lay its labels on the candidates.

    The phrases are those of speech unless others are given.
    """
    entry = entry_of(path)
    stretches = stretches_of(entry, strip=strip)
    analysis = analyse(stretches, drive=Drive(entry["drive"]), lexicon=lexicon or shipped_lexicon())
    fits: dict[int, list[tuple[Label, str, str]]] = {}
    near: set[int] = set()
    echoes: set[int] = set()
    twins: list[tuple[int, Label, str, str]] = []
    missed = []
    for label in entry["observations"]:
        span = locate(analysis, stretches, label)
        best: tuple[tuple[int, ...], int, str, str] | None = None
        also: list[tuple[int, tuple[str, str]]] = []
        if span is not None:
            for number, candidate in enumerate(analysis.found):
                if candidate.end <= span[0] or candidate.first >= span[1]:
                    continue
                fit = status_of(candidate, label)
                if fit is None:
                    continue
                near.add(number)
                if candidate.kind != "bare":
                    also.append((number, fit))
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
            twins.extend((number, label, *fit) for number, fit in also if number != best[1])
    for number, label, sense, status in twins:
        if number not in fits:
            fits[number] = [(label, sense, status)]
            echoes.add(number)
    return Narration(path.stem, analysis, entry["observations"], fits, near, missed, echoes)


@dataclass
class Cases:
    """Cases of one sorter: the features of each and its class."""

    features: list[list[str]] = field(default_factory=list)
    classes: list[int] = field(default_factory=list)


def _columns(lists: Sequence[Sequence[str]], least: int) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Give numbers to the features that occur at least `least` times: names, columns and rows of the ones."""
    counts: Counter[str] = Counter(f for features in lists for f in features)
    names = sorted(name for name, count in counts.items() if count >= least)
    index = {name: i for i, name in enumerate(names)}
    columns, rows = [], []
    for row, features in enumerate(lists):
        for feature in features:
            at = index.get(feature)
            if at is not None:
                columns.append(at)
                rows.append(row)
    return names, np.array(columns), np.array(rows)


def load_all(paths: Sequence[Path]) -> list[Narration]:
    """Read each narration twice, as written and without capitals and marks, for a recogniser writes none."""
    out = []
    for speaker, path in enumerate(paths):
        for strip in (False, True):
            narration = load(path, strip=strip)
            narration.speaker = speaker
            out.append(narration)
    return out


def fit(problems: Problems, prior: float, *, rounds: int = 60) -> dict[str, float]:
    """Fit one chooser: maximise the chance of the right options under a Gaussian prior."""
    flat = [o for listed in problems.options for o in listed]
    names, column, line = _columns(flat, 2)
    sizes = np.array([len(listed) for listed in problems.options])
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    group_of = np.repeat(np.arange(len(sizes)), sizes)
    good_of = np.array([1.0 if ok else 0.0 for good in problems.right for ok in good])

    def value(w: np.ndarray) -> tuple[float, np.ndarray]:
        scores = np.bincount(line, weights=w[column], minlength=len(flat))
        top = np.maximum.reduceat(scores, starts)[group_of]
        raised = np.exp(scores - top)
        every = np.add.reduceat(raised, starts)
        hit = np.add.reduceat(raised * good_of, starts) + 1e-300
        push = raised / every[group_of] - raised * good_of / hit[group_of]
        loss = float((np.log(every) - np.log(hit)).sum()) + 0.5 * prior * float(w @ w)
        return loss, np.bincount(column, weights=push[line], minlength=len(names)) + prior * w

    w = minimise(value, np.zeros(len(names)), rounds)
    return {name: float(w[i]) for i, name in enumerate(names) if abs(w[i]) >= 0.005}


def fit_sorter(cases: Cases, classes: int, prior: float, *, rounds: int = 60) -> dict[str, tuple[float, ...]]:
    """Fit one sorter: a multinomial log-linear model under a Gaussian prior."""
    names, column, line = _columns(cases.features, 2)
    size = len(cases.features)
    goal = np.zeros((size, classes))
    goal[np.arange(size), cases.classes] = 1.0

    def value(flat: np.ndarray) -> tuple[float, np.ndarray]:
        w = flat.reshape(classes, len(names))
        scores = np.stack([np.bincount(line, weights=w[k][column], minlength=size) for k in range(classes)], axis=1)
        scores -= scores.max(axis=1, keepdims=True)
        raised = np.exp(scores)
        every = raised.sum(axis=1)
        loss = float((np.log(every) - (scores * goal).sum(axis=1)).sum()) + 0.5 * prior * float(flat @ flat)
        push = raised / every[:, None] - goal
        slope = np.stack([np.bincount(column, weights=push[:, k][line], minlength=len(names)) for k in range(classes)])
        return loss, slope.ravel() + prior * flat

    w = minimise(value, np.zeros(classes * len(names)), rounds).reshape(classes, len(names))
    return {
        name: tuple(float(x) for x in w[:, i]) for i, name in enumerate(names) if float(np.abs(w[:, i]).max()) >= 0.005
    }


def minimise(value: Callable[[np.ndarray], tuple[float, np.ndarray]], w: np.ndarray, rounds: int) -> np.ndarray:
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


def _general(features: Sequence[str], *, openings: tuple[str, ...] = LEXICAL) -> list[str]:
    """Leave out what only knows the very words, so that the rest learns to do without: new words will come."""
    return [f for f in features if not f.startswith(openings)]


def train(loaded: list[Narration]) -> Weights:
    """Fit all choosers, the part first, because the status looks at what it chose."""
    part, side, position, remedy = (Problems() for _ in range(4))
    status, severity = Cases(), Cases()
    listings: list[list[list[Option]]] = []
    owners: list[int] = []
    for narration in loaded:
        at = narration.analysis.at
        listed_all = [options(candidate, at) for candidate in narration.analysis.found]
        listings.append(listed_all)
        for number, wanted in narration.fits.items():
            goals = {(label["part"], sense) for label, sense, _ in wanted}
            listed = listed_all[number]
            right = [(o.part, o.sense) in goals for o in listed]
            part.add([o.features for o in listed], right)
            part.add([_general(o.features, openings=NAMING) for o in listed], right)
            owners.extend([narration.speaker] * (len(part.options) - len(owners)))
    weights = Weights({"part": fit(part, PRIORS["part"])}, {}, ())
    crossed = []
    for fold in range(FOLDS):
        others = Problems()
        for listed_features, right, owner in zip(part.options, part.right, owners, strict=True):
            if owner % FOLDS != fold:
                others.add(listed_features, right)
        crossed.append(Weights({"part": fit(others, PRIORS["part"], rounds=40)}, {}, ()))
    for narration, listed_all in zip(loaded, listings, strict=True):
        a = narration.analysis
        for number, candidate in enumerate(a.found):
            listed = listed_all[number]
            if not listed:
                continue
            best, given = choose_part(listed, crossed[narration.speaker % FOLDS])
            option = listed[best]
            wanted = narration.fits.get(number, [])
            goal = wanted[0][2] if wanted else "none"
            features = status_features(candidate, number, option, given[best], at=a.at, cues=a.cues, found=a.found)
            status.features.append(features)
            status.classes.append(STATUSES.index(goal))
            status.features.append(_general(features))
            status.classes.append(STATUSES.index(goal))
            for label, sense, _ in wanted:
                fitting = [o for o in listed if o.part == label["part"] and o.sense == sense]
                if not fitting:
                    continue
                chosen = fitting[0]
                side.add(
                    side_options(candidate, chosen.mention, chosen.part, at=a.at, cues=a.cues, walked=a.walked),
                    [value == (label["side"] or "") for value in SIDES],
                )
                position.add(
                    position_options(candidate, chosen.mention, chosen.part, at=a.at, cues=a.cues, walked=a.walked),
                    [value == (label["position"] or "") for value in POSITIONS],
                )
                if label["condition"] in regions().defects and label["found"] != "no":
                    severity.features.append(severity_features(candidate, sense, a.at, a.cues))
                    severity.classes.append(SEVERITIES.index(label["severity"] or ""))
                    fixes = remedy_options(
                        candidate,
                        sense,
                        chosen.part,
                        at=a.at,
                        cues=a.cues,
                        matches=a.matches["remedies"],
                        firsts=a.remedy_firsts,
                    )
                    remedy.add([f for _, f, _ in fixes], [name == (label["remedy"] or "") for name, _, _ in fixes])
    weights.sorters["status"] = fit_sorter(status, len(STATUSES), PRIORS["status"])
    weights.choosers["side"] = fit(side, PRIORS["side"])
    weights.choosers["position"] = fit(position, PRIORS["position"])
    weights.sorters["severity"] = fit_sorter(severity, len(SEVERITIES), PRIORS["severity"])
    weights.choosers["remedy"] = fit(remedy, PRIORS["remedy"])
    return weights


def judged_unseen(loaded: Sequence[Narration], network: Network) -> list[tuple[float, bool]]:
    """Judge the decisions on the narrations that a network has left out, by weights learnt on the others."""
    weights = train([narration for narration in loaded if narration.name not in network.left_out])
    return [
        case
        for narration in loaded
        if narration.name in network.left_out
        for case in judged(
            narration,
            decide(narration.analysis, weights, context=understand(narration.analysis, network), keen=0.0),
        )
    ]


def calibrate(seen: list[tuple[float, bool]]) -> list[tuple[float, float]]:
    """Learn how often a chance held on narrations that the weights had not seen: points of a rising line."""
    seen = sorted(seen)
    blocks: list[list[float]] = []
    for chance, right in seen:
        blocks.append([chance, float(right), 1.0])
        while len(blocks) > 1 and blocks[-2][1] / blocks[-2][2] >= blocks[-1][1] / blocks[-1][2]:
            last = blocks.pop()
            blocks[-1] = [a + b for a, b in zip(blocks[-1], last, strict=True)]
    merged: list[list[float]] = []
    for block in blocks:
        if merged and merged[-1][2] < LEAST_POINT:
            merged[-1] = [a + b for a, b in zip(merged[-1], block, strict=True)]
        else:
            merged.append(block)
    return [(round(c / n, 3), round(min(0.99, r / n), 3)) for c, r, n in merged]


def judged(narration: Narration, decisions: list[Decision]) -> list[tuple[float, bool]]:
    """Tell of each decision whether a label says the same of the same part within three seconds; each label once."""
    text = narration.analysis.text
    free = list(range(len(narration.labels)))
    out = []
    for decision in decisions:
        start = text.starts[text.word[decision.candidate.first]]
        right = next(
            (
                i
                for i in free
                if narration.labels[i]["part"] == decision.option.part
                and narration.labels[i]["condition"] == decision.condition
                and narration.labels[i]["found"] == decision.found
                and narration.labels[i]["t0"] - SLACK_S <= start <= narration.labels[i]["t1"] + SLACK_S
            ),
            None,
        )
        if right is not None:
            free.remove(right)
        out.append((decision.chance, right is not None))
    return out


def write(weights: Weights, points: list[tuple[float, float]], path: Path) -> None:
    """Write weights in hundredths, sorted, so that the same weights are the same file; the lightest are left out."""
    plain: dict[str, Any] = {
        name: {f: round(w * 100) for f, w in sorted(table.items()) if abs(round(w * 100)) >= LEAST_WEIGHT}
        for name, table in weights.choosers.items()
    }
    plain["sureness"] = points
    for name, sorter in weights.sorters.items():
        rows = {f: [round(w * 100) for w in ws] for f, ws in sorted(sorter.items())}
        plain[name] = {f: ws for f, ws in rows.items() if max(map(abs, ws)) >= LEAST_WEIGHT}
    path.write_text(
        json.dumps(plain, separators=(",", ":"), sort_keys=True, ensure_ascii=False) + "\n", encoding="utf-8"
    )


def _sizes(tables: Mapping[str, Mapping[str, object]]) -> dict[str, int]:
    return {name: len(table) for name, table in tables.items()}


def main() -> None:
    """Learn from a folder and write the weights."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, default=Path("src/shutline/remarks/data/weights.json"))
    parser.add_argument("--network", type=Path, required=True, help="learnt with some narrations left out")
    given = parser.parse_args()
    paths = labelled(given.folders)
    network = read_network(given.network)
    loaded = load_all(paths)
    points = calibrate(judged_unseen(loaded, network))
    weights = train(loaded)
    write(weights, points, given.out)
    labels = sum(len(n.labels) for n in loaded) // 2
    print(f"{len(paths)} narrations, {labels} labels, {sum(len(n.missed) for n in loaded) // 2} without a phrase")
    for name, size in {**_sizes(weights.choosers), **_sizes(weights.sorters)}.items():
        print(f"{name}: {size} weights")


if __name__ == "__main__":
    main()
