"""Circuits for tests: small ones by hand, random rail trees, and wild ones with parts between any nodes."""

import random

from reworkkit.compute.circuit.figures import drop, exact
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band

UNITS = {"resistance": "ohm", "volts": "V", "limit": "A", "current": "A"}


def element(kind: str, ref: str, nodes: str, **figures: float | Band) -> Element:
    parameters = {
        name: value if isinstance(value, Band) else exact(value, UNITS.get(name, "1"))
        for name, value in figures.items()
    }
    return Element(kind, ref, tuple(nodes.split()), parameters)


def junction(kind: str, ref: str, nodes: str, row: str = "silicon_small", **figures: float) -> Element:
    return element(kind, ref, nodes, **drop(row), **figures)


def circuit(*elements: Element) -> Circuit:
    nodes = {node for one in elements for node in one.nodes} | {"GND"}
    return Circuit(tuple(sorted(nodes)), tuple(elements), "GND")


def supply(net: str, volts: float, limit: float) -> Element:
    return element("supply", net, f"{net} GND", volts=volts, limit=limit, resistance=0.05)


def regulator(ref: str, nodes: str, volts: float, limit: float = 1.0, dropout: float = 1.5) -> Element:
    return element("regulator", ref, nodes, volts=volts, dropout=dropout, limit=limit, quiescent=0.004)


def converter(ref: str, nodes: str, volts: float, limit: float = 2.0, start: float = 4.5) -> Element:
    return element(
        "converter", ref, nodes, volts=volts, dropout=0.5, limit=limit, quiescent=0.005, start=start, efficiency=0.8
    )


def load(net: str, current: float, from_volts: float = 1.0) -> Element:
    return element("load", "", f"{net} GND", current=current, from_volts=from_volts)


def rail_tree(seed: int) -> Circuit:
    """A supply, then regulators, converters, series diodes and resistors down the tree; faults included."""
    dice = random.Random(seed)
    elements = [supply("N0", dice.choice([5.0, 9.0, 12.0, 24.0]), dice.choice([0.003, 0.02, 0.1, 0.5, 2.0]))]
    volts = {"N0": float(elements[0].parameters["volts"].nominal or 0)}
    for n in range(1, dice.randint(4, 12)):
        above, here = dice.choice(sorted(volts)), f"N{n}"
        kind = dice.random()
        out = dice.choice([1.8, 2.5, 3.3, 5.0, 9.0])
        if kind < 0.35:
            elements.append(regulator(f"U{n}", f"{above} {here} GND {here}", out, dice.choice([0.05, 0.3, 1.0])))
        elif kind < 0.6:
            elements.append(converter(f"U{n}", f"{above} S{n} GND {here}", out, 1.5, dice.choice([2.5, 4.5, 7.0])))
            elements.append(element("inductor", f"L{n}", f"S{n} {here}", resistance=0.1))
        elif kind < 0.8:
            ends = f"{above} {here}" if dice.random() < 0.8 else f"{here} {above}"
            elements.append(junction("diode", f"D{n}", ends, "silicon_rectifier"))
            out = volts[above]
        else:
            elements.append(
                element("resistor", f"R{n}", f"{above} {here}", resistance=dice.choice([1.0, 47.0, 2200.0]))
            )
            out = volts[above]
        volts[here] = out
        if dice.random() < 0.7:
            elements.append(load(here, dice.choice([0.001, 0.01, 0.05, 0.3])))
        if dice.random() < 0.3:
            elements.append(element("resistor", f"RX{n}", f"{here} LED{n}", resistance=1000.0))
            elements.append(junction("led", f"LD{n}", f"LED{n} GND", "led_red"))
        if dice.random() < 0.2:
            elements.append(
                junction("zener", f"Z{n}", f"GND {here}", "zener_forward", breakdown=5.6, breakdown_at=0.005, slope=5.0)
            )
    if dice.random() < 0.4:
        one, other = dice.sample([*sorted(volts), "GND"], 2)
        elements.append(element("link", "BRIDGE", f"{one} {other}", resistance=dice.choice([0.01, 5.0, 100.0])))
    return circuit(*elements)


def wild(seed: int) -> Circuit:
    """Parts between random nodes, regulators upside down."""
    dice = random.Random(seed)
    names = [f"N{n}" for n in range(dice.randint(3, 8))]
    elements = [supply("N0", dice.choice([3.3, 12.0, 30.0]), dice.choice([0.01, 0.2, 1.0]))]

    def some(count: int) -> str:
        return " ".join(dice.sample([*names, "GND"], count))

    for n in range(dice.randint(4, 14)):
        kind = dice.random()
        if kind < 0.35:
            elements.append(element("resistor", f"R{n}", some(2), resistance=10 ** dice.uniform(0, 6)))
        elif kind < 0.65:
            row = dice.choice(["silicon_small", "schottky_power", "led_red"])
            elements.append(junction("diode", f"D{n}", some(2), row))
        elif kind < 0.75:
            elements.append(
                junction("zener", f"Z{n}", some(2), "zener_forward", breakdown=5.1, breakdown_at=0.005, slope=5)
            )
        elif kind < 0.9:
            pins = some(3).split()
            elements.append(regulator(f"U{n}", f"{pins[0]} {pins[1]} {pins[2]} {pins[1]}", dice.choice([3.3, 5.0])))
        else:
            pins = some(2).split()
            elements.append(element("load", f"X{n}", " ".join(pins), current=0.02, from_volts=1.0))
    return circuit(*elements)


def section(**changes: tuple[str, float]) -> Circuit:
    """A supply section of about twenty parts: 12 V in, fuse, series diode, suppressor, 5 V and 3.3 V, divider, LEDs.

    A change names a part and gives it (parameter, value): how a faulty one differs.
    """
    elements = [
        supply("IN", 12.0, 0.5),
        element("fuse", "F1", "IN FU", resistance=0.15),
        junction("schottky", "D1", "FU V12", "schottky_power"),
        junction("tvs", "D2", "GND V12", "tvs_forward", breakdown=16.7, breakdown_at=0.001, slope=0.5),
        regulator("U1", "V12 V5 U1GND V5", 5.0),
        element("link", "U1G", "U1GND GND", resistance=0.01),
        regulator("U2", "V5 V33 U2GND V33", 3.3, limit=0.8, dropout=1.1),
        element("link", "U2G", "U2GND GND", resistance=0.01),
        element("resistor", "R1", "V5 LA", resistance=1000.0),
        junction("led", "LED1", "LA GND", "led_red"),
        element("resistor", "R2", "V12 LB", resistance=4700.0),
        junction("led", "LED2", "LB GND", "led_blue"),
        element("resistor", "R3", "V12 SENSE", resistance=100e3),
        element("resistor", "R4", "SENSE GND", resistance=22e3),
        element("resistor", "R5", "V5 VREF", resistance=10e3),
        element("resistor", "R6", "VREF GND", resistance=10e3),
        element("resistor", "R7", "V5 ZIN", resistance=220.0),
        junction("zener", "Z1", "GND ZIN", "zener_forward", breakdown=3.9, breakdown_at=0.005, slope=5.0),
        element("resistor", "R8", "V33 RST", resistance=10e3),
        load("V33", 0.025),
        load("V5", 0.010),
    ]
    changed = []
    for one in elements:
        parameters = dict(one.parameters)
        if one.ref in changes:
            name, value = changes[one.ref]
            parameters[name] = exact(value, UNITS.get(name, "1"))
        changed.append(Element(one.kind, one.ref, one.nodes, parameters))
    return circuit(*changed)


def _with(*extra: Element) -> Circuit:
    return circuit(*section().elements, *extra)


def section_faults() -> dict[str, Circuit]:
    """The section healthy and with one fault each: open, shorted, wrong value, bridged, a weak supply."""
    opened = {
        f"{ref} open": section(**{ref: ("resistance", 1e9)}) for ref in ("F1", "R1", "R3", "R4", "R6", "U1G", "U2G")
    }
    shorted = {f"{ref} shorted": section(**{ref: ("resistance", 0.01)}) for ref in ("R1", "R4", "R7", "R8")}
    bridges = {
        f"{one} to {other}": _with(element("link", "B", f"{one} {other}", resistance=0.05))
        for one, other in (("V5", "V33"), ("V12", "V5"), ("V33", "GND"), ("V5", "GND"), ("SENSE", "V5"), ("LA", "GND"))
    }
    other = {
        "healthy": section(),
        "weak supply": section(IN=("limit", 0.02)),
        "low supply": section(IN=("volts", 5.5)),
        "U1 makes 12 V": section(U1=("volts", 12.0)),
        "U2 makes 5 V": section(U2=("volts", 5.0)),
    }
    return opened | shorted | bridges | other


def without_converters(seed: int) -> Circuit:
    """A random rail tree of linear parts only."""
    dice = random.Random(1000 + seed)
    elements = [supply("N0", dice.choice([9.0, 12.0, 24.0]), dice.choice([0.05, 0.5, 2.0]))]
    nets = ["N0"]
    for n in range(1, dice.randint(4, 10)):
        above, here = dice.choice(nets), f"N{n}"
        kind = dice.random()
        if kind < 0.45:
            elements.append(regulator(f"U{n}", f"{above} {here} GND {here}", dice.choice([1.8, 3.3, 5.0]), 0.3))
        elif kind < 0.7:
            elements.append(junction("diode", f"D{n}", f"{above} {here}", "silicon_rectifier"))
        else:
            elements.append(
                element("resistor", f"R{n}", f"{above} {here}", resistance=dice.choice([10.0, 470.0, 2200.0]))
            )
        nets.append(here)
        elements.append(element("resistor", f"RG{n}", f"{here} GND", resistance=dice.choice([470.0, 10e3])))
        if dice.random() < 0.4:
            elements.append(load(here, dice.choice([0.002, 0.02])))
    return circuit(*elements)
