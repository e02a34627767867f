"""Voltage references: shunts as breakdown diodes, adjustable ones by their divider, series ones as regulators."""

import re

from reworkkit import tables
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.parts import pins_only, unmodelled
from reworkkit.compute.circuit.regulator_pins import by_order, order_of
from reworkkit.compute.circuit.regulator_types import figure, reference_row, texts_of
from reworkkit.compute.circuit.regulators import regulator
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

SHUNT_GAIN = 10_000.0
SHUNT_IDEALITY = 0.1
SHUNT_INPUT_A = 2e-7
"""An adjustable shunt as a transistor: at its reference voltage it sinks 2 mA, at 20 mA it takes 2 microampere; 2.6 mV
more make it sink e times that, as its sheet's 0.5 ohm do in the milliamperes (TL431, from memory)."""
SHUNT_INPUT_OHM = 2000.0
"""What its input shows above its reference voltage, where its cathode has no current left to give; from memory."""
SHUNT_LEAST = (0.65, 0.8, 0.9)
"""Cathode voltage, as a share of the reference voltage, at which it sinks half: it stays at some 1.8 V of 2.5 V, 0.8 V
of 1.24 V; from memory."""


def reference(wiring: Wiring, part: Part) -> list[Element]:
    """Return a reference: a shunt between cathode and anode, or what holds its output above ground from an input."""
    row = reference_row(part)
    nodes, told = _pins(wiring, part, row)
    if {"IN", "OUT", "GND"} <= set(nodes) and (row is None or row["form"] == "series"):
        return _series(wiring, part, row, nodes, told)
    cathode, anode = nodes.get("K"), nodes.get("A")
    if not cathode or not anode or cathode == anode:
        wiring.ask((part.ref,), message("circuit-no-pins"), f'[parts] {part.ref} = {{ pins = {{ K = "1", A = "2" }} }}')
        return pins_only(wiring, part)
    volts = _volts(wiring, part, row)
    if volts is None:
        wiring.ask((part.ref,), message("circuit-no-breakdown"), f'[parts] {part.ref} = {{ volts = "2.5 V" }}')
        return pins_only(wiring, part)
    own = nodes.get("REF")
    if row is not None and row["form"] == "adjustable" and own not in (None, cathode):
        if own == anode:
            return unmodelled(wiring, part)
        # The reference pin is joined to the cathode by a junction: a low cathode pulls it down.
        junction = Element("inner_diode", part.ref, (own or "", cathode), wiring.drop("shunt_tap"))
        return [_adjusted(wiring, part, volts, (cathode, own or "", anode), told), junction]
    return [_shunt(wiring, part, volts, (anode, cathode), told)]


def _pins(wiring: Wiring, part: Part, row: tables.Row | None) -> tuple[dict[str, str], tuple[Message, ...]]:
    """Return the roles K, A, REF or IN, OUT, GND: by name, by the nets where they leave no doubt, by the outline."""
    named = {role: node for role in ("IN", "OUT", "GND", "REF") if (node := wiring.by_role(part, role))}
    for role, word, sign in (("K", "cathode", "plus"), ("A", "anode", "minus")):
        if node := wiring.by_role(part, word) or wiring.by_role(part, sign):
            named[role] = node
    if {"K", "A"} <= set(named) or {"IN", "OUT", "GND"} <= set(named):
        return named, ()
    found = _by_nets(wiring, part, row)
    if found:
        return found, (message("circuit-role-by-ground", ref=part.ref, net=found["K"]),)
    if order := order_of(wiring, part, row["pins"] if row else "", spare=True):
        return by_order(wiring, part, order) | named, (message("circuit-role-by-table", ref=part.ref, order=order),)
    return named, ()


def _by_nets(wiring: Wiring, part: Part, row: tables.Row | None) -> dict[str, str]:
    """Return the roles of a shunt with its anode at ground: of two nets the other, of three the one that is no tap.

    A net is the tap where resistors lead from it to ground and to the third. In TO-92 the anode of an adjustable one is
    in the middle, wherever that is; makers number the outer leads both ways.
    """
    nets = [net for net in wiring.nets_of(part.ref) if net in wiring.board.nets and _used(wiring, part, net)]
    foot = wiring.ground if wiring.ground in nets else _middle(wiring, part, row)
    others = [net for net in nets if net != foot]
    if foot is None or (row is not None and row["form"] == "series"):
        return {}
    if len(others) == 1 and row is not None:
        below = wiring.is_negative_rail(others[0])
        found = {"K": foot, "A": others[0]} if below else {"K": others[0], "A": foot}
        tied = row["form"] == "adjustable" and len(wiring.pins(part.ref)) > len(("K", "A"))
        return (
            {**found, "REF": others[0]} if tied and _pins_on(wiring, part, others[0]) > 1 else found if not tied else {}
        )
    if len(others) != len(("tap", "cathode")) or row is None or row["form"] != "adjustable":
        return {}
    taps = [net for net in others if _resistor(wiring, net, foot) and _resistor(wiring, *others)]
    low = [net for net in taps if not _resistor(wiring, _other(others, net), foot)]
    one = taps if len(taps) == 1 else low
    if not taps:
        # One that compares: its divider hangs elsewhere, and only the tap has a resistor to ground.
        one = [net for net in others if _resistor(wiring, net, foot)]
    return {"REF": one[0], "K": _other(others, one[0]), "A": foot} if len(one) == 1 else {}


def _middle(wiring: Wiring, part: Part, row: tables.Row | None) -> str | None:
    adjustable = row is not None and row["form"] == "adjustable"
    return wiring.number(part, "2") if adjustable and part.identity.outline.upper().startswith("TO-92") else None


def _other(pair: list[str], one: str) -> str:
    return pair[1] if pair[0] == one else pair[0]


def _used(wiring: Wiring, part: Part, net: str) -> bool:
    return any(ref != part.ref for ref, _ in wiring.board.nets[net].pins)


def _pins_on(wiring: Wiring, part: Part, net: str) -> int:
    return sum(1 for pin in wiring.pins(part.ref) if pin.net == net)


def _resistor(wiring: Wiring, one: str, other: str) -> bool:
    return any(part.identity.kind in ("resistor", "potentiometer", "thermistor") for part in wiring.between(one, other))


def _volts(wiring: Wiring, part: Part, row: tables.Row | None) -> Band | None:
    """Return what a reference holds: board.toml, the table, the number, the words of the list."""
    percent = figure(row, "tolerance_percent") or wiring.figure("reference_tolerance")
    facts = wiring.facts(part.ref)
    if said := facts.volts or facts.out:
        return around(float(said.value), percent, "V")
    if (volts := figure(row, "volts")) is None:
        volts = reference_volts(" ".join(texts_of(part))) or _in_words(part)
    return None if volts is None else around(volts, percent, "V", BandBasis.TABLE)


_DECADES = {"2.0": 2.048, "4.1": 4.096, "3.0": 3.0, "1.2": 1.235, "12": 1.235, "20": 2.048, "41": 4.096}
"""Numbers that stand for a reference a little off them; makers' ordering tables, from memory."""


def reference_volts(text: str) -> float | None:
    """Return what the number of a reference names.

    >>> [reference_volts(t) for t in ("LM4040DIM3-2.5", "LM4040AIM3X-4.1/NOPB", "LM385BZ-1.2", "LM336", "ZRA250F01")]
    [2.5, 4.096, 1.235, None, 2.5]
    >>> [reference_volts(t) for t in ("LM4040D50", "LM4040CIM3-10.0", "REF3025", "LM4040A25IDBZR")]
    [5.0, 10.0, 2.5, 2.5]
    >>> reference_volts("LT1021DCN8-5")
    5.0
    """
    if found := re.search(r"[-_ ](\d{1,2}[.V]\d{1,3})", text):
        digits = found[1].upper().replace("V", ".")
        return _DECADES.get(digits, float(digits))
    if found := re.search(r"[-_ ]([57])(?![\d.])", text):
        return float(found[1])
    if found := re.search(r"[-_ ](25|50|12|41|20|30|10)(?![\d.])", text):
        return _DECADES.get(found[1], 10.0 if found[1] == "10" else float(found[1]) / 10)
    if found := re.search(r"40[45][01][A-DN]?I?(12|20|25|30|41|50|82|10)(?!\d)", text):
        special = {"82": 8.192, "10": 10.0}
        return special.get(found[1], _DECADES.get(found[1], float(found[1]) / 10))
    if found := re.search(r"ZR[A-C](\d{3})", text):
        return float(found[1]) / 100
    if found := re.search(r"(?:REF3[0-9]|LM41[0-9]{2}|ISL21[0-9]{3})(12|20|25|30|33|40|41|50)", text):
        special = {"12": 1.25, "20": 2.048, "40": 4.096, "41": 4.096}
        return special.get(found[1], float(found[1]) / 10)
    return None


def _in_words(part: Part) -> float | None:
    found = re.findall(
        r"(?<![\w.])(\d{1,2}(?:[.,]\d{1,3})?)\s?V(?![a-z])", f"{part.identity.value.text}; {part.identity.description}"
    )
    distinct = {float(text.replace(",", ".")) for text in found}
    return next(iter(distinct)) if len(distinct) == 1 else None


def _shunt(wiring: Wiring, part: Part, volts: Band, ends: tuple[str, str], told: tuple[Message, ...]) -> Element:
    parameters = {
        **wiring.drop("zener_forward"),
        "breakdown": volts,
        "breakdown_at": exact(1e-3, "A"),
        "slope": exact(0.5, "ohm"),
        "knee": exact(0.004, "V"),
    }
    return Element("zener", part.ref, ends, parameters, told)


def _adjusted(
    wiring: Wiring, part: Part, volts: Band, nodes: tuple[str, str, str], told: tuple[Message, ...]
) -> Element:
    """Return an adjustable shunt (cathode, reference, anode): what a transistor with that base voltage does."""
    least = [share * (volts.nominal or 0.0) for share in SHUNT_LEAST]
    parameters = {
        "forward": volts,
        "at": exact(SHUNT_INPUT_A, "A"),
        "ideality": exact(SHUNT_IDEALITY, "1"),
        "series": exact(SHUNT_INPUT_OHM, "ohm"),
        "saturation": Band(least[0], least[1], least[2], "V", BandBasis.TABLE),
        "gain": exact(SHUNT_GAIN, "1"),
    }
    return Element("npn", part.ref, nodes, parameters, (*told, message("circuit-shunt-adjusted", ref=part.ref)))


def _series(
    wiring: Wiring, part: Part, row: tables.Row | None, nodes: dict[str, str], told: tuple[Message, ...]
) -> list[Element]:
    volts = _volts(wiring, part, row)
    if volts is None:
        return regulator(wiring, part)
    parameters = {
        "volts": volts,
        "dropout": Band(0.005, 0.05 if not row else figure(row, "dropout_v") or 0.05, 2.5, "V", BandBasis.TABLE),
        "limit": Band(0.005, 0.025, 0.06, "A", BandBasis.TABLE),
        "quiescent": Band(2e-5, 5e-4, 2e-3, "A", BandBasis.TABLE),
    }
    return [Element("regulator", part.ref, (nodes["IN"], nodes["OUT"], nodes["GND"], nodes["OUT"]), parameters, told)]
