"""Elements of two- and three-lead parts: values from the list, roles from pin names, else from conventions."""

import re

from reworkkit.compute.circuit.figures import around, exact, led_key, stated
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_CAPACITOR_KINDS = (
    "capacitor_tantalum capacitor_polymer_tantalum capacitor_polymer_aluminium supercapacitor"
    " capacitor_aluminium_electrolytic"
)
_CAPACITORS = frozenset(_CAPACITOR_KINDS.split())
_STAND_OFF = re.compile(r"^(?:SM[ABCF]J?|SMF|1?\.?5?SMC|PESD)(\d+(?:\.\d+)?)C?A?", re.IGNORECASE)
_NOMINAL = re.compile(r"^(?:P[46]KE|1\.5KE|P6SMB|P4SMA)(\d+(?:\.\d+)?)C?A?", re.IGNORECASE)
_POWER_SCHOTTKY = re.compile(r"^(?:SS|SK|MBR|1N58|B[1-5]|SB|STPS|SR)", re.IGNORECASE)
_POWER_DIODE = re.compile(r"^(?:1N400|1N54|S[1-3][A-M]|M[1-7]|US|ES|RS|UF|MUR|GS|BY)", re.IGNORECASE)
_GDS_OUTLINES = ("TO-220", "TO-263", "TO-252", "TO-247", "TO-262", "TO-251", "SOT-223", "DPAK")


def nothing(wiring: Wiring, part: Part) -> list[Element]:
    """Return no element: the part passes no direct current."""
    return []


def unmodelled(wiring: Wiring, part: Part) -> list[Element]:
    """Return the pins of a part whose behaviour is not known, and say so."""
    wiring.ask((part.ref,), message("circuit-no-model", kind=part.identity.kind.replace("_", " ")))
    return [Element("unmodelled", part.ref, tuple(wiring.node(pin) for pin in wiring.pins(part.ref)), {})]


def _passing(wiring: Wiring, part: Part, kind: str, ohm: Band, told: tuple[Message, ...] = ()) -> list[Element]:
    ends = wiring.two_ends(part)
    if ends is None:
        return [] if len(wiring.nets_of(part.ref)) == 1 else unmodelled(wiring, part)
    return [Element(kind, part.ref, ends, {"resistance": ohm}, told)]


def resistor(wiring: Wiring, part: Part) -> list[Element]:
    """Return a resistor; one of 0 ohm is a link; one without a value is asked for."""
    ohm = wiring.of_value(part, "ohm", "resistor_tolerance")
    if ohm is None:
        if wiring.two_ends(part):
            wiring.ask((part.ref,), message("circuit-no-value", unit="ohm"))
            return [Element("unmodelled", part.ref, wiring.two_ends(part) or (), {})]
        return []
    if not ohm.nominal:
        return link(wiring, part)
    told = () if part.identity.value.tolerance else (wiring.assumed("resistor_tolerance", part.ref),)
    return _passing(wiring, part, "resistor", ohm, told)


def link(wiring: Wiring, part: Part) -> list[Element]:
    """Return a wire link."""
    return _passing(wiring, part, "link", wiring.default("link"))


def inductor(wiring: Wiring, part: Part) -> list[Element]:
    """Return the winding resistance of a coil."""
    return _passing(wiring, part, "inductor", wiring.default("inductor"), (wiring.assumed("inductor", part.ref),))


def ferrite(wiring: Wiring, part: Part) -> list[Element]:
    """Return the direct-current resistance of a ferrite bead; its printed ohms are at 100 MHz."""
    return _passing(
        wiring, part, "inductor", wiring.default("ferrite_bead"), (wiring.assumed("ferrite_bead", part.ref),)
    )


def fuse(wiring: Wiring, part: Part) -> list[Element]:
    """Return a fuse by its cold resistance."""
    key = "resettable_fuse" if part.identity.kind == "resettable_fuse" else "fuse"
    return _passing(wiring, part, "fuse", wiring.default(key), (wiring.assumed(key, part.ref),))


def open_switch(wiring: Wiring, part: Part) -> list[Element]:
    """Return a switch between its two nets, open; more poles are not modelled."""
    ends = wiring.two_ends(part)
    if ends is None:
        return unmodelled(wiring, part)
    resistance = Band(None, None, None, "ohm", BandBasis.TABLE)
    return [Element("switch", part.ref, ends, {"resistance": resistance}, (message("circuit-switch-open"),))]


def capacitor(wiring: Wiring, part: Part) -> list[Element]:
    """Return a capacitor: its charge and its leakage; no direct current else."""
    ends = wiring.two_ends(part)
    if ends is None:
        return []
    polarised = part.identity.polarised == "yes" or part.identity.kind in _CAPACITORS
    key = "electrolytic_tolerance" if polarised else "capacitor_tolerance"
    farad = wiring.of_value(part, "F", key)
    if farad is None:
        wiring.ask((part.ref,), message("circuit-no-value", unit="F"))
        farad = Band(0.0, 0.0, None, "F", BandBasis.TABLE)
    told: tuple[Message, ...] = () if part.identity.value.tolerance else (wiring.assumed(key, part.ref),)
    leakage = wiring.default("ceramic_leakage")
    if polarised:
        leakage = _leakage(wiring, farad)
        (plus, minus), role = polar_ends(wiring, part, "plus", "minus", ends)
        ends, told = (plus, minus), (*told, *role)
    kind = "capacitor_polarised" if polarised else "capacitor"
    return [Element(kind, part.ref, ends, {"capacitance": farad, "leakage": leakage}, told)]


def _leakage(wiring: Wiring, farad: Band) -> Band:
    """Return the leakage resistance of an electrolytic: V / (k C V) = 1 / (k C); never less than 10 kohm is printed."""
    rate = wiring.default("electrolytic_leakage_af")
    capacitance = max(farad.nominal or 0.0, 1e-7)
    return Band(
        1 / ((rate.low or 0.3) * capacitance),
        1 / ((rate.nominal or 0.01) * capacitance),
        None,
        "ohm",
        BandBasis.TABLE,
    )


def polar_ends(
    wiring: Wiring, part: Part, high: str, low: str, ends: tuple[str, str]
) -> tuple[tuple[str, str], tuple[Message, ...]]:
    """Return the two ends as (high role, low role): by pin names, else by the rails, else by pin 1.

    `high` is anode or plus. A part that blocks (capacitor, Zener diode, suppressor, as built) stands with its plus
    or cathode at the positive rail; a plain diode follows the usual numbering of lands, pin 1 = cathode.
    """
    named = wiring.by_role(part, high), wiring.by_role(part, low)
    if named[0] and named[1]:
        return (named[0], named[1]), ()
    first, second = ends
    if high == "plus":
        by_rail = _towards_rail(wiring, ends)
        if by_rail:
            return by_rail, (message("circuit-role-by-rail", ref=part.ref, net=by_rail[0]),)
        return (first, second), (message("circuit-role-by-pin", ref=part.ref, role=high, pin="1"),)
    return (second, first), (message("circuit-role-by-pin", ref=part.ref, role=low, pin="1"),)


def _towards_rail(wiring: Wiring, ends: tuple[str, str]) -> tuple[str, str] | None:
    """Return the ends with the positive rail first, where one end is ground and the other such a rail."""
    for one, other in (ends, ends[::-1]):
        if other == wiring.ground and wiring.is_positive_rail(one):
            return one, other
    return None


def _junctions(wiring: Wiring, part: Part) -> tuple[list[tuple[str, str]], tuple[Message, ...]]:
    """Return the (anode, cathode) pairs of a diode with two or three leads."""
    number = part.identity.part_number or part.identity.value.text
    for row in wiring.pinouts:
        if len(wiring.pins(part.ref)) >= 3 and re.match(row["pattern"], number, re.IGNORECASE):
            pairs = [pair.split(">") for pair in row["junctions"].split()]
            found = [(wiring.number(part, a), wiring.number(part, k)) for a, k in pairs]
            return [(a, k) for a, k in found if a and k], (message("circuit-role-by-type", ref=part.ref),)
    ends = wiring.two_ends(part)
    if ends is None:
        return [], ()
    pair, told = polar_ends(wiring, part, "anode", "cathode", ends)
    return [pair], told


def diode(wiring: Wiring, part: Part) -> list[Element]:
    """Return one element a junction."""
    pairs, told = _junctions(wiring, part)
    if not pairs:
        return unmodelled(wiring, part)
    number = part.identity.part_number or part.identity.value.text
    schottky = part.identity.kind == "diode_schottky" or bool(re.match(r"BAT", number))
    if schottky:
        key = "schottky_power" if _POWER_SCHOTTKY.match(number) else "schottky_small"
    else:
        key = "silicon_rectifier" if _POWER_DIODE.match(number) else "silicon_small"
    kind = "schottky" if schottky else "diode"
    parameters = _with_forward(wiring, part, wiring.drop(key))
    return [Element(kind, part.ref, pair, parameters, told) for pair in pairs]


def _with_forward(wiring: Wiring, part: Part, parameters: dict[str, Band]) -> dict[str, Band]:
    forward = stated(wiring.facts(part.ref).forward, 5)
    return {**parameters, "forward": forward} if forward else dict(parameters)


def led(wiring: Wiring, part: Part) -> list[Element]:
    """Return an LED by its colour; more than two leads are not modelled."""
    pairs, told = _junctions(wiring, part)
    if not pairs:
        return unmodelled(wiring, part)
    identity = part.identity
    key = led_key(f"{identity.value.text} {identity.description} {identity.part_number}")
    if key == "led_unknown":
        told = (*told, message("circuit-led-colour", ref=part.ref))
    return [Element("led", part.ref, pair, _with_forward(wiring, part, wiring.drop(key)), told) for pair in pairs]


def breakdown(wiring: Wiring, part: Part) -> list[Element]:
    """Return a Zener diode or a suppressor; its cathode is taken to be at the positive rail where it stands at one."""
    ends = wiring.two_ends(part)
    volts = _breakdown_volts(wiring, part)
    if ends is None or volts is None:
        if ends and volts is None:
            wiring.ask((part.ref,), message("circuit-no-breakdown"), f'[parts] {part.ref} = {{ volts = "5.6 V" }}')
        return unmodelled(wiring, part)
    zener = part.identity.kind == "diode_zener"
    slope = {
        "breakdown": volts,
        "breakdown_at": exact(wiring.figure("zener_test_current" if zener else "tvs_test_current"), "A"),
        "slope": exact(wiring.figure("zener_resistance" if zener else "tvs_resistance"), "ohm"),
    }
    if part.identity.kind == "tvs_two_way":
        return [Element("tvs_two_way", part.ref, ends, slope)]
    named = wiring.by_role(part, "anode") and wiring.by_role(part, "cathode")
    by_rail = None if named else _towards_rail(wiring, ends)
    if by_rail:
        pair = by_rail[1], by_rail[0]
        told: tuple[Message, ...] = (message("circuit-role-by-rail", ref=part.ref, net=by_rail[0]),)
    else:
        pair, told = polar_ends(wiring, part, "anode", "cathode", ends)
    parameters = {**wiring.drop("zener_forward" if zener else "tvs_forward"), **slope}
    return [Element("zener" if zener else "tvs", part.ref, pair, parameters, told)]


def _breakdown_volts(wiring: Wiring, part: Part) -> Band | None:
    identity, facts = part.identity, wiring.facts(part.ref)
    if identity.kind == "diode_zener":
        return stated(facts.volts, wiring.figure("zener_tolerance")) or wiring.of_value(part, "V", "zener_tolerance")
    number = identity.part_number or identity.value.text
    if nominal := _NOMINAL.match(number):
        return around(float(nominal[1]), 5, "V")
    written = _STAND_OFF.match(number)
    stand_off = float(facts.volts.value) if facts.volts else float(written[1]) if written else None
    ratio = wiring.default("tvs_breakdown_ratio")
    if stand_off is None or ratio.low is None or ratio.nominal is None or ratio.high is None:
        return None
    return Band(stand_off * ratio.low, stand_off * ratio.nominal, stand_off * ratio.high, "V", BandBasis.TABLE)


def mosfet(wiring: Wiring, part: Part) -> list[Element]:
    """Return a MOSFET: body diode and switched channel; roles by names, else by the usual order of its outline."""
    roles = [wiring.by_role(part, role) for role in ("drain", "gate", "source")]
    told: tuple[Message, ...] = ()
    if None in roles:
        order = _outline_order(part)
        if order is None or len(wiring.pins(part.ref)) < 3:
            wiring.ask(
                (part.ref,),
                message("circuit-no-pins"),
                f'[parts] {part.ref} = {{ pins = {{ G = "1", D = "2", S = "3" }} }}',
            )
            return [Element("unmodelled", part.ref, tuple(wiring.node(pin) for pin in wiring.pins(part.ref)), {})]
        roles = [wiring.number(part, number) for number in order]
        told = (message("circuit-role-by-outline", ref=part.ref, order="D G S", pins=" ".join(order)),)
    drain, gate, source = roles
    if drain is None or gate is None or source is None:
        return unmodelled(wiring, part)
    text = f"{part.identity.description} {part.identity.value.text}".casefold()
    kind = "mosfet_p" if re.search(r"(?<![a-z])p[ -]?(?:ch|mos|kanal)", text) else "mosfet_n"
    small = re.match(r"2N700|BSS1|BS170|BS250|BSS84|DMG1012|2V7002", part.identity.value.text, re.IGNORECASE)
    channel = wiring.default("mosfet_small_on" if small else "mosfet_on")
    parameters = {"threshold": wiring.default("mosfet_threshold"), "channel": channel, **wiring.drop("body_diode")}
    return [Element(kind, part.ref, (drain, gate, source), parameters, told)]


def _outline_order(part: Part) -> tuple[str, str, str] | None:
    """Return the pin numbers of drain, gate and source by the usual order of the outline."""
    name = part.identity.package.name if part.identity.package else part.identity.package_text
    if name.startswith(_GDS_OUTLINES):
        return "2", "1", "3"
    return ("3", "1", "2") if name.startswith(("SOT-23", "SOT-323")) else None
