"""Words of the user's own: read with, refused by file and line, and a reason to read anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from shutline.car.errors import BadInputError
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.usecases.own_words import WORDS_VARIABLE, own_words
from shutline.usecases.read import read_words

HEADING = "id,condition,found,severity,part,phrases,source,example,counter_example"
ROW = "skanky,dirt,yes,,,skanky,house words,the carpet is skanky,the sky"


def _folder(tmp_path: Path, *lines: str, name: str = "conditions.csv") -> Path:
    tmp_path.joinpath(name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return tmp_path


def _conditions(said: str) -> set[tuple[str, str]]:
    stretches = [stretch_of(said, 0.0, 6.0, origin=StretchOrigin.TRANSCRIPT)]
    return {(finding.part, finding.condition) for finding in read_words(stretches, drive=None)[0].findings}


def test_a_row_of_ones_own_is_read_with(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = "Carpet. The carpet is skanky. Roof. No dents in it."
    assert ("carpet", "dirt") not in _conditions(said)
    monkeypatch.setenv(WORDS_VARIABLE, str(_folder(tmp_path, HEADING, ROW)))
    assert ("carpet", "dirt") in _conditions(said)


def test_no_folder_means_the_shipped_words(tmp_path: Path) -> None:
    own = own_words(tmp_path / "none")
    assert not own.rows
    assert own.edition == ""


def test_changed_rows_are_another_edition(tmp_path: Path) -> None:
    first = own_words(_folder(tmp_path, HEADING, ROW)).edition
    second = own_words(_folder(tmp_path, HEADING, ROW.replace(",skanky,house", ",skanky|grungy,house"))).edition
    assert first
    assert first != second


@pytest.mark.parametrize(
    ("lines", "name", "where", "found"),
    [
        ((HEADING, ROW.replace("dirt", "muck")), "conditions.csv", "conditions.csv:2", "the condition 'muck'"),
        (
            (HEADING, ROW, ROW.replace("skanky,dirt", "m2,dirt").replace("is skanky", "is filthy")),
            "conditions.csv",
            "conditions.csv:3",
            "no phrase of the row stands in its example",
        ),
        (
            (HEADING, ROW.replace("the sky", "a skanky sky")),
            "conditions.csv",
            "conditions.csv:2",
            "stands in its counter-example",
        ),
        ((HEADING, ROW), "colours.csv", "colours.csv", "a lexicon file called 'colours'"),
    ],
)
def test_a_wrong_row_is_refused_with_file_and_line(
    tmp_path: Path, lines: tuple[str, ...], name: str, where: str, found: str
) -> None:
    with pytest.raises(BadInputError) as caught:
        own_words(_folder(tmp_path, *lines, name=name))
    assert caught.value.problem.where == str(tmp_path / where.partition(":")[0]) + where[where.find(":") :] * (
        ":" in where
    )
    assert found in caught.value.problem.found


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    tmp_path.joinpath("parts.csv").write_bytes(b"id,part\xff")
    with pytest.raises(BadInputError):
        own_words(tmp_path)
