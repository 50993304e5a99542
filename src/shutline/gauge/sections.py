"""Settings beside a gauge in TOML: every section and every entry that there is to be, and no other."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from typing import Any, TypeVar

from shutline.gauge.tables import bad_row, shipped

_Section = TypeVar("_Section")


def read_sections(package: str, name: str, sections: tuple[str, ...]) -> dict[str, Any]:
    """Read a file of settings that must have these sections and no others.

    Raises
    ------
    UserError
        A section is missing or unknown (slug ``gauge-row``).
    """
    raw = tomllib.loads(shipped(package, name))
    if set(raw) != set(sections):
        odd = ", ".join(sorted(set(raw) ^ set(sections)))
        raise bad_row(f"{package}/{name}", f"sections {odd} missing or unknown", ", ".join(sections))
    return raw


def section(kind: type[_Section], raw: dict[str, Any], where: str) -> _Section:
    """Make a dataclass of a section that must have its fields and no others; raises as `read_sections` does."""
    known = {field.name for field in fields(kind)}  # type: ignore[arg-type]
    if set(raw) != known:
        raise bad_row(where, f"{', '.join(sorted(set(raw) ^ known))} missing or unknown", ", ".join(sorted(known)))
    return kind(**{key: _frozen(value) for key, value in raw.items()})


def _frozen(value: Any) -> Any:
    return tuple(_frozen(item) for item in value) if isinstance(value, list) else value
