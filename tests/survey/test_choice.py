from __future__ import annotations

import pytest

from shutline.car.carfile import CarFile, KeptFact, Recording
from shutline.car.errors import UserError
from shutline.car.findings import Drive, Fact, Footing, FootingKind, State
from shutline.car.recordings import Kind, Original, Probe
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.survey import choose_guide, with_own


def car(words: str = "", *, body: str | None = "saloon", power: str | None = None, **more: object) -> CarFile:
    stretch = stretch_of(words, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)
    original = Original("a" * 64, "r.vtt", 1, Kind.TRANSCRIPT, "2026-01-01T00:00:00Z")
    recording = Recording("r", original, Probe(Kind.TRANSCRIPT, "vtt"), (stretch,), complete=True)
    footing = (Footing(FootingKind.SAID, "r"),)
    facts = () if power is None else (KeptFact("p", Fact("power_source", power, footings=footing, **more)),)  # type: ignore[arg-type]
    return CarFile("car", "Car", Drive.RHD, "2026-01-01T00:00:00Z", body, recordings=(recording,), facts=facts)


@pytest.mark.parametrize(
    ("words", "body", "guide"),
    [
        ("", "saloon", "monocoque_saloon"),
        ("", "hatchback", "hatchback_estate"),
        ("", "estate", "hatchback_estate"),
        ("", "roadster", "separate_chassis_open"),
        ("", "convertible", "monocoque_convertible"),
        ("", "4x4", "ladder_frame"),
        ("", None, "monocoque_saloon"),
        ("she's on a rear subframe, mind", "saloon", "small_saloon_subframes"),
        ("there's one star crack by the lamp", "convertible", "glassfibre_on_chassis"),
        ("the engine\u2019s in the back", "saloon", "rear_engined"),
        ("steel over an ash frame", "van", "wood_framed"),
        ("air-cooled, engine in the back", "saloon", "rear_engined+air_cooled"),
    ],
)
def test_body_and_words_choose_the_guide(words: str, body: str | None, guide: str) -> None:
    assert choose_guide(car(words, body=body)).guide.id == guide


def test_words_of_another_kind_of_body_are_no_clue() -> None:
    assert choose_guide(car("the transfer box is quiet", body="roadster")).guide.id == "separate_chassis_open"


def test_what_it_runs_on_is_laid_over_and_a_fact_stands_over_words() -> None:
    assert choose_guide(car(power="electric")).guide.id == "monocoque_saloon+electric_conversion"
    petrol = car("my other one is converted to electric", power="petrol")
    assert choose_guide(petrol).guide.id == "monocoque_saloon"
    struck = car(power="electric", state=State.STRUCK)
    assert choose_guide(struck).guide.id == "monocoque_saloon"


def test_the_reason_goes_with_the_choice() -> None:
    choice = choose_guide(car("she's on a rear subframe, mind"))
    assert [reason.words for reason in choice.reasons] == ["said: rear subframe"]
    assert "monocoque_saloon" in choice.others


def test_a_person_chooses_over_it_and_names_that_there_are_not_are_refused() -> None:
    choice = choose_guide(car(), names=("wood_framed",))
    assert choice.chosen
    assert choice.guide.id == "wood_framed"
    with pytest.raises(UserError, match="'sledge'"):
        choose_guide(car(), names=("sledge",))
    with pytest.raises(UserError, match="one construction"):
        choose_guide(car(), names=("wood_framed", "rear_engined"))


def test_a_model_of_ones_own_is_taken_before_what_it_builds_on() -> None:
    own = with_own(
        {
            "mine.toml": 'id = "pavane"\nlabel = "Pavane"\nsort = "construction"\n'
            'builds_on = "small_saloon_subframes"\nbodies = ["saloon"]\n'
            'clues = ["pavane"]\nsource = "house knowledge"\n'
        }
    )
    assert choose_guide(car("the Pavane has a rear subframe"), on=own).guide.id == "pavane"
