"""The regulator of many makers with the number 723: a reference, an amplifier, a transistor for the output.

Its amplifier holds both inputs alike through its own output transistor and whatever that drives. Pins, figures and
spreads are those of the makers' sheets, from memory.
"""

import re
from dataclasses import replace

from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.feedback import feedback, is_used, stages_of
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.parts import pins_only, unmodelled
from reworkkit.compute.circuit.pin_roles import by_names, known_pins, numbers
from reworkkit.compute.circuit.transistor_cores import Ends, Make, darlington, single
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NUMBER = re.compile(r"(?:LM|[UΜ]A|MC1?|CA|SG|RC|RM|TDB0?|TBA|L|KA|MAA|NJM|BA|SN72|SFC2|HA17|XR|ECG|NTE)?1?723(?!\d)")
_PINS = {
    10: "CS INV NI VREF V- VO VC V+ COMP CL",
    14: "- CL CS INV NI VREF V- - VZ VO VC V+ COMP -",
}
"""Roles of the pins 1, 2, ... in the round can and in two rows of seven."""
_NAMES = {
    "CS": "CS CURRENTSENSE CURSENSE CURRSENSE ISENSE SENSE CSENSE",
    "CL": "CL CURRENTLIMIT CURLIM CURRLIM ILIM LIMIT CLIM",
    "INV": "INV IN- -IN INVINPUT INVERTINGINPUT VIN- INN",
    "NI": "NI IN+ +IN NONINV NONINVINPUT NON-INV NONINVERTINGINPUT VIN+ INP N.I. N.INV",
    "VREF": "VREF REF",
    "V-": "V- VCC- VEE GND -V VSS -VCC",
    "VO": "VO VOUT OUT OUTPUT",
    "VC": "VC VCOLL COLLECTOR",
    "V+": "V+ VCC VCC+ +V +VCC VIN VDD",
    "COMP": "COMP FCOMP FREQCOMP FREQUENCYCOMPENSATION FREQ.COMP FC",
    "VZ": "VZ ZENER",
}
_NEEDED = frozenset(("INV", "NI", "V+", "V-", "VO"))


def is_723(part: Part) -> bool:
    """Return whether the number of a part is that of this regulator."""
    return any(_NUMBER.match(number) for number in numbers(part))


def regulator_723(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return reference, output transistor, current limit and, where its output works against it, the amplifier.

    None for other parts. Where the feedback is not plain the output is a question.
    """
    if not is_723(part):
        return None
    at = _placed(wiring, part)
    if not set(at) >= _NEEDED:
        return unmodelled(wiring, part)
    comp = at.get("COMP") or f"{part.ref}.comp{INNER}"
    own = [*_reference(wiring, part, at), *_output(wiring, part, at, comp)]
    ways = feedback(stages_of(wiring, own), comp, at["NI"], at["INV"])
    if ways.against is None or (ways.along is not None and ways.along <= ways.against):
        wiring.ask((part.ref,), message("circuit-723-no-feedback", ref=part.ref))
        kept = between(wiring, part.ref, [at["V+"]], at["V-"])
        return [*kept, *_reference(wiring, part, at), *pins_only(wiring, part)]
    nodes = (at["V+"], comp, at["NI"], at["INV"], at["V-"], at["V-"])
    said = message("circuit-amplifier", ref=part.ref)
    amplifier = Element("amplifier", part.ref, nodes, _figures(), (said,))
    return [*between(wiring, part.ref, [at["V+"]], at["V-"]), *own, amplifier]


def _figures() -> dict[str, Band]:
    """Return an amplifier that gives its output transistor little current, so that the limiting one can take it."""
    return {
        "gain": exact(3000.0, "1"),
        "offset": _band(-0.006, 0.0, 0.006, "V"),
        "room_high": _band(0.8, 1.2, 1.7, "V"),
        "room_low": _band(0.1, 0.5, 2.0, "V"),
        "limit": _band(1e-4, 2.5e-4, 5e-4, "A"),
    }


def _reference(wiring: Wiring, part: Part, at: dict[str, str]) -> list[Element]:
    """Return what holds the reference pin; it draws the current of the whole part also where that pin is open."""
    figures = {
        "volts": _band(6.95, 7.15, 7.35, "V"),
        "dropout": _band(1.0, 1.8, 2.5, "V"),
        "limit": _band(0.005, 0.015, 0.03, "A"),
        "quiescent": _band(0.001, 0.0023, 0.004, "A"),
    }
    out = at.get("VREF") or f"{part.ref}.ref{INNER}"
    return [Element("regulator", part.ref, (at["V+"], out, at["V-"], out), figures)]


def _output(wiring: Wiring, part: Part, at: dict[str, str], comp: str) -> list[Element]:
    """Return the output transistor, the one that limits the current, and the Zener diode behind the output."""
    make = Make("npn", "small", _band(30, 60, 150, "1"), ())
    ends = Ends(at.get("VC") or at["V+"], comp, at["VO"])
    found = [_one_or_two(element) for element in darlington(wiring, part.ref, ends, make, None)]
    limit, sense = at.get("CL"), at.get("CS")
    if limit and sense and limit != sense and is_used(wiring, limit) and is_used(wiring, sense):
        found.append(single(wiring, part.ref, Ends(comp, limit, sense), make))
    if (zener := at.get("VZ")) and is_used(wiring, zener) and zener != at["VO"]:
        figures = {
            "breakdown": _band(5.8, 6.2, 6.7, "V"),
            "breakdown_at": exact(1e-3, "A"),
            "slope": exact(10.0, "ohm"),
        }
        found.append(Element("zener", part.ref, (zener, at["VO"]), {**wiring.drop("zener_forward"), **figures}))
    return found


def _one_or_two(element: Element) -> Element:
    """Return a transistor of the output with a wide drop: between COMP and VO makers have one or two junctions."""
    forward = element.parameters["forward"]
    wide = Band(0.3 * (forward.nominal or 0.0), forward.nominal, forward.high, "V", BandBasis.TABLE)
    return replace(element, parameters=element.parameters | {"forward": wide})


def _placed(wiring: Wiring, part: Part) -> dict[str, str]:
    """Return role -> node by pin names and board.toml, else by the numbers of the outline."""
    found = by_names(wiring, part, {role: frozenset(names.split()) for role, names in _NAMES.items()})
    if set(found) >= _NEEDED:
        return found
    count = 10 if re.match(r"TO-?(?:100|5|99|96|74)", part.identity.outline.upper()) else known_pins(part, wiring)
    for number, role in enumerate(_PINS[10 if count <= 10 else 14].split(), 1):
        if (node := wiring.number(part, str(number))) and role != "-":
            found.setdefault(role, node)
    return found


def _band(low: float, nominal: float, high: float, unit: str) -> Band:
    return Band(low, nominal, high, unit, BandBasis.TABLE)
