"""Instrumentation amplifiers: a gain set by one resistor, an output above the reference pin."""

from reworkkit import tables
from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import roles_of, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NAMES = {
    "OUT": frozenset(["OUT", "VOUT", "VO", "OUTPUT"]),
    "IN+": frozenset(["IN+", "+IN", "VIN+", "INP", "+VIN", "V+IN"]),
    "IN-": frozenset(["IN-", "-IN", "VIN-", "INN", "-VIN", "V-IN"]),
    "REF": frozenset(["REF", "VREF"]),
    "RG+": frozenset(["RG+", "+RG", "RGP", "RGB", "RG2"]),
    "RG-": frozenset(["RG-", "-RG", "RGN", "RGA", "RG1"]),
}
_BOTH_ENDS = frozenset(["RG", "R_G", "RGAIN", "GAIN", "GS"])
"""What both pins of the resistor may be called: which is which makes no difference."""
_OFFSET_V = 2e-4
_FIRST_GAIN = 1e5
_OHM_PERCENT, _OUT_PERCENT = 0.5, 0.3


def instrumentation_amplifier(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return an instrumentation amplifier: out = reference + (least gain + ohms / RG) x (IN+ - IN-).

    Two amplifiers hold the ends of the gain resistor at the inputs; a third takes the difference of what they need for
    that. Its pins by name, else by the usual order of the type. None for other parts.
    """
    row = row_of("instrumentation_amplifiers", part)
    if row is None:
        return None
    pins, by_order = roles_of(wiring, part, row, _NAMES, ("OUT", "IN+", "IN-"))
    if not {"OUT", "IN+", "IN-", "V+", "GND"} <= set(pins) or pins["V+"] == pins["GND"]:
        return unmodelled(wiring, part)
    least = float(row["least_gain"])
    told = (*by_order, message("circuit-instrumentation", ref=part.ref))
    found = between(wiring, part.ref, [pins["V+"]], pins["GND"])
    alike = [wiring.node(pin) for pin in wiring.pins(part.ref) if (pin.name or "").upper() in _BOTH_ENDS]
    if len(alike) == len(("RG-", "RG+")):
        pins |= {"RG-": alike[0], "RG+": alike[1]}
    ends = pins.get("RG+"), pins.get("RG-")
    plus, minus = pins["IN+"], pins["IN-"]
    if ends[0] in wiring.board.nets and ends[1] in wiring.board.nets:
        first, plus, minus = _first(part, pins, row, least)
        found += first
    reference = pins.get("REF", wiring.ground)
    nodes = (pins["V+"], pins["OUT"], plus, minus, pins["GND"], reference)
    gain = around(least, _OUT_PERCENT, "1", BandBasis.TABLE)
    return [*found, Element("amplifier", part.ref, nodes, _figures(gain, _OFFSET_V, row), told)]


def _first(part: Part, pins: dict[str, str], row: tables.Row, least: float) -> tuple[list[Element], str, str]:
    """Return the two amplifiers that hold the gain resistor at the inputs, and the nodes of their outputs."""
    ohm = float(row["ohm"]) / (2 * least)
    found: list[Element] = []
    tops = []
    for sign in "+-":
        top, end = f"{part.ref}.first{sign}{INNER}", pins[f"RG{sign}"]
        nodes = (pins["V+"], top, pins[f"IN{sign}"], end, pins["GND"], pins["GND"])
        found += [
            Element("amplifier", part.ref, nodes, _figures(exact(_FIRST_GAIN, "1"), _OFFSET_V / 2, row, shifted=True)),
            inner(part.ref, top, end, ohm, _OHM_PERCENT),
        ]
        tops.append(top)
    return found, tops[0], tops[1]


def _figures(gain: Band, offset_v: float, row: tables.Row, shifted: bool = False) -> dict[str, Band]:
    """Return the figures of one of the amplifiers; one that sees its input `shifted` up reaches so far below ground."""
    low, usual, high = (float(word) for word in row["room_v"].split())
    shift = float(row["shift_v"]) if shifted else 0.0
    return {
        "gain": gain,
        "offset": Band(-offset_v, 0.0, offset_v, "V", BandBasis.TABLE),
        "room_high": Band(low + shift, usual + shift, high + shift, "V", BandBasis.TABLE),
        "room_low": Band(low - shift, usual - shift, high - shift, "V", BandBasis.TABLE),
        "limit": exact(0.01, "A"),
    }
