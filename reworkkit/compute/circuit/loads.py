"""Loads whose figures the papers tell: coils, heaters and lamps as ohms; fans, buzzers and sirens as a draw.

What stands on the board and what hangs at a terminal is the same here: a terminal that the list calls
"valve, coil 24 V 240 ohm" is the valve. One without figures stays a plug.
"""

import re
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit import conditions
from reworkkit.compute.circuit.conditions import PLUGS, stated_elsewhere
from reworkkit.compute.circuit.figures import around
from reworkkit.compute.circuit.parts import pins_only
from reworkkit.compute.circuit.pin_roles import row_of
from reworkkit.compute.circuit.regulator_types import compiled
from reworkkit.compute.circuit.wiring import Wiring, words_and_notes, words_of
from reworkkit.model.facts import LoadFacts
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

COIL_PERCENT = 12.0
"""Spread of a relay coil with its temperature and make; from memory."""
_LAMP = re.compile(
    r"(?<![a-z])(?:lamp(?:e|s)?|bulb|filament|incandescent|halogen|gl(?:ü|ue?)h\w*|ampoule|lampada|lámpara|bombilla|лампа)"
    r"(?![a-z])",
    re.IGNORECASE,
)
_LED_LAMP = re.compile(r"(?<![a-z])leds?(?![a-z])|neon|discharge|fluorescent", re.IGNORECASE)
"""A lamp of these words is no filament."""
_COIL = re.compile(
    r"(?<![a-z])(?:coil|winding|solenoid|valve|magnetventil|ventil|electrovanne|elettrovalvola|magnet|contactor|"
    r"latch|door ?lock|spule|relay|клапан|\w*brake|\w*bremse|frein|freno|hamulec|тормоз|clutch|\w*kupplung|"
    r"embrayage|frizione|embrague)(?![a-z])",
    re.IGNORECASE,
)
_HEATER = re.compile(
    r"(?<![a-z])(?:heat(?:er|ing|ed)\w*|heiz\w*|chauffage|radiateur chauffant|resistencia calefactora|нагревател\w*)",
    re.IGNORECASE,
)
_DRAWING = re.compile(
    r"(?<![a-z])(?:fan|blower|l(?:ü|ue?)fter|ventil(?:at|ad)\w+|ventola|ventoinha|wentylator|вентилятор|buzzer|beeper|summer|siren\w*|sirene|horn|hupe|sounder)"
    r"(?![a-z])",
    re.IGNORECASE,
)
_SPEAKER = re.compile(
    r"(?<![a-z])(?:loud)?speaker|lautsprecher|haut-?parleur|altavoz|altoparlante|głośnik", re.IGNORECASE
)
_PASSIVE = re.compile(r"passive|piezo (?:element|disc)|without (?:drive|oscillator)|external drive", re.IGNORECASE)
_OHM = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)?\s?(?:[Rr]|[Oo]hms?|OHMS?|[Oo]m(?:y|ów|ios)?|Ω|k(?:ohm|Ω)?)(?![A-Za-z])")
_OHM_ELSEWHERE = re.compile(r"[Oo]m(?:y|ów|ios)?$")
_VOLT = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s?V(?:\s?DC|dc|=)?(?![a-zA-Z])")
_AMP = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?|\.\d+)\s?([mu])?A(?![a-zA-Z])")
_WATT = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s?(m)?W(?![a-zA-Z])")
_SELF_TOLD = frozenset(("lamp", "buzzer"))
"""Kinds that say themselves what the part is."""
MAY_BE = frozenset(("lamp", "motor", "speaker", "buzzer", "unknown", "inductor", "crystal", "hardware", "heat_sink",
                    "mounting_hole", "ferrite_bead", "resistor", "bridge_rectifier", *PLUGS))  # fmt: skip
"""Kinds that the class letters of a load (LA, H, Y, E, FAN, BR of two leads) or its words may have led to."""
_OF_A_LINE = re.compile(r"antenna|antenne|aerial|coax|cable|kabel|microphone|mikrofon|headphone|line|termination", re.I)
"""What has ohms that no direct current meets."""
_LETTERS = {"FAN": "fan", "BZ": "buzzer", "BUZ": "buzzer", "LA": "lamp", "HTR": "heater", "SIR": "siren", "SOL": "coil"}
_OF_A_PLUG = re.compile(
    r"connector|header|socket|receptacle|screw|pitch|pole|pins?(?![a-z])|jst|molex|plug|klemme|stecker|buchse|crimp|"
    r"wire to|(?<![a-z])(?:to|for|für|zum|zur)(?![a-z])",
    re.IGNORECASE,
)
"""Words of a plug itself, whose volts and amps are what it stands."""


class _Sort(NamedTuple):
    """How a sort of load is told and how far its figure goes."""

    slug: str
    low: float
    high: float


_SORTS = {"coil": _Sort("circuit-coil", 0.88, 1.12), "heater": _Sort("circuit-heater", 0.9, 1.15),
          "lamp": _Sort("circuit-lamp", 0.6, 1.2), "drawing": _Sort("circuit-drawing", 0.6, 1.3),
          "rated": _Sort("circuit-rated", 0.6, 1.3), "motor": _Sort("circuit-motor", 0.8, 2.0),
          "speaker": _Sort("circuit-speaker", 0.7, 1.1)}  # fmt: skip
"""Spread of the figure of each sort, from memory. A motor that turns takes less than its winding would; the wire of a
loudspeaker is less than its stated ohms. A lamp is taken hot; at a third of its volts it has 0.6 of its hot ohms
(filament law, exponent 0.55 for the current)."""
IDLE_SHARES = (5.0, 30.0, 200.0)
"""Ohms that a fan or buzzer has below the voltage it starts at, as shares of its volts over its amps; from memory."""
DRAWS_FROM = 0.4
"""Share of its own voltage from which a fan or buzzer draws; from memory."""


def load(wiring: Wiring, part: Part) -> list[Element]:
    """Return a load whose row or [parts] tells ohms, watts or amps; none where it does not, or [loads] has its draw.

    Two leads only. A motor is one only under `wiring.guessing`: it draws many times as much when it starts, and makes a
    voltage of its own.
    """
    nets = tuple(wiring.nets_of(part.ref))
    if part.identity.kind == "motor" and (wound := _windings(wiring, part)):
        return wound
    sort = _sort(wiring, part)
    if part.identity.kind not in MAY_BE or sort is None or len(nets) != len(("plus", "minus")):
        return []
    if stated_elsewhere(wiring, part):
        own = [net for net in nets if lone_load(wiring, net) == part.ref]
        return [_stated_resistance(wiring, part, own[0])] if own else []
    if sort == "drawing":
        return _drawing(wiring, part, nets)
    ohms = rated_ohms(wiring, part)
    return [_resistance(part, nets, ohms, sort)] if ohms else []


def _windings(wiring: Wiring, part: Part) -> list[Element]:
    """Return the windings of a motor of several, whose ohms are stated and whose pins are named in pairs: A+ and A-."""
    ohms = _stated_ohms(part) or conditions.stated_ohms(wiring.facts(part.ref).role or "")
    ends: dict[str, dict[str, str]] = {}
    for pin in wiring.pins(part.ref):
        if named := _WINDING.fullmatch((pin.name or pin.number).strip().upper()):
            ends.setdefault(named[1], {})[named[2]] = wiring.node(pin)
    pairs = [tuple(pair.values()) for pair in ends.values() if len(set(pair.values())) == len(("one", "other"))]
    return [_resistance(part, pair, ohms, "coil") for pair in pairs] if ohms and len(pairs) > 1 else []


_WINDING = re.compile(r"([A-Z])\s?([-+12])")


def lone_load(wiring: Wiring, net: str) -> str | None:
    """Return the one lamp, heater or coil of known volts that the stated draw of a net can only be that of, or None.

    No chip may draw from the net, and [loads] may name no other part.
    """
    stated = wiring.board.facts.loads.get(net)
    if stated is None or stated.from_volts or wiring.chips_on(net):
        return None
    if not (stated.amps and stated.amps.value) and not in_ohms(stated):
        return None
    found = [
        part.ref
        for part in wiring.parts_on(net)
        if part.identity.kind in MAY_BE
        and len(wiring.nets_of(part.ref)) == len(("plus", "minus"))
        and _sort(wiring, part) in ("lamp", "heater", "coil")
    ]
    if len(found) != 1 or stated.part not in (None, found[0]):
        return None
    told = in_ohms(stated) or rating(wiring, wiring.board.parts[found[0]])[0]
    return found[0] if told else None


def _stated_resistance(wiring: Wiring, part: Part, net: str) -> Element:
    """Return a lamp, heater or coil as the stated ohms of its net, or those that its volts and the net's draw make."""
    stated, volts = wiring.board.facts.loads[net], rating(wiring, part)[0]
    if stated.amps and stated.amps.value and volts:
        percent = float(stated.tolerance.value) if stated.tolerance else wiring.figure("load_tolerance")
        ohms = around(volts / float(stated.amps.value), percent, "ohm")
    else:
        ohms = stated_ohms(stated)
    return Element("inductor", part.ref, tuple(wiring.nets_of(part.ref)), {"resistance": ohms})


OHMIC_PERCENT = 10.0
"""Spread of a load stated in ohms without a tolerance: a wire-wound resistor, a heater; common practice, no source."""


def in_ohms(stated: LoadFacts) -> bool:
    """Return whether [loads] states ohms of a net that a load can have."""
    return stated.ohms is not None and stated.ohms.value > 0


def stated_ohms(stated: LoadFacts) -> Band:
    """Return the ohms that [loads] states of a net, with its tolerance."""
    assert stated.ohms is not None
    percent = float(stated.tolerance.value) if stated.tolerance else OHMIC_PERCENT
    return around(float(stated.ohms.value), percent, "ohm")


def without_figures(wiring: Wiring, part: Part) -> list[Element]:
    """Ask for the figures of a lamp or buzzer that has none; nothing where [loads] has its draw."""
    if stated_elsewhere(wiring, part):
        return []
    wiring.ask(
        (part.ref,), message("circuit-load-figures"), f'[parts] {part.ref} = {{ volts = "12 V", amps = "20 mA" }}'
    )
    return pins_only(wiring, part)


_SOURCE = re.compile(r"panel|solar|photovolt|batter|akku|accu|(?<![a-z])(?:supply|charger|adapter|netzteil)", re.I)
"""What feeds a board from outside is no load of it."""


def _sort(wiring: Wiring, part: Part) -> str | None:
    kind, stated = part.identity.kind, wiring.facts(part.ref)
    letters = re.match(r"[A-Z]*", part.ref)
    told = words_of(part) if kind == "resistor" else words_and_notes(part)
    words = f"{told} {stated.kind or ''} {stated.role or ''} {_LETTERS.get(letters[0] if letters else '', '')}"
    found = _by_words(words)
    if kind in PLUGS and not stated.volts and not stated.amps and not (_OHM.search(words) and _COIL.search(words)):
        return None if _OF_A_PLUG.search(words) else found
    if kind == "resistor":
        return found if found == "heater" else None
    if found is None and kind in _SELF_TOLD:
        return "lamp" if kind == "lamp" and not _LED_LAMP.search(words) else None
    if (kind == "speaker" or _SPEAKER.search(told)) and _OHM.search(words):
        return "speaker"
    if found is None and kind == "motor":
        return "motor" if wiring.guessing else None
    if found is None and kind == "inductor" and rating(wiring, part)[0] and (stated.amps or _OHM.search(words)):
        return "coil"
    if found is None and kind == "unknown" and not _SOURCE.search(words):
        volts, amps = rating(wiring, part)
        if _OHM.search(words) and not _OF_A_LINE.search(words):
            return "coil"
        return "rated" if volts and amps else None
    return found


def _by_words(words: str) -> str | None:
    if _DRAWING.search(words):
        return None if _PASSIVE.search(words) else "drawing"
    if _HEATER.search(words):
        return "heater"
    if _LAMP.search(words):
        return None if _LED_LAMP.search(words) else "lamp"
    return "coil" if _COIL.search(words) else None


def is_named(wiring: Wiring, part: Part) -> bool:
    """Return whether [loads] states a draw of this very part."""
    return any(one.part == part.ref for one in wiring.board.facts.loads.values())


def _resistance(part: Part, nets: tuple[str, ...], ohms: float, sort: str) -> Element:
    told = _SORTS[sort]
    band = Band(told.low * ohms, ohms, told.high * ohms, "ohm", BandBasis.STATED)
    return Element("inductor", part.ref, nets, {"resistance": band}, (message(told.slug, ref=part.ref),))


def _drawing(wiring: Wiring, part: Part, nets: tuple[str, ...]) -> list[Element]:
    """Return a fan or buzzer: its current from some part of its voltage on; plus by name, else at the higher net."""
    volts, amps = rating(wiring, part)
    if not amps and (ohms := _stated_ohms(part)):
        return [_resistance(part, nets, ohms, "drawing")]
    if not volts or not amps:
        return []
    plus, minus = wiring.by_role(part, "plus"), wiring.by_role(part, "minus")
    told = [message(_SORTS["drawing"].slug, ref=part.ref)]
    if not plus or not minus or plus == minus:
        plus, minus = nets
        if minus != wiring.ground and (plus == wiring.ground or wiring.is_positive_rail(minus)):
            plus, minus = minus, plus
        if plus != wiring.ground and minus != wiring.ground and not wiring.is_positive_rail(plus):
            told.append(message("circuit-role-by-pin", ref=part.ref, role="plus", pin="1"))
    spread = _SORTS["drawing"]
    current = Band(spread.low * amps, amps, spread.high * amps, "A", BandBasis.STATED)
    figures = {"current": current, "from_volts": around(DRAWS_FROM * volts, 30, "V", BandBasis.TABLE)}
    low, usual, high = (share * volts / amps for share in IDLE_SHARES)
    idle = Band(low, usual, high, "ohm", BandBasis.TABLE)
    return [
        Element("load", part.ref, (plus, minus), figures, tuple(told)),
        Element("inner", part.ref, (plus, minus), {"resistance": idle}),
    ]


def coil(part: Part, nets: tuple[str, ...], ohms: float) -> Element:
    """Return the coil of a relay between two nets; told where only its type, or its volts alone, gave the ohms."""
    if not _stated_ohms(part) and family_ohms(part, _figure(_VOLT, words_of(part)) or coil_number_volts(part)) == ohms:
        known = row_of("relay_coils", part) is not None
        low, high = (0.7, 1.3) if known else USUAL_COIL
        band = Band(low * ohms, ohms, high * ohms, "ohm", BandBasis.TABLE)
        by_type = message("circuit-coil-by-type", ref=part.ref, band=band)
        told = by_type if known else message("circuit-coil-by-volts", ref=part.ref, band=band)
        return Element("inductor", part.ref, nets, {"resistance": band}, (told,))
    return _resistance(part, nets, ohms, "coil")


def family_ohms(part: Part, volts: float | None) -> float | None:
    """Return the ohms of a relay's coil by the power that its family, or any, takes at the coil's own voltage."""
    if part.identity.kind != "relay" or not volts:
        return None
    row = row_of("relay_coils", part)
    return volts**2 / (float(row["watts"]) if row else USUAL_COIL_W)


USUAL_COIL_W, USUAL_COIL = 0.45, (0.45, 2.5)
"""Power of a relay's coil whose type is not known, and the ends of its ohms as shares: 0.18 to 1 W (memory)."""


def _stated_ohms(part: Part) -> float | None:
    """Return the ohms that the words or the notes of a row tell, or None."""
    outline = "" if part.identity.package else part.identity.package_text
    noted = " ".join((outline, *(note.text for note in part.notes)))
    for text in (*_OHM.findall(words_of(part)), *_OHM.findall(noted)):
        found = parse_quantity(_OHM_ELSEWHERE.sub("ohm", text.replace(",", ".")), "ohm")
        if found and found.unit == "ohm" and found.value:
            return float(found.value)
    return None


def rated_ohms(wiring: Wiring, part: Part) -> float | None:
    """Return the ohms of a load: by the list, else by its volts and its amps or watts; None where neither is told."""
    if ohms := _stated_ohms(part):
        return ohms
    volts, amps = rating(wiring, part)
    return volts / amps if volts and amps else family_ohms(part, volts)


CONTACT_A = 1.0
"""Amps of a relay's row from here on are those of its contacts."""


def rating(wiring: Wiring, part: Part) -> tuple[float | None, float | None]:
    """Return the volts and amps of a load: by [parts] of board.toml, else by its row or role; watts stand for amps."""
    facts = wiring.facts(part.ref)
    words = f"{words_of(part)}, {facts.role or ''}"
    volts = float(facts.volts.value) if facts.volts else _figure(_VOLT, words) or coil_number_volts(part)
    if facts.amps and facts.amps.value:
        return volts, float(facts.amps.value)
    watts = float(facts.watts.value) if facts.watts else None
    amps = _figure(_AMP, words) if watts is None else None
    if amps and amps >= CONTACT_A and part.identity.kind == "relay":
        amps = None
    if amps is None and volts:
        watts = watts or _figure(_WATT, words)
        amps = watts / volts if watts else None
    return volts, amps


def coil_number_volts(part: Part) -> float | None:
    """Return the voltage of a relay's coil that its type number tells, or None."""
    if part.identity.kind != "relay":
        return None
    ways = (compiled(row["pattern"]).search(words_of(part)) for row in tables.rows("relay_volts"))
    return next((float(found[1]) for found in ways if found), None)


def volts_in(words: str) -> float | None:
    """Return the first voltage in words, or None.

    >>> volts_in("Relais 24 VDC 900 Ohm")
    24.0
    """
    return _figure(_VOLT, words)


def _figure(pattern: re.Pattern[str], words: str) -> float | None:
    """Return the first figure that the pattern finds, by its prefix.

    >>> _figure(_AMP, "24V 125mA fan"), _figure(_WATT, "24 V 3 W"), _figure(_VOLT, "12V/80mA Lampe")
    (0.125, 3.0, 12.0)
    """
    found = pattern.search(words)
    if not found:
        return None
    prefix = found[2] if pattern.groups > 1 else None
    return float(found[1].replace(",", ".")) * {"m": 1e-3, "u": 1e-6}.get(prefix or "", 1.0)
