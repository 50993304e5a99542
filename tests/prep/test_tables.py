"""The tables of preparation: what they hold, how a user's lie over ours, and how wrong ones are refused."""

import csv
from pathlib import Path

import pytest

from shutline.car.errors import UserError
from shutline.car.findings import Finding, Found, Severity
from shutline.car.vocabulary import vocabulary
from shutline.prep.model import Range
from shutline.prep.tables import FILES, prep_tables, with_own_rows

SAID = Path(__file__).parent / "said_defects.csv"
JOB = """
[[job]]
id = "lacquer"
name = "lacquer a rim"
remedy = "repaint"
cures = [{ parts = ["wheel"], conditions = ["peel"] }]
labour = [{ trade = "wheel", each = [1, 2, 3] }]
source = "house rules"
"""


def jobs_for(part: str, condition: str, severity: str) -> list[str]:
    return [
        job.id
        for job in prep_tables().jobs.values()
        if any(
            part in cure.parts and condition in cure.conditions and (not cure.severities or severity in cure.severities)
            for cure in job.cures
        )
    ]


def refusal(name: str, text: str) -> str:
    with pytest.raises(UserError) as caught:
        with_own_rows({name: text}, names={name: f"house/{name}"})
    assert caught.value.problem.slug == "prep-table-refused"
    return caught.value.problem.sentence()


def test_there_are_at_least_seventy_jobs_and_every_part_and_defect_has_one() -> None:
    words = vocabulary()
    assert len(prep_tables().jobs) >= 70
    degrees = list(Severity)
    without = [
        part
        for part in words.parts
        if not any(jobs_for(part, one, degree) for one in words.conditions for degree in degrees)
    ]
    assert without == []
    # What identifies a car is left alone, but for washing.
    plate = {name for one in words.conditions for degree in degrees for name in jobs_for("chassis_plate", one, degree)}
    assert plate == {"engine_bay_clean"}
    for condition in words.conditions.values():
        if condition.defect:
            assert any(jobs_for(part, condition.id, degree) for part in words.parts for degree in degrees), condition


def test_every_defect_that_narrations_speak_of_has_a_job_or_a_reason_of_its_own() -> None:
    # The defects of 31 labelled narrations (../shared/eval/dev), as part, condition and how often.
    with SAID.open(encoding="utf-8", newline="") as file:
        said = [(row["part"], row["condition"]) for row in csv.DictReader(file)]
    assert len(said) == 442
    bare = []
    for part, condition in said:
        for severity in Severity:
            finding = Finding(part, condition, Found.YES)
            reasons = [row.id for row in prep_tables().no_jobs if row.of.holds(finding, severity)]
            if not jobs_for(part, condition, severity) and reasons[0] == "cannot_be":
                bare.append((part, condition, severity))
    # Two are severe where nothing severe is to be had.
    assert bare == [("boot_floor", "stain", "severe"), ("engine", "peel", "severe")]


def test_the_cautions_asked_for_are_there_and_each_goes_with_a_job() -> None:
    known = prep_tables()
    used = {caution for job in known.jobs.values() for caution in job.cautions}
    wanted = {
        "isocyanate",
        "asbestos",
        "lifting",
        "fuel",
        "high_voltage",
        "airbag",
        "battery",
        "brake_dust",
        "monoxide",
    }
    assert wanted | {"hot_work"} <= used
    assert used <= set(known.cautions)
    assert sorted(set(known.cautions) - used) == []


def test_jobs_that_burn_spray_or_lift_carry_their_cautions() -> None:
    for job in prep_tables().jobs.values():
        trades = {line.trade for line in job.labour}
        if "weld" in trades:
            assert "hot_work" in job.cautions, job.id
        if job.bay == "paint" and "paint" in trades:
            assert "isocyanate" in job.cautions, job.id
        if job.bay == "ramp":
            assert {"lifting", "brakes"} & set(job.cautions), job.id


def test_every_row_has_a_source_and_prices_are_marked_as_examples() -> None:
    known = prep_tables()
    assert all("example, set your own" in job.source and "common practice" in job.source for job in known.jobs.values())
    assert all(trade.source == "example, set your own" for trade in known.trades.values())
    assert all(row.source for row in (*known.cautions.values(), *known.musts, *known.no_jobs))


def test_an_own_row_changes_only_what_it_gives() -> None:
    own = '[[trade]]\nid = "paint"\nrate = [50, 55, 60]\nsource = "our paint shop"\n[vat]\npercent = 23.0\n'
    known = with_own_rows({"trades.toml": own})
    assert known.trades["paint"].rate == Range(50.0, 55.0, 60.0)
    assert known.trades["paint"].name == "paint"
    assert known.trades["paint"].source == "our paint shop"
    assert known.trades["trim"] == prep_tables().trades["trim"]
    assert known.vat_percent == 23.0
    assert prep_tables().vat_percent == 20.0


def test_own_jobs_come_after_ours_and_one_of_ours_can_be_left_out() -> None:
    known = with_own_rows({"jobs.toml": f'left_out = ["wash", "respray"]\n{JOB}after = ["wash", "@paint"]\n'})
    assert list(known.jobs)[-1] == "lacquer"
    assert "wash" not in known.jobs
    assert "wash" not in known.jobs["lacquer"].after
    assert "blow_in" in known.jobs["lacquer"].after
    assert all("respray" not in job.after for job in known.jobs.values())


def test_own_sets_and_suppliers_are_read() -> None:
    own = '[sets]\nrims = ["wheel", "spare_wheel"]\n' + JOB.replace('"wheel"]', '"@rims"]')
    job = with_own_rows({"jobs.toml": own + 'supplier = "Pellow and Sons"\n'}).jobs["lacquer"]
    assert job.cures[0].parts == ("wheel", "spare_wheel")
    assert job.cures[0].severities == ()
    assert job.supplier == "Pellow and Sons"


def test_jobs_that_come_before_each_other_are_refused_and_named() -> None:
    told = refusal("jobs.toml", f'{JOB}after = ["wash"]\n[[job]]\nid = "wash"\nafter = ["lacquer"]\n')
    assert "lacquer" in told
    assert "wash" in told
    assert told.startswith("house/jobs.toml, line ")


@pytest.mark.parametrize(
    ("name", "text", "line", "words"),
    [
        ("jobs.toml", JOB.replace("[1, 2, 3]", "[3, 2, 1]"), 7, "low, likely, high"),
        ("jobs.toml", JOB.replace("[1, 2, 3]", "[1, 2, nan]"), 7, "low, likely, high"),
        ("jobs.toml", JOB.replace('trade = "wheel"', 'trade = "baker"'), 7, "trade 'baker'"),
        ("jobs.toml", JOB.replace("3] }", '3] }, { trade = "wheel", each = [1, 1, 1] }'), 7, "a second time"),
        ("jobs.toml", JOB.replace('"peel"', '"sound"'), 6, "condition 'sound'"),
        ("jobs.toml", JOB.replace('["wheel"]', '["rudder"]'), 6, "part 'rudder'"),
        ("jobs.toml", JOB.replace('"repaint"', '"monitor"'), 5, "remedy 'monitor'"),
        ("jobs.toml", JOB.replace('id = "lacquer"', 'id = "La quer"'), 3, "id 'La quer'"),
        ("jobs.toml", JOB + 'colour = "red"\n', 9, "an entry 'colour'"),
        ("jobs.toml", JOB + 'after = ["nothing"]\n', 9, "job 'nothing'"),
        ("jobs.toml", JOB + 'cautions = ["dragons"]\n', 9, "caution 'dragons'"),
        ("jobs.toml", JOB + "worse = { chance = 1.5, factor = [1, 2, 3] }\n", 9, "chance = 1.5"),
        ("jobs.toml", JOB + "worse = { chance = 0.5, factor = [0.5, 2, 3] }\n", 9, "from 1"),
        ("jobs.toml", JOB + "waits = true\n", 9, "waits = True"),
        ("jobs.toml", JOB + "[[job]]\n" + JOB.removeprefix("\n[[job]]\n"), 10, "id 'lacquer'"),
        ("jobs.toml", 'left_out = ["nobody"]\n', 1, "'nobody'"),
        ("jobs.toml", "[sets]\nbody = []\n", 2, "set 'body'"),
        ("jobs.toml", "[[jobs]]\n", 1, "'jobs'"),
        ("trades.toml", "[vat]\npercent = 120\n", 2, "percent = 120"),
        ("trades.toml", '[[trade]]\nid = "gilding"\n', 1, "name"),
        ("musts.toml", '[[must]]\nid = "brakes_bad"\nreason = "taste"\n', 3, "reason 'taste'"),
        ("cautions.toml", "[[caution]\n", 1, "cannot be read as TOML"),
    ],
)
def test_what_is_wrong_is_refused_by_file_and_line(name: str, text: str, line: int, words: str) -> None:
    told = refusal(name, text)
    assert told.startswith((f"house/{name}, line {line}:", f"house/{name}: ")), told
    assert words in told


def test_a_file_of_another_name_is_refused() -> None:
    assert ", ".join(FILES) in refusal("rates.toml", "")
