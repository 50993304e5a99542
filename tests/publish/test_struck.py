"""No word that only something struck rests on is in any text that goes out; what stands keeps its own."""

from __future__ import annotations

import html
import json
from dataclasses import replace
from itertools import pairwise

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Recording
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, State
from shutline.car.recordings import Kind, Original, Probe
from shutline.car.schema import car_file_json
from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming
from shutline.publish.buyers import build_page, film_of, page_files, public_car
from shutline.publish.buyers.public import silence_car
from shutline.publish.private import Private
from shutline.publish.report import build_report
from shutline.publish.struck import struck_spans, without_struck_words
from shutline.survey import coverage
from shutline.usecases.report import without_struck

MADE_AT = "2026-11-25T10:00:00+00:00"
MARK = "[withdrawn]"


def car_of(
    words: list[str], told: list[tuple[int, int, State]], facts: list[tuple[int, int, State]] | None = None
) -> CarFile:
    """Make a car of which words are said one a second, with what stands on a run of them, first and end."""
    spoken = tuple(Word(text, float(at), at + 0.9, WordTiming.GIVEN) for at, text in enumerate(words))
    half = len(spoken) // 2
    stretches = tuple(
        Stretch(part[0].start_s, part[-1].end_s, " ".join(word.text for word in part), part, StretchOrigin.TRANSCRIPT)
        for part in (spoken[:half], spoken[half:])
        if part
    )
    recording = Recording(
        "r1",
        Original("ab" * 32, "walk.mp4", 1_000, Kind.FILM),
        Probe(Kind.FILM, "mp4", 900.0),
        stretches,
        complete=True,
    )

    def footing(first: int, end: int) -> tuple[Footing, ...]:
        quote = " ".join(words[first:end])
        return (Footing(FootingKind.SAID, "r1", float(first), end - 1 + 0.9, quote),)

    findings = tuple(
        KeptFinding(f"f{number}", Finding("door", "rust", Found.YES, footings=footing(first, end), state=state))
        for number, (first, end, state) in enumerate(told)
    )
    kept_facts = tuple(
        KeptFact(f"k{number}", Fact("colour", "blue", footings=footing(first, end), state=state))
        for number, (first, end, state) in enumerate(facts or [])
    )
    return CarFile(
        "merlin", "Calder Merlin", Drive.RHD, MADE_AT, recordings=(recording,), findings=findings, facts=kept_facts
    )


def all_text(car: CarFile) -> str:
    """Give all text of a buyer's page and of the car file that goes out."""
    left = without_struck_words(car)
    public = public_car(left, Private())
    report = build_report(
        public, visits=(), made_at=MADE_AT, survey=coverage(left), silence_of=silence_car(left, Private())
    )
    films = [
        film_of(
            public, one, number=1, visits=(), byte_size=1, picture_size=(640, 360), poster=None, masks=(), muted=False
        )
        for one in public.recordings
    ]
    files = page_files(build_page(public, report, whole=left, films=films, private=Private()))
    told = [data.decode() for name, data in files.items() if name.endswith((".html", ".vtt"))]
    return html.unescape("\n".join([*told, json.dumps(car_file_json(without_struck(car)), ensure_ascii=False)]))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_no_word_of_what_was_struck_goes_out(data: st.DataObject) -> None:
    """Things told apart from one another, facts and findings: those struck are nowhere, the words of others are."""
    cuts = sorted(data.draw(st.sets(st.integers(0, 40), min_size=2, max_size=12)))
    states = [data.draw(st.sampled_from(State)) for _ in cuts[1:]]
    is_fact = [data.draw(st.booleans()) for _ in cuts[1:]]
    words = [f"wordnumber{at}x" for at in range(cuts[-1] + 3)]
    runs = [(first, end, state) for (first, end), state in zip(pairwise(cuts), states, strict=True)]
    findings = [run for run, fact in zip(runs, is_fact, strict=True) if not fact]
    facts = [run for run, fact in zip(runs, is_fact, strict=True) if fact]
    car = car_of(words, findings, facts)
    text = all_text(car)
    struck = {at for first, end, state in runs if state is State.STRUCK for at in range(first, end)}
    for at, word in enumerate(words):
        assert (word in text) == (at not in struck), (word, runs)
    silent = {at for at, _ in enumerate(words) for a, b in struck_spans(car).get("r1", ()) if a <= at + 0.45 <= b}
    assert silent == struck


@given(st.data())
def test_a_word_belongs_to_the_shortest_quote_and_of_two_alike_to_what_stands(data: st.DataObject) -> None:
    words = [f"w{at}x" for at in range(12)]
    runs = []
    for _ in range(data.draw(st.integers(1, 6))):
        first = data.draw(st.integers(0, 10))
        runs.append((first, data.draw(st.integers(first + 1, 11)), data.draw(st.sampled_from(State))))
    left = without_struck_words(car_of(words, runs)).recordings[0]
    told = " ".join(stretch.text for stretch in left.stretches)
    for at, word in enumerate(words):
        over = [run for run in runs if run[0] <= at < run[1] and run[2] is not State.HEARD]
        nearest = min(over, key=lambda run: (run[1] - run[0], run[2] is State.STRUCK), default=None)
        assert (word in told.split()) == (nearest is None or nearest[2] is not State.STRUCK)


def test_a_quote_of_what_stands_loses_the_words_of_what_was_struck_within_it() -> None:
    words = ["The", "bonnet", "is", "straight,", "no", "dents.", "All", "good"]
    car = car_of(words, [(0, 4, State.STRUCK), (1, 6, State.STANDS)])
    left = without_struck_words(car)
    assert left.findings[1].finding.footings[0].quote == f"{MARK} no dents."
    assert " ".join(stretch.text for stretch in left.recordings[0].stretches) == f"{MARK} no dents. All good"
    assert left.findings[0] == car.findings[0]


def test_a_quote_that_is_not_what_was_said_then_loses_all_of_it() -> None:
    words = ["The", "bonnet", "is", "straight,", "no", "dents."]
    car = car_of(words, [(0, 4, State.STRUCK), (1, 6, State.STANDS)])
    footing = replace(car.findings[1].finding.footings[0], quote="straight as a die, no dents")
    finding = replace(car.findings[1], finding=replace(car.findings[1].finding, footings=(footing,)))
    left = without_struck_words(replace(car, findings=(car.findings[0], finding)))
    assert left.findings[1].finding.footings[0].quote == MARK


def test_a_car_of_which_nothing_was_struck_is_left_as_it_is() -> None:
    car = car_of(["All", "good"], [(0, 2, State.STANDS)])
    assert without_struck_words(car) is car
    assert struck_spans(car) == {}


def test_words_without_times_of_their_own_are_found_too() -> None:
    car = car_of(["rust", "here", "all", "good"], [(0, 2, State.STRUCK)])
    bare = replace(car.recordings[0], stretches=tuple(replace(one, words=()) for one in car.recordings[0].stretches))
    left = without_struck_words(replace(car, recordings=(bare,)))
    assert "rust" not in " ".join(one.text for one in left.recordings[0].stretches)
