from __future__ import annotations

import re
import tomllib
from importlib.resources import files

import pytest

from shutline.car.findings import FootingKind, Found, Position, Remedy, Severity, Side, State
from shutline.car.recordings import Kind
from shutline.car.vocabulary import vocabulary
from shutline.publish.naming import place_name, walk_order, zone_of
from shutline.publish.wording import choose, condition_words, joined, phrase, spelled, wording

DATA = files("shutline.publish").joinpath("data")


def test_every_condition_is_worded_found_and_not_and_unsure() -> None:
    wanted = {(condition, found) for condition in vocabulary().conditions for found in Found}
    assert set(condition_words()) == wanted
    assert all("{place}" in at_place for _, at_place in condition_words().values())


def test_a_fault_that_is_not_there_never_reads_as_there() -> None:
    for (condition, found), (short, at_place) in condition_words().items():
        if found is Found.NO:
            assert re.match(r"(No|Not|Nothing)\b", short), condition
            assert re.search(r"\b(no|not|nothing)\b", at_place), condition
        if found is Found.UNSURE:
            assert "erhaps" in short
            assert "perhaps" in at_place


def test_every_member_of_the_vocabulary_lists_has_its_word() -> None:
    for kind in FootingKind:
        assert phrase(f"footing.{kind.value}")
        assert phrase(f"footing.{kind.value}_at", moment="0:01")
    for severity in Severity:
        assert phrase(f"severity.{severity.value}")
    for remedy in Remedy:
        assert phrase(f"remedy.{remedy.value}")
    for state in (State.HEARD, State.STANDS):
        assert phrase(f"state.{state.value}")
        assert phrase(f"state.{state.value}_unsure")
    for original in Kind:
        assert phrase(f"original.{original.value}")


PUFF = (
    *("rust free", "rust-free", "immaculate", "superb", "stunning", "excellent", "perfect", "faultless", "flawless"),
    *("best", "finest", "guaranteed", "mint", "as new", "pass", "fail", "grade", "star", "score"),
)


@pytest.mark.parametrize("name", ["wording.toml", "conditions.csv", "cautions.toml", "chapters.toml", "zones.csv"])
def test_no_wording_puffs_or_grades(name: str) -> None:
    text = DATA.joinpath(name).read_text(encoding="utf-8").lower()
    text = "\n".join(line for line in text.splitlines() if not line.startswith("#"))
    assert [word for word in PUFF if re.search(rf"\b{word}\b", text)] == []


def test_every_caution_speaks_of_known_parts_and_conditions() -> None:
    rows = tomllib.loads(DATA.joinpath("cautions.toml").read_text(encoding="utf-8"))["caution"]
    assert len({row["id"] for row in rows}) == len(rows)
    for row in rows:
        assert set(row["parts"]) <= set(vocabulary().parts)
        assert set(row["conditions"]) <= set(vocabulary().conditions)
        assert row["text"].endswith(".")


@pytest.mark.parametrize(
    ("place", "name"),
    [
        (("front_wing", Side.NEAR, None), "nearside front wing"),
        (("front_wing", Side.NEAR, Position.FRONT), "nearside front wing"),
        (("rear_light", Side.BOTH, Position.REAR), "both rear lights"),
        (("arch", Side.OFF, Position.REAR), "offside rear arch"),
        (("sill", Side.BOTH, None), "both sills"),
        (("tyre", Side.BOTH, Position.BOTH), "all four tyres"),
        (("tyre", Side.BOTH, Position.FRONT), "both front tyres"),
        (("bumper", None, Position.BOTH), "front and rear bumpers"),
        (("suspension", Side.BOTH, Position.FRONT), "front suspension on both sides"),
        (("carpet", Side.OFF, None), "offside carpet"),
        (("roof", None, None), "roof"),
    ],
)
def test_places_are_called_as_people_call_them(place: tuple[str, Side | None, Position | None], name: str) -> None:
    assert place_name(*place) == name


def test_every_place_has_a_name_and_a_stretch_of_the_walk() -> None:
    for part in vocabulary().parts:
        for side in (None, *Side):
            for position in (None, *Position):
                assert place_name(part, side, position)
                assert zone_of(part, side, position).title
                walk_order(part, side, position)


def test_the_walk_goes_front_nearside_rear_offside() -> None:
    places = [
        ("bonnet", None, None),
        ("front_wing", Side.NEAR, None),
        ("sill", Side.NEAR, None),
        ("rear_wing", Side.NEAR, None),
        ("boot_lid", None, None),
        ("rear_wing", Side.OFF, None),
        ("front_wing", Side.OFF, None),
        ("engine", None, None),
        ("papers", None, None),
    ]
    assert sorted(places, key=lambda place: walk_order(*place)) == places


def test_a_side_that_was_not_said_is_not_made_up() -> None:
    assert zone_of("sill", None, None).id == "unplaced"
    assert zone_of("bumper", None, None).id == "unplaced"


def test_lists_read_as_sentences() -> None:
    assert joined([]) == ""
    assert joined(["a"]) == "a"
    assert joined(["a", "b", "c"]) == "a, b and c"
    assert joined(["a, b", "c"]) == "a, b; and c"


def test_counts_are_words_to_ten() -> None:
    assert [spelled(n) for n in (0, 1, 10, 11, 1234)] == ["none", "one", "ten", "11", "1,234"]
    assert choose("summary.fault", 1) == "one fault"


def test_no_heading_is_missing() -> None:
    assert all(wording()["headings"].values())
