"""Manifests of a bag: a line for each file, its digest and its name (RFC 8493, clause 2.1.3)."""

from __future__ import annotations

import re
from collections.abc import Mapping

ALGORITHM = "sha512"
MANIFEST = f"manifest-{ALGORITHM}.txt"
TAG_MANIFEST = f"tagmanifest-{ALGORITHM}.txt"
DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

SIGNATURE = "seal/signature.ed25519"
PUBLIC_KEY = "seal/public-key.pem"
TIME_STAMP = "seal/time-stamp.tsr"
HOW_TO = "seal/how-to-verify.txt"
STATEMENT = "data/seal.json"

_LINE = re.compile(r"([0-9A-Fa-f]+)[ \t]+\*?(.+)")
# Clause 2.1.3: line ends and the per cent sign itself are written by their number.
_ENCODED = (("%", "%25"), ("\r", "%0D"), ("\n", "%0A"))


def manifest_text(digests: Mapping[str, str]) -> bytes:
    r"""Write a manifest: digests in small letters, two spaces, names in the order of their letters.

    >>> manifest_text({"b": "02", "a": "01"})
    b'01  a\n02  b\n'
    """
    return "".join(f"{digests[name]}  {_encoded(name)}\n" for name in sorted(digests)).encode(
        "utf-8", "surrogateescape"
    )


def read_manifest(data: bytes) -> dict[str, str]:
    r"""Read a manifest that any program wrote; a line that is none is left out.

    >>> read_manifest(b"0A *data/x%0Ay\nnonsense\n")
    {'data/x\ny': '0a'}
    """
    found: dict[str, str] = {}
    for line in data.decode("utf-8", "surrogateescape").splitlines():
        fits = _LINE.fullmatch(line)
        if fits:
            found[_decoded(fits[2])] = fits[1].lower()
    return found


def _encoded(name: str) -> str:
    for sign, written in _ENCODED:
        name = name.replace(sign, written)
    return name


def _decoded(name: str) -> str:
    return re.sub("%(0[aAdD]|25)", lambda found: chr(int(found[1], 16)), name)
