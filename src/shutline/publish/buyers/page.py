"""The buyer's page as files: a page that needs no script and no network, and what lies beside it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from shutline.publish.buyers.model import BuyersPage
from shutline.publish.buyers.wording import words
from shutline.publish.wording import phrase, wording

if TYPE_CHECKING:
    from jinja2 import Environment

_FACES = (
    ("Source Sans 3", "normal", "source-sans-3-latin-wght-normal.woff2"),
    ("Source Serif 4", "normal", "source-serif-4-latin-wght-normal.woff2"),
    ("Source Serif 4", "italic", "source-serif-4-latin-wght-italic.woff2"),
)

POLICY = "default-src 'none'; " + "; ".join(
    # A page that lies on a disk has no origin of its own: what lies beside it is allowed by its scheme.
    f"{kind}-src 'self' file:"
    for kind in ("script", "style", "img", "media", "font")
)
"""What the page may load: what lies beside it, and nothing else."""


def page_files(page: BuyersPage) -> Mapping[str, bytes]:
    """Give the files of a page by their names; films and the report on paper, which it names, are for the caller.

    Everything that was said or written by anybody is escaped.
    """
    from markupsafe import Markup

    report = page.report
    # The drawings are our own, and are already escaped where they hold anything of the car's.
    wide, narrow = (Markup(report.figure.wide), Markup(report.figure.narrow)) if report.figure else ("", "")  # noqa: S704
    drawings = [Markup(heard.drawing) for heard in report.engine.heard] if report.engine else []  # noqa: S704
    films = [Markup(gauge.drawing) for gauge in report.measured.gauges] if report.measured else []  # noqa: S704
    past = [Markup(one.drawing) for one in report.history.gauges] if report.history else []  # noqa: S704
    html = (
        _environment()
        .get_template("page.html.j2")
        .render(
            p=page,
            m=report,
            w=wording(),
            t=words("page"),
            wide=wide,
            narrow=narrow,
            drawings=drawings,
            films=films,
            past=past,
            page_source=lambda page: f"pictures/{page.key}.jpg",
        )
    )
    pictures = {f"pictures/{picture.key}.jpg": picture.data for entry in report.entries for picture in entry.pictures}
    shown = report.papers.papers if report.papers else ()
    pictures |= {f"pictures/{page.key}.jpg": page.data for paper in shown for page in paper.pages}
    beside: dict[str, bytes] = {}
    for film in page.films:
        for name, text in (("captions", film.captions), ("chapters", film.chapters_vtt)):
            if text:
                beside[f"film/{name}-{film.number}.vtt"] = text.encode()
        if film.poster is not None:
            beside[f"film/poster-{film.number}.jpg"] = film.poster
    return {"index.html": html.encode("utf-8", "replace"), **_still_files(), **pictures, **beside}


@cache
def _still_files() -> Mapping[str, bytes]:
    """Give what is the same for every car: how it looks, what script there is, and the typefaces."""
    here = files("shutline.publish")
    faces = "".join(
        f'@font-face {{ font-family: "{family}"; font-style: {slope}; font-weight: 200 900; font-display: swap; '
        f'src: url("type/{name}") format("woff2"); }}\n'
        for family, slope, name in _FACES
    )
    report = here.joinpath("report/templates/report.css").read_text(encoding="utf-8")
    own = here.joinpath("buyers/templates/page.css").read_text(encoding="utf-8")
    return {
        "page.css": f"{faces}{report}\n{own}".encode(),
        "icon.svg": here.joinpath("buyers/templates/icon.svg").read_bytes(),
        "page.js": here.joinpath("buyers/templates/page.js").read_bytes(),
        **{f"type/{name}": here.joinpath("fonts", name).read_bytes() for _, _, name in _FACES},
        "type/OFL.txt": here.joinpath("fonts/OFL.txt").read_bytes(),
    }


@cache
def _environment() -> Environment:
    from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

    environment = Environment(
        # The report's sections that stand here as they are there.
        loader=ChoiceLoader(
            [
                PackageLoader("shutline.publish.buyers", "templates"),
                PackageLoader("shutline.publish.report", "templates"),
            ]
        ),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.globals["phrase"] = phrase
    environment.globals["policy"] = f"{POLICY}; base-uri 'none'; form-action 'none'"
    return environment
