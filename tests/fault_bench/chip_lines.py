"""The lines of an ngspice deck for parts with more than two leads."""

import math
from collections.abc import Callable
from typing import NamedTuple

from tests.fault_bench.draw import Draw
from tests.fault_bench.faults import Fault
from tests.fault_bench.figures import Figures, Junction, Pins, Regulator
from tests.fault_bench.parts import Part, Section

_AMPLIFIER_ESD = Junction(1e-14, 1.05, 8.0)


class Chip(NamedTuple):
    """One part as it stands on one board: `pins` role -> node, its own faults, the board's tolerances."""

    section: Section
    part: Part
    pins: Pins
    own: list[Fault]
    draw: Draw
    powered: bool

    @property
    def figures(self) -> Figures:
        """The device figures of its set."""
        return self.section.bench.figures

    def nodes(self, *roles: str) -> list[str]:
        """Return the nodes of pins by role."""
        return [self.pins[role] for role in roles]

    def factor(self) -> float:
        """Return by how much its value is off."""
        return math.prod(fault.factor for fault in self.own if fault.kind == "value")


def _positive(text: str) -> str:
    """Return the part above zero of an expression, smooth, and zero at zero volt far below."""
    return f"(0.5*(({text})+sqrt(({text})^2+0.002))-0.0005)"


def _awake(over: str) -> str:
    """Return the share of a chip's own current by how far its supply lies above the start, smooth, none without it."""
    return f"tanh((0.5*({over}+sqrt({over}^2+0.05))-0.012348)/0.8)"


def _regulator(chip: Chip) -> list[str]:
    """Pass current that falls off within millivolts of the target; drop-out, limit, own current, back-feed.

    Some fold back, need a least load, have an enable pin, or a ground current that follows load and starvation.
    """
    pins, draw, ref, kind = chip.pins, chip.draw, chip.part.ref, chip.figures.regulators[chip.part.value]
    low = pins.get("GND") or pins["ADJ"]
    i, o, x, t = pins["IN"], pins["OUT"], f"{ref.lower()}_ix", f"{ref.lower()}_t"
    for fault in chip.own:
        if fault.kind in ("wrong_variant", "odd_output"):
            kind = kind._replace(volts=float(fault.to))
    volts = kind.volts * draw.within(kind.tolerance_percent, ref)
    drop = kind.dropout_v * draw.within(15.0, ref, "drop")
    fallen = f"(v({x})-{drop:.6g})"
    wanted = f"({volts:.6g}+v({low}))"
    through = _pass_current(chip, kind, t, low)
    lines = [
        f"rdrop_{ref} {i} {x} {max(kind.dropout_ohm, 0.05)}",
        f"bt{ref} {t} 0 v=0.5*({wanted}+{fallen}-sqrt(({wanted}-{fallen})^2+0.004))",
        f"bp{ref} {x} {o} i={through}",
        f"bq{ref} {x} {low} i={_ground_current(chip, kind, volts + drop, through, f'v({x},{low})')}",
        f"dback_{ref} {o} {i} mback_{ref}",
        Junction(5e-13, 1.15, 0.4).model(f"mback_{ref}"),
        f"dlow_{ref} {low} {i} mlow_{ref}",
        Junction(2e-13, 1.1, 2.0).model(f"mlow_{ref}"),
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
    if chip.powered:
        lines += [f"co{ref} {o} 0 0.3u", f"ci{ref} {i} 0 0.1u"]
        lines += [f"cx{ref} {x} 0 {chip.figures.inner_nf:g}n"] if chip.figures.inner_nf else []
    return lines


def _pass_current(chip: Chip, kind: Regulator, t: str, low: str) -> str:
    ref, o = chip.part.ref, chip.pins["OUT"]
    limit = kind.limit_a * chip.draw.within(20.0, ref, "limit")
    told = f"{limit:.6g}*0.5*(1+tanh(0.5*(v({t},{o})/0.002-2.94)))"
    if kind.fold < 1.0:
        share = f"tanh(1.5*(v({o},{low})+sqrt(v({o},{low})^2+0.01))/{kind.volts:.6g})"
        told += f"*({kind.fold:.6g}+{1 - kind.fold:.6g}*{share})"
    if kind.enable_v:
        enable = kind.enable_v * chip.draw.within(15.0, ref, "enable level")
        told += f"*0.5*(1+tanh((v({chip.pins['EN']},{low})-{enable:.6g})/0.03))"
    return told


def _ground_current(chip: Chip, kind: Regulator, needed_v: float, through: str, across: str) -> str:
    told = f"{kind.quiescent_a * chip.draw.within(30.0, chip.part.ref, 'own'):.6g}"
    if kind.starved_a:
        told = f"({told}+{kind.starved_a:.6g}*0.5*(1+tanh(({needed_v + 0.1:.6g}-{across})/0.15)))"
    told += "*" + _awake(f"({across}-1.0)")
    return told + (f"+{kind.share:.6g}*{through}" if kind.share else "")


def _bipolar(chip: Chip) -> list[str]:
    ref, kind = chip.part.ref, chip.figures.bipolars[chip.part.value]
    gain = chip.draw.between(*kind.gain, ref)
    leak = f" ise={kind.leak_a:.6g} ne=1.6" if kind.leak_a else ""
    return [
        f"q{ref} {' '.join(chip.nodes('C', 'B', 'E'))} m{ref}",
        f".model m{ref} {chip.part.kind}(is={kind.saturation_a} bf={gain:.6g} br={kind.reverse_gain:g} "
        f"vaf={kind.early_v:.6g} rb={kind.base_ohm:g} rc={kind.collector_ohm:.6g} re={kind.emitter_ohm:g} "
        f"ikf={kind.knee_a:.6g}{leak})",
    ]


def _field(chip: Chip) -> list[str]:
    ref, kind, channel = chip.part.ref, chip.figures.fields[chip.part.value], chip.part.kind
    g, d, s = chip.nodes("G", "D", "S")
    threshold = chip.draw.between(*kind.threshold_v, ref) * (1 if channel == "nmos" else -1)
    anode, cathode = (s, d) if channel == "nmos" else (d, s)
    return [
        f"m{ref} {d} {g} {s} {s} mm{ref} w=10u l=10u",
        f".model mm{ref} {channel}(level=1 vto={threshold:.6g} kp={kind.factor:.6g} lambda=0.01 "
        f"rd={kind.drain_ohm:g} is=1e-30)",
        f"dbody_{ref} {anode} {cathode} mb{ref}",
        kind.body.model(f"mb{ref}"),
    ]


def _clamp(text: str) -> str:
    """Return a current that holds an integrator: nothing below zero volt, 10 mS above; ideal diodes get stuck here."""
    return f"(5e-3*(({text})+sqrt(({text})^2+1e-6)))"


def _opamp(chip: Chip) -> list[str]:
    """An integrator between two clamps, an output of 80 ohm limited to 25 mA, protection diodes."""
    ref, kind = chip.part.ref, chip.figures.amplifiers[chip.part.value]
    o, minus, plus, low, high = chip.nodes("OUT", "IN-", "IN+", "V-", "V+")
    x, top, bottom = (f"{ref.lower()}_{name}" for name in ("x", "top", "bot"))
    offset = kind.offset_v * chip.draw.between(-0.7, 0.7, ref)
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
        _AMPLIFIER_ESD.model(f"mesd{ref}"),
    ]
    for n, pin in enumerate((o, minus, plus)):
        lines += [f"desda{n}{ref} {pin} {high} mesd{ref}", f"desdb{n}{ref} {low} {pin} mesd{ref}"]
    return [*lines, f"desdc{ref} {low} {high} mesd{ref}"]


def _comparator(chip: Chip) -> list[str]:
    """An open collector that sinks while IN- is above IN+; slowed by some microseconds; protection diodes."""
    ref, kind, draw = chip.part.ref, chip.figures.comparators[chip.part.value], chip.draw
    o, minus, plus, low, high = chip.nodes("OUT", "IN-", "IN+", "V-", "V+")
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
        _AMPLIFIER_ESD.model(f"mesd{ref}"),
        f"desdc{ref} {low} {high} mesd{ref}",
    ]
    for n, pin in enumerate((o, minus, plus)):
        lines.append(f"desdb{n}{ref} {low} {pin} mesd{ref}")
        if kind.clamped and pin != o:
            lines.append(f"desda{n}{ref} {pin} {high} mesd{ref}")
    return lines


def _opto(chip: Chip) -> list[str]:
    """An infrared diode and a sink whose ratio falls at small currents; `value` is an aged one."""
    ref, kind, draw = chip.part.ref, chip.figures.couplers[chip.part.value], chip.draw
    ratio = draw.spread(*kind.ratio, ref) * chip.factor()
    a, k, e, c = chip.nodes("A", "K", "E", "C")
    x = f"{ref.lower()}_x"
    light = f"(0.5*(i(vl{ref})+sqrt(i(vl{ref})^2+1e-12))-5e-7)"
    return [
        f"vl{ref} {a} {x} 0",
        f"dl{ref} {x} {k} ml{ref}",
        Junction(4e-13 * draw.spread(0.5, 2.0, ref, "diode"), 1.86, 2.5).model(f"ml{ref}"),
        f"bc{ref} {c} {e} i={ratio:.6g}*{light}*{light}/({light}+{kind.half_a:.6g})"
        f"*0.5*(1+tanh((v({c},{e})-0.09)/0.025))*tanh(v({c},{e})/0.01)",
        f"rdark{ref} {c} {e} 1e9",
    ]


def _dual(chip: Chip) -> list[str]:
    ref, (a, k, m) = chip.part.ref, chip.nodes("A", "K", "M")
    diode = chip.figures.duals[chip.part.value].spread(chip.draw.spread(*chip.figures.diode_spread, ref))
    return [f"da{ref} {a} {m} mdual{ref}", f"dk{ref} {m} {k} mdual{ref}", diode.model(f"mdual{ref}")]


def _load(chip: Chip) -> list[str]:
    """A controller: draws from about half its rail on, a little more with voltage; a protection diode; a leak."""
    ref, section, (amps, percent) = chip.part.ref, chip.section, chip.section.loads[chip.part.ref]
    rail = chip.part.roles["VDD"]
    usual = float(section.rails[rail].split()[0]) if rail in section.rails else 3.3
    amps *= chip.draw.between(1 - percent / 100, 1 + percent / 100, ref)
    amps *= chip.factor()
    p, n = chip.nodes("VDD", "GND")
    across = f"v({p},{n})"
    volts, share = chip.figures.load_edge
    starts = f"0.5*(1+tanh(({across}-{0.5 * usual:.6g})/{volts + share * usual:.6g}))"
    drawn = f"{across}/{usual:.6g}" if ref in section.resistive else f"(0.7+0.3*{across}/{usual:.6g})*{starts}"
    return [
        f"bl{ref} {p} {n} i={amps:.6g}*{drawn}",
        f"desd{ref} {n} {p} mesd{ref}",
        Junction(1e-13, 1.12, 1.5).model(f"mesd{ref}"),
        f"rleak{ref} {p} {n} {chip.draw.spread(2e4, 4e5, ref, 'leak'):.6g}",
    ]


def _shunt(chip: Chip) -> list[str]:
    ref, (k, r, a) = chip.part.ref, chip.nodes("K", "REF", "A")
    volts, across = 2.495 * chip.draw.within(1.0, ref), f"v({k},{a})"
    wanted, room = f"tanh(0.5*((v({r},{a})-{volts:.6g})/0.001-4.6))", f"tanh(({across}-1.85)/0.06)"
    return [
        f"bk{ref} {k} {a} i=0.1*0.5*(1+{wanted})*0.5*(1+{room})",
        f"bq{ref} {k} {a} i=0.3e-3*{_awake(f'({across}-1)')}",
        f"rref{ref} {r} {a} 1.2meg",
        f"dk{ref} {a} {k} mk{ref}",
        f"dr{ref} {r} {k} mk{ref}",
        Junction(3e-13, 1.1, 3.0).model(f"mk{ref}"),
    ]


MAKERS: dict[str, Callable[[Chip], list[str]]] = {
    "fixed": _regulator,
    "enabled": _regulator,
    "adjustable": _regulator,
    "npn": _bipolar,
    "pnp": _bipolar,
    "nmos": _field,
    "pmos": _field,
    "opamp": _opamp,
    "comparator": _comparator,
    "opto": _opto,
    "dual": _dual,
    "load": _load,
    "shunt": _shunt,
}
"""The lines of a part by its kind."""
