"""Do everything from a fresh checkout with nothing but Python: `python3 run.py demo` or `python3 run.py test`.

Makes `.venv` beside this file, installs what the lock file pins, then runs. Uses only the standard library, and uv
where it is on the path. Run again, it starts at once.
"""

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
LOWEST = (3, 11)
USAGE = """usage: python3 run.py COMMAND

  demo               read the demo recording: film in, car file and report out
  test [ARGUMENTS]   run every check and every test; ARGUMENTS go to pytest
  check              style, types and import order alone
  shutline ...       the shutline command itself, for example: python3 run.py shutline add walk.mp4
"""
CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("lint-imports",),
)


def main(arguments: list[str]) -> int:
    """Run one command; returns its exit code."""
    if sys.version_info < LOWEST:
        return _refuse(
            f"Python {sys.version.split()[0]} is too old: 3.11 or newer is needed. Install it and run again."
        )
    if not arguments or arguments[0] not in {"demo", "test", "check", "shutline"}:
        sys.stderr.write(USAGE)
        return 2
    command, *rest = arguments
    try:
        prepare("dev" if command in {"test", "check"} else "runtime")
    except subprocess.CalledProcessError as trouble:
        return _refuse(
            f"installing stopped with code {trouble.returncode}; what pip said stands above. "
            "It needs a package registry once; after that no network. Run again to go on."
        )
    if command in {"demo", "shutline"}:
        return _call("-m", "shutline", *(["demo"] if command == "demo" else []), *rest)
    failed = [" ".join(check) for check in CHECKS if _call_tool(*check)]
    # Tests wait for browsers and servers a third of their time: half as many again as there are cores have work.
    workers = str(max(2, (os.cpu_count() or 2) * 3 // 2))
    usual = ("-n", workers, "--dist", "loadfile", "--durations", "40", "--durations-min", "5")
    if command == "test" and _call("-m", "pytest", *(rest or usual)):
        failed.append("pytest")
    return _refuse(f"not clean: {', '.join(failed)}") if failed else 0


def prepare(which: str) -> None:
    """Make `.venv` hold what requirements/`which`.txt pins, unless it does already.

    Parameters
    ----------
    which : str
        ``runtime`` or ``dev``; the second holds the first.

    Raises
    ------
    subprocess.CalledProcessError
        When an install fails. The stamp is written last, so the next run goes on.
    """
    wanted = _stamp(which)
    stamp = VENV / "installed.txt"
    have = stamp.read_text(encoding="utf-8").split() if stamp.is_file() else []
    if wanted in have or (which == "runtime" and _stamp("dev") in have):
        return
    if not _python().is_file() or not _runs():
        print(f"making {VENV.name} …", flush=True)
        # Without pip: some systems ship Python without the parts that put pip in; ours lies in requirements/.
        venv.create(VENV, clear=True, with_pip=False, symlinks=os.name != "nt")
    print(f"installing the {which} set …", flush=True)
    pins = ("--no-deps", "--require-hashes", "-r", str(ROOT / "requirements" / f"{which}.txt"))
    own = ("--no-deps", "--no-build-isolation", "-e", str(ROOT))
    _install(*pins)
    _install(*own)
    stamp.write_text("\n".join([wanted] if which == "dev" else [*have, wanted]), encoding="utf-8")


def _install(*arguments: str) -> None:
    uv = shutil.which("uv")
    if uv:
        command = [uv, "pip", "install", "--quiet", "--python", str(_python()), *arguments]
    else:
        pip = next((ROOT / "requirements").glob("pip-*.whl"))
        command = [str(_python()), f"{pip}/pip", "install", "--quiet", "--disable-pip-version-check"]
        command += ["--no-warn-script-location", *arguments]
    # Our own editable install builds in this environment: its build tool must be found there.
    path = f"{_python().parent}{os.pathsep}{os.environ.get('PATH', '')}"
    subprocess.run(command, check=True, cwd=ROOT, env={**os.environ, "PATH": path})


def _stamp(which: str) -> str:
    parts = [(ROOT / name).read_bytes() for name in (f"requirements/{which}.txt", "pyproject.toml")]
    parts.append(f"{sys.version_info[:2]} {ROOT}".encode())
    return f"{which}-{hashlib.sha256(b'|'.join(parts)).hexdigest()}"


def _python() -> Path:
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def _runs() -> bool:
    same = f"import sys; sys.exit(sys.version_info[:2] != {sys.version_info[:2]})"
    return subprocess.run([str(_python()), "-c", same], check=False, capture_output=True).returncode == 0


def _call(*arguments: str) -> int:
    # Tests run side by side: more threads than cores would only wait for one another.
    alone = {"OPENBLAS_NUM_THREADS": "1"} if "pytest" in arguments else {}
    return subprocess.run([str(_python()), *arguments], check=False, cwd=ROOT, env={**os.environ, **alone}).returncode


def _call_tool(name: str, *arguments: str) -> int:
    tool = _python().parent / (f"{name}.exe" if os.name == "nt" else name)
    return subprocess.run([str(tool), *arguments], check=False, cwd=ROOT).returncode


def _refuse(sentence: str) -> int:
    sys.stderr.write(f"run.py: {sentence}\n")
    return 1


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.stderr.write("\nstopped; run the same command again to go on\n")
        sys.exit(130)
