from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from shutline.car.speech import StretchOrigin, WordTiming
from shutline.speech.transcripts import Form, Transcript, parse_transcript

NARRATIONS = Path(__file__).parents[3] / "shared" / "eval" / "dev"


def read(content: str | bytes) -> Transcript:
    return parse_transcript(content, name="walk.vtt")


def said(content: str | bytes) -> list[tuple[float, float, str]]:
    return [(round(one.start_s, 3), round(one.end_s, 3), one.text) for one in read(content).stretches]


def slugs(content: str | bytes) -> list[str]:
    return [problem.slug for problem in read(content).problems]


GOOD_VTT = """WEBVTT - a walk
Kind: captions

NOTE
This is not said.

STYLE
::cue { color: white }

REGION
id:low

1
00:01.000 --> 00:04.000 align:start position:10%
<v Presenter>Morning &amp; welcome, <i>right</i>,
this is it.

with a name
01:00:04.500 --> 01:00:06.250
The <c.part>sill</c> is <00:00:05.000>sound.
"""


def test_webvtt_is_read_without_notes_styles_tags_and_entities() -> None:
    assert read(GOOD_VTT).form is Form.WEBVTT
    assert said(GOOD_VTT) == [
        (1.0, 4.0, "Morning & welcome, right, this is it."),
        (3604.5, 3606.25, "The sill is sound."),
    ]
    assert slugs(GOOD_VTT) == []


def test_webvtt_is_read_as_an_independent_parser_reads_it() -> None:
    import webvtt

    theirs = webvtt.from_buffer(io.StringIO(GOOD_VTT))
    ours = read(GOOD_VTT).stretches
    assert [cue.start_in_seconds for cue in theirs.captions] == [int(one.start_s) for one in ours]
    assert [cue.end_in_seconds for cue in theirs.captions] == [int(one.end_s) for one in ours]
    assert [" ".join(cue.text.split()).replace("&amp;", "&") for cue in theirs.captions] == [one.text for one in ours]


GOOD_SRT = (
    "1\r\n00:00:01,000 --> 00:00:02,500\r\n{\\an8}Front bumper.\r\n\r\n"
    "2\r\n00:00:03,000 --> 00:00:04,000\r\nNo rust\r\non it.\r\n"
)


def test_subrip_with_its_line_ends_is_read() -> None:
    assert read(GOOD_SRT).form is Form.SUBRIP
    assert said(GOOD_SRT) == [(1.0, 2.5, "Front bumper."), (3.0, 4.0, "No rust on it.")]
    assert slugs(GOOD_SRT) == []


def test_a_missing_empty_line_between_cues_loses_nothing() -> None:
    text = "1\n00:00:01,000 --> 00:00:02,000\nOne.\n2\n00:00:03,000 --> 00:00:04,000\nTwo.\n"
    assert said(text) == [(1.0, 2.0, "One."), (3.0, 4.0, "Two.")]


def test_an_empty_line_inside_a_cue_loses_nothing() -> None:
    text = "1\n00:00:01,000 --> 00:00:02,000\nOne.\n\nMore of it.\n\n2\n00:00:03,000 --> 00:00:04,000\nTwo.\n"
    assert said(text) == [(1.0, 2.0, "One. More of it."), (3.0, 4.0, "Two.")]
    assert slugs(text) == ["words-without-cue"]


@pytest.mark.parametrize(
    ("line", "times"),
    [
        ("00:05.000 -> 00:06.000", (5.0, 6.0)),
        ("00:05.000 \N{EN DASH} 00:06.000", (5.0, 6.0)),
        ("00:05.000 --> ", (5.0, 9.0)),
        ("--> 00:06.000", (2.0, 6.0)),
        ("00:75.000 --> 00:06.000", (2.0, 6.0)),
        ("00:05.000 --> later", (5.0, 9.0)),
    ],
)
def test_a_broken_cue_keeps_its_words_and_what_can_be_read_of_its_times(line: str, times: tuple[float, float]) -> None:
    text = f"WEBVTT\n\n00:01.000 --> 00:02.000\nOne.\n\n{line}\nThe sill.\n\n00:09.000 --> 00:10.000\nThree.\n"
    transcript = read(text)
    assert [one.text.removeprefix("later ") for one in transcript.stretches] == ["One.", "The sill.", "Three."]
    assert (transcript.stretches[1].start_s, transcript.stretches[1].end_s) == times
    broken = [problem for problem in transcript.problems if problem.slug == "cue-broken"]
    assert len(broken) == 1
    assert broken[0].where == "walk.vtt, line 6"
    assert line.strip() in broken[0].found


def test_an_arrow_in_what_is_said_is_no_time() -> None:
    text = "WEBVTT\n\n00:01.000 --> 00:02.000\nfrom front --> rear, 1:20-ish\n"
    assert said(text) == [(1.0, 2.0, "from front --> rear, 1:20-ish")]


def test_a_less_than_sign_is_no_tag() -> None:
    assert said("WEBVTT\n\n00:01.000 --> 00:02.000\ngap < 4 mm and > 3\n")[0][2] == "gap < 4 mm and > 3"


def test_an_end_before_its_start_is_mended_from_the_next_cue() -> None:
    text = "WEBVTT\n\n00:05.000 --> 00:04.000\nOne.\n\n00:07.000 --> 00:08.000\nTwo.\n"
    assert said(text) == [(5.0, 7.0, "One."), (7.0, 8.0, "Two.")]
    assert slugs(text) == ["cue-ends-before-start"]


def test_cues_out_of_order_are_read_in_order_of_time_and_told() -> None:
    text = "WEBVTT\n\n00:09.000 --> 00:10.000\nTwo.\n\n00:01.000 --> 00:02.000\nOne.\n"
    assert [one[2] for one in said(text)] == ["One.", "Two."]
    problem = read(text).problems[0]
    assert problem.slug == "cue-out-of-order"
    assert problem.where == "walk.vtt, line 6"


def test_cues_that_overlap_keep_their_times_and_are_told() -> None:
    text = "WEBVTT\n\n00:01.000 --> 00:05.000\nOne.\n\n00:03.000 --> 00:06.000\nTwo.\n"
    assert said(text) == [(1.0, 5.0, "One."), (3.0, 6.0, "Two.")]
    assert slugs(text) == ["cues-overlap"]


def test_a_cue_without_words_is_passed_over_and_told() -> None:
    assert slugs("WEBVTT\n\n00:01.000 --> 00:02.000\n\n00:03.000 --> 00:04.000\nTwo.\n") == ["cue-empty"]


def test_of_many_problems_of_a_kind_twenty_are_told_and_the_rest_counted() -> None:
    cues = "".join(f"00:{at:02}.000 --> 00:59.000\nThe {at}.\n\n" for at in range(50))
    problems = [problem for problem in read("WEBVTT\n\n" + cues).problems if problem.slug == "cues-overlap"]
    assert len(problems) == 21
    assert problems[-1].found.startswith("and 29 more of these")


def test_a_heading_alone_has_no_words() -> None:
    transcript = read("WEBVTT\n")
    assert transcript.stretches == ()
    assert [problem.slug for problem in transcript.problems] == ["transcript-empty"]


@pytest.mark.parametrize("content", ["", " \n\n", b"", b"\xef\xbb\xbf", "{}", '{"segments": []}', "[]"])
def test_nothing_is_told_as_nothing(content: str | bytes) -> None:
    assert read(content).stretches == ()
    assert "transcript-empty" in slugs(content)


def test_stamped_text_ends_each_stretch_where_the_next_begins_and_the_last_by_its_words() -> None:
    text = "[0:01] one two\nand more\n\n(0:05) three [0:07] four\n1:05 - five\n1:02:03.5 six seven eight\n"
    assert read(text).form is Form.STAMPED
    assert said(text) == [
        (1.0, 5.0, "one two and more"),
        (5.0, 7.0, "three"),
        (7.0, 65.0, "four"),
        (65.0, 3723.5, "five"),
        (3723.5, 3724.5, "six seven eight"),
    ]
    assert slugs(text) == []


def test_a_stamp_with_an_end_keeps_it() -> None:
    for arrow in (" - ", "-->", " to ", " \N{EN DASH} "):
        assert said(f"[0:01{arrow}0:03] one\n[0:05] two") == [(1.0, 3.0, "one"), (5.0, 5.333, "two")]


def test_words_beside_the_times_of_a_cue_are_kept() -> None:
    assert said("00:01.000 --> 00:02.000 align:start The sill\n\n00:03.000 --> 00:04.000\nTwo.") == [
        (1.0, 2.0, "The sill"),
        (3.0, 4.0, "Two."),
    ]


def test_words_before_the_first_stamp_are_kept_and_told() -> None:
    assert [one[2] for one in said("Morning.\n[0:04] The sill.")] == ["Morning.", "The sill."]
    assert slugs("Morning.\n[0:04] The sill.") == ["cue-without-time"]


def test_a_stamp_past_the_hour_keeps_its_words() -> None:
    assert [one[2] for one in said("[0:01] one\n[0:75] two")] == ["one", "two"]
    assert slugs("[0:01] one\n[0:75] two") == ["cue-broken", "cue-without-time"]


def test_text_without_times_is_kept_and_told() -> None:
    assert [one[2] for one in said("The sill is sound.\nThe wing is not.")] == ["The sill is sound. The wing is not."]
    assert slugs("The sill is sound.\nThe wing is not.") == ["transcript-without-times"]


def test_json_segments_are_read_and_other_keys_ignored() -> None:
    text = json.dumps({"car": "x", "segments": [{"start": 1.5, "end": 4, "text": " The sill. ", "id": 3}], "facts": []})
    assert read(text).form is Form.JSON
    assert said(text) == [(1.5, 4.0, "The sill.")]
    assert slugs(text) == []
    assert said(json.dumps(json.loads(text)["segments"])) == [(1.5, 4.0, "The sill.")]


def test_json_words_keep_their_times() -> None:
    words = [
        {"word": " The", "start": 1.0, "end": 1.2, "probability": 0.9},
        {"word": " sill.", "start": 1.3, "end": 1.9},
    ]
    text = json.dumps({"segments": [{"start": 1, "end": 2, "text": "The sill.", "words": words}]})
    stretch = read(text).stretches[0]
    assert [(w.text, w.start_s, w.end_s, w.timing, w.sureness) for w in stretch.words] == [
        ("The", 1.0, 1.2, WordTiming.GIVEN, 0.9),
        ("sill.", 1.3, 1.9, WordTiming.GIVEN, None),
    ]
    differs = json.dumps({"segments": [{"start": 1, "end": 2, "text": "The other sill.", "words": words}]})
    assert read(differs).stretches[0].words[0].timing is WordTiming.SHARED_OUT
    assert slugs(differs) == ["words-differ-from-text"]


@pytest.mark.parametrize("start", ["soon", -1, True, [], 1e400, None])
def test_a_json_time_that_is_none_keeps_its_words(start: object) -> None:
    text = json.dumps({"segments": [{"start": 1, "end": 2, "text": "one"}, {"start": start, "end": 5, "text": "two"}]})
    assert said(text) == [(1.0, 2.0, "one"), (2.0, 5.0, "two")]
    assert "cue-without-time" in slugs(text)


def test_json_that_is_cut_off_keeps_each_whole_segment() -> None:
    whole = json.dumps({"segments": [{"start": at, "end": at + 1, "text": f"words {at}"} for at in range(5)]})
    cut = whole[: whole.index("words 3") + 3]
    assert [one[2] for one in said(cut)] == ["words 0", "words 1", "words 2"]
    assert slugs(cut) == ["json-broken"]


@pytest.mark.parametrize("text", ["[" * 100_000, '{"a":' * 5_000, "{" * 50_000, '{"segments": 5}', "[1, null, {}]"])
def test_hostile_json_is_a_problem_and_no_crash(text: str) -> None:
    assert read(text).stretches == ()
    assert slugs(text)


POUND = "[0:01] It was £500 and the café door is the same."


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "utf-32"])
def test_marked_and_plain_unicode_is_read_without_a_word(coding: str) -> None:
    assert said(POUND.encode(coding))[0][2] == POUND[7:]
    assert slugs(POUND.encode(coding)) == []


@pytest.mark.parametrize("coding", ["cp1252", "latin-1", "utf-16-le", "utf-16-be"])
def test_other_codings_are_guessed_and_told(coding: str) -> None:
    assert said(POUND.encode(coding))[0][2] == POUND[7:]
    assert slugs(POUND.encode(coding)) == ["encoding-guessed"]


def test_damaged_unicode_keeps_the_rest() -> None:
    raw = "[0:01] £1 £2 £3 the sill".encode() + b"\xff is sound"
    assert "£1 £2 £3 the sill" in said(raw)[0][2]
    assert slugs(raw) == ["encoding-guessed"]


def test_a_transcript_in_another_language_is_told() -> None:
    text = (
        "[0:01] Bonjour, voici la voiture. Les deux ailes avant sont en bon état, mais le bas de la porte gauche est "
        "rouillé. Le moteur démarre bien à froid, il n'y a pas de fuite d'huile."
    )
    assert slugs(text) == ["not-english"]


WORDS = st.lists(st.sampled_from(["sill", "wing,", "door.", "Rust", "£50", "it's", "no"]), min_size=1, max_size=6)
CUES = st.lists(st.tuples(st.integers(1, 3000), st.integers(1, 9000), WORDS), min_size=1, max_size=8)


def laid_out(cues: list[tuple[int, int, list[str]]], unit: int) -> list[tuple[int, int, str]]:
    """Cues one after the other, in thousandths that are whole multiples of `unit`."""
    result, at = [], 0
    for gap, length, words in cues:
        start = at + gap * unit
        at = start + length * unit
        result.append((start, at, " ".join(words)))
    return result


def clock(thousandths: int, point: str = ".") -> str:
    whole, rest = divmod(thousandths, 1000)
    return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}{point}{rest:03}"


@hypothesis_settings(deadline=None)
@given(cues=CUES, ends=st.sampled_from(["\n", "\r\n", "\r"]))
def test_what_is_written_in_each_form_is_read_back(cues: list[tuple[int, int, list[str]]], ends: str) -> None:
    laid = laid_out(cues, 1)
    expected = [(start / 1000, end / 1000, text) for start, end, text in laid]
    vtt = "WEBVTT\n\n" + "\n".join(f"{clock(start)} --> {clock(end)}\n{text}\n" for start, end, text in laid)
    srt = "\n".join(
        f"{at}\n{clock(start, ',')} --> {clock(end, ',')}\n{text}\n" for at, (start, end, text) in enumerate(laid, 1)
    )
    segments = json.dumps({"segments": [{"start": s / 1000, "end": e / 1000, "text": text} for s, e, text in laid]})
    for content in (vtt, srt, segments):
        transcript = read(content.replace("\n", ends).encode())
        assert [(round(one.start_s, 6), round(one.end_s, 6), one.text) for one in transcript.stretches] == expected
        assert [problem.slug for problem in transcript.problems if problem.slug != "not-english"] == []
        assert all(one.origin is StretchOrigin.TRANSCRIPT for one in transcript.stretches)
        assert all(" ".join(word.text for word in one.words) == one.text for one in transcript.stretches)


@hypothesis_settings(deadline=None)
@given(cues=CUES)
def test_stamped_text_is_read_back(cues: list[tuple[int, int, list[str]]]) -> None:
    laid = laid_out([(gap % 50 + 1, length % 60 + 1, words) for gap, length, words in cues], 1000)
    text = "\n".join(f"[{start // 60000}:{start // 1000 % 60:02}] {words}" for start, _, words in laid)
    assert [(one.start_s, one.text) for one in read(text).stretches] == [
        (start / 1000, words) for start, _, words in laid
    ]


@hypothesis_settings(deadline=None, max_examples=200)
@given(raw=st.binary(max_size=300) | st.text(alphabet='WEBVT\n0123:.,->[]{}" astext', max_size=200).map(str.encode))
def test_no_bytes_whatever_bring_it_down(raw: bytes) -> None:
    transcript = read(raw)
    assert transcript.stretches or transcript.problems
    for one in transcript.stretches:
        assert 0 <= one.start_s <= one.end_s
        assert [word.text for word in one.words] == one.text.split()
    assert all(p.where and p.found and p.allowed and p.advice for p in transcript.problems)


@pytest.mark.skipif(not NARRATIONS.is_dir(), reason="the labelled narrations are not beside the repository")
def test_labelled_narrations_are_read_without_a_problem() -> None:
    paths = [path for path in NARRATIONS.glob("*.json") if path.name.count(".") == 1]
    assert paths
    for path in paths:
        raw = path.read_bytes()
        transcript = parse_transcript(raw, name=path.name)
        assert len(transcript.stretches) == len(json.loads(raw)["segments"])
        assert transcript.problems == (), path.name
