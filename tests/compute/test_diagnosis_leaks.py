"""Parts that still work, but badly: gates and junctions that leak, aged optocouplers, coils with shorted turns."""

from pathlib import Path

import pytest

from reworkkit.compute.diagnosis import Stage, diagnose
from reworkkit.model.vocabulary import Mode
from reworkkit.read.folder import read_board
from tests.compute.small_boards import reading
from tests.compute.stage_spice import derived

GATE = "Q1,IRLZ44N,TO-220,\nR1,100R 1%,,\nR2,22k 1%,,\n", "Q1 1=G 2=D 3=GND\nR1 1=V 2=D\nR2 1=V 2=G"
COLLECTOR = (
    "Q1,2N3904,TO-92,\nR1,10k 1%,,\nR2,10k 1%,,\n",
    "Q1 1=GND 2=B 3=C\nR1 1=V 2=C\nR2 1=B 2=GND",
)
COUPLER = (
    "U1,PC817,DIP-4,\nR1,2k2 1%,,\nR2,10k 1%,,\n",
    "U1 1=A 2=GND 3=GND 4=OUT\nR1 1=V 2=A\nR2 1=V 2=OUT",
)
COIL = "K1,relay 12 V 400R,,relay\nR1,1k 1%,,\n", "K1 A1=V A2=GND COM=V NO=OUT\nR1 1=OUT 2=GND"
HALF = (
    "C1,10uF 25V,,electrolytic\nR1,100k 1%,,\nR2,100k 1%,,\n",
    "C1 +=H -=GND\nR1 1=V 2=H\nR2 1=H 2=GND",
)
DRIVEN = (
    "Q1,IRLZ44N,TO-220,\nR1,47R 5W,,\nR2,10k 1%,,\nR3,10k 1%,,\n",
    "Q1 1=G 2=D 3=GND\nR1 1=V 2=D\nR2 1=V 2=G\nR3 1=G 2=GND",
)
AMPLIFIED = "Q1,2N3904,TO-92,\nR1,1k 1%,,\nR2,10k 1%,,\n", "Q1 1=GND 2=B 3=C\nR1 1=V 2=C\nR2 1=V 2=B"
FOLLOWER = (
    "U1,TL072,DIP-8,\nR1,100k 1%,,\nR2,100k 1%,,\nR3,10k 1%,,\n",
    "U1 1=OUT 2=OUT 3=IN 4=GND 5=IN 6=B 7=B 8=V\nR1 1=V 2=IN\nR2 1=IN 2=GND\nR3 1=OUT 2=GND",
)
GATE_OUT = (
    "U1,CD4011BE,DIP-14,\nR1,100k 1%,,\nR2,10k 1%,,\n",
    "U1 1=IN 2=IN 3=OUT 5=GND 6=GND 7=GND 8=GND 9=GND 12=GND 13=GND 14=V\nR1 1=IN 2=GND\nR2 1=OUT 2=GND",
)
PARALLEL = 12 * (1 / (1 / 100 + 1 / 70)) / (100 + 1 / (1 / 100 + 1 / 70))


@pytest.mark.parametrize(
    ("board", "volts", "amps", "fault"),
    [
        pytest.param(
            GATE, {"G": 12 * 2 / 24, "D": 12.0}, 0.5e-3, ("Q1", "gate_leaks"), id="2 kohm from gate to source"
        ),
        pytest.param(
            COLLECTOR, {"C": 12 * 8 / 18, "B": 0.0}, 0.67e-3, ("Q1", "leaky"), id="8 kohm across a transistor"
        ),
        pytest.param(COUPLER, {"A": 1.15, "OUT": 8.0}, 5.3e-3, ("U1", "faded"), id="0.4 mA out of 4.9 mA"),
        pytest.param(COIL, {"OUT": 12.0}, 0.312, ("K1", "shorted_turns"), id="40 ohm of 400"),
        pytest.param(
            DRIVEN, {"G": 6.0, "D": 12 * 3 / 50}, 0.24, ("Q1", "resistive_joint"), id="3 ohm in a MOSFET that is on"
        ),
        pytest.param(
            AMPLIFIED, {"B": 0.7, "C": 12 - 5 * 1.13}, 6.8e-3, ("Q1", "weak"), id="a gain of 5: 5.7 mA by 1.13 mA"
        ),
        pytest.param(FOLLOWER, {"IN": 6.0, "B": 6.0, "OUT": 6.2}, 4e-3, ("U1", "wrong_output"), id="0.2 V off"),
        pytest.param(
            GATE_OUT, {"IN": 0.0, "OUT": 12 * 120 / 287}, 42e-3, ("U1", "leaky"), id="120 ohm to ground below 167 ohm"
        ),
        pytest.param(HALF, {"H": PARALLEL}, 0.08e-3, ("C1", "leaky"), id="70 kohm across a capacitor"),
    ],
)
def test_what_leaks_or_has_aged_is_among_the_first_three_groups(
    tmp_path: Path, board: tuple[str, str], volts: dict[str, float], amps: float, fault: tuple[str, str]
) -> None:
    """Independent: Ohm's law by hand, with the ohms or the share that the case names."""
    made = derived(tmp_path, *board, 12.0)
    read = [reading("V", 12.0), *(reading(net, value) for net, value in volts.items())]
    read.append(reading("supply", amps, Mode.AMPS))
    found = diagnose(read_board(tmp_path), made, read, Stage(None, "V", 1.0, None))
    assert fault in {(one.ref, one.kind) for group in found.groups[:3] for one in group.faults}
