"""Cards on paper: the marker card, and the drawn scale of blisters.

Takes drawings and what is said beside them; gives a PDF in which they are to scale. Reads and writes nothing of a car.
"""

from shutline.publish.card.paper import CardSheet, ScaleDrawing, ScalePage, ScaleSheet, card_pdf, scale_pdf

__all__ = ["CardSheet", "ScaleDrawing", "ScalePage", "ScaleSheet", "card_pdf", "scale_pdf"]
