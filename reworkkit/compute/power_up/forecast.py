"""Which parts of unknown behaviour are live at a hold point, and which points hang on them and are not forecast."""

from dataclasses import replace

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.formulas.network import compile_circuit, solve
from reworkkit.compute.formulas.network.steered import moved_over
from reworkkit.compute.power_up.powered import LEVEL_MATTERS, Powered
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_COIL_PAIRS = ("resistor", "inductor", "fuse", "link")
_ONWARD = frozenset(
    (
        *_COIL_PAIRS,
        *("diode", "schottky", "led", "zener", "mosfet_n", "mosfet_p", "npn", "pnp", "tvs", "inner", "coupler"),
        *("contact", "thyristor", "thyristor_p"),
    )
)
_MAKING = frozenset(("regulator", "converter", "boost", "follower", "amplifier", "load_switch", "isolated"))


def loose_parts(board: Board, circuit: Circuit, fitted: frozenset[str], powered: Powered | None) -> tuple[Element, ...]:
    """Return the fitted parts of unknown behaviour at a net with voltage; a part with a stated load is known.

    Without a solution all fitted ones. A transistor whose junctions are in the figures is known, and the output of an
    optocoupler whose LED is there draws nothing of its own; contacts of a relay do, since what lies behind them does.
    """
    known = {e.ref for e in circuit.elements if e.kind == "load"}
    found = [e for e in circuit.elements if e.kind == "unmodelled" and e.ref in fitted and e.ref not in known]
    found = [e for e in found if len(set(e.nodes)) > 1 and not _is_dark(board, circuit, e)]
    if powered is None:
        return tuple(found)
    live = {node for node in powered.template.nodes if abs(powered.volts(node)) > 1.0}
    return tuple(e for e in found if live & set(e.nodes))


def _is_dark(board: Board, circuit: Circuit, element: Element) -> bool:
    kind = board.parts[element.ref].identity.kind if element.ref in board.parts else ""
    beside = {e.kind for e in circuit.elements if e.ref == element.ref}
    return bool(beside & {"npn", "pnp"}) or (kind == "optocoupler" and "led" in beside)


def doubtful_nets(
    circuit: Circuit, powered: Powered, loose: tuple[Element, ...], nets: tuple[str, ...]
) -> frozenset[str]:
    """Return the nets, of those asked, whose voltage hangs on a part of unknown behaviour.

    A net hangs on it where joining all the pins of those parts through `unknown_join` moves it, where it lies behind a
    diode from a net that carries the coil of an unknown converter, or where nothing known feeds it at all; also where
    it hangs on a contact whose coil has neither enough voltage to pull nor little enough to let go.
    """
    fed = fed_nets(circuit, powered.supplies)
    unfed = {net for net in nets if net not in fed and net != circuit.ground}
    held = {net for net in unfed if _at_rest(circuit, net)}
    moved = _moved(circuit, powered, loose, nets) | _in_between(powered, nets)
    return frozenset((unfed - held) | moved | (_pumped(circuit, loose) & set(nets)))


def fed_nets(circuit: Circuit, supplies: tuple[str, ...]) -> frozenset[str]:
    """Return the nets that current of these supplies reaches through parts whose behaviour is known."""
    nets, grew = set(supplies), True
    while grew:
        reached = {
            node
            for e in circuit.elements
            if (e.kind in _ONWARD and set(e.nodes) & nets) or (e.kind in _MAKING and e.nodes[0] in nets)
            for node in e.nodes
        } - {circuit.ground}
        grew = bool(reached - nets)
        nets |= reached
    return frozenset(nets)


def _at_rest(circuit: Circuit, net: str) -> bool:
    """Return whether a net that nothing feeds is held at ground by a resistor, and so reads 0 V."""
    return any(e.kind in _COIL_PAIRS and set(e.nodes) == {net, circuit.ground} for e in circuit.elements)


def _moved(circuit: Circuit, powered: Powered, loose: tuple[Element, ...], nets: tuple[str, ...]) -> frozenset[str]:
    ohm = figure("unknown_join")
    joins = tuple(
        Element("resistor", "", (e.nodes[0], node), {"resistance": _flat(ohm)})
        for e in loose
        for node in dict.fromkeys(e.nodes[1:])
        if node != e.nodes[0]
    )
    if not joins:
        return frozenset()
    template = compile_circuit(replace(circuit, elements=(*circuit.elements, *joins)))
    row = template.with_fitted(template.powered(*powered.supplies), powered.fitted)
    for supply in powered.supplies:
        row[template.columns(supply, "limit", ["supply"])] = powered.limit_a
    solution = solve(template, row)
    if not solution.settled[0]:
        return frozenset(nets)
    asked = [net for net in nets if net in template.index and net in powered.template.index]
    return frozenset(net for net in asked if _differs(powered.volts(net), float(solution.at(net)[0])))


def _in_between(powered: Powered, nets: tuple[str, ...]) -> frozenset[str]:
    """Return the nets that move where the contacts whose coil stands in between move."""
    template, row = powered.template, moved_over(powered.template, powered.row, powered.solution.state[0])
    if (row == powered.row).all():
        return frozenset()
    solution = solve(template, row)
    if not solution.settled[0]:
        return frozenset(nets)
    asked = (net for net in nets if net in template.index)
    return frozenset(net for net in asked if _differs(powered.volts(net), float(solution.at(net)[0])))


def _differs(one_v: float, other_v: float) -> bool:
    return abs(one_v - other_v) > max(LEVEL_MATTERS * abs(one_v), 0.05)


def _flat(ohm: float) -> Band:
    return Band(ohm, ohm, ohm, "ohm", BandBasis.TABLE)


def _pumped(circuit: Circuit, loose: tuple[Element, ...]) -> frozenset[str]:
    """Return the nets behind a diode from a net where an unknown part has a coil, and what they feed in turn."""
    pins = {node for e in loose for node in e.nodes} - {circuit.ground}
    coils = {node for e in circuit.elements if e.kind == "inductor" for node in e.nodes} & pins
    nets: set[str] = set()
    for e in circuit.elements:
        if e.kind in ("diode", "schottky") and set(e.nodes) & coils and circuit.ground not in e.nodes:
            nets |= set(e.nodes) - coils
    grew = bool(nets)
    while grew:
        reached = {
            node
            for e in circuit.elements
            if (e.kind in _COIL_PAIRS and set(e.nodes) & nets and not set(e.nodes) & coils)
            or (e.kind in _MAKING and e.nodes[0] in nets)
            for node in e.nodes
        } - {circuit.ground}
        grew = bool(reached - nets)
        nets |= reached
    return frozenset(nets)
