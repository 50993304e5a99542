"""The report of one car: a model with its words already chosen, and the page and the PDF made from it.

Takes a car file, the visits of the walk and the bytes of the stills; gives a `ReportModel`, and from that HTML text or
PDF bytes. Writes no file of its own that outlives the call. A struck finding never enters the model, so no renderer can
show it.
"""

from shutline.publish.report.build import build_report
from shutline.publish.report.model import House, ReportModel
from shutline.publish.report.page import report_html
from shutline.publish.report.paper import report_pdf

__all__ = ["House", "ReportModel", "build_report", "report_html", "report_pdf"]
