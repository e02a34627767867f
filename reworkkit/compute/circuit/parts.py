"""Elements of two- and three-lead parts: values from the list, roles from pin names, else from conventions."""

import re

from reworkkit.compute.circuit.conditions import at_celsius, stated_celsius
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.wiring import CHIPS, Wiring, words_of
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


def nothing(wiring: Wiring, part: Part) -> list[Element]:
    """Return no element: the part passes no direct current."""
    return []


def unmodelled(wiring: Wiring, part: Part) -> list[Element]:
    """Return the pins of a part whose behaviour is not known, and say so."""
    wiring.ask((part.ref,), message("circuit-no-model", kind=part.identity.kind.replace("_", " ")))
    return pins_only(wiring, part)


def pins_only(wiring: Wiring, part: Part) -> list[Element]:
    """Return the nets of a part of which nothing more is known: what it does there is for others to leave open."""
    return [Element("unmodelled", part.ref, tuple(wiring.nets_of(part.ref)), {})]


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


_WINDING_OHMS = re.compile(
    r"(?<![a-z])(?:DCR|R_?dc|R_?L)[ :=<≤max.]*(\d+(?:[.,]\d+)?)\s?(m?)\s?(?:ohms?|Ω|R)", re.IGNORECASE
)
_SPREAD = (0.25, 4.0)
"""Spread of a winding whose resistance only its inductance tells; from memory."""


def inductor(wiring: Wiring, part: Part) -> list[Element]:
    """Return the winding resistance of a coil: as the list states it, else by inductance and size."""
    text = words_of(part)
    if written := _WINDING_OHMS.search(text):
        ohm = float(written[1].replace(",", ".")) * (1e-3 if written[2] else 1.0)
        return _passing(wiring, part, "inductor", around(ohm, 25, "ohm"))
    main = part.identity.value.main
    if main is None or main.unit != "H" or not main.value:
        return _passing(wiring, part, "inductor", wiring.default("inductor"), (wiring.assumed("inductor", part.ref),))
    band = _by_inductance(float(main.value), part)
    return _passing(wiring, part, "inductor", band, (message("circuit-inductor-size", ref=part.ref, band=band),))


def _by_inductance(henry: float, part: Part) -> Band:
    """Return 50 milliohm at 10 microhenry and a little less than in proportion (from memory); a chip five times it."""
    ohm = 0.05 * (henry / 1e-5) ** 0.6
    name = part.identity.outline
    if re.match(r"(?:L chip )?(?:0402|0603|0805|1008|1206)", name):
        ohm *= 5
    return Band(_SPREAD[0] * ohm, ohm, _SPREAD[1] * ohm, "ohm", BandBasis.TABLE)


def ferrite(wiring: Wiring, part: Part) -> list[Element]:
    """Return the direct-current resistance of a ferrite bead; its printed ohms are at 100 MHz."""
    return _passing(
        wiring, part, "inductor", wiring.default("ferrite_bead"), (wiring.assumed("ferrite_bead", part.ref),)
    )


def fuse(wiring: Wiring, part: Part) -> list[Element]:
    """Return a fuse by its cold resistance: by its rated current, else the usual one.

    About 0.1 ohm at 1 A and somewhat faster than in inverse proportion; a resettable one twice that (from memory).
    """
    resettable = part.identity.kind == "resettable_fuse"
    key = "resettable_fuse" if resettable else "fuse"
    main = part.identity.value.main
    band = wiring.default(key)
    if main is not None and main.unit == "A" and main.value > 0:
        ohm = (0.2 if resettable else 0.1) / float(main.value) ** (1.1 if resettable else 1.2)
        band = Band(ohm / 3, ohm, ohm * (3 if resettable else 4), "ohm", BandBasis.TABLE)
        return _passing(wiring, part, "fuse", band, (message("circuit-fuse-by-amps", ref=part.ref, band=band),))
    return _passing(wiring, part, "fuse", band, (wiring.assumed(key, part.ref),))


def fuse_holder(wiring: Wiring, part: Part) -> list[Element]:
    """Return the holder of a fuse as a fuse that sits in it; nothing where the fuse has a row of its own across it."""
    ends = wiring.two_ends(part)
    nets = set(ends or ())
    for ref, other in wiring.board.parts.items():
        if other.identity.kind == "fuse" and ref != part.ref and ends and set(wiring.nets_of(ref)) == nets:
            return []
    return _passing(wiring, part, "fuse", wiring.default("fuse"), (message("circuit-fuse-in-holder", ref=part.ref),))


def through_filter(wiring: Wiring, part: Part) -> list[Element]:
    """Return what passes direct current through an interference filter: from one net to the other, none to ground."""
    nets = [net for net in wiring.nets_of(part.ref) if net != wiring.ground]
    if len(nets) != len(("in", "out")):
        return unmodelled(wiring, part)
    told = wiring.assumed("ferrite_bead", part.ref)
    return [Element("inductor", part.ref, (nets[0], nets[1]), {"resistance": wiring.default("ferrite_bead")}, (told,))]


_INRUSH = re.compile(r"inrush|(?<![\w.])(\d{1,3})D-?\d{1,2}(?!\d)|surge|einschalt", re.IGNORECASE)
_PTC = re.compile(r"(?<![a-z])ptc(?![a-z])|kaltleiter|positive temp|(?<![a-z])pt\d{2,4}|kty", re.IGNORECASE)
_NTC_CODE = re.compile(r"(?<!\w)(?:MF5\w*?[- ]?|NTCLE\w*?E3|B57\w*?|NTC[- ]?)(\d\d)(\d)(?!\d)", re.IGNORECASE)
"""Two figures and the number of zeros in the type number of a thermistor."""
_SENSING_NTC, _INRUSH_NTC, _PTC_ROOM = (0.8, 1.08, 1.4), (0.3, 1.0, 1.25), (0.8, 1.0, 1.2)
"""Share of the printed resistance at 16 to 30 C, at some 23 C: 4.4 % less each degree; an inrush type warms in use."""


def thermistor(wiring: Wiring, part: Part) -> list[Element]:
    """Return a thermistor at room temperature: its printed value at 25 C and what a room does to it."""
    text = f"{part.identity.value.text} {part.identity.description} {part.identity.part_number}"
    main = part.identity.value.main
    code = _INRUSH.search(text)
    ohm = float(main.value) if main is not None and main.unit == "ohm" else float(code[1]) if code and code[1] else None
    if ohm is None and (figures := _NTC_CODE.search(text)):
        ohm = int(figures[1]) * 10.0 ** int(figures[2])
    if not ohm:
        return resistor(wiring, part)
    celsius, told = stated_celsius(wiring.facts(part.ref).role or ""), _PTC.search(text)
    if celsius is not None and not told:
        stated = message("circuit-stated-celsius", ref=part.ref, celsius=celsius)
        return _passing(wiring, part, "resistor", at_celsius(ohm, celsius, text), (stated,))
    low, nominal, high = _PTC_ROOM if told else _INRUSH_NTC if code or ohm <= 50 else _SENSING_NTC
    band = Band(low * ohm, nominal * ohm, high * ohm, "ohm", BandBasis.TABLE)
    return _passing(wiring, part, "resistor", band, (message("circuit-thermistor", ref=part.ref),))


def by_light(wiring: Wiring, part: Part) -> list[Element]:
    """Return a light-dependent resistor: a factor of ten either way of its value in room light."""
    return _passing(
        wiring, part, "resistor", wiring.default("light_dependent"), (message("circuit-light", ref=part.ref),)
    )


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
        1 / ((rate.nominal or 0.003) * capacitance),
        None,
        "ohm",
        BandBasis.TABLE,
    )


def polar_ends(
    wiring: Wiring, part: Part, high: str, low: str, ends: tuple[str, str]
) -> tuple[tuple[str, str], tuple[Message, ...]]:
    """Return the two ends as (high role, low role): by pin names, else by the rails, else by pin 1.

    `high` is anode or plus. A part that blocks (capacitor, Zener diode, suppressor, as built) stands with its plus
    or cathode at the positive rail; a plain diode as the circuit needs it where that is known, else it follows the
    usual numbering of lands, pin 1 = cathode.
    """
    named = wiring.by_role(part, high), wiring.by_role(part, low)
    if named[0] and named[1]:
        return (named[0], named[1]), ()
    first, second = ends
    if low == "cathode" and (net := wiring.cathodes.get(part.ref)) in ends:
        told = message("circuit-role-by-need", ref=part.ref, net=net)
        return (second if net == first else first, net), (told,)
    if part.identity.kind.startswith("diode") and (clamped := _clamped(wiring, ends)):
        return clamped, (message("circuit-role-by-need", ref=part.ref, net=clamped[1]),)
    if high == "plus":
        by_rail = _towards_rail(wiring, ends)
        if by_rail:
            return by_rail, (message("circuit-role-by-rail", ref=part.ref, net=by_rail[0]),)
        return (first, second), (message("circuit-role-by-pin", ref=part.ref, role=high, pin="1"),)
    return (second, first), (message("circuit-role-by-pin", ref=part.ref, role=low, pin="1"),)


def _clamped(wiring: Wiring, ends: tuple[str, str]) -> tuple[str, str] | None:
    """Return (anode, cathode) of a diode from a chip's pin to a positive rail: it keeps the pin from going above."""
    for one, rail in (ends, ends[::-1]):
        kinds = {part.identity.kind for part in wiring.parts_on(one)}
        signal = kinds <= _ROUND_INPUT and bool(kinds & CHIPS) and one != wiring.ground and not wiring.is_rail(one)
        if signal and wiring.is_positive_rail(rail):
            return one, rail
    return None


_ROUND_INPUT = CHIPS | {"resistor", "capacitor", "capacitor_ceramic", "capacitor_film", "diode", "diode_schottky",
                        "test_point", "resistor_network"}  # fmt: skip
"""What stands at the input of a chip: nothing that stores, switches or feeds."""


def _towards_rail(wiring: Wiring, ends: tuple[str, str]) -> tuple[str, str] | None:
    """Return the ends with the positive rail first, where one end is ground and the other such a rail."""
    for one, other in (ends, ends[::-1]):
        if other == wiring.ground and wiring.is_positive_rail(one):
            return one, other
    return None


def current_set(part: Part, one: str, other: str, volts: float) -> Element:
    """Return what tells that the resistor between two nets sets a current of a part, by the volts held across it."""
    return Element("current_set", part.ref, (one, other), {"volts": exact(volts, "V")})
