"""The route on one page of paper, to hold in one hand.

Takes a route of the survey; gives PDF bytes. Writes no file of its own that outlives the call.
"""

from shutline.publish.sheet.sheet import RouteSheet, StopLine, build_route_sheet, route_pdf

__all__ = ["RouteSheet", "StopLine", "build_route_sheet", "route_pdf"]
