"""Review: what was heard, one after the other, the doubtful first, with the film beside it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlencode

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from shutline.car.errors import NotFoundError, Problem
from shutline.car.findings import Found, Position, Remedy, Severity, Side, State
from shutline.car.vocabulary import vocabulary
from shutline.usecases.amend import amend, enter
from shutline.usecases.history import history
from shutline.usecases.queue import ORDERS, EntryShown, Queue, left_words, queue, queue_at, show_entry
from shutline.usecases.review import Decided, Decision, Verb, decide, undo_last
from shutline.usecases.rings import rings_of
from shutline.usecases.spoken import sentence_at
from shutline.usecases.stills import choose_still, frame, which_film
from shutline.web import review_words
from shutline.web.forms import form_of, is_form, json_of, not_taken, see, whole_version
from shutline.web.pages import answer, as_json, render
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.car.rings import Ring
    from shutline.store import Store
    from shutline.usecases.spoken import Spoken

_MOST_AT_ONCE = 200


class Decisions(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to decide: all of it is done, or none."""

    decisions: list[Decision]


class Amendment(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to amend; `version` is the one the page showed, None for a question of a second reading."""

    id: str
    version: int | None
    fields: dict[str, str | None]


class Entered(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to enter what was missed; the same token again enters nothing."""

    recording: str
    at_s: float
    fields: dict[str, str | None]
    token: str


class Chosen(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent to choose another still."""

    id: str
    version: int
    recording: str
    at_s: float


async def page(request: Request) -> Response:
    """Show the first thing to look at, or the one named in the address; `order` is one of the queue's orders."""
    store, car = request.app.state.store, request.path_params["car"]
    order = request.query_params.get("order", "doubt")
    named = request.path_params.get("entry")
    if named is not None and (str(request.url.path).endswith(".json") or "piece" in request.query_params):
        shown = await run_in_threadpool(show_entry, store, car, named, order=order)
        rings = await run_in_threadpool(_rings, store, shown)
        return answer(request.scope, "review_entry.html.j2", shown, **_words(), rings=rings)
    if str(request.url.path).endswith(".json"):
        return as_json(await run_in_threadpool(queue, store, car, order=order))
    found, entry = await run_in_threadpool(queue_at, store, car, named, order=order)
    more = {"rings": await run_in_threadpool(_rings, store, entry), **_words(), **_choices(found)}
    return render(request.scope, "review.html.j2", {"queue": found, "it": entry, **more})


async def past(request: Request) -> Response:
    """Show who did what when, the latest first; with ``all`` in the address, what the program did too."""
    asked = request.query_params
    found = await run_in_threadpool(
        history,
        request.app.state.store,
        request.path_params["car"],
        asked.getlist("id"),
        program="all" in asked,
    )
    return answer(request.scope, "review_history.html.j2", found, **_words(), program="all" in asked)


async def decided(request: Request) -> Response:
    """Let stand, strike or take back."""
    sent = await json_of(request, Decisions)
    if len(sent.decisions) > _MOST_AT_ONCE:
        raise not_taken(f"{len(sent.decisions)} decisions at once", f"at most {_MOST_AT_ONCE}")
    done = await run_in_threadpool(
        decide, request.app.state.store, request.path_params["car"], sent.decisions, author=_author(request)
    )
    return as_json(done)


async def decided_plainly(request: Request) -> Response:
    """Let stand, strike or take back by a plain form, and go on to the next."""
    sent = await form_of(request)
    verbs: tuple[tuple[str, Verb], ...] = (("stand", "confirm"), ("strike", "strike"), ("undo", "undo"))
    decisions = [_decision(text, verb) for name, verb in verbs for text in sent.get(name, [])]
    if not 1 <= len(decisions) <= _MOST_AT_ONCE:
        raise not_taken(f"{len(decisions)} decisions", f"1 to {_MOST_AT_ONCE}")
    done = await run_in_threadpool(
        decide, request.app.state.store, request.path_params["car"], decisions, author=_author(request)
    )
    return _see(request, sent, done if "undo" in sent else None)


async def last_undone(request: Request) -> Response:
    """Take back what this person decided last on the car."""
    plain = is_form(request)
    sent = await form_of(request) if plain else {}
    done = await run_in_threadpool(
        undo_last, request.app.state.store, request.path_params["car"], author=_author(request)
    )
    return _see(request, sent, done) if plain else as_json(done)


def _decision(text: str, verb: Verb) -> Decision:
    id_, _, version = text.partition(":")
    return Decision(id_, verb, whole_version(version))


def _see(request: Request, sent: Mapping[str, list[str]], done: Decided | None) -> Response:
    """Show what was taken back, or what is to be looked at next."""
    order = sent.get("order", ["doubt"])[0]
    at = f"/cars/{quote(request.path_params['car'])}/review"
    if done is not None:
        entry = done.findings[0].id if done.findings else done.facts[0].fact.name
        at += f"/{quote(entry)}"
    return see(f"{at}?{urlencode({'order': order})}")


async def amended(request: Request) -> Response:
    """Amend a finding, a fact or a question."""
    sent = await json_of(request, Amendment)
    done = await run_in_threadpool(
        amend,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.fields,
        version=sent.version,
        author=_author(request),
    )
    return as_json(done)


async def entered(request: Request) -> Response:
    """Enter what nothing was heard of."""
    sent = await json_of(request, Entered)
    done = await run_in_threadpool(
        enter,
        request.app.state.store,
        request.path_params["car"],
        sent.fields,
        at_s=sent.at_s,
        recording=sent.recording,
        token=sent.token,
        author=_author(request),
    )
    return as_json(done)


async def still_chosen(request: Request) -> Response:
    """Let another frame of the film show a finding."""
    sent = await json_of(request, Chosen)
    done = await run_in_threadpool(
        choose_still,
        request.app.state.store,
        request.path_params["car"],
        sent.id,
        sent.at_s,
        recording=sent.recording,
        version=sent.version,
        author=_author(request),
    )
    return as_json(done)


async def frame_shown(request: Request) -> Response:
    """Send the frame of a film at a moment, for looking; nothing is kept."""
    recording, at_s = _moment(request)
    taken = await run_in_threadpool(frame, request.app.state.store, request.path_params["car"], recording, at_s)
    if taken is None:
        raise NotFoundError(
            Problem(
                slug="still-not-taken",
                where=f"recording {recording[:40]}",
                found=f"no frame at {at_s:.1f} s",
                allowed="a moment of a film with a picture",
                advice="Choose another moment.",
            )
        )
    return Response(taken.jpeg, media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"})


async def words_there(request: Request) -> Response:
    """Send the sentence that is said at a moment."""
    recording, at_s = _moment(request)

    def look(store: Store, car: str) -> Spoken:
        from shutline.usecases.look import find_car

        return sentence_at(which_film(find_car(store, car), recording), at_s)

    return as_json(await run_in_threadpool(look, request.app.state.store, request.path_params["car"]))


def _rings(store: Store, shown: EntryShown | None) -> dict[tuple[str, str], Ring]:
    finding = None if shown is None else shown.entry.finding
    return {} if finding is None else rings_of(store, [finding])


def _words() -> dict[str, Any]:
    return {"w": review_words, "when": when, "State": State, "left_words": left_words}


def _choices(found: Queue) -> dict[str, Any]:
    words = vocabulary()
    return {
        "parts": words.parts.values(),
        "conditions": words.conditions.values(),
        "choices": {
            "side": ("Side", [("", "none said"), (Side.NEAR, "nearside"), (Side.OFF, "offside"), (Side.BOTH, "both")]),
            "position": ("End", [("", "none said"), *((one, one.value) for one in Position)]),
            "found": ("Found", [(Found.YES, "yes"), (Found.NO, "no, it is ruled out"), (Found.UNSURE, "unsure")]),
            "severity": ("How bad", [("", "not said"), *((one, one.value) for one in Severity)]),
            "remedy": ("To do", [("", "nothing said"), *((one, one.value) for one in Remedy)]),
        },
        "orders": ORDERS,
        "ticks": _ticks(found),
    }


def _ticks(found: Queue) -> list[tuple[str, float, list[tuple[float, str, bool]]]]:
    """Give, for each film, where on a line of 1,000 the moments of its entries lie."""
    lengths = {film.id: film.length_s for film in found.films}
    ticks = []
    for film, length_s in lengths.items():
        mine = [entry for entry in found.entries if entry.moment is not None and entry.moment.recording == film]
        last_s = length_s or max((entry.moment.end_s for entry in mine if entry.moment), default=1.0) or 1.0
        placed = [
            (round(1000 * entry.moment.start_s / last_s, 1), entry.id, entry.open) for entry in mine if entry.moment
        ]
        ticks.append((film, last_s, placed))
    return ticks


def _moment(request: Request) -> tuple[str, float]:
    asked = request.query_params
    try:
        at_s = float(asked.get("at_s", ""))
    except ValueError:
        at_s = math.nan
    if not math.isfinite(at_s):
        raise not_taken(f"a moment {asked.get('at_s', '')[:40]!r}", "seconds from the start of the recording")
    return asked.get("recording", ""), at_s


def _author(request: Request) -> str:
    author: str = request.state.session.author
    return author


ROUTES = (
    Route("/cars/{car}/review.json", page),
    Route("/cars/{car}/review", page),
    Route("/cars/{car}/review/history.json", past),
    Route("/cars/{car}/review/history", past),
    Route("/cars/{car}/review/frame", frame_shown),
    Route("/cars/{car}/review/words.json", words_there),
    Route("/cars/{car}/review/decide", decided, methods=["POST"]),
    Route("/cars/{car}/review/plain", decided_plainly, methods=["POST"]),
    Route("/cars/{car}/review/undo-last", last_undone, methods=["POST"]),
    Route("/cars/{car}/review/amend", amended, methods=["POST"]),
    Route("/cars/{car}/review/enter", entered, methods=["POST"]),
    Route("/cars/{car}/review/still", still_chosen, methods=["POST"]),
    Route("/cars/{car}/review/{entry}.json", page),
    Route("/cars/{car}/review/{entry}", page),
)
