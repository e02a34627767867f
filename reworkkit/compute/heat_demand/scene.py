"""What the joints of one board have in common: solder, tips, preheat, what was measured."""

from collections.abc import Mapping
from typing import NamedTuple

from reworkkit.compute.heat_demand.calibrate import belief_of, measured_elsewhere
from reworkkit.compute.heat_demand.figures import Alloy, Tip, alloy, figure, tips_of
from reworkkit.compute.heat_demand.making import Case, case_of, laminate_of
from reworkkit.compute.heat_demand.needed import Belief
from reworkkit.model.board import Board
from reworkkit.model.facts import BenchFacts, OrderFacts
from reworkkit.model.messages import Message, message
from reworkkit.model.results import Joint
from reworkkit.model.vocabulary import JointKind


class Scene(NamedTuple):
    """A board on a bench, ready to be computed; `cases` in the order of the joints."""

    board: Board
    joints: tuple[Joint, ...]
    cases: tuple[Case, ...]
    solder: Alloy
    tips: tuple[Tip, ...]
    preheat_c: int
    beliefs: Mapping[str, Belief]
    assumed: tuple[Message, ...]


def scene_of(board: Board, joints: tuple[Joint, ...], bench: BenchFacts) -> Scene:
    """Return the board on the bench; what was assumed for all joints is listed once."""
    solder, said = solder_of(board)
    laminate = laminate_of(board)
    cases = tuple(case_of(board, joint, laminate, solder) for joint in joints)
    assumed = (*laminate.assumed, *said)
    tips = tips_of(bench)
    if not bench.tips:
        assumed = (*assumed, message("heat-tips-assumed"))
    preheat, more = preheat_of(bench)
    more += tuple(message("heat-flowed-elsewhere", text=text) for text in measured_elsewhere(bench, joints))
    beliefs = {tip.name: belief_of(tip, bench, joints, cases, solder) for tip in tips}
    return Scene(board, joints, cases, solder, tips, preheat, beliefs, assumed + more)


def solder_of(board: Board) -> tuple[Alloy, tuple[Message, ...]]:
    """Return the alloy that must melt: the hotter of found and used; unknown counts as lead-free for heat."""
    said = board.facts.board
    used, doubt = alloy(said.alloy_used, board.own_tables)
    if said.alloy_found is None:
        return used, (doubt,) if doubt else ()
    found, other = alloy(said.alloy_found, board.own_tables)
    hotter = max(used, found, key=lambda a: a.liquidus_c) if said.alloy_used else found
    messages = tuple(m for m in (doubt if said.alloy_used else None, other) if m)
    return hotter, messages


def preheat_of(bench: BenchFacts) -> tuple[int, tuple[Message, ...]]:
    """Return the preheat [C] to reckon with: the bench's, at most 110 on a mixed board, and that is said."""
    most = figure("preheat_most").value
    wanted = float(bench.preheat.value) if bench.preheat else figure("preheat").value
    if wanted > most:
        return int(most), (message("heat-preheat-capped", wanted=wanted, most=most),)
    return int(wanted), ()


def dwell_of(kind: JointKind, order: OrderFacts) -> float:
    """Return the dwell [s] allowed for a kind of joint: board.toml, else 3 s for pads and 8 s for tabs and holes."""
    said = {
        JointKind.PAD: order.dwell_lead,
        JointKind.TAB: order.dwell_tab,
        JointKind.HIDDEN: order.dwell_tab,
        JointKind.HOLE: order.dwell_hole,
    }[kind]
    names = {JointKind.PAD: "dwell_pad", JointKind.HOLE: "dwell_hole"}
    return float(said.value) if said else figure(names.get(kind, "dwell_tab")).value
