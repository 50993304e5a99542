from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass

import pytest
from PIL import Image, ImageDraw

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Recording
from shutline.car.errors import Problem
from shutline.car.findings import (
    Drive,
    Fact,
    Finding,
    Footing,
    FootingKind,
    Found,
    Position,
    Remedy,
    Severity,
    Side,
    State,
)
from shutline.car.places import Visit
from shutline.car.recordings import Kind, Original, Probe, Still
from shutline.car.speech import StretchOrigin, stretch_of

MADE_AT = "2026-11-25T10:00:00+00:00"


@dataclass(frozen=True)
class Sample:
    car: CarFile
    visits: tuple[Visit, ...]
    stills: dict[str, bytes]


def said(start_s: float, quote: str, source: str = "r1") -> tuple[Footing, ...]:
    return (Footing(FootingKind.SAID, source, start_s, start_s + 3, quote, ("rule",)),)


def picture(words: str, size: tuple[int, int] = (640, 360)) -> bytes:
    image = Image.new("RGB", size, (150, 140, 120))
    ImageDraw.Draw(image).text((20, 20), words, fill=(0, 0, 0))
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "PLANTED-DEVICE"
    image.save(out, "JPEG", exif=exif)
    return out.getvalue()


def car_of(*findings: Finding, title: str = "1968 Calder Merlin 1300", **more: object) -> CarFile:
    kept = tuple(KeptFinding(f"f{number}", finding) for number, finding in enumerate(findings))
    return CarFile("merlin", title, Drive.RHD, MADE_AT, findings=kept, **more)  # type: ignore[arg-type]


@pytest.fixture(scope="session")
def sample() -> Sample:
    """An invented car: faults, good news, negatives, a doubt, one struck, two odometers, a planted way to a file."""
    slight, severe = Severity.SLIGHT, Severity.SEVERE
    rows = [
        Finding(
            "bonnet", "chip", Found.YES, severity=slight, footings=said(4, "one or two little stone chips up here")
        ),
        Finding("front_wing", "rust", Found.NO, Side.NEAR, footings=said(12, "no rust along the bottom of the wing")),
        Finding(
            "sill",
            "perforation",
            Found.YES,
            Side.NEAR,
            severity=severe,
            remedy=Remedy.REPLACE,
            footings=said(25, "that sill's had it, you can get a finger through, wants a new one"),
            state=State.STANDS,
        ),
        Finding(
            "sill", "rust", Found.UNSURE, Side.OFF, footings=said(63, "might be a bit starting there, hard to tell")
        ),
        Finding("tyre", "wear", Found.NO, Side.BOTH, Position.REAR, footings=said(40, "plenty of tread on the back")),
        Finding("brakes", "sound", Found.YES, footings=said(70, "brakes are good"), sureness=0.4),
        Finding("starting", "works", Found.YES, footings=said(90, "there, straight off the key"), state=State.STANDS),
        Finding(
            "seat",
            "tear",
            Found.YES,
            Side.OFF,
            Position.FRONT,
            footings=said(80, "PLANTED-STRUCK torn"),
            state=State.STRUCK,
        ),
        Finding("roof", "dent", Found.YES, footings=said(55, "PLANTED-WITHDRAWN dent")),
    ]
    stills: dict[str, bytes] = {}
    kept = []
    for number, row in enumerate(rows):
        data = picture(f"{number} {row.part}")
        sha256 = hashlib.sha256(data).hexdigest()
        stills[sha256] = data
        still = Still(row.footings[0].start_s or 0.0, sha256, 640, 360, 1.0, 1.0)
        kept.append(KeptFinding(f"f{number}", row, (still,), withdrawn=row.part == "roof"))
    facts = [
        Fact("year", 1968, footings=said(1, "she's a sixty-eight")),
        Fact("odometer", 58206, "mi", said(85, "fifty-eight thousand two hundred and six")),
        Fact("odometer", 58602, "mi", (Footing(FootingKind.WRITTEN, "p1", quote="58602"),), state=State.STANDS),
        Fact("mot_until", "2026-09", footings=said(99, "ticket till September")),
        Fact("keepers", 3, footings=said(100, "three keepers"), state=State.STRUCK),
        Fact("keeper_name", "PLANTED-KEEPER", footings=said(101, "belonged to PLANTED-KEEPER")),
    ]
    recording = Recording(
        "r1",
        Original("ab" * 32, "/home/PLANTED-HOME/walk round.mp4", 61_234_567, Kind.FILM),
        Probe(Kind.FILM, "mp4", 120.0),
        stretches=(stretch_of("Round the front first.", 1, 4, origin=StretchOrigin.HEARD),),
        complete=True,
    )
    car = CarFile(
        "merlin",
        "1968 Calder Merlin 1300",
        Drive.RHD,
        MADE_AT,
        "saloon",
        4,
        (recording,),
        (),
        tuple(kept),
        tuple(KeptFact(f"x{number}", fact) for number, fact in enumerate(facts)),
        (
            Problem(
                "sound-clipped",
                "/home/PLANTED-HOME/walk round.mp4",
                "the sound is clipped",
                "words may be wrong",
                "Film again.",
            ),
        ),
    )
    shown = [k.finding for k in car.going_out()]
    walk = sorted((f for f in shown), key=lambda f: f.start_s or 0.0)
    visits = tuple(Visit(f.start_s or 0.0, (f.start_s or 0.0) + 5, f.part, f.side, f.position) for f in walk)
    return Sample(car, visits, stills)
