"""`import shutline` is light, and everything it names is there."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import shutline
from shutline.car.speech import StretchOrigin, stretch_of

ROOT = Path(__file__).resolve().parents[1]


def test_every_name_of_the_library_can_be_had() -> None:
    assert all(getattr(shutline, name) for name in shutline.__all__)
    with pytest.raises(AttributeError, match="nonsense"):
        _ = shutline.nonsense


def test_importing_it_loads_no_heavy_library() -> None:
    heavy = "{'numpy', 'av', 'cv2', 'sqlalchemy', 'typer', 'rich', 'onnxruntime', 'typst', 'msgspec'}"
    code = f"import sys, shutline; sys.exit(', '.join({heavy} & set(sys.modules)) or 0)"

    loaded = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)

    assert loaded.returncode == 0, loaded.stderr


def test_the_version_is_the_one_that_is_packaged() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))

    assert shutline.__version__ == settings["project"]["version"]


def test_words_can_be_read_without_a_store() -> None:
    said = stretch_of("There is rust on the nearside sill.", 0, 3, origin=StretchOrigin.TRANSCRIPT)

    (finding,) = shutline.read([said]).findings

    assert (finding.part, finding.condition, finding.side) == ("sill", "rust", "near")
