"""What to do, when to stop, and what can hurt: the same order at every hold point."""

import math
from collections.abc import Iterable
from typing import NamedTuple

from reworkkit.compute.formulas.accuracy import figure
from reworkkit.compute.power_up.feeding import is_alternating, volts_of
from reworkkit.compute.power_up.judged_limits import amps
from reworkkit.compute.power_up.limits import Charge
from reworkkit.compute.power_up.powered import Powered
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.feeds import FurtherFeed
from reworkkit.model.messages import Message, message
from reworkkit.model.results import Alert, Circuit, HoldOutline
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import AlertLevel

_BURST = ("electrolytic", "tantalum")
_EYE_SECONDS = 2.0
"""Below this a quarter of the charging time cannot be followed by eye: then whole seconds on the limit are the rule."""


class Feeding(NamedTuple):
    """What is set and where it goes; `mains` is the supply that no bench supply stands for."""

    feed: str | None
    volts: Band | None
    limit: Band | None
    charge: Charge | None
    further: tuple[FurtherFeed, ...]
    mains: str | None
    draws_unknown: bool


def steps(board: Board, circuit: Circuit, outline: HoldOutline, told: Feeding) -> tuple[Message, ...]:
    """Return how to power up, in order: volts first, ohms, set with the output off, connect, on, measure, off."""
    found = [message("power-step-volts-first"), message("power-step-ohms")]
    if told.mains:
        found += [message("power-step-mains", net=told.mains), message("power-step-mains-measure")]
    else:
        found += [*_setting(outline, circuit.ground or "ground", told), _slope_step(told.charge)]
        mild = told.volts is not None and abs(told.volts.nominal or 0.0) <= figure("touch")
        if told.draws_unknown and mild and told.limit and (told.limit.nominal or 0.0) < figure("first_limit"):
            found.append(message("power-step-unknown", limit=amps(told.limit.nominal)))
        found.append(message("power-step-measure"))
    return (*found, message("power-step-off"), *_programming(board, outline))


def _setting(outline: HoldOutline, ground: str, told: Feeding) -> Iterable[Message]:
    """Yield what to set and where to connect, for each supply."""
    known = told.limit.nominal if told.limit else None
    volts = told.volts.nominal if told.volts else None
    feeds = [(told.feed or outline.supply or "the input", volts, known)]
    feeds += [(one.feed, one.volts_v, one.limit_a.nominal) for one in told.further]
    for feed, at_v, limit_a in feeds:
        if at_v is not None:
            facts = {"volts": f"{abs(at_v):g} V", "feed": feed}
            if limit_a:
                set_to = message("power-step-set", limit=amps(limit_a), **facts)
                yield set_to if len(feeds) == 1 else message("power-step-set-each", limit=amps(limit_a), **facts)
            else:
                yield message("power-step-set-low", volts=facts["volts"])
    for feed, at_v, _ in feeds:
        below = at_v is not None and at_v < 0
        connect = message("power-step-connect", feed=feed, ground=ground)
        yield message("power-step-connect-minus", feed=feed, ground=ground) if below else connect
    if len(feeds) > 1:
        yield message("power-step-together")


def _slope_step(charge: Charge | None) -> Message:
    if charge is None or charge.seconds.high is None:
        return message("power-step-on")
    if charge.seconds.high < _EYE_SECONDS:
        most = f"{max(1, math.ceil(charge.seconds.high))} s"
        return message("power-step-on-fast", seconds=_seconds(charge.seconds.high), most=most)
    return message("power-step-on-slow", seconds=charge.seconds, slope=f"{float(f'{charge.slope_v_per_s:.2g}'):g} V/s")


def _seconds(value: float) -> str:
    return f"{value:.2g} s" if value >= 0.1 else f"{max(1, math.ceil(value * 1000))} ms"


def stops(limit: Band | None, charge: Charge | None, volts: Band | None) -> tuple[Message, ...]:
    """Return the stop rules: slope of the volts, the limit, heat, a reading outside its band."""
    found = []
    if charge and charge.seconds.high and volts and volts.nominal:
        if charge.seconds.high >= _EYE_SECONDS:
            quarter, fifth = charge.seconds.high / 4, volts.nominal / 5
            found.append(message("power-stop-slope", seconds=f"{quarter:.2g} s", volts=f"{fifth:.2g} V"))
        else:
            found.append(message("power-stop-second", seconds=f"{max(1, math.ceil(charge.seconds.high))} s"))
    if limit and limit.nominal and charge is None:
        found.append(message("power-stop-limit", limit=amps(limit.nominal)))
    return (*found, message("power-stop-hot"), message("power-stop-outside"))


def cautions(
    board: Board,
    circuit: Circuit,
    fitted: frozenset[str],
    supplies: tuple[str, ...],
    powered: Powered | None,
    charge: Charge | None,
    limit: Band | None,
) -> tuple[Alert, ...]:
    """Return WARNINGs (someone can be hurt) and CAUTIONs (the board can be damaged), worst first."""
    found: list[Alert] = []
    volts = max((abs(volts_of(board, net)) for net in supplies), default=0.0)
    alternating = [net for net in supplies if is_alternating(board, net)]
    touch = figure("touch_alternating") if alternating else figure("touch")
    if volts > touch:
        found.append((AlertLevel.WARNING, message("power-warn-voltage", volts=f"{volts:.0f} V")))
    if charge and charge.energy_j > figure("hazard_energy"):
        found.append((AlertLevel.WARNING, message("power-warn-energy", energy=f"{charge.energy_j:.0f} J")))
    if refs := _that_burst(board, circuit, fitted, powered):
        found.append((AlertLevel.WARNING, message("power-warn-burst", refs=in_short(refs))))
    if board.facts.program:
        found.append((AlertLevel.CAUTION, message("power-caution-programmer")))
    if limit and (limit.nominal or 0.0) > figure("first_limit"):
        found.append((AlertLevel.CAUTION, message("power-caution-limit", limit=amps(limit.nominal))))
    return tuple(found)


def _that_burst(board: Board, circuit: Circuit, fitted: frozenset[str], powered: Powered | None) -> list[str]:
    """Return the fitted electrolytic and tantalum capacitors that this stage may power; all of them without circuit."""
    kinds = {ref: part.identity.kind for ref, part in board.parts.items() if ref in fitted}
    held = [ref for ref, kind in kinds.items() if any(word in kind for word in _BURST)]
    if powered is not None:
        live = {node for node in powered.template.nodes if abs(powered.volts(node)) > 1.0}
        fed = {e.ref for e in circuit.elements if e.kind == "capacitor_polarised" and set(e.nodes) & live}
        held = [ref for ref in held if ref in fed]
    return sorted(held, key=natural_key)


def _programming(board: Board, outline: HoldOutline) -> Iterable[Message]:
    """Return how to program after this hold point: the plug pin by pin from the mating side, ground first, identity."""
    for job in board.facts.program:
        if job.after_hold_point != outline.name:
            continue
        pins = sorted((p for p in board.pins.values() if p.ref == job.at), key=lambda p: natural_key(p.number))
        listed = ", ".join(f"{pin.number} {pin.net or 'free'}" for pin in pins) or "see the drawing"
        yield message("power-step-program", part=job.part, plug=job.at or "its connector", pins=listed)
        yield message("power-step-identity", part=job.part, identity=job.identity or "what it should say (not stated)")
