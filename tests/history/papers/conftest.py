"""Layouts of papers, for the tests beside."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

if "paper_layouts" not in sys.modules:
    spec = importlib.util.spec_from_file_location("paper_layouts", Path(__file__).with_name("layouts.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["paper_layouts"] = module
    spec.loader.exec_module(module)
