"""From findings to tasks: the cheapest that cures each, what is wished, what must be, and what no task touches."""

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Remedy, Severity, Side, State
from shutline.car.vocabulary import vocabulary
from shutline.prep.model import NOUGHT, Cure, Job, Labour, Range, Task, Worse
from shutline.prep.tables import PrepTables, prep_tables
from shutline.prep.tasks import Left, expected_cost, expected_total, order_of, tasks_of

DEFECTS = [one.id for one in vocabulary().conditions.values() if one.defect]


def kept(
    id_: str,
    part: str,
    condition: str,
    *,
    found: Found = Found.YES,
    side: Side | None = None,
    position: Position | None = None,
    severity: Severity | None = None,
    remedy: Remedy | None = None,
    state: State = State.STANDS,
    quote: str = "",
) -> KeptFinding:
    footings = (Footing(FootingKind.SAID, "film", 1.0, 2.0, quote),) if quote else ()
    finding = Finding(part, condition, found, side, position, severity, remedy, footings, state=state)
    return KeptFinding(id_, finding)


def small_tables(*jobs: Job) -> PrepTables:
    return replace(prep_tables(), jobs={job.id: job for job in jobs})


def job(id_: str, pounds: float, *, setup: float = 0.0, whole: bool = False, parts: tuple[str, ...] = ()) -> Job:
    """Make a job that costs so much, and so many hours of the office for its set-up."""
    labour = (Labour("office", NOUGHT, Range(setup, setup, setup)),) if setup else ()
    cure = Cure(parts, ("dent", "scratch"), ())
    return Job(
        *(id_, id_, (cure,), labour, Range(pounds, pounds, pounds), NOUGHT, whole, (), 0.0),
        *(False, "", None, "", (), "test"),
    )


def ids(tasks: tuple[Task, ...]) -> list[str]:
    return [task.id for task in tasks]


findings = st.lists(
    st.builds(
        kept,
        st.just(""),
        st.sampled_from(["door", "bonnet", "paintwork", "seat", "brakes", "sill", "carpet", "chassis_plate", "wheel"]),
        st.sampled_from(DEFECTS),
        found=st.sampled_from(Found),
        side=st.sampled_from([None, *Side]),
        position=st.sampled_from([None, *Position]),
        severity=st.sampled_from([None, *Severity]),
        remedy=st.sampled_from([None, *Remedy]),
        state=st.sampled_from(State),
    ),
    max_size=12,
).map(lambda several: [replace(one, id=f"f{at:02}") for at, one in enumerate(several)])


@settings(max_examples=60, deadline=None)
@given(findings)
def test_every_finding_is_in_one_task_or_told_of_or_none_to_do(cars: list[KeptFinding]) -> None:
    found = tasks_of(cars)
    cured = [id_ for task in found.tasks for id_ in task.findings]
    told = [one.finding for one in found.untouched]
    assert len(cured) == len(set(cured))
    open_ = {one.id for one in cars if one.finding.state is not State.STRUCK and one.finding.found is not Found.NO}
    assert sorted([*cured, *told]) == sorted(open_)
    assert all(one.why for one in found.untouched)


@settings(max_examples=60, deadline=None)
@given(findings, st.randoms())
def test_the_order_of_findings_changes_nothing(cars: list[KeptFinding], shuffled) -> None:  # type: ignore[no-untyped-def]
    again = list(cars)
    shuffled.shuffle(again)
    assert tasks_of(again) == tasks_of(cars)


@settings(max_examples=60, deadline=None)
@given(findings.filter(bool), st.data())
def test_leaving_a_finding_out_never_adds_cost(cars: list[KeptFinding], data) -> None:  # type: ignore[no-untyped-def]
    gone = data.draw(st.sampled_from(cars))
    rates = prep_tables().rates
    before = expected_total(tasks_of(cars).tasks, rates)
    after = expected_total(tasks_of([one for one in cars if one is not gone]).tasks, rates)
    assert after <= before + 1e-6


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(1, 50), st.integers(0, 3), st.booleans(), st.sampled_from([(), ("door",), ("bonnet",)])),
        min_size=1,
        max_size=5,
    )
)
def test_the_set_chosen_is_the_cheapest_of_all_sets(rows: list[tuple[int, int, bool, tuple[str, ...]]]) -> None:
    jobs = [
        job(f"j{at}", pounds, setup=setup, whole=whole, parts=parts)
        for at, (pounds, setup, whole, parts) in enumerate(rows)
    ]
    known = small_tables(*jobs)
    cars = [kept("a", "door", "dent", side=Side.NEAR), kept("b", "door", "scratch"), kept("c", "bonnet", "dent")]
    found = tasks_of(cars, tables=known)
    curable = {id_ for task in found.candidates for id_ in task.findings}
    sets = (
        several
        for count in range(len(found.candidates) + 1)
        for several in combinations(found.candidates, count)
        if {id_ for task in several for id_ in task.findings} == curable
    )
    least = min(expected_total(several, known.rates) for several in sets)
    assert expected_total(found.tasks, known.rates) == pytest.approx(least)


def test_one_polish_of_the_whole_car_takes_many_faded_panels_at_once_and_few_are_polished_by_themselves() -> None:
    panels = ("bonnet", "roof", "boot_lid", "tailgate", "valance", "scuttle", "front_panel", "gutter", "sill", "arch")
    cars = [kept(part, part, "fade") for part in panels]
    few, many = tasks_of(cars[:3]), tasks_of(cars)
    assert [task.job.id for task in few.tasks] == ["panel_polish"] * 3
    assert ids(many.tasks) == ["machine_polish"]
    assert many.tasks[0].findings == tuple(sorted(panels))


def test_what_is_no_fault_by_itself_is_told_unless_it_is_asked_for_promised_or_bad() -> None:
    cars = [
        kept("a", "door", "repaint", side=Side.NEAR),
        kept("b", "door", "repaint", side=Side.OFF, remedy=Remedy.REPAINT),
        kept("c", "rear_wing", "filler", severity=Severity.SEVERE),
        kept("d", "stereo", "nonoriginal"),
        kept("e", "rear_light", "nonoriginal"),
    ]
    found = tasks_of(cars, promised={"e": "the right lamps"})
    assert [(one.finding, one.left) for one in found.untouched] == [("a", Left.TOLD), ("d", Left.TOLD)]
    assert sorted(id_ for task in found.tasks for id_ in task.findings) == ["b", "c", "e"]


def test_of_two_doors_and_one_of_them_the_work_is_done_twice_not_thrice() -> None:
    both = kept("a", "door", "rust", side=Side.BOTH, position=Position.FRONT)
    near = kept("b", "door", "rust", side=Side.NEAR, position=Position.FRONT)
    found = tasks_of([both, near])
    assert [(task.count, task.findings) for task in found.tasks] == [(2, ("a", "b"))]


def test_a_wish_is_followed_and_the_cheaper_cure_is_kept_beside_it() -> None:
    said = "that door wants painting"
    wished = kept(
        "a", "door", "scratch", severity=Severity.SLIGHT, remedy=Remedy.REPAINT, quote=said, state=State.HEARD
    )
    found = tasks_of([wished])
    (task,) = found.tasks
    assert task.job.remedy == "repaint"
    assert task.wished == said
    assert task.heard_only
    assert found.wishes[0].answered
    others = found.alternatives[task.id]
    rates = prep_tables().rates
    assert {"polish", "repaint"} <= {other.job.remedy for other in others}
    assert all(not other.wished for other in others if other.job.remedy == "polish")
    assert [expected_cost(one, rates) for one in others] == sorted(expected_cost(one, rates) for one in others)


def test_a_wish_that_no_job_answers_is_told_and_the_cheapest_is_taken() -> None:
    found = tasks_of([kept("a", "battery", "fault", remedy=Remedy.POLISH, quote="polish that up")])
    assert [(one.answered, one.words) for one in found.wishes] == [(False, "polish that up")]
    assert found.tasks[0].wished == ""


def test_what_is_to_be_watched_makes_no_task_unless_it_must() -> None:
    watched = tasks_of(
        [kept("a", "exhaust", "rust", remedy=Remedy.MONITOR), kept("b", "brakes", "leak", remedy=Remedy.MONITOR)]
    )
    assert [(one.finding, one.left) for one in watched.untouched] == [("a", Left.WATCHED)]
    assert [task.must.split(":")[0] for task in watched.tasks] == ["safety"]


def test_musts_come_with_their_reason_and_promises_with_their_words() -> None:
    cars = [
        kept("a", "tyre", "wear", severity=Severity.SEVERE),
        kept("b", "tyre", "wear", severity=Severity.SLIGHT, side=Side.NEAR),
    ]
    found = tasks_of([*cars, kept("c", "stereo", "fault")], promised={"c": "new radio before he collects it"})
    musts = {id_: task.must for task in found.tasks for id_ in task.findings}
    assert musts["a"].startswith("roadworthiness: ")
    assert musts["b"] == ""
    assert musts["c"] == "promised: new radio before he collects it"


def test_good_news_struck_and_withdrawn_findings_make_nothing() -> None:
    cars = [
        kept("a", "door", "sound"),
        kept("b", "door", "rust", found=Found.NO),
        kept("c", "door", "rust", state=State.STRUCK),
        replace(kept("d", "door", "rust"), withdrawn=True),
    ]
    assert tasks_of(cars) == tasks_of([])


def test_what_nobody_is_sure_of_and_what_no_job_cures_is_told() -> None:
    cars = [
        kept("a", "rear_wing", "filler", found=Found.UNSURE),
        kept("b", "chassis_plate", "scratch"),
        kept("c", "stereo", "nonoriginal"),
    ]
    found = tasks_of([*cars, kept("d", "tool_kit", "noise", severity=Severity.SEVERE)])
    left = {one.finding: one for one in found.untouched}
    assert left["a"].left is Left.UNSURE
    assert left["b"].left is Left.NO_JOB
    assert "identifies" in left["b"].why


def test_how_bad_an_unsaid_finding_is_taken_for_can_be_told() -> None:
    car = [kept("a", "front_wing", "dent", side=Side.NEAR)]
    assert ids(tasks_of(car, unsaid_severity="slight").tasks) == ["dent_push@front_wing.near"]
    assert "dent_push@front_wing.near" not in ids(tasks_of(car).candidates)


def test_weld_comes_before_paint_and_wash_before_polish() -> None:
    cars = [
        kept("a", "sill", "perforation", side=Side.NEAR),
        kept("b", "paintwork", "fade"),
        kept("c", "car", "dirt"),
        kept("d", "bonnet", "chip", severity=Severity.SEVERE),
    ]
    found = tasks_of(cars)
    home = {id_: task.id for task in found.tasks for id_ in task.findings}
    assert home["a"] in found.before[home["d"]]
    assert {home["c"], home["d"]} <= set(found.before[home["b"]])
    assert found.before == order_of(found.tasks)
    done: list[str] = []
    while len(done) < len(found.tasks):
        done += [id_ for id_, first in found.before.items() if id_ not in done and set(first) <= set(done)]
    assert [done.index(a) < done.index(b) for a, b in pairwise((home["a"], home["d"], home["b"]))] == [True, True]


def test_a_task_has_cost_by_hand() -> None:
    # (1 + 4 x 2 + 9) / 6 = 3 hours at (10 + 4 x 20 + 30) / 6 = 20 pounds; worse one time in four, then twice: 1.25.
    base = job("mend", 0.0)
    whole = replace(
        base,
        labour=(Labour("office", Range(1, 2, 9), Range(0.5, 0.5, 0.5)),),
        materials=Range(6, 6, 6),
        outside=Range(7, 7, 7),
    )
    task = Task("t", replace(whole, worse=Worse(0.25, Range(2, 2, 2))), ("a",), "", "", heard_only=False, count=2)
    rates = {"office": Range(10, 20, 30)}
    assert expected_cost(task, rates) == pytest.approx(2 * (1.25 * (3 * 20 + 6) + 7))
    assert expected_total([task, replace(task, id="u")], rates) == pytest.approx(4 * (1.25 * 66 + 7) + 10)
