"""Ohms to expect between two nets of the unpowered board, for what is fitted, with the leads both ways."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Template, compile_circuit, solve
from reworkkit.compute.power_up.bench import Bench
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

OPEN_OHM = 1e12
PERHAPS = "perhaps"
"""Parameter of an element that may be there or not: it counts for the low end of a band only."""
_JUNCTION = {"forward": (0.55, "V"), "at": (1e-3, "A"), "ideality": (1.4, "1"), "series": (0.05, "ohm")}
"""A diode inside a regulator, as the powered network has it (memory)."""


class Ohms(NamedTuple):
    """What the meter shows at one net against ground: red lead on the net, and swapped; and the farad that charge.

    `usual` is what it shows where nothing conducts that merely may; None where that says no more than `expect`.
    """

    expect: Band
    swapped: Band
    farad: float
    usual: Band | None


def ohms_of(circuit: Circuit, nets: tuple[str, ...], fitted: frozenset[str], bench: Bench) -> dict[str, Ohms]:
    """Return the ohms band of each net against ground.

    A meter tests with some voltage and current that differ from make to make, and junctions answer to that: the band
    covers meters from 0.4 V to 2.8 V of test voltage, resistors at both ends of their tolerance, and unpowered
    integrated circuits, regulators and parts of unknown behaviour from their usual least to open.
    """
    ground = circuit.ground or ""
    meters = [_meter(net, ground) for net in nets]
    elements = (*circuit.elements, *_perhaps(circuit), *meters)
    template = compile_circuit(Circuit(circuit.nodes, elements, circuit.ground))
    known = [net for net in nets if net in template.index and net != ground]
    base = _unpowered(template, template.with_fitted(template.nominal, fitted))
    rows, labels = [], []
    for net in known:
        for turned in (0.0, 1.0):
            for end, volts in _tests(turned):
                rows.append(_measuring(template, base, net, turned, end, volts))
                labels.append((net, turned, end))
    if not rows:
        return {}
    solution = solve(template, np.array(rows))
    found: dict[tuple[str, float, str], list[float]] = {}
    for n, label in enumerate(labels):
        amps = abs(float(solution.currents[n, solution.sources.index(f"meter {label[0]}")]))
        volts = abs(float(solution.at(label[0])[n]))
        found.setdefault(label, []).append(volts / amps if amps > 1e-10 else OPEN_OHM)
    charged = _farad(template, base)
    bands = {net: (_band(found, net, 0.0, bench), _band(found, net, 1.0, bench)) for net in known}
    return {
        net: Ohms(*both, charged.get(net, 0.0), _usual(both[0], _band(found, net, 0.0, bench, "plain")))
        for net, both in bands.items()
    }


def _tests(turned: float) -> list[tuple[str, float]]:
    """Return (end of the tolerances, test voltage) of the measurements that a band is made of."""
    both = (figure("ohms_low_test"), figure("ohms_high_test"))
    ends = ("low", "high") if turned else ("low", "plain", "high")
    return [*((end, volts) for end in ends for volts in both), ("nominal", both[1])]


def _usual(expect: Band, plain: Band) -> Band | None:
    """Return the band of most boards where it is closed and clearly narrower; an open one says little."""
    narrower = (plain.low or 0.0) > 1.05 * (expect.low or 0.0)
    return replace(plain, basis=BandBasis.RSS) if plain.high is not None and narrower else None


def _meter(net: str, ground: str) -> Element:
    figures = {"volts": (1.0, "V"), "limit": (figure("ohms_test_current"), "A"), "resistance": (1.0, "ohm")}
    parameters = {name: Band(v, v, v, unit, BandBasis.TABLE) for name, (v, unit) in figures.items()}
    return Element("supply", f"meter {net}", (net, ground), parameters)


def _perhaps(circuit: Circuit) -> list[Element]:
    """Return what may conduct without power and may as well not: pins of regulators and of unknown parts."""
    perhaps = {PERHAPS: _exactly(1.0, "1")}
    junction = {name: _exactly(value, unit) for name, (value, unit) in _JUNCTION.items()} | perhaps
    found: list[Element] = []
    for e in circuit.elements:
        if e.kind in ("driver", "amplifier"):
            net, highest, lowest = e.nodes if e.kind == "driver" else (e.nodes[1], e.nodes[0], e.nodes[4])
            ohm = {"resistance": _exactly(figure("pin_least"), "ohm"), **perhaps}
            found.append(Element("resistor", e.ref, (net, lowest), ohm))
            found += [Element("diode", e.ref, ends, junction) for ends in ((lowest, net), (net, highest))]
        elif e.kind == "isolated":
            ohm = {"resistance": _exactly(figure("regulator_least"), "ohm"), **perhaps}
            found += [Element("resistor", e.ref, pair, ohm) for pair in (e.nodes[:2], e.nodes[2:])]
        elif e.kind == "load_switch":
            found.append(Element("diode", e.ref, (e.nodes[1], e.nodes[0]), junction))
        elif e.kind in ("regulator", "converter", "boost"):
            inside, out, common, sense = e.nodes
            ohm = {"resistance": _exactly(figure("regulator_least"), "ohm"), **perhaps}
            pairs = [(inside, common), (out if e.kind != "boost" else sense, common)]
            found += [Element("resistor", e.ref, pair, ohm) for pair in pairs]
            below = (e.parameters["volts"].nominal or 0.0) < 0
            for anode, cathode in ((out, inside), (common, out), (common, inside)) if e.kind != "boost" else ():
                ends = (cathode, anode) if below else (anode, cathode)
                found.append(Element("diode", e.ref, ends, junction))
        elif e.kind == "unmodelled" and not _is_transistor(circuit, e.ref):
            ohm = {"resistance": _exactly(figure("unknown_least"), "ohm"), **perhaps}
            first, *others = dict.fromkeys(e.nodes)
            found += [Element("resistor", e.ref, (first, node), ohm) for node in others]
    return found


def _is_transistor(circuit: Circuit, ref: str) -> bool:
    return any(e.ref == ref and e.kind in ("npn", "pnp") for e in circuit.elements)


def _exactly(value: float, unit: str) -> Band:
    return Band(value, value, value, unit, BandBasis.TABLE)


_WORKING = frozenset(("load", "regulator", "converter", "boost", "supply", "amplifier", "isolated"))
"""What carries nothing of its own without power."""


def _unpowered(template: Template, row: Array) -> Array:
    """Return the row with nothing that works only when powered: no loads, no regulators, no signal levels."""
    row = row.copy()
    for n, p in enumerate(template.parameters):
        if p.name == "fitted" and p.kind in _WORKING:
            row[n] = 0.0
    return row


def _measuring(template: Template, base: Array, net: str, turned: float, end: str, volts: float) -> Array:
    row, meter = base.copy(), f"meter {net}"
    if end != "low":
        for p in template.parameters:
            if p.name == PERHAPS:
                row[template.column[p.element, "fitted"]] = 0.0
    for n, p in enumerate(template.parameters):
        if p.ref == meter:
            row[n] = {"fitted": 1.0, "turned": turned, "volts": volts}.get(p.name, row[n])
        elif p.name in ("unpowered", "leakage"):
            row[n] = {"low": p.low, "high": OPEN_OHM}.get(end, p.nominal)
        elif p.name in ("resistance", "forward") and end != "nominal" and p.kind not in ("supply", "switch"):
            row[n] = p.high if end == "high" else p.low
    return row


def _band(
    found: dict[tuple[str, float, str], list[float]], net: str, turned: float, bench: Bench, least: str = "low"
) -> Band:
    lowest, highest = min(found[net, turned, least]), max(found[net, turned, "high"])
    nominal = found[net, turned, "nominal"][0]
    over = figure("ohms_over")
    low = max(0.0, min(lowest, over) - bench.ohms.off(min(lowest, over)))
    high = None if highest > over / 10 else highest + bench.ohms.off(highest)
    return Band(low, min(nominal, over), high, "ohm", BandBasis.WORST_CASE)


def _farad(template: Template, base: Array) -> dict[str, float]:
    """Return the fitted capacitance between each net and ground [F]."""
    found: dict[str, float] = {}
    for n, element in enumerate(template.elements):
        if element.kind.startswith("capacitor") and base[template.column[n, "fitted"]]:
            for node in element.nodes:
                found[node] = found.get(node, 0.0) + base[template.column[n, "capacitance"]]
    return found
