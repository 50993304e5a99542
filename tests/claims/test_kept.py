"""What is kept from one check to the next changes nothing in what is told."""

from __future__ import annotations

from dataclasses import replace

from tests.claims.conftest import finding

from shutline.claims.check import check, to_weigh
from shutline.claims.claimed import read_claims
from shutline.claims.record import Record, record, same_record
from shutline.claims.weighing import shipped_weigher

TEXT = "The sills are solid and the chrome gleams. The bonnet has a dent, and the boot keeps the weather out."


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


KNOWN = ("sill:near rust yes", "bonnet dent yes", "bumper pitting yes # pitting on the chrome", "boot damp yes")


def test_a_text_that_is_typed_is_told_as_one_that_was_there() -> None:
    kept = same_record(on(*KNOWN))
    for end in (20, 42, 65, len(TEXT)):
        typed, fresh = check(TEXT[:end], kept), check(TEXT[:end], on(*KNOWN))
        assert typed == fresh
    longer = f"For sale at last. {TEXT}"
    assert check(longer, kept) == check(longer, on(*KNOWN))


def test_records_that_hold_the_same_are_one_and_others_are_not() -> None:
    first = same_record(on(*KNOWN))
    assert same_record(on(*KNOWN)) is first
    assert same_record(on(*KNOWN[1:])) is not first
    assert same_record(replace(first, done=first.everything[:1])) is not first
    left_out = set(first.everything[:1])
    assert first.without(left_out) is first.without(set(left_out))
    assert first.without(set()) is first


def test_what_is_kept_is_what_would_be_weighed_anew() -> None:
    kept, weigher = same_record(on(*KNOWN)), shipped_weigher()
    read = read_claims(TEXT)
    rows = [row for row in to_weigh(TEXT, read.sayings, kept) if row[0].spot is not None]
    assert len(rows) > 2
    for saying, judged, against in rows:
        anew = weigher.anew(saying, judged, read.heard.readings, against)
        assert weigher.weigh(saying, judged, read.heard.readings, against) == anew
        assert weigher.weigh(saying, judged, read.heard.readings, against) == anew
