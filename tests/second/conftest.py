"""A real HTTP server on loopback that answers as it is told to, well or badly."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest

from shutline.car.findings import Drive
from shutline.car.speech import Stretch, StretchOrigin, stretch_of
from shutline.second.address import service_at
from shutline.second.asking import Asked, ask
from shutline.second.settings import SecondSettings, settings

Behaviour = Callable[[Any, dict[str, Any]], None]


@dataclass
class Asking:
    """One request as it came in."""

    path: str
    headers: dict[str, str]
    body: dict[str, Any]

    @property
    def lines(self) -> list[dict[str, Any]]:
        return json.loads(self.body["messages"][1]["content"])["lines"]


class Server(ThreadingHTTPServer):
    """Answers each request with the next behaviour of its script, and then always with the last."""

    daemon_threads = True
    block_on_close = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.script: list[Behaviour] = []
        self.asked: list[Asking] = []
        self.over = threading.Event()
        self.turn = threading.Lock()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}/v1"

    def handle_error(self, request: object, client_address: object) -> None:
        """A client that hangs up is what many of these tests are about."""

    def behave(self, *script: Behaviour) -> None:
        self.script = list(script)


class Handler(BaseHTTPRequestHandler):
    server: Server

    def do_POST(self) -> None:
        body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        with self.server.turn:
            self.server.asked.append(Asking(self.path, dict(self.headers.items()), body))
            behaviour = self.server.script.pop(0) if len(self.server.script) > 1 else self.server.script[0]
        behaviour(self, body)

    def do_GET(self) -> None:
        self.server.asked.append(Asking(self.path, dict(self.headers.items()), {}))
        self.send_error(404)

    def log_message(self, *_: object) -> None:
        pass

    def give(self, data: bytes, *, status: int = 200, **headers: str) -> None:
        self.send_response(status)
        given = {"Content-Type": "application/json", "Content-Length": str(len(data))}
        given |= {name.replace("_", "-"): value for name, value in headers.items()}
        for name, value in given.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(data)


def completion(content: str | None) -> bytes:
    message = {"role": "assistant", "content": content, "refusal": None}
    choice = {"index": 0, "message": message, "finish_reason": "stop", "logprobs": None}
    told = {"id": "c1", "object": "chat.completion", "created": 1, "model": "m", "choices": [choice], "usage": {}}
    return json.dumps(told).encode()


@dataclass
class Say:
    """Behaviours, and statements to behave with."""

    fields: dict[str, Any] = field(
        default_factory=lambda: {"found": "yes", "side": None, "position": None, "severity": None, "remedy": None}
    )

    def statement(self, part: str, condition: str, quote: str, line: int = 1, **other: Any) -> dict[str, Any]:
        return {"line": line, "quote": quote, "part": part, "condition": condition, **self.fields, **other}

    def content(self, content: str | None) -> Behaviour:
        return self.raw(completion(content))

    def statements(self, *statements: object) -> Behaviour:
        return self.content(json.dumps({"statements": list(statements)}))

    def raw(self, data: bytes, *, status: int = 200, **headers: str) -> Behaviour:
        return lambda handler, _body: handler.give(data, status=status, **headers)

    def where_said(self, *statements: dict[str, Any]) -> Behaviour:
        """Say only what stands in the piece that is asked about, with the right line."""

        def behave(handler: Handler, body: dict[str, Any]) -> None:
            lines = json.loads(body["messages"][1]["content"])["lines"]
            said = [{**s, "line": line["line"]} for s in statements for line in lines if s["quote"] in line["words"]]
            handler.give(completion(json.dumps({"statements": said})))

        return behave


@pytest.fixture
def server() -> Iterator[Server]:
    made = Server()
    thread = threading.Thread(target=made.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    yield made
    made.over.set()
    made.shutdown()
    thread.join()
    made.server_close()


@pytest.fixture
def say() -> Say:
    return Say()


@pytest.fixture
def quick() -> SecondSettings:
    """The shipped settings, with short waits."""
    shipped = settings()
    limits = replace(shipped.limits, connect_s=1.0, answer_s=1.5, wait_s=0.05, longest_wait_s=0.2, answer_bytes=60_000)
    return replace(shipped, limits=limits)


@pytest.fixture
def said() -> Callable[..., tuple[Stretch, ...]]:
    """Make one stretch of each text, ten seconds apart."""

    def make(*texts: str) -> tuple[Stretch, ...]:
        return tuple(
            stretch_of(text, 10.0 * number, 10.0 * number + 8.0, origin=StretchOrigin.TRANSCRIPT)
            for number, text in enumerate(texts)
        )

    return make


@pytest.fixture
def put(server: Server, quick: SecondSettings) -> Callable[..., Asked]:
    """Ask the server about stretches."""

    def make(stretches: tuple[Stretch, ...], *, key: str | None = None, **options: Any) -> Asked:
        service = service_at(server.url, model="m", key=key)
        return ask(stretches, **{"drive": Drive.RHD, "service": service, "tuning": quick, **options})

    return make
