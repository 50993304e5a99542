"""Errors on the web: one shape, as JSON where JSON was asked for, else as a page with the same words."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from starlette.datastructures import Headers
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

from shutline.car.errors import BrokenWorldError, NotFoundError, Problem, ShutlineError, StoppedError
from shutline.web.pages import render

if TYPE_CHECKING:
    from shutline.car.comparables import KeptColumns, KeptComparable
    from shutline.car.kept_papers import KeptRead, PaperSaid
    from shutline.car.kept_tests import KeptTests
    from shutline.car.past import KeptPast
    from shutline.car.prep_decisions import PrepDecision
    from shutline.car.prep_done import WorkDone
    from shutline.car.price_said import PriceSaid
    from shutline.car.rings import Ring
    from shutline.store import StaleError
    from shutline.usecases.odds_stale import OddsStaleError


def wants_json(scope: Scope) -> bool:
    """Tell whether a request asks for JSON: by its address, or because no page can show the answer."""
    accept = Headers(scope=scope).get("accept", "")
    return str(scope["path"]).endswith(".json") or "text/html" not in accept


def refusal(scope: Scope, status: int, problem: Problem) -> Response:
    """Say no, and why."""
    if wants_json(scope):
        return JSONResponse({"error": asdict(problem)}, status_code=status)
    return render(scope, "trouble.html.j2", {"problem": problem, "both": None}, status=status)


def told(scope: Scope, error: ShutlineError) -> Response:
    """Say what went wrong; a change that came too late comes with both versions, that neither is lost."""
    from shutline.store import StaleError
    from shutline.usecases.odds_stale import OddsStaleError

    if isinstance(error, StaleError | OddsStaleError) and wants_json(scope):
        return JSONResponse(both_versions(error), status_code=409)
    if isinstance(error, StaleError | OddsStaleError):
        return render(scope, "trouble.html.j2", {"problem": error.problem, "both": _both_said(error)}, status=409)
    return refusal(scope, status_of(error), error.problem)


def both_versions(error: StaleError | OddsStaleError) -> dict[str, object]:
    """Give a stale change: what is kept now and what was wanted, as records and each in a line of words."""
    import msgspec

    return {
        "error": asdict(error.problem),
        "expected_version": error.expected_version,
        "present": msgspec.to_builtins(error.present),
        "wanted": msgspec.to_builtins(error.wanted),
        "said": _both_said(error),
    }


def _both_said(error: StaleError | OddsStaleError) -> dict[str, str]:
    from shutline.store import StaleError

    if isinstance(error, StaleError):
        return {"present": _said(error.present), "wanted": _said(error.wanted)}
    return error.said


def _said(kept: object) -> str:
    from shutline.car.carfile import CarSummary
    from shutline.car.comparables import KeptColumns, KeptComparable
    from shutline.car.figures import Figure
    from shutline.car.kept_papers import KeptRead, PaperSaid
    from shutline.car.kept_tests import KeptTests
    from shutline.car.masks import KeptMask
    from shutline.car.past import KeptPast
    from shutline.car.prep_decisions import PrepDecision
    from shutline.car.prep_done import WorkDone
    from shutline.car.price_said import PriceSaid
    from shutline.car.readings import KeptReading
    from shutline.car.rings import Ring
    from shutline.usecases.readings import place_words, value_words

    if isinstance(kept, CarSummary):
        doors = "doors not known" if kept.doors is None else f"{kept.doors} doors"
        return f"{kept.title}: {kept.body or 'body not known'}, {doors}, {kept.drive}"
    if isinstance(kept, KeptMask):
        return f"{kept.mask.kind.value}: {kept.mask.state.value}"
    if isinstance(kept, Figure):
        return f"{kept.read.kind.value} {kept.value} {kept.unit or ''}".rstrip() + f": {kept.state.value}"
    if isinstance(kept, KeptReading):
        return f"{value_words(kept.reading)}, {place_words(kept.reading)}: {kept.state.value}"
    if isinstance(kept, KeptPast | KeptTests | KeptRead | PaperSaid | PrepDecision | Ring | WorkDone):
        return _said_of_use(kept)
    return (
        _said_of_price(kept) if isinstance(kept, PriceSaid | KeptComparable | KeptColumns) else _said_of_statement(kept)
    )


def _said_of_comparable(kept: KeptComparable | KeptColumns) -> str:
    from shutline.car.comparables import KeptColumns
    from shutline.usecases.comparables import comparable_words

    if isinstance(kept, KeptColumns):
        return f"columns {', '.join(kept.headings)}: {kept.columns}"
    words = " ".join(comparable_words(kept.comparable).split())
    return words if kept.holds else f"{words}: taken back"


def _said_of_use(kept: KeptPast | KeptTests | KeptRead | PaperSaid | PrepDecision | Ring | WorkDone) -> str:
    from shutline.car.kept_tests import KeptTests
    from shutline.car.past import KeptPast
    from shutline.car.prep_decisions import PrepDecision, PrepKind
    from shutline.car.prep_done import WorkDone
    from shutline.car.rings import Ring
    from shutline.usecases.kept_tests import SAID
    from shutline.usecases.past import past_words
    from shutline.usecases.prep_done import work_words

    if isinstance(kept, KeptPast):
        return f"{past_words(kept.entry)}: {kept.state.value}"
    if isinstance(kept, KeptTests):
        return f"{kept.mark}: {SAID[kept.state]}"
    if isinstance(kept, PrepDecision):
        pence = "" if kept.pence is None else f"£{kept.pence / 100:,.2f}"
        sure = kept.kind is PrepKind.BUDGET and kept.words
        words = f"kept to in {kept.words} of a hundred" if sure else kept.words
        what = " ".join(filter(None, (kept.kind.value, kept.about, words, pence)))
        return what if kept.holds else f"{what}: taken back"
    if isinstance(kept, Ring):
        middle = f"a ring {kept.circle.x:.0%} from the left, {kept.circle.y:.0%} from the top"
        return middle if kept.holds else f"{middle}: taken back"
    if isinstance(kept, WorkDone):
        return work_words(kept)
    return _said_of_paper(kept)


def _said_of_paper(kept: KeptRead | PaperSaid) -> str:
    from shutline.car.kept_papers import KeptRead
    from shutline.usecases.paper_events import KINDS
    from shutline.usecases.papers import SAID

    if isinstance(kept, KeptRead):
        return f"{kept.kind.value} {kept.value} {kept.unit}".rstrip() + f": {kept.state.value}"
    kind = KINDS[kept.kind] if kept.kind else "what it is was not said"
    out = "goes out" if kept.out_mark else "stays in the house"
    return f"{kind}, {SAID[kept.state]}, {len(kept.covers)} covered by hand, {out}"


def _said_of_price(kept: PriceSaid | KeptComparable | KeptColumns) -> str:
    from shutline.car.price_said import PriceSaid

    if not isinstance(kept, PriceSaid):
        return _said_of_comparable(kept)
    figures = {name: value if isinstance(value, str) else f"{value:g}" for name, value in kept.figures.items()}
    return ", ".join(f"{name}: {value}" for name, value in {**kept.attributes, **figures}.items()) or "nothing"


def _said_of_statement(kept: object) -> str:
    from shutline.car.carfile import KeptFact, KeptFinding
    from shutline.car.findings import Fact, Finding
    from shutline.web.review_words import fact_name, fact_value, place_of, what_of

    if isinstance(kept, KeptFinding):
        kept = kept.finding
    if isinstance(kept, KeptFact):
        kept = kept.fact
    if isinstance(kept, Finding):
        return f"{place_of(kept)}: {what_of(kept)}"
    if isinstance(kept, Fact):
        return f"{fact_name(kept.name)}: {fact_value(kept)}"
    raise TypeError(f"no words for a {type(kept).__name__} that came too late")


def status_of(error: ShutlineError) -> int:
    """Give the HTTP status of an error."""
    if isinstance(error, NotFoundError):
        return 404
    if isinstance(error, BrokenWorldError):
        return 503
    if isinstance(error, StoppedError):
        return 409
    return 409 if hasattr(error, "expected_version") else 400
