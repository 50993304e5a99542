"""Parts that were described and that such a car does not have."""

from __future__ import annotations

from collections.abc import Iterator

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import Footing, FootingKind, Found, State
from shutline.survey.odds import Odds, OddsKind, Told, make_odds
from shutline.survey.odds_data import NotFitted, OddsTables, Trait
from shutline.survey.odds_layer import odds_tables
from shutline.survey.tables import holds_phrase, words_of

_NOT = frozenset({"not", "isn't", "never", "no", "non"})


def parts_not_fitted(car_file: CarFile, *, tables: OddsTables | None = None) -> tuple[Odds, ...]:
    """Find the findings about a part that a car of this kind does not have, in the order of the car file.

    What kind of car it is comes from its own details, the facts told of it, and what was said of its construction. That
    a part is missing, or a fault of it not found, describes no part.
    """
    tables = tables or odds_tables()
    known = {trait.id: _known(trait, car_file) for trait in tables.traits}
    labels = {trait.id: trait.label for trait in tables.traits}
    found = []
    for kept in car_file.going_out():
        if not kept.finding.footings or kept.finding.found is not Found.YES or kept.finding.condition == "missing":
            continue
        for row in tables.not_fitted:
            basis = known[row.trait]
            if basis is not None and _is_of(row, kept):
                # Without a tie to time: what the car is, then what was said of it.
                told = (basis, Told(kept.id, kept.finding.footings, finding=kept.finding, struck_with=(kept.id,)))
                found.append(make_odds(OddsKind.NOT_FITTED, row.id, told, f"{labels[row.trait]}: {row.why}"))
                break
    return tuple(found)


def _is_of(row: NotFitted, kept: KeptFinding) -> bool:
    finding = kept.finding
    if finding.part != row.part or (row.position is not None and finding.position is not row.position):
        return False
    return not row.words or any(holds_phrase(words_of(one.quote), row.words) for one in finding.footings)


def _known(trait: Trait, car_file: CarFile) -> Told | None:
    """Tell what says that the car is such: the fact, where it was told, else its own details, else words."""
    name = trait.fact or ("body" if trait.bodies else "")
    facts = [k for k in car_file.facts if k.fact.name == name and k.fact.state is not State.STRUCK and not k.withdrawn]
    if facts:
        return _by_facts(trait, facts)
    return _by_details(trait, car_file) or _by_words(trait, car_file)


def _by_facts(trait: Trait, facts: list[KeptFact]) -> Told | None:
    # While a fact has several values nobody knows what the car is.
    if not all(_says(trait, kept.fact.value, trait.values or trait.bodies) for kept in facts):
        return None
    footings = tuple(footing for kept in facts for footing in kept.fact.footings)
    return Told(facts[0].id, footings, fact=facts[0].fact, struck_with=tuple(kept.id for kept in facts))


def _says(trait: Trait, value: object, values: frozenset[str]) -> bool:
    if trait.doors_most is not None:
        return isinstance(value, int) and value <= trait.doors_most
    return str(value).strip().lower() in values


def _by_details(trait: Trait, car_file: CarFile) -> Told | None:
    if trait.doors_most is not None and car_file.doors is not None and car_file.doors <= trait.doors_most:
        return Told("", (), words=f"the car is drawn with {car_file.doors} doors")
    if car_file.body is not None and car_file.body in trait.bodies:
        return Told("", (), words=f"the car is drawn as: {car_file.body}")
    return None


def _by_words(trait: Trait, car_file: CarFile) -> Told | None:
    return next((Told("", (footing,), words=trait.label) for footing in _spoken(trait, car_file)), None)


def _spoken(trait: Trait, car_file: CarFile) -> Iterator[Footing]:
    """Give each place where one of the trait's phrases was said and not denied right before."""
    for recording in car_file.recordings:
        for stretch in recording.stretches:
            if not trait.words or not holds_phrase(words_of(stretch.text), trait.words):
                continue
            said = [(word, token) for word in stretch.words for token in words_of(word.text)]
            tokens = tuple(token for _, token in said)
            for phrase in trait.words:
                for at in range(len(tokens) - len(phrase) + 1):
                    if tokens[at : at + len(phrase)] == phrase and not _NOT & set(tokens[max(0, at - 3) : at]):
                        words = list(dict.fromkeys(word for word, _ in said[at : at + len(phrase)]))
                        quote = " ".join(word.text for word in words)
                        yield Footing(FootingKind.SAID, recording.id, words[0].start_s, words[-1].end_s, quote)
