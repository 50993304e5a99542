"""Small copies of films that go out: made once, and made anew when what is covered or silent in them changes."""

from __future__ import annotations

import contextlib
import hashlib
import math
import shutil
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.usecases.masks import masks_mark
from shutline.usecases.one_run import one_run
from shutline.usecases.progress import Step, Stop, Tell
from shutline.usecases.published_films import film_path
from shutline.usecases.published_pictures import film_cover
from shutline.usecases.written import cannot_write

if TYPE_CHECKING:
    from shutline.capture.cutting import Line
    from shutline.car.carfile import CarFile, Recording
    from shutline.publish.private import Span
    from shutline.store import Store

_FILE = "film.mp4"


@dataclass(frozen=True, slots=True)
class LightFilm:
    """Where a small copy lies, its size in bytes, and width and height of its picture."""

    path: Path
    byte_size: int
    width: int
    height: int


def light_copy(
    store: Store,
    car: CarFile,
    recording: Recording,
    *,
    muted: Sequence[Span],
    chapters: Sequence[Line] = (),
    tell: Tell,
    stop: Stop,
) -> LightFilm:
    """Give the small copy of a film; made first where it is not there, which takes about as long as the film lasts.

    Stopped, it goes on where it was: parts of its picture are kept in the store until it is whole, and used again while
    the film, what is covered in it and the settings are the same. Of two runs that want one of the same film the second
    waits until the first is done.

    Raises
    ------
    BadInputError
        Nothing of the film can be read.
    BrokenWorldError
        It cannot be written, or the original is gone.
    StoppedError
        `stop` was set.
    """
    from shutline.capture.cutting import Watch, light_film
    from shutline.capture.limits import limits

    cover = film_cover(store, car, recording)
    seen = (recording.original.sha256, repr(limits().light), masks_mark(store, car))
    mark = _mark(*seen, repr(tuple(muted)), repr(tuple(chapters)))
    folder = store.folder / "outputs" / car.name / f"light-{recording.id[:12]}-{mark}"
    parts = folder.with_name(f"light-{recording.id[:12]}-parts-{_mark(*seen)}")
    path = folder / _FILE
    said = _Said(recording.original.name, tell)
    with _cannot_make(folder):
        folder.parent.mkdir(parents=True, exist_ok=True)
        with one_run(folder.with_name(f".light-{recording.id[:12]}.lock"), said.name, stop=stop, waiting=said.waits):
            if not path.is_file():
                _take_away(folder.parent.glob(f"light-{recording.id[:12]}-parts-*"), but=parts)
                with tempfile.TemporaryDirectory(prefix=".making-", dir=folder.parent) as aside:
                    light_film(
                        film_path(store, recording),
                        Path(aside) / _FILE,
                        chapters=chapters,
                        cover=cover,
                        muted=muted,
                        parts=parts,
                        watch=Watch(on_progress=said.at, should_stop=stop.asked, on_going_on=said.goes_on),
                    )
                    folder.mkdir(exist_ok=True)
                    (Path(aside) / _FILE).replace(path)
            _take_away(folder.parent.glob(f"light-{recording.id[:12]}-*"), but=folder)
            width, height = _picture_size(path)
            return LightFilm(path, path.stat().st_size, width, height)


class _Said:
    """What is told while a small copy is made: how far it is, from where it goes on, and that it waits."""

    def __init__(self, name: str, tell: Tell) -> None:
        self.name = name
        self._tell, self._note = tell, ""

    def at(self, done: float) -> None:
        self._tell(Step(self.name, "small film", done, self._note))

    def goes_on(self, done: float) -> None:
        self._note = f"goes on from {math.floor(done * 100)} %"
        self.at(done)

    def waits(self) -> None:
        self._tell(Step(self.name, "small film", 0.0, "waits for another run that makes it"))


def _cannot_make(folder: Path) -> contextlib.AbstractContextManager[None]:
    return cannot_write(
        folder,
        allowed="the original where it was, and a folder with room for the film",
        advice="Put back what is gone, or make room in the store's folder.",
    )


def _mark(*told: str) -> str:
    return hashlib.sha256("\0".join(told).encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _take_away(folders: Iterable[Path], *, but: Path) -> None:
    for one in folders:
        if one != but:
            shutil.rmtree(one, ignore_errors=True)


def _picture_size(path: Path) -> tuple[int, int]:
    from shutline.capture import media

    with contextlib.ExitStack() as stack:
        container = stack.enter_context(media.opened(path))
        (film,) = media.picture_streams(container)
        return film.codec_context.width, film.codec_context.height
