"""The lines of an ngspice deck for parts with two leads."""

import math

from tests.fault_bench.draw import Draw
from tests.fault_bench.faults import Fault
from tests.fault_bench.figures import Figures, Junction
from tests.fault_bench.parts import Part

_MULTIPLIERS = {"R": 1.0, "k": 1e3, "M": 1e6}


def ohms_of(text: str) -> float:
    """Return the resistance of `4k7`, `330R`, `100k`.

    >>> ohms_of("4k7"), ohms_of("330R"), ohms_of("1k")
    (4700.0, 330.0, 1000.0)
    """
    letter = next(char for char in text if char in _MULTIPLIERS)
    whole, _, part = text.partition(letter)
    return float(f"{whole}.{part or 0}") * _MULTIPLIERS[letter]


def two_leads(figures: Figures, part: Part, a: str, b: str, own: list[Fault], draw: Draw) -> list[str]:
    """Return the lines of a part between two nodes with its own faults."""
    ref, lines = part.ref, []
    for fault in own:
        if fault.kind == "poor_joint":
            lines.append(f"rpoor_{ref} {a} {ref.lower()}_x {fault.ohms}")
            a = f"{ref.lower()}_x"
    ohms = _ohms(part, own, draw)
    if ohms is not None:
        return [*lines, f"r{ref} {a} {b} {ohms:.6g}"]
    if part.kind in ("ceramic", "elko"):
        return lines + _capacitor(part, a, b, draw)
    if part.kind == "two_way":
        return lines + _two_way(figures, part, a, b, draw)
    if part.kind == "zener":
        return lines + _zener(figures, part, a, b, own, draw)
    return [*lines, f"d{ref} {a} {b} m{ref}", _junction(figures, part, own, draw).model(f"m{ref}")]


def _ohms(part: Part, own: list[Fault], draw: Draw) -> float | None:
    """Return the resistance of a part that is nothing else; None for others."""
    ref = part.ref
    if part.kind == "resistor":
        factor = math.prod({"times_10": 10.0, "tenth": 0.1}.get(fault.kind, fault.factor) for fault in own)
        return ohms_of(part.value) * factor * draw.within(1.0 if "1 %" in part.description else 5.0, ref)
    if part.kind == "coil":
        return ohms_of(part.value.split()[-1]) * draw.within(10.0, ref)
    if part.kind == "fuse":
        return draw.spread(0.5, 2.2, ref) if "polyfuse" in part.value else draw.spread(0.05, 0.35, ref)
    return draw.spread(0.1, 0.4, ref) if part.kind == "bead" else None


def _capacitor(part: Part, a: str, b: str, draw: Draw) -> list[str]:
    """Leak; a few nanofarad stand for the whole of it; an electrolytic conducts when the other way round."""
    ref = part.ref
    lines = [f"c{ref} {a} {b} 20n", f"rleak_{ref} {a} {b} {draw.spread(3e6, 1e8, ref):.6g}"]
    if part.kind == "elko":
        series = draw.spread(40.0, 1500.0, ref, "reverse")
        lines += [f"drev_{ref} {b} {a} mrev_{ref}", Junction(2e-10, 3.0, series).model(f"mrev_{ref}")]
    return lines


def _two_way(figures: Figures, part: Part, a: str, b: str, draw: Draw) -> list[str]:
    """Two breakdown branches, one for each direction; a leak of some megohm."""
    ref, kind = part.ref, figures.two_way[part.value]
    lines = [f"rleak_{ref} {a} {b} {draw.spread(5e6, 2e8, ref, 'leak'):.6g}"]
    for side, (top, bottom) in enumerate(((a, b), (b, a))):
        source = kind.source_v(draw.within(kind.tolerance_percent, ref, side))
        x = f"{ref.lower()}_z{side}"
        lines += [f"dz{side}{ref} {top} {x} mz{ref}", f"vz{side}{ref} {x} {bottom} {source:.6g}"]
    return [*lines, kind.junction.model(f"mz{ref}")]


def _junction(figures: Figures, part: Part, own: list[Fault], draw: Draw) -> Junction:
    if part.kind == "led":
        return figures.leds[part.value].junction(draw.between(-0.06, 0.06, part.ref))
    kind = next((str(fault.to) for fault in own if fault.kind == "wrong_type"), part.value)
    return figures.diodes[kind].spread(draw.spread(*figures.diode_spread, part.ref))


def _zener(figures: Figures, part: Part, anode: str, cathode: str, own: list[Fault], draw: Draw) -> list[str]:
    ref, zener = part.ref, figures.zeners[part.value]
    for fault in own:
        if fault.kind == "wrong_variant":
            zener = figures.zeners[str(fault.to)]
        if fault.kind == "odd_output":
            zener = zener._replace(volts=float(fault.to))
    x = f"{ref.lower()}_z"
    lines = [
        f"df{ref} {anode} {cathode} mf{ref}",
        Junction(2e-13 * draw.spread(0.6, 1.7, ref, "forward"), 1.12, 0.8).model(f"mf{ref}"),
        f"dz{ref} {cathode} {x} mz{ref}",
        zener.junction.model(f"mz{ref}"),
        f"vz{ref} {x} {anode} {zener.source_v(draw.within(zener.tolerance_percent, ref)):.6g}",
    ]
    return lines + ([f"iz{ref} {cathode} {anode} {figures.zener_back_a:g}"] if figures.zener_back_a else [])
