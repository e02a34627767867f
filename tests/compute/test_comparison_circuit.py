"""Needs that the circuit sets, and consequences, against values worked by hand."""

from dataclasses import replace
from decimal import Decimal

import pytest

from reworkkit.compute.circuit import derive_circuit
from reworkkit.compute.comparison import compare_part, net_bands
from reworkkit.model.board import Board, Candidate
from reworkkit.model.comparison import CandidateResult, ComparisonRow, Outcome
from reworkkit.model.facts import BoardFacts, LaminateFacts, LoadFacts, NetRange, PartFacts, RailFacts, SenseFacts
from reworkkit.model.values import Quantity
from tests.compute.comparison_boards import board, identity, row


def q(value: str, unit: str) -> Quantity:
    return Quantity(Decimal(value), unit, f"{value} {unit}")


GROUND = LaminateFacts(ground=("GND",))
RAILS = {
    "+5V": RailFacts(volts=q("5", "V"), tolerance=q("4", "%")),
    "+3V3": RailFacts(volts=q("3.3", "V"), tolerance=q("3", "%")),
    "+24V": RailFacts(volts=q("24", "V"), tolerance=q("2", "%")),
}
FACTS = BoardFacts(board=GROUND, rails=RAILS, supplies={})


def judged(made: Board, ref: str) -> CandidateResult:
    circuit = derive_circuit(made)
    return compare_part(made, ref, circuit, net_bands(circuit)).candidates[0]


def of(result: CandidateResult, parameter: str) -> ComparisonRow:
    return next(one for one in result.rows if one.parameter == parameter)


def figure(result: CandidateResult, name: str) -> float:
    found = [after.value for effect in result.consequences for n, _, after in effect.figures if n == name]
    assert found
    assert found[0] is not None
    return found[0]


def resistor_board(candidate: Candidate) -> Board:
    parts = {"R1": identity("resistor", "100 1 %", "1206")}
    return board(parts, (candidate,), "R1.1 +5V, R1.2 GND", FACTS)


def test_power_of_a_resistor_across_a_rail() -> None:
    """By hand: 5.2 V^2 / 100 ohm = 0.2704 W; at 60 % of the rating 0.45 W would do, 1/4 W does not."""
    silent = row("A-1", "R1", "resistor", resistance="100", tolerance="1 %", package="R chip 0805")
    assert of(judged(resistor_board(silent), "R1"), "power").outcome is Outcome.NOT_JUDGED
    weak = row("A-3", "R1", "resistor", resistance="100", tolerance="1 %", power="0.125 W", package="R chip 0805")
    power = of(judged(resistor_board(weak), "R1"), "power")
    assert power.needed
    assert power.needed.value == pytest.approx(0.2704, rel=1e-6)
    assert power.outcome is Outcome.FAIL
    strong = row("A-2", "R1", "resistor", resistance="100", tolerance="1 %", power="0.5 W", package="R chip 1206")
    assert of(judged(resistor_board(strong), "R1"), "power").outcome is Outcome.PASS


@pytest.mark.parametrize(("rated", "outcome"), [("35 V", Outcome.FAIL), ("50 V", Outcome.PASS), ("25 V", Outcome.FAIL)])
def test_tantalum_is_used_at_half_its_rating(rated: str, outcome: Outcome) -> None:
    """A maker's derating guidance: manganese dioxide at 50 %; 24.48 V needs 48.96 V."""
    parts = {"C1": identity("capacitor_tantalum", "10uF 20V", "7343-31")}
    made = board(parts, (row("A-1", "C1", "capacitor_tantalum", capacitance="10 uF", voltage=rated),),
                 "C1.1 +24V, C1.2 GND", FACTS)  # fmt: skip
    assert of(judged(made, "C1"), "voltage").outcome is outcome


def gate_board(candidate: Candidate) -> Board:
    parts = {
        "Q1": identity("mosfet", "IRLZ44NS", "TO-263", "IRLZ44NS", "N-channel MOSFET"),
        "R1": identity("resistor", "100", "0603"),
        "U1": identity("ic", "74HCT244", "SOIC-20W", "74HCT244D", "buffer"),
    }
    nets = "Q1.1 GATE, Q1.2 OUT, Q1.3 GND, R1.1 DRV, R1.2 GATE, U1.20 +5V, U1.10 GND, U1.18 DRV"
    facts = replace(FACTS, nets={"OUT": NetRange(q("0", "V"), q("24", "V"))},
                    parts={"U1": PartFacts(pins={"VCC": "20", "GND": "10"})})  # fmt: skip
    return board(parts, (candidate,), nets, facts)


MOSFET = {
    "channel": "N", "drain_voltage": "55 V", "gate_voltage": "20 V", "drain_current": "49 A",
    "on_resistance": "17 mohm",
    "pin_order": "G D S", "package": "TO-263",
}  # fmt: skip


def test_a_gate_that_needs_10_volts_fails_on_a_5_volt_driver() -> None:
    """IRFZ44N (17.5 mohm at 10 V, from memory of its sheet) for a logic level part: the driver gives 4.8 V."""
    result = judged(gate_board(row("IRFZ44NS", "Q1", "mosfet", **MOSFET, rds_on_at="10 V")), "Q1")
    drive = of(result, "on_resistance_at")
    assert drive.needed
    assert drive.needed.value == pytest.approx(4.8)
    assert drive.outcome is Outcome.FAIL
    assert result.verdict.value == "no"


def test_a_gate_specified_at_4_5_volts_passes_there() -> None:
    result = judged(gate_board(row("AO-1", "Q1", "mosfet", **MOSFET, rds_on_at="4.5 V")), "Q1")
    assert of(result, "on_resistance_at").outcome is Outcome.PASS
    assert of(result, "drain_voltage").needed is not None


@pytest.mark.parametrize(
    ("rated", "outcome"),
    [("60 V", Outcome.PASS), ("50 V", Outcome.PASS), ("40 V", Outcome.NOT_JUDGED), ("25 V", Outcome.FAIL)],
)
def test_drain_voltage_with_and_without_room_for_spikes(rated: str, outcome: Outcome) -> None:
    """24 V / 0.8 = 30 V at least; twice 24 V is enough for any usual spike; between them the original would decide."""
    made = gate_board(row("X-1", "Q1", "mosfet", **{**MOSFET, "drain_voltage": rated}, rds_on_at="4.5 V"))
    assert of(judged(made, "Q1"), "drain_voltage").outcome is outcome


REGULATOR = {
    "output_voltage": "3.3 V", "output_current": "0.8 A", "vin_max": "15 V", "dropout": "1.2 V",
    "cout_min": "10 uF", "esr_min": "0.3 ohm", "esr_max": "22 ohm", "pin_order": "GND OUT IN", "package": "SOT-223",
    "quiescent": "5 mA",
}  # fmt: skip


def regulator_board(capacitor: str, amps: str, **figures: str) -> Board:
    value = "22uF 10V" if capacitor == "capacitor_tantalum" else "22uF 10V X5R"
    parts = {
        "U1": identity("linear_regulator", "LM1117-3.3", "SOT-223", "LM1117MP-3.3"),
        "C1": identity(capacitor, value, "3528-21" if capacitor == "capacitor_tantalum" else "0805"),
    }
    nets = "U1.1 GND, U1.2 +3V3, U1.3 +5V, C1.1 +3V3, C1.2 GND"
    facts = replace(
        FACTS,
        loads={"+3V3": LoadFacts(amps=q(amps, "A"), tolerance=q("0", "%"))},
        parts={"U1": PartFacts(pins={"GND": "1", "OUT": "2", "IN": "3"})},
    )
    return board(parts, (row("A-1", "U1", "linear_regulator", **{**REGULATOR, **figures}),), nets, facts)


def test_junction_temperature_of_a_regulator() -> None:
    """By hand: (5.2 - 3.3) x 0.5 + 5.2 x 5 mA = 0.976 W; 40 + 0.976 x 136 = 172.7 C: too hot. 136 C/W: LM1117 sheet."""
    hot = judged(regulator_board("capacitor_tantalum", "0.5", rth="136 C/W"), "U1")
    assert figure(hot, "dissipation_w") == pytest.approx(0.976, rel=1e-3)
    assert figure(hot, "junction_c") == pytest.approx(172.736, rel=1e-3)
    assert of(hot, "junction").outcome is Outcome.FAIL
    assert hot.verdict.value == "no"
    cool = judged(regulator_board("capacitor_tantalum", "0.1", rth="136 C/W"), "U1")
    assert of(cool, "junction").outcome is Outcome.PASS
    assert cool.verdict.value == "drop_in"


def test_ceramic_output_capacitor_below_the_wanted_resistance() -> None:
    """LM1117's sheet asks 0.3 to 22 ohm: a ceramic has some milliohm, a moulded tantalum is inside."""
    assert of(judged(regulator_board("capacitor_tantalum", "0.1"), "U1"), "esr_min").outcome is Outcome.PASS
    ceramic = judged(regulator_board("capacitor_ceramic", "0.1"), "U1")
    assert of(ceramic, "esr_min").outcome is Outcome.FAIL
    assert ceramic.verdict.value == "fits_after_change"


def test_dropout_that_the_rails_do_not_leave() -> None:
    """By hand: 4.8 V - 3.399 V = 1.401 V is left; 1.5 V dropout does not fit."""
    result = judged(regulator_board("capacitor_tantalum", "0.1", dropout="1.5 V"), "U1")
    dropout = of(result, "dropout")
    assert dropout.needed
    assert dropout.needed.value == pytest.approx(1.401, rel=1e-3)
    assert dropout.outcome is Outcome.FAIL


def test_another_case_without_thermal_figures_is_not_judged() -> None:
    result = judged(
        regulator_board("capacitor_tantalum", "0.1", package="SOT-89", rth="", pin_order="GND OUT IN"), "U1"
    )
    assert result.verdict.value == "not_judged"
    assert result.at_best.value == "fits_with_rework"


def crystal_board(load: str) -> Board:
    parts = {
        "Y1": identity("crystal", "8 MHz", "HC-49/4H"),
        "C1": identity("capacitor_ceramic", "27p", "0603"),
        "C2": identity("capacitor_ceramic", "27p", "0603"),
    }
    nets = "Y1.1 XIN, Y1.2 XOUT, C1.1 GND, C1.2 XIN, C2.1 GND, C2.2 XOUT"
    figures = {"frequency": "8 MHz", "load_capacitance": load, "esr": "60 ohm", "package": "HC-49/4H"}
    original = row("8 MHz", "Y1", "crystal", esr="60 ohm")
    return board(parts, (original, row("A-1", "Y1", "crystal", **figures)), nets, FACTS)


def test_crystal_of_another_load_names_its_capacitors() -> None:
    """By hand: 27 x 27 / 54 + 4 = 17.5 pF is there; 12 pF wants 2 x (12 - 4) = 16 pF twice. Formula: makers' notes."""
    result = judged(crystal_board("12 pF"), "Y1")
    assert result.verdict.value == "fits_after_change"
    assert figure(result, "each_capacitor_f") == pytest.approx(16e-12, rel=1e-3)
    assert of(result, "load_capacitance").needed is not None
    assert judged(crystal_board("18 pF"), "Y1").verdict.value == "drop_in"


SENSOR = {
    "range": "10 A", "zero": "2.5 V", "zero_follows_supply": "ratiometric", "supply": "4.5 V to 5.5 V",
    "bandwidth": "50 kHz", "direction": "two-way", "isolation": "1.5 kV", "pin_order": "VCC OUT REF GND",
    "package": "SIP-4",
}  # fmt: skip


def sensor_board(sense: SenseFacts | None, **figures: str) -> Board:
    parts = {
        "U1": identity("magnetic_current_sensor", "S-200", "SIP-4", "S-200"),
        "R1": identity("resistor", "10k", "0603"),
        "R2": identity("resistor", "20k", "0603"),
        "C1": identity("capacitor_ceramic", "10n", "0603"),
    }
    nets = "U1.1 +5V, U1.2 OUT, U1.3 REF, U1.4 GND, R1.1 OUT, R1.2 ADC, R2.1 ADC, R2.2 GND, C1.1 ADC, C1.2 GND"
    pins = {"VCC": "1", "OUT": "2", "REF": "3", "GND": "4"}
    facts = replace(FACTS, parts={"U1": PartFacts(pins=pins)}, sense={"U1": sense} if sense else {})
    original = row("S-200", "U1", "magnetic_current_sensor", **SENSOR, sensitivity="200 mV/A")
    given = {**SENSOR, "sensitivity": "200 mV/A", **figures}
    return board(parts, (original, row("A-1", "U1", "magnetic_current_sensor", **given)), nets, facts)


SENSE = SenseFacts(bits=12, reference=q("3.3", "V"), trip=q("8", "A"), most=q("6", "A"), two_way=True)


def test_constants_of_another_sensitivity() -> None:
    """By hand: 0.16 V/A x 2/3 x 4096 / 3.3 V = 132.396 counts/A; zero 2.5 x 2/3 x 4096 / 3.3 = 2068.687 counts;
    the trip at 8 A of 0.2 V/A comes at 8 x 0.2 / 0.16 = 10 A; full scale (4.5 - 2.5) / 0.16 = 12.5 A."""
    result = judged(sensor_board(SENSE, sensitivity="160 mV/A", range="12 A"), "U1")
    assert result.verdict.value == "fits_after_change"
    assert figure(result, "counts_per_ampere") == pytest.approx(132.3960, rel=1e-3)
    assert figure(result, "zero_counts") == pytest.approx(2068.687, rel=1e-3)
    assert figure(result, "trip_a") == pytest.approx(10.0, rel=1e-3)
    assert figure(result, "most_a") == pytest.approx(12.5, rel=1e-3)
    assert any(one.dangerous for one in result.consequences)


def test_more_sensitive_sensor_clips() -> None:
    """By hand: 2 V / 0.4 V/A = 5 A, 6 A are needed; its trip would come at 4 A."""
    result = judged(sensor_board(SENSE, sensitivity="400 mV/A"), "U1")
    assert figure(result, "most_a") == pytest.approx(5.0, rel=1e-3)
    assert "compare-effect-clips" in {one.words.slug for one in result.consequences}
    assert figure(result, "trip_a") == pytest.approx(4.0, rel=1e-3)


def test_noise_floor_in_amperes() -> None:
    """By hand: 10 mV / 0.16 V/A = 62.5 mA; one count is 1 / 132.396 = 7.553 mA."""
    result = judged(sensor_board(SENSE, sensitivity="160 mV/A", range="12 A", noise="10 mV"), "U1")
    assert figure(result, "noise_a") == pytest.approx(0.0625, rel=1e-3)
    assert figure(result, "amps_per_count") == pytest.approx(7.5531e-3, rel=1e-3)


def test_bandwidth_is_held_against_the_filter() -> None:
    """By hand: 10 k parallel 20 k = 6.667 k, with 10 nF 2387 Hz; three times that is 7.16 kHz."""
    good = judged(sensor_board(SENSE, bandwidth="10 kHz"), "U1")
    assert of(good, "bandwidth").outcome is Outcome.PASS
    need = of(good, "bandwidth").needed
    assert need
    assert need.value == pytest.approx(7162.0, rel=1e-3)
    assert of(judged(sensor_board(SENSE, bandwidth="5 kHz"), "U1"), "bandwidth").outcome is Outcome.FAIL


def test_without_converter_facts_the_line_to_write_is_given() -> None:
    result = judged(sensor_board(None, sensitivity="160 mV/A", range="12 A"), "U1")
    assert not result.consequences
    assert any(one.answer and one.answer.startswith("[sense.U1]") for one in result.not_judged)


def test_thermistor_table_of_another_beta_shows_too_cold() -> None:
    """By hand (beta equation): a 3435 K part at 373.15 K has 987.0 ohm; a 3950 K table shows 88.2 C."""
    parts = {"R1": identity("thermistor", "10k", "0603")}
    original = row("10k", "R1", "thermistor", beta="3950 K", resistance="10k")
    other = row("A-1", "R1", "thermistor", beta="3435 K", resistance="10k", package="R chip 0603")
    result = compare_part(board(parts, (original, other)), "R1").candidates[0]
    assert result.verdict.value == "fits_after_change"
    assert figure(result, "shown_at_100_c") == pytest.approx(88.2, rel=1e-3)
    assert [one.dangerous for one in result.consequences] == [True]
    reverse = (row("10k", "R1", "thermistor", beta="3435 K", resistance="10k"),
               row("A-1", "R1", "thermistor", beta="3950 K", resistance="10k", package="R chip 0603"))  # fmt: skip
    shown = compare_part(board(parts, reverse), "R1").candidates[0]
    assert [one.dangerous for one in shown.consequences] == [False]


def test_a_protection_diode_must_bear_the_whole_supply() -> None:
    """In the forward path both ends are near 24 V: the reverse voltage it is there for is the supply, not the drop."""
    parts = {
        "D1": identity("diode_schottky", "SS56", "SMC", "SS56"),
        "C1": identity("capacitor_ceramic", "100n", "0603"),
    }
    facts = replace(FACTS, nets={"VIN": NetRange(q("0", "V"), q("24.5", "V"))})
    weak = row("SS52", "D1", "diode_schottky", reverse_voltage="20 V", forward_current="5 A", package="SMC")
    made = board(parts, (weak,), "D1.1 +24V, D1.2 VIN, C1.1 +24V, C1.2 GND", facts)
    assert of(judged(made, "D1"), "reverse_voltage").outcome is Outcome.FAIL


def test_net_bands_hold_the_widest_of_what_is_stated() -> None:
    circuit = derive_circuit(resistor_board(row("A-1", "R1", "resistor")))
    assert net_bands(circuit)["+5V"].high == pytest.approx(5.2)
    assert net_bands(None) == {}


@pytest.mark.parametrize(
    ("esr", "outcome"), [("0.02 ohm", Outcome.FAIL), ("0.5 ohm", Outcome.PASS), ("30 ohm", Outcome.FAIL)]
)
def test_the_largest_capacitor_of_a_regulator_keeps_it_stable(esr: str, outcome: Outcome) -> None:
    """LM1117's sheet asks 0.3 to 22 ohm of its output capacitor."""
    made = regulator_board("capacitor_tantalum", "0.1")
    polymer = row("P-1", "C1", "capacitor_tantalum", capacitance="22 uF", voltage="10 V", esr=esr)
    made = replace(made, candidates=(polymer,))
    assert of(judged(made, "C1"), "esr").outcome is outcome


def test_a_number_of_a_12_volt_regulator_is_read_whole() -> None:
    """LM2940-12 gives 12 V, 78L33 3.3 V, MCP1700-3302 3.3 V: makers' ordering codes."""
    for number, volts in (("LM2940-12", 12.0), ("LM78L33", 3.3), ("MCP1700T-3302E/TT", 3.3), ("L7805CV", 5.0)):
        parts = {"U1": identity("linear_regulator", number, "TO-220", number)}
        wanted = {one.parameter: one.original for one in compare_part(board(parts), "U1").wanted}
        assert wanted["output_voltage"] is not None
        assert wanted["output_voltage"].value == pytest.approx(volts), number
