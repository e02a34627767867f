"""Bipolar transistors, relay coils and the inputs of optocouplers."""

import re

from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.wiring import CHIPS, Wiring
from reworkkit.model.connections import Connections
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.results import Element

_PNP = re.compile(r"(?:BC(?:32|55|80|85|86)[0-9]|BC(?:30[789]|327|328|640|638|636|516)|2N(?:3906|2907|4403|5401)|"
                  r"M?MBT(?:3906|2907|4403|5401|A55|A56|A92)|S(?:8550|9012|9015)|SS8550|TIP(?:32|42|12[567])|"
                  r"BD(?:136|138|140)|2SA|2SB|BCP5[123])", re.IGNORECASE)  # fmt: skip
_BUILT_IN = re.compile(r"DT[AC]|PDT|MUN|RN[12]|digital|darlington|TIP1[0-4]|ULN", re.IGNORECASE)
_SOT_23 = ("3", "1", "2")
"""Collector, base and emitter of a bipolar transistor in that outline, as nearly all makers number it."""
_WINDING = re.compile(r"(?<![a-z])(?:coil|winding|solenoid|heater|heating)", re.IGNORECASE)
COIL_PERCENT = 12.0
"""Spread of a relay coil with its temperature and make; from memory."""


def bipolar(wiring: Wiring, part: Part) -> list[Element]:
    """Return a transistor with named or stated pins, or a SOT-23 by the usual order of that outline.

    Others, TO-92 among them (their makers differ), and those with resistors inside are not modelled.
    The element "unmodelled" stays beside it: what a transistor does beyond the operating point is not known.
    """
    text = f"{part.identity.value.text} {part.identity.part_number} {part.identity.description}"
    nodes = [wiring.by_role(part, role) for role in ("C", "B", "E")]
    by_outline: tuple[Message, ...] = ()
    if (
        None in nodes
        and _outline(part).startswith(("SOT-23", "SOT-323"))
        and len(wiring.pins(part.ref)) == len(_SOT_23)
    ):
        nodes = [wiring.number(part, number) for number in _SOT_23]
        by_outline = (message("circuit-role-by-outline", ref=part.ref, order="C B E", pins=" ".join(_SOT_23)),)
    if None in nodes or _BUILT_IN.search(text):
        return unmodelled(wiring, part)
    plus = re.search(r"(?<![a-z])pnp", text, re.IGNORECASE) or _PNP.match(part.identity.value.text)
    parameters = {**wiring.drop("bipolar_base"), "gain": wiring.default("bipolar_gain")}
    told = (*by_outline, wiring.assumed("bipolar_gain", part.ref))
    found = Element("unmodelled", part.ref, tuple(wiring.node(pin) for pin in wiring.pins(part.ref)), {})
    return [Element("pnp" if plus else "npn", part.ref, tuple(n for n in nodes if n), parameters, told), found]


def _outline(part: Part) -> str:
    return part.identity.package.name if part.identity.package else part.identity.package_text


def reference(wiring: Wiring, part: Part) -> list[Element]:
    """Return a shunt reference as a breakdown diode; an adjustable one only where it is wired to its own 2.5 V."""
    text = f"{part.identity.value.text} {part.identity.part_number}"
    cathode, anode = wiring.by_role(part, "K"), wiring.by_role(part, "A")
    volts = _reference_volts(text)
    own = wiring.by_role(part, "REF")
    if not cathode or not anode or volts is None or own not in (None, cathode):
        return unmodelled(wiring, part)
    parameters = {
        **wiring.drop("zener_forward"),
        "breakdown": around(volts, wiring.figure("reference_tolerance"), "V"),
        "breakdown_at": exact(3e-3, "A"),
        "slope": exact(0.5, "ohm"),
        "knee": exact(0.004, "V"),
    }
    return [Element("zener", part.ref, (anode, cathode), parameters)]


def _reference_volts(text: str) -> float | None:
    """Return what a type of reference holds.

    >>> [_reference_volts(t) for t in ("LM4040-2.5", "TL431", "LM385-1.2", "LM336")]
    [2.5, 2.495, 1.2, None]
    """
    if re.search(r"TL43[12]", text, re.IGNORECASE):
        return 1.24 if "432" in text and "TLV" in text.upper() else 2.495
    found = re.search(r"[A-Z0-9]-?(\d\.\d+)", text[3:])
    return float(found[1]) if found else None


def follower(wiring: Wiring, part: Part) -> list[Element]:
    """Return an operational amplifier whose output goes straight to its inverting input; nothing where it does not."""
    out, minus, plus = (wiring.by_role(part, role) for role in ("OUT", "IN-", "IN+"))
    supply = wiring.by_role(part, "V+") or wiring.by_role(part, "VDD")
    if not out or out != minus or not plus or not supply or plus == out:
        return []
    keys = {"volts": "follower_offset", "dropout": "follower_room", "limit": "follower_limit"}
    parameters = {name: wiring.default(key) for name, key in keys.items()} | {
        "quiescent": wiring.default("follower_quiescent")
    }
    return [
        Element(
            "follower", part.ref, (supply, out, plus, out), parameters, (message("circuit-follower", ref=part.ref),)
        )
    ]


def relay(wiring: Wiring, part: Part) -> list[Element]:
    """Return the coil of a relay whose ohms the list tells; its contacts, where on the netlist, are not modelled.

    The coil is at the pins that board.toml or their names call so, else where another part stands across two pins,
    else from its only rail to the only net of it that a chip or transistor switches.
    """
    coil_nets = _named_coil(wiring, part) or Connections(wiring.board).coil(part.ref) or _switched_coil(wiring, part)
    ohms = _coil_ohms(wiring, part)
    if len(coil_nets) != len(("plus", "minus")):
        return unmodelled(wiring, part)
    contacts = tuple(node for node in wiring.nets_of(part.ref) if node not in coil_nets)
    if ohms is None:
        whole = unmodelled(wiring, part)
        return [Element("unmodelled", part.ref, side, {}) for side in (coil_nets, contacts)] if contacts else whole
    found = _coil(part, coil_nets, ohms)
    return [found, Element("unmodelled", part.ref, contacts, {})] if contacts else [found]


def winding(wiring: Wiring, part: Part) -> list[Element]:
    """Return a two-lead load on the board or its terminal whose row speaks of a coil or heater and its ohms, or none.

    A terminal that the list calls "valve, coil 24 V 240 ohm" is the valve; one without such words stays a plug.
    """
    nets = tuple(wiring.nets_of(part.ref))
    ohms = _coil_ohms(wiring, part) if _WINDING.search(part.identity.description) else None
    return [_coil(part, nets, ohms)] if ohms is not None and len(nets) == len(("plus", "minus")) else []


def _coil(part: Part, nets: tuple[str, ...], ohms: float) -> Element:
    resistance = around(ohms, COIL_PERCENT, "ohm")
    return Element("inductor", part.ref, nets, {"resistance": resistance}, (message("circuit-coil", ref=part.ref),))


def _coil_ohms(wiring: Wiring, part: Part) -> float | None:
    """Return the ohms of a coil by the list, else by the volts and amps stated for the part; None where neither is."""
    words = f"{part.identity.value.text} {part.identity.description}"
    ohms = [q for q in (parse_quantity(w, "ohm") for w in _ohm_words(words)) if q and q.unit == "ohm" and q.value]
    facts = wiring.facts(part.ref)
    if ohms:
        return float(ohms[0].value)
    return float(facts.volts.value / facts.amps.value) if facts.volts and facts.amps and facts.amps.value else None


def _named_coil(wiring: Wiring, part: Part) -> tuple[str, ...]:
    names = {"A1", "A2", "COIL+", "COIL-", "COIL1", "COIL2"}
    nodes = [wiring.node(pin) for pin in wiring.pins(part.ref) if (pin.name or pin.number).upper() in names]
    return tuple(dict.fromkeys(nodes))


def _switched_coil(wiring: Wiring, part: Part) -> tuple[str, ...]:
    nets = wiring.nets_of(part.ref)
    rails = [net for net in nets if wiring.is_rail(net)]
    switched = [net for net in nets if net not in rails and _has_switch(wiring, net)]
    return (rails[0], switched[0]) if len(rails) == len(switched) == 1 else ()


def _has_switch(wiring: Wiring, net: str) -> bool:
    refs = {ref for ref, _ in wiring.board.nets[net].pins} if net in wiring.board.nets else set()
    kinds = {wiring.board.parts[ref].identity.kind for ref in refs if ref in wiring.board.parts}
    return bool(kinds & (CHIPS | {"transistor_bipolar", "transistor", "mosfet"}))


def optocoupler(wiring: Wiring, part: Part) -> list[Element]:
    """Return the LED of an optocoupler: by pin names, or by the usual order of a four-pin one.

    The element "unmodelled" stands for the output: what it does depends on the light, the age and the make.
    """
    pins = wiring.pins(part.ref)
    anode, cathode = wiring.by_role(part, "anode"), wiring.by_role(part, "cathode")
    told: tuple[Message, ...] = ()
    if (anode is None or cathode is None) and [pin.number for pin in pins] == ["1", "2", "3", "4"]:
        anode, cathode = (wiring.number(part, number) for number in ("1", "2"))
        told = (message("circuit-role-by-type", ref=part.ref),)
    if anode is None or cathode is None or anode == cathode:
        return unmodelled(wiring, part)
    rest = tuple(node for node in wiring.nets_of(part.ref) if node not in (anode, cathode))
    led = Element("led", part.ref, (anode, cathode), dict(wiring.drop("led_infrared")), told)
    if not rest:
        return [led]
    wiring.ask((part.ref,), message("circuit-coupler-output"))
    return [led, Element("unmodelled", part.ref, rest, {})]


def _ohm_words(words: str) -> list[str]:
    return re.findall(r"(?<![\w.])\d+(?:\.\d+)?\s?(?:[Rr](?![a-z])|ohm|Ω|k(?:ohm|Ω)?)(?![a-z])", words)
