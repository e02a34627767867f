"""One joint as the heat sees it: a disc or a plated hole, copper sheets, metal on top, a part behind its lead. SI."""

from typing import NamedTuple

FAR = 1.0
"""A distance [m] at which no edge matters."""


class Sheet(NamedTuple):
    """One copper layer: thickness, outer radius of the plane, how the joint reaches it.

    `gap_k_per_w` bridges the ring between land and plane: 0 = solid, infinite = not connected. `trace_m` is the
    summed width of tracks leaving the land where there is no plane. A thickness of 0 means no copper.
    """

    thickness_m: float = 0.0
    radius_m: float = 0.0
    gap_k_per_w: float = 0.0
    trace_m: float = 0.0


class Site(NamedTuple):
    """A joint and its surroundings; layers are counted from the side of the iron. Equal sites are computed once.

    `core_m` is the radius of the pad's disc or of the hole; `land_m` of the land; `plane_m` where the planes begin.
    `metal_j_per_k` sits under the tip; `axial_w_m_per_k` is conductivity times section through the board (barrel,
    solder, lead; or vias) and `axial_j_per_m_k` its heat capacity per length. The part hangs behind
    `leaf_w_per_k`; a bolted part loses heat through `leaf_loss_w_per_k`. `row` are like pins at `row_m` round it.
    """

    hole: bool
    core_m: float
    land_m: float
    plane_m: float
    board_m: float
    thickness_m: float
    sheets: tuple[Sheet, Sheet, Sheet, Sheet]
    metal_j_per_k: float
    axial_w_m_per_k: float
    axial_j_per_m_k: float
    leaf_j_per_k: float
    leaf_w_per_k: float
    leaf_loss_w_per_k: float = 0.0
    path_k_per_w: float = 0.0
    contact_m2: float = 1e-6
    edge_m: float = FAR
    second_edge_m: float = FAR
    row_m: float = 0.0
    row_count: int = 0
    copper: float = 385.0
    laminate_through: float = 0.30
    laminate_along: float = 0.90
    laminate_j_per_m3_k: float = 1850.0 * 1100.0
    film_w_per_m2_k: float = 15.0


COPPER_J_PER_M3_K = 8933.0 * 385.0


def varied(site: Site, *, copper: float = 1.0, axial: float = 1.0, size: float = 1.0, laminate: float = 1.0) -> Site:
    """Return the site with copper weight, through-conductance, plane size and laminate conductance multiplied."""
    a, b, c, d = (
        s._replace(
            thickness_m=s.thickness_m * copper,
            radius_m=min(s.radius_m * size, max(s.radius_m, site.board_m)) if s.radius_m else 0.0,
            gap_k_per_w=s.gap_k_per_w / copper,
            trace_m=s.trace_m,
        )
        for s in site.sheets
    )
    return site._replace(
        sheets=(a, b, c, d),
        axial_w_m_per_k=site.axial_w_m_per_k * axial,
        leaf_w_per_k=site.leaf_w_per_k * axial,
        laminate_through=site.laminate_through * laminate,
        laminate_along=site.laminate_along * laminate,
    )


def outer_radius(site: Site) -> float:
    """Return the radius [m] of the disc with the area of the largest of board and planes."""
    return max(site.board_m, *(s.radius_m for s in site.sheets), 1.2 * site.plane_m, 1.2 * site.core_m)
