"""Chips whose supply is far too low give what nobody knows: their outputs accuse no other part."""

from pathlib import Path

import pytest

from reworkkit.compute.diagnosis import Stage, engine_of, prepare
from reworkkit.compute.diagnosis.starved import ANYWHERE_SHARE, starved
from reworkkit.model.vocabulary import Mode
from reworkkit.read.folder import read_board
from tests.compute.small_boards import reading
from tests.compute.stage_spice import derived

PARTS = "U1,ACS723LLCTR-05AB-T,SOIC-8,current sensor\nR1,10R 1%,,\nR2,10k 1%,,\nR3,100k 1%,,\nF1,1A,,fuse\n"
NETS = (
    "F1 1=V 2=VF\nU1 1:IP+=VF 2:IP+=VF 3:IP-=L 4:IP-=L 5:GND=GND 7:VIOUT=OUT 8:VCC=VS\n"
    "R1 1=V 2=VS\nR2 1=L 2=GND\nR3 1=OUT 2=GND"
)
DRAW_A = 10e-3
"""What the sensor takes from its 5 V (maker's sheet, from memory)."""
JOINT_OHM = 250.0


def test_a_sensor_without_half_its_supply_gives_what_it_likes(tmp_path: Path) -> None:
    """R1 too large leaves it 2.5 V (Ohm's law); it is made for 4.5 V and more, and nothing is stated below."""
    made = derived(tmp_path, PARTS, NETS, 5.0)
    board, stage = read_board(tmp_path), Stage(None, "V", 1.0, None)
    book = prepare(board, made, stage)
    left = 5.0 - DRAW_A * JOINT_OHM
    fits = []
    for out_v in (left / 2, 0.1):
        read = [reading("V", 5.0), reading("VF", 5.0), reading("L", 5.0), reading("VS", left), reading("OUT", out_v)]
        engine, _ = engine_of(board, made, book, [*read, reading("supply", 11e-3, Mode.AMPS)])
        faults = [h.fault for h in book.catalogue.hypotheses]
        mine = [n for n, owner in enumerate(book.owner) if (faults[owner].ref, faults[owner].kind) == ("R1", "value")]
        fits.append(float(engine.fit.log[mine].max()))
    assert fits[0] - fits[1] < 3.0


def test_only_boards_with_a_low_supply_are_starved(tmp_path: Path) -> None:
    """Invariant: no spread on the healthy board, the stated share of the supply where that is low but not dead."""
    made = derived(tmp_path, PARTS, NETS, 5.0)
    book = prepare(read_board(tmp_path), made, Stage(None, "V", 1.0, None))
    (spread,), supply = (
        starved(book.template, book.rows, book.states).values(),
        book.states[:, book.template.index["VS"]],
    )
    assert spread[0] == 0.0
    assert list(spread[(supply > 0.5) & (supply < 2.9)]) == pytest.approx(
        list(ANYWHERE_SHARE * supply[(supply > 0.5) & (supply < 2.9)])
    )
    assert set(spread[(supply > 3.3) | (supply < 0.2)]) == {0.0}
