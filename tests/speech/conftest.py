from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from shutline.speech.bundled import BundledRecogniser, bundled
from shutline.speech.heard import Sound

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def word_errors() -> ModuleType:
    """bench/word_errors.py, which measures for the documents too."""
    spec = importlib.util.spec_from_file_location("word_errors", ROOT / "bench" / "word_errors.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["word_errors"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def reading() -> Sound:
    """The published reading; its source stands in tests/published/two_cities.md."""
    import av

    with av.open(str(ROOT / "tests" / "published" / "two_cities.flac")) as file:
        frames = [frame.to_ndarray()[0] for frame in file.decode(audio=0)]
    return (np.concatenate(frames).astype(np.float32) / 32768.0).astype(np.float32)


@pytest.fixture(scope="session")
def recogniser() -> BundledRecogniser:
    return bundled()
