"""Where a hold point is measured: its points, what is stated of their nets, and where a probe reaches them."""

from reworkkit.compute.power_up.way import parts_on_the_way
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit, Element, HoldOutline
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis


def points_of(
    board: Board, circuit: Circuit, outline: HoldOutline, supplies: tuple[str, ...], fitted: frozenset[str]
) -> tuple[tuple[str, str], ...]:
    """Return (text, net) of each point to measure: as stated, else the stated rails that these supplies may feed.

    A rail that no known part leads to (a charge pump makes it, or a part of unknown behaviour) is measured as well,
    as soon as what makes it is fitted; what only other supplies feed is not. Where nobody knows which supply it is, all
    stated rails are measured.
    """
    names = outline.measure or tuple(
        net for net in board.facts.rails if not circuit.elements or _is_fed(board, circuit, supplies, fitted, net)
    )
    found: dict[str, str] = {}
    for text in names:
        net = board.facts.points.get(text, text)
        ref, _, number = net.rpartition(".")
        pin = board.pins.get((ref, number))
        found[text] = (pin.net or net) if pin and net not in board.nets else net
    return tuple(found.items())


def _is_fed(board: Board, circuit: Circuit, supplies: tuple[str, ...], fitted: frozenset[str], net: str) -> bool:
    if not supplies:
        return True
    there = [e for e in circuit.elements if not e.ref or e.ref in fitted or e.ref in circuit.nodes]
    now = Circuit(circuit.nodes, tuple(there), circuit.ground)
    if any(net in parts_on_the_way(now, one).nets for one in supplies):
        return True
    others = [one for one in board.facts.supplies if one not in supplies]
    if any(net in parts_on_the_way(circuit, one).nets for one in (*supplies, *others)):
        return False
    maker = board.facts.rails[net].made_by
    if maker:
        return maker in fitted
    beside = {e.ref for e in there if net in e.nodes and e.kind not in ("rail", "range", "external", "load")}
    return any(
        e.ref in beside and node not in (net, circuit.ground)
        for e in there
        if not e.kind.startswith("capacitor")
        for node in e.nodes
    )


def where(board: Board, circuit: Circuit, fitted: frozenset[str], net: str) -> str:
    """Return where a probe reaches a net: its stated place, a named point, else a capacitor that stands at it."""
    rail, supply = board.facts.rails.get(net), board.facts.supplies.get(net)
    stated = (rail and rail.at) or (supply and supply.at)
    named = next((name for name, at in board.facts.points.items() if at == net), None)
    caps = [e for e in circuit.elements if e.kind == "capacitor_polarised" and net in e.nodes and e.ref in fitted]
    ends = (f"the {'plus' if e.nodes[0] == net else 'minus'} of {e.ref}" for e in caps)
    return stated or named or next(ends, net)


def stated_rail(board: Board, circuit: Circuit, net: str) -> Band | None:
    """Return the band that board.toml states for a net; a rail that only its name tells is not stated."""
    if net in board.facts.rails or net in board.facts.supplies:
        rails = [e for e in circuit.elements if e.kind == "rail" and e.nodes[0] == net]
        return rails[0].parameters["volts"] if rails else _rail_without_circuit(board, net)
    return None


def stated_range(circuit: Circuit, net: str) -> Band | None:
    """Return what [nets] of board.toml says a net may be at."""
    ranges = [e for e in circuit.elements if e.kind == "range" and e.nodes[0] == net]
    return ranges[0].parameters["volts"] if ranges else None


def silent_chips(circuit: Circuit, fitted: frozenset[str], live: frozenset[str]) -> tuple[Element, ...]:
    """Return the supply pins of fitted integrated circuits at live nets for which no load is stated."""
    loads = [e for e in circuit.elements if e.kind == "load"]
    drawn = {(e.ref, node) for e in loads for node in e.nodes if node != circuit.ground}
    fed = {net for _, net in drawn}
    chips = [e for e in circuit.elements if e.kind == "ic" and e.ref in fitted and e.nodes[0] in live]
    known = {ref for ref, _ in drawn}
    return tuple(e for e in chips if e.nodes[0] not in fed and e.ref not in known)


def _rail_without_circuit(board: Board, net: str) -> Band | None:
    facts = board.facts.rails.get(net)
    if facts is None or facts.volts is None:
        return None
    volts, percent = float(facts.volts.value), float(facts.tolerance.value) if facts.tolerance else 5.0
    ends = sorted((volts * (1 - percent / 100), volts * (1 + percent / 100)))
    return Band(ends[0], volts, ends[1], "V", BandBasis.STATED)
