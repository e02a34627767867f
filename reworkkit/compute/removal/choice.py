"""Save the part or the board, and by which way: by cost, rarity, the state of the part, and what each joint asks."""

from collections.abc import Sequence

from reworkkit.compute.removal.shape import is_power_part
from reworkkit.model.designator import natural_key
from reworkkit.model.facts import BenchFacts, PartFacts
from reworkkit.model.job import PlaceState
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.removal import PinHeat, Save
from reworkkit.model.results import HeatDemand
from reworkkit.model.vocabulary import HeatClass, PartState
from reworkkit.tables import Row, rows
from reworkkit.tables.marks import not_fitted_again

_CLASSES = tuple(HeatClass)


def what_to_save(part: Part, state: PlaceState | None, facts: PartFacts | None) -> tuple[Save, Message]:
    """Return what is worth more, and why: the board, unless a sound part is rare or dear."""
    if state is not None and state.part is PartState.DAMAGED:
        return Save.BOARD, message("save-board-damaged")
    if not_fitted_again(part.identity.kind):
        return Save.BOARD, message("save-board-never-again")
    if facts is not None and facts.rare:
        return Save.PART, message("save-part-rare")
    if facts is not None and facts.dear:
        return Save.PART, message("save-part-dear")
    return Save.BOARD, message("save-board-cheap")


def pins_in_order(demands: Sequence[HeatDemand], nets: dict[str, str | None]) -> tuple[PinHeat, ...]:
    """Return the joints in the order to free them: the lightest first, the one that asks most last.

    So the part comes away in the moment its last and heaviest joint flows, and nothing is left to pull at.
    """
    ordered = sorted(demands, key=lambda d: (d.sort_c or 0.0, _CLASSES.index(d.heat_class), natural_key(d.pin or "")))
    return tuple(_pin(demand, nets.get(demand.pin or "")) for demand in ordered)


def _pin(demand: HeatDemand, net: str | None) -> PinHeat:
    setup = demand.recommended
    window = None
    for of, low, high in demand.windows:
        if setup is not None and (of.tip, of.preheat_c) == (setup.tip, setup.preheat_c):
            window = (low, high)
    return PinHeat(demand.pin or "", net, demand.heat_class, setup, window, demand.reachable, demand.remedy)


def way_off(part: Part, shape: str, save: Save, pins: Sequence[PinHeat], bench: BenchFacts) -> Row | None:
    """Return the row of removal_methods.csv to follow, or None where nothing at the bench will do."""
    heaviest = max((_CLASSES.index(pin.heat_class) for pin in pins), default=0)
    out_of_reach = any(pin.reachable is False for pin in pins)
    for row in rows("removal_methods"):
        fits = shape in row["shape"].split("|") and row["save"] in ("any", save.value)
        able = heaviest <= _CLASSES.index(HeatClass(row["most"])) and not (row["reached"] == "yes" and out_of_reach)
        if fits and able and _at_hand(row, bench) and not (row["added"] == "low_melting" and is_power_part(part)):
            return row
    return None


def _at_hand(row: Row, bench: BenchFacts) -> bool:
    there = {"hot_air": bool(bench.hot_air), "preheat": bench.preheat is not None}
    return all(there[need] for need in row["needs"].split())
