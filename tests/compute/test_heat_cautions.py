"""Cautions for parts that heat spoils: common practice, no source."""

import dataclasses
from pathlib import Path

from reworkkit.compute.heat_cautions import heat_cautions
from reworkkit.compute.joints.copper import copper_of
from reworkkit.model.vocabulary import Mount
from tests.compute.heat_cases import board, package
from tests.compute.test_circuit import board_from, pins


def test_large_ceramics_and_cells() -> None:
    plain = board()
    chip = plain.parts["CHIP"]

    def as_part(ref: str, kind: str, body: tuple[float, float, float]):
        made = package(ref, Mount.SMD, body, 2)
        return chip._replace(ref=ref, identity=dataclasses.replace(chip.identity, kind=kind, package=made))

    parts = {
        "C2": as_part("C2", "capacitor_ceramic", (3.2, 2.5, 1.5)),
        "C10": as_part("C10", "capacitor_ceramic", (1.6, 0.8, 0.8)),
        "BT1": as_part("BT1", "battery", (20, 20, 3)),
    }
    found = heat_cautions(dataclasses.replace(plain, parts=parts))
    assert [(f.message.slug, f.refs) for f in found] == [("heat-cell", ("BT1",)), ("heat-large-ceramic", ("C2",))]


def test_a_tip_whose_width_no_word_tells_is_said(tmp_path: Path) -> None:
    facts = '[bench.tips.old]\nsize = "knife"\n[bench.tips.fine]\nsize = "1 mm"\n[bench.tips.big]\nsize = "large"\n'
    made = board_from(tmp_path, "R1,1k,0805,resistor\n", pins("R1", "A", "B"), facts)
    told = [f.message for f in heat_cautions(made) if f.message.slug == "heat-tip-width-unknown"]
    assert [one.fact("name") for one in told] == ["old"]


def test_planes_on_layers_and_nets_that_are_not_there_are_said_and_left_out(tmp_path: Path) -> None:
    facts = '[board]\nlayers = 2\nplanes = { GND = ["inner1", "bottom"], VX = ["top"], "+5V" = ["inner2"] }\n'
    made = board_from(tmp_path, "R1,1k,0805,resistor\n", pins("R1", "+5V", "GND"), facts)
    slugs = [(f.message.slug, f.message.fact("net"), f.message.fact("layer")) for f in heat_cautions(made)]
    assert slugs == [
        ("heat-plane-no-layer", "GND", "inner1"),
        ("heat-plane-no-net", "VX", None),
        ("heat-plane-no-layer", "+5V", "inner2"),
    ]
    assert copper_of(made).planes == {"GND": ("bottom",), "VX": ("top",)}
    four = board_from(tmp_path, "R1,1k,0805,resistor\n", pins("R1", "+5V", "GND"), facts.replace("= 2", "= 4"))
    assert {f.message.slug for f in heat_cautions(four)} == {"heat-plane-no-net"}
