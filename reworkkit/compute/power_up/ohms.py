"""Ohms to expect between two nets of the unpowered board, for what is fitted, with the leads both ways."""

from typing import NamedTuple

import numpy as np

from reworkkit.compute.formulas.junction import Array
from reworkkit.compute.formulas.network import Template, compile_circuit, solve
from reworkkit.compute.power_up.bench import Bench, figure
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

OPEN_OHM = 1e12


class Ohms(NamedTuple):
    """What the meter shows at one net against ground: red lead on the net, and swapped; and the farad that charge."""

    expect: Band
    swapped: Band
    farad: float


def ohms_of(circuit: Circuit, nets: tuple[str, ...], fitted: frozenset[str], bench: Bench) -> dict[str, Ohms]:
    """Return the ohms band of each net against ground.

    A meter tests with some voltage and current that differ from make to make, and junctions answer to that: the band
    covers meters from 0.4 V to 2.8 V of test voltage, resistors at both ends of their tolerance, and unpowered
    integrated circuits from their usual least to open.
    """
    ground = circuit.ground or ""
    meters = [_meter(net, ground) for net in nets]
    template = compile_circuit(Circuit(circuit.nodes, (*circuit.elements, *meters), circuit.ground))
    known = [net for net in nets if net in template.index and net != ground]
    base = _unpowered(template, template.with_fitted(template.nominal, fitted))
    rows, labels = [], []
    for net in known:
        for turned in (0.0, 1.0):
            for end in ("low", "nominal", "high"):
                for volts in (figure("ohms_low_test"), figure("ohms_high_test")):
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
    return {
        net: Ohms(_band(found, net, 0.0, bench), _band(found, net, 1.0, bench), charged.get(net, 0.0)) for net in known
    }


def _meter(net: str, ground: str) -> Element:
    figures = {"volts": (1.0, "V"), "limit": (figure("ohms_test_current"), "A"), "resistance": (1.0, "ohm")}
    parameters = {name: Band(v, v, v, unit, BandBasis.TABLE) for name, (v, unit) in figures.items()}
    return Element("supply", f"meter {net}", (net, ground), parameters)


def _unpowered(template: Template, row: Array) -> Array:
    """Return the row with nothing that works only when powered: no loads, no regulators, no signal levels."""
    row = row.copy()
    for n, p in enumerate(template.parameters):
        if p.name == "fitted" and p.kind in ("load", "regulator", "converter", "boost", "supply"):
            row[n] = 0.0
    return row


def _measuring(template: Template, base: Array, net: str, turned: float, end: str, volts: float) -> Array:
    row, meter = base.copy(), f"meter {net}"
    for n, p in enumerate(template.parameters):
        if p.ref == meter:
            row[n] = {"fitted": 1.0, "turned": turned, "volts": volts}.get(p.name, row[n])
        elif p.name in ("unpowered", "leakage"):
            row[n] = p.low if end == "low" else (p.nominal if end == "nominal" else OPEN_OHM)
        elif p.name in ("resistance", "forward") and end != "nominal" and p.kind not in ("supply", "switch"):
            row[n] = p.low if end == "low" else p.high
    return row


def _band(found: dict[tuple[str, float, str], list[float]], net: str, turned: float, bench: Bench) -> Band:
    lowest, highest = min(found[net, turned, "low"]), max(found[net, turned, "high"])
    nominal = found[net, turned, "nominal"][1]
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
