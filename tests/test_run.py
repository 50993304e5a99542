"""run.py explains itself and refuses what it cannot do, using nothing but the standard library."""

import ast
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def test_run_py_imports_only_the_standard_library() -> None:
    tree = ast.parse((ROOT / "run.py").read_text(encoding="utf-8"))
    names = {alias.name.split(".")[0] for n in ast.walk(tree) if isinstance(n, ast.Import) for alias in n.names}
    names |= {(n.module or "").split(".")[0] for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}

    assert names <= set(sys.stdlib_module_names)


def test_an_unknown_command_is_answered_with_the_usage_and_2() -> None:
    answer = subprocess.run([sys.executable, "run.py", "nonsense"], cwd=ROOT, check=False, capture_output=True)

    assert answer.returncode == 2
    assert b"python3 run.py COMMAND" in answer.stderr


def test_the_lock_pins_everything_with_hashes_and_names_no_address() -> None:
    for name in ("runtime", "dev"):
        text = (ROOT / f"requirements/{name}.txt").read_text(encoding="utf-8")
        pins = [line for line in text.splitlines() if line and not line.startswith((" ", "#"))]
        assert len(pins) > 20
        assert all("==" in pin and pin.endswith("\\") for pin in pins)
        assert "://" not in text
