"""Whether a board works on one side of ground only: nothing on it tells of a net below ground."""

import re

from reworkkit.compute.potentials.levels import Levels, chip_roles
from reworkkit.model.connections import Connections

_BELOW = re.compile(
    r"(?:^|[_\-. ])(?:NEG|VNEG|MINUS|VEE|N\d+V\d*|VN\d+|AC\d?|VAC)(?:$|[_\-. \d])|^-|NEG$|^VN[A-Z]*$", re.IGNORECASE
)
_BOTH_WAYS = re.compile(r"RS-?232|bipolar supply|modem|telephone|mains|alternating", re.IGNORECASE)
_WINDINGS = frozenset({"transformer"})
_MAKES_BELOW = frozenset({"NEG", "NIN", "C-", "OUTN", "-VOUT", "VOUT-", "-OUT"})
"""Pins of chips that go below ground, unless they are tied to it: the return of an isolated converter."""
_LEAST_V = -1.5


def is_one_sided(wires: Connections, levels: Levels) -> bool:
    """Return whether there is a ground, and no net or part is known, stated or called below it or alternating."""
    if not levels.grounds or any(_is_below(levels, net) for net in wires.board.nets):
        return False
    for ref, part in wires.board.parts.items():
        words = f"{part.identity.description} {part.identity.value.text}"
        if part.identity.kind in _WINDINGS or (part.identity.kind != "led" and _BOTH_WAYS.search(words)):
            return False
        roles = chip_roles(wires, ref)
        if any(roles.get(pin.number) in _MAKES_BELOW and pin.net not in levels.grounds for pin in wires.pins(ref)):
            return False
    return True


def _is_below(levels: Levels, net: str) -> bool:
    called = _BELOW.search(net) and not levels.is_switched_return(net)
    return bool(called) or _goes_below(levels, net)


def _goes_below(levels: Levels, net: str) -> bool:
    level = levels.of(net)
    if level is None:
        return False
    return level.kind == "both" or (level.low_v is None and level.high_v is not None) or (level.low_v or 0.0) < _LEAST_V
