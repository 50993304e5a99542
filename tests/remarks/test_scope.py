"""How far cues reach: each rule by a sentence where it holds and one where it must not."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks.lexicon import CUE_KINDS, read_rows, shipped_lexicon, with_layer
from shutline.remarks.phrases import find
from shutline.remarks.scope import Ending, Reach, Scope, Standing, scopes
from shutline.remarks.scope_walk import settings
from shutline.remarks.tokens import FULL_STOP, Text, tokens


def _text(said: str) -> Text:
    return tokens([stretch_of(said, 0.0, 5.0, origin=StretchOrigin.TRANSCRIPT)])


def _scopes(said: str) -> list[Scope]:
    text = _text(said)
    return scopes(text, find(text, shipped_lexicon())["cues"])


def _standing(said: str, word: str, *, loosely: bool = True) -> Standing:
    text = _text(said)
    at = text.norm.index(word)
    return Reach(scopes(text, find(text, shipped_lexicon())["cues"])).over(at, at + 1, loosely=loosely)


@pytest.mark.parametrize(
    ("said", "denied", "asserted"),
    [
        # A denial goes on over a list that 'or' closes, and not into the next statement.
        ("No rust, dents or scratches.", "rust dents scratches", ""),
        ("No rust, bit of a dent.", "rust", "dent"),
        ("No rust on the sill, and a dent in the door.", "rust", "dent"),
        ("No rust and dents.", "rust dents", ""),
        ("No holes, and dry.", "holes", "dry"),
        ("No cracks, chips, and scratches.", "cracks chips scratches", ""),
        ("No rust. Dented.", "rust", "dented"),
        # Stops, exceptions, the rest, other denials.
        ("No rust but a dent.", "rust", "dent"),
        ("No rust however the door is dented.", "rust", "dented"),
        ("No dents apart from one ding.", "dents", "ding"),
        ("No rust on the arch but the rest is blistered.", "rust", "blistered"),
        ("No rust scratch that there is corrosion.", "rust", "corrosion"),
        ("No rust on the right sill or dents.", "rust dents", ""),
        ("No leaks as well or smoke.", "leaks smoke", ""),
        # A new subject, with and without a joining word, with and without its verb.
        ("No rust on the sill and the door is dented.", "rust", "dented"),
        ("No rust on the sill and the arch or dents.", "rust dents", ""),
        ("no rust on the sill the door dented", "rust", "dented"),
        ("no dents lacquer's lifting", "dents", "lifting"),
        ("no dents gutters are rusty", "dents", "rusty"),
        ("no panel is dented", "dented", ""),
        ("none of the leaves is cracked", "cracked", ""),
        ("no rust it's dented", "rust", "dented"),
        ("no sign that it has been painted", "painted", ""),
        ("no leaks two dents", "leaks", "dents"),
        ("no cracks in two places", "cracks places", ""),
        ("no dents bit of corrosion", "dents", "corrosion"),
        ("no big dents", "dents", ""),
        ("it is not leaking little scratch on it", "leaking", "scratch"),
        ("I don't think it's rust", "rust", ""),
        ("doesn't need a respray", "respray", ""),
        ("no leaks radiator recored invoice top hose perished", "leaks", "perished"),
        # An answer denies nothing that follows.
        ("No, dented.", "", "dented"),
        ("no it is dented", "", "dented"),
        ("no the door is dented", "", "dented"),
        ("Drain plug ain't, there's corrosion.", "", "corrosion"),
        ("No no rust on those.", "rust", ""),
        ("This one doesn't rattle.", "rattle", ""),
        ("Mine hasn't, rattles though.", "", "rattles"),
        ("I've not found any rust.", "rust", ""),
        ("There's not a hole in it.", "hole", ""),
        ("Not loose, missing.", "loose", "missing"),
        ("Not loose, missing or bent.", "loose missing bent", ""),
        ("No bars bent.", "bent", ""),
        ("No dents bar one chip.", "dents", "chip"),
        ("Neither rear mounting is cracked.", "cracked", ""),
        # Said after the thing.
        ("Rust, none at all.", "rust", ""),
        ("The door is dented and rust none at all.", "rust", "dented"),
        ("Rust and dents none at all.", "rust dents", ""),
        ("Dents, none.", "dents", ""),
        ("Dents, none of the rust.", "rust", "dents"),
        ("Smoke? Not a puff.", "smoke", ""),
        ("Is there rust? There isn't, there's mud.", "rust", "mud"),
        ("Smoke. Not a dent.", "dent", "smoke"),
        # What only looks like a denial.
        ("Not only rust.", "", "rust"),
        ("No longer rusty.", "", "rusty"),
        ("No doubt filler.", "", "filler"),
        ("No rust no doubt filler.", "rust", "filler"),
    ],
)
def test_denials_reach_what_they_deny_and_no_more(said: str, denied: str, asserted: str) -> None:
    for word in denied.split():
        assert _standing(said, word).denied, word
    for word in asserted.split():
        assert not _standing(said, word).denied, word


@pytest.mark.parametrize(
    ("said", "word", "kind"),
    [
        ("There might be some filler in the roof.", "filler", "doubt"),
        ("These all rust at the front, along the seam.", "seam", "general"),
        ("If it leaks, you treat it.", "treat", "hypothetical"),
        ("It used to leak.", "leak", "past"),
        ("He says the gearbox whines.", "whines", "reported"),
        ("Is that rust?", "rust", "question"),
        ("A scratch, no, tell a lie, it is dust.", "dust", "correction"),
        ("No dents, the rest is scratched.", "scratched", "rest"),
        ("A tiny scratch.", "scratch", "slight"),
        ("The scratch is tiny.", "scratch", "slight"),
    ],
)
def test_other_cues_reach_what_they_are_about(said: str, word: str, kind: str) -> None:
    assert kind in _standing(said, word).kinds


@pytest.mark.parametrize(
    ("said", "word", "kind"),
    [
        ("There might be filler. Dented.", "dented", "doubt"),
        ("There might be filler but it is dented.", "dented", "doubt"),
        ("These all rust but not this one, scratched though.", "scratched", "general"),
        ("It used to leak and now it is dented.", "dented", "past"),
        ("A tiny scratch on the corner of the door and rust.", "rust", "slight"),
    ],
)
def test_other_cues_stop_where_another_statement_begins(said: str, word: str, kind: str) -> None:
    assert kind not in _standing(said, word).kinds


def test_a_part_after_a_denied_condition_begins_something_else() -> None:
    for said, word, denied in [
        ("no dents gutter sealant cracked", "cracked", False),
        ("no dents in the gutter sealant cracked", "cracked", True),
        ("no door dents", "dents", True),
    ]:
        text = _text(said)
        found = find(text, shipped_lexicon())
        reach = Reach(scopes(text, found["cues"], parts=found["parts"], conditions=found["conditions"]))
        at = text.norm.index(word)
        assert reach.over(at, at + 1).denied is denied, said


def test_what_a_denial_leaves_out_is_excepted() -> None:
    said = "no dents or scratches apart from one little chip"
    assert _standing(said, "chip").excepted
    assert not _standing(said, "scratches").excepted
    assert not _standing("only one chip", "chip").excepted


def test_a_list_in_bare_commas_is_loose() -> None:
    assert _standing("No rust, dents.", "dents").denied
    assert not _standing("No rust, dents.", "dents", loosely=False).denied
    assert _standing("No rust, dents or holes.", "dents", loosely=False).denied


def test_a_cue_that_begins_among_the_words_does_not_reach_them() -> None:
    text = _text("the no rust door")
    reach = Reach(scopes(text, find(text, shipped_lexicon())["cues"]))
    assert not reach.over(1, 3).denied
    assert reach.over(2, 3).denied


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("no rust. fine", Ending.SENTENCE),
        ("no rust, it is fine", Ending.COMMA),
        ("no rust but holes", Ending.CUE),
        ("no rust it is fine", Ending.CLAUSE),
        ("no rust the door", Ending.THING),
        ("no, fine", Ending.ANSWER),
        ("no rust of of of of of of of of of of of of of of of", Ending.LIMIT),
    ],
)
def test_each_ending_says_why(said: str, why: Ending) -> None:
    assert _scopes(said)[0].why_ahead is why


def test_a_row_that_reaches_back_says_so() -> None:
    after = next(s for s in _scopes("rust none at all") if s.kind == "deny")
    assert (after.back, after.first, after.ahead, after.why_ahead) == (0, 1, after.end, Ending.NOWHERE)


def test_every_kind_of_cue_has_its_reach() -> None:
    kinds, _ = settings()
    assert set(kinds) | {"stop"} == set(CUE_KINDS)
    assert all(set(kind.ended_by) <= CUE_KINDS and kind.comma in ("list", "over", "end") for kind in kinds.values())


def test_a_layer_of_ones_own_reaches_as_its_rows_say() -> None:
    own = read_rows(
        "cues",
        [
            "id,kind,reach,phrases,source,example,counter_example",
            "never_heard,deny,both,devil take,house words,devil take the rust,the devil",
        ],
        name="own.csv",
    )
    text = _text("dents devil take rust")
    reach = Reach(scopes(text, find(text, with_layer(shipped_lexicon(), own))["cues"]))
    assert reach.over(0, 1).denied
    assert reach.over(3, 4).denied


def test_an_unknown_reach_is_refused_with_file_and_line() -> None:
    rows = ["id,kind,reach,phrases,source,example,counter_example", "x,deny,sideways,nay,house words,nay,yea"]
    with pytest.raises(BadInputError) as caught:
        read_rows("cues", rows, name="own.csv")
    assert caught.value.problem.where == "own.csv:2"
    assert "sideways" in caught.value.problem.found


_WORDS = (
    "no not n't rust dents or and the door it 's is but apart from none at all , . ? … if might nothing of never "
    "these all used to he says wait one tiny that right"
)
_SAID = st.lists(st.sampled_from(tuple(_WORDS.split())), max_size=30).map(" ".join)


@given(_SAID)
def test_reach_lies_within_the_text_and_round_its_cue(said: str) -> None:
    text = _text(said)
    size = len(text.norm)
    found = scopes(text, find(text, shipped_lexicon())["cues"])
    for scope in found:
        assert 0 <= scope.back <= scope.first < scope.end <= scope.loose <= scope.ahead <= size
        assert not any(mark >= FULL_STOP for mark in text.mark[scope.end : scope.ahead])
        assert FULL_STOP not in text.mark[scope.back + 1 : scope.first + 1]
    reach = Reach(found)
    for at in range(size):
        standing = reach.over(at, at + 1)
        assert standing.denied == any(s.kind == "deny" for s in standing.by)
        assert not (standing.denied and standing.excepted)


@given(_SAID)
def test_case_changes_no_reach(said: str) -> None:
    assert _scopes(said) == _scopes(said.upper())


def test_words_without_cues_cost_under_a_microsecond_each() -> None:
    text = _text("door sill wing bonnet " * 5000)
    assert find(text, shipped_lexicon())["cues"] == []
    spent = min(_spent(text) for _ in range(5))
    assert spent / len(text.norm) < 1e-6


def _spent(text: Text) -> float:
    began = time.process_time()
    Reach(scopes(text, []))
    return time.process_time() - began
