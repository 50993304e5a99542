"""The words that papers are read by: each row's example bears it out, and its counter-example does not."""

from __future__ import annotations

import csv
from importlib.resources import files

import pycountry
import pytest

from shutline.history.papers.amounts import raw_mileages, raw_money
from shutline.history.papers.folded import folded
from shutline.history.papers.tables import Country, KindWords, Label, lexicon, months, private_patterns, private_rules


def rows(name: str) -> list[dict[str, str]]:
    text = files("shutline.history.papers").joinpath(f"data/{name}").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def told(text: str, kind: type) -> list[str]:
    found = [one.meaning for one in lexicon().found(text) if isinstance(one.meaning, kind)]
    return [one.code if isinstance(one, Country) else one.words for one in found]


@pytest.mark.parametrize("row", rows("roles.csv"), ids=lambda row: row["words"])
def test_a_label_is_found_in_its_example_and_not_in_its_counter_example(row: dict[str, str]) -> None:
    assert row["words"] in told(row["example"], Label)
    assert row["words"] not in told(row["counter_example"], Label)


@pytest.mark.parametrize("row", rows("kinds.csv"), ids=lambda row: f"{row['kind']} {row['words']}")
def test_a_word_of_a_kind_is_found_in_its_example_and_not_in_its_counter_example(row: dict[str, str]) -> None:
    assert row["words"] in told(row["example"], KindWords)
    assert row["words"] not in told(row["counter_example"], KindWords)


@pytest.mark.parametrize("row", rows("countries.csv"), ids=lambda row: row["words"])
def test_countries_have_their_codes_of_iso_3166(row: dict[str, str]) -> None:
    """Against pycountry, where it knows the word; it knows names in English and official ones."""
    assert told(row["example"], Country) == [row["code"]]
    assert told(row["counter_example"], Country) == []
    assert pycountry.countries.get(alpha_2=row["code"]) is not None
    try:
        known = pycountry.countries.lookup(row["words"])
    except LookupError:
        return
    assert known.alpha_2 == row["code"]


def test_pycountry_knows_most_of_the_english_names() -> None:
    known = 0
    for row in rows("countries.csv"):
        try:
            known += pycountry.countries.lookup(row["words"]).alpha_2 == row["code"]
        except LookupError:
            continue
    assert known >= 50


def test_no_phrase_means_two_things() -> None:
    for name in ("roles.csv", "kinds.csv", "countries.csv"):
        keys = [(row.get("kind", "") if name == "kinds.csv" else "", folded(row["words"]).text) for row in rows(name)]
        twice = {key for key in keys if keys.count(key) > 1}
        assert not twice, (name, twice)


@pytest.mark.parametrize("row", rows("units.csv"), ids=lambda row: row["word"])
def test_a_unit_is_read_in_its_example(row: dict[str, str]) -> None:
    assert [one.unit for one in raw_mileages(row["example"])] == [row["unit"]]


@pytest.mark.parametrize("row", rows("currencies.csv"), ids=lambda row: f"{row['word']} {row['country']}")
def test_money_is_read_in_its_example(row: dict[str, str]) -> None:
    """Codes against pycountry's ISO 4217."""
    (found,) = raw_money(row["example"])
    assert found.ways[0][0] == 41000
    assert row["code"] in {one.code for one in found.codes}
    former = {"DEM", "FRF", "IEP"}
    assert row["code"] in former or pycountry.currencies.get(alpha_3=row["code"]) is not None


def test_there_are_twelve_months() -> None:
    assert {number for number, _ in months().values()} == set(range(1, 13))


@pytest.mark.parametrize("row", private_rules()["pattern"], ids=lambda row: row["id"])
def test_a_private_form_is_found_in_its_example_and_not_in_its_counter_example(row: dict[str, str]) -> None:
    (pattern,) = (pattern for name, _, pattern in private_patterns() if name == row["id"])
    assert pattern.search(row["example"])
    assert not pattern.search(row["counter_example"])
    assert row["source"]
