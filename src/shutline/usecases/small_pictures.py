"""Small pictures of originals and stills, for pages that show many."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem

if TYPE_CHECKING:
    from pathlib import Path

    from shutline.store import Store


def small_of(store: Store, sha256: str) -> Path:
    """Give where the small picture of an original or a still lies; it is made once and kept, the picture untouched.

    Parameters
    ----------
    store : Store
        Where the picture is.
    sha256 : str
        Of the picture.

    Raises
    ------
    NotFoundError
        There is no such file in the store's folder (slug ``media-gone``), or it cannot be read as a picture
        (``no-small-picture``).
    UserError
        It is no SHA-256 (slug ``not-a-digest``).
    """
    from shutline.capture.originals import original_path
    from shutline.capture.small import kept_small

    places = [original_path(store.derived, sha256), original_path(store.originals, sha256)]
    source = next((path for path in places if path.is_file()), None) or store.linked_path(sha256)
    if source is None or not source.is_file():
        raise _none(
            sha256,
            slug="media-gone",
            found="there is no such file in the store's folder",
            allowed="originals and stills that the store keeps, named by the SHA-256 of their bytes",
            advice="If it was linked or moved, put it back where it was.",
        )
    small = kept_small(source, store.derived, sha256)
    if small is None:
        raise _none(
            sha256,
            slug="no-small-picture",
            found="it cannot be read as a picture",
            allowed="pictures and stills; of a film, its stills",
            advice="Open the file itself.",
        )
    return small


def _none(sha256: str, *, slug: str, found: str, allowed: str, advice: str) -> NotFoundError:
    return NotFoundError(
        Problem(slug=slug, where=f"picture {sha256[:12]}", found=found, allowed=allowed, advice=advice)
    )
