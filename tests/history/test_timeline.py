"""The timeline as a drawing: bars with their gaps and ends, lanes where something is known, and nothing that fails."""

from __future__ import annotations

import re
from datetime import date
from xml.etree import ElementTree as ET

from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.history.mileage import MileagePoint, mileage_told
from shutline.history.timeline import Event, EventKind, timeline_svg

DAY = date(2026, 11, 26)
NOTHING = mileage_told([], day=DAY)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(*events: Event, mileage=NOTHING) -> str:
    return timeline_svg(events, mileage, title="Timeline of the car", desc="what it shows")


def bar(start: str, until: str | None = None, label: str = "", *, kind=EventKind.KEEPER, **more: bool) -> Event:
    end = date.fromisoformat(until) if until else None
    return Event(kind, date.fromisoformat(start), label or "keeper", "said", end, label, **more)


def texts(picture: str) -> list[str]:
    return [one.text or "" for one in ET.fromstring(picture).iter(f"{SVG}text")]  # noqa: S314


def bars(picture: str) -> list[tuple[float, float, float]]:
    """Give left, right and height of each bar; the squares of tests have other heights."""
    found = [one.attrib for one in ET.fromstring(picture).iter(f"{SVG}rect")]  # noqa: S314
    return [
        (float(one["x"]), float(one["x"]) + float(one["width"]), float(one["y"]))
        for one in found
        if one.get("height") == "12"
    ]


def test_a_gap_has_a_question_mark_and_what_meets_has_none() -> None:
    apart = drawn(bar("1970-01-01", "1980-01-01", "Pell"), bar("1990-01-01", "2000-01-01", "Marl"))
    assert [one for one in texts(apart) if one in {"Pell", "Marl", "?"}] == ["Pell", "?", "Marl"]
    together = drawn(bar("1970-01-01", "1980-01-01", "Pell"), bar("1980-01-20", "2000-01-01", "Marl"))
    assert "?" not in texts(together)
    # Where an end is not known it is not said that nobody had it.
    assert "?" not in texts(drawn(bar("1970-01-01", None, "Pell"), bar("1990-01-01", "2000-01-01", "Marl")))


def test_a_bar_lies_where_its_days_lie_and_what_overlaps_lies_below() -> None:
    (first, second, third) = bars(
        drawn(bar("1970-01-01", "1980-01-01"), bar("1975-01-01", "1990-01-01"), bar("1990-06-01", "2000-01-01"))
    )
    assert first[0] < second[0] < first[1] < second[1] < third[0]
    assert first[2] == third[2] < second[2]
    decade = first[1] - first[0]
    assert abs((second[1] - second[0]) - 1.5 * decade) < 0.02 * decade


def test_an_end_that_has_not_come_is_an_arrow_and_one_that_nobody_knows_fades() -> None:
    ended = drawn(bar("1970-01-01", "1980-01-01"))
    assert (ended.count("<polygon"), ended.count('dasharray="1 3"')) == (0, 0)
    lasting = drawn(bar("1970-01-01", "2026-11-26", lasts=True))
    assert (lasting.count("<polygon"), lasting.count('dasharray="1 3"')) == (1, 0)
    fading = drawn(bar("1970-01-01"), bar("1980-01-01", "1990-01-01", begun=False))
    assert (fading.count("<polygon"), fading.count('dasharray="1 3"')) == (0, 2)


def test_a_name_that_is_too_long_is_cut_and_one_without_room_left_out() -> None:
    name = "Wilhelmina Featherstonehaugh-Smythe"
    shown = texts(drawn(bar("1970-01-01", "1980-01-01", name), bar("1980-01-02", "2020-01-01", "Pell")))
    (cut,) = [one for one in shown if one.startswith("Wilhelmina")]
    assert cut.endswith("\N{HORIZONTAL ELLIPSIS}")
    assert len(cut) < len(name)
    tight = texts(drawn(bar("1970-01-01", "1970-02-01", name), bar("1970-02-01", "2020-01-01", "Pell")))
    assert not [one for one in tight if "Wil" in one]


def test_lanes_stand_where_something_is_known() -> None:
    plain = drawn(bar("1970-01-01", "1980-01-01"))
    lanes = ("Keepers", "Countries", "Free of", "Papers", "Work done", "Our films")
    assert [one for one in texts(plain) if one in lanes] == ["Keepers"]
    more = [
        Event(EventKind.PAPER, date(1987, 4, 2), "invoice", "paper 1"),
        Event(EventKind.WORK, date(1987, 4, 2), "sills renewed", "said"),
        Event(EventKind.OURS, date(1987, 4, 2), "film", "film"),
        Event(EventKind.IMPORTED, date(1987, 4, 2), "imported", "entered"),
        bar("1970-01-01", "1987-04-02", "France", kind=EventKind.COUNTRY),
        bar("2010-04-01", "2026-11-26", "vehicle tax", kind=EventKind.EXEMPT, lasts=True),
    ]
    whole = drawn(bar("1970-01-01", "1980-01-01"), *more)
    assert [one for one in texts(whole) if one in lanes] == list(lanes)
    assert {"France", "vehicle tax", "imported"} <= set(texts(whole))
    assert _height(whole) > _height(plain)


def test_what_is_known_of_nothing_takes_no_room() -> None:
    bare = drawn(bar("1970-01-01", "1980-01-01"))
    tested = drawn(bar("1970-01-01", "1980-01-01"), Event(EventKind.TEST_PASSED, date(2011, 3, 2), "passed", "test"))
    assert not {"Tests", "Mileage, miles"} & set(texts(bare))
    assert "Tests" in texts(tested)
    assert _height(bare) < _height(tested)


def _height(picture: str) -> float:
    found = re.search(r'viewBox="0 0 940 ([0-9.]+)"', picture)
    assert found is not None
    return float(found[1])


def test_what_age_frees_a_car_of_is_no_timeline_by_itself() -> None:
    assert drawn() == drawn(bar("2010-04-01", "2026-11-26", "test", kind=EventKind.EXEMPT, lasts=True)) == ""


days = st.dates(date(1885, 1, 1), date(2199, 12, 31))
events = st.builds(
    Event,
    st.sampled_from(EventKind),
    days,
    st.text(max_size=9),
    st.text(max_size=9),
    st.none() | days,
    st.text(max_size=40),
    lasts=st.booleans(),
    begun=st.booleans(),
)


@settings(max_examples=80, deadline=None)
@given(st.lists(events, max_size=9), st.lists(st.tuples(days, st.integers(0, 999_999)), max_size=4))
def test_whatever_is_known_gives_a_drawing_that_can_be_read_and_stays_within_its_edges(known, miles) -> None:
    mileage = mileage_told([MileagePoint(day, value, "mi") for day, value in miles], day=date(2199, 12, 31))
    picture = drawn(*known, mileage=mileage)
    if picture:
        for left, right, _ in bars(picture):
            assert 110 <= left < right <= 940
    assert drawn(*known[::-1], mileage=mileage) == picture
