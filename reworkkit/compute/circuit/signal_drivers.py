"""Gate drivers, digital isolators, bus and line drivers: outputs that follow inputs of another level."""

from collections.abc import Iterator
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.bricks import is_apart
from reworkkit.compute.circuit.chips import between, one_input_gate
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import known_pins, listed_roles, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_DRIVES = {"1": 1.0, "0": 0.0, "Z": -1.0}
_DRIVE_ORDER = "01Z"
"""Which rule counts first where several outputs drive one net."""
_MIRROR_PERCENT = 15.0
"""Spread of the share of its current that a bridge tells; from memory."""
_ISOLATED = {
    "limit": Band(0.05, 0.1, 0.2, "A", BandBasis.TABLE),
    "efficiency": Band(0.2, 0.33, 0.45, "1", BandBasis.TABLE),
}
"""What transformers on a chip give, and how much of it is lost; from memory."""
_DEAD_V = 1.5
"""Supply below which one side of an isolator does not work; from memory."""
_WEAK_OHM = 1e6
"""Dividers inside that only make a threshold: they carry nothing worth a reading."""


class Made(NamedTuple):
    """A part with the nodes of its roles, its row and what it is taken as."""

    wiring: Wiring
    part: Part
    row: tables.Row
    pins: dict[str, str]
    told: tuple[Message, ...]

    def inside(self, name: str) -> str:
        """Return a node inside the part."""
        return f"{self.part.ref}.{name}{INNER}"

    def node(self, role: str) -> str:
        """Return the node of a role; of one that has no pin, a node of its own.

        `VIO?V+` is VIO where that is a rail, else V+; `LOW??GND` is LOW where that has a pin, else GND.
        """
        first, question, last = role.partition("??" if "??" in role else "?")
        if last:
            is_there = first in self.pins and (question == "??" or self.wiring.is_rail(self.pins[first]))
            role = first if is_there else last
        return self.pins.get(role) or self.inside(role.lower())

    def is_used(self, role: str) -> bool:
        """Return whether a role's pin leads somewhere on the board."""
        return role in self.pins and is_used(self.wiring, self.pins[role])


def signal_driver(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a part whose outputs follow its inputs as `signal_drivers.csv` has it; None for other parts.

    Pins by name, else by the usual order of the type; some types have one order for each number of pins.
    """
    row = row_of("signal_drivers", part, known_pins(part, wiring)) or row_of("signal_drivers", part)
    if row is None:
        return None
    roles, by_order = listed_roles(wiring, part, row)
    if not any({*pair.split("=")[0].split("/")} <= set(roles) for pair in row["supplies"].split()):
        return unmodelled(wiring, part)
    told = (*by_order, message("circuit-follows", ref=part.ref))
    made = Made(wiring, part, row, roles, told)
    return [
        *_supplies(made),
        *_levels(made),
        *_inside(made),
        *_pumps(made),
        *_mirrors(made),
        *(e for one in _joined(made) for e in _output(made, one)),
        *_strange(made),
    ]


def _supplies(made: Made) -> Iterator[Element]:
    """Yield what stands between each supply and its ground, and what it draws.

    A second one may float, but not below its own ground: a junction inside keeps it up.
    """
    for place, one in enumerate(made.row["supplies"].split(), 1):
        pair, *draw = one.split("=")
        high, low = (made.pins.get(role) for role in pair.split("/"))
        if not high or not low or high == low:
            continue
        if place == 1:
            yield from between(made.wiring, made.part.ref, [high], low)
        else:
            yield Element("inner_diode", made.part.ref, (low, high), made.wiring.drop("esd_diode"))
        if draw:
            least, usual, most = (float(word) * 1e-3 for word in draw[0].split(":"))
            band = Band(least, usual, most, "A", BandBasis.TABLE)
            yield from own_draw(made.wiring, made.part.ref, high, low, band, str(place))


def _levels(made: Made) -> Iterator[Element]:
    """Yield the thresholds of the inputs: nodes inside at a share of a supply, `T=0.3@V+/GND`."""
    for one in made.row["levels"].split():
        name, _, rest = one.partition("=")
        share, _, pair = rest.partition("@")
        high, low = (made.node(role) for role in pair.split("/"))
        yield inner(made.part.ref, high, made.node(name), _WEAK_OHM * (1 - float(share)), 10.0)
        yield inner(made.part.ref, made.node(name), low, _WEAK_OHM * float(share), 10.0)


def _inside(made: Made) -> Iterator[Element]:
    """Yield the resistances inside, `A:GND=12000/20000/48000`, and levels a few volts below, `V+>TOP=1.2/1.6/2.1`."""
    for one in made.row["inside"].split():
        pair, _, figures = one.partition("=")
        low, usual, high = (float(word) for word in figures.split("/"))
        if ">" in pair:
            forward = {"forward": Band(low, usual, high, "V", BandBasis.TABLE)}
            nodes = tuple(made.node(end) for end in pair.split(">"))
            yield Element("inner_diode", made.part.ref, nodes, made.wiring.drop("opamp_top") | forward)
        else:
            nodes = tuple(made.node(end) for end in pair.split(":"))
            band = Band(low, usual, high, "ohm", BandBasis.TABLE)
            yield Element("inner", made.part.ref, nodes, {"resistance": band})


def _pumps(made: Made) -> Iterator[Element]:
    """Yield the supplies that a part makes for itself, `V+=8/9/10`, or isolated, `VISO/G2=3.2/3.3/3.4`."""
    high_role, low_role = made.row["supplies"].split()[0].split("=")[0].split("/")
    for one in made.row["pumps"].split():
        role, _, volts = one.partition("=")
        role, _, back = role.partition("/")
        high, low, out = made.node(high_role), made.node(low_role), made.node(role)
        if any(node.endswith(INNER) for node in (high, low)):
            continue
        ends = sorted((float(word) for word in volts.split("/")), key=abs)
        band = Band(min(ends), ends[1], max(ends), "V", BandBasis.TABLE)
        figures = {
            "volts": band,
            "limit": Band(0.01, 0.03, 0.08, "A", BandBasis.TABLE),
            "quiescent": Band(1e-5, 1e-4, 1e-3, "A", BandBasis.TABLE),
            "start": Band(2.0, 2.5, 3.0, "V", BandBasis.TABLE),
            "efficiency": Band(0.5, 0.7, 0.9, "1", BandBasis.TABLE),
        }
        if not back:
            yield Element("boost", made.part.ref, (high, out, low, out), figures, made.told)
        elif {role, back} <= set(made.pins):
            own = {"follows": exact(0.0, "1/V"), "inner": Band(0.2, 0.5, 2.0, "ohm", BandBasis.TABLE), **_ISOLATED}
            nodes = (high, low, out, made.pins[back])
            kept = {name: figures[name] for name in ("volts", "start")}
            yield Element("isolated", made.part.ref, nodes, kept | own, made.told)
            if is_apart(made.wiring, made.part, out, made.pins[back]):
                yield Element("floating", made.part.ref, (made.pins[back],), {})


def _mirrors(made: Made) -> Iterator[Element]:
    """Yield the pins that tell a current by a share of it, into a resistor to ground: `IS=VS:TOP/8500`."""
    for one in made.row["mirrors"].split():
        role, _, rest = one.partition("=")
        pair, _, ratio = rest.partition("/")
        high, inside = (made.node(end) for end in pair.split(":"))
        low = made.node("GND")
        load_ohm = made.wiring.lone_resistor(made.pins[role], low) if role in made.pins else None
        if load_ohm is None:
            if made.is_used(role):
                yield Element("unmodelled", made.part.ref, (made.pins[role],), {})
            continue
        siemens = 1 / (float(ratio) * _between_ohm(made, pair))
        figures = {
            "gain": around(siemens * load_ohm, _MIRROR_PERCENT, "1", BandBasis.TABLE),
            "offset": exact(0.0, "V"),
            "room_high": exact(1.0, "V"),
            "room_low": exact(0.0, "V"),
            "limit": exact(0.01, "A"),
        }
        yield Element("amplifier", made.part.ref, (high, made.pins[role], high, inside, low, low), figures, made.told)
        yield Element("gain_set", made.part.ref, (made.pins[role], low), {"siemens": exact(siemens, "S")})


def _between_ohm(made: Made, pair: str) -> float:
    """Return the usual resistance inside between two roles."""
    ohms = next(cell for cell in made.row["inside"].split() if cell.startswith(f"{pair}="))
    return float(ohms.partition("=")[2].split("/")[1])


def _joined(made: Made) -> list[str]:
    """Return the outputs of a row; those apart for high and low that the board joins are one: low goes before high."""
    of_node: dict[str, list[str]] = {}
    for one in filter(None, made.row["outputs"].split("|")):
        role = one.partition("@")[0]
        of_node.setdefault(made.pins.get(role, made.inside(role.lower())), []).append(one)
    found: list[str] = []
    for ones in of_node.values():
        rules = [rule for one in ones for rule in one.split()[1:]]
        if len(ones) > 1 and any(rule.startswith("Z") for rule in rules):
            ordered = (rule for first in _DRIVE_ORDER for rule in rules if rule.startswith(first))
            found.append(" ".join([ones[0].split()[0], *ordered]))
        else:
            found.extend(ones)
    return found


def _output(made: Made, text: str) -> Iterator[Element]:
    """Yield an output and its rules: `OUT@V+/GND 0:IN<T 1:T<IN`, or, for one of a single input, `OUT@V+/GND =IN`."""
    head, *rules = text.split()
    role, _, pair = head.partition("@")
    high_role, _, low_role = pair.partition("/")
    high, low, out = made.node(high_role), made.node(low_role), made.pins.get(role)
    if out is None or high == low or out in (high, low) or not made.is_used(role):
        return
    fed_inside = any(f"{way}{high_role}=" in made.row["inside"] for way in ":>")
    if low.endswith(INNER) or (high.endswith(INNER) and not fed_inside):
        return
    low_ohm, usual_ohm, high_ohm = (float(word) for word in made.row["ohm"].split())
    band = {"resistance": Band(low_ohm, usual_ohm, high_ohm, "ohm", BandBasis.TABLE)}
    yield Element("driver", made.part.ref, (out, high, low), band)
    if low != made.wiring.ground:
        yield Element("inner_diode", made.part.ref, (low, out), made.wiring.drop("esd_diode"))
    for rule in rules:
        yield _rule(made, out, rule)


def _strange(made: Made) -> Iterator[Element]:
    """Yield the pins that swing, and those whose names tell no role: their nets may be held by what is not known."""
    known = {node for role, node in made.pins.items() if not role.startswith("~")}
    for node in made.wiring.nets_of(made.part.ref):
        if node not in known and node in made.wiring.board.nets and not made.wiring.is_rail(node):
            yield Element("unmodelled", made.part.ref, (node,), {})


def _rule(made: Made, out: str, text: str) -> Element:
    if text.startswith(("=", "!")):
        role, _, volts = text[1:].partition("@")
        nodes, inverts = (out, made.node(role)), text[0] == "!"
        threshold_v = float(volts) if volts else None
        return one_input_gate(made.part.ref, nodes, made.told, threshold_v, inverts=inverts, pulls_up=True)
    drives, _, pair = text.partition(":")
    if pair.startswith("!"):
        return _at_rest(made, out, pair[1:])
    one, _, other = pair.partition("<")
    figures = {"drives": exact(_DRIVES[drives], "1"), "pulls_up": exact(1.0, "1"), "below": exact(1.0, "1")}
    return Element("rule", made.part.ref, (out, made.node(one), made.node(other)), figures, made.told)


def _at_rest(made: Made, out: str, supply: str) -> Element:
    """Return what the output of an isolator does while its other side, by the role of that supply, is without power."""
    row = row_of("isolator_rest", made.part)
    drives = _DRIVES[row["level"]] if row else 1.0
    figures = {"drives": exact(drives, "1"), "pulls_up": exact(1.0, "1")}
    dead = {"level1": exact(-1.0, "1"), "threshold": exact(_DEAD_V, "V")}
    return Element("rule", made.part.ref, (out, made.node(supply)), figures | dead, made.told)
