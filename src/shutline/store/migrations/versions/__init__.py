"""One module for each revision, in order.

Takes Alembic's operations; gives one change of the tables. May not import from the rest of the package.
"""
