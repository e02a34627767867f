"""Contacts of relays: which pins they are, and from what voltage of the coil they move."""

import re
from collections.abc import Iterable
from typing import NamedTuple

from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.loads import rating, volts_in
from reworkkit.compute.circuit.pin_roles import row_of
from reworkkit.compute.circuit.wiring import CHIPS, EXTERNAL, Wiring, words_and_notes, words_of
from reworkkit.model.connections import Connections
from reworkkit.model.messages import Message, message
from reworkkit.model.netlist import Pin
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

DROP_OUT, MOVES_FROM, PULL_IN = 0.1, 0.7, 0.8
"""Shares of its own voltage: below the first a coil has surely let go, above the last it has surely pulled; relays
pull in at some 0.75 and drop out at 0.1 to 0.3 (makers' sheets, from memory). Between them nobody knows."""
CONTACT_OHM = Band(0.02, 0.07, 0.2, "ohm", BandBasis.TABLE)
"""A closed contact of a signal or power relay: sheets say at most 0.05 to 0.1 ohm when new; from memory."""
_PLUG_OHM = 1.0
"""Resistance of what a plug may drive a coil by."""
_BESIDE = frozenset(("test_point", "diode", "diode_schottky", "tvs", "tvs_one_way", "tvs_two_way", "varistor", "led"))
"""Parts beside a coil or lamp that give its net no level."""
COIL_NAMES = frozenset({"A1", "A2", "COIL+", "COIL-", "COIL1", "COIL2", "COIL_A", "COIL_B", "COIL"})
_ROLES = {
    "P": "COM",
    "S": "NO",
    "O": "NC",
    "COM": "COM",
    "CO": "COM",
    "C": "COM",
    "COMMON": "COM",
    "NO": "NO",
    "NC": "NC",
    "MAKE": "NO",
    "BREAK": "NC",
    "NA": "NO",
    "NF": "NC",
}
_NAMED = re.compile(r"(COMMON|COM|CO|C|NO|NC|NA|NF|MAKE|BREAK|P|S|O)[ _-]?(\d?)(?:[ _-]?[AB])?")
_NUMBERED = re.compile(r"([1-9])([1-8])")
_OF_NUMBER = {"1": "COM", "2": "NC", "4": "NO", "3": "COM_NO"}
"""Second figure of a contact's number (EN 50005): 1 and 2 break, 3 and 4 make, 1-2-4 changes over."""
_MAKES = re.compile(
    r"form[ -]?A(?![a-z])|(?<![\w])1\s?A(?=[ ,;)]|$)|SPST(?!-?NC)|1\s?NO(?![a-z])|normally[ -]open|schlie(?:ß|ss)er|"
    r"arbeitskontakt|make contact|contact (?:de )?travail|à fermeture|contacto NA|contatto NA|maakcontact|"
    r"-SL-A|-HS[1-9]?|-1AE?[A-Z]?(?![a-z0-9])",
    re.IGNORECASE,
)
_CONTACTOR = re.compile(
    r"contactor(?!\w)|(?<!\w)(?:vorlade|haupt|netz|last)?schütz(?!\w)|contacteur|contattore|stycznik|contator(?!\w)",
    re.IGNORECASE,
)
_BREAKS = re.compile(
    r"form[ -]?B(?![a-z])|SPST-?NC|1\s?NC(?![a-z])|normally[ -]closed|öffner|ruhekontakt|break contact|"
    r"contact (?:de )?repos|à ouverture|verbreekcontact|-SL-B",
    re.IGNORECASE,
)
_LATCHING = re.compile(
    r"latching|bistabil|bi-stable|impulse relay|remanen|two[ -]coil|2[ -]coil|T[QX]2\w*-L|G6[KS][UK]|HFD3\S*-L", re.I
)
_COIL_VOLTS = re.compile(
    r"(?:coil|spule|bobine)\D{0,12}(\d+(?:[.,]\d+)?)\s?V|(\d+(?:[.,]\d+)?)\s?V(?:\s?DC)?[ ,]*(?:coil|spule)|"
    r"(?:^|[-_ ])(\d+(?:[.,]\d+)?)\s?VDC(?=[-_ ]|$)",
    re.IGNORECASE,
)


class Contact(NamedTuple):
    """One contact: its two nets, and whether it is closed while the coil rests."""

    nets: tuple[str, str]
    rests_closed: bool


def contacts(wiring: Wiring, part: Part, coil: tuple[str, ...]) -> tuple[list[Contact], tuple[Message, ...]]:
    """Return the contacts of a relay and what was taken for granted; none where nothing tells which pins they are.

    By `pins` of board.toml and pin names (COM, NO, NC, or 11-12-14 and 13-14 beside a coil A1-A2), else, where but two
    nets are left, by the words of the list: one contact that makes, or breaks. A latching relay stays a question. Where
    guesses are allowed the main contacts of a contactor make.
    """
    if _LATCHING.search(words_of(part)):
        return [], ()
    if found := _by_names(wiring, part):
        return found, (message("circuit-role-by-type", ref=part.ref),) if _by_type(wiring, part) else ()
    rest = _beside_coil(wiring, part, coil)
    words = f"{words_and_notes(part)} {part.identity.package_text}"
    makes, breaks = bool(_MAKES.search(words)), bool(_BREAKS.search(words))
    makes = makes or bool(wiring.guessing and _CONTACTOR.search(words) and not breaks)
    if len(rest) != len(("one", "other")) or makes == breaks:
        return [], ()
    slug = message("circuit-contact-by-words", ref=part.ref)
    return [Contact((rest[0], rest[1]), breaks)], (slug,)


def _beside_coil(wiring: Wiring, part: Part, coil: tuple[str, ...]) -> list[str]:
    """Return the nets of the pins that are left where the coil has one pin of each of its nets."""
    left = [pin.net for pin in wiring.pins(part.ref) if pin.net in wiring.board.nets]
    for net in coil:
        if net in left:
            left.remove(net)
    return [net for net in dict.fromkeys(left) if net]


def _by_names(wiring: Wiring, part: Part) -> list[Contact]:
    by_type = _by_type(wiring, part)
    names = {pin.number: _name(wiring, part, pin, by_type) for pin in wiring.pins(part.ref)}
    iec = bool({"A1", "A2"} & set(names.values()))
    poles: dict[str, dict[str, str]] = {}
    for pin in wiring.pins(part.ref):
        if pin.net is None or names[pin.number] in COIL_NAMES:
            continue
        role, pole = _role(names[pin.number], iec)
        if role:
            poles.setdefault(pole, {}).setdefault(role, pin.net)
    return [contact for _, pole in sorted(poles.items()) for contact in _of_pole(pole)]


def _of_pole(pole: dict[str, str]) -> list[Contact]:
    common = pole.get("COM_NO") or pole.get("COM")
    found = [(pole.get("COM") or common, pole.get("NC"), True), (common, pole.get("NO"), False)]
    return [Contact((one, other), rests) for one, other, rests in found if one and other and one != other]


def coil_by_type(wiring: Wiring, part: Part) -> tuple[str, ...]:
    """Return the two nets of the coil by the usual pin numbers of the type; none where it is not known."""
    ends = [wiring.number(part, number) for number, role in _by_type(wiring, part).items() if role in ("A1", "A2")]
    return tuple(dict.fromkeys(net for net in ends if net))


def coil_by_circuit(wiring: Wiring, part: Part) -> tuple[str, ...]:
    """Return the two nets of the coil by what stands there; none where that does not tell.

    Where another part stands across two pins, else from its only rail to the only net that a chip or transistor
    switches.
    """
    nets = wiring.nets_of(part.ref)
    rails = [net for net in nets if wiring.is_rail(net)]
    switched = [net for net in nets if net not in rails and _has_switch(wiring, net)]
    alone = (rails[0], switched[0]) if len(rails) == len(switched) == 1 else ()
    return Connections(wiring.board).coil(part.ref) or alone


def _has_switch(wiring: Wiring, net: str) -> bool:
    kinds = {part.identity.kind for part in wiring.parts_on(net)}
    return bool(kinds & (CHIPS | {"transistor_bipolar", "transistor", "mosfet"}))


def _by_type(wiring: Wiring, part: Part) -> dict[str, str]:
    """Return number -> role of a type whose makers number alike, where the netlist has but those numbers as names.

    Many netlists number the pins in another order: none where something else stands across the coil.
    """
    row = row_of("relay_pins", part)
    if row is None or wiring.facts(part.ref).pins:
        return {}
    roles = dict(pair.split("=") for pair in row["pins"].split())
    pins = wiring.pins(part.ref)
    plain = all(pin.number in roles and (pin.name or pin.number) == pin.number for pin in pins)
    coil = {wiring.node(pin) for pin in pins if roles.get(pin.number) in ("A1", "A2")}
    found = set(coil_by_circuit(wiring, part))
    return roles if plain and (not found or found == coil) else {}


def _name(wiring: Wiring, part: Part, pin: Pin, by_type: dict[str, str]) -> str:
    stated = {number: name for name, number in wiring.facts(part.ref).pins.items()}
    return (stated.get(pin.number) or by_type.get(pin.number) or pin.name or pin.number).strip().upper()


def _role(name: str, iec: bool) -> tuple[str | None, str]:
    """Return the role of a contact's pin and its pole.

    >>> _role("NO2", False), _role("COM", False), _role("24", True), _role("13", True), _role("14", False)
    (('NO', '2'), ('COM', ''), ('NO', '2'), ('COM_NO', '1'), (None, ''))
    """
    if named := _NAMED.fullmatch(name):
        return _ROLES[named[1]], named[2]
    if iec and (number := _NUMBERED.fullmatch(name)):
        return _OF_NUMBER.get(number[2]), number[1]
    return None, ""


def coil_volts(wiring: Wiring, part: Part, coil: tuple[str, ...]) -> tuple[float | None, tuple[Message, ...]]:
    """Return the voltage that a coil is made for: by [parts], the list, else the rail it hangs on, which is told."""
    if wiring.facts(part.ref).volts is None and (found := _COIL_VOLTS.search(words_and_notes(part))):
        return float(next(filter(None, found.groups())).replace(",", ".")), ()
    if volts := rating(wiring, part)[0] or volts_in(words_and_notes(part)):
        return volts, ()
    rails = [net for net in coil if wiring.is_positive_rail(net)] or _feeding(wiring, part, coil)
    if len(rails) != 1:
        return None, ()
    volts = wiring.rails[rails[0]][0].nominal
    return volts, (message("circuit-coil-volts-by-rail", ref=part.ref, net=rails[0]),)


_LETS_THROUGH = frozenset(
    ("diode", "diode_schottky", "fuse", "resettable_fuse", "inductor", "jumper", "switch", "mosfet")
)


def _feeding(wiring: Wiring, part: Part, coil: tuple[str, ...]) -> list[str]:
    """Return the positive rails that a fuse, diode, switch or their like feeds a coil from."""
    near = {net: [one for one in wiring.parts_on(net, part.ref) if one.identity.kind in _LETS_THROUGH] for net in coil}
    far = {end for net, found in near.items() for one in found for end in wiring.nets_of(one.ref) if end not in coil}
    return sorted(net for net in far if wiring.is_positive_rail(net))


def from_outside(wiring: Wiring, part: Part, nets: Iterable[str]) -> list[Element]:
    """Return what a plug may drive a coil or lamp by, straight or through one resistor: their contacts may close."""
    rails = [net for net in wiring.rails if wiring.is_positive_rail(net)]
    ends = dict.fromkeys(net for near in nets for net in (near, *_behind_resistor(wiring, part, near)))
    plugged = [net for net in ends if net in wiring.board.nets and _is_plugged(wiring, part, net)]
    ohm = {"resistance": exact(_PLUG_OHM, "ohm")}
    high = rails[0] if rails else wiring.ground
    return [Element("driver", part.ref, (net, high, wiring.ground), ohm) for net in plugged]


def _is_plugged(wiring: Wiring, part: Part, net: str) -> bool:
    at_plug = any(one.identity.kind in EXTERNAL for one in wiring.parts_on(net, part.ref))
    others = [one for one in wiring.parts_on(net, part.ref) if one.identity.kind != "resistor"]
    return (
        at_plug
        and net not in wiring.rails
        and net != wiring.ground
        and all(one.identity.kind in EXTERNAL or one.identity.kind in _BESIDE for one in others)
    )


def _behind_resistor(wiring: Wiring, part: Part, net: str) -> list[str]:
    if net == wiring.ground or net in wiring.rails:
        return []
    near = (one for one in wiring.parts_on(net, part.ref) if one.identity.kind == "resistor")
    return [end for one in near for end in wiring.nets_of(one.ref) if end != net]


def moved(ref: str, nets: tuple[str, str], rests_closed: bool, volts: float, told: tuple[Message, ...]) -> Element:
    """Return a contact that moves with the coil of its part: made for `volts`, whichever way it is fed."""
    edges = (DROP_OUT * volts, MOVES_FROM * volts, PULL_IN * volts)
    figures = {"resistance": CONTACT_OHM, "threshold": edge_of(edges, "V", rests_closed)}
    return Element("contact", ref, nets, figures, told)


def edge_of(edges: tuple[float, float, float], unit: str, rests_closed: bool) -> Band:
    """Return the threshold of a contact: surely at rest, moves, has surely moved; below zero where it opens then."""
    low, usual, high = (-edge for edge in reversed(edges)) if rests_closed else edges
    return Band(low, usual, high, unit, BandBasis.TABLE)
