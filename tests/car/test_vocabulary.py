"""The vocabulary is closed and says the same as the labelled narrations it is measured on."""

import tomllib
from pathlib import Path

import pytest

from shutline.car.vocabulary import vocabulary

LABELS = Path(__file__).resolve().parents[3] / "shared/eval/vocabulary.toml"


def test_ids_are_one_name_each_and_labels_are_readable() -> None:
    words = vocabulary()

    assert all(name == part.id for name, part in words.parts.items())
    assert len({part.label for part in words.parts.values()}) == len(words.parts)
    assert not [part.label for part in words.parts.values() if "_" in part.label]


def test_a_good_condition_is_no_defect() -> None:
    assert vocabulary().is_defect("rust")
    assert not vocabulary().is_defect("sound")
    with pytest.raises(KeyError):
        vocabulary().is_defect("shiny")


@pytest.mark.skipif(not LABELS.is_file(), reason="the labelled narrations are not beside this checkout")
def test_parts_and_conditions_are_those_the_labels_use() -> None:
    labels = tomllib.loads(LABELS.read_text(encoding="utf-8"))
    words = vocabulary()

    assert {g: list(p) for g, p in labels["parts"].items()} == {
        g: [p.id for p in words.parts.values() if p.group == g] for g in words.groups
    }
    assert set(labels["conditions"]["defect"]) == {c.id for c in words.conditions.values() if c.defect}
    assert set(labels["conditions"]["good"]) == {c.id for c in words.conditions.values() if not c.defect}
