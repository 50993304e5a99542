"""Sealed files, links and private words are kept with who and when, and an end is added, never taken away."""

from __future__ import annotations

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.going_out import Edition, Occasion, PrivateKind, SealedFile
from shutline.car.schema import car_file_json
from shutline.store import Store

CAR = "corvane-ninety"
MADE = SealedFile(
    "ab" * 32, None, Occasion.OFFERED, Edition.FIRM, False, "cd" * 32, "out/\ud800", 7, 1 << 40, True, "", "Ida Quill"
)


def test_sealed_files_are_given_the_newest_first(store: Store, recording) -> None:
    first = store.add_sealed(CAR, MADE)
    second = store.add_sealed(CAR, SealedFile(**{**_fields(MADE), "number": "ef" * 32, "former": first.number}))
    assert store.sealed_files(CAR) == (second, first)
    assert (first.folder, first.byte_size, first.stamped, first.originals) == ("out/\ud800", 1 << 40, True, False)
    assert first.at < second.at
    assert second.former == first.number


def test_a_link_has_an_address_that_nobody_guesses_and_ends_when_told(store: Store, recording) -> None:
    one, other = store.add_share(CAR, author="Ida"), store.add_share(CAR, author="Ida", until="2026-12-24T00:00:00Z")
    assert len({one.token, other.token}) == 2
    assert len(one.token) == 32  # 24 bytes, six bits a letter
    assert store.share(one.token) == one
    assert store.shares(CAR) == (other, one)
    ended = store.end_share(one.token, author="Per")
    assert (ended.ended_by, ended.ended_at is not None) == ("Per", True)
    assert store.end_share(one.token, author="Ida") == ended
    assert store.share(other.token).ended_at is None
    for token in ("", "x", one.token[:-1], one.token.swapcase() + "x"):
        with pytest.raises(NotFoundError):
            store.share(token)


def test_private_words_are_in_no_car_file(store: Store, recording) -> None:
    words = store.add_private(CAR, PrivateKind.KEEPER, "Augusta Harbottle", author="Ida")
    assert store.add_private(CAR, PrivateKind.KEEPER, "Augusta Harbottle", author="Per") == words
    assert "Harbottle" not in str(car_file_json(store.car_file(CAR)))
    assert store.private_words(CAR) == (words,)
    ended = store.end_private(CAR, words.id, author="Per")
    assert (ended.words, ended.ended_by) == ("Augusta Harbottle", "Per")
    assert store.private_words(CAR) == (ended,)
    with pytest.raises(NotFoundError):
        store.end_private(CAR, 99, author="Per")


def test_nobody_is_no_author(store: Store, recording) -> None:
    for call in (
        lambda: store.add_share(CAR, author=""),
        lambda: store.add_private(CAR, PrivateKind.OTHER, "x", author="program"),
    ):
        with pytest.raises(UserError):
            call()


def _fields(sealed: SealedFile) -> dict[str, object]:
    return {name: getattr(sealed, name) for name in SealedFile.__dataclass_fields__}
