"""All pieces of a recording put to a service, one after another; what is answered already is not asked again."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from shutline.car.errors import Problem
from shutline.car.findings import Drive
from shutline.car.second import PieceAnswer, Proposal, Reason, SetAside
from shutline.car.speech import Stretch
from shutline.second.address import Service
from shutline.second.answer import read_answer
from shutline.second.pieces import Piece, pieces, words_of
from shutline.second.request import Form, body, encoded, key_of
from shutline.second.settings import Limits, SecondSettings, settings
from shutline.second.transport import Failure, Reply, Transport

# After these it is of no use to ask on.
_FINAL = frozenset({Failure.KEY, Failure.ELSEWHERE, Failure.REFUSED, Failure.NOT_SO, Failure.STOPPED})
_AGAIN = frozenset({Failure.BUSY, Failure.UNREACHED})
_FORMS = tuple(Form)


@dataclass(frozen=True, slots=True)
class Asked:
    """What came of asking about one recording.

    `proposals` are numbered by all its words. `spans` are the stretches of time, seconds, to which there is an answer;
    `answered` of `pieces` have one, `sent` of them were asked now and the others known.
    """

    proposals: tuple[Proposal, ...]
    set_aside: tuple[SetAside, ...]
    spans: tuple[tuple[float, float], ...]
    pieces: int
    answered: int
    sent: int
    problems: tuple[Problem, ...] = ()


def keys(stretches: Sequence[Stretch], *, service: Service, drive: Drive) -> tuple[str, ...]:
    """Give the hashes under which the answers about these words are kept, in the order of the pieces."""
    return tuple(key_of(piece, service=service.host, model=service.model, drive=drive) for piece in pieces(stretches))


def ask(
    stretches: Sequence[Stretch],
    *,
    drive: Drive,
    service: Service,
    known: Mapping[str, PieceAnswer] | None = None,
    on_answer: Callable[[str, PieceAnswer], None] | None = None,
    on_progress: Callable[[float], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
    where: str = "the words",
    tuning: SecondSettings | None = None,
) -> Asked:
    """Ask a service for what was said, piece by piece.

    Not to be called from within a running event loop.

    Parameters
    ----------
    stretches : sequence of Stretch
        What was said.
    drive : Drive
        Where the wheel is.
    service : Service
        Whom to ask.
    known : mapping, optional
        Answers of earlier runs by their hash, see `keys`; they are not asked for again.
    on_answer : callable, optional
        Called with hash and answer as soon as a piece is answered, to keep it.
    on_progress : callable, optional
        Called with the share that is done, 0 to 1.
    should_stop : callable, optional
        True ends the run within a second; what was answered so far is returned.
    where : str
        Name of the recording, for problems.
    tuning : SecondSettings, optional
        The shipped settings when left out.

    Returns
    -------
    Asked
        Whatever the service does: trouble with it is a problem (``second-no-answer``, ``second-answer-broken``,
        ``second-set-aside``), never raised.

    Raises
    ------
    UserError
        The extra is not installed (slug ``second-reader-missing``).
    """
    tuning = tuning or settings()
    cut = pieces(stretches, sizes=tuning.pieces)
    run = _Run(
        service=service,
        drive=drive,
        limits=tuning.limits,
        on_answer=on_answer or (lambda _key, _answer: None),
        should_stop=should_stop or (lambda: False),
        where=where,
    )
    answers, problems = asyncio.run(run.all(cut, known or {}, on_progress or (lambda _: None)))
    return _gathered(stretches, cut, answers, sent=run.sent, problems=problems, where=where)


class _Run:
    """One run over the pieces: what was learnt of the service on the way stays with it."""

    def __init__(
        self,
        *,
        service: Service,
        drive: Drive,
        limits: Limits,
        on_answer: Callable[[str, PieceAnswer], None],
        should_stop: Callable[[], bool],
        where: str,
    ) -> None:
        self._service = service
        self._drive = drive
        self._limits = limits
        self._on_answer = on_answer
        self._should_stop = should_stop
        self._where = where
        self._form = 0
        self.sent = 0

    async def all(
        self, cut: Sequence[Piece], known: Mapping[str, PieceAnswer], on_progress: Callable[[float], None]
    ) -> tuple[list[PieceAnswer | None], list[Problem]]:
        """Give the answer to each piece, None where there is none."""
        answers: list[PieceAnswer | None] = []
        problems: list[Problem] = []
        failed = 0
        over = False
        async with Transport(self._service, limits=self._limits, should_stop=self._should_stop) as transport:
            for number, piece in enumerate(cut, 1):
                key = key_of(piece, service=self._service.host, model=self._service.model, drive=self._drive)
                answer = known.get(key)
                if answer is None and not over:
                    self.sent += 1
                    answer, reply = await self._piece(piece, transport)
                    if answer is not None:
                        self._on_answer(key, answer)
                    failed = 0 if answer is not None else failed + 1
                    over = reply.failure in _FINAL or failed >= self._limits.failures_in_a_row
                    if answer is None and reply.failure is not Failure.STOPPED:
                        problems.append(self._no_answer(reply, f"piece {number} of {len(cut)}", over=over))
                answers.append(answer)
                on_progress(number / len(cut))
        return answers, problems

    async def _piece(self, piece: Piece, transport: Transport) -> tuple[PieceAnswer | None, Reply]:
        reply = Reply(failure=Failure.STOPPED)
        wait_s = self._limits.wait_s
        tries = 0
        while tries < self._limits.tries:
            if self._should_stop():
                return None, Reply(failure=Failure.STOPPED)
            asked = body(piece, model=self._service.model, drive=self._drive, form=_FORMS[self._form])
            reply = await transport.ask(encoded(asked))
            if reply.failure is None:
                return read_answer(reply.data, piece, limits=self._limits), reply
            if reply.failure is Failure.NOT_SO and self._form + 1 < len(_FORMS):
                self._form += 1
                continue
            if reply.failure not in _AGAIN:
                break
            tries += 1
            if tries < self._limits.tries:
                await transport.pause(min(max(wait_s, reply.wait_s or 0.0), self._limits.longest_wait_s))
                wait_s *= 2
        return None, reply

    def _no_answer(self, reply: Reply, piece: str, *, over: bool) -> Problem:
        rest = "; the pieces after it were not asked" if over else ""
        if reply.failure is None:
            return Problem(
                slug="second-answer-broken",
                where=f"{self._where}, {piece}",
                found=f"what {self._service.host} answered is not in the form asked for",
                allowed=f"JSON with a list of statements; nothing was taken from it{rest}",
                advice="Ask again; where it stays so, name a model that can answer in JSON.",
            )
        status = f" (HTTP status {reply.status})" if reply.status is not None else ""
        return Problem(
            slug="second-no-answer",
            where=f"{self._where}, {piece}",
            found=f"no answer from {self._service.host}: {reply.failure.value}{status}",
            allowed=f"findings are as they were{rest}",
            advice=_ADVICE.get(
                reply.failure, "Look whether the service runs, then ask again: what is answered is kept."
            ),
        )


_ADVICE = {
    Failure.KEY: "Look at the key in the environment variable that the settings name.",
    Failure.ELSEWHERE: "Give the address it is to be asked at in full.",
    Failure.NOT_SO: "Look whether the service has a model of that name, and whether its text may be as long.",
    Failure.REFUSED: "Look at the address and the name of the model.",
}


def _gathered(
    stretches: Sequence[Stretch],
    cut: Sequence[Piece],
    answers: Sequence[PieceAnswer | None],
    *,
    sent: int,
    problems: Sequence[Problem],
    where: str,
) -> Asked:
    words = words_of(stretches)
    proposals: list[Proposal] = []
    spans: list[tuple[float, float]] = []
    aside: Counter[Reason] = Counter()
    for piece, answer in zip(cut, answers, strict=True):
        if answer is None:
            continue
        first = piece.first
        proposals += [replace(p, first=p.first + first, last=p.last + first) for p in answer.proposals]
        spans.append((words[first + piece.core_first].start_s, words[first + piece.core_end - 1].end_s))
        aside.update({one.reason: one.count for one in answer.set_aside})
    counts = tuple(SetAside(reason, aside[reason]) for reason in Reason if aside[reason])
    return Asked(
        proposals=tuple(proposals),
        set_aside=counts,
        spans=tuple(spans),
        pieces=len(cut),
        answered=sum(answer is not None for answer in answers),
        sent=sent,
        problems=(*problems, *([_set_aside(counts, where)] if counts else [])),
    )


def _set_aside(counts: Sequence[SetAside], where: str) -> Problem:
    told = ", ".join(f"{one.count} with {one.reason.value}" for one in counts)
    return Problem(
        slug="second-set-aside",
        where=f"{where}, second reading",
        found=f"statements that cannot be compared: {told}",
        allowed="each has a quote that stands in the words and the vocabulary's own names",
        advice="Nothing needs doing; where most are set aside, name another model.",
    )
