"""For the buyer: the page and its links, the words that may not leave, and what was sealed; all by plain forms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, urlencode

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from shutline.car.findings import State
from shutline.car.going_out import Edition, Occasion, PrivateKind
from shutline.usecases.buyer_choice import buyer_choice
from shutline.usecases.buyer_files import sealed_sheet, sealed_zip, shared_zip
from shutline.usecases.left_out import left_out_told
from shutline.usecases.look import find_car
from shutline.usecases.masks import report_told
from shutline.usecases.private import (
    PrivateShown,
    facts_left_out,
    keep_private,
    private_for,
    private_shown,
    take_back_private,
)
from shutline.usecases.seal_keys import check_phrase
from shutline.usecases.sealing import SealedShown, seal, sealed_files
from shutline.usecases.shares import SharesShown, end_share, make_shared_page, share, shares
from shutline.usecases.wide_covers import wide_covers_told
from shutline.web.forms import form_of, is_form, json_of, not_taken, see
from shutline.web.outputs_page import disposition
from shutline.web.pages import answer, as_json
from shutline.web.under_way import Going
from shutline.web.wording import when

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.progress import Stop, Tell


class Sent(msgspec.Struct, forbid_unknown_fields=True):
    """What is sent: the last day or the token of a link, private words or their number, how a car file is sealed."""

    until: str = ""
    token: str = ""
    words: str = ""
    kind: PrivateKind = PrivateKind.OTHER
    number: int = 0
    occasion: Occasion = Occasion.OFFERED
    edition: Edition = Edition.FIRM
    originals: bool = False
    stamped: bool = False
    phrase: str = ""


@dataclass(frozen=True, slots=True)
class BuyerNow:
    """What goes to a buyer of one car; `standing` findings go out, `waiting` are heard and not looked at.

    `waiting_facts` are facts that were heard and not looked at; they go out, and are said to be so.
    `covers` say what is covered in its pictures and how sure that is, `left_out` what of its words is left out because
    it may not leave, and where, and `half_covered` which pictures would be shown half covered by what nobody has looked
    at. `under_way` is the page or the sealed file that
    is being made, or was made last, None where none was since the workbench was opened.
    """

    car: str
    title: str
    standing: int
    waiting: int
    waiting_facts: int
    covers: tuple[str, ...]
    shares: SharesShown
    private: PrivateShown
    sealed: SealedShown
    under_way: Going[object] | None
    left_out: tuple[str, ...] = ()
    half_covered: tuple[str, ...] = ()


async def page(request: Request) -> Response:
    """Show what goes to a buyer."""
    found = await run_in_threadpool(_now, request, request.path_params["car"])
    shown = {"name": found.car, "title": found.title}
    return answer(
        request.scope,
        "buyer.html.j2",
        found,
        car=shown,
        when=when,
        done=request.query_params.get("done", ""),
        address=f"{request.url.scheme}://{request.url.netloc}",
        kinds=[kind.value for kind in PrivateKind],
    )


async def shared(request: Request) -> Response:
    """Make a link, and first the page that it shows."""

    def do(store: Store, car: str, sent: Sent, author: str) -> None:
        def work(tell: Tell, stop: Stop) -> object:
            return share(store, car, until=sent.until, author=author, tell=tell, stop=stop).page

        request.app.state.sharings.begin(car, work)

    return await _done(request, do, "sharing")


async def made(request: Request) -> Response:
    """Make the page anew, and no link."""

    def do(store: Store, car: str, sent: Sent, author: str) -> None:
        del sent, author
        request.app.state.sharings.begin(car, lambda tell, stop: make_shared_page(store, car, tell=tell, stop=stop))

    return await _done(request, do, "making")


async def ended(request: Request) -> Response:
    """End a link at once."""

    def do(store: Store, car: str, sent: Sent, author: str) -> None:
        if not sent.token:
            raise not_taken("no link", "the link that is ended")
        end_share(store, car, sent.token, author=author)

    return await _done(request, do, "ended")


async def kept_private(request: Request) -> Response:
    """Keep words that may not leave."""

    def do(store: Store, car: str, sent: Sent, author: str) -> None:
        keep_private(store, car, sent.words, kind=sent.kind, author=author)

    return await _done(request, do, "private")


async def taken_back(request: Request) -> Response:
    """Take private words back."""

    def do(store: Store, car: str, sent: Sent, author: str) -> None:
        take_back_private(store, car, sent.number, author=author)

    return await _done(request, do, "back")


async def sealed(request: Request) -> Response:
    """Seal the car file as it is now, into the store's folder."""

    def do(store: Store, car: str, sent: Sent, author: str) -> None:
        check_phrase(sent.phrase)
        stamp = buyer_choice().stamp if sent.stamped else ""

        def work(tell: Tell, stop: Stop) -> object:
            return seal(
                store,
                car,
                occasion=sent.occasion,
                edition=sent.edition,
                originals=sent.originals,
                out=store.folder / "sealed" / car,
                stamp=stamp or None,
                phrase=sent.phrase,
                author=author,
                tell=tell,
                stop=stop,
            ).sealed

        request.app.state.sharings.begin(car, work)

    return await _done(request, do, "sealing")


async def page_zip(request: Request) -> Response:
    """Hand out the page as one zip."""
    path = await run_in_threadpool(shared_zip, request.app.state.store, request.path_params["car"])
    return _handed_out(path, path.name)


async def seal_zip(request: Request) -> Response:
    """Hand out a sealed file as one zip."""
    store, car, number = request.app.state.store, request.path_params["car"], request.path_params["number"]
    path = await run_in_threadpool(sealed_zip, store, car, number)
    return _handed_out(path, path.name)


async def sheet(request: Request) -> Response:
    """Hand out the handover sheet of a sealed file."""
    store, car, number = request.app.state.store, request.path_params["car"], request.path_params["number"]
    path = await run_in_threadpool(sealed_sheet, store, car, number)
    return _handed_out(path, path.name)


Do = Callable[["Store", str, Sent, str], None]


async def _done(request: Request, do: Do, what: str) -> Response:
    store, asked = request.app.state.store, request.path_params["car"]
    author: str = request.state.session.author
    sent = await _form(request) if is_form(request) else await json_of(request, Sent)
    car = (await run_in_threadpool(find_car, store, asked)).name
    await run_in_threadpool(do, store, car, sent, author)
    if is_form(request):
        return see(f"/cars/{quote(car)}/buyer?{urlencode({'done': what})}")
    return as_json(await run_in_threadpool(_now, request, car))


async def _form(request: Request) -> Sent:
    given = {name: values[0] for name, values in (await form_of(request)).items()}
    fields = {name: value for name, value in given.items() if name in Sent.__struct_fields__}
    try:
        return msgspec.convert(fields, Sent, strict=False)
    except msgspec.ValidationError as trouble:
        raise not_taken(str(trouble)[:200], "what the page offers") from None


def _now(request: Request, name: str) -> BuyerNow:
    from shutline.publish.buyers.public import heard_facts

    store: Store = request.app.state.store
    car = find_car(store, name)
    going_out = car.going_out()
    # First: where nothing is under way any more, what was made is there by the time it is looked for.
    under_way = request.app.state.sharings.of(car.name)
    return BuyerNow(
        car=car.name,
        title=car.title,
        standing=sum(kept.finding.state is State.STANDS for kept in going_out),
        waiting=sum(kept.finding.state is State.HEARD for kept in going_out),
        waiting_facts=len(heard_facts(car, without_facts=facts_left_out())),
        covers=tuple(report_told(store, car)),
        half_covered=wide_covers_told(store, car),
        shares=shares(store, car.name),
        private=private_shown(store, car.name),
        sealed=sealed_files(store, car.name),
        under_way=under_way,
        left_out=left_out_told(store, car, private_for(store, car)),
    )


def _handed_out(path: Path, name: str) -> Response:
    kind = "application/pdf" if path.suffix == ".pdf" else "application/zip"
    return FileResponse(path, media_type=kind, headers={"content-disposition": disposition(name, name, keep=True)})


_AT = "/cars/{car}/buyer"


def _plain(request: Request) -> Response:
    """Send a browser that loads the address of a change again to the page."""
    return see(f"/cars/{quote(request.path_params['car'])}/buyer")


ROUTES = (
    Route(_AT + ".json", page),
    Route(_AT, page),
    Route(_AT + "/page.zip", page_zip),
    Route(_AT + "/sealed/{number}.zip", seal_zip),
    Route(_AT + "/sealed/{number}.pdf", sheet),
    Route(_AT + "/share", shared, methods=["POST"]),
    Route(_AT + "/make", made, methods=["POST"]),
    Route(_AT + "/end", ended, methods=["POST"]),
    Route(_AT + "/private", kept_private, methods=["POST"]),
    Route(_AT + "/take-back", taken_back, methods=["POST"]),
    Route(_AT + "/seal", sealed, methods=["POST"]),
    Route(_AT + "/{deed}", _plain),
)
