"""Cautions for parts that heat spoils: common practice, no source."""

import dataclasses

from reworkkit.compute.heat_cautions import heat_cautions
from reworkkit.model.vocabulary import Mount
from tests.compute.heat_cases import board, package


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
