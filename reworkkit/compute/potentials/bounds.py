"""What a chip or a transistor keeps a net within, whatever a plug brings: its pin would not bear more."""

import re

from reworkkit.compute.potentials.levels import Levels, chip_roles, swings_beyond
from reworkkit.compute.potentials.spans import Spans, transistor_roles
from reworkkit.model.connections import Connections
from reworkkit.model.netlist import Pin
from reworkkit.tables.transistors import transistor_type

_LINE = re.compile(
    r"transceiver|receiver|line ?driver|\bbus\b|RS-?(?:232|422|485)|\bCAN\b|\bLIN\b|isolator|analog(?:ue)? switch|"
    r"modem|telephone|ethernet|current sense|high.?side",
    re.IGNORECASE,
)
_KEEPS = re.compile(
    r"logic|gate\b|buffer|register|expander|comparator|timer|inverter|counter|flip.?flop|latch|decoder|encoder|"
    r"multiplexer|converter|\bADC\b|\bDAC\b|memory|EEPROM|flash|reset|supervisor|processor|schmitt",
    re.IGNORECASE,
)
_TRUSTED = frozenset({"microcontroller", "opamp"})
_SINKS = re.compile(r"^ULN2|^TPIC6|darlington|open.?(?:drain|collector)|low.?side", re.IGNORECASE)
_CHIPS = _TRUSTED | {"ic", "sensor", "temperature_sensor", "display"}
_MOST_PINS = 40
Ends = tuple[float | None, float | None]


class Bounds:
    """Limits of the nets of one board."""

    def __init__(self, wires: Connections, levels: Levels, spans: Spans) -> None:
        self.wires = wires
        self.levels = levels
        self.spans = spans
        self._plugs: dict[str, Ends] = {}
        self._floors: dict[str, float | None] = {}

    def plug(self, net: str) -> Ends:
        """Return what a plug may bring to a net at most: what the chips on the net bear; None = no limit known."""
        if net not in self._plugs:
            self._plugs[net] = self._narrowest(net)
        return self._plugs[net]

    def _narrowest(self, net: str) -> Ends:
        if len(self.wires.on(net)) > _MOST_PINS:
            return None, None
        found = [self._chip(pin) for pin in self.wires.on(net) if self.wires.kind(pin.ref) in _CHIPS]
        lows = [low for low, _ in found if low is not None]
        highs = [high for _, high in found if high is not None]
        low, high = (max(lows) if lows else None), (min(highs) if highs else None)
        return (self.floor(net) if low is None else low), high

    def floor(self, net: str) -> float | None:
        """Return 0 where the body diode of a transistor to ground keeps a net from falling below."""
        if net not in self._floors:
            drains = len(self.wires.on(net)) <= _MOST_PINS and any(
                self._is_low_drain(pin) for pin in self.wires.on(net)
            )
            self._floors[net] = 0.0 if drains else None
        return self._floors[net]

    def _is_low_drain(self, pin: Pin) -> bool:
        """Return whether a pin is the drain of an n-channel type whose source is at ground."""
        if self.wires.kind(pin.ref) != "mosfet":
            return False
        roles = transistor_roles(self.wires, pin.ref)
        sources = {p.net for p in self.wires.pins(pin.ref) if roles.get(p.number) == "S"}
        part = self.wires.board.parts.get(pin.ref)
        n_type = part is None or transistor_type(part.identity) in ("n", None)
        return bool(roles.get(pin.number) == "D" and n_type and sources and sources <= self.levels.grounds)

    def _chip(self, pin: Pin) -> Ends:
        part = self.wires.board.parts.get(pin.ref)
        words = f"{part.identity.description} {part.identity.value.text} {part.identity.part_number}" if part else ""
        role = chip_roles(self.wires, pin.ref).get(pin.number, "")
        if _LINE.search(words) or swings_beyond(self.wires, pin.ref) or role in ("BOOT", "SW", "NEG", "POS", "V+"):
            return None, None
        span = self.spans.chip(pin.ref)
        if _SINKS.search(words):
            return (0.0 if span.low_v == 0.0 else None), None
        if self.wires.kind(pin.ref) not in _TRUSTED and not _KEEPS.search(words):
            return None, None
        return (span.low_v, span.high_v) if span.known else (None, None)
