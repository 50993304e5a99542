"""One question to a service over HTTP, and what came of it: bytes, or why there are none."""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable, Coroutine
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum
from types import TracebackType
from typing import TYPE_CHECKING, Any, Final, Self, TypeVar

from shutline.car.errors import Problem, UserError
from shutline.second.settings import Limits

if TYPE_CHECKING:
    import httpx

    from shutline.second.address import Service

T = TypeVar("T")

_LOOK_EVERY_S: Final = 0.1
"""How often a stop is looked for while an answer is awaited, seconds."""

_JSON: Final = ("application/json", "text/json")
_BUSY: Final = frozenset({408, 425, 429, 500, 502, 503, 504})
_NO_ENTRY: Final = frozenset({401, 403})
_NOT_SO: Final = frozenset({400, 415, 422, 501})


# Loggers of the library, which write addresses and the heads of answers: a service can put into them what it was sent.
_LOGGERS: Final = ("httpx", *(f"httpcore.{part}" for part in ("connection", "http11", "http2", "proxy", "socks")))

_asking: ContextVar[bool] = ContextVar("asking a second reader", default=False)


class Failure(StrEnum):
    """Why there is no answer. Only these words are told; what the service itself says is not repeated."""

    UNREACHED = "it could not be reached, or the connection broke"
    LATE = "no whole answer came in time"
    BUSY = "it is busy or failed itself"
    KEY = "it wants another key, or one at all"
    NOT_SO = "it refused the form of the request"
    ELSEWHERE = "it pointed to another address, which was not followed"
    REFUSED = "it refused the request"
    NOT_JSON = "what came is not JSON"
    TOO_LONG = "the answer was longer than allowed"
    STOPPED = "the run was stopped"


@dataclass(frozen=True, slots=True)
class Reply:
    """What came of one question: `data` where `failure` is None. `status` is that of HTTP, where there was one."""

    data: bytes = b""
    failure: Failure | None = None
    status: int | None = None
    wait_s: float | None = None


class _Stopped(Exception):  # noqa: N818
    """A stop was asked for while an answer was awaited."""


class Transport:
    """Asks one service; an async context manager that lets go of its connections at the end."""

    def __init__(self, service: Service, *, limits: Limits, should_stop: Callable[[], bool]) -> None:
        self._service = service
        self._limits = limits
        self._should_stop = should_stop
        self._client = _client(limits)

    async def __aenter__(self) -> Self:
        _asking.set(True)
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self._client.aclose()

    async def ask(self, body: bytes) -> Reply:
        """Ask once.

        Parameters
        ----------
        body : bytes
            JSON.

        Returns
        -------
        Reply
            Within `Limits.answer_s`, whatever the service does.
        """
        import httpx

        try:
            return await self._watched(self._exchange(body), self._limits.answer_s)
        except _Stopped:
            return Reply(failure=Failure.STOPPED)
        except (TimeoutError, httpx.TimeoutException):
            return Reply(failure=Failure.LATE)
        # The last two: a host that cannot be written as one, an answer's head that cannot be read.
        except (httpx.HTTPError, httpx.InvalidURL, httpx.StreamError, OSError, ValueError):
            return Reply(failure=Failure.UNREACHED)

    async def pause(self, seconds: float) -> None:
        """Wait, or until a stop is asked for."""
        end = time.monotonic() + seconds
        while not self._should_stop() and (left := end - time.monotonic()) > 0:
            await asyncio.sleep(min(_LOOK_EVERY_S, left))

    async def _watched(self, work: Coroutine[Any, Any, T], within_s: float) -> T:
        """Await work, but not longer than allowed, nor after a stop; a drip of bytes does not stretch it."""
        task = asyncio.ensure_future(work)
        end = time.monotonic() + within_s
        try:
            while not task.done():
                left = end - time.monotonic()
                if left <= 0:
                    raise TimeoutError
                if self._should_stop():
                    raise _Stopped
                await asyncio.wait({task}, timeout=min(_LOOK_EVERY_S, left))
            return task.result()
        finally:
            if not task.done():
                task.cancel()
                await asyncio.wait({task})
                # Looked at, so that nobody is told of an error that no longer matters.
                _ = task.cancelled() or task.exception()

    async def _exchange(self, body: bytes) -> Reply:
        headers = {
            "Content-Type": "application/json",
            "Accept": "application/json",
            # An answer that unpacks to a thousand times its size is not let in.
            "Accept-Encoding": "identity",
        }
        if self._service.key is not None:
            headers["Authorization"] = f"Bearer {self._service.key}"
        async with self._client.stream("POST", self._service.url, content=body, headers=headers) as response:
            failure = _failure_of(response)
            if failure is not None:
                return Reply(failure=failure, status=response.status_code, wait_s=_wait_of(response))
            data = bytearray()
            async for chunk in response.aiter_raw():
                data += chunk
                if len(data) > self._limits.answer_bytes:
                    return Reply(failure=Failure.TOO_LONG, status=response.status_code)
            return Reply(bytes(data), status=response.status_code)


class _Hush(logging.Filter):
    """Lets nothing into a log while a second reader is asked; other users of the library are not hushed."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Tell whether a record may pass."""
        del record
        return not _asking.get()


_hush: Final = _Hush()


def _client(limits: Limits) -> httpx.AsyncClient:
    try:
        import httpx
    except ImportError as error:
        raise UserError(
            Problem(
                slug="second-reader-missing",
                where="second reader",
                found="the library that asks it is not installed",
                allowed="it is an extra of the package",
                advice='Install it with: pip install "shutline[second-reader]". Or do without a second reader.',
            )
        ) from error
    for name in _LOGGERS:
        logging.getLogger(name).addFilter(_hush)
    # Nothing of the surroundings is heeded: no proxy that the user did not name, no password file.
    return httpx.AsyncClient(
        timeout=httpx.Timeout(limits.answer_s, connect=limits.connect_s),
        follow_redirects=False,
        trust_env=False,
        limits=httpx.Limits(max_connections=1),
    )


def _failure_of(response: httpx.Response) -> Failure | None:
    status = response.status_code
    for failure, statuses in ((Failure.BUSY, _BUSY), (Failure.KEY, _NO_ENTRY), (Failure.NOT_SO, _NOT_SO)):
        if status in statuses:
            return failure
    if 300 <= status < 400:
        return Failure.ELSEWHERE
    if status != 200:
        return Failure.REFUSED
    kind = response.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in _JSON or response.headers.get("content-encoding", "identity").strip().lower() != "identity":
        return Failure.NOT_JSON
    return None


def _wait_of(response: httpx.Response) -> float | None:
    text = response.headers.get("retry-after", "").strip()
    return float(text) if text.isascii() and text.isdecimal() and len(text) < 6 else None
