"""Read what was said at a car: stretches of words in, findings, facts and the walk out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.errors import Problem
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind
from shutline.car.places import Visit
from shutline.car.speech import Stretch
from shutline.remarks import taken_back
from shutline.remarks.analysis import analyse
from shutline.remarks.context import shipped_network, understand
from shutline.remarks.decisions import decide
from shutline.remarks.facts import facts
from shutline.remarks.findings import findings
from shutline.remarks.lexicon import Lexicon, shipped_lexicon
from shutline.remarks.network import Network
from shutline.remarks.visits import visits
from shutline.remarks.weights import Weights, shipped_weights


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read: findings and facts with their footing, where the speaker was, and what went wrong."""

    findings: tuple[Finding, ...]
    facts: tuple[Fact, ...]
    visits: tuple[Visit, ...]
    problems: tuple[Problem, ...]


def read(
    stretches: Sequence[Stretch],
    *,
    drive: Drive = Drive.RHD,
    recording: str = "",
    lexicon: Lexicon | None = None,
    weights: Weights | None = None,
    network: Network | None = None,
    by_phrases: bool = False,
) -> Reading:
    """Read words into findings and facts.

    Parameters
    ----------
    stretches : sequence of Stretch
        The speech in order; a sentence may run over from one stretch to the next.
    drive : Drive
        Which side the wheel is on; it decides what 'the driver's side' means.
    recording : str
        The id that the footings name as their source.
    lexicon : Lexicon, optional
        The phrases to look for; the shipped ones unless given.
    weights : Weights, optional
        What was learnt of phrases and cues; the shipped weights unless given.
    network : Network, optional
        What was learnt of all words at once; the shipped network unless given.
    by_phrases : bool
        Let the phrases of the lexicon decide alone, without the network: quicker, and worse.

    Returns
    -------
    Reading
        The same words always give the same reading. No text makes it raise.
    """
    analysis = analyse(stretches, drive=drive, lexicon=lexicon or shipped_lexicon())
    learnt = weights or shipped_weights()
    text = analysis.text
    context = None if by_phrases else understand(analysis, network or shipped_network())
    decided = decide(analysis, learnt, context=context)
    backs = taken_back.taken_back(analysis, decided)
    decisions = taken_back.left(decided, backs)
    told = tuple(
        Fact(
            name=fact.name,
            value=fact.value,
            unit=fact.unit,
            footings=(
                Footing(
                    FootingKind.SAID,
                    recording,
                    text.starts[text.first_word(fact.first)],
                    text.ends[text.word[fact.end - 1]],
                    text.quote(fact.first, fact.end - 1),
                    (f"facts.{fact.rule}",),
                ),
            ),
            sureness=fact.sureness,
        )
        for fact in facts(text)
    )
    problems = () if text.norm else (_nothing(recording),)
    found = findings(analysis, decisions, weights=learnt, recording=recording, backs=backs)
    return Reading(found, told, visits(analysis), (*problems, *taken_back.told(analysis, backs)))


def walked(
    stretches: Sequence[Stretch], *, drive: Drive = Drive.RHD, lexicon: Lexicon | None = None
) -> tuple[Visit, ...]:
    """Tell where the speaker was, as `read` does, without drawing findings.

    Of written words it is a tenth of the work; of heard ones, which are set right first, well over half.
    """
    return visits(analyse(stretches, drive=drive, lexicon=lexicon or shipped_lexicon()))


def _nothing(recording: str) -> Problem:
    return Problem(
        slug="no-words",
        where=recording or "the words",
        found="nothing that can be read",
        allowed="speech or a transcript with words in it",
        advice="Check the sound, or add notes.",
    )
