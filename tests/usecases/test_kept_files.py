"""Files that a user writes: whole, with every former state, who and when, and a way back."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from shutline.car.errors import BrokenWorldError, NotFoundError, UserError
from shutline.usecases.kept_files import BY_HAND, LARGEST, ChangedMeanwhileError, former_text, keep, look_at


def test_every_former_state_is_kept_with_who_and_comes_back(tmp_path: Path) -> None:
    file = tmp_path / "words" / "conditions.csv"
    for text, author in (("one\n", "Ida"), ("two\n", "Per"), ("", "Ida")):
        keep(file, text, author=author)
    assert not file.exists()
    kept = look_at(file)
    assert [state.author for state in kept.states] == ["Ida", "Per", "Ida"]
    assert [former_text(file, state.id) for state in kept.states] == ["", "two\n", "one\n"]
    assert [state.at for state in kept.states] == sorted((state.at for state in kept.states), reverse=True)
    keep(file, former_text(file, kept.states[2].id), author="Una")
    assert file.read_text(encoding="utf-8") == "one\n"
    assert len(look_at(file).states) == 4


def test_what_was_written_by_hand_is_kept_before_it_is_written_over(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_text("by hand\n", encoding="utf-8")
    keep(file, "kept\n", author="Ida")
    file.write_text("by hand again\n", encoding="utf-8")
    states = keep(file, "kept again\n", author="Ida").states
    assert [(state.author, former_text(file, state.id)) for state in states] == [
        ("Ida", "kept again\n"),
        (BY_HAND, "by hand again\n"),
        ("Ida", "kept\n"),
        (BY_HAND, "by hand\n"),
    ]


def test_a_change_to_another_state_is_refused_with_both(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    first = keep(file, "one\n", author="Ida")
    keep(file, "two\n", author="Per")
    with pytest.raises(ChangedMeanwhileError) as caught:
        keep(file, "three\n", author="Ida", expected=first.mark)
    assert (caught.value.present, caught.value.wanted) == ("two\n", "three\n")
    assert file.read_text(encoding="utf-8") == "two\n"


def test_of_many_changes_to_one_state_one_alone_is_taken(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    mark = keep(file, "one\n", author="Ida").mark
    refused: list[str] = []

    def change(number: int) -> None:
        try:
            keep(file, f"{number}\n" * 2000, author="Ida", expected=mark)
        except ChangedMeanwhileError:
            refused.append(str(number))

    threads = [threading.Thread(target=change, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(refused) == 7
    assert len(set(file.read_text(encoding="utf-8").split())) == 1
    assert len(look_at(file).states) == 2


def test_nothing_half_written_is_left_where_the_disk_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "house.toml"
    keep(file, "one\n", author="Ida")
    before = sorted(path.name for path in tmp_path.rglob("*"))

    def refuse(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", refuse)
        with pytest.raises(BrokenWorldError, match="No space left"):
            keep(file, "two\n", author="Ida")
    assert file.read_text(encoding="utf-8") == "one\n"
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def test_too_much_and_another_state_than_there_is_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    with pytest.raises(UserError, match="at most"):
        keep(file, "x" * (LARGEST + 1), author="Ida")
    for state in ("../../secret", "2026-01-01T00-00-00.000000Z", ""):
        with pytest.raises(NotFoundError):
            former_text(file, state)


def test_a_torn_list_of_who_loses_no_state(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    keep(file, "one\n", author="Ida")
    (tmp_path / "former" / "house.toml" / "who.json").write_text('{"2026', encoding="utf-8")
    (state,) = look_at(file).states
    assert (state.author, former_text(file, state.id)) == (BY_HAND, "one\n")
