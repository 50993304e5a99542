"""Papers of a car: what their words tell, proposed for a person to take, correct or strike.

Takes pages with the lines that were read on them; gives the kind of paper with chances, and days, mileages, sums,
marks, chassis numbers and countries with every way to take them; what is private, to be kept from what goes out; and
which papers are of another car. Decides nothing, puts no misreading right, and may not read anything but its own data.
"""

from shutline.history.papers.others import of_another_car
from shutline.history.papers.private import PrivateStretch, private_words
from shutline.history.papers.telling import Known, tell_paper

__all__ = ["Known", "PrivateStretch", "of_another_car", "private_words", "tell_paper"]
