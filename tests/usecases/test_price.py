"""The price of a real car file: called as the comparables call it, taxed as the ledger says, moved by its figures."""

from __future__ import annotations

import math
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import msgspec
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shutline.car.errors import UserError
from shutline.car.prep_decisions import PrepKind
from shutline.ledger import Draft, Kind, Money, Party, Said
from shutline.market import Premium, Tier, fetch_of
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.comparables import kept_comparables, note_comparable
from shutline.usecases.ledger import answer_about, enter_in_ledger
from shutline.usecases.ledger_settings import ledger_rules
from shutline.usecases.market_settings import change_market_settings
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_deciding import decide_prep
from shutline.usecases.prep_plan import prep_plan
from shutline.usecases.prep_worked import PlanAsked
from shutline.usecases.price import keep_price, price
from shutline.usecases.price_car import attributes_of, called, car_as_called, seen_of
from shutline.usecases.price_report import price_report_mark, price_section
from shutline.usecases.price_shown import PriceAsked, PriceShown

CAR = "ostrel-pavane"
IDA = "Ida Quill"
DAY = date(2026, 11, 26)
WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
Nineteen sixty-eight saloon, sixty one thousand miles on it, two owners before me, twelve seventy five c c engine.

00:00:06.500 --> 00:00:10.000
There's a bubble of rust on the bottom of the nearside front wing. The nearside sill has a hole in it.

00:00:11.000 --> 00:00:14.000
The bonnet is a bit faded, that wants a polish. The seat is torn on the driver's side.
"""
PRICES = (
    ("2026-02-11", 6500, "sold", 72_000, 55, "tidy", "Pavane", "saloon"),
    ("2026-03-11", 8200, "sold", 41_000, 58, "fine", "Pavane", "saloon"),
    ("2026-04-11", 4100, "sold", 99_000, 54, "rough", "Pavane", "estate"),
    ("2026-05-11", 7000, "asked", 60_000, 57, "tidy", "Corvane", "saloon"),
    ("2026-06-11", 7600, "sold", 50_000, 52, "tidy", "Pavane", "saloon"),
    ("2026-07-11", 3900, "sold", 88_000, 60, "rough", "Corvane", "saloon"),
)


def noted(store: Store, rows: tuple[tuple[object, ...], ...] = PRICES, **more: str) -> None:
    for number, (when, amount, sold, miles, age, condition, model, body) in enumerate(rows):
        fields = {"when": when, "price": amount, "sold": sold, "mileage": miles, "condition": condition}
        note_comparable(
            store,
            {name: str(value) for name, value in fields.items()} | {"car": f"car {number}"},
            {"model": str(model), "age": str(age), "body": str(body), **more},
            author=IDA,
        )


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("price")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car=CAR, title="Ostrel Pavane, blue", by="Ida")
        noted(opened)
    return folder / "store"


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))


@pytest.fixture
def store(filmed: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(filmed, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def at(store: Store, **asked: object) -> PriceShown:
    return price(store, CAR, PriceAsked(**{"day": DAY, **asked}))  # type: ignore[arg-type]


def figure(found: PriceShown, name: str) -> float:
    return next(one.middle for one in found.figures if one.name == name)


def bid(found: PriceShown) -> int:
    return found.mosts[0].most.bid or 0


def test_the_car_is_called_as_the_comparables_call_it_and_a_person_has_the_last_word(store: Store) -> None:
    found = {one.name: one for one in at(store).attributes}
    told = {name: one.value for name, one in found.items()}
    assert told == {"age": "58", "body": "saloon", "condition": "", "mileage": "61000", "model": "Pavane"}
    assert found["model"].why == "as its title has it"
    assert "said" in found["age"].why
    assert (found["condition"].offered, found["age"].offered) == (("tidy", "rough", "fine"), ())
    said = keep_price(store, CAR, attributes={"Age": "50", " condition ": "tidy", "body": ""}, version=0, author=IDA)
    changed = at(store)
    told = {one.name: (one.value, one.kept) for one in changed.attributes}
    assert told["age"] == ("50", True)
    assert told["body"] == ("", True)
    assert told["condition"] == ("tidy", True)
    assert told["mileage"] == ("61000", False)
    assert changed.said == said
    assert changed.fetch is not None
    assert changed.fetch.outside == ("age: 50; those seen have 52 to 60",)
    assert changed.fetch.unsaid == ("body",)
    back = keep_price(store, CAR, attributes={"age": None, "body": None, "condition": None}, author="Ben Marl")
    assert (back.attributes, back.version) == ({}, 2)
    assert at(store).attributes == at(store).attributes
    with pytest.raises(StaleError):
        keep_price(store, CAR, attributes={"age": "51"}, version=1, author=IDA)


def test_names_of_facts_are_read_as_they_are_meant(store: Store) -> None:
    file = store.car_file(CAR)
    seen = seen_of(kept_comparables(store))
    assert list(called()) == list(dict.fromkeys(called()))
    more = replace(seen["age"], counts={"1.3": 2, "1,100": 1})
    litres = replace(seen["age"], counts={"1.3": 2, "2.0": 1})
    names = {"Owners": more, "former keepers": more, "engine size": more, "Year": more, "kind": seen["model"]}
    found = attributes_of(file, None, names, day=date(2030, 1, 1))
    assert {one.name: one.value for one in found} == {
        "Owners": "3",
        "former keepers": "2",
        "engine size": "1275",
        "Year": "1968",
        "kind": "Pavane",
    }
    (engine,) = attributes_of(file, None, {"engine": litres}, day=DAY)
    assert engine.value == "1.3"


def test_the_estimate_is_that_of_the_market_and_each_bridge_adds_up(store: Store) -> None:
    found = at(store)
    car = car_as_called({one.name: one.value for one in found.attributes}, where="here")
    assert found.fetch == fetch_of(kept_comparables(store), [car], today=DAY).cars[0]
    assert found.fetch is not None
    for bridge in found.fetch.bridges:
        assert bridge.start + sum(step.pounds for step in bridge.steps) == bridge.end == found.fetch.middle
    assert {one.word for one in found.conditions} == {"tidy", "fine", "rough"}
    assert all(one.held for one in found.conditions)
    assert not any(one.here for one in found.conditions)
    keep_price(store, CAR, attributes={"condition": "tidy"}, author=IDA)
    (here,) = [one for one in at(store).conditions if one.here]
    fetched = at(store).fetch
    assert fetched is not None
    assert abs(here.middle - fetched.middle) <= 1


def test_faults_are_worth_what_the_table_says_or_what_enough_prices_say(store: Store) -> None:
    found = at(store)
    assert found.fetch is not None
    plan = prep_plan(store, CAR, PlanAsked(asking_pence=100 * found.fetch.middle, curve=False))
    told = {one.found.id: one.worth for one in plan.told}
    stays = [one for one in found.findings if not one.cured]
    assert {one.found.id for one in stays} == set(told)
    for one in stays:
        worth = told[one.found.id]
        assert worth is not None
        assert one.footing == worth.footing
        assert one.likely is not None
        assert abs(100 * one.likely - worth.likely) <= 50
    assert found.prep.jobs == sum(line.chosen for line in plan.lines) > 0
    assert 100 * found.prep.mean == pytest.approx(plan.total.mean, abs=50)
    tears = tuple(
        (f"2026-0{1 + n % 9}-0{1 + n // 9}", 5000 + 900 * (n % 2) + 30 * n, "sold", 60_000 + 10 * n, 56, "tidy", *m)
        for n, m in enumerate([("Pavane", "saloon")] * 14)
    )
    for number, row in enumerate(tears):
        noted(store, (row,), tear="no" if number % 2 else "yes")
    keep_price(store, CAR, attributes={"tear": "yes"}, author=IDA)
    (tear,) = [one for one in at(store).findings if one.found.words.startswith("tear")]
    assert tear.estimated
    assert tear.footing.startswith("7 of 14 cars with tear")
    assert tear.low is not None
    assert tear.likely is not None
    assert tear.high is not None
    assert 0 <= tear.low < tear.likely < tear.high


def test_a_plan_that_cannot_be_is_not_for_nothing(store: Store) -> None:
    decide_prep(store, CAR, PrepKind.BUDGET, pence=100, author=IDA)
    found = at(store)
    assert found.prep.in_the_way
    assert prep_plan(store, CAR, PlanAsked(asking_pence=700_000, curve=False)).total.mean == 0
    assert found.prep.jobs > 0
    assert figure(found, "prep") > 100
    (prep,) = [one for one in found.figures if one.name == "prep"]
    assert "all that can be put right" in prep.whence


def test_without_one_price_nothing_is_said(store: Store, tmp_path: Path) -> None:
    with Store.open(tmp_path / "empty") as empty:
        empty.create_car("bare", title="Bare")
        found = price(empty, "bare", PriceAsked(day=DAY))
    assert (found.fetch, found.asking, found.mosts, found.figures, found.attributes) == (None, None, (), (), ())
    assert [one.slug for one in found.problems] == ["fetch-nothing"]


def test_one_price_is_enough_for_a_wide_answer(tmp_path: Path) -> None:
    with Store.open(tmp_path / "one") as one:
        one.create_car("bare", title="Bare Pavane")
        noted(one, PRICES[:1])
        found = price(one, "bare", PriceAsked(day=DAY))
    assert found.fetch is not None
    assert found.fetch.high / found.fetch.low > 2
    assert "No guarantee" in found.fetch.promise
    assert bid(found) < found.fetch.low


def test_the_asking_price_is_that_of_preparation(store: Store) -> None:
    best = at(store)
    assert best.asking is not None
    assert (best.asking.kept, best.asking.at) == (None, best.asking.asking.best.price)
    decide_prep(store, CAR, PrepKind.ASKING, pence=695_000, author=IDA)
    kept = at(store)
    assert kept.asking is not None
    assert (kept.asking.kept, kept.asking.at, kept.asking.version) == (6950.0, 6950.0, 1)
    assert (kept.prep.weighed_at, kept.prep.weighed_words) == (6950, "what is to be asked for it")
    assert figure(kept, "days") < figure(best, "days")
    tried = at(store, asking=8000)
    assert tried.asking is not None
    assert (tried.asking.kept, tried.asking.at) == (6950.0, 8000)
    assert prep_plan(store, CAR, PlanAsked(curve=False)).asking == 695_000
    decide_prep(store, CAR, PrepKind.ASKING, holds=False, author=IDA)
    assert at(store).asking == replace(best.asking, version=2)


def test_tax_is_by_what_the_ledger_knows_of_the_car(store: Store) -> None:
    sure = {"prep": 0.0, "days": 0.0, "fees": 0.0, "transport": 0.0, "warranty": 0.0, "knocked_off": 0.0}
    both = at(store, **sure)
    assert [one.tax for one in both.mosts] == ["margin", "full"]
    assert (both.taxed, both.paid) == ("not known", None)
    party = Party("Tobias Wend", "3 Quillover Lane, Merrowby")
    bought = Draft(kind=Kind.PURCHASE, day=DAY, amount=Money.of("2000"), party=party, self_billed=True, what="it")
    enter_in_ledger(store, replace(bought, car=CAR), author=IDA)
    assert (at(store).taxed, at(store).paid) == ("not known", 2000.0)
    for question in ledger_rules().questions:
        said = Said.NO if question.bars is Said.YES else Said.YES
        answer_about(store, 1, question.id, said, author=IDA)
    found = at(store, **sure)
    assert (found.taxed, [one.tax for one in found.mosts]) == ("margin", ["margin"])
    assert found.tax_words.startswith("Stock number 1. Eligible")
    assert found.fetch is not None
    most = found.mosts[0].most
    # With all else nought and tax on the margin alone, a loss begins where the price is the bid: at the tenth part.
    tenth = float(found.fetch.prices(np.array([0.1]))[0])
    assert bid(found) == pytest.approx(tenth, rel=0.005)
    assert most.loss <= 0.1 < most.loss_above
    assert [one.tax for one in at(store, tax="none").mosts] == ["none"]
    assert bid(at(store, tax="full", **sure)) == pytest.approx(tenth * 5 / 6, rel=0.005)


def test_prices_of_this_very_car_do_not_count_and_how_long_the_firms_cars_stood_does(store: Store) -> None:
    before = at(store)
    party = Party("Tobias Wend", "3 Quillover Lane, Merrowby")
    came = DAY - timedelta(days=90)
    bought = Draft(kind=Kind.PURCHASE, day=came, amount=Money.of("2000"), party=party, self_billed=True, what="it")
    enter_in_ledger(store, replace(bought, car=CAR), author=IDA)
    fields = {"when": "2026-10-01", "price": "20000", "sold": "asked", "mileage": "61000", "car": "Stock 1"}
    note_comparable(store, fields, {"model": "Pavane"}, author=IDA)
    found = at(store)
    assert found.fetch == before.fetch
    assert found.comparables == before.comparables + 1
    assert "1 price of this very car: what it will fetch is by the others." in found.left_out
    assert before.asking is not None
    assert before.asking.asking.note.startswith("Learnt from 0 cars")
    assert figure(found, "holding") < figure(before, "holding")
    decide_prep(store, CAR, PrepKind.ASKING, pence=650_000, author=IDA)
    asked = at(store, asking=6500)
    assert asked.asking is not None
    assert asked.asking.asking.note.startswith("Learnt from 1 car of the firm, 0 sold")
    # It stands for ninety days at about what it is to fetch: the next takes longer than was expected.
    assert figure(asked, "days") > figure(at(store, asking=6500, day=came), "days")


def test_a_premium_by_name_takes_from_the_bid(store: Store) -> None:
    premium = Premium((Tier(0, 10),), vat_percent=20)
    change_market_settings({"money.allowed": "0.2"}, premiums={"Dock Street": premium}, author=IDA)
    plain, there = at(store), at(store, premium="Dock Street")
    assert plain.premiums == ("Dock Street",)
    assert figure(plain, "allowed") == 20
    most = there.mosts[0].most
    assert most.bid is not None
    assert most.premium == pytest.approx(0.12 * most.bid)
    assert most.bid + most.premium <= bid(plain) + 2
    with pytest.raises(UserError) as caught:
        at(store, premium="Elsewhere")
    assert caught.value.problem.slug == "price-refused"
    keep_price(store, CAR, figures={"premium": "Dock Street", "days": 12.0}, author=IDA)
    assert (at(store).premium, figure(at(store), "days")) == ("Dock Street", 12.0)
    assert at(store, premium="").premium == ""
    assert at(store, kept=False).premium == ""
    # An auction that left the settings counts as none.
    change_market_settings({}, premiums={"Dock Street": None}, author=IDA)
    assert at(store).premium == ""


@settings(max_examples=5, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(days=st.integers(0, 300), more=st.integers(1, 60), allowed=st.floats(1, 45), less=st.floats(0.1, 0.95))
def test_holding_longer_and_allowing_less_never_raise_the_most(
    store: Store, days: int, more: int, allowed: float, less: float
) -> None:
    there = at(store, days=days, allowed=allowed)
    longer = at(store, days=days + more, allowed=allowed)
    for before, after in zip(there.mosts, longer.mosts, strict=True):
        assert (after.most.bid or 0) <= (before.most.bid or 0)
    assert bid(at(store, days=days, allowed=allowed * less)) <= bid(there)
    dear = at(store, days=days, allowed=allowed, holding=figure(there, "holding") + more)
    assert bid(dear) <= bid(there)


def test_what_stays_is_knocked_off_unless_a_condition_is_noted(store: Store) -> None:
    found = at(store)
    likely = sum(one.likely or 0 for one in found.findings if not one.cured)
    assert found.way_off == pytest.approx(likely, abs=len(found.findings))
    keep_price(store, CAR, attributes={"condition": "tidy"}, author=IDA)
    assert at(store).way_off == 0
    assert at(store, knocked_off=500).way_off == 500
    assert bid(at(store, knocked_off=500)) < bid(at(store))


def test_what_cannot_be_is_refused(store: Store) -> None:
    for asked in ({"allowed": 0.0}, {"allowed": math.nan}, {"days": -1}, {"prep": math.inf}, {"tax": "half"}):
        with pytest.raises(UserError) as caught:
            at(store, **asked)
        assert caught.value.problem.slug == "price-refused"
    for said in ({"model": "x" * 101}, {"": "x"}, {"a=b": "x"}):
        with pytest.raises(UserError) as caught:
            keep_price(store, CAR, attributes=said, author=IDA)
        assert caught.value.problem.slug == "price-refused"
    with pytest.raises(UserError) as caught:
        keep_price(store, CAR, attributes={"mileage": "many"}, author=IDA)
    assert caught.value.problem.slug == "fetch-asked"
    for figures in ({"asking": 5.0}, {"days": "soon"}, {"premium": 3.0}):
        with pytest.raises(UserError):
            keep_price(store, CAR, figures=figures, author=IDA)  # type: ignore[arg-type]
    assert store.price_said(CAR) is None


def test_what_changes_the_section_of_the_report_changes_its_mark(store: Store, tmp_path: Path) -> None:
    def mark() -> str:
        return price_report_mark(store, store.car_file(CAR))

    assert mark() == ""
    assert price_section(store, store.car_file(CAR), day=DAY) is None
    keep_price(store, CAR, attributes={"condition": "tidy"}, author=IDA)
    marks = [mark()]
    noted(store, (("2026-08-11", 9100, "sold", 20_000, 50, "fine", "Pavane", "saloon"),), colour="red")
    marks.append(mark())
    change_market_settings({"money.fees": "1,2,3"}, author=IDA)
    marks.append(mark())
    keep_price(store, CAR, figures={"days": 3.0}, author=IDA)
    marks.append(mark())
    section = price_section(store, store.car_file(CAR), day=DAY)
    assert section is not None
    assert [one.name for one in section.gauges] == ["What it will fetch", "What to ask", "The most to pay"]
    # A file of settings that cannot be read is told by who asks for the section; the mark only differs.
    (tmp_path / "market.toml").write_text("fees = = 1", encoding="utf-8")
    marks.append(mark())
    assert len(set(marks)) == len(marks) == 5
    with pytest.raises(UserError):
        price_section(store, store.car_file(CAR), day=DAY)


def test_the_same_question_has_the_same_answer(store: Store) -> None:
    first = msgspec.json.encode(at(store, allowed=5))
    assert msgspec.json.encode(at(store, allowed=5)) == first
