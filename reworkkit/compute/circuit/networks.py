"""Parts that hold several resistances: networks, potentiometers, four-terminal shunts, chokes with two windings."""

import re
from decimal import Decimal

from reworkkit.compute.circuit import conditions
from reworkkit.compute.circuit.diodes import roles
from reworkkit.compute.circuit.parts import by_light, pins_only, resistor, unmodelled
from reworkkit.compute.circuit.wiper import place_of_wiper
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

Pair = tuple[str, str]
NETWORK_PERCENT = 5.0
"""Spread of a resistor network whose list states none; 2 to 5 % are made (from memory)."""
POT_PERCENT = 20.0
"""Spread of a potentiometer's whole track; common practice."""
MATCHED_PERCENT = 5.0
"""Spread of a wiper's place that the list states (from memory: set by eye or by a meter)."""
_BUSSED = re.compile(
    r"buss?ed|(?<![a-z])bus(?![a-z])|common (?:pin|terminal|lead)|to common|star|stern|gemeinsam|point commun|"
    r"-101-|-(?:t0)?2-(?=\d)|(?<![a-z])a\d{3}[a-z](?![a-z])|x-101|(?<![a-z])sip[- ]?a(?![a-z])",
    re.IGNORECASE,
)
_ISOLATED = re.compile(
    r"isolated|isoliert|einzel|separate|independent|isol[ée]|-102-|-(?:t0)?1-(?=\d)|x-102|(?<![a-z])b\d{3}[a-z](?![a-z])|"
    r"convex|concave|chip array|r[_ ]?pack|cay16|cat16|"
    r"exb-?[23]8|exb-?a?[vn]8|yc[0-9]{3}|mnr[0-9]|742c|acas|(?<![0-9])4d0[2-4]",
    re.IGNORECASE,
)
_TERMINATOR = re.compile(
    r"terminat|dual res|r1/r2|thevenin|-104-|-3-(?=\d)|ladder|r-?2r|attenuator|divider", re.IGNORECASE
)
_COUNT = re.compile(
    r"(?<![\w.])(\d{1,2})\s?[x×*]\s?(?=\d|r)|x\s?(\d{1,2})(?![\w.])|(\d{1,2})\s?(?:isolated|resistors|widerst)", re.I
)
_EACH = re.compile(r"(?<![\w.])\d{1,2}\s?[x×*]\s?(\d[\w.,]*\s?(?:ohm|Ω)?)", re.I)
_SIP = re.compile(r"(?<![a-z])(?:sip|sil)[-_ ]?(\d{1,2})?|(?<![a-z])in[- ]line|r_array_sip", re.I)


def network(wiring: Wiring, part: Part) -> list[Element]:
    """Return the resistors of a network: isolated (opposite pins, or neighbours in one row), or to a common pin."""
    pins = wiring.pins(part.ref)
    ohm = _ohms(wiring, part)
    if ohm is None:
        wiring.ask((part.ref,), message("circuit-no-value", unit="ohm"))
        return pins_only(wiring, part)
    if len(pins) == len(("one", "other")):
        return [Element("resistor", part.ref, ends, {"resistance": ohm}) for ends in [wiring.two_ends(part)] if ends]
    pairs = _by_names(wiring, part)
    told: tuple[Message, ...] = ()
    if not pairs and not _TERMINATOR.search(words_of(part)):
        pairs, told = _by_form(wiring, part)
    if not pairs:
        answer = f'[parts] {part.ref} = {{ pins = {{ COM = "1", R1 = "2", R2 = "3" }} }}'
        wiring.ask((part.ref,), message("circuit-no-pins"), answer)
        return pins_only(wiring, part)
    return [Element("resistor", part.ref, ends, {"resistance": ohm}, told) for ends in pairs if ends[0] != ends[1]]


def _ohms(wiring: Wiring, part: Part) -> Band | None:
    """Return the value of one resistor; "4x10k" has the value after the count."""
    value = part.identity.value
    if value.main is not None and value.main.unit == "ohm":
        return wiring.of_value(part, "ohm", "network_tolerance")
    for text in (value.text, part.identity.description, part.identity.part_number):
        written = _EACH.search(text)
        found = parse_quantity(written[1].strip().replace(",", "."), "ohm") if written else None
        if found and found.value > Decimal(0):
            return _around(float(found.value))
    for text in part.identity.type_numbers:
        if code := _CODE.search(text.upper()):
            return _around(int(code[1]) * 10.0 ** int(code[2]))
    return None


_CODE = re.compile(r"(?:(?<!\d)|083|163|043)(\d\d)(\d)(?:[JGFK]|(?=LF)|$)")
"""Three figures of a type number, as CAY16-103J4 or 4816P-1-103 have them: two and the number of zeros."""


def _around(main: float) -> Band:
    spread = main * NETWORK_PERCENT / 100
    return Band(main - spread, main, main + spread, "ohm", BandBasis.STATED)


def _by_names(wiring: Wiring, part: Part) -> list[Pair]:
    """Return the resistors by names: R1.1 and R1.2, 1A and 1B, or a common pin and others."""
    named = roles(wiring, part)
    common = [p for name, pins in named.items() if re.match(r"(?:COM(?:MON)?\d?|C|BUS|COMM)$", name) for p in pins]
    if common and len({wiring.node(p) for p in common}) == 1:
        numbers = {p.number for p in common}
        middle = wiring.node(common[0])
        return [(middle, wiring.node(p)) for p in wiring.pins(part.ref) if p.number not in numbers]
    groups: dict[str, list[str]] = {}
    for name, pins in named.items():
        if found := re.match(r"R?(\d{1,2})[._-]?([12AB])$", name):
            groups.setdefault(found[1], []).extend(wiring.node(p) for p in pins)
    if len(groups) > 1 and all(len(nodes) <= 2 for nodes in groups.values()):
        return [(nodes[0], nodes[1]) for nodes in groups.values() if len(nodes) == 2]
    return []


def _by_form(wiring: Wiring, part: Part) -> tuple[list[Pair], tuple[Message, ...]]:
    """Return the resistors by the words of the list, else by the outline and its number of pins."""
    text = f"{words_of(part)} {part.identity.package_text}"
    in_row = bool(_SIP.search(text))
    total = _pin_count(wiring, part, text, in_row)
    if total is None:
        return [], ()
    bussed, isolated = bool(_BUSSED.search(text)), bool(_ISOLATED.search(text))
    form = "bussed" if bussed and not isolated else "isolated" if isolated and not bussed else None
    told: tuple[Message, ...] = ()
    if form is None:
        form = "bussed" if in_row and (total % 2 or _common_at_rail(wiring, part)) else None if in_row else "isolated"
        told = (message("circuit-network-form", ref=part.ref, form=str(form)),)
    if form is None:
        return [], ()
    at = wiring.number
    if form == "bussed":
        common = "1" if in_row else str(total)
        order = [(common, str(n)) for n in range(1, total + 1) if str(n) != common]
    elif in_row:
        order = [(str(n), str(n + 1)) for n in range(1, total, 2)]
    else:
        order = [(str(n), str(total + 1 - n)) for n in range(1, total // 2 + 1)]
    pairs = [(one, other) for a, b in order if (one := at(part, a)) and (other := at(part, b))]
    return pairs, told


def _common_at_rail(wiring: Wiring, part: Part) -> bool:
    first = wiring.number(part, "1")
    return first is not None and (first == wiring.ground or wiring.is_rail(first))


def _pin_count(wiring: Wiring, part: Part, text: str, in_row: bool) -> int | None:
    """Return how many pins the part has: by its outline, by the number of resistors, else the highest pin in use."""
    package = part.identity.package
    written = _SIP.search(text)
    most = max((int(pin.number) for pin in wiring.pins(part.ref) if pin.number.isdigit()), default=0)
    counts: list[int] = []
    if package and package.pins > 2:
        counts.append(package.pins)
    if written and written[1]:
        counts.append(int(written[1]))
    if dual := re.search(
        r"(?:DI[PL]|SO(?:IC|P)?|TSSOP|SSOP|QSOP)[-_ ]?(\d{1,2})(?!\d)", part.identity.package_text, re.I
    ):
        counts.append(int(dual[1]))
    if count := _COUNT.search(text):
        resistors = int(count[1] or count[2] or count[3])
        counts.append(resistors + 1 if in_row and _BUSSED.search(text) else 2 * resistors)
    found = next((n for n in counts if n >= most), None)
    return found or (most if most > 2 and (in_row or most % 2 == 0) else None)


def potentiometer(wiring: Wiring, part: Part) -> list[Element]:
    """Return the track on both sides of the wiper: where it stands is not known unless the list or [parts] says so."""
    value = part.identity.value
    if value.main is None or value.main.unit != "ohm":
        wiring.ask((part.ref,), message("circuit-no-value", unit="ohm"))
        return pins_only(wiring, part)
    track = float(value.main.value)
    ends = _track(wiring, part)
    if ends is None:
        return unmodelled(wiring, part)
    first, wiper, last, told = ends
    if wiper is None:
        return [_part_of_track(part, (first, last), track, (1 - POT_PERCENT / 100, 1 + POT_PERCENT / 100), 1.0, told)]
    share, role = place_of_wiper(wiring, part, track, (first, last)), wiring.facts(part.ref).role
    if share is None and role:
        answer = f'[parts] {part.ref} = {{ role = "at 30 %" }}'
        wiring.ask((part.ref,), message("circuit-role-not-read", role=role), answer)
    spread = (0.1, 1.0) if share is None else (-1.0, -1.0)
    said = message("circuit-wiper" if share is None else "circuit-wiper-stated", ref=part.ref)
    place = 0.5 if share is None else share
    found = []
    for nodes, own in (((first, wiper), place), ((wiper, last), 1 - place)):
        if nodes[0] == nodes[1]:
            continue
        low, high = spread
        if share is not None:
            off = (POT_PERCENT * own + MATCHED_PERCENT) / 100
            low, high = max(own - off, 0.01), own + off
        found.append(_part_of_track(part, nodes, track, (low, high), max(own, 0.005), (*told, said)))
    return found


def _part_of_track(
    part: Part, nodes: Pair, track: float, spread: tuple[float, float], share: float, told: tuple[Message, ...]
) -> Element:
    band = Band(spread[0] * track, share * track, spread[1] * track, "ohm", BandBasis.STATED)
    return Element("resistor", part.ref, nodes, {"resistance": band}, told)


def _track(wiring: Wiring, part: Part) -> tuple[str, str | None, str, tuple[Message, ...]] | None:
    """Return one end, the wiper (None where it is on no net of the list), the other end, and what was taken for it."""
    pins = wiring.pins(part.ref)
    named = roles(wiring, part)
    wiper = [
        p
        for name, ps in named.items()
        if re.match(r"(?:W|WIPER|S|SL|SCHLEIFER|CUR|CURSOR|MID|WIP|CENTER|CENTRE)$", name)
        for p in ps
    ]
    told: tuple[Message, ...] = ()
    if not wiper:
        wiper = [pin for pin in pins if pin.number == "2"]
        told = (message("circuit-role-by-pin", ref=part.ref, role="wiper", pin="2"),)
    others = [pin for pin in pins if pin not in wiper]
    if len(others) > 2 or not others or len(wiper) > 1:
        return None
    nodes = [wiring.node(pin) for pin in others]
    if len(nodes) == 1:
        return (nodes[0], None, wiring.node(wiper[0]), told) if wiper else None
    return nodes[0], wiring.node(wiper[0]) if wiper else None, nodes[1], told if wiper else ()


_SHUNT = re.compile(
    r"shunt|current[ -]?sens|sense|kelvin|four[ -]?(?:terminal|wire)|4[ -]?(?:terminal|wire)|messwiderstand", re.I
)


def fixed_resistor(wiring: Wiring, part: Part) -> list[Element]:
    """Return a resistor; one with four pins on more than two nets is a four-terminal shunt or a network."""
    nets = wiring.nets_of(part.ref)
    if conditions.by_light(part):
        return by_light(wiring, part)
    if _VARIABLE.match(part.ref) and len(wiring.pins(part.ref)) == 3:
        return potentiometer(wiring, part)
    if len(nets) < 3:
        return resistor(wiring, part)
    value = part.identity.value.main
    low = value is not None and value.unit == "ohm" and value.value < 1
    if len(wiring.pins(part.ref)) == 4 and (low or _SHUNT.search(words_of(part))):
        return _shunt(wiring, part)
    if len(nets) > 3:
        return network(wiring, part)
    adjusts = re.search(r"adjust|variable|trim", words_of(part), re.IGNORECASE)
    return potentiometer(wiring, part) if adjusts else unmodelled(wiring, part)


_VARIABLE = re.compile(r"(?:RV|VR|POT|TRIM|PR|P)\d")
"""Class letters of a variable resistor, where its value is in ohms and it has three leads."""


def _shunt(wiring: Wiring, part: Part) -> list[Element]:
    """Return a four-terminal shunt: its resistance between two pins, the others joined to those; 1 and 4 carry."""
    ohm = wiring.of_value(part, "ohm", "resistor_tolerance")
    if ohm is None:
        return unmodelled(wiring, part)
    named = roles(wiring, part)
    signs = (r"(?:\+|P|1|IN)", r"(?:-|N|2|OUT)")
    called = [(re.compile(rf"(?:I|S|V|F|SENSE|FORCE)_?{sign}$"), named) for sign in signs]
    sides = [
        [wiring.node(p) for name, pins in names.items() for p in pins if form.match(name)] for form, names in called
    ]
    told: tuple[Message, ...] = ()
    if any(len(side) != 2 for side in sides):
        numbered = [wiring.number(part, str(n)) for n in range(1, 5)]
        if None in numbered:
            return unmodelled(wiring, part)
        one, two, three, four = (str(node) for node in numbered)
        sides = [[one, two], [four, three]]
        told = (message("circuit-role-by-pin", ref=part.ref, role="current in, with sense 2", pin="1"),)
    joints = [Element("link", part.ref, (a, b), {"resistance": wiring.default("link")}) for a, b in sides if a != b]
    return [Element("resistor", part.ref, (sides[0][0], sides[1][0]), {"resistance": ohm}, told), *joints]


def common_mode_choke(wiring: Wiring, part: Part) -> list[Element]:
    """Return the two windings of a choke: by names, else by the nets, else 1 to 2 and 3 to 4 or 1 to 4 and 2 to 3.

    Two nets that the rest of the board tells apart as ground and its like, and as supply and its like, are ends of one
    winding: a winding never joins ground to a supply.
    """
    ohm = {"resistance": wiring.default("inductor")}
    nodes = {pin.number: wiring.node(pin) for pin in wiring.pins(part.ref)}
    told: tuple[Message, ...] = (wiring.assumed("inductor", part.ref),)
    if len(set(nodes.values())) == 2 and len(nodes) == 2:
        first, second = nodes.values()
        return [Element("inductor", part.ref, (first, second), ohm, told)]
    numbers = list(nodes)
    if len(numbers) != 4:
        return unmodelled(wiring, part)
    a, b, c, d = (nodes[n] for n in numbers)
    ways = {"1-2 3-4": ((a, b), (c, d)), "1-4 2-3": ((a, d), (b, c)), "1-3 2-4": ((a, c), (b, d))}
    fitting = [way for way, pairs in ways.items() if all(_may_join(wiring, *pair) for pair in pairs)]
    if not fitting:
        return unmodelled(wiring, part)
    by_nets = [way for way in fitting if any(wiring.ground in pair for pair in ways[way])] if len(fitting) == 1 else []
    chosen = fitting[0]
    told = (*told, message("circuit-choke-by-nets" if by_nets else "circuit-choke-by-pins", ref=part.ref, pins=chosen))
    return [Element("inductor", part.ref, pair, ohm, told) for pair in ways[chosen] if pair[0] != pair[1]]


def _may_join(wiring: Wiring, one: str, other: str) -> bool:
    """Return whether a winding may lie between two nets: none from what looks like ground to a supply."""
    kinds = {_sort(wiring, one), _sort(wiring, other)}
    return not {"low", "high"} <= kinds


def _sort(wiring: Wiring, net: str) -> str:
    if net == wiring.ground or re.match(r"[ADP]?GND|.*(?:GND|0V|VSS|MINUS|_N$|-$|RTN|RETURN)", net, re.I):
        return "low"
    if wiring.is_positive_rail(net) or re.match(r"\+|V(?!SS)|.*(?:VIN|VCC|VDD|PLUS|_P$|\+$|VBUS|VM)", net, re.I):
        return "high"
    return "unknown"
