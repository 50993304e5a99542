"""Where a second reader may be asked: https, or http on this machine, unless the user says otherwise."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass, field
from typing import Final
from urllib.parse import SplitResult, urlsplit, urlunsplit

from shutline.car.errors import Problem, UserError

_PATH: Final = "/chat/completions"
_PORTS: Final = {"http": 80, "https": 443}


@dataclass(frozen=True, slots=True)
class Service:
    """A service to ask.

    `url` is where requests go; `host` what a person is told and what is kept: name and port, no way and no query.
    `key` goes into the head of each request and nowhere else.
    """

    url: str = field(repr=False)
    host: str
    model: str
    key: str | None = field(default=None, repr=False)


def service_at(address: str, *, model: str, key: str | None = None, plain_http: bool = False) -> Service:
    """Check an address and give the service there.

    Parameters
    ----------
    address : str
        Where the protocol begins, for example ``http://127.0.0.1:8080/v1``; ``/chat/completions`` is put behind it.
    model : str
        The name that the service knows the model by.
    key : str, optional
        Sent as a bearer token.
    plain_http : bool
        Allow http to another machine: words and key can be read on the way.

    Raises
    ------
    UserError
        The address cannot be one, or is neither https nor http on this machine (slug ``second-address``); no model
        is named (``second-model``); the key holds what no head can carry (``second-key``).
    """
    parts = _split(address)
    if parts.scheme == "http" and not plain_http and not _on_this_machine(parts.hostname or ""):
        raise _refused(
            f"http to {_host(parts)}",
            "https, or http on this machine: on the way to another one the words could be read",
            "Give an https address, or say that plain http is meant (--plain-http).",
        )
    if not model.strip():
        raise UserError(
            Problem(
                slug="second-model",
                where="second reader",
                found="no name of a model",
                allowed="the name that the service knows its model by",
                advice="Give it with --model, or as `model` in the settings.",
            )
        )
    if key is not None and not (key.isascii() and key.isprintable() and " " not in key):
        raise UserError(
            Problem(
                slug="second-key",
                where="second reader, key",
                found="it holds characters that cannot be sent, or a space",
                allowed="printable ASCII without spaces",
                advice="Set the environment variable anew, without a line break at its end.",
            )
        )
    path = parts.path.rstrip("/")
    whole = path if path.endswith(_PATH) else path + _PATH
    url = urlunsplit((parts.scheme, parts.netloc, whole, parts.query, ""))
    return Service(url=url, host=_host(parts), model=model.strip(), key=key)


def _split(address: str) -> SplitResult:
    """Take an address apart; none of it is repeated in errors but its host, for it may hold a key."""
    allowed = "such as https://name.example/v1 or http://127.0.0.1:8080/v1, without a name and password before the host"
    advice = "Give the address that the service's own description gives."
    text = address.strip()
    if not text.isprintable() or " " in text:
        raise _refused("an address with spaces or unprintable characters", allowed, advice)
    try:
        parts = urlsplit(text)
        known = (parts.scheme in _PORTS) and bool(parts.hostname) and parts.port != 0
    except ValueError:
        raise _refused("an address that cannot be taken apart", allowed, advice) from None
    if not known:
        raise _refused("no address with http or https and a host", allowed, advice)
    if parts.username is not None or parts.password is not None:
        raise _refused("a name or password in the address", allowed, advice)
    return parts


def _on_this_machine(host: str) -> bool:
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _host(parts: SplitResult) -> str:
    name = parts.hostname or ""
    shown = f"[{name}]" if ":" in name else name
    return shown if parts.port in {None, _PORTS[parts.scheme]} else f"{shown}:{parts.port}"


def _refused(found: str, allowed: str, advice: str) -> UserError:
    return UserError(
        Problem(slug="second-address", where="second reader, address", found=found, allowed=allowed, advice=advice)
    )
