"""The program may draw again and again; a person's decision stays; and the history gives what stands."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, Phase, given, settings

from shutline.car.carfile import KeptFinding, Recording
from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import (
    Fact,
    Finding,
    Footing,
    FootingKind,
    Found,
    Position,
    Remedy,
    Severity,
    Side,
    State,
)
from shutline.car.recordings import Still
from shutline.car.schema import car_file_json
from shutline.car.vocabulary import vocabulary
from shutline.store import StaleError, Store

CAR = "corvane-ninety"
Said = Callable[..., Finding]

seconds = st.none() | st.floats(0, 10_000, allow_nan=False)
# Every text: NUL, and the lone surrogates that odd file names bring.
any_text = st.text(st.characters(), max_size=20)
footings = st.builds(
    Footing,
    kind=st.sampled_from(FootingKind),
    source=st.sampled_from(["paper-1", "picture \x00", "reading-7"]),
    start_s=seconds,
    end_s=seconds,
    quote=any_text,
    rules=st.lists(any_text, max_size=2).map(tuple),
)
findings = st.builds(
    Finding,
    part=st.sampled_from(sorted(vocabulary().parts)),
    condition=st.sampled_from(sorted(vocabulary().conditions)),
    found=st.sampled_from(Found),
    side=st.none() | st.sampled_from(Side),
    position=st.none() | st.sampled_from(Position),
    severity=st.none() | st.sampled_from(Severity),
    remedy=st.none() | st.sampled_from(Remedy),
    footings=st.lists(footings, max_size=3).map(tuple),
    why=st.lists(any_text, max_size=3).map(tuple),
    sureness=st.none() | st.floats(0, 1),
)
facts = st.builds(
    Fact,
    name=st.sampled_from(["year", "odometer", "colour"]),
    value=st.integers() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False) | any_text,
    unit=st.none() | st.sampled_from(["mi", "km"]),
    footings=st.lists(footings, max_size=2).map(tuple),
    sureness=st.none() | st.floats(0, 1),
)
# Each example adds to one store; shrinking a failure there would take minutes.
quick = settings(
    max_examples=25,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def put_one(store: Store, recording: Recording, finding: Finding) -> KeptFinding:
    store.put_findings(recording.id, [finding])
    return store.car_file(CAR).findings[0]


def replayed(kept: KeptFinding) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for change in kept.changes:
        # Stills come in without a change while the program chooses them.
        before = {name: value for name, value in change.before.items() if name != "stills"}
        assert {name: values.get(name) for name in before} == before
        values |= change.after
    return values


def first_of_each_key(statements: list[Any]) -> dict[str, Any]:
    kept: dict[str, Any] = {}
    for statement in statements:
        kept.setdefault(statement.key(), statement)
    return kept


@quick
@given(st.lists(findings, max_size=6), st.lists(facts, max_size=4))
def test_any_findings_and_facts_come_back_the_same(
    store: Store, film: Any, drawn: list[Finding], told: list[Fact]
) -> None:
    car = store.create_car(title="any").name
    recording = store.add_recording(car, film).id
    store.put_findings(recording, drawn)
    store.put_facts(recording, told)
    kept = store.car_file(car)
    # A said footing always names a source here, so nothing is filled in.
    assert {k.finding.key(): k.finding for k in kept.findings} == first_of_each_key(drawn)
    wanted = first_of_each_key(told)
    assert {k.fact.key(): k.fact for k in kept.facts} == wanted
    assert [type(k.fact.value) for k in kept.facts] == [type(wanted[k.fact.key()].value) for k in kept.facts]


def test_the_recording_becomes_the_source_of_what_was_said(store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    assert [f.source for f in kept.finding.footings] == [recording.id]


def test_the_same_words_again_change_nothing(store: Store, recording: Recording, said: Said) -> None:
    first = store.put_findings(recording.id, [said(), said("no rust", found=Found.NO)])
    before = store.car_file(CAR)
    again = store.put_findings(recording.id, [said(), said("no rust", found=Found.NO)])
    assert (first.new, again.new, again.same) == (2, 0, 2)
    assert again.ids == first.ids
    assert store.car_file(CAR) == before


def test_ids_are_the_same_in_another_store(store: Store, recording: Recording, said: Said, tmp_path, film) -> None:
    here = store.put_findings(recording.id, [said()]).ids
    with Store.open(tmp_path / "other") as other:
        other.create_car("first")
        other.create_car(CAR)
        assert other.put_findings(other.add_recording(CAR, film).id, [said()]).ids == here


def test_what_is_drawn_no_more_is_withdrawn_and_kept(store: Store, recording: Recording, said: Said) -> None:
    store.put_findings(recording.id, [said(), said("a dent", condition="dent")])
    drawn = store.put_findings(recording.id, [said()])
    assert drawn.withdrawn == 1
    assert [k.finding.condition for k in store.car_file(CAR).findings] == ["rust"]
    everything = store.car_file(CAR, withdrawn=True).findings
    (gone,) = [k for k in everything if k.withdrawn]
    assert gone.finding.condition == "dent"
    assert gone.finding.state is State.HEARD
    assert gone.changes[-1].action == "withdrawn"
    assert gone.changes[-1].author == "program"
    assert gone not in store.car_file(CAR, withdrawn=True).going_out()


def test_what_is_drawn_again_is_back_with_its_id(store: Store, recording: Recording, said: Said) -> None:
    first = store.put_findings(recording.id, [said()])
    store.put_findings(recording.id, [])
    assert store.put_findings(recording.id, [said()]).again == 1
    (kept,) = store.car_file(CAR).findings
    assert kept.id == first.ids[0]
    assert [c.action for c in kept.changes] == ["drawn", "withdrawn", "drawn again"]


def test_a_better_reading_of_the_same_words_is_taken_with_a_history(
    store: Store, recording: Recording, said: Said
) -> None:
    put_one(store, recording, said())
    kept = put_one(store, recording, said(severity=Severity.SEVERE, sureness=0.9))
    assert kept.finding.severity is Severity.SEVERE
    assert kept.changes[-1].before == {"severity": None, "sureness": 0.8}


@pytest.mark.parametrize("action", ["confirm", "strike", "amend"])
def test_a_later_reading_never_touches_what_a_person_decided(
    action: Any, store: Store, recording: Recording, said: Said
) -> None:
    kept = put_one(store, recording, said())
    fields = {"severity": Severity.SLIGHT} if action == "amend" else {}
    decided = store.change_finding(kept.id, action=action, author="Ann", expected_version=1, **fields)
    for reading in ([], [said(severity=Severity.SEVERE)], [said("quite other words")]):
        assert store.put_findings(recording.id, reading).left == 1
        assert store.finding(kept.id) == decided


def test_amending_makes_it_stand_without_the_readers_sureness(store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    kept = store.change_finding(kept.id, action="amend", author="Ann", expected_version=1, side=Side.OFF)
    assert (kept.finding.state, kept.finding.side, kept.finding.sureness) == (State.STANDS, Side.OFF, None)
    assert kept.version == 2


def test_amended_words_move_the_moment_and_the_old_words_stay_in_the_history(
    store: Store, recording: Recording, said: Said
) -> None:
    kept = put_one(store, recording, said())
    heard = (Footing(FootingKind.SAID, recording.id, 60.0, 61.0, "crust in the bonnet"),)
    kept = store.change_finding(kept.id, action="amend", author="Ann", expected_version=1, footings=heard)
    assert kept.finding.footings == heard
    assert kept.changes[-1].before["footings"][0]["quote"] == "rust in the bonnet"
    kept = store.undo_finding(kept.id, author="Ann", expected_version=2)
    assert kept.finding.footings[0].quote == "rust in the bonnet"


def test_a_stale_change_is_refused_and_carries_both_versions(store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    store.change_finding(kept.id, action="amend", author="Ann", expected_version=1, severity=Severity.SEVERE)
    with pytest.raises(StaleError) as caught:
        store.change_finding(kept.id, action="amend", author="Bob", expected_version=1, side=Side.NEAR)
    assert caught.value.problem.slug == "stale-change"
    assert caught.value.present == store.finding(kept.id)
    # What Bob would have had: what he saw, with his change; not Ann's.
    assert isinstance(caught.value.wanted, Finding)
    assert (caught.value.wanted.side, caught.value.wanted.severity) == (Side.NEAR, None)
    assert store.finding(kept.id).finding.side is None


def test_what_is_so_already_is_no_change(store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    kept = store.change_finding(kept.id, action="confirm", author="Ann", expected_version=1)
    assert store.change_finding(kept.id, action="confirm", author="Bob", expected_version=2) == kept


def test_restoring_gives_the_state_before_the_strike(store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    kept = store.change_finding(kept.id, action="strike", author="Ann", expected_version=1)
    assert kept not in store.car_file(CAR).going_out()
    kept = store.change_finding(kept.id, action="restore", author="Ann", expected_version=2)
    assert kept.finding.state is State.HEARD
    kept = store.change_finding(kept.id, action="confirm", author="Ann", expected_version=3)
    kept = store.change_finding(kept.id, action="strike", author="Ann", expected_version=4)
    kept = store.change_finding(kept.id, action="restore", author="Ann", expected_version=5)
    assert kept.finding.state is State.STANDS
    with pytest.raises(UserError, match="not struck"):
        store.change_finding(kept.id, action="restore", author="Ann", expected_version=6)


def test_undo_goes_back_one_decision_at_a_time_and_deletes_nothing(
    store: Store, recording: Recording, said: Said
) -> None:
    first = put_one(store, recording, said())
    kept = store.change_finding(first.id, action="confirm", author="Ann", expected_version=1)
    kept = store.change_finding(first.id, action="amend", author="Bob", expected_version=2, remedy=Remedy.POLISH)
    kept = store.undo_finding(first.id, author="Ann", expected_version=3)
    assert (kept.finding.remedy, kept.finding.state) == (None, State.STANDS)
    kept = store.undo_finding(first.id, author="Ann", expected_version=4)
    assert kept.finding == first.finding
    assert [c.action for c in kept.changes] == ["drawn", "confirmed", "amended", "undone", "undone"]
    with pytest.raises(UserError) as caught:
        store.undo_finding(first.id, author="Ann", expected_version=5)
    assert caught.value.problem.slug == "nothing-to-undo"


def test_what_a_person_enters_stands_and_undo_strikes_it(store: Store, recording: Recording, said: Said) -> None:
    kept = store.add_finding(CAR, said(), author="Ann")
    assert (kept.finding.state, kept.finding.sureness) == (State.STANDS, None)
    assert kept.changes[0].action == "entered"
    assert store.put_findings(recording.id, []).withdrawn == 0
    kept = store.undo_finding(kept.id, author="Ann", expected_version=1)
    assert kept.finding.state is State.STRUCK


def test_the_same_token_twice_enters_one(store: Store, recording: Recording, said: Said) -> None:
    message = "phone-1"
    one = store.add_finding(CAR, said(), author="Ann", token=message)
    assert store.add_finding(CAR, said(), author="Ann", token=message) == one
    two = store.add_finding(CAR, said(), author="Ann")
    three = store.add_finding(CAR, said(), author="Ann")
    assert len({one.id, two.id, three.id}) == 3


def test_two_values_of_one_fact_are_both_kept(store: Store, recording: Recording) -> None:
    told = [Fact("odometer", 41_200, "mi"), Fact("odometer", 42_100, "mi")]
    store.put_facts(recording.id, told)
    assert [k.fact for k in store.car_file(CAR).facts] == told


def test_a_fact_has_the_same_history_as_a_finding(store: Store, recording: Recording) -> None:
    store.put_facts(recording.id, [Fact("year", 1966, sureness=0.7)])
    kept = store.car_file(CAR).facts[0]
    kept = store.change_fact(kept.id, action="amend", author="Ann", expected_version=1, value=1967)
    assert (kept.fact.value, kept.fact.state) == (1967, State.STANDS)
    with pytest.raises(StaleError):
        store.change_fact(kept.id, action="strike", author="Bob", expected_version=1)
    kept = store.undo_fact(kept.id, author="Ann", expected_version=2)
    assert kept.fact == Fact("year", 1966, sureness=0.7)
    entered = store.add_fact(CAR, Fact("colour", "blue"), author="Ann")
    assert entered.fact.state is State.STANDS


@pytest.mark.parametrize(
    ("fields", "slug"),
    [
        ({"part": "wing_mirror_of_the_moon"}, "unknown-part"),
        ({"condition": "haunted"}, "unknown-condition"),
        ({"side": "left"}, "not-a-statement"),
        ({"condition": "sound", "found": Found.NO}, "good-not-found"),
    ],
)
def test_a_value_outside_the_lists_is_refused(
    fields: Any, slug: str, store: Store, recording: Recording, said: Said
) -> None:
    kept = put_one(store, recording, said())
    with pytest.raises(UserError) as caught:
        store.change_finding(kept.id, action="amend", author="Ann", expected_version=1, **fields)
    assert caught.value.problem.slug == slug
    assert store.finding(kept.id) == kept


@pytest.mark.parametrize("author", ["", "  ", "program"])
def test_a_decision_needs_a_persons_name(author: str, store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    with pytest.raises(UserError, match="name"):
        store.change_finding(kept.id, action="confirm", author=author, expected_version=1)


def test_callers_mistakes_are_exceptions(store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    with pytest.raises(ValueError, match="takes no fields"):
        store.change_finding(kept.id, action="confirm", author="Ann", expected_version=1, side=Side.OFF)
    with pytest.raises(ValueError, match="not in state heard"):
        store.put_findings(recording.id, [said(state=State.STANDS)])
    with pytest.raises(ValueError, match="sureness"):
        store.put_findings(recording.id, [said(sureness=float("nan"))])
    with pytest.raises(NotFoundError):
        store.finding("0" * 16)
    with pytest.raises(NotFoundError):
        store.put_findings("0" * 16, [])


still_a = Still(1.5, "aa" * 32, 1600, 900, 3.0, 0.5)
still_b = Still(2.5, "bb" * 32, 1600, 900, 2.0, 0.5)
still_c = Still(9.5, "cc" * 32, 1600, 900, 1.0, 0.5)


def test_stills_keep_their_order_and_the_programs_choice_is_no_change(
    store: Store, recording: Recording, said: Said
) -> None:
    kept = put_one(store, recording, said())
    store.attach_stills(recording.id, {kept.id: [still_b, still_a]})
    kept = store.finding(kept.id)
    assert (kept.stills, kept.version) == ((still_b, still_a), 1)
    store.attach_stills(recording.id, {kept.id: [still_a]})
    assert store.finding(kept.id).stills == (still_a,)


def test_a_persons_still_stays_until_undone(store: Store, recording: Recording, said: Said) -> None:
    kept = put_one(store, recording, said())
    store.attach_stills(recording.id, {kept.id: [still_a, still_b]})
    kept = store.choose_stills(kept.id, recording.id, [still_c], author="Ann", expected_version=1)
    assert (kept.stills, kept.version) == ((still_c,), 2)
    store.attach_stills(recording.id, {kept.id: [still_a]})
    assert store.finding(kept.id).stills == (still_c,)
    with pytest.raises(StaleError):
        store.choose_stills(kept.id, recording.id, [still_a], author="Bob", expected_version=1)
    kept = store.undo_finding(kept.id, author="Ann", expected_version=2)
    assert kept.stills == (still_a, still_b)
    assert replayed(kept)["part"] == "bonnet"


@contextmanager
def allowing(*slugs: str) -> Iterator[None]:
    try:
        yield
    except UserError as error:
        if error.problem.slug not in slugs:
            raise


steps = st.lists(
    st.tuples(
        st.sampled_from(["confirm", "strike", "amend", "restore", "undo", "read", "read less", "read other"]),
        st.sampled_from([{"side": Side.OFF}, {"severity": Severity.SEVERE, "remedy": None}, {"footings": ()}, {}]),
        st.sampled_from(["Ann", "Bob"]),
    ),
    max_size=10,
)


@quick
@given(findings.filter(lambda f: f.found is Found.YES), steps)
def test_replaying_the_history_gives_what_stands(store: Store, film: Any, drawn: Finding, steps: list[Any]) -> None:
    car = store.create_car(title="any").name
    recording = store.add_recording(car, film).id
    store.put_findings(recording, [drawn])
    kept = store.car_file(car).findings[0]
    version = 1
    for action, fields, author in steps:
        with allowing("nothing-to-undo", "nothing-to-restore"):
            if action == "undo":
                store.undo_finding(kept.id, author=author, expected_version=version)
            elif action.startswith("read"):
                other = replace(drawn, sureness=0.123)
                store.put_findings(recording, {"read": [drawn], "read less": [], "read other": [other]}[action])
            else:
                given = fields if action == "amend" else {}
                store.change_finding(kept.id, action=action, author=author, expected_version=version, **given)
        now = store.finding(kept.id)
        assert now.version == len(now.changes)
        assert now.version - version in {0, 1}
        version = now.version
    assert now_plain(store, car, kept.id) == replayed(store.finding(kept.id))
    assert store.finding(kept.id).changes[0].after == kept.changes[0].after == now_first(drawn)


def now_plain(store: Store, car: str, finding_id: str) -> dict[str, Any]:
    value = car_file_json(store.car_file(car, withdrawn=True))
    (kept,) = [k for k in value["findings"] if k["id"] == finding_id]
    return {**kept["finding"], "withdrawn": kept["withdrawn"]}


def now_first(drawn: Finding) -> dict[str, Any]:
    return {
        "part": drawn.part,
        "condition": drawn.condition,
        "found": drawn.found.value,
        "side": drawn.side and drawn.side.value,
        "position": drawn.position and drawn.position.value,
        "severity": drawn.severity and drawn.severity.value,
        "remedy": drawn.remedy and drawn.remedy.value,
        "footings": [
            {
                "kind": f.kind.value,
                "source": f.source,
                "start_s": f.start_s,
                "end_s": f.end_s,
                "quote": f.quote,
                "rules": list(f.rules),
            }
            for f in drawn.footings
        ],
        "why": list(drawn.why),
        "sureness": drawn.sureness,
        "state": "heard",
        "withdrawn": False,
    }


def test_findings_stand_in_the_order_of_the_film(store: Store, recording: Recording, said: Said) -> None:
    def at(start_s: float | None, quote: str) -> Finding:
        return said(footings=(Footing(FootingKind.SAID, "", start_s, None, quote),))

    store.put_findings(recording.id, [at(9.0, "late"), at(None, "no time"), at(1.0, "early")])
    assert [k.finding.footings[0].quote for k in store.car_file(CAR).findings] == ["early", "late", "no time"]
