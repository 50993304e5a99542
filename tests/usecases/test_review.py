"""What a person decides is kept with who and when, and what was struck goes out nowhere."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import State
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm, strike, undo

WORDS = (
    "0:00 The nearside sill is rotten. The bonnet is straight. She's showing forty-one thousand two hundred miles.\n"
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    walk = tmp_path / "walk.txt"
    walk.write_text(WORDS, encoding="utf-8")
    with Store.open(tmp_path / "store") as opened:
        add(opened, [walk], car="blue")
        yield opened


def id_of(store: Store, part: str) -> str:
    return next(kept.id for kept in store.car_file("blue").findings if kept.finding.part == part)


def test_what_is_confirmed_stands_with_the_name_of_who_said_so(store: Store) -> None:
    fact = store.car_file("blue").facts[0].id

    decided = confirm(store, "bl", [id_of(store, "sill")[:8], fact], author="Ada")

    assert [kept.finding.state for kept in decided.findings] == [State.STANDS]
    assert [kept.fact.state for kept in decided.facts] == [State.STANDS]
    assert decided.findings[0].changes[-1].author == "Ada"


def test_what_is_struck_goes_out_nowhere_and_comes_back_by_undo(store: Store, tmp_path: Path) -> None:
    def page() -> str:
        made = make_report(store, "blue", out=tmp_path / "out", only=["html"])
        return Path(made.files[0].path).read_text(encoding="utf-8")

    assert "is rotten" in page()
    strike(store, "blue", [id_of(store, "sill")], author="Ada")
    assert "is rotten" not in page()
    assert "is straight" in page()
    undo(store, "blue", [id_of(store, "sill")], author="Ada")
    assert "is rotten" in page()


def test_one_unknown_id_among_several_leaves_all_as_they_were(store: Store) -> None:
    with pytest.raises(NotFoundError, match="nothing was done"):
        strike(store, "blue", [id_of(store, "sill"), "ffff0000ffff0000"], author="Ada")

    assert {kept.finding.state for kept in store.car_file("blue").findings} == {State.HEARD}


def test_an_empty_id_names_nothing(store: Store) -> None:
    with pytest.raises(NotFoundError):
        strike(store, "blue", [""], author="Ada")


def test_undo_without_a_decision_says_so(store: Store) -> None:
    with pytest.raises(UserError, match="take back"):
        undo(store, "blue", [id_of(store, "sill")], author="Ada")
