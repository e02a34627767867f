"""The answer in records: verdict, certainty in words, points beside what they should be, remarks and stops."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from reworkkit.compute.diagnosis import evidence
from reworkkit.compute.diagnosis.dictionary import Dictionary
from reworkkit.compute.diagnosis.engine import Engine
from reworkkit.compute.diagnosis.groups import Group
from reworkkit.compute.diagnosis.pairs import NONE_FITS_SHARE, Leads, leads
from reworkkit.compute.diagnosis.questions import Weighed, regions
from reworkkit.compute.diagnosis.stress import over_stressed
from reworkkit.compute.diagnosis.switched import outputs
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.diagnosis import (
    AnswerMeans,
    Certainty,
    Diagnosis,
    DiagnosisVerdict,
    Fault,
    FaultGroup,
    NextCheck,
    PointFit,
)
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.results import Circuit
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, CheckPurpose, Mode, Severity

if TYPE_CHECKING:
    from reworkkit.compute.diagnosis.diagnose import Sorted, Stage

SURE, LIKELY, AMONG = 0.9, 0.6, 0.2
WITHOUT_ONE = 0.5
"""Share a group must keep with any one reading left out, before it is called almost certain."""
BAND_WIDTH = 1.5
"""Doubled spreads to each side of a band: three true spreads."""
FAR_OUTSIDE = 2.5
"""A group that leaves a reading so far outside, in doubled spreads, does not explain it, whatever its share."""
STOP_SHARE = 0.05
DEAD_V, ALIVE_V = 0.3, 1.0
HOT_BAND_UNITS = {Mode.AMPS: "A", Mode.OHMS: "ohm"}


def not_enough(hold_point: str | None, asked: Iterable[NotJudged]) -> Diagnosis:
    """Return the answer where nothing can be computed, with the questions that are open."""
    return Diagnosis(
        DiagnosisVerdict.NOT_ENOUGH,
        hold_point,
        (),
        (),
        (),
        (),
        (),
        _first(None),
        (),
        (),
        _not_checked(),
        (),
        tuple(asked),
    )


def of_engine(
    board: Board,
    circuit: Circuit,
    engine: Engine,
    sorted_: "Sorted",
    found: Sequence[Group],
    steps: Sequence[Weighed],
    stage: "Stage",
    asked: Sequence[NotJudged],
    how_long: Message | None,
    plain: Dictionary,
) -> Diagnosis:
    """Return the answer of an engine with its readings; `plain` is the circuit without what is known already."""
    verdict = _verdict(engine, found)
    certain = [certainty(engine, group) for group in found]
    none_fits = leads(engine) if verdict is DiagnosisVerdict.NO_LISTED_FAULT_FITS else None
    shown = _lead_groups(engine, none_fits, found) if none_fits else _fault_groups(engine, found, certain)
    healthy = next((group for group in found if 0 in group.members), None)
    faults = [h.fault for h in engine.dictionary.catalogue.hypotheses]
    alike = [faults[n] for n in sorted(healthy.alike, key=lambda n: -engine.shares[n]) if n] if healthy else []
    long = how_long or message("diagnose-how-long-unknown")
    stressed = over_stressed(engine, board, found, certain, long) if verdict is DiagnosisVerdict.FAULT else ()
    if verdict is DiagnosisVerdict.NO_FAULT_SEEN:
        shown, alike = [one for one in shown if set(one.faults) - set(alike)], alike
    return Diagnosis(
        verdict=verdict,
        hold_point=stage.hold_point,
        groups=tuple(shown),
        next=tuple(_next(engine, board, one, stage) for one in steps),
        over_stressed=stressed,
        points=_points(engine, sorted_, found, verdict),
        same_look=tuple(alike),
        first=_first(board),
        remarks=tuple(_remarks(engine, board, found, verdict, none_fits)),
        stops=tuple(_stops(engine, found, bool(stressed))),
        not_checked=_not_checked(),
        findings=(*_wrong_facts(board, plain), *_strangers(engine, sorted_)),
        not_judged=(*asked, *_still_asked(engine, circuit)),
        measured=tuple(reading.point for reading, _ in (*sorted_.powered, *sorted_.shown)),
        known=tuple(one.told for one in stage.known if one.changes(plain.catalogue)),
        in_doubt=tuple(one.told for one in stage.known if not one.changes(plain.catalogue)),
    )


def _still_asked(engine: Engine, circuit: Circuit) -> Iterable[NotJudged]:
    """Return the questions of the circuit but for the outputs of optocouplers, which follow their lamps here."""
    template = engine.dictionary.template
    followed = {template.elements[n].ref for n in outputs(template)}
    return (
        one
        for one in circuit.not_judged
        if one.because.slug != "circuit-coupler-output" or not set(one.about) <= followed
    )


def _verdict(engine: Engine, found: Sequence[Group]) -> DiagnosisVerdict:
    if not found:
        return DiagnosisVerdict.NOT_ENOUGH
    likely = [found[0], *(group for group in found[1:] if group.share > AMONG)]
    if engine.misfit() or all(_farthest(engine, group) > FAR_OUTSIDE for group in likely):
        return DiagnosisVerdict.NO_LISTED_FAULT_FITS
    if 0 in found[0].members:
        return DiagnosisVerdict.NO_FAULT_SEEN
    return DiagnosisVerdict.FAULT


def certainty(engine: Engine, group: Group) -> Certainty:
    """Return how sure a group is, in words; `almost_certainly` needs more than one reading that says so."""
    if group.share > LIKELY and _farthest(engine, group) > BAND_WIDTH:
        return Certainty.ONE_OF_THESE
    if group.share > SURE:
        return Certainty.ALMOST_CERTAINLY if _confirmed(engine, group) else Certainty.PROBABLY
    if group.share > LIKELY:
        return Certainty.PROBABLY
    return Certainty.ONE_OF_THESE if group.share > AMONG else Certainty.POSSIBLE


def _farthest(engine: Engine, group: Group) -> float:
    """Return how far the reading that fits a group worst lies from what its best member says, in doubled spreads."""
    least = np.inf
    for member in group.members:
        cluster = engine.best_cluster(member)
        spread = np.sqrt((engine.seen.loads[cluster] ** 2).sum(axis=1) + engine.seen.own[cluster] ** 2)
        off = np.abs(engine.values - engine.seen.mean[cluster]) / spread
        least = min(least, float(off.max(initial=0.0)))
    return least


def _confirmed(engine: Engine, group: Group) -> bool:
    """Return whether the group keeps the lead with any one reading left out."""
    count = len(engine.values) + len(engine.logs)
    if count < 2:
        return False
    among = sorted({0, *group.alike, *engine.ranked[:60]})
    return all(float(engine.without(number, among)[list(group.alike)].sum()) > WITHOUT_ONE for number in range(count))


def _fault_groups(engine: Engine, found: Sequence[Group], certain: Sequence[Certainty]) -> list[FaultGroup]:
    faults = [h.fault for h in engine.dictionary.catalogue.hypotheses]
    shown = []
    for group, words in zip(found, certain, strict=True):
        members = tuple(faults[n] for n in group.members if n)
        if members:
            share = 100 * float(sum(engine.shares[n] for n in group.members if n))
            shown.append(
                FaultGroup(members, words if 0 not in group.members else Certainty.POSSIBLE, share, _apart(members))
            )
    return sorted(shown, key=lambda group: -group.likely_percent)


def _apart(members: Sequence[Fault]) -> Message | None:
    """Return what tells the members of a group apart, where voltages cannot."""
    if len(members) < 2:
        return None
    if len({fault.ref for fault in members}) == 1:
        return message("diagnose-one-part", ref=members[0].ref)
    if len({frozenset(fault.nets[:2]) for fault in members}) == 1 and all(
        f.kind in ("shorted", "bridge", "leaky") for f in members
    ):
        return message("diagnose-same-nets", nets=" and ".join(members[0].nets[:2]))
    if all(fault.kind == "reversed" and fault.ref.startswith("C") for fault in members):
        return message("diagnose-reversed-capacitors")
    return message("diagnose-apart", refs=in_short({fault.ref for fault in members}))


def _points(
    engine: Engine, sorted_: "Sorted", found: Sequence[Group], verdict: DiagnosisVerdict
) -> tuple[PointFit, ...]:
    readings = [(reading, taken) for reading, taken in sorted_.powered if taken.value is not None]
    best = engine.best_cluster(found[0].members[0]) if found else 0
    known = verdict is not DiagnosisVerdict.NO_LISTED_FAULT_FITS
    held = engine.dictionary.catalogue.setting.held
    made = []
    for n, (reading, taken) in enumerate(readings):
        if not taken.spot.supply and taken.spot.red.node in held:
            made.append(PointFit(reading, None, None, None))
            continue
        unit = "A" if taken.spot.supply else "V"
        healthy = _band(engine, 0, n, unit)
        value = taken.value or 0.0
        inside = (healthy.low or 0.0) <= value <= (healthy.high or 0.0)
        made.append(PointFit(reading, healthy, _band(engine, best, n, unit) if known else None, inside))
    jumped = [PointFit(reading, None, None, None) for reading, taken in sorted_.powered if taken.value is None]
    return (*made, *jumped, *(PointFit(reading, None, None, None) for reading, _ in sorted_.shown))


def _band(engine: Engine, cluster: int, n: int, unit: str) -> Band:
    mean = float(engine.seen.mean[cluster, n])
    spread = float(np.sqrt((engine.seen.loads[cluster, n] ** 2).sum() + engine.seen.own[cluster, n] ** 2))
    low = mean - BAND_WIDTH * spread
    return Band(max(low, 0.0) if unit == "A" else low, mean, mean + BAND_WIDTH * spread, unit, BandBasis.RSS)


def _next(engine: Engine, board: Board, weighed: Weighed, stage: "Stage") -> NextCheck:
    one = weighed.candidate
    faults = [h.fault for h in engine.dictionary.catalogue.hypotheses]
    unit = "V" if one.mode in (Mode.VOLTS, Mode.DIODE) else HOT_BAND_UNITS[one.mode]
    told = []
    for region in regions(engine, weighed):
        band = Band(region.low, None, region.high, unit, BandBasis.RSS)
        told.append(AnswerMeans(band, region.over, tuple(faults[n] for n in region.hypotheses), 100 * region.chance))
    refs = sorted({fault.ref for means in told for fault in means.faults if fault.ref}, key=natural_key)
    black = None if one.spot.supply else one.spot.black.node
    red = one.spot.text.split(" to ")[0] if one.spot.red.pin else one.spot.red.node
    point = Point(one.spot.text, red or one.spot.text, black)
    why = message("diagnose-why-next", refs=in_short(refs)) if refs else message("diagnose-why-next-none")
    hold = stage.hold_point if one.powered else None
    check = Check(
        f"next: {one.mode.value} {one.spot.text}{' swapped' if one.swapped else ''}",
        CheckPurpose.NEXT_PROBE,
        point,
        one.mode,
        hold,
        None,
        None,
        tuple(refs),
        None,
        why,
        one.cost,
    )
    return NextCheck(check, one.powered, tuple(told), _cautions(board, engine, weighed), weighed.instead)


def _cautions(board: Board, engine: Engine, weighed: Weighed) -> tuple[Message, ...]:
    one = weighed.candidate
    found = []
    if not one.powered:
        found.append(message("diagnose-off-first"))
        if one.swapped:
            found.append(message("diagnose-leads-swapped"))
    elif not one.spot.supply:
        state, place = engine.dictionary.healthy_state, evidence.unknown(engine.dictionary, one.spot.red)
        if place is not None and abs(state[place]) > 60:
            found.append(message("diagnose-live-probe"))
        if one.spot.red.pin is not None:
            found.append(message("diagnose-on-the-pin"))
    return tuple(found)


def _first(board: Board | None) -> tuple[Message, ...]:
    """Return the "no fault at all" questions that this board can raise."""
    found = [message("diagnose-first-output"), message("diagnose-first-ground"), message("diagnose-first-meter")]
    if board is None:
        return tuple(found)
    kinds = {part.identity.kind for part in board.parts.values()}
    if board.facts.program:
        found.append(message("diagnose-first-programmed", parts=in_short(p.part for p in board.facts.program)))
    if kinds & {"jumper", "solder_jumper", "switch"}:
        refs = [r for r, p in board.parts.items() if p.identity.kind in ("jumper", "solder_jumper", "switch")]
        found.append(message("diagnose-first-jumper", refs=in_short(refs)))
    if "switching_regulator" in kinds or "linear_regulator" in kinds:
        found.append(message("diagnose-first-enable"))
    found.append(message("diagnose-first-stale"))
    return tuple(found)


def _not_checked() -> tuple[Message, ...]:
    return (message("diagnose-not-checked-capacitors"), message("diagnose-not-checked-dynamic"))


def _lead_groups(engine: Engine, lead: Leads, found: Sequence[Group]) -> list[FaultGroup]:
    """Return where to look when no single fault fits, none of it more than possible.

    The nearest single faults stand first where together their readings are no misfit, then one fault a group.
    """
    faults = [h.fault for h in engine.dictionary.catalogue.hypotheses]
    nearest = () if engine.misfit() else [n for n in found[0].members if n]
    near = tuple(faults[n] for n in nearest)
    first = [FaultGroup(near, Certainty.POSSIBLE, 100 * NONE_FITS_SHARE * found[0].share, _apart(near))] if near else []
    others = [(faults[n], share) for n, share in lead.singles if n not in nearest]
    return [*first, *(FaultGroup((fault,), Certainty.POSSIBLE, 100 * share, None) for fault, share in others)]


def _remarks(
    engine: Engine, board: Board, found: Sequence[Group], verdict: DiagnosisVerdict, none_fits: Leads | None
) -> Iterable[Message]:
    if none_fits is not None and none_fits.pair is not None:
        one, other = (engine.dictionary.catalogue.hypotheses[n].fault for n in none_fits.pair)
        yield message("diagnose-pair", one=_name(one), other=_name(other))
    if verdict is not DiagnosisVerdict.FAULT:
        return
    if _hides(engine, found[0].members[0]):
        yield message("diagnose-hidden")
    faults = (engine.dictionary.catalogue.hypotheses[n].fault for n in found[0].members)
    for ref in dict.fromkeys(fault.ref for fault in faults if fault.kind == "reversed"):
        if twins := _twins(board, ref):
            yield message("diagnose-twins", ref=ref, refs=in_short(twins))


def _name(fault: Fault) -> str:
    return f"{fault.ref} {fault.kind.replace('_', ' ')}"


def _hides(engine: Engine, leader: int) -> bool:
    """Return whether the leading fault leaves nets dead that should be alive: what hangs there was not seen."""
    count = len(engine.dictionary.template.nodes)
    healthy = np.abs(engine.dictionary.states[0, :count])
    faulty = np.abs(engine.dictionary.states[engine.best_cluster(leader), :count])
    return bool(((healthy > ALIVE_V) & (faulty < DEAD_V)).any())


def _twins(board: Board, ref: str) -> list[str]:
    part = board.parts.get(ref)
    if part is None:
        return []
    return [other.ref for other in board.parts.values() if other.ref != ref and other.identity.key == part.identity.key]


def _stops(engine: Engine, found: Sequence[Group], stressed: bool) -> Iterable[Message]:
    hypotheses = engine.dictionary.catalogue.hypotheses
    turned = [
        n
        for n, hypothesis in enumerate(hypotheses)
        if hypothesis.fault.kind == "reversed"
        and any(
            e.ref == hypothesis.fault.ref and e.kind == "capacitor_polarised"
            for e in engine.dictionary.template.elements
        )
    ]
    if found and 0 not in found[0].members and float(engine.shares[turned].sum()) > STOP_SHARE:
        refs = [hypotheses[n].fault.ref for n in turned if engine.shares[n] > STOP_SHARE / 10]
        yield message("diagnose-stop-reversed", refs=in_short(refs))
    if stressed:
        yield message("diagnose-stop-stress")


def _strangers(engine: Engine, sorted_: "Sorted") -> Iterable[Finding]:
    for number in engine.strangers():
        reading = sorted_.shown[number][0]
        told = message("diagnose-fits-nothing", point=reading.point, reading=reading.text)
        yield Finding(told, Severity.CHECK, (reading.point,))


def _wrong_facts(board: Board, plain: Dictionary) -> Iterable[Finding]:
    """Return stated rails that the circuit itself contradicts: an input error comes before any fault."""
    template = plain.template
    for net, rail in board.facts.rails.items():
        if net not in template.index or rail.volts is None or net == template.ground:
            continue
        place = template.index[net]
        model, stated = float(plain.states[0, place]), float(rail.volts.value)
        percent = float(rail.tolerance.value) if rail.tolerance else 5.0
        spread = float(np.sqrt((plain.loads[0, place] ** 2).sum()))
        if abs(model - stated) > abs(stated) * percent / 100 + 2 * spread and abs(model) > 0.1:
            where = board.facts.where(f"rails.{net}.volts")
            told = message("diagnose-fact-contradicts", net=net, stated=f"{stated:g} V", model=f"{model:.3g} V")
            yield Finding(told, Severity.CHECK, (net,), (where,) if where else ())
