#!/usr/bin/env python3
"""Read narrations with a library for negation; run by `negation_peers.py` in that library's own environment.

    bench/negation_peer.py PEER JOB_FILE

Writes PEER.json beside the job: what was read in each narration, and words a second. Knows nothing of our package.
"""

from __future__ import annotations

import importlib
import json
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

SIDES = {
    "nearside": "near",
    "offside": "off",
    "driver's": "driver",
    "passenger's": "passenger",
    "passenger": "passenger",
}
Found = list[dict[str, Any]]


def spellings(phrase: str) -> tuple[str, ...]:
    """Give a phrase and its plural."""
    if phrase.endswith("s"):
        return (phrase,)
    return phrase, phrase + ("es" if phrase.endswith(("ch", "sh", "x")) else "s")


def pipeline(job: dict[str, Any]) -> Any:
    """Set up a blank English pipeline that ends sentences and finds the phrases: conditions, and parts apart."""
    pipe: Any = importlib.import_module("spacy").blank("en")
    pipe.add_pipe("sentencizer")
    for file, ruler in (("conditions", "entity_ruler"), ("parts", "span_ruler")):
        pipe.add_pipe(ruler, config={"phrase_matcher_attr": "LOWER"}).add_patterns(
            [
                {"label": file, "pattern": spelt}
                for phrase, entry in job["lexicon"].items()
                if entry["file"] == file
                for spelt in spellings(phrase)
            ]
        )
    return pipe


def library(peer: str, job: dict[str, Any]) -> Any:
    """Set up one of the libraries with the rules it comes with."""
    importlib.import_module({"context": "medspacy.context", "negspacy": "negspacy.negation"}[peer])
    pipe = pipeline(job)
    if peer == "context":
        pipe.add_pipe("medspacy_context")
    else:
        pipe.add_pipe("negex", config={"ent_types": ["conditions"]})
    return pipe


def claims(peer: str, entity: Any) -> tuple[bool, bool, bool]:
    """Tell whether a library calls an entity denied, doubted, and not said of here and now."""
    own = entity._
    if peer == "negspacy":
        return bool(own.negex), False, False
    return bool(own.is_negated), bool(own.is_uncertain), bool(own.is_hypothetical or own.is_historical)


def observations(peer: str, doc: Any, job: dict[str, Any], drive: str) -> Iterator[tuple[int, int, dict[str, Any]]]:
    """Give what a library found as characters from and to, and an observation."""
    meanings = {spelt: entry for p, entry in job["lexicon"].items() for spelt in spellings(p)}
    last: Any = None
    for sentence in doc.sents:
        parts = [p for p in doc.spans["ruler"] if sentence.start <= p.start < sentence.end]
        side = next((SIDES[t.lower_] for t in sentence if t.lower_ in SIDES), None)
        if side in ("driver", "passenger"):
            side = "off" if (side == "driver") == (drive == "rhd") else "near"
        for entity in sentence.ents:
            entry = meanings[entity.text.lower()]
            before = [p for p in parts if p.start < entity.start]
            named = before[-1] if before else parts[0] if parts else last
            part = entry["part"] or (meanings[named.text.lower()]["means"] if named is not None else "")
            denied, doubted, elsewhere = claims(peer, entity)
            if elsewhere or not part:
                continue
            condition, found = entry["means"], "no" if denied != (entry["found"] == "no") else "yes"
            if condition in job["opposites"] and (denied or doubted):
                condition, found = job["opposites"][condition], "yes"
            observation = {"part": part, "side": side, "position": None, "condition": condition, "quote": entity.text}
            yield entity.start_char, entity.end_char, {**observation, "found": "unsure" if doubted else found}
        if parts:
            last = parts[-1]


def timed(entry: dict[str, Any], found: Iterator[tuple[int, int, dict[str, Any]]]) -> Found:
    """Set the times of the segments in which observations stand."""
    spans, at = [], 0
    for segment in entry["segments"]:
        spans.append((at, at + len(segment["text"]), segment))
        at += len(segment["text"]) + 1
    out: Found = []
    for first, last, observation in found:
        inside = [s for low, high, s in spans if low < last and high >= first]
        out.append({**observation, "t0": inside[0]["start"], "t1": inside[-1]["end"]})
    return out


def measure(readers: Sequence[Callable[[], Any]], words: int, rounds: int) -> float:
    """Give words a second of processor time, the best of several rounds over all narrations."""
    best = float("inf")
    for _ in range(rounds):
        began = time.process_time()
        for one in readers:
            one()
        best = min(best, time.process_time() - began)
    return words / best


def run_peer(peer: str, job: dict[str, Any]) -> dict[str, Any]:
    """Read every narration with one library."""
    entries = job["entries"]
    pipe = library(peer, job)
    texts = [" ".join(s["text"] for s in entry["segments"]) for entry in entries]
    read = [
        timed(entry, observations(peer, pipe(text), job, entry["drive"]))
        for entry, text in zip(entries, texts, strict=True)
    ]
    words = sum(len(text.split()) for text in texts)
    readers = [partial(pipe, text) for text in texts]
    return {"read": [{"observations": found} for found in read], "speed": measure(readers, words, job["rounds"])}


def main() -> int:
    """Read the job and write what was found."""
    peer, job = sys.argv[1], Path(sys.argv[2])
    result = run_peer(peer, json.loads(job.read_text(encoding="utf-8")))
    job.with_name(f"{peer}.json").write_text(json.dumps(result), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
