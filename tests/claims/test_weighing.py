"""What the network of written text reads beside the rules, and how a statement is weighed against all that is known.

The arithmetic of the weigher is held against the same formulas in scipy (log-sum-exp, softmax, logistic function).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import expit, logsumexp, softmax
from tests.claims.conftest import finding

from shutline.car.findings import Drive, Found, Side
from shutline.claims.check import check
from shutline.claims.claimed import claimed, read_claims
from shutline.claims.lines import sentences
from shutline.claims.record import record
from shutline.claims.sayings import Saying, Spot
from shutline.claims.second_reading import ADDED, LEAST, SURE, added, hear
from shutline.claims.signs import BESIDE, CLAIM, MOST_FINDINGS, leaning, rarities, signs
from shutline.claims.verdict import Doubt, Judged, Verdict, judge
from shutline.claims.weighing import (
    A_CLAIM,
    AT_ODDS,
    BACKED,
    Weighed,
    decided,
    is_settled,
    read_weigher,
    shipped_weigher,
)

TEXT = "She starts on the button. The heater would roast a joint. Two keys. The sills take a hammer and do not mind."


# -- the second reading ---------------------------------------------------------------------------------------------


def test_what_no_rule_has_read_is_taken_from_the_network_and_rests_on_words_of_its_own() -> None:
    parts = list(sentences(TEXT))
    heard = hear(parts).readings
    alone = added(TEXT, heard, [], [])
    assert ("starting", "works") in {(s.spot.part, s.condition) for s in alone if s.spot}
    assert all(TEXT[s.first : s.end] == s.quote for s in alone)
    assert all(s.odds is not None and s.odds > ADDED for s in alone)
    in_order = sorted(alone, key=lambda s: s.first)
    assert all(one.end <= two.first for one, two in pairwise(in_order))
    # Words that are settled are not read again.
    assert added(TEXT, heard, alone, []) == []
    assert added(TEXT, heard, [], [(0, len(TEXT))]) == []


def test_the_chances_of_a_reading_are_chances_and_its_letters_lie_in_its_sentence() -> None:
    parts = list(sentences(TEXT))
    for one in hear(parts).readings:
        assert one.odds > LEAST
        assert one.chance == pytest.approx(expit(one.odds))
        for chances in (one.found, one.sides, one.ends):
            assert sum(chances) == pytest.approx(1.0, abs=1e-4)
        assert one.begin <= one.first < one.end <= one.finish
        assert any(part.first <= one.begin and one.finish <= part.first + len(part.text) for part in parts)


def test_only_what_is_sure_counts_where_nothing_weighs_it() -> None:
    assert set(claimed(TEXT)) == {s for s in read_claims(TEXT).sayings if s.odds is None or s.odds > SURE}


def test_what_is_said_of_such_cars_is_not_claimed_of_this_one() -> None:
    assert [s for s in claimed("If the sills were rotten I would tell you.") if s.spot and s.spot.part == "sill"] == []


# -- signs ----------------------------------------------------------------------------------------------------------


def on(*lines: str):
    return record(((f"f{number}", finding(line, number)) for number, line in enumerate(lines, start=1)), ())


def test_what_lies_on_the_other_side_is_not_held_against_a_statement_with_a_side() -> None:
    known = on("door:off dent yes # a dent in the driver's door", "door:near scratch no # not a scratch on this one")
    saying = Saying(0, 30, "The nearside door is dent free", Spot("door", Side.NEAR), "dent", Found.NO)
    found = signs(saying, judge(saying, known), (), known, {"": 1.0})
    assert [k.finding.side for k in found.known] == [Side.NEAR]
    # Where the network alone has read it the place may be wrong as well.
    found = signs(replace(saying, odds=1.0), judge(saying, known), (), known, {"": 1.0})
    assert {k.finding.side for k in found.known} == {Side.NEAR, Side.OFF}


def test_shared_words_count_by_how_rare_they_are() -> None:
    known = on("bonnet chip yes # stone chips", "roof sound yes # the roof is fine")
    saying = Saying(0, 24, "the bonnet has no chips", Spot("bonnet"), "chip", Found.NO)
    rare = rarities(["the roof\nthe roof", "the chips"])
    found = signs(saying, judge(saying, known), (), known, rare)
    shared = {k.finding.part: found.beside[n][BESIDE.index("shared")] for n, k in enumerate(found.known)}
    assert shared["bonnet"] > shared["roof"] >= 0
    assert found.claim.shape == (len(CLAIM),)
    # Three lines, each stem counted once in a line and once more for what is never met.
    assert rare["roof"] == pytest.approx(np.log(4 / 3))
    assert rare["chip"] == pytest.approx(np.log(4 / 2))
    assert rare[""] == pytest.approx(np.log(4))


def test_a_long_list_of_findings_is_cut_to_the_likeliest() -> None:
    parts = ("roof", "bonnet", "boot_lid", "grille", "sunroof", "gearbox", "clutch", "heater", "stereo", "battery")
    known = on(*(f"{part} {state}" for part in parts for state in ("rust no", "dent no", "sound yes")))
    saying = Saying(0, 18, "the grille is dented", Spot("grille"), "dent")
    found = signs(saying, judge(saying, known), (), known, {"": 1.0})
    assert len(found.known) == MOST_FINDINGS == len(found.beside)
    assert sum(k.finding.part == "grille" for k in found.known) == 3


@pytest.mark.parametrize(
    ("condition", "found", "leans"),
    [("rust", "yes", -1), ("rust", "no", 1), ("rust", "unsure", 0), ("sound", "yes", 1), ("repaint", "yes", -1)],
)
def test_a_state_leans_one_way(condition: str, found: str, leans: int) -> None:
    assert leaning(condition, Found(found)) == leans


# -- weighing -------------------------------------------------------------------------------------------------------


def test_the_weigher_computes_what_its_formulas_say() -> None:
    known = on("bonnet chip yes # stone chips", "bonnet sound yes # it is flat", "roof dent yes # one dent")
    saying = Saying(0, 24, "the bonnet has no chips", Spot("bonnet"), "chip", Found.NO)
    weigher = shipped_weigher()
    found = signs(saying, judge(saying, known), (), known, weigher.rarity)
    conditions = np.array([3, 5, 7])
    chances, claim, worth = weigher.run(found, 2, conditions)
    w = {name: array.astype(np.float64) for name, array in weigher.arrays.items()}
    all_chances, all_claims, all_worth = [], [], []
    for n in range(len(w["total"])):
        x = (found.claim - w["claim.mean"]) / w["claim.sd"]
        rows = []
        for at, condition in enumerate(conditions):
            z = (found.beside[at] - w["beside.mean"]) / w["beside.sd"]
            one, two = w["told"][n, 2], w["known"][n, condition]
            inner = np.maximum(np.concatenate([z, one, two, one * two]) @ w["inner.w"][n] + w["inner.b"][n, 0], 0)
            rows.append(inner @ w["known.w"][n] + w["known.b"][n, 0] + z @ w["straight.w"][n])
        total = logsumexp(np.stack([*rows, np.zeros(2)]), axis=0)
        hidden = np.maximum(np.concatenate([x, total]) @ w["hidden.w"][n] + w["hidden.b"][n, 0], 0)
        out = hidden @ w["out.w"][n] + w["out.b"][n, 0] + x @ w["claim.w"][n]
        out[:2] += total * w["total"][n]
        all_chances.append(softmax(out[:3]))
        all_claims.append(expit(out[3]))
        all_worth.append(rows)
    assert chances == pytest.approx(np.mean(all_chances, axis=0), abs=1e-4)
    assert claim == pytest.approx(np.mean(all_claims), abs=1e-4)
    np.testing.assert_allclose(worth, np.mean(all_worth, axis=0), atol=1e-3)


def test_a_statement_is_weighed_where_nothing_is_known() -> None:
    nothing = on()
    saying = Saying(0, 19, "The roof is straight", Spot("roof"), "sound")
    weighed = shipped_weigher().weigh(saying, judge(saying, nothing), (), nothing)
    assert sum(weighed.chances) == pytest.approx(1.0, abs=1e-4)
    assert weighed.backing == weighed.against == ()
    assert check("The roof is straight.", nothing).claims[0].verdict is Verdict.UNBACKED


KNOWN = on("roof dent yes", "bonnet sound yes").everything
SAID = Saying(0, 19, "The roof is straight", Spot("roof"), "sound")
READ = replace(SAID, odds=2.0)


NOTHING_KNOWN = Judged(Verdict.UNBACKED, doubt=Doubt.SILENT)


@pytest.mark.parametrize(
    ("saying", "judged", "settled"),
    [
        # What the rules have left open, or hold against work that was done, stays, however it weighs.
        (SAID, Judged(Verdict.UNBACKED, KNOWN[:1], doubt=Doubt.UNSURE), True),
        (SAID, Judged(Verdict.AT_ODDS, KNOWN[:1]), False),
        (SAID, Judged(Verdict.BACKED, KNOWN[:1]), False),
        (READ, Judged(Verdict.BACKED, (replace(KNOWN[0], done="polish: polished since"),)), True),
        # Where they are silent, or have not read it, it is weighed.
        (SAID, NOTHING_KNOWN, False),
        (SAID, Judged(Verdict.UNBACKED, KNOWN[:1], doubt=Doubt.OTHER_MATTER), False),
        (READ, Judged(Verdict.BACKED, KNOWN[:1]), False),
    ],
)
def test_what_the_rules_have_found_is_settled(saying: Saying, judged: Judged, settled: bool) -> None:
    assert is_settled(saying, judged) is settled


@pytest.mark.parametrize(
    ("saying", "judged", "chances", "claim", "verdict"),
    [
        (SAID, NOTHING_KNOWN, (0.0, AT_ODDS + 0.01, 0.3), 1.0, Verdict.AT_ODDS),
        (SAID, NOTHING_KNOWN, (BACKED + 0.01, 0.1, 0.2), 1.0, Verdict.BACKED),
        (SAID, NOTHING_KNOWN, (BACKED - 0.01, 0.1, 0.2), 1.0, Verdict.UNBACKED),
        # What only the network has read has to be a claim.
        (READ, Judged(Verdict.UNBACKED), (0.0, 0.9, 0.1), 1.0, Verdict.AT_ODDS),
        (READ, Judged(Verdict.AT_ODDS, KNOWN[:1]), (0.3, 0.3, 0.4), 1.0, Verdict.UNBACKED),
        (READ, Judged(Verdict.UNBACKED), (0.0, 0.9, 0.1), A_CLAIM - 0.01, None),
        # What may not be told at all is told only where the file bears it out.
        (replace(READ, odds=-0.5), Judged(Verdict.UNBACKED), (0.0, 0.9, 0.1), 1.0, None),
        (replace(READ, odds=-0.5), Judged(Verdict.UNBACKED), (BACKED + 0.01, 0.2, 0.1), 1.0, Verdict.BACKED),
    ],
)
def test_what_is_not_settled_is_weighed(
    saying: Saying, judged: Judged, chances: tuple[float, float, float], claim: float, verdict: Verdict | None
) -> None:
    found = decided(saying, judged, Weighed(chances, claim, KNOWN[1:], KNOWN[:1]))
    assert (found.verdict if found else None) is verdict
    # What it stands on, or what speaks against it, is shown.
    shown = {Verdict.AT_ODDS: KNOWN[:1], Verdict.BACKED: KNOWN[1:]}
    assert found is None or found.known == shown.get(found.verdict, ())


def test_without_a_finding_to_show_nothing_is_backed_or_at_odds() -> None:
    for chances in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)):
        found = decided(SAID, NOTHING_KNOWN, Weighed(chances, 1.0, (), ()))
        assert found is not None
        assert found.verdict is Verdict.UNBACKED


def test_a_statement_stands_on_no_other_part_and_a_fault_on_no_other_fault() -> None:
    known = on("boot_lid rust no # boot lid straight, no rust", "bonnet chip yes # a chip in the bonnet")
    for text, part in (("The boot floor has no rust.", "boot_lid"), ("There is a dent in the bonnet.", "bonnet")):
        for claim in check(text, known).claims:
            assert not (claim.verdict is Verdict.BACKED and claim.judged.known[0].finding.part == part)


def test_a_weigher_learnt_on_other_signs_is_refused(tmp_path: Path) -> None:
    weigher = shipped_weigher()
    names = {"claim": ("another",), "beside": BESIDE, "words": tuple(weigher.rarity)}
    path = tmp_path / "weighing.npz"
    np.savez(
        path,
        rarity=np.array(list(weigher.rarity.values())),
        **{f"names:{name}": np.frombuffer("\n".join(of).encode(), np.uint8) for name, of in names.items()},
    )
    with pytest.raises(ValueError, match="learnt on other signs"):
        read_weigher(path)


def test_a_fault_that_the_sentence_tells_is_not_weighed_against_its_praise() -> None:
    known = on("bonnet chip yes # a few stone chips on the bonnet")
    claims = check("The bonnet is good apart from a few stone chips.", known).claims
    assert Verdict.AT_ODDS not in {claim.verdict for claim in claims}


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=120), st.sampled_from(list(Drive)))
def test_any_text_is_checked_and_the_same_text_always_the_same(text: str, drive: Drive) -> None:
    known = replace(on("roof dent yes # one dent in the roof", "heater works yes # it blows hot"), drive=drive)
    first = check(text, known)
    assert first == check(text, known)
    assert all(text[c.saying.first : c.saying.end] == c.saying.quote for c in first.claims)
