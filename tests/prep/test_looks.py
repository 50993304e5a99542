"""What a look is worth before deciding: against a decision by hand and a textbook's, and never below nought."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.prep.looks import LEAVE, Look, Ways, looks_of
from shutline.prep.model import NOUGHT, Cure, Job, Range, Task, Worse


def fixed(value: float) -> Range:
    return Range(value, value, value)


def task(id_: str, pounds: float, *, chance: float = 0.3, factor: float = 3.0, cause: str = "", must: str = "") -> Task:
    job = Job(
        *(id_, id_, (Cure((), ("dent",), ()),), (), fixed(pounds), NOUGHT, False, (), 0.0),
        *(False, "", Worse(chance, fixed(factor)), cause, (), "test"),
    )
    return Task(id_, job, (f"finding {id_}",), must, wished="", heard_only=False)


def looks(
    *tasks: Task, worth: float | None = None, others: dict[str, tuple[Task, ...]] | None = None
) -> tuple[Look, ...]:
    told = {} if worth is None else {id_: fixed(worth) for one in tasks for id_ in one.findings}
    return looks_of(tasks, others or {}, worth=told, draws=20_000, seed=5)


def test_a_look_saves_what_would_be_spent_in_vain() -> None:
    # Mended for 100, or for 300 where it is worse; left, a buyer knocks 180 off. On average 160 to mend, so mend it; if
    # it is worse, leave it and save 120, three times in ten.
    (look,) = looks(task("a", 100.0), worth=180.0)
    assert look.chance == pytest.approx(0.3, abs=4 * math.sqrt(0.21 / 20_000))
    assert look.value == pytest.approx(look.chance * 120.0)
    assert look.error == pytest.approx(120 * math.sqrt(look.chance * (1 - look.chance) / 20_000), rel=0.01)
    assert look.changes == (Ways("a", before="a", if_worse=LEAVE, if_not="a"),)
    assert look.narrows == pytest.approx(1.0)
    assert look.pays


def test_a_look_that_finds_it_sound_brings_back_what_would_be_left() -> None:
    (look,) = looks(task("a", 100.0), worth=150.0)
    assert look.value == pytest.approx((1 - look.chance) * 50.0)
    assert look.changes == (Ways("a", before=LEAVE, if_worse=LEAVE, if_not="a"),)


@pytest.mark.parametrize("worth", [None, 50.0, 1000.0])
def test_a_look_is_worth_nought_where_the_same_is_done_either_way(worth: float | None) -> None:
    (look,) = looks(task("a", 100.0), worth=worth)
    assert (look.value, look.error, look.changes) == (0.0, 0.0, ())
    assert not look.pays
    assert look.price > 0


def test_what_must_be_done_is_not_left() -> None:
    (look,) = looks(task("a", 100.0, must="safety: brakes have to stop the car"), worth=180.0)
    assert look.value == 0.0


def test_a_textbook_decision_has_its_value_of_perfect_information() -> None:
    # Thompson Lumber (Render and Stair, Quantitative Analysis for Management, from memory): a large plant brings
    # 200,000 or loses 180,000, a small one 100,000 or loses 20,000, none brings nothing; markets are even. Without
    # knowing, the small plant (40,000); perfect information is worth 60,000. Here as losses below 300,000.
    large = task("large", 100_000.0, chance=0.5, factor=4.8, cause="market")
    small = task("small", 200_000.0, chance=0.5, factor=1.6, cause="market")
    found = looks_of([large], {"large": (small,)}, worth={"finding large": fixed(300_000.0)}, draws=20_000, seed=5)
    assert found[0].changes == (Ways("large", before="small", if_worse=LEAVE, if_not="large"),)
    assert abs(found[0].value - 60_000) < 4 * max(found[0].error, 80_000 / math.sqrt(20_000))


def test_a_look_at_one_task_tells_of_all_with_its_cause() -> None:
    # The same latent number decides both; what is saved is saved twice.
    (first, second) = looks(task("a", 100.0, cause="rust"), task("b", 100.0, cause="rust"), worth=180.0)
    assert first.value == pytest.approx(first.chance * 240.0)
    assert [one.task for one in first.changes] == ["a", "b"]
    assert second.value == first.value
    apart = looks(task("a", 100.0), task("b", 100.0), worth=180.0)
    assert all(one.narrows == pytest.approx(0.5, abs=0.05) for one in apart)
    assert all(one.narrows == pytest.approx(1.0) for one in (first, second))


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(1, 300), st.floats(0.0, 1.0), st.floats(1.0, 5.0), st.booleans()), min_size=1, max_size=4
    ),
    st.integers(1, 600),
)
def test_no_look_is_worth_less_than_nought_nor_more_than_all_that_is_lost(
    rows: list[tuple[int, float, float, bool]], worth: int
) -> None:
    tasks = [
        task(f"t{at}", pounds, chance=chance, factor=factor, cause="rust" if shared else "")
        for at, (pounds, chance, factor, shared) in enumerate(rows)
    ]
    others = {
        one.id: (replace(one, id=f"{one.id}x", job=replace(one.job, worse=None, materials=fixed(200.0))),)
        for one in tasks
    }
    for look in looks(*tasks, worth=float(worth), others=others):
        assert -1e-9 <= look.value <= worth * len(tasks)
        assert 0.0 <= look.narrows <= 1.0 + 1e-9
        assert look.changes or look.value == 0.0


def test_the_look_most_worth_comes_first_and_tasks_that_hold_no_surprise_have_none() -> None:
    tasks = [task("a", 100.0), task("b", 100.0, factor=6.0), task("c", 100.0, chance=0.0), task("d", 100.0, chance=1.0)]
    found = looks(*tasks, worth=180.0)
    assert sorted(one.task for one in found) == ["a", "b"]
    assert [one.value for one in found] == sorted((one.value for one in found), reverse=True)
    plain = replace(task("e", 5.0), job=replace(task("e", 5.0).job, worse=None))
    assert looks(plain) == ()
