"""A circuit made ready for solving: one row of parameters is one board, healthy or faulty.

`compile_circuit` numbers nodes and parameters once. A board is then a row of figures: `nominal` for the healthy one.
Every element has the extra parameter `fitted` (1 or 0); polar elements and supplies have `turned` (0 or 1); regulators
have `pin_in`, `pin_out`, `pin_common` (1, or 0 for an open joint); drivers have `high` and `low` (0 or 1); each asked
pair of nodes has a bridge, element kind `bridge`, with `conductance` (0 S). Supplies start with `fitted` 0.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array
from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_CARRYING = (
    "resistor fuse inductor link switch diode schottky led zener tvs tvs_two_way capacitor capacitor_polarised"
    " regulator follower converter boost mosfet_n mosfet_p npn pnp ic load supply driver bridge"
    " inner inner_diode amplifier coupler load_switch contact thyristor thyristor_p isolated"
)
SOLVED = frozenset(_CARRYING.split())
POLAR = frozenset(("diode", "schottky", "inner_diode", "led", "zener", "tvs", "supply"))
_NO_WAY = frozenset(("capacitor", "capacitor_polarised", "bridge"))
REGULATORS = frozenset(("regulator", "follower", "converter", "boost"))
LINEAR = frozenset(("regulator", "follower"))
"""What they give at the output they take from the input."""
SOURCES = frozenset(("supply", "amplifier", "isolated", *REGULATORS))
"""Elements whose current is an unknown of its own."""
UNLIMITED_A = 1000.0


class Parameter(NamedTuple):
    """One column of the parameter rows: the element's place in the circuit, its designator, kind, name and range."""

    element: int
    ref: str
    kind: str
    name: str
    low: float
    nominal: float
    high: float


MOST_COIL_OHM = 10.0
"""The coil of a converter has less; more is a winding of a relay, or a load."""


def is_wound(element: Element) -> bool:
    """Return whether an element is a coil for power, of few ohms."""
    ohm = element.parameters["resistance"].nominal if element.kind == "inductor" else None
    return ohm is not None and ohm <= MOST_COIL_OHM


@dataclass(frozen=True)
class Template:
    """A compiled circuit: nodes without ground, elements that carry current, columns of parameters."""

    nodes: tuple[str, ...]
    ground: str
    elements: tuple[Element, ...]
    parameters: tuple[Parameter, ...]

    @cached_property
    def nominal(self) -> Array:
        """The row of the healthy board, every part fitted and no supply on."""
        return np.array([p.nominal for p in self.parameters])

    @cached_property
    def index(self) -> dict[str, int]:
        """Node -> column of the voltages; ground is the last."""
        return {node: n for n, node in enumerate((*self.nodes, self.ground))}

    @cached_property
    def column(self) -> dict[tuple[int, str], int]:
        """(element, parameter name) -> column of the parameters."""
        return {(p.element, p.name): n for n, p in enumerate(self.parameters)}

    @cached_property
    def boost_ways(self) -> dict[int, tuple[tuple[int, ...], tuple[int, ...]]]:
        """Step-up converter -> the diodes to its output from nets with a coil, and those coils.

        Without such a diode, the coils that lead from its input to nothing but the chip; without those it is left out.
        """
        coils: dict[str, list[int]] = {}
        for n, element in enumerate(self.elements):
            for node in element.nodes if is_wound(element) else ():
                coils.setdefault(node, []).append(n)
        found = {}
        for n, element in enumerate(self.elements):
            if element.kind != "boost" or not coils:
                continue
            ways = self._diodes_to(element.nodes[1], coils)
            wound = {coil for at in ways.values() for coil in coils[at]} or self._dead_ends(element.nodes[0], coils)
            if wound:
                found[n] = (tuple(ways), tuple(sorted(wound)))
        return found

    def boost_way(self, rows: Array, n: int) -> Array:
        """Return 1 for rows where a step-up converter has its coil and, the right way round, its diode; else 0."""
        diodes, coils = self.boost_ways.get(n, ((), ()))
        if not coils:
            return np.ones(len(rows))
        through = np.zeros(len(rows)) if diodes else np.ones(len(rows))
        for d in diodes:
            there, turned = rows[:, self.column[d, "fitted"]], rows[:, self.column[d, "turned"]]
            through = np.maximum(through, there * (1.0 - turned))
        wound = np.max([rows[:, self.column[c, "fitted"]] for c in coils], axis=0)
        return np.asarray(np.clip(through, 0.0, 1.0) * np.clip(wound, 0.0, 1.0))

    def _dead_ends(self, node: str, coils: dict[str, list[int]]) -> set[int]:
        """Return the coils at a node whose other end no part but capacitors is on: a chip or a meter may be."""
        others = {coil: set(self.elements[coil].nodes) - {node} for coil in coils.get(node, ())}
        parts = (e for e in self.elements if e.ref and e.kind != "inductor" and e.kind not in _NO_WAY)
        used = {end for e in parts for end in e.nodes}
        return {coil for coil, ends in others.items() if not ends & used and all(len(coils[end]) == 1 for end in ends)}

    def _diodes_to(self, out: str, coils: dict[str, list[int]]) -> dict[int, str]:
        """Return the diodes with one end at a node and the other where a coil is, each with that other end."""
        diodes = ((n, e.nodes) for n, e in enumerate(self.elements) if e.kind in ("diode", "schottky"))
        ends = ((n, nodes[nodes.index(out) - 1]) for n, nodes in diodes if out in nodes)
        return {n: far for n, far in ends if far in coils}

    def volts(self, states: Array, node: str) -> Array:
        """Return the voltage of a node in every row of states [V]; 0 for ground and for a node it does not have."""
        place = self.index.get(node, len(self.nodes))
        return np.zeros(len(states)) if place == len(self.nodes) else np.asarray(states[:, place])

    def columns(self, ref: str, name: str, kinds: Iterable[str] = ()) -> list[int]:
        """Return the columns of a part's parameter; of the given kinds only where any are given."""
        wanted = set(kinds)
        return [
            n
            for n, p in enumerate(self.parameters)
            if p.ref == ref and p.name == name and (not wanted or p.kind in wanted)
        ]

    def powered(self, *supplies: str) -> Array:
        """Return the nominal row with these supplies switched on."""
        row = self.nominal.copy()
        for net in supplies:
            row[self.columns(net, "fitted", ["supply"])] = 1.0
        return row

    def bridge(self, one: str, other: str) -> int | None:
        """Return the column of the bridge between two nodes, or None where none was asked for."""
        for n, p in enumerate(self.parameters):
            if p.kind == "bridge" and set(self.elements[p.element].nodes) == {one, other}:
                return n
        return None

    def with_fitted(self, row: Array, fitted: Iterable[str]) -> Array:
        """Return the row with exactly these parts fitted; elements of no part, such as stated loads, stay."""
        there = set(fitted)
        changed = row.copy()
        for n, p in enumerate(self.parameters):
            if p.name == "fitted" and p.kind not in ("supply", "bridge") and p.ref:
                changed[n] = float(p.ref in there or p.ref in self.index)
        return changed


def compile_circuit(circuit: Circuit, bridges: Iterable[tuple[str, str]] = ()) -> Template:
    """Return the template of a circuit, with a bridge for each pair of nodes."""
    ground = circuit.ground or "0"
    pairs = [Element("bridge", "", pair, {"conductance": _flat(0.0, "S")}) for pair in bridges]
    elements = tuple(_upright(one) for one in (*circuit.elements, *pairs) if one.kind in SOLVED)
    nodes = {node for element in elements for node in element.nodes} - {ground}
    parameters = [p for n, element in enumerate(elements) for p in _parameters(n, element)]
    return Template(tuple(sorted(nodes, key=natural_key)), ground, elements, tuple(parameters))


def lamp_of(template: Template, output: int) -> int:
    """Return the place of the lamp that lights an output of an optocoupler: the first, second ... of the same part."""
    ref = template.elements[output].ref
    mine = [n for n, e in enumerate(template.elements) if e.ref == ref]
    outputs = [n for n in mine if template.elements[n].kind == "coupler"]
    return [n for n in mine if template.elements[n].kind == "led"][outputs.index(output)]


def steering_of(template: Template, contact: int) -> int:
    """Return the place of the coil or lamp that moves a contact: the only one of its part, else the one of its rank."""
    ref = template.elements[contact].ref
    mine = [n for n, e in enumerate(template.elements) if e.ref == ref]
    contacts = [n for n in mine if template.elements[n].kind == "contact"]
    steering = [n for n in mine if template.elements[n].kind in ("inductor", "led")]
    return steering[contacts.index(contact)] if len(steering) == len(contacts) else steering[0]


def _upright(element: Element) -> Element:
    """Return a supply that feeds a net below ground as one that stands the other way round: its current is positive."""
    volts = element.parameters["volts"] if element.kind == "supply" else None
    if volts is None or (volts.nominal or 0.0) >= 0:
        return element
    low, nominal, high = (None if end is None else -end for end in (volts.high, volts.nominal, volts.low))
    turned = Band(low, nominal, high, volts.unit, volts.basis)
    return replace(element, nodes=element.nodes[::-1], parameters={**element.parameters, "volts": turned})


def _flat(value: float, unit: str) -> Band:
    return Band(value, value, value, unit, BandBasis.TABLE)


def _parameters(n: int, element: Element) -> Iterator[Parameter]:
    for name, band in element.parameters.items():
        yield Parameter(n, element.ref, element.kind, name, *_ends(element.kind, name, band))
    yield Parameter(n, element.ref, element.kind, "fitted", *(3 * [0.0 if element.kind == "supply" else 1.0]))
    if element.kind in POLAR:
        yield Parameter(n, element.ref, element.kind, "turned", 0.0, 0.0, 0.0)
    names = ("pin_in", "pin_out", "pin_common") if element.kind in REGULATORS else ()
    for name in names:
        yield Parameter(n, element.ref, element.kind, name, 1.0, 1.0, 1.0)
    for name in ("high", "low") if element.kind == "driver" else ():
        yield Parameter(n, element.ref, element.kind, name, 0.0, 0.0, 0.0)


def _ends(kind: str, name: str, band: Band) -> tuple[float, float, float]:
    """Return low, nominal and high; an open end takes the nominal value, an open switch no conductance."""
    if kind == "switch" and band.nominal is None:
        return 1e12, 1e12, 1e12
    if kind == "supply" and name == "limit":
        limit = UNLIMITED_A if band.nominal is None else band.nominal
        return limit, limit, limit
    nominal = band.nominal if band.nominal is not None else (band.low if band.low is not None else band.high or 0.0)
    return (
        nominal if band.low is None else band.low,
        nominal,
        nominal if band.high is None else band.high,
    )
