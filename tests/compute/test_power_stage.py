"""Readings that must agree: the sets are found, the odd one out is named, like readings raise nothing."""

from dataclasses import replace
from pathlib import Path

import pytest

from reworkkit.compute.power_stage import stage_checks
from reworkkit.compute.power_stage.devices import Device, alike, devices_of
from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.measuring import Reading
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Mode, Place, ReadingForm
from reworkkit.pipeline.opening import Request, open_work
from reworkkit.pipeline.work import Work

PROJECT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def bridges() -> Work:
    return open_work(Request(PROJECT / "tests" / "polarity_boards" / "halfbridge-cooler"))


@pytest.fixture(scope="module")
def valves() -> Work:
    return open_work(Request(PROJECT / "example_boards" / "greenhouse-valves"))


def sheet(work: Work, situation: Situation | None = None, refs: tuple[str, ...] = ()) -> CheckSheet:
    return stage_checks(work.board, work.circuit, situation or work.situation, refs)


def device(ref: str, drain: str, source: str, kind: str = "mosfet_n", key: str = "A") -> Device:
    return Device(ref, kind, key, drain, f"G_{ref}", source, ("2", "1", "3"), None)


def sets(*devices: Device) -> set[tuple[str, tuple[str, ...]]]:
    return {(one.why, tuple(d.ref for d in one.devices)) for one in alike(devices)}


# Three phases on one bus: the upper three read alike, and so do the lower three (invariant of the circuit).


def test_three_half_bridges() -> None:
    phases = [("Q1", "Q4", "A"), ("Q2", "Q5", "B"), ("Q3", "Q6", "C")]
    upper = [device(high, "BUS", phase) for high, _, phase in phases]
    lower = [device(low, phase, "GND") for _, low, phase in phases]
    assert sets(*upper, *lower) == {("bridge_high", ("Q1", "Q2", "Q3")), ("bridge_low", ("Q4", "Q5", "Q6"))}


def test_each_lower_switch_on_a_shunt_of_its_own() -> None:
    legs = [device("Q1", "BUS", "A"), device("Q2", "BUS", "B"), device("Q3", "A", "SH1"), device("Q4", "B", "SH2")]
    assert sets(*legs) == {("bridge_high", ("Q1", "Q2")), ("bridge_low", ("Q3", "Q4"))}


def test_p_channel_above() -> None:
    legs = [device("Q1", "A", "BUS", "mosfet_p", "P"), device("Q2", "B", "BUS", "mosfet_p", "P")]
    legs += [device("Q3", "A", "GND"), device("Q4", "B", "GND")]
    assert sets(*legs) == {("bridge_high", ("Q1", "Q2")), ("bridge_low", ("Q3", "Q4"))}


def test_parallel_devices_in_a_leg_read_alike() -> None:
    legs = [device("Q1", "BUS", "A"), device("Q2", "BUS", "A"), device("Q3", "A", "GND"), device("Q4", "A", "GND")]
    assert sets(*legs) == {("bridge_high", ("Q1", "Q2")), ("bridge_low", ("Q3", "Q4"))}


def test_parallel_and_channels_and_strangers() -> None:
    assert sets(device("Q1", "OUT", "GND"), device("Q2", "OUT", "GND")) == {("parallel", ("Q1", "Q2"))}
    assert sets(device("Q1", "X", "GND"), device("Q2", "Y", "GND")) == {("channel", ("Q1", "Q2"))}
    assert sets(device("Q1", "X", "GND"), device("Q2", "Y", "GND", key="B")) == set()


def test_a_single_half_bridge_of_two_types_has_no_fellow() -> None:
    assert sets(device("Q1", "BUS", "A"), device("Q2", "A", "GND")) == set()


def test_six_readings_a_device(bridges: Work) -> None:
    found = sheet(bridges)
    assert {group.devices for group in found.groups} == {("Q1", "Q3"), ("Q2", "Q4")}
    assert all(len(group.rows) == 6 for group in found.groups)
    assert len(found.checks) == 12
    assert {check.mode for check in found.checks} == {Mode.DIODE, Mode.OHMS}
    assert all(check.hold_point is None for check in found.checks)


def test_a_diode_beside_the_body_diode_shows_instead() -> None:
    """Junctions side by side: the lower drop carries the test current (closed form: parallel exponentials)."""
    work = open_work(Request(PROJECT / "example_boards" / "greenhouse-valves"))
    (element, *_) = [e for e in work.circuit.elements if e.ref == "Q1"]
    drain, _, source = element.nodes
    schottky = replace(
        element, kind="schottky", ref="D99", nodes=(source, drain), parameters={"forward": _drop(0.1, 0.18, 0.28)}
    )
    both = replace(work.circuit, elements=(*work.circuit.elements, schottky))
    forward = {d.ref: d.forward for d in devices_of(work.board, both)}
    assert forward["Q1"] == _drop(0.1, 0.18, 0.28)
    assert forward["Q2"] == element.parameters["forward"]
    absent = {d.ref: d.forward for d in devices_of(work.board, both, frozenset({"D99"}))}
    assert absent["Q1"] == forward["Q2"]


def _drop(low: float, nominal: float, high: float) -> Band:
    from reworkkit.model.vocabulary import BandBasis

    return Band(low, nominal, high, "V", BandBasis.TABLE)


def read(point: str, text: str, value: float | None, mode: Mode, swapped: bool = False) -> Reading:
    form = ReadingForm.VALUE if value is not None else ReadingForm.OVER_RANGE
    return Reading(point, mode, form, value, "V" if mode is Mode.DIODE else "ohm", swapped, None, text)


def fitted(work: Work, *refs: str) -> Situation:
    states = {**work.situation.states, **{ref: PlaceState(ref, Place.FITTED) for ref in refs}}
    return replace(work.situation, states=states)


ALL = ("Q1", "Q2", "Q3", "Q4")


@pytest.mark.parametrize(
    ("volts", "odd"),
    [
        ((0.48, 0.47, 0.49, 0.48), ()),
        ((0.48, 0.47, 0.12, 0.48), ("Q3",)),
        ((0.48, None, 0.49, 0.48), ("Q2",)),
        ((0.01, 0.48, None, 0.48), ("Q3",)),
    ],
)
def test_the_odd_one_out(valves: Work, volts: tuple[float | None, ...], odd: tuple[str, ...]) -> None:
    readings = tuple(
        read(f"{q}.3 to {q}.2", "OL" if v is None else f"{v} V", v, Mode.DIODE) for q, v in zip(ALL, volts, strict=True)
    )
    found = sheet(valves, replace(fitted(valves, *ALL), readings=readings))
    named = {ref for finding in found.findings for ref in finding.refs}
    assert named >= set(odd)
    assert bool(found.findings) is bool(odd)


def test_a_point_typed_the_other_way_counts_as_swapped(valves: Work) -> None:
    readings = (read("Q1.2 to Q1.3", "OL", None, Mode.DIODE), read("Q2.3 to Q2.2", "OL", None, Mode.DIODE, True))
    found = sheet(valves, replace(fitted(valves, *ALL), readings=readings))
    assert not found.findings
    assert {(key, swapped) for key, swapped, _ in found.read} == {
        ("power_stage:Q1:drain", True),
        ("power_stage:Q2:drain", True),
    }


def test_bare_and_fitted_places_are_not_held_against_each_other(valves: Work) -> None:
    found = sheet(valves, fitted(valves, "Q1", "Q2"))
    assert {group.devices for group in found.groups} == {("Q1", "Q2"), ("Q3", "Q4")}
    fitted_ones = [c for c in found.checks if c.mode is Mode.DIODE and c.expect is not None]
    assert {c.refs[0] for c in fitted_ones} == {"Q1", "Q2"}


def test_the_pull_resistor_bounds_the_gate_reading(valves: Work) -> None:
    """R13, R14, R16 are 10 k from gate to ground (bom.csv); R15 is not on the board (fitted.csv)."""
    expects = {c.refs[0]: c.expect for c in sheet(valves).checks if c.id.endswith("gate_source")}
    assert expects["Q3"] is None
    for ref in ("Q1", "Q2", "Q4"):
        band = expects[ref]
        assert isinstance(band, Band)
        assert band.nominal == 10e3
        assert (band.high or 0) >= 10e3


def test_named_places_narrow_it(bridges: Work) -> None:
    assert {group.devices for group in sheet(bridges, refs=("Q4",)).groups} == {("Q2", "Q4")}
