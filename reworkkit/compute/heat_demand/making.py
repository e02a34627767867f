"""From the records of a joint to what the heat sees, with how far each figure may be off."""

import math
import re
from typing import NamedTuple

from reworkkit.compute.formulas.joint_heat import (
    barrel_section,
    disc_radius,
    land_resistance,
    melting_capacity,
    relief_resistance,
)
from reworkkit.compute.heat_demand.figures import Alloy, Figure, figure
from reworkkit.compute.heat_demand.grid import FILLET_W_PER_K, LEVELS
from reworkkit.compute.heat_demand.site import COPPER_J_PER_M3_K, FAR, Sheet, Site
from reworkkit.model.board import Board
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Package
from reworkkit.model.results import Joint
from reworkkit.model.vocabulary import JointKind, Mount, Side
from reworkkit.tables import rows

CONDUCTIVITY_COPPER = 385.0
SOLDER_FILM_M = 0.15e-3
PROTRUDING_M = 1.5e-3
ANTIPAD_M = 0.25e-3
VIA_M = 0.3e-3
POWER_TAB_MM2 = 40.0


class Tab(NamedTuple):
    """A tab under the tip: length, width, thickness [m], conductivity times thickness with solder and land [W/K]."""

    length_m: float
    width_m: float
    height_m: float
    sheet_w_per_k: float


class Spread(NamedTuple):
    """Standard deviations of the logarithms: copper weight, conductance through board and lead, size of the copper."""

    copper: float
    axial: float
    size: float


class Case(NamedTuple):
    """A joint ready to be computed. Equal cases are computed once."""

    site: Site
    tab: Tab | None
    spread: Spread


class Laminate(NamedTuple):
    """The bare board: thickness [m], copper outside and inside [m] with spread, disc of the board's area [m]."""

    thickness_m: float
    outer: Figure
    inner: Figure
    layers: int
    through: float
    along: float
    j_per_m3_k: float
    assumed: tuple[Message, ...]


def laminate_of(board: Board) -> Laminate:
    """Return the bare board; copper weight not said is 1 oz, on a power board 1 to 3 oz, and that is said."""
    said, assumed = board.facts.board, []
    ounce = figure("ounce").value * 1e-6
    if said.outer_copper:
        outer = Figure(float(said.outer_copper.value) * ounce, figure("copper_known").spread)
    else:
        power = _is_power_board(board)
        weight = figure("copper_power" if power else "copper_unknown")
        outer = Figure(weight.value * ounce, weight.spread)
        assumed.append(message("heat-copper-power" if power else "heat-copper-assumed"))
    if said.inner_copper:
        inner = Figure(float(said.inner_copper.value) * ounce, figure("copper_known").spread)
    else:
        inner = Figure(figure("inner_copper").value * ounce, figure("inner_copper").spread)
    if not said.thickness:
        assumed.append(message("heat-thickness-assumed"))
    row = rows("laminates")[0]
    heat = float(row["density"]) * float(row["heat"])
    thickness = said.thickness.si() if said.thickness else 1.6e-3
    layers = said.layers or 2
    return Laminate(thickness, outer, inner, layers, float(row["through"]), float(row["along"]), heat, tuple(assumed))


def _is_power_board(board: Board) -> bool:
    """A board with a live part, or with several tabs of TO-263 size and more, may have thick copper."""
    if board.facts.live is not None:
        return True
    packages = [p.identity.package for p in board.parts.values() if p.identity.package is not None]
    return sum(1 for p in packages if p.tab and p.tab[0] * p.tab[1] >= POWER_TAB_MM2) >= 2


def case_of(board: Board, joint: Joint, laminate: Laminate, solder: Alloy) -> Case:
    """Return the joint as the heat sees it."""
    package = board.parts[joint.ref].identity.package
    hole = joint.kind is JointKind.HOLE
    tab = _tab(joint, package, laminate, solder)
    area = joint.area_mm2 * 1e-6
    if tab is not None:
        area = min(area, tab.length_m * tab.width_m)
    core = (joint.hole_mm or 1.0) / 2e3 if hole else disc_radius(area)
    land = max(math.sqrt(area / math.pi + (core**2 if _is_ring(joint) else 0.0)), 1.2 * core) if hole else core
    axial, axial_heat = _through(joint, package, core, solder, laminate)
    leaf_heat, leaf = _leaf(joint, package, tab)
    sheets = _sheets(joint, laminate, land, hole)
    site = Site(
        hole,
        core,
        land,
        land + ANTIPAD_M,
        _board_radius(board, joint),
        laminate.thickness_m,
        sheets,
        _metal(joint, package, area, tab, solder),
        axial,
        axial_heat,
        leaf_heat,
        leaf,
        leaf_loss_w_per_k=_loss(board, joint, leaf),
        path_k_per_w=_land_path(core, land, sheets[0]) if hole else 0.0,
        contact_m2=figure("blob").value * area + figure("meniscus").value * 1e-6,
        edge_m=joint.edge_mm / 1e3 if joint.edge_mm else FAR,
        second_edge_m=joint.second_edge_mm / 1e3 if joint.second_edge_mm else FAR,
        row_m=(joint.row_mm or 0.0) / 1e3,
        row_count=joint.row_count,
        copper=CONDUCTIVITY_COPPER,
        laminate_through=laminate.through,
        laminate_along=laminate.along,
        laminate_j_per_m3_k=laminate.j_per_m3_k,
        film_w_per_m2_k=figure("film").value,
    )
    return Case(site, tab, _spread(joint, package, laminate))


def _is_ring(joint: Joint) -> bool:
    """A land without a package drawn from the table gives the ring only; a netlist's pad has the hole in it."""
    return not joint.pin


def _board_radius(board: Board, joint: Joint) -> float:
    size = board.facts.board.size
    if size:
        return math.sqrt(size[0].si() * size[1].si() / math.pi)
    if len(board.outline) >= 3:
        return math.sqrt(_polygon_mm2(board.outline) / math.pi) / 1e3
    sizes = [radius for _, radius, relief in joint.planes if relief == "not connected" or joint.basis != "package"]
    return max([*sizes, 20.0]) / 1e3


def _polygon_mm2(corners: tuple[tuple[float, float], ...]) -> float:
    turned = zip(corners, (*corners[1:], corners[0]), strict=True)
    return max(abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in turned)) / 2, 25.0)


def _layer_index(layer: str, layers: int) -> int:
    """Return which of the four sheets a layer is, from the top; more than two inner layers share the inner sheets."""
    if layer in ("top", "bottom"):
        return 0 if layer == "top" else 3
    number = int(re.sub(r"\D", "", layer) or 1)
    return 1 if number <= max((layers - 2) / 2, 1) else 2


def _sheets(joint: Joint, laminate: Laminate, land: float, hole: bool) -> tuple[Sheet, Sheet, Sheet, Sheet]:
    """Return the copper sheets from the side of the iron: the part's side for pads, the other for holes."""
    sheets = [Sheet()] * 4
    for layer, radius_mm, relief in joint.planes:
        index = _layer_index(layer, laminate.layers)
        thickness = (laminate.outer if index in (0, 3) else laminate.inner).value
        new = _sheet(thickness, radius_mm / 1e3, relief, land)
        sheets[index] = _together(sheets[index], new) if sheets[index].thickness_m else new
    for index in (0, 3):
        if not sheets[index].thickness_m:
            sheets[index] = Sheet(laminate.outer.value, 0.0, 0.0, 0.0)
    turned = (joint.side is Side.BOTTOM) != hole
    a, b, c, d = reversed(sheets) if turned else sheets
    return a, b, c, d


def _together(first: Sheet, second: Sheet) -> Sheet:
    """Two planes of one half of the board as one sheet: thicknesses add, the easier way in counts."""
    return Sheet(
        first.thickness_m + second.thickness_m,
        max(first.radius_m, second.radius_m),
        min(first.gap_k_per_w, second.gap_k_per_w),
        max(first.trace_m, second.trace_m),
    )


def _sheet(thickness: float, radius: float, relief: str, land: float) -> Sheet:
    numbers = [float(n) for n in re.findall(r"\d+(?:\.\d+)?", relief)]
    if relief == "not connected":
        return Sheet(thickness, radius, math.inf)
    if relief.startswith("track"):
        return Sheet(thickness, 0.0, 0.0, (numbers[0] if numbers else 0.3) / 1e3)
    if relief.strip().lower() in ("none", "solid", "no", "") or not numbers:
        return Sheet(thickness, radius)
    spokes = max(int(numbers[0]), 1)
    width = (numbers[1] if len(numbers) > 1 else 0.3) / 1e3
    resistance = relief_resistance(spokes, width, ANTIPAD_M, land + ANTIPAD_M, CONDUCTIVITY_COPPER * thickness)
    return Sheet(thickness, radius, resistance)


def _land_path(core: float, land: float, near: Sheet) -> float:
    """Return the way [K/W] from a wetted land to its hole; 0 where a plane on the iron's side takes the heat there."""
    if near.radius_m > land and math.isfinite(near.gap_k_per_w):
        return 0.0
    return land_resistance(core, land, CONDUCTIVITY_COPPER * near.thickness_m + FILLET_W_PER_K)


def _tab(joint: Joint, package: Package | None, laminate: Laminate, solder: Alloy) -> Tab | None:
    if joint.kind is not JointKind.TAB or package is None or package.tab is None:
        return None
    across, along, thickness = (figure_mm / 1e3 for figure_mm in package.tab)
    sheet = figure("lead_copper").value * thickness + solder.conductivity * SOLDER_FILM_M
    sheet += CONDUCTIVITY_COPPER * laminate.outer.value
    return Tab(along, across, thickness, sheet)


def _lead_k(package: Package | None) -> float:
    material = (package.lead_material or "") if package else ""
    words = {"brass": "lead_brass", "bronze": "lead_brass", "steel": "lead_steel", "copper": "lead_copper"}
    return figure(next((row for word, row in words.items() if word in material), "lead_unknown")).value


def _lead_m2(joint: Joint, package: Package | None) -> float:
    if joint.lead_mm2:
        return joint.lead_mm2 * 1e-6
    if joint.kind is JointKind.HOLE:
        return math.pi / 4 * max((joint.hole_mm or 1.0) - 0.3, 0.3) ** 2 * 1e-6
    if package is None or package.pins <= 2:
        return 0.0
    return 0.4 * (package.pitch_mm or 1.0) * 0.2 * 1e-6


def _metal(joint: Joint, package: Package | None, area: float, tab: Tab | None, solder: Alloy) -> float:
    """Return the heat capacity [J/K] right under the tip: solder with its melting, lead end or tab."""
    hole = joint.kind is JointKind.HOLE
    volume = area * (0.4e-3 if hole else SOLDER_FILM_M)
    capacity = melting_capacity(volume * solder.density, solder.heat, solder.latent, solder.wetting_c - 25.0)
    if tab is not None:
        return capacity + tab.length_m * tab.width_m * tab.height_m * COPPER_J_PER_M3_K
    return capacity + _lead_m2(joint, package) * PROTRUDING_M * COPPER_J_PER_M3_K


def _through(
    joint: Joint, package: Package | None, core: float, solder: Alloy, laminate: Laminate
) -> tuple[float, float]:
    """Return conductivity times section [W m/K] and heat capacity per length [J/mK] through the board."""
    plating = figure("plating").value * 1e-6
    if joint.kind is not JointKind.HOLE:
        copper = joint.vias * barrel_section(VIA_M, plating)
        conduction = copper * CONDUCTIVITY_COPPER
        if joint.kind is JointKind.PAD and joint.vias:
            conduction = _behind_track(conduction, joint, laminate)
        return conduction, copper * COPPER_J_PER_M3_K
    lead = min(_lead_m2(joint, package), 0.9 * math.pi * core**2)
    filled = math.pi * core**2 - lead
    barrel = barrel_section(2 * core, plating)
    melting = melting_capacity(filled * solder.density, solder.heat, solder.latent, solder.wetting_c - 25.0)
    conduction = barrel * CONDUCTIVITY_COPPER + filled * solder.conductivity + lead * _lead_k(package)
    return conduction, melting + (barrel + lead) * COPPER_J_PER_M3_K


def _behind_track(conduction: float, joint: Joint, laminate: Laminate) -> float:
    """Return the through-conductance [W m/K] of vias that stand beside the pad, each at the end of a short track."""
    joined = [
        layer for layer, _, relief in joint.planes if relief != "not connected" and not relief.startswith("track")
    ]
    depths = [LEVELS[_level_from(joint.side, layer, laminate.layers)] for layer in joined]
    depth = min([d for d in depths if d > 0.0], default=1.0) * laminate.thickness_m
    sheet = CONDUCTIVITY_COPPER * laminate.outer.value
    track = figure("via_away").value / (figure("via_track").value * sheet * joint.vias)
    return depth / (depth / conduction + track)


def _level_from(side: Side, layer: str, layers: int) -> int:
    """Return the level of the grid a layer lies on, counted from the side of the part."""
    index = _layer_index(layer, layers)
    return (0, 1, 3, 4)[3 - index if side is Side.BOTTOM else index]


def _leaf(joint: Joint, package: Package | None, tab: Tab | None) -> tuple[float, float]:
    """Return heat capacity [J/K] of the part and conductance [W/K] to it through its lead or its face."""
    if package is None:
        return 0.05, 0.005
    heat = (package.mass_g or 0.05) * figure("body_heat").value
    if tab is not None:
        metal = tab.length_m * tab.width_m * tab.height_m * COPPER_J_PER_M3_K
        face = tab.length_m * tab.width_m
        return max(heat - metal, 0.2 * heat), 0.8 * face / max(package.height_mm / 2e3 - tab.height_m / 2, 0.5e-3)
    if package.pins <= 2 and package.mount is Mount.SMD:
        return heat, 5.0 * package.width_mm * package.height_mm / package.length_mm * 1e-3
    length = 4e-3 if joint.kind is JointKind.HOLE else 1.5e-3
    return heat, _lead_k(package) * _lead_m2(joint, package) / length


def _loss(board: Board, joint: Joint, leaf: float) -> float:
    """A bolted part gives its heat to the plate: the plate stays near room temperature for the time of one joint."""
    bolted = any(joint.ref in fasten.parts for fasten in board.facts.fasten if fasten.before_soldering)
    return max(0.5, 5.0 * leaf) if bolted else 0.0


def _spread(joint: Joint, package: Package | None, laminate: Laminate) -> Spread:
    copper = laminate.outer.spread
    if joint.net is None:
        copper = math.hypot(copper, figure("joined_unknown").spread)
    known = package is not None and package.lead_mm2 is not None
    axial = figure("axial" if known or joint.kind is not JointKind.HOLE else "axial_unknown").spread
    size = figure("size_known" if joint.basis in ("declared", "your line") else "size_assumed").spread
    return Spread(copper, axial, size)
