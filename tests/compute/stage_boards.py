"""Small boards of stages: parts, resistors, nets, volts of the supply, faults to compare under. Invented."""

from typing import NamedTuple


class StageBoard(NamedTuple):
    """Rows of the list, lines of the netlist, the supply [V], faults as `stage_spice.with_fault` reads them."""

    rows: str
    nets: str
    volts: float
    faults: tuple[str, ...] = ()


def _board(parts: str, resistors: str, nets: str, volts: float, faults: str = "") -> StageBoard:
    """Return a board: rows and lines parted by semicolons, resistors as `R1=1k`, faults parted by commas."""
    values = (one.split("=") for one in resistors.split())
    rows = [row for row in parts.split("; ") if row] + [f"{ref},{value},0603,1%" for ref, value in values]
    return StageBoard("\n".join(rows), "\n".join(nets.split("; ")), volts, tuple(filter(None, faults.split(", "))))


BOARDS = {
    "npn series regulator": _board(
        "U1,LM358,SOIC-8,; Q1,BD139,TO-126,NPN; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=100",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 3=REF 2=FB 1=B; Q1 B=B C=V E=OUT; R2 1=OUT 2=FB; "
        "R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "R3 open, Q1.0-2 short, D1 open",
    ),
    "pfet series regulator": _board(
        "U1,LM358,SOIC-8,; Q1,IRF9540,TO-220,P-channel MOSFET; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=100 R5=1k",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 2=REF 3=FB 1=GO; R5 1=GO 2=G; Q1 G=G D=OUT S=V; "
        "R2 1=OUT 2=FB; R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "R3 open, Q1.0-2 short, R5 open",
    ),
    "pnp pass with npn driver": _board(
        "U1,LM358,SOIC-8,; Q1,BD140,TO-126,PNP; Q2,BC547B,TO-92,NPN; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=100 R5=10k R6=470 R7=1k",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 3=REF 2=FB 1=O; R5 1=O 2=B2; Q2 B=B2 C=C2 E=GND; "
        "R6 1=C2 2=B1; R7 1=B1 2=V; Q1 B=B1 C=OUT E=V; R2 1=OUT 2=FB; R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "",
    ),
    "nfet sink": _board(
        "U1,LM358,SOIC-8,; Q1,IRLZ44N,TO-220,N-channel MOSFET",
        "R1=10k R2=1k R3=1 R4=10 R5=100",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=S 1=O; R5 1=O 2=G; Q1 G=G D=D S=S; R3 1=S 2=GND; "
        "R4 1=V 2=D",
        12.0,
        "R3 x 10, Q1.0-2 short, R4 open",
    ),
    "npn sink led": _board(
        "U1,LM358,SOIC-8,; Q1,BC547B,TO-92,NPN; D1,LED red,0805,LED red; D2,LED red,0805,LED red",
        "R1=47k R2=3k3 R3=39 R5=1k",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=S 1=O; R5 1=O 2=B; Q1 B=B C=K E=S; R3 1=S 2=GND; "
        "D1 1:A=V 2:K=M; D2 1:A=M 2:K=K",
        12.0,
        "R3 x 10, D1 open, R5 open",
    ),
    "high side source pfet": _board(
        "U1,MCP6002,SOIC-8,; Q1,AO3401,SOT-23,P-channel MOSFET",
        "R1=1k R2=9k1 R3=10 R4=50 R5=100",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=S 1=O; R5 1=O 2=G; Q1 G=G D=L S=S; R3 1=V 2=S; "
        "R4 1=L 2=GND",
        5.0,
        "R3 x 10, R4 x 10, R2 open",
    ),
    "booster follower": _board(
        "U1,LM358,SOIC-8,; Q1,BC337-25,TO-92,NPN; Q2,BC327-25,TO-92,PNP",
        "R1=10k R2=10k R3=100 R4=1k",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=OUT 1=B; Q1 B=B C=V E=OUT; Q2 B=B C=GND E=OUT; "
        "R3 1=OUT 2=GND; R4 1=B 2=OUT",
        12.0,
        "R1 open, Q1.0-2 short, R3 x 10",
    ),
    "darlington regulator": _board(
        "U1,LM358,SOIC-8,; Q1,TIP122,TO-220,NPN Darlington; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=20",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 3=REF 2=FB 1=B; Q1 B=B C=V E=OUT; R2 1=OUT 2=FB; "
        "R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "R3 open, Q1.0-2 short",
    ),
    "self referenced": _board(
        "U1,LM358,SOIC-8,; Q1,BD139,TO-126,NPN; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=100 R9=100k",
        "R1 1=OUT 2=REF; R9 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 3=REF 2=FB 1=B; Q1 B=B C=V E=OUT; "
        "R2 1=OUT 2=FB; R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "",
    ),
    "rail named output": _board(
        "U1,LM358,SOIC-8,; Q1,BD139,TO-126,NPN; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=100 R9=0R5",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 3=REF 2=FB 1=B; Q1 B=B C=V E=E; R9 1=E 2=+10V; "
        "R2 1=+10V 2=FB; R3 1=FB 2=GND; R4 1=+10V 2=GND",
        18.0,
        "R3 open",
    ),
    "pfet rail": _board(
        "U1,LM358,SOIC-8,; Q1,IRF9540,TO-220,P-channel MOSFET; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=100 R5=1k",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 2=REF 3=FB 1=GO; R5 1=GO 2=G; Q1 G=G D=+10V S=V; "
        "R2 1=+10V 2=FB; R3 1=FB 2=GND; R4 1=+10V 2=GND",
        18.0,
        "",
    ),
    "schmitt": _board(
        "U1,LM358,SOIC-8,",
        "R1=10k R2=10k R3=100k R4=10k R5=5k",
        "R1 1=V 2=P; R2 1=P 2=GND; R3 1=P 2=O; U1 8=V 4=GND 3=P 2=M 1=O; R4 1=V 2=M; R5 1=M 2=GND",
        12.0,
        "",
    ),
    "instr sense": _board(
        "U1,LM358,SOIC-8,; Q1,IRLZ44N,TO-220,N-channel MOSFET",
        "R1=10k R2=1k R3=0R1 R4=10 R5=100 R6=10k R7=1k",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=X 1=O 5=S 6=Y 7=X; R6 1=X 2=Y; R7 1=Y 2=GND; "
        "R5 1=O 2=G; Q1 G=G D=D S=S; R3 1=S 2=GND; R4 1=V 2=D",
        12.0,
        "",
    ),
    "723 low": _board(
        "U1,LM723CN,DIP-14,",
        "R1=2k2 R2=4k7 R3=10 R4=500 R5=1k5",
        "R1 1=REF 2=NI; R2 1=NI 2=GND; U1 12=V 11=V 7=GND 6=REF 5=NI 4=INV 10=VO 2=VO 3=OUT 13=CP; "
        "R3 1=VO 2=OUT; R5 1=OUT 2=INV; R4 1=OUT 2=GND",
        15.0,
        "R4 x 0.05, R5 open, R2 open",
    ),
    "723 high npn": _board(
        "U1,UA723CN,DIP-14,; Q1,2N3055,TO-3,NPN",
        "R1=10k R2=10k R3=0R47 R4=100 R5=3k3",
        "U1 12=V 11=V 7=GND 6=REF 5=REF 4=INV 10=B 2=E 3=OUT 13=CP; Q1 B=B C=V E=E; R3 1=E 2=OUT; "
        "R1 1=OUT 2=INV; R2 1=INV 2=GND; R4 1=OUT 2=GND",
        24.0,
        "R4 x 0.05, R1 open, Q1.0-2 short",
    ),
    "723 raw supply": _board(
        "U1,UA723CN,DIP-14,; Q1,2N3055,TO-3,NPN; D1,1N5400,DO-201,; D2,1N5400,DO-201,",
        "R1=10k R2=10k R3=0R47 R4=100 R5=3k3",
        "D1 A=V K=RAW; U1 12=RAW 11=RAW 7=GND 6=REF 5=REF 4=INV 10=B 2=E 3=OUT 13=CP; Q1 B=B C=RAW E=E; R3 1=E 2=OUT; "
        "R1 1=OUT 2=INV; R2 1=INV 2=GND; R4 1=OUT 2=GND; D2 A=OUT K=RAW",
        24.0,
        "R1 open",
    ),
    "723 pnp": _board(
        "U1,LM723CH,TO-100,; Q1,BD140,TO-126,PNP",
        "R1=10k R2=10k R3=47 R4=100 R5=100",
        "U1 8=V 7=VC 5=GND 4=REF 3=REF 2=INV 6=VO; R3 1=V 2=VC; Q1 B=VC C=OUT E=V; R5 1=VO 2=GND; "
        "R1 1=OUT 2=INV; R2 1=INV 2=GND; R4 1=OUT 2=GND",
        24.0,
        "R1 open, R3 open",
    ),
    "lm317 source": _board(
        "U1,LM317T,TO-220,",
        "R1=12 R2=27",
        "U1 1:ADJ=A 2:OUT=O 3:IN=V; R1 1=O 2=A; R2 1=A 2=GND",
        12.0,
        "",
    ),
    "lm317 pass pnp": _board(
        "U1,LM317T,TO-220,; Q1,BD140,TO-126,PNP",
        "R1=240 R2=1k R3=22 R4=30 R5=1",
        "R3 1=V 2=I; U1 1:ADJ=A 2:OUT=O 3:IN=I; Q1 B=I E=V C=O; R1 1=O 2=A; R2 1=A 2=GND; R4 1=O 2=GND",
        15.0,
        "R1 open, Q1 open, R4 x 10",
    ),
    "tl431 follower": _board(
        "U1,TL431,TO-92,; Q1,BD139,TO-126,NPN",
        "R1=1k R2=10k R3=10k R4=100",
        "R1 1=V 2=B; U1 1:REF=F 2:A=GND 3:K=B; Q1 B=B C=V E=O; R2 1=O 2=F; R3 1=F 2=GND; R4 1=O 2=GND",
        12.0,
        "R3 open, R2 open, Q1.0-2 short",
    ),
    "tl431 pnp": _board(
        "U1,TL431,TO-92,; Q1,BD140,TO-126,PNP; Q2,BC547B,TO-92,NPN",
        "R1=1k R2=10k R3=10k R4=100 R5=470 R6=4k7 R7=2k2 R8=10k",
        "R1 1=V 2=B; R5 1=B 2=C; Q2 B=B2 C=C E=GND; R6 1=K 2=B2; R7 1=V 2=K; U1 1:REF=F 2:A=GND 3:K=K; "
        "Q1 B=B C=O E=V; R2 1=O 2=F; R3 1=F 2=GND; R4 1=O 2=GND; R8 1=B2 2=GND",
        12.0,
        "",
    ),
    "tl431 sink": _board(
        "U1,TL431,TO-92,; Q1,BD139,TO-126,NPN",
        "R1=1k R2=25 R4=30",
        "R1 1=V 2=B; U1 1:REF=E 2:A=GND 3:K=B; Q1 B=B C=C E=E; R2 1=E 2=GND; R4 1=V 2=C",
        12.0,
        "R2 x 10, R4 open, Q1.0-2 short",
    ),
    "tl431 pfet": _board(
        "U1,TL431,TO-92,; Q1,IRF9540,TO-220,P-channel MOSFET; Q2,BC557B,TO-92,PNP",
        "R1=10k R2=10k R3=10k R4=100 R5=1k R6=1k",
        "R5 1=V 2=B2; R6 1=B2 2=K; U1 1:REF=F 2:A=GND 3:K=K; Q2 B=B2 E=V C=G; R1 1=G 2=GND; Q1 G=G S=V D=O; "
        "R2 1=O 2=F; R3 1=F 2=GND; R4 1=O 2=GND",
        12.0,
        "",
    ),
    "zener follower": _board(
        "D1,BZX55C5V1,DO-35,zener diode 5.1 V; Q1,BD139,TO-126,NPN",
        "R1=1k R4=100",
        "R1 1=V 2=B; D1 1:A=GND 2:K=B; Q1 B=B C=V E=O; R4 1=O 2=GND",
        12.0,
        "R1 open, D1 open, Q1.0-1 short",
    ),
    "zener darlington": _board(
        "D1,BZX55C12,DO-35,zener diode 12 V; Q1,TIP122,TO-220,NPN Darlington",
        "R1=2k2 R4=47",
        "R1 1=V 2=B; D1 1:A=GND 2:K=B; Q1 B=B C=V E=O; R4 1=O 2=GND",
        24.0,
        "R1 x 10, D1 open, Q1.0-2 short",
    ),
    "shunt regulator": _board(
        "D1,BZX55C5V1,DO-35,zener diode 5.1 V; Q1,BD139,TO-126,NPN",
        "R1=100 R2=470 R4=200",
        "R1 1=V 2=O; D1 1:A=B 2:K=O; R2 1=B 2=GND; Q1 B=B C=O E=GND; R4 1=O 2=GND",
        12.0,
        "R1 x 10, D1 open, Q1.0-2 short",
    ),
    "limiter": _board(
        "Q1,BD139,TO-126,NPN; Q2,BC547B,TO-92,NPN",
        "R1=1k R2=6R8 R4=10",
        "R1 1=V 2=B; Q1 B=B C=C E=E; Q2 C=B B=E E=GND; R2 1=E 2=GND; R4 1=V 2=C",
        12.0,
        "R2 x 10, Q2 open, R2 open",
    ),
    "mirror": _board(
        "Q1,BC547B,TO-92,NPN; Q2,BC547B,TO-92,NPN",
        "R1=10k R4=4k7 R2=100 R3=100",
        "R1 1=V 2=B; Q1 B=B C=B E=E1; Q2 B=B C=C E=E2; R2 1=E1 2=GND; R3 1=E2 2=GND; R4 1=V 2=C",
        12.0,
        "R2 open, Q1.0-1 short, R1 x 10",
    ),
    "led source": _board(
        "D1,LED red,0805,LED red; Q1,BC557B,TO-92,PNP",
        "R1=2k2 R2=120 R4=470",
        "D1 1:A=V 2:K=B; R1 1=B 2=GND; R2 1=V 2=E; Q1 B=B C=C E=E; R4 1=C 2=GND",
        12.0,
        "R2 x 10, D1 open, R4 open",
    ),
    "latch": _board(
        "Q1,BC557B,TO-92,PNP; Q2,BC547B,TO-92,NPN",
        "R1=10k R2=10k R3=1k R4=1k",
        "Q1 B=B1 E=V C=C; R1 1=V 2=B1; R3 1=B1 2=C2; Q2 B=B2 C=C2 E=GND; R2 1=B2 2=GND; R4 1=C 2=B2",
        12.0,
        "R2 open, Q1.0-2 short",
    ),
    "cap multiplier": _board(
        "Q1,BD139,TO-126,NPN; C1,100u,,electrolytic capacitor",
        "R1=1k R4=100",
        "R1 1=V 2=B; C1 1:+=B 2:-=GND; Q1 B=B C=V E=O; R4 1=O 2=GND",
        12.0,
        "R1 x 10, Q1 open, C1.0-1 short",
    ),
    "pfet switch": _board(
        "Q1,IRF9540,TO-220,P-channel MOSFET; Q2,BC547B,TO-92,NPN; D1,BZX55C12,DO-35,zener diode 12 V",
        "R1=10k R2=1k R3=10k R4=100",
        "R1 1=V 2=G; D1 1:A=G 2:K=V; R2 1=G 2=C; Q2 B=B C=C E=GND; R3 1=V 2=B; Q1 G=G S=V D=O; R4 1=O 2=GND",
        24.0,
        "R3 open, Q2 open, R1 open",
    ),
    "opto stage": _board(
        "U1,LM358,SOIC-8,; U2,PC817A,DIP-4,optocoupler; D1,BZX55C5V1,DO-35,zener diode 5.1 V; "
        "Q1,IRF9540,TO-220,P-channel MOSFET",
        "R1=1k R2=10k R3=10k R4=100 R5=1k R6=10k",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 3=REF 2=FB 1=O; R5 1=O 2=A; U2 1=A 2=GND 3=GND 4=G; "
        "R6 1=V 2=G; Q1 G=G D=OUT S=V; R2 1=OUT 2=FB; R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "",
    ),
    "lm317 adj driven": _board(
        "U1,LM358,SOIC-8,; U2,LM317T,TO-220,; D1,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=1k R2=10k R3=10k R4=100 R5=240",
        "R1 1=V 2=REF; D1 1:A=GND 2:K=REF; U1 8=V 4=GND 3=REF 2=FB 1=ADJ; U2 1:ADJ=ADJ 2:OUT=OUT 3:IN=V; "
        "R5 1=OUT 2=ADJ; R2 1=OUT 2=FB; R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "",
    ),
    "sense amp loop": _board(
        "U1,MCP6002,SOIC-8,; U2,INA180A2,SOT-23-5,; Q1,IRLZ44N,TO-220,N-channel MOSFET",
        "R1=10k R2=10k R3=0R1 R4=10 R5=100 R6=10k",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=FB 1=O; R5 1=O 2=G; Q1 G=G D=D S=S; "
        "R3 1=S 2=GND; R4 1=V 2=D; U2 1=IO 2=GND 3=S 4=GND 5=V; R6 1=IO 2=FB",
        5.0,
        "",
    ),
    "unknown transistor": _board(
        "U1,LM358,SOIC-8,; Q1,XQ99,SOT-89,transistor",
        "R1=10k R2=1k R3=10 R4=100",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=S 1=O; Q1 1=O 2=S 3=C; R3 1=S 2=GND; R4 1=V 2=C",
        12.0,
        "",
    ),
    "wrong sign": _board(
        "U1,LM358,SOIC-8,; Q1,IRF9540,TO-220,P-channel MOSFET",
        "R1=10k R2=10k R3=10k R4=100 R6=10k",
        "R1 1=V 2=REF; R6 1=REF 2=GND; U1 8=V 4=GND 3=REF 2=FB 1=G; Q1 G=G D=OUT S=V; R2 1=OUT 2=FB; "
        "R3 1=FB 2=GND; R4 1=OUT 2=GND",
        18.0,
        "",
    ),
    "relay driver window": _board(
        "U1,LM358,SOIC-8,; Q1,BC547B,TO-92,NPN",
        "R1=10k R2=10k R3=10k R4=470 R5=22k R6=1k",
        "R1 1=V 2=P; R2 1=P 2=GND; R3 1=V 2=M; R5 1=M 2=GND; U1 8=V 4=GND 3=P 2=M 1=O; R6 1=O 2=B; "
        "Q1 B=B C=C E=GND; R4 1=V 2=C",
        12.0,
        "",
    ),
    "hyst by transistor": _board(
        "U1,LM358,SOIC-8,; Q1,BC547B,TO-92,NPN",
        "R1=10k R2=10k R3=10k R4=470 R5=22k R6=1k R7=100k",
        "R1 1=V 2=P; R2 1=P 2=GND; R3 1=V 2=M; R5 1=M 2=GND; U1 8=V 4=GND 3=P 2=M 1=O; R6 1=O 2=B; "
        "Q1 B=B C=C E=GND; R4 1=V 2=C; R7 1=C 2=M",
        12.0,
        "",
    ),
    "npn current high drop": _board(
        "U1,LM358,SOIC-8,; Q1,BC547B,TO-92,NPN; Q2,BD140,TO-126,PNP",
        "R1=1k R2=9k1 R3=10 R4=50 R5=10k R6=1k R7=10k",
        "R1 1=V 2=REF; R2 1=REF 2=GND; U1 8=V 4=GND 2=REF 3=S 1=O; R5 1=O 2=B; Q1 B=B C=C E=GND; "
        "R6 1=C 2=PB; R7 1=PB 2=S; Q2 B=PB C=L E=S; R3 1=V 2=S; R4 1=L 2=GND",
        12.0,
        "",
    ),
    "723 named": _board(
        "U1,LM723,,voltage regulator",
        "R1=10k R2=10k R4=500",
        ""
        "U1 1:V+=V 2:VC=V 3:V-=GND 4:VREF=REF 5:NON_INV=REF 6:INV=INV 7:VOUT=OUT 8:CURR_LIM=OUT 9:CURR_SENSE=OUT; "
        "R1 1=OUT 2=INV; R2 1=INV 2=GND; R4 1=OUT 2=GND",
        24.0,
        "",
    ),
    "dual led driver 5v rails": _board(
        "U1,LM358,SOIC-8,; Q1,BC547B,TO-92,NPN; U2,LM7805,TO-220,; D1,LED white,,LED white",
        "R1=47k R2=1k R3=10 R5=1k",
        "U2 1:IN=V 2:GND=GND 3:OUT=+5V; R1 1=+5V 2=REF; R2 1=REF 2=GND; U1 8=+5V 4=GND 3=REF 2=S 1=O; "
        "R5 1=O 2=B; Q1 B=B C=K E=S; R3 1=S 2=GND; D1 1:A=V 2:K=K",
        12.0,
        "",
    ),
    "tlv431 comparator": _board(
        "U1,TLV431,SOT-23,",
        "R1=1k R2=10k R3=10k",
        "R1 1=V 2=K; U1 1:REF=F 2:K=K 3:A=GND; R2 1=V 2=F; R3 1=F 2=GND",
        5.0,
        "",
    ),
    "tl431 comparator": _board(
        "U1,TL431,TO-92,",
        "R1=1k R2=3k3 R3=10k",
        "R1 1=V 2=K; U1 1:REF=F 2:A=GND 3:K=K; R2 1=V 2=F; R3 1=F 2=GND",
        5.0,
        "",
    ),
    "two loops on current": _board(
        "U1,LM358,SOIC-8,; Q1,TIP122,TO-220,NPN Darlington; D1,1N4148,DO-35,diode; D2,1N4148,DO-35,diode; "
        "D3,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=2k2 R2=10k R3=10k R5=0R5 R6=1k R7=47k R8=2k2 R9=1k R4=20",
        "R6 1=V 2=REF; D3 1:A=GND 2:K=REF; R7 1=REF 2=ISET; R8 1=ISET 2=GND; R1 1=V 2=B; D1 1:K=OV 2:A=B; "
        "D2 1:K=OC 2:A=B; Q1 B=B C=V E=OUT; R2 1=OUT 2=FB; R3 1=FB 2=GND; R4 1=OUT 2=S; R5 1=S 2=GND; "
        "R9 1=S 2=M; U1 8=V 4=GND 3=REF 2=FB 1=OV 5=ISET 6=M 7=OC",
        20.0,
        "",
    ),
    "two loops on voltage": _board(
        "U1,LM358,SOIC-8,; Q1,TIP122,TO-220,NPN Darlington; D1,1N4148,DO-35,diode; D2,1N4148,DO-35,diode; "
        "D3,BZX55C5V1,DO-35,zener diode 5.1 V",
        "R1=2k2 R2=10k R3=10k R5=0R5 R6=1k R7=47k R8=2k2 R9=1k",
        "R6 1=V 2=REF; D3 1:A=GND 2:K=REF; R7 1=REF 2=ISET; R8 1=ISET 2=GND; R1 1=V 2=B; D1 1:K=OV 2:A=B; "
        "D2 1:K=OC 2:A=B; Q1 B=B C=V E=OUT; R2 1=OUT 2=FB; R3 1=FB 2=GND; R5 1=S 2=GND; R9 1=S 2=M; "
        "U1 8=V 4=GND 3=REF 2=FB 1=OV 5=ISET 6=M 7=OC",
        20.0,
        "",
    ),
}
