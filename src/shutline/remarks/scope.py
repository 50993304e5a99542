"""How far each cue reaches over the words round it, why no further, and what that makes of the words it reaches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.remarks.phrases import Match
from shutline.remarks.scope_walk import Ending, Onward, Walk
from shutline.remarks.tokens import Text

__all__ = ["Ending", "Reach", "Scope", "Standing", "scopes"]


@dataclass(slots=True)
class Scope:
    """One cue and the tokens it reaches.

    The cue is the tokens `first` up to and without `end`. It reaches back to `back` (`first` where it does not) and on
    up to and without `ahead` (`end` where it does not). From `loose` on only commas without an 'or' carry it: 'no
    rust, dents' is a list, 'no rust, solid' is not, and the words alone do not tell. `kind` and `row` are the
    lexicon's.
    """

    kind: str
    row: str
    first: int
    end: int
    back: int
    ahead: int
    loose: int
    why_back: Ending
    why_ahead: Ending


@dataclass(slots=True)
class Standing:
    """What the cues make of some tokens.

    `by` are the scopes that reach them, in the order of the words, and `kinds` their kinds: ``doubt``, ``past``,
    ``general``, ``hypothetical``, ``question``, ``reported`` … `denied` is whether a denial reaches them, `excepted`
    whether they are what a denial leaves out: 'no dents apart from one chip'.
    """

    by: tuple[Scope, ...]
    kinds: frozenset[str]
    denied: bool
    excepted: bool


_PLAIN = Standing((), frozenset(), denied=False, excepted=False)


class Reach:
    """The scopes of a text, to be asked about any of its tokens."""

    def __init__(self, found: Sequence[Scope]) -> None:
        self.found = found
        self._ahead: dict[int, list[Scope]] = {}
        self._back: dict[int, list[Scope]] = {}
        self._broken_off: set[int] = set()
        for scope in found:
            # The last words of a cue may be the first of what it reaches: 'not a', 'a hole'.
            for at in range(scope.first + 1 if scope.ahead > scope.end else scope.end, scope.ahead):
                self._ahead.setdefault(at, []).append(scope)
            for at in range(scope.back, scope.first):
                self._back.setdefault(at, []).append(scope)
            if scope.kind == "deny" and scope.why_ahead is Ending.CUE:
                self._broken_off.add(scope.ahead)

    def over(self, first: int, end: int, *, loosely: bool = True) -> Standing:
        """Tell what the cues make of the tokens `first` up to and without `end`.

        A cue that begins before them counts where it reaches the first of them, a cue after them where it reaches the
        last; a cue that begins among them is part of what they say. `loosely` counts a reach that only bare commas
        carry.

        Examples
        --------
        >>> from shutline.car.speech import StretchOrigin, stretch_of
        >>> from shutline.remarks.lexicon import shipped_lexicon
        >>> from shutline.remarks.phrases import find
        >>> from shutline.remarks.tokens import tokens
        >>> text = tokens([stretch_of("no dents apart from one chip", 0, 1, origin=StretchOrigin.TRANSCRIPT)])
        >>> reach = Reach(scopes(text, find(text, shipped_lexicon())["cues"]))
        >>> reach.over(1, 2).denied, reach.over(5, 6).denied, reach.over(5, 6).excepted
        (True, False, True)
        """
        before, after = self._ahead.get(first, ()), self._back.get(end - 1, ())
        if not before and not after:
            return _PLAIN
        by = (*(s for s in before if loosely or first < s.loose), *after)
        kinds = frozenset(s.kind for s in by)
        denied = "deny" in kinds
        excepted = not denied and any(s.kind == "except" and s.first in self._broken_off for s in by)
        return Standing(by, kinds, denied, excepted)


def scopes(
    text: Text, cues: Sequence[Match], *, parts: Sequence[Match] = (), conditions: Sequence[Match] = ()
) -> list[Scope]:
    """Give for each cue and each of its rows the tokens it reaches.

    Parameters
    ----------
    text : Text
        The tokens.
    cues : sequence of Match
        ``find(text, lexicon)["cues"]``, in the order of the words.
    parts, conditions : sequence of Match
        Those of the same text, where they are known. A part that follows a denied condition with nothing between
        begins something else: 'no dents gutter cracked'. Without them such a denial ends at its limit.

    Returns
    -------
    list of Scope
        In the order of the words; one for each row of a cue. Rows of the kind ``stop`` only end others and give none.
        A row's `reach` is ``after``, ``before``, ``both`` or ``near``.

    Notes
    -----
    Work is done only where there are cues: a walk of a few tokens from each.

    Examples
    --------
    >>> from shutline.car.speech import StretchOrigin, stretch_of
    >>> from shutline.remarks.lexicon import shipped_lexicon
    >>> from shutline.remarks.phrases import find
    >>> from shutline.remarks.tokens import tokens
    >>> text = tokens([stretch_of("no rust or dents and the door is bent", 0, 1, origin=StretchOrigin.TRANSCRIPT)])
    >>> scope = scopes(text, find(text, shipped_lexicon())["cues"])[0]
    >>> text.quote(scope.end, scope.ahead - 1), scope.why_ahead.value
    ('rust or dents', 'a new clause')
    """
    if not cues:
        return []
    walk = Walk(text, cues, parts, conditions)
    out: list[Scope] = []
    for cue in cues:
        if walk.names_thing(cue):
            continue
        seen: set[tuple[str, str]] = set()
        for row in cue.rows:
            kind, reach = row.kind, row.reach
            if kind == "stop" or (kind, reach) in seen:
                continue
            seen.add((kind, reach))
            back, why_back = cue.first, Ending.NOWHERE
            ahead, loose, why_ahead = cue.end, cue.end, Ending.NOWHERE
            if reach != "after":
                back, why_back = walk.back(cue, kind)
            elif kind == "deny":
                back, why_back = walk.taken_back(cue)
            if reach != "before":
                ahead, loose, why_ahead = Onward(walk, cue, kind).run()
            out.append(Scope(kind, row.id, cue.first, cue.end, back, ahead, loose, why_back, why_ahead))
            if (kind != "deny" or reach == "before") and walk.denies_too(cue, kind):
                ahead, loose, why_ahead = Onward(walk, cue, "deny").run()
                out.append(Scope("deny", row.id, cue.first, cue.end, cue.first, ahead, loose, why_back, why_ahead))
    return out
