"""What the film holds, written beside it: words, labels, where the camera is, which defect is seen when, the engine."""

from __future__ import annotations

from typing import Any

from demo.camera import Camera
from demo.engine import EngineRun
from demo.script import Script, Stretch
from demo.timeline import Spoken, Timeline
from demo.world import World

_STEP_S = 0.2


def write_truth(
    script: Script, timeline: Timeline, camera: Camera, world: World, engine: EngineRun, *, wiped_s: float
) -> dict[str, Any]:
    """Gather the truth as plain values: times in seconds from the film's start, places in units of the Plan (cm)."""
    track = _track(camera, timeline.length_s)
    observations = []
    for stretch in script.stretches:
        for label in stretch.labels:
            t0, t1 = _when(timeline, stretch, label["quote"])
            kept = ("part", "side", "position", "condition", "found", "severity", "remedy")
            row = {"t0": t0, "t1": t1, "quote": label["quote"], **{key: label.get(key) for key in kept}}
            if "drawn" in label:
                row["drawn"] = label["drawn"]
            observations.append(row)
    return {
        "title": script.film["title"],
        "speaker": "one presenter, walking",
        "drive": script.car["drive"],
        "car": {key: script.car[key] for key in ("title", "body", "doors", "mark", "odometer", "cylinders")},
        "film": {
            "length_s": timeline.length_s,
            "width": script.film["width"],
            "height": script.film["height"],
            "frame_rate": script.film["frame_rate"],
            "plan_width": world.plan.width,
            "plan_height": world.plan.height,
        },
        "segments": [
            {"id": stretch.id, "start": _r(spoken[0].start_s), "end": _r(spoken[-1].end_s), "text": stretch.text}
            for stretch in script.stretches
            for spoken in (timeline.of(stretch.id),)
        ],
        "words": [[w.text, _r(w.start_s), _r(w.end_s)] for spoken in timeline.spoken for w in spoken.words],
        "observations": observations,
        "facts": [_fact(timeline, stretch, fact) for stretch in script.stretches for fact in stretch.facts],
        "general": [
            {"quote": quote, **_times(_when(timeline, stretch, quote))}
            for stretch in script.stretches
            for quote in stretch.general
        ],
        "corrected": [dict(row) for stretch in script.stretches for row in stretch.corrected],
        "shots": [
            {
                "name": aim.name,
                "leave_s": _r(aim.leave_s),
                "start_s": _r(aim.arrive_s),
                "end_s": _r(camera.aims[i + 1].leave_s if i + 1 < len(camera.aims) else timeline.length_s),
                "part": aim.shot.part,
                "side": aim.shot.side,
                "position": aim.shot.position,
                "centre": [_r(aim.x * 100), _r(aim.y * 100)],
                "see": _r(aim.see_m * 100),
            }
            for i, aim in enumerate(camera.aims)
        ],
        "track": {
            "step_s": _STEP_S,
            "columns": ["x", "y", "see"],
            "rows": [[_r(v) for v in row[1:4]] for row in track],
        },
        "blurred": _stretches([row[0] for row in track if row[4]], _STEP_S),
        "defects": {name: _defect(script, world, track, name) for name in script.flaws} | {"dust_wiped_s": _r(wiped_s)},
        "odometer": _odometer(script, camera),
        "engine": _engine(script, timeline, engine),
    }


def _r(value: float) -> float:
    return round(float(value), 2)


def _times(when: tuple[float, float]) -> dict[str, float]:
    return {"t0": when[0], "t1": when[1]}


def _when(timeline: Timeline, stretch: Stretch, quote: str) -> tuple[float, float]:
    """Give the times of the lines that a quote stands in."""
    spoken = timeline.of(stretch.id)
    at = stretch.text.index(quote)
    end = at + len(quote)
    inside: list[Spoken] = []
    start = 0
    for one in spoken:
        stop = start + len(one.line.text)
        if start < end and stop > at:
            inside.append(one)
        start = stop + 1
    return _r(inside[0].start_s), _r(inside[-1].end_s)


def _fact(timeline: Timeline, stretch: Stretch, fact: dict[str, Any]) -> dict[str, Any]:
    return {**fact, **_times(_when(timeline, stretch, fact["quote"]))}


def _track(camera: Camera, length_s: float) -> list[tuple[float, float, float, float, bool]]:
    rows = []
    for k in range(int(length_s / _STEP_S) + 1):
        t = k * _STEP_S
        pose = camera.pose(t)
        rows.append((t, pose.x * 100, pose.y * 100, pose.see_m * 100, camera.blurred(t)))
    return rows


def _stretches(times: list[float], step_s: float) -> list[list[float]]:
    """Join moments that follow one another into [start, end]."""
    out: list[list[float]] = []
    for t in times:
        if out and t - out[-1][1] < step_s * 1.5:
            out[-1][1] = _r(t)
        else:
            out.append([_r(t), _r(t)])
    return [[a, _r(b + step_s)] for a, b in out]


def _defect(
    script: Script, world: World, track: list[tuple[float, float, float, float, bool]], name: str
) -> dict[str, Any]:
    """Say where a defect is drawn and when it is seen: inside the picture, steady, at least 6 % of its width."""
    flaw = script.flaws[name]
    x, y = (v * 100 for v in world.flaw_at[name])
    size = flaw.size_m * 100
    if flaw.kind == "shade":
        x0, _, x1, _ = world.shape_box(flaw.part, flaw.side, flaw.position, flaw.room)
        size = (x1 - x0) * 100
    seen = []
    for t, cx, cy, see, blurred in track:
        across, down = abs(x - cx) / see, abs(y - cy) / (see * 9 / 16)
        if not blurred and max(across, down) < 0.38 and size / see >= 0.06:
            seen.append(t)
    return {
        "kind": flaw.kind,
        "part": flaw.part,
        "side": flaw.side,
        "position": flaw.position,
        "centre": [_r(x), _r(y)],
        "size": _r(size),
        "seen": _stretches(seen, _STEP_S),
    }


def _odometer(script: Script, camera: Camera) -> dict[str, Any]:
    i = next(k for k, aim in enumerate(camera.aims) if aim.shot.odometer)
    steady = [
        t
        for t in (camera.aims[i].arrive_s + 0.1 * k for k in range(200))
        if t < camera.aims[i + 1].leave_s and not camera.blurred(t)
    ]
    return {"figures": script.car["odometer"], "unit": "mi", "seen": [_r(steady[0]), _r(steady[-1])]}


def _engine(script: Script, timeline: Timeline, engine: EngineRun) -> dict[str, Any]:
    cold = script.cold_start
    start = timeline.engine_start_s
    every = round(0.25 / engine.step_s)
    rows = [
        [_r(start + k * engine.step_s), round(float(engine.speed_rpm[k]))]
        for k in range(0, engine.speed_rpm.size, every)
    ]
    footing = next(s for s in script.stretches if s.cold_footing is not None)
    return {
        "cylinders": script.car["cylinders"],
        "strokes": 4,
        "cold": {"quote": footing.cold_footing, **_times(_when(timeline, footing, footing.cold_footing or ""))},
        "first_turn_s": _r(start),
        "fires_s": _r(start + engine.fires_s),
        "nobody_speaks": [_r(start), _r(timeline.listen_end_s)],
        "off_s": _r(timeline.engine_off_s),
        "still_s": _r(start + engine.still_s),
        "cranking_rpm": cold.cranking_rpm,
        "fast_idle_rpm": cold.fast_idle_rpm,
        "settled_rpm": cold.settled_rpm,
        "rpm": rows,
    }
