"""Which edition of the reader this is: what it reads with, in one short name."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files

from shutline.car.version import VERSION


@cache
def edition() -> str:
    """Give a name that changes with the program's version, the lexicon or the weights: 16 hexadecimal digits.

    A recording that was read by another edition is read anew.
    """
    digest = hashlib.sha256(VERSION.encode())
    data = files("shutline.remarks").joinpath("data")
    for file in sorted(data.iterdir(), key=lambda file: file.name):
        digest.update(file.name.encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()[:16]
