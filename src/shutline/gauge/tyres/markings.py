"""What stands on a tyre's side: size, what it carries, how fast; nothing is made up that is not marked."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from shutline.gauge.limits import unfit
from shutline.gauge.tyres.rules import loads, speeds, speeds_in_size

_SERVICE = r"(?:(?P<load>\d{2,3})(?P<speed>[A-Y]))?\Z"
_METRIC = re.compile(
    r"(?P<p>P?)(?P<width>[1-3]\d5)/?(?P<ratio>(?<=/)\d{2}|)(?P<build>[SHV]?R|ZR|-|D|B)(?P<rim>1[0-9]|2[0-4])(?:C?)"
    + _SERVICE
)
_INCHES = re.compile(r"(?P<width>[4-9]\.\d{1,2})(?P<build>[-X])(?P<rim>1[0-9]|2[0-3])" + _SERVICE)
# What people key in besides: a point left out, a speed letter or an R in an inch size, small and large rims.
_INCHES_KEYED = re.compile(
    r"(?P<width>[3-9]\.\d{1,2}|1[0-2]\.\d{1,2}|[4-9]\d{2})(?P<build>[SHV]?[-XR])(?P<rim>[89]|1[0-9]|2[0-4])" + _SERVICE
)
# Rims in millimetres, which belong to tyres of their own.
_RIM_MM = re.compile(r"(?P<width>[1-3]\d{2})/(?P<ratio>\d{2})(?P<build>[SHV]?R)(?P<rim>3[0-9]\d|4[0-2]\d)" + _SERVICE)
_EXTRAS = re.compile(r"(?:XL|EXTRALOAD|REINF(?:ORCED)?|RF|TL|TT|TUBELESS|TUBETYPE|M\+?S|\d{1,2}PR|\d{1,2}PLY)\Z")


class Kind(StrEnum):
    """How a size is written."""

    METRIC = "metric"
    """Width in millimetres, ratio, rim in inches: 205/55 R16."""
    OLD_METRIC = "metric without a ratio"
    """Width in millimetres, rim in inches: 165 R 15."""
    INCH = "inch"
    """Width and rim in inches: 5.20-10."""
    RIM_MM = "rim in millimetres"
    """Width in millimetres, ratio, rim in millimetres: 190/65 HR 390."""


class Construction(StrEnum):
    """How the cords of a tyre lie."""

    RADIAL = "radial"
    CROSS_PLY = "cross-ply"
    BIAS_BELTED = "bias-belted"


@dataclass(frozen=True, slots=True)
class TyreSize:
    """A tyre's size as marked: `text` in one spelling, the load in kilograms and the speed in km/h where marked."""

    text: str
    load_kg: int | None = None
    speed_km_h: int | None = None


@dataclass(frozen=True, slots=True)
class Marking:
    """What a tyre's marking says; None where it says nothing.

    `width_mm` is the section width, of inch sizes the inches brought to millimetres. `ratio_pct` is the height of the
    side in per cent of it; an inch or old metric size has none. `rim_mm` is the diameter of the rim. `speed_km_h` is
    of the symbol, or else of a letter within the size; `over` where that letter meant over that speed. `extras` are
    words behind, such as ``XL``.
    """

    text: str
    kind: Kind
    construction: Construction
    width_mm: float
    ratio_pct: int | None
    rim_mm: float
    load_index: int | None
    load_kg: int | None
    speed_symbol: str | None
    speed_km_h: int | None
    over: bool
    extras: tuple[str, ...]

    @property
    def size(self) -> str:
        """The size alone, without what it carries: what has to be alike on one axle."""
        rim = f"{self.rim_mm / 25.4:g}" if self.kind is not Kind.RIM_MM else f"{self.rim_mm:g} mm"
        return f"{self.width_mm:g}/{self.ratio_pct or '-'} {self.construction} {rim}"


def tyre_size(text: str) -> TyreSize | None:
    """Read a tyre's size as a picture shows it; None where it has no form that tyres commonly have.

    >>> tyre_size("205/55 R16 91V")
    TyreSize(text='205/55 R16 91V', load_kg=615, speed_km_h=240)
    >>> tyre_size("205/55 R16 91I") is None
    True
    """
    plain = re.sub(r"\s+", "", text.upper())
    found = _METRIC.match(plain) or _INCHES.match(plain)
    made = _marking(found, ()) if found else None
    return TyreSize(made.text, made.load_kg, made.speed_km_h if made.speed_symbol else None) if made else None


def marking(text: str) -> Marking:
    """Read a marking as somebody gives it.

    >>> marking("165 SR 13").kind, marking("165 SR 13").ratio_pct
    (<Kind.OLD_METRIC: 'metric without a ratio'>, None)
    >>> marking("520-10").text
    '5.20-10'

    Raises
    ------
    BadInputError
        It has no form that is known, or a load index or speed symbol that there is not (slug ``reading-unfit``).
    """
    plain = re.sub(r"\s+", "", text.upper()).replace("\N{EN DASH}", "-").replace("\N{MULTIPLICATION SIGN}", "X")
    extras: list[str] = []
    while (last := _EXTRAS.search(plain)) is not None:
        extras.insert(0, last[0])
        plain = plain[: last.start()]
    found = next((m for form in (_METRIC, _RIM_MM, _INCHES, _INCHES_KEYED) if (m := form.match(plain))), None)
    made = _marking(found, tuple(extras)) if found else None
    if made is None:
        raise unfit(
            "tyre marking",
            f"{text!r}",
            "such as 205/55 R16 91V, 165 SR 13, 190/65 HR 390, 5.20-10; load index and speed symbol of the tables",
            "Read the side of the tyre once more; leave out what is not part of the size.",
        )
    return made


def _marking(found: re.Match[str], extras: tuple[str, ...]) -> Marking | None:
    parts = {name: value or "" for name, value in found.groupdict().items()}
    load_index = int(parts["load"]) if parts["load"] else None
    symbol = parts["speed"] or None
    if load_index is not None and (load_index not in loads() or symbol not in speeds()):
        return None
    inch = found.re in {_INCHES, _INCHES_KEYED}
    width = parts["width"]
    if inch and "." not in width:
        width = f"{width[0]}.{width[1:]}"
    build, ratio = parts["build"].replace("X", "-"), parts.get("ratio", "")
    letter = build[0] if len(build) == 2 else ""
    kind = Kind.INCH if inch else Kind.RIM_MM if found.re is _RIM_MM else Kind.METRIC if ratio else Kind.OLD_METRIC
    construction = Construction.RADIAL if "R" in build else Construction.CROSS_PLY
    if build == "B":
        construction = Construction.BIAS_BELTED
    joint = build if build == "-" else f" {build}"
    size = f"{parts.get('p', '')}{width}{f'/{ratio}' if ratio else ''}{joint}{parts['rim']}"
    km_h, over = speeds_in_size().get(letter, (None, False))
    if symbol is not None:
        km_h, over = speeds()[symbol], False
    service = f" {load_index}{symbol}" if load_index is not None else ""
    return Marking(
        text=size + service + "".join(f" {one}" for one in extras),
        kind=kind,
        construction=construction,
        width_mm=round(float(width) * (25.4 if inch else 1), 2),
        ratio_pct=int(ratio) if ratio else None,
        rim_mm=round(float(parts["rim"]) * (1 if kind is Kind.RIM_MM else 25.4), 2),
        load_index=load_index,
        load_kg=loads()[load_index] if load_index is not None else None,
        speed_symbol=symbol,
        speed_km_h=km_h,
        over=over,
        extras=extras,
    )
