"""Job cards on paper: one for each trade, with the Plan, the pictures, the words and the cautions.

Takes the cards of `shutline.prep` and a car file; gives PDF bytes. Writes no file of its own that outlives the call.
"""

from shutline.publish.cards.model import CardSheets, build_card_sheets
from shutline.publish.cards.paper import cards_pages, cards_pdf

__all__ = ["CardSheets", "build_card_sheets", "cards_pages", "cards_pdf"]
