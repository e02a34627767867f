"""Which pin of a regulator is which: by name, by the maker's order of its outline, by its nets, by usual orders."""

import re
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.pin_roles import has_names, outlines_of, plain
from reworkkit.compute.circuit.regulator_types import figure, held_volts, is_adjustable, row_of
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element

_ROLES = ("IN", "OUT", "GND", "ADJ", "SW", "FB", "EN")
_USUAL = (
    ("SOT-23-5", "IN GND EN NC OUT"),
    ("SOT-223", "IN GND OUT"),
    ("SOT-223", "GND OUT IN"),
    ("SOT-23", "GND OUT IN"),
    ("SOT-23", "IN GND OUT"),
    ("SOT-89", "GND IN OUT"),
    ("SOT-89", "OUT GND IN"),
    ("TO-92", "OUT GND IN"),
    ("TO-92", "GND IN OUT"),
    ("TO-92", "IN GND OUT"),
    ("TO-252", "IN GND OUT"),
    ("TO-252", "GND OUT IN"),
    ("TO-220", "IN GND OUT"),
    ("TO-220", "GND OUT IN"),
    ("TO-263", "IN GND OUT"),
    ("SIP-3", "IN GND OUT"),
)
"""Usual orders of fixed positive regulators; one is taken only where it alone fits ground and rails (memory)."""

_FURTHER_NAMES = {
    "IN": ("VCC", "VDD", "V+", "VS", "VBAT", "PVCC", "VDDIN", "INPUTVOLTAGE", "IN+", "+IN"),
    "SW": ("L", "SWN", "COLLECTOR", "SWOUT", "LX1", "L1"),
    "OUT": ("OUTS", "VDDOUT", "VREG", "OUTPUTVOLTAGE", "OUT+", "+OUT"),
    "GND": ("IN-", "-IN", "VIN-", "-VIN"),
    "FB": ("FBX", "VADJ", "COMPIN", "INV", "SET", "SNS", "OUTSENSE", "VOUTSNS"),
}
"""Names that mean these roles on some converters; taken only where no pin has the usual name."""
_OWN_LEVEL = frozenset(
    ("OSC", "RT", "CT", "RTCT", "FREQ", "FSET", "ROSC", "ISET", "ITH", "COMP", "VC", "SS", "SOFTSTART", "SSTR", "TCAP")
)
"""Pins of converters that stand at a level of their own, which the circuit does not know."""
_COIL_KINDS = ("inductor", "diode", "transformer", "common_mode_choke")


class Pins(NamedTuple):
    """The nodes of a regulator's roles; a role it has no pin for is missing."""

    nodes: dict[str, str]
    told: tuple[Message, ...]


def pins_of(wiring: Wiring, part: Part, row: tables.Row | None) -> Pins | None:
    """Return the roles: by name, by the table's order for this outline, or by what the nets are."""
    named = _fed(wiring, part, _named(wiring, part))
    if complete(named):
        return Pins(named, ())
    spec = row["pins"] if row else ""
    if order := order_of(wiring, part, spec):
        found = _fed(wiring, part, by_order(wiring, part, order))
        if complete(found):
            return Pins(found | named, (message("circuit-role-by-table", ref=part.ref, order=order),))
    if told := _by_nets(wiring, part, row):
        return told
    if order := usual_order(wiring, part, spec):
        told_by = (message("circuit-role-by-usual-outline", ref=part.ref, order=order),)
        return Pins(_fed(wiring, part, by_order(wiring, part, order)) | named, told_by)
    return _by_usual_order(wiring, part, row, part.identity.outline)


def own_levels(wiring: Wiring, part: Part) -> list[Element]:
    """Return the nets that a converter holds at a level of its own by pins such as OSC and COMP, and VCC by number."""
    called = ((plain(pin.name or pin.number).replace("/", ""), pin.net) for pin in wiring.pins(part.ref))
    found = [net for name, net in called if name in _OWN_LEVEL]
    if not has_names(wiring, part) and (pins := pins_of(wiring, part, row_of(part, wiring.board.own_tables))):
        found += [
            net for role, net in pins.nodes.items() if role in _OWN_LEVEL or (role == "VCC" and "IN" in pins.nodes)
        ]
    nets = dict.fromkeys(net for net in found if net and net != wiring.ground)
    return [Element("unmodelled", part.ref, (net,), {}) for net in nets if not wiring.is_rail(net)]


def _fed(wiring: Wiring, part: Part, found: dict[str, str]) -> dict[str, str]:
    """Return the roles with the input of a step-up converter that is fed from its output: the far end of its coil."""
    if "IN" in found or not {"SW", "OUT", "GND"} <= set(found):
        return found
    coils = [one.ref for one in wiring.parts_on(found["SW"], part.ref) if one.identity.kind == "inductor"]
    ends = {net for ref in coils for net in wiring.nets_of(ref)} - {found["SW"]}
    return {**found, "IN": ends.pop()} if len(ends) == 1 else found


def _named(wiring: Wiring, part: Part) -> dict[str, str]:
    """Return the roles that pin names tell: the usual ones, else, of a part with named pins, further ones."""
    named = {role: node for role in _ROLES if (node := wiring.by_role(part, role))}
    if not has_names(wiring, part):
        return named
    taken = set(named.values())
    wanted = ("SW",) if complete(named) else tuple(_FURTHER_NAMES)
    for role, names in ((role, _FURTHER_NAMES[role]) for role in wanted):
        for pin in wiring.pins(part.ref):
            bare = re.sub(r"[^A-Z0-9+]", "", plain(pin.name or pin.number))
            if role not in named and bare in names and wiring.node(pin) not in taken:
                named[role] = wiring.node(pin)
    return named


def order_of(wiring: Wiring, part: Part, spec: str, spare: bool = False) -> str | None:
    """Return the pin order that a table gives for the outline, `SOT-23=GND OUT IN|TO-92=...`, or None.

    Where the list names no outline it is the one that all outlines of as many pins share, with ground at ground; with
    `spare`, also of those whose further leads are connected to nothing.
    """
    orders = [(start, order) for start, _, order in (entry.partition("=") for entry in spec.split("|")) if order]
    pins = wiring.pins(part.ref)
    if part.identity.named_outline:
        names = outlines_of(part)
        fitting = (order for name in names for start, order in orders if fits(name, start, order))
        return next((order for order in fitting if len(order.split()) >= len(pins) - 1), None)
    highest = max((int(pin.number) for pin in pins if pin.number.isdigit()), default=0)
    same = {order for _, order in orders if len(order.split()) == highest}
    if spare and not same:
        same = {order for _, order in orders if set(order.split()[highest:]) == {"NC"}}
    order = same.pop() if len(same) == 1 else ""
    low = by_order(wiring, part, order).get("GND", wiring.ground)
    return order if order and (low == wiring.ground or wiring.ground not in wiring.nets_of(part.ref)) else None


def usual_order(wiring: Wiring, part: Part, spec: str) -> str | None:
    """Return the first pin order of a table, its most usual outline, that the nets in use do not speak against.

    Only where the list names no outline. Leads may be connected to nothing, those without a role and the last ones.
    """
    if part.identity.named_outline:
        return None
    orders = (order for _, _, order in (entry.partition("=") for entry in spec.split("|")) if order)
    return next((order for order in orders if _agrees(wiring, part, order)), None)


def _agrees(wiring: Wiring, part: Part, order: str) -> bool:
    """Return whether nets and order go together: ground at ground, a coil or diode at the switch, nothing at spares."""
    found = _fed(wiring, part, by_order(wiring, part, order))
    roles = order.split()
    numbers = [int(pin.number) for pin in wiring.pins(part.ref) if pin.number.isdigit()]
    if not complete(found) or not numbers or max(numbers) > len(roles) + 1:
        return False
    if "." in found["IN"] or found["IN"] in (wiring.ground, found.get("OUT"), found.get("SW")):
        return False
    grounded = wiring.ground in wiring.nets_of(part.ref) and not _turns_over(wiring, part, found)
    if grounded and "GND" in found and found["GND"] != wiring.ground:
        return False
    if (tab := wiring.number(part, str(len(roles) + 1))) and tab not in found.values() and "." not in tab:
        return False
    spare = [wiring.number(part, str(n)) for n, role in enumerate(roles, 1) if role == "NC"]
    if any(node and node not in found.values() and _is_used(wiring, part, node) for node in spare):
        return False
    switch = found.get("SW")
    if switch and switch != wiring.ground and not _is_switched(wiring, part, switch):
        return False
    if (boot := found.get("BST")) and "." not in boot and not _has_kind(wiring, part, boot, ("capacitor",)):
        return False
    return "OUT" not in found or _is_downhill(wiring, found)


def _turns_over(wiring: Wiring, part: Part, found: dict[str, str]) -> bool:
    """Return whether a coil leads from the switch to ground: a step-down chip whose ground pin is its output."""
    coils = [one for one in wiring.parts_on(found.get("SW", ""), part.ref) if one.identity.kind == "inductor"]
    return any(wiring.ground in wiring.nets_of(coil.ref) for coil in coils)


def _is_downhill(wiring: Wiring, found: dict[str, str]) -> bool:
    """Return whether an output is a used net, and no rail above the input's of a part that cannot step up."""
    out, inside = found["OUT"], found["IN"]
    if "." in out or out == wiring.ground or out in wiring.board.facts.supplies:
        return False
    known = [abs(wiring.rails[net][0].nominal or 0.0) for net in (inside, out) if wiring.is_rail(net)]
    return "SW" in found or len(known) < len((inside, out)) or known[1] <= known[0]


def _is_used(wiring: Wiring, part: Part, node: str) -> bool:
    return node in wiring.board.nets and bool(wiring.parts_on(node, part.ref))


def _is_switched(wiring: Wiring, part: Part, node: str) -> bool:
    return _has_kind(wiring, part, node, _COIL_KINDS)


def _has_kind(wiring: Wiring, part: Part, node: str, kinds: tuple[str, ...]) -> bool:
    return any(one.identity.kind.startswith(kinds) for one in wiring.parts_on(node, part.ref))


def fits(package: str, start: str, order: str) -> bool:
    """Return whether an outline begins so and has as many leads as the order, or a tab more.

    >>> fits("SOT-23-5", "SOT-23", "GND OUT IN"), fits("TO-263-5", "TO-263", "IN SW GND FB EN")
    (False, True)
    """
    if not package.casefold().startswith(start.casefold()):
        return False
    count = re.match(r"-(\d+)", package[len(start) :])
    return count is None or int(count[1]) - len(order.split()) in (0, 1)


def by_order(wiring: Wiring, part: Part, order: str) -> dict[str, str]:
    """Return the nodes of the roles in the order of the pin numbers; of a role with several pins the first one's."""
    found: dict[str, str] = {}
    for number, role in enumerate(order.split(), 1):
        if role != "NC" and (node := wiring.number(part, str(number))):
            found.setdefault(role, node)
    return found


LIMITS_AT_V = 0.45
"""Voltage between output and limiting pin at which an L200 limits, 0.38 to 0.52 V; from memory."""


def limiting_ohm(wiring: Wiring, part: Part, row: tables.Row | None, out: str) -> float | None:
    """Return the resistor between output and limiting pin of a type that has one: it limits at `LIMITS_AT_V` / ohm."""
    net = limit_pin(wiring, part, row)
    return wiring.lone_resistor(out, net) if net else None


def limit_pin(wiring: Wiring, part: Part, row: tables.Row | None) -> str | None:
    """Return the net of the limiting pin of a type that has one."""
    orders = [outline.partition("=")[2].split() for outline in row["pins"].split("|")] if row else []
    number = next((order.index("LIM") + 1 for order in orders if "LIM" in order), 0)
    return (wiring.number(part, str(number)) or wiring.by_role(part, "LIM")) if number else None


def complete(roles: dict[str, str]) -> bool:
    """Return whether input, output or switch, and ground or adjust pin are all known."""
    return "IN" in roles and ("GND" in roles or "ADJ" in roles) and bool({"OUT", "SW"} & set(roles))


def _by_nets(wiring: Wiring, part: Part, row: tables.Row | None) -> Pins | None:
    """Return the roles of a linear regulator whose nets leave no doubt: ground, its own rail, one other.

    Its own rail is the one that board.toml says it makes, else the only one whose voltage is that of its type number.
    """
    nets = wiring.nets_of(part.ref)
    made = [net for net, rail in wiring.board.facts.rails.items() if rail.made_by == part.ref and net in nets]
    made = made or _rails_of_its_volts(wiring, part, row)
    others = [net for net in nets if net != wiring.ground and net not in made]
    others = [net for net in others if wiring.is_rail(net)] if len(others) > 1 else others
    if part.identity.kind != "linear_regulator" and len(nets) != len(("in", "out", "ground")):
        return None
    if wiring.ground not in nets or len(made) != 1 or len(others) != 1:
        return None
    nodes = {"IN": others[0], "OUT": made[0], "GND": wiring.ground}
    return Pins(nodes, (message("circuit-role-by-nets", ref=part.ref),))


def _rails_of_its_volts(wiring: Wiring, part: Part, row: tables.Row | None) -> list[str]:
    held = held_volts(part, row)
    if held is None or is_adjustable(part, row) or part.identity.kind != "linear_regulator":
        return []
    volts = abs(held.volts)
    near = (net for net in wiring.nets_of(part.ref) if wiring.is_rail(net) and net not in wiring.board.facts.supplies)
    return [net for net in near if abs(abs(wiring.rails[net][0].nominal or 0.0) - volts) <= 0.05 * volts]


def _by_usual_order(wiring: Wiring, part: Part, row: tables.Row | None, package: str) -> Pins | None:
    """Return the roles by the usual orders of the outline, where the nets speak for one of them and for no other."""
    negative = row is not None and (row["form"] == "negative" or figure(row, "volts"))
    if part.identity.kind != "linear_regulator" or negative or is_adjustable(part, row):
        return None
    orders = {order: by_order(wiring, part, order) for start, order in _USUAL if fits(package, start, order)}
    fitting = [(order, found) for order, found in orders.items() if complete(found) and _plausible(wiring, found)]
    if len(fitting) != 1:
        return None
    order, found = fitting[0]
    return Pins(found, (message("circuit-role-by-outline", ref=part.ref, order=order, pins=_numbers(order)),))


def _numbers(order: str) -> str:
    return " ".join(str(number) for number, _ in enumerate(order.split(), 1))


def _plausible(wiring: Wiring, roles: dict[str, str]) -> bool:
    """Return whether ground is at ground and the input not below the output's rail."""
    inside, out = roles["IN"], roles["OUT"]
    if roles["GND"] != wiring.ground or wiring.ground in (inside, out) or inside == out:
        return False
    at_in, at_out = (abs(wiring.rails[net][0].nominal or 0.0) if wiring.is_rail(net) else None for net in (inside, out))
    if out in wiring.board.facts.supplies or (at_in is None and at_out is None and "EN" not in roles):
        return False
    return at_in is None or at_out is None or at_out < at_in
