"""Diagnosis where the first model was too narrow: sizes between the table's, turned parts, split rails, own leads."""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from reworkkit.compute.diagnosis import Stage, diagnose, engine_of, prepare
from reworkkit.compute.diagnosis.chance import by_chance
from reworkkit.compute.diagnosis.evidence import View, fit
from reworkkit.compute.diagnosis.refining import refined
from reworkkit.compute.formulas.network.bipolar import REVERSE_GAIN
from reworkkit.model.board import Board
from reworkkit.model.diagnosis import Diagnosis, DiagnosisVerdict
from reworkkit.model.results import Circuit
from reworkkit.model.vocabulary import Mode
from tests.compute.small_boards import first_faults, opened, reading, volts_under, written

Read = tuple[str, float, Mode]

OHM = "Ohm's law"
SERIES_BOM = """Designator,Quantity,Value,Package,Description
J1,1,12 V in,Terminal,screw terminal
F1,1,1 A,1206,fuse
R1,1,240R,2512,resistor 1 %
R2,1,240R,2512,resistor 1 %
"""
SERIES_NETS = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
F1,1,VIN,
F1,2,VF,
R1,1,VF,
R1,2,MID,
R2,1,MID,
R2,2,GND,
"""
SERIES_FACTS = """name = "Series"
[board]
ground = ["GND"]
[supplies]
VIN = "12 V, limit 0.3 A"
"""
SWITCH_BOM = """Designator,Quantity,Value,Package,Description
J1,1,5 V in,Terminal,screw terminal
Q1,1,BC547,{package},NPN transistor
R1,1,10k,0603,resistor 1 %
R2,1,1k,0603,resistor 1 %
"""
SWITCH_NETS = """designator,pin,net,name
J1,1,+5V,
J1,2,GND,
Q1,1,OUT,C
Q1,2,BASE,B
Q1,3,GND,E
R1,1,+5V,
R1,2,BASE,
R2,1,+5V,
R2,2,OUT,
"""
SWITCH_FACTS = """name = "Switch"
[board]
ground = ["GND"]
[supplies]
"+5V" = "5 V, limit 0.1 A"
"""
SPLIT_BOM = """Designator,Quantity,Value,Package,Description
J1,1,split,Terminal 3-way,screw terminal
"R1, R2",2,1k,0603,resistor 1 %
"R3, R4",2,2k,0603,resistor 1 %
"""
SPLIT_NETS = """designator,pin,net,name
J1,1,+12V,
J1,2,GND,
J1,3,-12V,
R1,1,+12V,
R1,2,PLUS,
R2,1,PLUS,
R2,2,GND,
R3,1,-12V,
R3,2,MINUS,
R4,1,MINUS,
R4,2,GND,
"""
SPLIT_FACTS = """name = "Split"
[board]
ground = ["GND"]
[supplies]
"+12V" = "12 V, limit 0.1 A"
"-12V" = "-12 V, limit 0.1 A"
"""


NAMES = ("bom.csv", "netlist.csv", "board.toml")


@pytest.fixture
def asked(tmp_path: Path) -> Callable[..., Diagnosis]:
    """Return a function from the files of a board, a stage and readings to the diagnosis."""

    def ask(files: tuple[str, str, str], stage: Stage, readings: Sequence[Read]) -> Diagnosis:
        return diagnose(*board_of(tmp_path, files), [reading(*one) for one in readings], stage)

    return ask


def board_of(folder: Path, files: tuple[str, str, str]) -> tuple[Board, Circuit]:
    return opened(written(folder, dict(zip(NAMES, files, strict=True))))


@pytest.mark.parametrize("joint_ohm", [14.0, 47.0, 95.0, 260.0])
def test_a_joint_of_any_ohms_is_met_at_its_own_size(
    tmp_path: Path, joint_ohm: float, published: Callable[..., None]
) -> None:
    board, circuit = board_of(tmp_path, (SERIES_BOM, SERIES_NETS, SERIES_FACTS))
    amps = 12 / (480 + joint_ohm)
    readings = [reading(*one) for one in [
        ("supply", amps, Mode.AMPS), ("VIN", 12.0, Mode.VOLTS), ("VF", 480 * amps, Mode.VOLTS),
        ("MID", 240 * amps, Mode.VOLTS),
    ]]  # fmt: skip
    engine, _ = engine_of(board, circuit, prepare(board, circuit, Stage(None, "VIN", 0.3, None)), readings)
    for _ in range(2):
        engine = engine.with_dictionary(refined(engine))
    faults = [one.fault for one in engine.dictionary.catalogue.hypotheses]
    joint = next(n for n, one in enumerate(faults) if (one.ref, one.kind) == ("F1", "resistive_joint"))
    assert engine.ranked[0] == joint
    column = engine.dictionary.catalogue.hypotheses[joint].sizes[0][1][-1][0]
    size = float(engine.dictionary.rows[engine.best_cluster(joint), column])
    published(f"joint-{joint_ohm:g}", size, joint_ohm, source=OHM, tolerance=0.2 * joint_ohm)


def test_finer_sizes_keep_the_weight_of_a_fault(tmp_path: Path) -> None:
    board, circuit = board_of(tmp_path, (SERIES_BOM, SERIES_NETS, SERIES_FACTS))
    readings = [reading(*one) for one in [("supply", 0.02, Mode.AMPS), ("VF", 9.5, Mode.VOLTS)]]
    engine, _ = engine_of(board, circuit, prepare(board, circuit, Stage(None, "VIN", 0.3, None)), readings)
    finer = refined(engine)
    assert len(finer.owner) > len(engine.dictionary.owner)
    assert np.all(np.diff(finer.owner) >= 0)
    for n in range(len(finer.catalogue.hypotheses)):
        assert finer.weight[finer.owner == n].sum() == pytest.approx(1.0)


def test_a_transistor_the_wrong_way_round_works_with_its_reverse_gain(asked: Callable[..., Diagnosis]) -> None:
    """Its collector and emitter exchanged it amplifies by a few only (Ebers and Moll; 0.5 to 20, from memory)."""
    files = (SWITCH_BOM.format(package="TO-92"), SWITCH_NETS, SWITCH_FACTS)
    base_a = (5 - 0.65) / 10e3
    out_v = 5 - 1e3 * REVERSE_GAIN * base_a
    readings = [
        ("supply", base_a * (1 + REVERSE_GAIN), Mode.AMPS), ("BASE", 0.65, Mode.VOLTS), ("OUT", out_v, Mode.VOLTS),
    ]  # fmt: skip
    found = asked(files, Stage(None, "+5V", 0.1, None), readings)
    assert ("Q1", "reversed") in {(f.ref, f.kind) for group in found.groups[:2] for f in group.faults}
    assert not any(fault.ref == "Q1" and fault.kind == "open" for fault in found.groups[0].faults)


def test_what_lies_flat_on_its_lands_is_not_turned(tmp_path: Path) -> None:
    files = (SWITCH_BOM.format(package="SOT-23"), SWITCH_NETS, SWITCH_FACTS)
    dictionary = prepare(*board_of(tmp_path, files), Stage(None, "+5V", 0.1, None))
    assert ("Q1", "reversed") not in {(h.fault.ref, h.fault.kind) for h in dictionary.catalogue.hypotheses}


SPLIT = Stage(None, "+12V", 0.1, None, beside=("-12V",))


def test_split_rails_are_on_together(asked: Callable[..., Diagnosis]) -> None:
    readings = [
        ("supply", 12 / 2e3, Mode.AMPS), ("-12V", 12 / 4e3, Mode.AMPS), ("PLUS", 6.0, Mode.VOLTS),
        ("MINUS", -6.0, Mode.VOLTS), ("-12V", -12.0, Mode.VOLTS),
    ]  # fmt: skip
    assert asked((SPLIT_BOM, SPLIT_NETS, SPLIT_FACTS), SPLIT, readings).verdict is DiagnosisVerdict.NO_FAULT_SEEN


@pytest.mark.parametrize(
    ("minus_a", "minus_v", "rail_v", "fault"),
    [
        (0.0, 0.0, 0.0, ("-12V", "off")),
        (0.0, 0.0, -12.0, ("R3", "open")),
        (12 / 2e3, -12.0, -12.0, ("R3", "shorted")),
    ],
)
def test_a_fault_on_the_second_supply_is_found_there(
    asked: Callable[..., Diagnosis], minus_a: float, minus_v: float, rail_v: float, fault: tuple[str, str]
) -> None:
    readings = [
        ("supply", 12 / 2e3, Mode.AMPS), ("-12V", minus_a, Mode.AMPS), ("PLUS", 6.0, Mode.VOLTS),
        ("MINUS", minus_v, Mode.VOLTS), ("-12V", rail_v, Mode.VOLTS),
    ]  # fmt: skip
    found = asked((SPLIT_BOM, SPLIT_NETS, SPLIT_FACTS), SPLIT, readings)
    assert fault in first_faults(found), found.groups


def test_a_lead_that_is_off_its_land_reads_what_it_likes(asked: Callable[..., Diagnosis]) -> None:
    """The land is at 5 V through its resistor, the collector's lead itself at nothing: that joint is open."""
    files = (SWITCH_BOM.format(package="SOT-23"), SWITCH_NETS, SWITCH_FACTS)
    readings = [
        ("supply", (5 - 0.7) / 10e3, Mode.AMPS), ("BASE", 0.7, Mode.VOLTS), ("OUT", 5.0, Mode.VOLTS),
        ("Q1.1", 0.02, Mode.VOLTS),
    ]  # fmt: skip
    assert ("Q1", "collector_open") in first_faults(asked(files, Stage(None, "+5V", 0.1, None), readings))


def test_two_nets_that_a_chip_holds_are_not_joined_because_they_are_equal(tmp_path: Path) -> None:
    bom = SERIES_BOM + "U1,1,strange,SOIC-8,controller\n"
    nets = SERIES_NETS + "U1,1,GND,\nU1,8,VF,VDD\nU1,2,A1,\nU1,3,A2,\n"
    dictionary = prepare(*board_of(tmp_path, (bom, nets, SERIES_FACTS)), Stage(None, "VIN", 0.3, None))
    factors = dict(zip([h.fault.ref for h in dictionary.catalogue.hypotheses], by_chance(dictionary), strict=True))
    assert factors.get("A1 to A2", 0.0) < 0.5
    assert factors["R1"] == 1.0


def test_the_outer_leads_change_places_whatever_they_are(tmp_path: Path) -> None:
    """Emitter, collector, base in a row, as many Japanese types have them (common practice, no source).

    Turned round the base stands where the emitter was, at ground: both junctions block and nothing flows.
    """
    nets = SWITCH_NETS.replace("Q1,1,OUT,C\nQ1,2,BASE,B\nQ1,3,GND,E", "Q1,1,GND,E\nQ1,2,OUT,C\nQ1,3,BASE,B")
    files = (SWITCH_BOM.format(package="TO-92"), nets, SWITCH_FACTS)
    dictionary = prepare(*board_of(tmp_path, files), Stage(None, "+5V", 0.1, None))
    turned = volts_under(dictionary, "Q1", "reversed")
    assert turned["OUT"] == pytest.approx(5.0, abs=0.01)
    assert turned["BASE"] > 4.5, "the emitter is at the base's resistor now, and blocks"


def test_a_node_inside_a_part_is_no_point(asked: Callable[..., Diagnosis]) -> None:
    bom = SWITCH_BOM.format(package="TO-92").replace("BC547", "BC517").replace("NPN", "Darlington NPN")
    found = asked((bom, SWITCH_NETS, SWITCH_FACTS), Stage(None, "+5V", 0.1, None), [("Q1.base2~", 0.7, Mode.VOLTS)])
    assert [one.about for one in found.not_judged if one.because.slug == "diagnose-point-unknown"] == [("Q1.base2~",)]


def test_a_test_point_of_the_list_is_where_its_one_pin_is(asked: Callable[..., Diagnosis]) -> None:
    bom, nets = SERIES_BOM + "TP1,1,,,test point\n", SERIES_NETS + "TP1,1,MID,\n"
    found = asked((bom, nets, SERIES_FACTS), Stage(None, "VIN", 0.3, None), [("TP1", 6.0, Mode.VOLTS)])
    assert not [one for one in found.not_judged if one.because.slug == "diagnose-point-unknown"]
    assert [(one.reading.point, one.inside) for one in found.points] == [("TP1", True)]


FOLLOWED_BOM = """Designator,Value,Package,Description
J1,10 V in,Terminal,screw terminal
R1,1M,0603,resistor 1 %
R2,1M,0603,resistor 1 %
U1,TLV2371,SOT-23-5,operational amplifier
"""
FOLLOWED_NETS = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
R1,1,VIN,
R1,2,HALF,
R2,1,HALF,
R2,2,GND,
U1,1,OUT,OUT
U1,2,GND,V-
U1,3,HALF,IN+
U1,4,OUT,IN-
U1,5,VIN,V+
"""
FOLLOWED_FACTS = SERIES_FACTS.replace("12 V", "10 V")


def test_the_meter_is_at_one_point_at_a_time(tmp_path: Path, published: Callable[..., None]) -> None:
    """The divider of two megohms is loaded by the meter only while that is at the divider itself."""
    folder = written(tmp_path, {"bom.csv": FOLLOWED_BOM, "netlist.csv": FOLLOWED_NETS, "board.toml": FOLLOWED_FACTS})
    board, circuit = opened(folder)
    stage = Stage("rails", "VIN", 0.3, None)
    readings = [reading("HALF", 4.76), reading("OUT", 5.0)]
    engine, _ = engine_of(board, circuit, prepare(board, circuit, stage), readings)
    half, out = (float(value) for value in engine.seen.mean[0])
    loaded = 10 * (1 / (1 / 1e6 + 1 / 1e7)) / (1e6 + 1 / (1 / 1e6 + 1 / 1e7))
    published("divider with a meter of 10 Mohm", half, loaded, source=OHM, tolerance=0.005)
    published("its follower, the meter away from the divider", out, 5.0, source=OHM, tolerance=0.005)


def test_what_nothing_holds_is_mostly_where_it_floats() -> None:
    """A mixture of two normal densities, half each, worked out by hand."""
    mean, loads = np.zeros((1, 1)), np.zeros((1, 1, 0))
    seen = View(mean, loads, np.full((1, 1), 1.0), np.full((1, 1), 0.01))

    def normal(value: float, sigma: float) -> float:
        return float(np.exp(-0.5 * (value / sigma) ** 2) / (sigma * np.sqrt(2 * np.pi)))

    for value in (0.0, 0.02, 1.5):
        expected = np.log((normal(value, 1.0) + normal(value, 0.01)) / 2)
        assert float(fit(seen, np.array([value])).log[0]) == pytest.approx(expected)


DRIVER_BOM = """Designator,Value,Package,Description
J1,24 V in,Terminal,screw terminal
J2,5 V in,Terminal,screw terminal
Q1,BC337-25,TO-92,NPN transistor
R1,4k7,0603,resistor 1 %
K1,HX-24,,relay 24 V 1600 ohm
D1,1N4148,DO-35,diode
"""
DRIVER_NETS = """designator,pin,net,name
J1,1,V24,
J1,2,GND,
J2,1,V5,
J2,2,GND,
Q1,1,LOW,C
Q1,2,BASE,B
Q1,3,GND,E
R1,1,V5,
R1,2,BASE,
K1,1,V24,
K1,2,LOW,
D1,1,V24,K
D1,2,LOW,A
"""
DRIVER_FACTS = """name = "Driver"
[board]
ground = ["GND"]
[supplies]
V24 = "24 V, limit 0.4 A"
V5 = "5 V, limit 0.1 A"
"""


@pytest.mark.parametrize("gain", [100, 160, 250, 400])
def test_a_shorted_freewheel_diode_whatever_the_gain(tmp_path: Path, gain: float) -> None:
    """The transistor carries its gain times 0.93 mA, by Ohm's law at the base; the coil is bridged."""
    folder = written(tmp_path, {"bom.csv": DRIVER_BOM, "netlist.csv": DRIVER_NETS, "board.toml": DRIVER_FACTS})
    board, circuit = opened(folder)
    amps = gain * (5 - 0.8) / 4700
    shown = [
        ("V24", 24.0, Mode.VOLTS),
        ("LOW", 23.9, Mode.VOLTS),
        ("BASE", 0.8, Mode.VOLTS),
        ("supply", amps, Mode.AMPS),
    ]
    stage = Stage("rails", "V24", 0.4, None, beside=("V5",))
    found = diagnose(board, circuit, [reading(*one) for one in shown], stage)
    assert {("D1", "shorted"), ("D1", "reversed")} & first_faults(found)
    assert found.verdict is DiagnosisVerdict.FAULT


POT_BOM = """Designator,Quantity,Value,Package,Description
J1,1,12 V in,Terminal,screw terminal
RV1,1,10k,,trimmer
R1,1,10k,0603,resistor 1 %
R2,1,100k,0603,resistor 1 %
"""
POT_NETS = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
R1,1,VIN,
R1,2,TOP,
RV1,1,TOP,
RV1,2,SET,
RV1,3,GND,
R2,1,SET,
R2,2,GND,
"""


def test_a_lead_of_a_trimmer_without_contact(tmp_path: Path, published: Callable[..., None]) -> None:
    """Its cold end off: the wiper stands at the whole of what its other half and the load leave."""
    facts = SERIES_FACTS + '[parts]\nRV1 = { role = "at 50 %" }\n'
    board, circuit = board_of(tmp_path, (POT_BOM, POT_NETS, facts))
    made = prepare(board, circuit, Stage(None, "VIN", 0.3, None))
    opened_ends = [
        h.fault.nets for h in made.catalogue.hypotheses if (h.fault.ref, h.fault.kind) == ("RV1", "pin_open")
    ]
    assert opened_ends == [("TOP",), ("SET",), ("GND",)]
    place = next(
        n for n, h in enumerate(made.catalogue.hypotheses) if h.fault.ref == "RV1" and h.fault.nets == ("GND",)
    )
    state = made.states[int(np.flatnonzero(made.owner == place)[0])]
    volts = float(state[made.template.nodes.index("SET")])
    published("wiper with its cold end open [V]", volts, 12 * 100 / 115, source=OHM, tolerance=0.01)


NEGATIVE_BOM = """Designator,Quantity,Value,Package,Description
J1,1,-24 V in,Terminal,screw terminal
U1,1,LM7915,TO-220,regulator
R1,1,1k,0603,resistor 1 %
"""
NEGATIVE_NETS = """designator,pin,net,name
J1,1,VIN,
J1,2,GND,
U1,1,GND,
U1,2,VIN,
U1,3,OUT,
R1,1,OUT,
R1,2,GND,
"""


def test_another_version_of_a_regulator_below_ground_is_below_ground(tmp_path: Path) -> None:
    facts = SERIES_FACTS.replace('"12 V, limit 0.3 A"', '"-24 V, limit 0.3 A"')
    board, circuit = board_of(tmp_path, (NEGATIVE_BOM, NEGATIVE_NETS, facts))
    made = prepare(board, circuit, Stage(None, "VIN", 0.3, None))
    place = next(n for n, h in enumerate(made.catalogue.hypotheses) if h.fault.kind == "wrong_variant")
    volts = made.states[np.flatnonzero(made.owner == place), made.template.nodes.index("OUT")]
    assert {-5, -12} <= {round(float(v)) for v in volts}
    assert (volts < 0).all()


@pytest.mark.parametrize(("points", "alike"), [("", False), ('[points]\nTP1 = "VIN"\nTP2 = "VF"\n', True)])
def test_what_no_point_in_reach_tells_apart_is_one_group(
    asked: Callable[..., Diagnosis], points: str, alike: bool
) -> None:
    """Two resistors in series, no current: only their middle tells which is open, where a probe can touch it."""
    files = (SERIES_BOM, SERIES_NETS, SERIES_FACTS + points)
    readings = [("VF", 12.0, Mode.VOLTS), ("VIN", 12.0, Mode.VOLTS), ("supply", 0.0, Mode.AMPS)]
    found = asked(files, Stage(None, "VIN", 0.3, None), readings)
    assert ({("R1", "open"), ("R2", "open")} <= first_faults(found)) is alike
    assert any(not check.powered for check in found.next)
