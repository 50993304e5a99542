"""Have the words of a car read a second time by a service the user names, and lay that beside the findings."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFinding, Recording
from shutline.car.errors import Problem, UserError
from shutline.car.findings import Finding, Footing, FootingKind, State
from shutline.car.second import SecondReading, SecondView, Verdict
from shutline.car.speech import Stretch
from shutline.usecases.look import find_car
from shutline.usecases.placed_words import read_at
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.settings import SecondReaderSettings, second_reader_settings

if TYPE_CHECKING:
    from shutline.second.address import Service
    from shutline.second.asking import Asked
    from shutline.store import KeptSecond, Store

_STAGE = "second reading"


@dataclass(frozen=True, slots=True)
class Sending:
    """What a second reading would send, and where: to be told before it is sent.

    `words` in `pieces` of all recordings of the car, of which `known` pieces are answered already and not sent again.
    `first` is True until this service has answered from this store.
    """

    car: str
    service: str
    model: str
    recordings: int
    words: int
    pieces: int
    known: int
    first: bool

    def sentence(self) -> str:
        """Say it."""
        again = f", of which {self.known} answered already and not sent again" if self.known else ""
        pieces = "1 piece" if self.pieces == 1 else f"{self.pieces} pieces"
        return (
            f"All that was said of {self.car} ({self.words} words in {pieces}{again}) goes to "
            f"{self.service}, to be read by {self.model!r}. It may hold names, places, telephone numbers and prices "
            "that somebody said. Recordings, pictures and findings are not sent."
        )


@dataclass(frozen=True, slots=True)
class SecondAsked:
    """What came of it: one reading a recording, pieces asked this time, and what went wrong."""

    sending: Sending
    sent: int
    readings: tuple[SecondReading, ...]
    problems: tuple[Problem, ...]


def what_is_sent(store: Store, name: str, *, choice: SecondReaderSettings | None = None) -> Sending:
    """Say what a second reading of a car would send and where; nothing is sent.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    choice : SecondReaderSettings, optional
        The service; that of the user's settings when left out.

    Raises
    ------
    NotFoundError, UserError
        No such car, or no service that can be asked (slugs ``second-reader-off``, ``second-address``,
        ``second-model``, ``second-key``, ``second-key-missing``).
    """
    return _sending(store, find_car(store, name), _service(choice or second_reader_settings()))


def ask_second(
    store: Store,
    name: str,
    *,
    choice: SecondReaderSettings | None = None,
    agreed: bool = False,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> SecondAsked:
    """Have a car's words read a second time, and lay the answers beside the findings.

    An agreement raises the sureness of a finding that nobody has decided about; nothing else of a finding changes.

    Parameters
    ----------
    store, name, choice
        As in `what_is_sent`.
    agreed : bool
        That the user has been told what is sent and where, and wants it; needed until the service has answered once.
    tell, stop
        Where progress is told, and a flag that ends the work within a second.

    Raises
    ------
    NotFoundError, UserError
        As `what_is_sent`; and ``second-not-agreed``, ``second-reader-missing``.
    StoppedError
        `stop` was set; what was answered is kept, and the same call goes on.
    """
    from shutline.second.asking import ask, keys

    stop = stop or Stop()
    car = find_car(store, name)
    service = _service(choice or second_reader_settings())
    sending = _sending(store, car, service)
    if sending.first and not agreed:
        raise _not_agreed(sending)
    sent = 0
    problems: list[Problem] = []
    for recording in _spoken(car):
        label = recording.original.name

        def share(done: float, label: str = label) -> None:
            tell(Step(label, _STAGE, done))

        share(0.0)
        asked = ask(
            recording.stretches,
            drive=car.drive,
            service=service,
            known=store.second_answers(keys(recording.stretches, service=service, drive=car.drive)),
            on_answer=lambda key, answer: store.put_second_answer(
                key, answer, service=service.host, model=service.model
            ),
            on_progress=share,
            should_stop=stop.asked,
            where=label,
        )
        stop.heed(label)
        sent += asked.sent
        problems += asked.problems
        if asked.answered:
            with store.together():
                _keep(store, car.name, recording.id, _kept(recording, asked, service))
    readings = store.car_file(car.name).second_readings
    return SecondAsked(sending, sent, readings, tuple(problems))


def lay_beside(store: Store, car: str, recording: str) -> None:
    """Lay the second reading of a recording, if there is one, beside its findings as they are now.

    Asks nobody. A reading of other words than the recording has now is a past one.
    """
    kept = store.second_reading(recording)
    if kept is None:
        return
    if kept.words != _words_mark(store.recording(recording).stretches):
        store.drop_second_reading(recording)
        return
    _keep(store, car, recording, kept)


def adopt(store: Store, car: CarFile, view: SecondView, *, author: str) -> KeptFinding:
    """Enter, in a person's name, what only a second reading has, or has otherwise: it is their finding then."""
    reading = next(one for one in car.second_readings if view in one.views)
    finding = Finding(
        part=view.part,
        condition=view.condition,
        found=view.found,
        side=view.side,
        position=view.position,
        severity=view.severity,
        remedy=view.remedy,
        footings=(Footing(FootingKind.SAID, reading.recording, view.start_s, view.end_s, view.quote),),
        why=(f"a second reading ({reading.model} at {reading.service}) asked, and a person decided",),
    )
    return store.add_finding(car.name, finding, author=author, token=f"second {view.id}")


def to_decide(car: CarFile) -> tuple[SecondView, ...]:
    """Give what second readings put before a person: questions, and how they take findings nobody has decided about."""
    heard = {kept.id for kept in car.findings if kept.finding.state is State.HEARD and kept.put_right is None}
    return tuple(
        view
        for reading in car.second_readings
        for view in reading.views
        if view.verdict is Verdict.ASKS or (view.verdict is Verdict.OTHERWISE and view.finding in heard)
    )


def _keep(store: Store, car: str, recording: str, kept: KeptSecond) -> None:
    """Compare, keep what came of it, and weigh the findings anew from the reader's own sureness."""
    from shutline.second.compare import compare
    from shutline.second.pieces import words_of

    file = store.car_file(car)
    stretches = next(one.stretches for one in file.recordings if one.id == recording)
    at = store.spoken_at(recording)
    reading, _ = read_at(stretches, at, drive=file.drive, usual=file.drive, recording=recording)
    own = {f.key(): f.sureness for f in reading.findings}
    # An earlier agreement is not counted again: each is weighed by what the reader itself gave.
    findings = [
        (k.id, replace(k.finding, sureness=own.get(k.finding.key()) if k.finding.state is State.HEARD else None))
        for k in file.findings
    ]
    views = compare(findings, kept.proposals, words_of(stretches), recording=recording, asked=kept.spans)
    if views != kept.reading.views or store.second_reading(recording) != kept:
        store.put_second_reading(replace(kept, reading=replace(kept.reading, views=views)))
    sureness = {id_: finding.sureness for id_, finding in findings if finding.sureness is not None}
    sureness |= {
        view.finding: view.sureness_after
        for view in views
        if view.finding is not None and view.sureness_after is not None
    }
    store.weigh_findings(recording, sureness)


def _kept(recording: Recording, asked: Asked, service: Service) -> KeptSecond:
    from shutline.store import KeptSecond

    reading = SecondReading(
        recording=recording.id,
        service=service.host,
        model=service.model,
        asked_at=datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z"),
        pieces=asked.pieces,
        answered=asked.answered,
        set_aside=asked.set_aside,
    )
    return KeptSecond(reading, _words_mark(recording.stretches), asked.proposals, asked.spans)


def _sending(store: Store, car: CarFile, service: Service) -> Sending:
    from shutline.second.asking import keys

    spoken = _spoken(car)
    asked = [key for one in spoken for key in keys(one.stretches, service=service, drive=car.drive)]
    return Sending(
        car=car.name,
        service=service.host,
        model=service.model,
        recordings=len(spoken),
        words=sum(len(stretch.words) for one in spoken for stretch in one.stretches),
        pieces=len(asked),
        known=len(store.second_answers(asked)),
        first=not store.second_service_known(service.host),
    )


def _spoken(car: CarFile) -> tuple[Recording, ...]:
    return tuple(one for one in car.recordings if any(stretch.words for stretch in one.stretches))


def _service(choice: SecondReaderSettings) -> Service:
    from shutline.second.address import service_at

    if choice.address is None:
        raise UserError(
            Problem(
                slug="second-reader-off",
                where="second reader",
                found="no address of a service is set",
                allowed="it is off, and nothing leaves this machine, until one is",
                advice="Name one with --address, or in the settings (docs/second_reader.md).",
            )
        )
    key = None
    if choice.key_variable is not None:
        key = os.environ.get(choice.key_variable, "").strip()
        if not key:
            raise UserError(
                Problem(
                    slug="second-key-missing",
                    where="second reader, key",
                    found=f"the environment variable {choice.key_variable!r} is not set, or empty",
                    allowed="the key is read from there and kept nowhere",
                    advice="Set it in this shell, or leave its name out where the service wants no key.",
                )
            )
    return service_at(choice.address, model=choice.model, key=key, plain_http=choice.plain_http)


def _words_mark(stretches: Sequence[Stretch]) -> str:
    """Give a hash of words with their times."""
    said = "\x1f".join(f"{w.text}\x1e{w.start_s:.3f}\x1e{w.end_s:.3f}" for s in stretches for w in s.words)
    return hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()


def _not_agreed(sending: Sending) -> UserError:
    return UserError(
        Problem(
            slug="second-not-agreed",
            where=f"second reader at {sending.service}",
            found=f"it has never been asked from here. {sending.sentence()}",
            allowed="nothing was sent: the first time somebody has to agree",
            advice="Give the same command with --agree if that is wanted.",
        )
    )
