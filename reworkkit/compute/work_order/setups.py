"""Which tip, setting and preheat each part is worked with: as few different ones as its heat demand leaves open."""

from collections.abc import Iterable, Mapping

from reworkkit.model.board import Board
from reworkkit.model.part import Part
from reworkkit.model.results import HeatDemand, SetUp
from reworkkit.model.vocabulary import HeatBasis, HeatClass

TIPS = {
    HeatClass.LIGHT: "small",
    HeatClass.MODERATE: "medium",
    HeatClass.HEAVY: "large",
    HeatClass.VERY_HEAVY: "large",
}
"""Where only the class of a part is known (common practice, no source)."""
PREHEAT_C = 100
"""Preheat of a populated mixed board, degrees Celsius: at most 110 (common practice, no source)."""

Window = tuple[int, int]


def common_setups(board: Board, refs: tuple[str, ...], heat: Mapping[str, HeatDemand]) -> dict[str, SetUp]:
    """Return the set-up of each part: its own tip and preheat, and a setting it shares with as many as possible."""
    chosen: dict[str, SetUp] = {}
    windows: dict[SetUp, dict[str, Window]] = {}
    for ref in refs:
        demand, side = heat.get(ref), _side(board, ref)
        start = demand.recommended if demand else None
        package = board.parts[ref].identity.package
        if package is not None and package.hidden_pads:
            chosen[ref] = SetUp("hot air", side=side, preheat_c=_preheat_of_class(demand))
        elif demand is None or demand.basis is HeatBasis.CLASS or start is None:
            chosen[ref] = SetUp("iron", _tip_of_class(demand), None, _preheat_of_class(demand), side)
        else:
            tool = start._replace(setting_c=None, side="")
            windows.setdefault(tool, {})[ref] = _window(demand, tool)
    for tool, of_tool in windows.items():
        for ref, setting_c in fewest_settings(of_tool).items():
            chosen[ref] = tool._replace(setting_c=setting_c, side=_side(board, ref))
    return chosen


def _window(demand: HeatDemand, tool: SetUp) -> Window:
    for setup, low, high in demand.windows:
        if (setup.tip, setup.preheat_c) == (tool.tip, tool.preheat_c):
            return low, high
    setting = demand.recommended.setting_c if demand.recommended else None
    return (setting or 0, setting or 0)


def fewest_settings(windows: Mapping[str, Window]) -> dict[str, int]:
    """Return a setting for each part out of its window (lowest, highest), using as few settings as possible, each low.

    Windows sorted by their upper end are taken into one group while they still share a setting: that gives the fewest
    groups (interval stabbing). A group's setting is the lowest that all of them share.

    >>> fewest_settings({"R1": (290, 350), "U1": (320, 350), "J1": (360, 380)})
    {'R1': 320, 'U1': 320, 'J1': 360}
    """
    groups: list[tuple[int, list[str]]] = []
    for ref, (low, high) in sorted(windows.items(), key=lambda item: (item[1][1], item[1][0])):
        if groups and low <= groups[-1][0]:
            groups[-1][1].append(ref)
        else:
            groups.append((high, [ref]))
    return {
        ref: setting for refs in (group for _, group in groups) for setting in [_lowest(windows, refs)] for ref in refs
    }


def _lowest(windows: Mapping[str, Window], refs: Iterable[str]) -> int:
    return max(windows[ref][0] for ref in refs)


def _side(board: Board, ref: str) -> str:
    place = board.placements.get(ref)
    return place.side.value if place else ""


def _tip_of_class(demand: HeatDemand | None) -> str:
    return TIPS[demand.heat_class] if demand else "medium"


def _preheat_of_class(demand: HeatDemand | None) -> int | None:
    return PREHEAT_C if demand and demand.heat_class is HeatClass.VERY_HEAVY else None


def is_very_heavy(part: Part, heat: Mapping[str, HeatDemand]) -> bool:
    """Return whether a part's heaviest joint asks for preheat or the largest tip."""
    demand = heat.get(part.ref)
    return demand is not None and demand.heat_class is HeatClass.VERY_HEAVY
