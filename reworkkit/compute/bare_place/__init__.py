"""Is the copper whole where a part came off? The fewest continuity probes that prove it, else the wires to run."""

import math
from collections.abc import Iterable

from reworkkit.compute.bare_place.damage import (
    Damage,
    Names,
    damage_on,
    lands_of,
    limit,
    names_on,
    pin_name,
    read_pairs,
)
from reworkkit.compute.bare_place.spanning import Distance, NetDoubt, fewest_probes
from reworkkit.model.board import Board
from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.job import Situation
from reworkkit.model.measuring import Check, Point
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.netlist import Net, Pin
from reworkkit.model.removal import BareProof, Wire
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import (
    AlertLevel,
    BandBasis,
    CheckPurpose,
    Fit,
    JointState,
    Mode,
    PartState,
    Place,
    Severity,
    SiteDamage,
    WayRound,
)
from reworkkit.tables import source

_COMES_OFF = (PartState.DAMAGED, PartState.WRONG_PART, PartState.REMOVED_ON_PURPOSE, PartState.TEMPORARY_LINK)
_LOST = {SiteDamage.LAND_LOST: message("bare-land-lost"), SiteDamage.BARREL_LOST: message("bare-barrel-lost")}
_LINK = PartState.TEMPORARY_LINK
_FAR = 1e9


def prove_bare_places(board: Board, situation: Situation, refs: tuple[str, ...] = ()) -> BareProof:
    """Return the fewest probes that prove every pad of these places still reaches its net, and the wires to run.

    Without `refs`: every place where a part came off or must come off, and every point with damage on record. Pads of
    other parts are taken to hang together as before, but for nets on which a barrel was lost or a track cut.
    """
    asked = refs or opened_places(board, situation)
    if not board.nets:
        return BareProof(_without_netlist(asked), (), ())
    names = names_on(board)
    damage = damage_on(board, names, situation)
    pins = {pin_name(pin): pin for pin in board.pins.values()}
    hurt = () if refs else tuple(pins[name].net for name in (*damage.lost, *damage.doubtful))
    distance = _distance(pins)
    checks: list[Check] = []
    wires: list[Wire] = []
    proven: dict[str, None] = {}
    for net in _nets_of(board, asked, hurt):
        doubt = _doubt(board, situation, net, frozenset(asked), names)
        proof = fewest_probes(doubt, distance)
        lands = lands_of(pins[name] for name in doubt.pins)
        checks += [_check(pins[pin], hub, net.written, lands, pin in damage.repaired) for pin, hub in proof.probes]
        wires += [_wire(net.written, a, b, distance(a, b), damage) for a, b in proof.wires]
        proven |= {
            f"{one} to {other}": None for one, other in doubt.joined if {one, other} & (doubt.doubtful | doubt.lost)
        }
    checks.sort(key=lambda check: natural_key(check.point.a))
    sheet = CheckSheet(
        CheckPurpose.BARE_PLACE,
        tuple(checks),
        _alerts(situation, asked) if checks else (),
        tuple(_wire_finding(wire) for wire in wires),
        _alone(board, asked),
    )
    return BareProof(sheet, tuple(wires), tuple(proven))


def opened_places(board: Board, situation: Situation) -> tuple[str, ...]:
    """Return the places to fit again where a part came off or has to come off, in natural order."""
    found = []
    for ref, state in situation.states.items():
        part = board.parts.get(ref)
        off = state.place is Place.EMPTY and "desolder" in state.steps_done
        if (
            part is not None
            and part.fit is Fit.FIT
            and (off or state.part in _COMES_OFF or state.way_round is WayRound.REVERSED)
        ):
            found.append(ref)
    return tuple(sorted(found, key=natural_key))


def _without_netlist(asked: tuple[str, ...]) -> CheckSheet:
    because = message("bare-no-netlist")
    line = '[files] netlist = "netlist.ipc"'
    question = NotJudged(asked, message("bare-question"), because, line) if asked else None
    return CheckSheet(CheckPurpose.BARE_PLACE, (), (), (), (question,) if question else ())


def _nets_of(board: Board, asked: tuple[str, ...], hurt: Iterable[str | None]) -> list[Net]:
    touched = {pin.net for pin in board.pins.values() if pin.ref in asked} | set(hurt)
    return [board.nets[net] for net in sorted((n for n in touched if n), key=natural_key) if net in board.nets]


def _numbers(board: Board, ref: str) -> list[str]:
    return [number for of, number in board.pins if of == ref]


def _doubt(board: Board, situation: Situation, net: Net, asked: frozenset[str], names: Names) -> NetDoubt:
    damage = damage_on(board, names, situation)
    pins = {pin_name(pin): pin for pin in (board.pins.get(key) for key in net.pins) if pin is not None}
    lost = frozenset(name for name in pins if name in damage.lost)
    doubtful = frozenset(
        name
        for name, pin in pins.items()
        if name not in lost and (net.name in damage.broken_nets or name in damage.doubtful or pin.ref in asked)
    )
    joined, parted = read_pairs(names, situation, net.name)
    parted = tuple(pair for pair in parted if not damage.repaired & set(pair))
    order = sorted(pins, key=lambda name: (*_awkward(board, situation, pins[name]), natural_key(name)))
    return NetDoubt(tuple(order), doubtful, lost, joined, parted)


def _awkward(board: Board, situation: Situation, pin: Pin) -> tuple[bool, bool, bool]:
    """Return how badly a pin serves to hold the other probe on: doubtful state, hidden pads, no test point."""
    part, state = board.parts.get(pin.ref), situation.states.get(pin.ref)
    poor = state is not None and (state.joint is JointState.LEG_LIFTED or state.part is not PartState.GOOD)
    package = part.identity.package if part else None
    return poor, package is not None and package.hidden_pads > 0, not (part and part.identity.kind == "test_point")


def _distance(pins: dict[str, Pin]) -> Distance:
    def between(one: str, other: str) -> float:
        spots = [[(pad.x_mm, pad.y_mm) for pad in pins[name].pads] for name in (one, other)]
        return min((math.dist(a, b) for a in spots[0] for b in spots[1]), default=_FAR)

    return between


def _check(pin: Pin, hub: str, net: str, lands: dict[str, int], wired: bool) -> Check:
    name = pin_name(pin)
    band = Band(0.0, None, limit("continuity_most_ohm"), "ohm", BandBasis.TABLE)
    hole = any(pad.drill_mm and pad.plated for pad in pin.pads)
    slug = (
        "bare-probe-wire"
        if wired
        else "bare-probe-hole"
        if hole
        else "bare-probe-lands"
        if lands[name] > 1
        else "bare-probe-pad"
    )
    why = message(slug, pin=name, hub=hub, net=net, lands=lands[name])
    return Check(
        f"{CheckPurpose.BARE_PLACE}:{name}",
        CheckPurpose.BARE_PLACE,
        Point(f"{name} to {hub}", name, hub),
        Mode.CONTINUITY,
        None,
        band,
        band,
        (pin.ref,),
        None,
        why,
        0.25 * lands[name],
    )


def _wire(net: str, a: str, b: str, length_mm: float, damage: Damage) -> Wire:
    because = _LOST[damage.lost[a]] if a in damage.lost else message("bare-read-open")
    return Wire(net, a, b, round(length_mm, 1) if length_mm < _FAR else None, because)


def _wire_finding(wire: Wire) -> Finding:
    length = f"{wire.length_mm:.0f}" if wire.length_mm is not None else "____"
    slug = "bare-wire-lost" if wire.because.slug != "bare-read-open" else "bare-wire-open"
    text = message(slug, a=wire.a, b=wire.b, net=wire.net, length=length)
    refs = tuple(dict.fromkeys(end.rpartition(".")[0] for end in (wire.a, wire.b)))
    return Finding(text, Severity.CHECK, refs, (), source("practice"))


def _alerts(situation: Situation, asked: Iterable[str]) -> tuple[tuple[AlertLevel, Message], ...]:
    states = situation.states
    there = {ref for ref, state in states.items() if state.place is Place.FITTED or state.part is _LINK}
    still = [ref for ref in asked if ref in there]
    found = [(AlertLevel.CAUTION, message("bare-volts-first"))]
    if still:
        found.append((AlertLevel.CAUTION, message("bare-take-off-first", refs=in_short(still))))
    return tuple(found)


def _alone(board: Board, asked: tuple[str, ...]) -> tuple[NotJudged, ...]:
    """Ask about places without a pin in the netlist; a pin that is alone on its net has nothing to reach."""
    unknown = tuple(ref for ref in asked if not _numbers(board, ref))
    return (NotJudged(unknown, message("bare-question"), message("bare-no-pins")),) if unknown else ()
