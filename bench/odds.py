#!/usr/bin/env python3
"""Contradictions planted in labelled narrations: how many are found, and how many alarms nobody planted.

    bench/odds.py GOLD_DIR [--without NAME...] [--seed 1] [--read] [--only NAME...] [--each]

In each narration sentences are planted that contradict something said at least a minute away (a defect denied, one
denied that is then found, a word for the whole car, a fact told otherwise, a part that the car does not have), and in
a second copy sentences that sound alike and contradict nothing (the other side, an exception, a correction, an earlier
time, a degree, such cars in general). The labels stand for the reader, with the label of each planted sentence;
with --read the reader reads the words instead. Pictures are planted among the labels only.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from odds_cars import RECORDING, labelled_car, narrations, read_car, stretches_of
from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Side
from shutline.publish.naming import place_name, with_article
from shutline.survey.odds import Odds, at_odds

DENY = {
    "rust": "There's no rust in {place}.",
    "dent": "There are no dents in {place}.",
    "scratch": "There are no scratches on {place}.",
    "crack": "There are no cracks in {place}.",
    "leak": "There are no leaks from {place}.",
    "damp": "There's no damp in {place}.",
    "tear": "There are no tears in {place}.",
    "chip": "There are no chips in {place}.",
    "filler": "There's no filler in {place}.",
    "blister": "There's no bubbling on {place}.",
    "pitting": "There's no pitting on {place}.",
}
FIND = {
    "rust": "There's rust on {place}.",
    "dent": "There's a dent in {place}.",
    "scratch": "There's a scratch on {place}.",
    "crack": "There's a crack in {place}.",
    "leak": "There's a leak from {place}.",
    "damp": "There's damp in {place}.",
    "tear": "There's a tear in {place}.",
    "chip": "There's a chip in {place}.",
    "filler": "There's filler in {place}.",
    "blister": "There's a blister on {place}.",
}
GENERAL = {
    "rust": ("There's no rust anywhere on this car.", "car"),
    "dent": ("There are no dents anywhere in the bodywork.", "bodywork"),
    "tear": ("There are no tears anywhere in the interior.", "interior"),
}
GENERAL_PARTS = {
    "dent": {"bonnet", "front_wing", "rear_wing", "door", "roof", "boot_lid", "sill", "valance"},
    "tear": {"seat", "carpet", "headlining", "door_card"},
}
AWAY_S, PLANT_S = 60.0, 4.0


@dataclass(frozen=True)
class Plant:
    """A sentence to be planted: what kind, what it says, its label, and the label or fact that it is aimed at."""

    kind: str
    text: str
    label: dict[str, Any] | None
    aim: dict[str, Any]
    fact: dict[str, Any] | None = None


@dataclass
class Count:
    """How many were planted, how many found, and alarms that are of none."""

    planted: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    alarms: int = 0
    narrations: int = 0


def said_label(kind: str, text: str, label: dict[str, Any], aim: dict[str, Any], **fields: Any) -> Plant:
    """Make a plant whose label is like another but for some fields."""
    quote = text.rsplit(". ", maxsplit=1)[-1].rstrip(".")
    plain = {"severity": None, "remedy": None, "quote": quote}
    return Plant(kind, text, {**label, **plain, **fields}, aim)


def named(label: dict[str, Any]) -> str:
    """Give the place of a label as it is spoken."""
    side = Side(label["side"]) if label["side"] else None
    position = Position(label["position"]) if label["position"] else None
    return with_article(place_name(label["part"], side, position))


def contradictions(narration: dict[str, Any], chance: random.Random) -> list[Plant]:
    """Choose what to contradict, one of each kind that the narration has room for."""
    labels = narration["observations"]
    found: list[Plant] = []
    yes = [one for one in labels if one["found"] == "yes" and one["condition"] in DENY and _lone(one, labels)]
    no = [one for one in labels if one["found"] == "no" and one["condition"] in FIND and _lone(one, labels)]
    if yes:
        aim = chance.choice(yes)
        found.append(said_label("denied", DENY[aim["condition"]].format(place=named(aim)), aim, aim, found="no"))
        aim = chance.choice(yes)
        found.append(Plant("seen", "", {**aim, "found": "no"}, aim))
    if no:
        aim = chance.choice(no)
        found.append(said_label("found", FIND[aim["condition"]].format(place=named(aim)), aim, aim, found="yes"))
    wide = [one for one in yes if one["condition"] in GENERAL and _in_general(one)]
    if wide:
        aim = chance.choice(wide)
        text, part = GENERAL[aim["condition"]]
        found.append(said_label("whole", text, aim, aim, found="no", part=part, side=None, position=None))
    good = [one for one in labels if one["condition"] == "sound" and one["part"] in ("floor", "sill", "chassis")]
    if good:
        aim = chance.choice(good)
        text = f"{named(aim).capitalize()} has rusted right through."
        found.append(said_label("holed", text, aim, aim, condition="perforation"))
    return found + _facts(narration)


def _facts(narration: dict[str, Any]) -> list[Plant]:
    told = {fact["name"]: fact for fact in narration["facts"]}
    found = []
    if "odometer" in told and isinstance(told["odometer"]["value"], int):
        value = told["odometer"]["value"] + 23_217
        fact = {**told["odometer"], "value": value, "quote": f"The clock reads {value:,} {_unit(told['odometer'])}"}
        found.append(Plant("fact", f"{fact['quote']}.", None, told["odometer"], fact))
    if told.get("doors", {}).get("value") in (2, 3):
        label = _label("door", "near", "rear", "dent", "There's a dent in the nearside rear door")
        found.append(Plant("not fitted", f"{label['quote']}.", label, told["doors"]))
    if told.get("power_source", {}).get("value") == "electric":
        label = _label("exhaust", None, None, "rust", "There's rust on the exhaust")
        found.append(Plant("not fitted", f"{label['quote']}.", label, told["power_source"]))
    return found


def _unit(fact: dict[str, Any]) -> str:
    return "kilometres" if fact.get("unit") == "km" else "miles"


def _label(part: str, side: str | None, position: str | None, condition: str, quote: str) -> dict[str, Any]:
    where = {"part": part, "side": side, "position": position, "condition": condition, "found": "yes"}
    return {**where, "severity": None, "remedy": None, "quote": quote}


def alike(narration: dict[str, Any], chance: random.Random) -> list[Plant]:
    """Choose sentences that sound like contradictions and are none."""
    labels = narration["observations"]
    yes = [one for one in labels if one["found"] == "yes" and one["condition"] in DENY and _lone(one, labels)]
    if not yes:
        return []
    found = []
    sided = [one for one in yes if one["side"] in ("near", "off") and not _other_side(one, labels)]
    if sided:
        aim = chance.choice(sided)
        other = {**aim, "side": "off" if aim["side"] == "near" else "near"}
        found.append(
            said_label("other side", DENY[aim["condition"]].format(place=named(other)), other, aim, found="no")
        )
    wide = [one for one in yes if one["condition"] in GENERAL and _in_general(one)]
    alone = [one for one in wide if not any(_against(o, one) for o in labels if o is not one)]
    if alone:
        aim = chance.choice(alone)
        text, part = GENERAL[aim["condition"]]
        sentence = f"{text.rstrip('.')} apart from {named(aim)}."
        found.append(said_label("exception", sentence, aim, aim, found="no", part=part, side=None, position=None))
    aim = chance.choice(yes)
    denial = DENY[aim["condition"]].format(place=named(aim))
    again = FIND.get(aim["condition"])
    if aim["severity"] != "severe":
        found.append(said_label("degree", denial.replace("no ", "no serious ", 1), aim, aim, found="no"))
    if again:
        # The denial is taken back in the next breath.
        back = again.format(place=named(aim))
        text = f"{denial} No, I tell a lie, {back[0].lower()}{back[1:]}"
        found.append(Plant("corrected", text, {**aim, "quote": back.rstrip(".")}, aim))
    found.append(Plant("such cars", f"These always have trouble with {named(aim)}.", None, aim))
    found.append(
        Plant(
            "earlier time",
            denial.replace("There's", "There was").replace("There are", "There were").rstrip(".")
            + " when I bought it.",
            None,
            aim,
        )
    )
    return found


def _lone(label: dict[str, Any], labels: list[dict[str, Any]]) -> bool:
    """Tell whether a label is the only one of its place and condition, and the place is known."""
    same = [one for one in labels if (one["part"], one["condition"]) == (label["part"], label["condition"])]
    return len(same) == 1 and label["part"] not in ("car", "bodywork", "interior", "underside")


def _other_side(label: dict[str, Any], labels: list[dict[str, Any]]) -> bool:
    return any(one["part"] == label["part"] and one["side"] not in (label["side"], None) for one in labels)


def _against(other: dict[str, Any], label: dict[str, Any]) -> bool:
    """Tell whether a word for the whole car but for one place would still be wrong of another."""
    alike = {"rust": ("rust", "blister", "perforation")}.get(label["condition"], (label["condition"],))
    return other["found"] != "no" and other["condition"] in alike


def _in_general(label: dict[str, Any]) -> bool:
    parts = GENERAL_PARTS.get(label["condition"])
    return label["condition"] in GENERAL and (parts is None or label["part"] in parts)


def planted(
    narration: dict[str, Any], plants: list[Plant], chance: random.Random
) -> tuple[dict[str, Any], dict[int, float]]:
    """Plant sentences at ends of sentences, each at least a minute from what it is aimed at; give where each begins."""
    segments = [dict(one) for one in narration["segments"]]
    labels = [dict(one) for one in narration["observations"]]
    facts = [dict(one) for one in narration["facts"]]
    starts: dict[int, float] = {}
    for number, plant in enumerate(plants):
        if not plant.text:
            continue
        aims = [one for one in segments if _same(plant.aim, one)]
        away = [s for s in segments if ". " in s["text"] and all(abs(s["start"] - a["start"]) > AWAY_S for a in aims)]
        away = [s for s in away if not any(s["start"] <= at <= s["end"] for at in starts.values())]
        if not away:
            continue
        segment = chance.choice(away)
        at = segments.index(segment)
        before, after = segment["text"].rsplit(". ", 1)
        middle = segment["start"] + (segment["end"] - segment["start"]) * len(before) / len(segment["text"])
        rest = {**segment, "start": middle + PLANT_S, "end": segment["end"] + PLANT_S, "text": after}
        new = {"start": middle, "end": middle + PLANT_S, "text": plant.text}
        later = [{**one, "start": one["start"] + PLANT_S, "end": one["end"] + PLANT_S} for one in segments[at + 1 :]]
        segments[at:] = [{**segment, "end": middle, "text": before + "."}, new, rest, *later]
        for label in labels:
            label["t0"] += PLANT_S if label["t0"] > segment["start"] else 0.0
            label["t1"] += PLANT_S if label["t1"] > middle else 0.0
        starts = {one: start + (PLANT_S if start > middle else 0.0) for one, start in starts.items()}
        starts[number] = middle
        if plant.label is not None:
            labels.append({**plant.label, "t0": middle, "t1": middle + PLANT_S})
        if plant.fact is not None:
            facts.append({**plant.fact, "t0": middle, "t1": middle + PLANT_S})
    return {**narration, "segments": segments, "observations": labels, "facts": facts}, starts


def _same(aim: dict[str, Any], segment: dict[str, Any]) -> bool:
    if "t0" in aim:
        return bool(segment["start"] < aim["t1"] and segment["end"] > aim["t0"])
    return aim["quote"].split()[-1] in segment["text"]


def with_pictures(car: CarFile, plants: list[Plant]) -> CarFile:
    """Add what pictures show: findings that nobody said."""
    seen = tuple(
        KeptFinding(f"seen{number}", _seen(plant.label))
        for number, plant in enumerate(plants)
        if plant.kind == "seen" and plant.label
    )
    return replace(car, findings=(*car.findings, *seen))


def _seen(label: dict[str, Any]) -> Finding:
    return Finding(
        label["part"],
        label["condition"],
        Found(label["found"]),
        Side(label["side"]) if label["side"] else None,
        Position(label["position"]) if label["position"] else None,
        footings=(Footing(FootingKind.SEEN, "picture"),),
    )


def touches(odds: Odds, number: int, plant: Plant, starts: dict[int, float]) -> bool:
    """Tell whether a case has a planted sentence, or a planted picture, for one of its sides."""
    if plant.kind == "seen":
        return any(told.id == f"seen{number}" for told in odds.told)
    start = starts.get(number)
    moments = [
        f.start_s for told in odds.told for f in told.footings if f.source == RECORDING and f.start_s is not None
    ]
    return start is not None and any(start - 0.05 <= at < start + PLANT_S for at in moments)


def run(narration: dict[str, Any], seed: str, *, reads: bool, aims: Count, same: Count, each: bool) -> None:
    """Plant both copies of one narration and count."""
    make = read_car if reads else labelled_car
    for count, choose in ((aims, contradictions), (same, alike)):
        chance = random.Random(f"{seed} {choose.__name__}")  # noqa: S311 - a draw to be repeated, no secret
        plants = choose(narration, chance)
        if reads:
            plants = [plant for plant in plants if plant.kind != "seen"]
        copy, starts = planted(narration, plants, chance)
        car = with_pictures(make(copy, stretches_of(copy)), plants)
        cases = at_odds(car)
        count.narrations += 1
        # Alarms are counted two by two, so that none hides in the case of a general remark.
        left = list(at_odds(car, apart=lambda _: True))
        for number, plant in enumerate(plants):
            if plant.kind != "seen" and number not in starts:
                continue
            count.planted[plant.kind] += 1
            hits = [odds for odds in cases if touches(odds, number, plant, starts)]
            left = [odds for odds in left if not touches(odds, number, plant, starts)]
            count.found[plant.kind] += bool(hits)
            if each and bool(hits) == (count is same):
                print(f"  {seed}: {plant.kind}: {plant.text or plant.label}")
        count.alarms += len(left)
        if each:
            for odds in left:
                print(f"  {seed}: nobody planted {odds.rule}: {[f.quote for told in odds.told for f in told.footings]}")


def main() -> None:
    """Print what was found of each kind, and the alarms."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path)
    parser.add_argument("--without", nargs="*", default=[])
    parser.add_argument("--only", nargs="*", default=[])
    parser.add_argument("--seed", default="1")
    parser.add_argument("--read", action="store_true", help="let the reader read the words")
    parser.add_argument("--each", action="store_true", help="name what was missed and each alarm")
    given = parser.parse_args()
    aims, same = Count(), Count()
    for name, narration in narrations(given.gold, tuple(given.without)).items():
        if not given.only or name in given.only:
            run(narration, f"{given.seed} {name}", reads=given.read, aims=aims, same=same, each=given.each)
    print(f"{aims.narrations} narrations, {'read' if given.read else 'labels'}, seed {given.seed}")
    for kind, count in sorted(aims.planted.items()):
        print(f"contradiction, {kind}: {aims.found[kind]} of {count} found")
    print(f"contradictions: {aims.found.total()} of {aims.planted.total()} found")
    for kind, count in sorted(same.planted.items()):
        print(f"no contradiction, {kind}: {same.found[kind]} of {count} raised an alarm")
    print(f"alarms that are of nothing planted: {aims.alarms} and {same.alarms}")


if __name__ == "__main__":
    main()
