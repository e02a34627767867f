"""What a pin of a part can bring to its net: the span of an integrated circuit, the pins a transistor joins."""

import re
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.potentials.levels import Levels, chip_roles, is_negative_regulator, swings_beyond, type_is_known
from reworkkit.model.connections import CHIPS, LINKS, OUTSIDE, QUIET, TRANSISTORS, Connections
from reworkkit.model.netlist import Pin

_RESISTIVE = frozenset(["resistor", "fusible_resistor", "thermistor", "potentiometer", "resistor_network", "lamp"])
_JOINING = frozenset(
    ["switch", "relay", "speaker", "buzzer", "motor", "led", "photodiode", "diode", "diode_schottky", "diode_zener"]
)
_JOINING |= frozenset(["voltage_reference", "tvs", "tvs_one_way", "diode_dual", "filter"])
_ALTERNATING = frozenset({"transformer"})
_LISTENS = re.compile(r"^(?:\d?IN\d?[A-D]?[+-]\d?|[+-]IN[\dA-D]?|INV|N?INV|V?FB|OVP?|UVLO)$")
"""Names of inputs that bring nothing to a net but a leakage: of amplifiers, comparators and controllers."""
LOW_OHM = 10.0
CONTROL = frozenset({"G", "B"})


class Span(NamedTuple):
    """What a pin may bring: a range, or the nets beyond the part that it may be pulled to."""

    low_v: float | None
    high_v: float | None
    nets: tuple[str, ...]
    known: bool


_NOTHING = Span(None, None, (), True)
_UNKNOWN = Span(None, None, (), False)


def transistor_roles(wires: Connections, ref: str) -> dict[str, str]:
    """Return pin number -> G D S or B C E of a transistor; empty where neither names, facts nor outline tell."""
    stated = {number: role.upper() for role, number in wires.facts(ref).pins.items()}
    names = {pin.number: (pin.name or pin.number).upper()[:1] for pin in wires.pins(ref)}
    named = {number: name for number, name in names.items() if name in "GDSBCE"}
    if stated or len(named) >= 3:
        return {**named, **{number: role[:1] for number, role in stated.items()}}
    part = wires.board.parts.get(ref)
    if part is None:
        return {}
    kind = part.identity.kind if part.identity.kind in ("mosfet", "igbt") else "bipolar"
    outline = part.identity.outline
    for row in tables.rows("body_diodes"):
        fits = row["kind"] == kind and (outline == row["outline"] or outline.startswith(row["outline"] + " "))
        if fits and part.identity.kind != "transistor" and re.match(row["number"], wires.text(ref)):
            return dict(pair.split("=") for pair in row["roles"].split())
    return {}


def regulator_nets(wires: Connections, levels: Levels, ref: str) -> dict[str, str]:
    """Return role -> net of a linear regulator: IN OUT GND ADJ, or NIN NOUT of a negative one."""
    found: dict[str, str] = {}
    for element in levels.elements(ref):
        if element.kind == "regulator" and not is_negative_regulator(wires, ref):
            found |= {"IN": element.nodes[0], "OUT": element.nodes[1]}
            found["GND" if element.nodes[2] in levels.grounds else "ADJ"] = element.nodes[2]
    roles = chip_roles(wires, ref)
    by_role = {_REGULATOR_ROLES.get(roles.get(p.number, ""), roles.get(p.number, "")): p.net for p in wires.pins(ref)}
    return {role: net for role, net in {**by_role, **found}.items() if role and net}


_REGULATOR_ROLES = {"V+": "IN", "VOUT": "OUT", "VO": "OUT", "V-": "GND", "ADJUST": "ADJ"}


class Spans:
    """Spans of the pins of one board."""

    def __init__(self, wires: Connections, levels: Levels) -> None:
        self.wires = wires
        self.levels = levels
        self._chips: dict[str, Span] = {}
        self._pins: dict[tuple[str, str], Span] = {}

    def of(self, pin: Pin) -> Span:
        """Return what a pin may bring to its net."""
        key = (pin.ref, pin.number)
        if key not in self._pins:
            self._pins[key] = self._of(pin)
        return self._pins[key]

    def _of(self, pin: Pin) -> Span:
        kind = self.wires.kind(pin.ref)
        if kind in LINKS or kind in _RESISTIVE or kind in _JOINING:
            return Span(None, None, self.wires.through(pin.ref, pin.net or ""), True)
        if kind in TRANSISTORS:
            return self._transistor(pin)
        if kind == "optocoupler":
            return self._coupler(pin)
        if kind in CHIPS:
            return self._chip_pin(pin)
        if kind in OUTSIDE or kind in _ALTERNATING or kind in ("bridge_rectifier", "unknown"):
            return _UNKNOWN
        return _NOTHING if kind.startswith(("capacitor", "supercap")) or kind in QUIET else _UNKNOWN

    def _transistor(self, pin: Pin) -> Span:
        roles = transistor_roles(self.wires, pin.ref)
        if not roles:
            return Span(None, None, self.wires.beyond(pin.ref, pin.net or ""), True)
        if roles.get(pin.number) == "G":
            return _NOTHING
        main = [p.net for p in self.wires.pins(pin.ref) if roles.get(p.number) not in ("G",) and p.net]
        if roles.get(pin.number) != "B":
            main = [p.net for p in self.wires.pins(pin.ref) if roles.get(p.number) not in CONTROL and p.net]
        return Span(None, None, tuple(net for net in dict.fromkeys(main) if net != pin.net), True)

    def _coupler(self, pin: Pin) -> Span:
        roles = chip_roles(self.wires, pin.ref)
        role = roles.get(pin.number)
        pair = {"A": "AK", "K": "AK", "C": "CE", "E": "CE"}.get(role or "")
        if pair is None:
            return self._chip_pin(pin) if {"V+", "V-"} <= set(roles.values()) else _UNKNOWN
        others = [p.net for p in self.wires.pins(pin.ref) if roles.get(p.number) in tuple(pair) and p.net]
        return Span(None, None, tuple(net for net in dict.fromkeys(others) if net != pin.net), True)

    def _chip_pin(self, pin: Pin) -> Span:
        kind, role = self.wires.kind(pin.ref), chip_roles(self.wires, pin.ref).get(pin.number, "")
        if kind == "switching_regulator":
            pumps = role in ("NEG", "POS", "C+", "C-")
            return _UNKNOWN if pumps else self._converter_pin(pin, role)
        if kind == "linear_regulator":
            return self._regulator_pin(pin)
        if role == "V+" or _LISTENS.match(role):
            return _NOTHING
        if swings_beyond(self.wires, pin.ref) or role == "BOOT" or self._says_nothing(pin):
            return _UNKNOWN
        return self.chip(pin.ref)

    def _says_nothing(self, pin: Pin) -> bool:
        """Return whether a chip of unknown type stands alone with capacitors: it may pump the net anywhere."""
        if self.wires.kind(pin.ref) not in ("ic", "module") or type_is_known(self.wires, pin.ref):
            return False
        others = [self.wires.kind(ref) for ref in self.wires.refs_on(pin.net or "", pin.ref)]
        return all(kind.startswith("capacitor") or kind in QUIET for kind in others)

    def _converter_pin(self, pin: Pin, role: str) -> Span:
        span = self.chip(pin.ref)
        if role in ("V+", "EN") or _LISTENS.match(role):
            return _NOTHING
        if role == "BOOT" or span.low_v is None:
            return _UNKNOWN
        return Span(span.low_v, None, (), True)

    def _regulator_pin(self, pin: Pin) -> Span:
        """Return what a linear regulator brings: nothing at its input; unknown where its pins are not known."""
        nets = regulator_nets(self.wires, self.levels, pin.ref)
        supply, out = nets.get("IN"), nets.get("OUT")
        if pin.net in (supply, nets.get("NIN")):
            return _NOTHING
        if pin.net == out and supply and self._positive(supply):
            return Span(0.0, None, (), True)
        if pin.net in (nets.get("ADJ"), nets.get("GND")) and (out or nets.get("NOUT")):
            return Span(None, None, (out or nets["NOUT"],), True)
        return _UNKNOWN

    def _positive(self, net: str) -> bool:
        level = self.levels.of(net)
        return bool(level and level.low_v is not None and level.low_v >= 0)

    def chip(self, ref: str) -> Span:
        """Return the span of an integrated circuit by its own supplies."""
        if ref not in self._chips:
            self._chips[ref] = self._chip(ref)
        return self._chips[ref]

    def _chip(self, ref: str) -> Span:
        roles = chip_roles(self.wires, ref)
        lows = [self.levels.of(p.net) for p in self.wires.pins(ref) if p.net and roles.get(p.number) == "V-"]
        highs = [self.levels.of(p.net) for p in self.wires.pins(ref) if p.net and roles.get(p.number) == "V+"]
        if lows and highs:
            low_ends = [level.low_v if level else None for level in lows]
            high_ends = [level.high_v if level else None for level in highs]
            low = None if None in low_ends else min(end for end in low_ends if end is not None)
            high = None if None in high_ends else max(end for end in high_ends if end is not None)
            return Span(low, high, (), True)
        return self._by_rails(ref)

    def _by_rails(self, ref: str) -> Span:
        levels = [level for net in self.wires.nets(ref) if (level := self.levels.of(net)) and level.kind != "range"]
        lows = [level.low_v for level in levels]
        highs = [level.high_v for level in levels if level.kind in ("rail", "made")]
        if not levels or self.wires.kind(ref) == "opamp" or not any(level.kind == "ground" for level in levels):
            negative = [low for low in lows if low is not None and low < 0]
            if not (negative and highs and max(high or 0 for high in highs) > 0 and None not in lows):
                return _UNKNOWN
        low = None if None in lows else min(end for end in lows if end is not None)
        positive = [high for high in highs if high is not None and high > 0]
        open_end = any(level.high_v is None for level in levels)
        return Span(low, max(positive) if positive and not open_end else None, (), True)
