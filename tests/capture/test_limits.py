from __future__ import annotations

from importlib.resources import files

import pytest

from shutline.capture.limits import limits, parse_limits


def _shipped() -> str:
    return files("shutline.capture").joinpath("data/limits.toml").read_text(encoding="utf-8")


def test_the_shipped_limits_are_read_whole() -> None:
    assert limits().picture.max_megapixels == 120
    assert limits().sound.speech_band_hz == (250.0, 3400.0)


def test_an_unknown_entry_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="max_gigapixels"):
        parse_limits(_shipped().replace("[film]", "max_gigapixels = 1\n[film]"))


def test_a_missing_entry_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="jpeg_quality"):
        parse_limits(_shipped().replace("jpeg_quality = 88", ""))


def test_a_missing_section_is_refused() -> None:
    with pytest.raises(ValueError, match="picture"):
        parse_limits(_shipped().replace("[picture]", "[pictures]"))
