"""What [loads] states of what a net carries: amps or ohms, or the watts of a load that is rated for some volts."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from reworkkit.errors import ReworkkitError
from reworkkit.model.designator import canonical
from reworkkit.model.facts import BoardFacts, LoadFacts
from reworkkit.model.net_names import is_ground_name
from reworkkit.model.netlist import Pin
from reworkkit.model.values import Quantity, Where
from reworkkit.read.facts_names import BOARD_FILE
from reworkkit.read.toml_lines import Path, nearest_line

_BESIDE = re.compile(r"[()@~≈]|(?<!\+)/|(?<!\S)at(?!\S)", re.I)


def plain_words(text: str) -> str:
    """Return the short form of a load without the signs between its figures: each is told by its unit.

    >>> plain_words("80 mA @ 12 V (the fan)").split()
    ['80', 'mA', '12', 'V', 'the', 'fan']
    """
    return _BESIDE.sub(" ", text)


def loads_in_amps(facts: BoardFacts, lines: Mapping[Path, int], problems: list[ReworkkitError]) -> dict[str, LoadFacts]:
    """Return the loads with watts turned into amps by their volts, or the net's; what cannot be so is a problem."""
    found = {}
    for net, one in facts.loads.items():
        where = (Where(BOARD_FILE, nearest_line(lines, ("loads", net))),)
        if one.amps and one.ohms:
            problems.append(ReworkkitError("load-amps-and-ohms", where=where, net=net, amps=one.amps, ohms=one.ohms))
        elif one.watts and not one.amps and not one.ohms:
            volts = _volts(facts, net, one)
            if volts is None:
                problems.append(ReworkkitError("load-watts-without-volts", where=where, net=net, watts=one.watts))
            else:
                text = f"{one.watts.text} at {volts.text}"
                one = replace(one, amps=Quantity(one.watts.value / abs(volts.value), "A", text))
        found[net] = one
    return found


def _volts(facts: BoardFacts, net: str, load: LoadFacts) -> Quantity | None:
    """Return what the watts of a load are at: its own volts, else those stated of its net; None for none, or 0 V."""
    of_net = (section[net].volts for section in (facts.rails, facts.supplies) if net in section)
    found = load.volts or next((volts for volts in of_net if volts), None)
    return found if found and found.value else None


def loads_at_nets(facts: BoardFacts, pins: Iterable[Pin]) -> BoardFacts:
    """Return the facts with loads that name a part (`J2 = "36 ohm"`) put at its net that is not ground.

    Of a part with more nets it is the only one that is a rail or a supply. A net of that name wins, and so does what
    is stated of that net itself.
    """
    nets: dict[str, list[str]] = {}
    names: set[str] = set()
    for pin in pins:
        if pin.net and pin.net not in nets.setdefault(pin.ref, []):
            nets[pin.ref].append(pin.net)
        names.add(pin.net or "")
    loads = {net: one for net, one in facts.loads.items() if net in names}
    for name, one in facts.loads.items():
        if name in names:
            continue
        free = [net for net in _ends(facts, nets.get(canonical(name), [])) if net not in loads]
        loads[free[0] if free else name] = replace(one, part=one.part or canonical(name)) if free else one
    return facts if loads.keys() == facts.loads.keys() else replace(facts, loads=loads)


def _ends(facts: BoardFacts, nets: Sequence[str]) -> list[str]:
    """Return the nets that a load at a part may be at, the likeliest first; none where several are as likely."""
    ground = facts.board.ground
    above = [net for net in nets if not (net in ground if ground else is_ground_name(net))]
    fed = [net for net in above if net in facts.rails or net in facts.supplies]
    if len(nets) > len(("one", "other")):
        return fed if len(fed) == 1 else []
    return sorted(above or nets, key=lambda net: net not in fed)
