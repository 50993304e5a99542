"""The steps that brought the tables to what they are; run by `upgrade`, never by hand.

Takes a connection that is in a transaction; gives a database at the newest revision. A step that has been released is
never changed, and imports nothing from `tables`, which goes on changing.
"""
