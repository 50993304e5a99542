"""What the firm says of its market: laid over what is shipped, checked by line, handed to every sum."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shutline.car.errors import BadInputError, NotFoundError, UserError
from shutline.market import Premium, Tier, market_settings
from shutline.market.firm import Firm, IndexRow, entries
from shutline.usecases.market_settings import (
    change_market_settings,
    firm_market,
    former_market_settings,
    index_of,
    keep_market_settings,
    market_settings_shown,
)

IDA = "Ida Quill"
DOCK = Premium((Tier(0, 10), Tier(1000, 5, 20)), vat_percent=20, cap=1500, counts=True)


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    return tmp_path / "own" / "market.toml"


def test_nothing_said_is_what_is_shipped(own: Path) -> None:
    assert firm_market() == Firm()
    assert firm_market().settings == market_settings()
    assert firm_market().index is None
    shown = market_settings_shown()
    assert {one.id for one in shown.entries} == set(entries())
    assert all(one.own is None for one in shown.entries)
    assert not own.exists()


def test_every_shipped_entry_is_one_that_a_firm_may_say_too() -> None:
    everything = {one.id: one.shipped for one in market_settings_shown().entries}
    shown = keep_market_settings(Firm(own=everything), author=IDA)
    assert shown.problems == ()
    assert firm_market().settings == market_settings()


def test_what_is_said_counts_and_the_rest_is_as_shipped() -> None:
    said = {"money.interest": "9.5", "money.fees": "10, 20, 30", "told.nearest": "5", "prior.ratio": "-0.1"}
    shown = change_market_settings(said, premiums={"Dock Street": DOCK}, author=IDA)
    found = {one.id: one.own for one in shown.entries if one.own is not None}
    assert found == {"money.interest": 9.5, "money.fees": (10.0, 20.0, 30.0), "told.nearest": 5, "prior.ratio": -0.1}
    firm = firm_market()
    assert firm.premiums == {"Dock Street": DOCK}
    assert (firm.settings.money.interest, firm.settings.money.space) == (9.5, market_settings().money.space)
    assert firm.settings.money.range_of("fees").likely == 20
    # (10,000 at 9.5 % + 250 + 600 + 120) over the days of a year.
    assert firm.settings.money.holding_a_day(10_000) == pytest.approx(1_920 / 365.25)
    shown = change_market_settings({"money.interest": None}, premiums={"Dock Street": None}, author=IDA)
    assert (firm_market().premiums, firm_market().settings.money.interest) == ({}, market_settings().money.interest)
    assert former_market_settings(shown.states[1].id) == firm


BAD = [
    ("[money]\n\ninterest = 101\n", 3, "money.interest", "from 0 to 100"),
    ("[money]\ninterest = true\n", 2, "money.interest", "a number"),
    ("[money]\nfees = [3, 2, 1]\n", 2, "money.fees", "none less than the one before"),
    ("[money]\nlast_day = 10.5\n", 2, "money.last_day", "a whole number"),
    ("[prior]\nspread = nan\n", 2, "prior.spread", "a number"),
    ("[prior]\nsprad = 1\n", 2, "prior.sprad", "spread"),
    ("# ours\n[mony]\n", 2, "mony", "money"),
    ("[[premium]]\nname = 'A'\n[[premium]]\nname = 'B'\ntiers = []\n", 1, "premium.tiers", "tiers ="),
    ("[[premium]]\nname = 'A'\ntiers = [{ above = 5 }, { above = 5 }]\n", 3, "premium.tiers", "rising"),
    ("[[index]]\nday = 2026-01-01\nlevel = 0\nsource = 'x'\n", 3, "index.level", "a number"),
    ("[[index]]\nday = 2026-01-01\nlevel = 1\nsource = ''\n", 4, "index.source", "one line of words"),
    ("[[index]]\nday = 'May'\nlevel = 1\nsource = 'x'\n", 2, "index.day", "a day such as"),
]


@pytest.mark.parametrize(("text", "line", "entry", "allowed"), BAD)
def test_a_wrong_entry_is_refused_with_file_and_line(text: str, line: int, entry: str, allowed: str, own: Path) -> None:
    own.parent.mkdir()
    own.write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as caught:
        firm_market()
    problem = caught.value.problem
    assert (problem.slug, problem.where) == ("market-settings", f"market.toml, line {line}, {entry}")
    assert allowed in problem.allowed
    assert market_settings_shown().problems == (problem,)


@pytest.mark.parametrize("data", [b"\xff", b"[money\n", b"a = " + b"1" * 9000])
def test_what_is_no_toml_is_told(data: bytes, own: Path) -> None:
    own.parent.mkdir()
    own.write_bytes(data)
    with pytest.raises(UserError) as caught:
        firm_market()
    assert caught.value.problem.slug == "settings-not-toml"


@pytest.mark.parametrize(
    ("said", "found"),
    [({"money.rent": "1"}, "no such entry"), ({"money.fees": "1,2"}, "'1,2'"), ({"told.seed": "x"}, "x")],
)
def test_what_cannot_be_said_changes_nothing(said: dict[str, str], found: str, own: Path) -> None:
    with pytest.raises(UserError) as caught:
        change_market_settings(said, author=IDA)
    assert found in caught.value.problem.found
    assert not own.exists()


def test_a_change_to_another_state_is_refused() -> None:
    mark = market_settings_shown().mark
    change_market_settings({"money.interest": "9"}, author=IDA)
    with pytest.raises(UserError) as caught:
        change_market_settings({"money.interest": "8"}, author=IDA, expected=mark)
    assert caught.value.problem.slug == "stale-settings"


def test_an_index_is_a_table_of_day_level_and_source(tmp_path: Path) -> None:
    file = tmp_path / "index.csv"
    file.write_text("\ufeffDay,Level,Source\n2026-01-01,104,ours\n2025-01-01,100,theirs\n\n", encoding="utf-8")
    change_market_settings({}, index=index_of(file), author=IDA)
    firm = firm_market()
    assert firm.rows == (IndexRow(date(2025, 1, 1), 100.0, "theirs"), IndexRow(date(2026, 1, 1), 104.0, "ours"))
    assert firm.index is not None
    assert firm.index.source == "theirs; ours"
    change_market_settings({}, index=(), author=IDA)
    assert firm_market().index is None


@pytest.mark.parametrize(
    ("text", "where", "found"),
    [
        ("day,level\n", "line 1", "the headings"),
        ("day,level,source\n2026-01-01,1\n", "line 2", "2 entries"),
        ("day,level,source\n2026-01-01,x,ours\n", "line 2", "level 'x'"),
        ('day,level,source\n2026-01-01,1,"ours\n', "line 2", "unexpected end"),
        ("day,level,source\n2026-01-01,-1,ours\n", "index.csv", "-1"),
    ],
)
def test_a_wrong_row_of_an_index_is_told(text: str, where: str, found: str, tmp_path: Path) -> None:
    file = tmp_path / "index.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadInputError) as caught:
        index_of(file)
    assert where in caught.value.problem.where
    assert found in caught.value.problem.found
    with pytest.raises(NotFoundError):
        index_of(tmp_path / "nowhere.csv")


NUMBERS = st.floats(0, 100_000, allow_subnormal=False)
NAMES = st.text(st.characters(codec="utf-8"), min_size=1, max_size=20).filter(
    lambda text: text.isprintable() and text.split() and " ".join(text.split()) == text
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30, deadline=None)
@given(
    st.fixed_dictionaries({}, optional={"money.space": NUMBERS, "told.draws": st.integers(100, 200_000)}),
    st.dictionaries(
        NAMES, st.builds(lambda above, cap: Premium((Tier(above, 5, 1),), cap=cap), NUMBERS, NUMBERS), max_size=3
    ),
    st.dictionaries(st.dates(), st.tuples(st.floats(0.01, 1e6), NAMES), max_size=4),
)
def test_whatever_is_kept_reads_back_the_same(
    own_entries: dict[str, float], premiums: dict[str, Premium], rows: dict[date, tuple[float, str]]
) -> None:
    told = tuple(IndexRow(day, level, source) for day, (level, source) in sorted(rows.items()))
    keep_market_settings(Firm(own_entries, premiums, told), author=IDA)
    assert firm_market() == Firm(own_entries, premiums, told)
