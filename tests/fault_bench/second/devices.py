"""Device models of the bench. Orders of magnitude from makers' sheets, written from memory; nothing from the tool.

They differ from a plain textbook model on purpose: emission coefficients and series resistances as of real parts,
soft Zener knees, transistors whose gain falls at low and high current, regulators with an inner divider, a substrate
diode and back-feed, some with fold-back, a minimum load, an enable pin or a ground current that follows the load.
"""

from tests.fault_bench.figures import (
    KNEE_A,
    Bipolar,
    Breakdown,
    Comparator,
    Coupler,
    Field,
    Figures,
    Junction,
    Lamp,
    Odd,
    Regulator,
)

DIODES = {
    "1N5822": Junction(1.6e-5, 1.08, 0.025),
    "1N5819": Junction(1.1e-6, 1.04, 0.11),
    "SS24": Junction(4.5e-6, 1.09, 0.05),
    "MBR0520": Junction(1.4e-5, 1.05, 0.09),
    "BAT46": Junction(3.0e-7, 1.12, 7.0),
    "1N4004": Junction(6.0e-10, 1.62, 0.055),
    "1N4007": Junction(2.0e-9, 1.70, 0.06),
    "1N5401": Junction(1.2e-8, 1.78, 0.02),
    "ES1D": Junction(1.5e-9, 1.74, 0.09),
    "1N4148": Junction(5.0e-9, 1.90, 0.9),
    "1N4148W": Junction(1.6e-9, 1.72, 0.7),
}

LEDS = {
    "red": Lamp(1.93, 1.85, 5.0),
    "orange": Lamp(2.00, 1.8, 5.0),
    "yellow": Lamp(2.08, 2.0, 7.0),
    "green": Lamp(2.17, 2.1, 10.0),
    "true green": Lamp(2.94, 2.6, 16.0),
    "blue": Lamp(3.10, 3.1, 14.0),
    "white": Lamp(2.88, 2.5, 9.0),
}

ZENERS = {
    "4.7 V": Breakdown(4.7, 5e-3, 0.13, 22.0, 5.0),
    "5.6 V": Breakdown(5.6, 5e-3, 0.06, 11.0, 5.0),
    "6.8 V": Breakdown(6.8, 5e-3, 0.03, 5.0, 5.0),
    "9.1 V": Breakdown(9.1, 5e-3, 0.03, 6.0, 5.0),
    "10 V": Breakdown(10.0, 5e-3, 0.035, 8.0, 5.0),
    "12 V": Breakdown(12.0, 5e-3, 0.035, 10.0, 5.0),
    "SMAJ16A": Breakdown(18.8, 1e-3, 0.03, 0.7, 5.0),
    "SMBJ15A": Breakdown(17.4, 1e-3, 0.035, 0.5, 5.0),
    "SMBJ26A": Breakdown(30.4, 1e-3, 0.03, 0.9, 5.0),
    "LM4040-2.5": Breakdown(2.5, 1e-4, 0.008, 0.5, 0.5),
}

TWO_WAY = {
    "SMBJ22CA": Breakdown(25.8, 1e-3, 0.03, 0.7, 5.0),
    "SMBJ18CA": Breakdown(21.1, 1e-3, 0.03, 0.6, 5.0),
    "SMBJ26CA": Breakdown(30.4, 1e-3, 0.03, 0.9, 5.0),
    "SMAJ6.5CA": Breakdown(7.7, 10e-3, 0.04, 0.2, 5.0),
}
"""Suppressors that break down both ways."""

_TO220, _ADJ = {"IN": "1", "GND": "2", "OUT": "3"}, {"ADJ": "1", "OUT": "2", "IN": "3"}
_SOT223, _TO92 = {"GND": "1", "OUT": "2", "IN": "3"}, {"OUT": "1", "GND": "2", "IN": "3"}
_SOT235, _HOLTEK = {"IN": "1", "GND": "2", "EN": "3", "OUT": "5"}, {"GND": "1", "IN": "2", "OUT": "3"}
_TO92L = _ADJ

REGULATORS = {
    "78L05": Regulator(_TO92, 5.0, 3.5, 1.5, 3.5, 0.16, 3.6e-3, 4.6e3, (12.0, 9.0)),
    "78M05": Regulator(_TO220, 5.0, 2.5, 1.4, 0.9, 0.75, 4.1e-3, 5.8e3, (12.0, 8.0), fold=0.35),
    "78M12": Regulator(_TO220, 12.0, 2.5, 1.4, 0.9, 0.70, 4.2e-3, 1.1e4, (5.0, 15.0), fold=0.30),
    "LM2940-5.0": Regulator(
        _TO220, 5.0, 2.0, 0.06, 0.45, 1.5, 8.0e-3, 2.4e4, (12.0, 8.0), fold=0.6, share=0.03, starved_a=9e-3
    ),
    "LP2950-3.3": Regulator(_TO92, 3.3, 1.0, 0.05, 3.0, 0.16, 8.0e-5, 1.1e6, (5.0,), share=0.02, starved_a=6e-4),
    "LP2985-3.3": Regulator(
        _SOT235, 3.3, 1.2, 0.04, 1.8, 0.25, 9.0e-5, 6.0e5, (5.0, 1.8), share=0.006, starved_a=5e-4, enable_v=1.0
    ),
    "AP2112K-3.3": Regulator(_SOT235, 3.3, 1.5, 0.02, 0.42, 0.8, 5.5e-5, 4.0e5, (1.8, 2.5), fold=0.1, enable_v=0.8),
    "HT7533": Regulator(_HOLTEK, 3.3, 3.0, 0.03, 2.4, 0.15, 2.6e-6, 1.9e6, (5.0, 3.0)),
    "MCP1700-1802": Regulator(_SOT223, 1.8, 1.6, 0.06, 1.6, 0.38, 1.8e-6, 1.1e6, (3.3, 2.5), fold=0.5),
    "LM317": Regulator(_ADJ, 1.25, 2.0, 1.6, 0.5, 2.0, 4.6e-5, 0.0, least_a=2.4e-3),
    "LM317L": Regulator(_TO92L, 1.25, 2.5, 1.5, 1.8, 0.2, 5.4e-5, 0.0, least_a=1.9e-3),
}

SHEETS = {
    "LM2940-5.0": 'out = "5 V", dropout = "0.5 V", quiescent = "10 mA"',
    "LP2950-3.3": 'out = "3.3 V", dropout = "0.4 V", quiescent = "0.1 mA"',
    "LP2985-3.3": 'out = "3.3 V", dropout = "0.3 V", quiescent = "0.1 mA"',
    "AP2112K-3.3": 'out = "3.3 V", dropout = "0.25 V", quiescent = "0.06 mA"',
    "HT7533": 'out = "3.3 V", dropout = "0.1 V", quiescent = "0.003 mA"',
}
"""What a person copies from the maker's sheet of a regulator into board.toml."""

_SOT23, _EURO, _JEDEC = {"B": "1", "E": "2", "C": "3"}, {"C": "1", "B": "2", "E": "3"}, {"E": "1", "B": "2", "C": "3"}

_REST = (0.15, 25.0, 4.0)
BIPOLARS = {
    "BC847": Bipolar(1.8e-14, (130.0, 430.0), _SOT23, 0.09, 8e-14, 70.0, 1.1, *_REST),
    "BC817": Bipolar(4e-14, (120.0, 360.0), _SOT23, 0.5, 2e-13, 110.0, 0.5, *_REST),
    "2N2222A": Bipolar(1.3e-14, (75.0, 240.0), _JEDEC, 0.3, 1.2e-13, 75.0, 0.6, *_REST),
    "BC547": Bipolar(2.2e-14, (150.0, 460.0), _EURO, 0.1, 7e-14, 65.0, 1.2, *_REST),
    "BD139": Bipolar(1.5e-13, (45.0, 170.0), {"E": "1", "C": "2", "B": "3"}, 1.2, 9e-13, 120.0, 0.3, *_REST),
    "BC557": Bipolar(1.6e-14, (110.0, 400.0), _EURO, 0.1, 9e-14, 40.0, 1.3, *_REST),
    "BC807": Bipolar(5e-14, (100.0, 330.0), _SOT23, 0.45, 3e-13, 45.0, 0.6, *_REST),
    "BD140": Bipolar(1.2e-13, (40.0, 150.0), {"E": "1", "C": "2", "B": "3"}, 0.9, 1e-12, 60.0, 0.35, *_REST),
}

_GSD = {"G": "1", "S": "2", "D": "3"}
_CHANNEL = (0.02, Junction(6e-13, 1.05, 0.06))
FIELDS = {
    "BSS138": Field((0.8, 1.5), 0.35, _GSD, *_CHANNEL),
    "AO3401": Field((0.6, 1.2), 7.0, _GSD, *_CHANNEL),
    "IRLML6402": Field((0.5, 1.1), 9.0, _GSD, *_CHANNEL),
}

COMPARATORS = {
    "LM393": Comparator(0.016, 0.55e-3, 4e-3, {"OUT": "1", "IN-": "2", "IN+": "3", "V-": "4", "V+": "8"}, False),
    "LMV331": Comparator(0.045, 0.07e-3, 4e-3, {"IN+": "1", "V-": "2", "IN-": "3", "OUT": "4", "V+": "5"}, True),
}

COUPLERS = {"PC817A": Coupler((0.85, 1.6), 0.5e-3), "SFH617A-2": Coupler((0.63, 1.25), 0.8e-3)}

DUALS = {"BAV99": Junction(3.0e-9, 1.8, 1.1), "BAT54S": Junction(2.0e-7, 1.03, 3.0)}
"""Two diodes in series in one package: A to M, M to K."""

PINS = {
    "load": {"VDD": "1", "GND": "8"},
    "shunt": {"REF": "1", "A": "2", "K": "3"},
    "opto": {"A": "1", "K": "2", "E": "3", "C": "4"},
    "dual": {"A": "1", "K": "2", "M": "3"},
}
"""Pins of kinds that have the same ones whatever the value."""

MIXED_UP = {
    "12 V": ("5.6 V",),
    "10 V": ("4.7 V", "12 V"),
    "9.1 V": ("6.8 V", "12 V"),
    "6.8 V": ("5.6 V", "9.1 V"),
    "5.6 V": ("4.7 V", "6.8 V"),
}

ODD = Odd(
    factors={"resistor": (2.7, 0.4), "load": (3.0,), "opto": (0.06,)},
    joint_ohm=24.0,
    leak_ohm=180.0,
    leaky=frozenset({"ceramic", "elko"}),
    regulator_share=0.86,
    zener_share=0.82,
    diodes=("1N4004", "BAT46"),
)

FIGURES = Figures(
    DIODES,
    LEDS,
    ZENERS,
    REGULATORS,
    BIPOLARS,
    FIELDS,
    PINS,
    MIXED_UP,
    ODD,
    diode_spread=(0.5, 2.0),
    load_edge=(0.0, 0.045),
    zener_back_a=KNEE_A,
    inner_nf=20.0,
    comparators=COMPARATORS,
    couplers=COUPLERS,
    duals=DUALS,
    two_way=TWO_WAY,
    sheets=SHEETS,
)
