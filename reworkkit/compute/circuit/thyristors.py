"""Thyristors, triacs, programmable and plain unijunction transistors, diacs."""

import re

from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.parts import pins_only
from reworkkit.compute.circuit.pin_roles import in_order, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_WORDS = re.compile(r"(?<![a-z])(?:thyristors?|SCR|triacs?|silicon[- ]controlled)(?![a-z])", re.IGNORECASE)
_TRIAC_WORD = re.compile(r"triac", re.IGNORECASE)
_NO_THYRISTOR = re.compile(r"driver|coupler|opto|snubber|module|for (?:the )?(?:triac|thyristor|scr)", re.IGNORECASE)
_NAMES = {
    "K": frozenset(("K", "C", "CATHODE", "KATHODE", "KA")),
    "A": frozenset(("A", "ANODE", "AN")),
    "G": frozenset(("G", "GATE")),
    "MT1": frozenset(("MT1", "T1", "A1", "1MT")),
    "MT2": frozenset(("MT2", "T2", "A2", "2MT")),
    "E": frozenset(("E", "EMITTER")),
    "B1": frozenset(("B1", "BASE1")),
    "B2": frozenset(("B2", "BASE2")),
}
_NEEDS = {"scr": ("A", "G", "K"), "put": ("A", "G", "K"), "triac": ("MT2", "G", "MT1"), "ujt": ("E", "B1", "B2")}
_USUAL_MA = {"scr": "0.05 4 20", "triac": "1 10 50"}
"""Current that fires the gate of a type that no row knows [mA]; from memory."""
_GATE_V = 0.6
"""Voltage at which a gate fires, at its current; what joins gate and cathode inside takes that current (memory)."""
_GAIN, _SECOND_GAIN = 20.0, 1.0
"""Gains of the two transistors that a thyristor is; from memory: their product is well above 1."""
_TRIAC_GATE_OHM = Band(30.0, 70.0, 200.0, "ohm", BandBasis.TABLE)
_SHARES = (0.56, 0.65, 0.75)
"""Share of the voltage between its bases up to which a unijunction transistor's emitter carries nothing (2N2646)."""
DIAC_V = Band(26.0, 32.0, 40.0, "V", BandBasis.TABLE)
"""Voltage at which a diac breaks over: DB3 28 to 36 V, DB4 35 to 45 V (makers' sheets, from memory)."""


def thyristor(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a thyristor or triac that its gate fires and its current holds; None for other parts.

    By type number, else by the words of the list. Pins by names, else by the usual order of the type in its outline;
    else it is a question.
    """
    row, words = row_of("thyristor_types", part), words_of(part)
    if row is None and (not _WORDS.search(words) or _NO_THYRISTOR.search(words)):
        return None
    form = row["form"] if row else "triac" if _TRIAC_WORD.search(words) else "scr"
    pins, told = _pins(wiring, part, form, row["roles"] if row else "")
    if not pins:
        roles = ", ".join(f'{role} = "{n}"' for n, role in enumerate(_NEEDS[form], 1))
        wiring.ask((part.ref,), message("circuit-no-pins"), f"[parts] {part.ref} = {{ pins = {{ {roles} }} }}")
        return pins_only(wiring, part)
    least, usual, most = (float(word) for word in (row["gate_ma"] if row else _USUAL_MA[form]).split())
    if form == "ujt":
        return _unijunction(wiring, part, pins, (least, usual, most), told)
    fires = Band(least / 1e3, usual / 1e3, most / 1e3, "A", BandBasis.TABLE)
    if form == "triac":
        return _triac(wiring, part, pins, fires, (*told, message("circuit-triac", ref=part.ref, band=fires)))
    said = (*told, message("circuit-thyristor", ref=part.ref, band=fires))
    first, gate, last = (pins["K"], pins["G"], pins["A"]) if form == "put" else (pins["A"], pins["G"], pins["K"])
    core = _core(wiring, part, (first, gate, last), "thyristor_p" if form == "put" else "thyristor", said)
    return [core, _across(part, gate, last, fires)]


def _pins(wiring: Wiring, part: Part, form: str, orders: str) -> tuple[dict[str, str], tuple[Message, ...]]:
    wanted = {role: _NAMES[role] for role in _NEEDS[form]}
    found = _named(wiring, part, wanted)
    if set(_NEEDS[form]) <= set(found):
        return found, ()
    found = in_order(wiring, part, orders) if orders else {}
    if not set(_NEEDS[form]) <= set(found):
        return {}, ()
    names = {node: pin.number for pin in reversed(wiring.pins(part.ref)) for node in (wiring.node(pin),)}
    pins = " ".join(names[found[role]] for role in _NEEDS[form])
    return found, (message("circuit-order-by-type", ref=part.ref, order=" ".join(_NEEDS[form]), pins=pins),)


def _named(wiring: Wiring, part: Part, wanted: dict[str, frozenset[str]]) -> dict[str, str]:
    """Return role -> node by whole pin names: their figures tell the main terminals apart."""
    stated = {number: name for name, number in wiring.facts(part.ref).pins.items()}
    found: dict[str, str] = {}
    for pin in wiring.pins(part.ref):
        name = re.sub(r"[\s_]", "", stated.get(pin.number) or pin.name or pin.number).upper()
        for role, names in wanted.items():
            if name in names:
                found.setdefault(role, wiring.node(pin))
    return found


def _core(wiring: Wiring, part: Part, ends: tuple[str, str, str], kind: str, told: tuple[Message, ...]) -> Element:
    gains = {"gain": exact(_GAIN, "1"), "second_gain": exact(_SECOND_GAIN, "1")}
    base = f"{part.ref}.base{1 if kind == 'thyristor' else 2}{INNER}"
    return Element(kind, part.ref, (*ends, base), {**wiring.drop("thyristor_on"), **gains}, told)


def _across(part: Part, gate: str, end: str, fires: Band) -> Element:
    """Return what takes the gate's current until it fires."""
    low, usual, high = (_GATE_V / (amps or 1.0) for amps in (fires.high, fires.nominal, fires.low))
    return Element("inner", part.ref, (gate, end), {"resistance": Band(low, usual, high, "ohm", BandBasis.TABLE)})


def _triac(wiring: Wiring, part: Part, pins: dict[str, str], fires: Band, told: tuple[Message, ...]) -> list[Element]:
    """Return a triac as two thyristors, one for each direction, fired by a gate of the sign of its other end."""
    ends = pins["MT2"], pins["G"], pins["MT1"]
    return [
        _core(wiring, part, ends, "thyristor", told),
        _core(wiring, part, ends, "thyristor_p", ()),
        Element("inner", part.ref, (pins["G"], pins["MT1"]), {"resistance": _TRIAC_GATE_OHM}),
    ]


def _unijunction(
    wiring: Wiring, part: Part, pins: dict[str, str], ohms: tuple[float, float, float], told: tuple[Message, ...]
) -> list[Element]:
    """Return the bar of a unijunction transistor with its emitter's junction; that it fires is not in it."""
    tap, said = f"{part.ref}.bar{INNER}", (*told, message("circuit-unijunction", ref=part.ref))
    low, usual, high = ohms
    share = _SHARES[1]
    bar = Band(low * (1 - share), usual * (1 - share), high * (1 - share), "ohm", BandBasis.TABLE)
    return [
        Element("inner", part.ref, (pins["B2"], tap), {"resistance": bar}, said),
        inner(part.ref, tap, pins["B1"], usual * share, 40.0),
        Element("inner_diode", part.ref, (pins["E"], tap), wiring.drop("silicon_small"), said),
    ]


def diac(wiring: Wiring, part: Part) -> list[Element]:
    """Return a diac: nothing below the voltage at which it breaks over, either way."""
    ends = wiring.two_ends(part)
    if ends is None:
        return []
    figures = {"breakdown": DIAC_V, "breakdown_at": exact(1e-4, "A"), "slope": exact(5.0, "ohm")}
    return [Element("tvs_two_way", part.ref, ends, figures, (message("circuit-diac", ref=part.ref),))]
