"""Ground and adjust pins of regulators, in ohms on the pin itself: the joint that kills when it is open."""

from collections.abc import Iterator

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.power_up.bench import Bench
from reworkkit.compute.power_up.ohms import ohms_of
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Message, message
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_REGULATORS = ("linear_regulator", "switching_regulator")
_NAMES = ("GND", "VSS", "COM", "COMMON", "GROUND", "ADJ", "ADJUST")


def pin_checks(
    board: Board, circuit: Circuit, fitted: frozenset[str], bench: Bench
) -> Iterator[tuple[str, Band, Message, str]]:
    """Yield (pin, ohms to ground, why, designator) for the common pin of every fitted regulator."""
    for element in circuit.elements:
        if element.ref in fitted and element.kind == "unmodelled":
            yield from _pins_of_unknown(board, circuit, element, bench)
        if element.kind not in ("regulator", "converter", "boost") or element.ref not in fitted:
            continue
        number = _common_pin(board, element)
        if number is None:
            continue
        pin, common = f"{element.ref}.{number}", element.nodes[2]
        if common == circuit.ground:
            yield pin, _joint(bench), message("power-why-ground-pin", ref=element.ref, pin=pin), element.ref
        elif found := ohms_of(circuit, (common,), fitted, bench).get(common):
            yield pin, found.expect, message("power-why-adjust-pin", ref=element.ref, pin=pin, net=common), element.ref


def _joint(bench: Bench) -> Band:
    most = figure("joint_most") + bench.ohms.off(figure("joint_most"))
    return Band(None, 0.0, most, "ohm", BandBasis.TABLE)


def _pins_of_unknown(
    board: Board, circuit: Circuit, element: Element, bench: Bench
) -> Iterator[tuple[str, Band, Message, str]]:
    """Yield the ground pins of a regulator whose pins are not known: those that the netlist has on ground."""
    part = board.parts.get(element.ref)
    if part is None or part.identity.kind not in _REGULATORS:
        return
    pins = [p for p in board.pins.values() if p.ref == element.ref and p.net == circuit.ground]
    named = [p for p in pins if (p.name or p.number).upper() in _NAMES]
    for one in sorted(named or pins, key=lambda p: natural_key(p.number)):
        pin = f"{element.ref}.{one.number}"
        yield pin, _joint(bench), message("power-why-ground-pin", ref=element.ref, pin=pin), element.ref


def _common_pin(board: Board, element: Element) -> str | None:
    """Return the number of the ground or adjust pin: as board.toml names it, by pin name, else the only one there."""
    facts = board.facts.parts.get(element.ref)
    stated = [number for role, number in (facts.pins if facts else {}).items() if role.upper() in _NAMES]
    if stated:
        return stated[0]
    pins = [p for p in board.pins.values() if p.ref == element.ref and p.net == element.nodes[2]]
    named = [p.number for p in pins if (p.name or p.number).upper() in _NAMES]
    numbers = named or sorted((p.number for p in pins), key=natural_key)
    return numbers[0] if numbers else None
