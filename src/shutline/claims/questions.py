"""A question as strangers type it: what it asks of the car, whatever its spelling and manners."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from shutline.car.findings import Drive, Found
from shutline.claims.gathered import WHOLE, named_parts
from shutline.claims.lines import sentences
from shutline.claims.question_data import Worded, question_words
from shutline.claims.sayings import Saying, Spot, Topic
from shutline.claims.spelling import meant
from shutline.claims.written_data import WrittenWords, shipped_words
from shutline.claims.written_facts import fact_sayings
from shutline.claims.written_reading import read_sentence

LONGEST = 600
"""Letters of a question that are read."""

_TURNED = re.compile(r"^(is|was|has) (?:it|she|he|this|the car)\b")
_NAMES_A_THING = frozenset({"present", "original", "fault", "works"})
"""How the words of a value may be read when no value is looked for: 'a manual' as a handbook that is there."""
_WORD = re.compile(r"[a-z0-9][a-z0-9'/.]*[a-z0-9]|[a-z0-9]")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a question asks.

    `fact` names a fact whose value is asked for; `sayings` are what would be true if the answer were yes; `spots` the
    parts it asks about, in whatever way. `open` tells that it asks how a part is, and not for one thing, `much` how
    much there is of one thing; `faults` that it asks for all that is wrong with it, `needs` for what is to be done
    about it, `welding` that this is welding, `mended` whether something was done about a fault; `values` are facts
    that would be so if the answer were yes; `sale` that it is about the sale and not about the car. `worded` is set
    where only what was told in certain words answers it, `how` where no yes or no was asked, and `choice` where one
    of several. `read_as` is the question as it was read, where a word was put right.
    """

    question: str
    fact: str = ""
    sayings: tuple[Saying, ...] = ()
    spots: tuple[Spot, ...] = ()
    open: bool = False
    much: bool = False
    faults: bool = False
    needs: bool = False
    mended: bool = False
    welding: bool = False
    values: tuple[Saying, ...] = ()
    sale: bool = False
    worded: Worded | None = None
    how: bool = False
    choice: bool = False
    read_as: str = ""


def asked(question: str, *, drive: Drive = Drive.RHD, words: WrittenWords | None = None) -> Asked:
    """Read a question; its words are data, and nothing in them is done.

    Examples
    --------
    >>> asked("whats the milage on it mate").fact
    'odometer'
    >>> [(s.spot.part, s.condition) for s in asked("hi any rot in the chasis rails").sayings if s.spot]
    [('chassis', 'rust')]
    """
    typed = " ".join(question[:LONGEST].split())
    plain = mended(typed)
    heart = _heart(plain)
    kinds = question_words()
    worded = next((row for row in kinds.worded if row.form.search(heart) or row.form.search(plain)), None)
    fact = next((name for name, form in kinds.facts if form.search(heart)), "")
    if fact:
        return Asked(question, fact=fact, worded=worded, read_as=_if_changed(plain, typed))
    if kinds.sale.search(heart):
        return Asked(question, sale=True, read_as=_if_changed(plain, typed))
    sayings, spots = _read(heart, drive, words)
    if not spots:
        sayings, spots = _read(plain, drive, words)
    if worded is not None and worded.apart:
        spots = ()
    spots = tuple(spot for spot in spots if spot.part != WHOLE) or spots
    values = _values(heart, sayings)
    if values:
        return Asked(question, values=values, spots=spots, choice=" or " in heart, read_as=_if_changed(plain, typed))
    faults = bool(kinds.faults.search(heart))
    region = next((part for part, form in kinds.regions if form.search(heart)), "")
    if faults and region and all(spot.part == WHOLE for spot in spots):
        spots = (Spot(region),)
    needs = bool(kinds.needs.search(heart))
    welding = needs and bool(kinds.welding.search(heart))
    if welding and not spots:
        spots = (Spot(WHOLE),)
    is_open = bool(kinds.open.search(heart) or kinds.lawful.search(heart)) and bool(spots)
    much = bool(kinds.size.search(heart) and sayings)
    placed = heart.startswith(kinds.placed) or plain.startswith(kinds.placed)
    return Asked(
        question,
        sayings=tuple(replace(saying, placed=placed) for saying in sayings),
        spots=spots,
        open=is_open or much,
        much=much,
        mended=bool(kinds.mended.search(heart)),
        faults=(faults or needs) and bool(spots),
        needs=needs,
        welding=welding,
        worded=worded,
        how=bool(kinds.how.match(heart)),
        choice=" or " in heart,
        read_as=_if_changed(plain, typed),
    )


def mended(typed: str) -> str:
    """Give a question in small letters with apostrophes, short forms and spelling put right.

    Examples
    --------
    >>> mended("Dont the o/s sills leek, thats the exaust")
    "don't the offside sills leak, that's the exhaust"
    """
    table = question_words().typed
    plain = typed.lower().replace("\u2019", "'").replace("\u2018", "'")

    def put_right(found: re.Match[str]) -> str:
        word = found.group()
        known = table.get(word)
        if known is not None:
            return known
        return meant(word)

    return question_words().its.sub("it's", _WORD.sub(put_right, plain))


def _values(heart: str, sayings: tuple[Saying, ...]) -> tuple[Saying, ...]:
    """Give the facts that a question names to be confirmed: 'is it automatic?'; none where it asks more."""
    stated = _TURNED.sub(r"it \1", heart)
    told = fact_sayings(stated, list(sentences(stated)))
    return told if all(saying.condition in _NAMES_A_THING for saying in sayings) else ()


def _if_changed(plain: str, typed: str) -> str:
    return "" if plain == typed.lower() else plain


def _heart(plain: str) -> str:
    """Leave out greetings, thanks, tags and what the asker tells of themselves."""
    kinds = question_words()
    heart = kinds.before.sub("", plain).strip() or plain
    heart = kinds.remark.sub("?", heart)
    cut = kinds.aside.search(heart)
    if cut is not None and cut.start() > 0:
        heart = heart[: cut.start()]
    heart = re.sub(r"[\s?!.,]+$", "", heart)
    tagless = kinds.after.sub("", heart).strip(" ,")
    if tagless and not kinds.unfinished.fullmatch(tagless):
        heart = tagless
    opening, _, rest = heart.partition(" ")
    if opening in kinds.negative and rest:
        heart = opening.removesuffix("n't") + " " + rest
    for form, meant_so in kinds.verbs:
        heart = form.sub(meant_so, heart)
    return heart


def _read(plain: str, drive: Drive, words: WrittenWords | None) -> tuple[tuple[Saying, ...], tuple[Spot, ...]]:
    topic = Topic()
    out: list[Saying] = []
    meant_by: list[Saying] = []
    for sentence in sentences(plain):
        alone = replace(sentence, first=0)
        read = read_sentence(alone, topic, drive=drive, words=words, asked=True)
        named = list(named_parts(alone, drive, words or shipped_words()))
        places = [saying for saying in read.sayings if _place(saying, sentence.text, named) is not None]
        if places and len(named) > 1:
            # 'Is there a spare wheel in the boot' asks of the wheel.
            cut = _place(places[0], sentence.text, named) or 0
            shorter = replace(alone, text=sentence.text[:cut].rstrip())
            again = read_sentence(shorter, topic, drive=drive, words=words, asked=True)
            read = again if again.sayings else read
        topic = read.topic
        out += read.sayings
        meant_by += (saying for saying in read.sayings if saying not in places)
    told = [saying for saying in meant_by if saying.condition != "present" or saying.found is not Found.YES]
    spots = tuple(dict.fromkeys([*(saying.spot for saying in out if saying.spot is not None), *topic.spots]))
    return tuple(told or meant_by), spots


def _place(saying: Saying, text: str, named: list[tuple[int, int, str]]) -> int | None:
    """Give where a place begins, if a part is only where something is asked for: 'any labels on the floor'."""
    if saying.spot is None or (saying.condition, saying.found) != ("present", Found.YES):
        return None
    kinds = question_words()
    starts = [first for first, _, part in named if part == saying.spot.part]
    at = [kinds.at_first.match(text, first) or kinds.at.search(text[:first]) for first in starts]
    return next((found.start() for found in at if found), None) if all(at) else None
