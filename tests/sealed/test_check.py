from __future__ import annotations

import hashlib
import os
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.errors import BadInputError, NotFoundError
from shutline.sealed import Packed, Payload, SealKey, check, opened_tree, own_key, pack
from shutline.sealed.check import Checked
from shutline.sealed.manifest import SIGNATURE
from shutline.sealed.tree import EMPTY, LINK, TWICE

Sealed = Callable[..., Packed]


def checked(path: Path, **more: object) -> Checked:
    with opened_tree(path) as tree:
        return check(tree, **more)  # type: ignore[arg-type]


def faults(path: Path) -> list[tuple[str, str, str]]:
    found = checked(path)
    assert found.sound == (not found.faults)
    return [(one.kind, one.name, one.other) for one in found.faults]


def names(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_every_byte_of_every_file_that_is_changed_is_found_and_its_file_alone_is_named(sealed: Sealed) -> None:
    folder = sealed().folder
    tried = 0
    for name in names(folder):
        path = folder / name
        whole = path.read_bytes()
        # Each byte of what the check itself stands on, each third of the rest; one bit, and all of them.
        stride = 1 if name in {SIGNATURE, "seal/public-key.pem", "tagmanifest-sha512.txt"} else 3
        for at in range(0, len(whole), stride):
            flip = 0xFF if at % 2 else 1 << (at % 8)
            path.write_bytes(whole[:at] + bytes([whole[at] ^ flip]) + whole[at + 1 :])
            # Where the signature alone does not fit, nobody can tell whether it is the signature that was changed.
            assert faults(folder) == [("misfit" if name == SIGNATURE else "changed", name, "")], (name, at)
            tried += 1
        path.write_bytes(whole)
    assert tried > 2000
    assert faults(folder) == []


def test_a_letter_in_another_case_is_found(sealed: Sealed) -> None:
    folder = sealed().folder
    for name in ("manifest-sha512.txt", "tagmanifest-sha512.txt"):
        path = folder / name
        whole = path.read_bytes()
        path.write_bytes(whole.replace(b"a", b"A", 1))
        assert faults(folder) == [("changed", name, "")]
        path.write_bytes(whole.replace(b"\n", b"\r\n"))
        assert faults(folder) == [("changed", name, "")]
        path.write_bytes(whole)


def test_every_file_that_is_dropped_is_named(sealed: Sealed) -> None:
    folder = sealed().folder
    for name in names(folder):
        whole = (folder / name).read_bytes()
        (folder / name).unlink()
        found = faults(folder)
        (folder / name).write_bytes(whole)
        empty = [one for one in found if one[0] == "not a file"]
        assert [one for one in found if one not in empty] == [("dropped", name, "")], name


def test_every_file_that_is_cut_short_or_grown_is_named(sealed: Sealed) -> None:
    folder = sealed().folder
    for name in names(folder):
        whole = (folder / name).read_bytes()
        for other in (whole[:-1], whole + b"\n", b""):
            (folder / name).write_bytes(other)
            assert faults(folder) == [("changed", name, "")], name
        (folder / name).write_bytes(whole)


@pytest.mark.parametrize(
    "name", ["data/more.txt", "more.txt", "seal/more.txt", "data/originals/.hidden", "manifest-md5.txt", "fetch.txt"]
)
def test_a_file_that_is_added_is_named(sealed: Sealed, name: str) -> None:
    folder = sealed().folder
    (folder / name).write_bytes(b"more")
    assert faults(folder) == [("added", name, "")]


def test_files_that_are_swapped_are_named_as_such(sealed: Sealed) -> None:
    folder = sealed().folder
    for one in names(folder / "data"):
        for other in names(folder / "data"):
            if one < other:
                first, second = (folder / "data" / one).read_bytes(), (folder / "data" / other).read_bytes()
                (folder / "data" / one).write_bytes(second)
                (folder / "data" / other).write_bytes(first)
                assert faults(folder) == [("swapped", f"data/{one}", f"data/{other}")]
                (folder / "data" / one).write_bytes(first)
                (folder / "data" / other).write_bytes(second)
    assert faults(folder) == []


def test_a_file_that_is_renamed_or_laid_over_another_is_named_as_such(sealed: Sealed) -> None:
    folder = sealed().folder
    (folder / "data/report.html").rename(folder / "data/Report.html")
    assert faults(folder) == [("renamed", "data/report.html", "data/Report.html")]
    (folder / "data/Report.html").rename(folder / "data/report.html")
    shutil.copy(folder / "data/report.html", folder / "data/car-file.json")
    assert faults(folder) == [("moved", "data/car-file.json", "data/report.html")]


@pytest.mark.skipif(os.name != "posix", reason="links as Unix has them")
def test_a_link_to_the_very_bytes_is_no_file(sealed: Sealed, tmp_path: Path) -> None:
    folder = sealed().folder
    (folder / "data/report.html").rename(tmp_path / "elsewhere.html")
    (folder / "data/report.html").symlink_to(tmp_path / "elsewhere.html")
    assert ("not a file", "data/report.html", "") in faults(folder)
    assert ("dropped", "data/report.html", "") in faults(folder)


MANIFEST = "manifest-sha512.txt"


def put_right(folder: Path, manifest: str, name: str) -> None:
    """Write the digest of a file as it lies there into a list."""
    path = folder / manifest
    digest = hashlib.sha512((folder / name).read_bytes()).hexdigest()
    lines = [line.split("  ") for line in path.read_text().splitlines()]
    path.write_text("".join(f"{digest if found == name else was}  {found}\n" for was, found in lines))


def test_a_list_that_was_put_right_after_a_file_was_changed_vouches_for_none(sealed: Sealed) -> None:
    folder = sealed().folder
    (folder / "data/report.html").write_bytes(b"<p>no rust</p>")
    put_right(folder, MANIFEST, "data/report.html")
    assert faults(folder) == [("changed", MANIFEST, ""), ("unvouched", MANIFEST, "")]
    (folder / MANIFEST).unlink()
    assert faults(folder) == [("dropped", MANIFEST, ""), ("unvouched", MANIFEST, "")]


def test_where_both_lists_were_put_right_the_signature_is_not_blamed_alone(sealed: Sealed) -> None:
    folder = sealed().folder
    (folder / "data/report.html").write_bytes(b"<p>no rust</p>")
    put_right(folder, MANIFEST, "data/report.html")
    put_right(folder, "tagmanifest-sha512.txt", MANIFEST)
    assert faults(folder) == [("misfit", SIGNATURE, "")]


def test_the_one_reason_why_something_is_no_file_is_told(sealed: Sealed, tmp_path: Path) -> None:
    made = sealed()
    path = zipped(made.folder, tmp_path / "x.zip")
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(path, "a") as packed:
        packed.writestr(f"{made.folder.name}/data/report.html", b"no rust")
    (made.folder / "data/more").mkdir()
    (made.folder / "data/link").symlink_to("report.html")
    told = [(one.name, one.reason) for one in checked(made.folder).faults]
    assert told == [("data/link", LINK), ("data/more/", EMPTY)]
    assert [one.reason for one in checked(path).faults if one.kind == "not a file"] == [TWICE]


def test_an_empty_folder_is_told(sealed: Sealed) -> None:
    folder = sealed().folder
    (folder / "data/more").mkdir()
    assert faults(folder) == [("not a file", "data/more/", "")]


def test_what_is_made_anew_with_another_key_does_not_pass_for_the_first(
    sealed: Sealed, tmp_path: Path, key: SealKey, small_files: tuple[Payload, ...]
) -> None:
    made = sealed()
    forged = pack(
        tmp_path / "forged",
        small_files[:1],
        statement={"car": "merlin", "former": None},
        info={},
        key=own_key(tmp_path / "another"),
    )
    assert checked(forged.folder).sound
    found = checked(forged.folder, key=key.public)
    assert [one.kind for one in found.faults] == ["another key"]
    assert not found.sound
    assert found.fingerprint != made.fingerprint
    assert found.number != made.number


def test_a_signature_of_something_else_is_told_where_files_were_changed_too(sealed: Sealed) -> None:
    folder = sealed().folder
    (folder / SIGNATURE).write_bytes(bytes(64))
    (folder / "bag-info.txt").write_bytes(b"Contact-Name: nobody\n")
    assert faults(folder) == [("changed", "bag-info.txt", ""), ("misfit", SIGNATURE, "")]


def zipped(folder: Path, path: Path) -> Path:
    with zipfile.ZipFile(path, "w") as packed:
        for name in names(folder):
            packed.write(folder / name, f"{folder.name}/{name}")
    return path


def test_the_zip_of_it_is_checked_as_the_folder_is(sealed: Sealed, tmp_path: Path) -> None:
    made = sealed()
    found = checked(zipped(made.folder, tmp_path / "x.zip"))
    assert found.sound
    assert (found.number, found.name) == (made.number, made.folder.name)
    (made.folder / "data/report.html").write_bytes(b"no rust")
    assert faults(zipped(made.folder, tmp_path / "y.zip")) == [("changed", "data/report.html", "")]


def test_a_name_that_stands_twice_in_a_zip_is_told(sealed: Sealed, tmp_path: Path) -> None:
    made = sealed()
    path = zipped(made.folder, tmp_path / "x.zip")
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(path, "a") as packed:
        packed.writestr(f"{made.folder.name}/data/report.html", b"no rust")
    assert ("not a file", "data/report.html", "") in faults(path)


def test_a_zip_that_is_damaged_is_refused_or_named(sealed: Sealed, tmp_path: Path) -> None:
    path = zipped(sealed().folder, tmp_path / "x.zip")
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BadInputError) as refused, opened_tree(path):
        pass
    assert refused.value.problem.slug == "seal-not-one"
    with pytest.raises(NotFoundError), opened_tree(tmp_path / "none"):
        pass


CHANGES = st.lists(
    st.tuples(st.sampled_from(["change", "drop", "add", "rename"]), st.integers(0, 30), st.binary(max_size=8)),
    min_size=1,
    max_size=4,
)


@settings(max_examples=60, deadline=None)
@given(changes=CHANGES)
def test_whatever_is_done_to_it_it_is_not_sound_unless_all_is_as_it_was(
    tmp_path_factory: pytest.TempPathFactory,
    key: SealKey,
    small_files: tuple[Payload, ...],
    changes: list[tuple[str, int, bytes]],
) -> None:
    folder = tmp_path_factory.mktemp("any") / "bag"
    pack(folder, small_files, statement={"former": None}, info={}, key=key)
    before = {name: (folder / name).read_bytes() for name in names(folder)}
    touched = set()
    for what, number, content in changes:
        there = names(folder)
        name = there[number % len(there)]
        touched.add(name)
        if what == "change":
            (folder / name).write_bytes(content)
        elif what == "drop":
            (folder / name).unlink()
        else:
            other = f"data/{number}.txt" if number % 2 else f"{number}.txt"
            touched.add(other)
            if what == "add":
                (folder / other).write_bytes(content)
            elif other not in there:
                (folder / name).rename(folder / other)
        if not names(folder):
            return
    after = {name: (folder / name).read_bytes() for name in names(folder)}
    found = checked(folder)
    if after == before:
        assert found.sound or [one.kind for one in found.faults] == ["not a file"]
        return
    assert not found.sound
    # Whatever differs is named, unless what tells of it was lost too: then that is.
    told = {one.name for one in found.faults} | {one.other for one in found.faults}
    differs = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    lists = {"manifest-sha512.txt", "tagmanifest-sha512.txt", "seal/signature.ed25519"}
    assert differs <= told or differs & lists & told
