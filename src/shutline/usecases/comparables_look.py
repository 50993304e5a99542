"""A table of comparables before it comes in: its headings with some entries, and which column is taken for what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.usecases.comparables_intake import LARGEST, kept_columns

if TYPE_CHECKING:
    from shutline.market import Columns
    from shutline.store import Store

ATTRIBUTE, LEFT_OUT = "attribute", ""
DAY_FORMS: Mapping[str, str] = {
    "%Y-%m-%d": "2026-05-03",
    "%d/%m/%Y": "03/05/2026, the day first",
    "%m/%d/%Y": "05/03/2026, the month first",
    "%d/%m/%y": "03/05/26, the day first",
    "%d.%m.%Y": "03.05.2026",
    "%d %B %Y": "3 May 2026",
    "%d-%b-%y": "03-May-26",
}
"""Ways in which days are written, with the 3rd of May 2026 as an example; of two that fit the former is taken."""
_SAMPLES, _LONGEST_SAMPLE = 3, 40
_MOST_HEADINGS = 200


@dataclass(frozen=True, slots=True)
class HeadingSeen:
    """A heading with some of its entries, and what it is taken for.

    `means` is a field of a comparable, ``attribute`` or empty for a column that is left out; `called` is the name of
    the attribute.
    """

    heading: str
    samples: tuple[str, ...]
    means: str
    called: str


@dataclass(frozen=True, slots=True)
class TableLook:
    """What a table is taken for; `said` tells that somebody said so of files with these headings before."""

    headings: tuple[HeadingSeen, ...]
    said: bool
    day_form: str
    sold_words: tuple[str, ...]
    sold: bool
    currency: str
    unit: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which column is what, as somebody chose it; `headings` as in `TableLook`, without samples."""

    headings: tuple[HeadingSeen, ...]
    day_form: str
    sold_words: tuple[str, ...] = ()
    sold: bool = True
    currency: str = "GBP"
    unit: str = "miles"


def look_at_table(store: Store, text: str) -> TableLook:
    """Say what a table is taken for: as it was said before of such headings, else by the names and by the days in it.

    Raises
    ------
    BadInputError
        It is too large (slug ``comparable-file``), or has no headings (``comparable-columns``).
    """
    from shutline.market import FIELDS, Columns, attribute_names, heading_of
    from shutline.market.reading import sample_of

    if len(text) > LARGEST:
        allowed, advice = f"up to {LARGEST:,}", "Split it, and take in each part."
        raise BadInputError(Problem("comparable-file", "table", f"{len(text):,} characters", allowed, advice))
    heading = heading_of(text)
    if not any(heading) or len(heading) > _MOST_HEADINGS or len(set(heading)) < len(heading):
        raise _refused(f"{len(heading)} headings", f"headings in its first line, each once, up to {_MOST_HEADINGS}")
    rows = sample_of(text)
    known = kept_columns(store, heading)
    if known is not None:
        fields, attributes, form = known.fields, known.attributes, known.day_form
    else:
        fields = {one.casefold(): one for one in heading if one.casefold() in FIELDS}
        form = _day_form(fields, heading, rows)
        attributes = attribute_names([one for one in heading if one and one not in fields.values()])
    means = {head: name for name, head in fields.items()}
    called = {head: name for name, head in attributes.items()}
    seen = []
    for at, head in enumerate(heading):
        samples = dict.fromkeys(row[at][:_LONGEST_SAMPLE] for row in rows if row[at])
        meant = means.get(head, ATTRIBUTE if head in called else LEFT_OUT)
        seen.append(HeadingSeen(head, tuple(samples)[:_SAMPLES], meant, called.get(head, head.casefold())))
    taken = known or Columns({"when": "", "price": ""})
    others = (taken.sold_words, taken.sold, taken.currency, taken.unit)
    return TableLook(tuple(seen), known is not None, form, *others)


def columns_chosen(chosen: Chosen) -> Columns:
    """Make the columns that somebody chose.

    Raises
    ------
    BadInputError
        Two columns are to be the same, or there is none for the day or the price (slug ``comparable-columns``).
    """
    from shutline.market import Columns

    fields: dict[str, str] = {}
    attributes: dict[str, str] = {}
    for one in chosen.headings:
        if one.means == LEFT_OUT:
            continue
        name = " ".join(one.called.casefold().split()) if one.means == ATTRIBUTE else one.means
        into = attributes if one.means == ATTRIBUTE else fields
        if not name or len(name) > 100 or name in into:
            raise _refused(f"{one.heading[:40]!r} as {name[:40]!r}", "each field and each name once, none empty")
        into[name] = one.heading
    words = tuple(word.casefold().strip() for word in chosen.sold_words if word.strip())
    more = {"sold_words": words} if words else {}
    return Columns(
        fields,
        attributes,
        day_form=chosen.day_form,
        sold=chosen.sold,
        currency=chosen.currency.upper(),
        unit=chosen.unit,
        **more,
    )


def _day_form(fields: dict[str, str], heading: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Find how days are written, and, where no heading is called so, the column in which they are."""
    from shutline.market.reading import reads_days

    places = [heading.index(fields["when"])] if "when" in fields else range(len(heading))
    best = (0, "%Y-%m-%d", -1)
    for at in places:
        entries = [row[at] for row in rows if row[at]]
        for form in DAY_FORMS:
            count = reads_days(entries, form)
            if count > best[0] and count * 2 >= len(entries):
                best = (count, form, at)
    if "when" not in fields and best[2] >= 0 and heading[best[2]] and heading[best[2]] not in fields.values():
        fields["when"] = heading[best[2]]
    return best[1]


def _refused(found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("comparable-columns", "table", found, allowed, "Say which column is what."))
