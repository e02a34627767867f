"""The circuit of a board, with the ways round of its diodes that only the circuit itself tells."""

from reworkkit.compute.circuit import cathodes_by_number, derive_circuit
from reworkkit.compute.orientation import cathodes_elsewhere, judge_orientation
from reworkkit.compute.potentials import PotentialFinder
from reworkkit.model.board import Board
from reworkkit.model.results import Circuit


def circuit_of(board: Board, guessing: bool = False) -> Circuit:
    """Return what netlist, list and facts say electrically.

    With `guessing` parts of unknown type are what only they can be, for readings to be weighed against. Where the
    usual numbering alone tells how a diode stands and the circuit needs it otherwise, it is derived anew.
    """
    found = derive_circuit(board, guessing=guessing)
    taken = cathodes_by_number(found)
    if not taken:
        return found
    finder = PotentialFinder(board, found)
    elsewhere = cathodes_elsewhere(judge_orientation(board, finder.all(), finder.refined), taken)
    return derive_circuit(board, elsewhere, guessing) if elsewhere else found
