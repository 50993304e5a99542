#!/usr/bin/env python3
"""The reader beside medspaCy's ConText and negspacy on the same narrations, in one run: what is right, words a second.

    bench/negation_peers.py GOLD_DIR [--environments DIR] [--scorer score.py] [--rounds N] [--phrases N]

The two libraries are given what a person would give them: a hand lexicon of about 300 phrases, the rules they come
with, and the nearest part named before in the sentence, or after, or in the sentence before. The lexicon is made by a
rule that favours them: of our phrases of one or two plain words those that serve the labels of these very narrations
best, each in the sense the labels give it most often, and the plural too. Phrases are found by spaCy's rulers, which
are quicker than medspaCy's own matcher.

Each library stands in a virtual environment of its own, made outside the repository (in DIR, or in a folder that goes
when the run ends), because medspaCy asks for an old spaCy and numpy. All run one after another, one thread each, and
are timed in seconds of the processor, tables loaded. Needs a network to make the environments, and the scorer
`score.py` beside GOLD_DIR or at `--scorer`.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import platform
import subprocess
import sys
import tempfile
from collections import Counter
from functools import partial
from pathlib import Path
from typing import Any

from negation_peer import Found, measure
from read_narrations import written
from shutline.car.findings import Drive
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks import read
from shutline.remarks.analysis import OPPOSITES
from shutline.remarks.lexicon import shipped_lexicon
from shutline.remarks.phrases import Match, find
from shutline.remarks.tokens import tokens

NEEDS = {
    "context": ("medspacy==1.3.1", "spacy==3.7.5", "numpy==1.26.4"),
    "negspacy": ("negspacy==1.1.0", "spacy==3.8.18"),
}
NAMES = {"shutline": "shutline", "context": "medspaCy ConText", "negspacy": "negspacy"}
ONE_THREAD = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS"), "1")


def plain(phrase: str) -> bool:
    """Tell whether a phrase is one or two words without marks."""
    return len(phrase.split()) <= 2 and len(phrase) > 2 and phrase.replace(" ", "").isalpha()


def meanings_of(match: Match, quote: str, labels: Found) -> set[tuple[str, str, str]]:
    """Give what a phrase says by the labels of its segment: part or condition, found, and the part it implies."""
    row = match.rows[0]
    field = "part" if row.file == "parts" else "condition"
    implied = row.implied[0] if row.implied else ""
    return {
        (o[field], row.found, implied)
        for o in labels
        if o[field] in row.senses and (row.file == "parts" or quote in o["quote"])
    }


def hand_lexicon(size: int, gold: Found) -> dict[str, dict[str, str]]:
    """Take the plain phrases of our lexicon that serve the labels best: for each its file and what it means.

    A phrase means what the labels round it most often say. It is worth the labels it serves, those of a part by half
    because they are counted in the whole segment, less a tenth of the times it is said: the shares with which ConText
    read the 34 narrations best.
    """
    lexicon = shipped_lexicon()
    serves: dict[tuple[str, str], Counter[tuple[str, str, str]]] = {}
    said: Counter[tuple[str, str]] = Counter()
    for entry in gold:
        for segment in entry["segments"]:
            labels = [o for o in entry["observations"] if o["t0"] < segment["end"] and o["t1"] > segment["start"]]
            text = tokens([stretch_of(segment["text"], 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)])
            matches = find(text, lexicon)
            for match in (*matches["parts"], *matches["conditions"]):
                key = match.rows[0].file, " ".join(text.stem[match.first : match.end])
                if plain(key[1]):
                    said[key] += 1
                    quote = text.quote(match.first, match.end - 1)
                    serves.setdefault(key, Counter()).update(meanings_of(match, quote, labels))
    worth = []
    for key, counts in serves.items():
        for meaning, served in counts.most_common(1):
            weight = 0.5 if key[0] == "parts" else 1.0
            worth.append((0.1 * said[key] - weight * served, key, meaning))
    out: dict[str, dict[str, str]] = {}
    for _, (file, phrase), (means, found, implied) in sorted(worth):
        if len(out) < size:
            out.setdefault(phrase, {"file": file, "means": means, "found": found, "part": implied})
    return out


def run_own(job: dict[str, Any]) -> dict[str, Any]:
    """Read every narration with our reader, words to findings."""
    inputs = [
        (
            [stretch_of(s["text"], s["start"], s["end"], origin=StretchOrigin.TRANSCRIPT) for s in entry["segments"]],
            Drive(entry["drive"]),
            entry["segments"],
        )
        for entry in job["entries"]
    ]
    found = [written(read(stretches, drive=drive), segments) for stretches, drive, segments in inputs]
    words = sum(len(stretch.words) for stretches, _, _ in inputs for stretch in stretches)
    readers = [partial(read, stretches, drive=drive) for stretches, drive, _ in inputs]
    return {"read": found, "speed": measure(readers, words, job["rounds"])}


def environment(folder: Path, peer: str) -> Path:
    """Make the virtual environment of a library, if it is not there, and give its Python."""
    home = folder / peer
    python = home / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    done = home / "complete"
    if not done.is_file():
        print(f"making an environment for {NAMES[peer]}: {', '.join(NEEDS[peer])}", flush=True)
        subprocess.run([sys.executable, "-m", "venv", "--clear", str(home)], check=True)
        subprocess.run([str(python), "-m", "pip", "install", "--quiet", *NEEDS[peer]], check=True)
        done.touch()
    return python


def load_scorer(path: Path) -> Any:
    """Load the scorer."""
    spec = importlib.util.spec_from_file_location("score", path)
    if spec is None or spec.loader is None or not path.is_file():
        raise SystemExit(f"{path}: no scorer there; it is needed to tell what is right. Name it with --scorer.")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def compare(given: argparse.Namespace, folder: Path) -> None:
    """Run all three one after another and print their figures side by side."""
    score = load_scorer(given.scorer or given.gold.resolve().parent / "score.py")
    paths = sorted(p for p in given.gold.glob("*.json") if "." not in p.stem)
    gold = [json.loads(p.read_text(encoding="utf-8")) for p in paths]
    lexicon = hand_lexicon(given.phrases, gold)
    entries = [{"segments": g["segments"], "drive": g["drive"]} for g in gold]
    job = folder / "job.json"
    job.write_text(
        json.dumps({"lexicon": lexicon, "entries": entries, "opposites": OPPOSITES, "rounds": given.rounds}),
        encoding="utf-8",
    )
    home = given.environments or folder
    home.mkdir(parents=True, exist_ok=True)
    pythons = {"shutline": Path(sys.executable), **{peer: environment(home, peer) for peer in NEEDS}}
    script = Path(__file__).resolve()
    kinds = Counter(entry["file"] for entry in lexicon.values())
    words = sum(len(s["text"].split()) for g in gold for s in g["segments"])
    labels = sum(len(g["observations"]) for g in gold)
    print(
        f"{len(gold)} narrations, {words} words, {labels} labels; hand lexicon of {len(lexicon)} phrases {dict(kinds)}"
    )
    print(f"Python {platform.python_version()}, one thread each, best of {given.rounds}")
    print(f"{'':18} what F1  defects F1  flips per 100  words a second")
    for peer, python in pythons.items():
        command = [str(python), str(script.with_name("negation_peer.py")), peer, str(job)]
        if peer == "shutline":
            command = [str(python), str(script), "--own", str(job)]
        subprocess.run(command, check=True, env={**os.environ, **ONE_THREAD})
        result = json.loads(job.with_name(f"{peer}.json").read_text(encoding="utf-8"))
        total: Counter[str] = Counter()
        for labelled, found in zip(gold, result["read"], strict=True):
            total += score.score(labelled, found)[0]
        x = score.rates(total)
        print(
            f"{NAMES[peer]:18} {x['what_f1']:7.3f}  {x['defects_f1']:10.3f}  {x['flips_per_100']:13.1f}"
            f"  {result['speed']:14,.0f}",
            flush=True,
        )


def main() -> int:
    """Compare; or, with --own, be our reader in a process of its own."""
    if sys.argv[1:2] == ["--own"]:
        job = Path(sys.argv[2])
        result = run_own(json.loads(job.read_text(encoding="utf-8")))
        job.with_name("shutline.json").write_text(json.dumps(result), encoding="utf-8")
        return 0
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path)
    parser.add_argument("--environments", type=Path, help="keep the environments of the libraries here")
    parser.add_argument("--scorer", type=Path)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--phrases", type=int, default=300)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        compare(given, Path(folder))
    return 0


if __name__ == "__main__":
    sys.exit(main())
