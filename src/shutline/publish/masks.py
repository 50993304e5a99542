"""What is said, with what goes out, of what was covered in it, and of what was looked for and not found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shutline.car.masks import MaskKind
from shutline.publish.naming import capitalised
from shutline.publish.wording import choose, joined, phrase


@dataclass(frozen=True, slots=True)
class MaskAccount:
    """How it stands with the masks of some pictures, or of a stretch of film, that go out.

    `pictures` is how many go out; `looked_at` in how many of them the program looked. `covered` counts masks by kind,
    `unconfirmed` those of them that nobody has confirmed or drawn; `not_found` are the kinds that were looked for and
    that nothing is covered of. `covers` as the policy has it.
    """

    pictures: int
    looked_at: int
    covered: Mapping[MaskKind, int]
    unconfirmed: int
    not_found: tuple[MaskKind, ...]
    covers: str
    film: bool = False


def mask_sentences(account: MaskAccount, *, to_stranger: bool = False) -> tuple[str, ...]:
    """Say it in plain sentences, none where no picture goes out.

    `to_stranger` tells what is covered alone: what is still to be looked at is for the house, before anything goes out.
    """
    if not account.pictures:
        return ()
    where = _where(account)
    if account.covers == "nothing":
        return (phrase("masks.nothing", where=where),)
    if to_stranger:
        return (_covered_plainly(account, where),)
    told = [_covered(account, where)]
    if account.unconfirmed:
        told.append(capitalised(choose("masks.unconfirmed", account.unconfirmed)))
    if account.film and not account.looked_at:
        told.append(phrase("masks.film_not_looked"))
    elif account.looked_at < account.pictures:
        told.append(capitalised(choose("masks.not_looked", account.pictures - account.looked_at)))
    if account.not_found and account.looked_at:
        kinds = joined([phrase(f"masks.none_{kind.value}") for kind in account.not_found])
        told.append(phrase("masks.not_found", kinds=kinds, where=_where(account)))
    return tuple(told)


def _covered(account: MaskAccount, where: str) -> str:
    kinds = [choose(f"masks.{kind.value}", count) for kind, count in account.covered.items() if count]
    if not kinds:
        return phrase("masks.covered_none", where=where)
    return phrase("masks.covered", what=joined(kinds), where=where)


def _covered_plainly(account: MaskAccount, where: str) -> str:
    """Say what is covered without a count: a mark that is followed through a film may be many masks."""
    kinds = [phrase(f"masks.some_{kind.value}") for kind, count in account.covered.items() if count]
    if not kinds:
        return phrase("masks.covered_none", where=where)
    return capitalised(phrase("masks.covered_plainly", what=joined(kinds), where=where))


def _where(account: MaskAccount) -> str:
    return phrase("masks.in_film") if account.film else choose("masks.in_pictures", account.pictures)
