"""Integrated circuits: their supply pins and what their signal pins may hold."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from reworkkit import tables
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.line_levels import REST, stated_levels, stated_rules
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import is_low_name, is_supply_name, numbers, plain, port_names
from reworkkit.compute.circuit.wiring import EXTERNAL, MOST_SERIES_OHM, Wiring, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_INPUTS = frozenset(
    [
        "IN",
        "IN+",
        "IN-",
        "+IN",
        "-IN",
        "INP",
        "INN",
        "DI",
        "DIN",
        "ADC",
        "AIN",
        "SDI",
        "MOSI",
        "TXD",
        "CLK",
        "CK",
        "NC",
        "N.C.",
        "N/C",
    ]
)
"""Pin names that a sheet calls inputs, or that lead nowhere: they hold nothing."""
_SET_BY_PROGRAM = re.compile(
    r"MCP4[7-9]\d\d|DAC\d|AD5[36]\d\d|AD566|LTC26\d\d|TL[CV]56\d\d|MAX5[3-8]\d\d|GP8\d\d\d|PCF8591"
)
"""Converters to a voltage that a program sets: their outputs are where they were read."""
ALIVE_V = 1.5
"""Supply from which a chip is taken to drive the pins whose levels are stated."""


def chip(wiring: Wiring, part: Part) -> list[Element]:
    """Return supply pins and signal pins of an integrated circuit, told apart by their names and nets.

    Supplies are the pins named so, those on a rail or on a net that a link or bead joins to one, and those with a
    stated load of this part. One without a ground pin stands between its highest and its lowest rail.
    """
    nets = wiring.nets_of(part.ref)
    named = {wiring.node(pin) for pin in wiring.pins(part.ref) if pin.net and is_supply_name(pin.name)}
    low = {wiring.node(pin) for pin in wiring.pins(part.ref) if pin.net and is_low_name(pin.name)}
    fed = [net for net in nets if net in named or wiring.is_rail(net) or _fed(wiring, part, net)]
    supplies = sorted((net for net in fed if net != wiring.ground), key=lambda net: level(wiring, net))
    below = [net for net in supplies if level(wiring, net) < 0]
    supplies = [net for net in supplies if net not in below]
    lowest = next(iter([*below, *([wiring.ground] if wiring.ground in nets else []), *low, *supplies]), None)
    if below and not supplies and wiring.ground in nets:
        supplies = [wiring.ground]
    if not supplies or lowest is None or lowest == supplies[-1]:
        return unmodelled(wiring, part)
    if is_blank(wiring, part):
        told = message("circuit-blank", ref=part.ref)
        return [replace(e, assumed=(told,)) for e in between(wiring, part.ref, supplies, lowest)]
    inputs = {wiring.node(pin) for pin in wiring.pins(part.ref) if plain(pin.name) in _INPUTS}
    taken = {*supplies, *below, wiring.ground, *low, *inputs}
    signals = [net for net in nets if net not in taken and "." not in net]
    if any(_SET_BY_PROGRAM.match(number) for number in numbers(part)):
        return [*between(wiring, part.ref, supplies, lowest), Element("unmodelled", part.ref, tuple(signals), {})]
    top, made = _port_supply(wiring, part, supplies, lowest)
    ohms = "line_driver" if _LINE_DRIVER.search(words_of(part)) else "driver_resistance"
    drivers = [driver(wiring, part.ref, net, top, lowest, ohms) for net in signals]
    levels, rules = held_at(wiring, part), _rules(wiring, part)
    return [
        *between(wiring, part.ref, supplies, lowest),
        *made,
        *(e for one in drivers for e in _signal(part.ref, one, levels, rules)),
    ]


def _port_supply(wiring: Wiring, part: Part, supplies: list[str], lowest: str) -> tuple[str, list[Element]]:
    """Return the node that a chip's outputs reach up to: its highest supply, or what a board makes of that by itself.

    Boards of small controllers are fed with 5 V and work at 3.3 V: by their type, or by what `role` says of a level.
    """
    volts, highest = _port_volts(wiring, part), supplies[-1]
    if volts is None or level(wiring, highest) <= _NEAR * volts:
        return highest, []
    if own := [net for net in supplies if volts / _NEAR <= level(wiring, net) <= _NEAR * volts]:
        return own[-1], []
    inside = f"{part.ref}.ports{INNER}"
    figures = {
        "volts": around(volts, _PORT_PERCENT, "V", BandBasis.TABLE),
        "dropout": Band(0.0, 0.2, 0.5, "V", BandBasis.TABLE),
        "limit": exact(0.3, "A"),
        "quiescent": exact(0.0, "A"),
    }
    told = (message("circuit-port-level", ref=part.ref, volts=figures["volts"]),)
    return inside, [Element("regulator", part.ref, (highest, inside, lowest, inside), figures, told)]


def _port_volts(wiring: Wiring, part: Part) -> float | None:
    """Return the volts that `role` says of a high pin, else those of a controller's board; None for other parts."""
    said = _STATED_LEVEL.search(wiring.facts(part.ref).role or "")
    if said:
        return float((said[1] or said[2]).replace(",", "."))
    if part.identity.kind not in ("microcontroller", "module"):
        return None
    words = " ".join((*part.identity.type_numbers, words_of(part)))
    row = next((row for row in tables.rows("port_levels") if re.search(row["pattern"], words, re.IGNORECASE)), None)
    return float(row["volts"]) if row else None


_NEAR, _PORT_PERCENT = 1.15, 3.0
_LINE_DRIVER = re.compile(r"rs-?422|line driver|leitungstreiber|differential", re.IGNORECASE)
_STATED_LEVEL = re.compile(
    r"(?:high|hoch|haut|alto|hoog|wysoki)\w*,?\s*\(?(?:at |auf |à |a |bei )?(\d(?:[.,]\d+)?)\s?V(?![a-z])"
    r"|(\d[.,]\d+)\s?V\s(?:logic|levels?|I/?O|Pegel|Logik|logique|logica|lógica)",
    re.IGNORECASE,
)


def tells_levels(wiring: Wiring, part: Part) -> bool:
    """Return whether `role` says of two pins of a part how they stand: so it tells of an encoder at a plug."""
    return len(held_at(wiring, part)) > 1


def held_at(wiring: Wiring, part: Part) -> dict[str, bool | None]:
    """Return the nets that `role` says a part holds high or low, or only listens at (None).

    Lines of a plug are also called by their nets.
    """
    role, named = wiring.facts(part.ref).role or "", named_pins(wiring, part)
    levels = stated_levels(role, set(named))
    others = dict.fromkeys(named.values(), levels.pop(REST)) if REST in levels else {}
    return others | {named[name]: level for name, level in levels.items()}


def named_pins(wiring: Wiring, part: Part) -> dict[str, str]:
    """Return the nets of a part by the numbers, names and ports of its pins; those of a plug also by themselves."""
    pins, ports, plug = wiring.pins(part.ref), port_names(wiring, part), part.identity.kind in EXTERNAL
    called = ((pin, (pin.number, pin.name, ports.get(pin.number), pin.net if plug else None)) for pin in pins)
    return {name.upper(): wiring.node(pin) for pin, found in called for name in found if name}


def _rules(wiring: Wiring, part: Part) -> dict[str, tuple[str, bool]]:
    """Return net -> (net it follows, whether turned over) of what `role` says a program does with its pins."""
    named = named_pins(wiring, part)
    told = stated_rules(wiring.facts(part.ref).role or "", set(named))
    return {named[out]: (named[source], inverts) for out, (source, inverts) in told.items()}


def _signal(
    ref: str, driving: Element, levels: dict[str, bool | None], rules: dict[str, tuple[str, bool]]
) -> Iterator[Element]:
    """Yield what drives a signal pin's net: a level or rule that `role` states, nothing at an input, else who knows."""
    net, high, _ = driving.nodes
    if any(net == source for source, _ in rules.values()):
        return
    if net in levels and levels[net] is None:
        return
    yield driving
    if net in levels:
        told = (message("circuit-stated-level", ref=ref, net=net),)
        yield one_input_gate(ref, (net, high), told, ALIVE_V, inverts=not levels[net], pulls_up=True)
    elif net in rules:
        source, inverts = rules[net]
        told = (message("circuit-stated-rule", ref=ref, net=net, source=source),)
        yield one_input_gate(ref, (net, source), told, inverts=inverts, pulls_up=True)


def is_blank(wiring: Wiring, part: Part) -> bool:
    """Return whether a part gets its program only after the last hold point: until then its pins are inputs."""
    points = [point.name for point in wiring.board.facts.hold_points]
    return any(
        job.part == part.ref and points and job.after_hold_point == points[-1] for job in wiring.board.facts.program
    )


def between(wiring: Wiring, ref: str, supplies: Iterable[str], lowest: str) -> list[Element]:
    """Return what stands between each supply pin of a chip and its lowest one."""
    parameters = {"unpowered": wiring.default("ic_unpowered"), **wiring.drop("esd_diode")}
    return [Element("ic", ref, (net, lowest), parameters) for net in dict.fromkeys(supplies) if net != lowest]


def driver(wiring: Wiring, ref: str, net: str, high: str, low: str, ohms: str = "driver_resistance") -> Element:
    """Return a signal pin that may hold its net at a supply; that of a slow family is the stronger the more it has."""
    band = wiring.default(ohms)
    if ohms == "driver_slow" and (volts := level(wiring, high) or _through_diode(wiring, high)) > SLOW_AT_V:
        share = max(SLOW_AT_V / volts, SLOW_LEAST)
        low_ohm, ohm, high_ohm = (share * (end or 0.0) for end in (band.low, band.nominal, band.high))
        band = Band(low_ohm, ohm, high_ohm, band.unit, band.basis)
    return Element("driver", ref, (net, high, low), {"resistance": band})


SLOW_AT_V, SLOW_LEAST = 5.0, 0.42
"""Supply that the table's ohms of the 4000 series are for, and the least share of them: sheets of the series tell 1 mA
at 0.4 V with 5 V, 2.6 mA at 0.5 V with 10 V (typical, from memory)."""


def _through_diode(wiring: Wiring, net: str) -> float:
    """Return the nominal voltage of the rail or supply that a diode feeds a net from [V], else 0."""
    diodes = [part for part in wiring.parts_on(net) if part.identity.kind in ("diode", "diode_schottky")]
    found = [level(wiring, far) for part in diodes for far in wiring.nets_of(part.ref) if wiring.is_positive_rail(far)]
    return max(found, default=0.0)


def one_input_gate(
    ref: str,
    nodes: tuple[str, str],
    told: tuple[Message, ...],
    threshold_v: float | None = None,
    *,
    inverts: bool = False,
    pulls_up: bool = False,
    outside: bool = False,
) -> Element:
    """Return what makes an output, the first node, follow the second: high above a threshold, or half the supply.

    Where something `outside` the board may turn it over, such as a magnet, it is said.
    """
    figures = {
        "invert": exact(float(inverts), "1"),
        "at_least": exact(0.0, "1"),
        "pulls_up": exact(float(pulls_up), "1"),
    }
    if threshold_v is not None:
        figures["threshold"] = exact(threshold_v, "V")
    if outside:
        figures["outside"] = exact(1.0, "1")
    return Element("gate", ref, nodes, figures, told)


def level(wiring: Wiring, net: str) -> float:
    """Return the nominal voltage of a net [V]: of its rail, else of one that a link joins it to, else 0."""
    if net in wiring.rails:
        return wiring.rails[net][0].nominal or 0.0
    return next((wiring.rails[rail][0].nominal or 0.0 for rail in _behind(wiring, net)), 0.0)


def _behind(wiring: Wiring, net: str) -> list[str]:
    """Return the rails that a part which passes direct current freely joins a net to."""
    far = {other for part in wiring.parts_on(net) if _passes(part) for other in wiring.nets_of(part.ref)}
    return sorted(rail for rail in far if wiring.is_rail(rail) and rail != net)


def _passes(part: Part) -> bool:
    if part.identity.kind == "resistor":
        main = part.identity.value.main
        return main is not None and main.unit == "ohm" and main.value <= MOST_SERIES_OHM
    return part.identity.kind in ("inductor", "ferrite_bead", "jumper", "net_tie", "fuse", "resettable_fuse", "switch")


def _fed(wiring: Wiring, part: Part, net: str) -> bool:
    """Return whether a net feeds a chip although it is no rail: a stated load of this part, or a link to a rail."""
    facts = wiring.board.facts.loads.get(net)
    if facts and (facts.part == part.ref or facts.part is None):
        return True
    return bool(_behind(wiring, net)) and net != wiring.ground
