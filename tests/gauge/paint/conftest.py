from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def made() -> ModuleType:
    """Cars made by arithmetic; see made_cars.py."""
    spec = importlib.util.spec_from_file_location("made_cars", Path(__file__).with_name("made_cars.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["made_cars"] = module
    spec.loader.exec_module(module)
    return module
