"""The marker card on paper.

Takes the drawing of a card and what is said beside it; gives a PDF in which it is to scale. Reads and writes nothing of
a car.
"""

from shutline.publish.card.paper import CardSheet, card_pdf

__all__ = ["CardSheet", "card_pdf"]
