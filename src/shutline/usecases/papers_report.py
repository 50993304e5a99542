"""What a report says of a car's papers, and what of it goes to strangers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.papers import ReadKind
from shutline.usecases.paper_events import KINDS
from shutline.usecases.papers_bare import SIGNS, bare_papers

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from shutline.car.carfile import CarFile
    from shutline.car.kept_papers import KeptPaper, KeptRead
    from shutline.publish.bare import BarePicture
    from shutline.publish.report.model import PapersSection
    from shutline.store import Store


def papers_section(car: CarFile) -> PapersSection | None:
    """Give the section of the report: each paper that counts by kind and day, and what was taken; None without any."""
    from shutline.usecases.papers_telling import whose

    counted = {one.id for one in car.papers if whose(car, one).counts}
    shown = [one for one in bare_papers(car) if one.id in counted]
    return _section(shown, pictures={}, told=str, intro="intro")


def public_papers_section(
    store: Store, car: CarFile, *, told: Callable[[str], str], without: Sequence[str]
) -> PapersSection | None:
    """Give the section of a page for strangers: papers that a person let out, as they looked at them, and no others.

    Parameters
    ----------
    store : Store
        Where the pictures of pages are kept.
    car : CarFile
        The whole car file.
    told : callable
        Takes out of each sentence what may not leave.
    without : sequence of str
        Names of facts that go to no stranger.
    """
    from shutline.usecases.papers_out import pictures_let_out

    pictures = {one.id: pictures_let_out(store, car, one) for one in car.papers}
    shown = [one for one in bare_papers(car) if pictures.get(one.id)]
    return _section(shown, pictures=pictures, told=told, intro="shown", without=without)


def _section(
    papers: Sequence[KeptPaper],
    *,
    pictures: Mapping[str, Sequence[tuple[int, BarePicture]]],
    told: Callable[[str], str],
    intro: str,
    without: Sequence[str] = (),
) -> PapersSection | None:
    from shutline.publish.papers import words
    from shutline.publish.report.model import Illustration, PaperShown, PapersSection

    if not papers:
        return None
    shown = []
    for number, paper in enumerate(papers, 1):
        name = _name(paper)
        lines = [told(_line(one)) for one in paper.reads if one.kind not in SIGNS or SIGNS[one.kind] not in without]
        pages = tuple(
            Illustration(
                key=f"paper-{number}-{page}",
                data=picture.jpeg,
                width=picture.width,
                height=picture.height,
                alt=words()["page_alt"].format(name=name, page=page),
                caption=words()["page_caption"].format(name=name, page=page),
            )
            for page, picture in pictures.get(paper.id, ())
        )
        shown.append(PaperShown(name, tuple(lines) or (words()["nothing"],), pages))
    return PapersSection(words()["heading"], words()[intro], tuple(shown))


def _place(one: KeptRead) -> tuple[int, str, float]:
    """Give where something is told: what is of one day together, as in a row of stamps that lies a little aslant."""
    return one.read.page, one.day, one.read.box.top


def _name(paper: KeptPaper) -> str:
    from shutline.history.paper_facts import own_day
    from shutline.publish.naming import capitalised
    from shutline.publish.papers import words
    from shutline.publish.report.times import day as in_words

    day, kind = own_day(paper), capitalised(KINDS[paper.likely])
    said = words()
    return str(said["name"].format(kind=kind, day=in_words(day)) if day else said["bare"].format(kind=kind))


def _line(one: KeptRead) -> str:
    from shutline.publish.naming import capitalised
    from shutline.publish.papers import words
    from shutline.publish.report.times import day

    said = words()
    what = capitalised(one.role) if one.role and one.kind is not ReadKind.MILEAGE else said["kinds"][one.kind.value]
    value = f"{int(one.value):,}" if one.kind is ReadKind.MILEAGE and one.value.isdigit() else one.value
    value = day(value) if one.kind is ReadKind.DATE else value
    unit = said["units"].get(one.unit, one.unit)
    of = said["of"].format(day=day(one.day)) if one.day and one.kind is ReadKind.MILEAGE else ""
    return str(said["line"].format(what=what, value=f"{value} {unit}".strip(), of=of, page=one.read.page))
