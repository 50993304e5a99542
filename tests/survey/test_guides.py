from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

import pytest

from shutline.car.errors import UserError
from shutline.car.plan.bodies import bodies
from shutline.survey.checks import Guide, Sort
from shutline.survey.ground import ground
from shutline.survey.guide_file import read_guide
from shutline.survey.guides import shelf, with_own

HEAD = """id = "ostrel_pavane"
label = "Ostrel Pavane saloon"
sort = "construction"
builds_on = "small_saloon_subframes"
bodies = ["saloon"]
source = "house knowledge"
removes = ["front_seams"]

"""
CHECK = """[[check]]
id = "tonneau_rail"
part = "rear_wing"
sides = "each"
look_for = "rust under the chrome strip along the top"
how = ["look", "feel"]
why = "water stands behind the strip"
when_bad = ["small", "fair"]
best = "shown"
"""
CONSTRUCTIONS = (
    "small_saloon_subframes",
    "monocoque_saloon",
    "hatchback_estate",
    "separate_chassis_open",
    "glassfibre_on_chassis",
    "rear_engined",
    "wood_framed",
    "monocoque_convertible",
    "ladder_frame",
)


def together(*names: str) -> Guide:
    return shelf().put_together(names)


def ids(guide: Guide) -> set[str]:
    return {check.id for check in guide.checks}


def test_there_is_a_guide_for_each_kind_of_construction_and_drive() -> None:
    assert {one.id for one in shelf().of_sort(Sort.CONSTRUCTION)} == set(CONSTRUCTIONS)
    assert {one.id for one in shelf().of_sort(Sort.DRIVE)} == {"air_cooled", "electric_conversion"}


@pytest.mark.parametrize("name", CONSTRUCTIONS)
def test_each_guide_adds_and_removes_and_asks_enough_of_every_body_it_is_for(name: str) -> None:
    guide, general = together(name), together("general")
    assert ids(guide) - ids(general)
    assert ids(general) - ids(guide)
    for body in shelf().guides[name].bodies:
        count = sum(check.applies(body, 4) for check in guide.checks)
        assert 50 <= count <= 80, (body, count)


def test_every_body_that_can_be_drawn_has_one_guide_that_it_is_usually_of() -> None:
    usual = [body for one in shelf().of_sort(Sort.CONSTRUCTION) for body in one.usual_for]
    assert sorted(usual) == sorted(bodies())


def test_no_two_checks_of_a_guide_have_the_same_key() -> None:
    for name in shelf().guides:
        guide = together(*(("general",) if name == "general" else (name,)))
        for body, doors in (("saloon", 2), ("saloon", 4), ("estate", 5), ("roadster", 2)):
            keys = [asked.key for asked in guide.asked(body, doors)]
            assert len(set(keys)) == len(keys)


def test_two_checks_of_one_part_and_place_are_told_apart_by_what_answers_them() -> None:
    for name in CONSTRUCTIONS:
        seen: dict[object, list[str]] = {}
        for asked in together(name, "air_cooled").asked("saloon", 4):
            if not asked.check.answers:
                seen.setdefault((asked.check.part, asked.side, asked.position), []).append(asked.check.id)
        assert [ids for ids in seen.values() if len(ids) > 1] == []


def test_every_check_underneath_warns_of_the_jack_and_every_brake_of_its_linings() -> None:
    for guide in shelf().guides.values():
        for check in guide.checks:
            home = check.station or ground().homes[check.part][0]
            if home.startswith("under_"):
                assert "lifting" in check.cautions, check.where
            if check.part in {"brakes", "handbrake", "clutch"}:
                assert "linings" in check.cautions, check.where
            if check.part == "motor":
                assert "high_voltage" in check.cautions, check.where
    assert "on a jack alone" in ground().cautions["lifting"].text


def test_an_electric_car_is_not_asked_for_oil() -> None:
    electric = ids(together("hatchback_estate", "electric_conversion"))
    assert not electric & {"engine", "engine_leaks", "oil_pressure", "exhaust", "fuel_tank", "clutch", "cam_belt"}
    assert {"motor", "pack_box", "orange_cables", "isolator"} <= electric


def test_shipped_guides_name_their_source_and_speak_of_no_money() -> None:
    for guide in shelf().guides.values():
        assert guide.source == "common practice, no source"
        for check in guide.checks:
            assert not re.search(r"[£$€]|pound|euro", f"{check.look_for} {check.why}")


def test_a_guide_of_ones_own_builds_on_ours_and_may_take_the_place_of_one() -> None:
    own = with_own({"mine.toml": HEAD + CHECK}).put_together(["ostrel_pavane"])
    assert "tonneau_rail" in ids(own)
    assert "front_seams" not in ids(own)
    assert "subframe_rear" in ids(own)
    assert own.laid == ("general", "small_saloon_subframes", "ostrel_pavane")
    replaced = HEAD.replace("ostrel_pavane", "rear_engined").replace("small_saloon_subframes", "general")
    replaced = replaced.replace('["front_seams"]', "[]")
    assert with_own({"mine.toml": replaced}).guides["rear_engined"].label == "Ostrel Pavane saloon"


@pytest.mark.parametrize(
    ("old", "new", "line", "told"),
    [
        ('part = "rear_wing"', 'part = "rear_fender"', 11, "part 'rear_fender'"),
        ('part = "rear_wing"', 'part = "roof"', 12, "sides 'each' of part 'roof'"),
        ('sides = "each"', 'sides = ""', 12, "sides '' of part 'rear_wing'"),
        ('sides = "each"', 'sides = "left"', 12, "sides 'left'"),
        ('sides = "each"', 'sides = "each"\npositions = "rear"', 13, "positions 'rear' of part 'rear_wing'"),
        ('how = ["look", "feel"]', "how = []", 14, "no way of looking"),
        ('how = ["look", "feel"]', 'how = ["lick"]', 14, "how 'lick'"),
        ('when_bad = ["small", "fair"]', 'when_bad = ["fair", "small"]', 16, "when_bad ['fair', 'small']"),
        ('when_bad = ["small", "fair"]', 'when_bad = "small"', 16, "when_bad 'small'"),
        ('best = "shown"', 'best = "sung"', 17, "best 'sung'"),
        ('best = "shown"', 'best = "shown"\ntools = ["spanner"]', 18, "tools 'spanner'"),
        ('best = "shown"', 'best = "shown"\ncautions = ["dragons"]', 18, "cautions 'dragons'"),
        ('best = "shown"', 'best = "shown"\nafter = ["nothing"]', 9, "after 'nothing'"),
        ('best = "shown"', 'best = "shown"\nneeds = ["nothing"]', 9, "after 'nothing'"),
        ('best = "shown"', 'best = "shown"\nalong_with = "nothing"', 9, "along_with 'nothing'"),
        ('best = "shown"', 'best = "shown"\nstation = "roof_rack"', 18, "station 'roof_rack'"),
        ('best = "shown"', 'best = "shown"\nanswers = ["lovely"]', 18, "answers 'lovely'"),
        ('best = "shown"', 'best = "shown"\nmin_doors = "two"', 18, "min_doors 'two'"),
        ('best = "shown"', 'best = "shown"\ncolour = "red"', 18, "an entry 'colour'"),
        ('why = "water stands behind the strip"', 'why = ""', 15, "no why"),
        ('look_for = "rust under the chrome strip along the top"', 'look_for = "fuel on the floor"', 9, "caution fuel"),
        ('how = ["look", "feel"]', 'how = ["drive"]', 9, "caution road"),
        ('id = "tonneau_rail"', 'id = "Tonneau"', 10, "id 'Tonneau'"),
        ('["front_seams"]', '["front_seems"]', 7, "removes 'front_seems'"),
        ('"small_saloon_subframes"', '"subframes"', 4, "builds_on 'subframes'"),
        ('"small_saloon_subframes"', '"air_cooled"', 4, "builds_on 'air_cooled'"),
        ('"small_saloon_subframes"', '"ostrel_pavane"', 4, "a ring"),
        ('builds_on = "small_saloon_subframes"', 'builds_on = ""', 4, "builds_on ''"),
        ('["saloon"]', '["limousine"]', 5, "bodies 'limousine'"),
        ('sort = "construction"', 'sort = "model"', 3, "sort 'model'"),
        ('sort = "construction"', "sort = construction", 3, "TOML"),
    ],
)
def test_a_wrong_guide_is_refused_with_file_and_line(old: str, new: str, line: int, told: str) -> None:
    text = HEAD + CHECK
    assert old in text
    with pytest.raises(UserError) as refused:
        with_own({"mine.toml": text.replace(old, new, 1)})
    assert refused.value.problem.slug == "guide-refused"
    assert refused.value.problem.where == f"mine.toml, line {line}"
    assert told in refused.value.problem.sentence()


def test_a_caution_is_missed_where_a_part_or_a_place_calls_for_it() -> None:
    for part, missing in (("brakes", "lifting, linings"), ("suspension", "lifting"), ("fuel_filler", "fuel")):
        text = CHECK.replace("rear_wing", part)
        text = text.replace('sides = "each"\n', 'sides = "each"\npositions = "rear"\n' if part == "suspension" else "")
        text = text.replace("look_for", 'positions = "rear"\nlook_for', 1) if part == "brakes" else text
        with pytest.raises(UserError, match=f"lacks the caution {missing}"):
            with_own({"mine.toml": HEAD + text})


def test_checks_that_wait_for_each_other_are_refused() -> None:
    ring = CHECK + 'after = ["second"]\n\n' + CHECK.replace("tonneau_rail", "second") + 'after = ["tonneau_rail"]\n'
    with pytest.raises(UserError, match="wait for each other: tonneau_rail, second") as refused:
        with_own({"mine.toml": HEAD + ring})
    assert "line 9" in refused.value.problem.where


def test_two_guides_that_build_on_each_other_are_refused() -> None:
    other = HEAD.replace("ostrel_pavane", "second").replace("small_saloon_subframes", "ostrel_pavane")
    other = other.replace('["front_seams"]', "[]")
    first = HEAD.replace("small_saloon_subframes", "second").replace('["front_seams"]', "[]")
    with pytest.raises(UserError, match="a ring"):
        with_own({"one.toml": first, "two.toml": other})


def test_the_same_id_in_two_files_or_twice_in_one_is_refused() -> None:
    with pytest.raises(UserError, match=r"stands in one\.toml too"):
        with_own({"one.toml": HEAD + CHECK, "two.toml": HEAD + CHECK})
    with pytest.raises(UserError, match=r"line 20.*has been used before"):
        with_own({"one.toml": HEAD + CHECK + "\n" + CHECK})


def test_a_line_is_right_after_words_that_look_like_a_heading() -> None:
    text = HEAD + CHECK.replace('"water stands behind the strip"', '"""\n[[check]]\nwhy = 1"""') + 'best = "shown"\n'
    with pytest.raises(UserError) as refused:
        with_own({"mine.toml": text.replace('best = "shown"\nbest = "shown"', 'best = "sung"')})
    assert refused.value.problem.where == "mine.toml, line 19"


def test_bands_of_ones_own_take_the_place_of_ours_and_are_checked() -> None:
    shipped = files("shutline.survey").joinpath("data/bands.toml").read_text(encoding="utf-8")
    dearer = shipped.replace("hours = [12, 40]", "hours = [20, 60]")
    assert with_own({}, bands=("bands.toml", dearer)).ground.bands["large"].hours == (20, 60)
    for old, new, told in (
        ("hours = [12, 40]", "hours = [40, 12]", "hours"),
        ('id = "large"', 'id = "huge"', "bands|safety"),
        ('safety_counts_as = "large"', 'safety_counts_as = "x"', "safety_counts_as"),
        ("material = [4, 40]", "material = 4", "material"),
    ):
        with pytest.raises(UserError, match=told):
            with_own({}, bands=("bands.toml", shipped.replace(old, new, 1)))


def test_the_example_of_the_documentation_is_a_guide_that_can_be_read() -> None:
    text = (Path(__file__).parents[2] / "docs/survey.md").read_text(encoding="utf-8")
    examples = re.findall(r"```toml\n(id = .*?)```", text, re.DOTALL)
    assert examples
    for number, example in enumerate(examples):
        guide = read_guide(example, file=f"example-{number}.toml", ground=ground())
        assert guide.checks
        with_own({"example.toml": example})


def test_every_shipped_guide_is_named_in_the_documentation() -> None:
    text = (Path(__file__).parents[2] / "docs/survey.md").read_text(encoding="utf-8")
    assert [name for name in shelf().guides if f"`{name}`" not in text] == []


def test_the_reason_of_what_is_asked_at_several_places_needs_no_pronoun() -> None:
    """Both inner wings are one line of a report, and 'it holds the front' points at neither."""
    pronouns = re.compile(r"\b(?:it|its|they|them|their)\b")
    checks = [check for name in CONSTRUCTIONS for check in together(name).checks]
    several = [check for check in checks if len(check.sides) * len(check.positions) > 1]
    pointing = {f"{check.id}: {check.why}" for check in several if pronouns.search(check.why)}
    assert len(several) > 50
    assert pointing == set()
