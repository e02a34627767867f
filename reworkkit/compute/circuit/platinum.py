"""Resistance thermometers: what a sensor of platinum or silicon has in a room."""

import re

from reworkkit.compute.circuit.conditions import CELSIUS_SPREAD, stated_celsius
from reworkkit.compute.circuit.pin_roles import numbers
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_PLATINUM = re.compile(r"(?<![A-Z0-9])PT-?(100|200|500|1000|10000|10K|1K)(?![0-9])", re.IGNORECASE)
_OHM = {"10K": 10_000.0, "1K": 1000.0}
_KINDS = frozenset(("temperature_sensor", "sensor", "thermistor", "resistor", "unknown"))
_SILICON = re.compile(r"(?<![A-Z0-9])KTY-?(81-?1|81-?2|82-?1|82-?2|83|84|10|11)", re.IGNORECASE)
_SILICON_OHM = {
    "811": 1000.0,
    "812": 2000.0,
    "821": 1000.0,
    "822": 2000.0,
    "83": 1000.0,
    "84": 603.0,
    "10": 2000.0,
    "11": 2000.0,
}
_SILICON_ROOM = (0.88, 0.985, 1.13)
"""Share of the resistance at 25 degrees at 10, 23 and 40 degrees: 0.79 % a degree; from memory."""
_ROOM_C = (10.0, 23.0, 40.0)
_LINEAR, _SQUARE = 3.9083e-3, -5.775e-7


def platinum_ohm(nominal_ohm: float, celsius: float) -> float:
    """Return the resistance of a platinum sensor [ohm]: R0 (1 + A T + B T^2), 0 to 850 degrees Celsius (IEC 60751).

    >>> round(platinum_ohm(100.0, 20.0), 2), round(platinum_ohm(1000.0, 100.0), 1)
    (107.79, 1385.1)
    """
    return nominal_ohm * (1 + _LINEAR * celsius + _SQUARE * celsius**2)


def platinum(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a sensor of platinum or silicon (KTY) as its resistance in a room of 10 to 40 degrees.

    Leads beyond two are taken only where they share its two nets. None for other parts.
    """
    if part.identity.kind not in _KINDS:
        return None
    ends = wiring.two_ends(part)
    texts, celsius = (*numbers(part), words_of(part)), stated_celsius(wiring.facts(part.ref).role or "")
    band = next((band for text in texts if (band := _at(text, celsius))), None)
    if band is None or ends is None:
        return None
    told = message("circuit-platinum", ref=part.ref)
    if celsius is not None:
        told = message("circuit-stated-celsius", ref=part.ref, celsius=celsius)
    return [Element("resistor", part.ref, ends, {"resistance": band}, (told,))]


def _at(text: str, celsius: float | None) -> Band | None:
    """Return what a sensor of that number has at a temperature, or in a room [ohm]; None for other numbers."""
    if found := _PLATINUM.search(text):
        nominal = _OHM.get(found[1].upper()) or float(found[1])
        at = _ROOM_C if celsius is None else (celsius - CELSIUS_SPREAD, celsius, celsius + CELSIUS_SPREAD)
        low, usual, high = (platinum_ohm(nominal, one) for one in at)
    elif found := _SILICON.search(text):
        low, usual, high = (_SILICON_OHM[found[1].replace("-", "")] * share for share in _SILICON_ROOM)
    else:
        return None
    return Band(low, usual, high, "ohm", BandBasis.TABLE)
