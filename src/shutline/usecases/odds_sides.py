"""The sides of statements at odds, each made ready to look at: words, moment, still, picture, and what was read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import Footing, FootingKind, State
from shutline.car.recordings import Kind, Still
from shutline.publish.naming import capitalised, place_name
from shutline.publish.report.facts import fact_words
from shutline.publish.statement import statement
from shutline.publish.wording import joined, spelled
from shutline.survey.odds import Odds, OddsKind, Told
from shutline.usecases.spoken import InTheWords, in_the_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_MOST_LOOKS = 4
"""How much of what a side stands on is made ready, at most; a fact may be told in twenty places."""


@dataclass(frozen=True, slots=True)
class OddsLook:
    """One thing that a side stands on, and where to look at it.

    `name` is what the recording or picture is called, `recording` its number among the car's from 1, `media` what sort
    of original it is and `sha256` names it. `words` are given where something was said. `figure` is the id of the
    figure that was read, and `crop` the SHA-256 of the piece of picture it was read off.
    """

    kind: FootingKind
    name: str = ""
    recording: int | None = None
    media: Kind | None = None
    sha256: str = ""
    start_s: float | None = None
    end_s: float | None = None
    words: InTheWords | None = None
    quote: str = ""
    still: Still | None = None
    figure: str | None = None
    crop: str | None = None


@dataclass(frozen=True, slots=True)
class OddsSide:
    """One side of a case: what it says, whether anybody confirmed it, and what it stands on.

    `state` is None where the car's own details say so, or words that no finding was drawn from. `by` is who entered
    it, where it stands on nothing else. `more` is how much else it stands on. `each` are the statements on this side,
    where there are several: then `words` say all of them, and what they stand on is theirs.
    """

    words: str
    state: State | None
    looks: tuple[OddsLook, ...]
    by: str = ""
    more: int = 0
    each: tuple[OddsSide, ...] = ()


class Sides:
    """Makes sides ready to look at; `crops` are the pieces of picture that figures were read off, by their ids."""

    def __init__(self, car_file: CarFile, crops: Mapping[str, str]) -> None:
        self._car = car_file
        self._crops = crops
        self._recordings = {one.id: (number, one) for number, one in enumerate(car_file.recordings, start=1)}
        self._pictures = {one.id: one for one in car_file.pictures}
        self._kept: dict[str, KeptFinding | KeptFact] = {one.id: one for one in car_file.findings}
        self._kept |= {one.id: one for one in car_file.facts}

    def all_of(self, side: Sequence[Told]) -> OddsSide:
        """Make a side ready with all that was told on it."""
        if len(side) == 1:
            return self.of(side[0])
        return OddsSide(side_words(side), None, (), each=tuple(self.of(told) for told in side))

    def of(self, told: Told) -> OddsSide:
        """Make one side ready."""
        kept = self._kept.get(told.id)
        stills = kept.stills if isinstance(kept, KeptFinding) else ()
        looks = tuple(self._look(footing, stills) for footing in told.footings[:_MOST_LOOKS])
        by = kept.changes[0].author if kept is not None and not told.footings and kept.changes else ""
        return OddsSide(told_words(told), _state(kept), looks, by, len(told.footings) - len(looks))

    def _look(self, footing: Footing, stills: tuple[Still, ...]) -> OddsLook:
        figure = next((rule.removeprefix("figure ") for rule in footing.rules if rule.startswith("figure ")), None)
        crop = self._crops.get(figure) if figure else None
        if footing.source in self._recordings:
            number, film = self._recordings[footing.source]
            start_s, end_s = footing.start_s, footing.end_s
            words = None
            if footing.kind is FootingKind.SAID and start_s is not None:
                words = in_the_words(self._car, film.id, footing.quote, start_s, end_s or start_s)
            return OddsLook(
                footing.kind,
                film.original.name,
                number,
                film.original.kind,
                film.original.sha256,
                start_s,
                end_s,
                words,
                footing.quote,
                stills[0] if stills else None,
                figure,
                crop,
            )
        picture = self._pictures.get(footing.source)
        name, media, sha256 = "", None, ""
        if picture is not None:
            name, media, sha256 = picture.original.name, picture.original.kind, picture.original.sha256
        return OddsLook(
            footing.kind, name, None, media, sha256, quote=footing.quote, figure=figure if crop else None, crop=crop
        )


def told_words(told: Told) -> str:
    """Say what one side of a case says."""
    if told.finding is not None:
        one = told.finding
        return f"{place_name(one.part, one.side, one.position)}: {statement(one)}"
    if told.fact is not None:
        return f"{told.fact.name.replace('_', ' ')}: {fact_words(told.fact)}"
    return told.words


def side_words(side: Sequence[Told]) -> str:
    """Say what a side of a case says: all that was told on it, each thing once."""
    return "; ".join(dict.fromkeys(told_words(told) for told in side))


def about(odds: Odds) -> str:
    """Name what a case is about: the place, the narrower where one lies within the other, or the fact.

    Where several speak against a general remark, that is named.
    """
    if odds.kind is OddsKind.FACT:
        return capitalised(odds.rule.replace("_", " "))
    if odds.general and len(odds.sides[1]) > 1:
        return capitalised(told_words(odds.told[0]))
    findings = [one.finding for one in odds.told if one.finding is not None]
    names = [place_name(one.part, one.side, one.position) for one in findings]
    lone = [name for name, one in zip(names, findings, strict=True) if one.part != "car"]
    return capitalised(" and ".join(dict.fromkeys(lone or names)))


def sort_words(odds: Odds) -> str:
    """Say in plain words what kind of contradiction it is."""
    if odds.kind is OddsKind.NOT_FITTED:
        return "A part that such a car does not have"
    if odds.general and len(odds.sides[1]) > 1:
        ways = joined(list(dict.fromkeys(_way(kind) for kind in odds.kinds[odds.general :])))
        return f"{capitalised(_way(odds.kinds[0]))} of all of it, and {ways} otherwise of {spelled(len(odds.sides[1]))}"
    first, *others = (_way(kind) for kind in odds.kinds)
    ways = f"{first} one way, and {' and '.join(others)} the other"
    if len(odds.kinds) > 2:
        ways = f"{joined(list(dict.fromkeys((first, *others))))}, with {spelled(len(odds.told))} values"
    return f"One fact, {ways}" if odds.kind is OddsKind.FACT else capitalised(ways)


def _way(kind: FootingKind | None) -> str:
    return kind.value if kind else "entered"


def _state(kept: KeptFinding | KeptFact | None) -> State | None:
    if kept is None:
        return None
    return kept.finding.state if isinstance(kept, KeptFinding) else kept.fact.state
