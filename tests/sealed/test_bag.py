from __future__ import annotations

import hashlib
import logging
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import bagit
import pytest

from shutline.car.errors import BrokenWorldError, UserError
from shutline.sealed import Packed, Payload, SealKey, check, opened_tree, pack
from shutline.sealed.check import Checked

Sealed = Callable[..., Packed]


def checked(path: Path) -> Checked:
    with opened_tree(path) as tree:
        return check(tree)


def test_the_library_of_congress_reads_a_sealed_file_as_a_valid_bag(sealed: Sealed) -> None:
    made = sealed()
    bag = bagit.Bag(str(made.folder))
    assert bag.validate()
    assert bag.version_info == (1, 0)
    assert bag.info["Source-Organization"] == "Halloran & Pike"
    assert set(bag.payload_files()) == {
        "data/car-file.json",
        "data/report.html",
        "data/originals/aa.mp4",
        "data/seal.json",
    }
    assert len(list(bag.payload_files())) == made.files


def test_the_library_of_congress_finds_a_change_too(sealed: Sealed, caplog: pytest.LogCaptureFixture) -> None:
    made = sealed()
    (made.folder / "data/report.html").write_bytes(b"<p>no rust in the nearside sill</p>")
    caplog.set_level(logging.CRITICAL)
    with pytest.raises(bagit.BagValidationError):
        bagit.Bag(str(made.folder)).validate()


@pytest.mark.parametrize("algorithms", [["sha512"], ["sha256"], ["sha256", "sha512"]])
def test_a_bag_of_the_library_of_congress_is_read(tmp_path: Path, algorithms: list[str]) -> None:
    folder = tmp_path / "theirs"
    (folder / "deep").mkdir(parents=True)
    (folder / "one.txt").write_text("one")
    (folder / "deep/two, with a name.txt").write_text("two")
    bagit.make_bag(str(folder), {"Contact-Name": "Ida Quill"}, checksums=algorithms)
    found = checked(folder)
    assert [(one.kind, one.name) for one in found.faults] == [("unsigned", "seal/signature.ed25519")]
    assert found.files == 2
    assert not found.sound
    (folder / "data/one.txt").write_text("won")
    assert ("changed", "data/one.txt") in [(one.kind, one.name) for one in checked(folder).faults]


def test_its_parts_stand_as_rfc_8493_wants_them(sealed: Sealed) -> None:
    folder = sealed().folder
    # Clauses 2.1.1, 2.1.3, 2.2.1 and 2.2.2.
    assert (folder / "bagit.txt").read_bytes() == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    lines = (folder / "manifest-sha512.txt").read_text().splitlines()
    for line in lines:
        digest, name = line.split("  ", 1)
        assert hashlib.sha512((folder / name).read_bytes()).hexdigest() == digest
    assert len(lines) == sum(path.is_file() for path in (folder / "data").rglob("*"))
    sizes = [path.stat().st_size for path in (folder / "data").rglob("*") if path.is_file()]
    assert f"Payload-Oxum: {sum(sizes)}.{len(sizes)}\n" in (folder / "bag-info.txt").read_text()


def test_the_tools_that_the_text_in_it_names_verify_it(sealed: Sealed) -> None:
    made = sealed()
    text = (made.folder / "seal/how-to-verify.txt").read_text()
    assert made.fingerprint in text
    commands = re.findall(
        r"^ {7}((?:sha512sum|openssl pkeyutl|openssl pkey|sha256sum)(?:.*\\\n)*.*)$", text, re.MULTILINE
    )
    assert len(commands) == 5
    said = {}
    for command in (one.replace("\\\n", " ") for one in commands):
        ran = subprocess.run(
            ["bash", "-c", f"set -o pipefail; {command}"], check=False, cwd=made.folder, capture_output=True, text=True
        )
        assert ran.returncode == 0, (command, ran.stderr)
        said[shlex.split(command)[1]] = ran.stdout
    assert "Signature Verified Successfully" in said["pkeyutl"]
    assert said["pkey"].startswith(made.fingerprint)
    assert said["tagmanifest-sha512.txt"].startswith(made.number)


def test_a_sealed_file_is_sound_and_named_by_its_number(sealed: Sealed) -> None:
    made = sealed()
    found = checked(made.folder)
    assert found.sound
    assert found.faults == ()
    assert (found.number, found.fingerprint) == (made.number, made.fingerprint)
    assert found.statement["occasion"] == "offered"
    assert made.byte_size == sum(path.stat().st_size for path in made.folder.rglob("*") if path.is_file())


def test_the_same_again_gives_the_same_number(sealed: Sealed) -> None:
    assert sealed("one").number == sealed("two").number


def test_what_lies_there_is_never_written_over(sealed: Sealed) -> None:
    folder = sealed().folder
    before = sorted(folder.rglob("*"))
    with pytest.raises(UserError) as refused:
        sealed()
    assert refused.value.problem.slug == "seal-there"
    assert sorted(folder.rglob("*")) == before


def test_an_original_that_is_gone_leaves_nothing(tmp_path: Path, key: SealKey) -> None:
    gone = Payload("originals/x.mp4", tmp_path / "gone.mp4", "an original")
    with pytest.raises(BrokenWorldError) as broken:
        pack(tmp_path / "out" / "bag", [gone], statement={}, info={}, key=key)
    assert broken.value.problem.slug == "seal-not-written"
    assert broken.value.problem.where.endswith("gone.mp4")
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.parametrize("name", ["../x", "/x", "a//b", "a\\b", "é.txt", "", ".hidden", "seal.json", "CAR-FILE.JSON"])
def test_a_name_that_not_every_system_takes_is_refused(tmp_path: Path, key: SealKey, name: str) -> None:
    files = [Payload("car-file.json", b"", ""), Payload(name, b"", "")]
    with pytest.raises(ValueError, match="name"):
        pack(tmp_path / "bag", files, statement={}, info={}, key=key)
    assert not (tmp_path / "bag").exists()


def test_the_key_itself_is_not_in_it(sealed: Sealed, key: SealKey) -> None:
    secret = key.path.read_bytes()
    whole = b"".join(path.read_bytes() for path in sealed().folder.rglob("*") if path.is_file())
    assert secret not in whole
    assert key.private.private_bytes_raw() not in whole
    assert key.private.private_bytes_raw().hex().encode() not in whole
    assert sys.getsizeof(whole) > 1000


class Enough(Exception):  # noqa: N818 - what a caller raises to stop is no error
    pass


def test_packing_and_checking_tell_how_far_they_are_and_read_every_byte(tmp_path: Path, key: SealKey) -> None:
    film = tmp_path / "film.mp4"
    film.write_bytes(bytes(3 << 20))
    packed: list[float] = []
    payload = [Payload("film.mp4", film, "a film"), Payload("a.json", b"{}", "a")]
    made = pack(tmp_path / "one", payload, statement={}, info={}, key=key, watch=packed.append)
    assert len(packed) >= 4
    assert packed == sorted(packed)
    assert packed[-1] == 1.0
    # A file of the same size and the same time is read all the same.
    inside = made.folder / "data/film.mp4"
    times = inside.stat()
    inside.write_bytes(bytes((3 << 20) - 1) + b"1")
    os.utime(inside, ns=(times.st_atime_ns, times.st_mtime_ns))
    read: list[float] = []
    with opened_tree(made.folder) as tree:
        found = check(tree, watch=read.append)
    assert [(one.kind, one.name) for one in found.faults] == [("changed", "data/film.mp4")]
    assert read[-1] == 1.0


def test_stopped_while_packing_leaves_nothing(tmp_path: Path, key: SealKey) -> None:
    film = tmp_path / "film.mp4"
    film.write_bytes(bytes(3 << 20))

    def stop(done: float) -> None:
        if done > 0.5:
            raise Enough

    payload = [Payload("film.mp4", film, "a film")]
    with pytest.raises(Enough):
        pack(tmp_path / "out/one", payload, statement={}, info={}, key=key, watch=stop)
    assert not list((tmp_path / "out").iterdir())


def test_an_original_that_was_changed_since_it_was_brought_in_is_not_sealed(tmp_path: Path, key: SealKey) -> None:
    film = tmp_path / "film.mp4"
    film.write_bytes(b"as it came in")
    known = hashlib.sha256(b"as it came in").hexdigest()
    payload = [Payload("film.mp4", film, "a film", known)]
    assert pack(tmp_path / "out/one", payload, statement={}, info={}, key=key).files == 2
    film.write_bytes(b"as it came IN")
    with pytest.raises(BrokenWorldError) as refused:
        pack(tmp_path / "out/two", payload, statement={}, info={}, key=key)
    assert refused.value.problem.slug == "seal-original-changed"
    assert [one.name for one in (tmp_path / "out").iterdir()] == ["one"]
