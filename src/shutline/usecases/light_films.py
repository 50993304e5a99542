"""Small copies of films that go out: made once, and made anew when what is covered or silent in them changes."""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BrokenWorldError, Problem
from shutline.usecases.masks import masks_mark
from shutline.usecases.progress import Step, Stop, Tell
from shutline.usecases.published_films import film_path
from shutline.usecases.published_pictures import film_cover

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
    parts = (
        recording.original.sha256,
        repr(limits().light),
        repr(tuple(muted)),
        repr(tuple(chapters)),
        masks_mark(store, car),
    )
    mark = hashlib.sha256("\0".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:16]
    folder = store.folder / "outputs" / car.name / f"light-{recording.id[:12]}-{mark}"
    path = folder / _FILE
    name = recording.original.name
    if not path.is_file():
        watch = Watch(on_progress=lambda done: tell(Step(name, "small film", done)), should_stop=stop.asked)
        try:
            folder.parent.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(prefix=".making-", dir=folder.parent) as aside:
                light_film(
                    film_path(store, recording),
                    Path(aside) / _FILE,
                    chapters=chapters,
                    cover=cover,
                    muted=muted,
                    watch=watch,
                )
                folder.mkdir(exist_ok=True)
                (Path(aside) / _FILE).replace(path)
        except OSError as trouble:
            raise BrokenWorldError(
                Problem(
                    slug="output-not-written",
                    where=str(folder),
                    found=trouble.strerror or type(trouble).__name__,
                    allowed="the original where it was, and a folder with room for the film",
                    advice="Put back what is gone, or make room in the store's folder.",
                )
            ) from trouble
    for other in folder.parent.glob(f"light-{recording.id[:12]}-*"):
        if other != folder:
            shutil.rmtree(other, ignore_errors=True)
    width, height = _picture_size(path)
    return LightFilm(path, path.stat().st_size, width, height)


def _picture_size(path: Path) -> tuple[int, int]:
    from shutline.capture import media

    with contextlib.ExitStack() as stack:
        container = stack.enter_context(media.opened(path))
        (film,) = media.picture_streams(container)
        return film.codec_context.width, film.codec_context.height
