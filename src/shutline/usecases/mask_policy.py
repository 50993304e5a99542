"""What the house covers in what goes out, and how: the shipped policy with the house's own entries over it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.errors import Problem, UserError
from shutline.car.masks import KeptMask, MaskState
from shutline.usecases.kept_files import FileState
from shutline.usecases.kept_settings import KeptSettings

if TYPE_CHECKING:
    from shutline.gauge.masks.settings import Policy


@dataclass(frozen=True, slots=True)
class MaskPolicyShown:
    """The policy in force, entry by entry as its file has them, with the file, its mark and its states.

    `problems` say why the file cannot be used; then `chosen` is as shipped.
    """

    file: str
    chosen: dict[str, Any]
    mark: str
    states: tuple[FileState, ...]
    problems: tuple[Problem, ...] = ()


def mask_policy_file() -> Path:
    """Give where the house's own entries lie: ``masks.toml`` beside the settings."""
    return _KEPT.path()


def mask_policy() -> Policy:
    """Give the policy in force.

    Raises
    ------
    UserError
        The house's file cannot be read as TOML (slug ``settings-not-toml``) or holds what it may not
        (``masks-refused``).
    """
    return _KEPT.present()


def mask_policy_shown() -> MaskPolicyShown:
    """Give the policy to be shown, with what is wrong with the house's file, if anything is."""
    from shutline.gauge.masks.settings import policy_values

    shown = _KEPT.shown()
    return MaskPolicyShown(shown.file, policy_values(shown.chosen), shown.mark, shown.states, shown.problems)


def keep_mask_policy(chosen: Mapping[str, Any], *, author: str, expected: str | None = None) -> MaskPolicyShown:
    """Keep the entries that are others than the shipped ones; what stood before is kept beside them.

    Parameters
    ----------
    chosen : mapping
        Entries as the file has them; those left out are as shipped.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to.

    Raises
    ------
    UserError
        An entry may not be so (slug ``masks-refused``); `ChangedMeanwhileError` where somebody changed it.
    """
    _KEPT.keep(_policy(chosen), author=author, expected=expected)
    return mask_policy_shown()


def mask_policy_of(state: str) -> dict[str, Any]:
    """Give the policy of a former state; raises NotFoundError where there is none, UserError for a broken one."""
    from shutline.gauge.masks.settings import policy_values

    return policy_values(_KEPT.former(state))


def mask_policy_back(state: str, *, author: str, expected: str | None = None) -> MaskPolicyShown:
    """Let a former state stand again, as a new one."""
    return keep_mask_policy(mask_policy_of(state), author=author, expected=expected)


def applies(kept: KeptMask, policy: Policy) -> bool:
    """Tell whether a mask covers anything in what goes out, as the house has chosen."""
    if policy.covers == "nothing" or kept.mask.state is MaskState.STRUCK or kept.mask.kind not in policy.kinds:
        return False
    return policy.covers == "proposed" or kept.mask.state is MaskState.STANDS


def _policy(own: Mapping[str, Any]) -> Policy:
    """Lay entries over the shipped ones, held to what is allowed."""
    from shutline.gauge.masks.settings import policy_of, policy_values, shipped_policy

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


def _shipped() -> Policy:
    from shutline.gauge.masks.settings import shipped_policy

    return shipped_policy()


def _write(policy: Policy) -> str:
    from shutline.gauge.masks.settings import policy_values

    shipped = policy_values(_shipped())
    values = policy_values(policy)
    return "".join(f"{name} = {json.dumps(value)}\n" for name, value in values.items() if value != shipped[name])


_KEPT = KeptSettings(
    "masks.toml",
    read=_policy,
    shipped=_shipped,
    write=_write,
    example='covers = "stands"',
    advice="Mend the file, or move it away.",
)
