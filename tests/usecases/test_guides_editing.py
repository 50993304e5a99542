"""Guides of the user's own begun, amended and brought back: nothing is kept that would not be read."""

from __future__ import annotations

from pathlib import Path

import pytest

from shutline.car.errors import BadInputError, NotFoundError, UserError
from shutline.usecases.guides import list_guides, own_shelf, show_guide
from shutline.usecases.guides_editing import (
    check_guide,
    drop_check,
    guide_file_back,
    guide_file_of,
    guides_shown,
    keep_check,
    keep_guide_file,
    new_guide,
    shipped_bands,
)
from shutline.usecases.kept_files import ChangedMeanwhileError

CELLS = {
    "part": "sill",
    "sides": "auto",
    "look_for": 'rust under the "tonneau" strip',
    "how": "look|feel",
    "why": "water stands behind it",
    "least": "small",
    "worst": "fair",
    "best": "shown",
    "answers": "rust|blister",
}
UNDER = {**CELLS, "part": "floor", "look_for": "holes", "id": "own_floor", "answers": ""}


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_GUIDES", str(tmp_path / "guides"))
    return tmp_path / "guides"


def begun() -> str:
    return new_guide(
        "Ostrel Pavane, saloon", builds_on="monocoque_saloon", bodies="saloon|estate", clues="pavane", author="Ada"
    ).name


def test_a_guide_is_begun_added_to_and_asked(own: Path) -> None:
    name = begun()
    assert name == "ostrel_pavane_saloon"
    kept = keep_check(name, CELLS, line=None, author="Ada")
    assert kept.problems == ()
    (row,) = kept.rows
    assert (row.cells["id"], row.cells["sides"], row.cells["answers"]) == ("sill", "each", "rust|blister")
    assert (own / f"{name}.toml").read_text(encoding="utf-8").count("[[check]]") == 1
    guide = show_guide((name,))
    assert next(check for check in guide.checks if check.id == "sill").look_for == CELLS["look_for"]
    assert [one.id for one in list_guides().guides if one.own] == [name]


def test_a_check_gets_the_cautions_it_calls_for_and_keeps_what_the_form_does_not_know() -> None:
    name = begun()
    keep_check(name, {**UNDER, "look_for": "holes, and the smell of fuel"}, line=None, author="Ada")
    (row,) = guides_shown().files[0].rows
    assert row.cells["cautions"] == "lifting|fuel"
    text = guides_shown().files[0].text or ""
    keep_guide_file(name, f'{text}after = ["door_front"]\nmin_doors = 4\n', author="Ada")
    (row,) = guides_shown().files[0].rows
    keep_check(name, {**UNDER, "why": "another reason"}, line=row.first_line, author="Ada")
    (row,) = guides_shown().files[0].rows
    assert (row.values["after"], row.values["min_doors"], row.values["why"]) == (["door_front"], 4, "another reason")


def test_a_check_is_amended_and_left_out_between_others_whose_remarks_stay() -> None:
    name = begun()
    keep_check(name, CELLS, line=None, author="Ada")
    keep_check(name, UNDER, line=None, author="Ada")
    text = (guides_shown().files[0].text or "").replace(
        '[[check]]\nid = "own_floor"', '# Below.\n[[check]]\nid = "own_floor"'
    )
    keep_guide_file(name, text, author="Ada")
    first, second = guides_shown().files[0].rows
    keep_check(name, {**CELLS, "id": "sill", "worst": "large"}, line=first.first_line, author="Ada")
    shown = guides_shown().files[0]
    assert [row.cells["worst"] for row in shown.rows] == ["large", "fair"]
    assert "# Below." in (shown.text or "")
    drop_check(name, line=shown.rows[0].first_line, author="Ada")
    assert [row.cells["id"] for row in guides_shown().files[0].rows] == ["own_floor"]
    with pytest.raises(NotFoundError):
        drop_check(name, line=2, author="Ada")
    assert second.cells["id"] == "own_floor"


def test_what_is_wrong_is_refused_with_file_and_line_each_check_by_itself(own: Path) -> None:
    name = begun()
    keep_check(name, CELLS, line=None, author="Ada")
    keep_check(name, UNDER, line=None, author="Ada")
    text = guides_shown().files[0].text or ""
    wrong = text.replace('part = "sill"', 'part = "sledge"').replace('cautions = ["lifting"]', "cautions = []")
    lines = {
        word: next(number for number, line in enumerate(wrong.splitlines(), 1) if line.startswith(word))
        for word in ('part = "sledge"', "cautions")
    }
    found = check_guide(name, wrong).problems
    assert [problem.where for problem in found] == [f"{name}.toml, line {line}" for line in lines.values()]
    with pytest.raises(BadInputError, match=rf"{name}\.toml, line {next(iter(lines.values()))}:"):
        keep_guide_file(name, wrong, author="Ada")
    assert (own / f"{name}.toml").read_text(encoding="utf-8") == text
    (only,) = check_guide(name, "id = \n").problems
    assert only.where == f"{name}.toml, line 1"
    for cells, slug in (({**CELLS, "part": "sledge"}, "part"), ({**CELLS, "part": "bonnet", "sides": "each"}, "sides")):
        with pytest.raises(BadInputError, match=slug):
            keep_check(name, cells, line=None, author="Ada")


def test_every_state_is_kept_with_who_and_comes_back_after_it_was_taken_away(own: Path) -> None:
    name = begun()
    keep_check(name, CELLS, line=None, author="Bea")
    keep_guide_file(name, "", author="Ada")
    assert not (own / f"{name}.toml").exists()
    assert name not in own_shelf().guides
    gone = guides_shown().files[0]
    assert (gone.name, gone.text, [state.author for state in gone.states]) == (name, "", ["Ada", "Bea", "Ada"])
    state = gone.states[1].id
    assert "[[check]]" in guide_file_of(name, state)
    back = guide_file_back(name, state, author="Ada", expected=gone.mark)
    assert len(back.rows) == 1
    assert name in own_shelf().guides
    with pytest.raises(ChangedMeanwhileError):
        keep_guide_file(name, back.text or "", author="Ada", expected=gone.mark)


def test_a_guide_that_another_builds_on_is_not_taken_away() -> None:
    below = begun()
    new_guide("Pavane with a roof", builds_on=below, author="Ada")
    with pytest.raises(BadInputError, match=r"pavane_with_a_roof\.toml, line 4: builds_on"):
        keep_guide_file(below, "", author="Ada")


def test_one_broken_file_does_not_keep_another_from_being_mended(own: Path) -> None:
    name = begun()
    (own / "by_hand.toml").write_text('id = "by_hand"\nlabel = 3\nsource = "x"\n', encoding="utf-8")
    (own / "lonely.toml").write_text(
        'id = "lonely"\nlabel = "x"\nsort = "construction"\nbuilds_on = "nothing"\nsource = "x"\n', encoding="utf-8"
    )
    assert keep_check(name, CELLS, line=None, author="Ada").problems == ()
    shown = {file.name: file for file in guides_shown().files}
    assert [problem.where for problem in shown["by_hand"].problems] == ["by_hand.toml, line 2"]
    mended = (shown["lonely"].text or "").replace("nothing", "general")
    assert keep_guide_file("lonely", mended, author="Ada").problems == ()
    keep_guide_file("by_hand", "", author="Ada")
    assert own_shelf().guides["lonely"].builds_on == "general"


def test_bands_of_ones_own_are_kept_and_refused_alike() -> None:
    text = shipped_bands()
    assert check_guide("bands", text).problems == ()
    keep_guide_file("bands", text.replace("hours = [1, 4]", "hours = [2, 5]"), author="Ada")
    assert own_shelf().ground.bands["small"].hours == (2, 5)
    (problem,) = check_guide("bands", text.replace('id = "small"', 'id = "tiny"')).problems
    assert problem.where.startswith("bands.toml")


@pytest.mark.parametrize("name", ["../up", "Capital", "a b", "", "a__b", "x" * 61])
def test_no_file_can_be_called_anything(name: str) -> None:
    with pytest.raises(UserError) as refused:
        keep_guide_file(name, "", author="Ada")
    assert refused.value.problem.slug == "guide-file-name"


def test_a_label_that_is_taken_or_names_nothing_is_refused() -> None:
    begun()
    for label in ("Ostrel Pavane Saloon", "\N{GREEK SMALL LETTER OMEGA}"):
        with pytest.raises(UserError) as refused:
            new_guide(label, builds_on="general", author="Ada")
        assert refused.value.problem.slug == "guide-file-name"
