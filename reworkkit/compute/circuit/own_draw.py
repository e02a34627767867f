"""What a part draws for itself, where its type tells."""

import re
from collections.abc import Sequence

from reworkkit.compute.circuit.figures import around, exact, of_cell
from reworkkit.compute.circuit.pin_roles import numbers, row_of
from reworkkit.compute.circuit.regulator_types import compiled
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_FROM_V = Band(1.0, 2.0, 3.0, "V", BandBasis.TABLE)
_TAKES = re.compile(
    r"(?:takes|draws|needs|uses|nimmt|zieht|braucht|consomme|prend|consume|assorbe|verbruikt|pobiera)"
    r"(?:\s+(?:about|some|ca\.?|circa|etwa|environ|unos|aproximadamente|~))?\s+(\d+(?:[.,]\d+)?\s?[mu]?A)(?![a-z])",
    re.IGNORECASE,
)
LEAST_SHOWN_A = 5e-5
"""What draws less than this shows in no reading of a supply current."""


def own_draw(wiring: Wiring, ref: str, high: str, low: str, current: Band, place: str = "") -> list[Element]:
    """Return the supply current of a part by its type; `beside_stated` drops it where [loads] states that of the net.

    It hangs on a node inside the part, so that it says nothing of what else draws from the net.
    `place` tells the supplies of one part apart.
    """
    if high == low:
        return []
    wiring.drawing.add(ref)
    inside = f"{ref}.supply{place}{INNER}"
    told = (message("circuit-own-current", ref=ref, band=current),)
    return [
        Element("inner", ref, (high, inside), {"resistance": exact(0.1, "ohm")}),
        Element("load", ref, (inside, low), {"current": current, "from_volts": _FROM_V}, told),
    ]


def beside_stated(wiring: Wiring, elements: Sequence[Element]) -> tuple[list[Element], dict[str, frozenset[str]]]:
    """Return the elements without the own draws that what [loads] states of their net holds already.

    A figure that is less than what known types on its net take by themselves is that of the other chips there: then
    the own draws stay beside it. With the elements come these nets and the parts whose own draws stay.
    """
    feeds = {e.nodes[1]: e.nodes[0] for e in elements if e.kind == "inner" and _is_own(e.nodes[1], e.ref)}
    takes: dict[str, dict[str, float]] = {}
    for e in elements:
        if e.kind == "load" and (net := feeds.get(e.nodes[0])) in wiring.board.facts.loads:
            takes.setdefault(net, {})[e.ref] = e.parameters["current"].nominal or 0.0
    beside = {}
    for net, typed in takes.items():
        stated = wiring.board.facts.loads[net]
        others = set(wiring.chips_on(net)) - typed.keys()
        if others and not stated.part and stated.amps and sum(typed.values()) > float(stated.amps.value):
            beside[net] = frozenset(typed)
    dropped = {inside for inside, net in feeds.items() if net in takes and net not in beside}
    return [e for e in elements if not (dropped & set(e.nodes) and e.kind in ("inner", "load"))], beside


def _is_own(node: str, ref: str) -> bool:
    return node.startswith(f"{ref}.supply") and node.endswith(INNER)


def typed_draw(wiring: Wiring, ref: str, elements: Sequence[Element]) -> list[Element]:
    """Return what a chip draws whose type tells it, where none of its own `elements` does yet.

    It draws from its first supply pin to its lowest one. What [parts] states of it goes before its type.
    """
    if ref in wiring.drawing or (band := _stated(wiring, ref) or _typical(wiring.board.parts[ref])) is None:
        return []
    wiring.drawing.add(ref)
    high, low = next((e.nodes for e in elements if e.kind == "ic"), ("", ""))
    return own_draw(wiring, ref, high, low, band) if (band.nominal or 0.0) >= LEAST_SHOWN_A else []


def _stated(wiring: Wiring, ref: str) -> Band | None:
    """Return the supply current of a chip or module that [parts] states: as `amps`, or what `role` says it takes."""
    facts = wiring.facts(ref)
    amps = facts.amps or (parse_quantity(found[1], "A") if (found := _TAKES.search(facts.role or "")) else None)
    return around(float(amps.value), wiring.figure("load_tolerance"), "A") if amps and amps.value > 0 else None


def _typical(part: Part) -> Band | None:
    """Return the supply current of a chip by its type number, of all its amplifiers together."""
    row = row_of("chip_draws", part)
    if row is None:
        return None
    matches = map(compiled(row["pattern"]).match, numbers(part))
    units = next((int(match.groupdict().get("units") or 1) for match in matches if match), 1)
    return of_cell(row["draw_ma"], "A", 1e-3 * units)
