"""Recordings that were brought in and not read to their end, and going on with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.usecases import pipeline
from shutline.usecases.add import AddedItem, added_item
from shutline.usecases.evidence import evidence
from shutline.usecases.progress import Stop, Tell, silent

if TYPE_CHECKING:
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class UnfinishedRecording:
    """A recording of which a stage is still to be done; `done` names those that are.

    It may be one that another run is at just now. `note` is the place of a note spoken at the car, None for a film or
    sound of the whole car.
    """

    car: str
    title: str
    recording: str
    name: str
    sha256: str
    length_s: float | None
    done: tuple[str, ...]
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Unfinished:
    """All of them, oldest first."""

    recordings: tuple[UnfinishedRecording, ...]


def unfinished(store: Store) -> Unfinished:
    """Give the recordings that were stopped on their way: by a person, a kill or a power cut."""
    titles: dict[str, str] = {}
    found = []
    for car, ref in store.unfinished():
        if car not in titles:
            titles[car] = store.find_car(car).title
        kept = store.recording(ref)
        found.append(
            UnfinishedRecording(
                car=car,
                title=titles[car],
                recording=ref,
                name=kept.original.name,
                sha256=kept.original.sha256,
                length_s=kept.probe.length_s,
                done=tuple(stage.name for stage in store.stages(ref) if stage.done),
                note=_place(store, ref),
            )
        )
    return Unfinished(tuple(found))


def _place(store: Store, recording: str) -> str | None:
    from shutline.publish.naming import place_name

    note = store.spoken_at(recording)
    return None if note is None else place_name(note.part, note.side, note.position)


def go_on(store: Store, recording: str, *, tell: Tell = silent, stop: Stop | None = None) -> AddedItem:
    """Take one recording through the stages that are not done, from its original as the store keeps it.

    Words that were read to their end before stay, whether they were heard or taken from a transcript.

    Parameters
    ----------
    store : Store
        Where it is kept.
    recording : str
        Its id.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError
        The store holds no such recording.
    StoppedError
        `stop` was set; what is done is kept.
    UserError
        The original can no longer be read, or the settings cannot.
    """
    from shutline.capture.originals import original_path

    kept = store.recording(recording)
    car = store.car_of(recording)
    sha256 = kept.original.sha256
    pipeline.go(
        pipeline.Run(
            store=store,
            recording=kept,
            car=car,
            path=store.linked_path(sha256) or original_path(store.originals, sha256),
            settings=pipeline.Settings(words_as_they_are=True, film=evidence()),
            tell=tell,
            stop=stop or Stop(),
        )
    )
    return added_item(store, car, recording, new=False)
