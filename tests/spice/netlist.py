"""The same circuits for the ngspice simulator: an independent solver of the same device equations.

ngspice's own operating point fails on hard limits, so the supply is ramped up with a picofarad at every node.
"""

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np

from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, log_saturation
from reworkkit.compute.formulas.network.equations import (
    BODY_AT_A,
    BODY_FORWARD_V,
    BODY_IDEALITY,
    BODY_OHM,
    DIVIDER_S,
    KNEE_V,
)
from reworkkit.model.results import Circuit, Element

NGSPICE = shutil.which("ngspice")
SPICE_VT = 1.38064852e-23 * 300.15 / 1.6021766208e-19
STIFF_S = 100.0
END_S = 0.01


def nominal(element: Element, name: str) -> float:
    value = element.parameters[name].nominal
    assert value is not None
    return value


def _node(name: str) -> str:
    return "0" if name == "GND" else "n" + re.sub(r"\W", "_", name).lower()


def _diode(tag: str, anode: str, cathode: str, log_is: float, slope_v: float, series: float) -> list[str]:
    saturation = max(float(np.exp(log_is)), 1e-300)
    # ngspice has its own k/q: the ideality is corrected so that both use the same slope voltage
    model = f".model m{tag} d(is={saturation:.12g} n={slope_v / SPICE_VT:.12g} rs={series:.9g})"
    return [f"d{tag} {anode} {cathode} m{tag}", model]


def _junction(tag: str, element: Element, anode: str, cathode: str) -> list[str]:
    slope_v = nominal(element, "ideality") * THERMAL_VOLTAGE
    figures = [np.array(nominal(element, name)) for name in ("forward", "at")]
    log_is = float(log_saturation(*figures, np.array(slope_v), np.array(nominal(element, "series"))))
    return _diode(tag, anode, cathode, log_is, slope_v, nominal(element, "series"))


def _breakdown(tag: str, element: Element, anode: str, cathode: str) -> list[str]:
    # a diode behind a voltage source: a saturation current of 1e-90 A is no number for ngspice
    at, slope = nominal(element, "breakdown_at"), nominal(element, "slope")
    back = nominal(element, "breakdown") - at * slope - KNEE_V * 20
    middle = f"x{tag}"
    log_is = float(np.log(at)) - 20.0
    return [*_diode(f"{tag}b", middle, anode, log_is, KNEE_V, slope), f"v{tag} {cathode} {middle} {back:.12g}"]


def _regulator(tag: str, element: Element, nodes: list[str], shift: float) -> list[str]:
    inside, out, common, sense = nodes
    volts, head = nominal(element, "volts") + shift, shift - nominal(element, "dropout")
    error = f"min({volts:.12g}-v({sense})+v({common}),v({inside})+({head:.12g})-v({out}))"
    lines = [f"b{tag} {inside} {out} i={nominal(element, 'limit'):.9g}*min(max({STIFF_S}*{error},0),1)"]
    lines += _load(f"{tag}q", inside, common, nominal(element, "quiescent"), 1.0)
    slope_v = BODY_IDEALITY * THERMAL_VOLTAGE
    log_is = float(log_saturation(np.array(BODY_FORWARD_V), np.array(BODY_AT_A), np.array(slope_v), np.array(BODY_OHM)))
    divider = f"r{tag}div {out} {common} {1 / DIVIDER_S:.9g}"
    return [*lines, divider, *_diode(f"{tag}d", out, inside, log_is, slope_v, BODY_OHM)]


def _shift(element: Element, volts: dict[str, float], before: float) -> float:
    """Return by how much a soft regulator lags its set point: added to it, the next run has no such error."""
    inside, out, common, sense = (volts.get(node, 0.0) for node in element.nodes)
    held = nominal(element, "volts") + before - sense + common
    by_input = inside - nominal(element, "dropout") + before - out
    return before if min(held, by_input) >= 1 / STIFF_S else max(0.0, min(held, by_input))


def _load(tag: str, net: str, ground: str, current: float, from_v: float) -> list[str]:
    width = from_v / 16
    zero = 0.5 * (1 + np.tanh(-8.0))
    step = f"0.5*(1+tanh(0.5*(v({net})-v({ground})-{from_v:.9g})/{width:.9g}))"
    return [f"b{tag} {net} {ground} i={current:.9g}*({step}-{zero:.12g})/{1 - zero:.12g}"]


def lines_of(circuit: Circuit, shifts: dict[str, float]) -> list[str]:
    """Return the netlist of a circuit, its supplies ramped up in a millisecond; `shifts` correct soft regulators."""
    found = []
    for n, element in enumerate(circuit.elements):
        nodes = [_node(node) for node in element.nodes]
        tag = str(n)
        if element.kind in ("resistor", "fuse", "inductor", "link"):
            found.append(f"r{tag} {nodes[0]} {nodes[1]} {nominal(element, 'resistance'):.9g}")
        elif element.kind in ("diode", "led", "schottky"):
            found += _junction(tag, element, nodes[0], nodes[1])
        elif element.kind in ("zener", "tvs"):
            found += _junction(tag, element, nodes[0], nodes[1]) + _breakdown(tag, element, nodes[0], nodes[1])
        elif element.kind == "load":
            found += _load(tag, nodes[0], nodes[1], nominal(element, "current"), nominal(element, "from_volts"))
        elif element.kind == "regulator":
            found += _regulator(tag, element, nodes, shifts.get(element.ref, 0.0))
        elif element.kind == "supply":
            volts, limit = nominal(element, "volts"), nominal(element, "limit")
            soft = 1 / (limit * STIFF_S)  # a soft clamp is a clamp with a resistance: it is part of the stated one
            found.append(f"b{tag} 0 s{tag} i={limit:.9g}*min(max({STIFF_S}*(v(ramp)*{volts:.9g}-v(s{tag})),0),1)")
            found.append(f"rs{tag} s{tag} {nodes[0]} {max(nominal(element, 'resistance') - soft, 1e-6):.9g}")
            found.append(f"rg{tag} s{tag} 0 1e11")
        else:
            raise ValueError(element.kind)
    return found


def with_soft_supplies(circuit: Circuit) -> Circuit:
    """Return the circuit with supplies of a resistance that the simulator can follow."""
    changed = []
    for one in circuit.elements:
        parameters = dict(one.parameters)
        if one.kind == "supply":
            parameters["resistance"] = exact(0.05 + 1 / (nominal(one, "limit") * STIFF_S), "ohm")
        changed.append(Element(one.kind, one.ref, one.nodes, parameters))
    return Circuit(circuit.nodes, tuple(changed), circuit.ground)


def ngspice(circuit: Circuit, folder: Path) -> dict[str, float] | None:
    """Return the node voltages by ngspice, or None where it gives up."""
    shifts: dict[str, float] = {}
    regulators = [element for element in circuit.elements if element.kind == "regulator"]
    volts = _run(circuit, folder, shifts)
    for _ in range(3):
        if volts is None or not regulators:
            return volts
        new = {element.ref: _shift(element, volts, shifts.get(element.ref, 0.0)) for element in regulators}
        if max(abs(new[ref] - shifts.get(ref, 0.0)) for ref in new) < 1e-6:
            break
        shifts = new
        volts = _run(circuit, folder, shifts)
    return volts


def _run(circuit: Circuit, folder: Path, shifts: dict[str, float]) -> dict[str, float] | None:
    nodes = [node for node in circuit.nodes if node != "GND"]
    text = ["* circuit", "vramp ramp 0 pwl(0 0 1m 1)", *lines_of(circuit, shifts)]
    for n, node in enumerate(nodes):
        text += [f"cg{n} {_node(node)} 0 1p", f"rgm{n} {_node(node)} 0 1e11"]
    text += [
        ".options reltol=1e-6 abstol=1e-12 vntol=1e-8 gmin=1e-15 itl4=100 method=gear",
        ".control",
        "set numdgt=12",
        f"tran 20u {END_S} 0 200u uic",
        *(f"print v({_node(node)})[length(v({_node(node)}))-1] time[length(time)-1]" for node in nodes),
        ".endc",
        ".end",
    ]
    path = folder / "circuit.cir"
    path.write_text("\n".join(text), encoding="utf-8")
    try:
        done = subprocess.run([str(NGSPICE), "-b", str(path)], capture_output=True, text=True, timeout=30, cwd=folder)
    except subprocess.TimeoutExpired:
        return None
    found = re.findall(r"^v\((\w+)\)\[.*?\] = (\S+)$", done.stdout, re.MULTILINE)
    times = [float(t) for t in re.findall(r"^time\[.*?\] = (\S+)$", done.stdout, re.MULTILINE)]
    if len(found) != len(nodes) or not times or min(times) < 0.99 * END_S:
        return None
    return {node: float(value) for node, (_, value) in zip(nodes, found, strict=True)}
