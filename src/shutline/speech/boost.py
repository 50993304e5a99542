"""Help for trade terms: while a piece of text grows, what the beginnings of known terms are worth."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from shutline.speech.tokens import Pieces


@dataclass(slots=True)
class _Node:
    next: dict[int, int] = field(default_factory=dict)
    ends_term: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where a text stands among the terms: the node reached, and what was given for a term not finished yet."""

    node: int = 0
    lent: float = 0.0


class Boost:
    """Terms as a tree of pieces.

    Each further piece of a term is worth `worth` to the score of a text. What was given is taken back when the text
    turns away before the term is finished, or goes on with letters that make another word of it ('sill', 'silly').

    Parameters
    ----------
    pieces : Pieces
        The recogniser's table.
    terms : iterable of str
        Trade terms; each is also taken with a capital and with a plural s.
    worth : float
        Natural logarithm units for each piece, at least nought.
    """

    def __init__(self, pieces: Pieces, terms: Iterable[str], *, worth: float) -> None:
        self._pieces = pieces
        self.worth = worth
        self._nodes = [_Node()]
        for term in terms:
            for form in _forms(term):
                self._add(pieces.numbers(form))
        self._begins = {number for number in range(len(pieces)) if pieces.starts_word(number)}
        self._breaks = {
            number for number, piece in enumerate(pieces.table) if not piece[:1].isalnum() and piece[:1] != b"'"
        }

    def _add(self, numbers: tuple[int, ...]) -> None:
        at = 0
        for number in numbers:
            node = self._nodes[at]
            if number not in node.next:
                node.next[number] = len(self._nodes)
                self._nodes.append(_Node())
            at = node.next[number]
        self._nodes[at].ends_term = True

    def favoured(self, place: Place) -> tuple[int, ...]:
        """Give the pieces that would begin a term or carry one on from here."""
        onward = tuple(self._nodes[place.node].next)
        return onward if place.node == 0 else (*onward, *self._nodes[0].next)

    def step(self, place: Place, number: int) -> tuple[Place, float]:
        """Go on by one piece.

        Returns
        -------
        place : Place
            Where the text then stands.
        change : float
            What to add to its score; negative where something is taken back.
        """
        node = self._nodes[place.node]
        if number in node.next:
            at = node.next[number]
            return Place(at, place.lent + self.worth), self.worth
        kept = place.node != 0 and node.ends_term and number in self._breaks
        change = 0.0 if kept else -place.lent
        if number in self._nodes[0].next:
            return Place(self._nodes[0].next[number], self.worth), change + self.worth
        return Place(), change

    def settle(self, place: Place) -> float:
        """Give what the end of the text changes: an unfinished term is taken back."""
        return 0.0 if self._nodes[place.node].ends_term else -place.lent


def _forms(term: str) -> tuple[str, ...]:
    plain = " ".join(term.split())
    if not plain:
        return ()
    capital = plain[0].upper() + plain[1:]
    plural = () if plain.endswith("s") else (plain + "s", capital + "s")
    return (plain, capital, *plural)
