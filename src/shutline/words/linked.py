"""The car and the offer of it in the words of schema.org, as JSON-LD: what is known, and nothing else."""

from __future__ import annotations

from typing import Any

from shutline.car.carfile import CarFile
from shutline.car.keepers import keepers_before
from shutline.publish.plain import one_line
from shutline.publish.private import Private
from shutline.survey.odds import Odds
from shutline.words.captions import fault_words
from shutline.words.choice import choose
from shutline.words.draft import House
from shutline.words.facts import Known
from shutline.words.model import Draft

_UNITS = {"mi": "SMI", "km": "KMT"}
"""Common codes of UN/CEFACT Recommendation 20, which schema.org asks for in unitCode."""
_CUBIC_CENTIMETRES = "CMQ"
_WHEEL = {"rhd": "https://schema.org/RightHandDriving", "lhd": "https://schema.org/LeftHandDriving"}


def linked_data(
    car_file: CarFile,
    draft: Draft,
    *,
    odds: tuple[Odds, ...] = (),
    house: House | None = None,
    private: Private | None = None,
) -> dict[str, Any]:
    """Give a Car and an Offer of it.

    Parameters
    ----------
    car_file : CarFile
        Facts on which it does not agree with itself are left out.
    draft : Draft
        Its text is the description. The known damages are the faults and doubts that it tells, and nothing good.
    odds : tuple of Odds
        As for the draft.
    house : House, optional
        The seller. Only where its `marks` says so does the chassis number go out.
    private : Private, optional
        What may not leave.

    Returns
    -------
    dict
        JSON-LD with a graph of two. ``numberOfPreviousOwners`` counts the present keeper, as schema.org has it.
    """
    house = house or House()
    known = Known(choose(car_file, odds=odds).facts, car_file, private=private or Private())
    car: dict[str, Any] = {
        "@type": "Car",
        "@id": "#car",
        "name": draft.title.text,
        "description": "\n\n".join(paragraph.text for paragraph in draft.paragraphs) or draft.title.text,
        "itemCondition": "https://schema.org/UsedCondition",
        **_told(known),
    }
    if faults := fault_words(car_file, odds=odds):
        car["knownVehicleDamages"] = f"{'. '.join(faults)}."
    if house.marks and (number := known.value("chassis_number")) is not None:
        car["vehicleIdentificationNumber"] = one_line(str(number))
    offer: dict[str, Any] = {"@type": "Offer", "itemOffered": {"@id": "#car"}}
    offer["itemCondition"] = "https://schema.org/UsedCondition"
    if house.name:
        seller = {"@type": "Organization", "name": house.name}
        offer["seller"] = {**seller, "telephone": house.telephone} if house.telephone else seller
    return {"@context": "https://schema.org", "@graph": [car, offer]}


def _told(known: Known) -> dict[str, Any]:
    found: dict[str, Any] = {}
    year, keepers = known.count("year"), known.count("keepers")
    if year is not None:
        found["vehicleModelDate"] = str(year)
    for name, term in (
        *(("first_registered", "dateVehicleFirstRegistered"), ("body", "bodyType"), ("colour", "color")),
        *(("gearbox", "vehicleTransmission"), ("power_source", "fuelType")),
    ):
        if (value := known.value(name)) is not None:
            found[term] = one_line(str(value))
    for name, term in (
        *(("doors", "numberOfDoors"), ("seats", "vehicleSeatingCapacity"), ("gears", "numberOfForwardGears")),
    ):
        if (count := known.count(name)) is not None:
            found[term] = count
    if keepers is not None:
        found["numberOfPreviousOwners"] = keepers + keepers_before(known.one["keepers"][0])
    unit = known.one["odometer"][0].unit if "odometer" in known.one else None
    if unit in _UNITS:
        found["mileageFromOdometer"] = _quantity(known.one["odometer"][0].value, _UNITS[unit])
    if (size := known.count("engine_cc")) is not None:
        engine = {"@type": "EngineSpecification", "engineDisplacement": _quantity(size, _CUBIC_CENTIMETRES)}
        found["vehicleEngine"] = engine
    if (wheel := known.value("drive")) in _WHEEL:
        found["steeringPosition"] = _WHEEL[str(wheel)]
    return found


def _quantity(value: object, unit: str) -> dict[str, Any]:
    return {"@type": "QuantitativeValue", "value": value, "unitCode": unit}
