"""The boards of the unseen joints as files: parts list, netlist with lands, board.toml, as a person has them."""

from pathlib import Path
from typing import NamedTuple

PLAIN = 'thickness = "1.6 mm"\nlayers = 2\nouter_copper = "1 oz"\n'
FOUR = 'thickness = "1.6 mm"\nlayers = 4\nouter_copper = "1 oz"\ninner_copper = "1 oz"\n'
SPOKES, SOLID = 'relief = "4 spokes 0.3 mm"\n', 'relief = "none"\n'


class Land(NamedTuple):
    """One land of the netlist in mm; a height of 0 is round, a drill of 0 a surface land."""

    pin: str
    net: str
    x: float
    y: float
    width: float
    height: float
    drill: float = 0.0


class Drawn(NamedTuple):
    """One board: its only part, its size, what board.toml says, its lands, and the pin that is judged."""

    part: str
    size: tuple[int, int]
    said: str
    lands: tuple[Land, ...]
    pin: str
    more: str = ""


def _legs(pitch: float, drill: float, land: float, *nets: str, at: tuple[float, float]) -> tuple[Land, ...]:
    return tuple(Land(str(n + 1), net, at[0] + pitch * n, at[1], land, 0, drill) for n, net in enumerate(nets))


def _to220(said: str, more: str = "") -> Drawn:
    lands = _legs(2.54, 1.1, 2.0, "G1", "OUT", "S1", at=(27.46, 25))
    planes = 'planes = { OUT = ["inner1", "inner2"] }\n'
    return Drawn("Q1,1,N-MOSFET,TO-220,power transistor", (60, 50), FOUR + planes + said, lands, "2", more)


def _can(size: tuple[int, int], x: float) -> Drawn:
    said = PLAIN + SPOKES + 'planes = { GND = ["top", "bottom"] }\n'
    lands = (Land("2", "GND", x, 30, 1.8, 0, 0.9), Land("1", "VIN", x + 5, 30, 1.8, 0, 0.9))
    return Drawn("C1,1,470uF 35V,Radial can D10,aluminium electrolytic", size, said, lands, "2")


def _tab(land: tuple[float, float], centre: tuple[float, float], pitch: float) -> tuple[Land, ...]:
    x, y = centre
    away = land[0] / 2 + 3
    pins = (("1", "G1", pitch), ("3", "S1", -pitch))
    return (Land("2", "OUT", x, y, *land), *(Land(pin, net, x - away, y + up, 2.0, 1.1) for pin, net, up in pins))


GND_TOP = 'planes = { GND = ["top"] }\n'
QFN_SIDES = tuple(
    Land(str(n + 1 + 16 * k), f"N{n + 16 * k}", 27.55 + 4.9 * k, 26.75 - 0.5 * n, 0.8, 0.25)
    for k in (0, 1)
    for n in range(8)
)
SOIC = tuple(
    Land(pin, "GND" if pin == "4" else f"N{pin}", x, 20 + 1.27 * (3 - n), 1.5, 0.6)
    for n in range(4)
    for pin, x in ((str(n + 1), 25), (str(8 - n), 30.4))
)
BOARDS = {
    "chip_thin": Drawn(
        "R1,1,10k,1206,chip resistor",
        (50, 40),
        PLAIN.replace("1.6", "0.8"),
        (Land("1", "A", 23.4, 20, 1.4, 1.8), Land("2", "B", 26.6, 20, 1.4, 1.8)),
        "1",
    ),
    "sot_pour": Drawn(
        "Q1,1,NPN,SOT-23,NPN transistor",
        (50, 40),
        PLAIN + SOLID + GND_TOP,
        (Land("3", "GND", 25, 20, 0.8, 1), Land("1", "B1", 24.05, 17.8, 0.8, 1), Land("2", "E1", 25.95, 17.8, 0.8, 1)),
        "3",
    ),
    "soic_relief": Drawn("U1,1,op amp,SOIC-8,op amp", (50, 40), PLAIN + SPOKES + GND_TOP, SOIC, "4"),
    "dpak_pour": Drawn(
        "Q1,1,N-MOSFET,TO-252,power transistor",
        (30, 30),
        PLAIN.replace("1 oz", "2 oz") + SOLID + 'planes = { OUT = ["top"] }\n',
        _tab((6.4, 6.0), (15, 15), 2.28),
        "2",
    ),
    "d2pak_planes": Drawn(
        "Q1,1,N-MOSFET,TO-263,power transistor",
        (70, 60),
        FOUR + SOLID + 'planes = { OUT = ["inner1"] }\n',
        _tab((10.8, 10.0), (35, 30), 2.54),
        "2",
        '[parts]\nQ1 = { joints = { 2 = { planes = ["top", "inner1"], relief = "none", vias = 12 } } }\n',
    ),
    "to220_solid": _to220(SOLID),
    "to220_relief": _to220(SPOKES),
    "to220_bolted": _to220(SPOKES, '[[fasten]]\nparts = ["Q1"]\nto = "heat sink H1"\nbefore_soldering = true\n'),
    "terminal": Drawn(
        "J1,1,,Terminal 5.08 2-way,screw terminal",
        (60, 50),
        PLAIN.replace("1.6", "2.4") + SOLID + GND_TOP,
        _legs(5.08, 1.3, 2.6, "VIN", "GND", at=(24.92, 25)),
        "2",
    ),
    "elco_edge": _can((52, 60), 2),
    "sensor_row": Drawn(
        "U1,1,current sensor,SIP-4 sensor,leaded current sensor",
        (60, 50),
        FOUR + SOLID + 'planes = { GND = ["inner1", "bottom"] }\n',
        _legs(2.54, 1.0, 1.8, "S1", "S2", "S3", "GND", at=(25.38, 25)),
        "4",
    ),
    "corner_3oz": Drawn(
        "R1,1,10m,2512,shunt resistor",
        (50, 40),
        PLAIN.replace("1 oz", "3 oz") + SOLID + GND_TOP,
        (Land("1", "GND", 3, 3, 1.9, 3.4), Land("2", "SNS", 9.2, 3, 1.9, 3.4)),
        "1",
    ),
    "qfn_hidden": Drawn(
        "U1,1,controller,QFN-32 5x5,microcontroller",
        (60, 50),
        FOUR + SOLID + 'planes = { GND = ["inner1", "bottom"] }\n',
        (Land("33", "GND", 30, 25, 3.4, 3.4), *QFN_SIDES),
        "33",
        '[parts]\nU1 = { joints = { 33 = { planes = ["inner1", "bottom"], vias = 9 } } }\n',
    ),
}


def write(name: str, folder: Path) -> None:
    """Write the files of a board."""
    drawn = BOARDS[name]
    ref = drawn.part.split(",")[0]
    width, height = drawn.size
    records = ["P  JOB   INVENTED", "P  UNITS CUST 1", *(_record(ref, land) for land in drawn.lands)]
    corners = f"X+{_um(width):06d} Y+{_um(height):06d} X+000000 Y+000000"
    records += [f"389BOARD_EDGE       X0100Y0 X+000000Y+000000 {corners}", "999"]
    (folder / "bom.csv").write_text(f"Designator,Qty,Value,Package,Description\n{drawn.part}\n", encoding="utf-8")
    (folder / "netlist.ipc").write_text("\n".join(records) + "\n", encoding="utf-8")
    said = f'[board]\nsize = "{width} mm x {height} mm"\nalloy_used = "SAC305"\n{drawn.said}{drawn.more}'
    (folder / "board.toml").write_text(said, encoding="utf-8")


def _um(mm: float) -> int:
    return round(mm * 1000)


def _record(ref: str, land: Land) -> str:
    head = f"{'317' if land.drill else '327'}{land.net:<14}   {ref:<6}-{land.pin:<4}"
    hole = f" D{_um(land.drill):04d}PA00" if land.drill else "       A01"
    place = f"X+{_um(land.x):06d}Y+{_um(land.y):06d}X{_um(land.width):04d}Y{_um(land.height):04d}"
    return f"{head}{hole}{place}{'    ' if land.drill else 'R000'} S0"
