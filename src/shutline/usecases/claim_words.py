"""Claims, findings and facts in the words of the check and of the answers, each with where to look at it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from urllib.parse import quote, urlencode

from shutline.car.carfile import CarFile
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found, State
from shutline.car.vocabulary import vocabulary
from shutline.claims.record import Known, KnownFact
from shutline.claims.sayings import Saying, Spot
from shutline.publish.naming import place_name, with_article
from shutline.publish.plain import one_line
from shutline.publish.report.entries import recording_numbers
from shutline.publish.report.facts import fact_words
from shutline.publish.wording import condition_words, table


@dataclass(frozen=True, slots=True)
class StandsOn:
    """One finding or fact of the car file, and where to look at it.

    `id` names it in the store, `words` say it, `quote` is what was said or written. `kind` is what it stands on;
    `recording` counts the car's recordings from 1, `start_s` is the moment in it, and `link` an address of the
    workbench that opens the car there. `still` and `picture` are names (SHA-256) of a picture that shows it. `heard`
    tells that nobody has confirmed it yet.
    """

    id: str
    words: str
    quote: str
    kind: str
    heard: bool
    recording: int | None = None
    start_s: float | None = None
    link: str = ""
    still: str = ""


class Wording:
    """Words what is known of one car."""

    def __init__(self, car: CarFile) -> None:
        self._car = car
        self._numbers: Mapping[str, int] = recording_numbers(car)
        self._stills = {kept.id: kept.stills[0].sha256 for kept in car.findings if kept.stills}
        self._pictures = {picture.id: picture.original.sha256 for picture in car.pictures}

    def known(self, known: Sequence[Known]) -> tuple[StandsOn, ...]:
        """Word findings."""
        return tuple(self._stands(one.id, known_words(one), one.finding.footings, one.finding.state) for one in known)

    def facts(self, known: Sequence[KnownFact]) -> tuple[StandsOn, ...]:
        """Word facts."""
        return tuple(self._stands(one.id, fact_line(one.fact), one.fact.footings, one.fact.state) for one in known)

    def _stands(self, name: str, words: str, footings: Sequence[Footing], state: State) -> StandsOn:
        footing = next((f for f in footings if f.start_s is not None), footings[0] if footings else None)
        heard = state is State.HEARD
        if footing is None:
            return StandsOn(name, words, "", FootingKind.WRITTEN.value, heard)
        number = self._numbers.get(footing.source)
        return StandsOn(
            name,
            words,
            one_line(footing.quote),
            footing.kind.value,
            heard,
            number,
            footing.start_s,
            self._link(number, footing.start_s),
            self._stills.get(name) or self._pictures.get(footing.source, ""),
        )

    def _link(self, number: int | None, start_s: float | None) -> str:
        place = f"/cars/{quote(self._car.name)}"
        if number is None or start_s is None:
            return place
        return f"{place}?{urlencode({'recording': number, 'at': f'{start_s:.1f}'})}"


def known_words(known: Known) -> str:
    """Say what is known in a clause: 'a dent in the bonnet', and how it was put right since, if it was."""
    words = finding_words(known.finding)
    return f"{words}, put right since ({known.done})" if known.done else words


def finding_words(finding: Finding) -> str:
    """Say a finding in a clause: 'a dent in the nearside front wing'."""
    return spot_words(Spot(finding.part, finding.side, finding.position), finding.condition, finding.found)


def spot_words(spot: Spot, condition: str, found: Found) -> str:
    """Say a condition of a place in a clause."""
    _, at_place = condition_words()[condition, found]
    return at_place.format(place=with_article(place_name(spot.part, spot.side, spot.position)))


def fact_line(fact: Fact) -> str:
    """Say a fact: 'mileage: 58,206 miles'."""
    return f"{fact_label(fact.name)}: {fact_words(fact)}"


def fact_label(name: str) -> str:
    """Give what a fact is called, in small letters."""
    label = table("facts.labels").get(name, name.replace("_", " "))
    return label if label.isupper() or label[:2].isupper() else label[:1].lower() + label[1:]


def saying_words(saying: Saying) -> str:
    """Say what a claim was read as."""
    if saying.fact is not None:
        return fact_line(saying.fact)
    if saying.spot is None:
        return ""
    return spot_words(saying.spot, saying.condition, saying.found)


def part_label(part: str) -> str:
    """Give what a part is called."""
    return vocabulary().parts[part].label


def reply(key: str, **values: object) -> str:
    """Give a phrase of ``replies.toml``, its places filled in; raises KeyError for an unknown one."""
    group, _, name = key.partition(".")
    text: str = _replies()[group][name]
    return text.format_map(values) if values else text


@cache
def _replies() -> Mapping[str, Mapping[str, str]]:
    return tomllib.loads(files("shutline.usecases").joinpath("data/replies.toml").read_text(encoding="utf-8"))
