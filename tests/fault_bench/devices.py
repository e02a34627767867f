"""Device models of the bench. Orders of magnitude from makers' sheets, written from memory; nothing from the tool.

They differ from a plain textbook model on purpose: emission coefficients and series resistances as of real parts,
soft Zener knees, regulators with an inner divider, a substrate diode and back-feed, temperature.
"""

from tests.fault_bench.figures import Amplifier, Bipolar, Breakdown, Field, Figures, Junction, Lamp, Odd, Regulator

DIODES = {
    "SS14": Junction(2.2e-6, 1.06, 0.07),
    "SS34": Junction(8.0e-6, 1.05, 0.03),
    "1N5817": Junction(7.0e-6, 1.07, 0.06),
    "1N5819": Junction(2.5e-6, 1.09, 0.08),
    "BAT54": Junction(1.8e-7, 1.02, 2.6),
    "1N4007": Junction(7.0e-9, 1.81, 0.042),
    "1N4148": Junction(2.7e-9, 1.78, 0.6),
}

LEDS = {
    "red": Lamp(1.87, 1.75, 4.0),
    "yellow": Lamp(2.03, 1.9, 6.0),
    "green": Lamp(2.12, 2.0, 8.0),
    "blue": Lamp(3.02, 2.9, 12.0),
    "white": Lamp(2.98, 2.7, 11.0),
}

ZENERS = {
    "3.3 V": Breakdown(3.3, 5e-3, 0.16, 30.0, 5.0),
    "5.1 V": Breakdown(5.1, 5e-3, 0.09, 12.0, 5.0),
    "5.6 V": Breakdown(5.6, 5e-3, 0.05, 8.0, 5.0),
    "6.2 V": Breakdown(6.2, 5e-3, 0.03, 4.0, 5.0),
    "12 V": Breakdown(12.0, 5e-3, 0.03, 9.0, 5.0),
    "P6KE15A": Breakdown(15.0, 1e-3, 0.03, 0.4, 5.0),
    "SMBJ15A": Breakdown(17.6, 1e-3, 0.03, 0.4, 5.0),
    "SMBJ5.0A": Breakdown(6.7, 10e-3, 0.04, 0.1, 5.0),
    "SMBJ28A": Breakdown(32.7, 1e-3, 0.03, 0.8, 5.0),
    "LM4040-2.5": Breakdown(2.5, 1e-4, 0.008, 0.4, 0.5),
}

_TO220, _ADJ = {"IN": "1", "GND": "2", "OUT": "3"}, {"ADJ": "1", "OUT": "2", "IN": "3"}
_SOT223, _TO92 = {"GND": "1", "OUT": "2", "IN": "3"}, {"OUT": "1", "GND": "2", "IN": "3"}

REGULATORS = {
    "7805": Regulator(_TO220, 5.0, 2.5, 1.3, 0.6, 1.9, 4.4e-3, 5.2e3, (12.0, 8.0)),
    "7808": Regulator(_TO220, 8.0, 2.5, 1.3, 0.6, 1.9, 4.5e-3, 7.5e3, (5.0, 12.0)),
    "7812": Regulator(_TO220, 12.0, 2.5, 1.3, 0.6, 1.8, 4.6e-3, 9.8e3, (5.0, 15.0)),
    "78L05": Regulator(_TO92, 5.0, 3.0, 1.4, 3.0, 0.14, 3.2e-3, 6.1e3, (12.0, 8.0)),
    "AMS1117-3.3": Regulator(_SOT223, 3.3, 1.5, 0.95, 0.25, 1.3, 5.3e-3, 1.3e4, (5.0, 1.8)),
    "AMS1117-5.0": Regulator(_SOT223, 5.0, 1.5, 0.95, 0.25, 1.3, 5.4e-3, 1.6e4, (3.3,)),
    "MCP1702-3302": Regulator(_SOT223, 3.3, 1.5, 0.05, 2.3, 0.42, 2.1e-6, 1.6e6, (5.0, 1.8)),
    "MCP1702-5002": Regulator(_SOT223, 5.0, 1.5, 0.05, 2.1, 0.42, 2.2e-6, 2.3e6, (3.3,)),
    "LM317": Regulator(_ADJ, 1.25, 2.0, 1.55, 0.4, 2.1, 5.0e-5, 0.0),
    "LM317L": Regulator(_ADJ, 1.25, 2.5, 1.5, 1.5, 0.19, 5.2e-5, 0.0),
    "AMS1117-ADJ": Regulator(_ADJ, 1.25, 1.2, 0.95, 0.25, 1.3, 5.5e-5, 0.0),
}

_REST = (0.4, 0.0, 90.0, 0.6, 0.2, 20.0, 5.0)
BIPOLARS = {
    "BC817": Bipolar(6e-14, (160.0, 400.0), {"B": "1", "E": "2", "C": "3"}, *_REST),
    "2N3904": Bipolar(7e-15, (110.0, 280.0), {"E": "1", "B": "2", "C": "3"}, *_REST),
    "BC337": Bipolar(5e-14, (140.0, 380.0), {"C": "1", "B": "2", "E": "3"}, *_REST),
}

_CHANNEL = (0.05, Junction(8e-13, 1.08, 0.1))
FIELDS = {
    "2N7002": Field((1.4, 2.3), 0.18, {"G": "1", "S": "2", "D": "3"}, *_CHANNEL),
    "2N7000": Field((1.4, 2.5), 0.16, {"S": "1", "G": "2", "D": "3"}, *_CHANNEL),
    "AO3400": Field((0.8, 1.3), 8.0, {"G": "1", "S": "2", "D": "3"}, *_CHANNEL),
}

AMPLIFIERS = {
    "LM358": Amplifier(1.4, 0.7e-3, 3e-3, {"OUT": "1", "IN-": "2", "IN+": "3", "V-": "4", "V+": "8"}),
    "MCP6001": Amplifier(0.03, 0.1e-3, 3e-3, {"OUT": "1", "V-": "2", "IN+": "3", "IN-": "4", "V+": "5"}),
}

PINS = {
    "load": {"VDD": "1", "GND": "8"},
    "shunt": {"K": "1", "REF": "2", "A": "3"},
}
"""Pins of a part that draws current (a controller) and of an adjustable shunt reference."""

MIXED_UP = {
    "12 V": ("5.1 V",),
    "5.1 V": ("12 V", "3.3 V"),
    "5.6 V": ("6.2 V", "3.3 V"),
    "6.2 V": ("5.1 V", "12 V"),
}

ODD = Odd(
    factors={"resistor": (2.2, 0.3)},
    joint_ohm=30.0,
    leak_ohm=220.0,
    leaky=frozenset({"ceramic"}),
    regulator_share=0.84,
    zener_share=0.8,
    diodes=("1N4007", "BAT54"),
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
    diode_spread=(0.6, 1.7),
    load_edge=(0.15, 0.0),
    amplifiers=AMPLIFIERS,
)
