"""The Car page goes by the same guide and the same decisions as `shutline to-show`."""

from __future__ import annotations

from pathlib import Path

import pytest

from shutline.store import Store
from shutline.survey import Cover
from shutline.usecases.add import add
from shutline.usecases.car_plan import view_plan
from shutline.usecases.car_survey import outline_coverage
from shutline.usecases.car_view import view_car
from shutline.usecases.guides import guides_mark
from shutline.usecases.survey import ask_again, keep_guide, leave_out, still_to_show

WALK = """WEBVTT

00:00:00.000 --> 00:00:08.000
Right, it's a four-door saloon, a Pavane. Front bumper, chrome's lovely. The nearside sill is solid all along.

00:00:08.000 --> 00:00:16.000
The offside front tyre is perished. Gearbox is quiet. The sump guard is straight.
"""
OWN = """id = "pavane"
label = "Ostrel Pavane"
sort = "construction"
builds_on = "monocoque_saloon"
bodies = ["saloon"]
clues = ["pavane"]
source = "house knowledge"

[[check]]
id = "coachline"
part = "coachline"
sides = "each"
look_for = "rust under the strip"
how = ["look"]
why = "water stands behind it"
when_bad = ["small", "fair"]
best = "shown"
"""


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings/settings.toml"))
    monkeypatch.delenv("SHUTLINE_GUIDES", raising=False)
    monkeypatch.delenv("SHUTLINE_WORDS", raising=False)
    (tmp_path / "settings/guides").mkdir(parents=True)
    return tmp_path / "settings/guides"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    walk = tmp_path / "walk.vtt"
    walk.write_text(WALK, encoding="utf-8")
    with Store.open(tmp_path / "store") as opened:
        add(opened, [walk], car="blue")
        yield opened


def agrees(store: Store) -> dict[str, Cover]:
    """Hold the page's survey against that of the command; give it."""
    found, problems = outline_coverage(store, store.car_outline("blue").car)
    assert problems == ()
    told = still_to_show(store, "blue")
    assert found.choice.guide.id == told.second.guide
    assert [(one.asked.key, one.cover) for one in found.checks] == [(one.key, one.cover) for one in told.checks]
    return {one.asked.key: one.cover for one in found.checks}


def test_a_guide_of_ones_own_is_taken_by_its_clue_on_the_page_too(store: Store, own: Path) -> None:
    before, mark = agrees(store), guides_mark()
    (own / "pavane.toml").write_text(OWN, encoding="utf-8")
    after = agrees(store)
    assert set(after) - set(before) == {"coachline-near", "coachline-off"}
    assert guides_mark() != mark
    page = view_car(store, "blue")
    assert (page.guide, page.asked) == ("Ostrel Pavane", len(after))
    assert "both coachlines" in {line.name for line in page.silent}


def test_a_chosen_guide_and_omissions_reach_the_page_and_its_plan(store: Store) -> None:
    keep_guide(store, "blue", ("rear_engined",), author="Ada")
    agrees(store)
    quiet = view_plan(store, "blue").silent_keys
    assert "bonnet" in quiet
    leave_out(store, "blue", "bonnet", reason="it is off and in the shed", author="Ada")
    leave_out(store, "blue", "tyre", reason="slave wheels", author="Ada")
    covers = agrees(store)
    assert covers["bonnet"] is Cover.LEFT_OUT
    assert covers["tyre-front-off"] is Cover.HAS_FOOTING, "a finding is stronger than an omission"
    assert "bonnet" not in view_plan(store, "blue").silent_keys
    page = view_car(store, "blue")
    lines = {line.name: line.breadth for line in page.left_out}
    assert lines["bonnet"] == "left out by Ada: it is off and in the shed"
    assert len(lines) == 2, "the tyres that are left out are one line"
    assert page.still_to_show == sum(one in {Cover.NOT_MENTIONED, Cover.IN_PASSING} for one in covers.values())


def test_one_place_may_be_asked_again_of_what_was_left_out_everywhere(store: Store) -> None:
    leave_out(store, "blue", "wheel", reason="slave wheels")
    assert ask_again(store, "blue", "wheel-rear-near").cover is not Cover.LEFT_OUT
    covers = agrees(store)
    wheels = {key: one for key, one in covers.items() if key.startswith("wheel-")}
    assert [key for key, one in wheels.items() if one is not Cover.LEFT_OUT] == ["wheel-rear-near"]
    leave_out(store, "blue", "wheel", reason="slave wheels after all")
    assert {one for key, one in agrees(store).items() if key.startswith("wheel-")} == {Cover.LEFT_OUT}


def test_a_broken_guide_is_told_and_the_page_opens_all_the_same(store: Store, own: Path) -> None:
    shipped = agrees(store)
    (own / "pavane.toml").write_text(OWN.replace('best = "shown"', 'best = "sung"'), encoding="utf-8")
    page = view_car(store, "blue")
    assert page.asked == len(shipped)
    (told,) = [problem for problem in page.problems if problem.slug == "guide-refused"]
    assert told.where.endswith("pavane.toml, line 17")
    assert view_plan(store, "blue").silent_keys
