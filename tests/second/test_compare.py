"""Agreement raises sureness by a bounded rule; whatever else a second reading says, it is laid beside and no more."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Side
from shutline.car.second import Proposal, SecondView, Verdict
from shutline.car.speech import Word, WordTiming
from shutline.car.vocabulary import vocabulary
from shutline.second.compare import compare, raised
from shutline.second.settings import kindred, settings

# One word a second: word n lasts from n to n + 1.
WORDS = tuple(Word(f"w{n}", float(n), n + 1.0, WordTiming.GIVEN) for n in range(60))
ALL = ((0.0, 60.0),)


def finding(part: str, condition: str, first: int, last: int, found: str = "yes", **other) -> Finding:
    quote = " ".join(word.text for word in WORDS[first : last + 1])
    footing = Footing(FootingKind.SAID, "r", float(first), last + 1.0, quote)
    return Finding(part, condition, Found(found), footings=(footing,), sureness=0.6, **other)


def proposal(part: str, condition: str, first: int, last: int, found: str = "yes", **other) -> Proposal:
    return Proposal(part, condition, Found(found), first, last, **other)


def laid(ours: list[Finding], theirs: list[Proposal], asked=ALL) -> list[SecondView]:
    named = [(f"f{number}", one) for number, one in enumerate(ours)]
    return list(compare(named, theirs, WORDS, recording="r", asked=asked))


def verdicts(ours: list[Finding], theirs: list[Proposal]) -> list[tuple[str, str | None]]:
    return [(view.verdict.value, view.finding) for view in laid(ours, theirs)]


# Sureness -------------------------------------------------------------------------------------------------------------


@given(st.floats(0, 1), st.floats(0, 1))
def test_an_agreement_never_lowers_keeps_the_order_and_stays_within_bounds(one: float, two: float) -> None:
    low, high = sorted((one, two))
    assert 0 <= low <= raised(low) <= 1
    assert raised(low) <= raised(high)
    assert raised(low) <= max(low, settings().compare.highest_sureness)


@pytest.mark.parametrize(("before", "after"), [(0.0, 0.0), (0.5, 2 / 3), (0.75, 6 / 7), (0.94, 0.95), (0.97, 0.97)])
def test_the_odds_are_doubled_up_to_the_highest(before: float, after: float) -> None:
    assert raised(before) == pytest.approx(after)


def test_an_agreement_says_what_it_weighs() -> None:
    (view,) = laid([finding("sill", "rust", 2, 5)], [proposal("sill", "rust", 3, 4)])
    assert (view.verdict, view.finding, view.quote) == (Verdict.AGREES, "f0", "w3 w4")
    assert (view.sureness_before, view.sureness_after) == (0.6, pytest.approx(0.75))


def test_an_agreement_on_other_words_weighs_nothing() -> None:
    (view,) = laid([finding("sill", "rust", 2, 5)], [proposal("sill", "rust", 6, 7)])
    assert (view.verdict, view.sureness_before, view.sureness_after) == (Verdict.AGREES, None, None)
    views = laid([finding("sill", "rust", 2, 5)], [proposal("sill", "rust", 6, 7), proposal("sill", "rust", 5, 5)])
    assert [view.sureness_after for view in views] == [pytest.approx(0.75)]


def test_many_agreements_weigh_no_more_than_one() -> None:
    one = laid([finding("sill", "rust", 2, 5)], [proposal("sill", "rust", 3, 4)])
    many = laid([finding("sill", "rust", 2, 5)], [proposal("sill", "rust", n, n + 1) for n in range(5)])
    assert [v.sureness_after for v in many] == [v.sureness_after for v in one]


# Agreement and difference ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ours", "theirs", "verdict"),
    [
        # The same thing, at the same words or within four seconds.
        (finding("sill", "rust", 10, 12), proposal("sill", "rust", 10, 12), "agrees"),
        (finding("sill", "rust", 10, 12), proposal("sill", "rust", 17, 18), "agrees"),
        (finding("sill", "rust", 10, 12), proposal("sill", "rust", 18, 19), "asks"),
        (finding("sill", "rust", 10, 12, side=Side.NEAR), proposal("sill", "rust", 10, 12), "agrees"),
        (finding("sill", "rust", 10, 12), proposal("sill", "rust", 10, 12, side=Side.NEAR), "agrees"),
        (finding("roof", "dent", 10, 12, "no"), proposal("roof", "dent", 10, 12, "no"), "agrees"),
        # Another side or end of the same words.
        (finding("sill", "rust", 10, 12, side=Side.NEAR), proposal("sill", "rust", 10, 12, side=Side.OFF), "otherwise"),
        (
            finding("tyre", "wear", 10, 12, position=Position.FRONT),
            proposal("tyre", "wear", 10, 12, position=Position.REAR),
            "otherwise",
        ),
        # Nearby they may be two remarks: 'nearside's rusty, and so's the offside'.
        (finding("sill", "rust", 10, 11, side=Side.NEAR), proposal("sill", "rust", 13, 14, side=Side.OFF), "asks"),
        # There and not there.
        (finding("sill", "rust", 10, 12), proposal("sill", "rust", 10, 12, "no"), "otherwise"),
        (finding("sill", "rust", 10, 12), proposal("sill", "rust", 14, 15, "unsure"), "otherwise"),
        (finding("sill", "rust", 10, 12), proposal("sill", "rust", 40, 41, "no"), "asks"),
        # Opposite news of kindred conditions: 'that sill's solid' against rust in it.
        (finding("sill", "rust", 10, 12), proposal("sill", "sound", 10, 12), "otherwise"),
        (finding("sill", "sound", 10, 12), proposal("sill", "perforation", 15, 16), "otherwise"),
        (finding("engine", "works", 10, 12), proposal("engine", "noise", 14, 14), "otherwise"),
        (finding("engine", "works", 10, 12), proposal("engine", "leak", 14, 14), "asks"),
        (finding("sill", "sound", 10, 12), proposal("sill", "rust", 14, 15, "no"), "asks"),
        # The same words as another condition, or of another part.
        (finding("sill", "rust", 10, 12), proposal("sill", "blister", 11, 12), "otherwise"),
        (finding("sill", "rust", 10, 12), proposal("sill", "blister", 14, 15), "asks"),
        (finding("front_wing", "rust", 10, 12), proposal("arch", "rust", 12, 13), "otherwise"),
        (finding("front_wing", "rust", 10, 12), proposal("arch", "dent", 12, 13), "asks"),
        (finding("front_wing", "rust", 10, 12), proposal("arch", "rust", 14, 15), "asks"),
    ],
)
def test_how_one_statement_stands_to_one_finding(ours: Finding, theirs: Proposal, verdict: str) -> None:
    views = laid([ours], [theirs])
    assert [view.verdict.value for view in views if view.verdict is not Verdict.SILENT] == [verdict]
    silent = [view for view in views if view.verdict is Verdict.SILENT]
    assert bool(silent) == (verdict == "asks")


def test_what_only_ours_has_is_said_where_an_answer_was_given() -> None:
    ours = [finding("sill", "rust", 10, 12), finding("roof", "dent", 40, 41)]
    views = laid(ours, [], asked=((0.0, 30.0),))
    assert [(v.verdict, v.finding, v.sureness_after) for v in views] == [(Verdict.SILENT, "f0", None)]


def test_each_statement_goes_with_the_nearest_finding() -> None:
    ours = [finding("sill", "rust", 10, 12, side=Side.NEAR), finding("sill", "rust", 15, 16, side=Side.OFF)]
    theirs = [proposal("sill", "rust", 15, 16), proposal("sill", "rust", 10, 12)]
    assert verdicts(ours, theirs) == [("agrees", "f0"), ("agrees", "f1")]


def test_solid_but_for_one_scab_said_by_both_is_no_contradiction() -> None:
    ours = [finding("sill", "sound", 10, 12), finding("sill", "rust", 14, 16)]
    theirs = [proposal("sill", "sound", 10, 12), proposal("sill", "rust", 14, 16)]
    assert verdicts(ours, theirs) == [("agrees", "f0"), ("agrees", "f1")]


def test_one_who_says_both_of_a_thing_agrees_with_nothing() -> None:
    ours = [finding("sill", "rust", 10, 12)]
    theirs = [proposal("sill", "rust", 10, 12), proposal("sill", "rust", 10, 12, "no")]
    assert verdicts(ours, theirs) == [("otherwise", "f0")]


def test_one_who_says_everything_raises_nothing() -> None:
    ours = [finding("sill", "rust", 10, 12), finding("sill", "sound", 20, 22), finding("roof", "dent", 30, 31, "no")]
    theirs = [
        proposal(part, condition, first, first + 1, found)
        for part in ("sill", "roof")
        for condition, known in vocabulary().conditions.items()
        for first in (10, 20, 30)
        for found in (("yes", "no", "unsure") if known.defect else ("yes",))
    ]
    assert Verdict.AGREES not in {view.verdict for view in laid(ours, theirs)}


def test_footings_in_another_recording_are_not_compared() -> None:
    other = finding("sill", "rust", 10, 12)
    other = replace(other, footings=(replace(other.footings[0], source="another"),))
    assert verdicts([other], [proposal("sill", "rust", 10, 12)]) == [("asks", None)]


proposals = st.builds(
    lambda part, condition, found, first, length, side: Proposal(
        part, condition, Found(found), first, min(first + length, 59), side
    ),
    st.sampled_from(["sill", "roof"]),
    st.sampled_from(["rust", "dent", "sound"]),
    st.sampled_from(["yes", "no"]),
    st.integers(0, 59),
    st.integers(0, 5),
    st.sampled_from([None, Side.NEAR, Side.OFF]),
)


@given(st.lists(proposals, max_size=8), st.lists(proposals, max_size=8))
def test_whatever_is_said_findings_stay_and_each_view_has_its_place(
    ours: list[Proposal], theirs: list[Proposal]
) -> None:
    findings = [finding(p.part, p.condition, p.first, p.last, p.found.value, side=p.side) for p in ours]
    before = list(findings)
    views = laid(findings, theirs)

    assert findings == before
    assert views == laid(findings, theirs)
    agreed = [view.finding for view in views if view.verdict is Verdict.AGREES]
    assert len(agreed) == len(set(agreed))
    assert not set(agreed) & {view.finding for view in views if view.verdict is not Verdict.AGREES}
    for view in views:
        assert (view.finding is None) == (view.verdict is Verdict.ASKS)
        assert bool(view.quote) == (view.verdict is not Verdict.SILENT)
        assert view.sureness_after is None or view.verdict is Verdict.AGREES


def test_every_condition_has_kin_and_kin_is_mutual() -> None:
    kin = kindred()
    assert set(kin) == set(vocabulary().conditions)
    assert all(one in kin[other] for one, others in kin.items() for other in others)
    assert all(any(not vocabulary().is_defect(k) for k in others) for others in kin.values())
