"""Diodes with two or three leads, bridge rectifiers: which pins each junction has, and what it drops."""

import re

from reworkkit.compute.circuit.figures import around, diode_key, stated
from reworkkit.compute.circuit.parts import link, pins_only, polar_ends, unmodelled
from reworkkit.compute.circuit.wiring import Wiring, number_of, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.netlist import Pin
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band

Pair = tuple[str, str]
"""Anode and cathode of one junction."""
_COMMON_CATHODE = re.compile(
    r"common[ -]cathode|gemeinsame[r]? k|cathode commune|c\.?cathode|(?<![a-z])cc(?![a-z])", re.I
)
_COMMON_ANODE = re.compile(r"common[ -]anode|gemeinsame[r]? a|anode commune|c\.?anode|(?<![a-z])ca(?![a-z])", re.I)
_SERIES_PAIR = re.compile(r"series[ -](?:pair|connected)|dual series|in series", re.I)
_FORWARD = re.compile(r"(?<![a-z])(?:v_?f|u_?f|forward)[ :=]*(\d(?:[.,]\d+)?)\s?V", re.I)
_MOST_BRIDGE_PINS = 5
_WIRE = re.compile(
    r"(?<![a-z])(?:wire|draht(?:brücke)?|fil|filo|alambre|hilo|drut|draad|tråd|link|mm²|mm2|awg)(?![a-z])",
    re.I,
)


def with_forward(wiring: Wiring, part: Part, parameters: dict[str, Band]) -> dict[str, Band]:
    """Return the parameters with the forward drop of board.toml, else of the row's words, where one states it."""
    forward = stated(wiring.facts(part.ref).forward, 5)
    written = _FORWARD.search(words_of(part))
    if forward is None and written:
        forward = around(float(written[1].replace(",", ".")), 8, "V")
    return {**parameters, "forward": forward} if forward else dict(parameters)


def diode(wiring: Wiring, part: Part) -> list[Element]:
    """Return one element a junction."""
    pairs, told = junctions(wiring, part)
    if not pairs:
        return unmodelled(wiring, part)
    key, by_default = _family(part)
    if by_default:
        told = (*told, message("circuit-diode-family", ref=part.ref))
    kind = "schottky" if key.startswith("schottky") else "diode"
    parameters = with_forward(wiring, part, wiring.drop(key))
    return [Element(kind, part.ref, pair, parameters, told) for pair in pairs]


def _family(part: Part) -> tuple[str, bool]:
    """Return the row of `forward_drops.csv` and whether neither number nor words told it."""
    words = f"{part.identity.kind.replace('_', ' ')} {words_of(part)}" if "schottky" in part.identity.kind else ""
    key = None
    for number in part.identity.type_numbers:
        key = key or diode_key(number, "")
    key = key or diode_key("", words or words_of(part))
    if "schottky" in part.identity.kind and (key is None or not key.startswith("schottky")):
        key = "schottky_power"
    return (key, False) if key else ("silicon_unknown", True)


def junctions(wiring: Wiring, part: Part) -> tuple[list[Pair], tuple[Message, ...]]:
    """Return the (anode, cathode) pairs of a diode: names, table of types, words of the list, pins of two leads."""
    if named := _named(wiring, part):
        return named, ()
    pins = wiring.pins(part.ref)
    numbers = {pin.number for pin in pins}
    for number in part.identity.type_numbers:
        for row in wiring.pinouts:
            wanted = {n for pair in row["junctions"].split() for n in pair.split(">")}
            inside = len(pins) >= 3 or (len(numbers) == 2 and "3" in numbers and numbers <= wanted)
            inside = inside and (len(pins) < 6 or len(wanted) > 3)
            if inside and number and re.match(row["pattern"], number, re.IGNORECASE):
                found = _of_numbers(wiring, part, row["junctions"])
                return found, (message("circuit-role-by-type", ref=part.ref),)
    if len(pins) >= 3 and len(wiring.nets_of(part.ref)) >= 2 and (pairs := _by_words(wiring, part)):
        return pairs, (message("circuit-role-by-type", ref=part.ref),)
    ends = wiring.two_ends(part)
    if ends is None:
        return [], ()
    pair, told = polar_ends(wiring, part, "anode", "cathode", ends)
    return [pair], told


def _of_numbers(wiring: Wiring, part: Part, written: str) -> list[Pair]:
    pairs = [pair.split(">") for pair in written.split()]
    found = [(wiring.number(part, a), wiring.number(part, k)) for a, k in pairs]
    return [(a, k) for a, k in found if a and k and a != k]


def roles(wiring: Wiring, part: Part) -> dict[str, list[Pin]]:
    """Return the pins of each name: as board.toml calls them, else the netlist; names in capitals, `_` for others.

    A pin that board.toml names beats the netlist's name for it.
    """
    stated_names = {number: name for name, number in wiring.facts(part.ref).pins.items()}
    found: dict[str, list[Pin]] = {}
    for pin in wiring.pins(part.ref):
        name = stated_names.get(pin.number) or pin.name or pin.number
        found.setdefault(name.strip().upper().replace(" ", "_"), []).append(pin)
    return found


_ANODE, _CATHODE = re.compile(r"(?:A|AN|ANODE)[_-]?\w{0,6}$"), re.compile(r"(?:K|C|CA|KA|CATHODE|KATHODE)[_-]?\w{0,6}$")
_BOTH = re.compile(r"(?:A\d?K\d?|K\d?A\d?|AK|KA|COM(?:MON)?|A1K2|K1A2|A2K1|MID|CENTRE|CENTER)$")


def named_ends(wiring: Wiring, part: Part) -> tuple[list[tuple[str, Pin]], list[tuple[str, Pin]], list[Pin]]:
    """Return the pins called anode, called cathode (each with its name), and those that are an end of two junctions."""
    anodes: list[tuple[str, Pin]] = []
    cathodes: list[tuple[str, Pin]] = []
    both: list[Pin] = []
    for name, pins in roles(wiring, part).items():
        if _BOTH.match(name):
            both += pins
        elif _ANODE.match(name):
            anodes += [(name, pin) for pin in pins]
        elif _CATHODE.match(name):
            cathodes += [(name, pin) for pin in pins]
    return anodes, cathodes, both


def _named(wiring: Wiring, part: Part) -> list[Pair]:
    """Return the junctions by names: one anode and several cathodes, several and one, or A1 K1 A2 K2."""
    anodes, cathodes, both = named_ends(wiring, part)
    at = wiring.node
    if len(both) == 1 and len(wiring.pins(part.ref)) == 3:
        middle = at(both[0])
        if len(anodes) == 1 and len(cathodes) == 1:
            return [(at(anodes[0][1]), middle), (middle, at(cathodes[0][1]))]
        if not cathodes and len(anodes) == 2:
            return [(at(pin), middle) for _, pin in anodes]
        return [(middle, at(pin)) for _, pin in cathodes] if len(cathodes) == 2 and not anodes else []
    if not anodes or not cathodes:
        return []
    if len(cathodes) == 1 or len(anodes) == 1:
        pairs = [(at(a), at(k)) for _, a in anodes for _, k in cathodes]
    else:
        by_digit = {re.sub(r"\D", "", name): pin for name, pin in cathodes}
        pairs = [(at(a), at(by_digit[d])) for name, a in anodes if (d := re.sub(r"\D", "", name)) in by_digit]
    return list(dict.fromkeys(pair for pair in pairs if pair[0] != pair[1]))


def common_end(wiring: Wiring, part: Part) -> str | None:
    """Return whether the words of the list tell a common cathode ("K") or a common anode ("A")."""
    words = f"{words_of(part)} {wiring.facts(part.ref).kind or ''}"
    if _COMMON_CATHODE.search(words):
        return "K"
    return "A" if _COMMON_ANODE.search(words) else None


def _by_words(wiring: Wiring, part: Part) -> list[Pair]:
    """Return the junctions of a dual diode that no table knows: common pin 3 of a SOT-23, 2 of a power outline."""
    number, words = number_of(part), words_of(part)
    common = common_end(wiring, part)
    if common is None and re.search(r"\d(?:CT|C|CTG|CTQ|PT)(?![A-Z0-9])", number.upper()):
        common = "K"
    name = part.identity.outline
    small = name.upper().startswith(("SOT-23", "SOT-323", "SOT-523", "SC-7", "TO-236"))
    middle, first, last = ("3", "1", "2") if small else ("2", "1", "3")
    if common:
        order = {"K": f"{first}>{middle} {last}>{middle}", "A": f"{middle}>{first} {middle}>{last}"}[common]
        return _of_numbers(wiring, part, order)
    if small and _SERIES_PAIR.search(words):
        return _of_numbers(wiring, part, "1>3 3>2")
    return []


_PLUS = re.compile(r"(?:\+|P|POS|PLUS|DC\+|\+DC|V\+|\+V|OUT\+|VO\+|\+OUT|D\+|DC_?P(?:OS)?|B\+)$")
_MINUS = re.compile(r"(?:-|\u2212|N|NEG|MINUS|DC-|-DC|V-|-V|OUT-|VO-|-OUT|D-|DC_?N(?:EG)?|B-|GND)$")
_WAVE = re.compile(r"(?:~\d?|AC_?\w{0,3}|IN\d?|L\d?|A\d?|~[A-Z]|VAC\d?|ALT\d?|WAVE\d?|\d~)$")
_IN_LINE = re.compile(
    r"^(?:KBP|KBL|KBU|KBJ|GBU|GBJ|GBP|GBL|RS[1-6]0|GSIB|TS[0-9]|D\d+XB|D\d+SB|BU\d|PB\d|B\d+C\d+\w*/)", re.I
)
_ROUND = re.compile(r"^(?:W0|W[0-9]+M|2W|RB1|WOB|WOG|B\d+R|KBPC|GBPC|BR\d|MB\d{2,}|CM\d|B\d+C\d+R|VM\d)", re.I)
_PAIRED = re.compile(
    r"^(?:DF|DB\d|DBL|MB\d[SFM]|MB\d+S|ABS|HD0|TB\d|LB\d|MSB|MDB|UMB|DBLS|CDBHD|CBRHD|B\d+S|S\d+DB|TBS|RMB|ABF|HDS)",
    re.I,
)
_DIP = re.compile(r"(?:DIP|DIL|SMD|SOIC|SOP|DFM|DFS|DBS|MBS|MBM|ABS|TO-269)-?4?", re.I)
_SIP = re.compile(r"SIP|GBU|KBU|KBP|KBL|GBJ|in[ -]line", re.I)


def bridge_rectifier(wiring: Wiring, part: Part) -> list[Element]:
    """Return the four diodes of a bridge: pins by names, else by the nets, else by the usual order of its type.

    One of two leads that is of wire is a link.
    """
    pins = wiring.pins(part.ref)
    if len(pins) == len(("one", "other")) and _WIRE.search(f"{words_of(part)} {part.identity.package_text}"):
        return link(wiring, part)
    if len(pins) > _MOST_BRIDGE_PINS or len(wiring.nets_of(part.ref)) < 3:
        return unmodelled(wiring, part)
    found = _bridge_names(wiring, part)
    told: tuple[Message, ...] = ()
    if found is None and (by_nets := _bridge_nets(wiring, part)):
        found, told = by_nets, (message("circuit-bridge-by-nets", ref=part.ref, plus=by_nets[0], minus=by_nets[1]),)
    if found is None:
        found, told = _bridge_order(wiring, part)
    if found is None:
        answer = f'[parts] {part.ref} = {{ pins = {{ "+" = "1", "-" = "2", AC1 = "3", AC2 = "4" }} }}'
        wiring.ask((part.ref,), message("circuit-no-pins"), answer)
        return pins_only(wiring, part)
    plus, minus, *waves = found
    schottky = diode_key("", words_of(part)) == "schottky_power"
    parameters = with_forward(wiring, part, wiring.drop("schottky_power" if schottky else "silicon_rectifier"))
    kind = "schottky" if schottky else "diode"
    pairs = [(wave, plus) for wave in waves] + [(minus, wave) for wave in waves]
    return [Element(kind, part.ref, pair, parameters, told) for pair in pairs if pair[0] != pair[1]]


def _bridge_names(wiring: Wiring, part: Part) -> tuple[str, ...] | None:
    """Return plus, minus and the two wave nets by their names."""
    named = roles(wiring, part)
    plus = [wiring.node(pin) for name, pins in named.items() if _PLUS.match(name) for pin in pins]
    minus = [wiring.node(pin) for name, pins in named.items() if _MINUS.match(name) for pin in pins]
    rest = [wiring.node(pin) for name, pins in named.items() for pin in pins if _WAVE.match(name)]
    if len(set(plus)) != 1 or len(set(minus)) != 1:
        return None
    rest = rest or [node for node in wiring.nets_of(part.ref) if node not in (*plus, *minus)]
    return (plus[0], minus[0], *rest) if rest else None


_WAVE_NET = re.compile(r"(?:~|/?AC(?![A-Z])|SEC|TRAFO|TR\d|L\d?$|N$|LIVE|NEUT|PHASE|MAINS|VAC)", re.I)
"""Net names of an alternating voltage."""


def _bridge_nets(wiring: Wiring, part: Part) -> tuple[str, ...] | None:
    """Return plus, minus and the wave nets where a smoothing capacitor, ground and a rail leave no doubt."""
    nets = wiring.nets_of(part.ref)
    below = [net for net in nets if wiring.is_negative_rail(net)]
    plus = [net for net in nets if wiring.is_positive_rail(net) and net not in wiring.board.facts.supplies]
    minus = below or [net for net in nets if net == wiring.ground]
    smoothing = _smoothed(wiring, nets)
    if smoothing and (not minus or smoothing[1] in minus) and (not plus or smoothing[0] in plus):
        plus, minus = [smoothing[0]], [smoothing[1]]
    called = [net for net in nets if _WAVE_NET.match(net) or net in wiring.board.facts.supplies]
    if len(minus) == 1 and not plus and len(called) == 2:
        plus = [net for net in nets if net not in (*minus, *called)]
    if len(plus) != 1 or len(minus) != 1:
        return None
    waves = [wiring.node(pin) for pin in wiring.pins(part.ref) if wiring.node(pin) not in (plus[0], minus[0])]
    return (plus[0], minus[0], *waves) if waves else None


def _smoothed(wiring: Wiring, nets: list[str]) -> Pair | None:
    """Return the nets (plus, minus) of a capacitor between two of the nets; by its leads, else minus at ground."""
    found: set[Pair] = set()
    for ref, part in wiring.board.parts.items():
        ends = wiring.two_ends(part) if part.identity.kind.startswith("capacitor") else None
        if ends is None or not set(ends) <= set(nets):
            continue
        if wiring.ground in ends:
            found.add((ends[1] if ends[0] == wiring.ground else ends[0], wiring.ground))
        elif part.identity.polarised == "yes" or "electrolytic" in part.identity.kind:
            found.add(polar_ends(wiring, wiring.board.parts[ref], "plus", "minus", ends)[0])
    return next(iter(found)) if len(found) == 1 else None


def _bridge_order(wiring: Wiring, part: Part) -> tuple[tuple[str, ...] | None, tuple[Message, ...]]:
    """Return plus, minus and waves by the usual numbering of the type or outline; ground on another pin forbids it."""
    number, outline = number_of(part), part.identity.package_text
    order = None
    for pattern, written in ((_PAIRED, "+ - ~ ~"), (_IN_LINE, "+ ~ ~ -"), (_ROUND, "+ ~ - ~")):
        order = order or (written if pattern.match(number) else None)
    order = order or ("+ - ~ ~" if _DIP.match(outline) else "+ ~ ~ -" if _SIP.search(outline) else None)
    if order is None:
        return None, ()
    signs = order.split()
    nodes = [wiring.number(part, str(n)) for n in range(1, len(signs) + 1)]
    at = {sign: [node for node, one in zip(nodes, signs, strict=True) if one == sign and node] for sign in "+-~"}
    if not at["+"] or not at["-"] or not at["~"] or wiring.ground in (*at["+"], *at["~"]):
        return None, ()
    told = message("circuit-role-by-outline", ref=part.ref, order=order, pins="1 2 3 4")
    return (at["+"][0], at["-"][0], *at["~"]), (told,)
