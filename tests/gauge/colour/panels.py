"""Two painted panels side by side, drawn with texture and noise."""

import cv2
import numpy as np

from shutline.gauge.colour.srgb import light_of_lab, signs_of

LEFT = ((2.0, 2.0), (87.0, 2.0), (87.0, 87.0), (2.0, 87.0))
RIGHT = ((92.0, 2.0), (177.0, 2.0), (177.0, 87.0), (92.0, 87.0))
SIZE = 90


def panel(
    lab: tuple[float, ...],
    rng: np.random.Generator,
    *,
    texture: float = 0.02,
    grain: float = 0.0,
    bright: float = 1.0,
    slope: float = 0.0,
) -> np.ndarray:
    """Give the light of a panel: `texture` of its light in spots of `grain` pixels, `slope` from end to end."""
    flake = rng.standard_normal((SIZE, SIZE))
    if grain:
        flake = cv2.GaussianBlur(flake, (0, 0), grain) * (2 * np.sqrt(np.pi) * grain)
    light = light_of_lab(lab) * (1 + texture * flake[..., None]) * bright
    light = light * (1 + slope * np.linspace(-0.5, 0.5, SIZE)[None, :, None])
    return light + 0.01 * light_of_lab(lab) * rng.standard_normal((SIZE, SIZE, 3))


def photograph(*lights: np.ndarray) -> np.ndarray:
    """Give panels beside one another as a picture of eight bits."""
    return np.round(255 * signs_of(np.hstack(lights))).astype(np.uint8)
