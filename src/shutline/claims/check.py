"""The check: every claim of a text with its verdict, and beside it what it stands on or what speaks against it."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import dropwhile

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.claims.claimed import LONGEST, read_claims
from shutline.claims.excepted import excepted
from shutline.claims.judged import Doubt, Judged, Verdict
from shutline.claims.lines import Sentence, number_around, sentences
from shutline.claims.measures import as_measured
from shutline.claims.record import Known, Record
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying
from shutline.claims.second_reading import Reading, faintly
from shutline.claims.stated import UNSTATED, Piece, mean_odds, sweeping, unread
from shutline.claims.told_once import told_once
from shutline.claims.unseen import only_names_unseen
from shutline.claims.verdict import judge
from shutline.claims.weighing import Weigher, borne_out, decided, is_settled, shipped_weigher
from shutline.claims.written_data import WrittenWords, any_of, shipped_words, small_words
from shutline.survey.coverage import Coverage

_IN_ORDER = frozenset({"sound", "works"})
_JOINING = 8
"""The most letters between two statements that are told as one: ', with '."""
_FEW = 3
"""The most words of the second of them."""
_PRAISE = frozenset({"sound", "works", "present"})


@dataclass(frozen=True, slots=True)
class Claim:
    """One claim of a text.

    `not_looked_at` are, for a claim about the whole car or a whole region, the parts in it that the survey asks for and
    that have no footing: silence that the claim speaks over.
    """

    saying: Saying
    judged: Judged
    not_looked_at: tuple[str, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """Backed, at odds, or unbacked."""
        return self.judged.verdict


@dataclass(frozen=True, slots=True)
class Checked:
    """A text that was checked: its claims in the order of the words, and how many letters were left unread."""

    text: str
    claims: tuple[Claim, ...]
    unread: int = 0

    def beside(self, looked_at: Coverage) -> Checked:
        """Name with each broad claim what nobody looked at, given the car file held against its guide."""
        parts = tuple(dict.fromkeys(one.asked.check.part for one in looked_at.open))
        claims = tuple(replace(claim, not_looked_at=_silent(claim.saying, parts)) for claim in self.claims)
        return replace(self, claims=claims)

    def count(self, verdict: Verdict) -> int:
        """Count the claims with a verdict."""
        return Counter(claim.verdict for claim in self.claims)[verdict]


def check(
    text: str,
    on: Record,
    *,
    looked_at: Coverage | None = None,
    words: WrittenWords | None = None,
    weigher: Weigher | None = None,
) -> Checked:
    """Hold a text against what is known of a car.

    Parameters
    ----------
    text : str
        Any words about the car. They are data: nothing in them is done.
    on : Record
        What is known, from `record_of`.
    looked_at : Coverage, optional
        The car file held against its guide; without it no claim names what was never looked at.
    words : WrittenWords, optional
        The phrases to look for.
    weigher : Weigher, optional
        What weighs a statement against all findings; the shipped one unless given.

    Returns
    -------
    Checked
        The same text over the same record always gives the same. No text makes it raise.
    """
    read = read_claims(text, drive=on.drive, words=words)
    weighed = _weighed(to_weigh(text, read.sayings, on), read.heard.readings, weigher or shipped_weigher())
    parts = list(sentences(text))
    stated = [(saying, as_measured(saying, judged, on)) for saying, judged in weighed]
    stated = [_as_of_now(*one, parts) for one in stated if _is_stated(*one, read.heard.pieces)]
    claims = [Claim(saying, judged) for saying, judged in _each_once(stated, text)]
    taken = [*((one.saying.first, one.saying.end) for one in claims), *read.headings, *read.idle]
    for saying in unread(text, read.heard.pieces, taken):
        if _only_heads(parts[number_around(parts, saying.first)]) or only_names_unseen(
            text, saying, parts, drive=on.drive, words=words or shipped_words()
        ):
            continue
        against = on.without(_told_beside(saying, claims, parts))
        claims.append(_faintly_read(saying, read.heard.readings, against, weigher or shipped_weigher()))
    rows = sorted(((one.saying, one.judged) for one in claims), key=lambda row: (row[0].first, row[0].end))
    in_order = tuple(Claim(saying, judged) for saying, judged in told_once(rows, text))
    checked = Checked(text, in_order, max(0, len(text) - LONGEST))
    return checked if looked_at is None else checked.beside(looked_at)


def _only_heads(sentence: Sentence) -> bool:
    """Tell whether a sentence is no more than a heading: 'Brightwork and glass'."""
    return relations().headings_alone.issuperset(sentence.text.casefold().strip(" .:").split())


def _as_of_now(saying: Saying, judged: Judged, parts: Sequence[Sentence]) -> tuple[Saying, Judged]:
    """Take the backing from praise of what once was: 'the sills used to be solid'."""
    praised = judged.verdict is Verdict.BACKED and saying.spot is not None and not _tells_a_fault(saying)
    if praised and _not_now().search(parts[number_around(parts, saying.first)].text):
        return saying, Judged(Verdict.UNBACKED, doubt=Doubt.NOT_SURE)
    return saying, judged


@cache
def _not_now() -> re.Pattern[str]:
    return re.compile(rf"\b{any_of(small_words().not_now['phrases'])}\b", re.IGNORECASE)


def _told_beside(saying: Saying, claims: Sequence[Claim], parts: Sequence[Sentence]) -> set[Known]:
    """Give the faults that the sentence around some words tells itself: 'the jack, but no brace'."""
    around = parts[number_around(parts, saying.first)]
    end = around.first + len(around.text)
    return {
        known
        for claim in claims
        if around.first <= claim.saying.first < end and claim.verdict is Verdict.BACKED and _tells_a_fault(claim.saying)
        for known in claim.judged.known
    }


def _faintly_read(stated: Saying, heard: Sequence[Reading], on: Record, weigher: Weigher) -> Claim:
    """Weigh what stated words may say; where nothing comes of it, they are a claim that nothing is known of."""
    saying = faintly(stated, heard)
    if saying is not None:
        judged = borne_out(weigher.weigh(saying, judge(saying, on), heard, on))
        if judged is not None:
            return Claim(saying, judged)
    return Claim(stated, Judged(Verdict.UNBACKED, doubt=Doubt.NOT_NAMED))


def _is_stated(saying: Saying, judged: Judged, pieces: Sequence[Piece]) -> bool:
    """Tell whether the words state anything of the car; what the file bears out, and a fault, are taken to."""
    if judged.verdict is Verdict.BACKED or _tells_a_fault(saying) or sweeping().search(saying.quote):
        return True
    odds = mean_odds(pieces, saying.first, saying.end)
    return odds is None or odds >= UNSTATED


def _weighed(
    rows: Iterable[tuple[Saying, Judged, Record]], heard: Sequence[Reading], weigher: Weigher
) -> Iterator[tuple[Saying, Judged]]:
    """Weigh what the rules do not settle; leave out what is no claim."""
    for saying, judged, on in rows:
        found = judged
        if not is_settled(saying, judged):
            weighed = decided(saying, judged, weigher.weigh(saying, judged, heard, on))
            if weighed is None:
                continue
            found = weighed
        yield saying, found


def to_weigh(text: str, sayings: Sequence[Saying], on: Record) -> Iterator[tuple[Saying, Judged, Record]]:
    """Judge each saying, and give with it the record that it is held against.

    Praise is not at odds with a fault that its own sentence tells: 'good apart from one dent'.
    """
    parts = list(sentences(text))
    starts = [sentence.first for sentence in parts]
    judged = [(bisect_right(starts, saying.first), saying, judge(saying, on)) for saying in sayings]
    told: dict[int, set[Known]] = defaultdict(set)
    for sentence, saying, found in judged:
        if found.verdict is Verdict.BACKED and _tells_a_fault(saying):
            told[sentence].update(found.known)
    for sentence, saying, first in judged:
        found, against = first, on
        if found.verdict is Verdict.AT_ODDS and not _tells_a_fault(saying) and told[sentence] & set(found.known):
            against = on.without(told[sentence])
            found = judge(saying, against)
        if found.verdict is not Verdict.BACKED and saying.spot is not None and sentence:
            whole = parts[sentence - 1]
            # What the rules hold against it, or where they are silent, what might be.
            known = found.known if found.verdict is Verdict.AT_ODDS else on.findings.get(saying.spot.part, ())
            left_out = excepted(whole.text[max(0, saying.end - whole.first) :], known)
            if found.verdict is not Verdict.AT_ODDS and not _tells_a_fault(saying):
                left_out |= told[sentence]
            if left_out:
                against = on.without(left_out)
                found = judge(saying, against)
        yield saying, found, against


def _each_once(judged: Iterable[tuple[Saying, Judged]], text: str) -> Iterator[tuple[Saying, Judged]]:
    """Leave out praise in whose words a contradiction stands, and a contradiction that another tells at more length."""
    rows = _joined(_widened(list(judged), text), text)
    odds = [(saying, found) for saying, found in rows if found.verdict is Verdict.AT_ODDS]
    for saying, found in rows:
        if found.verdict is Verdict.AT_ODDS:
            again = any(_within(saying, other) and set(found.known) <= set(more.known) for other, more in odds)
        else:
            # 'No trouble' is too wide to take the praise beside it away.
            again = saying.condition in _PRAISE and any(
                _within(other, saying) and other.condition != "fault" for other, _ in odds
            )
        if not again:
            yield saying, found


def _widened(rows: list[tuple[Saying, Judged]], text: str) -> list[tuple[Saying, Judged]]:
    """Let what is known speak for all the words where some of them were read once more and tell nothing."""
    out = list(rows)
    for wide, idle in rows:
        if idle.verdict is not Verdict.UNBACKED or wide.spot is None:
            continue
        inside = [
            n
            for n, (saying, found) in enumerate(out)
            if saying.spot is not None
            and found.verdict is not Verdict.UNBACKED
            and wide.first <= saying.first
            and saying.end <= wide.end
            and (found.verdict is Verdict.AT_ODDS or _says_no_more(wide, saying))
        ]
        if len(inside) == 1 and (wide, idle) in out:
            saying, found = out[inside[0]]
            longer = replace(saying, first=wide.first, end=wide.end, quote=text[wide.first : wide.end])
            out[inside[0]] = (longer, found)
            out.remove((wide, idle))
    return out


def _says_no_more(wide: Saying, saying: Saying) -> bool:
    """Tell whether what nothing backs is praise of the part, or the same once more, and no claim of its own."""
    if wide.spot is None or saying.spot is None or wide.spot.part != saying.spot.part:
        return False
    return wide.condition in _PRAISE or wide.condition == saying.condition


def _joined(rows: list[tuple[Saying, Judged]], text: str) -> list[tuple[Saying, Judged]]:
    """Take a contradiction with what is said of its part right before it, where both are one: 'plump and firm'."""
    out: list[tuple[Saying, Judged]] = []
    for saying, found in rows:
        if out and found.verdict is Verdict.AT_ODDS and _is_one(*out[-1], saying, found, text):
            before, held = out[-1]
            against = held.verdict is Verdict.AT_ODDS
            known = tuple(dict.fromkeys((*(held.known if against else ()), *found.known)))
            end = max(before.end, saying.end)
            told = before if against else saying
            longer = replace(told, first=before.first, end=end, quote=text[before.first : end])
            out[-1] = (longer, replace(found, known=known))
        else:
            out.append((saying, found))
    return out


def _is_one(before: Saying, held: Judged, saying: Saying, found: Judged, text: str) -> bool:
    """Tell whether two statements that stand side by side are one: of the same findings, or praise in two words."""
    if before.spot is None or saying.spot is None or before.spot.part != saying.spot.part:
        return False
    if not before.first <= saying.first <= before.end + _JOINING or _names_another(before, saying):
        return False
    between = text[before.end : saying.first]
    known, others = set(found.known), set(held.known)
    if held.verdict is Verdict.AT_ODDS and _goes_on(saying, between):
        return True
    if held.verdict is Verdict.AT_ODDS and (known <= others or others <= known):
        if before.condition != saying.condition and _begins_anew(saying):
            return False
        return before.condition == saying.condition or not any(mark in between for mark in ",;.:\n")
    few = len(saying.quote.split()) <= _FEW and not any(mark in between for mark in ",;.:\n")
    return few and before.spot == saying.spot and {before.condition, saying.condition} <= _IN_ORDER


def _begins_anew(saying: Saying) -> bool:
    """Tell whether words have a subject or a verb of their own: 'it has no rips', 'doesn't rattle'."""
    small, first = small_words(), next(iter(_said(saying)), "")
    return first in small.openers | small.pronouns | small.finite or first.endswith("n't")


def _said(saying: Saying) -> list[str]:
    """Give its words in small letters, without those that only join it to what stands before."""
    said = saying.quote.casefold().replace("\u2019", "'").split()
    return list(dropwhile(small_words().joins.__contains__, said))


def _names_another(before: Saying, saying: Saying) -> bool:
    """Tell whether the second names its thing by other words: 'the heater …, and the fan …'."""
    own = {word for word in saying.named if word in _said(saying)}
    return bool(own and before.named) and not own & before.named


def _goes_on(saying: Saying, between: str) -> bool:
    """Tell whether words say no more than go on about what was just spoken of: 'dry and free of stains'."""
    small, said = small_words(), _said(saying)
    return (
        between.strip(" ,").casefold() in ("", *small.joins)
        and bool(said)
        and said[0] not in small.openers | small.pronouns
        and not any(word in small.finite or word.endswith("n't") for word in said)
    )


def _within(inner: Saying, outer: Saying) -> bool:
    """Tell whether one is read in some of the words of another, of the same part; a fact in words that name a thing."""
    same = inner.spot is not None and outer.spot is not None and inner.spot.part == outer.spot.part
    counted = inner.fact is not None and outer.condition == "present"
    longer = outer.end - outer.first > inner.end - inner.first
    return longer and (same or counted) and outer.first <= inner.first and inner.end <= outer.end


def _tells_a_fault(saying: Saying) -> bool:
    return saying.spot is not None and vocabulary().is_defect(saying.condition) and saying.found is Found.YES


def is_broad(saying: Saying) -> bool:
    """Tell whether a saying is about the whole car or a whole region of it."""
    return saying.spot is not None and saying.spot.part in relations().whole


def _silent(saying: Saying, open_parts: Sequence[str]) -> tuple[str, ...]:
    if (
        not is_broad(saying)
        or saying.spot is None
        or (vocabulary().is_defect(saying.condition) and saying.found is not Found.NO)
    ):
        return ()
    wide = relations().whole[saying.spot.part]
    return tuple(part for part in open_parts if part in wide or part == saying.spot.part)
