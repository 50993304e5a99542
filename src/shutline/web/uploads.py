"""Files on their way into the store: sent in pieces, kept under names of our own, checked by what they are.

A delivery is what somebody brings in together, for one car. It lies in a folder of its own, ``arriving/ID``, as one
``N.part`` for each file and a ``delivery.json``, so that it outlives a lost network and a workbench that was ended.
"""

from __future__ import annotations

import contextlib
import logging
import os
import secrets
import shutil
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import msgspec

from shutline.car.errors import BrokenWorldError, Problem, ShutlineError, UserError
from shutline.usecases.add import look_into
from shutline.web.deliveries import (
    Announced,
    AnnouncedFile,
    Delivery,
    SentFile,
    State,
    UploadLimits,
    asked_wrongly,
    base_name,
    clean,
    differs,
    gap,
    in_words,
    left_out,
    taken_over,
    too_large,
    too_long,
    unknown_delivery,
    upload_limits,
)

_NOTE = "delivery.json"
_log = logging.getLogger(__name__)
_LONGEST_TITLE = 200


class Arrivals:
    """All deliveries of one store; safe to use from many threads."""

    def __init__(self, folder: Path, limits: UploadLimits | None = None) -> None:
        self.limits = limits or upload_limits()
        self.version = 0
        self._folder = folder
        self._kept: dict[str, Delivery] = {}
        self._senders: dict[tuple[str, int], object] = {}
        self._last_s: dict[str, float] = {}
        self._turn = threading.RLock()
        self._load()

    def all(self) -> tuple[Delivery, ...]:
        """Give the deliveries, newest first."""
        with self._turn:
            return tuple(self._shown(kept) for kept in reversed(self._kept.values()))

    def get(self, delivery: str) -> Delivery:
        """Give one; raises NotFoundError (slug ``upload-unknown``)."""
        with self._turn:
            if delivery not in self._kept:
                raise unknown_delivery(delivery)
            return self._shown(self._kept[delivery])

    def sending(self) -> tuple[str, ...]:
        """Give the deliveries of which bytes are coming in."""
        with self._turn:
            return tuple(kept.id for kept in self._kept.values() if self._shown(kept).sending)

    def part(self, delivery: str, place: int) -> Path:
        """Give where the bytes of a file lie."""
        return self._folder / self.get(delivery).id / f"{place}.part"

    def begin(self, announced: Announced, *, author: str) -> Delivery:
        """Make room for what is to be sent; a file that cannot be taken is refused alone.

        Raises
        ------
        UserError
            No file, too many, or words of a file that there is not (slug ``upload-asked``).
        BrokenWorldError
            The disk has no room for them (slug ``disk-full``).
        """
        _check(announced, self.limits)
        sent = tuple(self._announced(file) for file in announced.files)
        with self._turn:
            if len(self._kept) >= self.limits.most_deliveries:
                raise asked_wrongly(
                    f"{len(self._kept)} deliveries stand on the page",
                    f"at most {self.limits.most_deliveries}",
                    "Put those away that are done.",
                )
            self._refuse_full_disk(sent)
            delivery = Delivery(
                id=secrets.token_hex(8),
                at=datetime.now(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z"),
                author=author,
                state="arriving",
                files=sent,
                car=announced.car,
                title=" ".join(clean(announced.title).split())[:_LONGEST_TITLE],
                drive=announced.drive,
            )
            self._kept[delivery.id] = delivery
            try:
                self._make(delivery)
            except ShutlineError:
                self.remove(delivery.id)
                raise
            return self.get(delivery.id)

    def take_over(self, delivery: str, place: int) -> object:
        """Give the right to write to a file to a new sender; whoever had it can write no more."""
        with self._turn:
            self._file(delivery, place)
            sender = object()
            self._senders[delivery, place] = sender
            return sender

    def write(self, delivery: str, place: int, sender: object, at: int, data: bytes) -> int:
        """Write bytes that belong at an offset; those that are there already are left as they are.

        Returns
        -------
        int
            How many bytes of the file are on the disk.

        Raises
        ------
        UserError
            Bytes before them are missing (slug ``upload-gap``), they go past the end (``upload-too-long``), or another
            sender took the file over (``upload-taken-over``).
        BrokenWorldError
            The disk is full or refuses; what was written stays.
        """
        with self._turn:
            file = self._file(delivery, place)
            if file.settled():
                return file.received
            if self._senders.get((delivery, place)) is not sender:
                raise taken_over(file.name)
            if at > file.received:
                raise gap(file, at)
            if at + len(data) > file.byte_size:
                raise too_long(file, at + len(data))
            fresh = data[file.received - at :]
            if fresh:
                with _writing(), self.part(delivery, place).open("r+b") as part:
                    part.seek(file.received)
                    part.write(fresh)
                self._last_s[delivery] = time.monotonic()
                self._put(delivery, place, replace(file, received=file.received + len(fresh)), note=False)
            return file.received + len(fresh)

    def finish(self, delivery: str, place: int, sha256: str) -> Delivery:
        """Take a file as whole when its bytes are those the sender counted, and look what it is.

        Finished twice, it stays as it is. When the last file of a delivery is settled, the work on it may begin.

        Raises
        ------
        UserError
            Bytes are missing (slug ``upload-gap``), or the SHA-256 is another: then it has to be sent again from its
            beginning (``upload-differs``).
        """
        from shutline.capture.originals import sha256_of

        file = self._file(delivery, place)
        if file.settled():
            return self.get(delivery)
        if file.received != file.byte_size:
            raise gap(file, file.byte_size)
        path = self.part(delivery, place)
        with _writing(), path.open("rb+") as part:
            os.fsync(part.fileno())
        found = sha256_of(path)
        if not secrets.compare_digest(found.encode(), sha256.lower().encode("utf-8", "replace")):
            with self._turn, _writing(), path.open("rb+") as part:
                part.truncate(0)
                self._put(delivery, place, replace(file, received=0))
            raise differs(file.name)
        file = replace(file, sha256=found)
        try:
            probe = look_into(path, name=file.name)
            file = replace(file, kind=probe.kind, length_s=probe.length_s)
        except UserError as error:
            file = replace(file, problem=error.problem)
        with self._turn:
            if not self._file(delivery, place).settled():
                self._put(delivery, place, file)
                if file.problem is not None:
                    path.unlink(missing_ok=True)
            self._settle(delivery)
            return self.get(delivery)

    def leave_out(self, delivery: str, place: int) -> Delivery:
        """Do without a file that was not sent to its end."""
        with self._turn:
            file = self._file(delivery, place)
            if not file.settled():
                self._senders.pop((delivery, place), None)
                self._put(delivery, place, replace(file, problem=left_out(file)))
                self.part(delivery, place).unlink(missing_ok=True)
                self._settle(delivery)
            return self.get(delivery)

    def keep(self, delivery: Delivery) -> None:
        """Take in a delivery of which nothing is sent."""
        with self._turn:
            self._kept[delivery.id] = delivery
            self.version += 1

    def change(self, delivery: str, **values: Any) -> Delivery:
        """Change fields of a delivery; raises NotFoundError where it was put away meanwhile."""
        with self._turn:
            kept = replace(self.get(delivery), **values)
            self._kept[delivery] = kept
            self._note(kept)
            return kept

    def change_file(self, delivery: str, place: int, **values: Any) -> SentFile:
        """Change fields of one file of a delivery."""
        with self._turn:
            file = replace(self._file(delivery, place), **values)
            self._put(delivery, place, file)
            return file

    def clear(self, delivery: str) -> None:
        """Remove the bytes that came in for a delivery; what was taken in lies among the originals."""
        shutil.rmtree(self._folder / self.get(delivery).id, ignore_errors=True)

    def remove(self, delivery: str) -> None:
        """Put a delivery away with all that came in for it."""
        with self._turn:
            self.clear(delivery)
            del self._kept[delivery]
            self._last_s.pop(delivery, None)
            for key in [key for key in self._senders if key[0] == delivery]:
                del self._senders[key]
            self.version += 1

    def _make(self, delivery: Delivery) -> None:
        folder = self._folder / delivery.id
        with _writing():
            folder.mkdir(parents=True, mode=0o700)
            (folder / _NOTE).write_bytes(_noted(delivery))
            for place, file in enumerate(delivery.files):
                if not file.settled():
                    (folder / f"{place}.part").touch()
        for place, file in enumerate(delivery.files):
            if file.byte_size == 0:
                self.finish(delivery.id, place, _SHA256_OF_NOTHING)
        self._settle(delivery.id)

    def _announced(self, file: AnnouncedFile) -> SentFile:
        sent = SentFile(name=base_name(file.name), byte_size=file.byte_size, words_of=file.words_of)
        if file.byte_size > self.limits.most_file_bytes:
            return replace(sent, problem=too_large(sent, self.limits))
        return sent

    def _refuse_full_disk(self, sent: tuple[SentFile, ...]) -> None:
        with _writing():
            self._folder.mkdir(parents=True, exist_ok=True)
            free = shutil.disk_usage(self._folder).free
        others = [file for kept in self._kept.values() for file in kept.files]
        coming = sum(file.byte_size - file.received for file in (*sent, *others) if not file.settled())
        if coming + self.limits.spare_bytes > free:
            raise BrokenWorldError(
                Problem(
                    slug="disk-full",
                    where="the files to be brought in",
                    found=f"{in_words(coming)} to come and {in_words(free)} free",
                    allowed=f"room for all of them and {in_words(self.limits.spare_bytes)} beside; nothing was sent",
                    advice="Make room on the disk of the store, or bring in fewer at a time.",
                )
            )

    def _settle(self, delivery: str) -> None:
        kept = self._kept[delivery]
        if kept.state == "arriving" and all(file.settled() for file in kept.files):
            any_left = any(file.to_do() for file in kept.files)
            kept = replace(kept, state="waiting" if any_left else "done")
            self._kept[delivery] = kept
        self._note(kept)

    def _file(self, delivery: str, place: int) -> SentFile:
        sent = self.get(delivery).files
        if not 0 <= place < len(sent):
            raise unknown_delivery(f"{delivery}, file {place}")
        return sent[place]

    def _put(self, delivery: str, place: int, file: SentFile, *, note: bool = True) -> None:
        kept = self._kept[delivery]
        kept = replace(kept, files=(*kept.files[:place], file, *kept.files[place + 1 :]))
        self._kept[delivery] = kept
        if note:
            self._note(kept)
        else:
            self.version += 1

    def _shown(self, delivery: Delivery) -> Delivery:
        last_s = self._last_s.get(delivery.id)
        sending = last_s is not None and time.monotonic() - last_s < self.limits.sending_s
        return replace(delivery, sending=sending and delivery.state == "arriving")

    def _note(self, delivery: Delivery) -> None:
        self.version += 1
        folder = self._folder / delivery.id
        if not folder.is_dir():
            return
        try:
            fresh = folder / f"{_NOTE}.new"
            fresh.write_bytes(_noted(delivery))
            fresh.replace(folder / _NOTE)
        except OSError as trouble:
            # The work goes on without it; only a workbench started anew would know less of it.
            _log.warning("how far a delivery is could not be written down (%s)", trouble.strerror)

    def _load(self) -> None:
        """Find what an earlier run of the workbench left: half sent, or sent and not worked on to the end."""
        found = []
        for note in self._folder.glob(f"*/{_NOTE}"):
            with contextlib.suppress(OSError, msgspec.MsgspecError):
                delivery = msgspec.json.decode(note.read_bytes(), type=Delivery)
                if delivery.id == note.parent.name:
                    found.append(delivery)
        for delivery in sorted(found, key=lambda one: one.at):
            if delivery.state == "done":
                shutil.rmtree(self._folder / delivery.id, ignore_errors=True)
                continue
            state: State = delivery.state if delivery.state in {"arriving", "asking"} else "stopped"
            sent = tuple(self._as_left(delivery.id, place, file) for place, file in enumerate(delivery.files))
            self._kept[delivery.id] = replace(delivery, state=state, files=sent)

    def _as_left(self, delivery: str, place: int, file: SentFile) -> SentFile:
        if file.settled():
            return file
        path = self._folder / delivery / f"{place}.part"
        if not path.exists():
            path.touch()
        size = path.stat().st_size
        if size > file.byte_size:
            os.truncate(path, 0)
            size = 0
        return replace(file, received=size)


_SHA256_OF_NOTHING = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def _noted(delivery: Delivery) -> bytes:
    return msgspec.json.encode(replace(delivery, now=None, sending=False))


def _check(announced: Announced, limits: UploadLimits) -> None:
    count = len(announced.files)
    if not 1 <= count <= limits.most_files:
        raise asked_wrongly(f"{count} files", f"1 to {limits.most_files} at a time", "Bring them in in several goes.")
    whose = [file.words_of for file in announced.files if file.words_of is not None]
    fits = all(0 <= one < count and announced.files[one].words_of is None for one in whose)
    if not fits or len(set(whose)) != len(whose):
        raise asked_wrongly(
            "words of a file that is not among them, or that has words already",
            "one transcript a recording",
            "Say again which words belong to which recording.",
        )
    if any(file.byte_size < 0 for file in announced.files):
        raise asked_wrongly("a size below 0", "bytes, from 0", "Choose the files again.")


@contextlib.contextmanager
def _writing() -> Iterator[None]:
    from shutline.store.errors import of_system

    try:
        yield
    except ShutlineError:
        raise
    except OSError as trouble:
        raise of_system(trouble, where=Path("arriving")) from trouble
