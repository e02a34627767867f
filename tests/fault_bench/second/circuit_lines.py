"""The lines of an ngspice deck for each kind of part, with tolerances drawn and a fault put in."""

import math
import random

from tests.fault_bench.second.devices import (
    AMPLIFIERS,
    BIPOLARS,
    COUPLERS,
    DIODES,
    DUALS,
    FIELDS,
    LEDS,
    REGULATORS,
    TWO_WAY,
    ZENERS,
    Regulator,
)
from tests.fault_bench.second.devices import Junction as Diode
from tests.fault_bench.second.faults import Fault
from tests.fault_bench.second.sections import MANY_PINS, Part, Section

THERMAL_V = 0.02585
KNEE_A = 1e-9
_MULTIPLIERS = {"R": 1.0, "k": 1e3, "M": 1e6}


class Draw:
    """Tolerances of one physical board. Each figure has its own generator, so a fault changes no other figure."""

    def __init__(self, seed: int, width: float = 1.0) -> None:
        self.seed, self.width = seed, width

    def _random(self, *key: object) -> random.Random:
        return random.Random(":".join(map(str, (self.seed, *key))))

    def within(self, percent: float, *key: object) -> float:
        """Return a factor: normal, sigma = tolerance / 2.5, cut at the tolerance (both times `width`)."""
        sigma = percent / 250.0
        drawn = max(-2.5 * sigma, min(2.5 * sigma, self._random(*key).gauss(0.0, sigma)))
        return 1.0 + drawn * self.width

    def between(self, low: float, high: float, *key: object) -> float:
        """Return a figure drawn evenly."""
        middle, half = (low + high) / 2, (high - low) / 2
        return middle + half * self.width * self._random(*key).uniform(-1.0, 1.0)

    def spread(self, low: float, high: float, *key: object) -> float:
        """Return a figure drawn evenly on a logarithmic scale."""
        return math.exp(self._random(*key).uniform(math.log(low), math.log(high)))


def ohms_of(text: str) -> float:
    """Return the resistance of `4k7`, `330R`, `100k`.

    >>> ohms_of("4k7"), ohms_of("330R"), ohms_of("1k")
    (4700.0, 330.0, 1000.0)
    """
    letter = next(char for char in text if char in _MULTIPLIERS)
    whole, _, part = text.partition(letter)
    return float(f"{whole}.{part or 0}") * _MULTIPLIERS[letter]


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
        return lines + _two_leads(section, part, nets, own, draw)
    lines += _joints(part, {fault.pins[0] for fault in own if fault.kind == "pin_open"}, own)
    pins = {role: f"{part.ref}_{number}".lower() for role, number in part.pins.items()}
    return lines + _MAKERS[part.kind](section, part, pins, own, draw, powered)


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
        pin = f"{part.ref}_{number}".lower()
        lines += [f"cpin_{pin} {pin} 0 10p", f"rpin_{pin} {pin} 0 1e10"]
        if number not in open_pins:
            lines.append(f"rjoint_{pin} {node(turned[role])} {pin} 2m")
    return lines


def _loose_pins(part: Part) -> list[str]:
    """A part that is not there: a probe on the "pin" touches the land, which is the net."""
    return [f"rland_{part.ref}_{n} {node(part.roles[role])} {part.ref.lower()}_{n} 2m" for role, n in part.pins.items()]


def _two_leads(section: Section, part: Part, nets: dict[str, str], own: list[Fault], draw: Draw) -> list[str]:
    a, b = (node(net) for net in nets.values())
    ref, lines = part.ref, []
    for fault in own:
        if fault.kind == "poor_joint":
            lines.append(f"rpoor_{ref} {a} {ref.lower()}_x {fault.ohms}")
            a = f"{ref.lower()}_x"
    factor = math.prod({"times_10": 10.0, "tenth": 0.1}.get(fault.kind, fault.factor) for fault in own)
    if part.kind == "resistor":
        tolerance = 1.0 if "1 %" in part.description else 5.0
        return [*lines, f"r{ref} {a} {b} {ohms_of(part.value) * factor * draw.within(tolerance, ref):.6g}"]
    if part.kind == "coil":
        return [*lines, f"r{ref} {a} {b} {ohms_of(part.value.split()[-1]) * draw.within(10.0, ref):.6g}"]
    if part.kind == "fuse":
        low, high = (0.5, 2.2) if "polyfuse" in part.value else (0.05, 0.35)
        return [*lines, f"r{ref} {a} {b} {draw.spread(low, high, ref):.6g}"]
    if part.kind == "bead":
        return [*lines, f"r{ref} {a} {b} {draw.spread(0.1, 0.4, ref):.6g}"]
    if part.kind == "two_way":
        return [*lines, *_two_way(part, a, b, draw)]
    if part.kind in ("ceramic", "elko"):
        return [*lines, *_capacitor(part, a, b, draw)]
    return [*lines, *_junction(part, a, b, own, draw)]


def _capacitor(part: Part, a: str, b: str, draw: Draw) -> list[str]:
    """Leak; a few nanofarad stand for the whole of it; an electrolytic conducts when the other way round."""
    ref = part.ref
    lines = [f"c{ref} {a} {b} 20n", f"rleak_{ref} {a} {b} {draw.spread(3e6, 1e8, ref):.6g}"]
    if part.kind == "elko":
        series = draw.spread(40.0, 1500.0, ref, "reverse")
        lines += [f"drev_{ref} {b} {a} mrev_{ref}", f".model mrev_{ref} d(is=2e-10 n=3 rs={series:.6g})"]
    return lines


def _two_way(part: Part, a: str, b: str, draw: Draw) -> list[str]:
    """Two breakdown branches, one for each direction; a leak of some megohm."""
    ref, kind = part.ref, TWO_WAY[part.value]
    lines = [f"rleak_{ref} {a} {b} {draw.spread(5e6, 2e8, ref, 'leak'):.6g}"]
    for side, (top, bottom) in enumerate(((a, b), (b, a))):
        volts = kind.volts * draw.within(kind.tolerance_percent, ref, side)
        inner = volts - kind.knee_v * math.log(kind.at_a / KNEE_A) - kind.slope_ohm * kind.at_a
        x = f"{ref.lower()}_z{side}"
        lines += [
            f"dz{side}{ref} {top} {x} mz{ref}",
            f"vz{side}{ref} {x} {bottom} {inner:.6g}",
        ]
    return [*lines, _model(f"mz{ref}", Diode(KNEE_A, kind.knee_v / THERMAL_V, kind.slope_ohm))]


def _model(name: str, diode: Diode) -> str:
    return f".model {name} d(is={diode.saturation_a:.6g} n={diode.ideality:.6g} rs={diode.series_ohm:.6g})"


def _junction(part: Part, anode: str, cathode: str, own: list[Fault], draw: Draw) -> list[str]:
    ref = part.ref
    if part.kind == "led":
        lamp = LEDS[part.value]
        forward = lamp.forward_v + draw.between(-0.06, 0.06, ref) - 0.01 * lamp.series_ohm
        saturation = 0.01 * math.exp(-forward / (lamp.ideality * THERMAL_V))
        diode = Diode(saturation, lamp.ideality, lamp.series_ohm)
        return [f"d{ref} {anode} {cathode} m{ref}", _model(f"m{ref}", diode)]
    if part.kind == "diode":
        kind = next((str(fault.to) for fault in own if fault.kind == "wrong_type"), part.value)
        diode = DIODES[kind]._replace(saturation_a=DIODES[kind].saturation_a * draw.spread(0.5, 2.0, ref))
        return [f"d{ref} {anode} {cathode} m{ref}", _model(f"m{ref}", diode)]
    return _zener(part, anode, cathode, own, draw)


def _zener(part: Part, anode: str, cathode: str, own: list[Fault], draw: Draw) -> list[str]:
    ref, zener = part.ref, ZENERS[part.value]
    for fault in own:
        if fault.kind == "wrong_variant":
            zener = ZENERS[str(fault.to)]
        if fault.kind == "odd_output":
            zener = zener._replace(volts=float(fault.to))
    volts = zener.volts * draw.within(zener.tolerance_percent, ref)
    inner = volts - zener.knee_v * math.log(zener.at_a / KNEE_A) - zener.slope_ohm * zener.at_a
    x = f"{ref.lower()}_z"
    # The last line takes back the saturation current of the branch, which would lift an open net by millivolts.
    return [
        f"df{ref} {anode} {cathode} mf{ref}",
        _model(f"mf{ref}", Diode(2e-13 * draw.spread(0.6, 1.7, ref, "forward"), 1.12, 0.8)),
        f"dz{ref} {cathode} {x} mz{ref}",
        _model(f"mz{ref}", Diode(KNEE_A, zener.knee_v / THERMAL_V, zener.slope_ohm)),
        f"vz{ref} {x} {anode} {inner:.6g}",
        f"iz{ref} {cathode} {anode} {KNEE_A:g}",
    ]


def _regulator(
    section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool
) -> list[str]:
    """Pass current that falls off within millivolts of the target; drop-out, limit, own current, back-feed.

    Some fold back, need a least load, have an enable pin, or a ground current that follows load and starvation.
    """
    ref, kind = part.ref, REGULATORS[part.value]
    low = pins.get("GND") or pins["ADJ"]
    i, o, x, t = pins["IN"], pins["OUT"], f"{ref.lower()}_ix", f"{ref.lower()}_t"
    for fault in own:
        if fault.kind in ("wrong_variant", "odd_output"):
            kind = kind._replace(volts=float(fault.to))
    volts = kind.volts * draw.within(kind.tolerance_percent, ref)
    drop = kind.dropout_v * draw.within(15.0, ref, "drop")
    fallen = f"(v({x})-{drop:.6g})"
    wanted = f"({volts:.6g}+v({low}))"
    through = _pass_current(ref, kind, pins, (x, o, t, low), draw)
    lines = [
        f"rdrop_{ref} {i} {x} {max(kind.dropout_ohm, 0.05)}",
        f"bt{ref} {t} 0 v=0.5*({wanted}+{fallen}-sqrt(({wanted}-{fallen})^2+0.004))",
        f"bp{ref} {x} {o} i={through}",
        f"bq{ref} {x} {low} i={_ground_current(ref, kind, volts + drop, through, (x, low), draw)}",
        f"dback_{ref} {o} {i} mback_{ref}",
        _model(f"mback_{ref}", Diode(5e-13, 1.15, 0.4)),
        f"dlow_{ref} {low} {i} mlow_{ref}",
        _model(f"mlow_{ref}", Diode(2e-13, 1.1, 2.0)),
    ]
    if kind.least_a:
        least = kind.least_a * draw.within(30.0, ref, "least")
        lines.append(f"bleast{ref} {x} {o} i={least:.6g}*tanh({_positive(f'v({x},{o})-1.2')}/0.4)")
    if kind.enable_v:
        lines += [f"ren_{ref} {pins['EN']} {low} {draw.spread(8e5, 4e6, ref, 'enable'):.6g}"]
        lines += [f"den_{ref} {low} {pins['EN']} mlow_{ref}"]
    if kind.inner_ohm:
        lines.append(f"rinner_{ref} {o} {low} {kind.inner_ohm * draw.spread(0.8, 1.25, ref, 'inner'):.6g}")
        lines += [f"dsub_{ref} {low} {o} mlow_{ref}"]
    return lines + ([f"co{ref} {o} 0 0.3u", f"ci{ref} {i} 0 0.1u", f"cx{ref} {x} 0 20n"] if powered else [])


def _positive(text: str) -> str:
    """Return the part above zero of an expression, smooth, and zero at zero volt far below."""
    return f"(0.5*(({text})+sqrt(({text})^2+0.002))-0.0005)"


def _pass_current(ref: str, kind: Regulator, pins: dict[str, str], nodes: tuple[str, str, str, str], draw: Draw) -> str:
    _, o, t, low = nodes
    limit = kind.limit_a * draw.within(20.0, ref, "limit")
    told = f"{limit:.6g}*0.5*(1+tanh(0.5*(v({t},{o})/0.002-2.94)))"
    if kind.fold < 1.0:
        share = f"tanh(1.5*(v({o},{low})+sqrt(v({o},{low})^2+0.01))/{kind.volts:.6g})"
        told += f"*({kind.fold:.6g}+{1 - kind.fold:.6g}*{share})"
    if kind.enable_v:
        enable = kind.enable_v * draw.within(15.0, ref, "enable level")
        told += f"*0.5*(1+tanh((v({pins['EN']},{low})-{enable:.6g})/0.03))"
    return told


def _ground_current(
    ref: str, kind: Regulator, needed_v: float, through: str, nodes: tuple[str, str], draw: Draw
) -> str:
    x, low = nodes
    own_a = kind.quiescent_a * draw.within(30.0, ref, "own")
    over = f"(v({x},{low})-1.0)"
    told = f"{own_a:.6g}"
    if kind.starved_a:
        told = f"({told}+{kind.starved_a:.6g}*0.5*(1+tanh(({needed_v + 0.1:.6g}-v({x},{low}))/0.15)))"
    told += f"*tanh((0.5*({over}+sqrt({over}^2+0.05))-0.012348)/0.8)"
    return told + (f"+{kind.share:.6g}*{through}" if kind.share else "")


def _bipolar(
    section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool
) -> list[str]:
    kind = BIPOLARS[part.value]
    gain = draw.between(*kind.gain, part.ref)
    return [
        f"q{part.ref} {pins['C']} {pins['B']} {pins['E']} m{part.ref}",
        f".model m{part.ref} {part.kind}(is={kind.saturation_a} bf={gain:.6g} br=4 vaf={kind.early_v:.6g} rb=25 "
        f"rc={kind.collector_ohm:.6g} re=0.15 ikf={kind.knee_a:.6g} ise={kind.leak_a:.6g} ne=1.6)",
    ]


def _field(
    section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool
) -> list[str]:
    kind, channel = FIELDS[part.value], part.kind
    g, d, s = pins["G"], pins["D"], pins["S"]
    threshold = draw.between(*kind.threshold_v, part.ref) * (1 if channel == "nmos" else -1)
    anode, cathode = (s, d) if channel == "nmos" else (d, s)
    return [
        f"m{part.ref} {d} {g} {s} {s} mm{part.ref} w=10u l=10u",
        f".model mm{part.ref} {channel}(level=1 vto={threshold:.6g} kp={kind.factor:.6g} lambda=0.01 rd=0.02 is=1e-30)",
        f"dbody_{part.ref} {anode} {cathode} mb{part.ref}",
        _model(f"mb{part.ref}", Diode(6e-13, 1.05, 0.06)),
    ]


def _comparator(
    section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool
) -> list[str]:
    """An open collector that sinks while IN- is above IN+; slowed by some microseconds; protection diodes."""
    ref, kind = part.ref, AMPLIFIERS[part.value]
    o, minus, plus, low, high = (pins[role] for role in ("OUT", "IN-", "IN+", "V-", "V+"))
    offset = kind.offset_v * draw.between(-0.7, 0.7, ref)
    sink, own_a = kind.sink_a * draw.within(30.0, ref, "sink"), kind.quiescent_a * draw.within(30.0, ref, "own")
    across = f"v({high},{low})"
    x, y = f"{ref.lower()}_x", f"{ref.lower()}_y"
    lines = [
        f"bx{ref} {x} 0 v=0.5*(1+tanh((v({minus},{plus})+{offset:.6g})/0.001))*0.5*(1+tanh(({across}-1.3)/0.1))",
        f"rx{ref} {x} {y} 1k",
        f"cx{ref} {y} 0 20n",
        f"bout{ref} {o} {low} i={sink:.6g}*v({y})*tanh(v({o},{low})/{1.0 if kind.clamped else 0.45})",
        f"bsup{ref} {high} {low} i={own_a:.6g}*tanh({across}/1.5)*0.5*(1+tanh(({across}-1)/0.2))",
        _model(f"mesd{ref}", Diode(1e-14, 1.05, 8.0)),
        f"desdc{ref} {low} {high} mesd{ref}",
    ]
    for n, pin in enumerate((o, minus, plus)):
        lines.append(f"desdb{n}{ref} {low} {pin} mesd{ref}")
        if kind.clamped and pin != o:
            lines.append(f"desda{n}{ref} {pin} {high} mesd{ref}")
    return lines


def _opto(section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool) -> list[str]:
    """An infrared diode and a sink whose ratio falls at small currents; `value` is an aged one."""
    ref, kind = part.ref, COUPLERS[part.value]
    ratio = draw.spread(*kind.ratio, ref) * math.prod(f.factor for f in own if f.kind == "value")
    a, k, e, c = (pins[role] for role in ("A", "K", "E", "C"))
    x = f"{ref.lower()}_x"
    light = f"(0.5*(i(vl{ref})+sqrt(i(vl{ref})^2+1e-12))-5e-7)"
    return [
        f"vl{ref} {a} {x} 0",
        f"dl{ref} {x} {k} ml{ref}",
        _model(f"ml{ref}", Diode(4e-13 * draw.spread(0.5, 2.0, ref, "diode"), 1.86, 2.5)),
        f"bc{ref} {c} {e} i={ratio:.6g}*{light}*{light}/({light}+{kind.half_a:.6g})"
        f"*0.5*(1+tanh((v({c},{e})-0.09)/0.025))*tanh(v({c},{e})/0.01)",
        f"rdark{ref} {c} {e} 1e9",
    ]


def _dual(section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool) -> list[str]:
    ref = part.ref
    diode = DUALS[part.value]
    return [
        f"da{ref} {pins['A']} {pins['M']} mdual{ref}",
        f"dk{ref} {pins['M']} {pins['K']} mdual{ref}",
        _model(f"mdual{ref}", diode._replace(saturation_a=diode.saturation_a * draw.spread(0.5, 2.0, ref))),
    ]


def _load(section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool) -> list[str]:
    """A controller: draws from about half its rail on, a little more with voltage; a protection diode; a leak."""
    ref, (amps, percent) = part.ref, section.loads[part.ref]
    rail = part.roles["VDD"]
    usual = float(section.rails[rail].split()[0]) if rail in section.rails else 3.3
    amps *= draw.between(1 - percent / 100, 1 + percent / 100, ref)
    amps *= math.prod(fault.factor for fault in own if fault.kind == "value")
    p, n = pins["VDD"], pins["GND"]
    across = f"v({p},{n})"
    drawn = f"(0.7+0.3*{across}/{usual:.6g})*0.5*(1+tanh(({across}-{0.5 * usual:.6g})/{0.045 * usual:.6g}))"
    if ref in section.resistive:
        drawn = f"{across}/{usual:.6g}"
    return [
        f"bl{ref} {p} {n} i={amps:.6g}*{drawn}",
        f"desd{ref} {n} {p} mesd{ref}",
        _model(f"mesd{ref}", Diode(1e-13, 1.12, 1.5)),
        f"rleak{ref} {p} {n} {draw.spread(2e4, 4e5, ref, 'leak'):.6g}",
    ]


def _shunt(
    section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool
) -> list[str]:
    ref, k, r, a = part.ref, pins["K"], pins["REF"], pins["A"]
    volts, across = 2.495 * draw.within(1.0, ref), f"v({k},{a})"
    wanted, room = f"tanh(0.5*((v({r},{a})-{volts:.6g})/0.001-4.6))", f"tanh(({across}-1.85)/0.06)"
    return [
        f"bk{ref} {k} {a} i=0.1*0.5*(1+{wanted})*0.5*(1+{room})",
        f"bq{ref} {k} {a} i=0.3e-3*tanh((0.5*(({across}-1)+sqrt(({across}-1)^2+0.05))-0.012348)/0.8)",
        f"rref{ref} {r} {a} 1.2meg",
        f"dk{ref} {a} {k} mk{ref}",
        f"dr{ref} {r} {k} mk{ref}",
        _model(f"mk{ref}", Diode(3e-13, 1.1, 3.0)),
    ]


_MAKERS = {
    "fixed": _regulator,
    "enabled": _regulator,
    "adjustable": _regulator,
    "npn": _bipolar,
    "pnp": _bipolar,
    "nmos": _field,
    "pmos": _field,
    "comparator": _comparator,
    "opto": _opto,
    "dual": _dual,
    "load": _load,
    "shunt": _shunt,
}
