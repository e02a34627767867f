"""Time of polarity judged from the circuit: test boards side by side, filled up with ordinary parts to 5,000 pins."""

import time
from dataclasses import replace
from functools import partial

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.orientation import judge_orientation
from reworkkit.compute.potentials import PotentialFinder
from reworkkit.model.board import Board
from reworkkit.model.facts import RailFacts, SupplyFacts
from reworkkit.model.netlist import Net, Pin
from reworkkit.model.part import Part
from reworkkit.model.results import Circuit
from tests.compute import polarity_truth as truth

PINS = 5000
GOAL_S = 1.0
_FILLING = frozenset({"resistor", "capacitor_ceramic", "ic", "opamp", "microcontroller"})
_COMMON = frozenset({"GND", "0V"})


def measure() -> tuple[int, int, float]:
    """Return pins, polarised parts and the CPU seconds of potentials and verdicts, imports and circuit left out."""
    board = big_board()
    circuit = derive_circuit(board)
    run = partial(_judge, board, circuit)
    run()
    start = time.process_time()
    judged = run()
    return len(board.pins), judged, time.process_time() - start


def _judge(board: Board, circuit: Circuit) -> int:
    finder = PotentialFinder(board, circuit)
    verdicts = judge_orientation(board, finder.all(), finder.refined)
    return sum(bool(one.needs) or one.question is not None for one in verdicts)


def big_board() -> Board:
    """Return ten test boards as one, their grounds joined, with more resistors and capacitors on the same nets."""
    boards = [truth.board_of(name, answered=False) for name in truth.names()[:10]]
    parts: dict[str, Part] = {}
    pins: dict[tuple[str, str], Pin] = {}
    supplies: dict[str, SupplyFacts] = {}
    rails: dict[str, RailFacts] = {}
    names: dict[str, list[tuple[str, str]]] = {}
    copies = 0
    while len(pins) < PINS:
        for number, board in enumerate(boards):
            for ref, part in board.parts.items():
                if (copies and part.identity.kind not in _FILLING) or len(pins) >= PINS:
                    continue
                new = f"{ref}_{number}_{copies}"
                parts[new] = part._replace(ref=new)
                for pin in (one for one in board.pins.values() if one.ref == ref):
                    net = pin.net if pin.net is None or pin.net in _COMMON else f"{pin.net}_B{number}"
                    pins[(new, pin.number)] = pin._replace(ref=new, net=net)
                    names.setdefault(net or "", []).append((new, pin.number))
            supplies |= {f"{net}_B{number}": value for net, value in board.facts.supplies.items()}
            rails |= {f"{net}_B{number}": value for net, value in board.facts.rails.items()}
        copies += 1
    first = boards[0]
    nets = {name: Net(name, name, tuple(on)) for name, on in names.items() if name}
    facts = replace(first.facts, supplies=supplies, rails=rails)
    return replace(first, parts=parts, pins=pins, nets=nets, facts=facts)


if __name__ == "__main__":
    many, judged, seconds = measure()
    print(f"{many} pins, {judged} polarised parts: {seconds:.2f} s (goal {GOAL_S:g} s)")
