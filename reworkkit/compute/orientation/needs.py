"""What the circuit needs of one polarised part, judged with the part itself taken out; or the question that decides.

Each rule returns a `Need` or None; the first that speaks counts. A rule rests on what is known to be so: where a fact
is missing it stays silent, so that leaving a fact out may make a need undecided but never turns it round.
"""

from collections.abc import Callable

from reworkkit.compute.orientation import blocking, conducting, rectifying
from reworkkit.compute.orientation.ends import Bench, Need, Part2, asked
from reworkkit.model.board import Board
from reworkkit.model.connections import BREAKDOWN, GENERAL_DIODES, Connections
from reworkkit.model.messages import message
from reworkkit.model.results import Potentials

Rule = Callable[[Bench, Part2], Need | None]

_CAPACITOR: tuple[Rule, ...] = (blocking.flying, blocking.holds_off, blocking.averages)
_BREAKDOWN: tuple[Rule, ...] = (blocking.in_pair_across_coil, blocking.by_role, blocking.holds_off, blocking.gate)
_LED: tuple[Rule, ...] = (conducting.opposed_pair, conducting.lights, conducting.switched, conducting.sunk)
_GENERAL: tuple[Rule, ...] = (
    rectifying.across_regulator,
    rectifying.turn_off,
    rectifying.bootstrap,
    conducting.by_role,
    blocking.by_role,
    rectifying.across_led,
    blocking.in_pair_across_coil,
    rectifying.opposed_pair,
    conducting.series_feed,
    rectifying.pump,
    rectifying.clamp_pair,
    blocking.would_short,
    blocking.across_coil,
    rectifying.alternating,
    rectifying.snubber,
    blocking.two_rails,
    blocking.against_driver,
    blocking.against_stated,
)


class Needs:
    """Judges the parts of one board."""

    def __init__(self, board: Board, potentials: Potentials) -> None:
        self.bench = Bench(Connections(board), potentials)

    def of(self, ref: str) -> Need | None:
        """Return what the circuit needs of a part; None for a kind whose way round no circuit shows."""
        kind = self.bench.wires.kind(ref)
        if kind == "bridge_rectifier":
            return rectifying.bridge(self.bench, ref)
        if kind == "diode_dual" or (kind in GENERAL_DIODES and len(self.bench.wires.nets(ref)) > 2):
            return self._junctions(ref)
        if kind == "optocoupler":
            return self._coupler(ref)
        rules = _rules(kind)
        if rules is None:
            return self._first_pin(ref)
        part = self.bench.part(ref)
        if part is None:
            return self._many_ended(ref)
        return self._judge(part, rules)

    def _judge(self, part: Part2, rules: tuple[Rule, ...]) -> Need:
        for rule in rules:
            if need := rule(self.bench, part):
                return need
        return asked(part)

    def _many_ended(self, ref: str) -> Need | None:
        if len(self.bench.wires.nets(ref)) == 1:
            return Need({}, message("polarity-both-ends-one-net", ref=ref, net=self.bench.wires.nets(ref)[0]))
        return self._junctions(ref) if len(self.bench.wires.pins(ref)) >= 3 else None

    def _first_pin(self, ref: str) -> Need | None:
        """Return pin 1 at the land numbered 1: what the netlist itself says of a part with numbered lands."""
        pin = self.bench.wires.board.pins.get((ref, "1"))
        if pin is None:
            return None
        return Need({"pin_1": ("1", pin.net or "")}, message("polarity-need-pin-1", ref=ref))

    def _junctions(self, ref: str) -> Need | None:
        """Return the need of a part with several diodes of known type: each junction judged by itself."""
        return rectifying.dual(self.bench, ref, lambda part: self._judge(part, _GENERAL))

    def _coupler(self, ref: str) -> Need | None:
        roles = self.bench.potentials.roles.get(ref, {})
        pins = {role: number for number, role in roles.items() if role in ("A", "K")}
        ends = self.bench.ends(ref)
        nets = [self.bench.wires.board.pins[(ref, pins[role])].net for role in ("A", "K") if role in pins]
        if len(nets) < 2 or None in nets or nets[0] == nets[1]:
            return self._first_pin(ref)
        by_net = {end.net: end for end in ends}
        part = Part2(ref, "led", by_net[str(nets[0])], by_net[str(nets[1])])
        need = self._judge(part, _LED)
        return self.bench.typed(need, {"anode": pins["A"], "cathode": pins["K"]}, ref)


def _rules(kind: str) -> tuple[Rule, ...] | None:
    if kind.startswith("capacitor") or kind == "supercapacitor":
        return _CAPACITOR
    if kind in GENERAL_DIODES:
        return _GENERAL
    if kind in BREAKDOWN:
        return _BREAKDOWN
    if kind in ("led", "buzzer"):
        return _LED
    if kind in ("photodiode", "battery", "battery_holder"):
        return (blocking.holds_off,)
    return None
