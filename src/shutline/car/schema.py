"""The car file as JSON, and the published schema that says what stands in it."""

from __future__ import annotations

import re
from typing import Any

import msgspec

from shutline.car.carfile import CarFile

FORMAT = "shutline car file"
FORMAT_VERSION = "1"
"""Raised when a reader of the old form could misread the new one; a field that is added does not raise it."""

SCHEMA_ID = f"urn:shutline:car-file:{FORMAT_VERSION}"
_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def car_file_json(car_file: CarFile) -> dict[str, Any]:
    """Give a car file in JSON's values.

    Place and device of originals cannot be in it: no record of a car file has a field for them.

    Parameters
    ----------
    car_file : CarFile
        What the store gives.

    Returns
    -------
    dict
        Valid against `car_file_schema`; fields in the order of the records, so the same car file gives the same text.
    """
    return {"format": FORMAT, "format_version": FORMAT_VERSION, **_plain(msgspec.to_builtins(car_file))}


def car_file_of(value: dict[str, Any]) -> CarFile:
    """Give the car file that JSON's values hold.

    Raises
    ------
    ValueError
        They hold none of this format version.
    """
    if value.get("format") != FORMAT or value.get("format_version") != FORMAT_VERSION:
        raise ValueError(
            f"format {value.get('format')!r}, version {value.get('format_version')!r}: "
            f"only {FORMAT!r}, version {FORMAT_VERSION!r} is read"
        )
    return msgspec.convert(value, CarFile)


def car_file_schema() -> dict[str, Any]:
    """Give the JSON Schema (draft 2020-12) of `car_file_json`, with the records' own docstrings as descriptions."""
    (root,), records = msgspec.json.schema_components([CarFile], schema_hook=_anything, ref_template="#/$defs/{name}")
    for record in records.values():
        record["description"] = _as_json(record["description"])
        if "properties" in record:
            # Every field is always written; the defaults are those of the records and of no use here.
            record["required"] = list(record["properties"])
            for field in record["properties"].values():
                field.pop("default", None)
    body = records.pop(root["$ref"].rsplit("/", 1)[1])
    first = {"format": {"const": FORMAT}, "format_version": {"const": FORMAT_VERSION}}
    return {
        "$schema": _DIALECT,
        "$id": SCHEMA_ID,
        **body,
        "properties": {**first, **body["properties"]},
        "required": [*first, *body["required"]],
        "$defs": dict(sorted(records.items())),
    }


def _as_json(docstring: str) -> str:
    """Give a docstring on one line and with JSON's words for Python's."""
    line = " ".join(docstring.split()).replace("``", "`")
    for here, there in (("None", "null"), ("True", "true"), ("False", "false")):
        line = re.sub(rf"\b{here}\b", there, line)
    return line


def _anything(kind: type) -> dict[str, Any]:
    """Describe the one field that holds values of any kind: what stood before and after a change."""
    if kind is not object:
        raise NotImplementedError(kind)
    return {"description": "Any value of JSON."}


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _plain(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value
