"""Records in words for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, Any

from shutline.car.findings import Fact, Finding, State
from shutline.car.prep_done import done_words
from shutline.car.second import SecondReading, SecondView, Verdict
from shutline.car.vocabulary import vocabulary
from shutline.cli.output import clock, printable, size, wrapped
from shutline.publish.naming import place_name
from shutline.publish.statement import statement

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from shutline.car.carfile import CarFile
    from shutline.usecases.add import Added
    from shutline.usecases.look import Shown
    from shutline.usecases.market_settings import MarketSettingsShown
    from shutline.usecases.own_words import OwnWords
    from shutline.usecases.read import ReadTranscript
    from shutline.usecases.report import ReportMade
    from shutline.usecases.second import SecondAsked

_SILENT_SHOWN = 20
"""Silent places named on a terminal, the weightiest."""

_QUESTIONS_SHOWN = 30
"""Questions of a second reading shown on a terminal."""


def finding_lines(finding: Finding, *, why: bool, id_: str = "") -> Iterator[str]:
    """Give a finding as lines: moment, place, statement, state, quote."""
    state = "" if finding.state is State.HEARD else f" [{finding.state}]"
    name = f"  {id_}" if id_ else ""
    where = place_name(finding.part, finding.side, finding.position)
    yield f"  {clock(finding.start_s):>7}  {where}: {statement(finding)}{state}{name}"
    for footing in finding.footings:
        if footing.quote:
            yield wrapped(f"«{printable(footing.quote)}»", indent=" " * 11)
    if why:
        sure = "" if finding.sureness is None else f" (sureness {finding.sureness:.2f})"
        for reason in finding.why:
            yield wrapped(f"because {printable(reason)}", indent=" " * 11)
        rules = ", ".join(rule for footing in finding.footings for rule in footing.rules)
        yield wrapped(f"rules: {rules or 'none'}{sure}", indent=" " * 11)


def fact_line(fact: Fact) -> str:
    """Give a fact as a line."""
    unit = f" {fact.unit}" if fact.unit else ""
    value = {True: "yes", False: "no"}.get(fact.value, fact.value) if isinstance(fact.value, bool) else fact.value
    quotes = "; ".join(f"«{printable(f.quote)}» at {clock(f.start_s)}" for f in fact.footings if f.quote)
    state = "" if fact.state is State.HEARD else f" [{fact.state}]"
    return f"  {fact.name.replace('_', ' '):18} {value}{unit}{state}  {quotes}"


def reading_lines(reading: ReadTranscript, *, why: bool) -> Iterator[str]:
    """Give what was read from a transcript as lines."""
    counts = f"{_count(len(reading.findings), 'finding')}, {_count(len(reading.facts), 'fact')}"
    yield f"{counts}; the wheel is taken to be {reading.drive}."
    yield from _facts(reading.facts)
    if reading.findings:
        yield "Findings, as they were said"
    for finding in reading.findings:
        yield from finding_lines(finding, why=why)


def car_file_lines(shown: Shown, *, why: bool, struck: bool) -> Iterator[str]:
    """Give a car file as lines: facts, findings by part in walking order, silence, problems."""
    car = shown.car
    yield f"{printable(car.title)} ({car.name}), {car.drive}, since {car.created_at[:10]}"
    for recording in car.recordings:
        state = "" if recording.complete else "; not finished: give `shutline add` again to go on"
        yield f"  {printable(recording.original.name)}  {clock(recording.probe.length_s)}{state}"
    facts = [kept for kept in car.facts if struck or kept.fact.state is not State.STRUCK]
    if facts:
        yield "Facts"
    for known in facts:
        yield f"{fact_line(known.fact)}  {known.id}"
    order = {part: i for i, part in enumerate(vocabulary().parts)}
    kept = sorted(
        (k for k in car.findings if struck or k.finding.state is not State.STRUCK),
        key=lambda k: (order[k.finding.part], k.finding.start_s or 0.0),
    )
    beside = _beside(car)
    for part, rows in groupby(kept, key=lambda k: k.finding.part):
        yield vocabulary().parts[part].label.capitalize()
        for row in rows:
            yield from finding_lines(row.finding, why=why, id_=row.id)
            if row.put_right is not None:
                done = f"put right since: {done_words(row.put_right)}, {row.put_right.done_on}"
                yield wrapped(printable(done), indent=" " * 11)
            for view in beside.get(row.id, ()):
                yield from _beside_lines(view, row.finding, why=why)
    yield from _questions(car)
    silent = list(dict.fromkeys(place_name(one.part, one.side, one.position) for one in shown.silent_parts))
    if silent:
        yield "Not looked at, or not said where (which is not to say good)"
        rest = f", and {len(silent) - _SILENT_SHOWN} more (--json names all)" if len(silent) > _SILENT_SHOWN else ""
        yield wrapped(", ".join(silent[:_SILENT_SHOWN]) + rest, indent="  ")
    if shown.silent_facts:
        yield "Not told"
        yield wrapped(", ".join(one.name.replace("_", " ") for one in shown.silent_facts), indent="  ")
    for problem in car.problems:
        yield wrapped(f"note: {printable(problem.sentence())}")


def _beside(car: CarFile) -> dict[str, list[SecondView]]:
    """Give what second readings have beside each finding, by its id."""
    beside: dict[str, list[SecondView]] = {}
    for reading in car.second_readings:
        for view in reading.views:
            if view.finding is not None:
                beside.setdefault(view.finding, []).append(view)
    return beside


def _beside_lines(view: SecondView, finding: Finding, *, why: bool) -> Iterator[str]:
    """Say how a second reading takes a finding: where otherwise, unless a person has decided; the rest with why."""
    indent = " " * 11
    if view.verdict is Verdict.OTHERWISE and finding.state is State.HEARD:
        yield f"{indent}a second reading takes it otherwise: {second_statement(view)}  {view.id}"
        yield wrapped(f"«{printable(view.quote)}»", indent=" " * 13)
    elif view.verdict is Verdict.AGREES and why:
        before, after = view.sureness_before, view.sureness_after
        weighed = "" if before is None or after is None else f": sureness {before:.2f}, with it {after:.2f}"
        yield f"{indent}a second reading agrees{weighed}"
    elif view.verdict is Verdict.SILENT and why:
        yield f"{indent}a second reading does not have it"


def _questions(car: CarFile) -> Iterator[str]:
    """Give what only second readings have: questions, none of them a finding."""
    asked = [view for reading in car.second_readings for view in reading.views if view.verdict is Verdict.ASKS]
    for reading in car.second_readings:
        yield wrapped(_second_summary(reading))
    if asked:
        yield "Asked by a second reading; no findings (confirm what is so, strike what is not)"
    for view in asked[:_QUESTIONS_SHOWN]:
        yield f"  {clock(view.start_s):>7}  {second_statement(view)}?  {view.id}"
        yield wrapped(f"«{printable(view.quote)}»", indent=" " * 11)
    if len(asked) > _QUESTIONS_SHOWN:
        yield f"  and {len(asked) - _QUESTIONS_SHOWN} more (--json names all)"


def second_statement(view: SecondView) -> str:
    """Give what a second reading says as a line."""
    return f"{place_name(view.part, view.side, view.position)}: {statement(view)}"


def _second_summary(reading: SecondReading) -> str:
    """Say in a sentence what came of a second reading."""
    count = {verdict: sum(view.verdict is verdict for view in reading.views) for verdict in Verdict}
    part = "" if reading.answered == reading.pieces else f", {reading.answered} of {reading.pieces} pieces answered"
    aside = sum(one.count for one in reading.set_aside)
    return (
        f"Second reading by {printable(reading.model)} at {printable(reading.service)}{part}: "
        f"agrees with {count[Verdict.AGREES]}, takes {count[Verdict.OTHERWISE]} otherwise, "
        f"asks {count[Verdict.ASKS]}, does not have {count[Verdict.SILENT]}; {aside} set aside"
    )


def second_lines(asked: SecondAsked) -> Iterator[str]:
    """Say what came of asking a second reader."""
    known = asked.sending.known
    yield f"{_count(asked.sent, 'piece')} asked" + (f", {known} answered before" if known else "")
    readings: Sequence[SecondReading] = asked.readings
    for reading in readings:
        yield wrapped(_second_summary(reading))
    if any(view.verdict in {Verdict.OTHERWISE, Verdict.ASKS} for reading in readings for view in reading.views):
        yield f"What a person has to decide: shutline show {asked.sending.car}"


def added_lines(added: Added) -> Iterator[str]:
    """Say what came of bringing files in."""
    for item in added.items:
        if item.error:
            continue
        before = "" if item.new else ", known already"
        length = f", {clock(item.length_s)} long" if item.length_s else ""
        yield f"{printable(item.name)} → {item.car}: {item.kind}{length}{before}"
        if item.recording:
            counts = ((item.words, "word"), (item.findings, "finding"), (item.facts, "fact"), (item.stills, "still"))
            yield "  " + ", ".join(_count(number, name) for number, name in counts)
        if item.figures:
            yield f"  {_count(item.figures, 'figure')} read off it, to be looked at: shutline figures {item.car}"
        if item.engine:
            yield f"  the engine is heard in it: shutline engine {item.car} --kept"


def report_lines(made: ReportMade) -> Iterator[str]:
    """Say where the output lies."""
    yield f"{made.findings} findings, {made.unconfirmed} of them only heard and not confirmed. Written:"
    for file in made.files:
        yield f"  {file.path}  ({file.what}, {size(file.byte_size)})"
    if {"json", "captions"} & {file.what for file in made.files}:
        yield wrapped(
            "The JSON and the captions hold every word that was said or read, names and addresses too: they are for "
            "the firm. "
            "Look through them before they go to a stranger."
        )


def own_words_lines(own: OwnWords) -> Iterator[str]:
    """Say where the user's words lie and what each row adds."""
    if not own.rows:
        yield f"No words of your own; they would lie in {printable(str(own.folder))} (docs/own_words.md)."
        return
    where = printable(str(own.folder))
    yield f"{_count(len(own.rows), 'row')} in {where}, each fits its example and not its counter-example:"
    for row in own.rows:
        means = ", ".join(sense for sense in row.senses if sense) or row.kind
        yield wrapped(f"  {printable(row.id)}: {printable(' | '.join(row.phrases))} → {means}")


_COVERS = {
    "proposed": "all that is not struck",
    "stands": "only what a person confirmed or drew",
    "nothing": "nothing of it, by choice",
}


def settings_lines(shown: Mapping[str, Any]) -> Iterator[str]:
    """Say what is set, and where the files lie."""
    house, words, second = shown["house"], shown["words"], shown["second_reader"]
    details = house.details
    yield f"The house, in {printable(house.file)}"
    told = [details.name, *details.lines, details.telephone, details.sign and f"descriptions sign: {details.sign}"]
    for line in (line for line in told if line):
        yield f"  {printable(line)}"
    if details == type(details)():
        yield "  nothing yet"
    speaks = shown["description"]
    yield f"Descriptions, in {printable(speaks.file)}"
    yield f"  they speak {'as the house' if speaks.details.voice == 'we' else 'of the car alone'}"
    for line in speaks.details.closing:
        yield f"  at the end: {printable(line)}"
    wording = shown["wording"]
    yield f"Sentences of your own, in {printable(wording.folder)}"
    yield f"  {', '.join(file.name for file in wording.files if file.text != '') or 'none yet'}"
    yield f"Words of your own, in {printable(words.folder)}"
    for file in words.files:
        yield f"  {file.name}.csv: {_count(len(file.rows), 'row')}"
    guides = shown["guides"]
    yield f"Guides of your own, in {printable(guides.folder)}"
    there = [file for file in guides.files if file.text != ""]
    for file in there:
        label = file.head.get("label", "bands of cost")
        yield f"  {printable(file.name)}.toml: {printable(label)} ({_count(len(file.rows), 'check')})"
    if not there:
        yield "  none yet"
    film = shown["evidence"]
    yield f"The film itself, in {printable(film.file)}"
    yield f"  figures are {'read off it' if film.chosen.figures else 'read when asked for'}"
    yield f"  the engine is listened to{'' if film.chosen.engine else ' when asked for'}"
    masks = shown["masks"]
    yield f"What is covered in what goes out, in {printable(masks.file)}"
    yield f"  {', '.join(masks.chosen['kinds']) or 'no kind'}; {_COVERS[masks.chosen['covers']]}"
    buyer = shown["buyer"]
    yield f"For the buyer, in {printable(buyer.file)}"
    yield f"  where something was said that was struck, the film is {'silent' if buyer.chosen.silent else 'heard'}"
    yield f"  time stamps: {printable(buyer.chosen.stamp) or 'none'}"
    ledger = shown["ledger"]
    yield f"The ledger, in {printable(ledger.file)}"
    yield f"  rules of {ledger.chosen.country}, stagger {ledger.chosen.stagger}"
    yield from _market_lines(shown["market"])
    yield f"The second reader, in {printable(second.file)}"
    chosen = second.settings
    if chosen.address is None:
        yield "  off"
    else:
        key = f"the key in {chosen.key_variable}" if chosen.key_variable else "no key"
        yield f"  {printable(chosen.address)}, model {printable(chosen.model)}, with {printable(key)}"
    broken = (
        *house.problems,
        *speaks.problems,
        *wording.problems,
        *(one for file in wording.files for one in file.problems),
        *words.problems,
        *(one for file in guides.files for one in file.problems),
        *film.problems,
        *masks.problems,
        *buyer.problems,
        *ledger.problems,
        *shown["market"].problems,
        *second.problems,
        *(one for file in words.files for one in file.problems),
    )
    for problem in broken:
        yield wrapped(printable(problem.sentence()))


def _market_lines(market: MarketSettingsShown) -> Iterator[str]:
    own = sum(one.own is not None for one in market.entries)
    yield f"The market, in {printable(market.file)}"
    yield f"  {own or 'none'} of the entries {'is' if own == 1 else 'are'} yours"
    yield f"  {_count(len(market.premiums), 'auction')}, {_count(len(market.index), 'row')} of an index"


def _count(number: int, name: str) -> str:
    return f"{number} {name}" if number == 1 else f"{number} {name}s"


def _facts(facts: tuple[Fact, ...]) -> Iterator[str]:
    if facts:
        yield "Facts"
    told: dict[str, set[tuple[object, str | None]]] = {}
    for fact in facts:
        if fact.state is not State.STRUCK:
            told.setdefault(fact.name, set()).add((fact.value, fact.unit))
    for fact in facts:
        yield fact_line(fact)
    for name, values in told.items():
        if len(values) > 1:
            yield wrapped(f"  At odds: {len(values)} values were told for {name.replace('_', ' ')}; none was chosen.")
