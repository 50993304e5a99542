"""Make the report's typefaces from two packages of the npm registry, and the list of what they can set.

    npm pack @fontsource-variable/source-sans-3@5.3.1 && npm pack @fontsource-variable/source-serif-4@5.3.1
    python tools/fonts/make_fonts.py SANS_FOLDER SERIF_FOLDER OUT

Needs fonttools and brotli. Pages get the WOFF2 files as they come. The PDF engine reads TrueType only, so for it the
subsets are fixed at one weight, joined and written as TrueType; since that changes them, and 'Source' is a reserved
font name, they are called Shutline Sans and Shutline Serif.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from fontTools.merge import Merger
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

SUBSETS = ("latin", "latin-ext", "greek", "cyrillic", "vietnamese")
CUTS = (
    ("sans", "source-sans-3", "normal", 400, "Shutline Sans", "Regular"),
    ("sans", "source-sans-3", "normal", 600, "Shutline Sans", "SemiBold"),
    ("serif", "source-serif-4", "normal", 400, "Shutline Serif", "Regular"),
    ("serif", "source-serif-4", "italic", 400, "Shutline Serif", "Italic"),
    ("serif", "source-serif-4", "normal", 600, "Shutline Serif", "SemiBold"),
)
WEB = (
    ("sans", "source-sans-3-latin-wght-normal.woff2"),
    ("serif", "source-serif-4-latin-wght-normal.woff2"),
    ("serif", "source-serif-4-latin-wght-italic.woff2"),
)
# The day of the first run: a fixed time makes the same bytes.
MADE_AT = 3_846_960_000


def main(sans: Path, serif: Path, out: Path) -> None:
    """Write the fonts and `coverage.txt` to a folder."""
    folders = {"sans": sans, "serif": serif}
    out.mkdir(parents=True, exist_ok=True)
    for which, name in WEB:
        shutil.copyfile(folders[which] / "files" / name, out / name)
    covered: set[int] | None = None
    for which, stem, slope, weight, family, cut in CUTS:
        font = _cut(folders[which] / "files", stem, slope, weight)
        _rename(font, family, cut, weight, slope)
        font["head"].created = font["head"].modified = MADE_AT
        font.recalcTimestamp = False
        font.save(out / f"{family.replace(' ', '')}-{cut}.ttf")
        here = set(font.getBestCmap())
        covered = here if covered is None else covered & here
    (out / "coverage.txt").write_text(_ranges(sorted(covered or ())), encoding="utf-8", newline="\n")


def _cut(files: Path, stem: str, slope: str, weight: int) -> Any:
    with tempfile.TemporaryDirectory() as folder:
        pieces = []
        for subset in SUBSETS:
            source = files / f"{stem}-{subset}-wght-{slope}.woff2"
            if not source.exists():
                continue
            font = instantiateVariableFont(TTFont(source), {"wght": weight}, inplace=True)
            font.flavor = None
            for table in ("STAT", "HVAR", "MVAR", "avar", "GSUB", "GDEF", "DSIG"):
                if table in font:
                    del font[table]
            piece = Path(folder) / f"{subset}.ttf"
            font.save(piece)
            pieces.append(str(piece))
        return Merger().merge(pieces)


def _rename(font: Any, family: str, cut: str, weight: int, slope: str) -> None:
    table = font["name"]
    notice = next(str(row) for row in table.names if row.nameID == 0)
    plain = "Italic" if slope == "italic" else "Regular"
    full = family if cut == "SemiBold" else f"{family} {cut}"
    table.names = []
    for number, text in (
        (0, notice.replace("\N{LEFT SINGLE QUOTATION MARK}", "'").replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")),
        (1, f"{family} SemiBold" if cut == "SemiBold" else family),
        (2, plain),
        (3, f"{family} {cut}"),
        (4, f"{full} {cut}" if cut == "SemiBold" else full),
        (5, "Version 1.0"),
        (6, f"{family.replace(' ', '')}-{cut}"),
        (14, "https://openfontlicense.org"),
        (16, family),
        (17, cut),
    ):
        table.setName(text, number, 3, 1, 0x409)
    font["OS/2"].usWeightClass = weight


def _ranges(codes: list[int]) -> str:
    lines: list[str] = []
    start = last = codes[0]
    for code in [*codes[1:], -1]:
        if code == last + 1:
            last = code
            continue
        lines.append(f"{start:04X}-{last:04X}\n")
        start = last = code
    return "".join(lines)


if __name__ == "__main__":
    main(*(Path(argument) for argument in sys.argv[1:4]))
