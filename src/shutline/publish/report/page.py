"""The report as one page of HTML that needs nothing beside it: no script, no request."""

from __future__ import annotations

import base64
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from shutline.publish.report.model import ReportModel
from shutline.publish.wording import phrase, wording

if TYPE_CHECKING:
    from jinja2 import Environment

_FACES = (
    ("Source Sans 3", "normal", "source-sans-3-latin-wght-normal.woff2"),
    ("Source Serif 4", "normal", "source-serif-4-latin-wght-normal.woff2"),
    ("Source Serif 4", "italic", "source-serif-4-latin-wght-italic.woff2"),
)


def report_html(model: ReportModel) -> str:
    """Set a report as a page.

    Parameters
    ----------
    model : ReportModel

    Returns
    -------
    str
        A whole HTML document, to be written in UTF-8: styles, typefaces and pictures are inside it. Everything that
        was said or written by anybody is escaped.
    """
    from markupsafe import Markup

    template = _environment().get_template("report.html.j2")
    # The style and the drawing are our own and are already escaped where they hold anything of the car's.
    wide, narrow = (Markup(model.figure.wide), Markup(model.figure.narrow)) if model.figure else ("", "")  # noqa: S704
    drawings = [Markup(heard.drawing) for heard in model.engine.heard] if model.engine else []  # noqa: S704
    return template.render(
        m=model,
        w=wording(),
        style=Markup(_style()),  # noqa: S704
        wide=wide,
        narrow=narrow,
        drawings=drawings,
        films=[Markup(gauge.drawing) for gauge in model.measured.gauges] if model.measured else [],  # noqa: S704
        past=[Markup(one.drawing) for one in model.history.gauges] if model.history else [],  # noqa: S704
        page_source=lambda page: _data_uri(page.data),
    )


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("shutline.publish.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["data_uri"] = _data_uri
    environment.globals["phrase"] = phrase
    return environment


@cache
def _style() -> str:
    faces = "".join(
        f'@font-face{{font-family:"{family}";font-style:{slope};font-weight:200 900;font-display:swap;'
        f'src:url("data:font/woff2;base64,{_font(name)}") format("woff2")}}\n'
        for family, slope, name in _FACES
    )
    return faces + files("shutline.publish.report").joinpath("templates/report.css").read_text(encoding="utf-8")


def _font(name: str) -> str:
    return base64.b64encode(files("shutline.publish").joinpath("fonts", name).read_bytes()).decode("ascii")


def _data_uri(data: bytes) -> str:
    return "data:image/jpeg;base64," + base64.b64encode(data).decode("ascii")
