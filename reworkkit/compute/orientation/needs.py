"""What the circuit needs of one polarised part, judged with the part itself taken out; or the question that decides.

Each rule returns a `Need` or None; the first that speaks counts. A rule rests on what is known to be so: where a fact
is missing it stays silent, so that leaving a fact out may make a need undecided but never turns it round.
"""

from collections.abc import Callable, Collection
from dataclasses import replace
from typing import NamedTuple

from reworkkit.compute.orientation import blocking, chains, conducting, multiple, presumed, rectifying, signals
from reworkkit.compute.orientation.asking import with_question
from reworkkit.compute.orientation.ends import Bench, Known, Need, Part2, asked, groundless, named_direction
from reworkkit.model.board import Board
from reworkkit.model.connections import BREAKDOWN, GENERAL_DIODES, Connections
from reworkkit.model.messages import message
from reworkkit.model.results import Potentials
from reworkkit.model.vocabulary import Fit, YesNo

Rule = Callable[[Bench, Part2], Need | None]

_CAPACITOR: tuple[Rule, ...] = (
    blocking.flying,
    blocking.holds_off,
    blocking.averages,
    blocking.against_wave,
    chains.on_bridge,
    chains.pumped,
    presumed.couples,
    presumed.held_by_plug,
    presumed.divides,
    blocking.mostly,
)
_BREAKDOWN: tuple[Rule, ...] = (
    blocking.in_pair_across_coil,
    blocking.by_role,
    blocking.holds_off,
    blocking.gate,
    blocking.into_base,
    chains.on_bridge,
    chains.same_current,
    chains.in_breakdown_string,
    presumed.guards_plug,
    presumed.by_net_name,
)
_LED: tuple[Rule, ...] = (
    conducting.opposed_pair,
    conducting.lights,
    conducting.switched,
    conducting.sunk,
    conducting.lights_by_range,
    chains.on_bridge,
    chains.same_current,
    chains.from_collector,
    chains.in_string,
    conducting.driven_one_way,
    presumed.lights_mostly,
    presumed.pulled_apart,
    presumed.sinks,
    presumed.lit_by_plug,
    presumed.returns,
    presumed.by_net_name,
)
_GENERAL: tuple[Rule, ...] = (
    rectifying.across_regulator,
    rectifying.turn_off,
    rectifying.bootstrap,
    conducting.by_role,
    blocking.by_role,
    signals.by_role,
    rectifying.across_led,
    blocking.in_pair_across_coil,
    rectifying.opposed_pair,
    conducting.series_feed,
    rectifying.pump,
    rectifying.clamp_pair,
    blocking.would_short,
    blocking.across_coil,
    rectifying.alternating,
    rectifying.at_coil,
    rectifying.snubber,
    blocking.two_rails,
    blocking.against_driver,
    blocking.against_stated,
    blocking.only_way,
    blocking.stops_at,
    signals.beside_resistor,
    signals.at_gate,
    signals.round_transistor,
    signals.across_channel,
    signals.of_four,
    signals.senses_heat,
    conducting.drops,
    conducting.refeeds,
    conducting.from_outside,
    chains.same_current,
    chains.from_collector,
    chains.from_rail,
    chains.in_string,
    signals.joins_signals,
    signals.crosses,
    signals.forward_drop,
    presumed.charges,
    presumed.by_net_name,
)


_BLOCKS: frozenset[Rule] = frozenset({rectifying.clamp_pair, rectifying.snubber, blocking.against_driver})
"""Rules by which a diode blocks in normal work: silent where it is said to conduct."""
Refine = Callable[[Known, Collection[str]], Potentials]
"""Works the potentials out once more with the directions known, for some parts."""


class Needs:
    """Judges the parts of one board."""

    def __init__(self, wires: Connections, potentials: Potentials, known: Known | None = None) -> None:
        self.bench = Bench(wires, potentials, known)

    def of(self, ref: str, ask: bool = False) -> Need | None:
        """Return what the circuit needs of a part; None for a kind whose way round no circuit shows."""
        kind = self.bench.wires.kind(ref)
        if kind == "bridge_rectifier":
            return multiple.bridge(self.bench, ref)
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
        return self._judge(part, rules, ask)

    def _judge(self, part: Part2, rules: tuple[Rule, ...], ask: bool = False) -> Need:
        if not self.bench.grounded:
            return groundless(self.bench, part)
        need = self._first(part, rules)
        if need.roles or not ask:
            return need
        return with_question(self.bench, part, lambda told: self._first(told, rules), need)

    def _first(self, part: Part2, rules: tuple[Rule, ...]) -> Need:
        said = self.bench.said(part.ref) if part.kind in GENERAL_DIODES else ""
        silent = _BLOCKS if conducting.FEEDING_ROLES.search(said) else ()
        for rule in rules:
            if rule in silent:
                continue
            if need := rule(self.bench, part):
                return need
        return asked(part)

    def _many_ended(self, ref: str) -> Need | None:
        if len(self.bench.wires.nets(ref)) == 1:
            return Need({}, message("polarity-both-ends-one-net", ref=ref, net=self.bench.wires.nets(ref)[0]))
        if self.bench.wires.kind(ref) == "led":
            return presumed.common_pin(self.bench, ref)
        return self._junctions(ref) if len(self.bench.wires.pins(ref)) >= 3 else None

    def _first_pin(self, ref: str) -> Need | None:
        """Return pin 1 at the land numbered 1: what the netlist itself says of a part with numbered lands."""
        pin = self.bench.wires.board.pins.get((ref, "1"))
        if pin is None:
            return None
        return Need({"pin_1": ("1", pin.net or "")}, message("polarity-need-pin-1", ref=ref))

    def _junctions(self, ref: str) -> Need | None:
        """Return the need of a part with several diodes of known type: each junction judged by itself."""
        rules = _BREAKDOWN if self.bench.wires.kind(ref) in BREAKDOWN else _GENERAL
        return multiple.dual(self.bench, ref, lambda part: self._judge(part, rules))

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
        typed = self.bench.typed(need, {"anode": pins["A"], "cathode": pins["K"]}, ref)
        if not typed.roles or not self.bench.is_usual_coupler(ref):
            return typed
        told = message("polarity-need-usual-coupler", ref=ref, pin=pins["A"], net=typed.roles["anode"][1])
        return typed._replace(why=told)


def _rules(kind: str) -> tuple[Rule, ...] | None:
    if kind.startswith("capacitor") or kind == "supercapacitor":
        return _CAPACITOR
    if kind in GENERAL_DIODES:
        return _GENERAL
    if kind in BREAKDOWN:
        return _BREAKDOWN
    if kind in ("led", "buzzer"):
        return _LED
    if kind == "photodiode":
        return (blocking.holds_off,)
    if kind in ("battery", "battery_holder"):
        return (presumed.cells, blocking.holds_off, presumed.lit_by_plug)
    return None


class Settled(NamedTuple):
    """What the circuit needs of each polarised part, and the bench it was read off."""

    needs: dict[str, Need | None]
    bench: Bench


_ROUNDS = 12


def settle(board: Board, potentials: Potentials, refine: Refine | None) -> Settled:
    """Return the needs of all polarised parts; what is decided is fed back until nothing more is decided.

    A decided diode conducts one way only, which narrows the potentials of the rest. All parts of a round are judged by
    the same knowledge, so their order does not count, and what is decided stays. At last, for what is still open, the
    pin names of the OTHER parts count as well: never those of the part judged, and nothing is built on the result.
    """
    refs = list(potentials.ends) + [ref for ref in _fitted(board) if ref not in potentials.ends]
    needs: dict[str, Need | None] = {}
    known: dict[str, tuple[str, str]] = {}
    wires = Connections(board)
    first = Needs(wires, potentials, known)
    judge = first
    for _ in range(_ROUNDS):
        needs |= {ref: judge.of(ref) for ref in refs if not _decided(needs.get(ref))}
        above = {pair for need in needs.values() if (pair := _bridged(need))}
        fresh = {ref: way for ref in refs if ref not in known and (way := _direction(needs.get(ref)))}
        still = [ref for ref in potentials.ends if not _decided(needs.get(ref))]
        if not (fresh or above - judge.bench.above) or refine is None or not still:
            break
        known |= fresh
        judge = Needs(wires, refine(known, still), known)
        judge.bench.above |= above
    _by_names(board, needs, judge, known, refine)
    needs |= {ref: judge.of(ref, ask=True) for ref in judge.bench.potentials.ends if not _decided(needs.get(ref))}
    return Settled(needs, first.bench)


def _by_names(
    board: Board, needs: dict[str, Need | None], judge: Needs, known: dict[str, tuple[str, str]], refine: Refine | None
) -> None:
    """Judge what is open once more with the directions that pin names give the other parts."""
    still = [ref for ref in judge.bench.potentials.ends if not _decided(needs.get(ref))]
    names = {
        ref: way for ref in _fitted(board) if ref not in known and (way := named_direction(judge.bench.wires, ref))
    }
    if not names or not still or refine is None:
        return
    found = refine({**known, **names}, still)
    last = Needs(judge.bench.wires, replace(found, nets=judge.bench.potentials.nets), {**known, **names})
    last.bench.above |= judge.bench.above
    for ref in still:
        need = last.of(ref)
        if need and need.roles:
            needs[ref] = need


def _fitted(board: Board) -> list[str]:
    return [ref for ref, part in board.parts.items() if part.fit is Fit.FIT and part.identity.polarised is not YesNo.NO]


def _decided(need: Need | None) -> bool:
    return bool(need and need.roles)


def _bridged(need: Need | None) -> tuple[str, str] | None:
    """Return (plus net, minus net) of a decided bridge."""
    if need is None or "wave_1" not in need.roles:
        return None
    return need.roles["plus"][1], need.roles["minus"][1]


def _direction(need: Need | None) -> tuple[str, str] | None:
    """Return (net of the anode, net of the cathode) of a decided part with one junction."""
    if need is None or need.wrong_type or not {"anode", "cathode"} <= need.roles.keys():
        return None
    return need.roles["anode"][1], need.roles["cathode"][1]
