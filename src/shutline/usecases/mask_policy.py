"""What the house covers in what goes out, and how: the shipped policy with the house's own entries over it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.usecases.kept_files import look_at
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from shutline.gauge.masks.settings import Policy


def mask_policy_file() -> Path:
    """Give where the house's own entries lie: ``masks.toml`` beside the settings."""
    return settings_file().parent / "masks.toml"


def mask_policy() -> Policy:
    """Give the policy in force.

    Raises
    ------
    UserError
        The house's file cannot be read as TOML (slug ``settings-not-toml``) or holds what it may not
        (``masks-refused``).
    """
    from shutline.gauge.masks.settings import policy_of, policy_values, shipped_policy

    kept = look_at(mask_policy_file())
    if not kept.text and kept.text is not None:
        return shipped_policy()
    try:
        own = tomllib.loads(kept.text if kept.text is not None else "\0")
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None)
        raise UserError(
            Problem(
                slug="settings-not-toml",
                where=f"masks.toml, line {line}" if line else "masks.toml",
                found="it cannot be read as TOML",
                allowed='entries such as covers = "stands", in UTF-8',
                advice="Mend the file, or move it away.",
            )
        ) from error
    try:
        return policy_of({**policy_values(shipped_policy()), **own}, where="masks.toml")
    except ValueError as error:
        where, _, what = str(error).partition(": ")
        found, _, allowed = what.partition("; ")
        raise UserError(
            Problem(
                slug="masks-refused",
                where=where,
                found=found,
                allowed=allowed.removeprefix("allowed: ") or "the entries of docs/masks.md",
                advice="Mend that entry (docs/masks.md).",
            )
        ) from error
