"""The bytes of a text file to text, whatever wrote them."""

from __future__ import annotations

import codecs
from typing import Final

from shutline.speech.cues import Complaints

_MARKED: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def decode(raw: bytes, complaints: Complaints) -> str:
    """Decode a text file; lines of the result end with a line feed.

    UTF-8 with or without its mark, UTF-16 and UTF-32 with theirs. What is none of them is guessed, and the guess is
    told: UTF-16 where every other byte is nought, UTF-8 with damage where most of its longer signs are whole, else the
    Western European code page.
    """
    return _decoded(raw, complaints).replace("\r\n", "\n").replace("\r", "\n")


def _decoded(raw: bytes, complaints: Complaints) -> str:
    for mark, name in _MARKED:
        if raw.startswith(mark):
            text = raw.decode(name, errors="replace")
            if "\N{REPLACEMENT CHARACTER}" in text:
                _damaged(text, complaints)
            return text
    sample = raw[:4000]
    if len(sample) >= 4 and sample.count(0) > len(sample) // 4:
        name = "utf-16-le" if sample[1::2].count(0) >= sample[0::2].count(0) else "utf-16-be"
        _guessed("UTF-16 without its mark", complaints)
        return raw.decode(name, errors="replace")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        text = raw.decode("utf-8", errors="replace")
    damaged = text.count("\N{REPLACEMENT CHARACTER}")
    whole = sum(ord(sign) > 127 for sign in text) - damaged
    if whole > damaged:
        _damaged(text, complaints)
        return text
    _guessed("the Western European code page (Windows 1252)", complaints)
    return raw.decode("cp1252", errors="replace")


def _guessed(what: str, complaints: Complaints) -> None:
    complaints.add(
        "encoding-guessed",
        "",
        "text that is not UTF-8",
        f"it was read as {what}",
        "Look whether accents and pound signs came out right; else save the file as UTF-8.",
    )


def _damaged(text: str, complaints: Complaints) -> None:
    line = text[: text.index("\N{REPLACEMENT CHARACTER}")].count("\n") + 1
    complaints.add(
        "encoding-guessed",
        f"line {line}",
        "bytes that are no text",
        "the rest was read; a sign stands where they were",
        "Make the file again if words are missing.",
    )
