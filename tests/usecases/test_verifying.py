"""What came of a check is told in words that a stranger cannot take for more than it says."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from shutline.car.errors import BadInputError, UserError
from shutline.sealed import Packed, Payload, own_key, pack
from shutline.usecases.verifying import Verified, verify

FILES = (Payload("page/index.html", b"<p>rust in the nearside sill</p>\n", "the page"), Payload("a.json", b"{}", "a"))

Seal = Callable[..., Packed]


@pytest.fixture
def seal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Seal:
    """Seal with the key of some settings folder; the user's own is ``own``."""
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own/settings.toml"))

    def make(name: str, *, by: str = "own", **stated: object) -> Packed:
        statement = {"title": "1968 Calder Merlin", "former": None, **stated}
        return pack(tmp_path / name, FILES, statement=statement, info={}, key=own_key(tmp_path / by))

    return make


def one(path: Path, **more: str) -> Verified:
    (found,) = verify([path], **more).files  # type: ignore[arg-type]
    return found


def test_a_whole_file_by_an_unknown_key_is_not_told_as_a_success(seal: Seal) -> None:
    seal("mine")
    theirs = seal("theirs", by="stranger")
    found = one(theirs.folder)
    assert found.checked.sound
    assert not found.vouched
    assert "whose this one is, is not known here" in found.headline
    assert "as it was sealed" not in found.headline


def test_number_and_fingerprint_off_the_sheet_tell_it_from_one_that_was_signed_anew(seal: Seal) -> None:
    real, forged = seal("real", by="seller"), seal("forged", by="stranger")
    as_printed = " ".join(real.number[at : at + 8] for at in range(0, 64, 8))
    assert one(real.folder, number=as_printed).headline == "as it was sealed"
    assert one(real.folder, key_fingerprint=real.fingerprint.upper()).headline == "as it was sealed"
    found = one(forged.folder, number=as_printed)
    assert not found.checked.sound
    assert found.words == ("forged: its number is not the one you gave",)
    found = one(forged.folder, key_fingerprint=real.fingerprint)
    assert not verify([forged.folder], key_fingerprint=real.fingerprint).sound
    assert "another fingerprint than the one you gave" in found.words[0]
    with pytest.raises(UserError) as refused:
        one(real.folder, number=real.number[:17])
    assert refused.value.problem.slug == "verify-with"


def test_a_file_of_ones_own_former_key_is_known_for_ones_own(seal: Seal, tmp_path: Path) -> None:
    made = seal("mine")
    (tmp_path / "own/seal-key.pem").unlink()
    assert one(made.folder).own_key is True


def test_what_lies_besides_is_told_with_all_that_was_sealed_being_whole(seal: Seal) -> None:
    folder = seal("mine").folder
    (folder / ".DS_Store").write_bytes(b"\0")
    (folder / "data/more").mkdir()
    found = one(folder)
    assert not found.checked.sound
    assert found.headline == "all 3 files under data are as they were sealed; besides what was sealed lies"
    assert found.words == (
        ".DS_Store: it was not there when this was sealed",
        "data/more/: an empty folder that was not there when this was sealed",
    )
    assert found.checked.whole
    (folder / "data/a.json").write_bytes(b"[]")
    assert not one(folder).checked.whole
    assert one(folder).headline == "NOT as it was sealed"


def test_what_is_no_sealed_file_is_refused_and_one_that_lies_in_it_named(seal: Seal, tmp_path: Path) -> None:
    folder = seal("above/sealed-sold").folder
    with pytest.raises(BadInputError) as refused:
        one(folder.parent)
    assert refused.value.problem.slug == "seal-not-one"
    assert "one lies in it: sealed-sold" in refused.value.problem.found
    assert str(folder) in refused.value.problem.advice
    (tmp_path / "page").mkdir()
    (tmp_path / "page/index.html").write_bytes(b"a buyer's page")
    (tmp_path / "empty").mkdir()
    for path in (tmp_path / "page", tmp_path / "empty"):
        with pytest.raises(BadInputError) as refused:
            one(path)
        assert "none lies in it" in refused.value.problem.found
    packed = tmp_path / "x.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for file in sorted(folder.rglob("*")):
            archive.write(file, f"sealed-sold/{file.relative_to(folder).as_posix()}")
    assert one(packed).checked.sound
    with zipfile.ZipFile(packed, "a") as archive:
        archive.writestr("read me.txt", b"hello")
    with pytest.raises(BadInputError) as refused:
        one(packed)
    assert "one lies in it: sealed-sold" in refused.value.problem.found


def test_the_buyer_ties_sold_to_offered_with_the_two_files_that_they_have(seal: Seal) -> None:
    offered = seal("offered", edition="buyer")
    firm = seal("firm", edition="firm", former={"number": offered.number, "edition": "buyer"})
    sold = seal(
        "sold",
        edition="buyer",
        former={"number": firm.number, "edition": "firm"},
        former_alike={"number": offered.number, "edition": "buyer"},
    )
    last = verify([offered.folder, sold.folder]).files[1]
    assert last.follows is False
    row = "what is sealed for the firm and for the buyer stands in one row"
    assert last.chain == (
        f"follows {firm.number}, sealed for the firm: not given here, so nothing is said of it; {row}",
        f"the last one before it for the buyer is {offered.number}: given here, and as it was sealed",
    )
    (offered.folder / "data/a.json").write_bytes(b"[]")
    last = verify([offered.folder, sold.folder]).files[1]
    assert last.chain[1].endswith("given here, and NOT as it was sealed")


def test_a_statement_of_any_shape_is_read_without_falling_over(seal: Seal) -> None:
    odd = seal("odd", edition=["firm"], former={"number": "x", "edition": [1]}, former_alike=[2])
    assert one(odd.folder).checked.sound
