"""What is known of a net by itself: ground, stated, named, or made by a regulator. Volts against ground."""

import re
from collections.abc import Iterator
from functools import cache, cached_property
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.connections import LINKS, TRANSISTORS, Connections
from reworkkit.model.messages import Message, message
from reworkkit.model.net_names import is_signal_name, is_some_ground, is_stated
from reworkkit.model.results import Circuit, Element

_RETURN = re.compile(
    r"^(?:V?BATT?|B|PACK|V?IN|DC|HV|SUPPLY|PV|BUS|V|VCC|CELL|PWR)_?-$|^(?:\w+_)?(?:RTN|RETURN|COM|COMMON)$"
)
"""Names of a common return, taken as ground where no net is called so."""
_HOLDING = frozenset(
    {"diode_zener", "tvs_one_way", "voltage_reference", "capacitor_aluminium_electrolytic", "capacitor_tantalum"}
)
_SUPPLY_PARTS = LINKS | frozenset({"linear_regulator", "switching_regulator", "tvs", "tvs_one_way", "diode_schottky"})
_SWITCHES = TRANSISTORS | {"switch"}
_LARGE_FARAD = 4e-6


class Level(NamedTuple):
    """What a net is known to be at; None = open end. `kind`: ground, rail, range, sign, made or both (alternating)."""

    low_v: float | None
    high_v: float | None
    kind: str
    why: Message


class Levels:
    """The nets whose level is known without looking at their neighbours."""

    def __init__(self, wires: Connections, circuit: Circuit) -> None:
        self.wires = wires
        self.circuit = circuit
        self._found: dict[str, Level | None] = {}

    @cached_property
    def grounds(self) -> frozenset[str]:
        """The ground nets: the circuit's own, those it joins, and those named so."""
        joined = {
            one.nodes[0] for one in self.circuit.elements if one.kind == "link" and one.ref == one.nodes[0] and one.ref
        }
        own = {self.circuit.ground} if self.circuit.ground else set()
        facts = self.wires.board.facts
        named = {net for net in self.wires.board.nets if is_some_ground(net) and not is_stated(facts, net)}
        stated = set(facts.board.ground)
        found = frozenset((own | joined | named | stated) & set(self.wires.board.nets))
        apart = {net for net in found - own - stated if any(self._held_apart(net, one) for one in own)}
        found -= apart
        return found or frozenset(net for net in self.wires.board.nets if _RETURN.match(net.upper()))

    def _held_apart(self, net: str, ground: str) -> bool:
        """Return whether a part that bears a voltage one way only stands between two nets called ground."""
        return any(self.wires.kind(ref) in _HOLDING for ref in self.wires.between(net, ground))

    @cached_property
    def _by_circuit(self) -> dict[str, Level]:
        found: dict[str, Level] = {}
        for element in self.circuit.elements:
            if element.kind in ("rail", "supply", "range"):
                found[element.nodes[0]] = _of_element(element)
        return found

    def _stated(self, net: str) -> Level | None:
        """Return what board.toml says of a net on a board of which no circuit was derived, for want of a ground."""
        if self.circuit.elements:
            return None
        facts, told = self.wires.board.facts, message("potential-stated", net=net)
        volts = next((one.volts for one in (facts.supplies.get(net), facts.rails.get(net)) if one and one.volts), None)
        if volts:
            return Level(float(volts.value), float(volts.value), "rail", told)
        reach = facts.nets.get(net)
        if reach is None or (reach.low is None and reach.high is None):
            return None
        low, high = (None if end is None else float(end.value) for end in (reach.low, reach.high))
        return Level(low, high, "range", told)

    @cached_property
    def _made(self) -> dict[str, Level]:
        """Outputs of regulators whose rail nobody names, and inputs of positive regulators."""
        found: dict[str, Level] = {}
        for element in self.circuit.elements:
            if element.kind not in ("regulator", "converter", "boost") or is_negative_regulator(
                self.wires, element.ref
            ):
                continue
            supply, out, common, sense = element.nodes
            volts = element.parameters["volts"].nominal
            if element.kind == "regulator" and common in self.grounds and volts is not None and sense == out:
                found[out] = Level(volts, volts, "made", message("potential-made", net=out, ref=element.ref))
            if common in self.grounds:
                found.setdefault(supply, Level(0.0, None, "sign", message("potential-in", net=supply, ref=element.ref)))
        return found

    @cached_property
    def _by_ref(self) -> dict[str, list[Element]]:
        found: dict[str, list[Element]] = {}
        for element in self.circuit.elements:
            found.setdefault(element.ref, []).append(element)
        return found

    def elements(self, ref: str) -> list[Element]:
        """Return the elements of the circuit that belong to a part."""
        return self._by_ref.get(ref, [])

    def of(self, net: str) -> Level | None:
        """Return the level of a net, or None where it has to be derived."""
        if net not in self._found:
            self._found[net] = self._of(net)
        return self._found[net]

    def _of(self, net: str) -> Level | None:
        if net in self._by_circuit:
            return self._by_circuit[net]
        if net in self.grounds:
            return Level(0.0, 0.0, "ground", message("potential-ground", net=net))
        return self._stated(net) or self._made.get(net) or self._of_role(net) or self._of_name(net)

    def _of_role(self, net: str) -> Level | None:
        """Return the level of a pin whose own part makes it: the pump outputs and negative regulators of the table."""
        for pin in self.wires.on(net):
            role = chip_roles(self.wires, pin.ref).get(pin.number, "")
            if role in ("NEG", "NIN", "NOUT"):
                return Level(None, 0.0, "sign", message("potential-below-ground", net=net, ref=pin.ref))
            if role == "IN" and self.wires.kind(pin.ref) == "linear_regulator" and self._stands_on_ground(pin.ref):
                return Level(0.0, None, "sign", message("potential-in", net=net, ref=pin.ref))
            if role == "OUT" and self.wires.kind(pin.ref) == "linear_regulator" and self._is_positive(pin.ref):
                return Level(0.0, None, "sign", message("potential-made", net=net, ref=pin.ref))
            if role == "V+" and self._is_supply_pin(pin.ref, pin.number) and self._stands_on_ground(pin.ref):
                return Level(0.0, None, "sign", message("potential-in", net=net, ref=pin.ref))
            if role == "POS":
                return Level(0.0, None, "sign", message("potential-above-ground", net=net, ref=pin.ref))
        return None

    def _is_supply_pin(self, ref: str, number: str) -> bool:
        """Return whether a pin is a supply pin beyond doubt, by its type or what it is called; `IN` may be a signal."""
        if self.wires.kind(ref) == "switching_regulator" or _table_roles(self.wires, ref).get(number) == "V+":
            return True
        stated = {one: role.upper() for role, one in self.wires.facts(ref).pins.items()}
        pin = self.wires.board.pins.get((ref, number))
        return (stated.get(number) or (pin.name or "" if pin else "").upper()) in _SUPPLY_PINS

    def _stands_on_ground(self, ref: str) -> bool:
        roles = chip_roles(self.wires, ref)
        return any(pin.net in self.grounds for pin in self.wires.pins(ref) if roles.get(pin.number) in ("GND", "V-"))

    def _is_positive(self, ref: str) -> bool:
        """Return whether the input of a regulator is known to be above ground, or its ground pin on ground."""
        roles = chip_roles(self.wires, ref)
        nets = [pin.net for pin in self.wires.pins(ref) if pin.net and roles.get(pin.number) in ("IN", "V+")]
        levels = [self.of(net) for net in nets]
        return self._stands_on_ground(ref) or any(one and one.low_v is not None and one.low_v >= 0 for one in levels)

    def _of_name(self, net: str) -> Level | None:
        row = _word(net)
        if row is None or (row["needs"] == "supply" and not self._is_supply(net)):
            return None
        if row["sign"] == "minus" and self.is_switched_return(net):
            return None
        low, high = {"plus": (0.0, None), "minus": (None, 0.0), "both": (None, None)}[row["sign"]]
        kind = "both" if row["sign"] == "both" else "sign"
        return Level(low, high, kind, message(f"potential-named-{row['sign']}", net=net))

    def is_switched_return(self, net: str) -> bool:
        """Return whether a transistor or switch stands between a net and ground: `LOAD-` is then no rail below it."""
        joined = (ref for ground in self.grounds for ref in self.wires.between(net, ground))
        return any(self.wires.kind(ref) in _SWITCHES for ref in joined)

    def _is_supply(self, net: str) -> bool:
        for ref in self.wires.refs_on(net):
            kind = self.wires.kind(ref)
            if kind in _SUPPLY_PARTS:
                return True
            others = set(self.wires.beyond(ref, net))
            if kind.startswith("capacitor") and others & self.grounds and (self.wires.farads(ref) or 0) > _LARGE_FARAD:
                return True
        return False

    def is_called_rail(self, net: str) -> bool:
        """Return whether a net is called like a supply, with or without volts: `+24V`, `VCC`."""
        row = _word(net)
        by_figure = bool(_VOLTS.match(net.upper())) and not is_signal_name(net)
        return by_figure or bool(row and row["feeds"] == "no")

    def is_input(self, net: str) -> bool:
        """Return whether a net brings power in, by what is stated or by its name."""
        if net in self.wires.board.facts.supplies:
            return True
        row = _word(net)
        named = bool(row and row["feeds"] == "yes") or bool(_VOLTS.match(net.upper()) and _INPUT.search(net.upper()))
        return named and self.of(net) is not None


def _of_element(element: Element) -> Level:
    net, band = element.nodes[0], element.parameters["volts"]
    if element.kind == "range":
        return Level(band.low, band.high, "range", message("potential-stated", net=net))
    named = bool(element.assumed)
    slug = "potential-by-name" if named else "potential-stated"
    return Level(band.nominal, band.nominal, "rail", message(slug, net=net))


def _tokens(net: str) -> Iterator[str]:
    name = net.upper().strip()
    yield name
    for token in re.split(r"[_. /]", name):
        yield token
        yield re.sub(r"\d+$", "", token)
    yield name.replace("_", "")


_FLOATING = frozenset({"VB", "HB", "HO", "BST", "BOOT", "HG"})
_PLUS_END = re.compile(r"^(?:[A-Z]*(IN|BAT\w*|PACK|SOLAR|CHG|SUPPLY|PWR|DC)|V\w*|[A-Z]*(?:OUT|BUS|HV|LOAD))\+$")
_MINUS_END = re.compile(r"^V\w*_(?:N|NEG|MINUS)$")
_INPUT = re.compile(r"_(?:IN|INPUT|RAW|JACK|UNREG)\d?$")
_VOLTS = re.compile(r"^[+-]?V?\d+V\d*(?:_|$)|^[+-]\d+")
_MINUS = re.compile(r"^V?[MN]\d+V\d*$|^V?NEG\d*V?\d*$|^-\d")


def _word(net: str) -> tables.Row | None:
    known = _words()
    if is_signal_name(net):
        return None
    if _MINUS.match(net.upper()):
        return known["VNEG"]
    for token in _tokens(net):
        if token in known:
            return known[token]
    if found := _PLUS_END.match(net.upper()):
        return known["VDC+" if found[1] else "V+"]
    if _MINUS_END.match(net.upper()):
        return known["NEG"]
    if (signed := net[:1]) in "+-" and net[1:2].isalpha() and len(net) > 2:
        return known["VCC"] if signed == "+" else known["VEE"]
    return None


@cache
def _words() -> dict[str, tables.Row]:
    return {row["word"]: row for row in tables.rows("net_words")}


def chip_roles(wires: Connections, ref: str) -> dict[str, str]:
    """Return pin number -> role of an integrated circuit: board.toml and pin names first, else the table of types."""
    if ref not in wires.roles:
        wires.roles[ref] = _chip_roles(wires, ref)
    return wires.roles[ref]


def _chip_roles(wires: Connections, ref: str) -> dict[str, str]:
    pins = wires.pins(ref)
    if wires.kind(ref).startswith(("resistor", "capacitor")):
        return {}
    stated = {number: role.upper() for role, number in wires.facts(ref).pins.items()}
    named = {pin.number: pin.name.upper() for pin in pins if pin.name}
    called = {**named, **stated}
    own = {number: _PLAIN_ROLES.get(role, role) for number, role in called.items()}
    if _FLOATING & set(called.values()):
        own |= {number: "SW" for number, role in called.items() if role in ("VS", "HS", "SH")}
    if "VP" in called.values():
        own |= {number: "V-" for number, role in called.items() if role in ("VM", "VN")}
    known = _table_roles(wires, ref)
    own |= {number: role for number, role in known.items() if role in _PUMPED and own.get(number) in ("OUT", "VOUT")}
    if is_negative_regulator(wires, ref):
        own = {number: _NEGATIVE_ROLES.get(role, role) for number, role in own.items()}
    return {**known, **own}


_PUMPED = frozenset(("NEG", "POS"))
"""Outputs of a type that brings them below ground or above its supply, whatever the netlist calls them."""
_SUPPLY_PINS = frozenset({"VCC", "VDD", "V+", "VS+", "AVCC", "AVDD", "DVDD", "VDDA", "VCC1", "VDD1", "+VS"})
_NEGATIVE_ROLES = {"V+": "NIN", "IN": "NIN", "OUT": "NOUT", "VOUT": "NOUT", "V-": "GND"}


_PLAIN_ROLES = {
    **dict.fromkeys(
        ("VCC", "VDD", "VS", "VS+", "V+", "VBAT", "AVDD", "AVCC", "DVDD", "VM", "VP", "+VS", "VIN", "IN"), "V+"
    ),
    **dict.fromkeys(("VSS", "VEE", "V-", "VS-", "GND", "AGND", "DGND", "PGND", "-VS", "GROUND"), "V-"),
    **dict.fromkeys(("CAP+", "C1+", "CP+"), "C+"),
    **dict.fromkeys(("CAP-", "C1-", "CP-"), "C-"),
    **dict.fromkeys(("BOOT", "BST", "VB", "HB", "CBOOT", "BS"), "BOOT"),
    **dict.fromkeys(("SW", "LX", "PH", "PHASE", "HS"), "SW"),
}


_USUAL_COUPLERS = {4: {"1": "A", "2": "K", "3": "E", "4": "C"}, 6: {"1": "A", "2": "K"}}
"""The pins of nearly every optocoupler in four or six pins; common practice."""
_NO_TYPES = frozenset({"resistor", "inductor", "ferrite_bead", "connector", "fuse", "crystal", "test_point", "switch"})


def _row(wires: Connections, ref: str) -> tables.Row | None:
    if ref not in wires.types:
        wires.types[ref] = _find_row(wires, ref)
    return wires.types[ref]


def _find_row(wires: Connections, ref: str) -> tables.Row | None:
    text, count = wires.text(ref), len(wires.pins(ref))
    if not text or wires.kind(ref) in _NO_TYPES:
        return None
    for pattern, most, spoken, row in _types():
        fits = most in (0, count) or (count < most and spoken <= {pin.number for pin in wires.pins(ref)})
        if fits and pattern.match(text):
            return row
    return None


@cache
def _types() -> tuple[tuple[re.Pattern[str], int, frozenset[str], tables.Row], ...]:
    """Return the table of types: pattern, number of pins (0 = any), the pins it speaks of, and the row."""
    return tuple(
        (re.compile(row["pattern"]), int(row["pins"]), frozenset(p.split("=")[0] for p in row["roles"].split()), row)
        for row in tables.rows("chip_pins")
    )


def _table_roles(wires: Connections, ref: str) -> dict[str, str]:
    row = _row(wires, ref)
    if row is None and wires.kind(ref) == "optocoupler":
        return _USUAL_COUPLERS.get(len(wires.pins(ref)), {})
    return dict(pair.split("=") for pair in row["roles"].split()) if row else {}


def is_negative_regulator(wires: Connections, ref: str) -> bool:
    """Return whether a regulator works below ground, by its type or its words."""
    if wires.kind(ref) != "linear_regulator":
        return False
    part = wires.board.parts[ref]
    return "NIN" in _table_roles(wires, ref).values() or bool(re.search("negative", part.identity.description, re.I))


def swings_beyond(wires: Connections, ref: str) -> bool:
    """Return whether pins of an integrated circuit are known to go beyond its supplies."""
    row = _row(wires, ref)
    return bool(row and row["swings"] == "beyond")


def type_is_known(wires: Connections, ref: str) -> bool:
    """Return whether the table of types, pin names or board.toml tell the pins of an integrated circuit."""
    return bool(chip_roles(wires, ref)) or _row(wires, ref) is not None
