"""Countries by letters and names, held against ISO 3166 as pycountry has it; and where a car was."""

from __future__ import annotations

import csv
import random
import tomllib
from datetime import date
from importlib.resources import files

import pycountry
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.history.countries import countries, country_name, country_of
from shutline.history.marks import mark_told
from shutline.history.spans import Period, span_of
from shutline.history.stays import stays_of

DAY = date(2026, 11, 26)


def test_letters_are_those_of_iso_3166() -> None:
    assert {one.code for one in countries()} == {one.alpha_2 for one in pycountry.countries}
    assert len(countries()) == 249


def test_names_are_those_of_iso_3166_or_kept_words_for_them() -> None:
    # The database has long official names; each one's own name or short name finds the same letters, or none.
    for one in pycountry.countries:
        for name in (one.name, getattr(one, "common_name", one.name)):
            found = country_of(name)
            assert found is None or found.code == one.alpha_2, name
    found = [one for one in pycountry.countries if country_of(getattr(one, "common_name", one.name)) is not None]
    assert len(found) > 200


def test_every_country_that_the_reader_of_speech_tells_has_its_letters() -> None:
    told = tomllib.loads(files("shutline.remarks").joinpath("data/facts.toml").read_text(encoding="utf-8"))
    for name in {*told["countries"].values(), *told["natives"].values()}:
        assert country_of(name) is not None, name


@pytest.mark.parametrize(
    ("words", "code"),
    [("UK", "GB"), ("the states", "US"), ("Holland", "NL"), ("éire", "IE"), (" west  germany ", "DE"), ("im", "IM")],
)
def test_other_words_for_a_country(words: str, code: str) -> None:
    found = country_of(words)
    assert found is not None
    assert found.code == code


def test_what_is_no_country_is_none() -> None:
    assert country_of("") is country_of("the") is country_of("Atlantis") is None
    assert country_name("ZZ") == "ZZ"


def test_each_foreign_form_fits_its_example_and_not_its_counter_example() -> None:
    table = files("shutline.history").joinpath("data/foreign_marks.csv").read_text(encoding="utf-8").splitlines()
    for row in csv.DictReader(table):
        countries_of = mark_told(row["example"]).countries
        mine = next(one for one in csv.DictReader(_marks()) if one["form"] == row["form"])["country"].split(";")
        assert set(mine) <= set(countries_of), row
        assert mark_told(row["counter_example"]).form != row["form"], row


def _marks() -> list[str]:
    return files("shutline.history").joinpath("data/marks.csv").read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize(
    ("mark", "wanted"),
    [
        ("AB-123-CD", ("FR", "IT")),
        ("WOB-XY 123H", ("DE",)),
        ("131-D-4521", ("IE",)),
        ("1ABC234", ("US", "BE")),
        ("ABC 1234", ("DE", "US")),
        ("FGY 412H", ("GB",)),
        ("MAN 123", ("IM",)),
        ("J 84512", ("JE",)),
        ("?", ()),
    ],
)
def test_a_mark_tells_its_likely_countries(mark: str, wanted: tuple[str, ...]) -> None:
    told = mark_told(mark)
    assert told.countries == wanted
    assert told.country == (wanted[0] if wanted else "")
    assert all(country_of(code) is not None for code in wanted)


def was(country: str, start: str = "", until: str = "", *, lasts: bool = False) -> Period:
    return Period(country, span_of(start) if start else None, span_of(until) if until else None, lasts, "said")


def test_where_it_was_is_told_in_order() -> None:
    told = stays_of([was("GB", "1987-06", lasts=True), was("FR", "1969", "1987")], day=DAY)
    assert told.sentences == (
        "In France from 1969 to 1987 (said).",
        "In the United Kingdom from June 1987 to this day (said).",
    )
    assert told.doubts == ()


@pytest.mark.parametrize(
    ("entries", "imported", "tested", "wanted"),
    [
        ([was("FR", "1969", "1987"), was("US", "1980", "1990")], "", "", ["countries-overlap"]),
        ([was("FR", "1969", "1987")], "1985", "", ["here-while-abroad"]),
        ([was("FR", "1969", "1987")], "1987-05", "", []),
        ([was("FR", "1969", lasts=True)], "", "2016-06-10", ["here-while-abroad"]),
        ([was("FR", "1969", "2016")], "", "2016-06-10", []),
        ([was("GB", "1969", lasts=True)], "1985", "2016-06-10", []),
        ([was("FR")], "1985", "2016-06-10", []),
    ],
)
def test_what_contradicts_a_stay_is_told_where_it_is_certain(entries, imported, tested, wanted) -> None:
    told = stays_of(
        entries,
        day=DAY,
        imported=span_of(imported) if imported else None,
        tested=[date.fromisoformat(tested)] if tested else [],
    )
    assert [one.id for one in told.doubts] == wanted


dates = st.sampled_from(["", "1969", "1975-03", "1980-05-01", "2020-02-29"])
stayed = st.builds(was, st.sampled_from(["GB", "FR", "US"]), dates, dates, lasts=st.booleans())


@settings(max_examples=100, deadline=None)
@given(st.lists(stayed, max_size=5), st.integers(0, 99))
def test_the_order_of_entries_changes_nothing(entries, seed) -> None:
    tested = [date(1978, 1, 1), date(2016, 6, 10)]
    told = stays_of(entries, day=DAY, imported=span_of("1977"), tested=tested)
    shuffled = random.Random(seed).sample(entries, len(entries))
    assert stays_of(shuffled, day=DAY, imported=span_of("1977"), tested=tested[::-1]) == told
