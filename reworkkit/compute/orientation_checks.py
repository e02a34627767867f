"""Probes that prove which way round a part sits: lands that beep before fitting, diode-test readings after.

A reading is expected with everything else on the board fitted or not: the lower end of its band counts all parallel
paths, the upper end none. Where the two ways cannot be told apart, no reading is expected and the reason is given.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, cached_property
from heapq import heappop, heappush
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.formulas.junction import THERMAL_VOLTAGE, forward_voltage, log_saturation
from reworkkit.model.board import Board
from reworkkit.model.measuring import Check, Expectation, Point
from reworkkit.model.messages import message
from reworkkit.model.results import Circuit, Element, OrientationVerdict
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode, ReadingForm

_JUNCTIONS = frozenset({"diode", "schottky", "led", "zener", "tvs"})
_PASSING = frozenset({"resistor", "inductor", "fuse", "link"})
_SECONDS = {Mode.DIODE: 20.0, Mode.CONTINUITY: 5.0}


class Junction(NamedTuple):
    """Another junction of the circuit: from anode to cathode, and the least it may read [V]."""

    ref: str
    anode: str
    cathode: str
    low_v: float


@dataclass(frozen=True)
class Meter:
    """Your meter: the current of its diode test, what it can show, and whether red is plus there."""

    current: Band
    limit_v: float
    red_is_plus: bool | None


@cache
def _figure(key: str) -> Band:
    row = next(row for row in tables.rows("diode_test") if row["key"] == key)
    low, nominal, high = (float(row[name]) if row[name] else None for name in ("low", "nominal", "high"))
    return Band(low, nominal, high, row["unit"], BandBasis.TABLE)


def _end(value: float | None) -> float:
    assert value is not None
    return value


def meter_of(board: Board) -> Meter:
    """Return the meter that the bench states; what it does not state is the usual range."""
    facts = board.facts.bench.meter
    stated = float(facts.diode_test_limit.value) if facts.diode_test_limit else None
    return Meter(_figure("test_current"), stated or _end(_figure("open_volts").low), facts.red_is_plus_in_diode)


def with_checks(
    board: Board, circuit: Circuit, verdicts: Iterable[OrientationVerdict]
) -> tuple[OrientationVerdict, ...]:
    """Return the verdicts with the probes that prove them; a part whose need is not decided has none."""
    readings = Readings(board, circuit)
    return tuple(replace(one, checks=tuple(readings.checks(one))) if one.needs else one for one in verdicts)


class Readings:
    """Works out readings on one board."""

    def __init__(self, board: Board, circuit: Circuit) -> None:
        self.board = board
        self.circuit = circuit
        self.meter = meter_of(board)

    @cached_property
    def _by_ref(self) -> dict[str, list[Element]]:
        found: dict[str, list[Element]] = {}
        for element in self.circuit.elements:
            found.setdefault(element.ref, []).append(element)
        return found

    def _wires(self, usual: bool) -> dict[str, list[tuple[str, str, float]]]:
        """Node -> (ref, other node, least resistance) of what passes direct current."""
        found: dict[str, list[tuple[str, str, float]]] = {}
        for element in self.circuit.elements:
            band = element.parameters.get("resistance") or element.parameters.get("unpowered")
            if element.kind in (*_PASSING, "ic") and band and len(element.nodes) == 2:
                low = (band.nominal if usual else band.low) or band.nominal or 0.0
                one, other = element.nodes
                found.setdefault(one, []).append((element.ref, other, low))
                found.setdefault(other, []).append((element.ref, one, low))
        return found

    @cached_property
    def _junctions(self) -> tuple[Junction, ...]:
        return tuple(junction for element in self.circuit.elements for junction in _junctions(element))

    def checks(self, verdict: OrientationVerdict) -> Iterator[Check]:
        """Return the lands that beep, then the diode test, each where it tells something."""
        yield from self._beeps(verdict)
        if reading := self._diode_test(verdict):
            yield reading

    def _beeps(self, verdict: OrientationVerdict) -> Iterator[Check]:
        for role, (pin, net) in verdict.needs.items():
            if role not in ("plus", "minus", "anode", "cathode") or not net:
                continue
            ground = net == self.circuit.ground
            if not ground and net not in self._named:
                continue
            land = f"{verdict.ref}.{pin}"
            point = Point(land, land) if ground else Point(f"{land} to {net}", land, net)
            told = message("polarity-beep", ref=verdict.ref, pin=pin, net=net, role=role)
            yield Check(
                f"beep-{verdict.ref}-{pin}", CheckPurpose.BARE_PLACE, point, Mode.CONTINUITY, None,
                _figure("beep_ohm"), _figure("beep_ohm"), (verdict.ref,), None, told, _SECONDS[Mode.CONTINUITY],
            )  # fmt: skip
            if ground:
                return

    @cached_property
    def _named(self) -> frozenset[str]:
        facts = self.board.facts
        return frozenset({*facts.rails, *facts.supplies, *facts.points.values()})

    def _diode_test(self, verdict: OrientationVerdict) -> Check | None:
        anode, cathode = verdict.needs.get("anode"), verdict.needs.get("cathode")
        own = next((one for one in self._by_ref.get(verdict.ref, ()) if one.kind in _JUNCTIONS), None)
        if not anode or not cathode or own is None or not anode[1] or not cathode[1]:
            return None
        ways = self.proof(own, verdict.ref, anode[1], cathode[1])
        if ways is None:
            return None
        forward, reverse = ways
        expect, swapped = (reverse, forward) if self.meter.red_is_plus is False else (forward, reverse)
        first, second = f"{verdict.ref}.{anode[0]}", f"{verdict.ref}.{cathode[0]}"
        slug = "polarity-reading" if self.meter.red_is_plus is not None else "polarity-reading-check-meter"
        slug = slug if forward is not None else "polarity-reading-reverse"
        told = message(slug, ref=verdict.ref, red=first, black=second)
        return Check(
            f"diode-{verdict.ref}", CheckPurpose.ORIENTATION, Point(verdict.ref, first, second), Mode.DIODE, None,
            expect, swapped, (verdict.ref,), None, told, _SECONDS[Mode.DIODE],
        )  # fmt: skip

    def proof(
        self, own: Element, ref: str, anode: str, cathode: str
    ) -> tuple[Expectation | None, Expectation | None] | None:
        """Return what proves the way round: both readings, the reverse one alone, or None where neither does.

        Where a low unpowered resistance of a chip could imitate the junction, a forward reading proves nothing; one
        clearly above any forward drop with the leads the other way round still excludes a reversed part.
        """
        worst = self.both_ways(own, ref, anode, cathode)
        if _tells(*worst):
            return worst
        forward, reverse = self.both_ways(own, ref, anode, cathode, usual=True)
        if not _tells(forward, reverse) or not isinstance(forward, Band) or forward.high is None:
            return None
        clear = round(forward.high + _end(_figure("clear_v").low), 2)
        return None, Band(clear, None, None, "V", BandBasis.WORST_CASE)

    def both_ways(
        self, own: Element, ref: str, anode: str, cathode: str, usual: bool = False
    ) -> tuple[Expectation, Expectation]:
        """Return what the meter shows with its plus on the anode, and on the cathode, in circuit.

        `usual` takes the usual instead of the least resistance of unpowered chips.
        """
        drop = forward_reading(own, self.meter.current)
        there, back = self._least(ref, anode, cathode, usual), self._least(ref, cathode, anode, usual)
        forward = _shown(min(_end(drop.low), there), _end(drop.high), self.meter.limit_v)
        blocks = own.parameters.get("breakdown")
        most = min(back, blocks.low if blocks and blocks.low is not None else back)
        return forward, _shown(most, None, self.meter.limit_v)

    def _least(self, ref: str, start: str, stop: str, usual: bool) -> float:
        """Return the least voltage that other paths leave between two nodes, plus of the meter at `start` [V].

        The cheapest path counts each junction by its least drop and each resistor by half of what the meter's least
        current drops in it: two equal paths may share that current.
        """
        steps = self._usual if usual else self._worst
        found: set[str] = set()
        queue = [(0.0, start)]
        while queue:
            volts, node = heappop(queue)
            if node == stop:
                return volts
            if node in found or volts > self.meter.limit_v:
                continue
            found.add(node)
            for other_ref, other, more in steps.get(node, ()):
                if other_ref != ref and other not in found:
                    heappush(queue, (volts + more, other))
        return float("inf")

    @cached_property
    def _worst(self) -> dict[str, list[tuple[str, str, float]]]:
        return self._steps(usual=False)

    @cached_property
    def _usual(self) -> dict[str, list[tuple[str, str, float]]]:
        return self._steps(usual=True)

    def _steps(self, usual: bool) -> dict[str, list[tuple[str, str, float]]]:
        """Node -> (ref, next node, least voltage) of all that passes the meter's current."""
        amps = _end(self.meter.current.low) / 2
        wires = self._wires(usual)
        found = {node: [(ref, other, amps * ohms) for ref, other, ohms in on] for node, on in wires.items()}
        for junction in self._junctions:
            found.setdefault(junction.anode, []).append((junction.ref, junction.cathode, junction.low_v))
        for element in self.circuit.elements:
            for one in element.nodes if element.kind == "unmodelled" else ():
                found.setdefault(one, []).extend((element.ref, other, 0.0) for other in element.nodes if other != one)
        return found


def forward_reading(own: Element, current: Band) -> Band:
    """Return what a diode test reads on a junction alone, over the spread of junction and meter."""
    ends = [
        _volts(own, own.parameters["forward"].low, current.low),
        _volts(own, own.parameters["forward"].nominal, current.nominal),
        _volts(own, own.parameters["forward"].high, current.high),
    ]
    return Band(ends[0], ends[1], ends[2], "V", BandBasis.TABLE)


def _volts(own: Element, forward: float | None, amps: float | None) -> float:
    import numpy as np

    at, slope = own.parameters["at"].nominal, (own.parameters["ideality"].nominal or 1.0) * THERMAL_VOLTAGE
    series = own.parameters["series"].nominal or 0.0
    log_is = log_saturation(np.array(forward), np.array(at), np.array(slope), np.array(series))
    return round(forward_voltage(_end(amps), float(log_is), slope, series), 3)


def _junctions(element: Element) -> Iterator[Junction]:
    low = _end(_figure("other_junction").low)
    forward = element.parameters.get("forward")
    least = forward.low * 0.8 if forward and forward.low else low
    nodes = element.nodes
    if element.kind in _JUNCTIONS:
        yield Junction(element.ref, nodes[0], nodes[1], least)
        if element.assumed:
            yield Junction(element.ref, nodes[1], nodes[0], least)
    elif element.kind in ("mosfet_n", "mosfet_p"):
        pair = (nodes[2], nodes[0]) if element.kind == "mosfet_n" else (nodes[0], nodes[2])
        yield Junction(element.ref, *pair, least)
    elif element.kind == "ic":
        yield Junction(element.ref, nodes[1], nodes[0], least)
    elif element.kind == "driver":
        yield Junction(element.ref, nodes[2], nodes[0], low)
        yield Junction(element.ref, nodes[0], nodes[1], low)
    elif element.kind in ("regulator", "converter", "boost"):
        for one, other in ((nodes[1], nodes[0]), (nodes[2], nodes[0]), (nodes[2], nodes[1])):
            if one != other:
                yield Junction(element.ref, one, other, low)


def _shown(low: float, high: float | None, limit_v: float) -> Expectation:
    """Return a band of readings, or over-range where even the least is more than the meter shows."""
    if low >= limit_v:
        return ReadingForm.OVER_RANGE
    top = None if high is None or high >= limit_v else high
    return Band(round(max(low, 0.0), 2), None, None if top is None else round(top, 2), "V", BandBasis.WORST_CASE)


def _tells(forward: Expectation, reverse: Expectation) -> bool:
    """Return whether the readings both ways differ enough to tell the direction."""
    if not isinstance(forward, Band) or forward.high is None:
        return False
    if not isinstance(reverse, Band):
        return True
    return reverse.low is not None and reverse.low > forward.high + _end(_figure("clear_v").low)
