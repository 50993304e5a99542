from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

PUBLISHED = Path(__file__).parents[2] / "published"


@pytest.fixture(scope="session")
def made() -> ModuleType:
    """Engines made by arithmetic; see made_engine.py."""
    spec = importlib.util.spec_from_file_location("made_engine", Path(__file__).with_name("made_engine.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["made_engine"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def voice() -> NDArray[np.float64]:
    """A real voice reading Dickens, 44 s at 16 kHz; its source stands in tests/published/two_cities.md."""
    import av

    with av.open(str(PUBLISHED / "two_cities.flac")) as file:
        frames = [frame.to_ndarray()[0] for frame in file.decode(audio=0)]
    return np.concatenate(frames) / 32768.0
