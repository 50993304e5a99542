"""The book of each car: what was paid, made and owed, to the penny."""
