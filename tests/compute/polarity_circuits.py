"""Small circuits with their truth, for the rules of orientation: one line a part.

`REF; value; description; pin=net pin=net ...; > NET` says that anode or plus belongs on NET; `; ?` that the circuit
as written does not tell. Values, nets and truths are drawn by hand from the usual circuits of the trade.
"""

import csv
import tempfile
from pathlib import Path
from typing import NamedTuple

from reworkkit.model.board import Board
from reworkkit.read.folder import read_board


class Drawn(NamedTuple):
    """A board and what is true of it: ref -> net of anode or plus, or None where it must stay open."""

    board: Board
    truth: dict[str, str | None]


def drawn(text: str, facts: str = "") -> Drawn:
    """Return the board that a text draws."""
    rows = [[cell.strip() for cell in line.split(";")] for line in text.strip().splitlines() if line.strip()]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with (folder / "bom.csv").open("w", newline="") as file:
            out = csv.writer(file)
            out.writerow(["Designator", "Value", "Description", "Package"])
            out.writerows([row[0], row[1], row[2], _package(row)] for row in rows)
        with (folder / "netlist.csv").open("w", newline="") as file:
            out = csv.writer(file)
            out.writerow(["Designator", "Pin", "Net"])
            for row in rows:
                out.writerows([row[0], *pair.split("=", 1)] for pair in row[3].split())
        (folder / "board.toml").write_text(facts, encoding="utf-8")
        board = read_board(folder)
    return Drawn(board, {row[0]: _truth(row[4]) for row in rows if len(row) > 4 and row[4]})


def _truth(cell: str) -> str | None:
    return None if cell == "?" else cell.removeprefix(">").strip()


def _package(row: list[str]) -> str:
    return row[5] if len(row) > 5 else ""


RELAY = """
J1; 12V in; terminal; 1=VIN 2=GND
F1; 1A; fuse; 1=VIN 2=VF
D1; SS34; Schottky diode; 1=+12V 2=VF; > VF
D2; SMBJ15A; suppressor; 1=VF 2=GND; > GND
C1; 470uF; aluminium electrolytic; 1=+12V 2=GND; > +12V
U1; LM7805; linear regulator; 1=+12V 2=GND 3=+5V
C2; 10uF; tantalum capacitor; 1=+5V 2=GND; > +5V
D9; 1N4007; diode; 1=+12V 2=+5V; > +5V
K1; 12V; relay; 1=+12V 2=COIL 3=NO 4=COM
D3; 1N4148; diode; 1=+12V 2=COIL; > COIL
Q1; BC847; NPN transistor; 1=BASE 2=GND 3=COIL; ; SOT-23
R1; 1k; resistor; 1=DRIVE 2=BASE
R2; 10k; resistor; 1=BASE 2=GND
U2; ATMEGA328P; microcontroller; 1=+5V 2=GND 3=DRIVE 4=LEDPIN 5=SENSE
R3; 1k; resistor; 1=LEDPIN 2=LA
LED1; green; LED; 1=LA 2=GND; > LA
R4; 1k; resistor; 1=+5V 2=LB
LED2; red; LED; 1=LB 2=LEDPIN; > LB
J2; sensor; connector; 1=EXT 2=GND
R5; 10k; resistor; 1=EXT 2=SENSE
D4; BAT85; Schottky diode; 1=SENSE 2=+5V; > SENSE
D5; BAT85; Schottky diode; 1=SENSE 2=GND; > GND
D6; 5V6; Zener diode; 1=SENSE 2=GND; > GND
J3; load; terminal; 1=NO 2=COM
"""

OR_ING = """
J1; USB; connector; 1=VBUS 2=GND
J2; DC; barrel jack connector; 1=VIN 2=GND
F1; 1A; fuse; 1=VIN 2=VINF
D1; SS14; Schottky diode; 1=VSYS 2=VBUS; > VBUS
D2; SS14; Schottky diode; 1=VINF 2=VSYS; > VINF
C1; 100uF; aluminium electrolytic; 1=VSYS 2=GND; > VSYS
U1; AP2112K-3.3; linear regulator; 1=VSYS 2=GND 3=+3V3
C2; 22uF; tantalum capacitor; 1=+3V3 2=GND; > +3V3
BT1; CR2032; battery; 1=VBAT 2=GND
D3; BAT54; Schottky diode; 1=VRTC 2=VBAT; > VBAT
D4; BAT54; Schottky diode; 1=+3V3 2=VRTC; > +3V3
C3; 47uF; aluminium electrolytic; 1=VRTC 2=GND; > VRTC
U2; DS3231; real time clock ic; 1=VRTC 2=GND 3=SDA
R1; 4k7; resistor; 1=SDA 2=+3V3
R2; 10k; resistor; 1=+3V3 2=RST
C4; 100n; ceramic capacitor; 1=RST 2=GND
D5; 1N4148; diode; 1=RST 2=+3V3; > RST
U3; STM32F103; microcontroller; 1=+3V3 2=GND 3=RST 4=SDA
"""
OR_ING_FACTS = """
[parts]
U1 = { pins = { IN = "1", GND = "2", OUT = "3" } }
"""

CONVERTERS = """
J1; in; terminal; 1=VIN 2=GND
C1; 220uF; aluminium electrolytic; 1=VIN 2=GND; > VIN
U1; LM2596-5.0; buck switching regulator; 1=VIN 2=SW 3=GND 4=+5V 5=GND; ; TO-263-5
D1; SS34; Schottky diode; 1=SW 2=GND; > GND
L1; 33uH; inductor; 1=SW 2=+5V
C2; 220uF; aluminium electrolytic; 1=+5V 2=GND; > +5V
U2; MT3608; boost switching regulator; 1=SWB 2=GND 3=FB 4=EN 5=+5V
L2; 10uH; inductor; 1=+5V 2=SWB
D2; SS34; Schottky diode; 1=VHIGH 2=SWB; > SWB
C3; 22uF; aluminium electrolytic; 1=VHIGH 2=GND; > VHIGH
R1; 100k; resistor; 1=VHIGH 2=FB
R2; 10k; resistor; 1=FB 2=GND
R3; 100k; resistor; 1=EN 2=+5V
U3; ICL7660; voltage inverter ic; 1=NC1 2=CP 3=GND 4=CN 5=VN5 6=NC2 7=NC3 8=+5V
C4; 10uF; tantalum capacitor; 1=CP 2=CN; > CP
C5; 10uF; tantalum capacitor; 1=VN5 2=GND; > GND
U4; NE555; timer; 1=GND 2=TRG 3=OUTP 4=+5V 5=CV 6=TRG 7=DIS 8=+5V
C6; 10uF; aluminium electrolytic; 1=OUTP 2=PUMP; > PUMP
D3; 1N4148; diode; 1=PUMP 2=+5V; > +5V
D4; 1N4148; diode; 1=+9V 2=PUMP; > PUMP
C7; 10uF; aluminium electrolytic; 1=+9V 2=GND; > +9V
"""

SPLIT = """
J1; AC; terminal; 1=AC1 2=GND 3=AC2
D1; 1N4007; diode; 1=VPOS 2=AC1; ?
BR1; KBP206; bridge rectifier; 1=+V 2=AC1 3=AC2 4=-V; > +V
C1; 1000uF; aluminium electrolytic; 1=+V 2=GND; > +V
C2; 1000uF; aluminium electrolytic; 1=GND 2=-V; > GND
U1; LM7812; linear regulator; 1=+V 2=GND 3=+12V
U2; LM7912; linear regulator; 1=GND 2=-V 3=-12V
C3; 10uF; aluminium electrolytic; 1=+12V 2=GND; > +12V
C4; 10uF; aluminium electrolytic; 1=-12V 2=GND; > GND
C5; 10uF; aluminium electrolytic; 1=+12V 2=-12V; > +12V
U3; TL072; operational amplifier; 1=OUT 2=INM 3=GND 4=-12V 5=NC1 6=NC2 7=NC3 8=+12V
C6; 10uF; aluminium electrolytic; 1=OUT 2=OUTJ; ?
J2; out; jack connector; 1=OUTJ 2=GND
R1; 10k; resistor; 1=OUT 2=INM
D3; 1N4007; diode; 1=-12V 2=GND; > -12V
D4; 1N4007; diode; 1=+12V 2=GND; > GND
LED1; red; LED; 1=L1 2=-12V; > L1
R2; 2k2; resistor; 1=GND 2=L1
D5; 1N4148; diode; 1=OUT 2=LIM; ?
D6; 1N4148; diode; 1=LIM 2=OUT; ?
R3; 10k; resistor; 1=LIM 2=INM
"""

OPTO = """
J1; in; connector; 1=SIG 2=RET
R1; 1k; resistor; 1=SIG 2=OA
U1; PC817; optocoupler; 1=OA 2=RET 3=GND 4=OUTC
D1; 1N4148; diode; 1=OA 2=RET; > RET
R2; 10k; resistor; 1=+3V3 2=OUTC
U2; STM32F030; microcontroller; 1=+3V3 2=GND 3=OUTC 4=DRV 5=S1
J2; supply; connector; 1=+3V3 2=GND
R3; 330; resistor; 1=DRV 2=OB
U3; PC817; optocoupler; 1=OB 2=GND 3=ISOE 4=ISOC; > OB
J3; out; connector; 1=ISOC 2=ISOE
LED1; white; LED; 1=+24V 2=S; > +24V
LED2; white; LED; 1=S 2=S2; > S
R4; 100; resistor; 1=S2 2=DR
Q1; AO3400; N-channel MOSFET; 1=S1 2=GND 3=DR; ; SOT-23
J4; 24V; terminal; 1=+24V 2=GND
D2; 12V; Zener diode; 1=S1 2=GND; > GND
LED3; red; LED; 1=P1 2=P2; ?
LED4; green; LED; 1=P2 2=P1; ?
R5; 330; resistor; 1=S1 2=P1
R6; 330; resistor; 1=DRV 2=P2
R7; 4k7; resistor; 1=+3V3 2=VREF
D3; 1N4148; diode; 1=VREF 2=GND; ?
"""

LM317 = """
J1; in; terminal; 1=VIN 2=GND
C1; 1000uF; aluminium electrolytic; 1=VIN 2=GND; > VIN
U1; LM317; linear regulator; 1=ADJ 2=VO 3=VIN; ; TO-220
D1; 1N4002; diode; 1=VIN 2=VO; > VO
D2; 1N4002; diode; 1=VO 2=ADJ; > ADJ
C2; 10uF; aluminium electrolytic; 1=ADJ 2=GND; > ADJ
C3; 100uF; aluminium electrolytic; 1=VO 2=GND; > VO
R1; 240; resistor; 1=VO 2=ADJ
P1; 5k; potentiometer; 1=ADJ 2=GND 3=GND
J2; out; terminal; 1=VO 2=GND
D3; 1N4002; diode; 1=VO 2=GND; > GND
LED1; red; LED; 1=VO 2=LK; > VO
R2; 2k2; resistor; 1=LK 2=GND
"""

FLYBACK = """
J1; in; terminal; 1=+24V 2=GND
T1; transformer; flyback transformer; 1=+24V 2=DRAIN 3=SEC 4=GND2
Q1; IRF640; N-channel MOSFET; 1=GATE 2=DRAIN 3=SRC; ; TO-220
R1; 0.1; resistor; 1=SRC 2=GND
D1; UF4007; diode; 1=DRAIN 2=CLAMP; > DRAIN
R2; 47k; resistor; 1=CLAMP 2=+24V
C1; 10n; film capacitor; 1=CLAMP 2=+24V
D2; SS34; Schottky diode; 1=SEC 2=+5V_ISO; > SEC
C2; 470uF; aluminium electrolytic; 1=+5V_ISO 2=GND2; > +5V_ISO
U1; UC3843; current mode PWM controller ic; 1=COMP 2=FB 3=IS 4=RT 5=GND 6=GATE 7=VAUX 8=VREF
J2; out; terminal; 1=+5V_ISO 2=GND2
K1; 24V; relay; 1=+24V 2=COIL 3=X1 4=X2
Q2; BC337; NPN transistor; 1=COIL 2=B 3=GND; ; TO-92
R3; 1k; resistor; 1=GATE 2=B
D4; 1N4148; diode; 1=MID 2=COIL; > COIL
D5; 15V; Zener diode; 1=MID 2=+24V; > +24V
"""
