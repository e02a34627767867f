"""Current sensors with a conductor inside or around one, and transducers whose output is a current."""

import re

from reworkkit import tables
from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.conditions import AMPS_PERCENT, stated_amps
from reworkkit.compute.circuit.figures import around, exact, of_cell
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import LOW_NAMES, by_names, by_type, roles_by_number, row_of
from reworkkit.compute.circuit.sensors import VARIANTS, gain_band, gain_set, output_figures, reference_node, share_node
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring, words_and_notes
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NEGATIVE = frozenset(["V-", "-V", "-VC", "-UC", "-15V", "-12V", "-VCC", "VEE", "VCC-"])
_HALL_NAMES = {
    "OUT": frozenset(["OUT", "VOUT", "VIOUT", "AOUT", "UOUT"]),
    "IP+": frozenset(["IP+", "IN+", "I+", "IS+"]),
    "IP-": frozenset(["IP-", "IN-", "I-", "IS-"]),
    "REF": frozenset(["REF", "VREF", "UREF"]),
    "V-": _NEGATIVE,
    "GND": LOW_NAMES - _NEGATIVE,
}
_HOLE_NAMES = _HALL_NAMES | {
    "OUT": _HALL_NAMES["OUT"] | {"O", "M", "OUTPUT"},
    "V+": frozenset(["+", "V+", "+VC", "+UC", "VC", "UC", "VCC", "VDD", "+15V", "+12V", "+5V", "5V", "+V", "VS"]),
}
"""Names of a sensor around a conductor: some makers print no more than + - O on it."""
_TRANSDUCER_NAMES = {
    "OUT": frozenset(["M", "OUT", "IS", "IOUT"]),
    "V+": frozenset(["+", "V+", "+VC", "+UC", "VC+", "+15V", "+12V", "VCC", "VCC+", "+VCC"]),
    "V-": frozenset(["-", "V-", "-VC", "-UC", "VC-", "-15V", "-12V", "VEE", "VCC-", "-VCC"]),
}
_WIRE_NAMES = {"M": frozenset(["M"]), "IP+": frozenset(["IN"]), "IP-": frozenset(["OUT"])}
"""A wire through the hole that the netlist calls by its ends, beside the output."""
_PRIMARY_NAMES = {
    "IP+": frozenset(["IP+", "P1", "I+", "PRIM1", "PRI1", "K", "HV+", "+HV", "HT+", "+HT"]),
    "IP-": frozenset(["IP-", "P2", "I-", "PRIM2", "PRI2", "L", "HV-", "-HV", "HT-", "-HT"]),
}
_TURNS = re.compile(
    r"(?<![\d:])([1-9]|1\d|20)\s?(?:turns?|windung\w*|wdg|tours?|spires?|vueltas?|spire|windingen)", re.I
)
_TURN_OHM = 2e-4
"""What a turn of wire through the hole of a sensor has; common practice, no source."""
_ZERO_V = 0.02
"""Spread of a sensor's zero at its output; from memory."""
_RANGE_V = 5.0
"""Supply that a spread of an output's zero is reckoned at."""


def current_sensor(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a current sensor: its conductor, and its output at zero + sensitivity x current; None for other parts.

    One around a conductor has none of its own: see `_around_conductor`.
    """
    row = row_of("hall_sensors", part)
    if row is None:
        return None
    hole = not row["conductor_ohm"]
    pins = by_names(wiring, part, _HOLE_NAMES if hole else _HALL_NAMES)
    needed = {"OUT", "V+", "GND"} if hole else {"OUT", "IP+", "IP-"}
    named = needed <= set(pins)
    pins = pins if named else roles_by_number(wiring, part, row["roles"])
    needed |= {"V+", "GND"} | ({"REF"} if row["zero_share"] == _BY_PIN else set())
    if not needed <= set(pins) or (not hole and pins["IP+"] == pins["IP-"]):
        return unmodelled(wiring, part)
    zero, zero_v, made = _zero_of(wiring, part, pins, row)
    told = (() if named else by_type(part)) + _zero_told(part, row)
    loose = {pins[role] for role in _LOOSE if role in pins} - {wiring.ground}
    if row["zero_v"] or row["zero_share"] == _BY_PIN:
        loose -= {pins.get("REF", "")}
    return [
        *between(wiring, part.ref, [pins["V+"]], pins.get("V-", pins["GND"])),
        *made,
        *(_around_conductor if hole else _through_chip)(wiring, part, pins, row, (zero, zero_v), told),
        *(Element("unmodelled", part.ref, (net,), {}) for net in sorted(loose)),
    ]


_BY_PIN = "REF"
"""In place of a share of the supply: the output's zero is the voltage that the board puts on the pin REF."""
_LOOSE = ("FILTER", "BW", "REF", "OCD", "FAULT")
"""Pins that have a voltage of their own which is not known."""


def _zero_told(part: Part, row: tables.Row) -> tuple[Message, ...]:
    """Return what is told of where the output stands without current; a pin that tells it needs no word."""
    if row["zero_share"] == _BY_PIN:
        return ()
    if row["zero_v"]:
        return (message("circuit-sensor-reference", ref=part.ref, volts=row["zero_v"]),)
    words = row["zero_share"].split() or ["0.0"]
    return (message("circuit-sensor", ref=part.ref, share=float(words[len(words) // 2])),)


def _zero_of(
    wiring: Wiring, part: Part, pins: dict[str, str], row: tables.Row
) -> tuple[str, tuple[float, float], list[Element]]:
    """Return the node an output's zero stands at, how far below and above it that may be, and what makes the node."""
    if row["zero_share"] == _BY_PIN:
        node, found = reference_node(wiring, part, pins)
        return node, (-_ZERO_V, _ZERO_V), found
    if row["zero_v"]:
        node = pins.get("REF") or f"{part.ref}.zero{INNER}"
        return node, (-_ZERO_V, _ZERO_V), [_own_reference(part, pins, node, float(row["zero_v"]))]
    words = [float(word) for word in row["zero_share"].split()]
    if not words:
        return pins["GND"], (-_ZERO_V, _ZERO_V), []
    usual = words[len(words) // 2]
    node, found = share_node(part, pins, usual)
    return node, ((words[0] - usual) * _RANGE_V - _ZERO_V, (words[-1] - usual) * _RANGE_V + _ZERO_V), found


def _own_reference(part: Part, pins: dict[str, str], node: str, volts: float) -> Element:
    """Return the reference that a sensor makes for itself: as an output that nothing moves, up to its supply."""
    low = pins["GND"]
    figures = output_figures(gain_band(1.0), 0.0) | {"offset": around(volts, 1, "V", BandBasis.TABLE)}
    return Element("amplifier", part.ref, (pins["V+"], node, low, low, low, low), figures)


def _through_chip(
    wiring: Wiring,
    part: Part,
    pins: dict[str, str],
    row: tables.Row,
    zero: tuple[str, tuple[float, float]],
    told: tuple[Message, ...],
) -> list[Element]:
    """Return the conductor inside a sensor and the amplifier of its drop."""
    ohm, low = float(row["conductor_ohm"]), pins.get("V-", pins["GND"])
    gain = gain_band(*(float(word) / ohm for word in row["v_per_a"].split()))
    offset, scale = _through(wiring, part, pins, ohm, _ZERO_V / (gain.nominal or 1.0)), gain.low or 1.0
    more = [(spread - sign * _ZERO_V) / scale for spread, sign in zip(zero[1], (-1, 1), strict=True)]
    offset = Band((offset.low or 0.0) + more[0], offset.nominal, (offset.high or 0.0) + more[1], "V", BandBasis.TABLE)
    nodes = (pins["V+"], pins["OUT"], pins["IP+"], pins["IP-"], low, zero[0])
    return [
        inner(part.ref, pins["IP+"], pins["IP-"], ohm, 0.0),
        Element("amplifier", part.ref, nodes, output_figures(gain, 0.0) | {"offset": offset} | VARIANTS, told),
    ]


def _around_conductor(
    wiring: Wiring,
    part: Part,
    pins: dict[str, str],
    row: tables.Row,
    zero: tuple[str, tuple[float, float]],
    told: tuple[Message, ...],
) -> list[Element]:
    """Return a sensor with a hole, or at a bus bar: its conductor where the netlist has one, else what `role` states.

    Without either no current flows through it.
    """
    v_per_a, low, (least, most) = float(row["v_per_a"]), pins.get("V-", pins["GND"]), zero[1]
    primary = by_names(wiring, part, _PRIMARY_NAMES)
    if {"IP+", "IP-"} <= set(primary) and primary["IP+"] != primary["IP-"]:
        turns = _turns(wiring, part)
        ohm = turns * _TURN_OHM
        gain, ends = gain_band(v_per_a * turns / ohm), (primary["IP+"], primary["IP-"])
        offset = _through(wiring, part, primary, ohm, most / (gain.nominal or 1.0))
        conductor = [inner(part.ref, *ends, ohm, 0.0)]
    else:
        usual = (stated_amps(wiring.facts(part.ref).role or "") or 0.0) * v_per_a
        gain, ends, conductor = gain_band(1.0), (pins["GND"], pins["GND"]), []
        offset = _stated_offset(usual, max(most, -least))
    nodes = (pins["V+"], pins["OUT"], *ends, low, zero[0])
    return [*conductor, Element("amplifier", part.ref, nodes, output_figures(gain, 0.0) | {"offset": offset}, told)]


def _through(wiring: Wiring, part: Part, pins: dict[str, str], ohm: float, zero_v: float) -> Band:
    """Return what stands across a conductor beside what the board drives through it: the current that `role` states.

    Only where no rail is at either end: there the board's own figures tell the current.
    """
    stated = stated_amps(wiring.facts(part.ref).role or "")
    if not stated or any(wiring.is_rail(pins[role]) for role in ("IP+", "IP-")):
        stated = 0.0
    return _stated_offset(stated * ohm, zero_v)


def _stated_offset(usual: float, least: float) -> Band:
    """Return what a stated current makes of an offset that is `least` without one."""
    spread = least + abs(usual) * AMPS_PERCENT / 100
    return Band(usual - spread, usual, usual + spread, "V", BandBasis.TABLE)


def current_transducer(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a closed-loop sensor whose output is a share of the current through its hole; None for other parts.

    The resistor from its output to ground makes a voltage of it. Where the netlist has the conductor, the board tells
    the current, times the turns that the list or `role` states, and `role` where no rail is at either end; without a
    conductor `role` alone does, or there is none.
    """
    row = row_of("current_transducers", part)
    if row is None:
        return None
    pins, primary = _transducer_pins(wiring, part)
    ohm = wiring.lone_resistor(pins["OUT"], pins["GND"]) if {"OUT", "V+", "V-"} <= set(pins) else None
    if ohm is None:
        return unmodelled(wiring, part)
    share, offset_a = float(row["share"]), float(row["offset_ma"]) * 1e-3
    amps = (stated_amps(wiring.facts(part.ref).role or "") or 0.0) * share
    figures = {"offset": _stated_offset(amps, offset_a), "limit": exact(0.2, "A")}
    nodes = (pins["V+"], pins["OUT"], pins["GND"], pins["GND"], pins["V-"], pins["GND"])
    told = (message("circuit-transducer", ref=part.ref, turns=f"{1 / share:.0f}"),)
    siemens = 1.0
    conductor = []
    if {"IP+", "IP-"} <= set(primary) and primary["IP+"] != primary["IP-"]:
        turns = _turns(wiring, part)
        through = float(row["primary_ohm"] or turns * _TURN_OHM)
        turns = 1 if row["primary_ohm"] else turns
        conductor = [inner(part.ref, primary["IP+"], primary["IP-"], through, 0.0)]
        siemens = share * turns / through
        figures |= {"offset": _through(wiring, part, primary, through, offset_a / siemens)}
        nodes = (pins["V+"], pins["OUT"], primary["IP+"], primary["IP-"], pins["V-"], pins["GND"])
    return [
        *conductor,
        *between(wiring, part.ref, [pins["V+"]], pins["V-"]),
        *own_draw(wiring, part.ref, pins["V+"], pins["V-"], of_cell(row["draw_ma"], "A", 1e-3)),
        Element("amplifier", part.ref, nodes, output_figures(gain_band(ohm * siemens), 0.0) | figures, told),
        *gain_set(part, pins, siemens),
    ]


def _transducer_pins(wiring: Wiring, part: Part) -> tuple[dict[str, str], dict[str, str]]:
    """Return the nodes of a transducer's pins, and of the conductor through its hole where the netlist has one."""
    pins = {"GND": wiring.ground} | by_names(wiring, part, _TRANSDUCER_NAMES)
    wire = by_names(wiring, part, _WIRE_NAMES)
    if set(_WIRE_NAMES) <= set(wire):
        return pins | {"OUT": wire["M"]}, wire
    return pins, by_names(wiring, part, _PRIMARY_NAMES)


def _turns(wiring: Wiring, part: Part) -> int:
    """Return how often the conductor goes through the hole, where the list or `role` states it; else once."""
    found = _TURNS.search(f"{wiring.facts(part.ref).role or ''} | {words_and_notes(part)}")
    return int(found[1]) if found else 1
