"""JSON-LD is held against the vocabulary of schema.org itself (tests/published/schema_org_12_0.md)."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import Drive, Fact, Finding, Footing, FootingKind, Found, Side, State
from shutline.survey import coverage
from shutline.words import House, linked_data, write_draft

FILE = Path(__file__).parents[1] / "published/schema_org_12_0.csv"
ROWS = list(csv.DictReader(FILE.read_text(encoding="utf-8").splitlines()))
TYPES = {row["name"]: [one for one in row["of"].split("|") if one] for row in ROWS if row["kind"] == "type"}
PROPERTIES = {row["name"]: row for row in ROWS if row["kind"] == "property"}
MEMBERS = {row["name"]: row["of"] for row in ROWS if row["kind"] == "member"}
SAID = (Footing(FootingKind.SAID, "r1", 3.0, 5.0, ""),)


def lineage(name: str) -> set[str]:
    found = {name}
    for above in TYPES[name]:
        found |= lineage(above)
    return found


def is_date(text: str) -> bool:
    """Tell whether a text is an ISO 8601 year, month or day, which schema.org's Date is."""
    parts = text.split("-")
    try:
        date(*(int(part) for part in (*parts, "1", "1")[:3]))
    except ValueError:
        return False
    return len(parts[0]) == 4 and len(parts) <= 3


def wrong(node: dict[str, Any], ids: dict[str, str]) -> list[str]:
    """Give what of a node the vocabulary does not have: types, properties of a type, values out of a range."""
    trouble = []
    kinds = lineage(node["@type"])
    for name, value in node.items():
        if name.startswith("@"):
            continue
        row = PROPERTIES.get(name)
        if row is None or not kinds & set(row["of"].split("|")):
            trouble.append(f"{node['@type']} has no {name}")
            continue
        ranges = set(row["range"].split("|"))
        if isinstance(value, dict):
            kind = value.get("@type") or ids[value["@id"]]
            fits = bool(lineage(kind) & ranges)
            trouble += wrong(value, ids) if "@type" in value else []
        elif isinstance(value, int | float):
            fits = bool({"Number", "Integer"} & ranges)
        elif value.removeprefix("https://schema.org/") in MEMBERS:
            fits = MEMBERS[value.removeprefix("https://schema.org/")] in ranges
        else:
            fits = bool({"Text", "URL"} & ranges) or ("Date" in ranges and is_date(value))
        if not fits:
            trouble.append(f"{name} cannot be {value!r}: {row['range']}")
    return trouble


def told(name: str, value: Any, unit: str | None = None, rules: tuple[str, ...] = ()) -> Fact:
    footing = Footing(FootingKind.SAID, "r1", 3.0, 5.0, "", rules)
    return Fact(name, value, unit, footings=(footing,), state=State.STANDS)


def car_of(*facts: Fact, findings: tuple[Finding, ...] = ()) -> CarFile:
    return CarFile(
        "curlew",
        "Averley Curlew",
        Drive.RHD,
        "2026-11-26T08:00:00+00:00",
        facts=tuple(KeptFact(f"a{number}", fact) for number, fact in enumerate(facts)),
        findings=tuple(KeptFinding(f"f{number}", one) for number, one in enumerate(findings)),
    )


def linked(car: CarFile, house: House | None = None) -> dict[str, Any]:
    return linked_data(car, write_draft(car, found=coverage(car), house=house), house=house)


def valid(data: dict[str, Any]) -> list[str]:
    assert data["@context"] == "https://schema.org"
    ids = {node["@id"]: node["@type"] for node in data["@graph"] if "@id" in node}
    return [line for node in data["@graph"] for line in wrong(node, ids)]


ALL = (
    told("year", 1969),
    told("first_registered", "1969-03-04"),
    told("body", "saloon"),
    told("doors", 4),
    told("seats", 5),
    told("colour", "dove grey"),
    told("gearbox", "manual"),
    told("gears", 4),
    told("power_source", "petrol"),
    told("engine_cc", 1300),
    told("odometer", 58206, "mi"),
    told("drive", "rhd"),
    told("chassis_number", "AV1300S0417"),
    told("registration_mark", "Q 417 PLA"),
)


TERMS = {
    "year": ("vehicleModelDate",),
    "first_registered": ("dateVehicleFirstRegistered",),
    "body": ("bodyType",),
    "doors": ("numberOfDoors",),
    "seats": ("vehicleSeatingCapacity",),
    "colour": ("color",),
    "gearbox": ("vehicleTransmission",),
    "gears": ("numberOfForwardGears",),
    "power_source": ("fuelType",),
    "engine_cc": ("vehicleEngine",),
    "odometer": ("mileageFromOdometer",),
    "drive": ("steeringPosition",),
    "chassis_number": ("vehicleIdentificationNumber",),
    "keepers": ("numberOfPreviousOwners",),
}


def test_all_that_can_be_told_is_in_the_vocabulary_and_in_its_ranges() -> None:
    data = linked(car_of(*ALL, told("keepers", 3)), House("Halloran & Pike", "01632 960 123", marks=True))
    car, offer = data["@graph"]
    assert valid(data) == []
    named = {name for fact in (*ALL, told("keepers", 3)) for name in TERMS.get(fact.name, ())}
    assert set(car) == {"@type", "@id", "name", "description", "itemCondition", *named}
    assert offer["seller"] == {"@type": "Organization", "name": "Halloran & Pike", "telephone": "01632 960 123"}
    assert car["mileageFromOdometer"] == {"@type": "QuantitativeValue", "value": 58206, "unitCode": "SMI"}
    assert car["steeringPosition"] == "https://schema.org/RightHandDriving"


@given(st.sets(st.sampled_from(range(len(ALL)))))
@settings(deadline=None, max_examples=25)
def test_what_is_not_known_is_not_told(chosen: set[int]) -> None:
    data = linked(car_of(*(ALL[number] for number in sorted(chosen))))
    assert valid(data) == []
    car, _ = data["@graph"]
    names = {ALL[number].name for number in chosen}
    assert ("numberOfDoors" in car) is ("doors" in names)
    assert ("vehicleEngine" in car) is ("engine_cc" in names)
    assert "numberOfPreviousOwners" not in car
    assert "vehicleIdentificationNumber" not in car
    assert "Q 417 PLA" not in str(data)


@pytest.mark.parametrize(
    ("value", "rule", "owners"),
    [(3, "facts.number-keepers", 3), (2, "facts.number-keepers-before", 3), (1, "facts.had-from-new", 1), (4, "", 4)],
)
def test_the_present_keeper_is_counted_as_schema_org_has_it(value: int, rule: str, owners: int) -> None:
    # Definition of the property: 'The number of owners of the vehicle, including the current one.'
    car, _ = linked(car_of(told("keepers", value, rules=(rule,) if rule else ())))["@graph"]
    assert car["numberOfPreviousOwners"] == owners


def test_values_that_do_not_agree_are_left_out() -> None:
    car, _ = linked(car_of(told("keepers", 3), told("keepers", 5), told("odometer", 41206)))["@graph"]
    assert "numberOfPreviousOwners" not in car
    # Without a unit nobody knows what was read.
    assert "mileageFromOdometer" not in car


def test_known_damages_name_every_fault_and_every_doubt() -> None:
    findings = (
        Finding("sill", "rust", Found.YES, side=Side.NEAR, footings=SAID, state=State.STANDS),
        Finding("roof", "sound", Found.YES, footings=SAID, state=State.STANDS),
        Finding("door", "filler", Found.UNSURE, side=Side.OFF, footings=SAID, state=State.STANDS),
        Finding("bonnet", "dent", Found.YES, footings=SAID, state=State.STRUCK),
    )
    data = linked(car_of(findings=findings))
    assert valid(data) == []
    car, _ = data["@graph"]
    assert car["knownVehicleDamages"].count("Nearside sill: rust.") == 1
    assert "Offside door: may have filler" in car["knownVehicleDamages"]
    assert "dent" not in car["description"]
    assert "roof" not in car["knownVehicleDamages"]


def test_known_damages_hold_no_praise_of_the_same_part() -> None:
    findings = (
        Finding("sill", "sound", Found.YES, side=Side.OFF, footings=SAID, state=State.STANDS),
        Finding("sill", "rust", Found.YES, side=Side.NEAR, footings=SAID, state=State.STANDS),
    )
    car, _ = linked(car_of(findings=findings))["@graph"]
    assert car["knownVehicleDamages"] == "Nearside sill: rust."


def test_the_check_finds_what_is_not_in_the_vocabulary() -> None:
    assert wrong({"@type": "Car", "bootVolume": 3}, {}) == ["Car has no bootVolume"]
    assert wrong({"@type": "Car", "numberOfDoors": "four"}, {}) != []
    assert wrong({"@type": "Offer", "numberOfDoors": 4}, {}) != []
    assert wrong({"@type": "Car", "dateVehicleFirstRegistered": "March"}, {}) != []
