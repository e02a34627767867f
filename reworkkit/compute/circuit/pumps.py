"""Charge pumps that turn their input over: the output is the input below ground, less what its resistance drops."""

from reworkkit import tables
from reworkkit.compute.circuit.clamps import SUBSTRATE
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.parts import pins_only, unmodelled
from reworkkit.compute.circuit.regulator_pins import by_order, order_of, usual_order
from reworkkit.compute.circuit.regulator_types import figure
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis


def pump(wiring: Wiring, part: Part, row: tables.Row) -> list[Element]:
    """Return a pump as a step-up converter with an output below ground, or the question which pin is which.

    `mirror` is the share of the input that it gives at no load, `inner` the resistance of its output. A diode inside
    stands between output and ground: the output is the most negative node of the chip.
    """
    nodes = _nodes(wiring, part, row)
    if not {"IN", "OUT", "GND"} <= set(nodes):
        wiring.ask(
            (part.ref,),
            message("circuit-regulator-pins"),
            f'[parts] {part.ref} = {{ pins = {{ IN = "2", OUT = "1", GND = "4" }} }}',
        )
        return pins_only(wiring, part)
    if nodes["GND"] != wiring.ground or nodes["OUT"] == wiring.ground:
        return unmodelled(wiring, part)
    ohm, most = figure(row, "dropout_v") or 50.0, figure(row, "dropout_high_v")
    draw, draw_most = figure(row, "quiescent_a") or 1e-3, figure(row, "quiescent_high_a")
    parameters = {
        "volts": around(-(figure(row, "most_in_v") or 10.0), 0, "V", BandBasis.TABLE),
        "limit": around(figure(row, "limit_a") or 0.1, 40, "A", BandBasis.TABLE),
        "quiescent": Band(draw / 4, draw, draw_most or 4 * draw, "A", BandBasis.TABLE),
        "start": around(figure(row, "start_v") or 1.5, 20, "V", BandBasis.TABLE),
        "efficiency": Band(0.9, 0.97, 1.0, "1", BandBasis.TABLE),
        "mirror": exact(1.0, "1"),
        "inner": Band(ohm / 2, ohm, most or 2 * ohm, "ohm", BandBasis.TABLE),
    }
    told = (message("circuit-pump", ref=part.ref, out=nodes["OUT"], inside=nodes["IN"]),)
    return [
        Element("boost", part.ref, (nodes["IN"], nodes["OUT"], nodes["GND"], nodes["OUT"]), parameters, told),
        Element("inner_diode", part.ref, (nodes["OUT"], nodes["GND"]), SUBSTRATE),
        *_swinging(wiring, part, nodes),
    ]


def _swinging(wiring: Wiring, part: Part, nodes: dict[str, str]) -> list[Element]:
    """Return the pins of the capacitor that the pump throws to and fro: no steady voltage is there."""
    steady = {nodes[role] for role in ("IN", "OUT", "GND")}
    others = [net for net in wiring.nets_of(part.ref) if net not in steady and is_used(wiring, net)]
    swinging = tuple(net for net in others if not wiring.is_rail(net))
    return [Element("unmodelled", part.ref, swinging, {})] if swinging else []


def _nodes(wiring: Wiring, part: Part, row: tables.Row) -> dict[str, str]:
    named = {role: node for role in ("IN", "OUT", "GND") if (node := wiring.by_role(part, role))}
    supply = wiring.by_role(part, "V+") or wiring.by_role(part, "VCC")
    if supply:
        named.setdefault("IN", supply)
    if len(named) == len(("IN", "OUT", "GND")):
        return named
    order = order_of(wiring, part, row["pins"]) or usual_order(wiring, part, row["pins"])
    return by_order(wiring, part, order) | named if order else named
