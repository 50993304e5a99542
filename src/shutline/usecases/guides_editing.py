"""The user's own guides shown and changed, as text or check by check; nothing is kept that would not be read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, NotFoundError, Problem, ShutlineError, UserError
from shutline.usecases.guide_text import CheckRow, check_block, head_text, rows_of
from shutline.usecases.guides import BANDS_FILE, guides_folder
from shutline.usecases.kept_files import FileState, KeptFile, former_text, keep, look_at

if TYPE_CHECKING:
    from shutline.survey import Shelf
    from shutline.survey.ground import Ground

BANDS = Path(BANDS_FILE).stem
"""The file of bands of cost among the guides."""

_NAME = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")
_LONGEST_NAME = 60
_ENDING = ".toml"


@dataclass(frozen=True, slots=True)
class GuideFileShown:
    """One file among the user's guides, as it stands, and what is wrong with it.

    `text` is None where the file is not UTF-8, and empty where it was taken away or is not there yet. `head` are the
    entries above its checks, empty where they cannot be read.
    """

    name: str
    text: str | None
    mark: str
    head: Mapping[str, str]
    rows: tuple[CheckRow, ...]
    problems: tuple[Problem, ...]
    states: tuple[FileState, ...]


@dataclass(frozen=True, slots=True)
class GuidesShown:
    """The folder of the guides and its files; that of the bands of cost is always among them."""

    folder: str
    files: tuple[GuideFileShown, ...]


@dataclass(frozen=True, slots=True)
class GuideChecked:
    """What is wrong with a text as one of the files; nothing where it may be kept."""

    name: str
    problems: tuple[Problem, ...]


def guides_shown() -> GuidesShown:
    """Give the user's guides to be shown, broken ones too, and those that were taken away and can come back."""
    folder = guides_folder()
    there = {file.stem for file in folder.glob(f"*{_ENDING}")}
    gone = {file.stem for file in (folder / "former").glob(f"*{_ENDING}")}
    names = sorted((there | gone) - {BANDS}, key=lambda name: (name not in there, name))
    return GuidesShown(str(folder), tuple(_file(name) for name in (*names, BANDS)))


def guide_choices() -> dict[str, tuple[tuple[str, str], ...]]:
    """Give what may stand in the fields of a form: ids, each with its words."""
    from shutline.car.plan.bodies import bodies
    from shutline.car.vocabulary import vocabulary
    from shutline.survey import shelf
    from shutline.survey.checks import How, Sort

    known, here = vocabulary(), _ground()
    built = [one for one in _shelf_or_shipped().guides.values() if one.sort is not Sort.DRIVE]
    return {
        "part": tuple((one.id, one.label) for one in known.parts.values()),
        "answers": tuple((one.id, one.label) for one in known.conditions.values()),
        "how": tuple((one.value, one.value) for one in How),
        "tools": tuple((one.id, one.label) for one in here.tools.values()),
        "band": tuple((one.id, one.label) for one in here.bands.values()),
        "bodies": tuple((name, name) for name in sorted(bodies())),
        "builds_on": tuple((one.id, one.label) for one in built),
        "shipped": tuple((one.id, one.label) for one in shelf().guides.values()),
    }


def shipped_bands() -> str:
    """Give our bands of cost as text, for a user's own to begin with."""
    return files("shutline.survey").joinpath("data", BANDS_FILE).read_text(encoding="utf-8")


def check_guide(name: str, text: str) -> GuideChecked:
    """Tell what is wrong with a text as one of the files, beside the others that lie there; nothing is kept.

    Raises
    ------
    UserError
        No file can be called so (slug ``guide-file-name``).
    """
    before = look_at(_path(name)).text
    refused = _refusal(name, text, before=before)
    return GuideChecked(name, _problems(name, text) or (() if refused is None else (refused,)))


def keep_guide_file(name: str, text: str, *, author: str, expected: str | None = None) -> GuideFileShown:
    """Keep a text as one of the files, and what stood there before beside it; an empty text takes the file away.

    Parameters
    ----------
    name : str
        The file without its ending: of small letters, digits and underscores where it is a new one.
    text : str
        All of it.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to.

    Raises
    ------
    BadInputError
        Something in it cannot be used, or another guide needs what is no longer in it (slug ``guide-refused``), with
        file and line.
    UserError
        No file can be called so, or somebody changed it meanwhile (`ChangedMeanwhileError`).
    """
    path = _path(name)
    lines = [line.rstrip() for line in text.removeprefix("\ufeff").splitlines()]
    tidy = "\n".join(lines).strip("\n")
    tidy = f"{tidy}\n" if tidy.strip() else ""
    found = _refusal(name, tidy, before=look_at(path).text)
    if found is not None:
        raise BadInputError(found)
    keep(path, tidy, author=author, expected=expected)
    return _file(name)


def new_guide(
    label: str, *, builds_on: str, bodies: str = "", clues: str = "", source: str = "", author: str
) -> GuideFileShown:
    """Begin a guide for a construction, called after its label; checks are added to it.

    Parameters
    ----------
    label : str
        As it is shown.
    builds_on : str
        The id of the guide that it builds on.
    bodies, clues : str
        Several, parted by bars.
    source : str
        Where it comes from; ``house knowledge`` when left out.
    author : str
        Who says so.

    Raises
    ------
    BadInputError, UserError
        As `keep_guide_file`; there is a guide of that name (slug ``guide-file-name``), or no name can be made of the
        label.
    """
    name = "_".join(re.findall(r"[a-z0-9]+", label.casefold()))[:_LONGEST_NAME].strip("_")
    if not name:
        raise _no_name(label)
    path = _path(name)
    if look_at(path).text:
        raise UserError(
            Problem("guide-file-name", path.name, "a guide of that name lies there", "another name", "Amend that one.")
        )
    text = head_text(name, label, builds_on=builds_on, bodies=bodies, clues=clues, source=source)
    return keep_guide_file(name, text, author=author, expected=look_at(path).mark)


def keep_check(
    name: str, cells: Mapping[str, str], *, line: int | None, author: str, expected: str | None = None
) -> GuideFileShown:
    """Keep one check of a guide: in the place of the one that begins on `line`, or, without a line, after the others.

    Parameters
    ----------
    cells : mapping
        The entries of the check by name, in texts; several of one entry are parted by bars. ``worst`` and ``least``
        stand for ``when_bad``; ``auto`` for a side or an end is wherever the part occurs. What a check has beside is
        kept as it was, and cautions that it calls for are put in.

    Raises
    ------
    NotFoundError
        There is no such file, or no check begins there (slug ``guide-check-line``).
    BadInputError, UserError
        As `keep_guide_file`.
    """
    present, text = _present(name)
    row = None if line is None else _row(name, text, line)
    taken = frozenset(one.cells.get("id", "") for one in rows_of(text) if one is not row and one != row)
    block = check_block(cells, before=None if row is None else row.values, taken=taken, ground=_ground())
    lines = text.splitlines()
    if row is None:
        lines += ["", *block]
    else:
        lines[row.first_line - 1 : row.last_line] = block
    return keep_guide_file(name, "\n".join(lines), author=author, expected=expected or present.mark)


def drop_check(name: str, *, line: int, author: str, expected: str | None = None) -> GuideFileShown:
    """Leave out the check that begins on `line`; raises as `keep_check` does."""
    present, text = _present(name)
    row = _row(name, text, line)
    lines = text.splitlines()
    del lines[row.first_line - 1 : row.last_line]
    return keep_guide_file(name, "\n".join(lines), author=author, expected=expected or present.mark)


def guide_file_of(name: str, state: str) -> str:
    """Give the text of a former state of a file; raises NotFoundError where there is none."""
    return former_text(_path(name), state)


def guide_file_back(name: str, state: str, *, author: str, expected: str | None = None) -> GuideFileShown:
    """Let a former state of a file stand again, as a new one; it is checked like any other."""
    return keep_guide_file(name, guide_file_of(name, state), author=author, expected=expected)


def _file(name: str) -> GuideFileShown:
    kept = look_at(_path(name))
    if kept.text is None:
        return GuideFileShown(name, None, kept.mark, {}, (), (_no_text(name),), kept.states)
    head, rows = ({}, ()) if name == BANDS else (_head(kept.text), rows_of(kept.text))
    problems = _problems(name, kept.text) if kept.text else ()
    return GuideFileShown(name, kept.text, kept.mark, head, rows, problems, kept.states)


def _head(text: str) -> dict[str, str]:
    import tomllib

    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return {}
    shown = {name: "|".join(map(str, value)) if isinstance(value, list) else str(value) for name, value in raw.items()}
    shown.pop("check", None)
    return shown


def _problems(name: str, text: str) -> tuple[Problem, ...]:
    """Say what is wrong in a text itself: of each check where several are wrong, else of all together."""
    whole = _trouble(name, text)
    if whole is None or not whole.where.startswith(_called(name)):
        return ()
    if name == BANDS:
        return (whole,)
    found = [whole]
    lines = text.splitlines()
    rows = rows_of(text)
    for row in rows:
        # The other checks are blanked, so that the lines keep their numbers.
        others = [range(one.first_line - 1, one.last_line) for one in rows if one != row]
        alone = "\n".join("" if any(number in other for other in others) else line for number, line in enumerate(lines))
        trouble = _alone(name, alone)
        if trouble is not None and trouble not in found:
            found.append(trouble)
    return tuple(found)


def _alone(name: str, text: str) -> Problem | None:
    from shutline.survey.guide_file import read_guide

    try:
        read_guide(text, file=_called(name), ground=_ground())
    except ShutlineError as error:
        return error.problem
    return None


def _trouble(name: str, text: str) -> Problem | None:
    """Lay a text beside the other files, and tell what is wrong in it, or else what is wrong in another then."""
    from shutline.survey import with_own

    texts = {_called(name): text} if text and name != BANDS else {}
    bands = (BANDS_FILE, text) if text and name == BANDS else None
    for file in sorted(guides_folder().glob(f"*{_ENDING}")):
        other = look_at(file).text
        if file.stem not in {name, BANDS} and other:
            texts[file.name] = other
    elsewhere: Problem | None = None
    while True:
        try:
            with_own(texts, bands=bands or _own_bands(name))
        except ShutlineError as error:
            found = error.problem
        else:
            return elsewhere
        odd = next((file for file in texts if found.where.startswith(file) and file != _called(name)), None)
        if odd is None:
            return found
        # It must not hide what is wrong in this one.
        elsewhere = elsewhere or found
        del texts[odd]


def _refusal(name: str, text: str, *, before: str | None) -> Problem | None:
    """Tell why a change is not taken: what is wrong in the file itself, or goes wrong in another by the change."""
    found = _trouble(name, text)
    if found is None or found.where.startswith(_called(name)):
        return found
    return found if before is not None and _trouble(name, before) is None else None


def _own_bands(name: str) -> tuple[str, str] | None:
    text = None if name == BANDS else look_at(guides_folder() / BANDS_FILE).text
    return (BANDS_FILE, text) if text else None


def _ground(bands: tuple[str, str] | None = None) -> Ground:
    """Give the ground with the bands that are asked for, else the user's own, else ours."""
    from shutline.survey.ground import ground, with_bands

    if bands is not None:
        return with_bands(bands[1], file=bands[0])
    try:
        own = _own_bands("")
        return ground() if own is None else with_bands(own[1], file=own[0])
    except ShutlineError:
        return ground()


def _shelf_or_shipped() -> Shelf:
    from shutline.survey import shelf
    from shutline.usecases.guides import own_shelf

    try:
        return own_shelf()
    except ShutlineError:
        return shelf()


def _present(name: str) -> tuple[KeptFile, str]:
    present = look_at(_path(name))
    if present.text is None:
        raise UserError(_no_text(name))
    if not present.text:
        raise NotFoundError(
            Problem("guide-file-name", _called(name), "no such guide lies there", "one of yours", "Begin it first.")
        )
    return present, present.text


def _row(name: str, text: str, line: int) -> CheckRow:
    row = next((one for one in rows_of(text) if one.first_line == line), None)
    if row is None:
        raise NotFoundError(
            Problem(
                "guide-check-line",
                f"{_called(name)}, line {line}",
                "no check begins on this line",
                "the line of a heading [[check]]",
                "Open the settings again; somebody may have changed them.",
            )
        )
    return row


def _path(name: str) -> Path:
    folder = guides_folder()
    known = {file.stem for file in (*folder.glob(f"*{_ENDING}"), *(folder / "former").glob(f"*{_ENDING}"))}
    if name not in known and not (_NAME.fullmatch(name) and len(name) <= _LONGEST_NAME):
        raise _no_name(name)
    return folder / _called(name)


def _called(name: str) -> str:
    return f"{name}{_ENDING}"


def _no_name(name: str) -> UserError:
    return UserError(
        Problem(
            "guide-file-name",
            "guide of your own",
            f"no file can be called {name[:40]!r}",
            f"small letters, digits and single underscores, at most {_LONGEST_NAME}",
            "Give it a name with letters in it.",
        )
    )


def _no_text(name: str) -> Problem:
    return Problem("guide-refused", _called(name), "bytes that are no UTF-8", "UTF-8", "Save the file as UTF-8.")
