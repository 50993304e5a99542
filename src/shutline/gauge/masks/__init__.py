"""Registration marks, chassis plates and faces in pictures and films: where they stand, and how they are covered.

Takes pixels, gives boxes with a sureness (`find`, `film`), and gives pixels back with boxes filled (`cover`). It says
what looks like such a thing, never whose it is: no mark is looked up, no face compared. Keeps nothing; what a person
says of a box is the use cases' affair.
"""
