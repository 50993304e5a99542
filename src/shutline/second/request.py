"""What a service is asked: the words as data, the vocabulary, and the schema of the answer."""

from __future__ import annotations

import hashlib
import json
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any, Final

from shutline.car.findings import Drive, Found, Position, Remedy, Severity, Side
from shutline.car.vocabulary import Part, vocabulary
from shutline.second.pieces import Piece

_NAME: Final = "statements"


class Form(StrEnum):
    """How much of the protocol is asked for: a service that refuses one is asked in the next."""

    SCHEMA = "schema"
    """The answer's schema goes along as `response_format`."""
    PLAIN = "plain"
    """The schema is told in words only."""
    BARE = "bare"
    """No temperature either."""


def body(piece: Piece, *, model: str, drive: Drive, form: Form = Form.SCHEMA) -> dict[str, Any]:
    """Give the body of one request.

    Parameters
    ----------
    piece : Piece
        The words.
    model : str
        Name of the model, as the service calls it.
    drive : Drive
        Where the wheel is.
    form : Form
        How much of the protocol to use.
    """
    said = {
        "drive": drive.value,
        "lines": [
            {"line": number, "words": " ".join(piece.texts[line.first : line.end])}
            for number, line in enumerate(piece.lines, 1)
        ],
    }
    asked: dict[str, Any] = {
        "model": model,
        "messages": [
            {"role": "system", "content": system_text()},
            {"role": "user", "content": _plain(said)},
        ],
        "stream": False,
    }
    if form is not Form.BARE:
        asked["temperature"] = 0
    if form is Form.SCHEMA:
        asked["response_format"] = {
            "type": "json_schema",
            "json_schema": {"name": _NAME, "strict": True, "schema": answer_schema()},
        }
    return asked


def encoded(asked: dict[str, Any]) -> bytes:
    """Give a body as bytes; a lone surrogate, which words in a wrong encoding can bring, goes as an escape."""
    return json.dumps(asked, ensure_ascii=True).encode("ascii")


def key_of(piece: Piece, *, service: str, model: str, drive: Drive) -> str:
    """Give the hash under which an answer is kept: of the words, the model, the service, and the request whole."""
    asked = encoded(body(piece, model=model, drive=drive))
    core = f"{piece.core_first} {piece.core_end}"
    return hashlib.sha256(b"\x1f".join((service.encode(), core.encode(), asked))).hexdigest()


@cache
def system_text() -> str:
    """Give what the service is told before the words, with the vocabulary."""
    text = files("shutline.second").joinpath("data/system.txt").read_text(encoding="utf-8").strip()
    words = vocabulary()
    parts = "\n".join(f"- {part.id}: {part.label}{_marks(part)}" for part in words.parts.values())
    defects = "\n".join(f"- {c.id}: {c.meaning}" for c in words.conditions.values() if c.defect)
    good = "\n".join(f"- {c.id}: {c.meaning}" for c in words.conditions.values() if not c.defect)
    remedies = ", ".join(remedy.value for remedy in Remedy)
    return f"{text}\n\nParts\n{parts}\n\nDefects\n{defects}\n\nGood conditions\n{good}\n\nRemedies: {remedies}.\n"


@cache
def answer_schema() -> dict[str, Any]:
    """Give the JSON Schema of an answer, in the words that strict services take: all fields required, no others."""
    fields: dict[str, Any] = {
        "line": {"type": "integer"},
        "quote": {"type": "string"},
        "part": {"type": "string", "enum": list(vocabulary().parts)},
        "condition": {"type": "string", "enum": list(vocabulary().conditions)},
        "found": {"type": "string", "enum": [f.value for f in Found]},
        **{
            name: {"anyOf": [{"type": "string", "enum": [value.value for value in values]}, {"type": "null"}]}
            for name, values in (("side", Side), ("position", Position), ("severity", Severity), ("remedy", Remedy))
        },
    }
    statement = {
        "type": "object",
        "properties": fields,
        "required": list(fields),
        "additionalProperties": False,
    }
    return {
        "type": "object",
        "properties": {"statements": {"type": "array", "items": statement}},
        "required": ["statements"],
        "additionalProperties": False,
    }


def _marks(part: Part) -> str:
    marks = [word for word, has in (("sided", part.sided), ("ended", part.ended)) if has]
    return f" ({', '.join(marks)})" if marks else ""


def _plain(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)
