"""Read the pages of papers off their pictures.

Takes the picture of a page, whichever way it lies. Gives its lines with their places, top to bottom, and by how much it
was turned for them to be read. May not open a file, fetch anything, or say what the words mean.
"""

from shutline.gauge.pages.reading import read_page

__all__ = ["read_page"]
