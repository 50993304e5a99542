"""The buyer's page: one car for a stranger, as a folder of files that asks for nothing outside it.

Takes a public car file (`public_car`), its report, and films and pictures made ready; gives the files by their names.
What may not leave is gone before a model is made, so no renderer can show it.
"""

from shutline.publish.buyers.build import Answer, build_page, film_of
from shutline.publish.buyers.model import BuyersPage, Film
from shutline.publish.buyers.page import page_files
from shutline.publish.buyers.public import public_car, public_coverage

__all__ = ["Answer", "BuyersPage", "Film", "build_page", "film_of", "page_files", "public_car", "public_coverage"]
