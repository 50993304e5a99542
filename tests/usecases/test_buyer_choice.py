"""What the house chooses of what goes to a buyer: refused when it is broken, kept, and brought back."""

from __future__ import annotations

from pathlib import Path

import pytest

from shutline.car.errors import UserError
from shutline.usecases.buyer_choice import (
    BuyerChoice,
    buyer_choice,
    buyer_choice_back,
    buyer_choice_file,
    buyer_choice_shown,
    keep_buyer_choice,
)


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


def test_what_is_chosen_is_kept_and_brought_back() -> None:
    assert buyer_choice() == BuyerChoice()
    chosen = BuyerChoice(silent=True, stamp="http://127.0.0.1:9/tsa")
    shown = keep_buyer_choice(chosen, author="Ida")
    assert shown.chosen == buyer_choice() == chosen
    shown = keep_buyer_choice(BuyerChoice(silent=True), author="Per", expected=shown.mark)
    former = next(state for state in shown.states if state.author == "Ida")
    assert buyer_choice_back(former.id, author="Per").chosen == chosen
    with pytest.raises(UserError):
        keep_buyer_choice(chosen, author="Ida", expected="0" * 64)


@pytest.mark.parametrize(
    ("text", "slug"),
    [
        ("silent = 1\n", "buyer-refused"),
        ('loud = "yes"\n', "buyer-refused"),
        ('stamp = "nowhere"\n', "stamp-address"),
        ("silent\n", "settings-not-toml"),
    ],
)
def test_a_broken_file_is_told(text: str, slug: str) -> None:
    buyer_choice_file().parent.mkdir(parents=True)
    buyer_choice_file().write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as refused:
        buyer_choice()
    assert refused.value.problem.slug == slug
    (problem,) = buyer_choice_shown().problems
    assert problem.slug == slug


def test_an_address_that_is_none_is_refused() -> None:
    with pytest.raises(UserError) as refused:
        keep_buyer_choice(BuyerChoice(stamp="ftp://stamps.example"), author="Ida")
    assert refused.value.problem.slug == "stamp-address"
    assert not buyer_choice_file().exists()
