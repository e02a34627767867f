"""Joints of a board: pads and drills, planes declared or inferred, package defaults, the person's own lines."""

import dataclasses
from decimal import Decimal

import pytest

from reworkkit.compute.heat_demand import heat_demand
from reworkkit.compute.joints import find_joints, heat_questions
from reworkkit.model.board import Board
from reworkkit.model.facts import BenchFacts, BoardFacts, LaminateFacts, PartFacts, PinJointFacts
from reworkkit.model.netlist import Net, Pad, Pin, Placement
from reworkkit.model.part import Part
from reworkkit.model.values import Quantity, Where
from reworkkit.model.vocabulary import Fit, HeatBasis, JointKind, Side
from reworkkit.read.folder import read_board
from tests.compute.heat_cases import board
from tests.compute.heat_unseen_boards import write

HERE = Where("netlist.ipc", 1)


def pin(ref: str, number: str, net: str | None, x: float, y: float, w=1.0, h=1.0, drill=None, side=Side.TOP) -> Pin:
    return Pin(ref, number, None, net, (Pad(x, y, w, h, 0.0, drill, bool(drill), side),), HERE)


def built(*pins: Pin, said: LaminateFacts | None = None, parts: dict[str, PartFacts] | None = None) -> Board:
    plain = board()
    keep = {p.ref for p in pins}
    nets: dict[str, list[tuple[str, str]]] = {}
    for p in pins:
        if p.net:
            nets.setdefault(p.net, []).append((p.ref, p.number))
    facts = BoardFacts(board=said or LaminateFacts(layers=2), parts=parts or {})
    return dataclasses.replace(
        plain,
        parts={ref: part for ref, part in plain.parts.items() if ref in keep},
        pins={(p.ref, p.number): p for p in pins},
        nets={name: Net(name, name, tuple(who)) for name, who in nets.items()},
        facts=facts,
    )


SIZE = (Quantity(Decimal(60), "mm", "60 mm"), Quantity(Decimal(40), "mm", "40 mm"))
PLANES = LaminateFacts(layers=2, planes={"GND": ("bottom",)}, relief="none", size=SIZE)


def outlined(on: Board, *corners: tuple[float, float]) -> Board:
    return dataclasses.replace(on, outline=corners or ((0, 0), (60, 0), (60, 40), (0, 40)))


def test_kinds_from_pads_and_drills() -> None:
    found = find_joints(
        built(
            pin("TO263", "1", "G", 10, 10, 2, 1),
            pin("TO263", "2", "GND", 15, 10, 10, 9),
            pin("TO263", "3", "S", 10, 15, 2, 1),
            pin("HEADER", "1", "GND", 30, 10, 1.7, 0, drill=1.0),
            pin("QFN", "1", "A", 40, 10, 0.3, 0.8),
            pin("QFN", "2", "B", 40, 11, 0.3, 0.8),
            pin("QFN", "17", "GND", 41, 12, 1.7, 1.7),
        )
    )
    kinds = {(j.ref, j.pin): j.kind for j in found}
    assert kinds["TO263", "2"] is JointKind.TAB
    assert kinds["TO263", "1"] is JointKind.PAD
    assert kinds["HEADER", "1"] is JointKind.HOLE
    assert kinds["QFN", "17"] is JointKind.HIDDEN
    hole = next(j for j in found if j.ref == "HEADER")
    assert hole.hole_mm == 1.0
    assert hole.area_mm2 == pytest.approx(3.14159 / 4 * 1.7**2, rel=1e-4)  # a round land by its diameter


def test_declared_plane_reaches_the_joint_and_others_pass_by() -> None:
    on = built(
        pin("HEADER", "1", "GND", 10, 10, 1.7, 0, 1.0), pin("HEADER", "2", "SIG", 12.5, 10, 1.7, 0, 1.0), said=PLANES
    )
    ground, signal = find_joints(on)
    assert ("bottom", pytest.approx(ground.planes[0][1]), "none") == ground.planes[0]
    assert ground.basis == "declared"
    assert {relief for _, _, relief in signal.planes} == {"track 0.3 mm", "not connected"}
    demands = heat_demand(on, (ground, signal), BenchFacts())
    assert demands[0].sort_c > demands[1].sort_c + 5


def test_plane_is_inferred_from_fan_out_and_said_so() -> None:
    pins = [pin("SOIC", str(n), "GND", n, 0) for n in range(1, 8)] + [pin("SOIC", "8", "OUT", 9, 0)]
    found = find_joints(built(*pins))
    assert all(j.basis == "inferred" for j in found)
    assert "heat-plane-inferred" in {m.slug for m in found[0].assumed}
    assert any(layer == "bottom" and relief != "not connected" for layer, _, relief in found[0].planes)
    four = find_joints(built(*pins, said=LaminateFacts(layers=4)))
    assert any(layer == "inner1" for layer, _, _ in four[0].planes)


def test_your_line_beats_what_was_found() -> None:
    said = {
        "HEADER": PartFacts(joints={"1": PinJointFacts(("inner1",), "none", Quantity(Decimal(2), "mm", "2 mm"), 3)})
    }
    made = find_joints(built(pin("HEADER", "1", "GND", 10, 10, 1.7, 0, 1.0), said=PLANES, parts=said))[0]
    assert made.planes[0][0] == "inner1"
    assert made.edge_mm == 2.0
    assert made.vias == 3
    assert made.basis == "your line"


def test_edges_and_corner_from_the_outline() -> None:
    corner = find_joints(outlined(built(pin("TO263", "2", "GND", 5, 7, 10, 9), said=PLANES)))[0]
    centre = find_joints(outlined(built(pin("TO263", "2", "GND", 30, 20, 10, 9), said=PLANES)))[0]
    assert (corner.edge_mm, corner.second_edge_mm) == (5, 7)
    assert (centre.edge_mm, centre.second_edge_mm) == (None, None)
    hot = heat_demand(
        outlined(built(pin("TO263", "2", "GND", 5, 7, 10, 9), said=PLANES)), (corner, centre), BenchFacts()
    )
    assert hot[0].sort_c < hot[1].sort_c  # less copper round a corner


def test_row_of_pins_shares_the_heat() -> None:
    row = [pin("HEADER", str(n), "GND", 2.54 * n, 0, 1.7, 0, 1.0) for n in range(1, 5)]
    found = find_joints(built(*row, said=PLANES))
    assert [j.row_count for j in found] == [2, 3, 3, 2]
    assert found[0].row_mm == pytest.approx((2.54 + 5.08) / 2)
    alone = dataclasses.replace(found[1], row_count=0, row_mm=None)
    demands = heat_demand(built(*row, said=PLANES), (found[1], alone), BenchFacts())
    assert demands[0].sort_c > demands[1].sort_c


def test_parts_list_alone_still_serves() -> None:
    plain = board()
    on = dataclasses.replace(plain, facts=BoardFacts())
    found = find_joints(on)
    assert {j.ref for j in found} == set(on.parts)
    assert {j.basis for j in found} == {"package"}
    demands = heat_demand(on, found, BenchFacts())
    assert {d.basis for d in demands} == {HeatBasis.COMPUTED}
    by_ref = {d.ref: d for d in demands}
    assert by_ref["CHIP"].sort_c < by_ref["TO252"].sort_c < by_ref["TO263"].sort_c
    assert all("heat-copper-not-known" in {m.slug for m in d.assumed} for d in demands)


def test_what_is_not_known_is_asked_once_a_cause() -> None:
    on = built(pin("SOIC", "1", "GND", 10, 10), pin("CHIP", "1", "GND", 14, 10))
    chip = on.parts["CHIP"]
    bare = chip._replace(ref="U9", identity=dataclasses.replace(chip.identity, package=None))
    on = dataclasses.replace(on, parts=on.parts | {"U9": bare})
    found = find_joints(on)
    assert "U9" not in {j.ref for j in found}
    asked = {q.question.slug: q for q in heat_questions(on, found)}
    assert asked["heat-ask-package"].about == ("U9",)
    assert asked["heat-ask-copper"].answer == '[board]\nouter_copper = "1 oz"'
    assert "heat-ask-planes" in asked
    assert "heat-ask-netlist" not in asked


def test_bottom_side_and_unfit_places() -> None:
    on = built(pin("SOIC", "1", "GND", 10, 10, side=Side.BOTTOM), said=PLANES)
    on = dataclasses.replace(on, placements={"SOIC": Placement("SOIC", 10, 10, 0, Side.BOTTOM, HERE)})
    assert find_joints(on)[0].side is Side.BOTTOM
    nothing: Part = on.parts["SOIC"]._replace(fit=Fit.NOT_A_PART)
    assert find_joints(dataclasses.replace(on, parts={"SOIC": nothing})) == ()


def test_bolted_part_gives_its_heat_to_the_plate() -> None:
    from reworkkit.model.facts import FastenFacts

    on = built(pin("TO220", "1", "GND", 10, 10, 2, 0, 1.2), said=PLANES)
    plate = dataclasses.replace(on.facts, fasten=(FastenFacts(("TO220",), "plate", before_soldering=True),))
    made = find_joints(on)
    free = heat_demand(on, made, BenchFacts())[0]
    bolted = heat_demand(dataclasses.replace(on, facts=plate), made, BenchFacts())[0]
    assert bolted.sort_c > free.sort_c + 5


def test_a_round_land_has_the_area_of_a_circle(tmp_path) -> None:
    """IPC-D-356 gives a round land one size only. A circle of 2 mm: 3.1416 mm2."""
    folder = tmp_path / "round"
    folder.mkdir()
    write("to220_solid", folder)
    lands = {joint.pin: joint.area_mm2 for joint in find_joints(read_board(folder))}
    assert lands["2"] == pytest.approx(3.14159, rel=1e-4)
