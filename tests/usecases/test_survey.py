from __future__ import annotations

import json
from pathlib import Path

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.cli import main
from shutline.store import Store
from shutline.survey import Cover, Raised
from shutline.usecases.add import add
from shutline.usecases.guides import list_guides, own_shelf
from shutline.usecases.survey import ask_again, keep_guide, leave_out, plan_route, still_to_show

WALK = """WEBVTT

00:00:00.000 --> 00:00:08.000
Right, it's a four-door saloon. Front bumper, chrome's lovely. The nearside sill is solid all the way along.

00:00:08.000 --> 00:00:16.000
The offside front tyre is perished. Gearbox is quiet.
"""
OWN = """id = "pavane"
label = "Ostrel Pavane"
sort = "construction"
builds_on = "monocoque_saloon"
bodies = ["saloon"]
source = "house knowledge"

[[check]]
id = "tonneau_rail"
part = "coachline"
sides = "each"
look_for = "rust under the strip"
how = ["look"]
why = "water stands behind it"
when_bad = ["small", "fair"]
best = "shown"
"""


@pytest.fixture(autouse=True)
def _nothing_of_the_user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings/settings.toml"))
    monkeypatch.delenv("SHUTLINE_GUIDES", raising=False)
    monkeypatch.delenv("SHUTLINE_WORDS", raising=False)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    walk = tmp_path / "walk.vtt"
    walk.write_text(WALK, encoding="utf-8")
    with Store.open(tmp_path / "store") as store:
        add(store, [walk], car="blue")
    return tmp_path / "store"


def covers(store: Store) -> dict[str, Cover]:
    return {one.key: one.cover for one in still_to_show(store, "blue").checks}


def test_what_was_spoken_of_is_answered_and_the_rest_makes_a_second_route(folder: Path) -> None:
    with Store.open(folder) as store:
        found = still_to_show(store, "blue")
        cover = covers(store)
    assert cover["sill-near"] is Cover.HAS_FOOTING
    assert cover["sill-off"] is not Cover.HAS_FOOTING
    way = {step.asked.key for step in found.second.route.steps}
    assert way == {key for key, one in cover.items() if one in {Cover.NOT_MENTIONED, Cover.IN_PASSING}}
    assert found.second.answered == sum(one is Cover.HAS_FOOTING for one in cover.values()) >= 4


def test_the_route_of_a_car_leaves_out_what_has_a_footing_unless_all_is_asked(folder: Path) -> None:
    with Store.open(folder) as store:
        some = {step.asked.key for step in plan_route(store, "blue").route.steps}
        all_ = {step.asked.key for step in plan_route(store, "blue", everything=True).route.steps}
    assert "sill-near" in all_ - some
    assert some < all_


def test_an_omission_is_kept_with_its_reason_told_in_the_report_and_taken_back(folder: Path) -> None:
    with Store.open(folder) as store:
        left = leave_out(store, "blue", "fuel_tank", reason="  drained and\n out of the car ", author="Ada")
        assert (left.cover, left.reason, left.author) == (Cover.LEFT_OUT, "drained and out of the car", "Ada")
        file = store.car_file("blue")
        from shutline.publish.report import build_report

        model = build_report(file, made_at="2026-11-26T10:00:00+00:00")
        assert [(line.name, line.breadth) for line in model.left_out] == [
            ("fuel tank", "left out by Ada: drained and out of the car")
        ]
        assert "fuel tank" not in {line.name for line in (*model.silent, *model.passing)}
        assert ask_again(store, "blue", "fuel_tank", author="Bea").cover is Cover.NOT_MENTIONED
        assert [change.author for change in store.car_file("blue").changes][-2:] == ["Ada", "Bea"]


@pytest.mark.parametrize("reason", ["", "  ", "x" * 201, "a\x07b"])
def test_an_omission_wants_a_reason_that_can_be_shown(folder: Path, reason: str) -> None:
    with Store.open(folder) as store, pytest.raises(UserError) as refused:
        leave_out(store, "blue", "fuel_tank", reason=reason)
    assert refused.value.problem.slug == "omission-reason"


def test_a_check_that_is_not_asked_is_refused_with_those_near_it(folder: Path) -> None:
    with Store.open(folder) as store, pytest.raises(NotFoundError, match="sill-near"):
        leave_out(store, "blue", "sill-middle", reason="x")


def test_the_guide_that_a_person_chose_stays_until_it_is_taken_back(folder: Path) -> None:
    with Store.open(folder) as store:
        assert keep_guide(store, "blue", ("rear_engined", "air_cooled"), author="Ada").chosen
        assert plan_route(store, "blue").guide == "rear_engined+air_cooled"
        assert plan_route(store, "blue", guides=("wood_framed",)).guide == "wood_framed"
        assert not keep_guide(store, "blue", (), author="Ada").chosen
        with pytest.raises(UserError, match="sledge"):
            keep_guide(store, "blue", ("sledge",))


def test_a_car_that_is_not_kept_yet_has_a_route_by_its_body() -> None:
    planned = plan_route(body="roadster", doors=2, raised=Raised.NO, minutes=5)
    assert planned.guide == "separate_chassis_open"
    assert planned.route.spoken_s[0] <= 300
    for wrong in ({"body": "boat"}, {"minutes": 0.0}, {"guides": ("sledge",)}):
        with pytest.raises(UserError):
            plan_route(**wrong)  # type: ignore[arg-type]


def test_guides_of_the_user_are_laid_over_ours_and_refused_with_their_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SHUTLINE_GUIDES", str(tmp_path / "mine"))
    (tmp_path / "mine").mkdir()
    file = tmp_path / "mine/pavane.toml"
    file.write_text(OWN, encoding="utf-8")
    assert {one.id for one in list_guides().guides if one.own} == {"pavane"}
    assert "tonneau_rail-near" in {step.asked.key for step in plan_route(guides=("pavane",)).route.steps}
    file.write_text(OWN.replace('best = "shown"', 'best = "sung"'), encoding="utf-8")
    with pytest.raises(UserError, match=r"pavane\.toml, line 16"):
        own_shelf()
    file.write_bytes(b"id = 1\n\xff")
    with pytest.raises(UserError, match=r"pavane\.toml, line 2: byte 7 is no UTF-8"):
        own_shelf()
    file.write_text(OWN, encoding="utf-8")
    (tmp_path / "mine/bands.toml").write_text("[[band]]\nid = 'x'\n", encoding="utf-8")
    with pytest.raises(UserError, match=r"bands\.toml, line 1"):
        own_shelf()


def test_the_commands_give_what_the_use_cases_give(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = ["--store", str(folder)]

    def run(*words: str) -> str:
        assert main([*words]) == 0
        return capsys.readouterr().out

    found = json.loads(run("to-show", "blue", "--json", *at))
    with Store.open(folder) as store:
        assert [one["key"] for one in found["checks"]] == [one.key for one in still_to_show(store, "blue").checks]
    assert "The second route" in run("to-show", "blue", *at)
    out = tmp_path / "out/route.pdf"
    words = run("route", "blue", "--minutes", "3", "--pdf", str(out), *at)
    assert "With care: Never go under a car" in " ".join(words.split())
    assert out.read_bytes().startswith(b"%PDF")
    assert json.loads(run("route", "--body", "4x4", "--json"))["guide"] == "ladder_frame"
    assert "Left out on purpose" in run("leave-out", "blue", "fuel_tank", "--reason", "it is out", *at)
    assert "Not mentioned" in run("ask-again", "blue", "fuel_tank", *at)
    assert "rear-engined saloon" in run("guide", "blue", "rear_engined", *at)
    assert "separate_chassis_open" in run("guides")
    assert "kingpins" in run("guides", "separate_chassis_open")
    assert main(["leave-out", "blue", "nothing", "--reason", "x", *at]) == 2
