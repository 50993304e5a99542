"""The words a car is offered with: a draft in the house's voice in which every sentence has a footing.

Takes a car file, what is at odds in it and what was not looked at; gives a `Draft` of paragraphs and sentences,
captions for pictures, and the same as text, HTML, Markdown and JSON-LD. Says nothing that no standing finding and no
fact with a footing bears out, and leaves out no fault that stands. Reads no file but its own data, and uses no chance.
"""

from shutline.words.captions import PictureWords, picture_words
from shutline.words.draft import House, write_draft
from shutline.words.linked import linked_data
from shutline.words.model import Draft, Footed, FootedOn, Length, Paragraph, Sentence, Untold
from shutline.words.shapes import as_html, as_markdown, as_text
from shutline.words.wording import Wording, shipped_wording, with_house_wording

__all__ = [
    "Draft",
    "Footed",
    "FootedOn",
    "House",
    "Length",
    "Paragraph",
    "PictureWords",
    "Sentence",
    "Untold",
    "Wording",
    "as_html",
    "as_markdown",
    "as_text",
    "linked_data",
    "picture_words",
    "shipped_wording",
    "with_house_wording",
    "write_draft",
]
