"""The draft: which sections, in what order and at what length; each sentence with what it stands on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Footing
from shutline.car.prep_done import footings_of
from shutline.car.recordings import Kind
from shutline.car.vocabulary import vocabulary
from shutline.publish.plain import one_line
from shutline.publish.private import Private
from shutline.survey.coverage import Coverage
from shutline.survey.odds import Odds
from shutline.words.as_named import at_its_seat
from shutline.words.choice import Chosen, choose, is_good
from shutline.words.facts import Known, full_title, heard, history, kind, opening
from shutline.words.gaps import grave_gaps, unseen
from shutline.words.grave import grave_ids
from shutline.words.model import Draft, Footed, FootedOn, Length, Paragraph, Sentence, Untold
from shutline.words.phrases import Turns, filled, sentence
from shutline.words.prose import Told, tell
from shutline.words.remedies import doing, done
from shutline.words.rows import SECTIONS
from shutline.words.shorter import line, short
from shutline.words.stories import Manner
from shutline.words.wording import Wording, shipped_wording

_NO_MOT = Footed(FootedOn.FILE, "fact mot_until")
_NO_PLACE = "it goes without saying beside the rest, nobody said which one, or each of them has a fault"


@dataclass(frozen=True, slots=True)
class House:
    """Who offers the car, and how its descriptions end.

    `closing` are lines of the house's own, told at the end; `sign` how it signs. `headings` prints one over each
    section; `marks` lets the registration mark and the chassis number go out.
    """

    name: str = ""
    telephone: str = ""
    sign: str = ""
    closing: tuple[str, ...] = ()
    headings: bool = True
    marks: bool = False


def write_draft(
    car_file: CarFile,
    *,
    length: Length = Length.FULL,
    found: Coverage,
    odds: Sequence[Odds] = (),
    house: House | None = None,
    wording: Wording | None = None,
    private: Private | None = None,
    today: date | None = None,
) -> Draft:
    """Draft the words a car is offered with.

    Parameters
    ----------
    car_file : CarFile
        Findings that stand and facts with a footing are told, and nothing else; facts that were heard and nobody has
        confirmed as said.
    length : Length
        A line, a short or a full.
    found : Coverage
        The car file held against its guide: what was not looked at.
    odds : sequence of Odds
        What cannot be true together and nobody has decided: of such findings the good news is left out.
    house : House, optional
        Who offers it.
    wording : Wording, optional
        The shipped one when left out.
    private : Private, optional
        What may not leave: it is taken out of the title and of facts in somebody's own words. All else that is told is
        told in words of the wording's.
    today : date, optional
        The day it is written on: an MOT that ran out before is told as over. Left out, none is.

    Returns
    -------
    Draft
        The same for the same arguments. A full one names every fault and doubt that stands.
    """
    wording = wording or shipped_wording()
    house = house or House()
    chosen = _as_named(choose(car_file, odds=odds), wording)
    known = Known(chosen.facts, car_file, private=private or Private(), today=today)
    manner = Manner(wording, car_file.drive, car_file.doors or known.doors, Turns())
    writer = _Writer(car_file, chosen=chosen, known=known, manner=manner, house=house, found=found)
    title = writer.title()
    if length is Length.LINE:
        paragraphs: tuple[Paragraph, ...] = ()
        title = writer.line(title)
    else:
        paragraphs = writer.short() if length is Length.SHORT else writer.full()
    told = {footed.id for paragraph in paragraphs for one in paragraph.sentences for footed in one.stands_on}
    untold = chosen.untold
    if length is Length.FULL:
        untold = (*untold, *writer.unplaced(told))
    faults = tuple(kept.id for kept in chosen.findings if not is_good(kept.finding))
    as_said = tuple(one for _, ids in known.heard.values() for one in ids)
    return Draft(car_file.name, length, title, paragraphs, chosen.waiting, untold, faults, as_said)


def _as_named(chosen: Chosen, wording: Wording) -> Chosen:
    told, done = ([at_its_seat(one, wording) for one in kept] for kept in (chosen.findings, chosen.put_right))
    return replace(chosen, findings=tuple(told), put_right=tuple(done))


class _Writer:
    """All that a draft is made with."""

    def __init__(
        self, car_file: CarFile, *, chosen: Chosen, known: Known, manner: Manner, house: House, found: Coverage
    ) -> None:
        self._file, self._chosen, self._known, self._manner = car_file, chosen, known, manner
        self._house, self._found = house, found
        self._footings: dict[str, Sequence[Footing]] = {
            **{kept.id: kept.finding.footings for kept in chosen.findings},
            **{kept.id: kept.fact.footings for kept in chosen.facts},
            **{kept.id: footings_of(kept.put_right) for kept in chosen.put_right if kept.put_right is not None},
        }
        self._grave = grave_ids(chosen.findings, found)
        self._facts = {kept.id for kept in chosen.facts}

    def title(self) -> Sentence:
        """Give the title line."""
        words, ids = full_title(self._file, self._known)
        given = (Footed(FootedOn.FILE, "title"),) if words else ()
        if not words:
            words, ids = kind(self._known)
            if not words:
                words, given = one_line(self._file.name), (Footed(FootedOn.FILE, "name"),)
        return Sentence(sentence(words), (*given, *self._stands_on(ids)))

    def line(self, title: Sentence) -> Sentence:
        """Give the description in a line."""
        text, ids, faults = line(title.text, self._known, self._chosen, self._manner, grave=self._grave)
        stands = (*title.stands_on, *self._stands_on(ids), *((_NO_MOT,) if self._known.has_no_mot else ()))
        return Sentence(text, tuple(dict.fromkeys(stands)), faults)

    def full(self) -> tuple[Paragraph, ...]:
        """Give the paragraphs of a full description."""
        nouns = self._manner.wording.nouns
        known, manner = self._known, self._manner
        opened = [*opening(self._file, known, manner), *heard(known, manner, "opening")]
        out = [self._paragraph("opening", opened)]
        for section in SECTIONS:
            told = [*history(known, manner), *heard(known, manner, "history")] if section == "history" else []
            groups = dict.fromkeys(noun.paragraph for noun in nouns.values() if noun.section == section)
            first = True
            for group in groups:
                parts = [name for name, noun in nouns.items() if (noun.section, noun.paragraph) == (section, group)]
                told = [*told, *tell(parts, self._spoken_of(parts, told), self._manner)]
                if told:
                    out.append(self._paragraph(section, told, heading=first))
                    first = False
                told = []
        out.append(self._paragraph("done", done(self._chosen.put_right, self._manner)))
        out.append(self._paragraph("doing", doing(self._chosen.findings, self._manner)))
        checked, sentences = unseen(self._file, self._found, self._manner)
        out.append(self._paragraph("unseen", sentences, heading=True, extra=checked))
        out += [self._see(), self._sign()]
        return tuple(one for one in out if one.sentences)

    def short(self) -> tuple[Paragraph, ...]:
        """Give the paragraphs of a short description."""
        known, manner = self._known, self._manner
        first = [*opening(self._file, known, manner)[:2], *history(known, manner)]
        first += heard(known, manner, "opening", "history")
        if known.has_no_mot:
            first.append(Told(manner.wording.templates["short.mot_none"][0], (_NO_MOT.id,), ()))
        out = [self._paragraph("opening", first, heading=False, extra={_NO_MOT.id: _NO_MOT})]
        groups = short(self._chosen.findings, self._manner, grave=self._grave)
        out += [self._paragraph("state", told, heading=False) for told in groups]
        checked, gaps = grave_gaps(self._file, self._found, self._manner)
        out.append(self._paragraph("unseen", gaps, heading=False, extra=checked))
        out += [replace(self._see(), heading=""), self._sign()]
        return tuple(one for one in out if one.sentences)

    def unplaced(self, told: set[str]) -> Iterable[Untold]:
        """Name the good news that found no place in a full description."""
        for kept in self._chosen.findings:
            if kept.id not in told:
                finding = kept.finding
                label = vocabulary().parts[finding.part].label
                condition = vocabulary().conditions[finding.condition].label
                told_of = f"{label}: {'no ' if finding.found.value == 'no' else ''}{condition}"
                yield Untold(kept.id, told_of, _NO_PLACE)

    def _spoken_of(self, parts: Iterable[str], told: Sequence[Told]) -> list[KeptFinding]:
        keys = any(name in self._known.ids("keys") for one in told for name in one.ids)
        there = set(parts)
        return [
            kept
            for kept in self._chosen.findings
            if kept.finding.part in there
            # 'Two keys come with it' has said that they are there.
            and not (keys and kept.finding.part == "keys" and is_good(kept.finding))
        ]

    def _see(self) -> Paragraph:
        house, templates = self._house, self._manner.wording.templates
        told: list[Sentence] = []
        values = {"house": house.name, "telephone": house.telephone}
        known = {name: value for name, value in values.items() if value}
        call = {2: 0, 1: 1 if house.telephone else 2}.get(len(known))
        if call is not None:
            stands = tuple(Footed(FootedOn.HOUSE, name) for name in known)
            told.append(Sentence(filled(templates["see.call"][call], known), stands))
        filmed = [one for one in self._file.recordings if one.original.kind is Kind.FILM]
        if filmed:
            stands = tuple(Footed(FootedOn.FILE, "recording", source=one.id) for one in filmed)
            told.append(Sentence(templates["see.film"][0], stands))
        told += [Sentence(text, (Footed(FootedOn.HOUSE, "closing"),)) for text in house.closing]
        return Paragraph("see", self._heading("see"), tuple(told))

    def _sign(self) -> Paragraph:
        sign = self._house.sign
        return Paragraph("sign", "", (Sentence(sign, (Footed(FootedOn.HOUSE, "sign"),)),) if sign else ())

    def _paragraph(
        self, section: str, told: Iterable[Told], *, heading: bool = True, extra: dict[str, Footed] | None = None
    ) -> Paragraph:
        sentences = tuple(Sentence(one.text, self._stands_on(one.ids, extra), one.faults) for one in told)
        return Paragraph(section, self._heading(section) if heading else "", sentences)

    def _heading(self, section: str) -> str:
        words = self._manner.wording.templates.get(f"headings.{section}")
        return words[0] if words and self._house.headings else ""

    def _stands_on(self, ids: Iterable[str], extra: dict[str, Footed] | None = None) -> tuple[Footed, ...]:
        found: list[Footed] = []
        for name in ids:
            if extra is not None and name in extra:
                found.append(extra[name])
                continue
            on = FootedOn.FACT if name in self._facts else FootedOn.FINDING
            stood = self._footings[name]
            found += [Footed(on, name, footing.kind, footing.source, footing.start_s) for footing in stood]
        return tuple(dict.fromkeys(found))
