"""The lexicon: each row fits its example and not its counter-example; wrong rows are refused by file and line."""

from __future__ import annotations

import pytest

from shutline.car.errors import BadInputError
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.lexicon import Row, build, expand, read_rows, shipped_lexicon, with_layer
from shutline.remarks.phrases import find
from shutline.remarks.tokens import tokens

ROWS = shipped_lexicon().rows
HEADING = "id,remedy,phrases,source,example,counter_example"


def _fits(row: Row, said: str) -> bool:
    text = tokens([stretch_of(said, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])
    return bool(find(text, build([row]))[row.file])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.id)
def test_row_fits_its_example_and_not_its_counter_example(row: Row) -> None:
    assert _fits(row, row.example)
    assert not _fits(row, row.counter_example)


def test_ids_are_unique_over_all_files() -> None:
    assert len({row.id for row in ROWS}) == len(ROWS)


def test_alternatives_are_spelt_out() -> None:
    assert list(expand("door rubber/seal")) == ["door rubber", "door seal"]


@pytest.mark.parametrize(
    ("lines", "where", "found"),
    [
        (["id,remedy"], "own.csv:1", "the columns"),
        ([HEADING, "a,mend,weld it,from memory,weld it,wield it"], "own.csv:2", "the remedy 'mend'"),
        ([HEADING, "a,repair,weld it,,weld it,wield it"], "own.csv:2", "nothing under source"),
        ([HEADING, "a,repair,weld it,from memory,weld it"], "own.csv:2", "5 cells"),
        (
            [HEADING, "a,repair,weld it,from memory,weld it,no", "a,repair,glue it,from memory,glue it,no"],
            "own.csv:3",
            "the id a a second time",
        ),
        ([HEADING, "a,repair,weld it||,from memory,weld it,no"], "own.csv:2", "an empty phrase"),
    ],
)
def test_wrong_rows_are_refused_with_file_and_line(lines: list[str], where: str, found: str) -> None:
    with pytest.raises(BadInputError) as caught:
        read_rows("remedies", lines, name="own.csv")
    assert caught.value.problem.where == where
    assert found in caught.value.problem.found


def test_unknown_file_is_refused() -> None:
    with pytest.raises(BadInputError):
        read_rows("smells", [HEADING], name="own.csv")


def test_a_layer_adds_rows_and_takes_the_place_of_rows_with_the_same_id() -> None:
    own = read_rows(
        "remedies",
        [
            HEADING,
            "sing,repair,sing to it,house words,you sing to it,single",
            "clean,clean,lick it,house words,lick it,like",
        ],
        name="own.csv",
    )
    layered = with_layer(shipped_lexicon(), own)
    assert len(layered.rows) == len(ROWS) + 1
    text = tokens([stretch_of("sing to it and valet it", 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])
    assert [m.rows[0].id for m in find(text, layered)["remedies"]] == ["remedies.sing"]


def test_shipped_parts_cover_the_whole_vocabulary() -> None:
    from shutline.car.vocabulary import vocabulary

    said = {part for row in ROWS if row.file == "parts" for part in row.senses}
    assert said == set(vocabulary().parts)
    meant = {c for row in ROWS if row.file == "conditions" for c in row.senses}
    assert meant == set(vocabulary().conditions)
