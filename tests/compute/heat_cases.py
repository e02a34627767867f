"""Typical joints of ordinary boards, as records: shared by the tests of the heat model."""

from decimal import Decimal

from reworkkit.compute.heat_demand.figures import alloy
from reworkkit.compute.heat_demand.making import Case, case_of, laminate_of
from reworkkit.model.board import Board
from reworkkit.model.facts import BoardFacts, LaminateFacts
from reworkkit.model.part import Package, Part, PartIdentity, PartValue
from reworkkit.model.results import Joint
from reworkkit.model.values import Quantity, Source, Where
from reworkkit.model.vocabulary import Fit, Honesty, JointKind, Mount, Side, YesNo

MEMORY = Source("memory", "", Honesty.FROM_MEMORY)
SMD, HOLE = Mount.SMD, Mount.THROUGH_HOLE
BOARD_MM = 28.0


def package(name, mount, body, pins, pitch=None, tab=None, hidden=0, lead=None, material=None, mass=None) -> Package:
    return Package(name, name, mount, *body, pins, pitch, tab, hidden, lead, material, mass, "", MEMORY)


PACKAGES = {
    "chip": package("chip", SMD, (1.6, 0.8, 0.45), 2, mass=0.0022),
    "sot23": package("sot23", SMD, (2.9, 1.3, 1.0), 3, 0.95, mass=0.009),
    "soic": package("soic", SMD, (4.9, 3.9, 1.5), 8, 1.27, mass=0.075),
    "tqfp": package("tqfp", SMD, (7, 7, 1.2), 48, 0.5, mass=0.18),
    "qfn": package("qfn", SMD, (3, 3, 0.75), 16, 0.5, hidden=1, mass=0.022),
    "sma": package("sma", SMD, (4.3, 2.6, 2.2), 2, mass=0.064),
    "to252": package("to252", SMD, (6.5, 6.22, 2.3), 3, 2.28, (5.4, 5.24, 0.5), mass=0.33),
    "to263": package("to263", SMD, (10, 9.25, 4.4), 3, 2.54, (10.0, 7.55, 1.27), mass=1.5),
    "to220": package("to220", HOLE, (10, 4.4, 9.25), 3, 2.54, (10.0, 15.65, 1.27), 0, 0.56, "copper alloy", 1.9),
    "header": package("header", HOLE, (12, 2.5, 8.5), 5, 2.54, lead=0.41, material="brass", mass=0.75),
    "terminal": package("terminal", HOLE, (10, 8, 10), 2, 5.08, lead=1.0, material="brass", mass=3.0),
    "battery": package("battery", HOLE, (16, 8, 12), 2, 7.0, lead=3.0, material="brass", mass=5.0),
}
"""Figures from memory."""


def board(layers: int = 2, ounces: float | None = 1.0, side_mm: float = 50.0) -> Board:
    """Return a board of one part per package, copper weight told unless `ounces` is None."""
    said = LaminateFacts(
        layers=layers,
        thickness=Quantity(Decimal("1.6"), "mm", "1.6 mm"),
        outer_copper=Quantity(Decimal(str(ounces)), "oz", "") if ounces else None,
        inner_copper=Quantity(Decimal("0.5"), "oz", "0.5 oz"),
        size=(Quantity(Decimal(str(side_mm)), "mm", ""), Quantity(Decimal(str(side_mm)), "mm", "")),
        alloy_used="SAC305",
    )
    value = PartValue(None, None, None, None, None, "")
    parts = {
        name.upper(): Part(
            name.upper(),
            PartIdentity("unknown", value, p, name, "", "", YesNo.UNKNOWN, name),
            Fit.FIT,
            (),
            Where("bom.csv", 1),
        )
        for name, p in PACKAGES.items()
    }
    return Board("test", None, (), (), parts, facts=BoardFacts(board=said))


def joint(name: str, kind: JointKind, area: float, *planes, hole=None, vias=0, edge=None, row=0, pin="1") -> Joint:
    """Return a joint of a part named after its package; planes as (layer, radius, relief)."""
    lead = PACKAGES[name].lead_mm2
    return Joint(
        name.upper(), pin, kind, area, hole, lead, planes, edge, vias, "declared", (), Side.TOP, "N", None, row, 2.54
    )


def pour(side: float, layer: str = "top", relief: str = "none") -> tuple[str, float, str]:
    """Return a square pour as the disc of its area."""
    return (layer, side / 3.14159**0.5, relief)


def full(*layers: str, relief: str = "none") -> tuple[tuple[str, float, str], ...]:
    return tuple((layer, BOARD_MM, relief) for layer in layers)


SPOKES = "4 spokes 0.3 mm"
TRACK = ("top", 0.0, "track 0.3 mm")

CASES: dict[str, tuple[int, float, Joint]] = {
    "0603 on track": (2, 1, joint("chip", JointKind.PAD, 0.72, TRACK)),
    "0603 on pour, spokes": (2, 1, joint("chip", JointKind.PAD, 0.72, *full("top", relief=SPOKES))),
    "0603 on pour, solid": (2, 1, joint("chip", JointKind.PAD, 0.72, *full("top"))),
    "SOT-23 lead": (2, 1, joint("sot23", JointKind.PAD, 0.8, TRACK)),
    "TQFP lead on track": (2, 1, joint("tqfp", JointKind.PAD, 0.45, TRACK)),
    "SOIC lead on track": (2, 1, joint("soic", JointKind.PAD, 1.0, TRACK)),
    "SOIC lead on pour, solid": (2, 1, joint("soic", JointKind.PAD, 1.0, *full("top"))),
    "SMA on pour 15x15": (2, 1, joint("sma", JointKind.PAD, 4.3, pour(15))),
    "QFN pad, 9 vias": (4, 1, joint("qfn", JointKind.HIDDEN, 2.9, pour(3), *full("inner1"), vias=9)),
    "TO-252 25x25 and plane": (2, 1, joint("to252", JointKind.TAB, 37, pour(25), *full("bottom"))),
    "TO-263 30x30 and plane": (2, 1, joint("to263", JointKind.TAB, 101, pour(30), *full("bottom"))),
    "TO-263 2 oz": (2, 2, joint("to263", JointKind.TAB, 101, pour(30), *full("bottom"))),
    "TO-263 inner planes, 20 vias": (
        4,
        1,
        joint("to263", JointKind.TAB, 101, pour(30), *full("inner1", "inner2", "bottom"), vias=20),
    ),
    "TO-220 lead, relief": (2, 1, joint("to220", JointKind.HOLE, 4.5, *full("top", "bottom", relief=SPOKES), hole=1.2)),
    "TO-220 lead, solid": (2, 1, joint("to220", JointKind.HOLE, 4.5, *full("top", "bottom"), hole=1.2)),
    "header pin on track": (2, 1, joint("header", JointKind.HOLE, 2.5, TRACK, hole=1.0)),
    "header pin, relief": (2, 1, joint("header", JointKind.HOLE, 2.5, *full("top", "bottom", relief=SPOKES), hole=1.0)),
    "header pin, solid": (2, 1, joint("header", JointKind.HOLE, 2.5, *full("top", "bottom"), hole=1.0)),
    "header pin, 4 layers relief": (
        4,
        1,
        joint("header", JointKind.HOLE, 2.5, *full("top", "inner1", "inner2", "bottom", relief=SPOKES), hole=1.0),
    ),
    "header pin, 4 layers solid": (
        4,
        1,
        joint("header", JointKind.HOLE, 2.5, *full("top", "inner1", "inner2", "bottom"), hole=1.0),
    ),
    "terminal pin, pour relief": (
        2,
        1,
        joint("terminal", JointKind.HOLE, 5, TRACK, *full("bottom", relief=SPOKES), hole=1.4),
    ),
    "terminal pin, 2 oz solid": (2, 2, joint("terminal", JointKind.HOLE, 5, *full("top", "bottom"), hole=1.4)),
    "battery pin, 4 layers 2 oz": (
        4,
        2,
        joint("battery", JointKind.HOLE, 20, *full("top", "inner1", "inner2", "bottom"), hole=3.5),
    ),
}
"""Layers, ounces, joint: the typical cases of an ordinary bench."""


def case(name: str) -> Case:
    layers, ounces, made = CASES[name]
    on = board(layers, ounces)
    return case_of(on, made, laminate_of(on), alloy("SAC305")[0])
