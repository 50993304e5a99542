"""The shelf of guides: those that come with the program, those of the user over them, and each put together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

from shutline.car.errors import Problem, UserError
from shutline.survey.checks import Check, Guide, GuideFile, Sort
from shutline.survey.ground import Ground, ground
from shutline.survey.guide_file import read_guide, refused


@dataclass(frozen=True, slots=True, eq=False)
class Shelf:
    """All guides by id, in order, and the ground that they stand on."""

    guides: Mapping[str, GuideFile]
    ground: Ground

    def of_sort(self, sort: Sort) -> tuple[GuideFile, ...]:
        """Give the guides of one sort, in order."""
        return tuple(one for one in self.guides.values() if one.sort is sort)

    def put_together(self, names: Iterable[str]) -> Guide:
        """Lay guides one over the other: a construction with all that it builds on, then what is laid over it.

        Raises
        ------
        UserError
            There is no guide of a name, or two constructions are asked for (slug ``guide-unknown``).
        """
        return _put_together(self, tuple(dict.fromkeys(names)))

    def chain(self, name: str) -> list[GuideFile]:
        """Give what a guide builds on, the lowest first, and the guide itself."""
        chain: list[GuideFile] = []
        here = name
        while here:
            chain.insert(0, self.guides[here])
            here = self.guides[here].builds_on
        return chain


@cache
def shelf() -> Shelf:
    """Give the guides that come with the program."""
    return make_shelf(_shipped(), ground())


def with_own(texts: Mapping[str, str], *, bands: tuple[str, str] | None = None) -> Shelf:
    """Lay a user's guides over the shipped ones; a guide with the id of one of ours takes its place.

    Parameters
    ----------
    texts : mapping of str to str
        The text of each file by the name it is to be called when it is refused.
    bands : tuple of str, optional
        Name and text of a file of bands in place of the shipped one.

    Raises
    ------
    BadInputError
        Something in a file cannot be used (slug ``guide-refused``), with file and line.
    """
    here = ground() if bands is None else _own_ground(*bands)
    own = [read_guide(text, file=name, ground=here) for name, text in texts.items()]
    seen: dict[str, str] = {}
    for guide in own:
        if guide.id in seen:
            raise _at(guide, "id", f"id '{guide.id}' stands in {seen[guide.id]} too", "an id of its own for each guide")
        seen[guide.id] = guide.file
    return make_shelf((*_shipped(), *own), here)


def make_shelf(guides: Iterable[GuideFile], here: Ground) -> Shelf:
    """Hold guides against each other: what they build on, remove and put after one another must be there.

    Raises
    ------
    BadInputError
        A guide builds on one that there is not, or on itself by a roundabout way; removes or follows a check that
        there is not; its checks follow each other in a ring; none is general (slug ``guide-refused``).
    """
    given = tuple(guides)
    shelf = Shelf({guide.id: guide for guide in given}, here)
    if len(shelf.of_sort(Sort.GENERAL)) != 1:
        names = ", ".join(one.file for one in shelf.of_sort(Sort.GENERAL)) or "none"
        raise refused("guides", f"general guides: {names}", "exactly one")
    # What is laid over any construction may remove what only one of them has, or had before a user's took its place.
    everything = _ids(given)
    for guide in shelf.guides.values():
        _check_base(guide, shelf)
    for guide in shelf.guides.values():
        for name in guide.removes:
            known = everything if guide.sort is Sort.DRIVE else _ids(shelf.chain(guide.id)[:-1])
            if name not in known:
                raise _at(guide, "removes", f"removes '{name}'", "ids of checks that it builds on")
        known = everything if guide.sort is Sort.DRIVE else _ids(shelf.chain(guide.id))
        for check in guide.checks:
            odd = [name for name in check.after if name not in known]
            if odd:
                raise refused(check.where, f"after '{', '.join(odd)}'", "ids of checks of the same guide")
            if check.along_with and check.along_with not in known:
                raise refused(check.where, f"along_with '{check.along_with}'", "the id of a check of the same guide")
        _check_ring(shelf.put_together([guide.id]).checks)
    return shelf


@lru_cache(maxsize=64)
def _put_together(on: Shelf, wanted: tuple[str, ...]) -> Guide:
    for name in wanted:
        if name not in on.guides:
            raise _unknown(f"'{name}'", f"one of {', '.join(on.guides)}")
    built = [name for name in wanted if on.guides[name].sort is not Sort.DRIVE]
    if len(built) > 1:
        raise _unknown(f"{' and '.join(built)} together", "one construction, and what drives it")
    first = built[0] if built else on.of_sort(Sort.GENERAL)[0].id
    laid = [*on.chain(first), *(on.guides[name] for name in wanted if on.guides[name].sort is Sort.DRIVE)]
    checks: dict[str, Check] = {}
    engine = "front"
    for guide in laid:
        for name in guide.removes:
            checks.pop(name, None)
        for check in guide.checks:
            checks[check.id] = check
        engine = guide.engine or engine
    labels = [on.guides[first].label, *(one.label for one in laid if one.sort is Sort.DRIVE)]
    return Guide(
        id="+".join((first, *(one.id for one in laid if one.sort is Sort.DRIVE))),
        label=", ".join(labels),
        laid=tuple(one.id for one in laid),
        checks=_in_order(checks),
        engine_behind=engine == "rear",
    )


def _check_base(guide: GuideFile, shelf: Shelf) -> None:
    needs = guide.sort is Sort.CONSTRUCTION
    if needs != bool(guide.builds_on):
        allowed = "the id of the guide that it builds on" if needs else "nothing: only a construction builds on another"
        raise _at(guide, "builds_on", f"builds_on '{guide.builds_on}' of a guide of sort {guide.sort}", allowed)
    way = [guide.id]
    here = guide
    while here.builds_on:
        below = shelf.guides.get(here.builds_on)
        if below is None or below.sort is Sort.DRIVE:
            raise _at(here, "builds_on", f"builds_on '{here.builds_on}'", "a general guide or a construction")
        if below.id in way:
            raise _at(
                here, "builds_on", f"a ring: {' on '.join([*way, below.id])}", "guides that end in the general one"
            )
        way.append(below.id)
        here = below


def _check_ring(checks: tuple[Check, ...]) -> None:
    """Refuse checks that wait for each other."""
    waiting = {check.id: {name for name in check.after if any(one.id == name for one in checks)} for check in checks}
    while free := [name for name, after in waiting.items() if not after & set(waiting)]:
        for name in free:
            del waiting[name]
    if waiting:
        first = next(check for check in checks if check.id in waiting)
        raise refused(first.where, f"checks that wait for each other: {', '.join(waiting)}", "an order without a ring")


def _in_order(checks: Mapping[str, Check]) -> tuple[Check, ...]:
    """Put each check beside those of its part, in the order in which the parts first occur."""
    parts = list(dict.fromkeys(check.part for check in checks.values()))
    return tuple(sorted(checks.values(), key=lambda check: parts.index(check.part)))


def _ids(guides: Iterable[GuideFile]) -> set[str]:
    return {check.id for guide in guides for check in guide.checks}


def _own_ground(name: str, text: str) -> Ground:
    from shutline.survey.ground import with_bands

    return with_bands(text, file=name)


@cache
def _shipped() -> tuple[GuideFile, ...]:
    folder = files("shutline.survey").joinpath("data", "guides")
    found = sorted((one for one in folder.iterdir() if one.name.endswith(".toml")), key=lambda one: one.name)
    return tuple(read_guide(one.read_text(encoding="utf-8"), file=one.name, ground=ground()) for one in found)


def _at(guide: GuideFile, entry: str, found: str, allowed: str) -> Exception:
    return refused(f"{guide.file}, line {guide.lines.get(entry, 1)}", found, allowed)


def _unknown(found: str, allowed: str) -> UserError:
    return UserError(
        Problem("guide-unknown", "guide", found, allowed, "See `shutline guides` for those that there are.")
    )
