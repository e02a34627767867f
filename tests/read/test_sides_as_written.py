"""Placement files, fitted lists and netlists as people and programs write them; invented, with truths by hand.

Of 15 placement files, 15 fitted lists and 10 netlists, written before the readers were looked at, 5, 4 and 4 were read
exactly at the first try; of the 12 fitted lists written after the mending (`FITTED_LATER`), 5.
"""

import re
from pathlib import Path
from typing import NamedTuple

import pytest

from reworkkit.pipeline.opening import Request, open_work
from reworkkit.read.folder import read_board


class Case(NamedTuple):
    """A file as written, what it means, and its encoding."""

    text: str
    truth: str
    encoding: str


PLACEMENTS = {
    "p01.csv": Case(
        (
            "Designator,Mid X,Mid Y,Layer,Rotation\n"
            "R1,10.5mm,20.25mm,Top,90\n"
            "C1,5.0mm,-3.0mm,Bottom,270\n"
            "U1,30.0mm,15.0mm,Top,0\n"
        ),
        "R1 10.5 20.25 90 top\nC1 5 -3 270 bottom\nU1 30 15 0 top",
        "utf-8",
    ),
    "p02.csv": Case(
        ("Ref;PosX;PosY;Rot;Side\nR1;10,5;20,25;90;oben\nC1;5,0;3,0;270;unten\nU1;30,0;15,0;0;oben\n"),
        "R1 10.5 20.25 90 top\nC1 5 3 270 bottom\nU1 30 15 0 top",
        "utf-8",
    ),
    "p03.pos": Case(
        (
            "### Module positions - created 2026\n"
            "### Unit = inch, Angle = deg.\n"
            "# Ref    Val       Package    PosX       PosY        Rot     Side\n"
            "C1       100n      C_0603     1.0000    -2.0000      90.0    top\n"
            "R1       10k 1%    R_0603     0.5000    -1.5000     180.0    bottom\n"
            "## End\n"
        ),
        "C1 25.4 -50.8 90 top\nR1 12.7 -38.1 180 bottom",
        "utf-8",
    ),
    "p04.csv": Case(
        ("RefDes\tX (mils)\tY (mils)\tAngle\tMirrored\nR1\t1000\t500\t0\tNo\nC1\t2000\t1500\t90\tYes\n"),
        "R1 25.4 12.7 0 top\nC1 50.8 38.1 90 bottom",
        "utf-8",
    ),
    "p05.csv": Case(
        (
            "Part,Value,Package,X,Y,Orientation\n"
            "C1,100n,C0603,25.4,12.7,R90\n"
            "U1,MCU,TQFP32,50.8,25.4,MR180\n"
            "R1,10k,R0603,30.0,10.0,R0\n"
            "R2,10k,R0603,35.0,10.0,R0\n"
            "R3,10k,R0603,40.0,20.0,R0\n"
            "R4,10k,R0603,10.0,30.0,R0\n"
        ),
        (
            "C1 25.4 12.7 90 top\n"
            "U1 50.8 25.4 180 bottom\n"
            "R1 30 10 0 top\n"
            "R2 35 10 0 top\n"
            "R3 40 20 0 top\n"
            "R4 10 30 0 top"
        ),
        "utf-8",
    ),
    "p06.csv": Case(
        (
            "Position Report\n"
            "Board: greenhouse\n"
            "Units: mm\n"
            "\n"
            "Comp.,Center-X(mm),Center-Y(mm),Ref-X(mm),Ref-Y(mm),Pad-X(mm),Pad-Y(mm),TB,Rotation,Comment\n"
            "R1,10.0,11.0,9.0,11.0,8.0,11.0,T,-90,10k\n"
            "U1,20.0,21.0,19.0,21.0,18.0,21.0,B,450,ADC\n"
        ),
        "R1 10 11 270 top\nU1 20 21 90 bottom",
        "utf-8",
    ),
    "p07.csv": Case(
        "位号,中点X,中点Y,层,旋转角度\nR1,10.16mm,5.08mm,顶层,0\nC1,12.7mm,5.08mm,底层,90\n",
        "R1 10.16 5.08 0 top\nC1 12.7 5.08 90 bottom",
        "gb18030",
    ),
    "p08.csv": Case(
        "部品番号,X座標,Y座標,角度,面\nR1,10.16,5.08,0,表\nC1,12.7,5.08,90,裏\nU1,42.7,35.08,90,裏\n",
        "R1 10.16 5.08 0 top\nC1 12.7 5.08 90 bottom\nU1 42.7 35.08 90 bottom",
        "cp932",
    ),
    "p09.txt": Case(
        (
            "R1   0603   10.160   5.080   0    T\n"
            "C1   0603   12.700   5.080   90   T\n"
            "U1   SO8    22.700   15.080  180  T\n"
            "C2   0603   32.700   35.080  90   B\n"
        ),
        ("R1 10.16 5.08 0 top\nC1 12.7 5.08 90 top\nU1 22.7 15.08 180 top\nC2 32.7 35.08 90 bottom"),
        "utf-8",
    ),
    "p10.csv": Case(
        (
            "Symbol,X,Y,Rotation,Mirror,Symbol_Type\n"
            "R1,10160,5080,0.000,,PACKAGE\n"
            "C1,12700,5080,90.000,m,PACKAGE\n"
            "U1,42700,35080,90.000,,PACKAGE\n"
        ),
        "R1 10.16 5.08 0 top\nC1 12.7 5.08 90 bottom\nU1 42.7 35.08 90 top",
        "utf-8",
    ),
    "p12.csv": Case(
        ("Designator;Footprint;X_mm;Y_mm;Theta;TopBottom;Value\nR1;0603;1;2;90°;TOP;10k\nR2;0603;3;4;0°;BOT;10k\n"),
        "R1 1 2 90 top\nR2 3 4 0 bottom",
        "utf-8",
    ),
    "p13.csv": Case(
        ("Repère,Position X (mm),Position Y (mm),Angle,Face\nR1,10,20,90,dessus\nC1,11,21,0,dessous\n"),
        "R1 10 20 90 top\nC1 11 21 0 bottom",
        "utf-8",
    ),
    "p14.csv": Case(
        "Обозначение;X;Y;Угол;Сторона\nR1;10,5 мм;20 мм;90;верх\nC1;11 мм;21 мм;0;низ\n",
        "R1 10.5 20 90 top\nC1 11 21 0 bottom",
        "cp1251",
    ),
    "p15.csv": Case(
        "Name,X(um),Y(um),Angle(rad),Side\nR1,10000,20000,1.5708,1\nC1,11000,21000,0,2\n",
        "R1 10 20 90 top\nC1 11 21 0 bottom",
        "utf-8",
    ),
}

FITTED_BOARD = "Ref,Value,Package\n" + "".join(
    f"{ref},x,0603\n"
    for letters, count in (("R", 12), ("C", 8), ("D", 4), ("U", 5), ("J", 1), ("Q", 1))
    for ref in (f"{letters}{n}" for n in range(1, count + 1))
)
FITTED = {
    "f01.txt": Case(
        "R1-R8 ok, D3 reversed?, U5 missing, C7 lifted leg\n",
        "R1-R8=fitted D3=to_turn|not_inspected|fitted U5=missing C7=fitted",
        "utf-8",
    ),
    "f02.txt": Case(
        "everything there except R4 and U2\nD1 is the wrong way round\nC3 burnt\n",
        ("R1-R3 R5-R12=fitted R4=missing U2=missing U1 U3-U5=fitted D1=to_turn D2-D4=fitted C3=to_replace C1=fitted"),
        "utf-8",
    ),
    "f03.txt": Case(
        "resistors: all in\ncaps: C1, C2, C5\nno diodes\nU1 yes, U2 no\nrest not checked yet\n",
        (
            "R1-R12=fitted C1 C2 C5=fitted D1-D4=missing U1=fitted U2=missing U3=not_inspected J1=not_inspected C3=not_inspected"  # noqa: E501
        ),
        "utf-8",
    ),
    "f04.txt": Case(
        "[x] R1\n[x] R2\n[ ] R3\n[x] C1 (a bit crooked)\n[ ] U1\n",
        "R1 R2 C1=fitted R3=missing U1=missing",
        "utf-8",
    ),
    "f05.csv": Case(
        ("Ref;Zustand;Bemerkung\nR1;ok;\nR2;fehlt;\nC1;bestückt;kalt?\nD1;verpolt;\nU1;verbrannt;\n"),
        "R1 C1=fitted R2=missing D1=to_turn U1=to_replace",
        "utf-8",
    ),
    "f06.txt": Case(
        "missing:\n  R3\n  R4\n  C8\nfitted:\n  R1 R2\n  C1-C7\ndamaged: U3\n",
        "R3 R4 C8=missing R1 R2=fitted C1-C7=fitted U3=to_replace",
        "utf-8",
    ),
    "f07.txt": Case(
        (
            "R1 R2 R3 R5 there\n"
            "r4 gone\n"
            "c1..c4 there, c5 looks cracked\n"
            "U1: pin 3 not soldered\n"
            "J1 - someone took it off\n"
        ),
        ("R1-R3 R5=fitted R4=missing C1-C4=fitted C5=to_replace|not_inspected U1=fitted|not_inspected J1=missing"),
        "utf-8",
    ),
    "f08.txt": Case(
        "Still to do: U1, U2, J1. All else is on the board.\n",
        "U1 U2 J1=missing R1-R12=fitted Q1=fitted",
        "utf-8",
    ),
    "f09.csv": Case(
        "designator,fitted,comment\nR1,yes,\nR2,no,\nR3,,\nC1,x,\nD1,yes,backwards\n",
        "R1 C1=fitted R2=missing D1=to_turn R3=missing|not_inspected",
        "utf-8",
    ),
    "f10.txt": Case(
        ("not sure about R7\nR1, R2, R6 done\nD2 probably reversed, check\nD4 not reversed\nU4 not missing\n"),
        "R7=not_inspected R1 R2 R6=fitted D2=to_turn|not_inspected D4=fitted U4=fitted",
        "utf-8",
    ),
    "f11.txt": Case(
        "R1-R12 + C1-C8 soldered; D1..D4 tacked\nU1 (0.1 uF missing beside it: C9)\n",
        ("R1-R12=fitted C1-C8=fitted D1-D4=fitted U1=fitted|not_inspected C9=missing|unexpected|-|not_inspected"),
        "utf-8",
    ),
    "f12.txt": Case(
        "есть: R1-R8, C1\nнет: R9, R10\nD1 перевёрнут\n",
        "R1-R8 C1=fitted R9 R10=missing D1=to_turn",
        "utf-8",
    ),
    "f13.txt": Case(
        "R1 R2 manquants\nR3 à R6 présents\nD1 à l'envers\nU1 cassé\n",
        "R1 R2=missing R3-R6=fitted D1=to_turn U1=to_replace",
        "utf-8",
    ),
    "f14.txt": Case(
        ("2 Nov: fitted R1-R4. \n3 Nov: took U1 off again, R5 on.\n4 Nov: C1 swapped for 1u by mistake\n"),
        "R1-R4 R5=fitted U1=missing C1=to_replace|not_inspected",
        "utf-8",
    ),
    "f15.txt": Case(
        "| ref | state |\n|-----|-------|\n| R1 | fitted |\n| R2 | empty |\n| D1 | reversed |\n",
        "R1=fitted R2=missing D1=to_turn",
        "utf-8",
    ),
}
FITTED_LATER = {
    "g01.txt": Case(
        "Board no. 3\nAll R and C are there\nU1-U3 not yet\nU4 in\n",
        "R1-R12=fitted C1-C8=fitted U1-U3=missing U4=fitted",
        "utf-8",
    ),
    "g02.txt": Case(
        "Missing parts: C3, C4 and U5\nEverything else ok\n",
        "C3 C4 U5=missing R1-R12=fitted J1=fitted",
        "utf-8",
    ),
    "g03.txt": Case(
        "R1 ✓\nR2 ✓\nR3 ✗\nD1 ✓ but wrong way\n",
        "R1 R2=fitted R3=missing D1=to_turn",
        "utf-8",
    ),
    "g04.txt": Case(
        (
            "R1..R12: OK\n"
            "C1..C8: OK except C5 (missing)\n"
            "D1,D2: OK\n"
            "D3,D4: reversed!!\n"
            "U1..U5: none fitted\n"
            "J1: bent pins\n"
        ),
        (
            "R1-R12=fitted C1-C4=fitted C5=missing C6=fitted D1 D2=fitted D3 D4=to_turn U1-U5=missing J1=to_replace|not_inspected"  # noqa: E501
        ),
        "utf-8",
    ),
    "g05.csv": Case(
        "Part;there?;remark\nR1;y;\nR2;n;\nC1;y;cracked\nD1;y;reversed\nU1;?;under display\n",
        "R1=fitted R2=missing C1=to_replace D1=to_turn U1=not_inspected",
        "utf-8",
    ),
    "g06.txt": Case(
        "Bestückt: R1-R12, C1-C8\nFehlt: U1, U2, D4\nD1 verpolt, D2 ok\nRest nicht geprüft\n",
        "R1-R12=fitted C1-C8=fitted U1 U2 D4=missing D1=to_turn D2=fitted Q1=not_inspected",
        "utf-8",
    ),
    "g07.txt": Case(
        "R1 R2 R3 fitted; R4 R5 not; C1 fitted\n",
        "R1-R3=fitted R4 R5=missing|not_inspected C1=fitted",
        "utf-8",
    ),
    "g08.txt": Case(
        ("There are no caps on this board. Resistors are all there. U2 has been removed, U3 is burnt.\n"),
        "C1-C8=missing R1-R12=fitted U2=missing U3=to_replace",
        "utf-8",
    ),
    "g09.txt": Case(
        "R1 10k ok\nR2 10k missing\nC1 100n ok\n",
        "R1=fitted R2=missing C1=fitted",
        "utf-8",
    ),
    "g10.txt": Case(
        "Only R1, R2 and C1 are fitted.\n",
        "R1 R2 C1=fitted R3=missing U1=missing",
        "utf-8",
    ),
    "g11.txt": Case(
        "top side: R1-R6 ok\nbottom side: R7-R12 ok, C1-C8 missing\n",
        "R1-R6=fitted R7-R12=fitted C1-C8=missing",
        "utf-8",
    ),
    "g12.txt": Case(
        ("1. R1 - soldered\n2. R2 - soldered\n3. U1 - missing (ordered)\n4. D1 - soldered, band to R1\n"),
        "R1 R2=fitted U1=missing D1=fitted",
        "utf-8",
    ),
}
FITTED |= FITTED_LATER

NETLISTS = {
    "n01.csv": Case(
        "Net,Pin\nGND,R1.2\nGND,C1.2\nV33,R1.1\nV33,U1.8\n",
        "R1.2=GND C1.2=GND R1.1=V33 U1.8=V33",
        "utf-8",
    ),
    "n02.csv": Case(
        "Component;Pin;Signal\nR1;1;V33\nR1;2;GND\nU1;A1;GND\n",
        "R1.1=V33 R1.2=GND U1.A1=GND",
        "utf-8",
    ),
    "n03.csv": Case(
        "Netz,Anschlüsse\nGND,R1-2 C1-2 U1-4\n+5V,U1-8 C1-1\n",
        "R1.2=GND C1.2=GND U1.4=GND U1.8=+5V C1.1=+5V",
        "utf-8",
    ),
    "n04.csv": Case(
        'Net name,Connected pins\nGND,"R1(2), C1(2), U1(4)"\nVCC,"U1(8), C1(1)"\n',
        "R1.2=GND C1.2=GND U1.4=GND U1.8=VCC C1.1=VCC",
        "utf-8",
    ),
    "n05.csv": Case(
        ("RefDes,Pin Number,Pin Name,Net Name\nU1,1,VDD,V33\nU1,2,GND,GND\nD1,K,K,V33\nD1,A,A,LED\n"),
        "U1.1=V33 U1.2=GND D1.K=V33 D1.A=LED",
        "utf-8",
    ),
    "n06.tsv": Case(
        ("Signal\tPart\tPad\tPin\tSheet\nGND\tR1\t2\t2\t1\n\tC1\t2\t2\t1\n\tU1\t4\tGND\t1\nVCC\tU1\t8\tVDD\t1\n"),
        "R1.2=GND C1.2=GND U1.4=GND U1.8=VCC",
        "utf-8",
    ),
    "n07.csv": Case(
        "GND: R1.1, R2.1, C1.2\nVCC: R1.2, U1.3\n",
        "R1.1=GND R2.1=GND C1.2=GND R1.2=VCC U1.3=VCC",
        "utf-8",
    ),
    "n07b.csv": Case(
        "GND, R1.1 R2.1 C1.2\nVCC, R1.2 U1.3\n",
        "R1.1=GND R2.1=GND C1.2=GND R1.2=VCC U1.3=VCC",
        "utf-8",
    ),
    "n08.ipc": Case(
        (
            "C  greenhouse board\n"
            "P  JOB greenhouse\n"
            "P  UNITS CUST 1\n"
            "327GND              R1    -2          A01X+010000Y+020000X0600Y0600R000S0\n"
            "327V33              R1    -1          A01X+011000Y+020000X0600Y0600R000S0\n"
            "327V33              U1    -14         A01X+021000Y+020000X0600Y0600R000S0\n"
            "999\n"
        ),
        "R1.2=GND R1.1=V33 U1.14=V33",
        "utf-8",
    ),
    "n09.ipc": Case(
        (
            "P  UNITS CUST 0\r\n"
            "327N/C              U1    -3          A01X+001000Y+002000X0600Y0600R000S0\r\n"
            "317SENSE_LONG_NET   J12   -2    D0400PA00X+001000Y+002500X0600Y0600R000S0\r\n"
            "317GND              VIA   -     D0120PA00X+003000Y+002500X0600Y0600R000S0\r\n"
            "999\r\n"
        ),
        "U1.3=- J12.2=SENSE_LONG_NET",
        "utf-8",
    ),
    "n10.csv": Case(
        "基板ネットリスト\nネット名,部品番号,ピン番号\nGND,R1,2\nGND,C1,2\nVCC,U1,8\n",
        "R1.2=GND C1.2=GND U1.8=VCC",
        "cp932",
    ),
}


def board_with(folder: Path, stem: str, file: str, case: Case, parts: str) -> Path:
    (folder / "bom.csv").write_text(parts, encoding="utf-8")
    (folder / f"{stem}{Path(file).suffix}").write_bytes(case.text.encode(case.encoding))
    return folder


def parts_of(refs: set[str]) -> str:
    return "Ref,Value,Package\n" + "".join(f"{ref},x,0603\n" for ref in sorted(refs))


@pytest.mark.parametrize("file", PLACEMENTS)
def test_placement_as_written(file: str, tmp_path: Path) -> None:
    case = PLACEMENTS[file]
    wanted = [line.split() for line in case.truth.splitlines()]
    board = read_board(board_with(tmp_path, "placement", file, case, parts_of({words[0] for words in wanted})))
    for ref, x, y, turn, side in wanted:
        got = board.placements[ref]
        assert (got.x_mm, got.y_mm, got.side.value) == (float(x), float(y), side)
        assert got.rotation_deg == pytest.approx(float(turn), abs=0.01)


def spread(word: str) -> list[str]:
    match = re.fullmatch(r"([A-Z]+)(\d+)-\1(\d+)", word)
    return [f"{match[1]}{n}" for n in range(int(match[2]), int(match[3]) + 1)] if match else [word]


@pytest.mark.parametrize("file", FITTED)
def test_fitted_list_as_written(file: str, tmp_path: Path) -> None:
    case = FITTED[file]
    work = open_work(Request(board_with(tmp_path, "fitted", file, case, FITTED_BOARD)))
    got = {item.ref: item.status.value for item in work.difference.items}
    for refs, statuses in re.findall(r"([^=]+)=(\S+)", case.truth):
        for ref in (ref for word in refs.split() for ref in spread(word)):
            assert got.get(ref, "-") in statuses.split("|"), ref


@pytest.mark.parametrize("file", NETLISTS)
def test_netlist_as_written(file: str, tmp_path: Path) -> None:
    case = NETLISTS[file]
    wanted = dict(entry.split("=") for entry in case.truth.split())
    refs = {pin.rpartition(".")[0] for pin in wanted}
    board = read_board(board_with(tmp_path, "netlist", file, case, parts_of(refs)))
    assert {f"{ref}.{pin}": found.net or "-" for (ref, pin), found in board.pins.items()} == wanted
