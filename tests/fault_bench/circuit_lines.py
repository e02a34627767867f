"""The lines of an ngspice deck for a part of any kind, with tolerances drawn and a fault put in."""

from tests.fault_bench.chip_lines import MAKERS, Chip
from tests.fault_bench.draw import Draw
from tests.fault_bench.faults import Fault
from tests.fault_bench.lead_lines import two_leads
from tests.fault_bench.parts import MANY_PINS, Part, Section


def node(net: str) -> str:
    """Return the node of a net."""
    return "0" if net == "GND" else net.lower()


def point_node(point: str) -> str:
    """Return the node of a net or of a pin (`U1.2`)."""
    return point.lower().replace(".", "_") if "." in point else node(point)


def part_lines(section: Section, part: Part, faults: tuple[Fault, ...], draw: Draw, powered: bool) -> list[str]:
    """Return the lines of a part with its faults."""
    own = [fault for fault in faults if fault.ref == part.ref]
    lines = [line for fault in own for line in _beside(part, fault, draw)]
    if part.kind == "plug" or any(fault.kind in ("open", "missing") for fault in own):
        return lines + (_loose_pins(part) if part.kind in MANY_PINS else [])
    nets = dict(part.roles)
    for fault in own:
        nets = _turned(part, nets) if fault.kind == "reversed" else nets
    if part.kind not in MANY_PINS:
        a, b = (node(net) for net in nets.values())
        return lines + two_leads(section.bench.figures, part, a, b, own, draw)
    lines += _joints(part, {fault.pins[0] for fault in own if fault.kind == "pin_open"}, own)
    pins = {role: point_node(f"{part.ref}.{number}") for role, number in part.pins.items()}
    return lines + MAKERS[part.kind](Chip(section, part, pins, own, draw, powered))


def _beside(part: Part, fault: Fault, draw: Draw) -> list[str]:
    """Return what a fault adds beside the part: a bridge, a short, a leak."""
    if fault.kind not in ("short", "bridge", "leaky"):
        return []
    nets = fault.nets or part.nets[:2]
    low, high = (0.02, 0.4) if fault.kind == "bridge" else (0.05, 2.0)
    ohms = fault.ohms or draw.spread(low, high, fault.id)
    return [f"rbeside_{part.ref}_{fault.kind} {node(nets[0])} {node(nets[1])} {ohms:.6g}"]


def _turned(part: Part, nets: dict[str, str]) -> dict[str, str]:
    if part.kind in MANY_PINS:
        first, last = (next(role for role, number in part.pins.items() if number == n) for n in ("1", "3"))
        return {**nets, first: nets[last], last: nets[first]}
    first, last = nets
    return {first: nets[last], last: nets[first]}


def _joints(part: Part, open_pins: set[str], own: list[Fault]) -> list[str]:
    turned = _turned(part, part.roles) if any(fault.kind == "reversed" for fault in own) else part.roles
    lines = []
    for role, number in part.pins.items():
        pin = point_node(f"{part.ref}.{number}")
        lines += [f"cpin_{pin} {pin} 0 10p", f"rpin_{pin} {pin} 0 1e10"]
        if number not in open_pins:
            lines.append(f"rjoint_{pin} {node(turned[role])} {pin} 2m")
    return lines


def _loose_pins(part: Part) -> list[str]:
    """A part that is not there: a probe on the "pin" touches the land, which is the net."""
    return [f"rland_{part.ref}_{n} {node(part.roles[role])} {part.ref.lower()}_{n} 2m" for role, n in part.pins.items()]
