#!/usr/bin/env python3
"""Check narrations written for training, and turn them into the JSON that the scorer and the trainer read.

    tools/narrations.py check FILE...
    tools/narrations.py convert FILE... --into DIR

The form is in `training/README.md`. The check tells file and line, what was found and what is allowed; it changes
nothing.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from shutline.car.vocabulary import Vocabulary, vocabulary

SIDES = ("near", "off", "both")
POSITIONS = ("front", "rear", "both")
FOUND = ("yes", "no", "unsure")
SEVERITIES = ("slight", "moderate", "severe")
REMEDIES = ("clean", "polish", "repaint", "repair", "replace", "adjust", "treat", "monitor")
SPEAKERS = ("dealer", "private", "inspector", "bodyshop", "auction", "museum")
NUMBERS = ("year", "engine_cc", "doors", "odometer", "keys", "keepers", "gears", "seats")
WORDS = ("body", "drive", "origin", "gearbox", "colour", "power_source")
DATES = ("mot_until", "last_service", "first_registered")
WORDS_A_SECOND = 2.6
SECONDS_OF_A_SEGMENT = 20.0


@dataclass
class Narration:
    """A narration as written: its words, its labels and where in the words they stand."""

    path: Path
    head: dict[str, str] = field(default_factory=dict)
    text: str = ""
    labels: list[dict[str, Any]] = field(default_factory=list)
    facts: list[dict[str, Any]] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


def _squeeze(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def _or_none(value: str, allowed: tuple[str, ...], what: str) -> str | None:
    if value == "-":
        return None
    if value not in allowed:
        raise ValueError(f"{what} {value!r}: allowed are - and {', '.join(allowed)}")
    return value


def _place(text: str, words: str, *since: int) -> int:
    """Find words from the last place given, else from the ones before it."""
    at = next((at for start in reversed(since) if (at := text.find(words, start)) >= 0), -1)
    if at < 0:
        raise ValueError(f"the words {words!r} do not stand in the text above, letter for letter")
    return at


def _nearest(text: str, words: str, first: int, end: int, since: int) -> int:
    """Find words inside a quote if they stand there, else the nearest to it."""
    inside = text.find(words, first, end)
    if inside >= 0:
        return inside
    places = [m.start() for m in re.finditer(re.escape(words), text[since:])]
    if not places:
        return _place(text, words, since)
    return since + min(places, key=lambda place: abs(since + place - first))


def _label(line: str, text: str, since: tuple[int, int], known: Vocabulary) -> dict[str, Any]:
    cells = [_squeeze(cell) for cell in line.split("|")]
    fields = cells[0].split()
    if len(cells) != 4 or len(fields) != 7:
        raise ValueError("allowed is: part side position condition found severity remedy | quote | say | of")
    part, side, position, condition, found, severity, remedy = fields
    if part not in known.parts:
        raise ValueError(f"part {part!r} is not in the vocabulary")
    if condition not in known.conditions:
        raise ValueError(f"condition {condition!r} is not in the vocabulary")
    if found not in FOUND:
        raise ValueError(f"found {found!r}: allowed are {', '.join(FOUND)}")
    if found != "yes" and not known.is_defect(condition):
        raise ValueError(f"{condition} is a good condition: its found is yes")
    if severity != "-" and (found == "no" or not known.is_defect(condition)):
        raise ValueError("only a defect that may be there has a severity")
    quote, say, of = cells[1:]
    at = _place(text, quote, *since)
    end = at + len(quote)
    said = [] if say == "-" else [(_nearest(text, piece, at, end, since[0]), piece) for piece in _pieces(say)]
    named = []
    if of != "-":
        for piece in _pieces(of):
            before = text.rfind(piece, 0, end)
            named.append((before if before >= 0 else _place(text, piece, end), piece))
    return {
        "at": at,
        "end": end,
        "quote": quote,
        "say": [[a, a + len(p)] for a, p in said],
        "of": [[a, a + len(p)] for a, p in named],
        "part": part,
        "side": _or_none(side, SIDES, "side"),
        "position": _or_none(position, POSITIONS, "position"),
        "condition": condition,
        "found": found,
        "severity": _or_none(severity, SEVERITIES, "severity"),
        "remedy": _or_none(remedy, REMEDIES, "remedy"),
    }


def _pieces(words: str) -> list[str]:
    return [_squeeze(piece) for piece in words.split("...") if piece.strip()]


def _fact(line: str, text: str, since: tuple[int, int]) -> dict[str, Any]:
    head, _, quote = line.partition("|")
    _, name, *rest = head.split()
    quote = _squeeze(quote)
    at = _place(text, quote, *since)
    out: dict[str, Any] = {"name": name, "at": at, "end": at + len(quote), "quote": quote}
    value = " ".join(rest)
    if name == "odometer":
        if len(rest) != 2 or rest[1] not in {"mi", "km"}:
            raise ValueError("an odometer is a number and mi or km")
        out |= {"value": int(rest[0]), "unit": rest[1]}
    elif name in NUMBERS:
        out["value"] = int(value)
    elif name == "tax_exempt":
        out["value"] = {"true": True, "false": False}[value.lower()]
    elif name in DATES:
        if not re.fullmatch(r"\d{4}(-\d\d(-\d\d)?)?", value):
            raise ValueError(f"{name} is written YYYY, YYYY-MM or YYYY-MM-DD")
        out["value"] = value
    elif name in WORDS and value:
        out["value"] = value
    else:
        raise ValueError(f"fact {name!r}: allowed are {', '.join((*NUMBERS, *WORDS, *DATES, 'tax_exempt'))}")
    return out


def load(path: Path) -> Narration:
    """Read one file; what is wrong stands in `problems`, and the rest is read all the same."""
    known = vocabulary()
    out = Narration(path)
    since = before = 0
    for number, raw in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        line = _squeeze(raw)
        if not line:
            continue
        try:
            if line.startswith("#"):
                name, _, value = line[1:].partition(":")
                out.head[name.strip()] = value.strip()
            elif line.startswith(">"):
                body = line[1:].strip()
                if body.startswith("fact "):
                    out.facts.append(_fact(body, out.text, (before, since)))
                else:
                    out.labels.append(_label(body, out.text, (before, since), known))
            else:
                before, since = since, len(out.text)
                out.text = f"{out.text} {line}" if out.text else line
        except (ValueError, KeyError) as problem:
            out.problems.append(f"{path.name}:{number}: {problem}")
    if out.head.get("drive") not in {"rhd", "lhd"}:
        out.problems.append(f"{path.name}: '# drive:' is rhd or lhd")
    if out.head.get("speaker") not in SPEAKERS:
        out.problems.append(f"{path.name}: '# speaker:' is one of {', '.join(SPEAKERS)}")
    return out


def _segments(text: str) -> list[dict[str, Any]]:
    """Cut the words into segments of about twenty seconds, wherever that falls, as a recogniser does."""
    words = [(m.start(), m.end()) for m in re.finditer(r"\S+", text)]
    size = round(SECONDS_OF_A_SEGMENT * WORDS_A_SECOND)
    out = []
    for i in range(0, len(words), size):
        piece = words[i : i + size]
        out.append(
            {
                "first": piece[0][0],
                "last": piece[-1][1],
                "start": round(i / WORDS_A_SECOND, 1),
                "end": round((i + len(piece)) / WORDS_A_SECOND, 1),
                "text": text[piece[0][0] : piece[-1][1]],
            }
        )
    return out


def gold(narration: Narration) -> dict[str, Any]:
    """Give a narration in the form of the labelled ones in `eval/dev`, with the places of the words beside."""
    segments = _segments(narration.text)

    def timed(label: dict[str, Any]) -> dict[str, Any]:
        inside = [s for s in segments if s["first"] < label["end"] and s["last"] > label["at"]]
        return {"t0": inside[0]["start"], "t1": inside[-1]["end"], **label}

    return {
        **narration.head,
        "segments": [{k: s[k] for k in ("start", "end", "text")} for s in segments],
        "observations": [timed(label) for label in narration.labels],
        "facts": narration.facts,
    }


def main() -> int:
    """Run the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("check", "convert"))
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--into", type=Path)
    asked = parser.parse_args()
    wrong = 0
    for path in asked.files:
        narration = load(path)
        words = len(narration.text.split())
        for problem in narration.problems:
            print(problem)
        wrong += len(narration.problems)
        if asked.what == "check":
            per = 100 * len(narration.labels) / max(1, words)
            print(
                f"{path.name}: {words} words, {len(narration.labels)} labels ({per:.1f} in 100 words), "
                f"{len(narration.facts)} facts"
            )
        elif asked.into is not None and not narration.problems:
            asked.into.mkdir(parents=True, exist_ok=True)
            target = asked.into / f"{path.stem}.json"
            target.write_text(json.dumps(gold(narration), ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
