"""Who may come in: by the opening link, or on a local network by a pass phrase; and who they say they are."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from dataclasses import dataclass, field

COOKIE = "shutline"
MOST_SESSIONS = 200
LONGEST_NAME = 80
_MOST_TRIES = 20
_TRIES_IN_S = 600.0


@dataclass(slots=True)
class Session:
    """One browser that was let in: its secret against forged requests, and the name its changes are signed with."""

    key: str
    proof: str
    author: str


@dataclass(slots=True)
class Access:
    """The keys to one run of the workbench.

    `hosts` are the names it may be called by, with the port, in small letters; anything else is refused, so that a
    page elsewhere cannot reach it under a name of its own. `phrase` lets in from the local network; None while it
    listens on this machine alone.
    """

    hosts: frozenset[str]
    author: str
    phrase: str | None = None
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    _sessions: dict[str, Session] = field(default_factory=dict)
    _tries: list[float] = field(default_factory=list)
    _turn: threading.Lock = field(default_factory=threading.Lock)

    def by_token(self, token: str) -> Session | None:
        """Let in who holds the opening link."""
        return self._new() if _same(token, self.token) else None

    def by_phrase(self, phrase: str) -> Session | None:
        """Let in who knows the pass phrase; None where it is wrong, or was tried too often of late."""
        if self.phrase is None:
            return None
        now = time.monotonic()
        with self._turn:
            self._tries = [tried for tried in self._tries if now - tried < _TRIES_IN_S]
            if len(self._tries) >= _MOST_TRIES:
                return None
            right = _same(phrase, self.phrase)
            if not right:
                self._tries.append(now)
        return self._new() if right else None

    def session(self, key: str | None) -> Session | None:
        """Find the session of a cookie."""
        return self._sessions.get(key or "")

    def _new(self) -> Session:
        session = Session(secrets.token_urlsafe(32), secrets.token_urlsafe(32), self.author)
        with self._turn:
            while len(self._sessions) >= MOST_SESSIONS:
                self._sessions.pop(next(iter(self._sessions)))
            self._sessions[session.key] = session
        return session


def proven(session: Session, proof: str | None) -> bool:
    """Tell whether a request carries the secret that only our own pages know."""
    return proof is not None and _same(proof, session.proof)


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode("utf-8", "surrogatepass"), other.encode("utf-8", "surrogatepass"))
