"""What a network that has learnt on sale descriptions makes of a text, beside what the rules of written text read.

The rules know what stands beside what; the network knows more turns of phrase, and what the sentences around are about.
It tells for each token how likely it states a condition, of which part, found how, and where. What no rule has read is
taken from it; `weighing` weighs the rest. `tools/train_network.py --written` learns it, `shutline.remarks.context` runs
it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib.resources import as_file, files

import numpy as np

from shutline.car.findings import Drive, Found, Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.claims.gathered import WHOLE
from shutline.claims.lines import Sentence
from shutline.claims.sayings import Saying, Spot
from shutline.claims.stated import Piece, letters_of, pieces, stated_features, stated_odds
from shutline.claims.written_data import WrittenWords, shipped_words, small_words
from shutline.remarks.analysis import Analysis, analyse
from shutline.remarks.context import FOUND, Context, read_network, understand
from shutline.remarks.network import Network, one_core
from shutline.remarks.regions import regions
from shutline.remarks.tokens import FULL_STOP, Text

AT_ONCE, BEFORE = 5, 2
"""Sentences that are read together, and those before them that are read with them."""
LEAST = -2.5
"""Log-odds from which a reading is kept at all."""
ADDED = -1.0
"""Log-odds from which a statement that no rule has read is taken, to be weighed."""
SURE = 0.0
"""Log-odds from which such a statement counts where nothing weighs it."""
_APART = 5
"""Tokens within which the same told of one part is one statement."""
_PUFF = frozenset({"sound", "present"})
"""Said of the whole car these praise, and state nothing that could be looked at."""
SIDES = (None, Side.NEAR, Side.OFF, Side.BOTH)
ENDS = (None, Position.FRONT, Position.REAR, Position.BOTH)
FINDS = tuple(Found(found) for found in FOUND)
_MARKS = " .,;:!?-"


@cache
def written_network() -> Network:
    """Read the network of written descriptions that comes with the package, once."""
    with as_file(files("shutline.claims").joinpath("data/network.npz")) as path:
        return read_network(path)


@dataclass(frozen=True, slots=True)
class Reading:
    """A condition that one token may tell, by log-odds, with the chances of what is told.

    `first` and `end` are the letters of the token, `begin` and `finish` those of the piece of its sentence around it,
    `words` the stems in that. `found`, `sides` and `ends` are chances in the order of `FINDS`, `SIDES` and `ENDS`;
    `part_chance` is that of the likeliest part. `elsewhere` tells that it is said of such cars or wished for, and not
    of this one. `at` is the number of the token, to tell how far apart two are within one `block`.
    """

    first: int
    end: int
    begin: int
    finish: int
    odds: float
    condition: str
    part: str
    part_chance: float
    found: tuple[float, ...]
    sides: tuple[float, ...]
    ends: tuple[float, ...]
    words: frozenset[str]
    elsewhere: bool
    block: int
    at: int

    @property
    def chance(self) -> float:
        """The chance that the token tells the condition at all."""
        return float(1 / (1 + np.exp(-self.odds)))

    @property
    def spot(self) -> Spot:
        """The likeliest place."""
        where = regions()
        side = SIDES[int(np.argmax(self.sides))] if self.part in where.sided else None
        position = ENDS[int(np.argmax(self.ends))] if self.part in where.ended else None
        return Spot(self.part, side, position)

    @property
    def says(self) -> Found:
        """How it is most likely found."""
        return FINDS[int(np.argmax(self.found))]


@dataclass(frozen=True, slots=True)
class Heard:
    """What the network makes of a text: what may be told, block by block, the surest first, and its pieces in order."""

    readings: tuple[Reading, ...] = ()
    pieces: tuple[Piece, ...] = ()


def hear(parts: Sequence[Sentence], *, drive: Drive = Drive.RHD, words: WrittenWords | None = None) -> Heard:
    """Give all that the network thinks may be told in a text.

    Parameters
    ----------
    parts : sequence of Sentence
        The sentences of the text.
    drive : Drive
        Which side the wheel is on.
    words : WrittenWords, optional
        The phrases whose meaning the network is told; the shipped ones unless given.

    Returns
    -------
    Heard
        Letters are those of the text.
    """
    out: list[Reading] = []
    cut: list[Piece] = []
    for block in blocks(parts):
        start = block.start
        heard = _read(block.sentences, drive, words or shipped_words())
        out += [
            replace(
                one,
                first=one.first + start,
                end=one.end + start,
                begin=one.begin + start,
                finish=one.finish + start,
                block=block.number,
            )
            for one in heard.readings
            if block.holds(one.first + start)
        ]
        cut += [piece.moved(start) for piece in heard.pieces if block.holds(piece.first + start)]
    return Heard(tuple(out), tuple(cut))


@dataclass(frozen=True, slots=True)
class Block:
    """Sentences that are read together, letters counted from the first; `start` is its place in the whole text.

    What is told from `low` up to `high` in the whole text is the block's own; the rest is read with it.
    """

    number: int
    sentences: tuple[Sentence, ...]
    start: int
    low: int
    high: int

    def holds(self, letter: int) -> bool:
        """Tell whether a letter of the whole text is the block's own."""
        return self.low <= letter < self.high


def blocks(parts: Sequence[Sentence]) -> Iterator[Block]:
    """Cut the sentences of a text into blocks that the network reads one by one."""
    for number in range(0, len(parts), AT_ONCE):
        group, own = parts[max(0, number - BEFORE) : number + AT_ONCE], parts[number : number + AT_ONCE]
        start = group[0].first
        moved = tuple(replace(one, first=one.first - start) for one in group)
        yield Block(number, moved, start, own[0].first, own[-1].first + len(own[-1].text))


def added(
    text: str, found: Sequence[Reading], have: Sequence[Saying], settled: Sequence[tuple[int, int]]
) -> list[Saying]:
    """Give the statements of the network in words that no rule has read.

    Parameters
    ----------
    text : str
        The whole text.
    found : sequence of Reading
        What the network makes of it.
    have : sequence of Saying
        What the rules have read.
    settled : sequence of (int, int)
        First letter and end of other words that the rules have understood.

    Returns
    -------
    list of Saying
        Each with its log-odds.
    """
    out: list[Saying] = []
    taken = [*((one.first, one.end) for one in have), *settled]
    told: list[Reading] = []
    for one in found:
        if one.odds <= ADDED or any(
            one.condition == other.condition
            and one.part == other.part
            and one.block == other.block
            and abs(one.at - other.at) <= _APART
            for other in told
        ):
            continue
        told.append(one)
        puff = one.part == WHOLE and one.condition in _PUFF
        if puff or one.elsewhere or any(begin < one.end and one.first < finish for begin, finish in taken):
            continue
        saying = _between(one, text, taken)
        out.append(saying)
        taken.append((saying.first, saying.end))
    return out


def faintly(stated: Saying, found: Sequence[Reading]) -> Saying | None:
    """Give what words that state something may say, by the likeliest of what the network thinks little of.

    Parameters
    ----------
    stated : Saying
        Words that nothing has read, and that state something.
    found : sequence of Reading
        What the network makes of the whole text.

    Returns
    -------
    Saying or None
        The same words with a place, a condition and log-odds, to be weighed; None where nothing is thought of them.
    """
    inside = [
        one
        for one in found
        if one.first < stated.end
        and stated.first < one.end
        and not one.elsewhere
        and not (one.part == WHOLE and one.condition in _PUFF)
    ]
    if not inside:
        return None
    one = max(inside, key=lambda reading: reading.odds)
    return replace(stated, spot=one.spot, condition=one.condition, found=one.says, words=one.words, odds=one.odds)


def _between(one: Reading, text: str, taken: Sequence[tuple[int, int]]) -> Saying:
    """Give a statement the letters of its piece that no other takes."""
    first = max([one.begin, *(end for _, end in taken if end <= one.first)])
    end = min([one.finish, *(begin for begin, _ in taken if begin > one.first)])
    first += len(text[first:end]) - len(text[first:end].lstrip(_MARKS))
    quote = text[first:end].rstrip(_MARKS)
    return Saying(first, first + len(quote), quote, one.spot, one.condition, one.says, words=one.words, odds=one.odds)


@lru_cache(maxsize=512)
def _read(group: tuple[Sentence, ...], drive: Drive, words: WrittenWords) -> Heard:
    """Read some sentences at once; letters are counted from the first of them."""
    analysis, context = understood(group, drive, words)
    if context is None:
        return Heard()
    with one_core():
        odds = stated_odds(stated_features(context))
    return Heard(tuple(_told(context, analysis)), tuple(pieces(odds, analysis.text)))


def understood(
    group: Sequence[Sentence], drive: Drive, words: WrittenWords | None = None
) -> tuple[Analysis, Context | None]:
    """Run the network over some sentences; None where there is no word."""
    known = words or shipped_words()
    analysis = analyse([one.stretch() for one in group], drive=drive, lexicon=known.lexicon)
    return analysis, understand(analysis, written_network())


def _told(context: Context, analysis: Analysis) -> Iterator[Reading]:
    network, text = context.network, analysis.text
    tokens, conditions = np.nonzero(context.told > LEAST)
    if not len(tokens):
        return
    chances = context.part_chances(tokens, conditions)
    founds = context.found_chances(tokens, conditions)
    parts = chances.argmax(axis=1)
    sides, ends = context.place_chances(tokens, parts)
    for row in np.argsort(-context.told[tokens, conditions], kind="stable"):
        at, condition, part = int(tokens[row]), int(conditions[row]), int(parts[row])
        name = network.condition_names[condition]
        first, end = _piece(text, at)
        yield Reading(
            *letters_of(text, at, at + 1),
            *letters_of(text, first, end),
            float(context.told[at, condition]),
            name,
            network.part_names[part],
            float(chances[row, part]),
            tuple(founds[row].tolist()),
            tuple(sides[row].tolist()),
            tuple(ends[row].tolist()),
            frozenset(text.stem[first:end]),
            elsewhere=_not_of_this_car(analysis, at, name),
            block=0,
            at=at,
        )


def _piece(text: Text, at: int) -> tuple[int, int]:
    """Give the tokens between the marks and joining words around one."""
    edges = small_words().joins | small_words().breaks
    first, end = at, at + 1
    while first > 0 and not text.mark[first] and text.norm[first] not in edges:
        first -= 1
    while end < len(text.norm) and not text.mark[end] and text.norm[end] not in edges:
        end += 1
    return first, end


def _not_of_this_car(analysis: Analysis, at: int, condition: str) -> bool:
    """Tell whether it is said of such cars or of somebody's word, or something good is only wished for."""
    small = small_words()
    if analysis.cues.reach.over(at, at + 1).kinds & small.elsewhere_kinds:
        return True
    if vocabulary().is_defect(condition):
        return False
    text = analysis.text
    begin = next((one for one in range(at, 0, -1) if text.mark[one] >= FULL_STOP), 0)
    return any(word in small.wishes for word in text.norm[begin:at])
