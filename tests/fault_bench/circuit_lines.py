"""The lines of an ngspice deck for each kind of part, with tolerances drawn and a fault put in."""

import math
import random

from tests.fault_bench.devices import AMPLIFIERS, BIPOLARS, DIODES, FIELDS, LEDS, REGULATORS, ZENERS
from tests.fault_bench.devices import Junction as Diode
from tests.fault_bench.faults import Fault
from tests.fault_bench.sections import MANY_PINS, Part, Section

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
        return [*lines, f"r{ref} {a} {b} {draw.spread(0.05, 0.35, ref):.6g}"]
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
        diode = DIODES[kind]._replace(saturation_a=DIODES[kind].saturation_a * draw.spread(0.6, 1.7, ref))
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
    return [
        f"df{ref} {anode} {cathode} mf{ref}",
        _model(f"mf{ref}", Diode(2e-13 * draw.spread(0.6, 1.7, ref, "forward"), 1.12, 0.8)),
        f"dz{ref} {cathode} {x} mz{ref}",
        _model(f"mz{ref}", Diode(KNEE_A, zener.knee_v / THERMAL_V, zener.slope_ohm)),
        f"vz{ref} {x} {anode} {inner:.6g}",
    ]


def _regulator(
    section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool
) -> list[str]:
    """Pass current that falls off within millivolts of the target; drop-out, limit, own current, back-feed."""
    ref, kind = part.ref, REGULATORS[part.value]
    low = pins.get("GND") or pins["ADJ"]
    i, o, x, t = pins["IN"], pins["OUT"], f"{ref.lower()}_ix", f"{ref.lower()}_t"
    for fault in own:
        if fault.kind in ("wrong_variant", "odd_output"):
            kind = kind._replace(volts=float(fault.to))
    volts = kind.volts * draw.within(kind.tolerance_percent, ref)
    drop = kind.dropout_v * draw.within(15.0, ref, "drop")
    limit = kind.limit_a * draw.within(20.0, ref, "limit")
    own_a = kind.quiescent_a * draw.within(30.0, ref, "own")
    over = f"(v({x},{low})-1.0)"
    fallen = f"(v({x})-{drop:.6g})"
    wanted = f"({volts:.6g}+v({low}))"
    lines = [
        f"rdrop_{ref} {i} {x} {max(kind.dropout_ohm, 0.05)}",
        f"bt{ref} {t} 0 v=0.5*({wanted}+{fallen}-sqrt(({wanted}-{fallen})^2+0.004))",
        f"bp{ref} {x} {o} i={limit:.6g}*0.5*(1+tanh(0.5*(v({t},{o})/0.002-2.94)))",
        f"bq{ref} {x} {low} i={own_a:.6g}*tanh((0.5*({over}+sqrt({over}^2+0.05))-0.012348)/0.8)",
        f"dback_{ref} {o} {i} mback_{ref}",
        _model(f"mback_{ref}", Diode(5e-13, 1.15, 0.4)),
        f"dlow_{ref} {low} {i} mlow_{ref}",
        _model(f"mlow_{ref}", Diode(2e-13, 1.1, 2.0)),
    ]
    if kind.inner_ohm:
        lines.append(f"rinner_{ref} {o} {low} {kind.inner_ohm * draw.spread(0.8, 1.25, ref, 'inner'):.6g}")
        lines += [f"dsub_{ref} {low} {o} mlow_{ref}"]
    return lines + ([f"co{ref} {o} 0 0.3u", f"ci{ref} {i} 0 0.1u"] if powered else [])


def _npn(section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool) -> list[str]:
    kind = BIPOLARS[part.value]
    gain = draw.between(*kind.gain, part.ref)
    return [
        f"q{part.ref} {pins['C']} {pins['B']} {pins['E']} m{part.ref}",
        f".model m{part.ref} npn(is={kind.saturation_a} bf={gain:.6g} br=5 vaf=90 rb=20 rc=0.6 re=0.2 ikf=0.4)",
    ]


def _nmos(section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool) -> list[str]:
    kind = FIELDS[part.value]
    g, d, s = pins["G"], pins["D"], pins["S"]
    threshold = draw.between(*kind.threshold_v, part.ref)
    return [
        f"m{part.ref} {d} {g} {s} {s} mm{part.ref} w=10u l=10u",
        f".model mm{part.ref} nmos(level=1 vto={threshold:.6g} kp={kind.factor:.6g} lambda=0.01 rd=0.05 is=1e-30)",
        f"dbody_{part.ref} {s} {d} mb{part.ref}",
        _model(f"mb{part.ref}", Diode(8e-13, 1.08, 0.1)),
    ]


def _clamp(text: str) -> str:
    """Return a current that holds an integrator: nothing below zero volt, 10 mS above; ideal diodes get stuck here."""
    return f"(5e-3*(({text})+sqrt(({text})^2+1e-6)))"


def _opamp(
    section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool
) -> list[str]:
    """An integrator between two clamps, an output of 80 ohm limited to 25 mA, protection diodes."""
    ref, kind = part.ref, AMPLIFIERS[part.value]
    o, minus, plus, low, high = (pins[role] for role in ("OUT", "IN-", "IN+", "V-", "V+"))
    x, top, bottom = (f"{ref.lower()}_{name}" for name in ("x", "top", "bot"))
    offset = kind.offset_v * draw.between(-0.7, 0.7, ref)
    room = f"(v({high},{low})-{kind.headroom_v}-0.03)"
    across = f"v({high},{low})"
    drive = f"0.0125*(1+tanh(({across}-1.2)/0.1))*tanh(v({x},{o})/2)"
    lines = [
        f"bi{ref} 0 {x} i=1e-5*tanh(300*(v({plus},{minus})+{offset:.6g}))",
        f"cx{ref} {x} 0 0.2n",
        f"rx{ref} {x} 0 1e9",
        f"btop{ref} {top} 0 v=v({low})+0.02+0.5*({room}+sqrt({room}^2+0.001))",
        f"bbot{ref} {bottom} 0 v=v({low})+0.01",
        f"bclamp{ref} {x} 0 i={_clamp(f'v({x},{top})')}-{_clamp(f'v({bottom},{x})')}",
        f"bout{ref} 0 {o} i={drive}",
        f"bsup{ref} {high} {low} i={kind.quiescent_a:.6g}*tanh({across}/1.5)*0.5*(1+tanh(({across}-1)/0.2))"
        f"+0.5*({drive}+sqrt(({drive})^2+1e-10))-5e-6",
        _model(f"mesd{ref}", Diode(1e-14, 1.05, 8.0)),
    ]
    for n, pin in enumerate((o, minus, plus)):
        lines += [f"desda{n}{ref} {pin} {high} mesd{ref}", f"desdb{n}{ref} {low} {pin} mesd{ref}"]
    return [*lines, f"desdc{ref} {low} {high} mesd{ref}"]


def _load(section: Section, part: Part, pins: dict[str, str], own: list[Fault], draw: Draw, powered: bool) -> list[str]:
    """A controller: draws from about half its rail on, a little more with voltage; a protection diode; a leak."""
    ref, (amps, percent) = part.ref, section.loads[part.ref]
    rail = part.roles["VDD"]
    usual = float(section.rails[rail].split()[0]) if rail in section.rails else 3.3
    amps *= draw.between(1 - percent / 100, 1 + percent / 100, ref)
    p, n = pins["VDD"], pins["GND"]
    across = f"v({p},{n})"
    return [
        f"bl{ref} {p} {n} i={amps:.6g}*(0.7+0.3*{across}/{usual:.6g})*0.5*(1+tanh(({across}-{0.5 * usual:.6g})/0.15))",
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
    "adjustable": _regulator,
    "npn": _npn,
    "nmos": _nmos,
    "opamp": _opamp,
    "load": _load,
    "shunt": _shunt,
}
