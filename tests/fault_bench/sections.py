"""Eight invented sections of a greenhouse controller: parts, supply, loads, probe points. No real board is meant."""

from pathlib import Path

from tests.fault_bench.devices import FIGURES
from tests.fault_bench.figures import BenchSet
from tests.fault_bench.parts import Section

COUNTS = {"healthy": 6, "single": 46, "unlisted": 9, "visible unlisted": 6, "double": 9, "wide": 8}
BENCH = BenchSet(Path(__file__).parent, FIGURES, COUNTS, averaged=False, junctions=False)

_VALVE_RAILS = """
J1   plug     VIN GND       | 12 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 1 A | 1206 | fuse
D1   diode    VF V12        | SS14 | SMA | Schottky diode 1 A 40 V
D2   zener    GND V12       | SMBJ15A | SMB | TVS diode, one way, 15 V
C1   elko     V12 GND       | 100u 25V | Radial D6.3 | aluminium electrolytic capacitor
C2   ceramic  V12 GND       | 100n | 0603 | ceramic capacitor X7R
U1   fixed    V12 V5 GND    | 7805 | TO-220 | linear regulator 5 V
C3   elko     V5 GND        | 10u 16V | Radial D5 | aluminium electrolytic capacitor
U2   fixed    V5 V33 GND    | AMS1117-3.3 | SOT-223 | linear regulator 3.3 V
C4   ceramic  V33 GND       | 10u | 0805 | ceramic capacitor X5R
C5   ceramic  V33 GND       | 100n | 0603 | ceramic capacitor X7R
U3   load     V33 GND       | controller | SOIC-8 | microcontroller
R1   resistor V5 LA1        | 1k | 0805 | resistor 5 %
LED1 led      LA1 GND       | red | LED 0805 | LED red
R2   resistor V33 LA2       | 330R | 0805 | resistor 5 %
LED2 led      LA2 GND       | green | LED 0805 | LED green
R3   resistor V12 SENSE     | 100k | 0603 | resistor 1 %
R4   resistor SENSE GND     | 22k | 0603 | resistor 1 %
R5   resistor V5 VREF       | 10k | 0603 | resistor 1 %
R6   resistor VREF GND      | 10k | 0603 | resistor 1 %
R7   resistor V33 BASE      | 2k2 | 0805 | resistor 5 %
R8   resistor BASE GND      | 22k | 0805 | resistor 5 %
Q1   npn      BASE COIL GND | BC817 | SOT-23 | NPN transistor
K1   coil     V12 COIL      | 12 V 360R | Relay 28x13 | relay, coil 12 V 360 ohm
D3   diode    COIL V12      | 1N4007 | DO-41 | rectifier across the coil
R9   resistor V33 RST       | 10k | 0603 | resistor 5 %
C6   ceramic  RST GND       | 100n | 0603 | ceramic capacitor X7R
"""

_TANK_SENSE = """
J1   plug     VIN GND       | 15 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 0.5 A | Fuse holder 5x20 | fuse
D1   diode    VF VP         | 1N4007 | DO-41 | rectifier against a reversed supply
C1   elko     VP GND        | 220u 35V | Radial D8 | aluminium electrolytic capacitor
D2   zener    GND VP        | SMBJ28A | SMB | TVS diode, one way, 28 V
U1   adjustable VP V9 ADJ   | LM317 | TO-220 | adjustable linear regulator
R1   resistor V9 ADJ        | 240R | 0207 | resistor 1 %
R2   resistor ADJ GND       | 1k5 | 0207 | resistor 1 %
C2   ceramic  V9 GND        | 1u | 0805 | ceramic capacitor X7R
U2   fixed    V9 V5 GND     | 78L05 | TO-92 | linear regulator 5 V 0.1 A
C3   ceramic  V5 GND        | 1u | 0805 | ceramic capacitor X7R
U4   load     V5 GND        | level probe | SOIC-8 | microcontroller
R3   resistor V9 VZ         | 680R | 0207 | resistor 5 %
D3   zener    GND VZ        | 5.1 V | DO-35 | zener diode 5.1 V
R4   resistor VZ MID        | 47k | 0207 | resistor 1 %
R5   resistor MID GND       | 33k | 0207 | resistor 1 %
U3   opamp    BUF BUF MID GND V9 | LM358 | SOIC-8 | operational amplifier as buffer
R6   resistor BUF OUTP      | 1k | 0207 | resistor 5 %
R7   resistor OUTP GND      | 10k | 0207 | resistor 5 %
R8   resistor VP LA1        | 2k2 | 0207 | resistor 5 %
LED1 led      LA1 GND       | yellow | LED 3mm | LED yellow
R9   resistor V5 LA2        | 470R | 0207 | resistor 5 %
LED2 led      LA2 GND       | red | LED 3mm | LED red
R10  resistor VP SENSE      | 68k | 0207 | resistor 1 %
R11  resistor SENSE GND     | 15k | 0207 | resistor 1 %
"""

_PROBE_HUB = """
J1   plug     VIN GND       | 9 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 0.25 A | 1206 | fuse
D1   diode    VF V9         | 1N5817 | DO-41 | Schottky diode 1 A 20 V
D2   zener    GND V9        | 12 V | SOD-123 | zener diode 12 V
C1   elko     V9 GND        | 47u 16V | Radial D5 | aluminium electrolytic capacitor
U1   fixed    V9 V5 GND     | MCP1702-5002 | SOT-23 | linear regulator 5 V
C2   ceramic  V5 GND        | 2u2 | 0805 | ceramic capacitor X7R
U2   fixed    V5 V33 GND    | MCP1702-3302 | SOT-23 | linear regulator 3.3 V
C3   ceramic  V33 GND       | 2u2 | 0805 | ceramic capacitor X7R
U3   load     V33 GND       | hub controller | SOIC-8 | microcontroller
R1   resistor V5 REF        | 1k | 0603 | resistor 1 %
D3   zener    GND REF       | LM4040-2.5 | SOT-23 | zener diode 2.5 V reference
R2   resistor REF HALF      | 330k | 0603 | resistor 1 %
R3   resistor HALF GND      | 330k | 0603 | resistor 1 %
C4   ceramic  HALF GND      | 10n | 0603 | ceramic capacitor X7R
U4   opamp    BUF BUF HALF GND V33 | MCP6001 | SOT-23-5 | operational amplifier as buffer
R4   resistor BUF AIN       | 1k | 0603 | resistor 1 %
R5   resistor AIN GND       | 4k7 | 0603 | resistor 1 %
R6   resistor V33 GATE      | 10k | 0603 | resistor 5 %
R7   resistor GATE GND      | 100k | 0603 | resistor 5 %
Q1   nmos     GATE DRAIN GND | 2N7002 | SOT-23 | N-channel MOSFET
R8   resistor V9 LA1        | 1k | 0805 | resistor 5 %
LED1 led      LA1 DRAIN     | green | LED 0805 | LED green
R9   resistor V33 LA2       | 220R | 0805 | resistor 5 %
LED2 led      LA2 GND       | red | LED 0805 | LED red
R10  resistor V9 SENSE      | 330k | 0603 | resistor 1 %
R11  resistor SENSE GND     | 100k | 0603 | resistor 1 %
"""

_LAMP_PANEL = """
J1   plug     VIN GND       | 24 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 1 A | Fuse holder 5x20 | fuse
D1   diode    VF V24        | 1N4007 | DO-41 | rectifier against a reversed supply
D2   zener    GND V24       | SMBJ28A | SMB | TVS diode, one way, 28 V
C1   elko     V24 GND       | 100u 50V | Radial D8 | aluminium electrolytic capacitor
U1   fixed    V24 V12 GND   | 7812 | TO-220 | linear regulator 12 V
C2   elko     V12 GND       | 10u 25V | Radial D5 | aluminium electrolytic capacitor
U2   fixed    V12 V5 GND    | 7805 | TO-220 | linear regulator 5 V
C3   ceramic  V5 GND        | 1u | 0805 | ceramic capacitor X7R
U3   fixed    V5 V33 GND    | AMS1117-3.3 | SOT-223 | linear regulator 3.3 V
C4   ceramic  V33 GND       | 10u | 0805 | ceramic capacitor X5R
U4   load     V33 GND       | lamp controller | SOIC-8 | microcontroller
R1   resistor V12 LA1       | 680R | 0805 | resistor 5 %
LED1 led      LA1 LA2       | white | LED 3mm | LED white
LED2 led      LA2 LK        | white | LED 3mm | LED white
R2   resistor LK GND        | 100R | 0805 | resistor 5 %
R3   resistor V5 BASE       | 4k7 | 0805 | resistor 5 %
R4   resistor BASE GND      | 10k | 0805 | resistor 5 %
Q1   npn      BASE COIL GND | 2N3904 | TO-92 | NPN transistor
K1   coil     V12 COIL      | 12 V 400R | Relay 28x13 | relay, coil 12 V 400 ohm
D3   diode    COIL V12      | 1N4148 | DO-35 | diode across the coil
R5   resistor V24 SENSE     | 100k | 0603 | resistor 1 %
R6   resistor SENSE GND     | 10k | 0603 | resistor 1 %
R7   resistor V33 LA3       | 330R | 0805 | resistor 5 %
LED3 led      LA3 GND       | red | LED 0805 | LED red
"""

_PUMP_MONITOR = """
J1   plug     VIN GND       | 12 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 0.5 A | 1206 | fuse
D1   diode    VF V12        | 1N5819 | DO-41 | Schottky diode 1 A 40 V
D2   zener    GND V12       | P6KE15A | DO-15 | TVS diode, one way, 15 V breakdown
C1   elko     V12 GND       | 100u 25V | Radial D6.3 | aluminium electrolytic capacitor
R1   resistor V12 VB        | 470R | 0207 | resistor 5 %
D3   zener    GND VB        | 6.2 V | DO-35 | zener diode 6.2 V
Q1   npn      VB V12 VE     | BC337 | TO-92 | NPN transistor, follower
C2   elko     VE GND        | 10u 16V | Radial D5 | aluminium electrolytic capacitor
R2   resistor VE LA1        | 1k | 0207 | resistor 5 %
LED1 led      LA1 GND       | green | LED 3mm | LED green
U1   fixed    VE V33 GND    | AMS1117-3.3 | SOT-223 | linear regulator 3.3 V
C3   ceramic  V33 GND       | 10u | 0805 | ceramic capacitor X5R
U2   load     V33 GND       | pump watch | SOIC-8 | microcontroller
R3   resistor V12 REF       | 2k2 | 0207 | resistor 1 %
U3   shunt    REF REF GND   | TL431 | SOT-23 | adjustable shunt reference 2.5 V
R4   resistor REF DIV       | 10k | 0207 | resistor 1 %
R5   resistor DIV GND       | 15k | 0207 | resistor 1 %
R6   resistor V33 GATE      | 1k | 0207 | resistor 5 %
R7   resistor GATE GND      | 47k | 0207 | resistor 5 %
Q2   nmos     GATE COIL GND | 2N7000 | TO-92 | N-channel MOSFET
K1   coil     V12 COIL      | 12 V 270R | Relay 28x13 | relay, coil 12 V 270 ohm
D4   diode    COIL V12      | 1N4007 | DO-41 | rectifier across the coil
R8   resistor V12 LA2       | 1k5 | 0207 | resistor 5 %
LED2 led      LA2 COIL      | red | LED 3mm | LED red
R9   resistor V12 SENSE     | 47k | 0207 | resistor 1 %
R10  resistor SENSE GND     | 12k | 0207 | resistor 1 %
"""

_VENT_NODE = """
J1   plug     VIN GND       | 5 V in | pin header 1x2 2.54 | connector
F1   fuse     VIN VF        | 0.5 A | 1206 | fuse
D1   diode    VF V5         | SS34 | SMA | Schottky diode 3 A 40 V
D2   zener    GND V5        | SMBJ5.0A | SMB | TVS diode, one way, 5 V
C1   ceramic  V5 GND        | 10u | 0805 | ceramic capacitor X5R
U1   fixed    V5 V33 GND    | AMS1117-3.3 | SOT-223 | linear regulator 3.3 V
C2   ceramic  V33 GND       | 10u | 0805 | ceramic capacitor X5R
U2   load     V33 GND       | vent controller | SOIC-8 | microcontroller
R1   resistor V33 V33A      | 10R | 0603 | resistor 1 %
C3   ceramic  V33A GND      | 1u | 0603 | ceramic capacitor X7R
U3   load     V33A GND      | air sensor | SOIC-8 | microcontroller
R2   resistor V33A HALF     | 22k | 0603 | resistor 1 %
R3   resistor HALF GND      | 22k | 0603 | resistor 1 %
U4   opamp    BUF BUF HALF GND V33A | MCP6001 | SOT-23-5 | operational amplifier as buffer
R4   resistor BUF AOUT      | 470R | 0603 | resistor 5 %
R5   resistor AOUT GND      | 10k | 0603 | resistor 5 %
R6   resistor V5 LA1        | 220R | 0603 | resistor 5 %
LED1 led      LA1 GND       | blue | LED 0805 | LED blue
R7   resistor V33 BASE      | 4k7 | 0603 | resistor 5 %
Q1   npn      BASE LK GND   | BC817 | SOT-23 | NPN transistor
R8   resistor V5 LA2        | 330R | 0603 | resistor 5 %
LED2 led      LA2 LK        | red | LED 0805 | LED red
R9   resistor V33 RST       | 10k | 0603 | resistor 5 %
C4   ceramic  RST GND       | 100n | 0603 | ceramic capacitor X7R
R10  resistor V5 SENSE      | 15k | 0603 | resistor 1 %
R11  resistor SENSE GND     | 10k | 0603 | resistor 1 %
"""

_FROST_WARNER = """
J1   plug     VIN GND       | 15 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 1 A | Fuse holder 5x20 | fuse
D1   diode    VF VP         | SS14 | SMA | Schottky diode 1 A 40 V
C1   elko     VP GND        | 220u 25V | Radial D8 | aluminium electrolytic capacitor
D2   zener    GND VP        | SMBJ15A | SMB | TVS diode, one way, 15 V
U1   fixed    VP V5 GND     | 7805 | TO-220 | linear regulator 5 V
C2   elko     V5 GND        | 10u 16V | Radial D5 | aluminium electrolytic capacitor
U2   adjustable V5 V30 ADJ  | AMS1117-ADJ | SOT-223 | adjustable linear regulator
R1   resistor V30 ADJ       | 120R | 0603 | resistor 1 %
R2   resistor ADJ GND       | 169R | 0603 | resistor 1 %
C3   ceramic  V30 GND       | 10u | 0805 | ceramic capacitor X5R
U3   load     V30 GND       | frost watch | SOIC-8 | microcontroller
R3   resistor V5 TH         | 10k | 0603 | resistor 1 %
R4   resistor TH GND        | 6k8 | 0603 | resistor 1 %
U4   opamp    BUF BUF TH GND V5 | LM358 | SOIC-8 | operational amplifier as buffer
R5   resistor BUF BASE      | 3k3 | 0603 | resistor 5 %
R6   resistor BASE GND      | 33k | 0603 | resistor 5 %
Q1   npn      BASE COIL GND | BC817 | SOT-23 | NPN transistor
R7   resistor VP KP         | 82R | 2512 | resistor 5 %
K1   coil     KP COIL       | 12 V 400R | Relay 28x13 | relay, coil 12 V 400 ohm
D3   diode    COIL KP       | 1N4148 | MiniMELF | diode across the coil
R8   resistor V5 LA1        | 680R | 0603 | resistor 5 %
LED1 led      LA1 GND       | yellow | LED 0805 | LED yellow
R9   resistor V30 VZ        | 100R | 0603 | resistor 1 %
D4   diode    VZ GND        | 1N4148 | MiniMELF | diode as a 0.7 V reference
R10  resistor VP SENSE      | 56k | 0603 | resistor 1 %
R11  resistor SENSE GND     | 12k | 0603 | resistor 1 %
"""

_DOSER = """
J1   plug     VIN GND       | 12 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 0.5 A | 1206 | fuse
D1   diode    VF V12        | SS14 | SMA | Schottky diode 1 A 40 V
C1   elko     V12 GND       | 100u 25V | Radial D6.3 | aluminium electrolytic capacitor
U1   fixed    V12 V8 GND    | 7808 | TO-220 | linear regulator 8 V
C2   elko     V8 GND        | 10u 16V | Radial D5 | aluminium electrolytic capacitor
U2   fixed    V8 V5 GND     | 78L05 | TO-92 | linear regulator 5 V 0.1 A
C3   ceramic  V5 GND        | 1u | 0805 | ceramic capacitor X7R
U3   fixed    V5 V33 GND    | MCP1702-3302 | SOT-23 | linear regulator 3.3 V
C4   ceramic  V33 GND       | 2u2 | 0805 | ceramic capacitor X7R
U4   load     V33 GND       | doser | SOIC-8 | microcontroller
R1   resistor V8 VZ         | 330R | 0805 | resistor 5 %
D2   zener    GND VZ        | 5.6 V | SOD-123 | zener diode 5.6 V
R2   resistor VZ SET        | 12k | 0603 | resistor 1 %
R3   resistor SET GND       | 18k | 0603 | resistor 1 %
D3   diode    SET V33       | BAT54 | SOD-123 | Schottky diode as a clamp
R4   resistor V5 GATE       | 1k | 0603 | resistor 5 %
R5   resistor GATE GND      | 10k | 0603 | resistor 5 %
Q1   nmos     GATE DRAIN GND | AO3400 | SOT-23 | N-channel MOSFET
R6   resistor V12 LA1       | 560R | 0805 | resistor 5 %
LED1 led      LA1 LM        | red | LED 0805 | LED red
LED2 led      LM DRAIN      | green | LED 0805 | LED green
R7   resistor V8 LA3        | 1k2 | 0805 | resistor 5 %
LED3 led      LA3 GND       | blue | LED 0805 | LED blue
R8   resistor V12 SENSE     | 82k | 0603 | resistor 1 %
R9   resistor SENSE GND     | 18k | 0603 | resistor 1 %
R10  resistor V33 RST       | 47k | 0603 | resistor 5 %
C5   ceramic  RST GND       | 100n | 0603 | ceramic capacitor X7R
"""

SECTIONS = {
    section.name: section
    for section in (
        Section(
            BENCH,
            "valve-rails",
            "Valve rails",
            12.0,
            0.5,
            {"V12": "11.7 V 4 %", "V5": "5 V 4 %", "V33": "3.3 V 4 %"},
            {"U3": (0.025, 40)},
            ("V12", "V5", "V33", "VF", "COIL", "SENSE", "VREF", "LA1", "LA2", "BASE", "RST", "U1.2", "U2.1"),
            _VALVE_RAILS,
        ),
        Section(
            BENCH,
            "tank-sense",
            "Tank level sensing",
            15.0,
            0.3,
            {"V9": "9.1 V 5 %", "V5": "5 V 6 %"},
            {"U4": (0.012, 30)},
            ("VP", "V9", "V5", "VF", "VZ", "BUF", "SENSE", "MID", "LA1", "LA2", "OUTP", "ADJ", "U2.2"),
            _TANK_SENSE,
        ),
        Section(
            BENCH,
            "probe-hub",
            "Probe hub",
            9.0,
            0.2,
            {"V9": "8.75 V 4 %", "V5": "5 V 4 %", "V33": "3.3 V 4 %"},
            {"U3": (0.018, 40)},
            ("V9", "V5", "V33", "VF", "REF", "DRAIN", "AIN", "SENSE", "HALF", "GATE", "LA1", "LA2", "U1.1"),
            _PROBE_HUB,
        ),
        Section(
            BENCH,
            "lamp-panel",
            "Lamp panel",
            24.0,
            0.4,
            {"V12": "12 V 4 %", "V5": "5 V 4 %", "V33": "3.3 V 4 %"},
            {"U4": (0.035, 30)},
            ("V24", "V12", "V5", "V33", "COIL", "VF", "LA1", "SENSE", "BASE", "LA3", "LK", "U1.2", "U2.2"),
            _LAMP_PANEL,
        ),
        Section(
            BENCH,
            "pump-monitor",
            "Pump monitor",
            12.0,
            0.4,
            {"V12": "11.7 V 4 %", "V33": "3.3 V 4 %"},
            {"U2": (0.02, 40)},
            ("V12", "VE", "V33", "VB", "REF", "COIL", "DIV", "SENSE", "VF", "GATE", "LA1", "LA2", "U1.1"),
            _PUMP_MONITOR,
        ),
        Section(
            BENCH,
            "vent-node",
            "Vent node",
            5.0,
            0.5,
            {"V5": "4.75 V 5 %", "V33": "3.3 V 4 %"},
            {"U2": (0.05, 30), "U3": (0.008, 40)},
            ("V5", "V33", "V33A", "VF", "HALF", "BUF", "LK", "SENSE", "AOUT", "LA1", "RST", "BASE", "U1.1"),
            _VENT_NODE,
        ),
        Section(
            BENCH,
            "frost-warner",
            "Frost warner",
            15.0,
            0.4,
            {"VP": "14.7 V 4 %", "V5": "5 V 4 %", "V30": "3 V 4 %"},
            {"U3": (0.022, 40)},
            ("VP", "V5", "V30", "VF", "COIL", "TH", "BUF", "SENSE", "ADJ", "VZ", "BASE", "LA1", "U1.2"),
            _FROST_WARNER,
        ),
        Section(
            BENCH,
            "doser",
            "Doser",
            12.0,
            0.3,
            {"V8": "8 V 4 %", "V5": "5 V 6 %", "V33": "3.3 V 4 %"},
            {"U4": (0.02, 40)},
            ("V12", "V8", "V5", "V33", "VZ", "DRAIN", "SET", "SENSE", "VF", "LA1", "LA3", "GATE", "U1.2"),
            _DOSER,
        ),
    )
}
"""The sections by name."""
