"""WebVTT against an independent parser and the rules of the W3C document (w3c/webvtt index.bs at 92a85cc2)."""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Sequence

import pytest
import webvtt as webvtt_py
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Side, State
from shutline.car.places import Visit
from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming, stretch_of
from shutline.car.vocabulary import vocabulary
from shutline.publish.captions import captions
from shutline.publish.chapters import chapters
from shutline.publish.webvtt import Cue, timestamp, webvtt

# "WebVTT timestamp": hours of two or more digits, minutes and seconds below 60, three digits of fraction.
TIMING = re.compile(r"(\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3}) --> (\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3})")
# "WebVTT cue text span": no U+003C except in tags, no U+0026 except in character references, no line of its own empty.
SPAN = re.compile(r"(?:[^<&\n\r]|&(?:amp|lt|gt|lrm|rlm|nbsp);)+")


def check(text: str) -> list[tuple[int, int, str]]:
    """Hold a file to the rules of the document; give its cues."""
    assert "\0" not in text
    assert "\r" not in text
    head, *blocks = text.removesuffix("\n").split("\n\n")
    assert head.rstrip("\n") == "WEBVTT"
    ids: set[str] = set()
    cues: list[tuple[int, int, str]] = []
    latest = 0
    for block in blocks:
        name, timing, *payload = block.split("\n")
        assert "-->" not in name
        assert name not in ids
        ids.add(name)
        match = TIMING.fullmatch(timing)
        assert match, timing
        h, m, s, t, h2, m2, s2, t2 = (int(group) for group in match.groups())
        start, end = ((h * 60 + m) * 60 + s) * 1000 + t, ((h2 * 60 + m2) * 60 + s2) * 1000 + t2
        assert start >= latest, "a start is not before any earlier start"
        assert end > start
        latest = start
        assert payload
        for line in payload:
            assert "-->" not in line
            assert SPAN.fullmatch(line), line
        cues.append((start, end, "\n".join(payload)))
    return cues


def parsed(text: str) -> list[tuple[str, str]]:
    found = webvtt_py.from_buffer(io.StringIO(text))
    return [(cue.start, cue.end) for cue in found]


def test_the_documents_own_chapter_sample_is_written_the_same() -> None:
    # From w3c/webvtt: four slides, 0, 10.7, 47.6, 1:50.1 to 3:33 (check of form by webvtt-py 0.6).
    edges = [0, 10_700, 47_600, 110_100, 213_000]
    text = webvtt([Cue(a, b, f"Slide {n}") for n, (a, b) in enumerate(itertools.pairwise(edges), 1)])
    assert [cue[:2] for cue in check(text)] == list(itertools.pairwise(edges))
    assert parsed(text)[1] == ("00:00:10.700", "00:00:47.600")


def test_markup_and_arrows_in_speech_stay_text() -> None:
    text = webvtt([Cue(0, 1000, "a --> b <c>bold</c> R&D\n\nafter a blank line")])
    (cue,) = check(text)
    assert cue[2] == "a --&gt; b &lt;c&gt;bold&lt;/c&gt; R&amp;D\nafter a blank line"
    assert len(webvtt_py.from_buffer(io.StringIO(text))) == 1


def test_hours_beyond_ninety_nine_are_written_out() -> None:
    assert timestamp(360_000_000) == "100:00:00.000"


@pytest.mark.parametrize("cues", [[Cue(5, 5, "a")], [Cue(9, 12, "a"), Cue(3, 20, "b")], [Cue(-1, 4, "a")]])
def test_cues_out_of_order_are_refused(cues: list[Cue]) -> None:
    with pytest.raises(ValueError, match="cue"):
        webvtt(cues)


TEXTS = st.text(st.characters(), min_size=1, max_size=40)
STRETCHES = st.lists(
    st.tuples(st.floats(0, 300), st.floats(0, 60), st.lists(TEXTS, max_size=30)).map(
        lambda row: stretch_of(" ".join(row[2]), row[0], row[0] + row[1], origin=StretchOrigin.TRANSCRIPT)
    ),
    max_size=6,
)


@settings(max_examples=80, deadline=None)
@given(STRETCHES)
def test_captions_of_any_speech_keep_the_rules(stretches: Sequence[Stretch]) -> None:
    cues = captions(stretches)
    found = check(webvtt(cues))
    assert len(found) == len(cues)
    for cue, after in itertools.pairwise(cues):
        assert cue.end_ms <= after.start_ms, "captions never overlap"
    for cue in cues:
        lines = cue.text.split("\n")
        assert len(lines) <= 2
        assert all(len(line) <= 42 for line in lines)
        assert cue.end_ms - cue.start_ms <= 7000
    assert len(webvtt_py.from_buffer(io.StringIO(webvtt(cues)))) == len(cues)


def steady(text: str, start_s: float, letters_a_second: float = 14) -> Stretch:
    return stretch_of(text, start_s, start_s + len(text) / letters_a_second, origin=StretchOrigin.HEARD)


SPEECH = (
    "Right, here she is, a sixty-eight, in the blue she left the factory in. Come round the front with me. "
    "Bonnet, one or two little stone chips, nothing you'd lose sleep over. Grille is straight. "
    "Nearside wing now, no rust along the bottom, I've had a magnet on it. The sill, that's had it."
)


def test_speech_at_an_ordinary_pace_gets_captions_of_one_to_seven_seconds() -> None:
    cues = captions([steady(SPEECH, 2.0)])
    assert all(1000 <= cue.end_ms - cue.start_ms <= 7000 for cue in cues)
    assert " ".join(cue.text.replace("\n", " ") for cue in cues) == SPEECH, "no word is lost"


def test_a_caption_starts_with_its_first_word() -> None:
    stretch = steady(SPEECH, 2.0)
    starts = {round(word.start_s * 1000) for word in stretch.words}
    assert {cue.start_ms for cue in captions([stretch])} <= starts


def test_a_pause_ends_a_caption() -> None:
    cues = captions([steady("One thing here", 0.0), steady("and one there", 9.0)])
    assert [cue.text for cue in cues] == ["One thing here", "and one there"]
    assert cues[0].end_ms < 9000


def test_a_word_longer_than_two_lines_is_cut_into_pieces() -> None:
    word = Word("a" * 200, 0.0, 20.0, WordTiming.GIVEN)
    cues = captions([Stretch(0.0, 20.0, word.text, (word,), StretchOrigin.HEARD)])
    assert "".join(cue.text.replace("\n", "") for cue in cues) == "a" * 200


def test_times_that_are_no_numbers_are_left_out() -> None:
    word = Word("lost", float("nan"), 1.0, WordTiming.GIVEN)
    assert captions([Stretch(0.0, 1.0, "lost", (word,), StretchOrigin.HEARD)]) == ()


def named(visits: Sequence[Visit], length_s: float) -> list[str]:
    return [cue.text for cue in chapters(visits, length_s=length_s)]


WALK = (
    Visit(0, 20, "bonnet"),
    Visit(20, 40, "front_wing", Side.NEAR),
    Visit(40, 50, "arch", Side.NEAR, Position.FRONT),
    Visit(50, 53, "grille"),
    Visit(53, 70, "front_wing", Side.NEAR),
    Visit(70, 100, "engine"),
)


def test_chapters_are_named_for_the_places_of_the_walk() -> None:
    assert named(WALK, 100) == ["Front", "Nearside front wing and arch", "Engine bay"]


def test_chapters_follow_one_another_from_beginning_to_end() -> None:
    found = check(webvtt(chapters(WALK, length_s=100)))
    assert found[0][0] == 0
    assert found[-1][1] == 100_000
    assert all(a[1] == b[0] for a, b in itertools.pairwise(found))


def test_a_glance_aside_makes_no_chapter() -> None:
    glance = (Visit(0, 30, "bonnet"), Visit(30, 32, "roof"), Visit(32, 60, "grille"))
    assert named(glance, 60) == ["Front"]


def test_findings_stand_in_for_visits_and_struck_ones_do_not() -> None:
    def kept(start_s: float, part: str, state: State = State.HEARD) -> KeptFinding:
        footing = Footing(FootingKind.SAID, "r", start_s, start_s + 1, "words")
        return KeptFinding(part, Finding(part, "sound", Found.YES, footings=(footing,), state=state))

    found = chapters((), length_s=90, findings=[kept(2, "bonnet"), kept(30, "engine"), kept(60, "roof", State.STRUCK)])
    assert [cue.text for cue in found] == ["Front", "Engine bay"]


def test_a_film_of_which_nothing_is_known_is_one_chapter() -> None:
    assert chapters((), length_s=10) == (Cue(0, 10_000, "The walk"),)
    assert chapters((), length_s=0) == ()


VISITS = st.lists(
    st.builds(
        lambda start, length, part, side, position: Visit(start, start + length, part, side, position),
        st.floats(-5, 500),
        st.floats(0, 60),
        st.sampled_from(sorted(vocabulary().parts)),
        st.sampled_from([None, *Side]),
        st.sampled_from([None, *Position]),
    ),
    max_size=40,
)


@settings(max_examples=80, deadline=None)
@given(VISITS, st.floats(0.5, 600))
def test_chapters_of_any_walk_cover_the_film_once(visits: Sequence[Visit], length_s: float) -> None:
    cues = chapters(visits, length_s=length_s)
    found = check(webvtt(cues))
    assert found[0][0] == 0
    assert found[-1][1] == round(length_s * 1000)
    assert all(a[1] == b[0] for a, b in itertools.pairwise(found))
    if len(cues) > 1:
        assert all(cue.end_ms - cue.start_ms >= 11_999 for cue in cues)
