"""Gates, buffers and reset supervisors: outputs that follow their inputs or the supply."""

import re
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.chips import between, chip, driver, level, one_input_gate
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.pin_roles import (
    by_type,
    figure_of,
    known_pins,
    numbers,
    roles_of,
    row_of,
)
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_SEVENTY_FOUR = re.compile(
    r"(?:SN|MC|M|CD|HD|TC|IDT|MM|DM|NLV|U)?[57]4([A-Z]{0,4}?)(\dG(?:U?\d{2,3})|U?\d{2,4})(?![0-9])"
)
_LITTLE = re.compile(r"(?:NC7S[VZP]?|TC7S[A-Z]?|NL17SZ|NL17SG)(U?\d\d|\d{3})(?![0-9])")
_PAIR = re.compile(r"NC7WZ(U?\d\d)(?![0-9])")
_FORTY = re.compile(r"(?:CD|HEF|MC1|HCF|TC|BU|MM|NJU)?4(0\d\d|01\d\d|5\d\d)(?:[A-Z]|$)")
_FAST = ("LVC", "AC", "AUP", "AUC", "LCX", "LV", "VC", "AHC", "VHC", "ALVC", "AVC")
_THRESHOLD_TTL = 1.4


class Kind(NamedTuple):
    """What family and function a number tells: the key of the table, threshold [V] or share, and its output."""

    key: str
    volts: float | None
    ohms: str


def kind_of(number: str) -> Kind | None:
    """Return what a number of logic tells; None for other numbers and for bipolar families, whose levels differ.

    >>> kind_of("SN74HC14N").key, kind_of("74LVC1G04").key, kind_of("CD4093BE").key, kind_of("74LS00")
    ('74:14', '74:1G04', '40:93', None)
    """
    if match := _SEVENTY_FOUR.match(number):
        family = match[1]
        if family in ("", "LS", "S", "F", "ALS", "AS", "H", "L"):
            return None
        ttl = family.endswith("T") and family != "T"
        ohms = "driver_fast" if family.startswith(_FAST) else "driver_resistance"
        return Kind(f"74:{match[2]}", _THRESHOLD_TTL if ttl else None, ohms)
    if match := _LITTLE.match(number):
        return Kind(f"74:1G{match[1]}", None, "driver_fast")
    if match := _PAIR.match(number):
        return Kind(f"74:2G{match[1]}", None, "driver_fast")
    if match := _FORTY.match(number):
        digits = match[1]
        return Kind(f"45:{digits[1:]}" if digits[0] == "5" else f"40:{digits[1:]}", None, "driver_slow")
    return None


def gates(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the gates of a logic part by the usual pin numbers of its type; None for other parts."""
    kind = next(filter(None, map(kind_of, numbers(part))), None)
    if kind is None:
        return None
    pins = known_pins(part, wiring)
    rows = [row for row in tables.rows("logic_gates") if kind.key in row["digits"].split("|")]
    row = next((one for one in rows if int(one["pins"]) >= pins), None)
    numbered = all(pin.number.isdigit() for pin in wiring.pins(part.ref))
    if row is None or not numbered:
        return None
    high, low = (wiring.number(part, number) for number in row["supply"].split())
    if high is None or low is None or high == low:
        return None
    found: list[Element] = []
    enables = row["enable"].split()
    for n, unit in enumerate(row["units"].split("|")):
        inputs, _, out = unit.partition(">")
        enable = (enables[0], wiring.number(part, enables[n + 1])) if enables else None
        nodes = [wiring.number(part, number) for number in (out, *inputs.split())]
        if nodes[0] is None or nodes[0] == low or not is_used(wiring, nodes[0]):
            continue
        found.append(driver(wiring, part.ref, nodes[0], high, low, kind.ohms))
        if all(nodes) and (enable is None or enable[1]):
            figures, ends = _figures(row, kind), tuple(node or "" for node in nodes)
            if enable:
                figures["enable"] = exact(1.0 if enable[0] == "high" else -1.0, "1")
                ends = (*ends, enable[1] or "")
            found.append(Element("gate", part.ref, ends, figures, by_type(part)))
    return [*between(wiring, part.ref, [high], low), *found]


def analog_switch(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the switches of an analogue switch such as 4066: closed while their pin is above half the supply.

    None for other parts, and where the level of the supply is not known.
    """
    kind = next(filter(None, map(kind_of, numbers(part))), None)
    row = kind and next((one for one in tables.rows("analog_switches") if kind.key in one["digits"].split("|")), None)
    if not row or not all(pin.number.isdigit() for pin in wiring.pins(part.ref)):
        return None
    high, low = (wiring.number(part, number) for number in row["supply"].split())
    if high is None or low != wiring.ground or level(wiring, high) <= 0:
        return None
    if any(wiring.number(part, number) != wiring.ground for number in row["grounded"].split()):
        return None
    told = (*by_type(part), message("circuit-analog-switch", ref=part.ref))
    least, usual, most = (float(word) for word in row["on_ohm"].split())
    half = level(wiring, high) / 2
    found: list[Element] = []
    for unit in row["units"].split("|"):
        way = -half if "-" in unit else half
        least_v, most_v = sorted((0.6 * way, 1.4 * way))
        figures = {
            "resistance": Band(least, usual, most, "ohm", BandBasis.TABLE),
            "threshold": Band(least_v, way, most_v, "V", BandBasis.TABLE),
        }
        one, other, control = (wiring.number(part, number.removeprefix("-")) for number in unit.split())
        if one and other and control and one != other and is_used(wiring, one) and is_used(wiring, other):
            found.append(Element("load_switch", part.ref, (one, other, control, low), figures, told))
    return [*between(wiring, part.ref, [high], low), *found]


def _figures(row: tables.Row, kind: Kind) -> dict[str, Band]:
    words = row["function"].split()
    figures = {
        "invert": exact(float(words[0] == "not"), "1"),
        "at_least": exact({"and": 0.0, "or": 1.0, "xor": -1.0}[words[-1]], "1"),
        "pulls_up": exact(float(row["output"] == "both"), "1"),
    }
    if kind.volts is not None:
        figures["threshold"] = exact(kind.volts, "V")
    return figures


_SUPERVISOR_NAMES = {
    "OUT": frozenset(["OUT", "RESET", "RST", "/RESET", "RESET#", "NRST", "NRESET", "~RESET", "RESETB", "VOUT"]),
    "MR": frozenset(["MR", "/MR", "~MR", "MR#", "MRN"]),
}


_MANUAL_OHM = 5e4
"""What pulls up the pin for a reset by hand; from memory: 20 to 80 kilohm."""


def supervisor(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a reset supervisor: its output is low while its supply is below the threshold; None for other parts."""
    row = row_of("supervisors", part)
    if row is None:
        return None
    volts = figure_of(part, row, "levels")
    pins, told = roles_of(wiring, part, row, _SUPERVISOR_NAMES, ("OUT", "V+", "GND"))
    if not {"OUT", "V+", "GND"} <= set(pins):
        return chip(wiring, part)
    out, high, low = pins["OUT"], pins["V+"], pins["GND"]
    if volts is None:
        wiring.ask((part.ref,), message("circuit-threshold"))
        return [*between(wiring, part.ref, [high], low), driver(wiring, part.ref, out, high, low)]
    manual = pins.get("MR")
    inverts, both, sense = row["high"] == "1", row["output"] == "both", pins.get("SENSE", high)
    return [
        *between(wiring, part.ref, [high], low),
        driver(wiring, part.ref, out, high, low),
        *([inner(part.ref, high, out, float(row["pull_up_ohm"]), 30.0)] if row["pull_up_ohm"] else []),
        *([inner(part.ref, high, manual, _MANUAL_OHM, 60.0)] if manual not in (None, high, low) else []),
        one_input_gate(part.ref, (out, sense), told, volts, inverts=inverts, pulls_up=both),
    ]
