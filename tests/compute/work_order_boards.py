"""Random boards for the work order, and a checker that knows the constraints but not the code that orders them."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from reworkkit.compute.difference import compare_with_list
from reworkkit.compute.hold_outline import hold_outlines
from reworkkit.model.board import Board
from reworkkit.model.difference import Difference
from reworkkit.model.facts import BoardFacts, FastenFacts, HoldPointFacts, OrderFacts, ProgramFacts
from reworkkit.model.job import PlaceState, Situation
from reworkkit.model.netlist import Placement
from reworkkit.model.part import Package, Part, PartIdentity, PartValue
from reworkkit.model.results import HeatDemand, HoldOutline, Neighbourhood
from reworkkit.model.values import Source, Where
from reworkkit.model.vocabulary import Basis, Fit, HeatBasis, HeatClass, Honesty, Mount, PartState, Place, Side, YesNo

MEMORY = Source("memory", "", Honesty.FROM_MEMORY)
WHERE = Where("bom.csv", 1)


def package(
    name: str, mount: Mount, height: float, pins: int, pitch: float | None = None, tab: bool = False
) -> Package:
    return Package(
        name=name,
        written=name,
        mount=mount,
        length_mm=height,
        width_mm=height,
        height_mm=height,
        pins=pins,
        pitch_mm=pitch,
        tab=(10.0, 8.0, 1.3) if tab else None,
        hidden_pads=0,
        lead_mm2=None,
        lead_material=None,
        mass_g=None,
        mark="none",
        source=MEMORY,
    )


CHIP = package("chip 0603", Mount.SMD, 0.5, 2)
FINE = package("LQFP-48", Mount.SMD, 1.4, 48, 0.5)
RADIAL = package("radial D10", Mount.THROUGH_HOLE, 16.0, 2, 5.0)
HEADER = package("header 1x4", Mount.THROUGH_HOLE, 8.5, 4, 2.54)
AXIAL = package("axial DO-41", Mount.THROUGH_HOLE, 2.7, 2, 10.0)
TAB = package("TO-263", Mount.SMD, 4.4, 3, 2.54, tab=True)
KINDS = (
    ("resistor", CHIP, HeatClass.LIGHT, YesNo.NO),
    ("microcontroller", FINE, HeatClass.LIGHT, YesNo.YES),
    ("aluminium_electrolytic", RADIAL, HeatClass.MODERATE, YesNo.YES),
    ("connector", HEADER, HeatClass.MODERATE, YesNo.NO),
    ("diode", AXIAL, HeatClass.MODERATE, YesNo.YES),
    ("mosfet", TAB, HeatClass.VERY_HEAVY, YesNo.YES),
    ("relay", RADIAL, HeatClass.MODERATE, YesNo.NO),
)


def part(ref: str, kind: int, value: str = "") -> Part:
    name, outline, _, polarised = KINDS[kind]
    identity = PartIdentity(
        kind=name,
        value=PartValue(None, None, None, None, None, value),
        package=outline,
        package_text=outline.name,
        part_number="",
        description="",
        polarised=polarised,
        key=f"{name}/{outline.name}/{value}",
    )
    return Part(ref, identity, Fit.FIT, (), WHERE)


def heat_of(board: Board, kinds: dict[str, int]) -> dict[str, HeatDemand]:
    return {
        ref: HeatDemand(ref, None, None, (), None, None, KINDS[kinds[ref]][2], None, None, HeatBasis.CLASS)
        for ref in board.parts
    }


@st.composite
def boards(
    draw: st.DrawFn, most: int = 24
) -> tuple[Board, Difference, Situation, dict[str, HeatDemand], dict[str, Neighbourhood], tuple[HoldOutline, ...]]:
    count = draw(st.integers(2, most))
    kinds = {f"X{n}": draw(st.integers(0, len(KINDS) - 1)) for n in range(1, count + 1)}
    refs = list(kinds)
    some = st.lists(st.sampled_from(refs), max_size=4, unique=True)
    parts = {ref: part(ref, kind, str(draw(st.integers(1, 3)))) for ref, kind in kinds.items()}
    placements = {
        ref: Placement(ref, 0.0, 0.0, 0.0, draw(st.sampled_from((Side.TOP, Side.BOTTOM))), WHERE) for ref in refs
    }
    holds = tuple(
        HoldPointFacts(name=f"stage {n}", needs=tuple(draw(some)), before=tuple(draw(some)))
        for n in range(draw(st.integers(0, 2)))
    )
    tabs = tuple(ref for ref in refs if kinds[ref] == 5)
    fasten = (FastenFacts(parts=tabs, to="plate", before_soldering=draw(st.booleans())),) if tabs else ()
    program = (ProgramFacts(part=draw(st.sampled_from(refs)), after_hold_point=holds[0].name if holds else None),)
    rules = tuple(
        f"{a} before {b}"
        for a, b in draw(st.lists(st.tuples(st.sampled_from(refs), st.sampled_from(refs)), max_size=3))
        if a != b
    )
    facts = BoardFacts(
        hold_points=holds, fasten=fasten, program=program if draw(st.booleans()) else (), order=OrderFacts(rules=rules)
    )
    board = Board("random", None, (), (), parts, placements=placements, facts=facts)
    states = {
        ref: draw(
            st.sampled_from(
                (
                    PlaceState(ref, place=Place.EMPTY),
                    PlaceState(ref, place=Place.EMPTY),
                    PlaceState(ref, place=Place.FITTED),
                    PlaceState(ref, place=Place.FITTED, part=PartState.DAMAGED),
                )
            )
        )
        for ref in refs
    }
    situation = Situation(1, Basis.FILES, None, states)
    near = {
        ref: Neighbourhood(
            ref,
            tuple((other, 200.0) for other in draw(some) if other != ref),
            tuple(o for o in draw(some) if o != ref),
            "1A",
        )
        for ref in draw(some)
    }
    return board, compare_with_list(board, situation), situation, heat_of(board, kinds), near, hold_outlines(board)


def with_height(board: Board, ref: str, height: str) -> Board:
    from reworkkit.model.facts import PartFacts
    from reworkkit.model.values import Quantity

    said = {**board.facts.parts, ref: PartFacts(height=Quantity(Decimal(height), "mm", f"{height} mm"))}
    return replace(board, facts=replace(board.facts, parts=said))
