"""What a part stands at while its board is measured, as `role` of [parts] says: ohms, degrees, pins high or low."""

import math
import re

from reworkkit.compute.circuit.figures import around
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_OHMS = re.compile(
    r"(?<![\w.,])(\d+(?:[.,]\d+)?\s?(?:[kM](?!\w)|[kM]?\s?(?:ohms?|Ω)|[kMR]\d*(?!\w))|\d+[kMR]\d+)(?![\w°])",
    re.IGNORECASE,
)
_CELSIUS = re.compile(
    r"(?<![\w.,])([+-]?\d+(?:[.,]\d+)?)\s?(?:°\s?C|deg(?:rees?|s)?\.?(?:\s?(?:C|celsius))?|grad[io]?|degr[ée]s?|grados?|celsius|C)(?!\w)",
    re.IGNORECASE,
)
_AMPS = re.compile(r"(?<![\w.,])([+-]?\d+(?:[.,]\d+)?)\s?(m)?A(?![\w])")
_NO_CURRENT = re.compile(
    r"\b(?:no|kein|keinen|ohne|sans|pas de|sin|senza|geen)\s+(?:current|strom|courant|corriente|corrente|stroom)", re.I
)
_BETA = re.compile(
    r"(?<![A-Z0-9])B(?:ETA)?\s?(?:25/\d+)?\s?[=:]?\s?(\d{4})(?!\d)|(?<!\d)([34]\d{3})\s?K(?!\w)", re.IGNORECASE
)
OHMS_PERCENT, CELSIUS_SPREAD, AMPS_PERCENT = 8.0, 2.0, 5.0
"""How far the stated ohms, degrees or amperes of a sensor may be off: a person read it, or thought so; from memory."""
BETA, BETA_PERCENT = 3900.0, 6.0
"""B of a thermistor whose number does not tell it, and its spread; from memory: 3435 to 4300 kelvin are usual."""
_ZERO_C, _ROOM_C = 273.15, 25.0
_COLDEST_C, _HOTTEST_C = -100.0, 1000.0
"""What sensors on boards are made for lies within; from memory."""


def stated_ohms(words: str) -> float | None:
    """Return the resistance that words state [ohm], or None.

    >>> stated_ohms("at 8k2"), stated_ohms("28 k, in cold water"), stated_ohms("dusk, 150k"), stated_ohms("at 30 %")
    (8200.0, 28000.0, 150000.0, None)
    >>> stated_ohms("280 ohm, kiln at 500 C")
    280.0
    """
    for found in _OHMS.finditer(words):
        value = parse_quantity(found[0].replace(",", ".").replace(" ", ""), "ohm")
        if value is not None and value.unit in ("ohm", "") and value.value > 0:
            return float(value.value)
    return None


def stated_celsius(words: str) -> float | None:
    """Return the temperature that words state [degrees Celsius]; None where they state none that a sensor stands.

    >>> stated_celsius("at 31 C"), stated_celsius("in ice, 0 °C"), stated_celsius("at -5 deg C"), stated_celsius("8k")
    (31.0, 0.0, -5.0, None)
    """
    found = _CELSIUS.search(words)
    celsius = float(found[1].replace(",", ".")) if found else None
    return celsius if celsius is not None and _COLDEST_C <= celsius <= _HOTTEST_C else None


def stated_amps(words: str) -> float | None:
    """Return the current that words state [A], below 0 against the arrow; None where they state none.

    "No current" is 0 A.

    >>> stated_amps("20 A through the hole"), stated_amps("-1,5 A"), stated_amps("no current in the primary")
    (20.0, -1.5, 0.0)
    >>> stated_amps("250 mA flowing"), stated_amps("on the 24 V bus bar")
    (0.25, None)
    """
    if _NO_CURRENT.search(words):
        return 0.0
    found = _AMPS.search(words)
    return float(found[1].replace(",", ".")) * (1e-3 if found[2] else 1.0) if found else None


def thermistor_ohm(room_ohm: float, celsius: float, beta: float) -> float:
    """Return the resistance of a thermistor with a negative coefficient [ohm]: R25 exp(B (1/T - 1/298.15)).

    `room_ohm` at 25 degrees, B in kelvin; within a few per cent from 0 to 50 degrees (IEC 60539-1 defines B so).

    >>> round(thermistor_ohm(10e3, 25.0, 3977.0)), round(thermistor_ohm(10e3, 0.0, 3977.0), -2)
    (10000, 33900.0)
    """
    return room_ohm * math.exp(beta * (1 / (celsius + _ZERO_C) - 1 / (_ROOM_C + _ZERO_C)))


def at_celsius(room_ohm: float, celsius: float, words: str) -> Band:
    """Return a thermistor's ohms at a stated temperature, by the B that its words tell, else the usual one."""
    told = _BETA.search(words)
    beta = float(told[1] or told[2]) if told else BETA
    percent = 1.0 if told else BETA_PERCENT
    ends = [
        thermistor_ohm(room_ohm, celsius + warmer, beta * share)
        for warmer in (-CELSIUS_SPREAD, CELSIUS_SPREAD)
        for share in (1 - percent / 100, 1 + percent / 100)
    ]
    return Band(min(ends), thermistor_ohm(room_ohm, celsius, beta), max(ends), "ohm", BandBasis.STATED)


_SENSING = frozenset(("thermistor", "sensor", "temperature_sensor", "potentiometer", "unknown"))
PLUGS = frozenset(("connector", "terminal"))
_TURNING = frozenset(("lamp", "buzzer", "motor"))
"""What a person means who states the draw of a net without naming a part; ohms of these are those they run at."""
_BY_LIGHT = re.compile(
    r"(?<![a-z])ldr(?![a-z])|photo[- ]?resist|light[- ]depend|fotowiderst|photocell|(?<!\w)GL\d{4}", re.IGNORECASE
)


def by_light(part: Part) -> bool:
    """Return whether a part's words call it a light-dependent resistor."""
    return bool(_BY_LIGHT.search(f"{part.ref} {words_of(part)}"))


def at_stated_ohms(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a sensor, a variable resistor of two nets or a running load at the ohms that `role` states, else None.

    A part of more nets is the resistors that `role` states between its pins: `probes in water: 1-3 15k, 2-3 18k`.
    """
    if apart := _between_pins(wiring, part):
        return apart
    role, ends = wiring.facts(part.ref).role, wiring.two_ends(part)
    ohms = stated_ohms(role) if role else None
    runs = part.identity.kind in _TURNING and not stated_elsewhere(wiring, part)
    if ohms is None or ends is None or not (part.identity.kind in _SENSING or by_light(part) or runs):
        return None
    told = message("circuit-stated-ohms", ref=part.ref, role=role or "")
    return [Element("resistor", part.ref, ends, {"resistance": around(ohms, OHMS_PERCENT, "ohm")}, (told,))]


_UNPLUGGED = re.compile(
    r"(?<!\d )(?:unplugged|disconnected|(?<![a-z])(?:not|nothing|none) (?:plugged|connected|attached)|"
    r"no (?:cable|plug)(?![a-z])|"
    r"nichts (?:angeschlossen|gesteckt|verbunden|eingesteckt)|nicht (?:angeschlossen|gesteckt|verbunden|eingesteckt)|"
    r"abgezogen|abgeklemmt|débranchée?s?|non (?:branchée?s?|connectée?s?|raccordée?s?)|"
    r"rien (?:de )?(?:branché|connecté|raccordé)|"
    r"desconectad[oa]s?|desenchufad[oa]s?|sin (?:conectar|enchufar)|nada (?:conectado|enchufado)|"
    r"scollegat[oaie]|non (?:collegat|conness)[oaie]|(?:niente|nulla) (?:di )?collegato|niet aangesloten)|"
    r"^(?:(?:left )?open|offen)\s*(?:$|[,;:.(])",
    re.IGNORECASE,
)
"""Said of the whole plug, not of one of its pins (`pin 3 not connected`) or of a sort of output (`open collector`)."""


def unplugged(wiring: Wiring, part: Part) -> bool:
    """Return whether `role` or the row of a plug says that nothing is plugged in: then nothing out there drives it."""
    return any(_UNPLUGGED.search(words.strip()) for words in (wiring.facts(part.ref).role or "", words_of(part)))


_OF_SEVERAL_OHMS = (PLUGS | _SENSING) - {"potentiometer"}
_PIN_TO_PIN = r"(?<![\w.])(\w{1,6})\s?(?:-|–|to|and|bis|und|à|et|a|y|e)\s?(\w{1,6})"
_OHMS_AT_PINS = re.compile(rf"{_PIN_TO_PIN}\s?[:=]?\s?({_OHMS.pattern})", re.IGNORECASE)


def _between_pins(wiring: Wiring, part: Part) -> list[Element]:
    """Return the resistors that `role` states between pins of a plug, sensor or part of unknown kind.

    A potentiometer keeps its whole track: `wiper.place_of_wiper` reads where it stands.
    """
    role = wiring.facts(part.ref).role or ""
    nodes = {pin.number.upper(): wiring.node(pin) for pin in wiring.pins(part.ref)}
    told = message("circuit-stated-ohms", ref=part.ref, role=role)
    found = []
    for one, other, written, _ in _OHMS_AT_PINS.findall(role) if part.identity.kind in _OF_SEVERAL_OHMS else ():
        ends, ohms = (nodes.get(one.upper()), nodes.get(other.upper())), stated_ohms(written)
        if ohms and ends[0] and ends[1] and ends[0] != ends[1]:
            band = {"resistance": around(ohms, OHMS_PERCENT, "ohm")}
            found.append(Element("resistor", part.ref, (ends[0], ends[1]), band, (told,)))
    return found


def stated_elsewhere(wiring: Wiring, part: Part) -> bool:
    """Return whether [loads] names the part, or one of its nets without a part: its draw is there already."""
    nets = set(wiring.nets_of(part.ref)) - {wiring.ground}
    hangs_on = part.identity.kind in (*PLUGS, *_TURNING, "unknown")
    return any(
        one.part == part.ref or (one.part is None and net in nets and hangs_on)
        for net, one in wiring.board.facts.loads.items()
    )
