"""A general remark with all that speaks against it, put together into one case."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator

from shutline.car.findings import Finding
from shutline.survey.odds import Odds, OddsKind, Pair, make_odds


def gathered(pairs: Iterable[Pair], *, apart: Callable[[Odds], bool] | None = None) -> Iterator[Odds]:
    """Put pairs of findings together by the remark that denies, or tells good news.

    A remark of a whole ('no rust anywhere') is a general one, and one that several findings of its own part speak
    against ('no dents on the door'). Remarks that say the same, and that the same findings speak against, are one.

    Parameters
    ----------
    pairs : iterable of Pair
        In the order they are shown in; a case stands where the first of its pairs stood.
    apart : callable, optional
        Tells which pairs stay by themselves.
    """
    alone: list[tuple[int, Odds]] = []
    against: dict[str, list[tuple[int, Pair]]] = defaultdict(list)
    for number, pair in enumerate(pairs):
        if apart is not None and apart(pair.odds):
            alone.append((number, pair.odds))
        else:
            against[pair.general.id].append((number, pair))
    alike: dict[tuple[object, ...], list[list[Pair]]] = defaultdict(list)
    first_of: dict[tuple[object, ...], int] = {}
    for numbered in against.values():
        number, pair = numbered[0]
        if len(numbered) == 1 and not pair.wide:
            alone.append((number, pair.odds))
            continue
        key = (_says(pair.general.finding), frozenset(one.other.id for _, one in numbered))
        alike[key].append([one for _, one in numbered])
        first_of[key] = min(number, first_of.get(key, number))
    made = [*alone, *((first_of[key], _case(groups)) for key, groups in alike.items())]
    return iter(odds for _, odds in sorted(made, key=lambda one: one[0]))


def _says(finding: Finding | None) -> tuple[object, ...]:
    if finding is None:
        return ()
    return finding.part, finding.side, finding.position, finding.condition, finding.found


def _case(groups: list[list[Pair]]) -> Odds:
    first = groups[0]
    told = (*(same[0].general for same in groups), *(pair.other for pair in first))
    whys = "; ".join(dict.fromkeys(pair.odds.why for pair in first))
    return make_odds(OddsKind.FINDINGS, first[0].odds.rule, told, whys, general=len(groups))
