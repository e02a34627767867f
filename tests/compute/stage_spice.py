"""Boards with stages for ngspice: transistors as Gummel-Poon and square-law models, amplifiers with one pole.

Figures are those of the elements; the equations are the simulator's own. The square law has the channel resistance 5 V
above the threshold.
"""

import re
import subprocess
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, log_saturation
from reworkkit.model.results import Circuit, Element
from reworkkit.read.folder import read_board
from tests.spice.netlist import NGSPICE, SPICE_VT, nominal

END_S = 0.06
FACTS = 'name = "Bench"\n[board]\nground = ["GND"]\n[supplies]\n"V" = "{volts} V, limit 20 A"\n'


def derived(folder: Path, rows: str, nets: str, volts: float) -> Circuit:
    """Derive a board of list rows and lines `REF pin=net ...`, pins as number or number:name, supply on net V."""
    lines = ["Designator,Pin,Net,Name", "J1,1,V,", "J1,2,GND,"]
    for line in nets.strip().splitlines():
        ref, *ends = line.split()
        for pin, net in (end.split("=") for end in ends):
            number, _, name = pin.partition(":")
            lines.append(f"{ref},{number},{net},{name}")
    header = "Designator,Value,Package,Description\nJ1,in,Terminal,terminal\n"
    (folder / "bom.csv").write_text(header + rows.strip() + "\n", encoding="utf-8")
    (folder / "netlist.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "board.toml").write_text(FACTS.format(volts=volts), encoding="utf-8")
    return derive_circuit(read_board(folder))


def with_fault(circuit: Circuit, fault: str) -> Circuit:
    """Return the circuit with `R1 open`, `R1 x 10` or `Q1.0-1 short` (places of the nodes of its first element)."""
    ref, _, what = fault.partition(" ")
    ref, _, ends = ref.partition(".")
    if what == "open":
        return replace(circuit, elements=tuple(e for e in circuit.elements if e.ref != ref))
    if what == "short":
        first = next(e for e in circuit.elements if e.ref == ref and e.kind not in ("unmodelled", "ic", "driver"))
        one, other = (first.nodes[int(n)] for n in ends.split("-"))
        joint = Element("link", "", (one, other), {"resistance": exact(0.01, "ohm")})
        return replace(circuit, elements=(*circuit.elements, joint))
    times = float(what.split()[1])
    changed = []
    for e in circuit.elements:
        ohm = e.parameters.get("resistance")
        changed.append(
            replace(e, parameters={"resistance": exact(times * (ohm.nominal or 0), "ohm")})
            if e.ref == ref and ohm
            else e
        )
    return replace(circuit, elements=tuple(changed))


def ngspice(circuit: Circuit, folder: Path) -> dict[str, float]:
    """Return the node voltages 60 ms after the supplies came up."""
    names = {node: "0" if node == circuit.ground else f"n{n}" for n, node in enumerate(circuit.nodes)}
    lines = ["* stages", "vramp ramp 0 pwl(0 0 1m 1)"]
    for n, element in enumerate(circuit.elements):
        lines += _lines(f"e{n}", element, [names[node] for node in element.nodes])
    nodes = [node for node in circuit.nodes if node != circuit.ground]
    for n, node in enumerate(nodes):
        lines += [f"cg{n} {names[node]} 0 10p", f"rgm{n} {names[node]} 0 1e11"]
    ends = [f"print v({names[node]})[length(v({names[node]}))-1]" for node in nodes]
    lines += [".options reltol=1e-5 abstol=1e-11 vntol=1e-7 itl4=200 method=gear", ".control", "set numdgt=10",
              f"tran 50u {END_S} 0 100u uic", *ends, "print time[length(time)-1]", ".endc", ".end"]  # fmt: skip
    path = folder / "stages.cir"
    path.write_text("\n".join(lines), encoding="utf-8")
    done = subprocess.run([str(NGSPICE), "-b", str(path)], capture_output=True, text=True, timeout=60, cwd=folder)
    found = dict(re.findall(r"^(v\(\w+\)|time)\[.*?\] = (\S+)$", done.stdout, re.MULTILINE))
    assert float(found.get("time", 0)) > 0.99 * END_S, done.stdout[-800:] + done.stderr[-800:]
    return {node: float(found[f"v({names[node]})"]) for node in nodes}


_NOTHING = frozenset(
    ["rail", "driver", "unmodelled", "external", "enable", "range", "capacitor", "capacitor_polarised"]
)


def _lines(tag: str, element: Element, nodes: list[str]) -> list[str]:
    """Return the lines of an element; KeyError for one that has no equations here."""
    return [] if element.kind in _NOTHING else _OF[element.kind](tag, element, nodes)


def _ohms(tag: str, element: Element, nodes: list[str]) -> list[str]:
    name = "unpowered" if element.kind == "ic" else "resistance"
    return [f"r{tag} {nodes[0]} {nodes[1]} {nominal(element, name):.9g}"]


def _load(tag: str, element: Element, nodes: list[str]) -> list[str]:
    """Return a draw that sets in softly at its voltage."""
    high, low = (f"v({node})" if node != "0" else "0" for node in nodes)
    amps, at = nominal(element, "current"), nominal(element, "from_volts")
    return [f"b{tag} {nodes[0]} {nodes[1]} i={amps:.9g}*0.5*(1+tanh(({high}-{low}-{at:.9g})/{at / 8:.9g}))"]


def _zener(tag: str, element: Element, nodes: list[str]) -> list[str]:
    return [*_diode(tag, element, nodes), *_breakdown(tag, element, nodes)]


def _supply(tag: str, element: Element, nodes: list[str]) -> list[str]:
    volts, ohm = nominal(element, "volts"), nominal(element, "resistance")
    return [f"b{tag} s{tag} 0 v={volts:.9g}*v(ramp)", f"r{tag} s{tag} {nodes[0]} {ohm:.9g}"]


def _figures(element: Element) -> tuple[float, float]:
    """Return saturation current and slope voltage of a junction."""
    slope_v = nominal(element, "ideality") * THERMAL_VOLTAGE
    figures = [np.array(nominal(element, name)) for name in ("forward", "at")]
    return float(np.exp(log_saturation(*figures, np.array(slope_v), np.array(nominal(element, "series"))))), slope_v


def _diode(tag: str, element: Element, nodes: list[str]) -> list[str]:
    saturation, slope_v = _figures(element)
    model = f".model m{tag} d(is={saturation:.9g} n={slope_v / SPICE_VT:.9g} rs={nominal(element, 'series'):.9g})"
    return [f"d{tag} {nodes[0]} {nodes[1]} m{tag}", model]


def _breakdown(tag: str, element: Element, nodes: list[str]) -> list[str]:
    knee = nominal(element, "knee") if "knee" in element.parameters else 0.05
    at, slope = nominal(element, "breakdown_at"), nominal(element, "slope")
    back = nominal(element, "breakdown") - at * slope - 20 * knee
    model = f".model m{tag}z d(is={at * np.exp(-20.0):.9g} n={knee / SPICE_VT:.9g} rs={slope:.9g})"
    return [f"d{tag}z x{tag} {nodes[0]} m{tag}z", f"v{tag} {nodes[1]} x{tag} {back:.9g}", model]


def _transistor(tag: str, element: Element, nodes: list[str]) -> list[str]:
    """Return a transistor by the current that its base takes: the transport saturation current is gain times that."""
    saturation, slope_v = _figures(element)
    if nominal(element, "ideality") < 0.5:
        return _shunt(tag, element, nodes)
    gain, bend = nominal(element, "gain"), slope_v / SPICE_VT
    figures = f"is={saturation * gain:.9g} bf={gain:.9g} br=2 nf={bend:.9g} nr={bend:.9g}"
    return [f"q{tag} {' '.join(nodes)} m{tag}",
            f".model m{tag} {element.kind}({figures} rb={nominal(element, 'series'):.9g})"]  # fmt: skip


def _shunt(tag: str, element: Element, nodes: list[str]) -> list[str]:
    """Return an adjustable shunt as its sheet has it: some 1 S above its reference voltage, down to its least cathode.

    Its input takes what its 2 kilohm take above that voltage.
    """
    cathode, own, anode = nodes
    over = f"max(v({own})-v({anode})-{nominal(element, 'forward'):.9g},0)"
    down = f"0.5*(1+tanh((v({cathode})-v({anode})-{nominal(element, 'saturation'):.9g})/0.08))"
    return [f"b{tag} {cathode} {anode} i=min({over},0.3)*{down}", f"bi{tag} {own} {anode} i={over}/2k"]


def _mosfet(tag: str, element: Element, nodes: list[str]) -> list[str]:
    """Return a square law that has its channel resistance 5 V above its threshold, and the body diode."""
    sign, letter = (-1, "p") if element.kind == "mosfet_p" else (1, "n")
    kp = 1 / (nominal(element, "channel") * 5.0)
    body = nodes[::-2] if sign > 0 else nodes[::2]
    model = f".model m{tag}f {letter}mos(level=1 vto={sign * nominal(element, 'threshold'):.9g} kp={kp:.9g})"
    return [f"m{tag} {' '.join(nodes)} {nodes[2]} m{tag}f l=1u w=1u", model, *_diode(tag, element, body)]


def _amplifier(tag: str, element: Element, nodes: list[str]) -> list[str]:
    """Return an amplifier of one pole, its output within its rooms."""
    supply, out, plus, minus, low, reference = nodes
    gain = min(nominal(element, "gain"), 1e5)
    ohm = nominal(element, "rail_ohm") if "rail_ohm" in element.parameters else 0.0
    top = f"v({supply})-{nominal(element, 'room_high'):.9g}-v(h{tag})"
    kept = nominal(element, "sinking") if "sinking" in element.parameters else 0.0
    taken = f"(max(i(vo{tag}),0)/50u)^2"
    foot = f"v({low})+{nominal(element, 'room_low'):.9g}+v(k{tag})"
    aim, limit = f"max({foot},min({top},v(p{tag})))", nominal(element, "limit")
    error = f"v({plus})-v({minus})+{nominal(element, 'offset'):.9g}"
    return [f"b{tag} a{tag} 0 v=40*tanh({gain:.9g}*({error})/40)+v({reference})", f"r{tag} a{tag} p{tag} 1k",
            f"c{tag} p{tag} 0 10u", f"vo{tag} {out} o{tag} 0",
            f"bk{tag} e{tag} 0 v={kept:.9g}*{taken}/(1+{taken})+{ohm:.9g}*max(i(vo{tag}),0)",
            f"rk{tag} e{tag} k{tag} 1k", f"ck{tag} k{tag} 0 2u",
            f"bh{tag} g{tag} 0 v={ohm:.9g}*max(-i(vo{tag}),0)", f"rh{tag} g{tag} h{tag} 1k", f"ch{tag} h{tag} 0 2u",
            f"bo{tag} 0 o{tag} i={limit:.9g}*tanh(({aim}-v({out}))/{limit:.9g})"]  # fmt: skip


def _regulator(tag: str, element: Element, nodes: list[str]) -> list[str]:
    """Return a three-terminal regulator of one pole and its own current."""
    inside, out, common, sense = nodes
    volts, drop = nominal(element, "volts"), nominal(element, "dropout")
    error = f"min({volts:.9g}-v({sense})+v({common}),v({inside})-{drop:.9g}-v({out}))"
    drawn = f"{nominal(element, 'quiescent'):.9g}*tanh(max(v({inside})-v({common}),0))"
    given = f"{nominal(element, 'limit'):.9g}*min(max(1e4*({error}),0),1)"
    return [f"b{tag} {inside} {out} i={given}", f"bq{tag} {inside} {common} i={drawn}"]


_OF: dict[str, Callable[[str, Element, list[str]], list[str]]] = {
    **dict.fromkeys(("resistor", "fuse", "inductor", "link", "inner", "ic"), _ohms),
    **dict.fromkeys(("diode", "inner_diode", "led", "schottky"), _diode),
    **dict.fromkeys(("npn", "pnp"), _transistor),
    **dict.fromkeys(("mosfet_n", "mosfet_p"), _mosfet),
    "load": _load,
    "zener": _zener,
    "amplifier": _amplifier,
    "regulator": _regulator,
    "supply": _supply,
}


def compared(
    ours: dict[str, float], theirs: dict[str, float], without: Iterable[str] = ()
) -> dict[str, tuple[float, float]]:
    """Return the nodes that differ by more than the spread of a junction, 0.15 V."""
    return {
        node: (round(ours[node], 3), round(volts, 3))
        for node, volts in theirs.items()
        if node not in without and not node.endswith("~") and abs(ours.get(node, 0.0) - volts) > 0.15
    }
