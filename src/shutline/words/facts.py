"""What is known of the whole car, told in the opening and the history; values that do not agree are told as such."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from shutline.car.carfile import CarFile, KeptFact
from shutline.car.findings import Fact, FootingKind, State
from shutline.car.keepers import keepers_before
from shutline.car.recordings import Kind
from shutline.publish.plain import one_line
from shutline.publish.private import Private
from shutline.publish.report.facts import fact_words
from shutline.publish.report.times import day
from shutline.publish.wording import spelled
from shutline.survey.odds_facts import facts_at_odds, values_told
from shutline.words.phrases import an, can_fill, filled, joined, sentence
from shutline.words.prose import Told
from shutline.words.stories import Manner

_BODIES = {"4x4": "four-by-four", "mpv": "people carrier"}
_FUELS = {"electric": "electricity"}
_LONGEST = 40
_OPENING = {
    "year": "the year", "body": "the body", "doors": "the number of doors", "colour": "the colour",
    "engine_cc": "the size of the engine", "power_source": "what it runs on", "gearbox": "the kind of gearbox",
    "gears": "the number of gears", "drive": "the side of the steering wheel", "seats": "the number of seats",
    "origin": "where it came from", "odometer": "the mileage",
}  # fmt: skip
_HISTORY = {
    "first_registered": "the date of first registration", "keepers": "the number of keepers",
    "last_service": "the last service", "mot_until": "the MOT", "tax_exempt": "the vehicle tax",
    "keys": "the number of keys",
}  # fmt: skip
_LABELS = _OPENING | _HISTORY


class Known:
    """The facts that may be told: one value of each, and which have several that do not agree.

    `one` are told plainly: a person let them stand, or a paper, a picture or a reading bears them out. `heard` were
    said and nobody has confirmed them: they are told as said, `on_film` or otherwise.
    """

    def __init__(
        self, facts: Sequence[KeptFact], car_file: CarFile, *, private: Private, today: date | None = None
    ) -> None:
        self.title = _without(private, car_file.title)
        named: dict[str, list[KeptFact]] = {}
        for kept in facts:
            named.setdefault(kept.fact.name, []).append(kept)
        disputed = {one.rule for one in facts_at_odds(car_file)}
        self.one: dict[str, tuple[Fact, tuple[str, ...]]] = {}
        self.heard: dict[str, tuple[Fact, tuple[str, ...]]] = {}
        self.several: dict[str, tuple[tuple[Fact, ...], tuple[str, ...]]] = {}
        for name, told in named.items():
            kept_facts = [replace(kept, fact=_public(kept.fact, private)) for kept in told]
            ids = tuple(kept.id for kept in kept_facts)
            values = values_told([kept.fact for kept in kept_facts])
            if len(values) > 1 and name in disputed:
                self.several[name] = (tuple(same[0] for same in values), ids)
            else:
                # Of values that agree, one round and one exact for example, the surest is told.
                best = max(kept_facts, key=lambda kept: (*_firmness(kept.fact), kept.fact.sureness or 1.0))
                place = self.one if told_plainly(best.fact) else self.heard
                place[name] = (best.fact, (best.id,))
        films = {one.id for one in car_file.recordings if one.original.kind is Kind.FILM}
        self._today = today
        self.on_film = all(footing.source in films for fact, _ in self.heard.values() for footing in fact.footings)

    def value(self, name: str) -> int | float | str | bool | None:
        """Give the value of a fact that has one, else None."""
        return self.one[name][0].value if name in self.one else None

    def words(self, name: str) -> str | None:
        """Give a fact in words."""
        return fact_words(self.one[name][0]) if name in self.one else None

    def ids(self, *names: str) -> tuple[str, ...]:
        """Give the ids of the facts of some names."""
        return tuple(dict.fromkeys(one for name in names if name in self.one for one in self.one[name][1]))

    def count(self, name: str) -> int | None:
        """Give a fact that is a count, else None."""
        return _count(self.value(name))

    @property
    def mot_is_over(self) -> bool:
        """Whether the MOT that is told plainly ran out before today."""
        return "mot_until" in self.one and mot_is_over(self.one["mot_until"][0], self._today)

    @property
    def has_no_mot(self) -> bool:
        """Whether nothing at all is told of an MOT."""
        return "mot_until" not in {*self.one, *self.heard, *self.several}

    def heard_over(self, fact: Fact) -> bool:
        """Tell whether a fact is an MOT that ran out before today."""
        return mot_is_over(fact, self._today)

    @property
    def doors(self) -> int | None:
        """How many doors it has, which parts are called by; heard will do for that."""
        heard = self.heard.get("doors")
        return self.count("doors") or (_count(heard[0].value) if heard else None)


def told_plainly(fact: Fact) -> bool:
    """Tell whether a fact is told plainly: it stands, or a paper, a picture or a reading bears it out."""
    return any(_firmness(fact))


def _firmness(fact: Fact) -> tuple[bool, bool]:
    return fact.state is State.STANDS, any(footing.kind is not FootingKind.SAID for footing in fact.footings)


def mot_is_over(fact: Fact, today: date | None) -> bool:
    """Tell whether a fact is an MOT whose last day, or month, is over."""
    text = str(fact.value)
    return fact.name == "mot_until" and today is not None and today.isoformat()[: len(text)] > text


def _count(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) and value > 0 else None


def full_title(car_file: CarFile, known: Known) -> tuple[str, tuple[str, ...]]:
    """Give the car's title with its year, and the facts that this stands on; '' where nobody gave it a title."""
    title = known.title
    if title in {"", car_file.name}:
        return "", ()
    year = known.count("year")
    if year is None or re.search(r"\b(?:19|20)\d\d\b", title):
        return title, ()
    return f"{year} {title}", known.ids("year")


def kind(known: Known, *, title: str = "") -> tuple[str, tuple[str, ...]]:
    """Give what sort of car it is, 'two-door saloon', without what its title says already; and the facts for it."""
    words: list[str] = []
    used: list[str] = []
    doors, body, year = known.count("doors"), known.value("body"), known.count("year")
    if doors is not None:
        words.append(f"{spelled(doors)}-door")
        used.append("doors")
    if isinstance(body, str):
        words.append(_BODIES.get(body, _plain(body)))
        used.append("body")
    elif words:
        words.append("car")
    if not title and year is not None:
        words.insert(0, str(year))
        used.append("year")
        if len(words) == 1:
            words.append("car")
    return " ".join(words), known.ids(*used)


def opening(car_file: CarFile, known: Known, manner: Manner) -> list[Told]:
    """Tell what the car is: its kind and colour, engine and gearbox, mileage."""
    title, year_ids = full_title(car_file, known)
    what, kind_ids = kind(known, title=title)
    tell = _Teller(manner)
    colour = _plain(str(known.value("colour"))) if "colour" in known.one else None
    doors, body = known.count("doors"), known.value("body")
    # 'The Curlew saloon has four doors', not 'is a four-door saloon'.
    named = isinstance(body, str) and _BODIES.get(body, body).lower() in title.lower()
    values = {"title": title or None, "colour": colour, "doors": spelled(doors) if doors is not None else None}
    values["a_kind"] = an(f"a {what}") if what and not named else None
    tell("opening.car" if title else "opening.nameless", values, (*year_ids, *kind_ids, *known.ids("colour")))
    power, fuel = _power(known)
    gearbox = _gearbox(known)
    opened = bool(tell.told)
    values = {"an_engine": power, "a_gearbox": gearbox}
    used = ("engine_cc", "power_source") if power else ()
    tell("opening.engine", values, known.ids(*used, *(("gearbox", "gears") if gearbox else ())))
    if fuel and not power:
        tell("opening.runs_on", {"power": fuel}, known.ids("power_source"))
    if known.value("drive") == "lhd":
        tell("opening.driven", {"driven": "left-hand drive"}, known.ids("drive"))
    seats = known.count("seats")
    tell("opening.seats", {"seats": spelled(seats) if seats else None}, known.ids("seats"))
    origin = known.value("origin")
    tell("opening.origin", {"origin": _plain(str(origin)) if origin else None}, known.ids("origin"))
    odometer = known.words("odometer")
    reading = known.one["odometer"][0].unit is None if odometer else False
    values = {
        "odometer": None if reading else odometer,
        "reading": _figure(known.value("odometer")) if reading else None,
    }
    tell("opening.odometer", values, known.ids("odometer"))
    if tell.told and title and not opened:
        first = tell.told[0]
        tell.told[0] = replace(first, text=re.sub(r"^It\b", f"The {title}", first.text))
    return tell.told


def history(known: Known, manner: Manner) -> list[Told]:
    """Tell who has had it, its papers by date, and the facts on which the file does not agree with itself."""
    tell = _Teller(manner)
    tell("history.registered", _dated(known, "first_registered"), known.ids("first_registered"))
    keepers = keepers_words(known)
    tell("history.keepers", {"Keepers": keepers}, known.ids("keepers"), plural=known.count("keepers") != 1)
    tell("history.service", _dated(known, "last_service"), known.ids("last_service"))
    exempt = known.value("tax_exempt")
    if "mot_until" in known.one:
        key = "history.mot_over" if known.mot_is_over else "history.mot"
        variants = manner.wording.templates[key]
        tell.add(
            filled(variants[0 if exempt is True else -1], {"mot": known.words("mot_until") or ""}),
            known.ids("mot_until", *(("tax_exempt",) if exempt is True else ())),
        )
    elif exempt is True:
        tell("history.exempt", {}, known.ids("tax_exempt"))
    if exempt is False:
        tell("history.not_exempt", {}, known.ids("tax_exempt"))
    keys = known.count("keys")
    tell("history.keys", {"Keys": _keys(keys)}, known.ids("keys"), plural=keys != 1)
    for name, (facts, ids) in known.several.items():
        if name in _LABELS:
            listed = joined([fact_words(fact) for fact in facts])
            tell("history.at_odds", {"what": _LABELS[name], "list": listed}, ids)
    return tell.told


def heard(known: Known, manner: Manner, *sections: str) -> list[Told]:
    """Tell in one sentence which facts of some sections, ``opening`` and ``history``, were said and not confirmed."""
    tell = _Teller(manner)
    names = [name for section in sections for name in {"opening": _OPENING, "history": _HISTORY}[section]]
    there = {name: known.heard[name] for name in names if name in known.heard}
    listed = [words for name, (fact, _) in there.items() if (words := _heard_words(name, fact, known, tell.manner))]
    if listed:
        ids = tuple(one for _, same in there.values() for one in same)
        tell("heard.film" if known.on_film else "heard.said", {"list": joined(listed)}, ids)
    return tell.told


def _heard_words(name: str, fact: Fact, known: Known, manner: Manner) -> str:
    """Word a fact that was only heard as one of a list: 'three keepers'."""
    key = f"heard_facts.{name}{'_over' if known.heard_over(fact) else ''}"
    shapes = manner.wording.templates
    if name == "odometer" and fact.unit is None:
        return filled(shapes["heard_facts.reading"][0], {"value": _figure(fact.value)})
    if isinstance(fact.value, bool):
        return shapes[key if fact.value else f"heard_facts.not_{name}"][0]
    if name == "drive":
        return shapes[f"heard_facts.{fact.value}"][0] if f"heard_facts.{fact.value}" in shapes else ""
    value = {"keepers": _keepers(fact), "keys": _keys(_count(fact.value))}.get(name) or _plain(fact_words(fact))
    return filled(shapes[key][0], {"value": _BODIES.get(value, _FUELS.get(value, value))})


class _Teller:
    """Gathers the sentences whose places are known."""

    def __init__(self, manner: Manner) -> None:
        self.manner = manner
        self.told: list[Told] = []

    def __call__(self, key: str, values: dict[str, str | None], ids: tuple[str, ...], *, plural: bool = False) -> None:
        known = {name: value for name, value in values.items() if value}
        if not ids:
            return
        for variant in self.manner.wording.templates[key]:
            if can_fill(variant, known):
                self.add(filled(variant, known, plural=plural), ids)
                return

    def add(self, text: str, ids: tuple[str, ...]) -> None:
        """Add a sentence."""
        self.told.append(Told(sentence(text), ids, ()))


def keepers_words(known: Known) -> str | None:
    """Give the number of keepers in words; 'before the present one' where it was counted so."""
    return _keepers(known.one["keepers"][0]) if "keepers" in known.one else None


def _keepers(fact: Fact) -> str | None:
    count = _count(fact.value)
    if count is None:
        return None
    words = f"{spelled(count)} {'keeper' if count == 1 else 'keepers'}"
    return f"{words} before the present one" if keepers_before(fact) else words


def _keys(count: int | None) -> str | None:
    return f"{spelled(count)} {'key' if count == 1 else 'keys'}" if count else None


def _dated(known: Known, name: str) -> dict[str, str | None]:
    if name not in known.one:
        return {}
    text = one_line(str(known.one[name][0].value))
    return {"day": day(text)} if re.fullmatch(r"\d{4}-\d\d-\d\d", text) else {"month": day(text)}


def _power(known: Known) -> tuple[str | None, str | None]:
    """Give the engine, 'a 1,500 cc petrol engine', and what it runs on."""
    cc, source = known.count("engine_cc"), known.value("power_source")
    fuel = _FUELS.get(str(source), _plain(str(source))) if source else None
    if cc is None or source == "electric":
        return None, fuel
    return an(" ".join(filter(None, ("a", f"{cc:,} cc", fuel, "engine")))), fuel


def _gearbox(known: Known) -> str | None:
    gears, sort = known.count("gears"), known.value("gearbox")
    if gears is None and not isinstance(sort, str):
        return None
    speeds = f"{spelled(gears)}-speed" if gears else None
    return an(" ".join(filter(None, ("a", speeds, _plain(str(sort)) if sort else None, "gearbox"))))


def _figure(value: object) -> str:
    return f"{value:,}" if isinstance(value, int | float) else str(value)


def _plain(text: str) -> str:
    return one_line(text)[:_LONGEST]


def _public(fact: Fact, private: Private) -> Fact:
    return replace(fact, value=_without(private, fact.value)) if isinstance(fact.value, str) else fact


def _without(private: Private, text: str) -> str:
    """Take out what may not leave with the whole it stands in, and a mark that would show where it stood."""
    plain = one_line(text)
    public = private.titled(plain)
    return plain if public == plain else " ".join(re.sub(r"\[…\]\W*", " ", public).split())
