"""Run the workbench on this machine, or, on purpose, on the local network."""

from __future__ import annotations

import gc
import secrets
import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import BrokenWorldError, Problem
from shutline.car.findings import Drive
from shutline.car.plan import Layout
from shutline.web.access import Access
from shutline.web.app import workbench

if TYPE_CHECKING:
    from shutline.store import Store

USUAL_PORT = 8766
_PHRASE_WORDS = 4


@dataclass(frozen=True, slots=True)
class Serving:
    """Where the workbench is found: the link that opens it here, and on the network its address and pass phrase."""

    link: str
    network: str | None = None
    phrase: str | None = None


def serve(
    store: Store, *, author: str, port: int = USUAL_PORT, network: bool = False, tell: Callable[[Serving], None]
) -> None:
    """Serve the workbench until it is interrupted.

    Parameters
    ----------
    store : Store
        What it shows.
    author : str
        The name that changes made here are signed with.
    port : int
        Where it listens; 0 for any that is free.
    network : bool
        Listen to the local network too: who is on it and knows the pass phrase sees and changes all cars.
    tell : callable
        Told once where it is found, when it listens.

    Raises
    ------
    BrokenWorldError
        The port is taken or may not be listened to (slug ``web-port``).
    """
    import uvicorn

    listener = listen("0.0.0.0" if network else "127.0.0.1", port)  # noqa: S104 - asked for on purpose
    port = listener.getsockname()[1]
    names = ["127.0.0.1", "localhost"]
    own = _network_address() if network else None
    if own is not None:
        names.append(own)
    phrase = "-".join(secrets.choice(_SYLLABLES) + secrets.choice(_SYLLABLES) for _ in range(_PHRASE_WORDS))
    access = Access(
        hosts=frozenset(f"{name}:{port}" for name in names), author=author, phrase=phrase if network else None
    )
    config = uvicorn.Config(
        workbench(store, access),
        log_level="warning",
        server_header=False,
        date_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=3,
        ws="none",
    )
    tell(
        Serving(
            link=f"http://127.0.0.1:{port}/open/{access.token}",
            network=f"http://{own}:{port}/come-in" if own else None,
            phrase=access.phrase,
        )
    )
    threading.Thread(target=warm_up, args=(store,), name="warm-up", daemon=True).start()
    uvicorn.Server(config).run(sockets=[listener])


def warm_up(store: Store) -> None:
    """Do beforehand what the first pages of a car would wait for: reader, sheet, templates, what sums are made with.

    Done with the newest car. Whatever fails here is told by the page that meets it.
    """
    from shutline.usecases.car_plan import view_plan, view_sheet
    from shutline.usecases.car_view import view_car
    from shutline.usecases.price import price
    from shutline.web.pages import prepare

    try:
        prepare("car.html.j2", "review.html.j2", "preparation.html.j2", "price.html.j2")
        for car in store.cars(limit=1):
            view_car(store, car.name)
            view_plan(store, car.name, far=True)
        view_sheet((None, None, Drive.RHD), Layout.STRIP)
        for car in store.cars(limit=1):
            price(store, car.name)
    except Exception:  # noqa: BLE001 - no page was asked for yet, and there is nobody to tell
        return
    # What is there now stays: leaving it out of each later search for what may go makes a page a quarter quicker.
    gc.collect()
    gc.freeze()


_SYLLABLES = tuple(first + vowel + last for first in "bdfgklmnprstv" for vowel in "aeiou" for last in "lmnrst")


def listen(host: str, port: int) -> socket.socket:
    """Take a port to listen to; raises BrokenWorldError (slug ``web-port``) where it may not be had."""
    # The protocol is named because without it the event loop leaves Nagle's algorithm on, and each answer that is sent
    # in two pieces waits 40 ms for the browser's receipt of the first.
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as trouble:
        listener.close()
        raise BrokenWorldError(
            Problem(
                slug="web-port",
                where=f"port {port}",
                found=trouble.strerror or type(trouble).__name__,
                allowed="a port that nothing else listens to; 0 takes any",
                advice="End the other program, or name another port with --port.",
            )
        ) from trouble
    return listener


def _network_address() -> str | None:
    """Give the address of this machine on its network; no packet is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            address: str = probe.getsockname()[0]
        except OSError:
            return None
    return None if address.startswith("127.") else address
