"""Forms of marks and chassis numbers: each as its row says, whatever is read for what."""

import hashlib
import re
from importlib.resources import files

import pytest

from shutline.car.masks import MaskKind
from shutline.gauge.masks import settings
from shutline.gauge.masks.marks import mark_weight, plain
from shutline.gauge.masks.settings import chassis_forms, finding, forms, policy_of, policy_values, shipped_policy


@pytest.mark.parametrize("form", forms(), ids=lambda form: form.id)
def test_a_form_fits_its_example_and_not_its_counter_example(form: settings.Form) -> None:
    assert form.weight(plain(form.example), swapped=0.8) == form.sure
    assert form.weight(plain(form.counter_example), swapped=0.8) < form.sure


def test_signs_that_are_taken_for_one_another_cost_weight_and_do_not_hide_a_mark() -> None:
    right, misread = mark_weight("QI51 OIZ"), mark_weight("Q151 0IZ")
    assert right == 1.0
    assert 0.0 < misread < right


@pytest.mark.parametrize("words", ["FOR SALE", "GOOD BILL", "super", "GT", "MIND THE STEP", ""])
def test_words_are_no_marks(words: str) -> None:
    assert mark_weight(words) == 0.0


@pytest.mark.parametrize("words", ["185/70 R 13", "DOT XQ7 1204", "01632 960123", "47,210 MILES", "195/65R15 91H"])
def test_tyres_telephones_and_distances_are_no_chassis_numbers(words: str) -> None:
    assert any(re.fullmatch(other, plain(words)) for other in chassis_forms().others)


def test_a_form_that_cannot_be_is_named_by_its_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        settings, "_text", lambda _: "id,kind,form,sure,source,example,counter_example\na,mark,AB9,1,x,y,z\n"
    )
    with pytest.raises(ValueError, match=r"forms\.csv, line 2"):
        forms.__wrapped__()


def test_the_settings_are_read_whole() -> None:
    assert finding().pictures.lettering_px > 0
    assert 0 < finding().faces.least < 1


def test_a_policy_goes_to_values_and_back() -> None:
    policy = shipped_policy()
    assert policy.covers == "proposed"
    assert set(policy.kinds) == set(MaskKind)
    assert policy_of(policy_values(policy), where="here") == policy


@pytest.mark.parametrize(
    ("entry", "value"),
    [("covers", "all"), ("kinds", ["dog"]), ("colour", "grey"), ("margin", -1), ("margin", True), ("blur", 4)],
)
def test_a_policy_with_what_may_not_be_is_refused_by_name(entry: str, value: object) -> None:
    with pytest.raises(ValueError, match=entry):
        policy_of({**policy_values(shipped_policy()), entry: value}, where="masks.toml")


def test_the_weights_are_those_that_were_taken() -> None:
    folder = files("shutline.gauge.masks").joinpath("weights")
    digest, name = folder.joinpath("SHA256SUMS").read_text(encoding="utf-8").split()
    assert hashlib.sha256(folder.joinpath(name).read_bytes()).hexdigest() == digest


@pytest.mark.parametrize(("badge", "least"), [("1730 Z", 0.4), ("4 DOOR", 0.4)])
def test_a_badge_that_was_read_clearly_hardly_has_the_form_of_a_mark(badge: str, least: float) -> None:
    signs = len(plain(badge))
    assert mark_weight(badge) > least
    assert mark_weight(badge, [0.99] * signs) * finding().sureness.bare_form < finding().lettering.least
    # Where the signs that would have to stand for others were not clear, it may be one.
    assert mark_weight(badge, [0.5] * signs) == mark_weight(badge)


def test_a_mark_that_was_read_clearly_loses_nothing() -> None:
    assert mark_weight("QIZ 614Q", [0.99] * 7) == mark_weight("QIZ 614Q") == 1.0
