"""What the name of a net tells: ground, a voltage, or a signal about one. A stated fact beats a name."""

import re

from reworkkit.model.facts import BoardFacts

GROUND_NAMES = frozenset(("GND", "0V", "GROUND", "MASSE", "DGND", "PGND", "AGND", "GNDD", "GNDA", "EARTH"))
_SOME_GROUND = re.compile(r"(?:^|[_\-. /])[A-Z]{0,4}GND[A-Z]{0,4}\d{0,2}(?:$|[_\-. /])|^0V\b|(?:^|_)0V(?:$|_)")
LOW_SUPPLY_NAMES = frozenset(("VSS",))
"""Ground on a board of one polarity, the negative supply on one of two: the name alone does not tell which."""
CABLE_SUPPLY_NAMES = frozenset(("VBUS",))
"""5 V behind a USB plug; elsewhere as often the intermediate circuit of a power board."""
CABLE_SUPPLY_V = (4.4, 5.0, 5.5)
"""Lowest, nominal and highest VBUS [V] without power delivery; USB 2.0 and USB Type-C specifications, from memory."""
_SIGNALS = (
    "EN|ENA|ENABLE|PG|PGOOD|PWRGD|POK|SENSE?|SNS|DET|DETECT|FB|OK|MON|ADC|DIV|FLT|FAULT|CTRL?|UVLO|TRIM|ADJ|GOOD|ALERT"
    "|STAT|SEL|RST|RESET|IRQ|PWM|TACHO?|SDA|SCL|TXD?|RXD?|MOSI|MISO|SCK|CLK|DATA"
)
_SIGNAL_END = re.compile(rf"(?:_|\b)N?(?:{_SIGNALS})\d?$")
_SIGNAL_FIRST = re.compile(rf"^N?(?:{_SIGNALS})\d?[_ -]?(?=[+-]?V?\d+(?:V|\b|_))")
_SIGNAL_TAIL = re.compile(rf"^N?(?:{_SIGNALS})\d?$")
_FIGURE = r"(?P<sign>[+-])?(?P<a>\d{1,3})(?:(?P<p>[V.,])(?P<b>\d{1,2})?)?"
_RAIL = re.compile(
    rf"^(?:[VP](?:CC|DD|DDA|DDIO|BUS|IN|OUT|SYS|BAT)?[_ ]?)?{_FIGURE}(?P<v>V)?(?:[_ ]?(?P<tail>[A-Z]{{0,6}}\d?))?$"
)
_USUAL = {"V5": 5.0, "V9": 9.0, "V12": 12.0, "V15": 15.0, "V24": 24.0, "V33": 3.3, "V25": 2.5, "V18": 1.8}
"""Names that tell a voltage by habit only; `V1`, `V2` are as often signals and tell nothing."""


def is_ground_name(net: str) -> bool:
    """Return whether a net is called as the common ground of a board is, `VSS` not counted.

    >>> [is_ground_name(name) for name in ("GND", "/gnd", "VSS", "GND_SENSE")]
    [True, True, False, False]
    """
    return net.upper().lstrip("/") in GROUND_NAMES


def is_some_ground(net: str) -> bool:
    """Return whether a net is called as a ground, if only of one side or circuit: `GND_ISO`, `HV_GND1`.

    >>> [is_some_ground(name) for name in ("GND", "GND_ISO", "HV_0V", "VSS", "GNDSW")]
    [True, True, True, False, True]
    """
    return bool(_SOME_GROUND.search(net.upper()))


def is_signal_name(net: str) -> bool:
    """Return whether a net that bears the name of a rail is called a signal about it: `5V_EN`, `VBAT_SENSE`, `PG_3V3`.

    >>> [is_signal_name(name) for name in ("5V_EN", "VBAT_SENSE", "ADC_12V", "5VEN", "+5VA", "24V_IN", "ADC_VDD")]
    [True, True, True, True, False, False, False]
    """
    name = net.upper().strip()
    rail = _RAIL.match(name)
    tail = rail["tail"] if rail else None
    return bool(_SIGNAL_END.search(name) or _SIGNAL_FIRST.match(name) or (tail and _SIGNAL_TAIL.match(tail)))


def volts_in_name(net: str) -> float | None:
    """Return the figure that a net's name holds [V], a signal about it or not; None where it holds none.

    >>> volts_in_name("5V_EN"), volts_in_name("VBUS")
    (5.0, None)
    """
    text = net.upper().strip()
    if text in _USUAL:
        return _USUAL[text]
    found = _RAIL.match(text)
    if not found or not (found["sign"] or found["p"] or found["v"]):
        return None
    volts = float(f"{found['a']}.{found['b'] or 0}")
    return -volts if found["sign"] == "-" else volts


def volts_of_name(net: str) -> float | None:
    """Return the voltage that a rail's name tells [V], None for other nets: `+3V3`, `5V_A`, `VCC_3V3`, `-12V`.

    >>> [volts_of_name(n) for n in ("+3V3", "+12V", "-5V", "V33", "VCC_1V8", "5VA", "RESET", "D3", "VBUS", "V1_OUT")]
    [3.3, 12.0, -5.0, 3.3, 1.8, 5.0, None, None, None, None]
    >>> [volts_of_name(n) for n in ("5V_EN", "12V_SENSE", "3V3_PG", "PG_3V3", "V5_FB")]
    [None, None, None, None, None]
    """
    return None if is_signal_name(net) else volts_in_name(net)


def stated_volts(facts: BoardFacts, net: str) -> float | None:
    """Return what [supplies] or [rails] state of a net [V], or None.

    >>> stated_volts(BoardFacts(), "+5V") is None
    True
    """
    said = (facts.supplies.get(net), facts.rails.get(net))
    return next((float(one.volts.value) for one in said if one and one.volts), None)


def is_stated(facts: BoardFacts, net: str) -> bool:
    """Return whether board.toml says itself what a net is at: its voltage, or a range that is not all zero.

    >>> is_stated(BoardFacts(), "VSS")
    False
    """
    span = facts.nets.get(net)
    ranged = span is not None and any(end is not None and end.value for end in (span.low, span.high))
    return bool(stated_volts(facts, net)) or ranged
