"""Whole decks for ngspice: powered as a ramp of the supply, unpowered as a meter put on pair after pair."""

import re
import subprocess
import tempfile
from pathlib import Path
from typing import NamedTuple

from tests.fault_bench.circuit_lines import node, part_lines, point_node
from tests.fault_bench.draw import Draw
from tests.fault_bench.faults import Fault
from tests.fault_bench.parts import MANY_PINS, REGULATING, TWO_LEADS, Part, Section

SETTLED_S, WINDOW_S = 0.06, 0.01
OHM_RANGES_A = (8e-4, 8e-5, 8e-6, 8e-7, 8e-8, 8e-9)
OHM_TOP_V, OHM_OPEN_V = 0.5, 0.6
DIODE_A, DIODE_TOP_V, DIODE_OPEN_V = 1e-3, 2.8, 3.0
_OFF_OHM, _LEAD_OHM = 1e13, 0.05
_TIMEOUT_S = 20
_MEASURED = re.compile(r"^(m_\w+)\s*=\s*(\S+)", re.MULTILINE)
_TOLD = re.compile(r"^told (\S+) (\S+)", re.MULTILINE)


_JUNCTIONS = {
    "npn": (("B", "E"),),
    "pnp": (("E", "B"),),
    "nmos": (("S", "D"),),
    "pmos": (("D", "S"),),
    "opto": (("A", "K"), ("C", "E")),
    "dual": (("A", "M"), ("M", "K")),
}
"""Pins of parts with more leads that are checked without power, red lead first."""


class NoAnswerError(RuntimeError):
    """Ngspice did not reach an end; the case is left out and counted."""


class Powered(NamedTuple):
    """What the simulator has, before the meter's errors: volt at the points, ampere out of the supply."""

    volts: tuple[float, ...]
    amps: float


class Unpowered(NamedTuple):
    """Ohm, and diode test both ways in volt, by pair; None where the meter shows OL."""

    ohms: tuple[float | None, ...]
    diode: tuple[float | None, ...]
    diode_swapped: tuple[float | None, ...]


def pairs(section: Section) -> tuple[tuple[str, str], ...]:
    """Return the pairs of points for checks without power: rails and ground pins to ground, and across parts."""
    main = {"VF", *section.rails, *(part.roles["VDD"] for part in section.parts if part.kind == "load")}
    found: dict[tuple[str, str], None] = dict.fromkeys((net, "GND") for net in sorted(main))
    for part in section.parts:
        if part.kind in REGULATING:
            low = "ADJ" if part.kind == "adjustable" else "GND"
            found[(f"{part.ref}.{part.pins[low]}", part.roles[low])] = None
        for a, b in _across(part, section.bench.junctions):
            if (a, b) not in found and (b, a) not in found:
                found[a, b] = None
    return tuple(found)


def _across(part: Part, junctions: bool) -> list[tuple[str, str]]:
    """Return the nets of a part that are probed without power, red lead first: its two leads, or its junctions."""
    if part.kind in TWO_LEADS - {"ceramic", "elko"}:
        a, b = part.nets
        return [(b, a) if a == "GND" else (a, b)]
    return [(part.roles[a], part.roles[b]) for a, b in _JUNCTIONS.get(part.kind, ())] if junctions else []


def run_powered(section: Section, faults: tuple[Fault, ...], draw: Draw) -> Powered:
    """Return voltages and supply current with the supply on; raises NoAnswerError."""
    lines = _circuit(section, faults, draw, powered=True)
    lines += _supply(section, faults, draw)
    at = SETTLED_S
    for n, point in enumerate(section.points):
        name = point_node(point)
        lines += [
            f"vw{n} zz_w{n} 0 pulse(0 1 {at:.6g} 0.1m 0.1m {WINDOW_S - 1e-3:.6g} 10)",
            f"bmeter{n} {name} 0 i=v({name})*v(zz_w{n})*1e-7",
            _measured(section, f"m_{n}", f"v({name})", at + WINDOW_S - 1.2e-3, 2e-3),
        ]
        at += WINDOW_S
    lines += [_measured(section, "m_i", "i(vlead)", SETTLED_S - 1e-3, 11e-3), f".tran 0.5m {at:.6g} uic"]
    for options in ("method=gear", "method=gear maxord=2 reltol=5e-3 itl4=200", "itl4=500 reltol=2e-2 gmin=1e-11"):
        told = dict(_MEASURED.findall(_spice([*lines, f".options {options} temp={_celsius(draw):.4g}"])))
        names = [f"m_{n}" for n in range(len(section.points))]
        if all(_number(told.get(name)) is not None for name in (*names, "m_i")):
            return Powered(tuple(float(told[name]) for name in names), float(told["m_i"]))
    raise NoAnswerError(f"{section.name}: {[fault.id for fault in faults]}")


def _measured(section: Section, name: str, what: str, at: float, over: float) -> str:
    """Return the line that tells a reading: its mean over so many seconds up to a time, or what it is then."""
    when = f"avg {what} from={at - over:.6g} to={at:.6g}" if section.bench.averaged else f"find {what} at={at:.6g}"
    return f".meas tran {name} {when}"


def run_unpowered(section: Section, faults: tuple[Fault, ...], draw: Draw) -> Unpowered:
    """Return what the meter shows at every pair, supply unplugged; raises NoAnswerError."""
    lines = _circuit(section, faults, draw, powered=False)
    places = sorted({point for pair in pairs(section) for point in pair})
    number = {point: n for n, point in enumerate(places)}
    for point, n in number.items():
        lines.append(f"rred{n} {point_node(point)} zz_red {_OFF_OHM:g}")
        lines.append(f"rblack{n} {point_node(point)} zz_black {_OFF_OHM:g}")
    lines += [
        "itest zz_black zz_red dc 0",
        "dlimit zz_red zz_top mlimit",
        ".model mlimit d(is=1e-15 n=0.1)",
        "vlimit zz_top zz_black dc 3",
        "rhold zz_black 0 1e10",
        f".options temp={_celsius(draw):.4g} itl1=400 gmin=1e-13",
        ".control",
    ]
    for n, (red, black) in enumerate(pairs(section)):
        lines += _probe(n, number[red], number[black])
    for start in ("noopiter", "gminsteps=20"):
        told = dict(_TOLD.findall(_spice([f"{lines[0]}", f".options {start}", *lines[1:], "quit", ".endc"])))
        shown = [_shown(n, told) for n in range(len(pairs(section)))]
        if None not in shown:
            return Unpowered(*zip(*(one for one in shown if one), strict=True))
    raise NoAnswerError(f"{section.name}, unpowered: {[fault.id for fault in faults]}")


def _circuit(section: Section, faults: tuple[Fault, ...], draw: Draw, powered: bool) -> list[str]:
    lines = ["* a section of the fault bench"]
    for part in section.parts:
        lines += part_lines(section, part, faults, draw, powered)
    nets = sorted({node(net) for part in section.parts for net in part.nets} - {"0"})
    if powered:
        lines += [f"cnet_{net} {net} 0 200p" for net in nets]
    wide = [p for p in section.parts if p.kind in MANY_PINS]
    text = "\n".join(lines)
    for part in wide:
        for pin in (f"{part.ref}_{number}".lower() for number in part.pins.values()):
            assert pin in text, f"pin without a node: {pin}"
    return [*lines, *(f"rnet_{net} {net} 0 2e10" for net in nets)]


def _supply(section: Section, faults: tuple[Fault, ...], draw: Draw) -> list[str]:
    """A bench supply: voltage up to its limit, then current; its leads; a start within 5 ms."""
    volts = section.supply_v * draw.within(section.supply_percent, "supply")
    limit = section.limit_a * draw.within(3.0, "supply limit")
    plus, minus = node(section.supply_net), "0"
    for fault in faults:
        if fault.ref == "supply":
            volts = float(fault.to) if fault.kind == "wrong_voltage" else 0.0 if fault.kind == "off" else volts
            limit = float(fault.to) if fault.kind == "limit_low" else limit
            plus, minus = (minus, plus) if fault.kind == "swapped" else (plus, minus)
    held = "0.5*(1+tanh(0.5*((v(zz_set)-v(zz_p,zz_m))/0.003)+2))" if volts else "0"
    return [
        f"vset zz_set 0 pwl(0 0 5m {volts:.6g})",
        f"bsupply zz_m zz_p i={limit:.6g}*{held}",
        "csupply zz_p zz_m 1u",
        "rbleed zz_p zz_m 4.7k",
        "vlead zz_p zz_l 0",
        f"rlead zz_l {plus} 0.04",
        f"rback zz_m {minus} 0.04",
    ]


def _celsius(draw: Draw) -> float:
    return draw.between(25.0, 35.0, "celsius")


def _probe(n: int, red: int, black: int) -> list[str]:
    """Commands that put red and black on a pair and tell the voltage at each test current; then the leads swapped."""
    lines = [f"alter rred{red} = {_LEAD_OHM}", f"alter rblack{black} = {_LEAD_OHM}", f"alter vlimit dc = {OHM_OPEN_V}"]
    for k, amps in enumerate(OHM_RANGES_A):
        lines += [f"alter itest dc = {amps:g}", *_tell(f"{n}_ohm{k}")]
    lines += [f"alter vlimit dc = {DIODE_OPEN_V}", f"alter itest dc = {DIODE_A:g}", *_tell(f"{n}_diode")]
    lines += [f"alter rred{red} = {_OFF_OHM:g}", f"alter rblack{black} = {_OFF_OHM:g}"]
    lines += [f"alter rred{black} = {_LEAD_OHM}", f"alter rblack{red} = {_LEAD_OHM}", *_tell(f"{n}_back")]
    return [*lines, f"alter rred{black} = {_OFF_OHM:g}", f"alter rblack{red} = {_OFF_OHM:g}"]


def _tell(name: str) -> list[str]:
    return ["op", "let x = v(zz_red)-v(zz_black)", f'echo "told {name} $&x"', "destroy all"]


Shown = tuple[float | None, float | None, float | None]


def _shown(n: int, told: dict[str, str]) -> Shown | None:
    """Return ohms (lowest range that is not over its top) and the diode test both ways; None without an answer."""
    ohms: float | None = None
    for k, amps in enumerate(OHM_RANGES_A):
        volts = _number(told.get(f"{n}_ohm{k}"))
        if volts is None:
            return None
        if volts <= OHM_TOP_V:
            ohms = volts / amps
            break
    diode, back = _number(told.get(f"{n}_diode")), _number(told.get(f"{n}_back"))
    if diode is None or back is None:
        return None
    return ohms, diode if diode <= DIODE_TOP_V else None, back if back <= DIODE_TOP_V else None


def _number(text: str | None) -> float | None:
    try:
        value = float(text or "")
    except ValueError:
        return None
    return value if abs(value) < 1e6 else None


def _spice(lines: list[str]) -> str:
    """Return what ngspice prints; its exit code says nothing (it is 1 on success too)."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deck.cir"
        path.write_text("\n".join([*lines, ".end", ""]), encoding="ascii")
        command = ["ngspice", "-b", str(path)]
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=_TIMEOUT_S, check=False, cwd=folder)
        except subprocess.TimeoutExpired:
            return ""
        return done.stdout + done.stderr
