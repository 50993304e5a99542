"""One value that a text tells, held against what is known: a year, a mileage, how many keepers there were."""

from __future__ import annotations

from shutline.car.findings import Fact, Found
from shutline.car.keepers import keepers_before
from shutline.claims.judged import Doubt, Judged, Verdict
from shutline.claims.record import Known, Record
from shutline.claims.sayings import Saying
from shutline.claims.told_values import same_value
from shutline.claims.written_data import small_words

NONE = "none"
"""The value of a test that is said to have run out, or not to be there."""


def _as_many_keepers(saying: Saying, known: Fact) -> bool:
    """Tell whether as many keepers are claimed as there were; those before the present one are one fewer than all."""
    claimed = saying.fact.value if saying.fact is not None else None
    if not keepers_before(known) or not isinstance(known.value, int):
        return claimed == known.value
    former = not small_words().former.isdisjoint(saying.quote.casefold().split())
    return claimed == known.value + 1 or (former and claimed == known.value)


def _said_to_be_gone(told: Fact, on: Record) -> tuple[Known, ...]:
    """Give what says that there is no test certificate, where none is claimed."""
    if told.name != "mot_until" or told.value != NONE:
        return ()
    return tuple(
        k
        for k in on.findings.get("papers", ())
        if k.finding.condition == "missing"
        and k.finding.found is Found.YES
        and not small_words().test_words.isdisjoint(k.tokens)
    )


def of_fact(saying: Saying, on: Record) -> Judged:
    """Hold the value that a saying tells against those that are known."""
    told = saying.fact
    assert told is not None  # noqa: S101 - the caller has looked
    known = on.facts.get(told.name, ())
    if not known:
        gone = _said_to_be_gone(told, on)
        return Judged(Verdict.BACKED, gone) if gone else Judged(Verdict.UNBACKED, doubt=Doubt.SILENT)
    if told.name == "mot_until" and str(told.value).startswith("P"):
        # 'Eleven months of test' count from a day that nobody tells.
        return Judged(Verdict.UNBACKED, doubt=Doubt.OTHER_MATTER)
    if told.name == "year" and saying.quote.endswith("s"):
        # 'A 1960s saloon' is one of 1966.
        decade = tuple(k for k in known if str(k.fact.value)[:3] == str(told.value)[:3])
        return Judged(Verdict.BACKED, facts=decade) if decade else Judged(Verdict.AT_ODDS, facts=known)
    same = tuple(k for k in known if same_value(told.name, told.value, told.unit, k.fact.value, k.fact.unit))
    if told.name == "keepers":
        same = tuple(k for k in known if _as_many_keepers(saying, k.fact))
    if same:
        return Judged(Verdict.BACKED, facts=same)
    return Judged(Verdict.AT_ODDS, facts=known)
