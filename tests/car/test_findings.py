"""A finding keeps its name while it is the same statement."""

from dataclasses import replace

from shutline.car.findings import Finding, Footing, FootingKind, Found, Severity, Side, State

SAID = Footing(FootingKind.SAID, "film", 12.0, 14.5, "a bit of rust on the sill", ("rust.1",))
RUST = Finding("sill", "rust", Found.YES, side=Side.NEAR, footings=(SAID,), sureness=0.9)


def test_state_severity_and_sureness_leave_the_key_alone() -> None:
    changed = replace(RUST, state=State.STANDS, severity=Severity.SLIGHT, sureness=0.1)

    assert changed.key() == RUST.key()


def test_another_side_moment_or_recording_is_another_statement() -> None:
    others = [
        replace(RUST, side=Side.OFF),
        replace(RUST, side=None),
        replace(RUST, found=Found.NO),
        replace(RUST, footings=(replace(SAID, start_s=99.0),)),
        replace(RUST, footings=(replace(SAID, source="other"),)),
    ]

    assert len({f.key() for f in [RUST, *others]}) == len(others) + 1


def test_the_start_is_the_earliest_moment_and_absent_without_any() -> None:
    later = Footing(FootingKind.SEEN, "film", 20.0)

    assert replace(RUST, footings=(later, SAID)).start_s == 12.0
    assert replace(RUST, footings=(Footing(FootingKind.WRITTEN, "paper"),)).start_s is None
