"""The car file's JSON is what its published schema says, and nothing private can be in it."""

import dataclasses
import enum
import json
import typing
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile
from shutline.car.recordings import PrivateDetails
from shutline.car.schema import FORMAT_VERSION, SCHEMA_ID, car_file_json, car_file_of, car_file_schema

PUBLISHED = Path(__file__).resolve().parents[2] / "docs/schema/car-file.schema.json"

plain = {
    str: st.text(max_size=6),
    bool: st.booleans(),
    int: st.integers(-9, 99_999),
    float: st.floats(allow_nan=False, allow_infinity=False),
    type(None): st.none(),
    object: st.none() | st.booleans() | st.text(max_size=3) | st.lists(st.integers(0, 9), max_size=2),
}


def any_of(kind: Any) -> st.SearchStrategy[Any]:
    """Read off the records themselves what they can hold, so that a field added tomorrow is tried as well."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if kind in plain:
        return plain[kind]
    if origin is dict:
        return st.dictionaries(any_of(arguments[0]), any_of(arguments[1]), max_size=2)
    if origin is tuple:
        many = st.lists(any_of(arguments[0]), max_size=2).map(tuple)
        return many if arguments[-1] is ... else st.tuples(*(any_of(a) for a in arguments))
    if arguments:
        return st.one_of([any_of(a) for a in arguments])
    if issubclass(kind, enum.Enum):
        return st.sampled_from(kind)
    return st.builds(kind, **{name: any_of(hint) for name, hint in typing.get_type_hints(kind).items()})


def test_the_published_schema_is_current() -> None:
    assert json.loads(PUBLISHED.read_text(encoding="utf-8")) == car_file_schema(), "run tools/write_schema.py"


def test_the_schema_is_a_schema_by_an_independent_judge() -> None:
    jsonschema.Draft202012Validator.check_schema(car_file_schema())
    assert car_file_schema()["$id"] == SCHEMA_ID == f"urn:shutline:car-file:{FORMAT_VERSION}"


@settings(max_examples=40, deadline=None)
@given(any_of(CarFile))
def test_any_car_file_is_valid_and_comes_back_the_same(car_file: CarFile) -> None:
    value = car_file_json(car_file)
    jsonschema.Draft202012Validator(car_file_schema()).validate(value)
    assert car_file_of(json.loads(json.dumps(value))) == car_file


@pytest.mark.parametrize("field", ["findings", "name", "drive", "format_version"])
def test_a_car_file_without_a_field_is_not_valid(field: str) -> None:
    value = car_file_json(CarFile("a", "A", typing.get_type_hints(CarFile)["drive"]("rhd"), "2026-01-01T00:00:00.000Z"))
    jsonschema.validate(value, car_file_schema())
    del value[field]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(value, car_file_schema())


def test_another_format_version_is_refused() -> None:
    with pytest.raises(ValueError, match="version '2'"):
        car_file_of({"format": "shutline car file", "format_version": "2"})


def reached(kind: object, seen: set[type]) -> None:
    for argument in typing.get_args(kind):
        reached(argument, seen)
    if isinstance(kind, type) and dataclasses.is_dataclass(kind) and kind not in seen:
        seen.add(kind)
        for hint in typing.get_type_hints(kind).values():
            reached(hint, seen)


def test_no_field_of_a_car_file_leads_to_private_details() -> None:
    seen: set[type] = set()
    reached(CarFile, seen)
    assert len(seen) > 10
    assert PrivateDetails not in seen
    private = {field.name for field in dataclasses.fields(PrivateDetails)}
    assert not [kind for kind in seen if private & {field.name for field in dataclasses.fields(kind)}]
