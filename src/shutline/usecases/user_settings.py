"""All that a user may set, section by section, in the order it is shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from shutline.usecases.buyer_choice import buyer_choice_shown
from shutline.usecases.description_settings import description_shown, wording_shown
from shutline.usecases.evidence import evidence_shown
from shutline.usecases.guides_editing import guides_shown
from shutline.usecases.house import house_shown
from shutline.usecases.ledger_settings import ledger_settings_shown
from shutline.usecases.market_settings import market_settings_shown
from shutline.usecases.mask_policy import mask_policy_shown
from shutline.usecases.second_settings import second_shown
from shutline.usecases.words_editing import words_shown


@dataclass(frozen=True, slots=True)
class Section:
    """One section: the name it has in JSON and in addresses, its heading, and what gives its present state."""

    key: str
    heading: str
    show: Callable[[], Any]


SECTIONS = (
    Section("house", "The house", house_shown),
    Section("description", "Descriptions", description_shown),
    Section("wording", "Sentences of your own", wording_shown),
    Section("words", "Words of your own", words_shown),
    Section("guides", "Guides of your own", guides_shown),
    Section("evidence", "The film itself", evidence_shown),
    Section("masks", "What is covered", mask_policy_shown),
    Section("buyer", "For the buyer", buyer_choice_shown),
    Section("ledger", "The ledger", ledger_settings_shown),
    Section("market", "The market", market_settings_shown),
    Section("second_reader", "The second reader", second_shown),
)
"""A later kind of setting is one line here and a template ``settings_KEY.html.j2`` of the workbench."""


def user_settings() -> dict[str, Any]:
    """Give the present state of each section by its key; what is broken is told in it, not raised."""
    return {section.key: section.show() for section in SECTIONS}
