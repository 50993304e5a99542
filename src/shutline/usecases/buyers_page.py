"""The buyer's page of a car: a folder of files, or one zip of it, with nothing in it that may not leave."""

from __future__ import annotations

import contextlib
import re
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BrokenWorldError, Problem, UserError
from shutline.car.findings import FootingKind, State
from shutline.car.recordings import Kind
from shutline.usecases.buyer_choice import buyer_choice
from shutline.usecases.engine_report import engine_section
from shutline.usecases.guides import own_shelf
from shutline.usecases.house import house, no_house
from shutline.usecases.last_look import check_left
from shutline.usecases.left_out import left_out_told
from shutline.usecases.light_films import LightFilm, light_copy
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import look_before_going_out
from shutline.usecases.masks import film_told, report_told
from shutline.usecases.part_times import confirmed_walk, walks_of
from shutline.usecases.private import facts_left_out, private_for
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.published_pictures import Shown, out_still, pictures_out
from shutline.usecases.wide_covers import wide_covers_told
from shutline.usecases.written import cannot_write
from shutline.usecases.zipped import write_zip

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding, Recording
    from shutline.car.places import Visit
    from shutline.publish.buyers import Answer, BuyersPage, Film
    from shutline.publish.private import Private
    from shutline.publish.report import ReportModel
    from shutline.publish.report.model import EngineSection
    from shutline.store import Store

FOLDER = "buyers-page"
_OURS = ("index.html", "page.css", "page.js")
# All that a page may have; what else lies in its folder is somebody's own.
_OF_A_PAGE = re.compile(
    r"index\.html|page\.(?:css|js)|icon\.svg|report\.pdf|type/[^/]+\.(?:woff2|txt)|pictures/[^/]+\.jpg"
    r"|film/(?:film|captions|chapters|poster)-\d+\.\w+"
)
# What file managers leave behind.
_LEFT_BEHIND = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})


@dataclass(frozen=True, slots=True)
class BuyersPageMade:
    """Where a page lies and what is on it.

    `zipped` is the one file, where it was asked for. `faults` are counted among the `findings`; `waiting` are findings
    that were heard and that nobody has looked at: the page names their places and says no more of them.
    `waiting_facts` are facts of which the same is so: the page tells them, and that nobody has confirmed them.
    `shown` are the ids of the recordings whose films are on it, in the order of their numbers; `unread` is how many
    could not be read and are not, which the page says. `left_out` says, to the house alone, what of its words was left
    out because it may not leave, and where. `covers` says, to the house alone, how sure it is what is
    covered in its pictures and films.
    """

    car: str
    title: str
    folder: str
    zipped: str | None
    files: int
    byte_size: int
    films: int
    findings: int
    faults: int
    waiting: int
    problems: tuple[Problem, ...] = ()
    shown: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    waiting_facts: int = 0
    unread: int = 0
    left_out: tuple[str, ...] = ()


def make_buyers_page(
    store: Store,
    name: str,
    *,
    out: Path | None = None,
    zipped: bool = False,
    made_at: datetime | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> BuyersPageMade:
    """Make the buyer's page of a car.

    Every finding that stands is on it, good and bad, and none that was struck. Films go with it as small copies, with
    what is to be covered covered, and silent where something private is said.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    name : str
        Its name, or a beginning of it that no other has.
    out : Path, optional
        Folder for it, made if it is not there; ``out/NAME/buyers-page`` in the present folder when left out.
    zipped : bool
        Write one zip of the folder beside it.
    made_at : datetime, optional
        The moment it speaks of; now when left out.
    tell, stop
        As for `add`.

    Raises
    ------
    NotFoundError, UserError
        No such car; or private words would have gone out (slug ``private-left``); or the folder holds something else
        (``page-folder``).
    BrokenWorldError
        The folder cannot be written to, or a film that can be read could not be copied: nothing is written then.
    StoppedError
        `stop` was set.
    """
    stop = stop or Stop()
    car = find_car(store, name)
    look_before_going_out(store, car.name, tell=tell, stop=stop)
    car = find_car(store, car.name)
    folder = out or Path("out") / car.name / FOLDER
    _check_folder(folder)
    made = _Making(store, car, (made_at or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0), tell, stop)
    page, pdf = made.page()
    from shutline.publish.buyers import page_files
    from shutline.publish.buyers.public import heard_facts

    files: dict[str, bytes | Path] = {**page_files(page), "report.pdf": pdf}
    files |= {film.file: made.copies[film.recording].path for film in page.films}
    check_left(store, car.name, files)
    _write(folder, files)
    packed = None
    if zipped:
        packed = folder.with_name(f"{folder.name}.zip")
        write_zip(packed, folder, top=FOLDER)
    sizes = [path.stat().st_size for path in folder.rglob("*") if path.is_file()]
    tones = [entry.tone.value for entry in page.report.entries]
    return BuyersPageMade(
        car=car.name,
        title=page.title,
        folder=str(folder),
        zipped=None if packed is None else str(packed),
        files=len(sizes),
        byte_size=sum(sizes),
        films=len(page.films),
        findings=len(tones),
        faults=tones.count("fault"),
        waiting=sum(kept.finding.state is State.HEARD for kept in car.going_out()),
        waiting_facts=len(heard_facts(car, without_facts=facts_left_out())),
        problems=(*made.problems, *no_house(car.name, "the page")),
        shown=tuple(film.recording for film in page.films),
        unread=page.unread_films,
        left_out=left_out_told(store, car, made.private),
        covers=tuple(dict.fromkeys((*made.covers, *wide_covers_told(store, car)))),
    )


def public_report(store: Store, car: CarFile, moment: datetime) -> tuple[ReportModel, tuple[KeptFinding, ...]]:
    """Give the report of the public part of a car file, and what was heard and nobody has confirmed."""
    from shutline.publish.buyers.public import heard_only

    made = _Making(store, car, moment, silent, Stop())
    return made.report(), heard_only(car)


class _Making:
    """One page under way."""

    def __init__(self, store: Store, car: CarFile, moment: datetime, tell: Tell, stop: Stop) -> None:
        from shutline.publish.buyers import public_car
        from shutline.publish.struck import struck_spans, without_struck_words

        self._store, self._moment, self._tell, self._stop = store, moment, tell, stop
        self.private: Private = private_for(store, car)
        # What is silent is found in the words as they were said.
        self._said = {one.id: one.stretches for one in car.recordings}
        self._whole, self._struck = car, struck_spans(car)
        self._car = without_struck_words(car)
        self.public = public_car(self._car, self.private, without_facts=facts_left_out())
        self.problems: list[Problem] = []
        self.copies: dict[str, LightFilm] = {}
        self.covers: list[str] = []
        self.unread = 0
        self._walks: Mapping[str, tuple[Visit, ...]] = walks_of(car)

    def page(self) -> tuple[BuyersPage, bytes]:
        """Make the model, and the report on paper."""
        from shutline.publish.buyers import build_page
        from shutline.publish.report import report_pdf

        report = self.report()
        films = self._films()
        self._tell(Step(self._car.name, "page", 0.0))
        pdf = report_pdf(report)
        sources = (*(one.id for one in self._car.recordings), *(one.id for one in self._car.pictures))
        page = build_page(
            self.public,
            report,
            whole=self._car,
            films=films,
            unread_films=self.unread,
            private=self.private,
            figures=self._store.figures(sources),
            answers=answers_out(self._store, self._car),
            description=description_out(self._store, self._car),
            report_bytes=len(pdf),
        )
        self._tell(Step(self._car.name, "page", 1.0))
        return page, pdf

    def report(self) -> ReportModel:
        """Make the report of the public car file."""
        from shutline.publish.buyers.public import heard_only, public_coverage, silence_car, with_heard_facts
        from shutline.publish.report import build_report
        from shutline.survey import coverage
        from shutline.usecases.history_report import public_history_section
        from shutline.usecases.measured_report import measured_section
        from shutline.usecases.odds_report import public_odds_section
        from shutline.usecases.papers_report import public_papers_section

        stills, pictures = pictures_out(self._store, self._shown(), self.problems)
        told = with_heard_facts(self.public, self._car, self.private, without_facts=facts_left_out())
        walked = next((one.id for one in self.public.recordings if one.stretches), "")
        return build_report(
            told,
            visits=confirmed_walk(self.public, walked),
            stills=stills,
            pictures=pictures,
            made_at=self._moment.isoformat(),
            house=house().on_report(),
            survey=public_coverage(coverage(self._car, on=own_shelf()), self.private),
            masks=self._covered(
                report_told(self._store, self._shown()), report_told(self._store, self._shown(), to_stranger=True)
            ),
            engine=self._engine(),
            measured=measured_section(self._car, told=self.private.text),
            history=public_history_section(self._car, self.public, day=self._moment.date(), told=self.private.text),
            papers=public_papers_section(self._store, self._car, told=self.private.text, without=facts_left_out()),
            silence_of=silence_car(self._car, self.private),
            odds=public_odds_section(self._store, self._car, told, self.private),
            waiting=heard_only(self._car),
        )

    def _covered(self, told: Sequence[str], to_stranger: Sequence[str]) -> tuple[str, ...]:
        """Keep for the house how sure it is what is covered, and give what a stranger is told of it."""
        self.covers += told
        return tuple(to_stranger)

    def _shown(self) -> CarFile:
        """Give the public car file under its own name, by which the store knows its masks."""
        return replace(self.public, name=self._car.name)

    def _engine(self) -> EngineSection | None:
        made = engine_section(self._store, self._shown())
        if made is None:
            return None
        heard = tuple(
            replace(
                one,
                lead=self.private.text(one.lead),
                lines=tuple(
                    replace(line, words=self.private.text(line.words), meaning=self.private.text(line.meaning))
                    for line in one.lines
                ),
                untold=tuple(self.private.text(line) for line in one.untold),
                moments=tuple(self.private.text(line) for line in one.moments),
            )
            for one in made.heard
        )
        return replace(made, heard=heard)

    def _films(self) -> list[Film]:
        from shutline.publish.buyers import film_of
        from shutline.publish.private import joined_spans

        films: list[Film] = []
        silent_there = buyer_choice().silent
        for recording in self._chosen():
            self._stop.heed(self._car.name)
            kept = next(one for one in self._car.recordings if one.id == recording.id)
            private = self.private.muted(kept.id, self._said[kept.id])
            struck = self._struck.get(kept.id, ())
            muted = joined_spans([*private, *struck]) if silent_there else private
            try:
                copy = light_copy(
                    self._store, self._car, kept, muted=muted, chapters=(), tell=self._tell, stop=self._stop
                )
            except UserError as error:
                # A page without a film that cannot be read still shows every fault; it says so. Any other trouble
                # passes, and ends the page.
                self.problems.append(error.problem)
                self.unread += 1
                continue
            self.copies[kept.id] = copy
            covered = self._covered(film_told(self._store, kept), film_told(self._store, kept, to_stranger=True))
            films.append(
                film_of(
                    self.public,
                    recording,
                    number=len(films) + 1,
                    visits=confirmed_walk(self.public, kept.id) or self._walks[kept.id],
                    byte_size=copy.byte_size,
                    picture_size=(copy.width, copy.height),
                    poster=self._poster(recording),
                    masks=(*covered, *withdrawn_words(self._whole, kept.id, silent=silent_there)),
                    muted=bool(private),
                )
            )
        return films

    def _chosen(self) -> Sequence[Recording]:
        """Choose the films that something that stands was said in; the first where there is none."""
        films = [one for one in self.public.recordings if one.original.kind is Kind.FILM and one.complete]
        said = {one.source for kept in self.public.findings for one in kept.finding.footings}
        return [one for one in films if one.id in said] or films[:1]

    def _poster(self, recording: Recording) -> bytes | None:
        from shutline.capture.originals import original_path

        stills = [
            (still.at_s, still.sha256)
            for kept in self._car.going_out()
            for still in kept.stills
            if any(one.source == recording.id and one.kind is FootingKind.SAID for one in kept.finding.footings)
        ]
        for at_s, sha256 in sorted(stills)[:1]:
            with contextlib.suppress(OSError):
                data = original_path(self._store.derived, sha256).read_bytes()
                shown = Shown(recording.id, at_s, sha256)
                made = out_still(self._store, self._car, shown, data, longest_side_px=960, quality=80)
                return None if made is None else made.jpeg
        return None


def withdrawn_words(car: CarFile, recording: str, *, silent: bool) -> tuple[str, ...]:
    """Say at which moments of a film something is said that was struck, and what took the place of which."""
    from shutline.publish.buyers.wording import say
    from shutline.publish.naming import place_name
    from shutline.publish.report.times import moment
    from shutline.publish.struck import replaced, replaced_spans, withdrawn_spans
    from shutline.publish.wording import joined

    anew = [
        one.finding
        for one in car.findings
        if one.id in replaced(car) and any(footing.source == recording for footing in one.finding.footings)
    ]
    places = joined(list(dict.fromkeys(place_name(one.part, one.side, one.position) for one in anew)))
    told = []
    for name, spans in (("withdrawn", withdrawn_spans(car)), ("replaced", replaced_spans(car))):
        if there := spans.get(recording, ()):
            moments = joined(list(dict.fromkeys(moment(start_s) for start_s, _ in there)))
            told.append(say(f"page.{name}_{'silent' if silent else 'heard'}", moments=moments, places=places))
    return tuple(told)


def description_out(store: Store, car: CarFile) -> tuple[tuple[str, str], ...]:
    """Give the words the car is offered with, paragraph by paragraph with their headings, without the title."""
    from shutline.usecases.describe import described_out

    return tuple((one.heading, one.text) for one in described_out(store, car).draft.paragraphs)


def answers_out(store: Store, car: CarFile) -> tuple[Answer, ...]:
    """Give the questions that a person put onto the page, with their answers as they are now.

    One whose answer stands on what is only heard waits until somebody has looked at that.
    """
    from shutline.publish.buyers import Answer
    from shutline.usecases.answering import ask, every_reply

    films = {number: one.id for number, one in enumerate(car.recordings, 1)}
    given: list[Answer] = []
    for kept in store.questions(car.name):
        if not kept.on_page:
            continue
        told = every_reply(ask(store, car.name, kept.words, keep=False))
        stands_on = [one for each in told for one in each.stands_on]
        if any(one.heard for one in (*stands_on, *(one for each in told for one in each.beside))):
            continue
        first = next((one for one in stands_on if one.start_s is not None), None)
        given.append(
            Answer(
                kept.words,
                " ".join(one.reply for one in told),
                tuple(dict.fromkeys(one.words for one in stands_on)),
                "" if first is None else films.get(first.recording or 0, ""),
                None if first is None else first.start_s,
            )
        )
    return tuple(given)


def _check_folder(folder: Path) -> None:
    """Make sure that nothing but a former page is replaced."""
    there = list(folder.iterdir()) if folder.is_dir() else []
    found = "it holds something else than a buyer's page"
    foreign = [name for name in _files_in(folder) if not (_OF_A_PAGE.fullmatch(name) or name in _LEFT_BEHIND)]
    if there and foreign:
        found = f"it holds {foreign[0]}, which is no part of a buyer's page and would be lost"
    if folder.is_file() or foreign or (there and not all((folder / name).is_file() for name in _OURS)):
        raise UserError(
            Problem(
                slug="page-folder",
                where=str(folder),
                found=found,
                allowed="a folder that is empty, is not there, or holds a former page, which is replaced",
                advice="Move that away, or name another folder with --out.",
            )
        )


def _files_in(folder: Path) -> Sequence[str]:
    return sorted(one.relative_to(folder).as_posix() for one in folder.rglob("*") if not one.is_dir())


def _write(folder: Path, files: Mapping[str, bytes | Path]) -> None:
    """Write all files aside, and put the whole in its place."""
    room = "a folder that can be written to, with room for the page and its film"
    with cannot_write(folder, allowed=room, advice="Make room, or name another folder with --out."):
        try:
            _put_in_place(folder, files)
        except OSError as trouble:
            if any(isinstance(data, Path) and not data.is_file() for data in files.values()):
                raise BrokenWorldError(_film_gone(folder)) from trouble
            raise


def _put_in_place(folder: Path, files: Mapping[str, bytes | Path]) -> None:
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=f".{folder.name}-", dir=folder.parent) as aside:
        part = Path(aside) / "page"
        for name, data in files.items():
            path = part / name
            path.parent.mkdir(parents=True, exist_ok=True)
            if isinstance(data, bytes):
                path.write_bytes(data)
            else:
                shutil.copyfile(data, path)
        if folder.exists():
            folder.replace(Path(aside) / "former")
        part.replace(folder)


def _film_gone(folder: Path) -> Problem:
    """Say that the small copy of a film was taken away by a run that wants another one."""
    return Problem(
        slug="output-not-written",
        where=str(folder),
        found="another run made the film anew meanwhile, for other private words or covers",
        allowed="a film that stays as it is until the page is written; nothing was written",
        advice="Give the same command again.",
    )
