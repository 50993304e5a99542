"""Claims held against what is known: the rules of the evaluation set's README ('Claims and answers') and issue 7."""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Position, Severity, Side
from shutline.car.vocabulary import vocabulary
from shutline.claims.check import check
from shutline.claims.claimed import claimed
from shutline.claims.record import Record, record
from shutline.claims.relations import relations
from shutline.claims.rewrite import compare
from shutline.claims.told_values import same_value
from shutline.claims.verdict import Doubt, Verdict

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tools"))

from narrations import gold, load  # noqa: E402

with (Path(__file__).parent / "against.csv").open(encoding="utf-8", newline="") as lines:
    AGAINST = list(csv.DictReader(lines))


def _verdicts(text: str, on) -> list[str]:
    return [claim.verdict.value for claim in check(text, on).claims]


@pytest.mark.parametrize(
    ("text", "lines", "verdict"),
    [
        ("The sills are solid.", ["sill:both sound yes"], "backed"),
        ("The sills are solid.", ["sill:near sound yes"], "unbacked"),
        ("The nearside sill is solid.", ["sill:near sound yes", "sill:off perforation yes"], "backed"),
        ("The sills are solid.", ["sill:near sound yes", "sill:off perforation yes severe"], "at odds"),
        ("The sills are solid.", [], "unbacked"),
        ("No rust in the sills.", ["sill:near rust no", "sill:off rust no"], "backed"),
        ("No rust in the sills.", ["sill:near rust no", "sill:off blister yes slight"], "at odds"),
        # A milder word for the same defect is not at odds.
        ("A little rust on the nearside sill.", ["sill:near perforation yes severe"], "backed"),
        ("The offside door has a dent.", ["door:near dent yes"], "at odds"),
        ("The offside door has a dent.", ["door:off dent yes severe"], "backed"),
        ("The heater works.", ["heater fault yes"], "at odds"),
        ("The heater works.", ["heater works yes"], "backed"),
        ("Both fog lamps are there.", ["spotlight:both missing yes"], "at odds"),
        ("The handbook comes with it.", ["handbook wear yes"], "backed"),
        ("The nearside front wing is in its original paint.", ["front_wing:near repaint yes"], "at odds"),
        ("The engine is original.", ["engine renewed yes"], "unbacked"),
        ("A new exhaust.", ["exhaust original yes"], "at odds"),
        ("A rebuilt gearbox.", ["gearbox works yes"], "unbacked"),
        ("The petrol tank does not leak.", ["fuel_tank leak unsure"], "unbacked"),
        ("The bonnet is straight.", ["bonnet sound yes", "bonnet fade yes"], "backed"),
        # What is said of the whole holds for its parts, praise does not.
        ("No rust on the doors.", ["bodywork rust no"], "backed"),
        ("The doors are straight.", ["bodywork sound yes"], "unbacked"),
        # Broad claims are held against the whole file.
        ("No rust anywhere.", ["boot_lid blister yes slight"], "at odds"),
        ("No rust anywhere.", ["boot_lid rust no"], "unbacked"),
        ("Everything works.", ["stereo fault yes"], "at odds"),
        ("Rust free.", ["floor:off rust yes slight"], "at odds"),
        ("There is no filler in any of the bodywork.", ["rear_wing:off filler yes"], "at odds"),
        ("The windscreen is good.", ["windscreen chip yes slight"], "unbacked"),
        # Praise without reserve is another matter, and so is a blemish that was called bad.
        ("The windscreen is flawless.", ["windscreen chip yes slight"], "at odds"),
        ("The windscreen is good.", ["windscreen chip yes severe"], "at odds"),
        ("The bonnet is flat.", ["bonnet dent yes"], "at odds"),
        ("The engine leaks no oil.", ["engine leak no", "gearbox leak yes"], "backed"),
        ("No oil leaks.", ["engine leak no", "gearbox leak yes"], "at odds"),
        ("New brake pipes.", ["brakes rust yes"], "at odds"),
        # Each corner counts where both ends are meant.
        ("New tyres front and rear.", ["tyre:both:front renewed yes", "tyre:near:rear renewed yes"], "unbacked"),
        ("New tyres front and rear.", ["tyre:both:front renewed yes", "tyre:both:rear renewed yes"], "backed"),
        ("No leaves broken.", ["suspension loose yes", "suspension crack no"], "backed"),
    ],
)
def test_a_claim_is_held_against_what_is_known(known, text: str, lines: list[str], verdict: str) -> None:
    assert _verdicts(text, known(*lines)) == [verdict]


def test_what_is_said_of_one_piece_is_not_said_of_another(known) -> None:
    hoses = known("cooling renewed yes # a new radiator", "cooling perished yes # one hose has gone hard")
    assert _verdicts("The radiator is new.", hoses) == ["backed"]
    assert _verdicts("The hoses are soft.", hoses) == ["at odds"]
    clock = known("instruments works yes # the other dials all go", "instruments fault yes # the clock has stopped")
    assert _verdicts("The speedometer works.", clock) == ["backed"]
    assert _verdicts("The clock works.", clock) == ["at odds"]
    assert _verdicts("All the dials work.", clock) == ["at odds"]
    tools = known("tool_kit present yes # the jack is here", "tool_kit missing yes # the brace is not")
    assert _verdicts("The jack is with it.", tools) == ["backed"]
    assert _verdicts("The tool kit is complete.", tools) == ["at odds"]


def _said(quote: str) -> tuple[Footing, ...]:
    return (Footing(FootingKind.SAID, "walk", 1.0, 2.0, quote),)


def test_a_claim_shows_what_it_stands_on_and_what_speaks_against_it(known) -> None:
    on = known("sill:near perforation yes severe", "roof dent no")
    first, second = check("The roof has no dents. The sills are solid.", on).claims
    assert [k.id for k in first.judged.known] == ["f2"]
    assert second.verdict is Verdict.AT_ODDS
    assert [k.id for k in second.judged.known] == ["f1"]
    assert second.judged.known[0].finding.start_s == 10.0


def test_what_is_left_open_backs_nothing_and_says_so(known) -> None:
    (claim,) = check("No rust in the sills.", known("sill:both rust unsure")).claims
    assert (claim.verdict, claim.judged.doubt) == (Verdict.UNBACKED, Doubt.UNSURE)


@pytest.mark.parametrize(
    ("text", "facts", "verdict"),
    [
        ("Two keys.", {"keys": 2}, "backed"),
        ("Two keys.", {"keys": 1}, "at odds"),
        ("Two keys.", {}, "unbacked"),
        # A round figure is the exact one behind it; another is not.
        ("48,200 miles on the clock.", {"odometer": 48212}, "backed"),
        ("48,000 miles on the clock.", {"odometer": 48212}, "backed"),
        ("48,300 miles on the clock.", {"odometer": 48212}, "at odds"),
        ("MOT until June 2026.", {"mot_until": "2026-06-14"}, "backed"),
        ("The MOT lasts until June.", {"mot_until": "2026-06-14"}, "backed"),
        ("The MOT lasts until May.", {"mot_until": "2026-06-14"}, "at odds"),
        # Months count from a day that the words do not tell.
        ("Eleven months of MOT.", {"mot_until": "2026-06-14"}, "unbacked"),
        ("Built in 1986.", {"year": 1986}, "backed"),
        ("A car of the 1960s.", {"year": 1966}, "backed"),
        ("A car of the 1960s.", {"year": 1971}, "at odds"),
        ("Light green metallic.", {"colour": "light metallic green"}, "backed"),
    ],
)
def test_a_fact_is_held_against_the_facts(known, text: str, facts: dict[str, int | str], verdict: str) -> None:
    assert _verdicts(text, known(**facts)) == [verdict]


def test_a_month_is_a_day_in_it_and_no_other() -> None:
    assert same_value("mot_until", "2026-06", None, "2026-06-14", None)
    assert not same_value("mot_until", "2026-06", None, "2026-07-01", None)
    assert not same_value("odometer", 41000, "mi", 41000, "km")


@pytest.mark.parametrize(
    "text",
    [
        "A car to fall in love with.", "Ring before you set off, the kettle is always on.", "No time wasters please.",
        "You will not find a nicer one.", "", "!!!", "Priced to sell.",
        "A stunning example that must be seen.", "A superb car in every way.",
    ],
)  # fmt: skip
def test_puff_is_left_alone(known, text: str) -> None:
    assert check(text, known("sill:near rust yes")).claims == ()


def test_a_fault_left_out_is_no_claim(known) -> None:
    on = known("sill:near perforation yes severe", "roof sound yes")
    assert _verdicts("The roof is sound.", on) == ["backed"]


def test_a_rewrite_may_not_add_a_claim_nor_drop_a_fault(known) -> None:
    on = known("sill:near perforation yes severe", "roof sound yes", "heater fault yes")
    former = "The roof is sound. There is a hole in the nearside sill and the heater does not work."
    same = compare(former, "The heater doesn't work, the nearside sill has rusted, and the roof is sound.", on)
    assert same.accepted
    more = compare(former, former + " The floors are solid.", on)
    assert [claim.saying.quote for claim in more.added] == ["The floors are solid"]
    assert not more.accepted
    less = compare(former, "The roof is sound. The heater does not work.", on)
    assert [claim.saying.condition for claim in less.dropped] == ["perforation"]
    wrong = compare(former, former.replace("The roof is sound", "No rust anywhere"), on)
    assert [claim.verdict for claim in wrong.added] == [Verdict.AT_ODDS]
    elsewhere = compare(former, former.replace("nearside", "offside"), on)
    assert elsewhere.added
    assert elsewhere.dropped


def test_a_rewrite_may_keep_what_was_unbacked_before(known) -> None:
    text = "The floors are solid."
    assert compare(text, text, known()).accepted


@settings(max_examples=25, deadline=None)
@given(st.text(max_size=120))
def test_a_text_is_an_acceptable_rewrite_of_itself(text: str) -> None:
    assert compare(text, text, record((), ())).accepted


def test_the_tables_name_what_is_in_the_vocabulary() -> None:
    words, tables = vocabulary(), relations()
    for table in (tables.backed_by_there, tables.against_denied, tables.against_good, tables.backed_by_good):
        for name, others in table.items():
            assert {name, *others} <= set(words.conditions)
    defects = {name for name in words.conditions if words.is_defect(name)}
    assert set(tables.backed_by_there) == defects
    assert all(name in others for name, others in tables.backed_by_there.items())
    for name, parts in tables.whole.items():
        assert {name, *parts} <= set(words.parts)


DESCRIPTIONS = sorted((Path(__file__).parent / "descriptions").glob("*.txt"))


def _labelled(name: str) -> Record:
    """Make a record of the labels of a narration that teaches."""
    read = gold(load(ROOT / "training" / "narrations" / f"{name}.txt"))
    return record(
        (
            (
                str(number),
                Finding(
                    row["part"],
                    row["condition"],
                    Found(row["found"]),
                    Side(row["side"]) if row["side"] else None,
                    Position(row["position"]) if row["position"] else None,
                    Severity(row["severity"]) if row["severity"] else None,
                    footings=_said(row["quote"]),
                ),
            )
            for number, row in enumerate(read["observations"])
        ),
        ((row["name"], Fact(row["name"], row["value"], row.get("unit"), _said(row["quote"]))) for row in read["facts"]),
        drive=Drive(read["drive"]),
    )


@pytest.mark.parametrize("path", DESCRIPTIONS, ids=lambda path: path.stem)
def test_own_descriptions_are_checked_as_they_were_labelled(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    text = "\n".join(line for line in lines if not line.startswith(">"))
    checked = check(text, _labelled(path.stem))
    at = 0
    for line in (line for line in lines if line.startswith(">")):
        # A question mark stands before what is not read yet.
        verdict, quote = (cell.strip() for cell in line[1:].lstrip("?").split("|"))
        at = max(text.find(quote, at), text.index(quote))
        near = [c for c in checked.claims if c.saying.first < at + len(quote) and at < c.saying.end]
        read = verdict in {c.verdict.value.replace(" ", "_") for c in near}
        assert read != line.startswith(">?"), quote


@pytest.mark.parametrize("row", AGAINST, ids=lambda row: row["sentence"][:60])
def test_a_sentence_is_at_odds_with_what_speaks_against_it_and_with_nothing_else(row: dict[str, str], known) -> None:
    # Where 'not yet' stands in the last column the other verdict is given.
    at_odds = "at odds" in _verdicts(row["sentence"], known(row["known"]))
    assert at_odds == (row["at_odds"] == "yes") or row["not_yet"]
    assert at_odds != (row["at_odds"] == "yes") or not row["not_yet"]


def test_praise_is_not_at_odds_with_the_fault_that_its_own_sentence_tells(known) -> None:
    assert _verdicts("The bonnet is good apart from one dent.", known("bonnet dent yes", "bonnet sound yes")) == [
        "backed",
        "backed",
    ]
    assert _verdicts("The bonnet is straight. There is a dent in it.", known("bonnet dent yes"))[0] == "at odds"


def test_words_in_which_a_contradiction_stands_are_not_backed(known) -> None:
    on = known("gearbox works yes", "gearbox noise yes")
    assert _verdicts("The gearbox goes in without a crunch.", on) == ["at odds"]


def test_right_is_a_side_of_one_and_a_kind_of_many(known) -> None:
    assert _verdicts("The right sill has no rust.", known("sill:off rust yes", "sill:near rust no")) == ["at odds"]
    assert _verdicts("The right alloys.", known("wheel original yes")) == ["backed"]


def test_a_mileage_at_which_something_was_done_is_not_the_car_s(known) -> None:
    assert _verdicts("Stamped to 120,000 miles.", known(odometer=141600)) in ([], ["unbacked"])
    assert _verdicts("It has done 120,000 miles.", known(odometer=141600)) == ["at odds"]


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [("Engine of 1,035 c.c. and four gears.", "engine_cc", 1035), ("MOT, 3 prev owners.", "keepers", 3)],
)
def test_short_forms_are_read_in_full(text: str, name: str, value: int) -> None:
    assert (name, value) in [(s.fact.name, s.fact.value) for s in claimed(text) if s.fact is not None]


@pytest.mark.parametrize(
    ("text", "claims"),
    [
        ("Missing: the jack, one badge. With it: two handbooks.", {("tool_kit", "missing"), ("badge", "missing")}),
        ("Solid sills both sides, no rust anywhere.", {("sill", "sound"), ("car", "rust")}),
        ("No dents. No rips.", {("car", "dent"), ("car", "tear")}),
        (
            "New clutch \u2022 bumpers straight \u2022 roof dented",
            {("clutch", "renewed"), ("bumper", "sound"), ("roof", "dent")},
        ),
        ("Brakes new in 2019, tyres good.", {("brakes", "renewed"), ("tyre", "sound")}),
    ],
)
def test_lists_headings_and_words_that_name_nothing_are_read(text: str, claims: set[tuple[str, str]]) -> None:
    # Common practice, no source.
    read = {
        (c.saying.spot.part, c.saying.condition)
        for c in check(text, record([], [], drive=Drive.RHD)).claims
        if c.saying.spot
    }
    assert claims <= read


def test_what_nothing_backs_is_not_hidden_by_what_is_backed_in_the_same_words() -> None:
    known = record(
        [("1", Finding("carburettor", "original", Found.YES, footings=_said("its own carburettor")))],
        [],
        drive=Drive.RHD,
    )
    checked = check("The car has a new engine fitted with the original carburettor.", known)
    assert [(c.saying.spot.part, c.verdict) for c in checked.claims if c.saying.spot] == [
        ("engine", Verdict.UNBACKED),
        ("carburettor", Verdict.BACKED),
    ]


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("No filler: none found. The sills have no rust, bar a blister at the back.", Verdict.UNBACKED),
        ("The sills have no rust.", Verdict.AT_ODDS),
    ],
)
def test_what_a_sentence_excepts_is_not_held_against_it(text: str, verdict: Verdict) -> None:
    known = record(
        [("1", Finding("sill", "blister", Found.YES, footings=_said("a blister at the back")))], [], drive=Drive.RHD
    )
    assert {c.verdict for c in check(text, known).claims if c.saying.spot and c.saying.condition == "rust"} == {verdict}
