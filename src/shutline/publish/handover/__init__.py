"""The handover sheet: what was disclosed of a car, on paper for seller and buyer to sign.

Takes the report of a public car file and the number of the sealed file; gives a model, in which every word is chosen,
and a PDF of it. May not read the store.
"""

from shutline.publish.handover.model import HandoverModel, build_handover
from shutline.publish.handover.paper import handover_pdf

__all__ = ["HandoverModel", "build_handover", "handover_pdf"]
