"""The most to pay: the pound is right, it never rises when something costs more, and the tax is that of the ledger."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from shutline.ledger.owed import tax_on_margin
from shutline.market.most import Most, Outlay, Premium, Tier, margin_tax, most_to_pay
from shutline.prep.model import Range

SIXTH = margin_tax(1, 6)


def fetch(chances: np.ndarray) -> np.ndarray:
    return np.exp(np.log(9000) + 0.15 * stats.norm.ppf(chances))


def most(outlay: Outlay | None = None, **given: object) -> Most:
    return most_to_pay(fetch, outlay or Outlay(), **{"allowed": 0.1, "draws": 2000, **given})  # type: ignore[arg-type]


def test_without_costs_and_tax_it_is_the_price_that_a_tenth_stays_below() -> None:
    found = most(draws=100_000)
    assert found.bid == pytest.approx(float(fetch(np.array([0.1]))[0]), abs=2)


def test_with_the_tax_of_the_margin_it_is_the_same_for_a_loss_owes_nothing() -> None:
    assert most(tax=SIXTH).bid == most().bid
    assert most(tax=SIXTH).left < most().left


def test_what_is_certain_is_taken_off_with_the_tax_that_its_margin_owes() -> None:
    # No doubt at all: 9,000 - 1/6 (9,000 - b) - 1,000 = b, so b = 7,800.
    found = most_to_pay(lambda chances: np.full_like(chances, 9000.0), Outlay(prep=1000.0), allowed=0.05, tax=SIXTH)
    assert found.bid == 7800
    assert found.loss == 0
    assert found.loss_above == 1


def test_the_tax_is_that_of_the_ledger_to_the_penny() -> None:
    # VAT notice 718: 1,500 to 2,000 owes 83.33, and the rule of the ledger for many more.
    source = np.random.default_rng(3)
    for bought, sold in [(1500, 2000), (1200, 950), *source.integers(100, 30_000, size=(200, 2)).tolist()]:
        ledger = tax_on_margin(Decimal(bought), Decimal(sold), percent=Decimal(20))
        assert float(SIXTH(np.array([float(sold)]), float(bought))[0]) == pytest.approx(float(ledger), abs=0.005001)


def test_the_premium_of_an_auction_is_taken_by_slices() -> None:
    premium = Premium((Tier(0, 12), Tier(5000, 8, 25)), vat_percent=20)
    assert premium.on(0) == 0
    assert premium.on(5000) == pytest.approx(720)
    assert premium.on(6000) == pytest.approx(1.2 * (600 + 25 + 80))
    with_premium, without = most(premium=premium), most()
    assert with_premium.bid is not None
    assert without.bid is not None
    assert with_premium.bid + premium.on(with_premium.bid) <= without.bid
    assert with_premium.bid + 1 + premium.on(with_premium.bid + 1) > without.bid


costs = st.floats(0, 3000)


@settings(max_examples=40, deadline=None)
@given(
    st.tuples(costs, costs), st.floats(0, 40), st.floats(0, 90), st.floats(0, 500), st.sampled_from([0.02, 0.1, 0.4])
)
def test_the_pound_is_exact_and_what_costs_more_never_raises_it(
    sums: tuple[float, float], holding: float, days: float, extra: float, allowed: float
) -> None:
    prep, more = sums
    given = {"allowed": allowed, "tax": SIXTH, "draws": 500, "premium": Premium((Tier(0, 5),), vat_percent=20)}
    outlay = {"prep": Range(prep, prep + 100, prep + 900), "days": Range(days, days + 20, days + 90)}
    found = most(Outlay(**outlay, holding=holding), **given)
    if found.bid is None:
        assert found.loss > allowed
    else:
        assert found.loss <= allowed < found.loss_above
    dearer = most(Outlay(**outlay, holding=holding + extra), **given)
    assert (dearer.bid or 0) <= (found.bid or 0)
    warranted = most(Outlay(**outlay, holding=holding, warranty=more), **given)
    assert (warranted.bid or 0) <= (found.bid or 0)


def test_a_firm_that_allows_less_loss_pays_no_more() -> None:
    bids = [most(Outlay(prep=Range(200, 500, 2000)), allowed=one).bid or 0 for one in (0.01, 0.05, 0.2, 0.5)]
    assert bids == sorted(bids)
    assert bids[0] < bids[-1]


def test_what_moves_it_most_is_told_by_moving_each_alone() -> None:
    found = most(Outlay(prep=Range(200, 500, 4000), transport=Range(50, 60, 80), fees=100.0))
    assert [one.name for one in found.movers] == ["fetch", "prep", "transport"]
    fixed = most(Outlay(prep=found.movers[1].high, transport=Range(50, 60, 80), fees=100.0))
    assert fixed.bid == pytest.approx(found.movers[1].at_high, abs=1)


def test_the_same_seed_gives_the_same_and_others_lie_within_the_error() -> None:
    outlay = Outlay(prep=Range(200, 500, 4000))
    assert most(outlay) == most(outlay)
    bids = [most(outlay, seed=seed, draws=10_000).bid or 0 for seed in range(8)]
    assert np.ptp(bids) < 0.02 * np.mean(bids)


def test_no_bid_where_even_nought_loses() -> None:
    found = most(Outlay(prep=20_000.0))
    assert found.bid is None
    assert found.loss == 1


@pytest.mark.parametrize(
    ("outlay", "given", "words"),
    [
        (Outlay(prep=-1.0), {}, "nought or more"),
        (Outlay(prep=Range(3, 2, 5)), {}, "rise from nought"),
        (Outlay(prep=[float("nan")]), {}, "nought or more"),
        (Outlay(), {"allowed": 0}, "between 0 and 1"),
        (Outlay(), {"draws": 10}, "100 to a million"),
    ],
)
def test_figures_that_cannot_be_are_refused(outlay: Outlay, given: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        most(outlay, **given)


def test_tiers_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="rising starts"):
        Premium((Tier(100, 5), Tier(0, 5)))
    with pytest.raises(ValueError, match="0 to 100"):
        Premium((Tier(0, -5),))
    with pytest.raises(ValueError, match="nothing below nought"):
        Premium((Tier(0, 5),), cap=-1)
