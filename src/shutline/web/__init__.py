"""The workbench: a local web application over the use cases; `shutline serve` opens it.

Takes a store and who may come in; gives an ASGI application. Does nothing the use cases do not do, reads no table of
the store by itself, and asks nothing of any other machine.
"""

from shutline.web.access import Access
from shutline.web.app import workbench

__all__ = ["Access", "workbench"]
