"""The work on what was brought in: in the background, one car at a time, to be stopped and gone on with."""

from __future__ import annotations

import logging
import secrets
import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, ShutlineError, StoppedError, UserError
from shutline.car.recordings import Kind
from shutline.publish.naming import place_name
from shutline.usecases.add import AddedItem, add, new_car
from shutline.usecases.known import known_files
from shutline.usecases.note_keeping import read_picture
from shutline.usecases.progress import Step, Stop
from shutline.usecases.unfinished import Unfinished, go_on, unfinished
from shutline.web.deliveries import Delivery, Now, SentFile, UploadLimits
from shutline.web.uploads import Arrivals

if TYPE_CHECKING:
    from pathlib import Path

    from shutline.car.notes import Note
    from shutline.store import Store

FOLDER = "arriving"
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Adding:
    """All that is being brought in, newest first; recordings that were left half read; and what may be sent."""

    deliveries: tuple[Delivery, ...]
    unfinished: Unfinished
    limits: UploadLimits


class Jobs:
    """Works on the deliveries of one store, the oldest that waits first. Its thread begins with the first of them."""

    def __init__(self, store: Store, *, limits: UploadLimits | None = None) -> None:
        self.arrivals = Arrivals(store.folder / FOLDER, limits)
        self._store = store
        self._turn = threading.Condition()
        self._thread: threading.Thread | None = None
        self._closed = False
        self._at: str | None = None
        self._stop = Stop()
        self._now: Now | None = None
        self._steps = 0
        self._left: Unfinished | None = None

    def mark(self) -> tuple[object, ...]:
        """Give what is another after each change of what `adding` gives."""
        return (self.arrivals.version, self._steps, self.arrivals.sending())

    def adding(self, *, anew: bool = False) -> Adding:
        """Give how all of it stands; `anew` looks into the store again for what was left half read."""
        deliveries = tuple(self._as_it_stands(one) for one in self.arrivals.all())
        if anew or self._left is None:
            self._left = unfinished(self._store)
        known = {
            file.sha256 for one in deliveries if one.state != "done" for file in one.files if file.sha256 is not None
        }
        left = tuple(one for one in self._left.recordings if one.sha256 not in known)
        return Adding(deliveries, Unfinished(left), self.arrivals.limits)

    def _as_it_stands(self, delivery: Delivery) -> Delivery:
        if delivery.id == self._at and delivery.state == "working":
            delivery = replace(delivery, now=self._now)
        car = None if delivery.car is None else self._store.car_named(delivery.car)
        return delivery if car is None else replace(delivery, title=car.title)

    def wake(self) -> None:
        """Begin with what waits, unless it is being worked on already."""
        with self._turn:
            if self._closed:
                return
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="adding", daemon=True)
                self._thread.start()
            self._turn.notify()

    def stop(self, delivery: str) -> Delivery:
        """Stop the work on a delivery at the next good moment, or keep it from being begun."""
        with self._turn:
            if delivery == self._at:
                self._stop.ask()
            elif self.arrivals.get(delivery).state == "waiting":
                self.arrivals.change(delivery, state="stopped")
            return self.arrivals.get(delivery)

    def go_on(self, delivery: str) -> Delivery:
        """Go on with a delivery that was stopped."""
        with self._turn:
            if self.arrivals.get(delivery).state == "stopped" and delivery != self._at:
                self.arrivals.change(delivery, state="waiting", problem=None)
        self.wake()
        return self.arrivals.get(delivery)

    def answer(self, delivery: str, car: str | None) -> Delivery:
        """Say of which car a delivery is that waits for it; None for a new one. Later answers change nothing."""
        with self._turn:
            if self.arrivals.get(delivery).state == "asking":
                self.arrivals.change(delivery, state="waiting", car=car, as_new=car is None, known=())
        self.wake()
        return self.arrivals.get(delivery)

    def put_away(self, delivery: str) -> None:
        """Forget a delivery; what was taken in of it stays. One that is being worked on is stopped first.

        Raises
        ------
        UserError
            The work on it has not stopped yet (slug ``upload-at-work``).
        """
        with self._turn:
            if delivery == self._at:
                self._stop.ask()
                raise _at_work()
            self.arrivals.remove(delivery)
        self._left = None

    def read_on(self, recording: str, *, author: str) -> Delivery:
        """Go on with a recording that the store has and that was not read to its end.

        Raises
        ------
        NotFoundError
            There is no such recording, or nothing is left to do on it (slug ``recording-unknown``).
        """
        left = next((one for one in unfinished(self._store).recordings if one.recording == recording), None)
        if left is None:
            raise _not_left(recording)
        size = self._store.original(left.sha256).byte_size
        file = SentFile(left.name, size, size, sha256=left.sha256, length_s=left.length_s, recording=recording)
        same = [one for one in self.arrivals.all() if one.state != "done" and one.files[0].recording == recording]
        return same[0] if same else self._begin(file, car=left.car, title=left.title, note=left.note, author=author)

    def read_picture(self, car: str, note: Note, *, author: str) -> Delivery:
        """Read a picture that was kept with a note made at a car, in its turn; once that is done it is forgotten.

        Raises
        ------
        NotFoundError
            The car has no such picture (slug ``recording-unknown``).
        """
        file = self._store.car_file(car)
        picture = next((one for one in file.pictures if one.id == note.source), None)
        if picture is None:
            raise _not_left(note.source)
        sent = SentFile(
            picture.original.name,
            picture.original.byte_size,
            picture.original.byte_size,
            sha256=picture.original.sha256,
            kind=Kind.PICTURE,
            picture=picture.id,
        )
        place = place_name(note.part, note.side, note.position)
        return self._begin(sent, car=file.name, title=file.title, note=place, author=author)

    def _begin(self, file: SentFile, *, car: str, title: str, note: str | None, author: str) -> Delivery:
        delivery = Delivery(
            id=secrets.token_hex(8),
            at=datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
            author=author,
            state="waiting",
            files=(file,),
            car=car,
            title=title,
            note=note,
        )
        self.arrivals.keep(delivery)
        self.wake()
        return delivery

    def close(self, *, wait_s: float = 60.0) -> None:
        """Stop the work at the next good moment and wait for that; what is done is kept."""
        with self._turn:
            self._closed = True
            self._stop.ask()
            self._turn.notify()
        if self._thread is not None:
            self._thread.join(wait_s)

    def _run(self) -> None:
        while (delivery := self._wait()) is not None:
            try:
                self._work(delivery)
            finally:
                with self._turn:
                    self._at = None
                self._left = None
                self._steps += 1

    def _wait(self) -> str | None:
        """Wait for the next delivery and take it up; None when there will be none."""
        with self._turn:
            while not self._closed:
                waiting = [one.id for one in self.arrivals.all() if one.state == "waiting"]
                if waiting:
                    self._at, self._stop, self._now = waiting[-1], Stop(), None
                    return self._at
                self._turn.wait()
            return None

    def _work(self, delivery: str) -> None:
        try:
            if self._asks(self.arrivals.get(delivery)):
                return
            self.arrivals.change(delivery, state="working", problem=None)
            for place in _order(self.arrivals.get(delivery)):
                self._stop.heed(delivery)
                self._bring(delivery, place)
        except StoppedError:
            self.arrivals.change(delivery, state="stopped")
        except ShutlineError as error:
            # The disk or the store failed: the next file would fare no better.
            self.arrivals.change(delivery, state="stopped", problem=error.problem)
        else:
            done = self.arrivals.change(delivery, state="done")
            self.arrivals.clear(delivery)
            if all(file.picture is not None and file.problem is None for file in done.files):
                # What was read off a picture waits among the figures; there is nothing to say of it here.
                self.arrivals.remove(delivery)

    def _asks(self, delivery: Delivery) -> bool:
        """Ask first, where a new car would be made of a recording that another has already."""
        if delivery.car is not None or delivery.as_new:
            return False
        films = [
            (file.sha256, file.name)
            for file in delivery.files
            if file.sha256 is not None and file.to_do() and file.words_of is None and file.kind is not Kind.PICTURE
        ]
        known = known_files(self._store, films)
        if known:
            self.arrivals.change(delivery.id, state="asking", known=known)
        return bool(known)

    def _bring(self, delivery: str, place: int) -> None:
        kept = self.arrivals.get(delivery)
        file = kept.files[place]
        if not file.to_do():
            return
        try:
            item = self._item(kept, place)
        except UserError as error:
            self.arrivals.change_file(delivery, place, problem=error.problem)
            return
        except ShutlineError:
            raise
        except Exception as error:  # noqa: BLE001 - a fault of ours with one file must not stop the others
            _log.exception("%s could not be brought in", file.name)
            self.arrivals.change_file(delivery, place, problem=_failed(file.name, error))
            return
        if item.error is not None:
            self.arrivals.change_file(delivery, place, problem=item.error)
            return
        self.arrivals.change_file(delivery, place, item=item)
        words = _words_of(kept, place)
        if words is not None:
            of_words = AddedItem(kept.files[words].name, item.car, Kind.TRANSCRIPT, item.new, item.recording)
            self.arrivals.change_file(delivery, words, item=of_words)

    def _item(self, delivery: Delivery, place: int) -> AddedItem:
        file = delivery.files[place]

        def tell(step: Step) -> None:
            self._now = Now(place, step.stage, step.done)
            self._steps += 1

        if file.recording is not None:
            return go_on(self._store, file.recording, tell=tell, stop=self._stop)
        if file.picture is not None:
            return read_picture(self._store, delivery.car or "", file.picture, tell=tell, stop=self._stop)
        if file.words_of is not None:
            raise _words_alone(file, delivery.files[file.words_of].name)
        car = delivery.car or self._made(delivery, file)
        path = self.arrivals.part(delivery.id, place)
        arrived: dict[Path, str] = {path: file.name}
        words = _words_of(delivery, place)
        transcript = None
        if words is not None:
            transcript = self.arrivals.part(delivery.id, words)
            arrived[transcript] = delivery.files[words].name
        added = add(
            self._store,
            [path],
            car=car,
            drive=delivery.drive,
            transcript=transcript,
            arrived=arrived,
            by=delivery.author,
            tell=tell,
            stop=self._stop,
        )
        return added.items[0]

    def _made(self, delivery: Delivery, file: SentFile) -> str:
        car = new_car(self._store, delivery.title, name_of=file.name, drive=delivery.drive, by=delivery.author)
        self.arrivals.change(delivery.id, car=car)
        return car


def _order(delivery: Delivery) -> Sequence[int]:
    """Give the places of the files as they are worked on: recordings, then pictures, then words left by themselves."""
    places = range(len(delivery.files))
    return sorted(places, key=lambda place: _rank(delivery.files[place]))


def _rank(file: SentFile) -> int:
    if file.words_of is not None:
        return 2
    return 1 if file.kind is Kind.PICTURE else 0


def _words_of(delivery: Delivery, place: int) -> int | None:
    """Give the place of the transcript that holds the words of a film or sound, if it can be read."""
    fits: Iterator[int] = (
        at
        for at, file in enumerate(delivery.files)
        if file.words_of == place and file.problem is None and file.kind is Kind.TRANSCRIPT
    )
    return next(fits, None) if delivery.files[place].kind in {Kind.FILM, Kind.SOUND} else None


def _words_alone(file: SentFile, of: str) -> UserError:
    found = f"it was to be the words of {of}, which could not be brought in with it"
    if file.kind is not Kind.TRANSCRIPT:
        found = f"it was to be the words of {of}, and it is a {file.kind}"
    return UserError(
        Problem(
            slug="words-alone",
            where=file.name,
            found=found,
            allowed="a transcript, beside a film or sound that can be read",
            advice="Bring both in again, or the transcript by itself.",
        )
    )


def _at_work() -> UserError:
    return UserError(
        Problem(
            slug="upload-at-work",
            where="the delivery",
            found="it is being worked on",
            allowed="one that is done or stopped may be put away",
            advice="It is being stopped; try again in a moment.",
        )
    )


def _not_left(recording: str) -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="recording-unknown",
            where=f"recording {recording[:60]!r}",
            found="the store holds no recording of that id on which something is left to do",
            allowed="those that are said not to be read to their end",
            advice="Load the page again.",
        )
    )


def _failed(name: str, error: Exception) -> Problem:
    return Problem(
        slug="adding-failed",
        where=name,
        found=f"the program failed on it ({type(error).__name__})",
        allowed="any file that can be read; the others were brought in",
        advice="Bring it in again; if that fails too, report it with what stands in the log.",
    )
