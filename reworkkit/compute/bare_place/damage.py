"""What is known of each net after a part came off: damage on record, and what probes have shown since."""

from collections.abc import Iterable
from typing import NamedTuple

from reworkkit.compute.bare_place.spanning import Pair
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.job import Situation
from reworkkit.model.judging import point_key
from reworkkit.model.measuring import Reading
from reworkkit.model.netlist import Pin
from reworkkit.model.vocabulary import Mode, ReadingForm, SiteDamage
from reworkkit.tables import rows

Names = dict[str, list[Pin]]


class Damage(NamedTuple):
    """Pins whose land or barrel is gone, pins that must be proven, nets that are no longer taken for whole."""

    lost: dict[str, SiteDamage]
    doubtful: frozenset[str]
    broken_nets: frozenset[str]
    repaired: frozenset[str]
    """Pins with a wire: what was read open there before no longer counts."""


def limit(key: str) -> float:
    """Return a figure of probe_limits.csv, in the unit of its row."""
    return next(float(row["value"]) for row in rows("probe_limits") if row["key"] == key)


def pin_name(pin: Pin) -> str:
    """Return a pin as it is typed: `U5.4`."""
    return f"{pin.ref}.{pin.number}"


def damage_on(board: Board, names: Names, situation: Situation) -> Damage:
    """Return what the record of damage says of each pin; the last word on a point counts.

    A plated hole that lost one land still has its barrel: it is doubtful, not lost. A lost barrel or a cut track makes
    its net doubtful as a whole, but for a net with a plane, to which every pin has its own way.
    """
    latest: dict[str, SiteDamage] = {}
    for site in situation.sites:
        latest[point_key(site.point)] = site.kind
    lost: dict[str, SiteDamage] = {}
    doubtful: set[str] = set()
    broken: set[str] = set()
    repaired: set[str] = set()
    for point, kind in latest.items():
        for pin in names.get(point, []):
            name, hole = pin_name(pin), any(pad.drill_mm for pad in pin.pads)
            gone = kind is SiteDamage.BARREL_LOST or (kind is SiteDamage.LAND_LOST and not hole)
            if gone:
                lost[name] = kind
            else:
                doubtful.add(name)
            if kind is SiteDamage.WIRE_REPAIR:
                repaired.add(name)
            if kind in (SiteDamage.BARREL_LOST, SiteDamage.TRACK_CUT) and pin.net:
                broken |= {pin.net} - set(board.facts.board.planes)
    return Damage(lost, frozenset(doubtful), frozenset(broken), frozenset(repaired))


def names_on(board: Board) -> Names:
    """Return the pins that each point names, in capitals: one pin, all pins of a part, or all pins of a net."""
    by_ref: Names = {}
    by_net: Names = {}
    for pin in board.pins.values():
        by_ref.setdefault(pin.ref.upper(), []).append(pin)
        if pin.net:
            by_net.setdefault(pin.net.upper(), []).append(pin)
    return {**by_ref, **by_net, **{pin_name(pin).upper(): [pin] for pin in board.pins.values()}}


def read_pairs(names: Names, situation: Situation, net: str) -> tuple[tuple[Pair, ...], tuple[Pair, ...]]:
    """Return the pairs of pins of a net that readings prove joined, and those read as open; the newest counts.

    Only readings without power, in ohms or continuity, that are not older than the last work on either place. A
    reading that jumps or rises proves nothing.
    """
    newest: dict[Pair, Reading] = {}
    for reading in situation.readings:
        pair = _pair(names, reading, net)
        if pair is not None and _still_holds(situation, reading, pair):
            newest[pair] = reading
    joined = tuple(pair for pair, reading in newest.items() if _joins(reading))
    parted = tuple(pair for pair, reading in newest.items() if _parts(reading))
    return joined, parted


def _pair(names: Names, reading: Reading, net: str) -> Pair | None:
    if reading.hold_point is not None or reading.mode not in (Mode.OHMS, Mode.CONTINUITY):
        return None
    ends = [names.get(end, []) for end in point_key(reading.point).split(" to ")]
    if len(ends) != 2:
        return None
    of_net = [sorted((pin_name(pin) for pin in pins if pin.net == net), key=natural_key) for pins in ends]
    if not of_net[0] or not of_net[1] or len(of_net[0]) > 1 or of_net[0][0] == of_net[1][0]:
        return None
    one, other = sorted((of_net[0][0], of_net[1][0]), key=natural_key)
    return one, other


def _still_holds(situation: Situation, reading: Reading, pair: Pair) -> bool:
    changed = [state.changed for pin in pair if (state := situation.states.get(pin.rpartition(".")[0])) is not None]
    return reading.event is None or all(last is None or last < reading.event for last in changed)


def _joins(reading: Reading) -> bool:
    return reading.form is ReadingForm.VALUE and (reading.value or 0.0) <= limit("continuity_most_ohm")


def _parts(reading: Reading) -> bool:
    above = reading.form is ReadingForm.VALUE and (reading.value or 0.0) > limit("continuity_most_ohm")
    return above or reading.form is ReadingForm.OVER_RANGE


def lands_of(pins: Iterable[Pin]) -> dict[str, int]:
    """Return how many lands each pin has: a plated hole has one on each side."""
    return {pin_name(pin): sum(2 if pad.drill_mm and pad.plated else 1 for pad in pin.pads) or 1 for pin in pins}
