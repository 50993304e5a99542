"""A text in which several things are asked, as its questions: each whole, so that each can be answered by itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.findings import Drive
from shutline.claims.gathered import WHOLE, named_parts
from shutline.claims.lines import Sentence
from shutline.claims.question_data import Leaning, leaning_words, question_words
from shutline.claims.questions import LONGEST, Asked, asked, mended
from shutline.claims.written_data import WrittenWords, shipped_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_LETTERS = re.compile(r"\w+")
_TYPED = re.compile(r"\w[\w'/.]*\w|\w")
"""A word as it is put right, and the pieces of it."""


def each_question(text: str, *, drive: Drive = Drive.RHD, words: WrittenWords | None = None) -> tuple[str, ...]:
    """Cut a text in which several things are asked into its questions.

    A list of parts is asked of each part, and what leans on the question before it is asked with what it leans on. A
    question that nothing is cut from stays as it was typed.

    Examples
    --------
    >>> each_question("how many owners has it had and is there any rust in the sills?")
    ('how many owners has it had', 'is there any rust in the sills?')
    >>> each_question("any rust on the sills? and the arches?")
    ('any rust on the sills?', 'any rust on the arches')
    >>> each_question("is the heater working and does it get hot?")
    ('is the heater working and does it get hot?',)
    """
    reader = _Reader(drive, words or shipped_words(), leaning_words())
    typed = " ".join(text[:LONGEST].split())
    out: list[str] = []
    for question in reader.cut(typed):
        out += reader.each_of_list(question)
    return tuple(dict.fromkeys(_as_typed(question, typed) for question in out))


@dataclass(frozen=True, slots=True)
class _Named:
    """A part that a question names: its first letter and end, with the words before it that tell its place."""

    first: int
    noun: int
    end: int

    def of(self, text: str) -> str:
        """Give its words."""
        return text[self.first : self.end]


@dataclass(frozen=True, slots=True)
class _Reader:
    drive: Drive
    words: WrittenWords
    forms: Leaning

    # -- questions that stand one behind the other ---------------------------------------------------------------

    def cut(self, typed: str) -> list[str]:
        """Cut where a question ends, or another opens, and both sides ask something."""
        cuts = list(question_words().several.finditer(typed))
        out: list[str] = []
        now, at = "", 0
        for number, cut in enumerate(cuts):
            end = cuts[number + 1].start() if number + 1 < len(cuts) else len(typed)
            before = f"{now}{typed[at : cut.start()]}{_mark(cut.group())}"
            after = typed[cut.end() : end]
            if question_words().at_first.match(after):
                now, at = f"{before.rstrip('?')} ", cut.end()
                continue
            whole = self.asks(before, first=True)
            led = self.led_on(before, after, cut.group())
            if led:
                out += [] if self.only_names(before) else [before]
                now, at = led, end
            elif whole and self.opens(after) and (self.asks(after) or self.of_another(before, after)):
                out.append(before)
                now, at = "", cut.end()
            else:
                now, at = before + cut.group().removeprefix("?"), cut.end()
        return [*out, now + typed[at:]]

    def opens(self, after: str) -> bool:
        """Tell whether words behind a mark begin a question, or name a part and ask something of it."""
        if self.forms.opens.match(after):
            return True
        what = self.read(after)
        return bool(what.sayings) or bool(what.fact) or bool(what.values)

    def asks(self, part: str, *, first: bool = False) -> bool:
        """Tell whether some words ask something by themselves: of a fact, of the sale, or of a part that they name.

        The first may speak of the car without naming it: 'any rust? does the heater work?'
        """
        what = self.read(part)
        if what.fact or what.values or what.sale or what.worded or (first and what.sayings):
            return True
        return bool(what.spots) and bool(self.named(mended(part)))

    def of_another(self, before: str, after: str) -> bool:
        """Tell whether words that name no part are of another than the question before: 'does it smoke'."""
        named = {spot.part for spot in self.read(before).spots}
        parts = {saying.spot.part for saying in self.read(after).sayings if saying.spot is not None}
        return bool(parts) and WHOLE not in parts and not parts & named

    def only_names(self, part: str) -> bool:
        """Tell whether a part is named and nothing is asked of it: 'tyres? how old are they'."""
        what = self.read(part)
        return not (what.sayings or what.fact or what.values or what.sale or what.open or what.faults)

    # -- what leans on the question before it --------------------------------------------------------------------

    def led_on(self, before: str, after: str, mark: str) -> str:
        """Give what leans on a question as a whole one; nothing where it does not lean, or cannot be put so."""
        before, after = _bare(mended(before)), self.forms.lead.sub("", _bare(mended(after)))
        parts, here = self.named(before), self.named(after)
        if not parts or not after or len(here) > 1 or (not here and self.read(after).fact):
            return ""
        if here:
            return self.other_part(before, after) if "?" in mark or not self.opens_itself(after) else ""
        pronoun = self.forms.alone if self.only_names(before) else self.forms.pronoun
        if pronoun.search(after) and self.opens_itself(after):
            return pronoun.sub(_the(parts[-1].of(before)), after, count=1)
        if end := self.forms.end.search(after):
            return self.other_end(before, parts, end.group("end"))
        return self.of_part(parts[0].of(before), after) if len(parts) == 1 else ""

    def of_part(self, part: str, after: str) -> str:
        """Ask of a part what is asked behind it: 'any pitting'; not what has a part of its own, as smoke."""
        if not (self.forms.any.match(after) or self.forms.one.match(after)):
            return ""
        if any(saying.spot is None or saying.spot.part != WHOLE for saying in self.read(after).sayings):
            return ""
        whole = f"{after} {self.forms.on} {_the(part)}"
        return whole if self.read(whole).sayings else ""

    def opens_itself(self, after: str) -> bool:
        """Tell whether words begin as a question does."""
        return bool(self.forms.opens.match(after))

    def other_part(self, before: str, after: str) -> str:
        """Ask of a part that is named alone what the question before it asks: 'and the arches'."""
        what = self.read(before)
        alone = self.forms.too.sub("", after)
        parts, here = self.named(before), self.named(alone)
        if len(here) != 1 or here[0].first > 0 or here[0].end < len(alone) or not parts:
            return ""
        if not (what.sayings or what.open or what.faults) or self.read(alone).sayings:
            return ""
        part = parts[-1]
        return self.agreeing(before[: part.first] + alone + before[part.end :])

    def other_end(self, before: str, parts: Sequence[_Named], end: str) -> str:
        """Ask of the other side or end what the question before it asks: 'and the front one'."""
        part = parts[-1]
        asked_of = part.of(before)
        for one, two in self.forms.opposites:
            for here, there in ((one, two), (two, one)):
                if end in (there, "other") and re.search(rf"\b{here}\b", asked_of):
                    return before[: part.first] + re.sub(rf"\b{here}\b", there, asked_of) + before[part.end :]
        if end == "other" or re.search(rf"\b{end}\b", asked_of):
            return ""
        return f"{before[: part.noun]}{end} {before[part.noun :]}"

    # -- lists within one question -------------------------------------------------------------------------------

    def each_of_list(self, question: str) -> list[str]:
        """Ask of each in a list what the question asks of all; the question as it stands where it has none."""
        plain = _bare(mended(question))
        choice = self.forms.choice.search(plain) and not (self.forms.any.match(plain) or self.forms.doings.match(plain))
        if choice or self.forms.no_list.search(plain):
            return [question]
        for way in (self.things, self.doings, self.ends, self.parts, self.tail, self.clauses):
            if listed := way(plain):
                return listed
        return [question]

    def things(self, plain: str) -> list[str]:
        """Cut 'does it come with two keys and the log book': one of them at least is a fact."""
        return self.framed(plain, self.forms.things, lambda what, text: bool(what.fact or self.named(text)), fact=True)

    def doings(self, plain: str) -> list[str]:
        """Cut 'does it smoke, burn oil or knock': each is of a part that is not named."""
        each = self.framed(plain, self.forms.doings, lambda what, _: bool(what.spots))
        parts = {spot.part for one in each for spot in self.read(one).spots}
        return each if len(parts) > 1 else []

    def framed(
        self, plain: str, frame: re.Pattern[str], fits: Callable[[Asked, str], bool], *, fact: bool = False
    ) -> list[str]:
        """Put each of a list behind the words that open the question, where each then fits."""
        opening = frame.match(plain)
        if opening is None:
            return []
        items = [item for item in self.forms.join.split(plain[opening.end() :]) if item]
        each = [one if frame.match(one) else f"{opening.group()}{one}" for one in items]
        read = [self.read(one) for one in each]
        if len(each) < 2 or (fact and not any(what.fact for what in read)):
            return []
        asking = all(what.fact or what.sayings for what in read)
        whole = asking and all(fits(what, one) for what, one in zip(read, each, strict=True))
        return [self.agreeing(one) for one in each] if whole else []

    def clauses(self, plain: str) -> list[str]:
        """Cut 'do all the doors work and windows wind': each names a part and asks something of it."""
        opening = self.forms.clauses.match(plain)
        pieces = [piece for piece in self.forms.join.split(plain) if piece]
        if opening is None or len(pieces) < 2:
            return []
        each = [pieces[0], *(p if self.opens_itself(p) else f"{opening.group()}{p}" for p in pieces[1:])]
        whole = all(self.named(piece) and self.read(piece).sayings for piece in pieces)
        return [each[0], *(self.agreeing(one) for one in each[1:])] if whole else []

    def parts(self, plain: str) -> list[str]:
        """Cut 'do the wipers and the washers work': the parts stand side by side."""
        named = self.named(plain)
        for at in range(len(named)):
            end = at
            while end + 1 < len(named) and self.forms.only_joins.fullmatch(
                plain[named[end].end : named[end + 1].first]
            ):
                end += 1
            if end > at:
                first, last = named[at].first, named[end].end
                each = [plain[:first] + one.of(plain) + plain[last:] for one in named[at : end + 1]]
                return [self.agreeing(one) for one in each] if all(self.asks_of_part(one) for one in each) else []
        return []

    def ends(self, plain: str) -> list[str]:
        """Cut 'are the front and rear bumpers ok': two ends, or sides, of one part."""
        for one, two in self.forms.opposites:
            found = re.search(rf"\b(?:{one} and {two}|{two} and {one})\b(?= )", plain)
            if found and any(part.noun == found.end() + 1 for part in self.named(plain)):
                each = [plain[: found.start()] + end + plain[found.end() :] for end in found.group().split(" and ")]
                return each if all(self.asks_of_part(one) for one in each) else []
        return []

    def tail(self, plain: str) -> list[str]:
        """Cut 'is the boot floor solid and the inner wings too': the last of the list stands behind what is asked."""
        joins = list(self.forms.join.finditer(plain))
        if not joins:
            return []
        before, after = plain[: joins[-1].start()], plain[joins[-1].end() :]
        led, named = self.other_part(before, after), self.named(before)
        if not led and named and (end := self.forms.end.search(after)):
            led = self.other_end(before, named, end.group("end"))
        return [*self.each_of_list(before), led] if led else []

    def asks_of_part(self, question: str) -> bool:
        """Tell whether something is asked of a part: its state, one thing of it, or all that is wrong with it."""
        what = self.read(question)
        return bool(what.spots) and bool(what.sayings or what.open or what.faults)

    def agreeing(self, question: str) -> str:
        """Put the verb that opens a question right for the one part it now names: 'are the boot floor' is 'is'."""
        named = self.named(question)
        if not named:
            return question
        for one, several in self.forms.verbs:
            for verb in (one, several):
                if question[: named[0].first] == f"{verb} ":
                    rest = question[named[0].first :]
                    return f"{several if _is_plural(named[0].of(question)) else one} {rest}"
        return question

    # -- reading -------------------------------------------------------------------------------------------------

    def read(self, question: str) -> Asked:
        return asked(question, drive=self.drive, words=self.words)

    def named(self, plain: str) -> list[_Named]:
        """Give the parts that are named, each with the words before it that tell its side and end."""
        out = []
        for first, end, _ in named_parts(Sentence(plain, 0), self.drive, self.words):
            placed = self.forms.place.search(plain[:first])
            words = plain[first:end].rstrip(" ,;")
            out.append(_Named(placed.start() if placed else first, first, first + len(words)))
        return out


def _mark(cut: str) -> str:
    """Give how much of what stands between two questions belongs to the first: its question mark."""
    return "?" if cut.startswith("?") else ""


def _as_typed(question: str, typed: str) -> str:
    """Give a question that was made the words in which it was typed, with their capitals.

    A name is told by its letters and capitals, and a question that holds one is not put onto the buyer's page.
    """
    if question in typed:
        return question
    plain = typed.replace("\u2019", "'").replace("\u2018", "'")
    as_was = {
        mended(word): word for pattern in (_LETTERS, _TYPED) for word in sorted(pattern.findall(plain), reverse=True)
    }
    longest = sorted((re.escape(word) for word in as_was), key=len, reverse=True)
    made = re.compile(rf"(?<![\w'])(?:{'|'.join(longest)})(?![\w])")
    return made.sub(lambda found: as_was[found.group()], question)


def _bare(plain: str) -> str:
    return plain.strip(" ?!.,")


def _the(part: str) -> str:
    """Give the words of a part with an article before them."""
    return part if re.match(r"(?:the|both|all|its|her|his)\b", part) else f"the {part}"


def _is_plural(part: str) -> bool:
    """Tell whether the words of a part name several: 'windows wind', and not 'paintwork', 'glass'."""
    return any(word.endswith("s") and not word.endswith(("ss", "'s", "its")) for word in part.split())
