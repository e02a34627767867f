"""Power-good pins: open while their regulator holds its output, low while it does not."""

from reworkkit import tables
from reworkkit.compute.circuit.chips import driver, one_input_gate
from reworkkit.compute.circuit.pin_roles import by_names
from reworkkit.compute.circuit.regulator_pins import by_order, order_of, usual_order
from reworkkit.compute.circuit.wiring import EXTERNAL, Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element

_WORDS = "PG PGOOD POK PWRGD PWRGOOD POWERGOOD PGD PWROK ERR ERROR /ERR /ERROR"
_NAMES = {"PG": frozenset(_WORDS.split())}
GOOD_SHARE = 0.9
"""Share of its output below which a regulator pulls its power-good pin low; 0.85 to 0.95, from memory."""


def power_good(wiring: Wiring, part: Part, row: tables.Row | None, element: Element) -> list[Element]:
    """Return the power-good pin of a regulator as an open output that is low while its sense net is; else nothing.

    A pin that stands alone, or whose regulator holds nothing above ground, is left out: nothing shows there.
    """
    net = by_names(wiring, part, _NAMES).get("PG") or _by_table(wiring, part, row)
    held = element.parameters["volts"].nominal if "volts" in element.parameters else None
    if net is None or not held or held <= 0 or element.nodes[2] != wiring.ground or not _is_used(wiring, part, net):
        return []
    if net == wiring.ground or net in element.nodes or wiring.is_rail(net):
        return []
    told = (message("circuit-power-good", ref=part.ref, net=net),)
    return [
        driver(wiring, part.ref, net, element.nodes[0], wiring.ground),
        one_input_gate(part.ref, (net, element.nodes[3]), told, GOOD_SHARE * held),
    ]


def _by_table(wiring: Wiring, part: Part, row: tables.Row | None) -> str | None:
    spec = row["pins"] if row else ""
    order = order_of(wiring, part, spec) or usual_order(wiring, part, spec)
    roles = by_order(wiring, part, order) if order else {}
    return roles.get("PG") or roles.get("ERR")


def _is_used(wiring: Wiring, part: Part, net: str) -> bool:
    """Return whether something on the board, connectors and capacitors aside, shares the net."""
    kinds = {one.identity.kind for one in wiring.parts_on(net, part.ref)} if net in wiring.board.nets else set()
    return any(kind not in EXTERNAL and not kind.startswith("capacitor") for kind in kinds)
