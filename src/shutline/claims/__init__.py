"""Written words held against a car file: what a text claims, whether the file backs it, what a question is answered.

Takes a text, or a question, and what is known of a car; gives each claim with its verdict and what it stands on, or an
answer with its moment, or the plain statement that nothing is known. Computes only: it may not read or write anything
but the data that comes with it. Silence is never taken for good news, and nothing is ever guessed.
"""
