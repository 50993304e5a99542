"""What the documents say is held to what the program does."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SOURCES = sorted((ROOT / "src").rglob("*.py"))


def documented_slugs() -> set[str]:
    text = (ROOT / "docs/problems.md").read_text(encoding="utf-8")
    return set(re.findall(r"^\| `([a-z0-9-]+)` \|", text, re.MULTILINE))


def test_every_problem_slug_is_documented() -> None:
    documented = documented_slugs()
    used = set()
    for path in SOURCES:
        used |= set(re.findall(r"slug=\"([a-z0-9-]+)\"", path.read_text(encoding="utf-8")))
    assert used, "no slug found in the sources: the pattern is out of date"
    assert sorted(used - documented) == []


def test_every_documented_slug_is_in_use() -> None:
    documented = documented_slugs()
    text = "\n".join(path.read_text(encoding="utf-8") for path in SOURCES)
    assert sorted(slug for slug in documented if f'"{slug}"' not in text) == []


def test_every_package_says_what_it_is_for() -> None:
    packages = sorted(p for p in (ROOT / "src/shutline").rglob("__init__.py"))
    assert len(packages) > 5
    for package in packages:
        assert re.match(r'"""[A-Z]', package.read_text(encoding="utf-8")), package


def test_every_package_stands_in_the_import_contract() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = settings["tool"]["importlinter"]["contracts"][0]["layers"]
    listed = set(re.findall(r"\w+", " ".join(layers)))
    present = {p.parent.name for p in (ROOT / "src/shutline").glob("*/__init__.py")}
    assert present <= listed


def test_decisions_are_numbered_without_gaps() -> None:
    numbers = sorted(int(p.name[:4]) for p in (ROOT / "docs/decisions").glob("*.md"))
    assert numbers == list(range(1, len(numbers) + 1))


def test_shipped_text_names_no_machine_and_no_registry() -> None:
    # Not asked of git, which a bare machine does not have; what is made by a run is left out.
    made = {".venv", ".git", "out", "build", "dist", "node_modules"}
    files = [
        path
        for path in ROOT.rglob("*")
        if path.is_file() and not any(part in made or part.endswith("_cache") for part in path.relative_to(ROOT).parts)
    ]
    odd = re.compile("|".join(("/work" + "/", "/root" + "/", "pypi" + r"\.org", "registry\\.npm" + "js")))
    texts = [path for path in files if path.suffix in {".py", ".md", ".toml", ".txt", ".csv", ".html", ".yml"}]
    assert len(texts) > 100
    assert [str(path) for path in texts if odd.search(path.read_text(encoding="utf-8"))] == []


def test_the_two_commands_of_the_readme_are_those_of_run_py() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "python3 run.py demo" in readme
    assert "python3 run.py test" in readme
    usage = subprocess.run([sys.executable, "run.py"], cwd=ROOT, check=False, capture_output=True, text=True)
    assert usage.returncode == 2
    assert " demo " in usage.stderr
    assert " test " in usage.stderr
