"""The statement of what changed between two recordings: one page for both parties to sign, and a schedule behind it.

Takes what the survey found to have changed and stills made ready; gives a model, in which every word is chosen, and a
PDF of it. May not read the store.
"""

from shutline.publish.changed.model import ChangedLine, ChangedModel, build_changed
from shutline.publish.changed.paper import changed_pages, changed_pdf

__all__ = ["ChangedLine", "ChangedModel", "build_changed", "changed_pages", "changed_pdf"]
