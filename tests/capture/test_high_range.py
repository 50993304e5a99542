from __future__ import annotations

import numpy as np
import pytest

from shutline.capture.high_range import hlg_light, pq_light, to_srgb


# ITU-R BT.2100-2: the two parts of the HLG curve meet at signal 1/2, light 1/12, and signal 1 is light 1.
@pytest.mark.parametrize(("signal", "light"), [(0.0, 0.0), (0.5, 1 / 12), (1.0, 1.0)])
def test_the_hlg_curve_has_its_published_points(signal: float, light: float) -> None:
    assert float(hlg_light(np.array([signal]))[0]) == pytest.approx(light, abs=1e-6)


# ITU-R BT.2408-7, table 1 and text: 203 cd/m² at 58 %, 26 cd/m² (18 % grey) at 38 %; BT.2100: 10,000 cd/m² at 100 %.
@pytest.mark.parametrize(
    ("signal", "light", "slack"), [(0.58, 203, 4), (0.38, 26, 1), (1.0, 10_000, 1), (0.0, 0, 0.01)]
)
def test_the_pq_curve_has_its_published_points(signal: float, light: float, slack: float) -> None:
    assert float(pq_light(np.array([signal]))[0]) == pytest.approx(light, abs=slack)


@pytest.mark.parametrize("hlg", [True, False])
def test_greys_stay_grey_and_in_order(hlg: bool) -> None:
    ramp = np.repeat(np.linspace(0, 65_535, 256).astype(np.uint16)[None, :, None], 3, axis=2)
    out = to_srgb(ramp, hlg=hlg)[0].astype(int)
    assert np.ptp(out, axis=1).max() <= 1
    assert np.all(np.diff(out[:, 0]) >= 0)
