"""The way of the camera: from shot to shot, resting, swaying in the hand, and too fast in places."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo.dials import odometer_box
from demo.script import Script, Shot
from demo.timeline import Timeline
from demo.world import World


@dataclass(frozen=True, slots=True)
class Aim:
    """A shot with its place: centre in metres on the sheet, width seen; when the camera leaves for it and is there."""

    name: str
    shot: Shot
    x: float
    y: float
    see_m: float
    leave_s: float
    arrive_s: float


@dataclass(frozen=True, slots=True)
class Pose:
    """The camera at one moment: centre and width in metres, turn in degrees, defocus as a share of width."""

    x: float
    y: float
    see_m: float
    turn_deg: float
    soft: float


BLURRED_SHARE = 0.011
"""A picture counts as blurred when it moves by more than this share of its width while the shutter is open, or is as
much out of focus."""
SHUTTER = 0.5
"""The part of a frame's time that the shutter is open."""


class Camera:
    """Knows the pose at every moment."""

    def __init__(self, script: Script, timeline: Timeline, world: World) -> None:
        self.length_s = timeline.length_s
        self.frame_s = 1 / script.film["frame_rate"]
        self.aims = _aims(script, timeline, world)
        rng = np.random.default_rng(script.film["seed"])
        self._sway = [
            (float(rng.uniform(0.13, 0.55)), float(rng.uniform(0, 6.28)), float(rng.uniform(0.5, 1.0)))
            for _ in range(9)
        ]

    def aim_at(self, t: float) -> Aim:
        """Give the shot the camera is at or on its way to."""
        return next((aim for aim in reversed(self.aims) if aim.leave_s <= t), self.aims[0])

    def pose(self, t: float) -> Pose:
        """Give the pose at a moment, seconds."""
        number = max(i for i, aim in enumerate(self.aims) if i == 0 or aim.leave_s <= t)
        aim = self.aims[number]
        x, y, see = aim.x, aim.y, aim.see_m
        rest = t - aim.arrive_s
        if number and rest < 0:
            before = self.aims[number - 1]
            u = (t - aim.leave_s) / (aim.arrive_s - aim.leave_s)
            k = u * u * u * (10 - 15 * u + 6 * u * u)
            x, y = before.x + (aim.x - before.x) * k, before.y + (aim.y - before.y) * k
            far = math.hypot(aim.x - before.x, aim.y - before.y)
            lift = max(0.0, far / max(before.see_m, aim.see_m) - 0.9) * 0.16
            see = math.exp(math.log(before.see_m) + (math.log(aim.see_m) - math.log(before.see_m)) * k)
            see *= 1 + min(lift, 0.8) * math.sin(math.pi * u) ** 2
        soft = 0.0
        if aim.see_m < 0.62 and -0.12 < rest < 0.55:
            soft = 0.010 * math.exp(-(((rest - 0.02) / 0.22) ** 2))
        see *= 1 - 0.022 * (1 - math.exp(-max(rest, 0.0) / 4.0))
        hand = 0.0052 * see
        s = self._sway
        dx = hand * sum(a * math.sin(2 * math.pi * f * t + p) for f, p, a in s[:3])
        dy = hand * sum(a * math.sin(2 * math.pi * f * t + p) for f, p, a in s[3:6])
        turn = 0.05 * sum(a * math.sin(2 * math.pi * f * t + p) for f, p, a in s[6:9])
        return Pose(x + dx, y + dy, see, turn, soft)

    def motion(self, t: float) -> float:
        """How far the picture moves while the shutter is open, as a share of its width."""
        a, b = self.pose(t), self.pose(t + self.frame_s * SHUTTER)
        move = math.hypot(b.x - a.x, b.y - a.y) / a.see_m
        return max(move, abs(math.log(b.see_m / a.see_m)) * 0.35)

    def blurred(self, t: float) -> bool:
        """Tell whether the picture is blurred at a moment."""
        return max(self.motion(t), self.pose(t).soft * 1.6) > BLURRED_SHARE

    def steps_s(self) -> list[float]:
        """When feet are heard: while the camera goes a long way."""
        steps = []
        for before, aim in zip(self.aims, self.aims[1:], strict=False):
            if math.hypot(aim.x - before.x, aim.y - before.y) > 1.1:
                count = max(2, round((aim.arrive_s - aim.leave_s) / 0.45))
                steps += [aim.leave_s + (aim.arrive_s - aim.leave_s) * (k + 0.4) / count for k in range(count)]
        return steps


def _aims(script: Script, timeline: Timeline, world: World) -> list[Aim]:
    cues: list[tuple[float, float, str]] = []
    said_s = 0.0
    for spoken in timeline.spoken:
        for cue in spoken.line.cues:
            at = spoken.words[min(cue.word, len(spoken.words) - 1)].start_s
            # At the head of a line it may use the pause before it; within a line only a moment.
            free = at - said_s if cue.word == 0 else 1.15
            cues.append((at, free, cue.shot))
        said_s = spoken.end_s
    cues += [(timeline.engine_start_s + at, 1.0, shot) for at, shot in script.cold_start.shots]
    cues.sort()
    aims: list[Aim] = []
    for when, free, name in cues:
        shot = script.shots[name]
        x, y = _centre(shot, world)
        x, y = x + shot.shift[0], y + shot.shift[1]
        if not aims:
            aims.append(Aim(name, shot, x, y, shot.see_m, 0.0, 0.0))
            continue
        before = aims[-1]
        far = math.hypot(x - before.x, y - before.y)
        zoom = abs(math.log(shot.see_m / before.see_m))
        lasts = float(np.clip((0.62 + 0.30 * far + 0.34 * zoom) / shot.haste, 0.46, 2.6))
        # It leaves no earlier than the pause allows and comes no later than half a second into the words.
        leave = max(when - min(lasts, max(free - 0.12, 0.45)), before.arrive_s + 0.5)
        arrive = max(min(leave + lasts, when + 0.5), leave + 0.46)
        aims.append(Aim(name, shot, x, y, shot.see_m, leave, arrive))
    return aims


def _centre(shot: Shot, world: World) -> tuple[float, float]:
    if shot.flaw is not None:
        return world.flaw_at[shot.flaw]
    if shot.pipe:
        return world.pipe()
    if shot.odometer:
        x0, y0, x1, y1 = odometer_box(world.union_box("instruments", "dash"))
    elif shot.at_view and shot.view is not None:
        x0, y0, x1, y1 = world.boxes[shot.view]
    elif shot.at_pair and shot.view is not None:
        x0, y0, x1, y1 = world.union_box(shot.part, shot.view, shot.position)
    else:
        x0, y0, x1, y1 = world.shape_box(shot.in_part or shot.part, shot.side_of or shot.side, shot.position, shot.view)
    return (x0 + x1) / 2, (y0 + y1) / 2
