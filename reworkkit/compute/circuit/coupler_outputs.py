"""Optocouplers whose output is no plain transistor: logic, gate drivers, MOSFET relays, triacs, two stages."""

import re
from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.contacts import edge_of, from_outside
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import known_pins, numbers, plain
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NAMES = {
    "A": frozenset(("A", "ANODE", "AN", "LED+", "IN+", "IF+", "A1", "ANODE1", "VF+")),
    "K": frozenset(("K", "C", "CATHODE", "KATHODE", "CAT", "LED-", "IN-", "IF-", "K1", "CATHODE1", "VF-")),
    "O": frozenset(("VO", "OUT", "VOUT", "O", "OUTPUT", "VO1", "OUT1")),
    "B": frozenset(("VB", "B", "BASE")),
    "E": frozenset(("VE", "EN", "ENABLE")),
    "V+": frozenset(("VCC", "VDD", "V+", "VCC2", "VDD2")),
    "GND": frozenset(("GND", "VEE", "VSS", "V-", "GND2", "VSS2", "VEE2")),
}
_GAIN = 100.0
"""Gain that is reckoned for the output transistor; the ratio of the table is that of both together."""
_ENABLE_V = Band(0.8, 1.4, 2.0, "V", BandBasis.TABLE)
_ENABLE_OHM = Band(2500, 5000, 12000, "ohm", BandBasis.TABLE)
"""What lifts an enable pin that is left open: 0.9 mA come out of one that is held low (makers' sheets, from memory)."""
_PULL_OHM = Band(14000, 20000, 25000, "ohm", BandBasis.TABLE)
"""Resistor inside from the supply to a pin of its own, to be joined to the output: HCPL-4506 sheet, from memory."""
_SUPPLY_V = Band(1.5, 3.0, 4.0, "V", BandBasis.TABLE)
"""Supply from which the output follows the lamp; from memory: logic types are made for 4.5 V, some for 2.7 V."""


class Unit(NamedTuple):
    """One lamp with its output: anode, cathode, and the nodes of the output in the order of its form."""

    place: int
    anode: str
    cathode: str
    out: tuple[str | None, ...]


class _Make(NamedTuple):
    wiring: Wiring
    part: Part
    row: tables.Row
    high: str
    low: str
    told: tuple[Message, ...]
    """What a part of this row is taken as: kept by every element of it."""

    def band(self, column: str, unit: str, factor: float = 1.0) -> Band:
        """Return a cell of three figures as a band."""
        low, usual, high = (float(word) * factor for word in self.row[column].split())
        return Band(low, usual, high, unit, BandBasis.TABLE)

    def inner(self, name: str, place: int) -> str:
        """Return a node inside the part."""
        return f"{self.part.ref}.{name}{place}{INNER}"

    def contact(self, one: str, other: str, dark: bool = False) -> Element:
        """Return a way that is closed while the lamp is lit, or while it is dark."""
        low, usual, high = (float(word) * 1e-3 for word in self.row["lit_ma"].split())
        figures = {
            "resistance": self.band("on_ohm", "ohm"),
            "threshold": edge_of((low, usual, high), "A", dark),
        }
        return Element("contact", self.part.ref, (one, other), figures, self.told)


def special_output(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return lamps and outputs of an optocoupler whose number tells such an output; None for other parts."""
    row = _row(wiring, part)
    if row is None:
        return None
    form = row["form"]
    units, (high, low) = _units(wiring, part, row), _supplies(wiring, part, row)
    if not units or (row["supply"] and (not high or not low or high == low)):
        return unmodelled(wiring, part)
    told = (message("circuit-role-by-type", ref=part.ref), _TOLD[form](part.ref))
    make = _Make(wiring, part, row, high or "", low or "", told)
    lamp = wiring.drop("coupler_lamp" if row["supply"] else "led_infrared")
    found = [Element("led", part.ref, (unit.anode, unit.cathode), dict(lamp), told) for unit in units]
    for unit in units:
        found += _OUTPUTS[form](make, unit)
    if any(e.kind == "contact" for e in found):
        found += from_outside(
            wiring, part, dict.fromkeys(node for unit in units for node in (unit.anode, unit.cathode))
        )
    return [*found, *_own_current(make)]


def _row(wiring: Wiring, part: Part) -> tables.Row | None:
    count = known_pins(part, wiring)
    fitting = [
        row
        for row in tables.rows("coupler_outputs")
        if any(re.match(row["pattern"], number) for number in numbers(part))
    ]
    exactly = (row for row in fitting if int(row["pins"]) == count)
    return next(exactly, None) or next((row for row in fitting if int(row["pins"]) >= count), None)


def _units(wiring: Wiring, part: Part, row: tables.Row) -> list[Unit]:
    """Return the units by the pin numbers of the type, else, where the netlist has letters, by pin names."""
    if wiring.facts(part.ref).pins or not all(pin.number.isdigit() for pin in wiring.pins(part.ref)):
        return _by_names(wiring, part, row["form"])
    found = []
    for place, order in enumerate(row["units"].split("|"), 1):
        anode, cathode, *out = (None if number == "-" else wiring.number(part, number) for number in order.split())
        if anode and cathode and anode != cathode:
            found.append(Unit(place, anode, cathode, tuple(out)))
    return found


def _roles(wiring: Wiring, part: Part) -> dict[str, str]:
    stated = {number: name for name, number in wiring.facts(part.ref).pins.items()}
    found: dict[str, str] = {}
    for pin in wiring.pins(part.ref):
        name = plain(stated.get(pin.number) or pin.name or pin.number)
        role = next((role for role, names in _NAMES.items() if name in names), name)
        found.setdefault(role, wiring.node(pin))
    return found


def _by_names(wiring: Wiring, part: Part, form: str) -> list[Unit]:
    roles = _roles(wiring, part)
    anode, cathode = roles.pop("A", None), roles.pop("K", None)
    if not anode or not cathode or anode == cathode:
        return []
    if form in ("mosfet", "mosfet_nc", "triac"):
        rest = tuple(dict.fromkeys(node for node in roles.values() if node in wiring.board.nets))
        return [Unit(1, anode, cathode, rest)] if len(rest) == len(("one", "other")) else []
    if form == "darlington":
        return [Unit(1, anode, cathode, (roles.get("C"), roles.get("E")))]
    return [Unit(1, anode, cathode, (roles.get("O"), roles.get("B") if form == "split" else roles.get("E")))]


def _supplies(wiring: Wiring, part: Part, row: tables.Row) -> tuple[str | None, str | None]:
    if not row["supply"]:
        return None, None
    if wiring.facts(part.ref).pins or not all(pin.number.isdigit() for pin in wiring.pins(part.ref)):
        roles = _roles(wiring, part)
        return roles.get("V+"), roles.get("GND")
    high, low = (wiring.number(part, number) for number in row["supply"].split())
    return high, low


def _used(make: _Make, node: str | None) -> str | None:
    return node if node and node in make.wiring.board.nets else None


def _split(make: _Make, unit: Unit) -> list[Element]:
    """Return the photocurrent from the supply into the base of an output transistor."""
    out, base = unit.out[0], unit.out[1] if len(unit.out) > 1 else None
    if not _used(make, out):
        return []
    base = _used(make, base) or make.inner("base", unit.place)
    ratio = make.band("ratio", "1", 1 / _GAIN)
    gain = {**make.wiring.drop("bipolar_base"), "gain": exact(_GAIN, "1")}
    return [
        Element("coupler", make.part.ref, (make.high, base), {"ratio": ratio}, make.told),
        Element("npn", make.part.ref, (out or "", base, make.low), gain, make.told),
    ]


def _open(make: _Make, unit: Unit) -> list[Element]:
    """Return an output that pulls low while the lamp is lit, the supply there, and the enable pin not low."""
    out, enable = _used(make, unit.out[0]), _used(make, unit.out[1] if len(unit.out) > 1 else None)
    if not out:
        return []
    steps = [("supply", make.high, _SUPPLY_V)] + ([("enable", enable, _ENABLE_V)] if enable else [])
    nodes = [make.inner(name, unit.place) for name, _, _ in steps]
    pull = _used(make, unit.out[2] if len(unit.out) > len(("out", "enable")) else None)
    lifted = [(pin, ohm) for pin, ohm in ((enable, _ENABLE_OHM), (pull, _PULL_OHM)) if pin]
    found = [
        make.contact(out, nodes[0]),
        *(Element("inner", make.part.ref, (make.high, pin), {"resistance": ohm}) for pin, ohm in lifted),
    ]
    for (_, by, volts), one, other in zip(steps, nodes, [*nodes[1:], make.low], strict=True):
        figures = {"resistance": Band(0.1, 0.5, 1.0, "ohm", BandBasis.TABLE), "threshold": volts}
        found.append(Element("load_switch", make.part.ref, (one, other, by or "", make.low), figures, make.told))
    return found


def _push(make: _Make, unit: Unit, turned: bool = False) -> list[Element]:
    """Return an output that drives to its supply while the lamp is lit and low while it is dark, or the other way."""
    out = _used(make, unit.out[0])
    if not out:
        return []
    upper = _used(make, unit.out[2]) if len(unit.out) > len(("out", "enable")) else make.high
    if not upper:
        return [make.contact(out, make.low, dark=not turned)]
    top = upper if _to_rail(make) else make.inner("top", unit.place)
    drop = make.wiring.drop("driver_top")
    return [
        *([] if top == upper else [Element("inner_diode", make.part.ref, (upper, top), drop)]),
        make.contact(top, out, dark=turned),
        make.contact(out, make.low, dark=not turned),
    ]


def _to_rail(make: _Make) -> bool:
    """Return whether the upper transistor of an output is a MOSFET, which drops nothing without a load."""
    return any(map(_UPPER_MOSFET.match, numbers(make.part)))


_UPPER_MOSFET = re.compile(
    r"FOD31[258]\d|FOD3184|FOD83\d\d|TLP575\d|TLP577\d|TLP579\d|TLP2766|ACPL-?[PW]3(?:4[0-9])|UCC235|SI82[26]\d|"
    r"NSI6801|SLM34|PS9031|A?CPL-?[MWK]?06[14]L|ACPL-?[MWK]6[14]L"
)
"""FOD3120 sheet: P-channel transistors at the top, so that it comes close to its supply; the others from memory."""


def _push_not(make: _Make, unit: Unit) -> list[Element]:
    return _push(make, unit, turned=True)


def _mosfet(make: _Make, unit: Unit, rests_closed: bool = False) -> list[Element]:
    """Return the load path of a MOSFET relay; where the middle of its two transistors has a net, each half of it."""
    nets = [net for node in unit.out if (net := _used(make, node))]
    pairs = [(one, other) for one, other in pairwise(nets) if one != other]
    return [make.contact(one, other, dark=rests_closed) for one, other in pairs]


def _mosfet_nc(make: _Make, unit: Unit) -> list[Element]:
    return _mosfet(make, unit, rests_closed=True)


def _triac(make: _Make, unit: Unit) -> list[Element]:
    """Return the way between the ends of a triac: open while dark, with a drop in either direction while lit."""
    ends = [net for node in unit.out if (net := _used(make, node))]
    if len(set(ends)) < len(("one", "other")):
        return []
    middle, drop = make.inner("main", unit.place), make.wiring.drop("thyristor_on")
    return [
        make.contact(ends[0], middle),
        Element("inner_diode", make.part.ref, (middle, ends[1]), drop),
        Element("inner_diode", make.part.ref, (ends[1], middle), drop),
    ]


def _darlington(make: _Make, unit: Unit) -> list[Element]:
    """Return the photocurrent into the base of a second transistor: some 0.8 V stay across the output."""
    out, emitter = (_used(make, node) for node in unit.out)
    if not out or not emitter or out == emitter:
        return []
    base = make.inner("base", unit.place)
    gain = {**make.wiring.drop("bipolar_base"), "gain": exact(_GAIN, "1")}
    return [
        Element("coupler", make.part.ref, (out, base), {"ratio": make.band("ratio", "1", 1 / _GAIN)}, make.told),
        Element("npn", make.part.ref, (out, base, emitter), gain, make.told),
    ]


def _own_current(make: _Make) -> list[Element]:
    """Return what the part draws from its supply, by its type."""
    if not make.row["draw_ma"]:
        return []
    return own_draw(make.wiring, make.part.ref, make.high, make.low, make.band("draw_ma", "A", 1e-3))


_OUTPUTS: dict[str, Callable[[_Make, Unit], list[Element]]] = {
    "split": _split,
    "open": _open,
    "push": _push,
    "push_not": _push_not,
    "mosfet": _mosfet,
    "mosfet_nc": _mosfet_nc,
    "triac": _triac,
    "darlington": _darlington,
}
_TOLD: dict[str, Callable[[str], Message]] = {
    "split": lambda ref: message("circuit-coupler-split", ref=ref),
    "open": lambda ref: message("circuit-coupler-open", ref=ref),
    "push": lambda ref: message("circuit-coupler-push", ref=ref),
    "push_not": lambda ref: message("circuit-coupler-push-not", ref=ref),
    "mosfet": lambda ref: message("circuit-coupler-mosfet", ref=ref),
    "mosfet_nc": lambda ref: message("circuit-coupler-mosfet-nc", ref=ref),
    "triac": lambda ref: message("circuit-coupler-triac", ref=ref),
    "darlington": lambda ref: message("circuit-coupler-darlington", ref=ref),
}
