"""Turns the painted world and the way of the camera into frames."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from demo.backdrop import paint_backdrop
from demo.camera import SHUTTER, Aim, Camera, Pose
from demo.paint import Canvas, clouds
from demo.timeline import Timeline
from demo.world import World

Frame = NDArray[np.uint8]

_BASE_PX_PER_M = 340.0
_BACK_PX_PER_M = 110.0
_BACK_SHARE = 0.52
"""How much the backdrop moves for each metre the camera does."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A painted piece of the world with smaller copies of itself; blue, green, red, cover, and gloss."""

    origin: tuple[float, float]
    px_per_m: float
    levels: tuple[tuple[Frame, Frame], ...]
    edge: Frame | None
    from_s: float = 0.0
    until_s: float = 1e9


def _sheet(canvas: Canvas, *, feather: bool, from_s: float = 0.0, until_s: float = 1e9) -> Sheet:
    picture, gloss = canvas.bytes()
    levels: list[tuple[Frame, Frame]] = [(picture, gloss)]
    while min(levels[-1][0].shape[:2]) > 200 and len(levels) < 4:
        p, g = levels[-1]
        half = (p.shape[1] // 2, p.shape[0] // 2)
        levels.append((_half(p, half), _half(g, half)))
    edge = None
    if feather:
        h, w = picture.shape[:2]
        x = np.minimum(np.arange(w), np.arange(w)[::-1]) / (0.07 * w)
        y = np.minimum(np.arange(h), np.arange(h)[::-1]) / (0.07 * h)
        edge = (np.clip(np.minimum(x[None, :], y[:, None]), 0, 1) * 255).astype(np.uint8)
    return Sheet(canvas.origin, canvas.px_per_m, tuple(levels), edge, from_s, until_s)


def _half(picture: Frame, size: tuple[int, int]) -> Frame:
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


class Film:
    """Gives the frames of the film one after another."""

    def __init__(
        self, world: World, camera: Camera, timeline: Timeline, *, width: int, height: int, wiped_s: float
    ) -> None:
        self.world, self.camera, self.timeline = world, camera, timeline
        self.width, self.height = width, height
        self.wiped_s = wiped_s
        wide, tall = world.plan.width / 100, world.plan.height / 100
        base = Canvas(wide, tall, _BASE_PX_PER_M, (0.80, 0.84, 0.87))
        self._base = _sheet(world.paint(base), feather=False)
        back = Canvas(wide * _BACK_SHARE + 7, tall, _BACK_PX_PER_M, (0.8, 0.84, 0.87))
        self._back = _sheet(paint_backdrop(back, wide * _BACK_SHARE + 7, world.ground_y), feather=False)
        self._sheets: dict[int, list[Sheet]] = {}
        streaks = clouds(256, 1024, 120.0, 8) * 0.6 + clouds(256, 1024, 40.0, 9) * 0.25
        y, x = np.mgrid[0:height, 0:width].astype(np.float32)
        corner = ((x / width - 0.5) ** 2 + (y / height - 0.5) ** 2) / 0.5
        self._fall = (1.03 - 0.26 * corner)[..., None].astype(np.float32)
        self._sheen = np.clip(streaks * 26 + 8, -40, 70).astype(np.float32)

    def frames(self, first: int = 0, last: int | None = None) -> Iterator[Frame]:
        """Give frames as blue, green, red."""
        rate = 1 / self.camera.frame_s
        count = int(self.timeline.length_s * rate) if last is None else last
        for number in range(first, count):
            yield self.frame(number / rate)

    def frame(self, t: float) -> Frame:
        """Draw the frame of a moment, with what moves while the shutter is open."""
        smear_px = self.camera.motion(t) * self.width
        steps = int(np.clip(math.ceil(smear_px / 3.0), 1, 12))
        if steps == 1:
            picture = self._still(t, self.camera.pose(t))
        else:
            total = np.zeros((self.height, self.width, 3), dtype=np.float32)
            for k in range(steps):
                moment = t + self.camera.frame_s * SHUTTER * k / steps
                total += self._still(moment, self.camera.pose(moment))
            picture = (total / steps + 0.5).astype(np.uint8)
        return self._lens(picture, t)

    def _near_sheets(self, t: float) -> list[Sheet]:
        aims = self.camera.aims
        number = aims.index(self.camera.aim_at(t))
        for old in [k for k in self._sheets if k < number - 1]:
            del self._sheets[old]
        near = []
        for k in (number - 1, number):
            if k >= 0:
                if k not in self._sheets:
                    self._sheets[k] = self._paint_aim(aims[k])
                near += [s for s in self._sheets[k] if s.from_s <= t < s.until_s]
        return near

    def _paint_aim(self, aim: Aim) -> list[Sheet]:
        """Paint what a shot shows as finely as the film shows it; twice where somebody wipes the dust away."""
        if aim.see_m > 2.7:
            return []
        wide = aim.see_m * 1.24
        tall = wide * self.height / self.width * 1.04
        fine = self.width / aim.see_m * 1.12
        before_wipe = abs(aim.arrive_s - self.wiped_s) < 12 and aim.shot.side == "near"
        times = (
            ((0.0, self.wiped_s, False), (self.wiped_s, 1e9, True))
            if before_wipe
            else ((0.0, 1e9, aim.arrive_s > self.wiped_s),)
        )
        sheets = []
        for from_s, until_s, wiped in times:
            canvas = Canvas(wide, tall, fine, (0.80, 0.84, 0.87), origin=(aim.x - wide / 2, aim.y - tall / 2))
            sheets.append(_sheet(self.world.paint(canvas, wiped=wiped), feather=True, from_s=from_s, until_s=until_s))
        return sheets

    def _still(self, t: float, pose: Pose) -> Frame:
        picture, gloss = self._car(t, pose)
        if int(picture[..., 3].min()) == 255:
            out = picture[..., :3].astype(np.float32)
        else:
            out = self._before_yard(picture, pose)
        out += self._mirrored(pose) * (gloss.astype(np.float32) / np.float32(255))[..., None]
        return np.clip(self._puffs(out, t, pose), 0, 255).astype(np.uint8)

    def _car(self, t: float, pose: Pose) -> tuple[Frame, Frame]:
        """Give the world as the finest sheets show it, and its gloss."""
        px_per_m = self.width / pose.see_m
        laid: list[tuple[Sheet, NDArray[np.float32]]] = []
        whole = False
        for sheet in reversed(self._near_sheets(t)):
            if sheet.px_per_m < px_per_m * 0.3 or sheet.px_per_m > px_per_m * 9:
                continue
            k = self._edge(sheet, pose)
            if k is None:
                continue
            laid.append((sheet, k))
            if float(k.min()) >= 1.0:
                whole = True
                break
        if whole:
            picture, gloss = self._taken(laid.pop()[0], pose)
        else:
            picture, gloss = self._taken(self._base, pose)
        for sheet, k in reversed(laid):
            over, over_gloss = self._taken(sheet, pose)
            picture = _laid(picture, over, k)
            gloss = _laid(gloss[..., None], over_gloss[..., None], k)[..., 0]
        return picture, gloss

    def _before_yard(self, picture: Frame, pose: Pose) -> NDArray[np.float32]:
        far = Pose(pose.x * _BACK_SHARE + 2.2, pose.y, pose.see_m * 0.45 + 1.5, pose.turn_deg, 0)
        back, _ = self._taken(self._back, far)
        cover = picture[..., 3:].astype(np.float32) / np.float32(255)
        return np.asarray(back[..., :3] * (1 - cover) + picture[..., :3] * cover, dtype=np.float32)

    def _matrix(self, sheet_origin: tuple[float, float], scale: float, pose: Pose) -> NDArray[np.float64]:
        """Give the way from a pixel of the frame to a pixel of a sheet whose fineness is `scale`."""
        step = pose.see_m / self.width * scale
        c, s = math.cos(math.radians(pose.turn_deg)) * step, math.sin(math.radians(pose.turn_deg)) * step
        x = (pose.x - sheet_origin[0]) * scale - 0.5
        y = (pose.y - sheet_origin[1]) * scale - 0.5
        u, v = (self.width - 1) / 2, (self.height - 1) / 2
        return np.array([[c, -s, x - c * u + s * v], [s, c, y - s * u - c * v]])

    def _taken(self, sheet: Sheet, pose: Pose) -> tuple[Frame, Frame]:
        wanted = self.width / pose.see_m
        level = int(np.clip(math.floor(math.log2(max(sheet.px_per_m / wanted, 1.0)) + 0.35), 0, len(sheet.levels) - 1))
        source, mirror = sheet.levels[level]
        scale = sheet.px_per_m * source.shape[1] / sheet.levels[0][0].shape[1]
        m = self._matrix(sheet.origin, scale, pose)
        size = (self.width, self.height)
        how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        picture = cv2.warpAffine(source, m, size, flags=how, borderMode=cv2.BORDER_REPLICATE)
        gloss = cv2.warpAffine(mirror, m, size, flags=how, borderMode=cv2.BORDER_CONSTANT)
        return np.asarray(picture, dtype=np.uint8), np.asarray(gloss, dtype=np.uint8)

    def _edge(self, sheet: Sheet, pose: Pose) -> NDArray[np.float32] | None:
        if sheet.edge is None:
            return None
        m = self._matrix(sheet.origin, sheet.px_per_m, pose)
        k = cv2.warpAffine(
            sheet.edge,
            m,
            (self.width, self.height),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_CONSTANT,
        )
        return np.asarray(k, dtype=np.float32)[..., None] / np.float32(255) if k.any() else None

    def _mirrored(self, pose: Pose) -> NDArray[np.float32]:
        """Light and shade of the yard gliding over whatever is glossy, slower than the car itself."""
        step = pose.see_m / self.width
        x = pose.x * 60.0 + (np.arange(self.width, dtype=np.float32) - self.width / 2) * step * 150
        y = pose.y * 60.0 + (np.arange(self.height, dtype=np.float32) - self.height / 2) * step * 90
        # There and back again over the texture, so that it has no seam.
        gx, gy = np.meshgrid(
            np.abs(np.mod(x, 2046) - 1023).astype(np.float32), np.abs(np.mod(y, 510) - 255).astype(np.float32)
        )
        return (
            np.asarray(
                cv2.remap(self._sheen, gx, gy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT), dtype=np.float32
            )[..., None]
            * 0.55
        )

    def _puffs(self, picture: NDArray[np.float32], t: float, pose: Pose) -> NDArray[np.float32]:
        """Steam from the tail pipe: thick as it fires, thin when it has settled, gone when it is switched off."""
        fires = self.timeline.engine_start_s + self.world.script.cold_start.starter_s
        off = self.timeline.engine_off_s
        if not fires < t < off + 3:
            return picture
        x0, y0 = self.world.pipe()
        if abs(pose.x - x0) > pose.see_m:
            return picture
        small = np.zeros((self.height // 4, self.width // 4), dtype=np.float32)
        rng = np.random.default_rng(5)
        gap = 0.085
        first = max(0, int((t - fires - 2.6) / gap))
        dice = rng.random((int((off - fires) / gap) + 2, 4))
        for k in range(first, int((min(t, off) - fires) / gap) + 1):
            born = fires + k * gap
            age = t - born
            if age < 0 or age > 2.6:
                continue
            a, b, c, d = dice[k]
            thick = 0.20 * math.exp(-(born - fires) / 1.8) + 0.09 * math.exp(-(born - fires) / 9.0) + 0.028
            x = x0 + 0.03 + (0.05 + 0.20 * a) * age**0.8 + 0.02 * math.sin(age * 4 + 6 * b)
            y = y0 - 0.01 - 0.10 * age - 0.09 * age**1.5 * (0.6 + 0.8 * c) + 0.03 * (d - 0.5)
            r = 0.020 + 0.085 * age**0.75
            u = ((x - pose.x) / pose.see_m * self.width + self.width / 2) / 4
            v = ((y - pose.y) / pose.see_m * self.width + self.height / 2) / 4
            rr = r / pose.see_m * self.width / 4
            fade = thick * min(1.0, age / 0.08) * (1 - age / 2.6) ** 1.5
            blob = np.zeros_like(small)
            cv2.circle(blob, (round(u * 16), round(v * 16)), round(rr * 16), 1.0, -1, cv2.LINE_AA, shift=4)
            small += (1 - small) * cv2.GaussianBlur(blob, (0, 0), max(1.0, rr * 0.55)) * fade
        k2 = cv2.resize(small, (self.width, self.height), interpolation=cv2.INTER_LINEAR)[..., None]
        return picture + (np.asarray((236, 238, 240), dtype=np.float32) - picture) * np.clip(k2, 0, 0.92)

    def _lens(self, picture: Frame, t: float) -> Frame:
        """Defocus, the fall of light to the corners, and an exposure that breathes a little."""
        soft = self.camera.pose(t).soft * self.width
        if soft > 0.4:
            picture = np.asarray(cv2.GaussianBlur(picture, (0, 0), soft), dtype=np.uint8)
        out = picture.astype(np.float32) * self._fall
        fade = min(1.0, t / 0.5, max(0.0, (self.timeline.length_s - t) / 0.7))
        return np.asarray(np.clip(out * fade + 0.5, 0, 255), dtype=np.uint8)


def _laid(under: Frame, over: Frame, k: NDArray[np.float32]) -> Frame:
    return np.asarray(under + (over.astype(np.float32) - under) * k + 0.5, dtype=np.uint8)
