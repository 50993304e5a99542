"""Take the recogniser's weights out of the wheel they came in, and check them.

Usage: python tools/take_weights.py WHEEL [--into FOLDER]

WHEEL is a file of moonshine-voice 0.1.0. Without --into the files in the source tree are compared with those in the
wheel and nothing is written.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import zipfile
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "src" / "shutline" / "speech" / "weights" / "tiny-en"
INSIDE = "moonshine_voice/assets/tiny-en/"


def read_sums(folder: Path) -> dict[str, str]:
    """Give the SHA-256 that each file should have, by name."""
    lines = (folder / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    return {name: digest for digest, name in (line.split() for line in lines)}


def main() -> int:
    """Take or compare; 0 when every file is as it should be, 1 otherwise."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("wheel", type=Path)
    parser.add_argument(
        "--into", type=Path, help="write the files to this folder; files already there must be the same"
    )
    asked = parser.parse_args()
    wrong = 0
    with zipfile.ZipFile(asked.wheel) as wheel:
        for name, wanted in read_sums(FOLDER).items():
            content = wheel.read(INSIDE + name)
            if hashlib.sha256(content).hexdigest() != wanted:
                print(f"{name}: the wheel holds another file than SHA256SUMS names; nothing was written. Give 0.1.0.")
                wrong += 1
                continue
            target = (asked.into or FOLDER) / name
            if target.exists():
                same = target.read_bytes() == content
                print(f"{name}: {'the same' if same else 'differs from the wheel'}")
                wrong += not same
            elif asked.into:
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(content)
                print(f"{name}: written")
            else:
                print(f"{name}: missing in the source tree")
                wrong += 1
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
