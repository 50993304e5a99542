"""One claim held against what is known: backed, at odds, or unbacked, with what it stands on or what speaks against it.

What is said of the very place counts before what is said of the part anywhere. A contradiction counts before a footing:
a claim that is true of one of two doors is not true of the doors.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from shutline.car.findings import Found, Severity, Side
from shutline.car.vocabulary import vocabulary
from shutline.claims.covered import covers, of_every_one
from shutline.claims.fact_verdict import of_fact
from shutline.claims.judged import Doubt, Judged, Verdict
from shutline.claims.record import Known, Record, lies_at, may_touch
from shutline.claims.relations import Table, pieces_named, relations
from shutline.claims.sayings import Saying, Spot
from shutline.claims.told_sides import told_apart
from shutline.claims.written_data import small_words
from shutline.remarks.regions import regions
from shutline.remarks.tokens import phrase_tokens, structure_words


def judge(saying: Saying, on: Record) -> Judged:
    """Hold one saying against a record; work done backs that it was done, and a fault it put right is told as such."""
    judged = _judge(saying, on)
    if judged.verdict is not Verdict.UNBACKED or saying.spot is None or not on.done:
        return judged
    done = about_done(saying.spot, on)
    if work := tuple(one for one in done if _work_words(one.done) & saying.words):
        return Judged(Verdict.BACKED, work)
    gone = tuple(one for one in done if one.finding.condition == saying.condition and saying.found is Found.YES)
    return Judged(Verdict.UNBACKED, gone, doubt=Doubt.PUT_RIGHT) if gone and not judged.known else judged


def about_done(spot: Spot, on: Record) -> tuple[Known, ...]:
    """Give what was put right at a place."""
    return tuple(
        one
        for one in on.done
        if any(one.finding.part == meant.part and may_touch(meant, one.spot) for meant in spot.meanings())
    )


@cache
def _work_words(done: str) -> frozenset[str]:
    """Give the word for what was done, and its stem: of 'machine polish: polished since' that is polished."""
    word = done.rpartition(": ")[2].split(" ", 1)[0]
    return frozenset(form for token in phrase_tokens(word) for form in token)


def _judge(saying: Saying, on: Record) -> Judged:
    if saying.fact is not None:
        return of_fact(saying, on)
    assert saying.spot is not None  # noqa: S101 - a saying has either
    first: Judged | None = None
    for spot in saying.spot.meanings():
        if first is not None and (not _may_lie(spot) or _is_lesser(saying, spot)):
            continue
        judged = _of(saying, spot, on)
        if first is not None and judged.verdict is Verdict.BACKED and _of_all(saying):
            continue
        if judged.verdict is not Verdict.UNBACKED or judged.doubt is Doubt.UNSURE:
            return judged
        first = first or judged
    assert first is not None  # noqa: S101 - a spot has at least one meaning
    return first


def _is_lesser(saying: Saying, spot: Spot) -> bool:
    """Tell whether a place is only a lesser one that goes by the same word: the boot's floor, and not the floor."""
    return saying.spot is not None and spot.part in relations().lesser.get(saying.spot.part, ())


def _of_all(saying: Saying) -> bool:
    """Tell whether every piece of a whole is meant: in 'any of the glass' the glass is not the screen alone."""
    spot = saying.spot
    return spot is not None and spot.part in relations().whole and bool(small_words().each & saying.words)


def _may_lie(spot: Spot) -> bool:
    """Tell whether a part is found at the end or the side that is claimed: a steering wheel has no rear one."""
    where = regions()
    return (spot.position is None or spot.part in where.ended) and (spot.side is None or spot.part in where.sided)


def _of(saying: Saying, spot: Spot, on: Record) -> Judged:
    judging = _Judge(saying, spot, on)
    if not vocabulary().is_defect(saying.condition):
        return judging.good()
    return judging.denied() if saying.found is Found.NO else judging.there()


@dataclass(frozen=True, slots=True)
class _Weighed:
    """Which conditions speak against a claim: always, unless they are slight, and only where they are severe."""

    always: frozenset[str]
    unless_slight: frozenset[str] = frozenset()
    severe: frozenset[str] = frozenset()

    def counts(self, known: Known) -> bool:
        """Tell whether what is known speaks against it."""
        condition, severity = known.finding.condition, known.finding.severity
        return (
            condition in self.always
            or (condition in self.unless_slight and severity is not Severity.SLIGHT)
            or (condition in self.severe and severity is Severity.SEVERE)
        )


class _Judge:
    def __init__(self, saying: Saying, spot: Spot, on: Record) -> None:
        self.saying, self.spot, self.on = saying, spot, on
        self.condition = saying.condition
        self.tables = relations()
        entire = saying.condition == "present" and self.tables.entire & saying.words
        naming = saying.named | saying.words if spot.part in self.tables.functions else saying.named
        self.pieces = frozenset[int]() if entire else pieces_named(spot.part, naming)
        self.own = [k for k in on.within(spot.part) if may_touch(spot, k.spot) and self._of_piece(k)]
        self.oily = spot.part == "car" and self.condition == "leak" and "oil" in saying.words
        if self.oily:
            self.own = [k for part in self.tables.oily for k in on.findings.get(part, ())]
        if spot.part == "underside" and self.condition == "leak":
            self.own += [k for part in self.tables.drips for k in on.findings.get(part, ())]
        for kin in (self.tables.kin.get(self.condition, {}), self.tables.kin["any"]):
            if not any(k.finding.condition == self.condition for k in self.own):
                self.own += [
                    k for part in kin.get(spot.part, ()) for k in on.findings.get(part, ()) if may_touch(spot, k.spot)
                ]
        self.wide = list(on.around(spot.part))
        named = saying.named or saying.words
        for thing in self.tables.own_things:
            if thing & named:
                self.own = [k for k in self.own if thing & k.tokens]

    def _of_piece(self, known: Known) -> bool:
        """Tell whether what is known may be of the thing that is named: of a hose, and not of the pump."""
        if known.finding.part != self.spot.part or not self.pieces:
            return True
        return not known.pieces or bool(known.pieces & self.pieces)

    # -- the three kinds ----------------------------------------------------------------------------------------

    def denied(self) -> Judged:
        """Judge 'there is no rust in the sills'."""
        against = self._nearest(self._said(Found.YES, self._names(self.tables.against_denied)))
        if not against and self.spot.part in self.tables.whole and self.tables.wanting & self.saying.words:
            against = [k for k in self.own if k.finding.found is Found.YES and k.finding.remedy in self.tables.work]
        if against:
            return self._against(against)
        open_ = self._said(Found.UNSURE, self._names(self.tables.against_denied))
        backing = [
            *self._said(Found.NO, self._names(self.tables.backed_by_denied)),
            *self._said(Found.YES, self.tables.backed_by_good.get(self.condition, ())),
        ]
        return self._backed_or_not(backing, open_, for_all=True)

    def there(self) -> Judged:
        """Judge 'there is rust in the sills'."""
        names = self._names(self.tables.backed_by_there)
        left_open = self._said(Found.UNSURE, names)
        if self.saying.found is Found.UNSURE and left_open:
            return self._unbacked(left_open)
        backing = self._said(Found.YES, names)
        if self.condition == "fault" and self.spot.part in self.tables.whole:
            # A fault of anything is no footing for one that the words name: 'does it overheat'.
            backing = [k for k in backing if self._shares_a_word(k)]
        if not backing and self.tables.wanting & self.saying.words:
            # 'It wants polishing' stands on whatever was said to want a remedy.
            backing = [k for k in self.own if k.finding.found is Found.YES and k.finding.remedy is not None]
        if backing:
            return self._there_at(backing)
        against = self._said(Found.NO, self._names(self.tables.backed_by_denied))
        against += [k for k in self._said(Found.YES, ("sound",)) if self._rules_out(k)]
        good = {"missing": ("present",), "nonoriginal": ("original",), "fault": ("works",)}.get(self.condition, ())
        if self.condition == "fault" and small_words().not_so & self.saying.words:
            # 'Not solid' and 'hardly clean' deny what was praised; a fault of one piece does not.
            good = (*good, "sound")
        praised = self._said(Found.YES, good)
        if self.spot.part in self.tables.whole:
            # 'Not a perfect car' is at odds with no praise of one part.
            praised = [k for k in praised if k.finding.part == self.spot.part]
        against += praised
        if against:
            return self._against(self._nearest(against))
        open_ = left_open
        if not open_ and self.saying.placed and self.spot.side in (Side.NEAR, Side.OFF):
            elsewhere = [
                k
                for k in self.on.findings.get(self.spot.part, ())
                if k.finding.found is Found.YES and k.finding.condition in names and not may_touch(self.spot, k.spot)
            ]
            if elsewhere:
                return self._against(elsewhere)
        return self._unbacked(open_)

    def _there_at(self, backing: list[Known]) -> Judged:
        """Judge a fault that is there, by whether it is where it is claimed."""
        here = [k for k in backing if not told_apart(self.saying, k, self.on.drive)]
        if not here and self.saying.placed:
            return self._against(backing)
        if here and self.spot.part == _CAR and self.condition not in _NOT_PLAIN:
            # 'It is not rust free' is so wherever the rust is.
            return Judged(Verdict.BACKED, tuple(here))
        return self._backed_or_not(here, [], for_all=self._of_both())

    def good(self) -> Judged:
        """Judge 'the sills are solid', 'the heater works', 'the handbook is with it'."""
        backing = self._said(Found.YES, self._good_names())
        if self.condition == "sound":
            backing += self._said(Found.NO, self._meant())
        if self.condition == "present" and not self._said(Found.YES, ("missing",)):
            backing += [
                k
                for k in self.own
                if k.finding.part == self.spot.part and k not in backing and (k.pieces or not self.pieces)
            ]
        if self.spot.part in self.tables.kits and not self.pieces:
            backing = [k for k in backing if len(k.pieces) != 1 or self.tables.kit_words & k.tokens]
        against = self._nearest(self._against_good(backing))
        if against:
            return self._against(against)
        swapped = [] if backing else self._renewed_elsewhere()
        if swapped:
            return self._against(swapped)
        open_ = self._said(Found.UNSURE, self.tables.against_good.get(self.condition, ()))
        return self._backed_or_not(backing, open_, for_all=True)

    def _renewed_elsewhere(self) -> list[Known]:
        """Give what is rusty where new metal is claimed, if it is the other side that was renewed."""
        if self.condition != "renewed" or not self.saying.placed or self.spot.side not in (Side.NEAR, Side.OFF):
            return []
        other = any(
            k.finding.condition == "renewed" and k.finding.found is Found.YES and not may_touch(self.spot, k.spot)
            for k in self.on.findings.get(self.spot.part, ())
        )
        return self._said(Found.YES, self.tables.against_denied["rust"]) if other else []

    # -- what speaks for and against ----------------------------------------------------------------------------

    def _rules_out(self, known: Known) -> bool:
        """Tell whether praise that was given speaks of the very trouble claimed: 'straight' where a dent is."""
        if known.finding.part != self.spot.part or not may_touch(self.spot, known.spot):
            return False
        rows = (row for row in self.tables.said_with if self.condition in row.against)
        return any(row.words & known.tokens for row in rows)

    def _shares_a_word(self, known: Known) -> bool:
        quoted = {stem for _, stem in phrase_tokens(" ".join(f.quote for f in known.finding.footings))}
        return bool(quoted & self.saying.words - structure_words())

    def _names(self, table: Table) -> tuple[str, ...]:
        rows = [row for row in self.tables.may_be if self.condition in row.against and row.words & self.saying.words]
        if rows:
            return (self.condition, *(name for row in rows for name in row.against))
        return table.get(self.condition, (self.condition,))

    def _good_names(self) -> tuple[str, ...]:
        names = self.tables.backed_by_good.get(self.condition, ())
        if self.condition in ("works", "sound") and self.spot.part in self.tables.moving:
            return ("works", "sound")
        return names

    def _said(self, found: Found, names: Iterable[str]) -> list[Known]:
        names = frozenset(names)
        near = [k for k in self.own if k.finding.found is found and k.finding.condition in names]
        if near or found is Found.UNSURE:
            return near
        # What was said of the whole holds for each of its parts, and a praise of the whole does not.
        if found is Found.NO:
            return [k for k in self.wide if k.finding.found is found and k.finding.condition in names]
        return []

    def _meant(self) -> tuple[str, ...]:
        """Give the kinds of trouble that a word of praise speaks of: 'straight' of dents; the part named, of none."""
        quote, words = self.saying.quote.casefold(), self.saying.words - self.saying.named
        rows = (
            row.against
            for row in self.tables.said_with
            if row.words & words and not any(phrase in quote for phrase in row.unless)
        )
        return tuple(name for row in rows for name in row)

    def _against_good(self, backing: list[Known]) -> list[Known]:
        """Give what speaks against something good that is claimed, given what was said for it."""
        tables, condition = self.tables, self.condition
        of_it = [k for k in backing if k.finding.part == self.spot.part]
        if of_it and tables.others & self.saying.words:
            return []
        if (
            of_it
            and condition == "renewed"
            and not tables.entire & self.saying.words
            and covers(self.saying, self.spot, of_it)
        ):
            return []
        own = self.own
        if any(k.pieces & self.pieces for k in backing):
            # The very piece was spoken of, so what names none is of another.
            own = [k for k in own if k.pieces & self.pieces]
        if condition == "original" and of_it:
            own = [k for k in own if k.finding.part == self.spot.part]
        if condition == "sound" and self.spot.part in tables.whole and not self._each():
            # Of a whole, what is wrong with one piece of it counts only where it is bad; 'all the glass' is each pane.
            own = [
                k
                for k in own
                if k.finding.part == self.spot.part
                or k.finding.severity is Severity.SEVERE
                or k.finding.condition == "perforation"
            ]
        if condition == "original" and tables.welded.words & self.saying.words and self.spot.part in tables.whole:
            # 'No welding' speaks of the metal alone.
            own = [k for k in own if k.finding.part in tables.welded_parts]
        weighed = self._weighed_as_sound(backing) if condition == "sound" else self._weighed(of_it)
        against = [k for k in own if k.finding.found is Found.YES and weighed.counts(k)]
        return against or (self._worse_elsewhere(own, of_it) if condition == "sound" else [])

    def _worse_elsewhere(self, own: list[Known], praised: list[Known]) -> list[Known]:
        """Give what is wrong with one of several that was itself not praised: one seat is torn, the others are good."""
        spot = self.spot
        placed = spot.side in (Side.NEAR, Side.OFF) or spot.position is not None
        # 'Fronts have good tyres.'
        placed = placed or not small_words().all_at_end.isdisjoint(self.saying.quote.casefold().split())
        several = spot.each or bool(small_words().every_one & self.saying.words)
        if not several or placed or spot.part in self.tables.whole:
            return []
        sided = [k for k in praised if k.finding.side in (Side.NEAR, Side.OFF) or k.finding.position is not None]
        if not sided or len(sided) < len(praised):
            return []
        weighed = _Weighed(
            frozenset(self.tables.against_good["sound"]),
            frozenset(self.tables.against_good_unless_slight["sound"]),
            frozenset(self.tables.sound_when_severe),
        )
        return [
            k
            for k in own
            if k.finding.found is Found.YES
            and k.finding.part == spot.part
            and weighed.counts(k)
            and not any(may_touch(one.spot, k.spot) for one in praised)
        ]

    def _weighed(self, of_it: list[Known]) -> _Weighed:
        """Give what speaks against 'works', 'new', 'original' and 'there'."""
        tables, words, condition = self.tables, self.saying.words, self.condition
        names = set(tables.against_good.get(condition, ()))
        unless_slight = set(tables.against_good_unless_slight.get(condition, ()))
        if condition == "renewed" and self.spot.part in tables.soon_renewed:
            unless_slight |= set(tables.soon_renewed_against)
        if condition == "renewed" and tables.exchanged.words & words:
            names |= set(tables.exchanged.against)
        if condition == "works" and of_it:
            names -= {"missing"}
        if condition == "original":
            names -= {"missing"} - self._gone()
        unless_slight |= self._added()
        if condition == "original" and tables.welded.words & words:
            names |= set(tables.welded.against)
        if condition == "original" and tables.painted.words & words:
            names |= set(tables.painted.against)
        elif condition == "original" and self.spot.part in tables.original_of:
            names |= set(tables.original_against)
        return _Weighed(frozenset(names), frozenset(unless_slight))

    def _weighed_as_sound(self, backing: list[Known]) -> _Weighed:
        """Give what speaks against praise: all that the very words speak of, and else by how much they praise."""
        tables = self.tables
        utter, meant, added = self._utter(), frozenset(self._meant()), self._added()
        if meant:
            always = (
                meant
                if utter or of_every_one(self.saying, self.spot)
                else meant & {"perforation", "damp", "leak", "fault"}
            )
            if self.spot.part in tables.moving:
                always |= {"fault"}
            if not self._praised(backing):
                always |= meant & {"dent"}
            return _Weighed(always | {"perforation"} | self._gone(), meant)
        every_one = self.spot.each and small_words().every_one & self.saying.words
        if self._praised(backing) and not utter and not every_one:
            # Praise that was given goes out with its blemishes; what is broken or holed is more than one.
            return _Weighed(frozenset({"perforation", "fault"}))
        names = frozenset(tables.against_good["sound"])
        unless_slight = frozenset(tables.against_good_unless_slight["sound"]) | added
        if utter:
            return _Weighed(names | frozenset(tables.utter.against), unless_slight)
        return _Weighed(names, unless_slight, frozenset(tables.sound_when_severe))

    def _gone(self) -> frozenset[str]:
        """Give 'missing' where nothing else is known of the place: it is then no piece that is wanting."""
        there = [k for k in self.own if k.finding.found is Found.YES]
        absent = [k.spot for k in there if k.finding.condition == "missing"]
        gone = any(all(k.finding.condition == "missing" or k.spot != spot for k in there) for spot in absent)
        return frozenset({"missing"}) if gone else frozenset()

    def _utter(self) -> bool:
        """Tell whether the praise is without reserve: 'flawless', 'as new'."""
        quote = f" {self.saying.quote.casefold()} "
        return bool(self.tables.utter.words & self.saying.words) or any(
            f" {phrase} " in quote for phrase in self.tables.utter_phrases
        )

    def _added(self) -> frozenset[str]:
        """Give what more its words bring in: 'chrome' of pits, 'smoothly' of noise."""
        rows = (row for row in self.tables.added if self.condition in row.of and row.words & self.saying.words)
        return frozenset(name for row in rows for name in row.against)

    def _each(self) -> bool:
        """Tell whether a claim of a whole is one of each piece: 'all the glass is good', 'the cabin is flawless'."""
        quote = f" {self.saying.quote.casefold()} "
        named = any(f" {phrase} " in quote for phrase in self.tables.entire_phrases)
        whole = bool(self.tables.entire & self.saying.words) or self.spot.part in self.tables.few
        return named or whole or self._utter()

    def _praised(self, backing: list[Known]) -> bool:
        """Tell whether the very thing, in all the places claimed, was itself called good."""
        spot = self.spot
        there = [
            k
            for k in backing
            if k.finding.condition == "sound"
            and (k.pieces or not self.pieces)
            and (spot.side not in (Side.NEAR, Side.OFF) or k.finding.side in (spot.side, Side.BOTH))
        ]
        return bool(there) and covers(self.saying, spot, there)

    # -- putting the verdict together ---------------------------------------------------------------------------

    def _nearest(self, known: list[Known]) -> list[Known]:
        """Leave out what was said without a place where the very place was spoken of in that matter."""
        if self.spot.side is None and self.spot.position is None:
            return known
        there = [k for k in known if lies_at(self.spot, k.spot)]
        if there:
            return there
        names = {k.finding.condition for k in known} | {self.condition}
        settled = any(
            lies_at(self.spot, k.spot) and k.finding.part == self.spot.part and k.finding.condition in names
            for k in self.own
        )
        return [] if settled else known

    def _against(self, known: list[Known]) -> Judged:
        return Judged(Verdict.AT_ODDS, tuple(known))

    def _of_both(self) -> bool:
        return self.spot.side is Side.BOTH and bool(self.saying.words & {"both", "either", "each"})

    def _backed_or_not(self, backing: list[Known], open_: list[Known], *, for_all: bool) -> Judged:
        part, words = self.spot.part, self.saying.words
        if self.spot.part in _PAPERS:
            backing = [k for k in backing if self._as_many_papers(k)]
        backing = [k for k in backing if self.tables.going_along.bears_out(part, words, k.tokens)]
        settled = [k for k in backing if self._speaks_for(k) and not told_apart(self.saying, k, self.on.drive)]
        if open_ and not any(lies_at(self.spot, k.spot) for k in settled):
            return self._unbacked(open_)
        if settled and (not for_all or covers(self.saying, self.spot, settled)):
            return Judged(Verdict.BACKED, tuple(settled))
        if settled or backing:
            return Judged(Verdict.UNBACKED, tuple(settled or backing), doubt=Doubt.ONE_OF_SEVERAL)
        return self._unbacked([])

    def _as_many_papers(self, known: Known) -> bool:
        """Tell whether papers were said to be as many: a folder of old bills is no full history, nor one from new."""
        claimed = self.saying.quote.casefold()
        told = " ".join(footing.quote for footing in known.finding.footings).casefold()
        back = [phrase for phrase in self.tables.far_back if phrase in claimed]
        complete = not self.tables.entire & self.saying.words or bool(self.tables.entire & known.tokens)
        return complete and (not back or any(phrase in told for phrase in self.tables.far_back))

    def _speaks_for(self, known: Known) -> bool:
        """Tell whether what is known holds for the place claimed; of the whole it takes what was said of the whole."""
        if self.spot.part in self.tables.whole and known.finding.part != self.spot.part:
            return self.oily or self.spot.part == "engine_bay" or self._wide_enough(known)
        return True

    def _wide_enough(self, known: Known) -> bool:
        return known.finding.part in self.tables.whole or self.condition == "renewed"

    def _unbacked(self, open_: list[Known]) -> Judged:
        if open_:
            return Judged(Verdict.UNBACKED, tuple(open_), doubt=Doubt.UNSURE)
        if self.own:
            return Judged(Verdict.UNBACKED, doubt=Doubt.OTHER_MATTER)
        return Judged(Verdict.UNBACKED, doubt=Doubt.SILENT)


_PAPERS = frozenset({"papers", "service_history"})
_CAR = "car"
_NOT_PLAIN = frozenset({"fault", "missing", "nonoriginal"})
"""Faults that may be of anything, so that one is no footing for another."""
