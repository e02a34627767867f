"""Which nets are ground, which are rails and at what voltage: by board.toml, else by name."""

import re

from reworkkit.compute.circuit.figures import Figures, around
from reworkkit.model.board import Board
from reworkkit.model.messages import Message, message
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

GROUND_NAMES = ("GND", "0V", "VSS", "GROUND", "MASSE", "DGND", "PGND", "AGND", "GNDD", "GNDA", "EARTH")
_FIGURE = r"(?P<sign>[+-])?(?P<a>\d{1,3})(?:(?P<p>[V.,])(?P<b>\d{1,2})?)?"
_RAIL = re.compile(
    rf"^(?:[VP](?:CC|DD|DDA|DDIO|BUS|IN|OUT|SYS|BAT)?[_ ]?)?{_FIGURE}(?P<v>V)?(?:[_ ]?[A-Z]{{0,6}}\d?)?$"
)
_USUAL = {"VBUS": 5.0, "V5": 5.0, "V9": 9.0, "V12": 12.0, "V15": 15.0, "V24": 24.0, "V33": 3.3, "V25": 2.5, "V18": 1.8}
"""Names that tell a voltage by habit only; `V1`, `V2` are as often signals and tell nothing."""
RAIL_TOLERANCE_PERCENT = 5.0


def ground_nets(board: Board) -> tuple[str, ...]:
    """Return the ground nets, the one with most pins first: by board.toml, else by name."""
    named = tuple(net for net in board.facts.board.ground if net in board.nets)
    found = named or tuple(name for name in board.nets if name.upper() in GROUND_NAMES)
    return tuple(sorted(found, key=lambda name: -len(board.nets[name].pins)))


def volts_of_name(name: str) -> float | None:
    """Return the voltage that a net's name tells, or None: `+3V3`, `5V_A`, `VCC_3V3`, `-12V`, `VBUS`.

    >>> [volts_of_name(n) for n in ("+3V3", "+12V", "-5V", "V33", "VCC_1V8", "5VA", "RESET", "D3", "VBUS", "V1_OUT")]
    [3.3, 12.0, -5.0, 3.3, 1.8, 5.0, None, None, 5.0, None]
    """
    text = name.upper().strip()
    if text in _USUAL:
        return _USUAL[text]
    found = _RAIL.match(text)
    if not found or not (found["sign"] or found["p"] or found["v"]):
        return None
    volts = float(f"{found['a']}.{found['b'] or 0}")
    return -volts if found["sign"] == "-" else volts


def rail_bands(board: Board, grounds: tuple[str, ...]) -> dict[str, tuple[Band, tuple[Message, ...]]]:
    """Return what each rail is meant to be: stated supplies and rails, else the voltage its name tells."""
    found: dict[str, tuple[Band, tuple[Message, ...]]] = {}
    for net in board.nets:
        volts = None if net in grounds else volts_of_name(net)
        if volts is not None:
            band = around(volts, RAIL_TOLERANCE_PERCENT, "V", BandBasis.TABLE)
            found[net] = band, (message("circuit-rail-by-name", net=net, band=band),)
    usual = Figures(board.own_tables).figure("supply_tolerance")
    for net, supply in board.facts.supplies.items():
        if supply.volts:
            percent = float(supply.tolerance.value) if supply.tolerance else usual
            found[net] = around(float(supply.volts.value), percent, "V"), ()
    for net, rail in board.facts.rails.items():
        if rail.volts:
            percent = float(rail.tolerance.value) if rail.tolerance else RAIL_TOLERANCE_PERCENT
            found[net] = around(float(rail.volts.value), percent, "V"), ()
    return found
