"""Controllers of switched supplies: their own draw and the reference they make; their pulses are not in it."""

from collections.abc import Iterator
from dataclasses import replace

from reworkkit.compute.circuit.chips import chip
from reworkkit.compute.circuit.figures import around, exact, of_cell
from reworkkit.compute.circuit.pin_roles import by_names, by_type, known_pins, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NAMES = {
    "V+": frozenset(["VCC", "VDD", "VIN", "VI"]),
    "REF": frozenset(["VREF", "REF", "5VREF"]),
    "GND": frozenset(["GND", "VSS"]),
    "SD": frozenset(["SD", "SHDN", "SHUTDOWN"]),
    "VC": frozenset(["VC"]),
}
_INPUTS = {
    "INV": frozenset(["INV", "INVIN", "IN-", "INVERTINGINPUT"]),
    "NI": frozenset(["NI", "NINV", "NONINV", "IN+", "NONINVERTINGINPUT"]),
    "FB": frozenset(["FB", "VFB"]),
    "CS": frozenset(["CS", "ISENSE", "ISEN", "CURRENTSENSE"]),
    **{name: frozenset([name[2:] + name[:2], name[0] + name[2:]]) for name in ("IN1+", "IN1-", "IN2+", "IN2-")},
    **{name: frozenset([name, "SENSE" + name[-1]]) for name in ("CL+", "CL-")},
}
"""Pins that only listen: no more than some microampere."""
_PUSHING = {
    "OUTA": frozenset(["OUTA", "OUTPUTA", "OUTPUT1"]),
    "OUTB": frozenset(["OUTB", "OUTPUTB", "OUTPUT2"]),
}
"""Outputs that pull low while the controller is shut down."""
SHUT_V, PUSHING_OHM = 0.9, Band(2.0, 6.0, 20.0, "ohm", BandBasis.TABLE)
"""What is high at a shutdown pin, and what an output has then; from memory."""
_PERCENT, _DROPOUT, _LIMIT = 2.0, Band(1.5, 2.0, 3.0, "V", BandBasis.TABLE), Band(0.02, 0.05, 0.1, "A", BandBasis.TABLE)
"""Spread of the reference, what the supply needs above it, and what it gives at most; from memory."""


def pwm_controller(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a controller as its reference and what it draws; None for other parts.

    Its outputs and all that sets its pulses may stand anywhere. That some start from 8 or 16 V on only is not in it.
    """
    row = row_of("pwm_controllers", part)
    if row is None or known_pins(part, wiring) > int(row["count"]):
        return None
    numbered = {role: wiring.number(part, str(n)) for n, role in enumerate(row["pins"].split(), 1) if role != "-"}
    at = {role: node for role, node in numbered.items() if node} | by_names(wiring, part, _NAMES | _INPUTS | _PUSHING)
    if not {"V+", "REF", "GND"} <= set(at) or len({at["V+"], at["REF"], at["GND"]}) < len(("V+", "REF", "GND")):
        return None
    figures = {
        "volts": around(float(row["reference_v"]), _PERCENT, "V", BandBasis.TABLE),
        "dropout": _DROPOUT,
        "limit": _LIMIT,
        "quiescent": of_cell(row["draw_ma"], "A", 1e-3),
    }
    wiring.drawing.add(part.ref)
    reference = Element("regulator", part.ref, (at["V+"], at["REF"], at["GND"], at["REF"]), figures, by_type(part))
    told = (*_NAMES, *_PUSHING, *(_OUTPUTS if _is_off(wiring, at) else ()))
    known = {at[role] for role in told if role in at} | _heard(wiring, part, at)
    return [reference, *_shutdown(wiring, part, at), *_pushing(part, at), *_rest(chip(wiring, part), known)]


def _heard(wiring: Wiring, part: Part, at: dict[str, str]) -> set[str]:
    """Return the nets that the controller only listens to: no further pin of it is there, such as its amplifier's."""
    nets = [wiring.node(pin) for pin in wiring.pins(part.ref)]
    heard = [at[role] for role in _INPUTS if role in at]
    return {net for net in heard if nets.count(net) == heard.count(net)}


def _pushing(part: Part, at: dict[str, str]) -> Iterator[Element]:
    """Yield the outputs that are low while the shutdown pin is high; at other times nothing is told of them."""
    high, low, shut = at.get("VC") or at["V+"], at["GND"], at.get("SD")
    for out in (at[role] for role in _PUSHING if role in at and shut not in (None, low)):
        yield Element("driver", part.ref, (out, high, low), {"resistance": PUSHING_OHM})
        figures = {"drives": exact(0.0, "1"), "pulls_up": exact(1.0, "1"), "threshold": exact(SHUT_V, "V")}
        yield Element("rule", part.ref, (out, str(shut)), figures, by_type(part))


_SHUTDOWN_OHM = 5e3
"""What leads from the shutdown pin to the base of a transistor: 0.4 mA at 2.5 V, as the sheets have it (memory)."""


def _shutdown(wiring: Wiring, part: Part, at: dict[str, str]) -> list[Element]:
    """Return what a shutdown pin takes: a resistor to a base."""
    if at.get("SD") in (None, at["GND"]):
        return []
    base = f"{part.ref}.shutdown{INNER}"
    return [
        inner(part.ref, at["SD"], base, _SHUTDOWN_OHM, 30.0),
        Element("inner_diode", part.ref, (base, at["GND"]), wiring.drop("esd_diode")),
    ]


_OUTPUTS = ("C1", "E1", "C2", "E2")


def _is_off(wiring: Wiring, at: dict[str, str]) -> bool:
    """Return whether a dead-time pin is at the reference, or a resistor alone leads from it there: no pulses then."""
    dead = at.get("DTC")
    if dead is None or dead == at["REF"]:
        return dead is not None
    return wiring.lone_resistor(dead, at["REF"]) is not None and wiring.lone_resistor(dead, wiring.ground) is None


def _rest(elements: list[Element], known: set[str]) -> Iterator[Element]:
    """Yield what stands at the pins that the reference does not tell of."""
    for e in elements:
        if e.kind == "unmodelled":
            if strange := tuple(node for node in e.nodes if node not in known):
                yield replace(e, nodes=strange)
        elif e.kind == "ic" or e.nodes[0] not in known:
            yield e
