"""Clips of findings and copies of films that go out: covered where they must be, and telling nothing of the camera."""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.carfile import KeptFinding
from shutline.car.errors import Problem, UserError
from shutline.car.recordings import Kind
from shutline.usecases.look import find_car
from shutline.usecases.masks import film_told
from shutline.usecases.part_times import walks_of
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.published_pictures import film_cover
from shutline.usecases.review import one_of
from shutline.usecases.stills import check_moment, which_film
from shutline.usecases.written import cannot_write

if TYPE_CHECKING:
    from shutline.capture.cutting import Cut, Line, Watch
    from shutline.car.carfile import CarFile, Recording
    from shutline.publish.bare import Tells
    from shutline.publish.webvtt import Cue
    from shutline.store import Store

BEFORE_S, AFTER_S = 1.0, 1.5
"""A clip of a finding begins so long before its words and ends so long after them, seconds."""


@dataclass(frozen=True, slots=True)
class FilmWritten:
    """A clip or a copy of a film as it was written.

    `start_s` and `end_s` are seconds of the recording; `early_s` and `late_s` how far it begins before and ends after
    what was asked for. `exact` says that the picture was coded anew, and `covered` that masks lie on it; `masks` says
    what is covered, and what was looked for and not found.
    """

    car: str
    recording: str
    path: str
    byte_size: int
    start_s: float
    end_s: float
    early_s: float
    late_s: float
    exact: bool
    covered: bool
    chapters: int = 0
    captions: int = 0
    problems: tuple[Problem, ...] = ()
    masks: tuple[str, ...] = ()


def write_clip(
    store: Store,
    car: str,
    finding: str | None = None,
    *,
    start_s: float | None = None,
    end_s: float | None = None,
    recording: str | None = None,
    exact: bool = False,
    tells: Tells | None = None,
    out: Path | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> FilmWritten:
    """Write a clip: of the words of a finding, or from one moment to another.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    finding : str, optional
        Id of a finding, or a beginning of it; its words with a little before and after them.
    start_s, end_s : float, optional
        Seconds of the recording, in place of those of the finding.
    recording : str, optional
        Id of the recording; the finding's own, or the only one, when left out.
    exact : bool
        Begin and end within a frame, which codes the picture anew; else it begins at the key frame before.
    tells : Tells, optional
        What it may tell of place, device and time; nothing when left out.
    out : Path, optional
        Where it is written; ``out/CAR/clip-….mp4`` when left out.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError
        No such car, finding or recording.
    UserError
        Neither a finding with words nor two moments (slug ``clip-times``), or nothing can be read there.
    BrokenWorldError
        It cannot be written.
    StoppedError
        `stop` was set; nothing is left.
    """
    from shutline.capture.cutting import cut_clip

    file = find_car(store, car)
    film, begin_s, close_s, name = _stretch(file, finding, start_s, end_s, recording)
    cover = film_cover(store, file, film, start_s=max(0.0, begin_s - 1), end_s=close_s + 1) if _is_film(film) else None
    path = out or Path("out") / file.name / f"{name}.mp4"
    watch = _watch(film, "clip", tell, stop or Stop())
    with _aside(path) as part:
        made = cut_clip(
            film_path(store, film),
            part,
            begin_s,
            close_s,
            exact=exact,
            cover=cover,
            tells=_tags(store, film, tells),
            watch=watch,
        )
    masks = film_told(store, film, start_s=begin_s, end_s=close_s) if _is_film(film) else ()
    return _written(file, film, path, made, covered=cover is not None, masks=masks)


def write_film(
    store: Store,
    car: str,
    *,
    recording: str | None = None,
    captions: bool = True,
    tells: Tells | None = None,
    out: Path | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> FilmWritten:
    """Write a copy of a recording with the chapters of its walk and the captions of its words in it.

    Parameters
    ----------
    captions : bool
        False leaves them out: every word that was said stands in them, private ones too.
    store, car, recording, tells, out, tell, stop
        As for `write_clip`; the file is ``out/CAR/film.mp4`` when left out.

    Raises
    ------
    NotFoundError, UserError, BrokenWorldError, StoppedError
        As for `write_clip`.
    """
    from shutline.capture.cutting import copy_film
    from shutline.publish.captions import captions as caption_cues
    from shutline.publish.chapters import chapters as chapter_cues
    from shutline.publish.struck import without_struck_words

    file = find_car(store, car)
    film = _recorded(which_film(file, recording))
    length_s = film.probe.length_s or (film.stretches[-1].end_s if film.stretches else 0.0)
    said = [kept for kept in file.going_out() if any(f.source == film.id for f in kept.finding.footings)]
    walk = walks_of(file)[film.id]
    chapters = _lines(chapter_cues(walk, length_s=length_s, findings=said)) if walk or said else []
    left = next(one for one in without_struck_words(file).recordings if one.id == film.id)
    words = _lines(caption_cues(left.stretches)) if captions else []
    cover = film_cover(store, file, film) if _is_film(film) else None
    path = out or Path("out") / file.name / "film.mp4"
    watch = _watch(film, "film", tell, stop or Stop())
    with _aside(path) as part:
        made = copy_film(
            film_path(store, film),
            part,
            chapters=chapters,
            captions=words,
            cover=cover,
            tells=_tags(store, film, tells),
            watch=watch,
        )
    masks = film_told(store, film) if _is_film(film) else ()
    done = _written(file, film, path, made, covered=cover is not None, masks=masks)
    return replace(done, chapters=len(chapters), captions=len(words))


def film_path(store: Store, recording: Recording) -> Path:
    """Say where the original of a recording lies."""
    from shutline.capture.originals import original_path

    sha256 = recording.original.sha256
    return store.linked_path(sha256) or original_path(store.originals, sha256)


def _stretch(
    car: CarFile, finding: str | None, start_s: float | None, end_s: float | None, recording: str | None
) -> tuple[Recording, float, float, str]:
    """Give the recording, the two moments, and a name for the file."""
    if finding is None:
        film = _recorded(which_film(car, recording))
        if start_s is None or end_s is None:
            raise _no_moments(car, "no finding, and not both moments")
        check_moment(film, start_s)
        return film, start_s, end_s, f"clip-{start_s:.0f}-{end_s:.0f}"
    kept = one_of(car, finding)
    films = {one.id: one for one in car.recordings}
    said = [
        footing
        for footing in (kept.finding.footings if isinstance(kept, KeptFinding) else ())
        if footing.start_s is not None and footing.source in films and recording in (None, footing.source)
    ]
    if not said:
        raise _no_moments(car, "a finding that stands on no words of a recording")
    first = said[0]
    film = _recorded(films[first.source])
    begin_s = first.start_s or 0.0
    close_s = max(begin_s, first.end_s or begin_s) + AFTER_S
    return film, max(0.0, begin_s - BEFORE_S) if start_s is None else start_s, end_s or close_s, f"clip-{kept.id[:8]}"


def _recorded(film: Recording) -> Recording:
    if film.original.kind in {Kind.FILM, Kind.SOUND}:
        return film
    raise UserError(
        Problem(
            slug="no-film",
            where=film.original.name,
            found=f"a {film.original.kind}",
            allowed="a film or a sound",
            advice="Add the film that the words are of.",
        )
    )


def _is_film(film: Recording) -> bool:
    return film.original.kind is Kind.FILM


def _lines(cues: tuple[Cue, ...]) -> list[Line]:
    from shutline.capture.cutting import Line

    return [Line(cue.start_ms, cue.end_ms, cue.text) for cue in cues]


def _tags(store: Store, film: Recording, tells: Tells | None) -> dict[str, str]:
    """Give what was asked for as tags of an MP4 (ISO 6709 for the place)."""
    if tells is None:
        return {}
    private = store.private_details(film.original.sha256)
    tags: dict[str, str] = {}
    if tells.time and film.probe.recorded_at:
        tags["creation_time"] = film.probe.recorded_at
    if tells.device and private is not None and private.device:
        tags["device"] = private.device
    if tells.place and private is not None and private.latitude_deg is not None and private.longitude_deg is not None:
        tags["location"] = f"{private.latitude_deg:+08.4f}{private.longitude_deg:+09.4f}/"
    return tags


def _watch(film: Recording, stage: str, tell: Tell, stop: Stop) -> Watch:
    from shutline.capture.cutting import Watch

    name = film.original.name
    share: Callable[[float], None] = lambda done: tell(Step(name, stage, done))  # noqa: E731
    return Watch(on_progress=share, should_stop=stop.asked)


@contextlib.contextmanager
def _aside(path: Path) -> Iterator[Path]:
    """Give a name beside a file to write to, and put it in its place when all is done."""
    with cannot_write(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part.mp4")
    try:
        with cannot_write(path):
            yield part
            part.replace(path)
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _written(
    car: CarFile, film: Recording, path: Path, made: Cut, *, covered: bool, masks: tuple[str, ...]
) -> FilmWritten:
    return FilmWritten(
        car=car.name,
        recording=film.id,
        path=str(path),
        byte_size=path.stat().st_size,
        start_s=made.start_s,
        end_s=made.end_s,
        early_s=made.early_s,
        late_s=made.late_s,
        exact=made.exact,
        covered=covered,
        problems=made.problems,
        masks=masks,
    )


def _no_moments(car: CarFile, found: str) -> UserError:
    return UserError(
        Problem(
            slug="clip-times",
            where=car.name,
            found=found,
            allowed="a finding that was said in a recording, or two moments of one",
            advice="Name a finding, or give --from and --to.",
        )
    )
