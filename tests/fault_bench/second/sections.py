"""Eight more invented sections of a greenhouse: parts, supply, loads, probe points, meter. No real board is meant."""

from pathlib import Path

from tests.fault_bench.figures import BenchSet
from tests.fault_bench.parts import Section
from tests.fault_bench.second.devices import FIGURES

COUNTS = {"healthy": 6, "single": 30, "unlisted": 6, "visible unlisted": 6, "double": 8, "wide": 6}
BENCH = BenchSet(Path(__file__).parent, FIGURES, COUNTS, averaged=True, junctions=True)

_CHARGER_CONTROL = """
J1   plug     VIN GND       | 20 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 1 A | Fuse holder 5x20 | fuse
D1   diode    VF VP         | 1N5822 | DO-201 | Schottky diode 3 A 40 V against a reversed supply
C1   elko     VP GND        | 470u 35V | Radial D10 | aluminium electrolytic capacitor
U1   adjustable VP VCH ADJ  | LM317 | TO-220 | adjustable linear regulator
R1   resistor VCH ADJ       | 220R | 0207 | resistor 1 %
R2   resistor ADJ GND       | 2k2 | 0207 | resistor 1 %
C2   elko     VCH GND       | 10u 25V | Radial D5 | aluminium electrolytic capacitor
D2   diode    VCH BAT       | 1N5401 | DO-201 | rectifier towards the battery
R3   resistor BAT GND       | 1k5 | 0414 | resistor 5 %
U2   fixed    VP V5 GND     | 78L05 | TO-92 | linear regulator 5 V 0.1 A
C3   ceramic  V5 GND        | 1u | 0805 | ceramic capacitor X7R
U3   load     V5 GND        | charge watch | SOIC-8 | microcontroller
R4   resistor V5 REF        | 1k | 0207 | resistor 5 %
U4   shunt    REF REF GND   | TL431 | TO-92 | adjustable shunt reference 2.5 V
R5   resistor BAT DIV       | 39k | 0207 | resistor 1 %
R6   resistor DIV GND       | 10k | 0207 | resistor 1 %
U5   comparator FULL DIV REF GND V5 | LM393 | SOIC-8 | comparator, open collector
R7   resistor V5 LA1        | 680R | 0207 | resistor 5 %
LED1 led      LA1 FULL      | green | LED 3mm | LED green
R8   resistor FULL PB       | 4k7 | 0207 | resistor 5 %
R9   resistor PB V5         | 10k | 0207 | resistor 5 %
Q1   pnp      PB QC V5      | BC557 | TO-92 | PNP transistor
R10  resistor QC LA2        | 470R | 0207 | resistor 5 %
LED2 led      LA2 GND       | yellow | LED 3mm | LED yellow
R11  resistor VP SENSE      | 68k | 0207 | resistor 1 %
R12  resistor SENSE GND     | 10k | 0207 | resistor 1 %
"""

_BATTERY_MONITOR = """
J1   plug     VIN GND       | 12.6 V in | pin header 1x2 2.54 | connector
F1   fuse     VIN VF        | polyfuse 0.2 A | 1206 | resettable fuse
D1   diode    VF VB         | MBR0520 | SOD-123 | Schottky diode 0.5 A 20 V against a reversed supply
D2   zener    GND VB        | SMAJ16A | SMA | TVS diode, one way, 16 V
C1   elko     VB GND        | 22u 25V | Radial D5 | aluminium electrolytic capacitor
U1   fixed    VB V33 GND    | LP2950-3.3 | TO-92 | linear regulator 3.3 V 0.1 A
C2   ceramic  V33 GND       | 2u2 | 0805 | ceramic capacitor X7R
R1   resistor V33 REF       | 2k2 | 0603 | resistor 1 %
D3   zener    GND REF       | LM4040-2.5 | SOT-23 | zener diode 2.5 V reference
R2   resistor REF L3        | 10k | 0603 | resistor 1 %
R3   resistor L3 L2         | 6k8 | 0603 | resistor 1 %
R4   resistor L2 L1         | 3k3 | 0603 | resistor 1 %
R5   resistor L1 GND        | 33k | 0603 | resistor 1 %
R6   resistor VB SENSE      | 150k | 0603 | resistor 1 %
R7   resistor SENSE GND     | 27k | 0603 | resistor 1 %
C3   ceramic  SENSE GND     | 100n | 0603 | ceramic capacitor X7R
U2   comparator O1 SENSE L1 GND V33 | LMV331 | SOT-23-5 | comparator, open drain
U3   comparator O2 SENSE L2 GND V33 | LMV331 | SOT-23-5 | comparator, open drain
U4   comparator O3 SENSE L3 GND V33 | LMV331 | SOT-23-5 | comparator, open drain
R8   resistor V33 LA1       | 330R | 0603 | resistor 5 %
LED1 led      LA1 O1        | red | LED 0805 | LED red
R9   resistor V33 LA2       | 330R | 0603 | resistor 5 %
LED2 led      LA2 O2        | yellow | LED 0805 | LED yellow
R10  resistor V33 O3        | 100k | 0603 | resistor 5 %
U5   load     V33 GND       | battery watch | SOIC-8 | microcontroller
"""

_RAIL_CHAIN = """
J1   plug     VIN GND       | 24 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 1 A | Fuse holder 5x20 | fuse
D1   diode    VF V24        | 1N4004 | DO-41 | rectifier against a reversed supply
D2   zener    GND V24       | SMBJ26A | SMB | TVS diode, one way, 26 V
C1   elko     V24 GND       | 220u 50V | Radial D10 | aluminium electrolytic capacitor
U1   fixed    V24 V12 GND   | 78M12 | TO-220 | linear regulator 12 V 0.5 A
C2   elko     V12 GND       | 47u 25V | Radial D6.3 | aluminium electrolytic capacitor
U2   fixed    V12 V5 GND    | LM2940-5.0 | TO-220 | low drop linear regulator 5 V 1 A
C3   elko     V5 GND        | 47u 16V | Radial D6.3 | aluminium electrolytic capacitor
L1   bead     V5 V5A        | 600R@100MHz | 0805 | ferrite bead
U3   load     V5A GND       | gas sensor | SOIC-8 | sensor with a heater
U4   enabled  V5A V33 GND EN | LP2985-3.3 | SOT-23-5 | low drop linear regulator 3.3 V with enable pin
R1   resistor V5A EN        | 10k | 0603 | resistor 5 %
C4   ceramic  V33 GND       | 4u7 | 0805 | ceramic capacitor X7R
U5   load     V33 GND       | input port | SOIC-8 | port expander
U6   fixed    V33 V18 GND   | MCP1700-1802 | SOT-23 | linear regulator 1.8 V
C5   ceramic  V18 GND       | 1u | 0603 | ceramic capacitor X7R
U7   load     V18 GND       | core | SOIC-8 | microcontroller
R2   resistor V24 LC1       | 1k5 | 0207 | resistor 5 %
LED1 led      LC1 LC2       | yellow | LED 3mm | LED yellow
LED2 led      LC2 LC3       | yellow | LED 3mm | LED yellow
LED3 led      LC3 GND       | red | LED 3mm | LED red
R3   resistor V12 PG        | 22k | 0603 | resistor 1 %
R4   resistor PG GND        | 8k2 | 0603 | resistor 1 %
R5   resistor V33 LA4       | 220R | 0603 | resistor 5 %
LED4 led      LA4 GND       | green | LED 0805 | LED green
R6   resistor V24 SENSE     | 120k | 0603 | resistor 1 %
R7   resistor SENSE GND     | 12k | 0603 | resistor 1 %
"""

_HEATER_CONTROL = """
J1   plug     VIN GND       | 12 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 2 A | Fuse holder 5x20 | fuse
D1   diode    VF V12        | SS24 | SMA | Schottky diode 2 A 40 V against a reversed supply
D2   zener    GND V12       | SMBJ15A | SMB | TVS diode, one way, 15 V
C1   elko     V12 GND       | 220u 25V | Radial D8 | aluminium electrolytic capacitor
U1   fixed    V12 V5 GND    | 78M05 | TO-252 | linear regulator 5 V 0.5 A
C2   ceramic  V5 GND        | 10u | 0805 | ceramic capacitor X5R
U2   load     V5 GND        | heater watch | SOIC-8 | microcontroller
R1   resistor V5 B1         | 2k2 | 0603 | resistor 5 %
R2   resistor B1 GND        | 10k | 0603 | resistor 5 %
Q1   npn      B1 COIL1 GND  | BC847 | SOT-23 | NPN transistor
K1   coil     V12 COIL1     | 12 V 320R | Relay 20x16 | relay, coil 12 V 320 ohm
D3   diode    COIL1 V12     | 1N4148W | SOD-123 | diode across the coil
R3   resistor V5 B2         | 10k | 0603 | resistor 5 %
Q2   npn      B2 LS GND     | 2N2222A | TO-92 | NPN transistor
R4   resistor LS PB         | 1k5 | 0805 | resistor 5 %
R5   resistor PB V12        | 10k | 0603 | resistor 5 %
Q3   pnp      PB HS V12     | BC807 | SOT-23 | PNP transistor
K2   coil     HS GND        | 12 V 155R | Relay 29x13 | relay, coil 12 V 155 ohm
D4   diode    GND HS        | 1N4007 | DO-41 | rectifier across the coil
R6   resistor V12 LA1       | 1k8 | 0805 | resistor 5 %
LED1 led      LA1 COIL1     | green | LED 0805 | LED green
R7   resistor HS LA2        | 1k | 0805 | resistor 5 %
LED2 led      LA2 GND       | orange | LED 0805 | LED orange
R8   resistor V5 TEMP       | 10k | 0603 | resistor 1 %
RT1  resistor TEMP GND      | 10k | 0603 | NTC thermistor 10 kohm at 25 °C, 5 %
R9   resistor TEMP AIN      | 22k | 0603 | resistor 5 %
R10  resistor AIN GND       | 220k | 0603 | resistor 5 %
C3   ceramic  AIN GND       | 100n | 0603 | ceramic capacitor X7R
R11  resistor V12 SENSE     | 33k | 0603 | resistor 1 %
R12  resistor SENSE GND     | 10k | 0603 | resistor 1 %
"""

_SOIL_SUPPLY = """
J1   plug     VIN GND       | 18 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 0.25 A | Fuse holder 5x20 | fuse
D1   diode    VF VP         | 1N4007 | DO-41 | rectifier against a reversed supply
D2   two_way  VP GND        | SMBJ22CA | SMB | TVS diode, two way, 22 V
C1   elko     VP GND        | 47u 35V | Radial D6.3 | aluminium electrolytic capacitor
R1   resistor VP VZ         | 1k | 0207 | resistor 5 %
D3   zener    GND VZ        | 9.1 V | DO-35 | zener diode 9.1 V
Q1   npn      VZ VP VS      | BD139 | TO-126 | NPN transistor, follower
C2   elko     VS GND        | 10u 16V | Radial D5 | aluminium electrolytic capacitor
R2   resistor VS VZ2        | 390R | 0207 | resistor 5 %
D4   zener    GND VZ2       | 5.6 V | DO-35 | zener diode 5.6 V
Q2   npn      VZ2 VS V5     | BC547 | TO-92 | NPN transistor, follower
C3   ceramic  V5 GND        | 1u | 0805 | ceramic capacitor X7R
U1   load     V5 GND        | moisture probe | SOIC-8 | sensor
LED1 led      VS CB         | red | LED 3mm | LED red as a reference
R3   resistor CB GND        | 2k2 | 0207 | resistor 5 %
R4   resistor VS EP         | 270R | 0207 | resistor 1 %
Q3   pnp      CB IOUT EP    | BC557 | TO-92 | PNP transistor, current source
R5   resistor IOUT GND      | 470R | 0207 | resistor 1 %
R6   resistor V5 MID        | 10k | 0207 | resistor 1 %
R7   resistor MID GND       | 15k | 0207 | resistor 1 %
R8   resistor V5 LA2        | 680R | 0207 | resistor 5 %
LED2 led      LA2 GND       | green | LED 3mm | LED green
R9   resistor VP SENSE      | 56k | 0207 | resistor 1 %
R10  resistor SENSE GND     | 10k | 0207 | resistor 1 %
"""

_LOAD_SWITCH = """
J1   plug     VIN GND       | 12 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | 2 A | 1206 | fuse
Q1   pmos     G1 VF V12     | IRLML6402 | SOT-23 | P-channel MOSFET against a reversed supply
R1   resistor G1 GND        | 10k | 0603 | resistor 5 %
D1   zener    G1 V12        | 10 V | SOD-123 | zener diode 10 V
D2   zener    GND V12       | SMBJ15A | SMB | TVS diode, one way, 15 V
C1   elko     V12 GND       | 100u 25V | Radial D6.3 | aluminium electrolytic capacitor
U1   fixed    V12 V33 GND   | HT7533 | TO-92 | linear regulator 3.3 V 0.1 A
C2   ceramic  V33 GND       | 10u | 0805 | ceramic capacitor X5R
U2   load     V33 GND       | switch control | SOIC-8 | microcontroller
R2   resistor V33 ON        | 4k7 | 0603 | resistor 5 %
R3   resistor ON GND        | 100k | 0603 | resistor 5 %
Q2   nmos     ON DN GND     | BSS138 | SOT-23 | N-channel MOSFET
R4   resistor G2 DN         | 10k | 0603 | resistor 5 %
R5   resistor V12 G2        | 47k | 0603 | resistor 5 %
Q3   pmos     G2 VSW V12    | AO3401 | SOT-23 | P-channel MOSFET
C3   ceramic  VSW GND       | 10u | 1206 | ceramic capacitor X7R
D3   diode    GND VSW       | SS24 | SMA | Schottky diode 2 A 40 V across the load
U3   load     VSW GND       | misting unit | SOIC-8 | load
R6   resistor VSW GND       | 4k7 | 0805 | resistor 5 %
R7   resistor VSW LA1       | 1k8 | 0805 | resistor 5 %
LED1 led      LA1 GND       | blue | LED 0805 | LED blue
R8   resistor VSW FB        | 33k | 0603 | resistor 1 %
R9   resistor FB GND        | 10k | 0603 | resistor 1 %
R10  resistor V12 SENSE     | 100k | 0603 | resistor 1 %
R11  resistor SENSE GND     | 27k | 0603 | resistor 1 %
"""

_OPTO_INPUTS = """
J1   plug     VIN GND       | 24 V in | Terminal 5.08 2-way | screw terminal
F1   fuse     VIN VF        | polyfuse 0.3 A | 1812 | resettable fuse
D1   diode    VF V24        | ES1D | SMA | rectifier 1 A against a reversed supply
D2   two_way  V24 GND       | SMBJ26CA | SMB | TVS diode, two way, 26 V
C1   elko     V24 GND       | 47u 50V | Radial D6.3 | aluminium electrolytic capacitor
U1   adjustable V24 V5 ADJ  | LM317L | TO-92 | adjustable linear regulator 0.1 A
R1   resistor V5 ADJ        | 240R | 0207 | resistor 1 %
R2   resistor ADJ GND       | 750R | 0207 | resistor 1 %
C2   elko     V5 GND        | 10u 16V | Radial D5 | aluminium electrolytic capacitor
U5   load     V5 GND        | input scanner | SOIC-8 | microcontroller
R3   resistor V24 IA1       | 2k7 | 1206 | resistor 5 %
LED1 led      IA1 IB1       | green | LED 0805 | LED green
U2   opto     IB1 GND GND OUT1 | PC817A | DIP-4 | optocoupler, transistor output
R4   resistor V5 OUT1       | 10k | 0603 | resistor 5 %
R5   resistor V24 IA2       | 1k8 | 1206 | resistor 5 %
D3   zener    IB2 IA2       | 10 V | SOD-123 | zener diode 10 V as a threshold
U3   opto     IB2 GND GND OUT2 | PC817A | DIP-4 | optocoupler, transistor output
R6   resistor V5 OUT2       | 4k7 | 0603 | resistor 5 %
R7   resistor V24 IB3       | 3k3 | 1206 | resistor 5 %
D4   diode    GND IB3       | 1N4148 | DO-35 | diode against a reversed input
U4   opto     IB3 GND OUT3 V5 | SFH617A-2 | DIP-4 | optocoupler, transistor output
R8   resistor OUT3 GND      | 2k2 | 0603 | resistor 5 %
R9   resistor V5 LA2        | 470R | 0603 | resistor 5 %
LED2 led      LA2 GND       | true green | LED 0805 | LED true green
R10  resistor V24 SENSE     | 120k | 0603 | resistor 1 %
R11  resistor SENSE GND     | 15k | 0603 | resistor 1 %
"""

_BUS_NODE = """
J1   plug     VIN GND       | 12 V in | Terminal 3.81 2-way | terminal
F1   fuse     VIN VF        | polyfuse 0.5 A | 1812 | resettable fuse
D1   diode    VF VN         | 1N5819 | DO-41 | Schottky diode 1 A 40 V against a reversed supply
L1   bead     VN V12        | 600R@100MHz | 1206 | ferrite bead
D2   two_way  V12 GND       | SMBJ18CA | SMB | TVS diode, two way, 18 V
C1   elko     V12 GND       | 47u 25V | Radial D6.3 | aluminium electrolytic capacitor
U1   fixed    V12 V5 GND    | 78M05 | TO-252 | linear regulator 5 V 0.5 A
C2   ceramic  V5 GND        | 10u | 0805 | ceramic capacitor X5R
U2   load     V5 GND        | bus driver | SOIC-8 | bus transceiver
R1   resistor V5 BA         | 680R | 0603 | resistor 1 %
R2   resistor BA BB         | 120R | 1206 | resistor 1 %
R3   resistor BB GND        | 680R | 0603 | resistor 1 %
D3   two_way  BA GND        | SMAJ6.5CA | SMA | TVS diode, two way, 6.5 V
D4   two_way  BB GND        | SMAJ6.5CA | SMA | TVS diode, two way, 6.5 V
U3   enabled  V5 V33 GND EN | AP2112K-3.3 | SOT-23-5 | low drop linear regulator 3.3 V with enable pin
R4   resistor V5 EN         | 10k | 0603 | resistor 5 %
R5   resistor EN GND        | 47k | 0603 | resistor 5 %
C3   ceramic  V33 GND       | 2u2 | 0603 | ceramic capacitor X7R
U4   load     V33 GND       | node controller | SOIC-8 | microcontroller
R6   resistor V5 SIG        | 4k7 | 0603 | resistor 5 %
R7   resistor SIG GND       | 6k8 | 0603 | resistor 5 %
D5   dual     GND V33 SIG   | BAV99 | SOT-23 | dual diode in series as a clamp
R8   resistor V33 LA1       | 470R | 0603 | resistor 5 %
LED1 led      LA1 GND       | red | LED 0805 | LED red
R9   resistor V12 LA2       | 2k2 | 0805 | resistor 5 %
LED2 led      LA2 GND       | white | LED 0805 | LED white
R10  resistor V12 SENSE     | 33k | 0603 | resistor 1 %
R11  resistor SENSE GND     | 10k | 0603 | resistor 1 %
"""

SECTIONS = {
    section.name: section
    for section in (
        Section(
            BENCH,
            "charger-control",
            "Charger control",
            20.0,
            0.5,
            {"VCH": "13.8 V 4 %", "V5": "5 V 5 %"},
            {"U3": (0.008, 40)},
            ("VP", "VCH", "V5", "BAT", "VF", "REF", "DIV", "FULL", "QC", "ADJ", "SENSE", "LA1", "U2.2"),
            _CHARGER_CONTROL,
        ),
        Section(
            BENCH,
            "battery-monitor",
            "Battery monitor",
            12.6,
            0.1,
            {"V33": "3.3 V 2 %", "REF": "2.5 V 1 %"},
            {"U5": (0.0025, 40)},
            ("VB", "V33", "REF", "SENSE", "L2", "O1", "O3", "VF", "L1", "L3", "O2", "LA1", "U1.2"),
            _BATTERY_MONITOR,
            meter="fine",
            supply_percent=3.0,
        ),
        Section(
            BENCH,
            "rail-chain",
            "Rail chain",
            24.0,
            0.4,
            {"V12": "12 V 4 %", "V5": "5 V 4 %", "V33": "3.3 V 4 %", "V18": "1.8 V 3 %"},
            {"U3": (0.03, 30), "U5": (0.012, 40), "U7": (0.018, 40)},
            ("V24", "V12", "V5", "V5A", "V33", "V18", "EN", "LC1", "VF", "PG", "SENSE", "LC3", "U2.2"),
            _RAIL_CHAIN,
            meter="simple",
            resistive=frozenset({"U3"}),
        ),
        Section(
            BENCH,
            "heater-control",
            "Heater control",
            12.0,
            0.8,
            {"V12": "11.7 V 5 %", "V5": "5 V 4 %"},
            {"U2": (0.015, 40)},
            ("V12", "V5", "COIL1", "HS", "VF", "TEMP", "PB", "LS", "SENSE", "B1", "AIN", "LA1", "U1.2"),
            _HEATER_CONTROL,
            supply_percent=3.0,
        ),
        Section(
            BENCH,
            "soil-supply",
            "Soil probe supply",
            18.0,
            0.15,
            {"VS": "8.4 V 7 %", "V5": "4.9 V 8 %"},
            {"U1": (0.008, 30)},
            ("VP", "VS", "V5", "VZ", "VZ2", "IOUT", "MID", "VF", "CB", "EP", "SENSE", "LA2", "Q1.2"),
            _SOIL_SUPPLY,
            supply_percent=3.0,
            resistive=frozenset({"U1"}),
        ),
        Section(
            BENCH,
            "load-switch",
            "Load switch",
            12.0,
            0.6,
            {"V12": "12 V 3 %", "V33": "3.3 V 4 %", "VSW": "12 V 4 %"},
            {"U2": (0.006, 40), "U3": (0.09, 25)},
            ("V12", "VSW", "V33", "G2", "DN", "VF", "FB", "ON", "G1", "SENSE", "LA1", "U1.1", "Q3.2"),
            _LOAD_SWITCH,
            meter="panel",
            resistive=frozenset({"U3"}),
        ),
        Section(
            BENCH,
            "opto-inputs",
            "Isolated inputs",
            24.0,
            0.3,
            {"V24": "23.2 V 5 %", "V5": "5.15 V 5 %"},
            {"U5": (0.01, 40)},
            ("V24", "V5", "OUT1", "OUT2", "OUT3", "IB1", "IA2", "IB3", "VF", "ADJ", "IB2", "SENSE", "LA2"),
            _OPTO_INPUTS,
            meter="simple",
            supply_percent=3.0,
        ),
        Section(
            BENCH,
            "bus-node",
            "Bus node",
            12.0,
            0.25,
            {"V12": "11.6 V 4 %", "V5": "5 V 4 %", "V33": "3.3 V 4 %"},
            {"U2": (0.009, 40), "U4": (0.014, 40)},
            ("V12", "V5", "V33", "BA", "BB", "VN", "SIG", "EN", "VF", "SENSE", "LA1", "LA2", "U1.2"),
            _BUS_NODE,
        ),
    )
}
"""The sections by name."""
