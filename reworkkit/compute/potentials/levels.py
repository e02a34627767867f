"""What is known of a net by itself: ground, stated, named, or made by a regulator. Volts against ground."""

import re
from collections.abc import Iterator
from functools import cache, cached_property
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.connections import LINKS, Connections
from reworkkit.model.messages import Message, message
from reworkkit.model.results import Circuit, Element

_GROUND = re.compile(r"(?:^|[_\-. /])[A-Z]{0,4}GND[A-Z]{0,4}\d{0,2}(?:$|[_\-. /])|^0V\b|(?:^|_)0V(?:$|_)")
_SUPPLY_PARTS = LINKS | frozenset({"linear_regulator", "switching_regulator", "tvs", "tvs_one_way", "diode_schottky"})
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
        named = {net for net in self.wires.board.nets if _GROUND.search(net.upper())}
        stated = set(self.wires.board.facts.board.ground)
        return frozenset((own | joined | named | stated) & set(self.wires.board.nets))

    @cached_property
    def _by_circuit(self) -> dict[str, Level]:
        found: dict[str, Level] = {}
        for element in self.circuit.elements:
            if element.kind in ("rail", "supply", "range"):
                found[element.nodes[0]] = _of_element(element)
        return found

    @cached_property
    def _made(self) -> dict[str, Level]:
        """Outputs of regulators whose rail nobody names, and inputs of positive regulators."""
        found: dict[str, Level] = {}
        for element in self.circuit.elements:
            if element.kind not in ("regulator", "converter", "boost"):
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
        return self._made.get(net) or self._of_role(net) or self._of_name(net)

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
            if role == "POS":
                return Level(0.0, None, "sign", message("potential-above-ground", net=net, ref=pin.ref))
        return None

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
        low, high = {"plus": (0.0, None), "minus": (None, 0.0), "both": (None, None)}[row["sign"]]
        kind = "both" if row["sign"] == "both" else "sign"
        return Level(low, high, kind, message(f"potential-named-{row['sign']}", net=net))

    def _is_supply(self, net: str) -> bool:
        for ref in self.wires.refs_on(net):
            kind = self.wires.kind(ref)
            if kind in _SUPPLY_PARTS:
                return True
            others = set(self.wires.beyond(ref, net))
            if kind.startswith("capacitor") and others & self.grounds and (self.wires.farads(ref) or 0) > _LARGE_FARAD:
                return True
        return False

    def is_input(self, net: str) -> bool:
        """Return whether a net brings power in, by what is stated or by its name."""
        if net in self.wires.board.facts.supplies:
            return True
        row = _word(net)
        return bool(row and row["feeds"] == "yes" and self.of(net))


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


def _word(net: str) -> tables.Row | None:
    known = _words()
    for token in _tokens(net):
        if token in known:
            return known[token]
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
    stated = {number: role.upper() for role, number in wires.facts(ref).pins.items()}
    named = {pin.number: pin.name.upper() for pin in pins if pin.name}
    own = {number: _PLAIN_ROLES.get(role, role) for number, role in {**named, **stated}.items()}
    known = _table_roles(wires, ref)
    if "NIN" in known.values():
        own = {number: _NEGATIVE_ROLES.get(role, role) for number, role in own.items()}
    return {**known, **own}


_NEGATIVE_ROLES = {"V+": "NIN", "IN": "NIN", "OUT": "NOUT", "VOUT": "NOUT", "V-": "GND"}


_PLAIN_ROLES = {
    **dict.fromkeys(("VCC", "VDD", "VS", "VS+", "V+", "VBAT", "AVDD", "AVCC", "DVDD", "VM", "+VS", "VIN", "IN"), "V+"),
    **dict.fromkeys(("VSS", "VEE", "V-", "VS-", "GND", "AGND", "DGND", "PGND", "-VS", "GROUND"), "V-"),
    **dict.fromkeys(("CAP+", "C1+", "CP+"), "C+"),
    **dict.fromkeys(("CAP-", "C1-", "CP-"), "C-"),
    **dict.fromkeys(("BOOT", "BST", "VB", "HB", "CBOOT", "BS"), "BOOT"),
    **dict.fromkeys(("SW", "LX", "PH", "PHASE", "HS"), "SW"),
}


def _row(wires: Connections, ref: str) -> tables.Row | None:
    text, count = wires.text(ref), len(wires.pins(ref))
    if not text:
        return None
    for row in tables.rows("chip_pins"):
        most = int(row["pins"])
        fits = most in (0, count) or (count < most and _has(wires, ref, row))
        if fits and re.match(row["pattern"], text):
            return row
    return None


def _has(wires: Connections, ref: str, row: tables.Row) -> bool:
    """Return whether a part of which the netlist lists fewer pins still shows all pins the row speaks of."""
    listed = {pin.number for pin in wires.pins(ref)}
    spoken = {pair.split("=")[0] for pair in row["roles"].split()}
    return spoken <= listed


def _table_roles(wires: Connections, ref: str) -> dict[str, str]:
    row = _row(wires, ref)
    return dict(pair.split("=") for pair in row["roles"].split()) if row else {}


def swings_beyond(wires: Connections, ref: str) -> bool:
    """Return whether pins of an integrated circuit are known to go beyond its supplies."""
    row = _row(wires, ref)
    return bool(row and row["swings"] == "beyond")


def type_is_known(wires: Connections, ref: str) -> bool:
    """Return whether the table of types, pin names or board.toml tell the pins of an integrated circuit."""
    return bool(chip_roles(wires, ref)) or _row(wires, ref) is not None
