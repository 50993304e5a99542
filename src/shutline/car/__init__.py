"""Parts, conditions, sides and the records that every stage speaks in.

Takes nothing from the other packages; gives the closed vocabulary, the frozen records in which stages meet, the errors,
and the Plan drawing. May not read a recording, open a database or know the order of the stages.
"""
