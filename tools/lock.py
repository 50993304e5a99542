"""Pin every dependency, with hashes and without addresses, for all systems and Pythons at once.

Needs `uv` on the path. Writes requirements/runtime.txt and requirements/dev.txt.
"""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SETS = (("runtime", ("--group", "build")), ("dev", ("--group", "dev")))


def main() -> int:
    """Run the resolver once for each set."""
    for name, options in SETS:
        target = f"requirements/{name}.txt"
        command = [
            *("uv", "pip", "compile", "pyproject.toml", *options),
            *("--universal", "--python-version", "3.11", "--generate-hashes", "--no-header", "--quiet"),
            *("--output-file", target),
        ]
        subprocess.run(command, cwd=ROOT, check=True)
        print(f"wrote {target}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
