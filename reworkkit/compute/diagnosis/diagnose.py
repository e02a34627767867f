"""From readings to an answer: which faults explain all of them, what to measure next, what was over-stressed."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import NamedTuple

from reworkkit.compute.diagnosis import answer
from reworkkit.compute.diagnosis.candidates import candidates
from reworkkit.compute.diagnosis.comparators import signal_inputs, undescribed
from reworkkit.compute.diagnosis.contacts import undecided
from reworkkit.compute.diagnosis.dictionary import Dictionary, build
from reworkkit.compute.diagnosis.engine import Engine, Shown
from reworkkit.compute.diagnosis.evidence import Taken, knows, supply_spot
from reworkkit.compute.diagnosis.groups import Group, groups
from reworkkit.compute.diagnosis.holding import held_nets, lifted_by_chips
from reworkkit.compute.diagnosis.hypotheses import Catalogue, Setting, catalogue, healthy_row
from reworkkit.compute.diagnosis.known import Known, known_alone, with_known
from reworkkit.compute.diagnosis.limiting import with_limits
from reworkkit.compute.diagnosis.meter import meters_of, with_meters
from reworkkit.compute.diagnosis.points import End, Spot, Spots
from reworkkit.compute.diagnosis.priors import Priors, shipped_priors
from reworkkit.compute.diagnosis.questions import Weighed, choose, weigh
from reworkkit.compute.diagnosis.reach import firm_nets, touched
from reworkkit.compute.diagnosis.refining import refined
from reworkkit.compute.diagnosis.settling import deciding, standing
from reworkkit.compute.diagnosis.switched import enables
from reworkkit.compute.diagnosis.unpowered import Probing, scale
from reworkkit.compute.formulas.network import compile_circuit, solve_working
from reworkkit.model.board import Board
from reworkkit.model.diagnosis import Diagnosis
from reworkkit.model.measuring import Reading
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.results import Circuit
from reworkkit.model.vocabulary import Mode, ReadingForm, Severity

CHECKS_AHEAD = 6
"""So many checks are told: some points are out of reach."""
_LEVELS = {"opamp": 0.5, "microcontroller": 0.08, "module": 0.15, "oscillator": 0.3}
"""How far the pins of a kind of chip hold their nets from where they float: one spread, as a share of the supply."""
HELD_WITHIN = 1.5
"""A part of unknown behaviour holds its net within so many times the highest rail."""
GATE_OHM, READ_HIGH_V = 220.0, 2.0
"""A resistor up to here between an output and what it drives leaves its level, from so many volts on; from memory."""
DRIVEN_SHARE = 0.6
"""An output that a program decides is high from this share of its supply on."""
FINER_ROUNDS = 2
"""How often the likeliest faults are taken at finer sizes."""
SURE = 0.97
"""Above this share of one fault no further check is proposed, unless it is the one that confirms."""
HEALTHY_SURE = ((0.95, 5), (0.85, 8))
"""Where a healthy board, and what looks like it everywhere, have a share after so many readings, all is said."""


class Stage(NamedTuple):
    """What was powered when the readings were made: hold point, supply, limit, and the parts that were fitted."""

    hold_point: str | None
    supply: str | None
    limit_a: float | None
    fitted: frozenset[str] | None
    known: tuple[Known, ...] = ()
    """Faults that are written down already."""
    beside: tuple[str, ...] = ()
    """Further supplies that were on."""


@dataclass(frozen=True)
class Sorted:
    """The readings sorted: powered and unpowered ones in the circuit's terms, and those that cannot be used."""

    powered: tuple[tuple[Reading, Taken], ...]
    shown: tuple[tuple[Reading, Shown], ...]
    unused: tuple[NotJudged, ...]


def diagnose(
    board: Board,
    circuit: Circuit,
    readings: Sequence[Reading],
    stage: Stage,
    priors: Priors | None = None,
    how_long: Message | None = None,
) -> Diagnosis:
    """Return the diagnosis of one board from its readings at one powered stage.

    Readings are in the order they were made; the newest of each point and mode counts. Nothing is raised for what is
    not known: it is a question in `not_judged`.
    """
    if stage.supply is None or not circuit.elements:
        return answer.not_enough(stage.hold_point, _why_not(circuit, stage))
    plain, dictionary = _prepared(board, circuit, stage, priors, readings)
    if not dictionary.settled[0]:
        return answer.not_enough(
            stage.hold_point, [NotJudged((), message("diagnose-question"), message("diagnose-no-healthy"))]
        )
    engine, sorted_ = engine_of(board, circuit, dictionary, readings)
    engine = engine.decided()
    for _ in range(FINER_ROUNDS if engine.powered or engine.shown else 0):
        engine = engine.with_dictionary(refined(engine)).decided()
    asked = [*sorted_.unused]
    if not engine.powered and not engine.shown:
        asked.append(
            NotJudged((), message("diagnose-question"), message("diagnose-no-readings"), "reworkkit reading +5V 4.98V")
        )
        found: tuple[Group, ...] = ()
    else:
        found = groups(engine, touched(board))
    steps = next_checks(engine, board, found) if found else []
    return answer.of_engine(board, circuit, engine, sorted_, found, steps, stage, asked, how_long, plain)


def prepare(
    board: Board,
    circuit: Circuit,
    stage: Stage,
    priors: Priors | None = None,
    held: Mapping[str, float] = MappingProxyType({}),
    read: Mapping[str, float] = MappingProxyType({}),
) -> Dictionary:
    """Return what every hypothesis predicts at a stage, known faults left out.

    Independent of any reading, but for those of the nets that parts of unknown behaviour hold (`held`), and for those
    (`read`) that tell how a comparator stands that its own output keeps where it is.
    """
    return with_limits(build(_catalogue(board, circuit, stage, priors, held, read)))


def _prepared(
    board: Board, circuit: Circuit, stage: Stage, priors: Priors | None, readings: Sequence[Reading]
) -> tuple[Dictionary, Dictionary]:
    """Return the dictionary without and with the known faults, at the sizes that ohms and diode readings leave."""
    read = _read_against_ground(board, circuit, readings)
    held = _held(circuit, stage, read)
    held |= _left_standing(board, circuit, stage, priors, held, read)
    if not any(one.settled for one in stage.known):
        found = prepare(board, circuit, stage, priors, held, read)
        return found, found
    made = _catalogue(board, circuit, stage, priors, held, read)
    alone, _ = engine_of(board, circuit, build(known_alone(made, stage.known)), readings)
    return alone.dictionary, with_limits(build(with_known(made, stage.known, alone)))


def _held(circuit: Circuit, stage: Stage, read: Mapping[str, float]) -> dict[str, float]:
    """Return the nets that parts of unknown behaviour, or programs, hold where they were `read` against ground.

    Nothing tells what such a part does, so its reading is a fact for the rest of the board, not a sign of a fault: but
    for one that no rail explains, which is a slip. An output that a program decides is such a fact where it is high.
    """
    strange = undescribed(circuit, stage.fitted) - firm_nets(circuit.elements, circuit.ground or "")
    rails = {e.nodes[0]: e.parameters["volts"].nominal or 0.0 for e in circuit.elements if e.kind == "rail"}
    most = HELD_WITHIN * max(map(abs, rails.values()), default=0.0)
    held = {net: volts for net, volts in read.items() if net in strange and abs(volts) <= most}
    for net, high in lifted_by_chips(circuit).items():
        supply = rails.get(high) or read.get(high)
        if supply and net in read and DRIVEN_SHARE * supply <= read[net] <= most:
            held[net] = read[net]
    return held


def _left_standing(
    board: Board,
    circuit: Circuit,
    stage: Stage,
    priors: Priors | None,
    held: Mapping[str, float],
    read: Mapping[str, float],
) -> dict[str, float]:
    """Return the outputs of latches and drivers that no input decides, where they were read: they stand as they do.

    One that was not read stands where a small resistor, as at a gate, leads to a net that was read high.
    """
    following = {e.nodes[0] for e in circuit.elements if e.kind in ("rule", "gate")}
    if not following:
        return {}
    made = _catalogue(board, circuit, stage, priors, held, {})
    known, untold = deciding(_there(board, circuit, stage.fitted), made.template, made.healthy, held)
    following -= {one.out for one in known}
    near = {
        net: read[far]
        for e in circuit.elements
        if e.kind == "resistor" and (e.parameters["resistance"].nominal or GATE_OHM) <= GATE_OHM
        for net, far in (e.nodes, e.nodes[::-1])
        if net in following and read.get(far, 0.0) > READ_HIGH_V
    }
    return near | {net: volts for net, volts in read.items() if net in untold}


def _read_against_ground(board: Board, circuit: Circuit, readings: Sequence[Reading]) -> dict[str, float]:
    """Return net -> the volts that were read last from it to ground."""
    spots, ground = Spots(board, circuit), End(circuit.ground or "")
    found: dict[str, float] = {}
    for reading in readings:
        spot = spots.find(reading.point)
        at_net = spot is not None and spot.red == End(spot.red.node) and spot.black == ground and not spot.supply
        if spot and at_net and reading.mode is Mode.VOLTS and reading.value is not None:
            found[spot.red.node] = -reading.value if reading.leads_swapped else reading.value
    return found


def _catalogue(
    board: Board,
    circuit: Circuit,
    stage: Stage,
    priors: Priors | None,
    held: Mapping[str, float],
    read: Mapping[str, float],
) -> Catalogue:
    assert stage.supply is not None
    setting = Setting(stage.supply, stage.limit_a, stage.fitted, stage.beside, held)
    levels = {ref: _LEVELS[p.identity.kind] for ref, p in board.parts.items() if p.identity.kind in _LEVELS}
    made = catalogue(
        circuit, setting, priors or shipped_priors(), _draws(circuit, setting), levels, dict(_outer_leads(board))
    )
    there = _there(board, circuit, stage.fitted)
    known, untold = deciding(there, made.template, made.healthy, held)
    strange = undescribed(circuit, setting.fitted) | undecided(circuit, known, setting.fitted, held)
    healthy = standing(made.template, made.healthy, known, read)
    made = replace(made, healthy=healthy, comparators=known, unknown=strange - held.keys() | untold)
    return replace(made, inputs=signal_inputs(board), enables=enables(there, held))


def _there(board: Board, circuit: Circuit, fitted: frozenset[str] | None) -> Circuit:
    """Return the circuit without the parts that are not fitted: they decide nothing and hold nothing."""
    if fitted is None:
        return circuit
    return replace(circuit, elements=tuple(e for e in circuit.elements if e.ref in fitted or e.ref not in board.parts))


def _outer_leads(board: Board) -> Iterator[tuple[str, tuple[str, str]]]:
    """Yield the parts of three numbered leads in a row, and the nodes of the outer two."""
    for ref, part in board.parts.items():
        ends = board.pins.get((ref, "1")), board.pins.get((ref, "3"))
        if ends[0] and ends[1] and part.identity.outline.upper().startswith("TO-92"):
            yield ref, (ends[0].node, ends[1].node)


def _draws(circuit: Circuit, setting: Setting) -> dict[str, float]:
    elements = tuple(e for e in circuit.elements if e.kind != "supply" or e.ref in setting.on)
    elements = (*elements, *held_nets(setting.held, circuit.ground or ""))
    template = with_meters(compile_circuit(Circuit(circuit.nodes, elements, circuit.ground)))
    solution = solve_working(template, healthy_row(template, setting))
    return {net: float(abs(solution.current(net)[0])) for net in setting.on} if solution.settled[0] else {}


def engine_of(
    board: Board, circuit: Circuit, dictionary: Dictionary, readings: Sequence[Reading]
) -> tuple[Engine, Sorted]:
    """Return the engine with all usable readings in it, and how they were sorted."""
    sorted_ = sort_readings(board, circuit, dictionary, readings)
    currents = [reading.text for reading, taken in sorted_.powered if taken.spot.supply]
    meters = meters_of(board.facts.bench, currents)
    powered, shown = tuple(taken for _, taken in sorted_.powered), tuple(one for _, one in sorted_.shown)
    return Engine(dictionary, meters, powered, shown), sorted_


def sort_readings(board: Board, circuit: Circuit, dictionary: Dictionary, readings: Sequence[Reading]) -> Sorted:
    """Sort readings; of two at the same point in the same mode the later one counts."""
    spots, unused = Spots(board, circuit), []
    powered: dict[object, tuple[Reading, Taken]] = {}
    shown: dict[object, tuple[Reading, Shown]] = {}
    for reading in readings:
        spot = _of_supply(dictionary, spots.find(reading.point), reading.mode)
        if spot is None or not knows(dictionary, spot):
            unused.append(NotJudged((reading.point,), message("diagnose-question"), message("diagnose-point-unknown")))
        elif reading.mode in (Mode.VOLTS, Mode.AMPS) and (reading.mode is Mode.AMPS) == spot.supply:
            if reading.value is not None or reading.form is ReadingForm.JUMPS:
                value = None if reading.value is None else (abs(reading.value) if spot.supply else reading.value)
                value = -value if value is not None and reading.leads_swapped and not spot.supply else value
                powered[spot.red, spot.black, spot.supply] = reading, Taken(spot, value)
        elif reading.mode in (Mode.OHMS, Mode.CONTINUITY, Mode.DIODE) and reading.form is not ReadingForm.JUMPS:
            mode = Mode.OHMS if reading.mode is Mode.CONTINUITY else reading.mode
            if reading.form is ReadingForm.RISING:
                unused.append(NotJudged((reading.point,), message("diagnose-question"), message("diagnose-rising")))
                continue
            probing = Probing(spot, mode, reading.leads_swapped)
            shown[probing] = reading, Shown(probing, scale(mode, reading.value))
    return Sorted(tuple(powered.values()), tuple(shown.values()), tuple(unused))


def _of_supply(dictionary: Dictionary, spot: Spot | None, mode: Mode) -> Spot | None:
    """Return the current of a supply where amps were read at its net; else the point as it is."""
    if spot is None or spot.supply or mode is not Mode.AMPS or spot.red.node not in dictionary.supplies:
        return spot
    return supply_spot(dictionary, spot.red.node)


def next_checks(engine: Engine, board: Board, found: Sequence[Group], most: int = CHECKS_AHEAD) -> list[Weighed]:
    """Return the checks worth making next, best first."""
    made = len(engine.powered) + len(engine.shown)
    if 0 in found[0].members and any(found[0].share > share and made >= least for share, least in HEALTHY_SURE):
        return []
    if float(engine.shares.max()) > SURE and (engine.shown or len(engine.powered) > 2):
        return []
    chosen = choose(engine, weigh(engine, candidates(engine, board)), most)
    return chosen or choose(engine, weigh(engine, candidates(engine, board, anywhere=True)), most)


def _why_not(circuit: Circuit, stage: Stage) -> list[NotJudged]:
    if circuit.not_judged and not circuit.elements:
        return list(circuit.not_judged)
    because = message("diagnose-no-supply")
    return [NotJudged((), message("diagnose-question"), because, '[supplies] "+12V" = "12 V, limit 0.5 A"')]


def reading_twice(readings: Iterable[Reading]) -> list[Finding]:
    """Return a finding for each point that was read twice, differently: that is asked about before anything else."""
    seen: dict[tuple[object, ...], Reading] = {}
    found = []
    for reading in readings:
        key = (reading.point, reading.mode, reading.leads_swapped, reading.hold_point)
        before = seen.get(key)
        seen[key] = reading
        if before is None or before.value is None or reading.value is None:
            continue
        if abs(before.value - reading.value) > 0.03 * max(abs(before.value), abs(reading.value)) + 0.02:
            told = message("diagnose-read-twice", point=reading.point, one=before.text, other=reading.text)
            found.append(Finding(told, Severity.CHECK, (reading.point,)))
    return found
