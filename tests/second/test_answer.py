"""Whatever bytes come, nothing is raised, and what is taken is what the schema and the words allow."""

from __future__ import annotations

import json
import time
from dataclasses import replace

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.findings import Found, Position, Remedy, Severity, Side
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.car.vocabulary import vocabulary
from shutline.second.answer import read_answer
from shutline.second.pieces import folded, pieces
from shutline.second.request import answer_schema, system_text

WORDS = "There's rust on the nearside sill. The bonnet is straight. No dents in the roof, no rust on the offside sill."
(PIECE,) = pieces([stretch_of(WORDS, 0.0, 20.0, origin=StretchOrigin.TRANSCRIPT)])

anything = st.recursive(
    # Of numbers those that JSON has: one that it has not breaks the whole answer, see test_asking.
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


def maybe(good: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    return st.one_of(good, good, good, anything)


def or_none(kind: type) -> st.SearchStrategy[object]:
    return st.none() | st.sampled_from([member.value for member in kind])


statements = st.fixed_dictionaries(
    {
        "line": maybe(st.integers(-1, 5)),
        "quote": maybe(st.sampled_from(["rust", "No dents", "bonnet is straight", "not said", ""])),
        "part": maybe(st.sampled_from(["sill", "roof", "bonnet", "spoon"])),
        "condition": maybe(st.sampled_from(["rust", "dent", "sound", "splendid"])),
        "found": maybe(st.sampled_from([f.value for f in Found])),
        "side": maybe(or_none(Side)),
        "position": maybe(or_none(Position)),
        "severity": maybe(or_none(Severity)),
        "remedy": maybe(or_none(Remedy)),
    }
)


def completion(content: object) -> bytes:
    return json.dumps({"choices": [{"message": {"content": content}}]}).encode()


@settings(max_examples=100, deadline=None)
@given(st.lists(statements, max_size=5))
def test_what_is_taken_is_valid_by_an_independent_judge_and_said_in_the_words(said: list[dict]) -> None:
    answer = read_answer(completion(json.dumps({"statements": said})), PIECE)

    assert answer is not None
    assert len(answer.proposals) + sum(one.count for one in answer.set_aside) == len(said)
    for proposal in answer.proposals:
        quote = " ".join(PIECE.texts[proposal.first : proposal.last + 1])
        plain = {
            "line": 1,
            "quote": quote,
            "part": proposal.part,
            "condition": proposal.condition,
            "found": proposal.found.value,
            "side": proposal.side,
            "position": proposal.position,
            "severity": proposal.severity,
            "remedy": proposal.remedy,
        }
        jsonschema.validate(json.loads(json.dumps({"statements": [plain]})), answer_schema())
        assert folded(quote) in {folded(str(one["quote"])) for one in said}


@settings(max_examples=100, deadline=None)
@given(st.one_of(st.binary(max_size=200), anything.map(lambda v: json.dumps(v).encode()), anything.map(completion)))
def test_no_bytes_make_it_raise(data: bytes) -> None:
    read_answer(data, PIECE)


@settings(max_examples=100, deadline=None)
@given(anything)
def test_no_content_makes_it_raise(value: object) -> None:
    read_answer(completion(json.dumps(value)), PIECE)
    read_answer(completion(json.dumps({"statements": value})), PIECE)


GOOD = {
    "line": 1,
    "quote": "rust on the nearside sill",
    "part": "sill",
    "condition": "rust",
    "found": "yes",
    "side": "near",
    "position": None,
    "severity": None,
    "remedy": None,
}
BARE = json.dumps({"statements": [GOOD]})


@pytest.mark.parametrize(
    "content",
    [
        BARE,
        f"  {BARE}\n",
        f"```json\n{BARE}\n```",
        f"```\n{BARE}\n```\n",
        f"Here is what was said:\n\n{BARE}\n\nShall I go on?",
        f"<think>{{ the sill }}</think>\n```json\n{BARE}\n```",
    ],
)
def test_plain_json_is_found_in_the_content(content: str) -> None:
    answer = read_answer(completion(content), PIECE)
    assert answer is not None
    assert [p.part for p in answer.proposals] == ["sill"]


@pytest.mark.parametrize("filler", ["\n", " ", "`", "```", "```\n", "{", "}", '"', "[", "a"])
def test_a_million_of_anything_is_read_in_no_time(filler: str) -> None:
    began = time.monotonic()
    for content in (filler * (1_000_000 // len(filler)), "```json\n" + filler * (1_000_000 // len(filler))):
        assert read_answer(completion(content), PIECE) is None
    assert time.monotonic() - began < 2.0


def test_a_statement_in_the_overlap_is_left_to_the_piece_whose_core_it_is_in() -> None:
    answer = read_answer(completion(BARE), replace(PIECE, core_first=6))
    assert answer is not None
    assert (answer.proposals, answer.set_aside) == ((), ())


def test_the_schema_is_a_schema_by_an_independent_judge() -> None:
    jsonschema.Draft202012Validator.check_schema(answer_schema())
    jsonschema.validate({"statements": [GOOD]}, answer_schema())


def test_the_service_is_told_the_whole_vocabulary() -> None:
    told = system_text()
    assert all(f"\n- {name}: " in told for name in (*vocabulary().parts, *vocabulary().conditions))
    assert all(value in told for value in (*Side, *Position, *Severity, *Remedy, *Found))
