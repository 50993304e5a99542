"""Captions and alternative texts for the pictures that findings stand on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Finding, FootingKind
from shutline.publish.naming import place_name, with_article
from shutline.publish.wording import condition_words
from shutline.survey.odds import Odds
from shutline.words.choice import choose, is_good
from shutline.words.phrases import Said, Turns, filled, joined, predicate
from shutline.words.stories import Clause, Manner, clauses
from shutline.words.wording import Wording, shipped_wording


@dataclass(frozen=True, slots=True)
class PictureWords:
    """What stands beside a picture, and what it is to who cannot see it.

    `picture` is the SHA-256 of a still, or the id of a picture taken by hand; `findings` the ids of what it shows.
    """

    picture: str
    caption: str
    alt: str
    findings: tuple[str, ...]


def picture_words(
    car_file: CarFile,
    *,
    odds: tuple[Odds, ...] = (),
    wording: Wording | None = None,
) -> tuple[PictureWords, ...]:
    """Word the pictures of what a description may tell, in the order of the findings; each picture once.

    Parameters
    ----------
    car_file : CarFile
        Findings that stand are worded, and no others.
    odds : tuple of Odds
        What cannot be true together and nobody has decided.
    wording : Wording, optional
        The shipped one when left out.
    """
    wording = wording or shipped_wording()
    shown: dict[str, list[KeptFinding]] = {}
    for kept in choose(car_file, odds=odds).findings:
        by_hand = [f.source for f in kept.finding.footings if f.kind is FootingKind.SEEN and f.source]
        hand_made = {picture.id for picture in car_file.pictures}
        for picture in (*(still.sha256 for still in kept.stills[:1]), *(one for one in by_hand if one in hand_made)):
            shown.setdefault(picture, []).append(kept)
    return tuple(_worded(picture, kept, car_file, wording) for picture, kept in shown.items())


def fault_words(car_file: CarFile, *, odds: tuple[Odds, ...] = (), wording: Wording | None = None) -> tuple[str, ...]:
    """Name every fault and doubt that a description may tell, part by part, and no good news beside it."""
    wording = wording or shipped_wording()
    manner = Manner(wording, car_file.drive, car_file.doors, Turns())
    kept = [one for one in choose(car_file, odds=odds).findings if not is_good(one.finding)]
    told: list[str] = []
    for part in dict.fromkeys(one.finding.part for one in kept):
        of_part = [one for one in kept if one.finding.part == part]
        made = clauses(of_part, manner)
        named = {name for clause in made for name in clause.ids}
        told += [_caption(clause, wording) for clause in made]
        told += [_plainly(one.finding) for one in of_part if one.id not in named]
    return tuple(told)


def _plainly(finding: Finding) -> str:
    """Name a finding that no clause tells."""
    name = place_name(finding.part, finding.side, finding.position)
    return _capital(condition_words()[finding.condition, finding.found][1].format(place=with_article(name)))


def _worded(picture: str, kept: list[KeptFinding], car_file: CarFile, wording: Wording) -> PictureWords:
    manner = Manner(wording, car_file.drive, car_file.doors, Turns())
    parts = dict.fromkeys(one.finding.part for one in kept)
    made = [clause for part in parts for clause in clauses([one for one in kept if one.finding.part == part], manner)]
    ids = tuple(one.id for one in kept)
    # Somebody took or chose a picture by hand to show it; a frame of the film is of the moment it was said at.
    alt_of = "alt" if picture in {one.id for one in car_file.pictures} else "alt_frame"
    if not made:
        name = wording.nouns[kept[0].finding.part].one
        return PictureWords(picture, _capital(name), _filled(wording, alt_of, {"place": f"the {name}"}), ids)
    captions = [_caption(clause, wording) for clause in made]
    places = joined([clause.subject.words for clause in made])
    told = "; ".join(_told(clause) for clause in made)
    alt = _filled(wording, alt_of, {"place": places, "told": told})
    return PictureWords(picture, "; ".join(captions), alt, ids)


def _caption(clause: Clause, wording: Wording) -> str:
    place = clause.subject.words.removeprefix("the ")
    return _filled(wording, "caption", {"Place": _capital(place), "told": _told(clause)})


def _told(clause: Clause) -> str:
    """Tell a clause without its subject: 'slight rust' of what has it, else in full words: 'works'."""
    said = [Said.of(cell) for cell in (*clause.good, *clause.fault, *clause.unsure)]
    plain = [one.rest for one in said]
    if all(one.verb in {"be", "have"} and "{" not in one.rest and not one.rest.startswith("not ") for one in said):
        return joined(plain)
    good, fault, unsure = ([Said.of(cell) for cell in cells] for cells in (clause.good, clause.fault, clause.unsure))
    return ", but ".join(predicate(one, clause.subject) for one in (good, fault, unsure) if one)


def _filled(wording: Wording, name: str, values: Mapping[str, str]) -> str:
    return filled(wording.templates[f"pictures.{name}"][0], values)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
